"""A row in every table of a store, for those that no scenario fills: written by an act, within every check."""

import re
from collections.abc import Iterator
from datetime import datetime
from typing import Any

from kittrack.errors import Conflict, StoreError
from kittrack.store.act import Act
from kittrack.store.database import Store
from kittrack.store.records import CACHES, SECRETS, TABLES, Record
from kittrack.store.tables import columns, referred_table

_OWN_WAY = {"event", "movement", *CACHES, *SECRETS}


def fill_empty_tables(store: Store, *, by: str, at: datetime) -> list[str]:
    """Write one invented row into each table that has none; answers with the tables that take none so.

    Args:
        by: who acts, by badge or name.
        at: when.
    """
    left = []
    for name, record in TABLES.items():
        with store.reading() as read:
            is_empty = read.value(f'SELECT 1 FROM "{name}" LIMIT 1') is None
        if is_empty and (name in _OWN_WAY or not _is_filled(store, record, by=by, at=at)):
            left.append(name)
    return left


def _is_filled(store: Store, record: type[Record], *, by: str, at: datetime) -> bool:
    optional = [c for c in columns(record) if "None" in str(_hint(record, c))]
    for given in _choices(optional):
        try:
            with store.act("fill a table", by=by, at=at) as act:
                act.insert(record(**{c: _value(act, record, c) for c in _wanted(record, given)}))
        except (StoreError, Conflict):
            continue
        return True
    return False


def _choices(optional: list[str]) -> Iterator[set[str]]:
    """What may be empty: left empty, filled, filled one by one."""
    yield set()
    yield set(optional)
    yield from ({name} for name in optional)


def _wanted(record: type[Record], given: set[str]) -> list[str]:
    return [c for c in columns(record) if c != "id" and (c in given or "None" not in str(_hint(record, c)))]


def _hint(record: type[Record], column: str) -> Any:
    return record.__dataclass_fields__[column].type  # type: ignore[attr-defined]  # a dataclass


def _value(act: Act, record: type[Record], column: str) -> Any:
    """A value that the checks of a table let pass: one of a list of words, a row that is there, one, a text."""
    target = referred_table(record, column)
    if target == "event":
        return act.event_id
    if target:
        return act.value(f'SELECT min(id) FROM "{target}"')
    for rule in record.shape.checks.values():
        listed = re.search(rf"\b{column} IN \('([^']*)'", rule)
        if listed:
            return listed[1]
    if "int" in str(_hint(record, column)):
        return 1
    if column.endswith("_at"):
        return "2026-12-31T12:00:00.000000Z"
    return "2026-12-31" if column.endswith("_on") else "invented"
