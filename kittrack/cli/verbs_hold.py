"""Verbs of holds."""

from typing import Final

from kittrack.cli.verb import Station, Values, Verb, option, switch, word, words
from kittrack.domain.codes import Kind
from kittrack.errors import BadInput
from kittrack.services import holding
from kittrack.services.holding import Scope

HELD: Final = (Kind.LOT, Kind.RECEIPT_LINE, Kind.PIECE, Kind.ROTOR_SET, Kind.KIT, Kind.TOOL)
_SCOPE: Final = ("code", "lot_code", "maker", "supplier", "part", "serials")


def scope_of(values: Values) -> Values:
    """What was typed, with its scope as one value."""
    given = {name: values.pop(name) for name in _SCOPE if name in values}
    if "serials" in given and len(given["serials"]) != 2:
        raise BadInput(
            "A range of serials has a first and a last one; give --serial twice.", field="--serial"
        )
    return values | {"scope": Scope(**given)}


def _scope(values: Values) -> Values:
    return scope_of(values) | {"reference": values.get("reference", "")}


SCOPE_OPTIONS: Final = (
    option("lot_code", "a maker's lot code, over all its suppliers", flag="--lot"),
    option("maker", "the maker's name; narrows --lot, or stands for all of the maker's parts"),
    option("supplier", "all that came from this supplier"),
    option("part", "the part number of a range of serials"),
    option("serials", "the first and the last serial of a range: give it twice", flag="--serial", many=True),
)
"""How a scope is typed that has no code of ours."""

VERBS: Final = (
    Verb(
        "hold place", Station.OFFICE, "Hold a lot, line, piece, set, kit, serials, or all of a maker; tells who has it.",
        'L000012-5 --reason "cracks at the root" --reference SB-7 --recall --by "Manager One"',
        holding.place_hold,
        (
            word("code", "a lot, receipt line, piece, rotor set, kit or scale of ours", needed=False, scans=HELD),
            *SCOPE_OPTIONS,
            option("reference", "the notice or letter that asks for it"),
            switch("is_recall", "it is a recall by the maker or an authority"),
            switch("is_evidence", "it is kept as evidence"),
        ),
        build=_scope,
    ),
    Verb(
        "hold narrow", Station.OFFICE, "Narrow a hold to a scope within it; the rest is released under a reference.",
        'H000003-2 --part RB-18-CW --serial 0001 --serial 0040 --reference "SB-7 rev 2" --reason "one shift alone" --by "Manager One"',
        holding.narrow_hold,
        (
            word("hold", "the hold's code"),
            word("code", "a lot, receipt line, piece, rotor set, kit or scale of ours", needed=False, scans=HELD),
            *SCOPE_OPTIONS,
            option("reference", "what narrows it", needed=True),
        ),
        build=scope_of,
    ),
    Verb(
        "hold release", Station.OFFICE, "Release a hold, or some of its things only.",
        'H000003-2 --reference "SB-7 rev 2" --reason "lot not affected" --by "Manager One"',
        holding.release_hold,
        (
            word("hold", "the hold's code"),
            words("only", "the things to release; without any, the whole hold", needed=False),
            option("reference", "what allows the release", needed=True),
        ),
    ),
)  # fmt: skip
