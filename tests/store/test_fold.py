"""A changed history shows: each table changed by raw SQL is found and named."""

import sqlite3
from pathlib import Path

import pytest

from kittrack.domain.ledger import PlaceKind
from kittrack.errors import BadInput, StoreError
from kittrack.store import credentials
from kittrack.store.act import GENESIS, Slot
from kittrack.store.database import Store, open_store
from kittrack.store.fold import (
    _folded_tables,
    against_head,
    chain_head,
    differences,
    newest_differences,
)
from kittrack.store.guards import guard_statements
from kittrack.store.records import SECRETS, TABLES, Company, Delivery, Lot, Part, Place, ReceiptLine
from kittrack.store.stock import end_place
from tests.factories import BIN, CLERK, SCREW, after
from tests.machine.attack import attacking


def receive_and_move(store: Store) -> None:
    with store.act("receive", by=CLERK, at=after(5)) as act:
        part = act.find(Part, number=SCREW)
        assert part is not None
        lot = act.insert(
            Lot(code="L000001-X", part_id=part.id, maker_id=part.maker_id, supplier_id=1, lot_code="A1")
        )
        delivery = act.insert(
            Delivery(code="D000001-X", supplier_id=1, reference="D1", event_id=act.event_id)
        )
        line = act.insert(
            ReceiptLine(
                code="Y000001-X",
                delivery_id=delivery.id,
                lot_id=lot.id,
                part_id=part.id,
                quantity=20,
                event_id=act.event_id,
            )
        )
        bin_place = act.find(Place, name=BIN)
        assert bin_place is not None
        source = Slot(end_place(act, PlaceKind.SUPPLIER).id, "on hold")
        act.move_stock(line.id, 20, from_slot=source, to_slot=Slot(bin_place.id, "serviceable"))


def found_in(store: Store) -> list[str]:
    with store.reading() as read:
        return [d.message for d in differences(read)]


def test_a_store_written_by_acts_is_clean(store: Store) -> None:
    receive_and_move(store)
    assert found_in(store) == []


def unguarded(path: Path) -> sqlite3.Connection:
    """The attacker's view: the file itself, its guards taken off and put back afterwards."""
    raw = sqlite3.connect(path)
    for (name,) in raw.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
        raw.execute(f"DROP TRIGGER {name}")
    return raw


@pytest.fixture
def path(sqlite_template: Path, tmp_path: Path) -> Path:
    copy = tmp_path / "attacked.kittrack"
    copy.write_bytes(sqlite_template.read_bytes())
    store = open_store(f"sqlite:///{copy}")
    receive_and_move(store)
    store.close()
    return copy


def forge(path: Path, *statements: str) -> Store:
    """The store after statements that no guard stopped, with its guards back in place."""
    raw = unguarded(path)
    raw.execute("PRAGMA ignore_check_constraints = 1")
    for statement in statements:
        assert raw.execute(statement).rowcount, f"changes nothing: {statement}"
    for statement in guard_statements("sqlite"):
        raw.execute(statement)
    raw.commit()
    raw.close()
    return open_store(f"sqlite:///{path}")


def attacked(path: Path, *statements: str) -> list[str]:
    store = forge(path, *statements)
    try:
        return found_in(store)
    finally:
        store.close()


def first_text_column(table: str) -> str:
    fields = TABLES[table].__dataclass_fields__  # type: ignore[attr-defined]  # every record is a dataclass
    return next(str(n) for n, f in fields.items() if n != "id" and f.type in (str, "str"))


@pytest.mark.parametrize(
    "table",
    ["event", "site", "person", "place", "company", "part", "lot", "receipt_line", "tool", "position"],
)
def test_a_text_changed_by_raw_sql_is_found_and_named(path: Path, table: str) -> None:
    column = first_text_column(table)
    found = attacked(path, f"UPDATE {table} SET {column} = 'forged' WHERE id = (SELECT max(id) FROM {table})")
    assert any(table in message for message in found), found


