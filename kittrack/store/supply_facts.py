"""From whom a part comes, how long that takes, in which packs, and what of it is on order."""

from collections.abc import Mapping
from dataclasses import dataclass

from kittrack.store.act import Reading
from kittrack.store.records import Company, Part, SupplyTerms


@dataclass(frozen=True)
class Supply:
    """How a part is got. `supplier` is None where nobody is known to supply it, the lead time where nobody said one.

    `lead_time_source` says in words where the lead time comes from.
    """

    supplier: Company | None
    lead_time_days: int | None
    pack_quantity: int
    lead_time_source: str


def supply_of(read: Reading, part: Part, *, supplier: Company | None = None) -> Supply:
    """How a part is got: from a supplier, or from its usual one.

    The usual one is the preferred supplier, else the one that delivered it last, else its maker.

    Args:
        read: inside any transaction.
        part: what is wanted.
        supplier: a certain supplier.
    """
    company = supplier or _usual_supplier(read, part)
    if company is None:
        return Supply(None, None, part.pack_quantity, "no supplier is known")
    terms = read.find(SupplyTerms, part_id=part.id, supplier_id=company.id)
    pack = terms.pack_quantity if terms and terms.pack_quantity else part.pack_quantity
    if terms is not None and terms.lead_time_days is not None:
        return Supply(company, terms.lead_time_days, pack, terms.source)
    if company.lead_time_days is not None:
        return Supply(company, company.lead_time_days, pack, f"the catalogue's for all of {company.name}")
    return Supply(company, None, pack, "not known")


def _usual_supplier(read: Reading, part: Part) -> Company | None:
    terms = read.find(SupplyTerms, part_id=part.id, preferred=1)
    if terms is not None:
        return read.get(Company, terms.supplier_id)
    last = read.value(
        "SELECT d.supplier_id FROM receipt_line r JOIN delivery d ON d.id = r.delivery_id "
        "WHERE r.part_id = ? AND d.is_opening = 0 ORDER BY r.id DESC LIMIT 1",
        part.id,
    )
    if last is not None:
        return read.get(Company, last)
    maker = read.get(Company, part.maker_id)
    return maker if maker.is_supplier else None


def arrived(read: Reading, *, order_line_id: int | None = None) -> Mapping[int, int]:
    """How much came in for each order line, or for one; a delivery that was reversed did not come in."""
    only = "" if order_line_id is None else " WHERE a.order_line_id = ?"
    given = () if order_line_id is None else (order_line_id,)
    rows = read.rows(
        "SELECT a.order_line_id, sum(-h.quantity) FROM order_arrival a "
        "JOIN holding h ON h.receipt_line_id = a.receipt_line_id "
        f"JOIN place p ON p.id = h.place_id AND p.kind = 'supplier'{only} GROUP BY a.order_line_id",
        *given,
    )
    return {line: int(quantity) for line, quantity in rows}


def on_order(read: Reading) -> Mapping[int, int]:
    """What is still to come of each part, by part: ordered, not cancelled, not arrived."""
    came = arrived(read)
    found: dict[int, int] = {}
    for line, part, quantity in read.rows(
        "SELECT id, part_id, quantity FROM order_line WHERE cancelled_event_id IS NULL ORDER BY id"
    ):
        rest = quantity - came.get(line, 0)
        if rest > 0:
            found[part] = found.get(part, 0) + rest
    return found
