"""Beginning a count anew: where stock moved while it was counted, or a count was mistaken.

Its sheet is made again from what lies there at that moment; what was entered stays in the log. It takes a second
person, so that nobody counts on alone until a difference is gone. Source: design 2 (counts), R8, R12.
"""

from datetime import datetime

from kittrack.domain.rules import Rule, require
from kittrack.errors import Refusal
from kittrack.services import desk
from kittrack.services.counting import find_count
from kittrack.services.counting_short import forget_short_sets
from kittrack.services.desk import Done
from kittrack.store.act import Act
from kittrack.store.database import Store
from kittrack.store.records import CountLine, Place, StockCount
from kittrack.store.stock import containers_in, directly_in

_Key = tuple[int | None, int | None, int | None, str]  # receipt line, piece, container, condition of stock


@desk.done_by("clerk", "manager")
def begin_anew(store: Store, *, count: str, reason: str, second: str, by: str, at: datetime) -> Done:
    """Begin a count anew that is not settled: nothing is counted yet, and the sheet is what lies there at this moment.

    Raises:
        Refused: the count is settled (R12), or no second person (R8).
    """
    desk.require_text(reason=reason)
    with store.act("begin a count anew", by=by, at=at, second=second, reason=reason) as act:
        sheet = find_count(act, count)
        settled = f"{sheet.code} is settled; open a new count of the place."
        require(
            desk.check_done_by(act, begin_anew),
            desk.check_second(first=act.by, second=act.second, what="beginning a count anew"),
            [Refusal(Rule.NOTHING_ERASED, sheet.code, settled)] if sheet.state == "settled" else [],
        )
        _make_sheet_again(act, sheet)
        act.update(sheet, state="open", counted_by_id=None)
        forget_short_sets(act, sheet)
        where = act.get(Place, sheet.place_id).name
    said = f"{sheet.code} begins anew: count everything in {where} without looking at the record."
    return Done(act.event_id, (sheet.code,), (said,))


def _make_sheet_again(act: Act, sheet: StockCount) -> None:
    there: dict[_Key, int] = {
        (s.receipt_line_id, s.piece_id, None, s.condition): s.quantity
        for s in directly_in(act, sheet.place_id)
    }
    there |= {(None, None, container, ""): 1 for container in containers_in(act, sheet.place_id)}
    for line in act.select(CountLine, "stock_count_id = ?", sheet.id):
        condition = line.condition if line.container_id is None else ""
        key = (line.receipt_line_id, line.piece_id, line.container_id, condition)
        act.update(line, booked=there.pop(key, 0), counted=None, recounted=None)
    for (receipt_line, piece, container, condition), quantity in there.items():
        act.insert(
            CountLine(
                stock_count_id=sheet.id, receipt_line_id=receipt_line, piece_id=piece, container_id=container,
                condition=condition, booked=quantity,
            )
        )  # fmt: skip
