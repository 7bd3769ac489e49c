"""Writing many acts at once, as they would stand in a store after years of work.

`BulkAct` has the calls of an act (insert, update, move_stock, move_container, new_code) and keeps their rows
in memory; `flush` hands whole batches to the database. Events get the statements, movements and hashes that
the act would give them, and movements pass the store's own trigger, so `verify` finds nothing on the result.
Only what a batch costs differs: one call of the driver for thousands of rows.
"""

from collections.abc import Iterator, Mapping, Sequence
from contextlib import closing, contextmanager
from dataclasses import replace
from datetime import datetime
from typing import Any, TypeVar

from kittrack.domain import codes
from kittrack.store.act import Act, canonical, event_hash, instant_text
from kittrack.store.database import Store
from kittrack.store.records import TABLES, Event, Movement, Place, Record
from kittrack.store.tables import columns, insert_sql, values

R = TypeVar("R", bound=Record)

_AS_FIRST_WRITTEN = {"closed": 0, "active": 1}


class BulkAct(Act):
    """Acts in a row, each between `event(...)` and its end; what they write reaches the store by `flush`."""

    def __init__(self, store: Store, *, at: datetime, batch: int = 40_000) -> None:
        super().__init__(store._database, engine=store.engine, name="", at=at)
        self.moved = 0
        self._batch = batch
        self._numbers: dict[str, int] = {}
        self._rows: dict[type[Record], dict[int, dict[str, Any]]] = {r: {} for r in TABLES.values()}
        self._changed: dict[str, dict[int, dict[str, Any]]] = {}
        self._places: dict[int, dict[str, int]] = {}
        self._places_changed: set[int] = set()
        self._events: list[tuple[Any, ...]] = []
        self._pending: list[tuple[Any, ...]] = []
        self._touched: set[int] = set()

    @contextmanager
    def event(
        self, name: str, *, at: datetime, by: int, second: int | None = None, reason: str = ""
    ) -> Iterator[None]:
        """One act: what is written inside becomes one event."""  # fmt: skip
        self.name, self.moment, self.at, self.reason = name, at, instant_text(at), reason
        self.by_id, self.second_id, self.key = by, second, f"event {self.event_id}"
        self._statements, self._movements = [], []
        yield
        self._previous = self.conclude().hash
        self.event_id += 1
        if len(self._pending) >= self._batch:
            self.flush()

    def insert(self, record: R) -> R:
        """Keep a new row for the next batch; returns it with its id."""
        kind = type(record)
        made = replace(record, id=self._take_id(kind))  # type: ignore[type-var]  # every record is a dataclass
        row = dict(zip(columns(kind), values(made), strict=True))
        self._rows[kind][made.id] = row
        self._statements.append(["insert", kind.shape.name, dict(row)])
        return made

    def update(self, record: R, **changes: Any) -> R:
        """Change columns of a row, in the batch or in the store; returns it as it then is."""
        real = {name: v for name, v in changes.items() if getattr(record, name) != v}
        if not real:
            return record
        kind = type(record)
        name = kind.shape.name
        self._statements.append(["update", name, record.id, real, {c: getattr(record, c) for c in real}])
        row = self._rows[kind].get(record.id)
        if row is not None:
            row.update(real)
        if kind is Place:
            self._places.setdefault(record.id, dict(_AS_FIRST_WRITTEN)).update(real)
            self._places_changed.add(record.id)
        elif row is None:
            self._changed.setdefault(name, {}).setdefault(record.id, {}).update(real)
        return replace(record, **real)  # type: ignore[type-var]  # every record is a dataclass

    def new_code(self, record: type[Record], kind: codes.Kind) -> str:
        """The next code of a kind, counted on in memory."""
        after = self._numbers.get(record.shape.name)
        number = (
            codes.read_code(super().new_code(record, kind)).number
            if after is None
            else codes.next_number(kind, after=after)
        )
        self._numbers[record.shape.name] = number
        return codes.make_code(kind, number)

    def conclude(self) -> Event:
        """Keep the event with its hash for the next batch."""
        offset = self.moment.utcoffset()
        event = Event(
            id=self.event_id, act=self.name, at=self.at,
            offset_minutes=int(offset.total_seconds() // 60) if offset else 0,
            by_id=self.by_id, second_id=self.second_id, reason=self.reason, key=self.key,
            statements=canonical(self._statements), previous_hash=self._previous, hash="",
        )  # fmt: skip
        event = replace(event, hash=event_hash(event, self._movements))
        self._events.append(values(event))
        return event

    def flush(self) -> None:
        """Write everything kept so far in one transaction.

        Movements go in while every container they touch is open and in use, as it was when they happened;
        then the containers get the state they have at the end of the batch.
        """
        with self._database.atomic():
            self._write(Event, self._events)
            for kind, rows in self._rows.items():
                fresh = (
                    [{**row, **_AS_FIRST_WRITTEN} for row in rows.values()]
                    if kind is Place
                    else rows.values()
                )
                self._write(kind, [tuple(row.values()) for row in fresh])  # fmt: skip
            shut = [i for i in self._touched if i in self._places and i not in self._rows[Place]]
            self._change("place", {i: dict(_AS_FIRST_WRITTEN) for i in shut})
            self._write(Movement, self._pending)
            for name, changes in self._changed.items():
                self._change(name, changes)
            self._change("place", {i: self._places[i] for i in sorted({*shut, *self._places_changed})})
        for rows in self._rows.values():
            rows.clear()
        self._events, self._pending, self._changed = [], [], {}
        self._touched, self._places_changed = set(), set()

    def _move(self, movement: Movement) -> None:
        made = replace(movement, id=self._take_id(Movement))
        self._movements.append(made)
        self._pending.append(values(made))
        self._touched.add(made.to_place_id)
        if made.from_place_id is not None:
            self._touched.add(made.from_place_id)
        self.moved += 1

    def _write(self, kind: type[Record], rows: Sequence[tuple[Any, ...]]) -> None:
        if not rows:
            return
        connection = self._database.connection()
        if self.engine == "sqlite":
            connection.executemany(insert_sql(kind), rows)
            return
        names = ", ".join(f'"{name}"' for name in columns(kind))
        with connection.cursor().copy(f'COPY "{kind.shape.name}" ({names}) FROM STDIN') as copy:
            for row in rows:
                copy.write_row(row)

    def _change(self, name: str, changes: Mapping[int, Mapping[str, Any]]) -> None:
        """Update rows of a table by id, those with the same columns in one call."""
        groups: dict[tuple[str, ...], list[tuple[Any, ...]]] = {}
        for row_id, real in changes.items():
            groups.setdefault(tuple(real), []).append((*real.values(), row_id))
        mark = "?" if self.engine == "sqlite" else "%s"
        for group, rows in groups.items():
            sets = ", ".join(f'"{column}" = {mark}' for column in group)
            with closing(self._database.connection().cursor()) as cursor:
                cursor.executemany(f'UPDATE "{name}" SET {sets} WHERE id = {mark}', rows)
