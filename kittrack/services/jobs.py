"""Jobs: work on positions of one airframe, what is kept for it, what is lost at it, and its end.

Source: design R11 (issued = fitted + returned + scrapped + lost), R3 (the last walk), R17; section 2
("Reservations", "A dropped screw").
"""

from datetime import date, datetime

from kittrack.domain import codes, fit
from kittrack.domain.kit_checks import check_reserved
from kittrack.domain.ledger import Condition, PlaceKind
from kittrack.domain.rules import Rule, require
from kittrack.domain.soundness import check_set
from kittrack.errors import BadInput, NotFound, Refusal
from kittrack.services import coverage, desk
from kittrack.services.coverage import ALL, Coverage
from kittrack.services.desk import Done
from kittrack.services.kit_desk import check_kit_state, kit_now
from kittrack.store.act import Act, Slot
from kittrack.store.aircraft_facts import find_airframe, unsettled
from kittrack.store.database import Store
from kittrack.store.job_facts import COVERED, check_kits_back, kits_issued
from kittrack.store.kit_facts import marks, reservations, set_facts
from kittrack.store.records import (
    Airframe,
    Job,
    JobPosition,
    Kit,
    Place,
    Position,
    ReceiptLine,
    Reservation,
    RotorSet,
    TypeRevision,
    Voucher,
)
from kittrack.store.stock import Stock, directly_in, end_place, inside_of


@desk.done_by("technician", "inspector", "clerk", "manager")
def open_job(
    store: Store, *, airframe: str, purpose: str, by: str, at: datetime, positions: Coverage = ALL, key: str = ""
) -> Done:  # fmt: skip
    """Open a job for positions of an airframe; answers with its code.

    Args:
        store: the store.
        airframe: the airframe's code or tail.
        purpose: why the work is done.
        by: technician, inspector, clerk or manager.
        at: the instant.
        positions: all, one arm, a named group, or a list.
        key: the caller's own name for the act.

    Raises:
        Refused: the airframe is not active (R7), a position is in another open job (R11) or without a sense (R17).
        BadInput: no purpose, or positions that the airframe does not have.
    """
    desk.require_text(purpose=purpose)
    with store.act("open a job", by=by, at=at, reason=purpose, key=key) as act:
        frame = find_airframe(act, airframe)
        require(desk.check_done_by(act, open_job), _check_active(frame))
        chosen = coverage.choose(
            act, act.get(TypeRevision, frame.type_revision_id), positions, airframe=frame
        )
        own = coverage.positions_of(act, frame, chosen)
        require(_check_free(act, own))
        code = act.new_code(Job, codes.Kind.JOB)
        place = act.insert(Place(code=code, kind=PlaceKind.JOB.value, name=code))
        job = act.insert(
            Job(code=code, place_id=place.id, airframe_id=frame.id, purpose=purpose, event_id=act.event_id)
        )
        for position in own:
            act.insert(JobPosition(job_id=job.id, position_id=position.id))
    names = ", ".join(p.name for p in own)
    return Done(act.event_id, (code,), (f"{code} is open for {frame.tail}: {names}.",))


@desk.done_by("clerk", "manager")
def reserve(store: Store, *, job: str, thing: str, until: date, by: str, at: datetime, key: str = "") -> Done:
    """Keep a kit or a rotor set for a job until the end of a day; until then it is not issuable to others.

    Raises:
        Refused: it is kept for another job or not fit (R6), dead or issued (R5), or the job is closed (R11).
        BadInput: the day is over, or the code is neither of a kit nor of a set.
        Conflict: the kit is issued.
    """
    with store.act("reserve for a job", by=by, at=at, key=key) as act:
        work = desk.find_job(act, job)
        kit, one = _kit_or_set(act, thing)
        if until < desk.today(act):
            raise BadInput(f"the day {until} is over; give a day from today on", field="until")
        kept = reservations(act, kits=[kit.id] if kit else (), rotor_sets=[one.id] if one else ())
        require(
            desk.check_done_by(act, reserve),
            _check_open(work),
            check_kit_state(act, kit, "building", "checked", "sealed") if kit else [],
            _check_set_reservable(act, one) if one else [],
            check_reserved(kept, for_job_id=work.id, on=desk.today(act)),
        )
        _end_reservations(act, kit, one)
        act.insert(
            Reservation(
                job_id=work.id,
                kit_id=kit.id if kit else None,
                rotor_set_id=one.id if one else None,
                until_on=until.isoformat(),
            )
        )
    code = kit.code if kit else one.code if one else ""
    return Done(act.event_id, (code,), (f"{code} is kept for {work.code} until the end of {until}.",))


