"""Verbs of counting a place."""

from typing import Final

from kittrack.cli import reading
from kittrack.cli.tables import Table, facts, listing
from kittrack.cli.verb import Station, Values, Verb, option, switch, word, words
from kittrack.domain.codes import Kind, looks_like_code, read_code
from kittrack.queries import counts
from kittrack.queries.counts import BLIND, CountResult, CountSummary, MonthOfCounts, PlaceToCount
from kittrack.services import counting, counting_anew
from kittrack.services.counting import Counted

_ONE_EACH: Final = (Kind.PIECE, Kind.ROTOR_SET, Kind.KIT)


def _counted(text: str) -> Counted:
    """Read "CODE=QUANTITY" or "CODE=QUANTITY:CONDITION"; what has a number of its own is one where nothing else is said."""
    if looks_like_code(text) and read_code(text).kind in _ONE_EACH:
        return Counted(text.strip(), 1)
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


def _due(found: tuple[PlaceToCount, ...]) -> list[Table]:
    return [
        listing(
            found, ("class", lambda p: p.count_class), "place", "kind", "why", ("last counted", lambda p: p.last_counted or "never"),
            ("due", lambda p: p.due_on or "now"), "days_over", "open_count", nothing="nothing is due to be counted",
        )
    ]  # fmt: skip


def _result(found: CountResult) -> list[Table]:
    who = (
        ("count", found.count), ("place", found.place), ("state", found.state), ("opened at", found.opened_at),
        ("opened by", found.opened_by), ("counted by", found.counted_by), ("settled at", found.settled_at),
        ("settled by", found.settled_by), ("second person", found.second), ("reason", found.reason),
    )  # fmt: skip
    if found.is_blind:
        return [facts(*who), Table((), (), "differences", BLIND)]
    return [
        facts(*who),
        listing(
            found.differences, "sense", "part", "missing", "surplus", "absolute", title="differences by sense, never netted",
            nothing="none: the record is right",
        ),
        listing(
            found.things, "thing", "kind", "sense", "part", "lot", "condition", "unit", "booked", "counted", "counted_again",
            "difference", title="things",
        ),
    ]  # fmt: skip


def _counts(found: tuple[CountSummary, ...]) -> list[Table]:
    return [
        listing(
            found, "count", "place", "state", "opened_at", "counted_by", "lines", "right", nothing="nothing was ever counted"
        )
    ]  # fmt: skip


def _accuracy(found: tuple[MonthOfCounts, ...]) -> list[Table]:
    return [
        listing(
            found, "month", "counts", "places", "within",
            ("accuracy", lambda m: "" if m.accuracy_percent is None else f"{m.accuracy_percent} %"), "missing", "surplus",
        )
    ]  # fmt: skip


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
            words("entries", "CODE=QUANTITY, with :CONDITION where it is not serviceable; CODE alone where it is one piece, set or kit", read=_counted, needed=False),
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
    Verb(
        "count anew", Station.OFFICE, "Begin a count anew: stock moved meanwhile, or it was mistaken.",
        'C000001-A --reason "a box was carried in" --second "Clerk Two" --by "Clerk One"',
        counting_anew.begin_anew,
        (word("count", "the count's code"),),
    ),
    Verb(
        "count due", Station.OFFICE, "The places that are due to be counted, by their class A, B or C.", "--all",
        counts.counts_due,
        (switch("everything", "also the places that are not due yet", flag="--all"),),
        show=_due,
        rows=lambda found: found,
    ),
    Verb(
        "count show", Station.OFFICE, "What a count found; the record's figures only once what differs was counted twice.", "C000001-A",
        counts.count_result,
        (word("count", "the count's code"),),
        show=_result,
        rows=lambda found: found.things,
    ),
    Verb(
        "count list", Station.OFFICE, "Every count, the newest first, and whether the record was right.", "--open",
        counts.counts,
        (
            option("place", "only of the place with this name"),
            switch("only_open", "only those that are not settled", flag="--open"),
        ),
        show=_counts,
        rows=lambda found: found,
    ),
    Verb(
        "count accuracy", Station.OFFICE, "How right the record was, month by month, and what was missing and too many.", "--months 24",
        counts.count_accuracy,
        (option("months", "how many months; default 12", read=reading.whole),),
        show=_accuracy,
        rows=lambda found: found,
    ),
)  # fmt: skip
