"""Stores that an earlier schema really made are brought up to date by opening them, whole or not at all.

`made_by_schema_0001/` holds the dump of one store per engine, made by the release with schema 1 alone: the
factories' world, sets, a job, a kit that was sealed, issued and opened. Their chains end with the same hash.
"""

import contextlib
import os
import signal
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import psycopg
import pytest

from kittrack.errors import StoreError
from kittrack.queries.verify import verify
from kittrack.services import holding
from kittrack.services.holding import Scope
from kittrack.store import schema
from kittrack.store.database import open_store, sqlite_path
from kittrack.store.records import TABLES
from kittrack.store.tables import columns
from tests.factories import TECHNICIAN, after
from tests.machine.dying import die_before

DUMPS = Path(__file__).parent / "made_by_schema_0001"
HEAD = "26:b5501e61190987eafc92b255f21d3f2814a2a458f559ef09d4dedcda0755b024"
KIT_ROWS, MOVEMENTS = [("K000004-M", "opened")], 51


@pytest.fixture
def old_url(store_url: str) -> str:
    """The address of a store as schema 1 left it, once on each engine."""
    if store_url.startswith("sqlite"):
        path = sqlite_path(store_url)
        with contextlib.closing(sqlite3.connect(path)) as raw:
            raw.executescript((DUMPS / "sqlite.sql").read_text(encoding="utf-8"))
            raw.execute("PRAGMA journal_mode = wal")
    else:
        with psycopg.connect(store_url, autocommit=True) as raw_pg:
            raw_pg.execute((DUMPS / "postgresql.sql").read_bytes())
    return store_url


def everything(url: str) -> list[Any]:
    """Every table and row of a store, and its guards, by the bare driver."""
    if url.startswith("sqlite"):
        with contextlib.closing(sqlite3.connect(sqlite_path(url))) as raw:
            return list(raw.iterdump())
    with psycopg.connect(url) as raw_pg:
        names = raw_pg.execute(
            "SELECT tablename FROM pg_tables WHERE schemaname = 'public' ORDER BY 1"
        ).fetchall()
        guards = raw_pg.execute(
            "SELECT tgname, tgrelid::regclass::text FROM pg_trigger ORDER BY 1, 2"
        ).fetchall()
        indexes = raw_pg.execute("SELECT indexdef FROM pg_indexes ORDER BY 1").fetchall()
        rows = [
            raw_pg.execute(psycopg.sql.SQL("SELECT * FROM {} ORDER BY 1").format(psycopg.sql.Identifier(name))).fetchall()
            for (name,) in names
        ]  # fmt: skip
    return [names, guards, indexes, rows]


def version_of(url: str) -> int:
    """The schema version on a store's stamp, by the bare driver."""
    sql = "SELECT schema_version FROM store_stamp"
    if url.startswith("sqlite"):
        with contextlib.closing(sqlite3.connect(sqlite_path(url))) as raw:
            return int(raw.execute(sql).fetchone()[0])
    with psycopg.connect(url) as raw_pg:
        found = raw_pg.execute(sql).fetchone()
    assert found is not None
    return int(found[0])


def assert_upgraded(url: str) -> None:
    store = open_store(url)
    assert store.stamp() == (schema.newest_version(store.engine), False)
    verdict = verify(store)
    assert (verdict.faults, verdict.head) == ((), HEAD)
    with store.reading() as read:
        assert read.rows("SELECT code, state FROM kit") == KIT_ROWS
        assert read.value("SELECT count(*) FROM movement") == MOVEMENTS
        for name, record in TABLES.items():
            assert tuple(c.name for c in store._database.get_columns(name)) == columns(record), name
            read.select(record)
    store.close()


def test_a_store_of_the_first_schema_is_upgraded_by_opening_it(old_url: str) -> None:
    assert version_of(old_url) == 1
    assert_upgraded(old_url)


def test_an_upgraded_store_goes_on_where_the_old_one_stopped(old_url: str) -> None:
    store = open_store(old_url)
    with store.reading() as read:
        rotor_set = read.value("SELECT code FROM rotor_set ORDER BY id")
    done = holding.place_hold(
        store, scope=Scope(code=rotor_set), reason="a nick", reference="", by=TECHNICIAN, at=after(60)
    )
    assert done.event == 27
    assert verify(store).faults == ()
    store.close()


@contextlib.contextmanager
def failing_at(statement: int, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """The store's own failure at one statement of the migrations, counted over all of them."""
    plain, done = schema.apply_migration, [0]

    class Failing:
        def __init__(self, database: Any) -> None:
            self.database = database

        def execute_sql(self, *given: Any) -> Any:
            done[0] += 1
            if done[0] == statement:
                raise StoreError("the disk is full")
            return self.database.execute_sql(*given)

    def apply(database: Any, version: int, text: str, *, engine: str) -> None:
        plain(Failing(database), version, text, engine=engine)

    with monkeypatch.context() as patch:
        patch.setattr(schema, "apply_migration", apply)
        yield


def upgrade_length(engine: str) -> int:
    """How many statements bring a store of schema 1 up to date, the stamps included."""
    texts = [text for number, text in schema.migrations(engine) if number > 1]
    return sum(len([s for s in text.split("\n--;\n") if s.strip()]) + 1 for text in texts)


def test_an_upgrade_that_fails_at_any_statement_leaves_the_old_store(
    old_url: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = everything(old_url)
    length = upgrade_length("sqlite" if old_url.startswith("sqlite") else "postgresql")
    assert length > 1
    for statement in sorted({1, 2, *range(3, length, 7), length}):
        with failing_at(statement, monkeypatch), pytest.raises(StoreError, match="disk is full"):
            open_store(old_url)
        assert version_of(old_url) == 1
    assert everything(old_url) == before
    assert_upgraded(old_url)


def test_an_upgrade_that_is_killed_leaves_the_old_store(old_url: str) -> None:
    before = everything(old_url)
    killed = 0
    for statement in (*range(1, 12), *range(12, 400, 9)):
        child = os.fork()
        if child == 0:
            die_before(statement)
            with contextlib.suppress(BaseException):
                open_store(old_url)
            os._exit(0)
        _, status = os.waitpid(child, 0)
        if not os.WIFSIGNALED(status):
            break
        assert os.WTERMSIG(status) == signal.SIGKILL
        assert version_of(old_url) == 1
        assert everything(old_url) == before
        killed += 1
    assert killed >= 11
    assert_upgraded(old_url)
