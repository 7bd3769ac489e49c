"""A store: its transactions, and opening it at the version that this program writes.

A store is named by a URL: `sqlite:///path/to/file` or `postgresql://user@host:port/name`. The database
library's errors are translated in `_translated` alone. Source: design A4.
"""

import sqlite3
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager, suppress
from datetime import datetime
from pathlib import Path
from typing import Any

import peewee

from kittrack.errors import BadInput, NoStore, Refusal, Refused, StoreError
from kittrack.store import rights, schema
from kittrack.store.act import Act, Reading, known_person
from kittrack.store.addresses import without_password
from kittrack.store.engines import engine_of
from kittrack.store.entries import Entries
from kittrack.store.fault_words import clash, first_cause, plain
from kittrack.store.records import Event, Person
from kittrack.store.stated_time import keep_clock
from kittrack.store.turns import Begin, begin_reading, take_turn

WRITER_LOCK = 0x6B6974
"""The advisory lock that lets one act at a time write to a PostgreSQL store, as SQLite does by itself."""


_NOT_RECORDED = "the connection to the store was lost; nothing of this act was recorded: do it again"


class ConnectionLost(StoreError):
    """The server's connection went in the middle; the message says what became of the act."""


class Store:
    """An open store. One object serves one thread; the stations own one behind a single-thread executor."""

    def __init__(self, database: Any, *, engine: str, url: str) -> None:
        self._database = database
        self.engine = engine
        self.url = url
        self._asked: Any = None
        self.entries = Entries()
        self._clock: datetime | None = None

    def interrupt(self) -> None:
        """Stop the question that another thread asks of this store now; acts are never stopped half way."""
        asked = self._asked
        if asked is None:
            return
        with suppress(sqlite3.ProgrammingError, peewee.DatabaseError):
            asked.interrupt() if self.engine == "sqlite" else asked.cancel()

    def close(self) -> None:
        """Give the connection back."""
        if not self._database.is_closed():
            self._database.close()

    @property
    def is_demo(self) -> bool:
        """Whether this store holds the invented scenario."""
        with self.reading() as read:
            return bool(read.value("SELECT is_demo FROM store_stamp"))

    @contextmanager
    def reading(self) -> Iterator[Reading]:
        """A transaction in which every question sees the same moment of the store."""
        # Inside acts that stand or fall together, their own transaction already shows one moment.
        inside = self._database.in_transaction()
        with _translated(self), self._transaction(begin_reading):
            self._asked = None if inside else self._database.connection()
            try:
                yield Reading(self._database, engine=self.engine)
            finally:
                self._asked = None

    @contextmanager
    def act(
        self,
        name: str,
        *,
        by: str,
        at: datetime,
        second: str | None = None,
        reason: str = "",
        key: str = "",
        corrects_clock: bool = False,
    ) -> Iterator[Act]:
        """One act of one person: one transaction, one event.

        Args:
            name: the act in words, as the event log shows it.
            by: the code or the exact name of the person who acts.
            at: the aware instant of the act, never before the last record.
            second: the code or name of the second person, where one confirms.
            reason: why, in the person's words, where the act needs it.
            key: the caller's own name for the act, by which a doubtful one can be looked up.
            corrects_clock: the act says that the clock was wrong; it alone may lie before the last record.

        Raises:
            NotFound: a person is unknown.
            Refused: a person has left (R8 needs people who are there).
            Conflict, StoreError, BadInput: as the database says.
        """
        with self._in_no_doubt() as recorded, self._writing():
            act = Act(
                self._database, engine=self.engine, name=name, at=at, reason=reason, key=key,
                corrects_clock=corrects_clock,
            )  # fmt: skip
            names = [by, second] if second else [by]
            people = [
                _here(found, name) for found, name in zip(act.people_known_as(*names), names, strict=True)
            ]
            act.by_id = people[0].id
            act.second_id = people[1].id if second else None
            yield act
            self.entries.keep(act)
            keep_clock(act, self._clock)
            recorded.append(act.conclude())
        self.entries = Entries()

    def entered(self, text: str, *, typed: bool) -> None:
        """Tell how a number of ours came in that the next act is about: by a scanner, or typed from the label.

        What is told is kept with the next act that succeeds, and only with that one.
        """
        self.entries = self.entries.with_one(text, typed=typed)

    def told_clock(self, clock: datetime) -> None:
        """Tell what the computer's clock says to a store whose acts come with a time that somebody stated."""
        self._clock = clock

    def forget_entries(self) -> None:
        """What was entered is not acted on: somebody starts again."""
        self.entries = Entries()

    @contextmanager
    def founding(self, name: str, *, at: datetime) -> Iterator[Act]:
        """The first act of an empty store; it names its own first person in `act.by_id`."""
        with self._writing():
            act = Act(self._database, engine=self.engine, name=name, at=at)
            yield act
            keep_clock(act, self._clock)
            act.conclude()

    @contextmanager
    def all_or_nothing(self) -> Iterator[None]:
        """Many acts that stand or fall together, each an event of its own; nothing stays where one fails."""
        with self._writing():
            yield

    @contextmanager
    def _writing(self) -> Iterator[None]:
        with _translated(self), self._transaction(take_turn):
            if self.engine == "postgresql":
                self._database.execute_sql("SELECT pg_advisory_xact_lock(%s)", (WRITER_LOCK,))
            yield

    def page_faults(self, *, with_indexes: bool = False) -> tuple[str, ...]:
        """What SQLite itself finds wrong with the pages of the file; nothing on PostgreSQL, which looks after its own.

        Args:
            with_indexes: also compare each index with its table, which takes several times as long.

        Raises:
            StoreError: the file is damaged so much that it can't be looked through.
        """
        if self.engine != "sqlite":
            return ()
        check = "integrity_check" if with_indexes else "quick_check"
        with _translated(self):
            said = [str(row[0]) for row in self._database.execute_sql(f"PRAGMA {check}(5)").fetchall()]
        return () if said == ["ok"] else tuple(said)

    def give_rights(self, role: str, *, password: str = "") -> bool:
        """Give a PostgreSQL role the rights of a terminal (rights.py); whether the role was made for it."""
        with self._writing():
            return rights.give_rights(self._database, role, password=password)

    @contextmanager
    def _transaction(self, begin: Begin) -> Iterator[None]:
        """A transaction; a connection that was lost since the last one is made anew, since nothing hangs on it."""
        with ExitStack() as stack:
            try:
                begin(stack, self._database, engine=self.engine)
            except peewee.DatabaseError:
                if not self._is_lost():
                    raise
                self._database.close()
                begin(stack, self._database, engine=self.engine)
            yield

    def _is_lost(self) -> bool:
        """Whether the connection to a server is gone; peewee goes on by itself with the next one."""
        database = self._database
        return self.engine == "postgresql" and not database.is_closed() and bool(database.connection().closed)

    @contextmanager
    def _in_no_doubt(self) -> Iterator[list[Event]]:
        """Settle what became of an act whose connection was lost while it was being recorded.

        The event that the act concludes with is put into the list. Where it turns out to be in the store, the act is
        done; the writer's lock is waited for before looking, so that the lost connection's own end has come.

        Raises:
            ConnectionLost: it isn't there and the act can be done again, or nobody can say.
        """
        events: list[Event] = []
        inside = self._database.in_transaction()
        try:
            yield events
        except ConnectionLost as lost:
            if inside or not events:
                raise
            if not self._holds(events[0]):
                raise ConnectionLost(_NOT_RECORDED) from lost

    def _holds(self, event: Event) -> bool:
        try:
            with self._writing():
                read = Reading(self._database, engine=self.engine)
                return bool(read.value("SELECT hash FROM event WHERE id = ?", event.id) == event.hash)
        except StoreError as error:
            raise ConnectionLost(
                f"the connection to the store was lost while {event.act!r} was being recorded, and the store can't be "
                f"reached to see whether it was; look for it before doing it again: kittrack log, at {event.at}, key {event.key!r}"
            ) from error

    def stamp(self) -> tuple[int, bool]:
        """The schema version and whether the store is a demo."""
        with self.reading() as read:
            version, demo = read.row("SELECT schema_version, is_demo FROM store_stamp") or (0, 0)
        return int(version), bool(demo)


