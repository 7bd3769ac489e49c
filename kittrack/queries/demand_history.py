"""What was asked for, month by month: from issues, in whole sets, so that one damaged blade counts as a set.

A month is that of the event in UTC. Kits that came back unopened or complete, and issues that were reversed,
were not used. Source: design C11.
"""

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Final

from kittrack.domain import dates
from kittrack.store.act import Reading
from kittrack.store.records import HubFixing, Site, TypePosition

MOST_MONTHS: Final = 120
NEAR_LIFE: Final = 0.9
"""A set removed with this share of a limit used up was replaced for its life (common practice, no source)."""


@dataclass
class History:
    """What was asked for of each part, by (part id, month); quantities in sets for rotor parts."""

    months: tuple[str, ...]
    quantity: dict[tuple[int, str], int] = field(default_factory=lambda: defaultdict(int))
    issues: dict[tuple[int, str], int] = field(default_factory=lambda: defaultdict(int))
    for_life: dict[tuple[int, str], int] = field(default_factory=lambda: defaultdict(int))

    def unplanned(self, part_id: int) -> list[int]:
        """What was asked for in each month for other reasons than the end of a service life."""
        return [
            max(0, self.quantity.get((part_id, m), 0) - self.for_life.get((part_id, m), 0))
            for m in self.months
        ]


def history_of(read: Reading, *, at: datetime, months: int, with_running: bool = False) -> History:
    """What was asked for in some months before an instant.

    Args:
        read: the transaction.
        at: the instant of asking.
        months: at most so many, and none before the first month that the store knows whole.
        with_running: also the month that still runs.
    """
    zone = read.select(Site, limit=1)[0].time_zone
    wanted = months_back(dates.local_day(at, zone=zone).isoformat()[:7], months + (not with_running))
    wanted = wanted if with_running else wanted[:-1]
    begun = str(read.value("SELECT min(at) FROM event") or "")[:7]
    known = tuple(m for m in wanted if m >= begun) or wanted[-1:]
    history = History(known)
    _add_sets_issued(read, history)
    _add_sets_broken(read, history)
    _add_pieces_issued(read, history)
    _add_volumes_consumed(read, history)
    _add_for_life(read, history)
    return history


_ISSUED: Final = (
    "FROM voucher v JOIN event e ON e.id = v.event_id JOIN kit_pick k ON k.kit_id = v.kit_id AND k.active = 1 "
    "{joined} WHERE v.state NOT IN ('returned', 'reversed') AND e.at >= ? AND e.at < ? GROUP BY 1, 2"
)


