"""The schema's numbered migrations and the stamp that says which of them a store has.

A migration is one SQL text per engine, `NNNN_sqlite.sql` and `NNNN_postgresql.sql` in `migrations/`, its
statements separated by lines that hold only `--;`. Each runs in one transaction together with its stamp.
They are written by hand on purpose: the library's own table rebuild loses triggers (DEVELOPERS.md).
"""

from functools import cache
from importlib.resources import files
from typing import Any

from kittrack.errors import StoreError
from kittrack.store.guards import trigger_names

PROGRAM = "kittrack"
APPLICATION_ID = 0x4B495454
"""Marks a SQLite file as ours ("KITT" in ASCII)."""


@cache
def migrations(engine: str) -> tuple[tuple[int, str], ...]:
    """Every migration of an engine as (version, SQL text), in order."""
    folder = files("kittrack.store") / "migrations"
    found = [f for f in folder.iterdir() if f.name.endswith(f"_{engine}.sql")]
    return tuple(sorted((int(f.name[:4]), f.read_text(encoding="utf-8")) for f in found))


def newest_version(engine: str) -> int:
    """The schema version that this program writes."""
    return migrations(engine)[-1][0]


def apply_migration(database: Any, version: int, text: str, *, engine: str) -> None:
    """Run one migration inside the caller's transaction and stamp the store with its version.

    The guards are checked once after the last one, since each migration brings those of its own tables.
    """
    for statement in text.split("\n--;\n"):
        if statement.strip():
            database.execute_sql(statement)
    mark = "%s" if engine == "postgresql" else "?"
    database.execute_sql(f"UPDATE store_stamp SET schema_version = {mark}", (version,))


def check_triggers(database: Any, *, engine: str) -> None:
    """Make sure that every guard stands; a store without one is not to be trusted.

    Raises:
        StoreError: a trigger is missing.
    """
    sql = (
        "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        if engine == "sqlite"
        else "SELECT t.tgname FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid "
        "WHERE NOT t.tgisinternal AND t.tgenabled <> 'D' AND c.relnamespace = current_schema()::regnamespace"
    )
    present = {row[0] for row in database.execute_sql(sql).fetchall()}
    missing = sorted(trigger_names(engine) - present)
    if missing:
        raise StoreError(
            f"the store has lost {len(missing)} of its guards (first: {missing[0]}); "
            "stop working with it and restore the last backup"
        )
