"""Backups of a store in one SQLite file: made while others work, verified before they count, restored.

A backup is a store file again. Beside it stands a note with the head of the chain, so that a backup that was
cut off or rewritten shows. Source: design 2, R12.
"""

import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Final
from urllib.parse import quote

from kittrack.errors import NotFound, StoreError
from kittrack.store.database import Store, open_store
from kittrack.store.fold import Progress, against_head, chain_head, differences
from kittrack.store.head_note import note_of, read_note, sha256_of, write_note
from kittrack.store.private import make_folder, new_file, refuse_existing

NOT_ITS_NOTE: Final = "the file is not the one that its note was written for: its SHA-256 differs"


@dataclass(frozen=True)
class Checked:
    """What was found in a backup or an archive. `faults` is empty where it is sound.

    `head` is the number and hash of its last event; `noted` is the head that the note beside it tells.
    """

    file: str
    events: int
    head: str
    noted: str
    faults: tuple[str, ...]


def file_url(path: Path) -> str:
    """The store URL of a SQLite file."""
    return f"sqlite:///{quote(str(path))}"


# ---- making ------------------------------------------------------------------------------------


def make_backup(store: Store, path: Path, *, progress: Progress | None = None) -> Checked:
    """Write a verified copy of an open SQLite store to a new private file, with its note beside it.

    Others go on working; the copy is one moment of the store.

    Raises:
        StoreError: the store is a PostgreSQL one, or the copy does not verify; then nothing stays.
        Refused: there is a file already.
    """
    if store.engine != "sqlite":
        raise StoreError(
            "a PostgreSQL store is backed up by an archive (kittrack archive make FILE), or by the server's own tools"
        )
    refuse_existing(note_of(path))
    with new_file(path) as part:
        _copy_database(store, part)
        found = _look_into(part, progress=progress)
        if found.faults:
            raise StoreError(
                f"the copy is not sound, so nothing was kept: {found.faults[0]}; look at the store: kittrack verify"
            )
        digest = sha256_of(part)
    write_note(path, name=path.name, events=found.events, head=found.head, digest=digest)
    return Checked(str(path), found.events, found.head, found.head, ())


def _copy_database(store: Store, part: Path) -> None:
    source: sqlite3.Connection = store._database.connection()  # noqa: SLF001 - the driver's own way to copy a live file
    try:
        with closing(sqlite3.connect(part)) as target:
            source.backup(target)
            target.execute("PRAGMA journal_mode = DELETE")  # one file, that opens on a read-only disk too
    except sqlite3.Error as error:
        raise StoreError(f"the store can't be copied ({error}); look at the room on the disk") from error


# ---- checking ----------------------------------------------------------------------------------


def check_backup(path: Path, *, expected_head: str = "", progress: Progress | None = None) -> Checked:
    """Look through a backup without changing it: its file, its history, its note.

    Args:
        path: the backup.
        expected_head: "number:hash" as a voucher or another note tells it; by default that of its own note.
        progress: called with (events done, events in all).
    """
    noted = read_note(path)
    if not path.is_file():
        raise NotFound(f"there is no backup at {path}; name another file")
    faults = () if noted.is_of(path) else (NOT_ITS_NOTE,)
    with tempfile.TemporaryDirectory(prefix="kittrack-check-") as folder:
        copy = Path(folder) / "copy.kittrack"
        _copy_file(path, copy)
        try:
            found = _look_into(copy, expected=expected_head or noted.head, progress=progress)
        except StoreError as error:
            said = str(error).replace(str(copy), str(path)).replace(quote(str(copy)), str(path))
            return Checked(str(path), 0, "", noted.head, (*faults, said))
    return Checked(str(path), found.events, found.head, noted.head, (*faults, *found.faults))


def _copy_file(path: Path, copy: Path) -> None:
    try:
        shutil.copyfile(path, copy)
        copy.chmod(0o600)
    except OSError as error:
        raise StoreError(f"{path} can't be read ({error.strerror}); look at its rights") from error


def _look_into(
    path: Path, *, name: Path | None = None, expected: str = "", progress: Progress | None = None
) -> Checked:
    _check_pages(path, name=name)
    store = open_store(file_url(path))
    try:
        return look_through(store, name=str(path), expected=expected, progress=progress)
    finally:
        store.close()
        _one_file(path)


def look_through(store: Store, *, name: str, expected: str = "", progress: Progress | None = None) -> Checked:
    """Every fault of an open store against its own history and a head that was noted outside it."""
    with store.reading() as read:
        faults = [d.message for d in differences(read, progress=progress)]
        number, digest = chain_head(read)
        faults += [d.message for d in against_head(read, expected)]
    return Checked(name, number, f"{number}:{digest}", expected, tuple(faults))


def _check_pages(path: Path, *, name: Path | None = None) -> None:
    """SQLite's own check of every page, which finds what no row shows; `name` is the file as a person knows it."""
    shown = name or path
    try:
        with closing(sqlite3.connect(path)) as raw:
            said = [row[0] for row in raw.execute("PRAGMA integrity_check(3)").fetchall()]
    except sqlite3.Error as error:
        raise StoreError(
            f"the file is damaged or no store ({error}): {shown}; take another backup"
        ) from error
    if said != ["ok"]:
        raise StoreError(f"the file is damaged: {shown}: {said[0]}; take another backup")


def _one_file(path: Path) -> None:
    with suppress(sqlite3.Error), closing(sqlite3.connect(path)) as raw:
        raw.execute("PRAGMA journal_mode = DELETE")


# ---- restoring ---------------------------------------------------------------------------------


@contextmanager
def restoring(
    backup: Path, path: Path, *, expected_head: str = "", progress: Progress | None = None
) -> Iterator[Store]:
    """Restore a backup as a new store file; gives it open, and puts it in place when all went well.

    Raises:
        StoreError: the backup is not sound; nothing was made.
        Refused: a store is there already.
    """
    noted = read_note(backup)
    refuse_existing(path)
    if not backup.is_file():
        raise NotFound(f"there is no backup at {backup}; name another file")
    if not noted.is_of(backup):
        raise StoreError(f"{backup} is not the file that its note was written for; take another backup")
    make_folder(path.parent)
    with new_file(path) as part:
        _copy_file(backup, part)
        found = _look_into(part, name=backup, expected=expected_head or noted.head, progress=progress)
        if found.faults:
            raise StoreError(
                f"{backup} is not sound, nothing was restored: {found.faults[0]}; take another backup"
            )
        store = open_store(file_url(part))
        try:
            yield store
        finally:
            store.close()
            _one_file(part)
