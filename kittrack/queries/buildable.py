"""How many ship sets of each type revision the stock gives now, what limits them, what one more takes (C10)."""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime

from kittrack.domain import dates
from kittrack.domain.buildable import Need, SenseBalance, ShipSets, sense_balance, ship_sets
from kittrack.domain.ledger import AccountClass, PlaceKind
from kittrack.domain.spin import Sense
from kittrack.store.act import Reading
from kittrack.store.database import Store
from kittrack.store.records import HubFixing, Part, Piece, ReceiptLine, RotorSet, Site, TypePosition
from kittrack.store.stock import Located, located, place_named, within


@dataclass(frozen=True)
class Buildable:
    """The ship sets of one type revision from one place: the count, its lines, the senses side by side.

    `stock` has (line, on the shelf and issuable, per ship set) in the order of the lines.
    """

    type_name: str
    revision: str
    ship_sets: ShipSets
    stock: tuple[tuple[str, int, int], ...]
    senses: SenseBalance
    sets_by_sense: tuple[tuple[Sense, int, int], ...]


def buildable(store: Store, *, at: datetime, place: str = "") -> tuple[Buildable, ...]:
    """Every type revision's ship sets, in order of type and revision, each counted as if it were alone.

    Types that share parts compete for them: the answers must not be added up.

    Args:
        store: the store.
        at: the instant at which dates and reservations are judged.
        place: the code or name of one bin or van; all bins where it is empty.

    Raises:
        NotFound: the place is unknown.
    """
    with store.reading() as read:
        stock = _issuable(read, at=at, place=place)
        rows = read.rows(
            "SELECT r.id, t.name, r.name FROM type_revision r JOIN airframe_type t ON t.id = r.airframe_type_id ORDER BY t.name, r.name"
        )
        return tuple(_of_revision(read, row[0], row[1], row[2], stock) for row in rows)


@dataclass(frozen=True)
class _Issuable:
    """What can be issued now: complete sets by part, and counted stock by part and lot."""

    sets: Mapping[int, int]
    lots: Mapping[int, Mapping[int, int]]
    parts: Mapping[int, Part]


def _issuable(read: Reading, *, at: datetime, place: str) -> _Issuable:
    today = dates.local_day(at, zone=read.select(Site, limit=1)[0].time_zone)
    found = located(read, f"h.condition = 'serviceable' AND {within(PlaceKind.BIN, PlaceKind.VAN)}")
    wanted = place_named(read, place, kinds=(PlaceKind.BIN, PlaceKind.VAN)).id if place else None
    here = [f for f in found if _is_issuable(f, wanted)]
    lines = {i: read.get(ReceiptLine, i) for i in {f.stock.receipt_line_id for f in here}}
    bottles = {p.id: p for p in read.select(Piece, "expires_on IS NOT NULL")}
    good = [
        f for f in here if _in_date(lines[f.stock.receipt_line_id], bottles.get(f.stock.piece_id or 0), today)
    ]
    in_date = {f.stock for f in good}
    bad_sets = {f.chain[0].id for f in here if f.stock not in in_date}
    lots: dict[int, dict[int, int]] = defaultdict(lambda: defaultdict(int))
    for f in good:
        if f.chain[0].kind != PlaceKind.ROTOR_SET:
            line = lines[f.stock.receipt_line_id]
            lots[line.part_id][line.lot_id] += f.stock.quantity
    set_places = {f.chain[0].id for f in good if f.chain[0].kind == PlaceKind.ROTOR_SET} - bad_sets
    return _Issuable(
        _sets_by_part(read, set_places, today),
        lots,
        {p.id: p for p in read.select(Part, "superseded_how <> 'safety'")},
    )


def _is_issuable(stock: Located, place_id: int | None) -> bool:
    outer = stock.chain[-1]
    in_place = outer.kind == PlaceKind.BIN if place_id is None else outer.id == place_id
    loose = all(p.kind in (PlaceKind.ROTOR_SET, PlaceKind.BIN, PlaceKind.VAN) for p in stock.chain)
    return (
        in_place
        and loose
        and not stock.holds
        and stock.account_class in (AccountClass.SHELF, AccountClass.VAN)
    )


def _in_date(line: ReceiptLine, bottle: Piece | None, today: date) -> bool:
    if line.expiry_kind == "unknown":
        return False
    ends = [e for e in (line.expires_on, bottle.expires_on if bottle else None) if e]
    return all(date.fromisoformat(e) >= today for e in ends)


