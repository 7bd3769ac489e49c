"""How suppliers deliver: rejected of inspected, lines without paper, late orders, each beside what it is of."""

from datetime import date, timedelta

import pytest

from kittrack.domain.dates import Expiry
from kittrack.errors import BadInput
from kittrack.queries.supplier_records import SupplierRecord, supplier_records
from kittrack.services import inspecting, inspecting_stock, ordering, receiving, reversing
from kittrack.services.booking import LineSpec, PaperSpec
from kittrack.services.inspecting import PieceFinding, PieceSpec
from kittrack.services.ordering import OrderSpec
from kittrack.store.database import Store
from tests.factories import CLERK, CW_BLADE, INSPECTOR, MANAGER, SCREW, after

ROTORS, SUPPLIES = "Invented Rotors", "Invented Supplies"
PAPER = (PaperSpec("certificate of conformity", "C-1", ROTORS),)
DAY = 24 * 60


def receive(
    store: Store, part: str, quantity: int, minute: int, *, supplier: str = ROTORS, papers: tuple[PaperSpec, ...] = PAPER,
    order: str = "",
) -> tuple[str, int]:  # fmt: skip
    """Take one line in; its code and the event."""
    spec = LineSpec(part, quantity, f"LOT-{minute}", expiry=Expiry.unlimited(), papers=papers, order=order)
    done = receiving.receive(
        store, supplier=supplier, reference=f"DN-{minute}", lines=[spec], by=CLERK, at=after(minute)
    )
    return done.codes[1], done.event


def look(store: Store, line: str, minute: int, *, accepted: int = 0, held: int = 0, rejected: int = 0) -> int:
    note = "burrs" if held or rejected else ""
    return inspecting_stock.inspect_stock(
        store, line=line, accepted=accepted, held=held, rejected=rejected, note=note, every_one=True, by=CLERK,
        at=after(minute),
    ).event  # fmt: skip


def order(store: Store, part: str, quantity: int, due: date) -> str:
    return ordering.place_order(
        store,
        supplier=ROTORS,
        reference="PO-1",
        lines=[OrderSpec(part, quantity, due=due)],
        by=MANAGER,
        at=after(1),
    ).codes[0]


def records(store: Store, minute: int = 5 * DAY, days: int = 365) -> dict[tuple[str, str], SupplierRecord]:
    return {(r.supplier, r.part): r for r in supplier_records(store, at=after(minute), within_days=days)}


def only(store: Store, minute: int = 5 * DAY) -> SupplierRecord:
    (found,) = records(store, minute).values()
    return found


# ---- rejected of inspected -------------------------------------------------------------------------


def test_rejected_counts_beside_what_was_inspected_by_supplier_and_part(store: Store) -> None:
    first, _ = receive(store, SCREW, 16, 1)
    other, _ = receive(store, SCREW, 8, 2, supplier=SUPPLIES)
    look(store, first, 3, accepted=9, rejected=3)
    look(store, other, 4, accepted=8)
    found = records(store)
    assert [(k, r.received, r.inspected, r.rejected) for k, r in found.items()] == [
        ((ROTORS, SCREW), 16, 12, 3), ((SUPPLIES, SCREW), 8, 8, 0),
    ]  # fmt: skip


def test_what_is_held_has_no_verdict_and_the_first_verdict_on_each_piece_counts(store: Store) -> None:
    line, _ = receive(store, CW_BLADE, 3, 1)
    specs = [
        PieceSpec(serial="1", mark="R", note="sound"),
        PieceSpec(serial="2", mark="R", note="a question", result="held"),
        PieceSpec(serial="3", mark="R", note="cracked", result="rejected"),
    ]
    pieces = inspecting.inspect_pieces(store, line=line, pieces=specs, by=CLERK, at=after(2)).codes
    assert (only(store).inspected, only(store).rejected) == (2, 1)
    again = [PieceFinding(pieces[1], mark="R", result="rejected", note="cracked too")]
    inspecting.reinspect_pieces(store, findings=again, by=INSPECTOR, at=after(3))
    assert (only(store).inspected, only(store).rejected) == (3, 2)
    dropped = [PieceFinding(pieces[0], mark="R", result="rejected", note="dropped here")]
    inspecting.reinspect_pieces(store, findings=dropped, by=INSPECTOR, at=after(4))
    assert (only(store).inspected, only(store).rejected) == (3, 2)


