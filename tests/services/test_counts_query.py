"""What is due to be counted, what counts found by sense, and how right the record was: blind until settled."""

from datetime import date, timedelta

import pytest

from kittrack.domain import codes
from kittrack.errors import NotFound
from kittrack.queries.count_papers import count_result_document, count_sheet_document, counts_due_document
from kittrack.queries.counts import BLIND, COUNTED_STOCK, count_accuracy, count_result, counts, counts_due
from kittrack.services import counting
from kittrack.services.counting import Counted
from kittrack.store.database import Store
from tests.factories import (
    BIN,
    BIN2,
    BUILDER,
    CCW_BLADE,
    CLERK,
    CW_BLADE,
    MANAGER,
    SCREW,
    WASHER,
    after,
    blades_on_shelf,
    put_in_stock,
    sets_on_shelf,
)


def settle(store: Store, sheet: str, *entries: Counted, minute: int) -> None:
    """Count twice by two people, and settle with a third."""
    for step, by in enumerate((CLERK, BUILDER)):
        counting.enter_count(store, count=sheet, entries=entries, by=by, at=after(minute + step))
    counting.settle_count(
        store, count=sheet, reason="counted", second=MANAGER, by=CLERK, at=after(minute + 2)
    )


def open_sheet(store: Store, *, minute: int, place: str = BIN) -> str:
    return counting.open_count(store, place=place, by=CLERK, at=after(minute)).codes[0]


def test_nothing_of_the_record_is_told_before_a_count_is_settled(store: Store) -> None:
    screws = put_in_stock(store, SCREW, 37, lot_code="A1", at=after(1))
    sets_on_shelf(store, CW_BLADE, 1, at=after(2))
    sheet = open_sheet(store, minute=3)
    counting.enter_count(store, count=sheet, entries=[Counted(screws, 36)], by=CLERK, at=after(4))
    found = count_result(store, count=sheet)
    assert [(t.thing, t.booked, t.counted, t.difference) for t in found.things] == [
        (screws, None, None, None)
    ]
    assert found.differences == ()
    paper = count_sheet_document(store, count=sheet, at=after(5))
    cells = [cell for table in paper.tables for row in table.rows for cell in row]
    assert "37" not in cells
    assert "36" not in cells
    assert not any(cell.startswith("R0") for cell in cells)
    assert ("Count", f"again, by another person than {CLERK}") in paper.facts


def test_the_paper_of_a_blind_count_tells_no_figure_and_no_thing(store: Store) -> None:
    screws = put_in_stock(store, SCREW, 37, lot_code="A1", at=after(1))
    sheet = open_sheet(store, minute=2)
    counting.enter_count(store, count=sheet, entries=[Counted(screws, 36)], by=CLERK, at=after(3))
    [table] = count_result_document(store, count=sheet, at=after(4)).tables
    assert (table.rows, table.empty) == ((), BLIND)


def test_the_figures_are_told_to_who_settles_what_was_counted_twice(store: Store) -> None:
    screws = put_in_stock(store, SCREW, 37, lot_code="A1", at=after(1))
    sheet = open_sheet(store, minute=2)
    for minute, by in ((3, CLERK), (4, BUILDER)):
        assert count_result(store, count=sheet).is_blind
        counting.enter_count(store, count=sheet, entries=[Counted(screws, 36)], by=by, at=after(minute))
    found = count_result(store, count=sheet)
    assert not found.is_blind
    assert [(t.booked, t.counted, t.counted_again, t.difference) for t in found.things] == [(37, 36, 36, -1)]
    assert [(d.part, d.missing) for d in found.differences] == [(SCREW, 1)]
    paper = count_result_document(store, count=sheet, at=after(5))
    assert paper.tables[1].rows[0][-4:] == ("37", "36", "36", "-1")


def test_the_blank_rows_of_a_sheet_tell_nothing_of_how_many_there_are(store: Store) -> None:
    sizes = set()
    for number in range(3):
        sets_on_shelf(store, CW_BLADE, 1, at=after(10 * number + 1))
        sheet = open_sheet(store, minute=10 * number + 2)
        sizes.add(len(count_sheet_document(store, count=sheet, at=after(10 * number + 3)).tables[1].rows))
        with store.reading() as read:
            sets = [c for (c,) in read.rows("SELECT s.code FROM rotor_set s ORDER BY id")]
        settle(store, sheet, *(Counted(code, 1) for code in sets), minute=10 * number + 4)
    assert len(sizes) == 1


