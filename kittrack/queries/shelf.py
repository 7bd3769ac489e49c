"""What is on the shelf: by part, sense, lot, place and condition."""

from dataclasses import dataclass
from datetime import date, datetime

from kittrack.domain import codes, dates
from kittrack.domain.ledger import AccountClass, PlaceKind
from kittrack.store.act import Reading
from kittrack.store.database import Store
from kittrack.store.records import Lot, Part, ReceiptLine, Site
from kittrack.store.stock import Located, located, place_named, within

_CLASSES = frozenset(
    {
        AccountClass.SHELF,
        AccountClass.HOLD,
        AccountClass.BENCH,
        AccountClass.SEALED,
        AccountClass.VAN,
        AccountClass.REMOVED,
    }
)
_IN_STORES = within(
    PlaceKind.BIN,
    PlaceKind.GOODS_IN,
    PlaceKind.HOLD_CAGE,
    PlaceKind.BENCH,
    PlaceKind.VAN,
    PlaceKind.REMOVED_CAGE,
)


@dataclass(frozen=True)
class ShelfLine:
    """A quantity of one receipt line in one place and condition; pieces of it are counted together.

    `state` is the class of the recall account ("on the shelf" is issuable, if not `expired`).
    """

    sense: str
    part: str
    name: str
    quantity: int
    unit: str
    lot: str
    lot_code: str
    receipt_line: str
    place: str
    condition: str
    state: AccountClass
    expires_on: date | None
    expiry_known: bool
    expired: bool
    holds: tuple[str, ...]


def on_the_shelf(
    store: Store,
    *,
    at: datetime,
    part: str = "",
    sense: str = "",
    lot: str = "",
    place: str = "",
    condition: str = "",
) -> tuple[ShelfLine, ...]:
    """Stock in the stores and vans, ordered by part, sense, place, expiry and receipt line.

    Args:
        store: the store.
        at: the instant at which dates are judged.
        part: a part number.
        sense: "CW" or "CCW".
        lot: a lot code of ours (L...) or a maker's.
        place: the code or name of a bin, cage, bench or van.
        condition: a condition, or "expired".

    Raises:
        NotFound: a place is unknown.
        BadInput: a code of ours that does not check.
    """
    with store.reading() as read:
        where, params = _condition(part=part, sense=sense, lot=lot)
        found = located(
            read, f"{_IN_STORES} AND h.receipt_line_id IN (SELECT r.id FROM receipt_line r {where})", *params
        )
        found = [f for f in found if f.account_class in _CLASSES]
        if place:
            wanted = place_named(read, place)
            found = [f for f in found if any(p.id == wanted.id for p in f.chain)]
        lines = _grouped(read, found, at=at)
    return tuple(
        line
        for line in lines
        if not condition or condition == ("expired" if line.expired else line.condition)
    )


def _condition(*, part: str, sense: str, lot: str) -> tuple[str, list[str]]:
    params: list[str] = []
    tests = ["JOIN part t ON t.id = r.part_id JOIN lot l ON l.id = r.lot_id WHERE 1 = 1"]
    if part:
        tests.append("AND t.number = ?")
        params.append(part.strip())
    if sense:
        tests.append("AND t.sense = ?")
        params.append(sense.strip().upper())
    if lot:
        known = codes.looks_like_code(lot)
        tests.append("AND l.code = ?" if known else "AND l.lot_code = ?")
        params.append(codes.read_code(lot, expect=codes.Kind.LOT).text if known else lot.strip())
    return " ".join(tests), params


def _grouped(read: Reading, found: list[Located], *, at: datetime) -> list[ShelfLine]:
    zone = read.select(Site, limit=1)[0].time_zone
    groups: dict[tuple[object, ...], list[Located]] = {}
    for f in found:
        key = (f.stock.receipt_line_id, f.chain[-1].id, f.stock.condition, f.account_class, f.holds)
        groups.setdefault(key, []).append(f)
    lines = []
    for stock in groups.values():
        first = stock[0]
        line = read.get(ReceiptLine, first.stock.receipt_line_id)
        part, lot = read.get(Part, line.part_id), read.get(Lot, line.lot_id)
        last_day = date.fromisoformat(line.expires_on) if line.expires_on else None
        expired = last_day is not None and dates.is_expired(dates.Expiry.limited(last_day), at=at, zone=zone)
        lines.append(
            ShelfLine(
                sense=part.sense or "", part=part.number, name=part.name, quantity=sum(s.stock.quantity for s in stock),
                unit=line.unit, lot=lot.code, lot_code=lot.lot_code or "unknown", receipt_line=line.code,
                place=first.chain[-1].name, condition=first.stock.condition, state=first.account_class,
                expires_on=last_day, expiry_known=line.expiry_kind != "unknown", expired=expired,
                holds=tuple(h.hold_code for h in first.holds),
            )
        )  # fmt: skip
    return sorted(
        lines, key=lambda s: (s.part, s.sense, s.place, s.expires_on or date.max, s.receipt_line, s.condition)
    )
