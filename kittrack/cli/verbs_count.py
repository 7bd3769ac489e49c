"""Verbs of counting a place."""

from typing import Final

from kittrack.cli import reading
from kittrack.cli.verb import Station, Values, Verb, option, word, words
from kittrack.services import counting
from kittrack.services.counting import Counted


def _counted(text: str) -> Counted:
    """Read "CODE=QUANTITY" or "CODE=QUANTITY:CONDITION"."""
    code, (quantity, condition) = reading.pair_of("CODE", _quantity, "QUANTITY:CONDITION")(text)
    return Counted(code, quantity, condition)


def _quantity(text: str) -> tuple[int, str]:
    quantity, _, condition = text.partition(":")
    return reading.counted(quantity), condition.strip() or "serviceable"


def _short(text: str) -> Counted:
    """Read "SET=PIECE,PIECE"."""
    code, missing = reading.pair_of("SET", _codes, "PIECE,PIECE")(text)
    return Counted(code, 1, missing=missing)


def _codes(text: str) -> tuple[str, ...]:
    return tuple(part.strip() for part in text.split(",") if part.strip())


def _with_short_sets(values: Values) -> Values:
    return values | {"entries": (*values.get("entries", ()), *values.pop("short", ()))}


_SHORT: Final = "a rotor set that was opened to look, and the pieces that it lacks: SET=PIECE,PIECE"

VERBS: Final = (
    Verb(
        "count open", Station.OFFICE, "Make a blind sheet for a place; answers with the count's code.",
        'A-01 --by "Clerk One"',
        counting.open_count,
        (word("place", "code or name of a bin, cage, bench or van"),),
    ),
    Verb(
        "count enter", Station.OFFICE, "Enter what was counted; what is on the sheet and not entered is not there.",
        'C000001-A Y000004-T=16 "Y000007-R=4:on hold" R000002-F=1 --by "Clerk One"',
        counting.enter_count,
        (
            word("count", "the count's code"),
            words("entries", "CODE=QUANTITY, with :CONDITION where it is not serviceable", read=_counted, needed=False),
            option("short", _SHORT, read=_short, many=True, parted=";"),
        ),
        build=_with_short_sets,
    ),
    Verb(
        "count settle", Station.OFFICE, "Settle a count: differences move to or from unaccounted, with a second person.",
        'C000001-A --reason "year\'s count" --second "Clerk Two" --by "Clerk One"',
        counting.settle_count,
        (
            word("count", "the count's code"),
            option("short_sets", _SHORT, read=_short, flag="--short", many=True, parted=";"),
        ),
    ),
)  # fmt: skip
