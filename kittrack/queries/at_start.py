"""What kittrack has to say when a store is opened: what happened since it was closed, and what to do.

Each look is cheap, so that it is made at every start: the head that this computer saw last, the clock, the newest
events, the file and its disk, a run that did not end well; managers also hear of backups and of the database role.
Source: design 2, R12.
"""

import os
import shutil
import stat
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Final
from zoneinfo import ZoneInfo

from kittrack.errors import NotFound
from kittrack.store import rights, terminal_memory
from kittrack.store.act import Reading, person_known_as, read_instant_text
from kittrack.store.backup_rules import BackupRule, age_of_newest, rule_of
from kittrack.store.database import Store
from kittrack.store.engines import sqlite_path
from kittrack.store.fold import newest_differences
from kittrack.store.records import PersonRole, Site
from kittrack.store.terminal_memory import LastSeen, LeftOpen

SETTLES: Final = ("restore a backup", "go on after a loss")
"""The acts by which a store goes on although events of it are lost."""
_LEAST_ROOM: Final = 100 * 2**20  # bytes: some weeks of events, and room for SQLite's companion file
_CLOCKS_APART: Final = timedelta(minutes=2)  # more than a computer without a time server drifts in a month
SMALL: Final = 4 * 2**20
"""Bytes of a file whose pages are looked through whenever the stations open (measured: 45 ms for 3.3 MB)."""


@dataclass(frozen=True)
class Message:
    """One thing that is said at start: what it is about, what happened, what to do; grave where work should stop."""

    about: str
    text: str
    next_step: str
    is_grave: bool = False


def messages_at_start(
    store: Store, *, at: datetime, who: str = "", most_bytes: int = 0
) -> tuple[Message, ...]:
    """Everything that whoever opens the store should know first, the grave things in front.

    Args:
        store: the store, just opened.
        at: now, by this computer's clock.
        who: who is signed on, by badge or name; managers also hear of backups and rights.
        most_bytes: every page of a SQLite file up to this size is looked through too.
    """
    with store.reading() as read:
        found = [*_history(read), *_newest(read), *_clock(read, at), *_left_open(read)]
        found += _of_file(store, most_bytes) if store.engine == "sqlite" else _server_clock(read, at)
        if who and _is_manager(read, who):
            found += _for_managers(read, at)
    return tuple(sorted(found, key=lambda m: not m.is_grave))


# ---- the history -----------------------------------------------------------------------------------


def _history(read: Reading) -> Iterator[Message]:
    seen = terminal_memory.last_seen(read)
    if seen is None or terminal_memory.agrees(read, seen) or is_settled(read, seen):
        return
    last = read.value("SELECT max(id) FROM event")
    when = _local(read, seen.at)
    if last < seen.number:
        text = (
            f"This store ends with event {last}; on {when} this computer saw event {seen.number} of it ({seen.url}). "
            "What was recorded in between is missing: an old copy was put in its place, or it was copied while "
            "somebody worked with it, without the -wal file beside it."
        )
    else:
        text = (
            f"Event {seen.number} is not the one that this computer saw on {when} ({seen.url}): the history was "
            "rewritten, or two copies of one store were worked with."
        )
    yield Message(
        "history", text,
        "Stop; look for the whole store or the newest backup. If there is none, let a manager say so, and new "
        "numbers begin: kittrack store go-on", is_grave=True,
    )  # fmt: skip


def is_settled(read: Reading, seen: LastSeen) -> bool:
    """Whether a manager recorded, after a head was seen, that the store goes on without what is lost."""
    marks = ", ".join("?" * len(SETTLES))
    sql = f"SELECT max(id) FROM event WHERE at >= ? AND act IN ({marks})"
    return read.value(sql, seen.at, *SETTLES) is not None


def _newest(read: Reading) -> Iterator[Message]:
    found = newest_differences(read)
    if found:
        yield Message(
            "history", f"The newest events don't hold together: {found[0].message}.",
            "Stop working with this store; see what else is wrong: kittrack verify. Then restore the last backup.",
            is_grave=True,
        )  # fmt: skip


def _left_open(read: Reading) -> Iterator[Message]:
    runs = terminal_memory.left_open(read)
    if runs:
        yield _told(read, runs[-1])


def _told(read: Reading, run: LeftOpen) -> Message:
    """A run that was cut short, and the last thing that it recorded."""
    by = f" ({run.who})" if run.who else ""
    text = f"kittrack was cut short here after {_local(read, run.at)}{by}: the terminal was closed, or the power went."
    person = (
        read.value("SELECT id FROM person WHERE code = ? OR name = ?", run.who, run.who) if run.who else None
    )
    sql = "SELECT e.id, e.act, e.at FROM event e WHERE e.id > ?" + (" AND e.by_id = ?" if person else "")
    last = read.row(f"{sql} ORDER BY e.id DESC LIMIT 1", run.number, *([person] if person else []))
    if last is None:
        return Message("last run", f"{text} Nothing of it was recorded.", "Do what was begun once more.")
    number, act, at = last
    text += (
        f" The last act on record since then is event {number}, {act!r}, at {_local(read, at)}; it is whole."
    )
    voucher = read.row(
        "SELECT v.code, k.code, p.name FROM voucher v JOIN kit k ON k.id = v.kit_id JOIN person p ON p.id = v.receiver_id "
        "WHERE v.event_id = ? AND v.state = 'open'", number,
    )  # fmt: skip
    if voucher is None:
        return Message("last run", text, "What was typed after it is not recorded: do it once more.")
    code, kit, receiver = voucher
    return Message(
        "last run", f"{text} It is voucher {code}: kit {kit} to {receiver}.",
        f"Was the kit handed over? If not, take it back: kittrack return unopened {kit}. Look the voucher up "
        f"before it is written again: kittrack what {code}",
    )  # fmt: skip


