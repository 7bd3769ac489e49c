"""Taking rotor sets off: whole, with a tag, the sense that was found, and the time in service.

A set that comes off goes to the removed-parts cage on hold; for transport it stays bound to its position
instead. Screws and locking fasteners that come off are scrapped. Source: design R9, R10, section 2.
"""

from dataclasses import dataclass
from datetime import datetime

from kittrack.domain import codes, fit
from kittrack.domain.ledger import Condition, PlaceKind
from kittrack.domain.rules import Rule, require
from kittrack.domain.spin import Sense
from kittrack.errors import BadInput, Refusal
from kittrack.services import desk, findings
from kittrack.services import position_desk as spots
from kittrack.services.desk import Done
from kittrack.services.position_desk import Spot
from kittrack.store.act import Act, Slot
from kittrack.store.database import Store
from kittrack.store.records import FitRecord, Job, Part, Place, ReceiptLine, Removal, RotorSet
from kittrack.store.stock import Stock, directly_in, end_place, inside_of, place_named

PURPOSES = ("replacement", "transport", "finding")
CARRIERS = (PlaceKind.BIN, PlaceKind.VAN, PlaceKind.HANDS)
"""Where a set may travel that was taken off for transport."""


@dataclass(frozen=True)
class _Found:
    """What was found when a set came off: the sense by its mark, what is wrong, whether it is evidence."""

    sense: Sense | None
    faults: tuple[str, ...]
    wrong_sense: bool
    is_evidence: bool


@desk.done_by("technician")
def remove_set(
    store: Store, *, job: str, position: str, mark: str, reason: str, by: str, at: datetime,
    purpose: str = "replacement", screws_out: int | None = None, to_place: str = "", key: str = "",
) -> Done:  # fmt: skip
    """Take the rotor set off a position and tag it.

    Args:
        store: the store.
        job: the open job.
        position: the position's code.
        mark: the mark read on the rotor that comes off; "" where none can be read, which is a finding.
        reason: why it comes off.
        by: the technician.
        at: the instant.
        purpose: "replacement", "transport" or "finding".
        screws_out: how many screws came out, where they were counted; another count than went in is a finding.
        to_place: for transport, the bin, van or person that carries the set.
        key: the caller's own name for the act.

    Returns:
        The tag's code, and what was found.

    Raises:
        Refused: nothing is fitted there (R10), the job can't work there, or another position is not finished.
        BadInput: the purpose or the place can't be used.
    """  # fmt: skip
    desk.require_text(reason=reason)
    _check_purpose(purpose, to_place)
    with store.act(f"remove a rotor set ({purpose})", by=by, at=at, reason=reason, key=key) as act:
        work, spot = desk.find_job(act, job), spots.find_spot(act, position)
        there = spots.sets_at(act, spot.position)
        require(desk.check_done_by(act, remove_set), _check_removal(act, work, spot, there, purpose=purpose))
        off, record = there[0], spots.current_fit(act, spot.position)
        carrier = place_named(act, to_place, kinds=CARRIERS) if to_place else None
        found = _look(act, spot, off, mark, screws=(record.screws if record else None, screws_out))
        said = _say_findings(act, work, spot, off, found)
        tag = _take_off(
            act, work, spot, off, mark=mark, purpose=purpose, reason=reason, found=found, carrier=carrier
        )
        said += clear_fixings(act, spot, is_evidence=found.is_evidence)
        spots.set_state(act, work, spot, "bare")
        spots.reopen_walk(act, work)
        said = [*_headline(act, tag, off, spot), *said]
    return Done(act.event_id, (tag.code,), tuple(said))


@desk.done_by("technician", "inspector", "clerk")
def give_up_refit(store: Store, *, rotor_set: str, reason: str, by: str, at: datetime, key: str = "") -> Done:
    """Send a set that was taken off for transport to the removed-parts cage instead of back on its position.

    Raises:
        Refused: the set is not bound to a position (R10).
    """
    desk.require_text(reason=reason)
    with store.act("give up a refit after transport", by=by, at=at, reason=reason, key=key) as act:
        off = desk.find_set(act, rotor_set)
        require(desk.check_done_by(act, give_up_refit), _check_bound(act, off))
        _into_cage(act, off)
    return Done(
        act.event_id,
        (off.code,),
        (f"{off.code} goes to the removed-parts cage, on hold until it is inspected.",),
    )


