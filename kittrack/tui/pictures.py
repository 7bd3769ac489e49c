"""Pictures for the Office, each with its numbers: ship sets, senses side by side, expiry and usage by month."""

from collections import Counter
from collections.abc import Sequence
from datetime import datetime
from typing import Final

from kittrack.domain.spin import Sense
from kittrack.domain.text import counted
from kittrack.queries.buildable import Buildable, buildable
from kittrack.queries.demand_history import months_back
from kittrack.queries.expiring import Expiring, expiring
from kittrack.queries.usage import Usage, usage_by_month
from kittrack.tui.kit_text import amount
from kittrack.tui.listing import Ask, Page, Record, Step
from kittrack.tui.symbols import symbols_here
from kittrack.tui.widgets.plots import Bar, bar_lines

_DAYS: Final = 366  # ahead, for expiry by month
_MONTHS: Final = 12  # back, for usage


def picture_page(
    records: Sequence[Record], bars: Sequence[Bar], *, title: str, heads: tuple[str, ...]
) -> Page:
    """A page of records with a picture of all of them under a title."""
    from kittrack.printing import documents

    def draw(width: int) -> list[str]:
        return ["", title, *bar_lines(bars, width=width, symbols=symbols_here())] if bars else []

    chart = documents.Chart(title, tuple(documents.Bar(bar.name, bar.value, bar.number) for bar in bars))
    return Page(tuple(records), heads=heads, picture=draw, chart=chart)


# ---- ship sets and senses ------------------------------------------------------------------------


async def ship_sets(ask: Ask, at: datetime) -> Page:
    """How many ship sets can be built of each type revision."""
    found: Sequence[Buildable] = await ask(buildable, at=at)
    bars = [Bar(_name(one), one.ship_sets.count, str(one.ship_sets.count)) for one in found]
    heads = ("type", "ship sets", "limited by", "one more takes")
    return picture_page(
        [_of_buildable(one) for one in found], bars, title="ship sets that can be built", heads=heads
    )


def _name(one: Buildable) -> str:
    return f"{one.type_name} {one.revision}"


def _much(one: Buildable, line: str, quantity: int) -> str:
    return amount(quantity, "volume_ul" if line in one.volume_lines else "pieces")


def _of_buildable(one: Buildable) -> Record:
    ships = one.ship_sets
    detail = (
        f"{_name(one)}: {ships.count} ship sets; types that share parts compete for them, so the counts are not added up",
        *([f"limited by {', '.join(ships.limiting)}"] if ships.limiting else []),
        *([f"one more takes {'; '.join(one.one_more_takes)}"] if one.one_more_takes else []),
        *(
            f"{line}: {_much(one, line, there)} on the shelf, {_much(one, line, each)} a ship set"
            for line, there, each in one.stock
        ),
    )
    cells = (_name(one), str(ships.count), ", ".join(ships.limiting), "; ".join(one.one_more_takes))
    return Record(
        _name(one), cells, detail, step=Step("kit build", "build a kit", (("revision", _name(one)),))
    )


async def senses(ask: Ask, at: datetime) -> Page:
    """The rotor sets of each sense side by side, in ship sets of each type revision."""
    found: Sequence[Buildable] = await ask(buildable, at=at)
    bars, records = [], []
    for one in found:
        by_sense = {sense: (there, needed) for sense, there, needed in one.sets_by_sense}
        for sense in Sense:
            there, needed = by_sense.get(sense, (0, 0))
            if needed:
                bars.append(Bar(f"{_name(one)} {sense}", there / needed, f"{there} sets"))
        records.append(_of_senses(one, by_sense))
    heads = ("type", "CW sets", "CCW sets", "out of balance")
    return picture_page(
        records, bars, title="sets on the shelf, as long as the ship sets that they give", heads=heads
    )


def _of_senses(one: Buildable, by_sense: dict[Sense, tuple[int, int]]) -> Record:
    cw, ccw = (by_sense.get(sense, (0, 0)) for sense in (Sense.CW, Sense.CCW))
    stranded = (
        f"{one.senses.stranded} {one.senses.fuller} sets stranded" if one.senses.stranded else "in balance"
    )
    cells = (_name(one), f"{cw[0]}, {cw[1]} a ship set", f"{ccw[0]}, {ccw[1]} a ship set", stranded)
    return Record(_name(one), cells, step=Step("buildable", "show the lines"))


# ---- by month ------------------------------------------------------------------------------------


async def expiry_by_month(ask: Ask, at: datetime) -> Page:
    """How much expires in each month ahead; what is expired or of unknown expiry stands first."""
    found: Sequence[Expiring] = await ask(expiring, at=at, within_days=_DAYS)
    by_month: dict[str, list[Expiring]] = {}
    for one in found:
        by_month.setdefault(_month(one), []).append(one)
    months = sorted(by_month, key=lambda month: (month[0].isdigit(), month))
    bars = [Bar(month, len(by_month[month]), str(len(by_month[month]))) for month in months]
    records = [_of_month(month, by_month[month]) for month in months]
    return picture_page(
        records,
        bars,
        title="lines of stock and kits that expire, by month",
        heads=("month", "how many", "what"),
    )


def _month(one: Expiring) -> str:
    if one.days_left is None or one.expires_on is None:
        return "UNKNOWN"
    return "EXPIRED" if one.days_left < 0 else one.expires_on.isoformat()[:7]


def _of_month(month: str, found: Sequence[Expiring]) -> Record:
    parts = Counter(one.part or "kit" for one in found)
    told = tuple(
        f"{one.expires_on or 'unknown'}  {one.what} {one.part}: {amount(one.quantity, one.unit)} in {one.place or 'the stores'}"
        for one in found
    )
    cells = (
        month,
        str(len(found)),
        ", ".join(
            counted(count, part) if part == "kit" else f"{count} {part}"
            for part, count in sorted(parts.items())
        ),
    )
    return Record(month, cells, told, step=Step("expiring", "show all that expires"))


async def usage(ask: Ask, at: datetime) -> Page:
    """What was used month by month: the rotor sets as bars, every part in numbers."""
    found: Sequence[Usage] = await ask(usage_by_month, at=at, months=_MONTHS)
    sets = Counter[str]()
    for one in found:
        if one.unit == "sets":
            sets[one.month] += one.quantity
    months = months_back(found[-1].month, _MONTHS) if found else ()
    bars = [Bar(month, sets[month], f"{sets[month]} sets") for month in months]
    records = [_of_usage(one) for one in reversed(found)]
    return picture_page(
        records, bars, title="rotor sets used, by month", heads=("month", "sense", "part", "used")
    )


def _of_usage(one: Usage) -> Record:
    used = f"{one.quantity} sets" if one.unit == "sets" else amount(one.quantity, one.unit)
    return Record(
        f"{one.month} {one.part} {one.unit}", (one.month, one.sense, one.part, used),
        step=Step("shelf", "show what is on the shelf", (("part", one.part),)),
    )  # fmt: skip
