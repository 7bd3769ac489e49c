"""Opening a store, its transactions, and every difference between SQLite and PostgreSQL.

A store is named by a URL: `sqlite:///path/to/file` or `postgresql://user@host:port/name`. The database
library's errors are translated in `_translated` alone. Source: design A4.
"""

import os
import sqlite3
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager, suppress
from datetime import datetime
from pathlib import Path
from typing import Any
from urllib.parse import unquote

import peewee

from kittrack.errors import BadInput, Conflict, NoStore, Refusal, Refused, StoreError
from kittrack.store import rights, schema
from kittrack.store.act import Act, Reading, known_person
from kittrack.store.addresses import no_store, parts_of, without_password
from kittrack.store.entries import Entries
from kittrack.store.private import is_there, make_folder, secret_in
from kittrack.store.records import Event, Person
from kittrack.store.room import QUOTA, want_of_room
from kittrack.store.stated_time import keep_clock
from kittrack.store.turns import Begin, begin_reading, take_turn

WRITER_LOCK = 0x6B6974
"""The advisory lock that lets one act at a time write to a PostgreSQL store, as SQLite does by itself."""

NETWORK_FILESYSTEMS = frozenset(
    {"nfs", "nfs4", "cifs", "smb3", "smbfs", "smb2", "ncpfs", "afs", "9p", "fuse.sshfs", "fuse.rclone", "fuse.gvfsd-fuse",
     "davfs", "ceph", "glusterfs", "fuse.glusterfs", "lustre", "beegfs", "drvfs", "vboxsf", "prl_fs"}
)  # fmt: skip


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
    scheme = parts_of(url).scheme
    if scheme == "sqlite":
        store = Store(_sqlite(url, create=create, file=file), engine="sqlite", url=url)
    elif scheme in {"postgresql", "postgres"}:
        store = Store(_postgresql(url), engine="postgresql", url=url)
    else:
        raise no_store(url)
    try:
        with _translated(store):
            store._database.connect(reuse_if_open=True)  # noqa: SLF001 - the store is being made here
            _bring_up_to_date(store, create=create, demo=demo)
    except BaseException:
        store.close()
        raise
    return store


def _sqlite(url: str, *, create: bool, file: Path | None = None) -> Any:
    path = sqlite_path(url)
    mounts = Path("/proc/mounts")
    kind = network_filesystem(
        str(path.absolute()), mounts.read_text(encoding="utf-8") if mounts.exists() else ""
    )
    if kind:
        raise StoreError(
            f"{path} lies on a network share ({kind}), where SQLite loses data; "
            "keep the store on a local disk, or use PostgreSQL for several machines"
        )
    path = file or path
    if not is_there(path):
        if not create:
            raise NoStore(f"there is no store at {path}; make one with: kittrack found --store {url}")
        make_folder(path.parent)
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600))
    _refuse_cut_off(path)
    pragmas = {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1, "busy_timeout": 10_000}
    # The lock type stands here because peewee takes it in the constructor only. A deferred transaction that
    # reads first and writes later fails at once when another writer was in between; an immediate one waits.
    return peewee.SqliteDatabase(str(path), pragmas=pragmas, lock_type="IMMEDIATE")


def _refuse_cut_off(path: Path) -> None:
    """Refuse a file that is shorter than its own header says, while no companion file holds the rest.

    Source: the SQLite file format: page size at 16, size in pages at 28, valid where 24 and 92 agree.
    """
    try:
        with path.open("rb") as file:
            header = file.read(100)
            size = os.fstat(file.fileno()).st_size
        beside = path.with_name(path.name + "-wal")
        holds_more = beside.exists() and beside.stat().st_size > 0
    except OSError as error:
        raise StoreError(f"{path} can't be read ({error.strerror}); check its folder and rights") from error
    if len(header) < 100 or holds_more or header[24:28] != header[92:96]:
        return
    page, pages = int.from_bytes(header[16:18]), int.from_bytes(header[28:32])
    whole = (65536 if page == 1 else page) * pages
    if size < whole:
        raise StoreError(
            f"{path} was cut off: it holds {size} bytes of {whole} and is damaged; keep it as it is, and restore the "
            "last backup: kittrack backup restore"
        )


def sqlite_path(url: str) -> Path:
    """The file that a `sqlite:///` URL names."""
    rest = url.removeprefix("sqlite:///")
    if rest == url or not rest:
        raise BadInput(f"{url!r} names no file; write sqlite:///path", field="store")
    return Path(unquote(rest)).expanduser()


