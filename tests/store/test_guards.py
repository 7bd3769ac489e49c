"""What the database itself holds, tried by raw SQL past every service, on both engines."""

import pytest

from kittrack.domain.ledger import PlaceKind
from kittrack.errors import BadInput, Conflict, StoreError
from kittrack.store.act import Act, Slot
from kittrack.store.database import Store
from kittrack.store.guards import trigger_names
from kittrack.store.records import CACHES, TABLES, Company, Place, ReceiptLine, RotorSet
from kittrack.store.stock import directly_in, end_place, place_named
from tests.factories import BIN, BIN2, CLERK, CW_BLADE, SCREW, VAN, after, put_in_stock


def run(store: Store, sql: str) -> None:
    """One statement past every act, as an administrator might type it."""
    with store._writing():
        store._database.execute_sql(sql)


@pytest.mark.parametrize("table", sorted(set(TABLES) - set(CACHES) - {"event", "movement"}))
def test_no_row_of_any_table_can_be_deleted(store: Store, table: str) -> None:
    with store.reading() as read:
        filled = read.value(f'SELECT count(*) FROM "{table}"')
    if not filled:
        with store.reading() as read:
            assert f"{table}_never_deleted" in trigger_names(read.engine)
        return
    with pytest.raises(StoreError, match="rows can not be deleted"):
        run(store, f'DELETE FROM "{table}"')


@pytest.mark.parametrize("table", ["event", "movement"])
def test_the_history_can_neither_be_deleted_nor_changed(store: Store, table: str) -> None:
    put_in_stock(store, SCREW, 8, at=after(1))
    with pytest.raises(StoreError, match="rows can not be deleted"):
        run(store, f"DELETE FROM {table}")
    column = "reason" if table == "event" else "to_condition"
    with pytest.raises(StoreError, match="history can not be changed"):
        run(store, f"UPDATE {table} SET {column} = 'other'")


def slots(act: Act, line: str) -> tuple[ReceiptLine, Slot, Slot]:
    found = act.find(ReceiptLine, code=line)
    assert found is not None
    first, second = place_named(act, BIN), place_named(act, BIN2)
    return found, Slot(first.id, "serviceable"), Slot(second.id, "serviceable")


def test_more_than_is_there_can_not_be_taken(store: Store) -> None:
    code = put_in_stock(store, SCREW, 8, at=after(1))
    with (
        pytest.raises(StoreError, match="more would be taken"),
        store.act("take", by=CLERK, at=after(2)) as act,
    ):
        line, source, target = slots(act, code)
        act.move_stock(line.id, 9, from_slot=source, to_slot=target)
    with store.reading() as read:
        assert [s.quantity for s in directly_in(read, place_named(read, BIN).id)] == [8]


@pytest.mark.parametrize("quantity", [0, -1])
def test_nothing_and_less_than_nothing_can_not_be_moved(store: Store, quantity: int) -> None:
    code = put_in_stock(store, SCREW, 8, at=after(1))
    with (
        pytest.raises(StoreError, match="own rules"),
        store.act("x", by=CLERK, at=after(2)) as act,
    ):
        line, source, target = slots(act, code)
        act.move_stock(line.id, quantity, from_slot=source, to_slot=target)


def closed_set(store: Store) -> tuple[int, int]:
    """A closed set's place with 2 counted blades in it; answers with the place and the receipt line."""
    code = put_in_stock(store, CW_BLADE, 2, at=after(1))
    with store.act("make", by=CLERK, at=after(2)) as act:
        line, source, _ = slots(act, code)
        place = act.insert(Place(code="R000001-X", kind="rotor set", name="R000001-X"))
        act.insert(
            RotorSet(
                code="R000001-X", place_id=place.id, part_id=line.part_id, sense="CW", event_id=act.event_id
            )
        )
        act.move_container(place.id, from_place_id=None, to_place_id=source.place_id)
        act.move_stock(line.id, 2, from_slot=source, to_slot=source.at_place(place.id))
        act.update(place, closed=1)
    return place.id, line.id


def test_a_closed_set_gives_nothing_and_takes_nothing(store: Store) -> None:
    place, line = closed_set(store)
    with pytest.raises(StoreError, match="closed container"), store.act("take", by=CLERK, at=after(3)) as act:
        inside = Slot(place, "serviceable")
        act.move_stock(line, 1, from_slot=inside, to_slot=inside.at_place(place_named(act, BIN2).id))
    more = put_in_stock(store, CW_BLADE, 2, lot_code="B", at=after(4))
    with pytest.raises(StoreError, match="closed container"), store.act("add", by=CLERK, at=after(5)) as act:
        found, source, _ = slots(act, more)
        act.move_stock(found.id, 1, from_slot=source, to_slot=Slot(place, "serviceable"))