@desk.done_by("clerk", "manager")
def release_reservation(
    store: Store, *, thing: str, reason: str, by: str, at: datetime, key: str = ""
) -> Done:
    """End the reservation of a kit or a rotor set before its day.

    Raises:
        NotFound: it is not reserved.
    """
    desk.require_text(reason=reason)
    with store.act("release a reservation", by=by, at=at, reason=reason, key=key) as act:
        require(desk.check_done_by(act, release_reservation))
        kit, one = _kit_or_set(act, thing)
        code = kit.code if kit else one.code if one else ""
        if not _end_reservations(act, kit, one):
            raise NotFound(f"{code} is not reserved")
    return Done(act.event_id, (code,), (f"{code} is issuable to any job again.",))


@desk.done_by("technician", "inspector", "clerk")
def lose(
    store: Store, *, job: str, thing: str, reason: str, by: str, at: datetime, quantity: int = 1, key: str = ""
) -> Done:  # fmt: skip
    """Record that something issued to a job is lost, such as a dropped screw; a make-good kit replaces it.

    Args:
        store: the store.
        job: the open job.
        thing: the code of the receipt line, the bottle or the rotor set.
        reason: how it was lost.
        by: the technician.
        at: the instant.
        quantity: how much of a receipt line, in its unit.
        key: the caller's own name for the act.

    Raises:
        NotFound: the job holds nothing under that code, or not so much.
        Refused: the job is closed (R11).
    """
    desk.require_text(reason=reason)
    with store.act("record a loss", by=by, at=at, reason=reason, key=key) as act:
        work = desk.find_job(act, job)
        require(desk.check_done_by(act, lose), _check_open(work))
        lost = end_place(act, PlaceKind.LOST)
        if codes.read_code(thing).kind is codes.Kind.ROTOR_SET:
            one = desk.find_set(act, thing)
            if inside_of(act, one.place_id) != work.place_id:
                raise NotFound(f"{work.code} does not hold {one.code}; scan what it holds")
            act.move_container(one.place_id, from_place_id=work.place_id, to_place_id=lost.id)
            code, amount = one.code, "the whole set of"
        else:
            item, code = find_in_job(act, work, thing, quantity)
            taken = item.quantity if item.piece_id else quantity
            act.move_stock(
                item.receipt_line_id, taken, from_slot=item.slot, to_slot=Slot(lost.id, Condition.UNSALVAGEABLE.value, item.piece_id)
            )  # fmt: skip
            amount = desk.amount_of(taken, act.get(ReceiptLine, item.receipt_line_id).unit)
    return Done(
        act.event_id,
        (code,),
        (f"{amount} {code} is lost to {work.code}; build a make-good kit for what it owes.",),
    )


@desk.done_by("technician", "inspector", "manager")
def close_job(store: Store, *, job: str, by: str, at: datetime, reason: str = "", key: str = "") -> Done:
    """Close a job whose work is done and settled, or one that was never begun, with a reason.

    Raises:
        Refused: with every reason: positions not walked (R3), not inspected (R8), findings (R10), anything
            issued and not settled, or a kit still out (R11), the map not verified (R17).
    """
    if reason:
        desk.require_text(reason=reason)
    with store.act("close a job", by=by, at=at, reason=reason, key=key) as act:
        work = desk.find_job(act, job)
        vouchers = act.select(Voucher, "job_id = ? AND state = 'open'", work.id)
        require(
            desk.check_done_by(act, close_job),
            _check_open(work),
            _check_settled(act, work, is_given_up=bool(reason)),
            check_kits_back(kits_issued(act, work)),
        )
        for voucher in vouchers:
            act.update(voucher, state="closed")
        for kept in act.select(Reservation, "job_id = ? AND state = 'active'", work.id):
            act.update(kept, state="released")
        act.update(act.get(Place, work.place_id), active=0)
        act.update(work, state="closed", closed_event_id=act.event_id)
    return Done(act.event_id, (work.code,), (f"{work.code} is closed.",))


