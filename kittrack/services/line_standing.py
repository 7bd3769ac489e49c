"""One receipt line on its way to the shelf: where it lies, how far it is, what it needs first, the sampling plan."""

from dataclasses import dataclass
from datetime import datetime

from kittrack.domain import codes, dates
from kittrack.errors import NotFound
from kittrack.services import booking, desk
from kittrack.services.accepting import is_piecewise
from kittrack.store.act import Reading
from kittrack.store.database import Store
from kittrack.store.look_facts import was_looked_at
from kittrack.store.records import Company, Delivery, Lot, Part, PartMark, Place, ReceiptLine
from kittrack.store.sampling_facts import plan_of, sample_of
from kittrack.store.stock import open_holds


@dataclass(frozen=True)
class Lying:
    """Some of a line that has no number of its own: where, in which condition, how much."""

    place: str
    condition: str
    quantity: int


@dataclass(frozen=True)
class LineView:
    """A receipt line; `inspected` counts pieces that got a number of their own, `waiting` what is on hold without one.

    `marks` are (mark, sense) of a blade part; `needs` says what it lacks before it can be accepted; `put_away_from`
    is the place in goods-in where accepted stock of it still lies.
    """

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
    lying: tuple[Lying, ...]
    marks: tuple[tuple[str, str], ...]
    sampling: str
    needs: tuple[str, ...]
    holds: tuple[str, ...]
    next_step: str
    put_away_from: str
    is_expired: bool
    is_expired_outside_the_cage: bool


def line_view(store: Store, *, line: str, at: datetime) -> LineView:
    """A receipt line as somebody at Goods-in needs it.

    Args:
        store: the store.
        line: its code.
        at: the instant at which its shelf life is judged.

    Raises:
        NotFound: no such line.
        BadInput: the code does not check.

    Source: design R13, R14, C13.
    """
    code = codes.read_code(line, expect=codes.Kind.RECEIPT_LINE).text
    with store.reading() as read:
        found = read.find(ReceiptLine, code=code)
        if found is None:
            raise NotFound(f"there is no receipt line {code}; scan the label of the line")
        part, lot = read.get(Part, found.part_id), read.get(Lot, found.lot_id)
        delivery = read.get(Delivery, found.delivery_id)
        lying = tuple(Lying(name, condition, int(n)) for name, condition, n in read.rows(_LYING, found.id))
        needs = tuple(booking.needs_of(read, found, at=at))
        holds = tuple(dict.fromkeys(h.hold_code for h in open_holds(read, receipt_lines=[found.id])))
        waiting = sum(one.quantity for one in lying if one.condition == "on hold")
        marks = read.select(PartMark, "part_id = ? AND revision = ?", part.id, part.mark_revision)
        put_away_from = next((one.place for one in lying if _waits_for_shelf(read, one)), "")
        is_expired = dates.is_expired(desk.expiry_of(found), at=at, zone=read.time_zone)
        cages = {place.name for place in read.select(Place, "kind = 'hold cage'")}
        is_elsewhere = any(one.place not in cages for one in lying)
        return LineView(
            code=code, sense=part.sense or "", part=part.number, name=part.name, kind=part.kind, quantity=found.quantity,
            unit=found.unit, lot_code=lot.lot_code or "", supplier=read.get(Company, delivery.supplier_id).name,
            reference=delivery.reference, is_by_piece=is_piecewise(part),
            inspected=int(read.value("SELECT count(*) FROM piece WHERE receipt_line_id = ?", found.id)),
            waiting=waiting, lying=lying, marks=tuple((m.mark, m.sense) for m in marks), sampling=_sampling(read, found),
            needs=needs, holds=holds, put_away_from=put_away_from, is_expired=is_expired, is_expired_outside_the_cage=is_expired and is_elsewhere,
            next_step="put it away" if put_away_from else _next_step(read, found, part, waiting),
        )  # fmt: skip


_LYING = (
    "SELECT p.name, h.condition, sum(h.quantity) FROM holding h JOIN place p ON p.id = h.place_id "
    "WHERE h.receipt_line_id = ? AND h.piece_id IS NULL AND p.kind IN ('goods-in', 'bin', 'bench', 'hold cage', 'van') "
    "GROUP BY p.name, h.condition ORDER BY p.name, h.condition"
)


def _sampling(read: Reading, line: ReceiptLine) -> str:
    found = plan_of(read, line)
    if found is None:
        return ""
    plan, standing = found
    before = sample_of(read, line)
    if before is not None:
        return f"the sample is on record: {'passed' if before.passed else 'NOT passed'}"
    if standing.stopped:
        return f"{plan.severity.value}: STOPPED for this supplier, look at all {line.quantity}"
    if plan.inspects_all:
        return f"{plan.severity.value}: look at all {plan.inspect}"
    return f"{plan.severity.value}: look at {plan.inspect} of {plan.lot_size}; accept with at most {plan.acceptance} bad"


def _waits_for_shelf(read: Reading, one: Lying) -> bool:
    return one.condition == "serviceable" and one.place == _goods_in(read)


def _next_step(read: Reading, line: ReceiptLine, part: Part, waiting: int) -> str:
    """What comes next for a line of which nothing is to be put away, in words."""
    if waiting and booking.check_paper(read, line):
        return "attach its paper"
    if waiting and booking.check_expiry_known(line, part):
        return "record its shelf life"
    if was_looked_at(read, line.id, waiting=waiting):
        return "decide on what was held"
    if waiting:
        return "inspect its pieces" if is_piecewise(part) else "inspect it"
    return "nothing is left to do at Goods-in"


def _goods_in(read: Reading) -> str:
    return str(read.value("SELECT name FROM place WHERE kind = 'goods-in' ORDER BY id LIMIT 1") or "")
