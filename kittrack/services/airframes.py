"""Airframes: adding one, its hours and flights, and its type revision.

Source: design 2 (an airframe is a container), R7 (effectivity), R12, R17 (its sense map), R21.
"""

from dataclasses import dataclass
from datetime import datetime

from kittrack.domain import codes
from kittrack.domain.ledger import PlaceKind
from kittrack.domain.quantities import Dimension, write_quantity
from kittrack.domain.rules import Rule, require
from kittrack.errors import BadInput, Problem, Refusal
from kittrack.services import desk
from kittrack.services.airframe_positions import (
    check_refit,
    move_positions,
    name_positions,
    positions_in_use,
    write_map,
)
from kittrack.services.catalogue_faults import collecting, fault, texts
from kittrack.services.catalogue_types import name_of, type_revision_of
from kittrack.services.desk import Done
from kittrack.services.open_work import kits_for_airframe, look_again, open_jobs
from kittrack.store.act import Act, read_instant_text
from kittrack.store.aircraft_facts import find_airframe
from kittrack.store.database import Store
from kittrack.store.records import (
    Airframe,
    AirframeType,
    Event,
    Place,
    TypeRevision,
    UsageReading,
)
from kittrack.store.reversals import not_reversed
from kittrack.store.stock import end_place, place_named

FLYERS = ("technician", "inspector", "clerk", "manager")


@dataclass(frozen=True, kw_only=True)
class AirframeSpec:
    """One tail of a type revision.

    Its total hours (in minutes) and flights are given together with where they were read, or are unknown.
    `verified_how` says how its senses were verified by motor test; without it they are not. `apron` is the
    name of the place where it stands; by default the stores' first one.
    """

    tail: str
    airframe_type: str
    revision: str
    minutes: int | None = None
    flights: int | None = None
    reading_source: str = ""
    verified_how: str = ""
    apron: str = ""


def check_airframe(spec: AirframeSpec) -> list[Problem]:
    """Every fault of an airframe that shows without looking into the store."""
    found = texts(
        spec, needed=("tail", "airframe_type", "revision"), optional=("reading_source", "verified_how")
    )
    if codes.looks_like_code(spec.tail):
        found.append(
            fault("tail", f"{spec.tail!r} looks like a number of the store; take the airframe's own tail.")
        )
    if (spec.minutes is None) != (spec.flights is None):
        found.append(fault("flights", "Hours and flights are read together; give both or neither."))
    if min(spec.minutes or 0, spec.flights or 0) < 0:
        found.append(fault("minutes", "Hours and flights are no less than nothing; read them again."))
    if spec.minutes is not None and not spec.reading_source.strip():
        found.append(
            fault("reading_source", "Hours and flights need their source; say where they were read.")
        )
    return found


def write_airframe(act: Act, spec: AirframeSpec) -> tuple[Airframe, tuple[str, ...]]:
    """Write an airframe with its place on the apron, its positions and the first revision of its sense map.

    Raises:
        BadInput: every fault of the row.
    """
    found = check_airframe(spec)
    revision: TypeRevision | None = None
    apron: Place | None = None
    with collecting(found, field="revision"):
        revision = type_revision_of(act, spec.airframe_type, spec.revision)
    with collecting(found, field="apron"):
        apron = (
            place_named(act, spec.apron, kinds=(PlaceKind.APRON,))
            if spec.apron
            else end_place(act, PlaceKind.APRON)
        )
    if act.find(Airframe, tail=spec.tail):
        found.append(fault("tail", f"There is an airframe {spec.tail!r} already; a tail stands once."))
    if found or revision is None or apron is None:
        raise BadInput(found)
    code = act.new_code(Airframe, codes.Kind.AIRFRAME)
    place = act.insert(Place(code=code, kind=PlaceKind.AIRFRAME.value, name=spec.tail))
    act.move_container(place.id, from_place_id=None, to_place_id=apron.id)
    airframe = act.insert(
        Airframe(code=code, tail=spec.tail, type_revision_id=revision.id, place_id=place.id)
    )
    if spec.minutes is not None and spec.flights is not None:
        airframe = _write_reading(
            act, airframe, minutes=spec.minutes, flights=spec.flights, source=spec.reading_source
        )
    name_positions(act, airframe, revision)
    airframe = write_map(
        act, airframe, {}, source=f"layout of {name_of(act, revision)}", verified_how=spec.verified_how
    )
    warnings = (
        () if spec.verified_how else (f"The sense map of {spec.tail} is not verified; make a motor test.",)
    )
    return airframe, warnings


@desk.done_by("manager")
def add_airframe(store: Store, *, spec: AirframeSpec, by: str, at: datetime, key: str = "") -> Done:
    """Add a tail: it stands on the apron, its senses are those of its type revision's layout until revised (R17).

    Returns:
        Its code, then the codes of its positions in their order.
    """
    with store.act("add an airframe", by=by, at=at, key=key) as act:
        require(desk.check_done_by(act, add_airframe))
        airframe, warnings = write_airframe(act, spec)
        positions = positions_in_use(act, airframe)
    given = (airframe.code, *(p.code for p in positions))
    return Done(act.event_id, given, (f"{airframe.tail} added as {airframe.code}.", *warnings))


