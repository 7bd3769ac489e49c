"""Folding a store again from its events and movements, and naming every difference.

Every row was written through an act, so the events' statements say what each table must hold; the
movements say what each slot and container must hold; the chain of hashes says that no event was changed,
dropped or put in between. What has no statements of its own (PINs, the stamp, the guards themselves) is held
against the notes that acts left and against the program's own text. Source: design 2 (`kittrack verify` folds
again and compares), R12.
"""

import json
import re
from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass
from operator import index
from typing import Any

from kittrack.errors import BadInput
from kittrack.store.act import GENESIS, Reading, event_hash
from kittrack.store.credentials import wrong_credentials
from kittrack.store.records import CACHES, SECRETS, TABLES, Event, Movement
from kittrack.store.schema import wrong_guards
from kittrack.store.stamp import wrong_stamp
from kittrack.store.tables import columns

_BATCH = 2000
_INT64 = 2**63
Progress = Callable[[int, int], None]


@dataclass(frozen=True, order=True)
class Difference:
    """One thing that does not agree: what kind of check found it, what it is about, and a sentence."""

    check: str
    subject: str
    message: str


def differences(read: Reading, *, progress: Progress | None = None) -> Iterator[Difference]:
    """Every difference between the store and the fold of its own history, in a stable order.

    Args:
        read: one open reading; all checks see the same moment.
        progress: called with (events done, events in all) now and then.
    """
    tables: dict[str, dict[int, dict[str, Any]]] = {name: {} for name in _folded_tables()}
    yield from _chain(read, tables, progress)
    for name in _folded_tables():
        yield from _rows_against_fold(read, name, tables[name])
    yield from _stray_movements(read)
    yield from _holdings(read)
    yield from _containers(read)
    for code, message in wrong_credentials(read):
        yield Difference("secrets", f"credential of {code}", message)
    for column, message in wrong_stamp(read):
        yield Difference("stamp", f"store_stamp {column}", message)
    for name, message in wrong_guards(read):
        yield Difference("guards", name, message)


def newest_differences(read: Reading, *, count: int = 5) -> tuple[Difference, ...]:
    """What does not hold together among the newest events: their chain, and the rows that they put in.

    A file that was cut off, copied half or damaged shows here first; `differences` looks at everything.
    """
    last = read.value("SELECT max(id) FROM event") or 0
    events = read.select(Event, "id > ?", last - count)
    moved = _movements(read, events[0].id, last) if events else {}
    found: list[Difference] = []
    for before, event in zip([None, *events], events, strict=False):
        subject = f"event {event.id}"
        if before is not None and event.previous_hash != before.hash:
            found.append(Difference("chain", subject, f"{subject} does not follow the event before it"))
        if event_hash(event, moved.get(event.id, [])) != event.hash:
            found.append(Difference("chain", subject, f"{subject} is not as it was recorded"))
        found += _rows_missing(read, event)
    return tuple(found)


def _rows_missing(read: Reading, event: Event) -> Iterator[Difference]:
    put: dict[str, set[int]] = {}
    try:
        for kind, name, *rest in json.loads(event.statements):
            if kind == "insert" and name in TABLES:
                put.setdefault(name, set()).add(index(rest[0]["id"]))
    except (ValueError, LookupError, TypeError, RecursionError):
        return  # the chain's own check names an event that can't be read
    for name, ids in put.items():
        possible = [i for i in ids if abs(i) < _INT64]  # no engine is asked for what no row can have
        marks = ", ".join("?" * len(possible)) or "NULL"
        there = read.value(f'SELECT count(*) FROM "{name}" WHERE id IN ({marks})', *possible)
        if there != len(ids):
            message = f"rows of {name} that event {event.id} ({event.act}) put in are not there"
            yield Difference("rows", name, message)