def test_a_clockwise_blade_too_many_hides_no_counter_clockwise_blade_too_few(store: Store) -> None:
    (cw,) = blades_on_shelf(store, CW_BLADE, 1, at=after(1), place=BIN2, kind="bin", pairs=False)
    (ccw,) = blades_on_shelf(store, CCW_BLADE, 1, at=after(2), place=BIN, kind="bin", pairs=False)
    sheet = open_sheet(store, minute=3)
    settle(store, sheet, Counted(cw, 1), minute=4)
    found = count_result(store, count=sheet)
    assert [(d.sense, d.missing, d.surplus, d.absolute) for d in found.differences] == [
        ("CCW", 1, 0, 1),
        ("CW", 0, 1, 1),
    ]
    assert (found.settled_by, found.second, found.reason) == (CLERK, MANAGER, "counted")
    assert {t.thing: t.difference for t in found.things} == {cw: 1, ccw: -1}
    rows = count_result_document(store, count=sheet, at=after(9)).tables[0].rows
    assert rows == (("CCW", CCW_BLADE, "1", "0", "1"), ("CW", CW_BLADE, "0", "1", "1"))


def test_a_blade_that_its_set_lacks_is_a_difference_too(store: Store) -> None:
    code = sets_on_shelf(store, CW_BLADE, 1, at=after(1))[0]
    sheet = open_sheet(store, minute=2)
    counting.enter_count(store, count=sheet, entries=[Counted(code, 1)], by=CLERK, at=after(3))
    with store.reading() as read:
        piece = str(read.value("SELECT code FROM piece ORDER BY id LIMIT 1"))
    counting.settle_count(
        store, count=sheet, reason="short", second=BUILDER, by=CLERK, at=after(4),
        short_sets=[Counted(code, 1, missing=(piece,))],
    )  # fmt: skip
    found = count_result(store, count=sheet)
    assert [(d.part, d.missing) for d in found.differences] == [(CW_BLADE, 1)]
    assert counts(store)[0].right is False


def test_places_with_blades_sets_or_kits_are_counted_most_often_and_fall_due_in_whole_weeks(
    store: Store,
) -> None:
    """Class A every 20 working days, a Monday after a Monday: "Cole's Trucks", holooly.com."""
    sets_on_shelf(store, CW_BLADE, 1, at=after(1))
    due = {p.place: p for p in counts_due(store, at=after(2))}
    assert (due[BIN].count_class, due[BIN].why, due[BIN].due_on) == ("A", "rotor sets lie in it", None)
    assert (due[BIN2].count_class, due[BIN2].why) == ("C", "empty on record")
    with store.reading() as read:
        code = str(read.value("SELECT code FROM rotor_set"))
    sheet = open_sheet(store, minute=3)
    assert {p.place: p.open_count for p in counts_due(store, at=after(3))}[BIN] == sheet
    settle(store, sheet, Counted(code, 1), minute=4)
    assert BIN not in {p.place for p in counts_due(store, at=after(9))}
    every = {p.place: p for p in counts_due(store, at=after(9), everything=True)}
    assert (every[BIN].last_counted, every[BIN].due_on, every[BIN].days_over) == (
        date(2026, 3, 2),
        date(2026, 3, 30),
        -28,
    )
    late = {p.place: p for p in counts_due(store, at=after(9) + timedelta(days=30))}
    assert late[BIN].days_over == 2
    paper = counts_due_document(store, at=after(9))
    assert BIN not in {row[1] for row in paper.tables[0].rows}


def test_accuracy_by_month_gives_loose_fasteners_their_tolerance_and_blades_none(store: Store) -> None:
    """1 of 200 screws is within 5 percent (class C: none was issued); inventoryturns.com for the tolerances."""
    screws = put_in_stock(store, SCREW, 200, lot_code="A1", at=after(1))
    sheet = open_sheet(store, minute=2)
    settle(store, sheet, Counted(screws, 199), minute=3)
    code = sets_on_shelf(store, CW_BLADE, 1, at=after(10), place=BIN2)[0]
    sheet = open_sheet(store, minute=11, place=BIN2)
    settle(store, sheet, minute=12)
    month = count_accuracy(store, at=after(20), months=2)[-1]
    assert (month.month, month.counts, month.places, month.within, month.accuracy_percent) == (
        "2026-03",
        2,
        2,
        1,
        50.0,
    )
    assert (month.missing, month.surplus) == (2, 0)
    assert count_accuracy(store, at=after(20), months=2)[0].accuracy_percent is None
    assert code


def test_counts_are_listed_newest_first_and_an_unknown_one_is_told(store: Store) -> None:
    washers = put_in_stock(store, WASHER, 5, lot_code="W1", at=after(1))
    first = open_sheet(store, minute=2)
    counting.enter_count(store, count=first, entries=[Counted(washers, 5)], by=CLERK, at=after(3))
    counting.settle_count(store, count=first, reason="weekly", second=BUILDER, by=CLERK, at=after(4))
    second = open_sheet(store, minute=5, place=BIN2)
    assert [(c.count, c.right) for c in counts(store)] == [(second, None), (first, True)]
    assert [c.count for c in counts(store, only_open=True)] == [second]
    assert [c.count for c in counts(store, place=BIN)] == [first]
    assert count_result(store, count=first).things[0].kind == COUNTED_STOCK
    with pytest.raises(NotFound):
        count_result(
            store, count=codes.make_code(codes.Kind.COUNT, codes.next_number(codes.Kind.COUNT, after=98))
        )