# ---- the clock -------------------------------------------------------------------------------------


def _clock(read: Reading, at: datetime) -> Iterator[Message]:
    last = read.row("SELECT id, at FROM event ORDER BY id DESC LIMIT 1")
    if last is None or read.value("SELECT is_demo FROM store_stamp") or read_instant_text(last[1]) <= at:
        return
    yield Message(
        "clock",
        f"The clock of this computer says {_zoned(read, at)}, and event {last[0]} was recorded at "
        f"{_local(read, last[1])}: the clock was set back, or was ahead then.",
        "Set the clock; nothing can be recorded until it is past that time. If it was wrong then and is right now, "
        "let a manager record it: kittrack clock correct",
        is_grave=True,
    )


def _server_clock(read: Reading, at: datetime) -> Iterator[Message]:
    server: datetime = read.value("SELECT now()")
    if abs(server - at) > _CLOCKS_APART:
        yield Message(
            "clock",
            f"The clock of this computer says {_zoned(read, at)}, the clock of the database {_zoned(read, server)}.",
            "Set the one that is wrong before anything is recorded: acts carry this computer's time.",
            is_grave=True,
        )


# ---- the file --------------------------------------------------------------------------------------


def _of_file(store: Store, most_bytes: int) -> Iterator[Message]:
    path = sqlite_path(store.url)
    yield from _room(path)
    if not path.exists():  # a store that is being founded is put in its place at the end (store/making.py)
        return
    yield from _rights(path)
    if path.stat().st_size <= most_bytes:
        for fault in store.page_faults()[:1]:
            yield Message(
                "file", f"The store's file is damaged: {fault}.",
                "Stop working with it; keep it as it is, and restore the last backup: kittrack backup restore",
                is_grave=True,
            )  # fmt: skip


def _rights(path: Path) -> Iterator[Message]:
    mode = stat.S_IMODE(path.stat().st_mode)
    if os.name == "posix" and mode & 0o007:
        yield Message(
            "file", f"Everybody on this computer may open {path}.", f"Make it private: chmod o= {path}",
        )  # fmt: skip


def _room(path: Path) -> Iterator[Message]:
    free = shutil.disk_usage(path.parent).free
    if free < _LEAST_ROOM:
        yield Message(
            "disk", f"The disk of the store has {free // 2**20} MB left.",
            "Make room now; when it is full, nothing more can be recorded.",
        )  # fmt: skip


# ---- what managers hear ----------------------------------------------------------------------------


def _is_manager(read: Reading, who: str) -> bool:
    try:
        person = person_known_as(read, who)
    except NotFound:
        return False
    return read.find(PersonRole, person_id=person.id, role="manager", active=1) is not None


def _for_managers(read: Reading, at: datetime) -> Iterator[Message]:
    rule = rule_of(read)
    if _is_overdue(read, at, rule):
        verb = "backup" if read.engine == "sqlite" else "archive"
        yield Message(
            "backup", f"No backup was recorded in the last {rule.days} days.",
            f"Make one and say who makes it: kittrack {verb} make FOLDER --by NAME; or say how old one may be: "
            "kittrack setting backups",
        )  # fmt: skip
    if read.engine == "postgresql" and rights.owns_tables(read._database):  # noqa: SLF001 - a question to the server
        yield Message(
            "database", "This terminal works as the owner of the store's tables, who could rewrite the history.",
            "Give the terminals a role of their own: kittrack database rights ROLE",
        )  # fmt: skip


def _is_overdue(read: Reading, at: datetime, rule: BackupRule) -> bool:
    """Whether a backup is due: the store is older than a backup may be, and none is on record that is younger."""
    founded = read.value("SELECT at FROM event WHERE id = 1")
    if founded is None or read.value("SELECT is_demo FROM store_stamp"):
        return False
    is_young = at - read_instant_text(founded) <= timedelta(days=rule.days)
    return not is_young and age_of_newest(read, at=at, within_days=rule.days) is None


# ---- times -----------------------------------------------------------------------------------------


def _local(read: Reading, text: str) -> str:
    return _zoned(read, read_instant_text(text))


def _zoned(read: Reading, at: datetime) -> str:
    zone = read.select(Site, limit=1)[0].time_zone
    return f"{at.astimezone(ZoneInfo(zone)):%Y-%m-%d %H:%M}"
