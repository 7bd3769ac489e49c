"""Inspection of counted stock (screws, washers, consumables) by quantity, and opening a bottle.

Source: design R9, R13, R14, R18 (torque against the screws that are issued), C13.
"""

from dataclasses import dataclass
from datetime import date, datetime

from kittrack.domain import codes, dates, torque
from kittrack.domain.ledger import Condition, PlaceKind, place_in_words
from kittrack.domain.quantities import stock_in_words
from kittrack.domain.rules import Rule, require
from kittrack.domain.sampling import LotPlan
from kittrack.domain.severity import Standing, check_sample
from kittrack.domain.text import check_text
from kittrack.domain.threads import Condition as ThreadCondition
from kittrack.errors import BadInput, Problem, Refusal
from kittrack.services import accepting, booking, desk
from kittrack.services.accepting import ACCEPTED, CONDITION_AFTER, HELD, REJECTED
from kittrack.services.catalogue_fixings import screw_of_part
from kittrack.services.desk import Done
from kittrack.store.act import Act, Slot
from kittrack.store.database import Store
from kittrack.store.records import HubFixing, Inspection, LotSample, Part, Piece, ReceiptLine
from kittrack.store.sampling_facts import plan_of, sample_of
from kittrack.store.stock import Stock, chain

_INSPECTED = (Condition.ON_HOLD, Condition.SERVICEABLE)


@dataclass(frozen=True)
class _Counts:
    """How much of what was looked at has which result."""

    accepted: int
    held: int
    rejected: int

    @property
    def total(self) -> int:
        return self.accepted + self.held + self.rejected

    def by_result(self) -> tuple[tuple[str, int], ...]:
        return ((ACCEPTED, self.accepted), (HELD, self.held), (REJECTED, self.rejected))


@desk.done_by("clerk", "inspector")
def inspect_stock(
    store: Store,
    *,
    line: str,
    by: str,
    at: datetime,
    accepted: int = 0,
    held: int = 0,
    rejected: int = 0,
    note: str = "",
    property_class: str = "",
    faulty: int | None = None,
    every_one: bool = False,
    place: str = "",
    condition: str = Condition.ON_HOLD.value,
    key: str = "",
) -> Done:
    """Accept, hold or reject counted stock of a receipt line.

    The first look at a lot of fasteners is its sample: with it the supplier's record goes on, which decides
    how the next lot is sampled (C13).

    Args:
        line: the receipt line's code.
        accepted: how much becomes serviceable, in the part's unit.
        held: how much is on hold after a look; takes a note.
        rejected: how much is unserviceable; takes a note.
        note: what was seen; for a lot without a code, by what it was identified.
        property_class: the class read on the heads of screws, where they bear one.
        faulty: how many pieces of the sample were faulty; none where the lot is accepted and nothing is said.
        every_one: every piece was looked at, not a sample.
        place: where it lies, if the line's stock lies in several places.
        condition: "on hold" for what was received, "serviceable" for what was accepted before.

    Raises:
        BadInput: nothing or more than there is, a part of which every piece is inspected, more faulty pieces
            than the sample has.
        Refused: an acceptance without paper (R14), without expiry (R13), under a hold (R6), of a lot whose
            sample failed (R6, C13), of screws too weak for the torque of a fixing that takes them (R18).
    """
    counts = _Counts(accepted, held, rejected)
    with store.act("inspect stock", by=by, at=at, key=key) as act:
        found = desk.find_line(act, line)
        part = act.get(Part, found.part_id)
        booking.raise_any(_stock_problems(part, counts, note, condition))
        source = accepting.counted_slot(act, found, counts.total, condition=Condition(condition), place=place)
        sampled = not every_one and condition == Condition.ON_HOLD
        sample = _sample(act, found, counts, faulty) if sampled else None
        refusals = desk.check_done_by(act, inspect_stock)
        if accepted:
            refusals += accepting.check_acceptable(act, found, noted=bool(note))
            refusals += check_strength(act, part, read_class=property_class)
            refusals += [] if sample is None else _check_sample(sample, found, part)
        require(refusals)
        for result, quantity in counts.by_result():
            _write(act, found, source, result, quantity, note)
        if sample is not None and sample.is_first:
            _write_sample(act, found, sample)
    return Done(act.event_id, (found.code,), tuple(_said(found, part, counts)))


