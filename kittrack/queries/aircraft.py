"""What stands on an airframe: its plan, and what is fitted with everything behind it.

The answers are frozen and ordered by the rank of the positions; how far jobs are stands in standing.py, what is
due in due.py. Source: design 7 (Aircraft), R3, R18.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from kittrack.domain import fixing
from kittrack.domain.fit import time_in_service
from kittrack.store.act import Reading
from kittrack.store.aircraft_facts import (
    Spot,
    current_fit,
    find_airframe,
    reading_at_start,
    sets_inside,
    spots_of,
)
from kittrack.store.database import Store
from kittrack.store.job_facts import COVERED
from kittrack.store.kit_facts import marks, set_facts
from kittrack.store.records import (
    Airframe,
    AirframeType,
    ApprovedPart,
    Event,
    FitRecord,
    Job,
    Lot,
    Part,
    Person,
    Position,
    ReceiptLine,
    RotorSet,
    SenseMap,
    Tool,
    TorqueRecord,
    TypeRevision,
)


@dataclass(frozen=True)
class PlanPosition:
    """A position as the plan view draws it; angle clockwise from the nose, seen from above.

    `state` is that of the open job which covers it, "" where none does; `agrees` compares the fitted set's
    sense with the map and is None where nothing is fitted or the map is silent.
    """

    code: str
    name: str
    alias: str
    rank: int
    arm: str
    level: str
    drive: str
    angle_mdeg: int
    radius_um: int
    sense: str
    approved: tuple[str, ...]
    rotor_set: str
    set_part: str
    set_sense: str
    agrees: bool | None
    job: str
    state: str
    held: bool


@dataclass(frozen=True)
class Plan:
    """An airframe seen from above: its map, its jobs, its positions in order."""

    airframe: str
    tail: str
    type_name: str
    revision: str
    state: str
    map_revision: int
    map_verified: bool
    minutes: int | None
    flights: int | None
    jobs: tuple[str, ...]
    findings: tuple[str, ...]
    positions: tuple[PlanPosition, ...]


@dataclass(frozen=True)
class Fastened:
    """How a fit was fastened: lots, counts, dose, torque and its tool."""

    screw_part: str
    screw_line: str
    screw_lot: str
    screw_lot_code: str
    screws: int
    washer_line: str
    washers: int
    locker_line: str
    locker_ul: int
    torque_method: str
    torque_mnm: int | None
    tool: str


@dataclass(frozen=True)
class Fitted:
    """What is fitted at one position, who fitted and inspected it, and what is known of its life.

    `fitted_at` is UTC; empty texts where there is no fit record (from before day one, or a finding).
    Used minutes and flights count up to now; None is unknown.
    """

    position: str
    name: str
    needed_sense: str
    rotor_set: str
    part: str
    sense: str
    condition: str
    holds: tuple[str, ...]
    used_minutes: int | None
    used_flights: int | None
    history_known: bool
    job: str
    fitted_by: str
    fitted_at: str
    mark: str
    state: str
    inspected_by: str
    inspection: str
    walked_by: str
    fastened: Fastened | None
    torqued_minutes: int | None
    retorque: fixing.Retorque


def plan(store: Store, airframe: str) -> Plan:
    """The plan of an airframe, by its code or tail.

    Raises:
        NotFound: no airframe is known so.
    """
    with store.reading() as read:
        frame = find_airframe(read, airframe)
        revision = read.get(TypeRevision, frame.type_revision_id)
        current = read.get(SenseMap, frame.sense_map_id) if frame.sense_map_id is not None else None
        jobs = read.select(Job, "airframe_id = ? AND state = 'open'", frame.id)
        states = _states(read, jobs)
        return Plan(
            airframe=frame.code, tail=frame.tail,
            type_name=read.get(AirframeType, revision.airframe_type_id).name, revision=revision.name,
            state=frame.state, map_revision=current.revision if current else 0,
            map_verified=current is not None and current.verified, minutes=frame.minutes, flights=frame.flights,
            jobs=tuple(j.code for j in jobs), findings=_finding_texts(read, frame),
            positions=_plan_positions(read, spots_in_order(read, frame), states),
        )  # fmt: skip


def as_fitted(store: Store, airframe: str) -> tuple[Fitted, ...]:
    """What is fitted on an airframe now, position by position; empty positions are left out.

    Raises:
        NotFound: no airframe is known so.
    """
    with store.reading() as read:
        spots = spots_in_order(read, find_airframe(read, airframe))
        sets = sets_inside(read, (spot.position.place_id for spot in spots))
        held = _held(read, [one for found in sets.values() for one in found])
        return tuple(
            _fitted(read, spot, one, held[one.id]) for spot in spots for one in sets[spot.position.place_id]
        )


# ---- the plan ------------------------------------------------------------------------------------


def spots_in_order(read: Reading, frame: Airframe) -> list[Spot]:
    """The positions in use of an airframe, in the order of its type revision."""
    spots = spots_of(read, read.select(Position, "airframe_id = ? AND active = 1", frame.id))
    return sorted(spots, key=lambda s: (s.type_position.rank, s.position.id))


def _states(read: Reading, jobs: list[Job]) -> dict[int, tuple[str, str]]:
    """Job code and state by position, of the open jobs of an airframe; the newest job's where two cover it."""
    found = {}
    for job in jobs:
        for position_id, state in read.rows(
            f"SELECT position_id, state FROM job_position WHERE job_id = ? AND {COVERED}", job.id
        ):
            found[position_id] = (job.code, state)
    return found


