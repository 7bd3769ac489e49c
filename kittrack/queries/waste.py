"""What will expire unused, first expiry out first, at the pace at which it is asked for; and what expires month by month.

Source: design C12.
"""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, datetime
from functools import partial
from typing import Final

from kittrack.domain import dates
from kittrack.domain.demand import waste_forecast
from kittrack.domain.forecasts import DAYS_A_MONTH, forecast
from kittrack.domain.ledger import AccountClass
from kittrack.domain.lots import Offer
from kittrack.domain.quantities import Dimension, write_quantity
from kittrack.queries.demand_history import MOST_MONTHS, history_of
from kittrack.queries.expiring import expiring
from kittrack.queries.shelf import ShelfLine, on_the_shelf
from kittrack.store.act import Reading
from kittrack.store.database import Store
from kittrack.store.records import Part, Site

_HISTORY_MONTHS: Final = 24
_GOES_OUT: Final = frozenset(
    {AccountClass.SHELF, AccountClass.VAN, AccountClass.BENCH, AccountClass.SEALED, AccountClass.HOLD}
)


@dataclass(frozen=True)
class Wasted:
    """Stock of one receipt line that will be left on its last good day. `basis` says from which demand that follows."""

    expires_on: date
    days_left: int
    sense: str
    part: str
    name: str
    receipt_line: str
    lot_code: str
    quantity: int
    wasted: int
    unit: str
    basis: str


@dataclass(frozen=True)
class ExpiryMonth:
    """How many receipt lines and sealed kits have their last good day in a month, and how many lines waste some."""

    month: str
    lines: int
    kits: int
    wasted_lines: int


def waste(store: Store, *, at: datetime) -> tuple[Wasted, ...]:
    """What will expire before anybody asks for it, the soonest first; expired stock is wasted whole.

    Stock on hold counts as if it were released; stock whose expiry nobody knows is not forecast.

    Args:
        store: the store.
        at: the instant of asking; demand is forecast from the two years before.
    """
    stock = [s for s in on_the_shelf(store, at=at) if s.state in _GOES_OUT and s.expiry_known]
    with store.reading() as read:
        today = dates.local_day(at, zone=read.select(Site, limit=1)[0].time_zone)
        pace = _pace(read, at)
    by_part: dict[tuple[str, str], list[ShelfLine]] = defaultdict(list)
    for line in stock:
        by_part[line.part, line.name].append(line)
    found = [
        one
        for (part, _), lines in by_part.items()
        if any(s.expires_on for s in lines)
        for one in _of_part(lines, pace[part], today)
    ]
    return tuple(sorted(found, key=lambda w: (w.expires_on, w.part, w.receipt_line)))


def expiry_by_month(store: Store, *, at: datetime, months: int = 12) -> tuple[ExpiryMonth, ...]:
    """What has its last good day in each of the coming months, the running one first.

    Args:
        store: the store.
        at: the instant of asking.
        months: how many months ahead, the running one included, at most ten years.
    """
    count = min(MOST_MONTHS, max(1, months))
    lines = expiring(store, at=at, within_days=31 * count + 31)
    wasted = waste(store, at=at)
    with store.reading() as read:
        first = dates.local_day(at, zone=read.select(Site, limit=1)[0].time_zone)
    wanted = [_month_after(first, n) for n in range(count)]
    return tuple(
        ExpiryMonth(
            month,
            len({e.what for e in lines if e.expires_on and e.unit != "kit" and _month(e.expires_on) == month}),
            sum(1 for e in lines if e.expires_on and e.unit == "kit" and _month(e.expires_on) == month),
            len({w.receipt_line for w in wasted if _month(w.expires_on) == month}),
        )
        for month in wanted
    )  # fmt: skip


def _month(day: date) -> str:
    return day.isoformat()[:7]


def _month_after(day: date, count: int) -> str:
    number = day.year * 12 + day.month - 1 + count
    return f"{number // 12:04d}-{number % 12 + 1:02d}"


def _pace(read: Reading, at: datetime) -> dict[str, tuple[float, str]]:
    """What is asked for in a day of each part number, in the unit of its stock, and why."""
    history = history_of(read, at=at, months=_HISTORY_MONTHS)
    found: dict[str, tuple[float, str]] = {}
    for part in read.select(Part):
        each = (part.blades_per_rotor or 1) if part.kind == "blade" else 1
        known = forecast([history.quantity.get((part.id, m), 0) * each for m in history.months])
        daily, _ = found.get(part.number, (0.0, ""))  # one number of two makers: the pace of both
        words = known.told(partial(_amount, part.unit))
        found[part.number] = (daily + known.per_month / DAYS_A_MONTH, words)
    return found


def _amount(unit: str, quantity: float) -> str:
    if unit == "volume_ul":
        return write_quantity(round(quantity), dimension=Dimension.VOLUME)
    return f"{quantity:.4g}"


def _of_part(lines: list[ShelfLine], pace: tuple[float, str], today: date) -> list[Wasted]:
    """The waste of one part: its stock in all places, receipt line by receipt line."""
    daily, why = pace
    total: dict[str, int] = defaultdict(int)
    first: dict[str, ShelfLine] = {}
    for line in lines:
        total[line.receipt_line] += line.quantity
        first.setdefault(line.receipt_line, line)
    codes = sorted(total)
    offers = [
        Offer(at, first[code].lot, total[code], at, first[code].expires_on)
        for at, code in enumerate(codes)
    ]  # fmt: skip
    found = []
    for each in waste_forecast(offers, daily=daily, today=today):
        line, last = first[codes[each.offer.key]], each.offer.expires_on
        if last is None:
            raise AssertionError("what never expires is never wasted")
        found.append(
            Wasted(
                expires_on=last, days_left=(last - today).days, sense=line.sense, part=line.part, name=line.name,
                receipt_line=line.receipt_line, lot_code=line.lot_code, quantity=each.offer.quantity, wasted=each.quantity,
                unit=line.unit, basis=why,
            )
        )  # fmt: skip
    return found
