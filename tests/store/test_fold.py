"""A changed history shows: each table changed by raw SQL is found and named."""

import sqlite3
from pathlib import Path

import pytest

from kittrack.domain.ledger import PlaceKind
from kittrack.store.act import Slot
from kittrack.store.database import Store, open_store
from kittrack.store.fold import chain_head, differences
from kittrack.store.guards import guard_statements
from kittrack.store.records import CACHES, TABLES, Company, Delivery, Lot, Part, Place, ReceiptLine
from kittrack.store.stock import end_place
from tests.factories import BIN, CLERK, SCREW, after


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


def attacked(path: Path, *statements: str) -> list[str]:
    raw = unguarded(path)
    raw.execute("PRAGMA ignore_check_constraints = 1")
    for statement in statements:
        assert raw.execute(statement).rowcount, f"changes nothing: {statement}"
    for statement in guard_statements("sqlite"):
        raw.execute(statement)
    raw.commit()
    raw.close()
    store = open_store(f"sqlite:///{path}")
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


def test_a_truncated_history_shows_against_a_head_kept_outside(path: Path) -> None:
    store = open_store(f"sqlite:///{path}")
    with store.reading() as read:
        number, head = chain_head(read)
        earlier = read.value("SELECT hash FROM event WHERE id = ?", number - 1)
    store.close()
    assert head != earlier


def test_every_table_is_folded_or_checked_by_its_own_fold() -> None:
    assert set(CACHES) | {"event", "movement"} <= set(TABLES)


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