def _plan_positions(
    read: Reading, spots: list[Spot], states: dict[int, tuple[str, str]]
) -> tuple[PlanPosition, ...]:
    sets = sets_inside(read, (spot.position.place_id for spot in spots))
    there = {place: found[0] for place, found in sets.items() if found}
    approved = _approved(read, spots)
    parts = read.get_all(Part, (one.part_id for one in there.values()))
    held = _held(read, [*there.values()])
    return tuple(
        _plan_position(
            spot, states.get(spot.position.id, ("", "")), approved[spot.type_position.id],
            there.get(spot.position.place_id), parts, held,
        )
        for spot in spots
    )  # fmt: skip


def _plan_position(
    spot: Spot, standing: tuple[str, str], approved: Sequence[str], there: RotorSet | None,
    parts: Mapping[int, Part], held: Mapping[int, Sequence[str]],
) -> PlanPosition:  # fmt: skip
    kind = spot.type_position
    agrees = None if there is None or spot.mapped is None else there.sense == spot.mapped
    return PlanPosition(
        code=spot.position.code, name=spot.position.name, alias=kind.alias, rank=kind.rank, arm=kind.arm,
        level=kind.level, drive=kind.drive, angle_mdeg=kind.angle_mdeg, radius_um=kind.radius_um,
        sense=spot.mapped or "", approved=tuple(approved), rotor_set=there.code if there else "",
        set_part=parts[there.part_id].number if there else "", set_sense=there.sense if there else "",
        agrees=agrees, job=standing[0], state=standing[1], held=bool(there and held[there.id]),
    )  # fmt: skip


def _approved(read: Reading, spots: list[Spot]) -> Mapping[int, list[str]]:
    """The numbers of the parts that are approved, by the id of the type's position."""
    numbers: dict[int, list[str]] = {spot.type_position.id: [] for spot in spots}
    approved = read.select(
        ApprovedPart, f"type_position_id IN ({marks([*numbers])}) AND active = 1", *numbers
    )
    parts = read.get_all(Part, (a.part_id for a in approved))
    for a in approved:
        numbers[a.type_position_id].append(parts[a.part_id].number)
    return numbers


def _held(read: Reading, sets: list[RotorSet]) -> Mapping[int, tuple[str, ...]]:
    """The open holds on each of some sets, its blades and their receipt lines, by the id of the set."""
    return {
        one.set_id: tuple(
            sorted({h.hold_code for h in (*one.holds, *(h for item in one.content for h in item.holds))})
        )
        for one in set_facts(read, sets)
    }


