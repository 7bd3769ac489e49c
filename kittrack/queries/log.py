"""The event log, paged by key: who did what, when and why."""

import json
from dataclasses import dataclass
from typing import Any

from kittrack.store.database import Store
from kittrack.store.stated_time import recorded_at


@dataclass(frozen=True)
class LogEntry:
    """One event. `codes` are the codes it gave out; `moved` counts its movements.

    `recorded` is what the computer's clock said, where the act was stated to be of another time.
    """

    event: int
    at: str
    act: str
    by: str
    second: str
    reason: str
    codes: tuple[str, ...]
    moved: int
    hash: str
    recorded: str = ""


def event_log(
    store: Store, *, before: int | None = None, limit: int = 50, act: str = "", person: str = ""
) -> tuple[LogEntry, ...]:
    """The newest events first, those before an event number where one is given.

    Args:
        store: the store.
        before: answer events with a smaller number; the last of one page leads to the next.
        limit: how many at the most, 1 to 1000.
        act: only acts with this name.
        person: only acts of the person with this name or badge code.
    """
    tests = ["e.id < ?"]
    given: list[Any] = [before if before is not None else 1 << 62]
    if act:
        tests.append("e.act = ?")
        given.append(act)
    if person:
        tests.append("(b.name = ? OR b.code = ?)")
        given += [person, person.upper()]
    sql = (
        "SELECT e.id, e.at, e.act, b.name, coalesce(s.name, ''), e.reason, e.statements, "
        "(SELECT count(*) FROM movement m WHERE m.event_id = e.id), e.hash FROM event e JOIN person b ON b.id = e.by_id "
        f"LEFT JOIN person s ON s.id = e.second_id WHERE {' AND '.join(tests)} ORDER BY e.id DESC LIMIT ?"
    )
    with store.reading() as read:
        rows = read.rows(sql, *given, max(1, min(limit, 1000)))
    return tuple(
        LogEntry(i, at, name, by, second, why, _codes(told), moved, digest, recorded_at(told))
        for i, at, name, by, second, why, told, moved, digest in (
            (*r[:6], json.loads(r[6]), *r[7:]) for r in rows
        )
    )


def _codes(statements: list[Any]) -> tuple[str, ...]:
    found = [s[2].get("code") for s in statements if s[0] == "insert" and isinstance(s[2], dict)]
    return tuple(dict.fromkeys(code for code in found if code and not code.startswith("*")))


def event_with_key(store: Store, *, key: str) -> LogEntry | None:
    """The event of an act in doubt, by the caller's own name for it; None when it was never recorded."""
    with store.reading() as read:
        number = read.value("SELECT id FROM event WHERE key = ?", key)
    if number is None:
        return None
    return event_log(store, before=number + 1, limit=1)[0]