def _sets_by_part(read: Reading, places: set[int], today: date) -> dict[int, int]:
    reserved = {
        row[0]
        for row in read.rows(
            "SELECT rotor_set_id FROM reservation WHERE state = 'active' AND rotor_set_id IS NOT NULL AND until_on >= ?",
            today.isoformat(),
        )
    }
    counts: dict[int, int] = defaultdict(int)
    for one in read.select(
        RotorSet, "state = 'complete' AND condition = 'serviceable' AND match_record_id IS NOT NULL"
    ):
        if one.place_id in places and one.id not in reserved and one.bound_position_id is None:
            counts[one.part_id] += 1
    return counts


def _of_revision(
    read: Reading, revision_id: int, type_name: str, revision: str, stock: _Issuable
) -> Buildable:
    positions = read.select(TypePosition, "type_revision_id = ?", revision_id, order="rank")
    approved: dict[int, set[int]] = defaultdict(set)
    for position, part in read.rows("SELECT type_position_id, part_id FROM approved_part WHERE active = 1"):
        approved[position].add(part)
    rotor_needs = list(_rotor_needs(positions, approved, stock))
    needs = (
        [need for _, need in rotor_needs]
        + list(_fixing_needs(read, positions, stock))
        + list(_extra_needs(read, revision_id, stock, len(positions)))
    )
    have: dict[Sense, int] = defaultdict(int)
    for sense, need in rotor_needs:
        have[sense] += sum(need.by_lot)
    wanted = {sense: sum(p.sense == sense for p in positions) for sense in Sense}
    return Buildable(
        type_name=type_name, revision=revision, ship_sets=ship_sets(needs),
        stock=tuple((need.name, sum(need.by_lot), need.quantity) for need in needs),
        senses=sense_balance({s: have[s] for s in Sense}, need=wanted),
        sets_by_sense=tuple((s, have[s], wanted[s]) for s in Sense),
    )  # fmt: skip


def _rotor_needs(
    positions: list[TypePosition], approved: Mapping[int, set[int]], stock: _Issuable
) -> Iterator[tuple[Sense, Need]]:
    groups: dict[tuple[str, tuple[int, ...]], int] = defaultdict(int)
    for position in positions:
        fitting = tuple(
            sorted(
                i
                for i in approved.get(position.id, ())
                if i in stock.parts and stock.parts[i].sense == position.sense
            )
        )
        groups[position.sense, fitting] += 1
    for (sense, parts), quantity in sorted(groups.items()):
        names = " or ".join(stock.parts[i].number for i in parts) or "no approved part"
        have = sum(stock.sets.get(i, 0) for i in parts)
        yield Sense(sense), Need(f"{sense} rotor sets {names}", quantity, (have,))


def _fixing_needs(read: Reading, positions: list[TypePosition], stock: _Issuable) -> Iterator[Need]:
    wanted: dict[tuple[str, int, int], int] = defaultdict(int)
    locker: dict[int, int] = defaultdict(int)
    fixings = {f.id: f for f in read.select(HubFixing)}
    for position in positions:
        fixing = fixings[position.hub_fixing_id]
        if fixing.screws_per_hub:
            wanted["screw", fixing.screw_part_id, fixing.screws_per_hub] += fixing.screws_per_hub
        if fixing.washer_part_id and fixing.washers_per_hub:
            wanted["washer", fixing.washer_part_id, fixing.washers_per_hub] += fixing.washers_per_hub
        if fixing.locker_part_id and fixing.locker_ul_per_screw:
            locker[fixing.locker_part_id] += fixing.locker_ul_per_screw * fixing.screws_per_hub
    for (_, part, per_hub), quantity in sorted(wanted.items()):
        yield _counted(stock, part, quantity, pure_in=per_hub)
    for part, volume in sorted(locker.items()):
        yield _counted(stock, part, volume, pure_in=volume)


def _extra_needs(read: Reading, revision_id: int, stock: _Issuable, hubs: int) -> Iterator[Need]:
    rows = read.rows(
        "SELECT part_id, quantity, per FROM kit_list_line WHERE type_revision_id = ? ORDER BY id", revision_id
    )
    for part, quantity, per in rows:
        yield _counted(stock, part, quantity * (hubs if per == "hub" else 1), pure_in=1)


def _counted(stock: _Issuable, part_id: int, quantity: int, *, pure_in: int) -> Need:
    part = stock.parts.get(part_id)
    name = f"{part.number} ({part.name})" if part else "a part superseded for safety"
    lots = stock.lots.get(part_id, {}) if part else {}
    return Need(name, quantity, tuple(q for _, q in sorted(lots.items())), pure_in=pure_in)