def _finding_texts(read: Reading, frame: Airframe) -> tuple[str, ...]:
    rows = read.rows(
        "SELECT id, text FROM finding WHERE settled_event_id IS NULL AND airframe_id = ? ORDER BY id",
        frame.id,
    )
    return tuple(f"{number}: {text}" for number, text in rows)


# ---- what is fitted ------------------------------------------------------------------------------


def _fitted(read: Reading, spot: Spot, one: RotorSet, holds: tuple[str, ...]) -> Fitted:
    record = record_of(read, spot, one)
    event = read.get(Event, record.event_id) if record else None
    torque = last_torque(read, spot, record)
    since = reading_at_start(read, one, spot.position, record)
    return Fitted(
        position=spot.position.code, name=spot.name, needed_sense=spot.mapped or "", rotor_set=one.code,
        part=read.get(Part, one.part_id).number, sense=one.sense, condition=one.condition, holds=holds,
        used_minutes=time_in_service(one.used_minutes, at_fit=since[0], now=spot.airframe.minutes),
        used_flights=time_in_service(one.used_flights, at_fit=since[1], now=spot.airframe.flights),
        history_known=bool(one.history_known), job=read.get(Job, record.job_id).code if record else "",
        fitted_by=_name(read, record.fitted_by_id if record else None), fitted_at=event.at if event else "",
        mark=record.mark if record else "", state=record.state if record else "",
        inspected_by=_name(read, record.inspected_by_id if record else None),
        inspection=record.inspection if record else "",
        walked_by=_name(read, record.walked_by_id if record else None),
        fastened=_fastened(read, record) if record and record.state != "started" else None,
        torqued_minutes=torque.airframe_minutes if torque else None, retorque=retorque_of(spot, torque),
    )  # fmt: skip


def record_of(read: Reading, spot: Spot, one: RotorSet) -> FitRecord | None:
    """The fit of a set at a position; None where the record of it came there without one."""
    record = current_fit(read, spot.position)
    return record if record is not None and record.rotor_set_id == one.id else None


def _name(read: Reading, person_id: int | None) -> str:
    return read.get(Person, person_id).name if person_id else ""


def _fastened(read: Reading, record: FitRecord) -> Fastened:
    screws = read.get(ReceiptLine, record.screw_line_id) if record.screw_line_id else None
    lot = read.get(Lot, screws.lot_id) if screws else None
    return Fastened(
        screw_part=read.get(Part, screws.part_id).number if screws else "", screw_line=screws.code if screws else "",
        screw_lot=lot.code if lot else "", screw_lot_code=(lot.lot_code or "") if lot else "", screws=record.screws,
        washer_line=_line_code(read, record.washer_line_id), washers=record.washers,
        locker_line=_line_code(read, record.locker_line_id), locker_ul=record.locker_ul,
        torque_method=record.torque_method, torque_mnm=record.torque_mnm,
        tool=read.get(Tool, record.tool_id).name if record.tool_id else "",
    )  # fmt: skip


def _line_code(read: Reading, line_id: int | None) -> str:
    return read.get(ReceiptLine, line_id).code if line_id else ""


# ---- torque --------------------------------------------------------------------------------------


def last_torque(read: Reading, spot: Spot, record: FitRecord | None) -> TorqueRecord | None:
    """The last torque that still counts: of this fit, or, where no fit is on record, of what is fitted."""
    where, param = ("position_id = ? AND fit_record_id IS NULL", spot.position.id)
    if record is not None:
        where, param = "fit_record_id = ?", record.id
    found = read.select(TorqueRecord, where, param, order="id DESC", limit=1)
    return found[0] if found else None


def retorque_of(spot: Spot, torque: TorqueRecord | None) -> fixing.Retorque:
    """Whether a position's re-torque is due, by the last torque that counts."""
    torqued_at = torque.airframe_minutes if torque else None
    return fixing.retorque(spot.revision.retorque_minutes, torqued_at=torqued_at, now=spot.airframe.minutes)
