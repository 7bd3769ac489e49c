"""How long rotor sets will last: hours, flights and calendar, whichever first, and from what that is known.

Source: design C12, R13 (unknown hours are never zero).
"""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Final

from kittrack.domain import dates
from kittrack.domain.dates import Clock, LifeLeft, LifeUsed, remaining
from kittrack.domain.fit import time_in_service
from kittrack.domain.lives import Pace, Reading, RunsOut, pace_of, runs_out
from kittrack.queries.aircraft import record_of, spots_in_order
from kittrack.store.act import Reading as Read
from kittrack.store.aircraft_facts import Spot, reading_at_start, sets_inside
from kittrack.store.database import Store
from kittrack.store.kit_facts import life_limit
from kittrack.store.records import Airframe, FitRecord, Part, RotorSet, Site
from kittrack.store.reversals import not_reversed

PACE_DAYS: Final = 180
"""Days over which an airframe's pace is taken: half a year evens out weather (common practice, no source)."""


UNKNOWN: Final = "UNKNOWN"


@dataclass(frozen=True)
class RotorLife:
    """The life of a fitted set: what it has served, what is left on each clock, and when the first runs out.

    `state` is "UNKNOWN" where a clock has no record: no life is left until one is found, and no day is told.
    `basis` says from which readings that follows.
    """

    state: str
    days_left: int | None
    runs_out_on: date | None
    clock: str
    airframe: str
    position: str
    rotor_set: str
    sense: str
    part: str
    used_minutes: int | None
    left_minutes: int | None
    used_flights: int | None
    left_flights: int | None
    since_on: date | None
    left_days: int | None
    left: str
    is_over: bool
    basis: str


def rotor_lives(
    store: Store, *, at: datetime, within_days: int = 90, everything: bool = False
) -> tuple[RotorLife, ...]:
    """The fitted sets whose life is unknown, over, or runs out within some days, in this order and the soonest first.

    Args:
        store: the store.
        at: the instant of asking; paces are taken over the half year before.
        within_days: how far ahead.
        everything: all fitted sets, those whose end nobody can tell last.
    """
    with store.reading() as read:
        found = fitted_lives(read, at=at)
    today = found[0].asked_on if found else None
    lives = [one.life for one in found]
    if not everything and today is not None:
        last = today + timedelta(days=within_days)
        lives = [
            life for life in lives if life.is_over or (life.runs_out_on is not None and life.runs_out_on <= last)
        ]  # fmt: skip
    return tuple(
        sorted(lives, key=lambda e: (e.state != UNKNOWN, e.runs_out_on or date.max, e.airframe, e.position))
    )


@dataclass(frozen=True)
class FittedLife:
    """A life with the ids that other questions need."""

    life: RotorLife
    part_id: int
    position_id: int
    type_position_id: int
    asked_on: date


def fitted_lives(read: Read, *, at: datetime) -> list[FittedLife]:
    """The life of every set fitted on an active airframe, in the order of airframes and positions."""
    zone = read.select(Site, limit=1)[0].time_zone
    today = dates.local_day(at, zone=zone)
    found = []
    for frame in read.select(Airframe, "state = 'active'", order="tail"):
        readings = _readings(read, frame, zone)
        pace = pace_of(readings, since=today - timedelta(days=PACE_DAYS))
        read_on = readings[-1].day if readings else today
        spots = spots_in_order(read, frame)
        sets = sets_inside(read, (spot.position.place_id for spot in spots))
        for spot in spots:
            for one in sets[spot.position.place_id]:
                life = _life(read, spot, one, pace=pace, read_on=read_on, today=today)
                found.append(
                    FittedLife(life, one.part_id, spot.position.id, spot.position.type_position_id, today)
                )
    return found


def _readings(read: Read, frame: Airframe, zone: str) -> list[Reading]:
    rows = read.rows(
        "SELECT e.at, u.minutes, u.flights FROM usage_reading u JOIN event e ON e.id = u.event_id "
        f"WHERE u.airframe_id = ? AND {not_reversed('u.event_id')} ORDER BY u.id",
        frame.id,
    )
    return [
        Reading(dates.local_day(dates.read_instant(at), zone=zone), minutes, flights)
        for at, minutes, flights in rows
    ]


def _life(
    read: Read, spot: Spot, one: RotorSet, *, pace: Pace | None, read_on: date, today: date
) -> RotorLife:
    part = read.get(Part, one.part_id)
    record = record_of(read, spot, one)
    start = reading_at_start(read, one, spot.position, record)
    used = LifeUsed(
        time_in_service(one.used_minutes, at_fit=start[0], now=spot.airframe.minutes),
        time_in_service(one.used_flights, at_fit=start[1], now=spot.airframe.flights),
        date.fromisoformat(one.used_since_on) if one.used_since_on else None,
    )
    limit = life_limit(part, started=used.since is not None or not one.history_known or one.used_minutes != 0)
    left = remaining(limit, used=used, on=today)
    end = runs_out(left, pace=pace, on=read_on, calendar_on=today)
    state = UNKNOWN if left.unknown else "OVER" if left.is_over else "limited" if end.day else "no end told"
    return RotorLife(
        state=state, days_left=(end.day - today).days if end.day else None, runs_out_on=end.day, clock=str(end.clock or ""),
        airframe=spot.airframe.tail, position=spot.position.name, rotor_set=one.code, sense=one.sense, part=part.number,
        used_minutes=used.minutes, left_minutes=left.minutes, used_flights=used.flights, left_flights=left.flights,
        since_on=used.since, left_days=left.days, left=str(left), is_over=left.is_over,
        basis=_basis(one, record, pace, read_on, left, end),
    )  # fmt: skip


def _basis(
    one: RotorSet, record: FitRecord | None, pace: Pace | None, read_on: date, left: LifeLeft, end: RunsOut
) -> str:
    """From what the answer follows, in words."""
    told = []
    if left.unknown:
        why = "it was fitted before the books were opened" if record is None else "a reading is missing"
        told.append(f"no record of {', '.join(left.unknown)}: {why if one.history_known or record is None else 'its history is unknown'}")  # fmt: skip
    if left.minutes is not None or left.flights is not None:
        told.append(f"counted from the airframe's reading of {read_on}")
    if pace is not None and end.clock in (Clock.TIME, Clock.FLIGHTS) and not left.unknown:
        told.append(f"{pace.minutes / 60:.1f} h and {pace.flights:.1f} flights a day over {pace.days} days")
    if left.days is not None:
        told.append(f"calendar from the first fit on {one.used_since_on}")
    if end.not_projected:
        told.append(f"no pace for {', '.join(end.not_projected)}: it did not fly, or readings are missing")
    return "; ".join(told)
