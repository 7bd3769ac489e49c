"""What comes in for an order: named when a delivery is received, or said afterwards.

Source: design C11 (orders placed and their arrival).
"""

from collections.abc import Iterable, Sequence
from datetime import datetime

from kittrack.domain import codes
from kittrack.domain.quantities import Dimension, write_quantity
from kittrack.domain.rules import require
from kittrack.errors import BadInput, NotFound, Problem
from kittrack.services import booking, desk
from kittrack.services.desk import Done
from kittrack.store.act import Act, Reading
from kittrack.store.database import Store
from kittrack.store.numbers import not_held
from kittrack.store.records import (
    Company,
    Delivery,
    OrderArrival,
    OrderLine,
    Part,
    PurchaseOrder,
    ReceiptLine,
)
from kittrack.store.supply_facts import arrived

_RECEIVERS = ("clerk", "manager")


@desk.done_by(*_RECEIVERS)
def record_arrival(store: Store, *, line: str, order: str, by: str, at: datetime, key: str = "") -> Done:
    """Say afterwards for which order a received line came in.

    Raises:
        BadInput: the order has no line for its part, is of another supplier, or the line is booked to an order.
    """
    with store.act("book an arrival to an order", by=by, at=at, key=key) as act:
        require(desk.check_done_by(act, record_arrival))
        receipt = desk.find_line(act, line)
        known = act.find(OrderArrival, receipt_line_id=receipt.id)
        if known is not None:
            raise BadInput(
                f"{receipt.code} is booked to an order already; look at: kittrack order list --all"
            )
        delivery = act.get(Delivery, receipt.delivery_id)
        found = _line_expected(act, order, act.get(Part, receipt.part_id), delivery.supplier_id)
        said = book_arrival(act, found, receipt)
    return Done(act.event_id, (receipt.code,), (said,))


# ---- what receiving asks -------------------------------------------------------------------------


def expected_lines(
    read: Reading, company: Company, specs: Sequence[booking.LineSpec], parts: Sequence[Part]
) -> list[OrderLine | None]:
    """The order line that each line of a delivery names, or None where it names none.

    Raises:
        BadInput: every order that is not known, is another supplier's, or lacks the part.
    """
    found: list[OrderLine | None] = []
    problems: list[Problem] = []
    for place, (spec, part) in enumerate(zip(specs, parts, strict=True), start=1):
        try:
            found.append(_line_expected(read, spec.order, part, company.id) if spec.order else None)
        except (BadInput, NotFound) as error:
            problems.append(Problem(_sentence(str(error)), "order", spec.row or place))
    booking.raise_any(problems)
    return found


def book_arrival(act: Act, line: OrderLine, receipt: ReceiptLine) -> str:
    """Note that a receipt line came in for an order line; says what is still to come.

    More than was ordered, or something that was cancelled, is what it is: it is taken in and said.
    """
    act.insert(OrderArrival(order_line_id=line.id, receipt_line_id=receipt.id, event_id=act.event_id))
    order, part = act.get(PurchaseOrder, line.purchase_order_id), act.get(Part, line.part_id)
    came = arrived(act, order_line_id=line.id).get(line.id, 0)
    start = f"{order.code}, {part.number}: {amount_words(part, came)} of {amount_words(part, line.quantity)} came in"
    if line.cancelled_event_id is not None:
        return f"{start}, though it was cancelled: ask the supplier before it is used."
    if came > line.quantity:
        return f"{start}, more than was ordered: ask the supplier."
    rest = line.quantity - came
    return f"{start}; {amount_words(part, rest)} still to come." if rest else f"{start}, all of it."


def still_expected(read: Reading, company: Company, parts: Iterable[Part]) -> list[str]:
    """A sentence for each open order of a supplier that expects one of some parts."""
    came, said = arrived(read), []
    for part in dict.fromkeys(parts):
        rows = read.rows(
            "SELECT o.code, l.id, l.quantity FROM order_line l JOIN purchase_order o ON o.id = l.purchase_order_id "
            "WHERE o.supplier_id = ? AND l.part_id = ? AND l.cancelled_event_id IS NULL ORDER BY l.id",
            company.id,
            part.id,
        )
        said += [
            f"{code} still expects {amount_words(part, quantity - came.get(line, 0))} of {part.number}; if this is it: "
            "kittrack order arrived --help"
            for code, line, quantity in rows
            if quantity > came.get(line, 0)
        ]
    return said


# ---- finding -------------------------------------------------------------------------------------


def find_order(read: Reading, text: str) -> PurchaseOrder:
    """The order of a code; BadInput or NotFound name what is wrong with it."""
    code = codes.read_code(text, expect=codes.Kind.ORDER).text
    found = read.find(PurchaseOrder, code=code)
    if found is None:
        raise not_held(read, code)
    return found


def line_for(read: Reading, order: PurchaseOrder, part: Part) -> OrderLine:
    """The line of an order for a part.

    Raises:
        BadInput: it has none.
    """
    found = read.find(OrderLine, purchase_order_id=order.id, part_id=part.id)
    if found is None:
        raise BadInput(f"{order.code} has no line for {part.number}; look at: kittrack order list --all")
    return found


def _line_expected(read: Reading, text: str, part: Part, supplier_id: int) -> OrderLine:
    order = find_order(read, text)
    if order.supplier_id != supplier_id:
        name = read.get(Company, order.supplier_id).name
        raise BadInput(f"{order.code} was placed with {name}; look at the delivery note again.")
    return line_for(read, order, part)


def amount_words(part: Part, number: int) -> str:
    """How much of a part, as a person reads it."""
    return str(number) if part.unit == "pieces" else write_quantity(number, dimension=Dimension.VOLUME)


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:] + ("" if text.endswith(".") else ".")
