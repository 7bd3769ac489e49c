"""The peewee models of the records, made from their declarations, and the SQL that creates them.

The numbered migrations hold the SQL of each schema version as text; `create_statements` is what a new
version is compared with (tests/store/test_schema.py), so records and migrations can't drift apart.
"""

import re
import types
import typing
from collections.abc import Iterator
from functools import cache
from operator import attrgetter
from typing import Any

import peewee

from kittrack.store.records import TABLES, Record


def columns(record: type[Record]) -> tuple[str, ...]:
    """The column names of a record's table, in order."""
    return _columns(record.shape.name)


def values(record: Record) -> tuple[Any, ...]:
    """The values of a row, in column order."""
    found: tuple[Any, ...] = _getter(record.shape.name)(record)
    return found


@cache
def _columns(name: str) -> tuple[str, ...]:
    return tuple(TABLES[name].__dataclass_fields__)  # type: ignore[attr-defined]  # every record is a dataclass


@cache
def _getter(name: str) -> "attrgetter[tuple[Any, ...]]":
    return attrgetter(*_columns(name))


def referred_table(record: type[Record], column: str) -> str | None:
    """The table that a column refers to, or None."""
    named = record.shape.refers.get(column)
    if named:
        return named
    return column[:-3] if column.endswith("_id") and column[:-3] in TABLES else None


def _field(name: str, hint: Any) -> Any:
    if name == "id":
        return peewee.BigIntegerField(primary_key=True)
    optional = isinstance(hint, types.UnionType)
    inner = next(t for t in typing.get_args(hint) if t is not type(None)) if optional else hint
    kind = {int: peewee.BigIntegerField, str: peewee.TextField}[inner]
    return kind(null=optional)


def model_of(record: type[Record]) -> Any:
    """A peewee model of a record class, bound to no database."""
    hints = typing.get_type_hints(record)
    fields = {name: _field(name, hints[name]) for name in columns(record)}
    shape = record.shape
    constraints = [peewee.SQL(f"CONSTRAINT {name} CHECK ({rule})") for name, rule in shape.checks.items()]
    meta = type(
        "Meta", (), {"table_name": shape.name, "constraints": constraints, "legacy_table_names": False}
    )
    model: Any = type(f"{record.__name__}Row", (peewee.Model,), {"Meta": meta, **fields})
    for group in shape.unique:
        model.add_index(peewee.SQL(_index(shape.name, group, unique=True)))
    for group, where in shape.unique_where:
        model.add_index(peewee.SQL(_index(shape.name, group, unique=True, where=where)))
    for group in shape.indexed:
        model.add_index(peewee.SQL(_index(shape.name, group)))
    return model


def unique_indexes() -> frozenset[str]:
    """The names of all indexes that allow one of a kind only, as a healthy store has them."""
    return frozenset(
        _index_name(record.shape.name, group, unique=True)
        for record in TABLES.values()
        for group in (*record.shape.unique, *(g for g, _ in record.shape.unique_where))
    )


def _index_name(name: str, group: tuple[str, ...], *, unique: bool) -> str:
    """The name of an index; a unique one is named after what it says, so that a clash can be told."""
    return f"{name}_{'one' if unique else 'by'}_{'_'.join(group)}"[:63]


def _index(name: str, group: tuple[str, ...], *, unique: bool = False, where: str = "") -> str:
    """The SQL of one index."""
    tail = f" WHERE {where}" if where else ""
    label = _index_name(name, group, unique=unique)
    return f'CREATE {"UNIQUE " if unique else ""}INDEX "{label}" ON "{name}" ({_quoted(group)}){tail}'


def create_statements(database: Any) -> Iterator[str]:
    """The SQL that creates every table and index on the engine of a peewee database."""
    strict = " STRICT" if isinstance(database, peewee.SqliteDatabase) else ""
    for record in TABLES.values():
        model = model_of(record)
        with model.bind_ctx(database):
            sql, params = model._schema._create_table(safe=False).query()  # noqa: SLF001 - peewee's only way to the text
        if params:  # pragma: no cover - a declaration with a bound value would be lost in the text
            raise AssertionError(sql)
        if strict:  # this engine takes references in the table alone, and before the target is there
            rules = "".join(f", {rule}" for rule in _references(record))
            yield sql.removesuffix(")") + rules + ")" + strict
        else:  # byte order, as SQLite has it, whatever language the server speaks
            yield re.sub(r'(?<=" )TEXT(?=[ ,)])', 'TEXT COLLATE "C"', sql)
        yield from (index.sql for index in model._meta.indexes)  # noqa: SLF001 - as above
        if strict:
            yield from _indexes_of_events(record)
    if not strict:
        for record in TABLES.values():
            yield from (f'ALTER TABLE "{record.shape.name}" ADD {rule}' for rule in _references(record))


def _indexes_of_events(record: type[Record]) -> Iterator[str]:
    """The SQL of an index on each reference to an event that has none.

    An event is written after the rows that refer to it, and SQLite then looks for them in every table that
    may; without an index it reads each of these tables whole at the end of every act.
    """
    shape = record.shape
    begun = {group[0] for group in (*shape.unique, *shape.indexed)}
    for column in columns(record):
        if referred_table(record, column) == "event" and column not in begun:
            yield _index(shape.name, (column,))


def _references(record: type[Record]) -> Iterator[str]:
    """The SQL of each reference; those to an event are checked at the end of an act, since it is written last."""
    name = record.shape.name
    for column in columns(record):
        target = referred_table(record, column)
        if target:
            when = " DEFERRABLE INITIALLY DEFERRED" if target == "event" else ""
            yield (
                f'CONSTRAINT "{name}_refers_{column}" FOREIGN KEY ("{column}") '
                f'REFERENCES "{target}" ("id"){when}'
            )


def insert_sql(record: type[Record]) -> str:
    """The SQL that inserts one row, every column bound, in column order."""
    return _insert_sql(record.shape.name)


def select_sql(record: type[Record]) -> str:
    """The SQL that selects every column of a table, without a condition."""
    return _select_sql(record.shape.name)


@cache
def _insert_sql(name: str) -> str:
    names = columns(TABLES[name])
    return f'INSERT INTO "{name}" ({_quoted(names)}) VALUES ({", ".join("?" for _ in names)})'


@cache
def _select_sql(name: str) -> str:
    return f'SELECT {_quoted(columns(TABLES[name]))} FROM "{name}"'


def _quoted(names: tuple[str, ...]) -> str:
    return ", ".join(f'"{name}"' for name in names)
