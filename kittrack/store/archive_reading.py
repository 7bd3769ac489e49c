"""Reading an archive into an empty store of either engine, in one transaction that verifies what it made."""

import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from itertools import islice
from pathlib import Path
from typing import Any, Final

from kittrack.domain.rules import Rule
from kittrack.errors import BadInput, Conflict, Refusal, Refused, StoreError
from kittrack.store.act import Reading
from kittrack.store.addresses import parts_of, without_password
from kittrack.store.archive import Archive, archived_tables, check_hashes, opened
from kittrack.store.backup import file_url
from kittrack.store.database import Store, open_store
from kittrack.store.engines import sqlite_path
from kittrack.store.fold import Progress, against_head, chain_head, differences
from kittrack.store.private import new_file
from kittrack.store.records import TABLES, Movement, Place
from kittrack.store.tables import columns, insert_sql, referred_table

_OWN_RULES: Final = ("the store's own", "that is in the store already")
"""How the sentences begin with which the store refuses a row that its guards or checks forbid."""
_AT_ONCE: Final = 100  # rows of one statement; 45 columns of them stay below what either engine binds at once


@contextmanager
def reading_in(
    path: Path, url: str, *, expected_head: str = "", progress: Progress | None = None
) -> Iterator[Store]:
    """Make a store of an archive; gives it open, and lets it count when all went well.

    Args:
        path: the archive.
        url: where no store is yet: a SQLite file that isn't there, or an empty PostgreSQL database.
        expected_head: "number:hash" that was kept outside; its history must hold it.
        progress: called with (tables done, tables in all).

    Raises:
        BadInput: the archive is damaged, or what it holds is not sound; nothing of it stays.
        Refused: there is a store already.
    """
    with opened(path) as archive:
        check_hashes(archive)
        if parts_of(url).scheme == "sqlite":
            with new_file(sqlite_path(url)) as part:
                part.unlink()  # the store makes its own file under this name
                with _filled(archive, file_url(part), expected_head, progress) as store:
                    yield store
            return
        with _filled(archive, url, expected_head, progress) as store:
            yield store


@contextmanager
def thrown_away(path: Path, *, progress: Progress | None = None) -> Iterator[Store]:
    """Make a store of an archive that is gone after the block, to look at it."""
    with (
        tempfile.TemporaryDirectory(prefix="kittrack-check-") as folder,
        reading_in(path, file_url(Path(folder) / "look.kittrack"), progress=progress) as store,
    ):
        yield store


@contextmanager
def _filled(archive: Archive, url: str, expected_head: str, progress: Progress | None) -> Iterator[Store]:
    store = open_store(url, create=True, demo=bool(archive.manifest.is_demo))
    is_loaded = False
    try:
        with store.all_or_nothing():
            load(store, archive, progress=progress)
            _require_head(store, expected_head)
            is_loaded = True
            yield store
    except (Conflict, StoreError) as error:
        if is_loaded or not str(error).startswith(_OWN_RULES):
            raise
        raise BadInput(f"the archive holds what no store can ({error}); nothing was read in") from error
    finally:
        store.close()


def load(store: Store, archive: Archive, *, progress: Progress | None = None) -> None:
    """Write the rows of an archive into an empty store, inside the caller's transaction, and verify them.

    Raises:
        Refused: the store is not empty.
        BadInput: the rows don't agree with their own history, or a guard of the store refuses one.
    """
    read = Reading(store._database, engine=store.engine)  # noqa: SLF001 - loading is the store's own business
    if any(read.value(f'SELECT 1 FROM "{name}" LIMIT 1') for name in TABLES):
        message = (
            f"There is a store at {without_password(store.url)} already; name a place where there is none."
        )
        raise Refused([Refusal(Rule.NOTHING_ERASED, "store", message)])
    try:
        with _references_wait(read):
            names = [
                n for n in archived_tables() if n != Movement.shape.name and n in archive.manifest.tables
            ]
            for done, name in enumerate(names):
                _load_table(read, archive, name)
                if progress:
                    progress(done + 1, len(names) + 1)
        _load_table(read, archive, Movement.shape.name)
        _close_places(read, archive)
    except ValueError as error:  # a text that this engine can't hold
        raise BadInput("the archive holds a text that can't be stored here; nothing was read in") from error
    manifest = archive.manifest
    _write(
        read,
        "UPDATE store_stamp SET is_demo = ?, number_floor = ?",
        (manifest.is_demo, manifest.number_floor),
    )
    _require_sound(read, manifest.head)
    if progress:
        progress(len(names) + 1, len(names) + 1)


def _write(read: Reading, sql: str, params: Sequence[Any] = ()) -> None:
    read._run(sql, params)  # noqa: SLF001 - these rows are history already and no act of today


def _load_table(read: Reading, archive: Archive, name: str) -> None:
    record = TABLES[name]
    names = columns(record)
    head, _, one = insert_sql(record).partition(" VALUES ")
    rows = archive.rows(name)
    if record is Place:
        rows = (_as_at_first(row, names) for row in rows)
    while batch := list(islice(rows, _AT_ONCE)):
        _write(read, f"{head} VALUES {', '.join([one] * len(batch))}", [v for row in batch for v in row])


def _as_at_first(row: tuple[Any, ...], names: tuple[str, ...]) -> tuple[Any, ...]:
    """A place open and in use, as it was while things were moved there; it is closed after the movements."""
    known = {"closed": 0, "active": 1}
    return tuple(known.get(c, v) for c, v in zip(names, row, strict=True))


def _close_places(read: Reading, archive: Archive) -> None:
    names = columns(Place)
    closed, active = names.index("closed"), names.index("active")
    for row in archive.rows(Place.shape.name):
        if row[closed] or not row[active]:
            _write(
                read,
                "UPDATE place SET closed = ?, active = ? WHERE id = ?",
                (row[closed], row[active], row[0]),
            )


@contextmanager
def _references_wait(read: Reading) -> Iterator[None]:
    """Let references be checked at the end of the block, since rows refer to each other both ways."""
    if read.engine == "sqlite":
        _write(read, "PRAGMA defer_foreign_keys = ON")
        yield
        return
    found = [
        (record.shape.name, f"{record.shape.name}_refers_{column}")
        for record in TABLES.values()
        for column in columns(record)
        if referred_table(record, column) not in (None, "event")
    ]
    for table, name in found:
        _write(read, f'ALTER TABLE "{table}" ALTER CONSTRAINT "{name}" DEFERRABLE INITIALLY DEFERRED')
    yield
    _write(read, "SET CONSTRAINTS ALL IMMEDIATE")
    for table, name in found:
        _write(read, f'ALTER TABLE "{table}" ALTER CONSTRAINT "{name}" NOT DEFERRABLE')
    _write(read, "SET CONSTRAINTS ALL DEFERRED")


def _require_head(store: Store, expected: str) -> None:
    with store.reading() as read:
        against = next(against_head(read, expected), None)
    if against is not None:
        raise BadInput(
            f"the archive's history is not the one that was noted outside it: {against.message}; nothing was read in"
        )


def _require_sound(read: Reading, head: str) -> None:
    first = next(differences(read), None)
    number, digest = chain_head(read)
    if first is not None:
        raise BadInput(
            f"the archive's rows don't agree with its history: {first.message}; nothing was read in"
        )
    if f"{number}:{digest}" != head:
        raise BadInput("the archive's history does not end where its manifest tells; nothing was read in")
    if read.engine == "sqlite" and read.rows("PRAGMA foreign_key_check"):
        raise BadInput("the archive holds rows that refer to what is not there; nothing was read in")
