"""Counts: what is due to be counted, what each count found, how right the record is over time.

Differences are told by part and sense and never netted: a CW blade too many hides no CCW blade too few. Until what
differs was counted twice nothing of the record is told, so that whoever counts again counts blind too. Source: design 2 (counts), C11.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from fractions import Fraction

from kittrack.domain import codes, dates
from kittrack.domain.counting import (
    TOLERANCE_PERCENT,
    Countable,
    CountClass,
    Tally,
    count_classes,
    due_for_count,
    next_count_on,
    record_accuracy,
    variances,
)
from kittrack.domain.spin import Sense
from kittrack.errors import NotFound
from kittrack.store.act import Reading, instant_text, read_instant_text
from kittrack.store.count_facts import is_counted_twice
from kittrack.store.database import Store
from kittrack.store.records import (
    CountLine,
    Event,
    Kit,
    Lot,
    Part,
    Person,
    Piece,
    Place,
    ReceiptLine,
    RotorSet,
    Site,
    StockCount,
)

COUNTED_STOCK = "counted stock"
BLIND = "told once what differs was counted twice: whoever counts again counts blind"
"""What is said in place of the figures of a count."""
COUNTED_KINDS = ("bin", "goods-in", "hold cage", "bench", "van", "removed-parts cage")


@dataclass(frozen=True)
class PlaceToCount:
    """A place with its class, when it was counted last, and when it falls due; `open_count` is under way there."""

    place: str
    kind: str
    count_class: CountClass
    why: str
    last_counted: date | None
    due_on: date | None
    days_over: int | None
    open_count: str


@dataclass(frozen=True)
class CountedThing:
    """A line of a count; its figures are None until what differs was counted twice, so that a second count is blind too."""

    thing: str
    kind: str
    sense: str
    part: str
    lot: str
    condition: str
    unit: str
    counted: int | None
    counted_again: int | None
    booked: int | None
    difference: int | None


@dataclass(frozen=True)
class Difference:
    """The differences of one part and sense: what is missing and what is too many, never netted."""

    part: str
    sense: str
    missing: int
    surplus: int
    absolute: int


@dataclass(frozen=True)
class CountResult:
    """What a count found, and who counted, settled and confirmed it; persons are "" where nobody did yet.

    `is_blind` says that somebody is still to count without knowing the record, so no figure is told.
    """

    count: str
    place: str
    state: str
    opened_at: str
    opened_by: str
    counted_by: str
    settled_at: str
    settled_by: str
    second: str
    reason: str
    is_blind: bool
    things: tuple[CountedThing, ...]
    differences: tuple[Difference, ...]


@dataclass(frozen=True)
class CountSummary:
    """A count in a list. `absolute` sums all its differences, pieces and volumes by their own unit; None until settled."""

    count: str
    place: str
    state: str
    opened_at: str
    counted_by: str
    lines: int
    right: bool | None


@dataclass(frozen=True)
class MonthOfCounts:
    """How right the record was in the counts of a month: places within tolerance over places counted, in percent."""

    month: str
    counts: int
    places: int
    within: int
    accuracy_percent: float | None
    missing: int
    surplus: int


def counts_due(store: Store, *, at: datetime, everything: bool = False) -> tuple[PlaceToCount, ...]:
    """The places to count: what is due by class, in a class those never counted first, then the longest overdue.

    A place is of the class of the most often counted thing in it: A where blades, sets or kits lie, else by the share of
    its parts in the issues of the last year. Vans are counted like bins.

    Args:
        store: the store.
        at: the instant of asking.
        everything: also the places that are not due yet.
    """
    with store.reading() as read:
        today = dates.local_day(at, zone=_zone(read))
        classes = _part_classes(read, since=at - timedelta(days=365))
        found = [_to_count(read, place, classes, today) for place in _places(read)]
    due = {c.place: rank for rank, c in enumerate(due_for_count([_countable(f) for f in found], on=today))}
    first = sorted((f for f in found if f.place in due), key=lambda f: due[f.place])
    later = sorted((f for f in found if f.place not in due), key=lambda f: (f.due_on or today, f.place))
    return (*first, *(later if everything else ()))


def count_result(store: Store, *, count: str) -> CountResult:
    """What a count found; until what differs was counted twice only what kinds of counted stock it looks for.

    Raises:
        NotFound: the store holds no such count.
    """
    with store.reading() as read:
        found = whole_result(read, count)
    if not found.is_blind:
        return found
    return replace(found, things=tuple(t for t in found.things if t.kind == COUNTED_STOCK))


def counts(store: Store, *, place: str = "", only_open: bool = False) -> tuple[CountSummary, ...]:
    """Every count, the newest first.

    Args:
        store: the store.
        place: only of the place with this name.
        only_open: only those that are not settled.
    """
    with store.reading() as read:
        found = read.select(StockCount, "state <> 'settled'" if only_open else "", order="id DESC")
        return tuple(one for one in (_summary(read, sheet) for sheet in found) if place in ("", one.place))


def count_accuracy(store: Store, *, at: datetime, months: int = 12) -> tuple[MonthOfCounts, ...]:
    """How right the record was, month by month, the newest month last.

    Loose fasteners may differ by 1, 3 or 5 percent by their class; what is an aircraft part by itself not at all.

    Args:
        store: the store.
        at: the instant of asking; its month is the last.
        months: how many months.
    """
    with store.reading() as read:
        zone = _zone(read)
        today = dates.local_day(at, zone=zone)
        classes = _part_classes(read, since=at - timedelta(days=365))
        by_month: dict[str, list[list[Tally]]] = {month: [] for month in _months(today, months)}
        for sheet in read.select(StockCount, "state = 'settled'"):
            day = dates.local_day(read_instant_text(read.get(Event, sheet.event_id).at), zone=zone)
            if day.isoformat()[:7] in by_month:
                by_month[day.isoformat()[:7]].append(_tallies(read, sheet, classes))
    return tuple(_month(month, found) for month, found in by_month.items())


# ---- what is due ---------------------------------------------------------------------------------


def _zone(read: Reading) -> str:
    return read.select(Site, limit=1)[0].time_zone


def _places(read: Reading) -> list[Place]:
    marks = ", ".join("?" * len(COUNTED_KINDS))
    return read.select(Place, f"active = 1 AND kind IN ({marks})", *COUNTED_KINDS, order="name")


def _part_classes(read: Reading, *, since: datetime) -> dict[str, CountClass]:
    """The class of each part by the number of its issues; parts nobody used are C, aircraft parts A."""
    rows = read.rows(
        "SELECT t.number, count(m.id) FROM movement m JOIN event e ON e.id = m.event_id JOIN place p ON p.id = m.to_place_id "
        "JOIN receipt_line r ON r.id = m.receipt_line_id JOIN part t ON t.id = r.part_id "
        "WHERE e.at >= ? AND p.kind IN ('kit', 'job', 'consumed', 'position') GROUP BY t.number",
        instant_text(since),
    )
    issues = {number: 0 for (number,) in read.rows("SELECT number FROM part")}
    issues |= {number: int(count) for number, count in rows}
    always = frozenset(
        number for (number,) in read.rows("SELECT number FROM part WHERE kind IN ('blade', 'hub')")
    )
    return count_classes(issues, always_a=always)


def _to_count(read: Reading, place: Place, classes: dict[str, CountClass], today: date) -> PlaceToCount:
    kind, why = _class_of(read, place, classes)
    last = _last_counted(read, place)
    due = next_count_on(Countable(place.name, kind, last))
    running = read.value("SELECT code FROM stock_count WHERE place_id = ? AND state <> 'settled'", place.id)
    return PlaceToCount(
        place.name, place.kind, kind, why, last, due, (today - due).days if due else None, running or ""
    )


def _class_of(read: Reading, place: Place, classes: dict[str, CountClass]) -> tuple[CountClass, str]:
    inside = read.value(
        "SELECT p.kind FROM containment c JOIN place p ON p.id = c.container_id WHERE c.inside_id = ? ORDER BY 1 LIMIT 1",
        place.id,
    )
    if inside:
        return CountClass.A, f"{inside}s lie in it"
    rows = read.rows(
        "SELECT DISTINCT t.number FROM holding h JOIN receipt_line r ON r.id = h.receipt_line_id JOIN part t ON t.id = r.part_id "
        "WHERE h.place_id = ? ORDER BY 1",
        place.id,
    )
    found = sorted((classes[number], number) for (number,) in rows)
    return (found[0][0], f"{found[0][1]} by its issues") if found else (CountClass.C, "empty on record")


def _last_counted(read: Reading, place: Place) -> date | None:
    at = read.value(
        "SELECT max(e.at) FROM stock_count c JOIN event e ON e.id = c.event_id WHERE c.place_id = ? AND c.state = 'settled'",
        place.id,
    )
    return dates.local_day(read_instant_text(at), zone=_zone(read)) if at else None


def _countable(place: PlaceToCount) -> Countable:
    return Countable(place.place, place.count_class, place.last_counted)


# ---- what was found ------------------------------------------------------------------------------


def whole_result(read: Reading, count: str) -> CountResult:
    """What a count found, things with a number of their own too where it is not settled: for its blind sheet alone.

    Raises:
        NotFound: the store holds no such count.
    """
    code = codes.read_code(count, expect=codes.Kind.COUNT).text
    found = read.find(StockCount, code=code)
    if found is None:
        raise NotFound(f"the store holds nothing under {code}")
    return _result(read, found)


def _result(read: Reading, sheet: StockCount) -> CountResult:
    opened, settled = read.get(Event, sheet.event_id), _settled(read, sheet)
    lines = read.select(CountLine, "stock_count_id = ?", sheet.id)
    known = sheet.state == "settled" or (sheet.state == "counted" and is_counted_twice(lines))
    return CountResult(
        count=sheet.code, place=read.get(Place, sheet.place_id).name, state=sheet.state, opened_at=opened.at,
        opened_by=_name(read, opened.by_id), counted_by=_name(read, sheet.counted_by_id), settled_at=settled.at if settled else "",
        settled_by=_name(read, settled.by_id) if settled else "", second=_name(read, settled.second_id) if settled else "",
        reason=settled.reason if settled else "", is_blind=not known, things=tuple(_thing(read, x, known=known) for x in lines),
        differences=_differences(_tallies(read, sheet, {})) if known else (),
    )  # fmt: skip


def _differences(tallies: Sequence[Tally]) -> tuple[Difference, ...]:
    return tuple(
        Difference(v.part, v.sense or "", v.missing, v.surplus, v.absolute)
        for v in variances(tallies)
        if v.absolute
    )


def _settled(read: Reading, sheet: StockCount) -> Event | None:
    if sheet.state != "settled":
        return None
    found = read.select(
        Event, "id > ? AND act = 'settle a count' AND statements LIKE ?",
        sheet.event_id, f'%["update","stock_count",{sheet.id},%', limit=1,
    )  # fmt: skip
    return found[0] if found else None


def _name(read: Reading, person_id: int | None) -> str:
    return read.get(Person, person_id).name if person_id else ""


@dataclass(frozen=True)
class _Named:
    """What a line of a count is, in words."""

    thing: str
    kind: str
    sense: str
    part: str
    lot: str
    unit: str
    is_loose_fastener: bool = False


def _named(read: Reading, line: CountLine) -> _Named:
    if line.container_id is not None:
        return _named_container(read, read.get(Place, line.container_id))
    own = read.get(ReceiptLine, line.receipt_line_id or 0)
    part, lot = read.get(Part, own.part_id), read.get(Lot, own.lot_id)
    piece = read.get(Piece, line.piece_id) if line.piece_id else None
    thing, kind = (piece.code, "piece") if piece else (own.code, COUNTED_STOCK)
    return _Named(
        thing, kind, part.sense or "", part.number, lot.lot_code or lot.code, own.unit, part.kind == "fastener" and piece is None
    )  # fmt: skip


def _named_container(read: Reading, place: Place) -> _Named:
    one = read.find(RotorSet, place_id=place.id)
    if one is not None:
        return _Named(place.code, "rotor set", one.sense, read.get(Part, one.part_id).number, "", "pieces")
    kit = read.find(Kit, place_id=place.id)
    return _Named(place.code, place.kind, "", f"kit {kit.code}" if kit else place.name, "", "pieces")


def _thing(read: Reading, line: CountLine, *, known: bool) -> CountedThing:
    named = _named(read, line)
    last = line.recounted if line.recounted is not None else line.counted
    return CountedThing(
        named.thing, named.kind, named.sense, named.part, named.lot, line.condition, named.unit,
        line.counted if known else None, line.recounted if known else None, line.booked if known else None,
        (last or 0) - line.booked if known else None,
    )  # fmt: skip


def _tallies(read: Reading, sheet: StockCount, classes: dict[str, CountClass]) -> list[Tally]:
    """A tally for each line of a settled count, and one for each blade that a set was found to lack."""
    place = read.get(Place, sheet.place_id).name
    made = []
    own: set[int] = set()
    for line in read.select(CountLine, "stock_count_id = ?", sheet.id):
        named = _named(read, line)
        own |= {line.piece_id} if line.piece_id else set()
        last = line.recounted if line.recounted is not None else line.counted
        percent = TOLERANCE_PERCENT[classes.get(named.part, CountClass.A)] if named.is_loose_fastener else 0
        made.append(
            Tally(
                place, named.part, line.booked, last or 0, named.lot, Sense(named.sense) if named.sense else None, percent
            )
        )  # fmt: skip
    settled = _settled(read, sheet)
    return made + (_short_sets(read, settled, place, own) if settled else [])


def _short_sets(read: Reading, settled: Event, place: str, own: set[int]) -> list[Tally]:
    """The blades that went missing from within their sets, which no line of the sheet names."""
    rows = read.rows(
        "SELECT m.from_piece_id, t.number, t.sense FROM movement m JOIN place p ON p.id = m.to_place_id "
        "JOIN receipt_line r ON r.id = m.receipt_line_id JOIN part t ON t.id = r.part_id "
        "WHERE m.event_id = ? AND p.kind = 'unaccounted' AND m.from_piece_id IS NOT NULL ORDER BY m.id",
        settled.id,
    )
    return [
        Tally(place, number, 1, 0, "", Sense(sense) if sense else None)
        for piece, number, sense in rows
        if piece not in own
    ]


def _summary(read: Reading, sheet: StockCount) -> CountSummary:
    lines = read.select(CountLine, "stock_count_id = ?", sheet.id)
    right = None
    if sheet.state == "settled":
        right = all(t.variance == 0 for t in _tallies(read, sheet, {}))
    return CountSummary(
        sheet.code, read.get(Place, sheet.place_id).name, sheet.state, read.get(Event, sheet.event_id).at,
        _name(read, sheet.counted_by_id), len(lines), right,
    )  # fmt: skip


# ---- over time -----------------------------------------------------------------------------------


def _months(today: date, count: int) -> list[str]:
    last = today.year * 12 + today.month - 1
    return [f"{n // 12:04d}-{n % 12 + 1:02d}" for n in range(last - max(1, count) + 1, last + 1)]


def _month(month: str, found: Sequence[Sequence[Tally]]) -> MonthOfCounts:
    """Two counts of one place in a month count twice; differences of pieces and volumes are summed as they are kept."""
    accuracies = [accuracy for tallies in found if (accuracy := record_accuracy(tallies)) is not None]
    within = sum(1 for accuracy in accuracies if accuracy == 1)
    every = [v for tallies in found for v in variances(tallies)]
    share = Fraction(within, len(accuracies)) if accuracies else None
    return MonthOfCounts(
        month, len(found), len(accuracies), within, round(float(share * 100), 1) if share is not None else None,
        sum(v.missing for v in every), sum(v.surplus for v in every),
    )  # fmt: skip
