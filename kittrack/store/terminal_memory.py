"""What this computer remembers of a store outside it: the head that it saw last, and whether a run ended well.

A store that was copied without its companion file, cut off, or put back from an old copy is sound in itself;
only a head that is kept elsewhere shows what is missing. A store is known by its first event, so that a copy of
it is known as one. Small private files hold this, in KITTRACK_STATE or the user's state folder; where they can't
be written, work goes on without them. Source: design 2 (the head is also kept outside the store), R12.
"""

import json
import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final

from kittrack.errors import StoreError
from kittrack.store.act import Reading, instant_text
from kittrack.store.addresses import without_password
from kittrack.store.backup_rules import MADE
from kittrack.store.database import Store
from kittrack.store.fold import chain_head

_MOST_BYTES: Final = 10_000


@dataclass(frozen=True)
class LastSeen:
    """The head of a store as this computer saw it last: the event's number and hash, when, and where."""

    number: int
    hash: str
    at: str
    url: str


@dataclass(frozen=True)
class LeftOpen:
    """A run of kittrack that did not end well: when it began, who acted, and the head that it began with."""

    at: str
    who: str
    number: int


def folder() -> Path:
    """Where this computer's memory is: KITTRACK_STATE, or the user's own state folder."""
    given = os.environ.get("KITTRACK_STATE")
    if given:
        return Path(given).expanduser()
    from platformdirs import user_state_path

    return user_state_path("kittrack", appauthor=False)


# ---- the head that was seen last -------------------------------------------------------------------


def last_seen(read: Reading) -> LastSeen | None:
    """What this computer saw of the store last, or None where it never did."""
    name = name_of(read)
    kept = _read(folder() / f"{name}.seen.json") if name else None
    try:
        return LastSeen(**kept) if kept else None
    except TypeError:
        return None


def agrees(read: Reading, seen: LastSeen) -> bool:
    """Whether the event that was seen last is in the store as it was."""
    return bool(read.value("SELECT hash FROM event WHERE id = ?", seen.number) == seen.hash)


def remember(store: Store, *, is_settled: bool = False) -> None:
    """Keep the head of a store, unless what is kept does not agree with it and nobody settled that.

    That a copy was made is no part of the head: it is put on record after the copy, so the copy never holds it,
    and a store that is made of the copy would be told to lack something.

    Args:
        is_settled: a manager recorded that the store goes on after a loss, so what was seen before is past.
    """
    with suppress(StoreError), store.reading() as read:
        name, seen = name_of(read), last_seen(read)
        number, digest = _head_but_for_copies(read)
        if not name or (seen and not is_settled and (seen.number == number or not agrees(read, seen))):
            return
        _keep_head(name, number, digest, url=without_password(store.url))


def _head_but_for_copies(read: Reading) -> tuple[int, str]:
    marks = ", ".join("?" * len(MADE))
    row = read.row(f"SELECT id, hash FROM event WHERE act NOT IN ({marks}) ORDER BY id DESC LIMIT 1", *MADE)
    return (int(row[0]), str(row[1])) if row else (0, "")


def _keep_head(name: str, number: int, digest: str, *, url: str) -> None:
    now = instant_text(datetime.now(UTC))
    _write(folder() / f"{name}.seen.json", asdict(LastSeen(number, digest, now, url)))


# ---- whether it was ended well ---------------------------------------------------------------------


@dataclass
class Run:
    """One run of kittrack on a store; `is_cut_short` where the terminal went away under it."""

    is_cut_short: bool = False


@contextmanager
def opened_here(store: Store, *, who: str = "") -> Iterator[Run]:
    """Mark that kittrack works on a store here, until the block ends.

    Where the process is killed, or the run says that it was cut short, the mark stays for the next start. The
    operating system gives up the lock on it with the process, whatever ends it.
    """
    mark, run = _mark(store, who), Run()
    try:
        yield run
    finally:
        if mark is not None:
            _let_go(mark, keeps=run.is_cut_short)


def left_open(read: Reading) -> tuple[LeftOpen, ...]:
    """Every run on this store that ended without taking its mark away, the oldest first."""
    name, found = name_of(read), []
    with suppress(OSError):
        for mark in sorted(folder().glob(f"{name}.open-*.json")) if name else ():
            kept = _read(mark) if _is_abandoned(mark) else None
            with suppress(TypeError):
                found += [LeftOpen(**kept)] if kept else []
    return tuple(sorted(found, key=lambda run: run.at))


def is_at_work(name: str, pid: int) -> bool:
    """Whether another process of this computer works on the store of a name."""
    mark = folder() / f"{name}.open-{pid}.json"
    with suppress(OSError):
        return mark not in _held and mark.exists() and not _is_abandoned(mark)
    return False


def forget_left_open(store: Store) -> None:
    """Take away the marks of runs that are over, once a person was told of them."""
    with store.reading() as read:
        name = name_of(read)
    with suppress(OSError):
        for mark in folder().glob(f"{name}.open-*.json") if name else ():
            if _is_abandoned(mark):
                mark.unlink(missing_ok=True)


_held: Final[dict[Path, int]] = {}
"""The open marks of this process; their locks live as long as it does."""


def _mark(store: Store, who: str) -> Path | None:
    with store.reading() as read:
        name, (number, _) = name_of(read), chain_head(read)
    if not name or os.name != "posix":
        return None
    path = folder() / f"{name}.open-{os.getpid()}.json"
    if not _write(path, asdict(LeftOpen(instant_text(datetime.now(UTC)), who, number))):
        return None
    _lock(path)
    return path


def _let_go(mark: Path, *, keeps: bool) -> None:
    with suppress(OSError):
        if not keeps:
            mark.unlink(missing_ok=True)
        if mark in _held:
            os.close(_held.pop(mark))


def _lock(path: Path) -> None:
    import fcntl

    with suppress(OSError):
        number = os.open(path, os.O_RDWR)
        fcntl.flock(number, fcntl.LOCK_EX | fcntl.LOCK_NB)
        if path in _held:
            os.close(_held[path])
        _held[path] = number


def _is_abandoned(mark: Path) -> bool:
    if os.name != "posix" or mark in _held:
        return False
    import fcntl

    with mark.open("rb") as file:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            return False
    return True


# ---- files -----------------------------------------------------------------------------------------


def name_of(read: Reading) -> str:
    """A store's name here: the beginning of its first event's hash; empty for an empty or a demo store."""
    if read.value("SELECT is_demo FROM store_stamp"):
        return ""
    return str(read.value("SELECT hash FROM event WHERE id = 1") or "")[:32]


def _read(path: Path) -> dict[str, Any] | None:
    try:
        with path.open("rb") as file:
            found = json.loads(file.read(_MOST_BYTES))
    except (OSError, ValueError):
        return None
    return found if isinstance(found, dict) else None


def _write(path: Path, content: dict[str, Any]) -> bool:
    """Write the whole file or nothing, readable by its owner only; whether it could be."""
    fresh = path.with_name(f"{path.name}.{os.getpid()}")
    try:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        number = os.open(fresh, os.O_CREAT | os.O_TRUNC | os.O_WRONLY, 0o600)
        with os.fdopen(number, "w", encoding="utf-8") as file:
            json.dump(content, file)
        fresh.replace(path)
    except OSError:
        with suppress(OSError):
            fresh.unlink(missing_ok=True)
        return False
    return True
