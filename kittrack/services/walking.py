"""The inspection of a fitted position by another person, and the last walk around the airframe.

Source: design R3 (all positions are walked once more before the job closes), R8 (fitter and inspector differ).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from kittrack.domain import fit
from kittrack.domain.rules import Rule, require
from kittrack.errors import BadInput, Problem, Refusal
from kittrack.services import desk
from kittrack.services import position_desk as spots
from kittrack.services.desk import Done
from kittrack.services.position_desk import Spot
from kittrack.store.act import Act
from kittrack.store.database import Store
from kittrack.store.last_change import last_change
from kittrack.store.records import Airframe, FitRecord, Job, Position, RotorSet
from kittrack.store.stock import contents


@dataclass(frozen=True)
class Seen:
    """A position that was scanned on the walk and the mark read on its rotor."""

    position: str
    mark: str


@desk.done_by("inspector")
def inspect_position(
    store: Store, *, job: str, position: str, mark: str, by: str, at: datetime, key: str = ""
) -> Done:
    """Inspect a fastened position: the mark is read again, by another person than the one who fitted it.

    Where a manager declared that nobody else is there, the same person may do it as a separate pass; it is
    recorded as a re-inspection (R8).

    Raises:
        Refused: the sense does not agree (R3), the person fitted it (R8), or nothing is there to inspect.
    """
    with store.act("inspect a fitted position", by=by, at=at, key=key) as act:
        work, spot = desk.find_job(act, job), spots.find_spot(act, position)
        record = spots.current_fit(act, spot.position)
        require(_check_to_inspect(act, spot, record, work))
        assert record is not None  # noqa: S101 - _check_to_inspect refuses where there is none
        workers, me = spots.fitters(act, record), spots.human(act.by)
        alone = desk.is_declared_alone(act, act.by, on=desk.today(act), job=work)
        kind = fit.inspection_kind(inspector=me, workers=workers)
        fitted = act.get(RotorSet, record.rotor_set_id)
        require(
            [] if kind == fit.RE_INSPECTION and alone else desk.check_done_by(act, inspect_position),
            desk.check_human(act.by, what=f"the inspection of {spot.name}"),
            spots.check_job_at(act, work, spot),
            fit.check_inspector(
                spot.name, inspector=me, workers=workers, name=act.by.name, declared_alone=alone
            ),
            fit.check_sense(spots.sense_reading(act, spot, fitted, mark, is_fitted=True)),
            check_fitted_holds(act, spot, fitted),
        )
        act.update(record, state="inspected", inspected_by_id=act.by_id, inspection=kind)
        spots.set_state(act, work, spot, "inspected")
        after = spots.next_of(act, work)
    shown = (
        "re-inspection by the person who fitted it; the Office lists it"
        if kind == fit.RE_INSPECTION
        else "inspection passed"
    )
    return Done(act.event_id, (), (f"{spot.name}: {shown}.", after))


@desk.done_by("inspector", "technician")
def walk_positions(
    store: Store, *, job: str, seen: Sequence[Seen], by: str, at: datetime, key: str = ""
) -> Done:
    """The last check: every position of the airframe that carries a rotor is scanned and its mark read again.

    Raises:
        Refused: a mark, label or map does not agree, a position was left out (R3), a position of the job is
            not inspected yet (R8, R11), a finding is open (R10), or a fitted set is on hold (R6).
        BadInput: a position was scanned twice.
    """
    with store.act("walk all positions", by=by, at=at, key=key) as act:
        work = desk.find_job(act, job)
        frame = act.get(Airframe, work.airframe_id)
        walked = _spots_seen(act, frame, seen)
        require(
            desk.check_done_by(act, walk_positions),
            desk.check_human(act.by, what="the last check of all positions"),
            _check_open(work),
            _check_all_inspected(act, work, frame),
            spots.check_no_findings(act, work),
            _check_covers(act, frame, [spot for spot, _ in walked]),
            *(_check_seen(act, spot, mark) for spot, mark in walked),
            *_holds_of_job(act, work),
        )
        _write_walk(act, work)
        empty = [
            f"{s.name} carries no rotor." for s in spots_of(act, frame) if not spots.sets_at(act, s.position)
        ]
        after = spots.next_of(act, work)
    done = f"All {len(walked)} rotors of {frame.tail} agree: label, mark and map."
    return Done(act.event_id, (), (done, *empty, after))


def spots_of(act: Act, frame: Airframe) -> list[Spot]:
    """The positions in use of an airframe, in the order in which they were given to it."""
    return spots.spots_of(act, act.select(Position, "airframe_id = ? AND active = 1", frame.id))


# ---- checks -------------------------------------------------------------------------------------


def _check_to_inspect(act: Act, spot: Spot, record: FitRecord | None, job: Job) -> list[Refusal]:
    if record is not None and record.state == "fastened" and record.job_id == job.id:
        return []
    state = "nothing was fitted there"
    if record is not None:
        state = {"started": "it is not fastened yet", "inspected": "it was inspected already"}.get(
            record.state, state
        )
        state = f"{state}. {last_change(act, record)}".rstrip(" .")
    message = f"{spot.name} is not waiting for an inspection in {job.code}: {state}."
    return [Refusal(Rule.SECOND_PERSON, spot.name, message)]


def _check_open(job: Job) -> list[Refusal]:
    if job.state == "open":
        return []
    return [
        Refusal(Rule.COUNT_OUT_COUNT_IN, job.code, f"{job.code} is closed; nothing is left to walk for it.")
    ]


def _spots_seen(act: Act, frame: Airframe, seen: Sequence[Seen]) -> list[tuple[Spot, str]]:
    found = [(spots.find_spot(act, one.position), one.mark) for one in seen]
    named = [spot.position.id for spot, _ in found]
    problems = [
        Problem(
            f"{spot.name} was scanned twice on this walk; walk again, each position once.", "position", row
        )
        for row, (spot, _) in enumerate(found, start=1)
        if spot.position.id in named[: row - 1]
    ]
    problems += [
        Problem(f"{spot.name} is not a position of {frame.tail}; scan the tags on its arms.", "position", row)
        for row, (spot, _) in enumerate(found, start=1)
        if spot.airframe.id != frame.id
    ]
    if problems:
        raise BadInput(problems)
    return found


def _check_all_inspected(act: Act, job: Job, frame: Airframe) -> list[Refusal]:
    """The positions of a job that the walk can't confirm yet: half done, or not inspected."""
    found = []
    for position, row in spots.job_states(act, job):
        name = f"{frame.tail} {position.name}"
        if row.state == "fitted":
            message = f"{name} is fitted and not inspected; let another person inspect it, then walk."
            found.append(Refusal(Rule.SECOND_PERSON, name, message))
        elif row.state not in fit.PASSED:
            or_else = " or leave it out of the job," if row.state == fit.NOT_BEGUN else ""
            message = f"{name} is {row.state}; finish it,{or_else} then walk."
            found.append(Refusal(Rule.COUNT_OUT_COUNT_IN, name, message))
    return found