def chain_head(read: Reading) -> tuple[int, str]:
    """The number and hash of the last event, to be kept outside the store; (0, zeros) for an empty one."""
    row = read.row("SELECT id, hash FROM event ORDER BY id DESC LIMIT 1")
    return (int(row[0]), str(row[1])) if row else (0, GENESIS)


def against_head(read: Reading, expected: str) -> Iterator[Difference]:
    """What a head that was kept outside the store says about it: nothing, or that it was cut off or rewritten.

    Args:
        expected: "number:hash" as a voucher, a note or `chain head` shows it; empty where none is known.

    Raises:
        BadInput: that is no head.
    """
    if not expected:
        return
    found = re.fullmatch(r"([0-9]{1,17}):([0-9a-f]{64})", expected.strip())
    if found is None:
        raise BadInput(
            "The head of the chain is not NUMBER:HASH with 64 hexadecimal digits; copy it whole from the "
            "voucher or the note.",
            field="expected head",
        )
    number, digest = int(found[1]), found[2]
    known = GENESIS if number == 0 else read.value("SELECT hash FROM event WHERE id = ?", number)
    if known is None:
        message = f"event {number}, noted outside the store, is not in it: its history was cut off"
        yield Difference("chain", f"event {number}", message)
    elif known != digest:
        message = f"event {number} is not the one noted outside the store: its history was rewritten"
        yield Difference("chain", f"event {number}", message)


def _folded_tables() -> list[str]:
    return [n for n in TABLES if n not in {"event", "movement", *CACHES, *SECRETS}]


def _chain(
    read: Reading, tables: dict[str, dict[int, dict[str, Any]]], progress: Progress | None
) -> Iterator[Difference]:
    """Walk the chain in order; fill `tables` with what the statements say."""
    total = read.value("SELECT count(*) FROM event")
    previous, expected, after = GENESIS, 1, 0
    while batch := read.select(Event, "id > ?", after, limit=_BATCH):
        after = batch[-1].id
        moved = _movements(read, batch[0].id, after)
        for event in batch:
            if event.id != expected:
                gap = (
                    f"events {expected} to {event.id - 1} are missing"
                    if event.id > expected
                    else "it stands twice"
                )
                yield Difference("chain", f"event {event.id}", f"before event {event.id}: {gap}")
            if event.previous_hash != previous:
                yield Difference(
                    "chain", f"event {event.id}", f"event {event.id} does not follow the event before it"
                )
            own = moved.get(event.id, [])
            if event_hash(event, own) != event.hash:
                either = f" or one of its {len(own)} movements" if own else ""
                yield Difference(
                    "chain",
                    f"event {event.id}",
                    f"event {event.id} ({event.act}){either} was changed after it was recorded",
                )
            previous, expected = event.hash, event.id + 1
            yield from _apply(event, tables)
        if progress:
            progress(after, total)


def _movements(read: Reading, first: int, last: int) -> dict[int, list[Movement]]:
    found: dict[int, list[Movement]] = {}
    for movement in read.select(Movement, "event_id BETWEEN ? AND ?", first, last):
        found.setdefault(movement.event_id, []).append(movement)
    return found


def _apply(event: Event, tables: dict[str, dict[int, dict[str, Any]]]) -> Iterator[Difference]:
    try:
        statements = json.loads(event.statements)
        for kind, name, *rest in statements:
            if kind == "insert":
                tables[name][index(rest[0]["id"])] = dict(rest[0])
            elif kind == "update":
                tables[name][rest[0]].update(rest[1])
    except (ValueError, LookupError, TypeError, RecursionError):
        yield Difference(
            "chain", f"event {event.id}", f"the statements of event {event.id} ({event.act}) can't be read"
        )


