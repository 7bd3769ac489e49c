"""Serials of pieces: unique by maker and part, and near ones pointed out. Source: design R16."""

import re
from collections.abc import Iterator, Sequence

from kittrack.domain import codes
from kittrack.domain.rules import Rule
from kittrack.errors import Refusal
from kittrack.store.act import Act
from kittrack.store.records import Part, Piece

# The look-alikes that `codes.near_misses` folds; zeros go altogether, as it ignores those at the start.
_FOLD = str.maketrans("ILZSB", "11258", "0OQD -_./\t")
_EXPONENT = re.compile(r"([0-9]+)E[0-9]{1,2}")


def check_serials(act: Act, part: Part, serials: Sequence[str | None]) -> list[Refusal]:
    """A refusal for each serial of a part that is in the store already, or stands twice (R16)."""
    given = [s for s in serials if s]
    known = [
        s for s in dict.fromkeys(given) if act.find(Piece, maker_id=part.maker_id, part_id=part.id, serial=s)
    ]
    twice = [s for s in dict.fromkeys(given) if given.count(s) > 1 and s not in known]
    return [
        Refusal(Rule.IDENTITY, s, f"Serial {s} of {part.number} {how}; read it on the piece again.")
        for how, found in (("is in the store already", known), ("stands twice", twice))
        for s in found
    ]


def near_serials(act: Act, part: Part, made: Sequence[Piece]) -> list[str]:
    """A sentence for each new piece whose serial looks like another one of its part."""
    numbered = [p.serial for p in made if p.serial]
    if not numbered:
        return []
    alike: dict[str, list[str]] = {}
    for (known,) in act.rows(
        "SELECT serial FROM piece WHERE part_id = ? AND serial IS NOT NULL ORDER BY id", part.id
    ):
        for shape in _shapes(known):
            alike.setdefault(shape, []).append(known)
    return [
        f"Serial {serial} looks like {near.candidate}, another one of this part ({near.why}); read it on the piece again."
        for serial in numbered
        for near in codes.near_misses(
            serial, candidates=[c for s in _shapes(serial) for c in alike.get(s, ())]
        )[:1]
    ]


def _shapes(serial: str) -> Iterator[str]:
    """What a serial shares with every near one: its characters in order of the alphabet, look-alikes as one.

    Comparing only serials of one shape keeps a part with many serials fast.
    """
    text = "".join(serial.upper().split())
    yield "".join(sorted(text.translate(_FOLD)))
    if number := _EXPONENT.fullmatch(text):
        yield "".join(sorted(number[1].translate(_FOLD)))
