"""Verbs of orders: what is placed, what is cancelled, what came in, how suppliers deliver."""

from typing import Final

from kittrack.cli import reading
from kittrack.cli.reading import Key, record
from kittrack.cli.tables import Table, listing
from kittrack.cli.verb import Station, Verb, option, switch, word, words
from kittrack.queries import orders, supplier_records
from kittrack.queries.orders import OrderedLine, SupplyLine
from kittrack.queries.supplier_records import SupplierRecord
from kittrack.services import arrivals, ordering
from kittrack.services.ordering import OrderSpec


def order_spec(*, part: str, amount: tuple[int, str], due: object = None) -> OrderSpec:
    """A line of an order from its typed values."""
    quantity, unit = amount
    return OrderSpec(part, quantity, unit, due)  # type: ignore[arg-type]  # the reader of `due` gives a date


_READ_LINE: Final = record(
    order_spec,
    part=Key("part"),
    quantity=Key("amount", reading.amount),
    due=Key("due", reading.day),
)
_ORDER: Final = word("order", "the order's code")
_SUPPLIER: Final = option("supplier", "the supplier's name", needed=True)


def _orders(lines: tuple[OrderedLine, ...]) -> list[Table]:
    return [
        listing(
            lines, "state", "due_on", "order", "sense", "part", ("to come", lambda o: reading.amount_text(o.outstanding, o.unit)),
            "supplier", "reference", "days_late", ("ordered", lambda o: reading.amount_text(o.ordered, o.unit)),
            ("arrived", lambda o: reading.amount_text(o.arrived, o.unit)), "placed_on", nothing="nothing is on order",
        )
    ]  # fmt: skip


def _supply(lines: tuple[SupplyLine, ...]) -> list[Table]:
    return [
        listing(
            lines, "sense", "part", "supplier", ("usual", lambda s: s.is_usual), ("lead time", _days), "lead_time_source",
            ("pack", lambda s: reading.amount_text(s.pack_quantity, s.unit)), "orders_arrived",
            ("took on average", lambda s: s.mean_days_taken), ("at most", lambda s: s.longest_days_taken),
            nothing="the catalogue has no part",
        )
    ]  # fmt: skip


_LEAST_FOR_PERCENT: Final = 20
"""Of fewer than so many a percentage says nothing, and the two counts stand alone (common practice, no source)."""


def _records(found: tuple[SupplierRecord, ...]) -> list[Table]:
    return [
        listing(
            found, "sense", "part", "supplier", ("rejected", _rejected), ("late", lambda r: _share(r.late, r.orders, nothing="no order")),
            ("no paper", lambda r: _share(r.without_paper, r.lines, nothing="no line")), ("no paper yet", lambda r: r.still_without),
            ("days late at most", lambda r: r.longest_late_days), ("received", lambda r: reading.amount_text(r.received, r.unit)),
            nothing="nothing came in, and nothing was expected",
        )
    ]  # fmt: skip


def _rejected(record: SupplierRecord) -> str:
    if record.unit == "pieces" or not record.inspected:
        return _share(record.rejected, record.inspected, nothing="none inspected")
    return f"{reading.amount_text(record.rejected, record.unit)} of {reading.amount_text(record.inspected, record.unit)}"


def _share(some: int, every: int, *, nothing: str) -> str:
    if not every:
        return nothing
    percent = f" ({100 * some / every:.1f} %)" if every >= _LEAST_FOR_PERCENT else ""
    return f"{some} of {every}{percent}"


def _days(line: SupplyLine) -> str:
    return "UNKNOWN" if line.lead_time_days is None else f"{line.lead_time_days} days"


VERBS: Final = (
    Verb(
        "order place", Station.OFFICE, "Record an order that was placed with a supplier; it is expected from then on.",
        '"part=RB-18-CW; quantity=16" "part=RB-18-CCW; quantity=16; due=2027-03-31" --supplier "Invented Rotors" '
        '--reference PO-31 --by "Manager One"',
        ordering.place_order,
        (
            words(
                "lines", 'a line: "part=..; quantity=.."; due=DATE where it is not the supplier\'s lead time from today',
                read=_READ_LINE,
            ),
            _SUPPLIER,
            option("reference", "our number of the order, as the supplier's papers will show it", needed=True),
        ),
    ),
    Verb(
        "order cancel", Station.OFFICE, "Cancel what has not come in of an order, or of some of its parts.",
        'E000003-5 RB-18-CW --reason "supplier can\'t deliver" --by "Manager One"',
        ordering.cancel_order,
        (_ORDER, words("parts", "part numbers; without any, the whole order", needed=False)),
    ),
    Verb(
        "order arrived", Station.GOODS_IN, "Say afterwards for which order a received line came in.",
        'Y000004-T E000003-5 --by "Clerk One"',
        arrivals.record_arrival,
        (word("line", "the receipt line's code"), _ORDER),
    ),
    Verb(
        "order list", Station.OFFICE, "What is still to come, the most late first.", "--all",
        orders.orders,
        (switch("everything", "also what came in or was cancelled", flag="--all"),),
        show=_orders,
        rows=lambda lines: lines,
    ),
    Verb(
        "supply set", Station.OFFICE, "Say how a supplier delivers a part: lead time, pack size, first choice or not.",
        'RB-18-CW --supplier "Invented Rotors" --lead-time-days 28 --pack 4 --preferred --source "offer 4711" '
        '--by "Manager One"',
        ordering.set_supply_terms,
        (
            word("part", "the part number"),
            _SUPPLIER,
            option("source", "where that is known from, such as an offer's number", needed=True),
            option("lead_time_days", "days from order to door; without it, the catalogue's", read=reading.whole),
            option("pack_quantity", "how much a pack holds; without it, the catalogue's", read=reading.amount_only, flag="--pack"),
            switch("is_preferred", "order the part from this supplier unless somebody says otherwise"),
        ),
    ),
    Verb(
        "supply list", Station.OFFICE, "From whom each part is got, how fast, in which packs, and how long it took in truth.",
        "",
        orders.supply,
        show=_supply,
        rows=lambda lines: lines,
    ),
    Verb(
        "supply record", Station.OFFICE, "How each supplier delivered: rejected at receipt, without paper, late; each with its count.",
        "--within-days 90",
        supplier_records.supplier_records,
        (option("within_days", "how many days to look back; default 365", read=reading.whole),),
        show=_records,
        rows=lambda found: found,
    ),
)  # fmt: skip