@desk.done_by("clerk", "technician")
def open_bottle(store: Store, *, line: str, by: str, at: datetime, place: str = "", key: str = "") -> Done:
    """Open a bottle of a consumable: from now on it is a piece with its own code and opened life (R13).

    Returns:
        The bottle's code, for its label.

    Raises:
        Refused: the stock is not fit for use (R6, R13).
        BadInput: the part is no consumable in bottles, or none is left.
    """
    with store.act("open a bottle", by=by, at=at, key=key) as act:
        found = desk.find_line(act, line)
        part = act.get(Part, found.part_id)
        if part.kind != "consumable" or part.single_dose:
            raise BadInput(
                f"{part.number} does not come in bottles that are opened; issue it as it is.", field="line"
            )
        source = accepting.counted_slot(act, found, 1, condition=Condition.SERVICEABLE, place=place)
        volume = min(part.pack_quantity, _there(act, found, source))
        stock = Stock(found.id, None, source.place_id, source.condition, volume)
        require(
            desk.check_done_by(act, open_bottle),
            _check_on_a_shelf(act, found, source),
            desk.check_fit(act, [stock]),
        )
        bottle = act.insert(_bottle(act, found, part))
        act.move_stock(
            found.id, volume, from_slot=source, to_slot=Slot(source.place_id, source.condition, bottle.id)
        )
        until = desk.expiry_of(found, bottle)
    return Done(
        act.event_id, (bottle.code,), (f"{bottle.code} of {part.number} is opened, good: {until}. Label it.",)
    )


@dataclass(frozen=True)
class _Sample:
    """The sample of a lot: how it was to be looked at, and what was found; None where nobody counted."""

    plan: LotPlan
    standing: Standing
    faulty: int | None
    is_first: bool


def _sample(act: Act, line: ReceiptLine, counts: _Counts, faulty: int | None) -> _Sample | None:
    """The sample that decides about a lot: the one on record, or this one where there is none yet."""
    found = plan_of(act, line)
    if found is None:
        if faulty is not None:
            raise BadInput(f"{line.code} is not sampled; leave the faulty pieces out.", field="faulty")
        return None
    plan, standing = found
    if faulty is not None and not 0 <= faulty <= plan.inspect:
        message = f"{faulty} faulty of a sample of {plan.inspect} can't be; count again."
        raise BadInput(message, field="faulty")
    before = sample_of(act, line)
    if before is not None:
        if faulty is not None:
            message = (
                f"The sample of {line.code} is on record, and a second one does not replace it; leave it out."
            )
            raise BadInput(message, field="faulty")
        return _Sample(plan, standing, 0 if before.passed else plan.rejection, is_first=False)
    if faulty is None and not counts.accepted:  # held for a question is no verdict on the lot
        return _Sample(plan, standing, None, is_first=bool(counts.rejected))
    return _Sample(plan, standing, faulty or 0, is_first=True)


def _check_sample(sample: _Sample, line: ReceiptLine, part: Part) -> list[Refusal]:
    return check_sample(
        sample.plan, faulty=sample.faulty or 0, stopped=sample.standing.stopped, subject=f"{line.code} ({part.number})"
    )  # fmt: skip


def _write_sample(act: Act, line: ReceiptLine, sample: _Sample) -> None:
    plan, faulty = sample.plan, sample.faulty
    act.insert(
        LotSample(
            receipt_line_id=line.id, severity=plan.severity.value, lot_size=plan.lot_size, sample_size=plan.inspect,
            faulty=faulty, passed=int(faulty is not None and faulty < plan.rejection), event_id=act.event_id,
        )
    )  # fmt: skip