def find_in_job(act: Act, job: Job, thing: str, quantity: int) -> tuple[Stock, str]:
    """What a job holds under the code of a receipt line or a bottle, and that code.

    Raises:
        NotFound: it holds nothing under it, or less than the quantity.
        BadInput: a quantity below 1.
    """
    if quantity < 1:
        raise BadInput(f"a quantity of {quantity} can't be moved; give at least 1", field="quantity")
    code = codes.read_code(thing)
    if code.kind is codes.Kind.PIECE:
        piece = desk.find_piece(act, thing)
        found = [s for s in directly_in(act, job.place_id) if s.piece_id == piece.id]
    else:
        line = desk.find_line(act, thing)
        found = [s for s in directly_in(act, job.place_id) if s.receipt_line_id == line.id and not s.piece_id]
        found = [s for s in found if s.quantity >= quantity]
    if not found:
        raise NotFound(f"{job.code} does not hold {quantity} of {code}; look up what it holds")
    return found[0], code.text


# ---- checks --------------------------------------------------------------------------------------


def _check_active(frame: Airframe) -> list[Refusal]:
    if frame.state == "active":
        return []
    message = f"{frame.tail} is {frame.state}; no job is opened for it: choose an active airframe."
    return [Refusal(Rule.EFFECTIVITY, frame.tail, message)]


def _check_free(act: Act, positions: tuple[Position, ...]) -> list[Refusal]:
    ids = [p.id for p in positions]
    rows = act.rows(
        "SELECT x.name, j.code FROM job_position JOIN job j ON j.id = job_id JOIN position x ON x.id = position_id "
        f"WHERE j.state = 'open' AND {COVERED} AND position_id IN ({marks(ids)}) ORDER BY x.id",
        *ids,
    )
    return [
        Refusal(Rule.COUNT_OUT_COUNT_IN, name, f"{name} is in the open job {code}; close that one first.")
        for name, code in rows
    ]


def _check_open(job: Job) -> list[Refusal]:
    if job.state == "open":
        return []
    return [Refusal(Rule.COUNT_OUT_COUNT_IN, job.code, f"{job.code} is closed; open a new job.")]


def _check_settled(act: Act, job: Job, *, is_given_up: bool) -> list[Refusal]:
    """Every reason against closing; a job that was never begun closes with a reason and nothing else."""
    facts = unsettled(act, job)
    not_begun = all(state == fit.NOT_BEGUN for _, state in facts.positions) and not facts.left_over
    if is_given_up and not_begun and not facts.findings:
        return []
    return fit.check_closing(facts)


def _kit_or_set(act: Act, text: str) -> tuple[Kit | None, RotorSet | None]:
    kind = codes.read_code(text).kind
    if kind is codes.Kind.KIT:
        return desk.find_kit(act, text), None
    if kind is codes.Kind.ROTOR_SET:
        return None, desk.find_set(act, text)
    raise BadInput(f"{text.strip()} is {kind.with_article}; scan a kit or a rotor set", field="thing")


def _check_set_reservable(act: Act, one: RotorSet) -> list[Refusal]:
    place = act.get(Place, inside_of(act, one.place_id) or 0)
    found = check_set(set_facts(act, [one])[0], now=kit_now(act))
    if place.kind != PlaceKind.BIN:
        message = f"{one.code} is in {place.name} ({place.kind}); only a set in a bin is reserved: reserve the kit it is in, or another set."
        found.append(Refusal(Rule.FIT_FOR_ISSUE, one.code, message))
    return found


def _end_reservations(act: Act, kit: Kit | None, one: RotorSet | None) -> int:
    column, row_id = ("kit_id", kit.id) if kit else ("rotor_set_id", one.id if one else 0)
    kept = act.select(Reservation, f"{column} = ? AND state = 'active'", row_id)
    for row in kept:
        act.update(row, state="released")
    return len(kept)
