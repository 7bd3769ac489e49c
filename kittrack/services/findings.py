"""Findings: what is physically there and the record did not expect. They are recorded, never refused.

The record moves to the truth, the set goes on hold, and the job is blocked until somebody settles the finding.
Source: design 2 ("Acts are refused, findings are not"), R10.
"""

from collections.abc import Sequence
from datetime import datetime

from kittrack.domain import codes, fit
from kittrack.domain.ledger import PlaceKind
from kittrack.domain.rules import Rule, require
from kittrack.errors import BadInput, NotFound, Refusal
from kittrack.services import desk
from kittrack.services import position_desk as spots
from kittrack.services.desk import Done
from kittrack.services.position_desk import Spot
from kittrack.store.act import Act
from kittrack.store.aircraft_facts import reading_at_start
from kittrack.store.database import Store
from kittrack.store.job_facts import COVERED
from kittrack.store.records import (
    Airframe,
    Finding,
    FitRecord,
    Hold,
    HoldItem,
    Job,
    JobPosition,
    Kit,
    Part,
    Place,
    Position,
    RotorSet,
    UsageReading,
)
from kittrack.store.reversals import not_reversed
from kittrack.store.stock import end_place, inside_of

STRANGER, NOTHING = "stranger", "nothing"
"""What may be found on a position instead of a set of ours: a rotor without our label, or no rotor."""


@desk.done_by("technician", "inspector", "clerk", "manager")
def record_finding(
    store: Store, *, text: str, by: str, at: datetime, position: str = "", airframe: str = "", job: str = "",
    rotor_set: str = "", mark: str = "", found: str = "", key: str = "",
) -> Done:  # fmt: skip
    """Record what was found at an aircraft; the record moves to the truth.

    Args:
        store: the store.
        text: what was found, in the person's words.
        by: the person who found it.
        at: the instant.
        position: the position where it was found.
        airframe: the airframe, where no position is meant.
        job: the job that it blocks; by default the airframe's open one.
        rotor_set: the code of the set that is physically at the position.
        mark: the mark read on that rotor, where one could be read.
        found: "stranger" where a rotor without our label sits at the position, "nothing" where none does;
            a set that the record has there becomes unaccounted.
        key: the caller's own name for the act.

    Raises:
        BadInput: the text is empty, or it is not said where.
        NotFound: a code is unknown.
    """  # fmt: skip
    desk.require_text(finding=text)
    _check_where(position=position, airframe=airframe, rotor_set=rotor_set, found=found)
    with store.act("record a finding", by=by, at=at, key=key) as act:
        require(desk.check_done_by(act, record_finding))
        spot = spots.find_spot(act, position) if position else None
        frame = spot.airframe if spot else spots.find_airframe(act, airframe)
        work = desk.find_job(act, job) if job else spots.open_job_of(act, frame)
        there = desk.find_set(act, rotor_set) if rotor_set else None
        said = [f"Recorded for {spot.name if spot else frame.tail}: {text}."]
        if spot and there:
            said += _seat(act, spot, there)
            said += _hold_and_compare(act, spot, there, mark)
        elif spot and found:
            for gone in spots.sets_at(act, spot.position):
                said += _displace(act, gone)
        finding = open_finding(
            act, text, frame=frame, position=spot.position if spot else None, rotor_set=there, job=work
        )
    blocked = (
        f"{work.code} is blocked until finding {finding.id} is settled." if work else _no_job(frame, finding)
    )
    return Done(act.event_id, (), (*said, blocked))


@desk.done_by("inspector", "manager")
def settle_finding(store: Store, *, finding: int, text: str, by: str, at: datetime, key: str = "") -> Done:
    """Settle a finding with what was done about it. Holds stay until they are released on their own.

    Raises:
        NotFound: there is no such finding.
        Refused: it is settled already (R12), a rotor of the wrong sense still sits there (R3), or the person
            is neither inspector nor manager.
    """
    desk.require_text(settlement=text)
    with store.act("settle a finding", by=by, at=at, reason=text, key=key) as act:
        found = act.find(Finding, id=finding)
        if found is None:
            raise NotFound(f"there is no finding {finding}; look it up in the list of open findings")
        require(desk.check_done_by(act, settle_finding), _check_settleable(act, found))
        act.update(found, settled_event_id=act.event_id, settlement=text.strip())
    return Done(act.event_id, (), (f"Finding {finding} is settled: {text.strip()}.",))


# ---- what other acts at the aircraft share ------------------------------------------------------