@pytest.mark.parametrize(
    ("statement", "word"),
    [
        ("DELETE FROM event WHERE id = 5", "missing"),
        (
            "UPDATE movement SET quantity = 19 WHERE receipt_line_id IS NOT NULL",
            "changed after it was recorded",
        ),
        ("DELETE FROM movement WHERE receipt_line_id IS NOT NULL", "changed after it was recorded"),
        ("UPDATE holding SET quantity = 19 WHERE quantity = 20", "the movements say 20"),
        ("DELETE FROM company WHERE name = 'Invented Supplies'", "taken out without an act"),
        ("INSERT INTO company VALUES (99, 'Smuggled', 1, 1, NULL)", "put in without an act"),
        (
            "UPDATE containment SET inside_id = 1 WHERE id = (SELECT min(id) FROM containment)",
            "the movements say",
        ),
        ("UPDATE event SET id = 1000 WHERE id = (SELECT max(id) FROM event)", "missing"),
    ],
)
def test_a_rewritten_history_is_found(path: Path, statement: str, word: str) -> None:
    assert any(word in message for message in attacked(path, statement))


def test_a_line_that_does_not_sum_to_zero_is_named_beside_the_holding_that_differs(path: Path) -> None:
    assert attacked(path, "UPDATE holding SET quantity = 19 WHERE quantity = 20") == [
        "receipt line 1 in place 18 (serviceable): kept 19, the movements say 20",
        "receipt line 1 does not sum to zero over all places: -1",
    ]


def test_a_gap_in_the_history_names_what_is_missing_and_what_follows_nothing(path: Path) -> None:
    found = attacked(path, "DELETE FROM event WHERE id IN (5, 6)")
    assert "before event 7: events 5 to 6 are missing" in found
    assert "event 7 does not follow the event before it" in found


def test_an_event_of_which_a_movement_changed_says_so(path: Path) -> None:
    number = last_of(path)
    found = attacked(path, "UPDATE movement SET quantity = 19 WHERE receipt_line_id IS NOT NULL")
    assert f"event {number} (receive) or one of its 1 movements was changed after it was recorded" in found


def test_an_event_without_movements_that_changed_says_so(path: Path) -> None:
    found = attacked(path, "UPDATE event SET reason = 'forged' WHERE id = 2")
    assert [m for m in found if m.startswith("event 2 ")] == [
        "event 2 (add a person) was changed after it was recorded"
    ]


def test_a_truncated_history_shows_against_a_head_kept_outside(path: Path) -> None:
    store = open_store(f"sqlite:///{path}")
    with store.reading() as read:
        number, head = chain_head(read)
        kept = f"{number}:{head}"
        assert list(against_head(read, kept)) == []
        assert list(against_head(read, "")) == []
        (rewritten,) = against_head(read, f"{number}:{'0' * 64}")
        assert (
            rewritten.message
            == f"event {number} is not the one noted outside the store: its history was rewritten"
        )
        (longer,) = against_head(read, f"{number + 1}:{head}")
        assert (
            longer.message
            == f"event {number + 1}, noted outside the store, is not in it: its history was cut off"
        )
        assert list(against_head(read, f"0:{GENESIS}")) == []
        with pytest.raises(BadInput, match="not NUMBER:HASH"):
            list(against_head(read, head))
    store.close()


def test_the_head_of_an_empty_chain_is_its_beginning(path: Path) -> None:
    store = forge(path, "DELETE FROM event")
    with store.reading() as read:
        assert chain_head(read) == (0, GENESIS)
        assert newest_differences(read) == ()
    store.close()


def test_every_table_is_folded_or_checked_by_its_own_fold() -> None:
    """A table that is added is folded from the day on which it is there; only these have checks of their own."""
    assert {*TABLES} - {*_folded_tables()} == {"event", "movement", "holding", "containment", *SECRETS}


# ---- the newest events, looked at in every start -------------------------------------------------


def newest_of(path: Path, *statements: str) -> list[str]:
    store = forge(path, *statements)
    try:
        with store.reading() as read:
            return [d.message for d in newest_differences(read)]
    finally:
        store.close()


