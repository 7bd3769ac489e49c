"""Goods-in: deliveries, what waits for inspection, what is under a hold, what has been received."""

from collections.abc import Sequence
from datetime import datetime
from typing import ClassVar

from kittrack.domain.codes import Code, Kind
from kittrack.domain.scan_result import Scan
from kittrack.services.line_standing import LineView, line_view
from kittrack.tui import questions, rows
from kittrack.tui.deeds import Act, Deed, Question
from kittrack.tui.listing import Ask, Listing, Record
from kittrack.tui.paged import Paged, look_up
from kittrack.tui.stations import goods_in_deeds as deeds
from kittrack.tui.work_station import WorkStation

_NEW = "book a delivery first: F9, or scan a supplier's label."


async def _whole_line(ask: Ask, record: Record, at: datetime) -> Sequence[str]:
    view: LineView = await ask(line_view, line=record.key, at=at)
    return deeds.line_lines(view)


class GoodsIn(WorkStation):
    """What came in and is not on the shelf yet."""

    mode = "goods_in"
    about = (
        "What waits for inspection; F9 does what comes next for the line under the cursor.",
        "Scan a supplier's label to book a delivery, a label of ours to take that thing in hand; type to filter.",
    )
    CSS_PATH = "goods_in.tcss"
    deeds = deeds.DEEDS
    explains: ClassVar[Question | None] = questions.EXPLAIN_OR_TRACE
    lists: ClassVar[tuple[Listing, ...]] = (
        Paged(
            "waiting for inspection", ("sense", "part", "how many", "next", "line", "place", "lot", "expiry"),
            f"nothing waits; {_NEW}", "waiting", rows.of_waiting, _whole_line,
        ),
        Paged(
            "pieces set aside", ("sense", "part", "serial", "condition", "piece", "place", "note"),
            "no piece is on hold or unserviceable.", "pieces on hold", rows.of_piece, look_up,
        ),
        Paged(
            "opened bottles", ("part", "left", "bottle", "place", "condition", "opened", "expiry"),
            "no bottle is open; F10 opens one.", "bottles", rows.of_bottle, look_up,
        ),
        Paged(
            "received", ("sense", "part", "received", "line", "lot", "supplier", "note", "expiry"),
            f"nothing was received yet; {_NEW}", "lines", rows.of_line, _whole_line,
        ),
    )  # fmt: skip

    def label_taker(self, scan: Scan) -> Act | None:
        """A supplier's label begins a delivery."""
        return deeds.RECEIVE if scan.fields.found() and not scan.problems else None

    def next_for(self, record: Record | None) -> Deed | None:
        """A paper first, then the inspection; without a line, a delivery."""
        if record is None:
            return deeds.RECEIVE if not self._text else None
        match self._number:
            case 0:
                return _inspection(record)
            case 1:
                return deeds.PIECES_AGAIN
            case _:
                return deeds.PUT_AWAY

    def next_for_code(self, code: Code) -> Deed | None:
        """What is scanned and waits for nothing is put away; a set is inspected where it has to be."""
        if code.kind is Kind.ROTOR_SET and not self._text:
            return deeds.PUT_AWAY
        return deeds.PUT_AWAY if code.kind in (Kind.PIECE, Kind.RECEIPT_LINE, Kind.KIT) else None


def _inspection(record: Record) -> Deed:
    told = record.detail[0] if record.detail else ""
    if told.endswith("needs a paper"):
        return deeds.ATTACH
    return deeds.PIECES if ", pieces," in told else deeds.STOCK