def _rows_against_fold(read: Reading, name: str, expected: dict[int, dict[str, Any]]) -> Iterator[Difference]:
    record = TABLES[name]
    defaults = {c: f.default for c, f in record.__dataclass_fields__.items()}  # type: ignore[attr-defined]  # a dataclass
    seen = set()
    for row in read.select(record):
        actual = asdict(row)  # type: ignore[call-overload]  # every record is a dataclass
        seen.add(row.id)
        should = expected.get(row.id)
        if should is None:
            yield Difference("rows", f"{name} {row.id}", f"{name} {row.id} was put in without an act")
            continue
        wrong = [c for c in columns(record) if actual[c] != should.get(c, defaults[c])]
        if wrong:
            yield Difference(
                "rows", f"{name} {row.id}", f"{name} {row.id} was changed without an act: {', '.join(wrong)}"
            )
    for missing in sorted(expected.keys() - seen):
        yield Difference("rows", f"{name} {missing}", f"{name} {missing} was taken out without an act")


def _stray_movements(read: Reading) -> Iterator[Difference]:
    rows = read.rows(
        "SELECT id, event_id FROM movement m WHERE NOT EXISTS (SELECT 1 FROM event e WHERE e.id = m.event_id) ORDER BY id"
    )
    for row in rows:
        yield Difference(
            "chain",
            f"movement {row[0]}",
            f"movement {row[0]} belongs to no event (its event {row[1]} is missing)",
        )


_FOLDED = (
    "SELECT receipt_line_id, coalesce(piece_id, 0) AS piece, place_id, condition, sum(quantity) AS quantity FROM ("
    "SELECT receipt_line_id, to_piece_id AS piece_id, to_place_id AS place_id, to_condition AS condition, quantity "
    "FROM movement WHERE receipt_line_id IS NOT NULL UNION ALL "
    "SELECT receipt_line_id, from_piece_id, from_place_id, from_condition, -quantity "
    "FROM movement WHERE receipt_line_id IS NOT NULL) moved "
    "GROUP BY receipt_line_id, coalesce(piece_id, 0), place_id, condition HAVING sum(quantity) <> 0"
)
_KEPT = "SELECT receipt_line_id, coalesce(piece_id, 0), place_id, condition, quantity FROM holding"


def _holdings(read: Reading) -> Iterator[Difference]:
    """The holdings against the fold of the movements, and conservation of every receipt line."""
    folded = {tuple(r[:4]): int(r[4]) for r in read.rows(_FOLDED)}
    kept = {tuple(r[:4]): int(r[4]) for r in read.rows(_KEPT)}
    for key in sorted(folded.keys() | kept.keys(), key=_with_gaps):
        should, is_kept = folded.get(key, 0), kept.get(key, 0)
        if should != is_kept:
            line, piece, place, condition = key
            subject = f"receipt line {line}" + (f", piece {piece}" if piece else "")
            yield Difference(
                "holdings",
                subject,
                f"{subject} in place {place} ({condition}): kept {is_kept}, the movements say {should}",
            )
    balance: dict[int, int] = {}
    for (line, *_), quantity in kept.items():
        balance[line] = balance.get(line, 0) + quantity
    for line, left in sorted(balance.items(), key=_with_gaps):
        if left:
            yield Difference(
                "conservation",
                f"receipt line {line}",
                f"receipt line {line} does not sum to zero over all places: {left:+d}",
            )


def _with_gaps(key: tuple[Any, ...]) -> tuple[tuple[bool, Any], ...]:
    """What a key is ordered by: an attacked store has nothing where something must be."""
    return tuple((part is not None, part) for part in key)


def _containers(read: Reading) -> Iterator[Difference]:
    last = dict(
        read.rows(
            "SELECT container_id, to_place_id FROM movement WHERE id IN "
            "(SELECT max(id) FROM movement WHERE container_id IS NOT NULL GROUP BY container_id)"
        )
    )
    kept = dict(read.rows("SELECT container_id, inside_id FROM containment"))
    for (container,) in sorted(((c,) for c in last.keys() | kept.keys()), key=_with_gaps):
        if last.get(container) != kept.get(container):
            yield Difference(
                "containers",
                f"place {container}",
                f"container {container}: kept in {kept.get(container)}, the movements say {last.get(container)}",
            )