def test_what_was_accepted_and_is_looked_at_again_says_nothing_of_the_supplier(store: Store) -> None:
    line, _ = receive(store, SCREW, 16, 1)
    look(store, line, 2, accepted=9, held=1)
    inspecting_stock.inspect_stock(
        store, line=line, rejected=5, note="rusted here", condition="serviceable", by=CLERK, at=after(3)
    )
    assert (only(store).inspected, only(store).rejected) == (9, 0)
    look(store, line, 4, rejected=7)
    assert (only(store).inspected, only(store).rejected) == (16, 7)


def test_a_reversed_inspection_and_a_reversed_delivery_do_not_count(store: Store) -> None:
    line, event = receive(store, SCREW, 16, 1)
    looked = look(store, line, 2, rejected=16)
    assert only(store).rejected == 16
    reversing.reverse_event(
        store, event=looked, reason="wrong line", second=INSPECTOR, by=MANAGER, at=after(3)
    )
    assert (only(store).lines, only(store).inspected, only(store).rejected) == (1, 0, 0)
    reversing.reverse_event(store, event=event, reason="not ours", second=INSPECTOR, by=MANAGER, at=after(4))
    assert records(store) == {}


# ---- paper -----------------------------------------------------------------------------------------


def test_lines_that_came_without_paper_are_counted_and_those_that_still_have_none(store: Store) -> None:
    bare, _ = receive(store, SCREW, 16, 1, papers=())
    receive(store, SCREW, 8, 2, papers=())
    receive(store, SCREW, 8, 3)
    found = only(store)
    assert (found.lines, found.without_paper, found.still_without) == (3, 2, 2)
    receiving.attach_paper(store, line=bare, paper=PAPER[0], by=CLERK, at=after(4))
    found = only(store)
    assert (found.lines, found.without_paper, found.still_without) == (3, 2, 1)


# ---- late ------------------------------------------------------------------------------------------


def test_an_order_is_late_when_all_of_it_came_after_its_day_or_has_not_come(store: Store) -> None:
    due = after(2 * DAY).date()
    code = order(store, SCREW, 16, due)
    assert records(store, 2 * DAY) == {}, "on the day itself it is expected still"
    assert (
        only(store, 3 * DAY).orders,
        only(store, 3 * DAY).late,
        only(store, 3 * DAY).longest_late_days,
    ) == (1, 1, 1)
    receive(store, SCREW, 10, 2 * DAY, order=code)
    receive(store, SCREW, 6, 4 * DAY, order=code)
    found = only(store, 20 * DAY)
    assert (found.orders, found.late, found.longest_late_days) == (1, 1, 2)


def test_an_order_in_time_counts_and_a_cancelled_one_does_not(store: Store) -> None:
    due = after(2 * DAY).date()
    code, gone = order(store, SCREW, 16, due), order(store, CW_BLADE, 2, due)
    ordering.cancel_order(store, order=gone, reason="not needed", by=MANAGER, at=after(2))
    receive(store, SCREW, 16, 2 * DAY, order=code)
    found = only(store, 20 * DAY)
    assert (found.part, found.orders, found.late, found.longest_late_days) == (SCREW, 1, 0, None)


def test_only_so_many_days_are_looked_back(store: Store) -> None:
    receive(store, SCREW, 16, 1)
    order(store, CW_BLADE, 2, after(1).date() + timedelta(days=1))
    assert len(records(store, 10 * DAY, days=30)) == 2
    assert records(store, 90 * DAY, days=30) == {}


@pytest.mark.parametrize("days", [0, -1, 10**9])
def test_days_that_cannot_be_looked_back_are_refused(store: Store, days: int) -> None:
    with pytest.raises(BadInput, match="can't be looked back"):
        supplier_records(store, at=after(1), within_days=days)
