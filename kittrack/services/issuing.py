"""Issuing a whole sealed kit to a job and its airframe, and opening it there.

Every check is made again inside the transaction: a hold placed a moment earlier is seen, and of two clerks
with one kit exactly one wins. Source: design R4 to R8, R13, R20, R21.
"""

from dataclasses import dataclass
from datetime import datetime

from kittrack.domain import codes
from kittrack.domain.kit_checks import (
    AirframeFact,
    JobFact,
    KitFact,
    check_effectivity,
    check_issue,
    check_place,
)
from kittrack.domain.ledger import PlaceKind
from kittrack.domain.rules import Rule, require
from kittrack.errors import Refusal
from kittrack.services import desk
from kittrack.services.desk import Done
from kittrack.services.kit_desk import check_kit_state, check_other_person, kit_now
from kittrack.services.kitting import end_reservations
from kittrack.services.position_desk import human
from kittrack.services.sealing import RE_INSPECTION, check_kit_seal, check_still_good
from kittrack.store.act import Act, Slot
from kittrack.store.aircraft_facts import find_airframe
from kittrack.store.database import Store
from kittrack.store.job_facts import airframe_fact, job_fact, open_voucher
from kittrack.store.kit_facts import kit_fact
from kittrack.store.records import Airframe, Job, Kit, Override, Person, Place, Voucher
from kittrack.store.stock import directly_in

OTHER_AIRFRAME = "other airframe"
"""The override under which a kit goes to another airframe than it was built for (R20)."""


@dataclass(frozen=True)
class Waiver:
    """The override of R20 for a kit built for another airframe: why, and who confirms beside giver and receiver."""

    reason: str
    second: str


@dataclass(frozen=True)
class _Issue:
    """What an issue is about: the kit, the job, the airframe and the two people."""

    kit: Kit
    fact: KitFact
    job: Job
    job_fact: JobFact
    frame: Airframe
    frame_fact: AirframeFact
    receiver: Person


@desk.done_by("clerk")
def issue_kit(
    store: Store,
    *,
    kit: str,
    job: str,
    seal: str,
    receiver: str,
    by: str,
    at: datetime,
    airframe: str = "",
    waiver: Waiver | None = None,
    key: str = "",
) -> Done:
    """Hand a sealed kit over, whole, for a job; answers with the voucher's code.

    Args:
        store: the store.
        kit: the kit's code.
        job: the job's code.
        seal: the seal as it is read on the kit at the counter.
        receiver: the technician who takes it (badge or name).
        by: the clerk who gives it.
        at: the instant.
        airframe: the airframe as scanned; by default the job's.
        waiver: for a kit that was built for another airframe of the same revision and senses.
        key: the caller's own name for the act.

    Raises:
        Refused: with every reason: seal (R5), content (R4, R6, R13), revision and senses (R7), people (R8),
            job (R11), another airframe's kit without its override (R20), settings (R21).
        Conflict: the kit is issued already; says by whom, to whom and when.

    Source: design R5 to R8, R20.
    """
    if waiver is not None:
        desk.require_text(reason=waiver.reason)
    second = waiver.second if waiver else receiver
    reason = waiver.reason.strip() if waiver else ""
    with store.act("issue a kit", by=by, at=at, second=second, reason=reason, key=key) as act:
        takes = act.second if waiver is None else None
        issue = _read_issue(
            act, kit=kit, job=job, airframe=airframe, receiver=takes or desk.find_person(act, receiver)
        )
        here, hands = _from_and_to(act, issue)
        refused, is_alone = check_other_person(
            act,
            issue.receiver,
            others=[human(act.by)],
            what=f"the receipt of {issue.fact.code}",
            job=issue.job,
        )
        require(
            desk.check_done_by(act, issue_kit),
            _check_receiver(act, issue.receiver),
            check_kit_state(act, issue.kit, "sealed"),
            refused,
            check_kit_seal(issue.fact, seal),
            check_issue(issue.fact, issue.job_fact, issue.frame_fact, now=kit_now(act)),
            check_place(issue.fact, kind=here.kind, name=here.name),
            _check_waiver(act, issue, waiver),
        )
        voucher = _hand_over(act, issue, here, hands)
        said = [
            f"{issue.kit.code} is issued, whole, to {issue.receiver.name} for {issue.job.code}, {issue.frame.tail}: voucher {voucher.code}."
        ]
        said += _note_oversight(act, issue, waiver, is_alone=is_alone)
    return Done(act.event_id, (voucher.code,), (*said, "Next: open it at the aircraft."))


@desk.done_by("technician")
def open_at_aircraft(store: Store, *, kit: str, seal: str, by: str, at: datetime, key: str = "") -> Done:
    """Break the seal of an issued kit at its aircraft: what it holds passes to the job, its number is dead.

    Args:
        store: the store.
        kit: the kit's code.
        seal: the seal as it is read before it is broken.
        by: the technician.
        at: the instant.
        key: the caller's own name for the act.

    Returns:
        The codes of the rotor sets in it; a sentence for each thing that the job holds now.

    Raises:
        Refused: not issued (R5), another seal (R5), on hold or expired meanwhile (R6, R13), the map or the
            revision changed (R7), the job closed (R11).
    """
    with store.act("open a kit at the aircraft", by=by, at=at, key=key) as act:
        found = desk.find_kit(act, kit)
        require(desk.check_done_by(act, open_at_aircraft), check_kit_state(act, found, "issued"))
        voucher = open_voucher(act, found)
        if voucher is None:
            raise AssertionError("an issued kit has an open voucher")
        fact, job = kit_fact(act, found), act.get(Job, voucher.job_id)
        frame = airframe_fact(act, act.get(Airframe, voucher.airframe_id))
        require(
            check_kit_seal(fact, seal),
            check_still_good(act, fact),
            check_effectivity(fact, frame),
            [] if job.state == "open" else [_closed(job, found)],
        )
        said = _pass_to_job(act, found, fact, job)
    return Done(
        act.event_id, tuple(s.code for s in fact.sets), (f"{found.code} is open for {job.code}.", *said)
    )