def _here(person: Person | None, who: str) -> Person:
    """The person who was looked for, who has not left."""
    found = known_person(person, who)
    if not found.active:
        message = f"{found.name} has left and can't act; let somebody who is here do it."
        raise Refused([Refusal("R8", found.code, message)])
    return found


# ---- opening -----------------------------------------------------------------------------------


def open_store(url: str, *, create: bool = False, demo: bool = False, file: Path | None = None) -> Store:
    """Open a store, and make or bring it up to date where that is due.

    Args:
        url: `sqlite:///path` or `postgresql://...`.
        create: make an empty store where there is none.
        demo: mark a store that is made here as holding the invented scenario.
        file: where a SQLite file lies until it is put in its place (making.py).

    Raises:
        StoreError: it isn't there, isn't ours, is newer, is on a network share, is locked or damaged.
        BadInput: the URL can't be read.
    """
    engine, database = engine_of(url, create=create, file=file)
    store = Store(database, engine=engine, url=url)
    try:
        with _translated(store):
            store._database.connect(reuse_if_open=True)  # noqa: SLF001 - the store is being made here
            _bring_up_to_date(store, create=create, demo=demo)
    except BaseException:
        store.close()
        raise
    return store


def _bring_up_to_date(store: Store, *, create: bool, demo: bool) -> None:
    version = _version(store)
    newest = schema.newest_version(store.engine)
    if version is None and not create:
        raise NoStore(f"{without_password(store.url)} holds no kittrack store; make one with: kittrack found")
    if version is not None and version > newest:
        raise StoreError(
            f"the store was written by a newer kittrack (schema {version}, this one knows {newest}); "
            "update kittrack, nothing was changed"
        )
    if version == newest:
        schema.check_triggers(store._database, engine=store.engine)  # noqa: SLF001 - one module, two names
        return
    with store._writing():  # noqa: SLF001 - as above
        version = _version(store)
        if version is None:
            _make_stamp(store, demo=demo)
        elif store.engine == "postgresql":
            _require_owner(store, version, newest)
        for number, text in schema.migrations(store.engine):
            if number > (version or 0):
                schema.apply_migration(store._database, number, text, engine=store.engine)  # noqa: SLF001 - as above
        schema.check_triggers(store._database, engine=store.engine)  # noqa: SLF001 - as above
        if version is not None and store.engine == "postgresql":
            rights.renew_rights(store._database)  # noqa: SLF001 - as above


