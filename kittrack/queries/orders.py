"""What is on order: every line with what came in for it, when the rest is expected, and what is late."""

from dataclasses import dataclass
from datetime import date, datetime

from kittrack.domain import dates
from kittrack.store.act import Reading
from kittrack.store.database import Store
from kittrack.store.records import Company, Part, Site
from kittrack.store.supply_facts import arrived, supply_of


@dataclass(frozen=True)
class OrderedLine:
    """One part of an order. `days_late` counts from the expected day, negative before it; None once nothing is to come."""

    state: str
    days_late: int | None
    due_on: date
    order: str
    supplier: str
    reference: str
    sense: str
    part: str
    name: str
    ordered: int
    arrived: int
    outstanding: int
    unit: str
    placed_on: date


@dataclass(frozen=True)
class SupplyLine:
    """How a part is got, and how long it took in truth: days from order to first arrival, over its orders."""

    part: str
    sense: str
    supplier: str
    is_usual: bool
    lead_time_days: int | None
    lead_time_source: str
    pack_quantity: int
    unit: str
    orders_arrived: int
    mean_days_taken: int | None
    longest_days_taken: int | None


def orders(store: Store, *, at: datetime, everything: bool = False) -> tuple[OrderedLine, ...]:
    """What is still to come, the most late first; with `everything` also what came in or was cancelled.

    Args:
        store: the store.
        at: the instant at which lateness is judged, by the local day of the stores.
        everything: also lines of which nothing is to come any more, after the others.
    """
    with store.reading() as read:
        zone = read.select(Site, limit=1)[0].time_zone
        came = arrived(read)
        rows = read.rows(
            "SELECT l.id, l.quantity, l.due_on, l.cancelled_event_id, o.code, o.reference, c.name, t.sense, t.number, "
            "t.name, t.unit, e.at FROM order_line l JOIN purchase_order o ON o.id = l.purchase_order_id "
            "JOIN company c ON c.id = o.supplier_id JOIN part t ON t.id = l.part_id JOIN event e ON e.id = o.event_id "
            "ORDER BY l.due_on, l.id"
        )
    today = dates.local_day(at, zone=zone)
    lines = [_line(row, came.get(row[0], 0), today, zone) for row in rows]
    chosen = [line for line in lines if everything or line.outstanding]
    return tuple(sorted(chosen, key=lambda line: line.days_late is None))


def _line(row: tuple[object, ...], came: int, today: date, zone: str) -> OrderedLine:
    _, quantity, due, cancelled, code, reference, supplier, sense, part, name, unit, at = row
    ordered, due_on = int(str(quantity)), date.fromisoformat(str(due))
    rest = 0 if cancelled is not None else max(0, ordered - came)
    late = (today - due_on).days if rest else None
    return OrderedLine(
        state=_state(cancelled is not None, late), days_late=late, due_on=due_on, order=str(code), supplier=str(supplier),
        reference=str(reference), sense=str(sense or ""), part=str(part), name=str(name), ordered=ordered, arrived=came,
        outstanding=rest, unit=str(unit), placed_on=_local_day(str(at), zone),
    )  # fmt: skip


def _state(is_cancelled: bool, late: int | None) -> str:
    if is_cancelled:
        return "cancelled"
    if late is None:
        return "arrived"
    return "LATE" if late > 0 else "expected"


def _local_day(at: str, zone: str) -> date:
    return dates.local_day(dates.read_instant(at), zone=zone)


def supply(store: Store) -> tuple[SupplyLine, ...]:
    """From whom each part is got, ordered by part and supplier; every supplier whose terms are known, and the usual one."""
    with store.reading() as read:
        zone = read.select(Site, limit=1)[0].time_zone
        taken = days_taken(read, zone)
        companies = {c.id: c for c in read.select(Company)}
        named: dict[int, set[int]] = {}
        for part_id, company_id in read.rows("SELECT part_id, supplier_id FROM supply_terms ORDER BY id"):
            named.setdefault(part_id, set()).add(company_id)
        found = [
            line
            for part in read.select(Part)
            for line in _supply_lines(read, part, named.get(part.id, set()), companies, taken)
        ]
    return tuple(sorted(found, key=lambda s: (s.part, s.supplier)))


def _supply_lines(
    read: Reading,
    part: Part,
    named: set[int],
    companies: dict[int, Company],
    taken: dict[tuple[int, int], list[int]],
) -> list[SupplyLine]:
    usual = supply_of(read, part).supplier
    every: list[Company | None] = [companies[i] for i in named | ({usual.id} if usual else set())]
    lines = []
    for company in every or [None]:
        terms = supply_of(read, part, supplier=company)
        days = taken.get((part.id, company.id), []) if company else []
        lines.append(
            SupplyLine(
                part=part.number, sense=part.sense or "", supplier=company.name if company else "",
                is_usual=company == usual, lead_time_days=terms.lead_time_days, lead_time_source=terms.lead_time_source,
                pack_quantity=terms.pack_quantity, unit=part.unit, orders_arrived=len(days),
                mean_days_taken=round(sum(days) / len(days)) if days else None,
                longest_days_taken=max(days, default=None),
            )
        )  # fmt: skip
    return lines


def days_taken(read: Reading, zone: str) -> dict[tuple[int, int], list[int]]:
    """Days from placing an order to the first arrival of each of its lines, by part and supplier."""
    rows = read.rows(
        "SELECT l.part_id, o.supplier_id, p.at, min(e.at) FROM order_line l JOIN purchase_order o ON o.id = l.purchase_order_id "
        "JOIN event p ON p.id = o.event_id JOIN order_arrival a ON a.order_line_id = l.id "
        "JOIN receipt_line r ON r.id = a.receipt_line_id JOIN event e ON e.id = r.event_id "
        "GROUP BY l.id, l.part_id, o.supplier_id, p.at ORDER BY l.id"
    )
    found: dict[tuple[int, int], list[int]] = {}
    for part, supplier, placed, came in rows:
        days = (_local_day(came, zone) - _local_day(placed, zone)).days
        found.setdefault((part, supplier), []).append(days)
    return found
