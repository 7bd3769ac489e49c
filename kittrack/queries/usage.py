"""What was used, month by month: rotor sets, screws and washers by issues, threadlocker by what was consumed."""

from dataclasses import dataclass
from datetime import datetime

from kittrack.queries.demand_history import MOST_MONTHS, history_of
from kittrack.store.database import Store
from kittrack.store.records import Part


@dataclass(frozen=True)
class Usage:
    """How much of a part was used in a month: sets, pieces or microlitres, in how many issues.

    `for_life` is the part of it that replaced sets at the end of their service life.
    """

    month: str
    sense: str
    part: str
    quantity: int
    unit: str
    issues: int
    for_life: int


def usage_by_month(store: Store, *, at: datetime, months: int = 12, part: str = "") -> tuple[Usage, ...]:
    """What was used of each part in each of the last months, the running one included, months without use left out.

    Args:
        store: the store.
        at: the instant of asking.
        months: how many months back, the running one included, at most ten years.
        part: only this part number.
    """
    with store.reading() as read:
        history = history_of(read, at=at, months=min(MOST_MONTHS, max(1, months)), with_running=True)
        parts = {p.id: p for p in read.select(Part)}
    lines = [
        Usage(
            month, parts[part_id].sense or "", parts[part_id].number, quantity,
            "sets" if parts[part_id].kind == "blade" else parts[part_id].unit,
            history.issues.get((part_id, month), 0), min(quantity, history.for_life.get((part_id, month), 0)),
        )
        for (part_id, month), quantity in history.quantity.items()
        if quantity and (not part or parts[part_id].number == part.strip())
    ]  # fmt: skip
    return tuple(sorted(lines, key=lambda a: (a.month, a.part, a.sense)))