# ---- what other acts at the aircraft share ------------------------------------------------------


def clear_fixings(act: Act, spot: Spot, *, is_evidence: bool = False, keep: Slot | None = None) -> list[str]:
    """Take what fixed a rotor out of a position: used fasteners are scrapped, or kept as evidence (R9, R10).

    Args:
        act: the act.
        spot: the position.
        is_evidence: whether an occurrence set them aside: then they go to the removed-parts cage on hold.
        keep: where parts that may be used again go; by default the removed-parts cage, on hold.

    Returns:
        What was done, in sentences.
    """
    cage = Slot(end_place(act, PlaceKind.REMOVED_CAGE).id, Condition.ON_HOLD.value)
    scrap = Slot(end_place(act, PlaceKind.SCRAPPED).id, Condition.UNSALVAGEABLE.value)
    said = []
    for item in directly_in(act, spot.position.place_id):
        line = act.get(ReceiptLine, item.receipt_line_id)
        part = act.get(Part, line.part_id)
        if part.kind == "hub":
            continue
        used_up = part.kind == "fastener" or bool(part.single_use)
        target = (cage if is_evidence else scrap) if used_up else (keep or cage)
        _move(act, item, target)
        where = "scrapped" if target is scrap else f"to {act.get(Place, target.place_id).name}"
        said.append(f"{item.quantity} of {part.number} ({line.code}) {where}.")
    return said


def _move(act: Act, item: Stock, target: Slot) -> None:
    act.move_stock(
        item.receipt_line_id, item.quantity, from_slot=item.slot,
        to_slot=Slot(target.place_id, target.condition, item.piece_id),
    )  # fmt: skip


# ---- checks -------------------------------------------------------------------------------------


def _check_purpose(purpose: str, to_place: str) -> None:
    if purpose not in PURPOSES:
        raise BadInput(
            f"{purpose!r} is no purpose of a removal; it is one of: {', '.join(PURPOSES)}.", field="purpose"
        )
    if (purpose == "transport") != bool(to_place):
        message = "A set taken off for transport goes to a bin, a van or a person; scan where it goes."
        if to_place:
            message = "A set that is not taken off for transport goes to the removed-parts cage; leave the place empty."
        raise BadInput(message, field="to_place")


def _check_removal(act: Act, job: Job, spot: Spot, there: list[RotorSet], *, purpose: str) -> list[Refusal]:
    found = spots.check_job_at(act, job, spot)
    if purpose == "finding":  # what is found may lie outside the work that was planned
        found = [r for r in found if r.rule != Rule.EFFECTIVITY]
    else:
        found += check_others_finished(act, job, spot)
    if not there:
        message = f"The record has no rotor set at {spot.name}; if one sits there, record it as a finding."
        return [*found, Refusal(Rule.REMOVED_PARTS, spot.name, message)]
    record = spots.current_fit(act, spot.position)
    if record is not None and record.state in ("started", "fastened"):
        code = act.get(Job, record.job_id).code
        message = f"The fit at {spot.name} ({code}) was never inspected; take it off as unfinished, not as a removal."
        found.append(Refusal(Rule.REMOVED_PARTS, spot.name, message))
    return found


def check_others_finished(act: Act, job: Job, spot: Spot) -> list[Refusal]:
    """A refusal for each other position of a job that is half done: one is finished before the next."""
    others = [
        (f"{spot.airframe.tail} {position.name}", row.state)
        for position, row in spots.job_states(act, job)
        if position.id != spot.position.id
    ]
    return fit.check_one_at_a_time(spot.name, others=others)


def _check_bound(act: Act, off: RotorSet) -> list[Refusal]:
    where = inside_of(act, off.place_id)
    place = act.get(Place, where) if where else None
    if off.bound_position_id is not None and place is not None and place.kind in CARRIERS:
        return []
    message = f"{off.code} is not on its way after a removal for transport; there is no refit to give up."
    return [Refusal(Rule.REMOVED_PARTS, off.code, message)]