def _read_issue(act: Act, *, kit: str, job: str, airframe: str, receiver: Person) -> _Issue:
    found, work = desk.find_kit(act, kit), desk.find_job(act, job)
    frame = find_airframe(act, airframe) if airframe else act.get(Airframe, work.airframe_id)
    fact = kit_fact(act, found)
    frame_fact = airframe_fact(act, frame, beside=fact)
    return _Issue(found, fact, work, job_fact(act, work), frame, frame_fact, receiver)


def _check_receiver(act: Act, receiver: Person) -> list[Refusal]:
    if not receiver.active:
        message = f"{receiver.name} has left and can't receive a kit; let somebody who is here take it."
        return [Refusal(Rule.SECOND_PERSON, receiver.code, message)]
    if desk.has_role(act, receiver, "technician"):
        return []
    message = f"{receiver.name} is no technician, and a kit goes into a technician's hands; let one take it."
    return [Refusal("role", receiver.code, message)]


def _check_waiver(act: Act, issue: _Issue, waiver: Waiver | None) -> list[Refusal]:
    """Refuse a kit of another airframe without the override, and an override by giver or receiver (R20)."""
    if issue.kit.airframe_id in (None, issue.frame.id):
        return []
    if waiver is None:
        tail = act.get(Airframe, issue.kit.airframe_id or 0).tail
        message = (
            f"{issue.kit.code} was built for {tail}; to give it to {issue.frame.tail} takes a reason and a second "
            "person beside giver and receiver."
        )
        return [Refusal(Rule.NO_WAVING_THROUGH, issue.kit.code, message)]
    second = act.second
    if second is None or human(second) in (human(act.by), human(issue.receiver)):
        message = "The override takes a second person who is neither giver nor receiver; let a third one confirm it."
        return [Refusal(Rule.NO_WAVING_THROUGH, issue.kit.code, message)]
    return desk.check_human(second, what="the override")


def _from_and_to(act: Act, issue: _Issue) -> tuple[Place, Place]:
    """The place that the kit is in, and the receiver's hands, which every person has on record."""
    where = "id = (SELECT inside_id FROM containment WHERE container_id = ?) OR (kind = ? AND person_id = ?)"
    found = act.select(Place, where, issue.kit.place_id, PlaceKind.HANDS.value, issue.receiver.id)
    is_hands = [place.person_id == issue.receiver.id and place.kind == PlaceKind.HANDS for place in found]
    hands = found[is_hands.index(True)]
    return next((place for place in found if place is not hands), hands), hands


def _hand_over(act: Act, issue: _Issue, here: Place, hands: Place) -> Voucher:
    act.move_container(issue.kit.place_id, from_place_id=here.id, to_place_id=hands.id)
    act.update(issue.kit, state="issued")
    if any(kept.thing == "kit" for kept in issue.fact.reserved):  # a closed job has released its own
        end_reservations(act, issue.kit, state="used")
    return act.insert(
        Voucher(
            code=act.new_code(Voucher, codes.Kind.VOUCHER),
            kit_id=issue.kit.id,
            job_id=issue.job.id,
            airframe_id=issue.frame.id,
            giver_id=act.by_id,
            receiver_id=issue.receiver.id,
            event_id=act.event_id,
        )
    )


def _note_oversight(act: Act, issue: _Issue, waiver: Waiver | None, *, is_alone: bool) -> list[str]:
    """Keep for the Office what went out by an override or without a second person."""
    said = []
    if waiver is not None and issue.kit.airframe_id not in (None, issue.frame.id):
        act.insert(
            Override(
                kind=OTHER_AIRFRAME,
                subject=issue.kit.code,
                reason=waiver.reason.strip(),
                event_id=act.event_id,
            )
        )
        said.append("It was built for another airframe: the override is on the Office's list.")
    if is_alone:
        act.note(RE_INSPECTION, of="issue of a kit", subject=issue.kit.code)
        said.append(f"{act.by.name} was declared alone: giver and receiver are one, and the Office lists it.")
    return said


# ---- opening -------------------------------------------------------------------------------------


def _closed(job: Job, kit: Kit) -> Refusal:
    message = f"{job.code} is {job.state}; return {kit.code} unopened."
    return Refusal(Rule.COUNT_OUT_COUNT_IN, job.code, message)


def _pass_to_job(act: Act, kit: Kit, fact: KitFact, job: Job) -> list[str]:
    place = act.update(act.get(Place, kit.place_id), closed=0)
    for one in fact.sets:
        act.move_container(one.place_id, from_place_id=kit.place_id, to_place_id=job.place_id)
    for item in directly_in(act, kit.place_id):
        act.move_stock(
            item.receipt_line_id,
            item.quantity,
            from_slot=item.slot,
            to_slot=Slot(job.place_id, item.condition, item.piece_id),
        )
    act.update(place, active=0)
    act.update(kit, state="opened")
    return [f"{one.sense} {one.code} ({one.part_number})." for one in fact.sets] + [
        f"{line.name}: {line.amount(line.have)}." for line in fact.lines if not line.demand.sense
    ]