def open_finding(
    act: Act, text: str, *, frame: Airframe, position: Position | None = None, rotor_set: RotorSet | None = None,
    job: Job | None = None,
) -> Finding:  # fmt: skip
    """Write an open finding within an act."""
    return act.insert(
        Finding(
            airframe_id=frame.id, position_id=position.id if position else None,
            rotor_set_id=rotor_set.id if rotor_set else None, job_id=job.id if job else None,
            text=text.strip(), event_id=act.event_id,
        )
    )  # fmt: skip


def hold_set(act: Act, rotor_set: RotorSet, *, reason: str) -> str:
    """Put one rotor set on hold within an act; returns the hold's code."""
    hold = act.insert(
        Hold(
            code=act.new_code(Hold, codes.Kind.HOLD), scope="rotor set", scope_text=rotor_set.code, reason=reason,
            reference=f"event {act.event_id}", placed_event_id=act.event_id,
        )
    )  # fmt: skip
    act.insert(HoldItem(hold_id=hold.id, rotor_set_id=rotor_set.id))
    return hold.code


def leave_position(act: Act, rotor_set: RotorSet, position: Position) -> FitRecord | None:
    """Write that a set is no longer fitted at a position; returns the fit that ended, None where none was recorded."""
    record = spots.current_fit(act, position)
    if record is None or record.rotor_set_id != rotor_set.id:
        return None
    act.update(record, state="removed")
    return record


def age(act: Act, rotor_set: RotorSet, position: Position, record: FitRecord | None) -> RotorSet:
    """Add the service since a set came to a position to its life; where that is unknown, so is the life.

    Args:
        act: the act.
        rotor_set: the set that comes off.
        position: where it was.
        record: the fit that ends; None where a finding or the opening of the books put the set there.
    """
    frame = act.get(Airframe, position.airframe_id)
    since = reading_at_start(act, rotor_set, position, record)
    minutes = fit.time_in_service(rotor_set.used_minutes, at_fit=since[0], now=frame.minutes)
    flights = fit.time_in_service(rotor_set.used_flights, at_fit=since[1], now=frame.flights)
    return act.update(rotor_set, used_minutes=minutes, used_flights=flights)


# ---- the truth at a position ---------------------------------------------------------------------


def _check_where(*, position: str, airframe: str, rotor_set: str, found: str) -> None:
    if not position and not airframe:
        raise BadInput("A finding is of a position or an airframe; scan one of them.", field="position")
    if (rotor_set or found) and not position:
        raise BadInput("It is not said on which position; scan the tag on the arm.", field="position")
    if found not in ("", STRANGER, NOTHING) or (found and rotor_set):
        raise BadInput(
            f"Found is a set's code, {STRANGER!r} or {NOTHING!r}, and one of them only.", field="found"
        )


def _seat(act: Act, spot: Spot, rotor_set: RotorSet) -> list[str]:
    """Move the record of a set to the position where it was found; what the record had there is displaced."""
    said = []
    for other in spots.sets_at(act, spot.position):
        if other.id != rotor_set.id:
            said += _displace(act, other)
    where = inside_of(act, rotor_set.place_id)
    if where == spot.position.place_id:
        return said
    said += _open_kit_around(act, where)
    known = _service_is_known(act, rotor_set, spot.airframe)
    moved = _take_out(act, rotor_set, to_place_id=spot.position.place_id)
    if not known:
        act.update(moved, used_minutes=None, used_flights=None)
    _mark_positions(act, spot.position, state="to do")
    return [*said, f"{rotor_set.code} is now on record at {spot.name}."]


def _service_is_known(act: Act, rotor_set: RotorSet, frame: Airframe) -> bool:
    """Whether a set's hours can be known although it was found elsewhere than on record.

    They are where it stayed on one airframe; and where it was missed on that airframe, which has not flown since.
    """
    position = spots.position_holding(act, rotor_set)
    if position is not None:
        return position.airframe_id == frame.id
    last = act.select(FitRecord, "rotor_set_id = ?", rotor_set.id, order="id DESC", limit=1)
    missed_at = act.value(
        "SELECT max(m.event_id) FROM movement m JOIN place p ON p.id = m.to_place_id "
        "WHERE m.container_id = ? AND p.kind = 'unaccounted'",
        rotor_set.place_id,
    )
    if not last or missed_at is None or act.get(Position, last[0].position_id).airframe_id != frame.id:
        return False
    flown = f"airframe_id = ? AND event_id > ? AND {not_reversed('usage_reading.event_id')}"
    return not act.select(UsageReading, flown, frame.id, missed_at, limit=1)


