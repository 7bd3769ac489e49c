"""Orders: placed, expected, late, arrived in parts, cancelled; a delivery that names its order."""

from datetime import date
from typing import Any

import pytest

from kittrack.domain import codes
from kittrack.domain.dates import Expiry
from kittrack.errors import BadInput, NotFound, Refused
from kittrack.queries.lookup import what_is
from kittrack.queries.orders import OrderedLine, orders, supply
from kittrack.queries.verify import verify
from kittrack.services import arrivals, ordering, receiving, reversing
from kittrack.services.booking import LineSpec
from kittrack.services.ordering import OrderSpec
from kittrack.services.receiving_files import receive_file
from kittrack.store.database import Store
from kittrack.store.records import Event, Part
from tests.factories import CCW_BLADE, CLERK, CW_BLADE, INSPECTOR, LOCKER, MANAGER, SCREW, TECHNICIAN, after

ROTORS, SUPPLIES = "Invented Rotors", "Invented Supplies"
DAY = 24 * 60


def place(store: Store, *lines: OrderSpec, minute: int = 1, supplier: str = ROTORS) -> str:
    return ordering.place_order(
        store, supplier=supplier, reference="PO-1", lines=lines, by=MANAGER, at=after(minute)
    ).codes[0]


def receive(store: Store, *lines: LineSpec, minute: int, supplier: str = ROTORS) -> Any:
    return receiving.receive(
        store, supplier=supplier, reference=f"DN-{minute}", lines=lines, by=CLERK, at=after(minute)
    )


def of(part: str, quantity: int, order: str = "") -> LineSpec:
    return LineSpec(part, quantity, "LOT-1", expiry=Expiry.unlimited(), order=order)


def on_order(store: Store, minute: int = 2, *, everything: bool = False) -> dict[str, OrderedLine]:
    return {line.part: line for line in orders(store, at=after(minute), everything=everything)}


def test_nothing_is_on_order_at_first(store: Store) -> None:
    assert orders(store, at=after(1)) == ()


def test_an_order_is_expected_after_the_suppliers_lead_time_or_on_its_day(store: Store) -> None:
    place(store, OrderSpec(CW_BLADE, 8), OrderSpec(CCW_BLADE, 8, due=date(2026, 5, 1)))
    lines = on_order(store)
    assert lines[CW_BLADE].due_on == date(2026, 3, 16), "14 days of the catalogue from 2026-03-02"
    assert lines[CCW_BLADE].due_on == date(2026, 5, 1)
    assert (lines[CW_BLADE].days_late, lines[CW_BLADE].state) == (-14, "expected")


def test_what_is_late_comes_first_and_says_so(store: Store) -> None:
    place(store, OrderSpec(CW_BLADE, 8, due=date(2026, 4, 1)), OrderSpec(SCREW, 8))
    first, second = orders(store, at=after(20 * DAY))
    assert (first.part, first.state, first.days_late) == (SCREW, "LATE", 6)
    assert (second.part, second.state) == (CW_BLADE, "expected")
    # 2026-03-16 is the expected day itself: it is late from the next day on
    assert on_order(store, 14 * DAY)[SCREW].days_late == 0
    assert on_order(store, 14 * DAY)[SCREW].state == "expected"


def test_an_order_comes_in_by_parts_and_is_then_done(store: Store) -> None:
    code = place(store, OrderSpec(CW_BLADE, 8))
    said = " ".join(receive(store, of(CW_BLADE, 6, code), minute=5).said)
    assert "6 of 8 came in; 2 still to come" in said
    assert on_order(store, 6)[CW_BLADE].outstanding == 2
    said = " ".join(receive(store, of(CW_BLADE, 2, code), minute=7).said)
    assert "8 of 8 came in, all of it" in said
    assert on_order(store, 8) == {}
    done = on_order(store, 8, everything=True)[CW_BLADE]
    assert (done.state, done.arrived, done.days_late) == ("arrived", 8, None)


def test_more_than_was_ordered_is_taken_in_and_said(store: Store) -> None:
    code = place(store, OrderSpec(CW_BLADE, 8))
    assert "more than was ordered" in " ".join(receive(store, of(CW_BLADE, 10, code), minute=5).said)
    assert on_order(store, 6, everything=True)[CW_BLADE].arrived == 10


def test_a_delivery_that_names_no_order_is_told_of_the_open_one(store: Store) -> None:
    code = place(store, OrderSpec(SCREW, 16))
    done = receive(store, of(SCREW, 8), minute=5)
    assert any(f"{code} still expects 16 of {SCREW}" in s for s in done.said)
    line = done.codes[1]
    answer = arrivals.record_arrival(store, line=line, order=code, by=CLERK, at=after(6))
    assert "8 of 16 came in; 8 still to come" in answer.said[0]
    with pytest.raises(BadInput, match="booked to an order already"):
        arrivals.record_arrival(store, line=line, order=code, by=CLERK, at=after(7))