def network_filesystem(path: str, mounts: str) -> str:
    """The kind of network file system that a path lies on, or "" for a local one.

    Args:
        path: an absolute path.
        mounts: the text of /proc/mounts; empty where the system has none.
    """
    if path.startswith(("\\\\", "//")):
        return "network path"
    best = ("", "")
    for line in mounts.splitlines():
        point, kind = line.split(" ")[1:3]
        point = point.replace("\\040", " ")
        if (path == point or path.startswith(point.rstrip("/") + "/")) and len(point) >= len(best[0]):
            best = (point, kind)
    return best[1] if best[1] in NETWORK_FILESYSTEMS else ""


def _postgresql(url: str) -> Any:
    try:
        import psycopg  # noqa: F401 - only to say plainly that it is missing
    except ImportError:
        raise StoreError(
            "a PostgreSQL store needs the driver; install it with: pip install 'kittrack[pg]'"
        ) from None
    parts = parts_of(url)
    password = _password() or (unquote(parts.password) if parts.password else None)
    options: dict[str, Any] = {
        "user": parts.username,
        "password": password,
        "host": parts.hostname,
        "port": parts.port,
    }
    return peewee.PostgresqlDatabase(
        parts.path.lstrip("/"), **{name: value for name, value in options.items() if value is not None}
    )


def _password() -> str:
    """The password of the database: in a private file or the environment, which no list of processes shows."""
    named = os.environ.get("KITTRACK_STORE_PASSWORD_FILE")
    if named:
        return secret_in(Path(named).expanduser(), what="store password file")
    return os.environ.get("KITTRACK_STORE_PASSWORD", "")


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
        raise _clash(str(error)) from error
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
        raise StoreError(_plain(_first_cause(error), store.url)) from error
    except UnicodeDecodeError as error:  # SQLite's own words repeat what it could not read
        raise StoreError(_plain("malformed", store.url)) from error
    except ValueError as error:
        if "NUL" not in str(error):
            raise
        raise BadInput("a text holds a zero byte; nothing was recorded") from error


def _clash(text: str) -> Exception:
    first = text.splitlines()[0]
    if "guard:" in first:
        return StoreError(
            f"the store's own guard refused the act, nothing was recorded: {first.split('guard:')[1].strip()}"
        )
    if "UNIQUE" in first or "unique" in first:
        return Conflict(f"that is in the store already, nothing was recorded ({first})")
    return StoreError(f"the store's own rules refused the act, nothing was recorded ({first})")


_SENTENCES = (
    ("interrupted", "it was stopped; nothing was recorded"),
    ("due to user request", "it was stopped; nothing was recorded"),
    ("locked", "the store is in use by another act that takes too long; wait a moment and try again"),
    (
        "readonly",
        "the store can't be written to; check the rights of its file and that the disk isn't read-only",
    ),
    ("read-only", "the store can't be written to; check its rights and that the disk isn't read-only"),
    (
        QUOTA,
        "the disk quota is used up, though the disk itself may have room; delete what is not needed or have the quota "
        "raised, and try again, nothing of this act was recorded",
    ),
    ("full", "the disk is full; make room and try again, nothing of this act was recorded"),
    ("No space left", "the disk is full; make room and try again, nothing of this act was recorded"),
    (
        "malformed",
        "the store's file is damaged; keep it as it is, stop working with it, and restore the last backup: "
        "kittrack backup restore",
    ),
    ("not a database", "the file is not a kittrack store; name another one"),
    (
        "permission denied",
        "this database role has not the right to do that; work with the role that was given the rights of a "
        "terminal, or let the owner give them: kittrack database rights ROLE",
    ),
    ("unable to open", "the store's file can't be opened; check its folder and rights"),
    ("disk I/O error", "the disk fails under the store; stop, and restore the last backup on another disk"),
)


def _first_cause(error: BaseException | None) -> str:
    """The text of what went wrong first: a full disk ends SQLite's transaction before the roll-back fails."""
    texts = [str(error)]
    while error is not None and (error := error.__context__) is not None:
        texts.append(str(error))
    real = [text for text in texts if text and "no transaction is active" not in text]
    return real[0] if real else texts[0]


def _plain(text: str, url: str) -> str:
    if "disk I/O error" in text and parts_of(url).scheme == "sqlite":
        text = want_of_room(sqlite_path(url).parent) or text
    for mark, sentence in _SENTENCES:
        if mark in text:
            return f"{sentence} ({without_password(url)})"
    first = text.splitlines()[0] if text else "no answer"
    return f"the store does not answer as it should: {first} ({without_password(url)})"
