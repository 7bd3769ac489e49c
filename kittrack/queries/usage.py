"""What was used, month by month: rotor sets fitted, screws and washers fitted, threadlocker consumed."""

from dataclasses import dataclass
from datetime import datetime

from kittrack.domain import dates
from kittrack.store.database import Store
from kittrack.store.records import Site


@dataclass(frozen=True)
class Usage:
    """How much of a part was used in a month; `unit` is "sets", "pieces" or "volume_ul"."""

    month: str
    part: str
    sense: str
    quantity: int
    unit: str


def usage_by_month(store: Store, *, at: datetime, months: int = 12, part: str = "") -> tuple[Usage, ...]:
    """What was used in the last months, the month of `at` included, ordered by month, part and sense.

    A month is that of the event in UTC. A set that came off for transport and went back on is counted at
    its first fit only.

    Args:
        store: the store.
        at: the instant of asking.
        months: how many months back, this one included.
        part: only this part number.
    """
    with store.reading() as read:
        zone = read.select(Site, limit=1)[0].time_zone
        first = months_back(dates.local_day(at, zone=zone).isoformat()[:7], months)[0]
        only = " AND t.number = ?" if part else ""
        given = (first, part) if part else (first,)
        sets = read.rows(
            "SELECT substr(e.at, 1, 7), t.number, coalesce(t.sense, ''), count(*), 'sets' FROM fit_record f "
            "JOIN event e ON e.id = f.event_id JOIN rotor_set s ON s.id = f.rotor_set_id JOIN part t ON t.id = s.part_id "
            f"WHERE f.is_transport_refit = 0 AND e.at >= ?{only} GROUP BY 1, 2, 3",
            *given,
        )
        stock = read.rows(
            "SELECT substr(e.at, 1, 7), t.number, coalesce(t.sense, ''), sum(m.quantity), r.unit FROM movement m "
            "JOIN event e ON e.id = m.event_id JOIN place p ON p.id = m.to_place_id "
            "JOIN receipt_line r ON r.id = m.receipt_line_id JOIN part t ON t.id = r.part_id "
            f"WHERE p.kind IN ('position', 'consumed') AND e.at >= ?{only} GROUP BY 1, 2, 3, 5",
            *given,
        )
    return tuple(sorted((Usage(m, p, s, int(n), u) for m, p, s, n, u in (*sets, *stock)), key=_order))


def _order(one: Usage) -> tuple[str, str, str]:
    return one.month, one.part, one.sense


def months_back(month: str, count: int) -> tuple[str, ...]:
    """The last months up to one, oldest first, as "2026-03"."""
    last = int(month[:4]) * 12 + int(month[5:7]) - 1
    return tuple(f"{n // 12:04d}-{n % 12 + 1:02d}" for n in range(last - max(1, count) + 1, last + 1))
