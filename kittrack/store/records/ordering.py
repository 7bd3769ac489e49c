"""What is ordered, on which terms, and what arrived of it."""

from kittrack.store.records.declaring import Record, table


@table(
    "supply_terms",
    unique=(("part_id", "supplier_id"),),
    unique_where=((("part_id",), "preferred = 1"),),
    refers={"supplier_id": "company"},
    checks={
        "supply_lead_time": "lead_time_days IS NULL OR lead_time_days >= 0",
        "supply_pack": "pack_quantity IS NULL OR pack_quantity > 0",
        "supply_preferred_is_flag": "preferred IN (0, 1)",
    },
)
class SupplyTerms(Record):
    """How a supplier delivers a part: days from order to door, quantity in a pack; None as the catalogue says."""

    id: int = 0
    part_id: int
    supplier_id: int
    lead_time_days: int | None = None
    pack_quantity: int | None = None
    preferred: int = 0
    source: str
    event_id: int


@table("purchase_order", unique=(("code",),), refers={"supplier_id": "company"}, once=True)
class PurchaseOrder(Record):
    """An order placed with a supplier under a reference that his papers will show."""

    id: int = 0
    code: str
    supplier_id: int
    reference: str
    event_id: int


@table(
    "order_line",
    unique=(("purchase_order_id", "part_id"),),
    indexed=(("part_id",),),
    refers={"cancelled_event_id": "event"},
    checks={"order_line_quantity": "quantity > 0"},
)
class OrderLine(Record):
    """A part of an order, in the part's unit, and the day on which it is expected."""

    id: int = 0
    purchase_order_id: int
    part_id: int
    quantity: int
    due_on: str
    cancelled_event_id: int | None = None


@table("order_arrival", unique=(("receipt_line_id",),), indexed=(("order_line_id",),), once=True)
class OrderArrival(Record):
    """A receipt line that came in for a line of an order."""

    id: int = 0
    order_line_id: int
    receipt_line_id: int
    event_id: int
