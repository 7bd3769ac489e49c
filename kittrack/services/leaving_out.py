"""Leaving positions out of an open job that was opened for more than is to be done.

Only what nobody began is left out: it stays on the aircraft as it is, and another job may take it.
Source: design R3, R10, R11.
"""

from collections.abc import Sequence
from datetime import datetime

from kittrack.domain import fit
from kittrack.domain.rules import Rule, require
from kittrack.errors import BadInput, Refusal
from kittrack.services import desk
from kittrack.services import position_desk as spots
from kittrack.services.desk import Done
from kittrack.services.position_desk import Spot
from kittrack.store.act import Act
from kittrack.store.database import Store
from kittrack.store.records import Finding, Job, LeftOut


@desk.done_by("technician", "inspector", "manager")
def leave_out(
    store: Store, *, job: str, positions: Sequence[str], reason: str, by: str, at: datetime, key: str = ""
) -> Done:
    """Leave positions out of an open job: nothing was begun there, and nothing is to be.

    Args:
        store: the store.
        job: the job's code.
        positions: the codes of the positions, at least one, each once.
        reason: why they stay as they are.
        by: technician, inspector or manager.
        at: the instant.
        key: the caller's own name for the act.

    Raises:
        Refused: the job is closed or does not cover a position, something was begun or found there (R10, R11),
            or no position would be left.
        BadInput: no position, or one named twice.
    """
    desk.require_text(reason=reason)
    with store.act("leave positions out of a job", by=by, at=at, reason=reason, key=key) as act:
        work = desk.find_job(act, job)
        named = [spots.find_spot(act, one) for one in positions]
        _refuse_none_or_twice(named)
        require(
            desk.check_done_by(act, leave_out),
            *(_check_untouched(act, work, spot) for spot in named),
            _check_one_stays(act, work, named),
        )
        for spot in named:
            row = spots.job_position(act, work, spot.position)
            assert row is not None  # noqa: S101 - _check_untouched refuses where there is none
            act.insert(LeftOut(job_position_id=row.id, event_id=act.event_id))
        after = spots.next_of(act, work)
    names = ", ".join(spot.name for spot in named)
    return Done(act.event_id, (work.code,), (f"Left out of {work.code}, as it is: {names}.", after))


def _refuse_none_or_twice(named: Sequence[Spot]) -> None:
    if not named:
        raise BadInput(
            "no position is named; scan the tags of those that stay as they are", field="positions"
        )
    names = [spot.name for spot in named]
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        raise BadInput(f"{', '.join(twice)} is named twice; name each position once", field="positions")


def _check_untouched(act: Act, job: Job, spot: Spot) -> list[Refusal]:
    """Why a position can't be left out: the job can't work there, or something was begun or found there."""
    against = spots.check_job_at(act, job, spot)
    if against:
        return against
    row = spots.job_position(act, job, spot.position)
    if row is not None and row.state != fit.NOT_BEGUN:
        message = (
            f"{spot.name} is {row.state} and can't be left out of {job.code}; finish what was begun there."
        )
        return [Refusal(Rule.COUNT_OUT_COUNT_IN, spot.name, message)]
    if act.select(Finding, "position_id = ? AND event_id > ?", spot.position.id, job.event_id, limit=1):
        message = f"Something was found at {spot.name} since {job.code} was opened, so it can't be left out; do the work there."
        return [Refusal(Rule.REMOVED_PARTS, spot.name, message)]
    return []


def _check_one_stays(act: Act, job: Job, named: Sequence[Spot]) -> list[Refusal]:
    gone = {spot.position.id for spot in named}
    if any(position.id not in gone for position, _ in spots.job_states(act, job)):
        return []
    message = f"Nothing would be left of {job.code}; close it with a reason instead."
    return [Refusal(Rule.COUNT_OUT_COUNT_IN, job.code, message)]
