"""Inspection of counted stock (screws, washers, consumables) by quantity, and opening a bottle.

Source: design R9, R13, R14, R18 (torque against the screws that are issued), C13.
"""

from dataclasses import dataclass
from datetime import date, datetime

from kittrack.domain import codes, dates, torque
from kittrack.domain.ledger import Condition, PlaceKind
from kittrack.domain.rules import Rule, require
from kittrack.domain.sampling import LotPlan, plan_lot
from kittrack.domain.text import check_text
from kittrack.domain.threads import Condition as ThreadCondition
from kittrack.errors import BadInput, Problem, Refusal
from kittrack.services import accepting, booking, desk
from kittrack.services.accepting import ACCEPTED, CONDITION_AFTER, HELD, REJECTED
from kittrack.services.catalogue_fixings import screw_of_part
from kittrack.services.desk import Done
from kittrack.store.act import Act, Slot
from kittrack.store.database import Store
from kittrack.store.records import HubFixing, Inspection, Part, Piece, ReceiptLine
from kittrack.store.stock import Stock, chain

AQL = "2.5"
"""Acceptance quality limit of the sampling hint in percent (common practice, no source)."""

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
    place: str = "",
    condition: str = Condition.ON_HOLD.value,
    key: str = "",
) -> Done:
    """Accept, hold or reject counted stock of a receipt line.

    Args:
        line: the receipt line's code.
        accepted: how much becomes serviceable, in the part's unit.
        held: how much is on hold after a look; takes a note.
        rejected: how much is unserviceable; takes a note.
        note: what was seen; for a lot without a code, by what it was identified.
        property_class: the class read on the heads of screws, where they bear one.
        place: where it lies, if the line's stock lies in several places.
        condition: "on hold" for what was received, "serviceable" for what was accepted before.

    Raises:
        BadInput: nothing or more than there is, or a part of which every piece is inspected.
        Refused: an acceptance without paper (R14), without expiry (R13), under a hold (R6), of screws too
            weak for the torque of a fixing that takes them (R18).
    """
    counts = _Counts(accepted, held, rejected)
    with store.act("inspect stock", by=by, at=at, key=key) as act:
        found = desk.find_line(act, line)
        part = act.get(Part, found.part_id)
        booking.raise_any(_stock_problems(part, counts, note, condition))
        source = accepting.counted_slot(act, found, counts.total, condition=Condition(condition), place=place)
        refusals = desk.check_role(act, "clerk", "inspector")
        if accepted:
            refusals += accepting.check_acceptable(act, found, noted=bool(note))
            refusals += check_strength(act, part, read_class=property_class)
        require(refusals)
        for result, quantity in counts.by_result():
            _write(act, found, source, result, quantity, note)
    return Done(act.event_id, (found.code,), tuple(_said(found, part, counts)))


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
            desk.check_role(act, "clerk", "technician"),
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


def sampling_plan(act: Act, line: ReceiptLine) -> LotPlan | None:
    """How many pieces of a line to look at; None for what is not sampled (C13)."""
    part = act.get(Part, line.part_id)
    return plan_lot(line.quantity, kind=part.kind, aql=AQL) if part.kind == "fastener" else None


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
    screw = screw_of_part(part)
    if screw is None:
        return found
    for fixing in act.select(HubFixing, "screw_part_id = ? AND torque_mnm IS NOT NULL", part.id):
        stated = torque.Torque(
            fixing.torque_mnm or 0, ThreadCondition(fixing.torque_condition), fixing.torque_source
        )
        subject = f"{part.number} at {fixing.name}"
        found += torque.check_torque(stated, thread=screw.thread, strength=screw.strength, subject=subject)
    return found


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
    unit = "uL" if part.unit == "volume_ul" else "pieces"
    words = (
        (counts.accepted, "are serviceable: put them away"),
        (counts.held, "are on hold: put them in the hold cage"),
        (counts.rejected, "are unserviceable: put them in the hold cage, then send them back or scrap them"),
    )
    return [f"{line.code} ({part.number}): {quantity} {unit} {what}." for quantity, what in words if quantity]


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
    message = (
        f"{line.code} is in {outer[0].kind} {outer[0].name}; put it in a bin, on a bench or in a van first."
    )
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
