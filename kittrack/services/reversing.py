"""Correcting by reversal: a new event that puts back what an earlier one moved and set (R12).

It is possible only while everything that the event moved is still where it put it, and everything that it
set still stands; else the later events are listed. The rules of the place where things come back to are checked
again. Breaking a set and opening a kit can't be reversed.
"""

import json
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any

from kittrack.domain.ledger import PlaceKind
from kittrack.domain.rules import Rule, require
from kittrack.domain.soundness import Moment, check_set, check_stock
from kittrack.errors import NotFound, Refusal
from kittrack.services import desk
from kittrack.services.desk import Done
from kittrack.services.sealing import check_kit_seal, check_still_good
from kittrack.store.act import Act, Slot
from kittrack.store.database import Store
from kittrack.store.kit_facts import kit_fact, set_facts, stock_facts
from kittrack.store.records import TABLES, Event, Kit, Movement, Place, Record, RotorSet, Voucher
from kittrack.store.reversals import REVERSAL, like_a_reversal_of, not_reversed

REVERSIBLE = frozenset(
    {
        "receive a delivery",
        "inspect stock",
        "move things",
        "put a kit away",
        "issue a kit",
        "enter hours and flights",
    }
)
"""Acts that a reversal can undo. What breaks, opens, fits or consumes is put right by its own acts."""

_LEFT_STANDING = {"voucher"}
"""Rows that an act made and its reversal marks: a voucher becomes "reversed". All other rows just stay."""


@desk.done_by("manager", "clerk")
def reverse_event(
    store: Store, *, event: int, reason: str, by: str, at: datetime, second: str, seal: str = ""
) -> Done:
    """Reverse an event, with a reason and a second person.

    Args:
        store: the store.
        event: the event's number, as the log shows it.
        reason: why.
        by: who reverses.
        at: the instant.
        second: the second person.
        seal: the seal as it is read on the kit, where the event issued one.

    Raises:
        Refused: the act can't be reversed, or later events built on it (R12), no second person (R8), a kit with
            another seal (R5), or what would come back to a bin or a van is not fit for issue (R6, R13).
        NotFound: there is no such event.
    """
    desk.require_text(reason=reason)
    with store.act(REVERSAL, by=by, at=at, second=second, reason=reason) as act:
        earlier = act.find(Event, id=event)
        if earlier is None:
            raise NotFound(f"there is no event {event}; the event log shows the numbers")
        movements = act.select(Movement, "event_id = ?", event)
        statements = json.loads(earlier.statements)
        require(
            desk.check_done_by(act, reverse_event),
            desk.check_second(first=act.by, second=act.second, what="a reversal"),
            _check_reversible(act, earlier),
            _check_untouched(act, earlier, movements),
            _check_unchanged(act, earlier, statements),
            _check_unread(act, earlier, statements),
            _check_kits(act, movements, seal) if earlier.act == "issue a kit" else [],
            _check_shelves(act, movements),
        )
        for movement in reversed(movements):
            _move_back(act, movement)
        for statement in reversed(statements):
            _set_back(act, statement)
        act.note("reversed", event=event)
    return Done(act.event_id, said=(f"Event {event} ({earlier.act}) is reversed by event {act.event_id}.",))


def _check_reversible(act: Act, earlier: Event) -> list[Refusal]:
    name = f"event {earlier.id}"
    if earlier.act not in REVERSIBLE:
        message = (
            f"{name} ({earlier.act}) can't be reversed; put it right by the act that follows it in the work."
        )
        return [Refusal(Rule.NOTHING_ERASED, name, message)]
    done = act.value(
        "SELECT id FROM event WHERE act = ? AND statements LIKE ?",
        REVERSAL,
        like_a_reversal_of(earlier.id),
    )
    return (
        [Refusal(Rule.NOTHING_ERASED, name, f"{name} was reversed already by event {done}; look at the log.")]
        if done
        else []
    )


def _check_untouched(act: Act, earlier: Event, movements: Sequence[Movement]) -> list[Refusal]:
    """Refuse where something that the event moved was moved again, and name the later events."""
    later: set[int] = set()
    brought: Counter[tuple[int | None, Slot]] = Counter()
    for m in movements:
        if m.container_id is not None:
            later |= _moved_since(act, earlier, "container_id = ?", m.container_id)
            inside = "from_place_id = ? OR to_place_id = ?"
            later |= _moved_since(act, earlier, inside, m.container_id, m.container_id)
        else:
            brought[m.receipt_line_id, _to_slot(m)] += m.quantity
    for (line_id, slot), quantity in brought.items():
        if not _lies_there(act, line_id, slot, quantity):
            taken = "receipt_line_id = ? AND from_place_id = ?"
            later |= _moved_since(act, earlier, taken, line_id, slot.place_id)
    if not later:
        return []
    listed = ", ".join(str(number) for number in sorted(later)[:10])
    name = f"event {earlier.id}"
    return [
        Refusal(
            Rule.NOTHING_ERASED,
            name,
            f"{name} can't be reversed, since what it moved was moved again by event {listed}; reverse these first.",
        )
    ]


def _moved_since(act: Act, earlier: Event, what: str, *params: object) -> set[int]:
    rows = act.rows(f"SELECT event_id FROM movement WHERE event_id > ? AND ({what})", earlier.id, *params)
    return {row[0] for row in rows}


def _to_slot(movement: Movement) -> Slot:
    return Slot(movement.to_place_id, movement.to_condition, movement.to_piece_id)


