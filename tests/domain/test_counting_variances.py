"""Variances of a count and what to count next."""

from datetime import date, timedelta
from fractions import Fraction
from itertools import product
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kittrack.domain.counting import (
    EVERY_WORKING_DAYS,
    TOLERANCE_PERCENT,
    Countable,
    CountClass,
    Tally,
    Variance,
    count_classes,
    counts_a_year,
    daily_counts,
    due_for_count,
    next_count_on,
    record_accuracy,
    variances,
    variances_by_sense,
)
from kittrack.domain.spin import Sense
from kittrack.errors import BadInput

A, B, C = CountClass


def test_a_cw_blade_too_many_never_covers_a_ccw_blade_too_few() -> None:
    tallies = [
        Tally("bin 1", "blade", 10, 11, sense=Sense.CW),
        Tally("bin 1", "blade", 10, 9, sense=Sense.CCW),
    ]
    assert variances(tallies) == (
        Variance("blade", Sense.CCW, missing=1, surplus=0),
        Variance("blade", Sense.CW, missing=0, surplus=1),
    )
    assert variances_by_sense(tallies) == {Sense.CW: (1, 1), Sense.CCW: (1, -1)}


def test_net_hides_what_absolute_shows() -> None:
    tallies = [
        Tally("bin 1", "screw", 100, 90),
        Tally("bin 2", "screw", 50, 60),
        Tally("bin 3", "screw", 5, 5),
    ]
    (found,) = variances(tallies)
    assert (found.absolute, found.net, found.missing, found.surplus) == (20, 0, 10, 10)
    assert variances_by_sense(tallies) == {None: (20, 0)}


TALLIES = st.lists(
    st.builds(
        Tally,
        place=st.sampled_from(["bin 1", "bin 2", "van"]),
        part=st.sampled_from(["blade", "screw"]),
        booked=st.integers(0, 50),
        counted=st.integers(0, 50),
        sense=st.sampled_from([None, *Sense]),
        tolerance_percent=st.sampled_from([0, 5]),
    ),
    max_size=12,
)


@given(TALLIES)
def test_sums_are_those_of_each_sense_alone(tallies: list[Tally]) -> None:
    by_sense = variances_by_sense(tallies)
    assert set(by_sense) == {tally.sense for tally in tallies}
    for sense, (absolute, net) in by_sense.items():
        mine = [tally.variance for tally in tallies if tally.sense == sense]
        assert net == sum(mine)
        assert absolute == sum(map(abs, mine)) >= abs(net)


@given(TALLIES)
def test_accuracy_is_the_share_of_places_without_a_fault(tallies: list[Tally]) -> None:
    accuracy = record_accuracy(tallies)
    places = {tally.place for tally in tallies}
    if accuracy is None:
        assert not places
        return
    wrong = {tally.place for tally in tallies if not tally.within_tolerance}
    assert accuracy == 1 - Fraction(len(wrong), len(places))


@pytest.mark.parametrize(
    ("booked", "counted", "percent", "within"),
    [
        (100, 100, 0, True),
        (100, 99, 0, False),  # aircraft parts: no tolerance at all
        (1000, 990, 1, True),
        (1000, 989, 1, False),
        (1000, 1030, 3, True),
        (1000, 1050, 5, True),
        (1000, 1051, 5, False),
        (0, 1, 5, False),
        (0, 0, 0, True),
    ],
)
def test_tolerances_count_from_what_is_booked(booked: int, counted: int, percent: int, within: bool) -> None:
    assert Tally("bin", "screw", booked, counted, tolerance_percent=percent).within_tolerance is within


def test_the_scheme_has_the_published_tolerances() -> None:
    # inventoryturns.com: A 1 %, B 3 %, C 5 %
    assert TOLERANCE_PERCENT == {A: 1, B: 3, C: 5}


# holooly.com, "Cole's Trucks": 500 A every 20 working days, B every 60, C every 120
@pytest.mark.parametrize(
    ("items", "daily", "total"),
    [
        ({A: 500, B: 1750, C: 2750}, [25, 29, 23], 77),
        ({A: 500, B: 1500, C: 3000}, [25, 25, 25], 75),
    ],
)
def test_published_daily_counts_are_reproduced(
    items: dict[CountClass, int], daily: list[int], total: int
) -> None:
    found = daily_counts(items)
    assert list(found.values()) == daily
    assert sum(found.values()) == total


@pytest.mark.parametrize(
    ("items", "times", "yearly", "daily"),
    [
        ({A: 100, B: 300, C: 600}, {A: 12, B: 4, C: 1}, 3000, 12),  # calcbee.com, 250 days
        ({A: 10_000}, {A: 4}, 40_000, 160),  # Contractor Supply magazine 2012, 250 days
    ],
)
def test_published_yearly_counts_are_reproduced(
    items: dict[CountClass, int], times: dict[CountClass, int], yearly: int, daily: int
) -> None:
    assert counts_a_year(items, times=times) == yearly
    assert yearly / 250 == daily


