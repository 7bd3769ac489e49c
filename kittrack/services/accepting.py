"""What stands between a hold and serviceable: paper, expiry, identity, holds, and where stock lies.

Source: design R1 (whole set), R2 (mark), R6, R13 (expiry), R14 (paper), R16 (identity).
"""

from kittrack.domain import dates
from kittrack.domain.ledger import Condition, PlaceKind
from kittrack.domain.rules import Rule
from kittrack.errors import BadInput, Problem, Refusal
from kittrack.services import booking, desk, weighing
from kittrack.store.act import Act, Reading, Slot
from kittrack.store.records import Lot, Part, PartMark, Piece, ReceiptLine
from kittrack.store.stock import Stock, chain, place_named, slot_of_piece

ACCEPTED, HELD, REJECTED = "accepted", "held", "rejected"
CONDITION_AFTER = {
    ACCEPTED: Condition.SERVICEABLE.value,
    HELD: Condition.ON_HOLD.value,
    REJECTED: Condition.UNSERVICEABLE.value,
}


_SHELVES = (*sorted(weighing.WITHIN_REACH), PlaceKind.VAN)
"""Kinds of place whose stock somebody can look at; what is issued, fitted or used up is not among them."""


def check_acceptable(act: Act, line: ReceiptLine, *, noted: bool) -> list[Refusal]:
    """Every reason why stock of a line may not become serviceable now (R6, R13, R14, R16).

    Args:
        act: the act.
        line: the receipt line.
        noted: whether somebody wrote down by what stock of an unknown lot was identified.
    """
    part, lot = act.get(Part, line.part_id), act.get(Lot, line.lot_id)
    found = [*booking.check_paper(act, line), *booking.check_expiry_known(line, part)]
    if not found or found[-1].rule != Rule.DATES:
        found += dates.check_shelf_life(
            desk.expiry_of(line), subject=f"{line.code} ({part.number})", at=act.moment, zone=desk.zone(act)
        )
    if part.superseded_how == "safety":
        message = f"{part.number} is superseded for safety and is not accepted; send it back or scrap it."
        found.append(Refusal(Rule.FIT_FOR_ISSUE, part.number, message))
    if lot.lot_code is None and not noted:
        message = f"{line.code} ({part.number}) has no lot code; write in the note by what it was identified."
        found.append(Refusal(Rule.IDENTITY, line.code, message))
    return [*found, *desk.check_holds(act, receipt_lines=[line.id])]


def counted_slot(
    read: Reading, line: ReceiptLine, quantity: int, *, condition: Condition, place: str = ""
) -> Slot:
    """Where counted stock of a line lies in a condition, enough for a quantity.

    Raises:
        BadInput: there is less, or it lies in several places and none was named.
    """
    rows = read.rows(
        "SELECT h.place_id, h.quantity FROM holding h JOIN place p ON p.id = h.place_id "
        "WHERE h.receipt_line_id = ? AND h.condition = ? AND h.piece_id IS NULL AND h.quantity > 0 "
        f"AND p.kind IN ({', '.join('?' * len(_SHELVES))}) ORDER BY h.place_id",
        line.id,
        condition.value,
        *_SHELVES,
    )
    named = place_named(read, place).id if place else None
    there = [(place_id, have) for place_id, have in rows if named in (None, place_id)]
    if len(there) > 1:
        names = ", ".join(chain(read, place_id)[0].name for place_id, _ in there)
        raise BadInput(
            f"{line.code} lies {condition.value} in several places ({names}); name one.", field="place"
        )
    if not there:
        raise BadInput(
            f"Of {line.code} nothing without a number of its own is {condition.value} in {place or 'the stores'}; "
            "scan another line, or trace where it went.",
            field="line",
        )
    if (have := there[0][1]) < quantity:
        raise BadInput(
            f"Of {line.code} only {have} are {condition.value}{f' in {place}' if place else ''}, not {quantity}; "
            "count again.",
            field="quantity",
        )
    return Slot(there[0][0], condition.value)


def check_loose(read: Reading, piece: Piece) -> list[Refusal]:
    """Why a piece can't be handled by itself: it is in a rotor set (R1), or not within reach (R5, R10)."""
    around = chain(read, slot_of_piece(read, piece.id).place_id)
    if around[0].kind == "rotor set":
        message = f"{piece.code} is in rotor set {around[0].code}; break the set first, with its reason."
        return [Refusal(Rule.WHOLE_SET, piece.code, message)]
    return weighing.check_within_reach(read, piece)


def sense_of_mark(read: Reading, part: Part, mark: str) -> str | None:
    """The sense that a mark means by the part's current table; None where the table does not have it (R2)."""
    found = read.find(PartMark, part_id=part.id, revision=part.mark_revision, mark=mark.strip())
    return found.sense if found else None


def is_piecewise(part: Part) -> bool:
    """Whether every piece of a part is looked at and numbered: blades, hubs, serialised parts."""
    return part.kind in ("blade", "hub") or part.tracking == "serial"


def result_problems(result: str, note: str) -> list[Problem]:
    """What is wrong with a result as it was entered: unknown, or a bad one without a note."""
    if result not in CONDITION_AFTER:
        return [Problem(f"{result!r} is no result; it is one of: {', '.join(CONDITION_AFTER)}.", "result")]
    if result != ACCEPTED and not note.strip():
        return [Problem(f"What is {result} takes a note; write what was seen.", "note")]
    return []


def set_condition(act: Act, stock: Stock, condition: str) -> None:
    """Give stock another condition where it lies; nothing happens where it has that one."""
    if stock.condition != condition:
        act.move_stock(
            stock.receipt_line_id,
            stock.quantity,
            from_slot=stock.slot,
            to_slot=Slot(stock.place_id, condition, stock.piece_id),
        )