def _lies_there(act: Act, line_id: int | None, slot: Slot, quantity: int) -> bool:
    piece = "IS NULL" if slot.piece_id is None else "= ?"
    params = [line_id, slot.place_id, slot.condition, quantity]
    if slot.piece_id is not None:
        params.append(slot.piece_id)
    sql = f"SELECT 1 FROM holding WHERE receipt_line_id = ? AND place_id = ? AND condition = ? AND quantity >= ? AND piece_id {piece}"
    return act.value(sql, *params) is not None


def _check_unchanged(act: Act, earlier: Event, statements: Sequence[list[Any]]) -> list[Refusal]:
    """Refuse where something that the event set was set again."""
    changed = []
    for statement in statements:
        if statement[0] != "update":
            continue
        _, table, row_id, new, _ = statement
        row: Record = act.get(TABLES[table], row_id)
        if any(getattr(row, column) != value for column, value in new.items()):
            changed.append(f"{table.replace('_', ' ')} {getattr(row, 'code', row_id)}")
    if not changed:
        return []
    name = f"event {earlier.id}"
    return [
        Refusal(
            Rule.NOTHING_ERASED,
            name,
            f"{name} can't be reversed, since {', '.join(changed)} was changed since; look at the log.",
        )
    ]


def _check_unread(act: Act, earlier: Event, statements: Sequence[list[Any]]) -> list[Refusal]:
    """Refuse to take back hours that were read again since, or from which the service of a rotor was counted since."""
    later: set[int] = set()
    for statement in statements:
        if statement[:2] == ["insert", "usage_reading"]:
            frame = statement[2]["airframe_id"]
            later |= {row[0] for sql in _COUNTED_FROM for row in act.rows(sql, frame, earlier.id)}
    if not later:
        return []
    name, listed = f"event {earlier.id}", ", ".join(str(number) for number in sorted(later)[:10])
    message = (
        f"{name} can't be reversed, since event {listed} read the hours again or counted from them; note the right hours in the "
        "logbook, and enter the counter once it has passed these."
    )
    return [Refusal(Rule.NOTHING_ERASED, name, message)]


_AT_POSITION = "x JOIN position p ON p.id = x.position_id WHERE p.airframe_id = ? AND x.event_id > ?"
_COUNTED_FROM = (
    f"SELECT x.event_id FROM fit_record {_AT_POSITION}",
    f"SELECT x.event_id FROM torque_record {_AT_POSITION}",
    "SELECT event_id FROM removal WHERE airframe_id = ? AND event_id > ?",
    "SELECT event_id FROM finding WHERE airframe_id = ? AND event_id > ?",
    f"SELECT event_id FROM usage_reading WHERE airframe_id = ? AND event_id > ? AND {not_reversed('usage_reading.event_id')}",
)


def _check_kits(act: Act, movements: Sequence[Movement], seal: str) -> list[Refusal]:
    """Refuse to take an issue back without reading the kit's seal: what was opened meanwhile is opened (R5)."""
    kits = [k for m in movements if m.container_id and (k := act.find(Kit, place_id=m.container_id))]
    return [r for kit in kits if kit.state == "issued" for r in check_kit_seal(kit_fact(act, kit), seal)]


def _check_shelves(act: Act, movements: Sequence[Movement]) -> list[Refusal]:
    """Refuse to put back into a bin or a van what is not fit for issue by now (R6, R13)."""
    found = []
    for m in movements:
        back = act.get(Place, m.from_place_id) if m.from_place_id else None
        if back and back.id != m.to_place_id and back.kind in (PlaceKind.BIN, PlaceKind.VAN):
            found += _unfit(act, m)
    return list(dict.fromkeys(found))


def _unfit(act: Act, m: Movement) -> list[Refusal]:
    now = Moment(act.moment, desk.zone(act))
    if m.container_id is None:
        piece = "h.piece_id IS NULL" if m.to_piece_id is None else f"h.piece_id = {m.to_piece_id}"
        where = f"h.receipt_line_id = ? AND h.place_id = ? AND h.condition = ? AND {piece}"
        return check_stock(stock_facts(act, where, m.receipt_line_id, m.to_place_id, m.to_condition), now=now)
    kit, rotor_set = act.find(Kit, place_id=m.container_id), act.find(RotorSet, place_id=m.container_id)
    if kit is not None and kit.state in ("sealed", "issued"):
        return check_still_good(act, kit_fact(act, kit))
    if rotor_set is not None:
        return check_set(replace(set_facts(act, [rotor_set])[0], bound_to=""), now=now)
    return []


def _move_back(act: Act, m: Movement) -> None:
    if m.from_place_id is None:
        raise AssertionError("no act that can be reversed makes a container")
    if m.container_id is not None:
        act.move_container(m.container_id, from_place_id=m.to_place_id, to_place_id=m.from_place_id)
        return
    there, back = _to_slot(m), Slot(m.from_place_id, m.from_condition, m.from_piece_id)
    act.move_stock(m.receipt_line_id or 0, m.quantity, from_slot=there, to_slot=back)


def _set_back(act: Act, statement: Sequence[Any]) -> None:
    if statement[0] == "update":
        _, table, row_id, _, old = statement
        act.update(act.get(TABLES[table], row_id), **old)
    elif statement[0] == "insert" and statement[1] in _LEFT_STANDING:
        voucher = act.get(Voucher, statement[2]["id"])
        act.update(voucher, state="reversed")