def test_a_reversed_delivery_did_not_come_in(store: Store) -> None:
    code = place(store, OrderSpec(SCREW, 16))
    done = receive(store, of(SCREW, 16, code), minute=5)
    reversing.reverse_event(
        store, event=done.event, reason="booked twice", by=CLERK, second=MANAGER, at=after(6)
    )
    assert on_order(store, 7)[SCREW].outstanding == 16


def test_the_wrong_order_is_refused_with_row_and_nothing_is_booked(store: Store) -> None:
    code = place(store, OrderSpec(SCREW, 16))
    other = place(store, OrderSpec(SCREW, 16, due=date(2026, 4, 1)), supplier=SUPPLIES, minute=2)
    with pytest.raises(BadInput) as refused:
        receive(store, of(CW_BLADE, 2, code), of(SCREW, 8, other), of(SCREW, 8, "E000009-9"), minute=5)
    assert [p.row for p in refused.value.problems] == [1, 2, 3]
    assert "no line for RB-18-CW" in str(refused.value)
    assert "was placed with Invented Supplies" in str(refused.value)
    with store.reading() as read:
        assert read.find(Event, act="receive a delivery") is None


def test_a_delivery_file_names_its_order(store: Store) -> None:
    code = place(store, OrderSpec(SCREW, 16))
    text = f"part,lot,quantity,expires,order\n{SCREW},007,16,none,{code}\n"
    receive_file(
        store, content=text.encode(), name="dn.csv", supplier=ROTORS, reference="DN", by=CLERK, at=after(5)
    )
    assert on_order(store, 6) == {}


def test_an_order_is_cancelled_as_a_whole_or_by_part(store: Store) -> None:
    code = place(store, OrderSpec(CW_BLADE, 8), OrderSpec(CCW_BLADE, 8), OrderSpec(SCREW, 16))
    receive(store, of(CW_BLADE, 8, code), minute=3)
    done = ordering.cancel_order(
        store, order=code, parts=[SCREW], reason="wrong length", by=MANAGER, at=after(4)
    )
    assert done.said == (f"16 of {SCREW} are cancelled and expected no more.",)
    assert set(on_order(store, 5)) == {CCW_BLADE}
    ordering.cancel_order(store, order=code, reason="not needed", by=MANAGER, at=after(6))
    states = {part: line.state for part, line in on_order(store, 7, everything=True).items()}
    assert states == {CW_BLADE: "arrived", CCW_BLADE: "cancelled", SCREW: "cancelled"}
    with pytest.raises(BadInput, match="Nothing of this is still to come"):
        ordering.cancel_order(store, order=code, reason="again", by=MANAGER, at=after(8))
    said = " ".join(receive(store, of(SCREW, 16, code), minute=9).said)
    assert "though it was cancelled" in said


def test_every_fault_of_an_order_is_told_at_once(store: Store) -> None:
    with pytest.raises(BadInput) as refused:
        place(
            store, OrderSpec("NO-SUCH", 4), OrderSpec(SCREW, 0), OrderSpec(SCREW, 4), OrderSpec(LOCKER, 4),
            OrderSpec(CW_BLADE, 4, due=date(2026, 3, 1)),
        )  # fmt: skip
    text = str(refused.value)
    for words in ("NO-SUCH", "quantity is 0", "stands twice", "a volume", "which is past"):
        assert words in text
    with pytest.raises(BadInput, match="The order has no line"):
        place(store)
    assert orders(store, at=after(2)) == ()


def test_a_lead_time_that_nobody_knows_is_asked_for(store: Store) -> None:
    with store.act("forget", by=MANAGER, at=after(1)) as act:
        company = ordering.find_supplier(act, ROTORS)
        act.update(company, lead_time_days=None)
    with pytest.raises(BadInput, match="say when it is expected"):
        place(store, OrderSpec(CW_BLADE, 8), minute=2)
    place(store, OrderSpec(CW_BLADE, 8, due=date(2026, 4, 1)), minute=3)


def test_a_part_superseded_for_safety_is_not_ordered(store: Store) -> None:
    with store.act("supersede", by=MANAGER, at=after(1)) as act:
        part = act.find(Part, number=CW_BLADE)
        assert part is not None
        act.update(part, superseded_how="safety")
    with pytest.raises(Refused) as refused:
        place(store, OrderSpec(CW_BLADE, 8), minute=2)
    assert [r.rule for r in refused.value.refusals] == ["R6"]


def test_a_part_that_is_only_used_up_is_ordered_with_a_word_about_its_successor(store: Store) -> None:
    with store.act("supersede", by=MANAGER, at=after(1)) as act:
        part = act.find(Part, number=CW_BLADE)
        assert part is not None
        act.update(part, superseded_how="use up")
    done = ordering.place_order(
        store, supplier=ROTORS, reference="PO-1", lines=[OrderSpec(CW_BLADE, 8), OrderSpec(CCW_BLADE, 8)], by=CLERK,
        at=after(2),
    )  # fmt: skip
    assert [said.split(" is superseded")[0] for said in done.said if "superseded" in said] == [CW_BLADE]
    assert on_order(store, 3)[CW_BLADE].outstanding == 8


