"""Goods-in: deliveries against paper, inspection, putting away."""

from typing import ClassVar

from kittrack.tui import rows
from kittrack.tui.list_station import ListStation
from kittrack.tui.listing import Listing, Step
from kittrack.tui.lists import OfQuestion, Paged
from kittrack.tui.order_list import ON_ORDER

_RECEIVE = Step("delivery receive", "take a delivery in")


class GoodsIn(ListStation):
    """What came in and is not on the shelf yet."""

    mode = "goods_in"
    takes_boxes = True
    about = (
        "What waits for its paper, its inspection or its shelf; F9 does what comes next for what is in hand.",
        "Scan a supplier's label to take a delivery in, a label of ours to take that thing in hand; type to filter.",
    )
    CSS_PATH = "goods_in.tcss"
    lists: ClassVar[tuple[Listing, ...]] = (
        Paged(
            "waiting for paper or inspection", "what came in and is not looked at yet",
            ("sense", "part", "how many", "next", "line", "lot", "expiry", "place"),
            "nothing waits; scan a supplier's label to take a delivery in.", "waiting", rows.of_waiting, _RECEIVE,
        ),
        Paged(
            "to put away", "what was accepted and lies in no bin yet",
            ("sense", "part", "how many", "code", "lot", "place", "supplier"),
            "everything that was accepted is on its shelf.", "to put away", rows.of_holding,
        ),
        Paged(
            "pieces set aside", "which blades are on hold or unserviceable",
            ("sense", "part", "serial", "condition", "piece", "place", "note"),
            "no piece is on hold or unserviceable.", "pieces on hold", rows.of_piece,
        ),
        Paged(
            "sets that came back", "which sets wait for an inspection or a bin",
            ("sense", "set", "part", "condition", "where"),
            "no set waits for its inspection or its bin.", "sets that came back", rows.of_came_back,
        ),
        Paged(
            "opened bottles", "how much is left in which bottle",
            ("part", "left", "bottle", "place", "condition", "opened", "expiry"),
            "no bottle is open.", "bottles", rows.of_bottle, Step("bottle open", "open a bottle"),
        ),
        Paged(
            "received", "everything that ever came in",
            ("sense", "part", "received", "line", "lot", "supplier", "note", "expiry"),
            "nothing was received yet.", "lines", rows.of_line, _RECEIVE,
        ),
        OfQuestion("sampling by supplier", "how many of a lot are looked at, by the supplier's record",
                   "sampling records", "no lot was sampled yet."),
        ON_ORDER,
    )  # fmt: skip
