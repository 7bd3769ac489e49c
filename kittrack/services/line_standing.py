"""One receipt line while it is inspected: where it lies, how far it is, what it needs first, the sampling plan."""

from dataclasses import dataclass
from datetime import datetime

from kittrack.domain import codes, dates
from kittrack.domain.sampling import plan_lot
from kittrack.errors import NotFound
from kittrack.services import booking, desk
from kittrack.services.accepting import is_piecewise
from kittrack.services.inspecting_stock import AQL
from kittrack.store.act import Reading
from kittrack.store.database import Store
from kittrack.store.records import Company, Delivery, Lot, Part, PartMark, ReceiptLine
from kittrack.store.stock import open_holds


@dataclass(frozen=True)
class LineView:
    """A receipt line. `lying` is (place, condition, quantity) of what has no number of its own yet."""

    code: str
    sense: str
    part: str
    name: str
    kind: str
    quantity: int
    unit: str
    lot_code: str
    supplier: str
    reference: str
    is_by_piece: bool
    inspected: int
    waiting: int
    lying: tuple[tuple[str, str, int], ...]
    marks: tuple[tuple[str, str], ...]
    sampling: str
    needs: tuple[str, ...]
    holds: tuple[str, ...]


def line_view(store: Store, *, line: str, at: datetime) -> LineView:
    """A receipt line as somebody at Goods-in needs it.

    Args:
        store: the store.
        line: its code.
        at: the instant at which its shelf life is judged.

    Raises:
        NotFound: no such line.
        BadInput: the code does not check.

    Source: design R13, R14; ISO 2859-1 plans by `domain.sampling`.
    """
    code = codes.read_code(line, expect=codes.Kind.RECEIPT_LINE).text
    with store.reading() as read:
        found = read.find(ReceiptLine, code=code)
        if found is None:
            raise NotFound(f"there is no receipt line {code}; scan the label of the line")
        part, lot = read.get(Part, found.part_id), read.get(Lot, found.lot_id)
        delivery = read.get(Delivery, found.delivery_id)
        lying = tuple((name, condition, int(n)) for name, condition, n in read.rows(_LYING, found.id))
        marks = read.select(PartMark, "part_id = ? AND revision = ?", part.id, part.mark_revision)
        return LineView(
            code=code, sense=part.sense or "", part=part.number, name=part.name, kind=part.kind, quantity=found.quantity,
            unit=found.unit, lot_code=lot.lot_code or "", supplier=read.get(Company, delivery.supplier_id).name,
            reference=delivery.reference, is_by_piece=is_piecewise(part),
            inspected=int(read.value("SELECT count(*) FROM piece WHERE receipt_line_id = ?", found.id)),
            waiting=sum(n for _, condition, n in lying if condition == "on hold"), lying=lying,
            marks=tuple((m.mark, m.sense) for m in marks), sampling=_sampling(found, part),
            needs=tuple(_needs(read, found, part, at)),
            holds=tuple(dict.fromkeys(h.hold_code for h in open_holds(read, receipt_lines=[found.id]))),
        )  # fmt: skip


_LYING = (
    "SELECT p.name, h.condition, sum(h.quantity) FROM holding h JOIN place p ON p.id = h.place_id "
    "WHERE h.receipt_line_id = ? AND h.piece_id IS NULL AND p.kind IN ('goods-in', 'bin', 'bench', 'hold cage', 'van') "
    "GROUP BY p.name, h.condition ORDER BY p.name, h.condition"
)


def _sampling(line: ReceiptLine, part: Part) -> str:
    if part.kind != "fastener":
        return ""
    plan = plan_lot(line.quantity, kind=part.kind, aql=AQL)
    if plan.inspects_all:
        return f"look at all {plan.inspect}"
    return f"look at {plan.inspect} of {plan.lot_size}; accept with at most {plan.acceptance} bad ones"


def _needs(read: Reading, line: ReceiptLine, part: Part, at: datetime) -> list[str]:
    found = [r.message for r in (*booking.check_paper(read, line), *booking.check_expiry_known(line, part))]
    expiry = desk.expiry_of(line)
    if dates.is_expired(expiry, at=at, zone=desk.zone(read)):
        found.append(f"{line.code} expired at the end of {expiry.day}; send it back to the supplier.")
    return found