def test_what_came_in_names_an_order_that_there_is(store: Store) -> None:
    line = receive(store, of(SCREW, 8), minute=5).codes[1]
    unknown = codes.make_code(codes.Kind.ORDER, codes.next_number(codes.Kind.ORDER, after=900))
    with pytest.raises(NotFound, match=unknown):
        arrivals.record_arrival(store, line=line, order=unknown, by=CLERK, at=after(6))


@pytest.mark.parametrize("person", [TECHNICIAN, INSPECTOR])
def test_who_orders_is_a_clerk_or_a_manager(store: Store, person: str) -> None:
    with pytest.raises(Refused, match="not a clerk or a manager"):
        ordering.place_order(
            store, supplier=ROTORS, reference="PO-1", lines=[OrderSpec(SCREW, 8)], by=person, at=after(1)
        )


def test_terms_of_supply_replace_the_catalogues_for_their_part(store: Store) -> None:
    done = ordering.set_supply_terms(
        store, part=SCREW, supplier=SUPPLIES, lead_time_days=3, pack_quantity=50, is_preferred=True,
        source="offer 17", by=MANAGER, at=after(1),
    )  # fmt: skip
    assert done.said == (
        f"Invented Supplies delivers {SCREW} in 3 days, in packs of 50, and is the first choice for it.",
    )
    said = ordering.place_order(
        store, supplier=SUPPLIES, reference="PO-2", lines=[OrderSpec(SCREW, 60)], by=CLERK, at=after(2)
    ).said
    assert any("no whole number of packs" in s for s in said)
    assert on_order(store, 3)[SCREW].due_on == date(2026, 3, 5)
    rows = {s.part: s for s in supply(store) if s.is_usual}
    assert (rows[SCREW].supplier, rows[SCREW].pack_quantity, rows[SCREW].lead_time_source) == (
        SUPPLIES,
        50,
        "offer 17",
    )
    assert (rows[CW_BLADE].supplier, rows[CW_BLADE].lead_time_days) == (ROTORS, 14)
    ordering.set_supply_terms(
        store, part=SCREW, supplier=ROTORS, is_preferred=True, source="offer 18", by=MANAGER, at=after(4)
    )
    usual = {s.supplier: s.is_usual for s in supply(store) if s.part == SCREW}
    assert usual == {ROTORS: True, SUPPLIES: False}, "one first choice at a time"


def test_terms_of_supply_that_are_set_again_replace_those_before(store: Store) -> None:
    for minute, (days, pack, source) in enumerate(((3, 50, "offer 17"), (9, 20, "offer 18")), start=1):
        ordering.set_supply_terms(
            store, part=SCREW, supplier=SUPPLIES, lead_time_days=days, pack_quantity=pack, source=source, by=MANAGER,
            at=after(minute),
        )  # fmt: skip
    (row,) = [s for s in supply(store) if (s.part, s.supplier) == (SCREW, SUPPLIES)]
    assert (row.lead_time_days, row.pack_quantity, row.lead_time_source) == (9, 20, "offer 18")
    place(store, OrderSpec(SCREW, 20), minute=4, supplier=SUPPLIES)
    assert on_order(store, 5)[SCREW].due_on == date(2026, 3, 11)


@pytest.mark.parametrize(
    "how", [{"lead_time_days": -1}, {"lead_time_days": 1001}, {"pack_quantity": 0}, {"supplier": "x"}]
)
def test_terms_that_can_not_be_are_refused(store: Store, how: dict[str, Any]) -> None:
    with pytest.raises(BadInput):
        ordering.set_supply_terms(
            store, **{"part": SCREW, "supplier": ROTORS, "source": "x", "by": MANAGER, "at": after(1), **how}
        )


def test_how_long_orders_took_in_truth_is_measured(store: Store) -> None:
    first = place(store, OrderSpec(SCREW, 8))
    second = place(store, OrderSpec(SCREW, 8), minute=2)
    receive(store, of(SCREW, 8, first), minute=10 * DAY)
    receive(store, of(SCREW, 8, second), minute=20 * DAY)
    row = next(s for s in supply(store) if s.part == SCREW)
    assert (row.orders_arrived, row.mean_days_taken, row.longest_days_taken) == (2, 15, 20)


def test_an_order_is_looked_up_by_its_code_and_the_store_stays_sound(store: Store) -> None:
    code = place(store, OrderSpec(SCREW, 16))
    receive(store, of(SCREW, 16, code), minute=5)
    thing = what_is(store, code=code)
    assert thing.kind == "order"
    assert ("supplier", ROTORS) in thing.facts
    assert verify(store).faults == ()
    with pytest.raises(NotFound):
        what_is(store, code=codes.make_code(codes.Kind.ORDER, codes.next_number(codes.Kind.ORDER, after=900)))