def last_of(path: Path) -> int:
    store = open_store(f"sqlite:///{path}")
    with store.reading() as read:
        number, _ = chain_head(read)
    store.close()
    return number


def test_the_newest_events_of_a_sound_store_hold_together(path: Path) -> None:
    assert newest_of(path) == []


@pytest.mark.parametrize(("back", "found"), [(0, True), (4, True), (5, False)])
def test_a_change_is_told_at_once_in_the_five_newest_events(path: Path, back: int, found: bool) -> None:
    number = last_of(path) - back
    told = newest_of(path, f"UPDATE event SET reason = 'forged' WHERE id = {number}")
    assert told == ([f"event {number} is not as it was recorded"] if found else [])


def test_a_movement_of_the_newest_events_that_changed_is_told_at_once(path: Path) -> None:
    number = last_of(path)
    told = newest_of(path, f"UPDATE movement SET quantity = 19 WHERE event_id = {number}")
    assert told == [f"event {number} is not as it was recorded"]


def test_an_event_that_follows_another_than_the_one_before_it_is_told_at_once(path: Path) -> None:
    number = last_of(path)
    told = newest_of(path, f"UPDATE event SET previous_hash = '{'0' * 64}' WHERE id = {number}")
    assert f"event {number} does not follow the event before it" in told


def test_a_row_that_a_newest_event_put_in_and_that_is_gone_is_told_at_once(path: Path) -> None:
    number = last_of(path)
    told = newest_of(path, "DELETE FROM receipt_line")
    assert told == [f"rows of receipt_line that event {number} (receive) put in are not there"]


@pytest.mark.parametrize(
    "statements",
    [
        "[[",
        "5",
        "[1]",
        "{}",
        '[["insert"]]',
        '[["insert", "company"]]',
        '[["insert", ["company"], {"id": 1}]]',
        '[["insert", "company", {}]]',
        '[["insert", "company", {"id": "one"}]]',
        '[["insert", "company", {"id": 1e400}]]',
        f'[["insert", "company", {{"id": {10**30}}}]]',
        '[["note", "founded"]]',
        '[["note", "founded", 5]]',
        f'[["note", "{credentials.SET}"]]',
        f'[["note", "{credentials.SET}", 5]]',
        f'[["note", "{credentials.SET}", {{"person": 1}}]]',
        f'[["note", "{credentials.WRONG}", ["locked_until_at"]]]',
        f'[["note", "{credentials.WRONG}", {{"person": "P9"}}]]',
        "[" * 100_000,
    ],
    ids=range(19),
)
def test_an_event_whose_statements_can_not_be_read_is_named_like_any_that_changed(
    path: Path, statements: str
) -> None:
    number = last_of(path)
    told = newest_of(path, f"UPDATE event SET statements = '{statements}' WHERE id = {number}")
    assert f"event {number} is not as it was recorded" in told
    store = open_store(f"sqlite:///{path}")
    found = found_in(store)
    store.close()
    assert any(m.startswith(f"event {number} (receive)") and "changed after" in m for m in found)


def test_a_store_without_its_stamp_is_told(path: Path) -> None:
    store = open_store(f"sqlite:///{path}")
    with attacking(f"sqlite:///{path}") as attack:
        attack.run("DELETE FROM store_stamp")
    with store.reading() as read:
        found = [(d.subject, d.message) for d in differences(read)]
    store.close()
    assert found == [("store_stamp row", "store_stamp has no row; restore the last backup")]
    with pytest.raises(StoreError):
        open_store(f"sqlite:///{path}")


def test_progress_reaches_the_whole(store: Store) -> None:
    seen: list[tuple[int, int]] = []
    with store.reading() as read:
        assert list(differences(read, progress=lambda done, total: seen.append((done, total)))) == []
    assert seen[-1][0] == seen[-1][1] > 0


def test_a_company_row_of_an_act_is_no_difference(store: Store) -> None:
    with store.act("add", by=CLERK, at=after(1)) as act:
        company = act.insert(Company(name="Fine"))
        act.update(company, name="Finer")
    assert found_in(store) == []