def _displace(act: Act, rotor_set: RotorSet) -> list[str]:
    """A set that is not where the record has it is unaccounted and on hold until it is found."""
    _take_out(act, rotor_set, to_place_id=end_place(act, PlaceKind.UNACCOUNTED).id)
    hold = hold_set(act, rotor_set, reason="not found where the record had it")
    return [f"{rotor_set.code} is not where the record had it: unaccounted, on hold under {hold}; find it."]


def _take_out(act: Act, rotor_set: RotorSet, *, to_place_id: int) -> RotorSet:
    """Move a set out of where the record has it; from a position it leaves with its service counted."""
    position = spots.position_holding(act, rotor_set)
    if position is not None:
        rotor_set = age(act, rotor_set, position, leave_position(act, rotor_set, position))
        _mark_positions(act, position, state="bare")
    act.move_container(
        rotor_set.place_id, from_place_id=inside_of(act, rotor_set.place_id), to_place_id=to_place_id
    )
    return act.update(rotor_set, bound_position_id=None)


def _mark_positions(act: Act, position: Position, *, state: str, only: Sequence[str] = ()) -> None:
    """Set the state of a position in the open jobs of its airframe: its work is to be done again."""
    for row in act.select(JobPosition, f"position_id = ? AND {COVERED}", position.id):
        job = act.get(Job, row.job_id)
        if job.state == "open" and (not only or row.state in only):
            act.update(row, state=state)
            spots.reopen_walk(act, job)


def _open_kit_around(act: Act, place_id: int | None) -> list[str]:
    """A closed kit whose set was found elsewhere is not whole: its number is dead and it goes on hold (R5)."""
    place = act.find(Place, id=place_id)
    kit = act.find(Kit, place_id=place_id) if place is not None else None
    if kit is None or place is None or not place.closed:
        return []
    act.update(place, closed=0)
    act.update(kit, state="opened")
    hold = act.insert(
        Hold(
            code=act.new_code(Hold, codes.Kind.HOLD), scope="kit", scope_text=kit.code,
            reason="a set of it was found elsewhere", reference=f"event {act.event_id}", placed_event_id=act.event_id,
        )
    )  # fmt: skip
    act.insert(HoldItem(hold_id=hold.id, kit_id=kit.id))
    return [
        f"{kit.code} is not whole: its number is dead and it is on hold under {hold.code}. Take back what is left in it, "
        "as a kit that was opened."
    ]


def _hold_and_compare(act: Act, spot: Spot, rotor_set: RotorSet, mark: str) -> list[str]:
    """Put the found set on hold, say what is wrong with its sense, and open its position's work again if anything is."""
    wrong = fit.check_sense(spots.sense_reading(act, spot, rotor_set, mark, is_fitted=True))
    part = act.get(Part, rotor_set.part_id)
    act.note(
        "found on a position", position=spot.position.code, rotor_set=rotor_set.code, mark=mark.strip(),
        sense_of_mark=spots.sense_of_mark(act, part, mark), sense_of_map=spot.mapped,
    )  # fmt: skip
    senses_differ = any(r.rule == Rule.SENSE_BY_POSITION for r in wrong)
    if senses_differ:
        _mark_positions(act, spot.position, state="to do", only=fit.PASSED)
    reason = "wrong sense found" if senses_differ else "found unexpectedly"
    hold = hold_set(act, rotor_set, reason=f"{reason} on {spot.name}")
    return [*(r.message for r in wrong), f"{rotor_set.code} is on hold under {hold}."]


def _no_job(frame: Airframe, finding: Finding) -> str:
    return f"Every job of {frame.tail} is blocked until finding {finding.id} is settled; open a job to put it right."


def _check_settleable(act: Act, finding: Finding) -> list[Refusal]:
    """Why a finding can't be settled: it is, or the set it found still sits where its sense is wrong."""
    subject = f"finding {finding.id}"
    if finding.settled_event_id is not None:
        return [
            Refusal(
                Rule.NOTHING_ERASED,
                subject,
                f"Finding {finding.id} is settled already: {finding.settlement}.",
            )
        ]
    if finding.position_id is None:
        return []
    spot = spots.spot_of(act, act.get(Position, finding.position_id))
    return [
        Refusal(
            Rule.SENSE_BY_POSITION, spot.name,
            f"{one.code} ({one.sense}) still sits on {spot.name}, which turns {spot.mapped}; take it off first.",
        )
        for one in spots.sets_at(act, spot.position)
        if spot.mapped is not None and one.sense != spot.mapped
    ]  # fmt: skip
