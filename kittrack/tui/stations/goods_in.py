"""Goods-in: what waits for inspection, what lies under a hold."""

from collections.abc import Sequence
from datetime import datetime
from typing import ClassVar

from kittrack.queries.shelf import ShelfLine, on_the_shelf
from kittrack.tui import records_of
from kittrack.tui.list_station import ListStation
from kittrack.tui.listing import Ask, Listing, Record, WholeAnswer

_HEADS = ("sense", "part", "how many", "place", "condition", "expiry")


async def _waiting(ask: Ask, at: datetime) -> Sequence[Record]:
    lines: Sequence[ShelfLine] = await ask(on_the_shelf, at=at, condition="on hold")
    return [records_of.of_shelf(line) for line in lines if not line.holds]


async def _held(ask: Ask, at: datetime) -> Sequence[Record]:
    lines: Sequence[ShelfLine] = await ask(on_the_shelf, at=at)
    return [records_of.of_shelf(line) for line in lines if line.holds]


class GoodsIn(ListStation):
    """What came in and is not on the shelf yet."""

    mode = "goods_in"
    about = (
        "What waits for inspection, and what lies under a hold. Scan a label to see what it is; type to filter.",
        "Deliveries and inspections are recorded by verbs: kittrack --help, station Goods-in.",
    )
    CSS_PATH = "goods_in.tcss"
    lists: ClassVar[tuple[Listing, ...]] = (
        WholeAnswer(
            "waiting for inspection",
            _HEADS,
            "nothing waits; book a delivery first: kittrack receive --help",
            _waiting,
        ),
        WholeAnswer("under a hold", _HEADS, "nothing is under a hold.", _held),
    )
