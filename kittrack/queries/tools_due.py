"""Tools and scales whose calibration is over or falls due. Source: design C12, R18, R19."""

from dataclasses import dataclass
from datetime import date, datetime

from kittrack.domain import dates
from kittrack.store.database import Store
from kittrack.store.records import Site, Tool


@dataclass(frozen=True)
class ToolDue:
    """A tool or scale in use; `days_left` is negative once over, and None where no calibration is on record.

    `used_since` counts the torques and proofs of match that were made with it after its last day.
    """

    days_left: int | None
    calibrated_until: date | None
    state: str
    tool: str
    name: str
    kind: str
    used_since: int


def tools_due(
    store: Store, *, at: datetime, within_days: int = 90, everything: bool = False
) -> tuple[ToolDue, ...]:
    """The tools and scales in use that are due within some days, those without any calibration first.

    Args:
        store: the store.
        at: the instant at which dates are judged; a calibration is good through its last day.
        within_days: how far ahead.
        everything: all tools in use.
    """
    with store.reading() as read:
        zone = read.select(Site, limit=1)[0].time_zone
        tools = read.select(Tool, "active = 1")
        uses = read.rows(
            "SELECT r.tool_id, e.at FROM torque_record r JOIN event e ON e.id = r.event_id WHERE r.tool_id IS NOT NULL "
            "UNION ALL SELECT m.tool_id, e.at FROM match_record m JOIN event e ON e.id = m.event_id WHERE m.tool_id IS NOT NULL"
        )
    today = dates.local_day(at, zone=zone)
    used: dict[int, list[date]] = {}
    for tool_id, when in uses:
        used.setdefault(tool_id, []).append(dates.local_day(dates.read_instant(when), zone=zone))
    lines = [_line(tool, used.get(tool.id, []), today) for tool in tools]
    chosen = [d for d in lines if everything or d.days_left is None or d.days_left <= within_days]
    return tuple(
        sorted(chosen, key=lambda d: (d.days_left is not None, d.days_left or 0, d.tool))
    )  # fmt: skip


def _line(tool: Tool, used: list[date], today: date) -> ToolDue:
    until = date.fromisoformat(tool.calibrated_until_on) if tool.calibrated_until_on else None
    left = (until - today).days if until else None
    state = "NO CALIBRATION on record" if left is None else "OVER" if left < 0 else "in date"
    late = len(used) if until is None else sum(day > until for day in used)
    return ToolDue(left, until, state, tool.code, tool.name, tool.kind, late)
