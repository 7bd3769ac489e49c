"""The attacker's view of a store: raw SQL past every guard and check, on either engine.

Somebody with the file, or with the rights of the database's owner, takes the guards off, changes what he likes and
puts the guards back, so that the store opens as if nothing had happened.
"""

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlsplit

import psycopg

from kittrack.store.engines import sqlite_path
from kittrack.store.records import TABLES
from kittrack.store.tables import columns


@dataclass
class Attack:
    """A connection without guards, and how many rows it changed."""

    connection: Any
    engine: str
    rows: int = 0

    def run(self, sql: str, *params: object) -> None:
        """Change rows; a statement that changes nothing is a fault of the test."""
        assert self.change(sql, *params), f"changes nothing: {sql} {params}"

    def change(self, sql: str, *params: object) -> int:
        """Change rows, if there are any; says how many."""
        mark = "%s" if self.engine == "postgresql" else "?"
        changed = max(self.connection.execute(sql.replace("?", mark), params).rowcount, 0)
        self.rows += changed
        return int(changed)

    def do(self, sql: str) -> None:
        """A statement of the schema, which changes no row."""
        self.connection.execute(sql)

    def drop_uniqueness(self) -> None:
        """Take off every index that allows one of a kind only; they stay off."""
        found = (
            "SELECT name FROM sqlite_master WHERE type = 'index' AND sql LIKE 'CREATE UNIQUE%'"
            if self.engine == "sqlite"
            else "SELECT i.indexrelid::regclass::text FROM pg_index i JOIN pg_class c ON c.oid = i.indrelid "
            "WHERE i.indisunique AND NOT i.indisprimary AND c.relnamespace = current_schema()::regnamespace"
        )
        for (name,) in self.ask(found):
            self.do(f"DROP INDEX {name}")

    def ask(self, sql: str) -> list[tuple[Any, ...]]:
        """Rows of a query."""
        return list(self.connection.execute(sql).fetchall())

    def move_row(self, table: str, old: int, new: int) -> None:
        """Give a row another id."""
        self.run(f'UPDATE "{table}" SET id = ? WHERE id = ?', new, old)


@contextmanager
def attacking(url: str) -> Iterator[Attack]:
    """A store with its guards and checks off; the guards stand again after the block."""
    opened = _sqlite(url) if url.startswith("sqlite") else _postgresql(url)
    with opened as attack:
        yield attack


@contextmanager
def _sqlite(url: str) -> Iterator[Attack]:
    with closing(sqlite3.connect(sqlite_path(url))) as raw:
        texts = raw.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
        for name, _ in texts:
            raw.execute(f"DROP TRIGGER {name}")
        raw.execute("PRAGMA ignore_check_constraints = 1")
        yield Attack(raw, "sqlite")
        present = {r[0] for r in raw.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")}
        for name, text in texts:
            if name not in present:  # what the attack put in its place stays
                raw.execute(text)
        raw.commit()


@contextmanager
def _postgresql(url: str) -> Iterator[Attack]:
    parts = urlsplit(url)
    with psycopg.connect(
        user=parts.username, password=parts.password, host=parts.hostname, port=parts.port,
        dbname=parts.path.lstrip("/"),
    ) as raw:  # fmt: skip
        raw.execute("SET session_replication_role = replica")  # no trigger fires, references are not checked
        checks = raw.execute(
            "SELECT conrelid::regclass::text, conname FROM pg_constraint WHERE contype = 'c' "
            "AND connamespace = current_schema()::regnamespace"
        ).fetchall()
        for table, name in checks:
            raw.execute(f'ALTER TABLE {table} DROP CONSTRAINT "{name}"')
        for table, names in _optional_by_force():
            for column in names:
                raw.execute(f'ALTER TABLE "{table}" ALTER COLUMN "{column}" DROP NOT NULL')
        yield Attack(raw, "postgresql")


def _optional_by_force() -> list[tuple[str, list[str]]]:
    return [(name, [c for c in columns(record) if c != "id"]) for name, record in TABLES.items()]


def neutered(engine: str) -> list[str]:
    """The statements that put a guard of the same name in place of one, with nothing in it."""
    if engine == "sqlite":
        return ["CREATE TRIGGER event_never_changed BEFORE UPDATE ON event BEGIN SELECT 1; END"]
    return [
        "CREATE OR REPLACE FUNCTION never_changed() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN RETURN NEW; END $$"
    ]


def of_no_guard(engine: str) -> str:
    """A statement that makes a trigger of the attacker's own, which falsifies what later acts record."""
    if engine == "sqlite":
        return (
            "CREATE TRIGGER helpful AFTER INSERT ON piece BEGIN "
            "UPDATE piece SET sense = 'CW' WHERE id = NEW.id; END"
        )
    return "CREATE RULE helpful AS ON UPDATE TO piece DO INSTEAD NOTHING"


def say(figure: str) -> None:
    """Tell a figure of the run; `pytest -rP` shows it."""
    print(figure)  # noqa: T201 - the figure is what is asked for
