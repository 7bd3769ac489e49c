"""The rule of backups, how old the newest on record is, and which files of a folder are beyond what is kept.

Nothing is ever deleted here: files beyond the retention are only named. Source: design 2, R12.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Final

from kittrack.store.act import Reading, instant_text, read_instant_text
from kittrack.store.head_note import heads_noted_in

SUBJECT: Final = "backups"
DAYS, KEPT = "days between backups", "backups that are kept"
"""The names of the two settings among the changes of settings."""
MADE: Final = ("make a backup", "make an archive")
"""The acts by which a copy is on record."""


@dataclass(frozen=True)
class BackupRule:
    """How many days old the newest backup may be, and how many of the newest files are kept.

    The values before anybody sets them are common practice, no source.
    """

    days: int = 3
    kept: int = 30


@dataclass(frozen=True)
class BackupFile:
    """A backup or archive beside its note: its last event and head, when the file was written, what it is worth.

    `is_of_this_store` says whether the head is in this store's history; `is_beyond` that more newer ones are kept
    than the retention asks for.
    """

    file: str
    event: int
    head: str
    written: datetime
    is_of_this_store: bool
    is_beyond: bool


def rule_of(read: Reading) -> BackupRule:
    """The rule as it was set last."""
    first = BackupRule()
    return BackupRule(_last(read, DAYS, first.days), _last(read, KEPT, first.kept))


def _last(read: Reading, name: str, before: int) -> int:
    found = read.value(
        "SELECT new FROM setting_change WHERE subject = ? AND name = ? ORDER BY id DESC LIMIT 1",
        SUBJECT, name,
    )  # fmt: skip
    return int(found) if found else before


def age_of_newest(read: Reading, *, at: datetime, within_days: int) -> timedelta | None:
    """How old the newest backup on record is; None where none was made within so many days."""
    marks = ", ".join("?" * len(MADE))
    since = instant_text(at - timedelta(days=within_days))
    last = read.value(
        f"SELECT max(at) FROM event WHERE at >= ? AND act IN ({marks})",
        since, *MADE,
    )  # fmt: skip
    return at - read_instant_text(last) if last else None


def files_in(read: Reading, folder: Path) -> tuple[BackupFile, ...]:
    """The backups and archives of a folder that have a note, the newest first."""
    kept = rule_of(read).kept
    own: list[BackupFile] = []
    for file, head in sorted(heads_noted_in(folder), key=lambda one: _order(*one), reverse=True):
        number, _, digest = head.partition(":")
        known = bool(read.value("SELECT hash FROM event WHERE id = ?", int(number)) == digest)
        is_beyond = known and _count(own) >= kept
        own.append(BackupFile(file.name, int(number), head, _written(file), known, is_beyond))
    return tuple(own)


def _count(files: Sequence[BackupFile]) -> int:
    return sum(f.is_of_this_store for f in files)


def _order(file: Path, head: str) -> tuple[int, str]:
    return int(head.partition(":")[0]), file.name


def _written(file: Path) -> datetime:
    return datetime.fromtimestamp(file.stat().st_mtime, UTC)