def _require_owner(store: Store, version: int, newest: int) -> None:
    if not rights.owns_tables(store._database):  # noqa: SLF001 - one module, two names
        raise StoreError(
            f"the store was written by an earlier kittrack (schema {version}, this one writes {newest}), and this "
            "database role may not bring it up to date; open it once as the owner of its tables: "
            "kittrack verify --store postgresql://OWNER@HOST/NAME"
        )


def _version(store: Store) -> int | None:
    """The stamp's schema version; None for an empty database.

    Raises:
        StoreError: the database belongs to another program.
    """
    database = store._database  # noqa: SLF001 - one module, two names
    tables = set(database.get_tables())
    if "store_stamp" in tables:
        program, version = database.execute_sql(
            "SELECT program, schema_version FROM store_stamp"
        ).fetchone() or ("", 0)
        if program == schema.PROGRAM:
            return int(version)
    if tables:
        raise StoreError(
            f"{without_password(store.url)} belongs to another program; nothing was changed, name another store"
        )
    return None


def _make_stamp(store: Store, *, demo: bool) -> None:
    database = store._database  # noqa: SLF001 - one module, two names
    if store.engine == "sqlite":
        database.execute_sql(f"PRAGMA application_id = {schema.APPLICATION_ID}")
    database.execute_sql(
        "CREATE TABLE store_stamp (id INTEGER NOT NULL PRIMARY KEY CONSTRAINT one_stamp CHECK (id = 1), "
        "program TEXT NOT NULL, schema_version INTEGER NOT NULL, is_demo INTEGER NOT NULL, "
        "number_floor INTEGER NOT NULL DEFAULT 0)"
    )
    database.execute_sql(f"INSERT INTO store_stamp VALUES (1, 'kittrack', 0, {int(demo)}, 0)")


# ---- errors ------------------------------------------------------------------------------------


@contextmanager
def _translated(store: Store) -> Iterator[None]:
    try:
        yield
    except peewee.IntegrityError as error:
        raise clash(str(error)) from error
    except (peewee.DataError, OverflowError, UnicodeEncodeError) as error:
        raise BadInput(
            "a value is too large or holds characters that can't be stored; nothing was recorded"
        ) from error
    except (
        peewee.OperationalError,
        peewee.InterfaceError,
        peewee.DatabaseError,
        sqlite3.DatabaseError,
    ) as error:
        if store._is_lost():  # noqa: SLF001 - one module, two names
            raise ConnectionLost(_NOT_RECORDED) from error
        if store.engine == "postgresql":
            store.close()
        raise StoreError(plain(first_cause(error), store.url)) from error
    except UnicodeDecodeError as error:  # SQLite's own words repeat what it could not read
        raise StoreError(plain("malformed", store.url)) from error
