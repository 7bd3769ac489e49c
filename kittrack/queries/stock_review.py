"""The stock review: every part with what there is of it and where, how long it lasts, and what nobody asks for.

Source: design C10 to C12; trade practice: cover in days, slow and dead stock.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from kittrack.domain.demand import cover_days
from kittrack.domain.ledger import AccountClass
from kittrack.printing.documents import Bar, Chart, Document, Table
from kittrack.queries.buildable import buildable_by_place, worth_telling
from kittrack.queries.demand_history import history_of
from kittrack.queries.orders import orders
from kittrack.queries.paper import GENERAL, Stores, amount
from kittrack.queries.shelf import ShelfLine, on_the_shelf
from kittrack.store.database import Store
from kittrack.store.records import Part

MONTHS: Final = 12
_DAYS: Final = 365
_NOTHING: Final = "nothing is in the stores"


@dataclass(frozen=True)
class PartReview:
    """One part: stock by class of the recall account in its own unit, use of the last twelve whole months, cover.

    `on_shelf` is serviceable and in date, blades in sets or loose. `cover` is in days at the pace of these months,
    None where nothing was used; `says` names slow and dead stock.
    """

    sense: str
    part: str
    name: str
    unit: str
    on_shelf: int
    on_hold: int
    at_bench: int
    in_kits: int
    in_vans: int
    removed: int
    expired: int
    on_order: int
    used: int
    issues: int
    cover: int | None
    says: str


def stock_review(store: Store, *, at: datetime) -> tuple[PartReview, ...]:
    """Every part of which there is anything, or that was used or ordered, by part number and sense.

    Args:
        store: the store.
        at: the instant of asking.
    """
    return _review(store, at, on_the_shelf(store, at=at))


def _review(store: Store, at: datetime, lines: Sequence[ShelfLine]) -> tuple[PartReview, ...]:
    ordered: dict[tuple[str, str], int] = defaultdict(int)
    for one in orders(store, at=at):
        ordered[one.part, one.name] += one.outstanding
    with store.reading() as read:
        history = history_of(read, at=at, months=MONTHS)
        parts = read.select(Part, order="number, id")
    stock: dict[tuple[str, str], list[ShelfLine]] = defaultdict(list)
    for line in lines:
        stock[line.part, line.name].append(line)
    found = []
    for part in parts:
        each = (part.blades_per_rotor or 1) if part.kind == "blade" else 1
        key = (part.number, part.name)
        used = sum(history.quantity.get((part.id, m), 0) for m in history.months) * each
        issues = sum(history.issues.get((part.id, m), 0) for m in history.months)
        if stock[key] or used or ordered[key]:
            found.append(_of_part(part, stock[key], used, issues, ordered[key]))
    return tuple(found)


def _of_part(part: Part, lines: Sequence[ShelfLine], used: int, issues: int, on_order: int) -> PartReview:
    good = [line for line in lines if not line.expired]
    by_class = _by_class(good)
    on_shelf = sum(
        line.quantity
        for line in good
        if line.state is AccountClass.SHELF and line.condition == "serviceable" and line.expiry_known
    )
    cover = cover_days(on_shelf + by_class[AccountClass.SEALED] + by_class[AccountClass.VAN], issued=used, in_days=_DAYS)  # fmt: skip
    return PartReview(
        sense=part.sense or "", part=part.number, name=part.name, unit=part.unit, on_shelf=on_shelf,
        on_hold=by_class[AccountClass.HOLD] + by_class[AccountClass.SHELF] - on_shelf, at_bench=by_class[AccountClass.BENCH],
        in_kits=by_class[AccountClass.SEALED], in_vans=by_class[AccountClass.VAN], removed=by_class[AccountClass.REMOVED],
        expired=sum(line.quantity for line in lines if line.expired), on_order=on_order, used=used, issues=issues,
        cover=None if cover is None else int(cover), says=_says(bool(lines), used, cover),
    )  # fmt: skip


def _by_class(lines: Sequence[ShelfLine]) -> Mapping[AccountClass, int]:
    found: dict[AccountClass, int] = defaultdict(int)
    for line in lines:
        found[line.state] += line.quantity
    return found


def _says(is_there: bool, used: int, cover: float | None) -> str:
    if is_there and not used:
        return f"not asked for in {MONTHS} months"
    if cover is not None and cover > 2 * _DAYS:
        return "lasts for more than two years"
    return ""


def stock_review_document(store: Store, *, at: datetime) -> Document:
    """The stock review on paper: ship sets, every part, every line of stock, and the use of the last months as bars."""
    lines = on_the_shelf(store, at=at)
    review = _review(store, at, lines)
    places = worth_telling(buildable_by_place(store, at=at))
    with store.reading() as read:
        history = history_of(read, at=at, months=MONTHS, with_running=True)
        blades = {p.id for p in read.select(Part, "kind = 'blade'")}
        stores = Stores(read, at=at)
    used = {m: sum(q for (p, month), q in history.quantity.items() if month == m and p in blades) for m in history.months}  # fmt: skip
    ready = sum(p.sealed_kits for p in places)
    return Document(
        "Stock review",
        stores.mark,
        facts=(
            ("Parts in stock", str(sum(bool(r.on_shelf or r.in_kits or r.in_vans or r.at_bench or r.on_hold) for r in review))),
            ("Sealed kits ready", str(ready)),
            ("Quantities", "pieces (of rotor blades, blades) or the volume that is named"),
        ),
        charts=(Chart("Rotor sets used, month by month", tuple(Bar(m, n, str(n)) for m, n in used.items())),),
        tables=(
            Table(
                "Ship sets that can be built", ("Place", "Type", "Kits", "Ship sets", "CW sets", "CCW sets", "Stranded"),
                tuple(
                    (
                        p.place, f"{p.type_name} {p.revision}", str(p.sealed_kits), str(p.ship_sets), str(p.cw_sets), str(p.ccw_sets),
                        f"{p.stranded} {p.fuller}" if p.stranded and p.fuller else "",
                    )
                    for p in places
                ),
                right=frozenset({"Kits", "Ship sets", "CW sets", "CCW sets"}), empty="no airframe type is known",
            ),
            _where_table(review),
            _cover_table(review),
            _lines_table(lines),
        ),
        cautions=(GENERAL,),
        signatures=("Reviewed by",),
        footer=stores.foot,
    )  # fmt: skip


def _where_table(review: Sequence[PartReview]) -> Table:
    columns = ("Sense", "Part", "On shelf", "On hold", "Bench", "Kits", "Vans", "Removed")
    rows = tuple(
        (r.sense, r.part, *_amounts(r, r.on_shelf, r.on_hold, r.at_bench, r.in_kits, r.in_vans, r.removed))
        for r in review
    )
    return Table(
        "Parts and where they are, in date", columns, rows, right=frozenset(columns[2:]), empty=_NOTHING
    )


def _cover_table(review: Sequence[PartReview]) -> Table:
    columns = ("Sense", "Part", "Expired", "On order", "Used", "Issues", "Cover", "Remark")
    rows = tuple(
        (
            r.sense, r.part, *_amounts(r, r.expired, r.on_order, r.used), str(r.issues) if r.issues else "",
            "" if r.cover is None else f"{r.cover} d", r.says,
        )
        for r in review
    )  # fmt: skip
    heading = f"Parts, used in {MONTHS} whole months, and for how many days they last at that pace"
    return Table(heading, columns, rows, right=frozenset(columns[2:7]), empty=_NOTHING)


def _amounts(review: PartReview, *quantities: int) -> tuple[str, ...]:
    return tuple(amount(quantity, review.unit) if quantity else "" for quantity in quantities)


def _lines_table(lines: Sequence[ShelfLine]) -> Table:
    return Table(
        "Stock, line by line", ("Sense", "Part", "Quantity", "Place", "State", "Condition", "Line", "Lot code", "Expires"),
        tuple(
            (
                s.sense, s.part, amount(s.quantity, s.unit), s.place, s.state.value, s.condition, s.receipt_line, s.lot_code,
                _last_day(s),
            )
            for s in lines
        ),
        right=frozenset({"Quantity"}), empty=_NOTHING,
    )  # fmt: skip


def _last_day(line: ShelfLine) -> str:
    if not line.expiry_known:
        return "UNKNOWN"
    if line.expires_on is None:
        return ""
    return f"{line.expires_on}{' EXPIRED' if line.expired else ''}"
