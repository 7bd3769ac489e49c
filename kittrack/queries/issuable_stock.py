"""What can be issued now, place by place: sets by part, counted stock by part and lot, sealed kits by revision.

Source: design C10, R6, R13.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime

from kittrack.domain import dates
from kittrack.domain.ledger import AccountClass, PlaceKind
from kittrack.store.act import Reading
from kittrack.store.records import Kit, Piece, ReceiptLine, RotorSet, Site
from kittrack.store.stock import Located, located, within

STORES = "the stores"
"""All bins of all sites, as one place beside the vans."""


@dataclass
class PlaceStock:
    """What can be issued from one place. `kits` counts the sealed kits that cover a whole airframe, by type revision."""

    name: str
    place_id: int | None
    sets: dict[int, int] = field(default_factory=lambda: defaultdict(int))
    lots: dict[int, dict[int, int]] = field(default_factory=lambda: defaultdict(lambda: defaultdict(int)))
    kits: dict[int, int] = field(default_factory=lambda: defaultdict(int))

    def heaps(self) -> Mapping[int, tuple[int, ...]]:
        """The stock as it is cut into ship sets: sets of a part in one heap, counted stock by lot."""
        counted = {
            part: tuple(q for _, q in sorted(lots.items())) for part, lots in sorted(self.lots.items())
        }
        return {**counted, **{part: (count,) for part, count in sorted(self.sets.items())}}


def issuable_stock(read: Reading, *, at: datetime, place_id: int | None = None) -> tuple[PlaceStock, ...]:
    """The stock that can be issued from the stores and from each van that is in use, the stores first.

    Args:
        read: the transaction.
        at: the instant at which dates and reservations are judged.
        place_id: only this bin or van, as the one answer.
    """
    today = dates.local_day(at, zone=read.select(Site, limit=1)[0].time_zone)
    found = located(read, f"h.condition = 'serviceable' AND {within(PlaceKind.BIN, PlaceKind.VAN)}")
    if place_id is not None:
        found = [f for f in found if f.chain[-1].id == place_id]
    places: dict[int | None, PlaceStock] = (
        _places(read) if place_id is None else {place_id: PlaceStock("", place_id)}
    )
    judged = _Judged.of(read, found, today)
    for item in judged.good:
        into = places.get(_key(item, place_id))
        if into is not None and _is_loose(item) and item.chain[0].kind != PlaceKind.ROTOR_SET:
            line = judged.lines[item.stock.receipt_line_id]
            into.lots[line.part_id][line.lot_id] += item.stock.quantity
    _add_sets(read, judged, places, place_id, today)
    _add_kits(read, judged, places, place_id, today)
    return tuple(places.values())


@dataclass(frozen=True)
class _Judged:
    """Stock with what is wrong with it: `bad` has the containers that hold anything that can't be issued."""

    found: list[Located]
    good: list[Located]
    lines: Mapping[int, ReceiptLine]
    bad: frozenset[int]

    @classmethod
    def of(cls, read: Reading, found: list[Located], today: date) -> "_Judged":
        lines = {i: read.get(ReceiptLine, i) for i in {f.stock.receipt_line_id for f in found}}
        bottles = {p.id: p for p in read.select(Piece, "expires_on IS NOT NULL")}
        good = [
            f
            for f in found
            if not f.holds
            and f.account_class in (AccountClass.SHELF, AccountClass.VAN, AccountClass.SEALED)
            and _in_date(lines[f.stock.receipt_line_id], bottles.get(f.stock.piece_id or 0), today)
        ]
        sound = {f.stock for f in good}
        bad = frozenset(p.id for f in found if f.stock not in sound for p in f.chain[:-1])
        return cls(found, good, lines, bad)


def _places(read: Reading) -> dict[int | None, PlaceStock]:
    vans = read.rows("SELECT id, name FROM place WHERE kind = 'van' AND active = 1 ORDER BY name")
    return {None: PlaceStock(STORES, None), **{row[0]: PlaceStock(row[1], row[0]) for row in vans}}


def _key(item: Located, place_id: int | None) -> int | None:
    """Under which place stock counts: a van under itself, a bin under the stores unless it was asked for."""
    outer = item.chain[-1]
    return place_id if place_id is not None else outer.id if outer.kind == PlaceKind.VAN else None


def _is_loose(item: Located) -> bool:
    """Whether stock is in no kit."""
    return all(p.kind in (PlaceKind.ROTOR_SET, PlaceKind.BIN, PlaceKind.VAN) for p in item.chain)


def _in_date(line: ReceiptLine, bottle: Piece | None, today: date) -> bool:
    if line.expiry_kind == "unknown":
        return False
    ends = [e for e in (line.expires_on, bottle.expires_on if bottle else None) if e]
    return all(date.fromisoformat(e) >= today for e in ends)


def _add_sets(
    read: Reading,
    judged: _Judged,
    places: Mapping[int | None, PlaceStock],
    place_id: int | None,
    today: date,
) -> None:
    """Count the complete, proved, unreserved sets that are loose in each place."""
    inside = {f.chain[0].id: f for f in judged.good if f.chain[0].kind == PlaceKind.ROTOR_SET}
    reserved = _reserved(read, "rotor_set_id", today)
    proved = "state = 'complete' AND condition = 'serviceable' AND match_record_id IS NOT NULL AND bound_position_id IS NULL"
    for one in read.select(RotorSet, proved):
        item = inside.get(one.place_id)
        if item is None or one.place_id in judged.bad or one.id in reserved or not _is_loose(item):
            continue
        into = places.get(_key(item, place_id))
        if into is not None:
            into.sets[one.part_id] += 1


def _add_kits(
    read: Reading,
    judged: _Judged,
    places: Mapping[int | None, PlaceStock],
    place_id: int | None,
    today: date,
) -> None:
    """Count the sealed kits in each place that cover a whole airframe, are in date, not held and not reserved."""
    inside = {p.id: f for f in judged.found for p in f.chain if p.kind == PlaceKind.KIT}
    reserved = _reserved(read, "kit_id", today)
    for kit in _whole_kits(read):
        item = inside.get(kit.place_id)
        expired = kit.expires_on is not None and date.fromisoformat(kit.expires_on) < today
        if item is None or expired or kit.place_id in judged.bad or kit.id in reserved:
            continue
        into = places.get(_key(item, place_id))
        if into is not None:
            into.kits[kit.type_revision_id] += 1


def _whole_kits(read: Reading) -> Iterable[Kit]:
    return read.select(
        Kit,
        "state = 'sealed' AND purpose = 'full' AND (SELECT count(*) FROM kit_position p WHERE p.kit_id = kit.id) = "
        "(SELECT count(*) FROM type_position t WHERE t.type_revision_id = kit.type_revision_id)",
    )


def _reserved(read: Reading, column: str, today: date) -> frozenset[int]:
    rows = read.rows(
        f"SELECT {column} FROM reservation WHERE state = 'active' AND {column} IS NOT NULL AND until_on >= ?",
        today.isoformat(),
    )
    return frozenset(row[0] for row in rows)
