"""How something went month by month, for the Office: matched sets, and how right the record was; each with its numbers."""

from collections.abc import Sequence
from datetime import datetime
from typing import Final

from kittrack.queries.counts import MonthOfCounts, count_accuracy
from kittrack.queries.set_health import IntegrityMonth, integrity_trend
from kittrack.tui.listing import Ask, Page, Record, Step
from kittrack.tui.pictures import picture_page
from kittrack.tui.widgets.plots import Bar

_MONTHS: Final = 24


async def sets_by_month(ask: Ask, at: datetime) -> Page:
    """Sets made, matched again, broken and gone in each month, and how many are whole at its end."""
    found: Sequence[IntegrityMonth] = await ask(integrity_trend, at=at, months=_MONTHS)
    records = [
        Record(
            one.month,
            (one.month, *map(str, (one.made, one.matched_again, one.broken, one.gone, one.whole_at_end))),
            step=Step("sets", "show every set"),
        )
        for one in reversed(found)
    ]
    bars = [Bar(one.month, one.whole_at_end, str(one.whole_at_end)) for one in found]
    heads = ("month", "made", "matched again", "broken", "gone", "whole at end")
    return picture_page(records, bars, title="whole sets at the end of each month", heads=heads)


async def accuracy_by_month(ask: Ask, at: datetime) -> Page:
    """How many of the places that were counted agreed with the record, month by month; missing and too many are never netted."""
    found: Sequence[MonthOfCounts] = await ask(count_accuracy, at=at, months=_MONTHS)
    records = [
        Record(
            one.month,
            (
                one.month, str(one.counts), f"{one.within} of {one.places}" if one.places else "", _percent(one),
                str(one.missing), str(one.surplus),
            ),
            step=Step("count list", "show every count"),
        )
        for one in reversed(found)
    ]  # fmt: skip
    bars = [Bar(one.month, one.accuracy_percent or 0, _percent(one) or "not counted") for one in found]
    heads = ("month", "counts", "right", "accuracy", "missing", "too many")
    title = "places that agreed with the record, in percent of those counted"
    return picture_page(records, bars, title=title, heads=heads)


def _percent(one: MonthOfCounts) -> str:
    return "" if one.accuracy_percent is None else f"{one.accuracy_percent:.1f} %"
