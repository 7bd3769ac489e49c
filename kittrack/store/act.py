"""Reading a store, and the one way of writing to it: an act.

An act is one transaction and one event. Every row it inserts or changes is written through it, so that
the event carries each of them as a statement and the whole store is a fold over its events and movements
(fold.py). Source: design 2, A3.
"""

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from typing import Any, TypeVar

from kittrack.domain import codes
from kittrack.domain.dates import shown_at
from kittrack.domain.ledger import Condition
from kittrack.errors import BadInput, Conflict, NotFound
from kittrack.store.records import CACHES, SECRETS, Event, Movement, Person, PersonRole, Record, Site
from kittrack.store.tables import columns, insert_sql, select_sql, values

R = TypeVar("R", bound=Record)

GENESIS = "0" * 64
"""What stands for the hash before the first event."""


CLOCKS_DIFFER = timedelta(seconds=10)
"""How far an act's time may lie before the last record: clocks of several computers differ by a little, and an act
waits for its turn while another one, begun later, may have got it first. It is recorded at the last record's time."""


def instant_text(at: datetime) -> str:
    """An aware instant as the store keeps it: UTC, microseconds, "Z"."""
    if at.tzinfo is None:
        raise BadInput("the time has no offset from UTC; give it with one", field="at")
    return at.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ")


def read_instant_text(text: str) -> datetime:
    """The aware instant that `instant_text` wrote."""
    return datetime.strptime(text, "%Y-%m-%dT%H:%M:%S.%fZ").replace(tzinfo=UTC)


@dataclass(frozen=True)
class Slot:
    """Where stock is and in which condition; `piece_id` for a thing with an identity of its own."""

    place_id: int
    condition: str
    piece_id: int | None = None

    def on(self, condition: Condition) -> "Slot":
        """The same place and piece in another condition."""
        return replace(self, condition=condition.value)

    def at_place(self, place_id: int) -> "Slot":
        """The same condition and piece in another place."""
        return replace(self, place_id=place_id)


KEPT_AT_MOST = 500
"""Rows of one question that are kept for `get`; a whole table is read to be passed on and not to be kept."""


class Reading:
    """Questions to a store inside one transaction: they all see the same moment, so rows that were read are kept."""

    def __init__(self, database: Any, *, engine: str) -> None:
        self._database = database
        self.engine = engine
        self._rows_read: dict[tuple[str, int], Record] = {}
        self._time_zone: str | None = None

    @property
    def time_zone(self) -> str:
        """The time zone of the stores: that of its first site, whose number is 1 for ever."""
        if self._time_zone is None:
            self._time_zone = self.get(Site, 1).time_zone
        return self._time_zone

    def rows(self, sql: str, *params: Any) -> list[tuple[Any, ...]]:
        """Every row of a query with `?` placeholders."""
        return list(self._run(sql, params).fetchall())

    def row(self, sql: str, *params: Any) -> tuple[Any, ...] | None:
        """The first row of a query, or None."""
        found: tuple[Any, ...] | None = self._run(sql, params).fetchone()
        return found

    def value(self, sql: str, *params: Any) -> Any:
        """The first column of the first row, or None."""
        found = self._run(sql, params).fetchone()
        return found[0] if found else None

    def get(self, record: type[R], row_id: int) -> R:
        """The row with an id that another row refers to; asked for once.

        Raises:
            NotFound: there is none.
        """
        kept = self._rows_read.get((record.shape.name, row_id))
        if isinstance(kept, record):
            return kept
        found = self.select(record, "id = ?", row_id)
        if not found:
            raise NotFound(f"there is no {record.shape.name.replace('_', ' ')} with number {row_id}")
        return found[0]

    def get_all(self, record: type[R], row_ids: Iterable[int]) -> dict[int, R]:
        """The rows with some ids, by id; those that were not read yet are asked for together."""
        ids = sorted(set(row_ids))
        new = [i for i in ids if (record.shape.name, i) not in self._rows_read]
        for start in range(0, len(new), KEPT_AT_MOST):
            part = new[start : start + KEPT_AT_MOST]
            self.select(record, f"id IN ({', '.join('?' * len(part))})", *part)
        return {row_id: self.get(record, row_id) for row_id in ids}

    def find(self, record: type[R], **equal: Any) -> R | None:
        """The first row (by id) whose columns equal the values given, or None."""
        where = " AND ".join(
            f'"{name}" IS NULL' if v is None else f'"{name}" = ?' for name, v in equal.items()
        )
        found = self.select(record, where, *(v for v in equal.values() if v is not None), limit=1)
        return found[0] if found else None

    def select(
        self, record: type[R], where: str = "", *params: Any, order: str = "id", limit: int | None = None
    ) -> list[R]:
        """Rows of one table, ordered by id unless said otherwise."""
        sql = select_sql(record) + (f" WHERE {where}" if where else "") + f" ORDER BY {order}"
        if limit is not None:
            sql += f" LIMIT {int(limit)}"
        names = columns(record)
        found = [record(**dict(zip(names, row, strict=True))) for row in self._run(sql, params).fetchall()]
        if len(found) <= KEPT_AT_MOST:
            self._rows_read.update({(record.shape.name, row.id): row for row in found})
        return found

    def roles_of(self, person: Person) -> frozenset[str]:
        """The roles that a person has now."""
        found = self.rows("SELECT role FROM person_role WHERE person_id = ? AND active = 1", person.id)
        return frozenset(row[0] for row in found)

    def _run(self, sql: str, params: Sequence[Any]) -> Any:
        if self.engine == "postgresql":
            sql = sql.replace("%", "%%").replace("?", "%s")
        return self._database.execute_sql(sql, params)


