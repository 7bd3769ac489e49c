"""When a service life runs out. Source of every number: computed by hand."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kittrack.domain.dates import Clock, LifeLimit, LifeUsed, remaining
from kittrack.domain.lives import Pace, Reading, pace_of, replacements_within, runs_out

DAY = date(2026, 3, 2)


def test_the_pace_is_that_between_the_readings_of_the_window() -> None:
    readings = [
        Reading(date(2025, 1, 1), 0, 0), Reading(date(2025, 9, 1), 1000, 10), Reading(date(2026, 1, 1), 2220, 132),
        Reading(date(2026, 3, 2), 2820, 192),
    ]  # fmt: skip
    # from 2025-09-01, the last reading on or before the day, to 2026-03-02: 182 days, 1820 minutes, 182 flights
    assert pace_of(readings, since=date(2025, 9, 3)) == Pace(10.0, 1.0, 182)
    # nothing lies before: from the first one on, 425 days
    assert pace_of(readings, since=date(2024, 1, 1)) == Pace(2820 / 425, 192 / 425, 425)


@pytest.mark.parametrize(
    "readings",
    [
        [],
        [Reading(DAY, 5, 5)],
        [Reading(DAY, 5, 5), Reading(DAY, 9, 9)],
        [Reading(date(2026, 1, 1), 10, 5), Reading(date(2026, 2, 1), 8, 6)],
        [Reading(date(2026, 1, 1), 10, 5), Reading(date(2026, 2, 1), 12, 4)],
    ],
)
def test_no_pace_is_told_where_readings_do_not_tell_it(readings: list[Reading]) -> None:
    assert pace_of(readings, since=date(2025, 12, 1)) is None


def test_a_total_that_fell_counts_only_in_the_window_and_anywhere_in_it() -> None:
    fell = [Reading(date(2025, 1, 1), 50, 5), Reading(date(2025, 2, 1), 10, 1)]
    steady = [Reading(date(2025, 3, 1), 20, 2), Reading(date(2025, 3, 11), 120, 12)]
    assert pace_of([*fell, *steady], since=date(2025, 3, 1)) == Pace(10, 1, 10)
    assert pace_of([*fell, *steady], since=date(2025, 1, 1)) is None
    dip = [
        Reading(date(2025, 3, 1), 20, 2),
        Reading(date(2025, 3, 5), 10, 2),
        Reading(date(2025, 3, 11), 120, 12),
    ]
    assert pace_of(dip, since=date(2025, 3, 1)) is None


def test_two_readings_a_day_apart_tell_a_pace() -> None:
    assert pace_of([Reading(date(2025, 3, 1), 20, 2), Reading(date(2025, 3, 2), 80, 4)], since=DAY) is None
    assert pace_of(
        [Reading(date(2025, 3, 1), 20, 2), Reading(date(2025, 3, 2), 80, 4)], since=date(2025, 3, 1)
    ) == Pace(60, 2, 1)


def test_an_airframe_that_stood_has_a_pace_of_zero() -> None:
    assert pace_of([Reading(date(2026, 1, 1), 10, 5), Reading(DAY, 10, 5)], since=DAY) is None
    assert pace_of([Reading(date(2026, 1, 1), 10, 5), Reading(DAY, 10, 5)], since=date(2026, 1, 1)) == Pace(
        0, 0, 60
    )


LIMIT = LifeLimit(minutes=6000, flights=400, days=730)


def test_the_clock_that_runs_out_first_ends_the_life() -> None:
    left = remaining(LIMIT, used=LifeUsed(5000, 100, date(2025, 3, 2)), on=DAY)
    # 1000 minutes at 100 a day: 10 days; 300 flights at 2: 150 days; 365 of 730 days gone: 365 left
    end = runs_out(left, pace=Pace(100, 2, 90), on=DAY, calendar_on=DAY)
    assert (end.day, end.clock, end.not_projected) == (date(2026, 3, 12), Clock.TIME, ())
    end = runs_out(left, pace=Pace(1, 30, 90), on=DAY, calendar_on=DAY)
    assert (end.day, end.clock) == (date(2026, 3, 12), Clock.FLIGHTS)
    end = runs_out(left, pace=Pace(0.1, 0.1, 90), on=DAY, calendar_on=DAY)
    assert (end.day, end.clock) == (date(2027, 3, 2), Clock.DAYS)


def test_hours_run_from_the_day_of_the_reading_and_the_calendar_from_today() -> None:
    left = remaining(LifeLimit(minutes=6000), used=LifeUsed(5000), on=DAY)
    assert runs_out(left, pace=Pace(100, 0, 90), on=date(2026, 2, 20), calendar_on=DAY).day == date(
        2026, 3, 2
    )


def test_an_unknown_clock_has_no_day_and_is_never_zero() -> None:
    left = remaining(LIMIT, used=LifeUsed(None, 100, date(2025, 3, 2)), on=DAY)
    end = runs_out(left, pace=Pace(1, 1, 90), on=DAY, calendar_on=DAY)
    assert (end.day, end.clock) == (None, Clock.TIME)
    assert left.is_over


def test_what_does_not_fly_is_told_and_only_its_calendar_runs() -> None:
    left = remaining(LIMIT, used=LifeUsed(5000, 100, date(2025, 3, 2)), on=DAY)
    for pace in (None, Pace(0, 0, 90)):
        end = runs_out(left, pace=pace, on=DAY, calendar_on=DAY)
        assert (end.day, end.clock, end.not_projected) == (
            date(2027, 3, 2),
            Clock.DAYS,
            (Clock.TIME, Clock.FLIGHTS),
        )
    none = runs_out(remaining(LifeLimit(), used=LifeUsed(), on=DAY), pace=None, on=DAY, calendar_on=DAY)
    assert (none.day, none.clock) == (None, None)


def test_a_life_that_is_over_ended_with_its_reading() -> None:
    left = remaining(LifeLimit(minutes=100), used=LifeUsed(130), on=DAY)
    assert runs_out(left, pace=Pace(1, 1, 9), on=date(2026, 2, 1), calendar_on=DAY).day == date(2026, 2, 1)


def test_the_last_flight_is_still_flown_and_none_ends_the_life_at_once() -> None:
    for used, day in ((399, date(2026, 3, 12)), (400, DAY)):
        left = remaining(LifeLimit(flights=400), used=LifeUsed(flights=used), on=DAY)
        assert runs_out(left, pace=Pace(0, 0.1, 90), on=DAY, calendar_on=DAY).day == day


def test_lives_that_run_out_are_counted_up_to_the_last_day() -> None:
    days = [None, date(2026, 2, 1), date(2026, 3, 12), date(2026, 3, 13)]
    assert replacements_within(days, today=DAY, horizon=10) == 2
    assert replacements_within(days, today=DAY, horizon=11) == 3
    assert replacements_within([*days, DAY], today=DAY, horizon=0) == 2


@given(
    used=st.integers(0, 6000),
    pace=st.floats(0.01, 1000),
    more=st.floats(0.01, 1000),
    limit=st.integers(1, 10_000),
)
def test_who_flies_more_never_lasts_longer(used: int, pace: float, more: float, limit: int) -> None:
    left = remaining(LifeLimit(minutes=limit), used=LifeUsed(used), on=DAY)
    slow = runs_out(left, pace=Pace(pace, 0, 30), on=DAY, calendar_on=DAY)
    fast = runs_out(left, pace=Pace(pace + more, 0, 30), on=DAY, calendar_on=DAY)
    assert slow.day is not None
    assert fast.day is not None
    assert fast.day <= slow.day