def test_classes_go_by_the_share_of_issues() -> None:
    # 80 / 15 / 5 % of value
    classes = count_classes({"a": 500, "b": 300, "c": 100, "d": 50, "e": 30, "f": 20})
    assert classes == {"a": A, "b": A, "c": B, "d": B, "e": C, "f": C}


def test_blades_are_always_counted_most_often() -> None:
    classes = count_classes({"blade": 0, "screw": 100}, always_a=frozenset({"blade"}))
    assert classes == {"screw": A, "blade": A}


def test_what_never_moves_is_counted_least() -> None:
    assert count_classes({"b": 0, "a": 0}) == {"a": C, "b": C}
    assert count_classes({}) == {}


@given(st.dictionaries(st.text(max_size=3), st.integers(0, 1000), max_size=12))
def test_a_part_that_moves_more_is_never_counted_less_often(issues: dict[str, int]) -> None:
    classes = count_classes(issues)
    assert classes.keys() == issues.keys()
    for (one, more), (other, less) in product(issues.items(), repeat=2):
        if more > less:
            assert classes[one] <= classes[other]


MONDAY = date(2026, 11, 2)


@pytest.mark.parametrize("each", list(CountClass))
def test_a_place_falls_due_after_its_working_days(each: CountClass) -> None:
    due = next_count_on(Countable("bin", each, MONDAY))
    assert due is not None
    between = (MONDAY + timedelta(days=n) for n in range(1, (due - MONDAY).days + 1))
    assert sum(day.weekday() < 5 for day in between) == EVERY_WORKING_DAYS[each]


@given(st.dates(date(2000, 1, 1), date(2100, 1, 1)), st.sampled_from(list(CountClass)))
def test_a_place_falls_due_on_a_working_day(last: date, each: CountClass) -> None:
    due = next_count_on(Countable("bin", each, last))
    assert due is not None
    assert due.weekday() < 5
    assert due > last


def test_the_longest_overdue_place_of_a_class_comes_first() -> None:
    places = [
        Countable("bin 3", A, MONDAY),
        Countable("bin 2", A, MONDAY - timedelta(weeks=1)),
        Countable("bin 1", C, MONDAY),
        Countable("van", C, None),
        Countable("bench", B, None),
    ]
    in_four_weeks = MONDAY + timedelta(weeks=4)
    assert [each.place for each in due_for_count(places, on=in_four_weeks)] == [
        "bin 2",
        "bin 3",
        "bench",
        "van",
    ]
    day_before = in_four_weeks - timedelta(days=1)
    assert [each.place for each in due_for_count(places, on=day_before)] == ["bin 2", "bench", "van"]


def test_what_is_due_comes_by_class_whatever_was_never_counted() -> None:
    places = [
        Countable("C new", C, None),
        Countable("C old", C, MONDAY - timedelta(weeks=40)),
        Countable("B late", B, MONDAY - timedelta(weeks=13)),
        Countable("A late", A, MONDAY - timedelta(weeks=6)),
        Countable("A later", A, MONDAY - timedelta(weeks=9)),
        Countable("A new", A, None),
        Countable("A counted", A, MONDAY),
    ]
    assert [each.place for each in due_for_count(places, on=MONDAY)] == [
        "A new", "A later", "A late", "B late", "C new", "C old",
    ]  # fmt: skip


def test_a_last_count_at_the_end_of_the_calendar_is_refused() -> None:
    with pytest.raises(BadInput, match="beyond the calendar"):
        next_count_on(Countable("bin", C, date.max))


@pytest.mark.parametrize("figure", [-1, 1.5, float("nan"), float("inf"), 10**30, None, True, "3"])
def test_figures_that_cannot_be_are_refused(figure: Any) -> None:
    calls: tuple[Any, ...] = (
        lambda: Tally("bin", "screw", figure, 1),
        lambda: Tally("bin", "screw", 1, figure),
        lambda: Tally("bin", "screw", 1, 1, tolerance_percent=figure),
        lambda: count_classes({"screw": figure}),
        lambda: daily_counts({A: figure}),
        lambda: daily_counts({A: 1}, every={A: figure}),
        lambda: counts_a_year({A: figure}, times={A: 1}),
        lambda: counts_a_year({A: 1}, times={A: figure}),
    )
    for call in calls:
        with pytest.raises(BadInput):
            call()


def test_nothing_is_counted_every_no_days() -> None:
    with pytest.raises(BadInput):
        daily_counts({A: 1}, every={A: 0})
