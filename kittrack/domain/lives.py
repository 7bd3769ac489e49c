"""When a service life runs out at the pace at which an airframe flies.

Source: design C12 (whichever first; the clock's basis explicit; unknown is never zero).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from math import floor
from typing import Final

from kittrack.domain import bounds
from kittrack.domain.dates import Clock, LifeLeft

MOST_DAYS: Final = 36_525  # a hundred years ahead; a life beyond that is as good as none


@dataclass(frozen=True)
class Reading:
    """An airframe's total service as it was read on a day."""

    day: date
    minutes: int
    flights: int

    def __post_init__(self) -> None:
        bounds.quantity(self.minutes, of="minutes that an airframe flew")
        bounds.quantity(self.flights, of="flights of an airframe")


@dataclass(frozen=True)
class Pace:
    """What an airframe flies in a day, from the readings of some days. Zero where it did not fly."""

    minutes: float
    flights: float
    days: int


@dataclass(frozen=True)
class RunsOut:
    """The day on which a life runs out, and the clock that ends it.

    `day` is None where no clock can be projected or none is limited, and where a clock has no record: then no
    life is left until one is found, and `clock` names it. `not_projected` names the clocks that
    are limited and known but whose pace is not known or zero; they may end it earlier once it flies.
    """

    day: date | None
    clock: Clock | None
    not_projected: tuple[Clock, ...]


def pace_of(readings: Sequence[Reading], *, since: date) -> Pace | None:
    """The pace since a day, or None where the readings do not tell.

    Args:
        readings: by day, the oldest first.
        since: the first reading counted is the last one on or before this day, else the first after it.

    Returns:
        The pace between the first and the last reading counted; None with less than a day between them, or
        where a total went down.
    """
    if not readings:
        return None
    before = [r for r in readings if r.day <= since]
    first, last = (before[-1] if before else readings[0]), readings[-1]
    days = (last.day - first.day).days
    counted = [r for r in readings if first.day <= r.day]
    falls = any(b.minutes < a.minutes or b.flights < a.flights for a, b in pairwise(counted))
    if days < 1 or falls:
        return None
    return Pace((last.minutes - first.minutes) / days, (last.flights - first.flights) / days, days)


def runs_out(left: LifeLeft, *, pace: Pace | None, on: date, calendar_on: date) -> RunsOut:
    """When a life runs out, whichever clock comes first.

    Args:
        left: what is left on each limited clock.
        pace: what the airframe flies, or None where nobody knows.
        on: the day of the reading for which minutes and flights are left.
        calendar_on: the day for which calendar days are left.
    """
    if left.unknown:
        return RunsOut(None, left.unknown[0], ())
    ends: list[tuple[date, Clock]] = []
    dark: list[Clock] = []
    flown = (
        (Clock.TIME, left.minutes, pace.minutes if pace else 0.0),
        (Clock.FLIGHTS, left.flights, pace.flights if pace else 0.0),
    )
    for clock, rest, daily in flown:
        if rest is None:
            continue
        if rest <= 0:
            ends.append((on, clock))
        elif daily <= 0:
            dark.append(clock)
        else:
            ends.append((on + timedelta(days=min(MOST_DAYS, floor(rest / daily))), clock))
    if left.days is not None:
        ends.append((calendar_on + timedelta(days=min(MOST_DAYS, left.days)), Clock.DAYS))
    day, first = min(ends, default=(None, None))
    return RunsOut(day, first, tuple(dark))


def replacements_within(days: Sequence[date | None], *, today: date, horizon: int) -> int:
    """How many of some lives run out up to a number of days from today, those over already included.

    Raises:
        BadInput: a horizon that can't be one.
    """
    bounds.whole(horizon, name="days ahead", low=0, high=MOST_DAYS)
    last = today + timedelta(days=horizon)
    return sum(day is not None and day <= last for day in days)