def test_a_container_is_moved_only_from_where_it_is(store: Store) -> None:
    place, _ = closed_set(store)
    with (
        pytest.raises(StoreError, match="not where the movement takes it from"),
        store.act("x", by=CLERK, at=after(3)) as act,
    ):
        act.move_container(
            place, from_place_id=place_named(act, BIN2).id, to_place_id=place_named(act, VAN).id
        )


def test_a_container_has_one_first_place(store: Store) -> None:
    place, _ = closed_set(store)
    with pytest.raises((StoreError, Conflict)), store.act("x", by=CLERK, at=after(3)) as act:
        act.move_container(place, from_place_id=None, to_place_id=place_named(act, BIN2).id)


def test_a_set_can_not_be_put_into_a_set(store: Store) -> None:
    place, _ = closed_set(store)
    with store.act("open it", by=CLERK, at=after(3)) as act:
        act.update(act.get(Place, place), closed=0)
    with (
        pytest.raises(StoreError, match="can not be put inside"),
        store.act("x", by=CLERK, at=after(3)) as act,
    ):
        act.move_container(place, from_place_id=place_named(act, BIN).id, to_place_id=place)


def test_nothing_goes_to_a_place_that_is_no_longer_in_use(store: Store) -> None:
    code = put_in_stock(store, SCREW, 8, at=after(1))
    with store.act("close the bin", by=CLERK, at=after(2)) as act:
        dead = act.update(place_named(act, BIN2), active=0)
    with pytest.raises(StoreError, match="no longer in use"), store.act("x", by=CLERK, at=after(3)) as act:
        line = act.find(ReceiptLine, code=code)
        assert line is not None
        source = Slot(place_named(act, BIN).id, "serviceable")
        act.move_stock(line.id, 1, from_slot=source, to_slot=source.at_place(dead.id))


def test_two_lots_of_one_identity_clash_and_two_unknown_ones_do_not(store: Store) -> None:
    put_in_stock(store, SCREW, 8, lot_code=None, at=after(1))
    put_in_stock(store, SCREW, 8, lot_code=None, at=after(2))
    put_in_stock(store, SCREW, 8, lot_code="A", at=after(3))
    with store.reading() as read:
        assert read.value("SELECT count(*) FROM lot WHERE lot_code IS NULL") == 2
        part, maker, supplier = read.row(
            "SELECT part_id, maker_id, supplier_id FROM lot WHERE lot_code = 'A'"
        ) or (0, 0, 0)
    with pytest.raises(Conflict):
        run(store, f"INSERT INTO lot VALUES (99, 'L000099-X', {part}, {maker}, {supplier}, 'A')")


def test_a_reference_to_nothing_is_refused_at_the_end_of_the_act(store: Store) -> None:
    with pytest.raises(StoreError, match="own rules"):
        run(store, "INSERT INTO person_role VALUES (999, 424242, 'clerk', 1)")


@pytest.mark.parametrize(("name", "field"), [("zero\0byte", "name"), ("lone\ud800surrogate", "name")])
def test_text_that_no_engine_keeps_is_told_plainly(store: Store, name: str, field: str) -> None:
    if store.engine == "sqlite" and "\0" in name:
        return  # SQLite keeps it; check_text refuses it at the edge of every act
    with pytest.raises(BadInput), store.act("x", by=CLERK, at=after(1)) as act:
        act.insert(Company(**{field: name}))  # type: ignore[arg-type]  # the column is a text


def test_a_number_too_large_is_told_plainly(store: Store) -> None:
    with pytest.raises(BadInput, match="too large"), store.act("x", by=CLERK, at=after(1)) as act:
        act.insert(Company(name="big", lead_time_days=1 << 70))


def test_the_supplier_gives_what_it_never_got_and_every_line_sums_to_zero(store: Store) -> None:
    put_in_stock(store, SCREW, 8, at=after(1))
    with store.reading() as read:
        supplier = end_place(read, PlaceKind.SUPPLIER)
        assert [s.quantity for s in directly_in(read, supplier.id)] == [-8]
        assert read.value("SELECT sum(quantity) FROM holding") == 0