# ---- the removal --------------------------------------------------------------------------------


def _look(act: Act, spot: Spot, off: RotorSet, mark: str, *, screws: tuple[int | None, int | None]) -> _Found:
    """Compare what came off with the map, the label and the fit on record."""
    reading = spots.sense_reading(act, spot, off, mark, came_off=True)
    refusals = fit.check_sense(reading)
    faults = [r.message for r in refusals if r.rule != Rule.SENSE_MAP]
    went_in, came_out = screws
    if went_in is not None and came_out is not None and went_in != came_out:
        faults.append(f"{came_out} screws came out of {spot.name} and {went_in} went in.")
    evidence = act.row(
        "SELECT 1 FROM hold_item i JOIN hold h ON h.id = i.hold_id "
        "WHERE i.rotor_set_id = ? AND i.released_event_id IS NULL AND h.is_evidence = 1",
        off.id,
    )
    wrong = any(r.rule == Rule.SENSE_BY_POSITION for r in refusals)
    return _Found(reading.marked, tuple(faults), wrong, evidence is not None)


def _say_findings(act: Act, job: Job, spot: Spot, off: RotorSet, found: _Found) -> list[str]:
    """Open a finding for each fault, and hold a set of the wrong sense."""
    said = []
    for text in found.faults:
        finding = findings.open_finding(
            act, text, frame=spot.airframe, position=spot.position, rotor_set=off, job=job
        )
        said.append(f"FINDING {finding.id}: {text}")
    if said:
        said.append(f"{job.code} is blocked until an inspector or a manager settles it.")
    if found.wrong_sense:
        hold = findings.hold_set(act, off, reason=f"wrong sense found on {spot.name}")
        said.append(f"{off.code} is on hold under {hold}.")
    return said


def _take_off(
    act: Act, job: Job, spot: Spot, off: RotorSet, *, mark: str, purpose: str, reason: str, found: _Found,
    carrier: Place | None,
) -> Removal:  # fmt: skip
    """End the fit, count the service, move the set and write its tag."""
    record: FitRecord | None = findings.leave_position(act, off, spot.position)
    aged = findings.age(act, off, spot.position, record)
    if carrier is not None and not found.wrong_sense and not found.is_evidence:
        act.move_container(off.place_id, from_place_id=spot.position.place_id, to_place_id=carrier.id)
        act.update(aged, bound_position_id=spot.position.id)
    else:
        _into_cage(act, aged)
    return act.insert(
        Removal(
            code=act.new_code(Removal, codes.Kind.TAG), job_id=job.id, airframe_id=spot.airframe.id,
            position_id=spot.position.id, rotor_set_id=off.id, purpose=purpose, reason=reason.strip(),
            sense_found=found.sense or "", mark_found=mark.strip(), used_minutes=aged.used_minutes,
            used_flights=aged.used_flights, is_evidence=int(found.is_evidence), event_id=act.event_id,
        )
    )  # fmt: skip


def _into_cage(act: Act, off: RotorSet) -> None:
    cage = end_place(act, PlaceKind.REMOVED_CAGE)
    act.move_container(off.place_id, from_place_id=inside_of(act, off.place_id), to_place_id=cage.id)
    act.update(off, condition=Condition.ON_HOLD.value, bound_position_id=None)


def _headline(act: Act, tag: Removal, off: RotorSet, spot: Spot) -> list[str]:
    hours = (
        "unknown" if tag.used_minutes is None else f"{tag.used_minutes // 60}:{tag.used_minutes % 60:02d} h"
    )
    where = act.get(Place, inside_of(act, off.place_id) or 0).name
    said = [
        f"{off.code} came off {spot.name}: tag {tag.code}, sense found {tag.sense_found or 'unknown'}, in service {hours}.",
        f"It goes, whole, to {where}.",
    ]
    if tag.is_evidence:
        said.append("It is evidence of an occurrence: change nothing on it.")
    return said
