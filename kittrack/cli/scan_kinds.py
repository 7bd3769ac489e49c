"""Which numbers of ours an argument takes from a scan, and what is suggested for it, by the argument's name."""

from collections.abc import Collection
from typing import Final

from kittrack.cli.verb import Argument
from kittrack.domain.codes import Kind

_STOCK: Final = (Kind.RECEIPT_LINE, Kind.PIECE, Kind.ROTOR_SET)

KINDS: Final[dict[str, tuple[Kind, ...]]] = {
    "airframe": (Kind.AIRFRAME,),
    "at_place": (Kind.SHELF_PLACE,),
    "bench": (Kind.SHELF_PLACE,),
    "blades": (Kind.PIECE,),
    "closed_bags": (Kind.RECEIPT_LINE, Kind.PIECE),
    "count": (Kind.COUNT,),
    "damaged": (Kind.PIECE,),
    "drill": (Kind.DRILL,),
    "entries": (*_STOCK, Kind.KIT),
    "from_place": (Kind.SHELF_PLACE,),
    "giver": (Kind.PERSON,),
    "handover": (Kind.SHIFT_HANDOVER,),
    "hold": (Kind.HOLD,),
    "hub": (Kind.PIECE,),
    "items": _STOCK,
    "job": (Kind.JOB,),
    "kit": (Kind.KIT,),
    "line": (Kind.RECEIPT_LINE,),
    "lot": (Kind.LOT,),
    "missing": _STOCK,
    "notice": (Kind.NOTICE,),
    "only": _STOCK,
    "order": (Kind.ORDER,),
    "out": _STOCK,
    "parts": (Kind.RECEIPT_LINE, Kind.PIECE),
    "person": (Kind.PERSON,),
    "piece": (Kind.PIECE,),
    "place": (Kind.SHELF_PLACE,),
    "position": (Kind.POSITION,),
    "receiver": (Kind.PERSON,),
    "rotor": (Kind.PIECE,),
    "rotor_set": (Kind.ROTOR_SET,),
    "rotor_sets": (Kind.ROTOR_SET,),
    "same_human_as": (Kind.PERSON,),
    "scale": (Kind.TOOL,),
    "scanned": (Kind.ROTOR_SET,),
    "second": (Kind.PERSON,),
    "take": _STOCK,
    "thing": (*_STOCK, Kind.KIT),
    "things": (*_STOCK, Kind.KIT),
    "to_bin": (Kind.SHELF_PLACE,),
    "to_place": (Kind.SHELF_PLACE,),
    "tool": (Kind.TOOL,),
    "voucher": (Kind.VOUCHER,),
    "who": (Kind.PERSON,),
}
"""What the names of arguments mean everywhere; an argument that means something else declares its own kinds."""


def kinds_of(argument: Argument) -> tuple[Kind, ...]:
    """The kinds of numbers that a scan may put into an argument."""
    return argument.scans or KINDS.get(argument.name, ())


_NAMED: Final[dict[str, tuple[str, ...]]] = {
    "airframe_type": ("type",),
    "apron": ("apron",),
    "first": ("type revision",),
    "fixing": ("fixing",),
    "hub_part": ("part",),
    "locker": ("part",),
    "lot_code": ("lot code",),
    "maker": ("maker",),
    "new_owner": ("company",),
    "part": ("part",),
    "revision": ("type revision",),
    "screw": ("part",),
    "site": ("site",),
    "successor": ("part",),
    "supplier": ("supplier",),
    "washer": ("part",),
}
_NEW: Final = ("found", "part add", "delivery receive", "delivery scan", "books shelf", "books fitted")
"""Verbs that name what comes in: the codes on its label are read there, never completed from what is known."""


def suggested(name: str, *, verb: str, others: Collection[str]) -> tuple[str, ...]:
    """What of the store is suggested for an argument of a verb, besides the kinds that are scanned into it.

    Args:
        name: of the argument.
        verb: its words.
        others: the names of all arguments of the verb; beside a type, a revision is only its own name.
    """
    if name == "revision" and ("airframe_type" in others or verb == "airframe revise"):
        return ("its revision",)
    if verb in _NEW and name in ("lot_code", "site"):
        return ()
    return _NAMED.get(name, ())
