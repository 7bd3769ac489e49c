"""What there is of each part wherever it helps: issuable, in sealed kits, received and not yet inspected or matched, on order.

Rotor parts are counted in sets, complete pairs of loose blades only; everything else in its own unit.
Source: design C10, C11.
"""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime

from kittrack.domain import dates
from kittrack.domain.ledger import PlaceKind
from kittrack.store.act import Reading
from kittrack.store.records import Kit, Part, Piece, ReceiptLine, RotorSet, Site
from kittrack.store.stock import Located, located, within
from kittrack.store.supply_facts import on_order

_HERE = (PlaceKind.BIN, PlaceKind.VAN, PlaceKind.GOODS_IN, PlaceKind.BENCH)
_UNDER_WAY = ("building", "checked", "sealed")


@dataclass(frozen=True)
class Position:
    """What there is of a part.

    Attributes:
        issuable: loose on the shelf or in a van, serviceable, in date, not held.
        in_kits: in kits that are being built or sealed, and not yet issued.
        waiting: received and not yet inspected, or blades not yet matched, under no hold.
        on_order: ordered and still to come.
        too_short: in date today, but not when an order could arrive; counted nowhere else.
        odd: of what is issuable or waiting, what is left of each lot beyond whole hubs.
    """

    issuable: int = 0
    in_kits: int = 0
    waiting: int = 0
    on_order: int = 0
    too_short: int = 0
    odd: int = 0

    @property
    def counted(self) -> int:
        """All that helps until and beyond an order placed now."""
        return self.issuable + self.in_kits + self.waiting + self.on_order - self.odd


def positions(
    read: Reading, *, at: datetime, good_on: Mapping[int, date], whole: Mapping[int, int]
) -> dict[int, Position]:
    """The position of every part of which there is anything.

    Args:
        read: the transaction.
        at: the instant of asking.
        good_on: for each part the day on which stock has to be in date still; today where it has none.
        whole: for each part the quantity that has to be of one lot; what is left of a lot beyond whole ones is
            not counted. 1 where it has none.
    """
    today = dates.local_day(at, zone=read.select(Site, limit=1)[0].time_zone)
    tally = _Tally(read, today, good_on, whole)
    for item in located(read, within(*_HERE)):
        tally.add(item)
    tally.conclude()
    ordered = on_order(read)
    return {part: tally.position(part, ordered.get(part, 0)) for part in sorted({*tally.seen, *ordered})}


class _Tally:
    """Adds up stock item by item; sets are counted at the end, by what was found in them."""

    def __init__(
        self, read: Reading, today: date, good_on: Mapping[int, date], whole: Mapping[int, int]
    ) -> None:
        self._read = read
        self._today = today
        self._good_on = good_on
        self._whole = whole
        self._lines: dict[int, ReceiptLine] = {}
        self._parts = {p.id: p for p in read.select(Part)}
        self._ends = {p.id: p.expires_on for p in read.select(Piece, "expires_on IS NOT NULL")}
        self._kits = {k.place_id: k for k in read.select(Kit, "state IN ('building', 'checked', 'sealed')")}
        self._counts: dict[tuple[str, int], int] = defaultdict(int)
        self._blades: dict[tuple[int, int], int] = defaultdict(int)
        self._heaps: dict[tuple[str, int, int], int] = defaultdict(int)
        self._sets: dict[int, str] = {}
        self.seen: set[int] = set()

    def add(self, item: Located) -> None:
        """Count one item, or note what it means for the set that it is in."""
        line = self._line(item.stock.receipt_line_id)
        part = self._parts[line.part_id]
        where = self._where(item, line)
        if any(p.kind == PlaceKind.ROTOR_SET for p in item.chain):
            place = item.innermost(PlaceKind.ROTOR_SET)
            if place is not None and part.kind == "blade":
                self._sets[place.id] = _worse(self._sets.get(place.id), where)
            return
        if not where:
            return
        self.seen.add(part.id)
        if part.kind == "blade":
            self._blades[part.id, line.lot_id] += item.stock.quantity
        else:
            self._heaps[where, part.id, line.lot_id] += item.stock.quantity

    def conclude(self) -> None:
        """Count whole quantities of each lot, and each complete set where its blades were found."""
        for (where, part_id, _), quantity in self._heaps.items():
            self._counts[where, part_id] += quantity
            if where in ("issuable", "waiting"):
                self._counts["odd", part_id] += quantity % self._whole.get(part_id, 1)
        for one in self._read.select(RotorSet, "state = 'complete'"):
            where = self._sets.get(one.place_id, "")
            if where and one.condition == "serviceable" and one.match_record_id is not None:
                self._counts[where, one.part_id] += 1
                self.seen.add(one.part_id)

    def position(self, part_id: int, ordered: int) -> Position:
        """The position of a part, rotor parts in sets."""
        each = self._parts[part_id].blades_per_rotor or 1
        is_rotor = self._parts[part_id].kind == "blade"
        loose = sum(n // each for (part, _), n in self._blades.items() if part == part_id)
        return Position(
            issuable=self._counts["issuable", part_id], in_kits=self._counts["in kits", part_id],
            waiting=self._counts["waiting", part_id] + loose, on_order=ordered // each if is_rotor else ordered,
            too_short=self._counts["too short", part_id], odd=self._counts["odd", part_id],
        )  # fmt: skip

    def _line(self, line_id: int) -> ReceiptLine:
        if line_id not in self._lines:
            self._lines[line_id] = self._read.get(ReceiptLine, line_id)
        return self._lines[line_id]

    def _where(self, item: Located, line: ReceiptLine) -> str:
        """Under what an item counts; "" where it helps nobody."""
        if item.holds or item.stock.condition not in ("serviceable", "on hold"):
            return ""
        ends = [e for e in (line.expires_on, self._ends.get(item.stock.piece_id or 0)) if e]
        last = min((date.fromisoformat(e) for e in ends), default=None)
        if last is not None and last < self._today:
            return ""
        if last is not None and last < self._good_on.get(line.part_id, self._today):
            return "too short"
        kit = item.innermost(PlaceKind.KIT)
        if kit is not None:
            return "in kits" if kit.id in self._kits else ""
        outer = item.chain[-1].kind
        loose = item.stock.condition == "serviceable" and line.expiry_kind != "unknown"
        return "issuable" if loose and outer in (PlaceKind.BIN, PlaceKind.VAN) else "waiting"


def _worse(known: str | None, found: str) -> str:
    """What a set counts as when its blades are found in several states: the least useful."""
    order = ("", "too short", "waiting", "in kits", "issuable")
    return found if known is None else min(known, found, key=order.index)