def check_strength(act: Act, part: Part, *, read_class: str = "") -> list[Refusal]:
    """Why screws are not accepted for their strength (R18).

    Args:
        act: the act.
        part: the fastener's part.
        read_class: the property class read on the heads; empty where they bear none.

    Returns:
        A refusal where the class read is not the part's, and one for each fixing whose torque is beyond
        the proof load of these screws.
    """
    if part.kind != "fastener":
        return []
    found = []
    if read_class.strip() and read_class.strip() != part.property_class:
        message = f"The heads say {read_class.strip()} and {part.number} is {part.property_class or 'of no known class'}; hold them and ask the supplier."
        found.append(Refusal(Rule.TORQUE, part.number, message))
    for fixing in act.select(HubFixing, "screw_part_id = ?", part.id):
        found += check_strength_at(fixing, part)
    return found


def check_strength_at(fixing: HubFixing, part: Part) -> list[Refusal]:
    """Why screws don't bear the stated torque of a fixing that takes them: it is beyond their proof load (R18)."""
    screw = screw_of_part(part)
    if screw is None or fixing.torque_mnm is None:
        return []
    stated = torque.Torque(fixing.torque_mnm, ThreadCondition(fixing.torque_condition), fixing.torque_source)
    subject = f"{part.number} at {fixing.name}"
    return list(torque.check_torque(stated, thread=screw.thread, strength=screw.strength, subject=subject))


def _stock_problems(part: Part, counts: _Counts, note: str, condition: str) -> list[Problem]:
    if accepting.is_piecewise(part):
        return [Problem(f"Of {part.number} every piece is inspected and numbered; enter the pieces.", "line")]
    found = [*check_text(note, field="note")] if note else []
    if min(counts.accepted, counts.held, counts.rejected) < 0 or counts.total < 1:
        found.append(
            Problem("The quantities are none; enter how much was accepted, held or rejected.", "quantity")
        )
    if (counts.held or counts.rejected) and not note.strip():
        found.append(Problem("What is held or rejected takes a note; write what was seen.", "note"))
    if condition not in _INSPECTED:
        words = " or ".join(c.value for c in _INSPECTED)
        found.append(Problem(f"{condition!r} stock is not inspected again; choose {words}.", "condition"))
    return found


def _write(act: Act, line: ReceiptLine, source: Slot, result: str, quantity: int, note: str) -> None:
    if not quantity:
        return
    after = CONDITION_AFTER[result]
    if after != source.condition:
        act.move_stock(line.id, quantity, from_slot=source, to_slot=Slot(source.place_id, after))
    act.insert(
        Inspection(
            receipt_line_id=line.id, quantity=quantity, result=result, note=note, event_id=act.event_id
        )
    )


def _said(line: ReceiptLine, part: Part, counts: _Counts) -> list[str]:
    words = (
        (counts.accepted, "serviceable: put away what is good"),
        (counts.held, "on hold: put that in the hold cage"),
        (counts.rejected, "unserviceable: put that in the hold cage, then send it back or scrap it"),
    )
    return [
        f"{line.code} ({part.number}): {stock_in_words(quantity, part.unit)} {what}."
        for quantity, what in words
        if quantity
    ]


def _there(act: Act, line: ReceiptLine, slot: Slot) -> int:
    found = act.value(
        "SELECT quantity FROM holding WHERE receipt_line_id = ? AND place_id = ? AND condition = ? AND piece_id IS NULL",
        line.id,
        slot.place_id,
        slot.condition,
    )
    return int(found)


def _check_on_a_shelf(act: Act, line: ReceiptLine, source: Slot) -> list[Refusal]:
    outer = chain(act, source.place_id)
    if len(outer) == 1 and outer[0].kind in (PlaceKind.BIN, PlaceKind.BENCH, PlaceKind.VAN):
        return []
    message = f"{line.code} is in {place_in_words(outer[0].kind, outer[0].name)}; put it in a bin, on a bench or in a van first."
    return [Refusal(Rule.WHOLE_KIT, line.code, message)]


def _bottle(act: Act, line: ReceiptLine, part: Part) -> Piece:
    today = desk.today(act)
    own: date | None = None
    if part.opened_life_days:
        own = dates.opened_until(today, life_days=part.opened_life_days).day
    return Piece(
        code=act.new_code(Piece, codes.Kind.PIECE),
        receipt_line_id=line.id,
        part_id=part.id,
        maker_id=part.maker_id,
        opened_on=today.isoformat(),
        expires_on=own.isoformat() if own else None,
        event_id=act.event_id,
    )
