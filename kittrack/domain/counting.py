"""What a count says: variances that are never netted across senses, accuracy, and what to count next.

Source: design C11 and section 2 (counts); cycle counting as in published textbook examples.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from fractions import Fraction
from math import floor
from typing import Final

from kittrack.domain import bounds
from kittrack.domain.spin import Sense
from kittrack.errors import BadInput

_MOST: Final = 10**12
_WORKING_DAYS_A_WEEK: Final = 5
_SATURDAY: Final = 5


class CountClass(StrEnum):
    """How often a thing is counted."""

    A = "A"
    B = "B"
    C = "C"


# Working days between two counts (textbook example "Cole's Trucks", holooly.com); blades, sets and kits
# are always A (house rule). Whole weeks, so that a day of the week keeps its places.
EVERY_WORKING_DAYS: Final = {CountClass.A: 20, CountClass.B: 60, CountClass.C: 120}
# Loose fasteners may differ by this share of what is booked (inventoryturns.com); anything that is an
# aircraft part by itself may not differ at all.
TOLERANCE_PERCENT: Final = {CountClass.A: 1, CountClass.B: 3, CountClass.C: 5}
# Up to which share of all issues a part is A, and B (80 / 15 / 5 % of value in published schemes).
_A_UNTIL, _B_UNTIL = Fraction(80, 100), Fraction(95, 100)


@dataclass(frozen=True)
class Tally:
    """One thing in one place: what the record says and what was counted.

    `tolerance_percent` stays 0 for blades, sets, kits and everything else but loose fasteners.
    """

    place: str
    part: str
    booked: int
    counted: int
    lot: str = ""
    sense: Sense | None = None
    tolerance_percent: int = 0

    def __post_init__(self) -> None:
        bounds.whole(self.booked, name=f"booked quantity of {self.part}", low=0, high=_MOST)
        bounds.whole(self.counted, name=f"counted quantity of {self.part}", low=0, high=_MOST)
        bounds.whole(self.tolerance_percent, name="tolerance in percent", low=0, high=100)

    @property
    def variance(self) -> int:
        """Counted less booked: negative where something is missing."""
        return self.counted - self.booked

    @property
    def within_tolerance(self) -> bool:
        """Whether the difference is one that the scheme lets pass; it is recorded all the same."""
        return abs(self.variance) * 100 <= self.tolerance_percent * self.booked


@dataclass(frozen=True)
class Variance:
    """The differences of one part in one sense, over all places and lots.

    A surplus in one place and a gap in another cancel in `net` but not in `absolute`.
    """

    part: str
    sense: Sense | None
    missing: int
    surplus: int

    @property
    def absolute(self) -> int:
        """All differences, whatever their sign."""
        return self.missing + self.surplus

    @property
    def net(self) -> int:
        """Surplus less missing."""
        return self.surplus - self.missing


def variances(tallies: Iterable[Tally]) -> tuple[Variance, ...]:
    """The differences by part and sense; a CW blade too many never covers a CCW blade too few.

    Returns:
        One entry for each part and sense counted, without a difference too, in the order of part and sense.
    """
    sums: dict[tuple[str, str], list[int]] = defaultdict(lambda: [0, 0])
    for tally in tallies:
        both = sums[tally.part, tally.sense or ""]
        both[tally.variance > 0] += abs(tally.variance)
    return tuple(
        Variance(part, Sense(sense) if sense else None, missing, surplus)
        for (part, sense), (missing, surplus) in sorted(sums.items())
    )


def variances_by_sense(tallies: Iterable[Tally]) -> dict[Sense | None, tuple[int, int]]:
    """Absolute and net difference of all parts, for each sense by itself (None: parts without a sense)."""
    sums: dict[Sense | None, tuple[int, int]] = {}
    for each in variances(tallies):
        absolute, net = sums.get(each.sense, (0, 0))
        sums[each.sense] = (absolute + each.absolute, net + each.net)
    return sums


def record_accuracy(tallies: Iterable[Tally]) -> Fraction | None:
    """Places whose every thing was within tolerance, over places counted; None where none was counted."""
    right: dict[str, bool] = {}
    for tally in tallies:
        right[tally.place] = right.get(tally.place, True) and tally.within_tolerance
    return Fraction(sum(right.values()), len(right)) if right else None


def count_classes(
    issues: Mapping[str, int], *, always_a: frozenset[str] = frozenset()
) -> dict[str, CountClass]:
    """The class of each part by its share of all issues: A up to 80 %, B up to 95 %, C the rest.

    A part is in the class in which its share begins; equal parts stand in the order of their names.

    Args:
        issues: for each part, how much was issued in a year (by number or by value).
        always_a: parts that are counted most often whatever they move: blades, sets, kits.

    Returns:
        Every part with its class, the most issued first.

    Raises:
        BadInput: an amount that can't be one.
    """
    for part, amount in issues.items():
        bounds.whole(amount, name=f"issues of {part}", low=0, high=_MOST)
    total = sum(issues.values())
    classes, before = {}, 0
    for part in sorted(issues, key=lambda each: (-issues[each], each)):
        begins = Fraction(before, total) if total else Fraction(1)
        moved = CountClass.A if begins < _A_UNTIL else CountClass.B if begins < _B_UNTIL else CountClass.C
        classes[part] = CountClass.A if part in always_a else moved
        before += issues[part]
    return classes


def daily_counts(
    items: Mapping[CountClass, int], *, every: Mapping[CountClass, int] = EVERY_WORKING_DAYS
) -> dict[CountClass, int]:
    """How many things of each class to count in a working day, to the nearest whole one.

    Args:
        items: how many things are in each class.
        every: working days between two counts of the same thing.

    Raises:
        BadInput: a number that can't be one.
    """
    return {each: floor(_daily(items[each], every=every[each]) + Fraction(1, 2)) for each in items}


def _daily(items: int, *, every: int) -> Fraction:
    count = bounds.whole(items, name="number of things to count", low=0, high=_MOST)
    return Fraction(count, bounds.whole(every, name="working days between counts", low=1, high=5000))


def counts_a_year(items: Mapping[CountClass, int], *, times: Mapping[CountClass, int]) -> int:
    """How many counts a year make, where each class is counted so many times.

    Raises:
        BadInput: a number that can't be one.
    """
    return sum(
        bounds.whole(items[each], name="number of things to count", low=0, high=_MOST)
        * bounds.whole(times[each], name="counts a year", low=0, high=366)
        for each in items
    )


@dataclass(frozen=True)
class Countable:
    """A place with its class and the day of its last count, if it ever was counted."""

    place: str
    count_class: CountClass
    last_counted: date | None = None


def next_count_on(countable: Countable) -> date | None:
    """The working day on which a place falls due again; None where it was never counted, which is now.

    Raises:
        BadInput: the last count lies at the end of the calendar.

    Working days are Monday to Friday (common practice, no source).
    """
    last = countable.last_counted
    if last is None:
        return None
    weeks = EVERY_WORKING_DAYS[countable.count_class] // _WORKING_DAYS_A_WEEK
    try:
        due = last + timedelta(weeks=weeks)
        while due.weekday() >= _SATURDAY:
            due += timedelta(days=1)
    except OverflowError:
        raise BadInput(f"The last count of {countable.place} lies beyond the calendar; correct it.") from None
    return due


def due_for_count(places: Iterable[Countable], *, on: date) -> tuple[Countable, ...]:
    """The places to count on a day, by class: every A that is due, then B, then C.

    Within a class those never counted come first, then the longest overdue, then by name. An A place that is overdue
    matters more than a C place that nobody counted yet (common practice, no source).
    """
    due = ((each.count_class, next_count_on(each) or date.min, each.place, each) for each in places)
    return tuple(each for _, day, _, each in sorted(due, key=lambda item: item[:3]) if day <= on)