def _window(history: History) -> tuple[str, str]:
    """From the first instant of the first month up to the first of the month after the last."""
    last = date.fromisoformat(f"{history.months[-1]}-01")
    after = date(last.year + last.month // 12, last.month % 12 + 1, 1)
    return f"{history.months[0]}-01", after.isoformat()


def _add_sets_issued(read: Reading, history: History) -> None:
    joined = "JOIN rotor_set s ON s.id = k.rotor_set_id"
    sql = "SELECT s.part_id, substr(e.at, 1, 7), count(*), count(DISTINCT v.id) " + _ISSUED.format(
        joined=joined
    )
    for part, month, sets, issues in read.rows(sql, *_window(history)):
        history.quantity[part, month] += int(sets)
        history.issues[part, month] += int(issues)


def _add_sets_broken(read: Reading, history: History) -> None:
    """Sets that were broken in the stores: never issued, and used up by their damaged blade all the same."""
    rows = read.rows(
        "SELECT s.part_id, min(e.at) FROM rotor_set s JOIN match_reading r ON r.match_record_id = s.match_record_id "
        "JOIN movement m ON m.to_piece_id = r.piece_id AND m.from_place_id = s.place_id JOIN event e ON e.id = m.event_id "
        "WHERE s.state = 'broken' AND NOT EXISTS (SELECT 1 FROM kit_pick k JOIN voucher v ON v.kit_id = k.kit_id "
        "WHERE k.rotor_set_id = s.id AND k.active = 1 AND v.state NOT IN ('returned', 'reversed')) GROUP BY s.id, s.part_id"
    )
    for part, at in rows:
        if str(at)[:7] in history.months:
            history.quantity[part, str(at)[:7]] += 1
            history.issues[part, str(at)[:7]] += 1


def _add_pieces_issued(read: Reading, history: History) -> None:
    joined = "JOIN receipt_line r ON r.id = k.receipt_line_id AND r.unit = 'pieces'"
    sql = (
        "SELECT r.part_id, substr(e.at, 1, 7), sum(k.quantity), count(DISTINCT v.id) "
        + _ISSUED.format(joined=joined)
    )  # fmt: skip
    for part, month, pieces, issues in read.rows(sql, *_window(history)):
        history.quantity[part, month] += int(pieces)
        history.issues[part, month] += int(issues)


def _add_volumes_consumed(read: Reading, history: History) -> None:
    """What came out of bottles: a bottle goes along and comes back, so its issue says nothing."""
    rows = read.rows(
        "SELECT r.part_id, substr(e.at, 1, 7), sum(m.quantity), count(DISTINCT e.id) FROM movement m "
        "JOIN event e ON e.id = m.event_id JOIN place p ON p.id = m.to_place_id AND p.kind = 'consumed' "
        "JOIN receipt_line r ON r.id = m.receipt_line_id AND r.unit = 'volume_ul' WHERE e.at >= ? AND e.at < ? GROUP BY 1, 2",
        *_window(history),
    )
    for part, month, volume, issues in rows:
        history.quantity[part, month] += int(volume)
        history.issues[part, month] += int(issues)


def _add_for_life(read: Reading, history: History) -> None:
    """Sets that were removed near a limit of their life, and what their hubs took, count as planned use."""
    limits = (
        f"(t.life_minutes IS NOT NULL AND r.used_minutes >= {NEAR_LIFE} * t.life_minutes) OR "
        f"(t.life_flights IS NOT NULL AND r.used_flights >= {NEAR_LIFE} * t.life_flights)"
    )
    rows = read.rows(
        "SELECT t.id, p.type_position_id, substr(e.at, 1, 7), count(*) FROM removal r JOIN event e ON e.id = r.event_id "
        "JOIN rotor_set s ON s.id = r.rotor_set_id JOIN part t ON t.id = s.part_id JOIN position p ON p.id = r.position_id "
        f"WHERE r.purpose = 'replacement' AND e.at >= ? AND e.at < ? AND ({limits}) GROUP BY 1, 2, 3",
        *_window(history),
    )
    for part, type_position, month, count in rows:
        history.for_life[part, month] += int(count)
        for other, quantity in hub_takes(read, type_position).items():
            history.for_life[other, month] += int(count) * quantity


def hub_takes(read: Reading, type_position_id: int) -> dict[int, int]:
    """What fixing one hub takes, by part: screws, washers, threadlocker."""
    fixing = read.get(HubFixing, read.get(TypePosition, type_position_id).hub_fixing_id)
    takes: dict[int, int] = defaultdict(int)
    takes[fixing.screw_part_id] += fixing.screws_per_hub
    if fixing.washer_part_id:
        takes[fixing.washer_part_id] += fixing.washers_per_hub
    if fixing.locker_part_id:
        takes[fixing.locker_part_id] += fixing.locker_ul_per_screw * fixing.screws_per_hub
    return {part: quantity for part, quantity in takes.items() if quantity}


def months_back(month: str, count: int) -> tuple[str, ...]:
    """The last months up to one, oldest first, as "2026-03"."""
    last = int(month[:4]) * 12 + int(month[5:7]) - 1
    return tuple(f"{n // 12:04d}-{n % 12 + 1:02d}" for n in range(last - max(1, count) + 1, last + 1))
