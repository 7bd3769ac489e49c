"""The schema's numbered migrations and the stamp that says which of them a store has.

A migration is one SQL text per engine, `NNNN_sqlite.sql` and `NNNN_postgresql.sql` in `migrations/`, its
statements separated by lines that hold only `--;`. Each runs in one transaction together with its stamp.
They are written by hand on purpose: the library's own table rebuild loses triggers (DEVELOPERS.md).
"""

import re
from collections.abc import Iterator
from functools import cache
from importlib.resources import files
from typing import Any

from kittrack.errors import StoreError
from kittrack.store.act import Reading
from kittrack.store.guards import guard_statements, trigger_names
from kittrack.store.tables import unique_indexes

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
        "WHERE NOT t.tgisinternal AND t.tgenabled IN ('O', 'A') AND c.relnamespace = current_schema()::regnamespace"
    )
    present = {row[0] for row in database.execute_sql(sql).fetchall()}
    missing = sorted(trigger_names(engine) - present)
    if missing:
        raise StoreError(
            f"the store has lost {len(missing)} of its guards (first: {missing[0]}); "
            "stop working with it and restore the last backup"
        )


# ---- what verify asks --------------------------------------------------------------------------


def wrong_guards(read: Reading) -> Iterator[tuple[str, str]]:
    """Each guard that is missing, says something else than the program's own text, or is none of ours.

    An index that allows one of a kind only is a guard too; it is known by its name, which says what it holds apart.
    """
    wanted = dict(map(_named, guard_statements(read.engine)))
    wanted.pop("sequence holding_ids", None)  # it guards nothing
    wanted |= {f"index {name}": "" for name in unique_indexes()}
    present = {name: _words(text) for name, text in _guards_of(read)}
    for name in sorted(wanted.keys() | present.keys()):
        if name not in present:
            yield name, f"{name}, a guard of the store, was taken out; restore the last backup"
        elif name not in wanted and name.startswith(("trigger ", "rule ")):
            yield (
                name,
                f"{name} is not of kittrack's making and may change what is recorded; restore the last backup",
            )
        elif name in wanted and present[name] != wanted[name]:
            yield (
                name,
                f"{name}, a guard of the store, does not say what kittrack wrote; restore the last backup",
            )


def _named(statement: str) -> tuple[str, str]:
    """The kind and name that a guard is compared under, and its words; a function stands for its body."""
    kind, name = statement.split()[1:3]
    text = statement.split("$$")[1] if kind == "FUNCTION" else statement
    return f"{kind.lower()} {name.removesuffix('()')}", _words(text)


def _words(text: str) -> str:
    """A guard's text without what an engine writes its own way: blanks, quotes, the schema before a name."""
    return re.sub(r"\b(ON|FUNCTION) \w+\.", r"\1 ", " ".join(text.replace('"', "").split()))


def _guards_of(read: Reading) -> list[tuple[Any, ...]]:
    if read.engine == "sqlite":
        return read.rows(
            "SELECT 'trigger ' || name, sql FROM sqlite_master WHERE type = 'trigger' UNION ALL "
            "SELECT 'index ' || name, '' FROM sqlite_master WHERE type = 'index' AND sql LIKE 'CREATE UNIQUE%'"
        )
    return read.rows(
        "SELECT 'trigger ' || t.tgname, pg_get_triggerdef(t.oid) FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid "
        "WHERE NOT t.tgisinternal AND t.tgenabled IN ('O', 'A') AND c.relnamespace = current_schema()::regnamespace UNION ALL "
        "SELECT 'function ' || proname, prosrc FROM pg_proc WHERE pronamespace = current_schema()::regnamespace UNION ALL "
        "SELECT 'rule ' || rulename, definition FROM pg_rules WHERE schemaname = current_schema() UNION ALL "
        "SELECT 'index ' || c.relname, '' FROM pg_index i JOIN pg_class c ON c.oid = i.indexrelid "
        "WHERE i.indisunique AND c.relnamespace = current_schema()::regnamespace"
    )