# ---- hours and flights -----------------------------------------------------------------------------


@desk.done_by(*FLYERS)
def enter_usage(
    store: Store,
    *,
    airframe: str,
    minutes: int,
    flights: int,
    source: str,
    by: str,
    at: datetime,
    key: str = "",
) -> Done:
    """Enter an airframe's total hours (in minutes) and flights, read from a named source. They never fall.

    Raises:
        Refused: a total lies below the last one (R12), or the airframe has left the fleet.
    """
    desk.require_text(source=source)
    with store.act("enter hours and flights", by=by, at=at, key=key) as act:
        found = find_airframe(act, airframe)
        require(
            desk.check_done_by(act, enter_usage),
            check_in_fleet(found),
            _check_grows(found, minutes=minutes, flights=flights),
        )
        said = _too_fast(act, found, minutes=minutes)
        _write_reading(act, found, minutes=minutes, flights=flights, source=source.strip())
    return Done(
        act.event_id,
        (found.code,),
        (f"{found.tail} stands at {_hours(minutes)} and {flights} flights.", *said),
    )


def _check_grows(airframe: Airframe, *, minutes: int, flights: int) -> list[Refusal]:
    found = []
    flown = ((airframe.minutes or 0, minutes, _hours), (airframe.flights or 0, flights, _flights))
    for last, now, shown in flown:
        if now < last:
            message = (
                f"{airframe.tail} stood at {shown(last)} and {shown(now)} is less; totals never fall: "
                "read the counter again, or have the earlier reading reversed: kittrack reverse"
            )
            found.append(Refusal(Rule.NOTHING_ERASED, airframe.tail, message))
    return found


def _hours(minutes: int) -> str:
    return f"{write_quantity(minutes, dimension=Dimension.TIME)} h"


def _flights(count: int) -> str:
    return f"{count} {'flight' if count == 1 else 'flights'}"


def _too_fast(act: Act, airframe: Airframe, *, minutes: int) -> tuple[str, ...]:
    """A total that grew by more than the clock did: a slip of the pen, or the reading before came late."""
    stands = f"airframe_id = ? AND {not_reversed('usage_reading.event_id')}"
    last = act.select(UsageReading, stands, airframe.id, order="id DESC", limit=1)
    if not last:
        return ()
    since = act.get(Event, last[0].event_id).at
    passed = (act.moment - read_instant_text(since)).total_seconds() / 60
    grown = minutes - last[0].minutes
    if grown <= passed:
        return ()
    return (
        f"{airframe.tail} grew by {_hours(grown)} while {_hours(int(passed))} passed; look whether both readings are right.",
    )


def _write_reading(act: Act, airframe: Airframe, *, minutes: int, flights: int, source: str) -> Airframe:
    act.insert(
        UsageReading(
            airframe_id=airframe.id, minutes=minutes, flights=flights, source=source, event_id=act.event_id
        )
    )
    return act.update(airframe, minutes=minutes, flights=flights)


def check_in_fleet(airframe: Airframe) -> list[Refusal]:
    """Why an airframe can't be worked on or changed: it has left the fleet."""
    if airframe.state == "active":
        return []
    message = f"{airframe.tail} is {airframe.state} and has left the fleet; its record stays as it is."
    return [Refusal(Rule.NOTHING_ERASED, airframe.tail, message)]


# ---- another type revision ---------------------------------------------------------------------------


@desk.done_by("manager")
def change_type_revision(
    store: Store,
    *,
    airframe: str,
    revision: str,
    source: str,
    by: str,
    second: str,
    at: datetime,
    key: str = "",
) -> Done:
    """Bring an airframe to another revision of its type (R7, R21): positions are matched by their names.

    Every position keeps the sense of the airframe's own map; a new one takes the layout's. The map gets a new
    revision that is not verified.

    Args:
        revision: the name of the other revision.
        source: the modification that was carried out.
        second: the second person (R21).

    Raises:
        Refused: something is fitted at a position that the other revision does not have, or a fitted rotor is
            not approved there (R7); a role or the second person is missing.
    """
    desk.require_text(source=source)
    with store.act("change the type revision", by=by, at=at, second=second, reason=source, key=key) as act:
        found = find_airframe(act, airframe)
        kind = act.get(AirframeType, act.get(TypeRevision, found.type_revision_id).airframe_type_id)
        new = type_revision_of(act, kind.name, revision)
        if new.id == found.type_revision_id:
            raise BadInput(
                f"{found.tail} is of {name_of(act, new)} already; nothing changes.", field="revision"
            )
        require(
            desk.check_done_by(act, change_type_revision),
            desk.check_second(first=act.by, second=act.second, what="a change of the type revision"),
            check_in_fleet(found),
            check_refit(act, found, new),
        )
        kits = kits_for_airframe(act, found)
        said = move_positions(act, found, new)
        act.update(found, type_revision_id=new.id)
        touched = look_again(kits, open_jobs(act, airframe=found))
        named = name_of(act, new)
    first = f"{found.tail} is now of {named}; its sense map is not verified until a motor test."
    return Done(act.event_id, (found.code,), (first, *said, *touched))
