"""Stores that an earlier schema really made are brought up to date by opening them, whole or not at all.

`made_by_schema_NNNN/` holds the dump of one store per engine, made by the program when it knew no later schema: the
factories' world, sets, a job, a kit that was sealed, issued and opened; from schema 2 an order and its delivery, from
3 a trimmed blade, from 4 a recall with its notices and a drill, from 5
a hold on the opened kit. The chains of a pair end with the same hash.
"""

import contextlib
import gzip
import hashlib
import json
import os
import signal
import sqlite3
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import psycopg
import pytest

from kittrack.errors import BadInput, StoreError
from kittrack.queries.verify import verify
from kittrack.services import holding, keeping
from kittrack.services.holding import Scope
from kittrack.store import archive, schema
from kittrack.store.database import open_store
from kittrack.store.engines import sqlite_path
from kittrack.store.records import TABLES
from kittrack.store.tables import columns
from tests.factories import TECHNICIAN, after
from tests.machine.dying import die_before

HEADS = {
    1: "26:b5501e61190987eafc92b255f21d3f2814a2a458f559ef09d4dedcda0755b024",
    2: "28:e6b465448fb0175cc5b3e895bfe87d1fbb2fa6fcc92876a593621e68fd23ac49",
    3: "33:7a0395ee44f8390ac3bc229248c74ae74ed10a5e534d5c51c0689e5a801e3ed1",
    4: "37:036be25fdb35d4039d24c2da3bbcc7aade871978e05f52bb301f9108f5736dfa",
    5: "38:87d26e37d7459041c63d527740d5722e582171b9785f1e60e7f4df5b4a6bfa43",
}
"""By schema, the head of the chain of the store that it made."""
MOVEMENTS = {1: 51, 2: 52, 3: 55, 4: 55, 5: 55}
KIT_ROWS = [("K000004-M", "opened")]


def dump(version: int, engine: str) -> str:
    """The SQL that makes a store of a schema."""
    file = Path(__file__).parent / f"made_by_schema_{version:04}" / f"{engine}.sql"
    packed = file.with_name(f"{file.name}.gz")
    content = gzip.decompress(packed.read_bytes()) if packed.exists() else file.read_bytes()
    return content.decode("utf-8")


def make_old(url: str, version: int) -> None:
    """Make a store as a schema left it, by the bare driver."""
    if url.startswith("sqlite"):
        with contextlib.closing(sqlite3.connect(sqlite_path(url))) as raw:
            raw.executescript(dump(version, "sqlite"))
            raw.execute("PRAGMA journal_mode = wal")
    else:
        with psycopg.connect(url, autocommit=True) as raw_pg:
            raw_pg.execute(dump(version, "postgresql").encode())


@pytest.fixture
def old_url(store_url: str) -> str:
    """The address of a store as schema 1 left it, once on each engine."""
    make_old(store_url, 1)
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


def assert_upgraded(url: str, *, version: int = 1) -> None:
    store = open_store(url)
    assert store.stamp() == (schema.newest_version(store.engine), False)
    verdict = verify(store)
    assert (verdict.faults, verdict.head) == ((), HEADS[version])
    with store.reading() as read:
        assert read.rows("SELECT code, state FROM kit") == KIT_ROWS
        assert read.value("SELECT count(*) FROM movement") == MOVEMENTS[version]
        for name, record in TABLES.items():
            assert tuple(c.name for c in store._database.get_columns(name)) == columns(record), name
            read.select(record)
    store.close()


@pytest.mark.parametrize("version", HEADS)
def test_a_store_of_every_earlier_schema_is_upgraded_by_opening_it(store_url: str, version: int) -> None:
    make_old(store_url, version)
    assert version_of(store_url) == version
    assert_upgraded(store_url, version=version)


def test_every_schema_before_this_one_has_a_store_that_it_made() -> None:
    for engine in ("sqlite", "postgresql"):
        assert sorted(HEADS) == [number for number, _ in schema.migrations(engine)][:-1]


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


# ---- archives that an earlier schema wrote -------------------------------------------------------


def archive_of(folder: Path, version: int) -> Path:
    """An archive of the store that a schema made: its tables alone, in its columns, as that program wrote them."""
    make_old(url := f"sqlite:///{folder / 'old.kittrack'}", version)
    files: dict[str, bytes] = {}
    told: dict[str, dict[str, Any]] = {}
    with contextlib.closing(sqlite3.connect(sqlite_path(url))) as raw:
        raw.row_factory = sqlite3.Row
        stamp = raw.execute("SELECT * FROM store_stamp").fetchone()
        names = [row[0] for row in raw.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
        for name in sorted(set(names) & archive.archived_tables().keys()):
            rows = [dict(row) for row in raw.execute(f"SELECT * FROM {name} ORDER BY id")]
            content = b"".join(json.dumps(row).encode() + b"\n" for row in rows)
            heads = [row[1] for row in raw.execute(f"PRAGMA table_info({name})")]
            files[f"tables/{name}.jsonl"] = content
            told[name] = {
                "rows": len(rows), "bytes": len(content), "sha256": hashlib.sha256(content).hexdigest(), "columns": heads,
            }  # fmt: skip
    manifest = {
        "format": archive.FORMAT, "format_version": 1, "made_at": "2026-01-05T09:00:00.000000Z", "engine": "sqlite",
        "schema_version": version, "is_demo": stamp["is_demo"], "number_floor": stamp["number_floor"], "head": HEADS[version],
        "tables": told,
    }  # fmt: skip
    file = folder / "old.zip"
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as whole:
        for name, content in {**files, "README.txt": b"", "manifest.json": json.dumps(manifest).encode()}.items():  # fmt: skip
            whole.writestr(name, content)
    return file


@pytest.mark.parametrize("version", HEADS)
def test_an_archive_of_every_earlier_schema_is_read(store_url: str, tmp_path: Path, version: int) -> None:
    file = archive_of(tmp_path, version)
    checked = keeping.check_archive(file=str(file))
    assert (checked.faults, checked.head) == ((), HEADS[version])
    keeping.read_archive(file=str(file), into=store_url, at=after(200))
    assert_upgraded(store_url, version=version)


@pytest.mark.parametrize("version", [1, len(HEADS)])
def test_an_archive_that_calls_itself_older_and_leaves_a_table_out_is_refused(
    tmp_path: Path, version: int
) -> None:
    file = archive_of(tmp_path, len(HEADS))
    with zipfile.ZipFile(file) as whole:
        files = {name: whole.read(name) for name in whole.namelist()}
    manifest = json.loads(files.pop("manifest.json"))
    del files["tables/person_role.jsonl"], manifest["tables"]["person_role"]
    manifest["schema_version"] = version
    with zipfile.ZipFile(file, "w") as whole:
        for name, content in {**files, "manifest.json": json.dumps(manifest).encode()}.items():
            whole.writestr(name, content)
    with pytest.raises(BadInput, match="person_role"):
        keeping.read_archive(file=str(file), into=f"sqlite:///{tmp_path / 'new.kittrack'}", at=after(200))
    assert not (tmp_path / "new.kittrack").exists()