_BEGINNING = (
    "SELECT e.id, e.at, e.hash, (SELECT max(id) FROM movement), s.number_floor, (SELECT time_zone FROM site WHERE id = 1) "
    "FROM store_stamp s LEFT JOIN event e ON e.id = (SELECT max(id) FROM event)"
)
"""What an act goes on from: the last event, the last movement, the number after which codes are given out, and the
time zone of the first site (ids count from 1 and no row is ever deleted)."""


class Act(Reading):
    """One act of one person: what it writes is one event, and stands or falls as a whole.

    It keeps the rows that it read: nobody else writes before its end, so a row changes through it alone.
    """

    def __init__(
        self,
        database: Any,
        *,
        engine: str,
        name: str,
        at: datetime,
        reason: str = "",
        key: str = "",
        corrects_clock: bool = False,
    ) -> None:
        super().__init__(database, engine=engine)
        self.name = name
        self.moment = at
        self.at = instant_text(at)
        self.reason = reason
        beginning = self.row(_BEGINNING) or (None, None, None, None, 0, None)
        last_id, last_at, last_hash, last_movement, floor, self._time_zone = beginning
        self.event_id: int = 1 + (last_id or 0)
        self.number_floor: int = floor
        self._previous = last_hash or GENESIS
        self._statements: list[list[Any]] = []
        self._movements: list[Movement] = []
        self._next_ids: dict[str, int] = {Movement.shape.name: 1 + (last_movement or 0)}
        self._roles: dict[int, frozenset[str]] = {}
        self.key = key or f"event {self.event_id}"
        self.by_id: int = 0
        self.second_id: int | None = None
        if last_at and self.at < last_at and not corrects_clock:
            self._follow(last_at)
        if key.startswith("event "):
            raise BadInput(
                f"{key!r} can't be the name of an act; the store names its own acts so", field="key"
            )
        earlier = key and self.row("SELECT id, at FROM event WHERE key = ?", key)
        if earlier:
            raise Conflict(
                f"this act was already recorded as event {earlier[0]} at {shown_at(read_instant_text(earlier[1]))}"
            )

    def _follow(self, last_at: str) -> None:
        """Take the time of the last record where this act's lies a little before it; else refuse the clock."""
        last = read_instant_text(last_at)
        if last - self.moment > CLOCKS_DIFFER:
            raise BadInput(
                f"the time {shown_at(self.moment)} lies before the last record, of {shown_at(last, zone=self.moment.tzinfo)}; "
                "set the clock of this computer, "
                "or let a manager record that it was wrong then: kittrack clock correct",
                field="at",
            )
        self.moment, self.at = last.astimezone(self.moment.tzinfo), last_at

    @property
    def by(self) -> Person:
        """The person whose act this is."""
        return self.get(Person, self.by_id)

    @property
    def second(self) -> Person | None:
        """The second person, where one confirmed."""
        return self.get(Person, self.second_id) if self.second_id else None

    def roles_of(self, person: Person) -> frozenset[str]:
        """The roles that a person has now; asked for once in an act."""
        if person.id not in self._roles:
            self._roles[person.id] = super().roles_of(person)
        return self._roles[person.id]

    def people_known_as(self, *names: str) -> tuple[Person | None, ...]:
        """The people whose badge codes or exact names are given, each with its roles, in one question."""
        people, roles = _people(self, names)
        self._rows_read.update({(Person.shape.name, p.id): p for p in people})
        self._roles.update(roles)
        return tuple(_known_as(people, name) for name in names)

    def insert(self, record: R) -> R:
        """Write a new row; returns it with its id."""
        name = record.shape.name
        if name in CACHES or name in SECRETS or name in {"event", "movement"}:
            raise AssertionError(
                f"{name} is not written by acts: the ledger and the secrets have their own way"
            )
        made = replace(record, id=self._take_id(type(record)))  # type: ignore[type-var]  # every record is a dataclass
        row = values(made)
        self._run(insert_sql(type(record)), row)
        self._keep(made)
        self._statements.append(["insert", name, dict(zip(columns(type(record)), row, strict=True))])
        return made

    def update(self, record: R, **changes: Any) -> R:
        """Change columns of a row; returns it as it then is. Nothing happens when nothing differs."""
        real = {name: v for name, v in changes.items() if getattr(record, name) != v}
        if not real:
            return record
        name = record.shape.name
        if name in SECRETS:
            raise AssertionError(f"{name} holds secrets, and an act's event would tell them")
        sets = ", ".join(f'"{column}" = ?' for column in real)
        self._run(f'UPDATE "{name}" SET {sets} WHERE id = ?', (*real.values(), record.id))
        self._statements.append(["update", name, record.id, real, {c: getattr(record, c) for c in real}])
        made = replace(record, **real)  # type: ignore[type-var]  # every record is a dataclass
        self._keep(made)
        return made

    def _keep(self, row: Record) -> None:
        """Keep a row as it has just been written; what was kept of roles is asked for again once one changes."""
        self._rows_read[row.shape.name, row.id] = row
        if isinstance(row, PersonRole):
            self._roles.pop(row.person_id, None)

    def note(self, name: str, **facts: Any) -> None:
        """Keep facts in the event that no table has a column for."""
        self._statements.append(["note", name, facts])

    def move_stock(self, receipt_line_id: int, quantity: int, *, from_slot: Slot, to_slot: Slot) -> None:
        """Move a quantity of a receipt line from slot to slot; the guards refuse what can't be."""
        self._move(
            Movement(
                event_id=self.event_id, receipt_line_id=receipt_line_id, quantity=quantity,
                from_place_id=from_slot.place_id, from_condition=from_slot.condition, from_piece_id=from_slot.piece_id,
                to_place_id=to_slot.place_id, to_condition=to_slot.condition, to_piece_id=to_slot.piece_id,
            )
        )  # fmt: skip

    def move_container(self, container_id: int, *, from_place_id: int | None, to_place_id: int) -> None:
        """Move a container with all that it holds; `from_place_id` None for its first place."""
        self._move(
            Movement(
                event_id=self.event_id, container_id=container_id, quantity=1,
                from_place_id=from_place_id, to_place_id=to_place_id,
            )
        )  # fmt: skip

    def new_code(self, record: type[Record], kind: codes.Kind) -> str:
        """The next code of a kind that this store gives out, after every one it gave before."""
        name = record.shape.name
        if name == "place":
            last = self.value(
                "SELECT code FROM place WHERE code LIKE ? ORDER BY length(code) DESC, code DESC LIMIT 1",
                f"{kind.value}%",
            )
        else:
            last_id, last = self.row(f'SELECT id, code FROM "{name}" ORDER BY id DESC LIMIT 1') or (0, "")
            self._next_ids.setdefault(name, 1 + last_id)
        after = codes.read_code(last).number if last else 0
        return codes.make_code(kind, codes.next_number(kind, after=max(after, self.number_floor)))

    def conclude(self) -> Event:
        """Write the event with its hash; the transaction is then ready to commit."""
        offset = self.moment.utcoffset()
        event = Event(
            id=self.event_id, act=self.name, at=self.at,
            offset_minutes=int(offset.total_seconds() // 60) if offset else 0,
            by_id=self.by_id, second_id=self.second_id, reason=self.reason, key=self.key,
            statements=canonical(self._statements), previous_hash=self._previous, hash="",
        )  # fmt: skip
        event = replace(event, hash=event_hash(event, self._movements))
        self._run(insert_sql(Event), values(event))
        return event

    def _take_id(self, record: type[Record]) -> int:
        name = record.shape.name
        if name not in self._next_ids:
            self._next_ids[name] = 1 + (self.value(f'SELECT max(id) FROM "{name}"') or 0)
        taken = self._next_ids[name]
        self._next_ids[name] = taken + 1
        return taken

    def _move(self, movement: Movement) -> None:
        made = replace(movement, id=self._take_id(Movement))
        self._run(insert_sql(Movement), values(made))
        self._movements.append(made)


_ENCODER = json.JSONEncoder(sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def canonical(value: Any) -> str:
    """The one JSON text of a value: keys sorted, no spaces, every character as itself."""
    return _ENCODER.encode(value)


def event_hash(event: Event, movements: Sequence[Movement]) -> str:
    """The SHA-256 of an event's canonical content, its movements and the hash before it, in hexadecimal."""
    content: dict[str, Any] = dict(zip(columns(Event), values(event), strict=True))
    del content["hash"]
    content["movements"] = [values(m) for m in movements]
    return hashlib.sha256(canonical(content).encode("utf-8", "surrogatepass")).hexdigest()


def person_known_as(read: Reading, who: str) -> Person:
    """The person whose badge code or exact name is given.

    Raises:
        NotFound: nobody is known so.
    """
    return people_known_as(read, who)[0]


def people_known_as(read: Reading, *names: str) -> tuple[Person, ...]:
    """The people whose badge codes or exact names are given, in one question.

    Raises:
        NotFound: nobody is known by one of them.
    """
    people, _ = _people(read, names)
    return tuple(known_person(_known_as(people, name), name) for name in names)


def known_person(found: Person | None, who: str) -> Person:
    """A person who was looked for.

    Raises:
        NotFound: nobody is known so.
    """
    if found is None:
        raise NotFound(f"no person is known as {who.strip()!r}; use the badge code or the exact name")
    return found


def _people(read: Reading, names: Sequence[str]) -> tuple[list[Person], Mapping[int, frozenset[str]]]:
    """Everybody whose badge code or exact name is among some texts, with the roles of each."""
    marks, named = ", ".join("?" * len(names)), [name.strip() for name in names]
    people: dict[int, Person] = {}
    roles: dict[int, set[str]] = {}
    for *person, role in read.rows(
        f"SELECT {', '.join(f'p.{column}' for column in columns(Person))}, r.role FROM person p "
        "LEFT JOIN person_role r ON r.person_id = p.id AND r.active = 1 "
        f"WHERE p.code IN ({marks}) OR p.name IN ({marks}) ORDER BY p.id",
        *(name.upper() for name in named),
        *named,
    ):
        found = Person(**dict(zip(columns(Person), person, strict=True)))
        people[found.id] = found
        roles.setdefault(found.id, set()).update([role] if role else [])
    return list(people.values()), {person_id: frozenset(held) for person_id, held in roles.items()}


def _known_as(people: Sequence[Person], who: str) -> Person | None:
    """The person with a badge code, else the one with an exact name."""
    text = who.strip()
    coded = [p for p in people if p.code == text.upper()]
    return next(iter(coded or [p for p in people if p.name == text]), None)
