"""How suppliers deliver: what was rejected of what was inspected, what came without its paper, what came late.

Every figure is a count beside the count that it is of, since one bad piece of two says little about a supplier.
Source: design R14; supplier evaluation at incoming inspection is asked for by AMC1 145.A.42(b)(i).
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any, Final

from kittrack.domain import dates
from kittrack.errors import BadInput
from kittrack.store.act import Reading, instant_text
from kittrack.store.database import Store
from kittrack.store.reversals import reversed_events

_MOST_DAYS: Final = 36_500
_IN_THE_STORES: Final = "('goods-in', 'bin', 'bench', 'hold cage', 'van')"


@dataclass(frozen=True)
class SupplierRecord:
    """What a supplier delivered of a part, and how. Quantities are in the part's unit.

    Attributes:
        lines: receipt lines that came in.
        received: how much came in with them.
        inspected: how much of it was accepted or rejected at receipt.
        rejected: how much of that was rejected.
        without_paper: lines that came without a sufficient paper and were held for it.
        still_without: of these, lines that have none now and lie in the stores on hold.
        orders: lines of orders that came in whole, or whose expected day is over.
        late: of these, lines that came in whole after the expected day, or have not yet.
        longest_late_days: the most days after the expected day, or None where nothing was late.
    """

    supplier: str
    sense: str
    part: str
    name: str
    unit: str
    lines: int
    received: int
    inspected: int
    rejected: int
    without_paper: int
    still_without: int
    orders: int
    late: int
    longest_late_days: int | None


def supplier_records(store: Store, *, at: datetime, within_days: int = 365) -> tuple[SupplierRecord, ...]:
    """How each supplier delivered each part, by supplier and part.

    Inspected at receipt is the first verdict on each piece, and of counted stock the verdicts on what was on hold, in
    their order until all that came in was judged; what was accepted once and is looked at again later says nothing of
    the supplier. A lot whose
    sample failed counts as it was judged: all that was rejected. What was reversed and what stood here before day one
    does not count.

    Args:
        store: the store.
        at: the instant at which lateness is judged, by the local day of the stores.
        within_days: lines received, and lines of orders expected, within so many days before.

    Raises:
        BadInput: no number of days that can be looked back.
    """
    if not 1 <= within_days <= _MOST_DAYS:
        raise BadInput(
            f"{within_days} days can't be looked back; give 1 to {_MOST_DAYS}.", field="within_days"
        )
    with store.reading() as read:
        today = dates.local_day(at, zone=read.time_zone)
        since = at - timedelta(days=within_days)
        found: dict[tuple[int, int], dict[str, int]] = defaultdict(lambda: defaultdict(int))
        _count_lines(read, instant_text(since), found)
        _count_orders(read, dates.local_day(since, zone=read.time_zone), today, found)
        companies = dict(read.rows("SELECT id, name FROM company"))
        parts = {row[0]: row[1:] for row in read.rows("SELECT id, sense, number, name, unit FROM part")}
    records = [
        _record(companies[supplier], parts[part], counts) for (supplier, part), counts in found.items()
    ]
    return tuple(sorted(records, key=lambda r: (r.supplier, r.part)))


def _record(supplier: str, part: Iterable[Any], counts: Mapping[str, int]) -> SupplierRecord:
    sense, number, name, unit = part
    return SupplierRecord(
        supplier=supplier, sense=sense or "", part=number, name=name, unit=unit,
        lines=counts["lines"], received=counts["received"], inspected=counts["inspected"], rejected=counts["rejected"],
        without_paper=counts["without_paper"], still_without=counts["still_without"], orders=counts["orders"],
        late=counts["late"], longest_late_days=counts["longest"] if counts["late"] else None,
    )  # fmt: skip


# ---- what came in --------------------------------------------------------------------------------

_CAME: Final = (
    "FROM receipt_line r JOIN delivery d ON d.id = r.delivery_id JOIN event e ON e.id = r.event_id "
    "WHERE d.is_opening = 0 AND e.at >= ?"
)
_SUFFICES: Final = (
    "SELECT 1 FROM paper p JOIN part t ON t.id = r.part_id JOIN paper_kind k ON k.paper_class = t.paper_class "
    "AND k.kind = p.kind AND k.active = 1 WHERE p.receipt_line_id = r.id"
)
_LINES: Final = (
    f"SELECT r.id, d.supplier_id, r.part_id, NOT EXISTS ({_SUFFICES} AND p.event_id = r.event_id), "
    f"NOT EXISTS ({_SUFFICES}) AND EXISTS (SELECT 1 FROM holding h JOIN place q ON q.id = h.place_id "
    f"WHERE h.receipt_line_id = r.id AND h.condition = 'on hold' AND h.quantity > 0 AND q.kind IN {_IN_THE_STORES}), "
    "(SELECT -sum(h.quantity) FROM holding h JOIN place q ON q.id = h.place_id WHERE h.receipt_line_id = r.id "
    f"AND q.kind = 'supplier') {_CAME} ORDER BY r.id"
)
_VERDICTS: Final = (
    "SELECT coalesce(i.receipt_line_id, u.receipt_line_id), i.piece_id, i.quantity, i.result, i.event_id "
    "FROM inspection i LEFT JOIN piece u ON u.id = i.piece_id WHERE i.result <> 'held' "
    "AND (i.piece_id IS NOT NULL OR EXISTS (SELECT 1 FROM movement m WHERE m.event_id = i.event_id "
    "AND m.receipt_line_id = i.receipt_line_id AND m.from_condition = 'on hold')) "
    f"AND coalesce(i.receipt_line_id, u.receipt_line_id) IN (SELECT r.id {_CAME}) ORDER BY i.id"
)


def _count_lines(read: Reading, since: str, found: dict[tuple[int, int], dict[str, int]]) -> None:
    verdicts = _verdicts(read, since)
    for line, supplier, part, without, still, came in read.rows(_LINES, since):
        if not came:  # its booking was reversed
            continue
        counts = found[supplier, part]
        counts["lines"] += 1
        counts["received"] += int(came)
        counts["without_paper"] += bool(without)
        counts["still_without"] += bool(without and still)
        inspected, rejected = _at_receipt(verdicts.get(line, []), int(came))
        counts["inspected"] += inspected
        counts["rejected"] += rejected


def _verdicts(read: Reading, since: str) -> dict[int, list[tuple[int, bool]]]:
    """The verdicts on each line in their order, (quantity, whether rejected), the first one of each piece alone."""
    undone, seen = reversed_events(read), set()
    found: dict[int, list[tuple[int, bool]]] = defaultdict(list)
    for line, piece, quantity, result, event in read.rows(_VERDICTS, since):
        if event in undone or (piece is not None and piece in seen):
            continue
        seen.add(piece)
        found[line].append((quantity, result == "rejected"))
    return found


def _at_receipt(verdicts: Iterable[tuple[int, bool]], came: int) -> tuple[int, int]:
    """How much of what came in was judged, and how much of that was rejected, by the first verdicts."""
    inspected = rejected = 0
    for quantity, is_rejected in verdicts:
        counted = min(quantity, came - inspected)
        inspected += counted
        rejected += counted if is_rejected else 0
    return inspected, rejected


# ---- what was expected ---------------------------------------------------------------------------

_ORDERED: Final = (
    "SELECT l.id, o.supplier_id, l.part_id, l.quantity, l.due_on FROM order_line l "
    "JOIN purchase_order o ON o.id = l.purchase_order_id WHERE l.cancelled_event_id IS NULL AND l.due_on >= ? ORDER BY l.id"
)
_ARRIVED: Final = (
    "SELECT a.order_line_id, e.at, -sum(h.quantity) FROM order_arrival a JOIN receipt_line r ON r.id = a.receipt_line_id "
    "JOIN event e ON e.id = r.event_id JOIN holding h ON h.receipt_line_id = r.id "
    "JOIN place p ON p.id = h.place_id AND p.kind = 'supplier' GROUP BY a.order_line_id, r.id, e.at ORDER BY e.at, r.id"
)


def _count_orders(
    read: Reading, since: date, today: date, found: dict[tuple[int, int], dict[str, int]]
) -> None:
    arrivals: dict[int, list[tuple[str, int]]] = defaultdict(list)
    for line, came_at, quantity in read.rows(_ARRIVED):
        arrivals[line].append((came_at, int(quantity)))
    for line, supplier, part, quantity, due in read.rows(_ORDERED, since.isoformat()):
        due_on = date.fromisoformat(due)
        came = _whole_at(arrivals[line], quantity)
        came_on = dates.local_day(dates.read_instant(came), zone=read.time_zone) if came else None
        if came_on is None and today <= due_on:
            continue  # it is expected still
        counts, days = found[supplier, part], ((came_on or today) - due_on).days
        counts["orders"] += 1
        counts["late"] += days > 0
        counts["longest"] = max(counts["longest"], days)


def _whole_at(arrivals: Iterable[tuple[str, int]], quantity: int) -> str:
    """When all of an order line had come in, or "" where it has not."""
    came = 0
    for at, arrived in arrivals:
        came += arrived
        if came >= quantity:
            return at
    return ""
