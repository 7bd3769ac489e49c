"""What the last look at a receipt line left on hold."""

from typing import Final

from kittrack.store.act import Reading
from kittrack.store.reversals import not_reversed

_LAST: Final = "SELECT max(o.event_id) FROM inspection o WHERE o.receipt_line_id = {line} AND o.piece_id IS NULL AND {stands}"
_CAME_SINCE: Final = (
    "SELECT 1 FROM movement v WHERE v.receipt_line_id = {line} AND v.event_id > i.event_id AND v.to_piece_id IS NULL "
    "AND v.to_condition = 'on hold' AND v.from_condition <> 'on hold'"
)


def held_at_last_look(line: str) -> str:
    """SQL of how much of a line its last look held; 0 where something came on hold since, which nobody looked at.

    Args:
        line: the SQL of the line's id.
    """
    return (
        f"(SELECT coalesce(sum(i.quantity), 0) FROM inspection i WHERE i.receipt_line_id = {line} AND i.piece_id IS NULL "
        f"AND i.result = 'held' AND i.event_id = ({_LAST.format(line=line, stands=not_reversed('o.event_id'))}) AND NOT EXISTS ({_CAME_SINCE.format(line=line)}))"
    )


def was_looked_at(read: Reading, line_id: int, *, waiting: int) -> bool:
    """Whether all that waits on hold of a line was seen and held by the last look at it."""
    return 0 < waiting <= int(read.value(f"SELECT {held_at_last_look('?')}", line_id, line_id, line_id))