def _check_covers(act: Act, frame: Airframe, walked: Sequence[Spot]) -> list[Refusal]:
    carrying = [s.name for s in spots_of(act, frame) if spots.sets_at(act, s.position)]
    return fit.check_walk_covers(frame.tail, expected=carrying, seen=[s.name for s in walked])


def _check_seen(act: Act, spot: Spot, mark: str) -> list[Refusal]:
    there = spots.sets_at(act, spot.position)
    if not there:
        message = f"The record has no rotor at {spot.name}; if one sits there record it as a finding, else leave it out."
        return [Refusal(Rule.REMOVED_PARTS, spot.name, message)]
    return fit.check_sense(spots.sense_reading(act, spot, there[0], mark, is_fitted=True))


def check_fitted_holds(act: Act, spot: Spot, fitted: RotorSet) -> list[Refusal]:
    """Open holds on a fitted set, its blades and what fastens it (R6): a held rotor is not released to fly."""
    inside = contents(act, spot.position.place_id)
    return desk.check_holds(
        act, receipt_lines=[s.receipt_line_id for s in inside], pieces=[s.piece_id for s in inside if s.piece_id],
        rotor_sets=[fitted.id],
    )  # fmt: skip


def _holds_of_job(act: Act, job: Job) -> list[list[Refusal]]:
    at = spots.spots_of(act, [position for position, _ in spots.job_states(act, job)])
    return [check_fitted_holds(act, spot, one) for spot in at for one in spots.sets_at(act, spot.position)]


def _write_walk(act: Act, job: Job) -> None:
    for position, row in spots.job_states(act, job):
        record = spots.current_fit(act, position)
        if record is not None and record.job_id == job.id:
            act.update(record, walked_by_id=act.by_id)
        act.update(row, state="walked")
