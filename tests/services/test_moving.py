"""Moving things: what is carried whole, where it may lie, and what is not moved at all."""

from collections.abc import Iterator

import pytest

from kittrack.domain import codes
from kittrack.domain.ledger import PlaceKind
from kittrack.errors import BadInput, Conflict, NotFound, Refused
from kittrack.services import holding, inspecting, inspecting_stock, kitting, matching, moving
from kittrack.services.desk import Done
from kittrack.services.inspecting import PieceFinding
from kittrack.services.line_standing import line_view
from kittrack.services.moving import MoveSpec
from kittrack.store.act import Slot
from kittrack.store.database import Store
from kittrack.store.records import Kit, Piece, ReceiptLine, RotorSet
from kittrack.store.stock import chain, end_place, slot_of_piece
from tests.factories import (
    AUDITOR,
    BENCH,
    BIN,
    BIN2,
    BUILDER,
    CCW_BLADE,
    CLERK,
    CW_BLADE,
    LOCKER,
    MANAGER,
    SCREW,
    TECHNICIAN,
    VAN,
    WASHER,
    after,
    assert_conserved,
    blades_on_shelf,
    put_in_stock,
    sealed_kit,
    sets_on_shelf,
    stock_up,
)

GOODS_IN, HOLD_CAGE, REMOVED_CAGE = "goods-in Home", "hold cage Home", "removed-parts cage Home"


@pytest.fixture(autouse=True)
def _conserved(store: Store) -> Iterator[None]:
    yield
    assert_conserved(store)


def move(store: Store, *things: str | MoveSpec, to: str, by: str = CLERK, minute: int = 100) -> Done:
    specs = [t if isinstance(t, MoveSpec) else MoveSpec(t) for t in things]
    return moving.move_things(store, things=specs, to=to, by=by, at=after(minute))


def refused(store: Store, *things: str | MoveSpec, to: str, by: str = CLERK) -> frozenset[str]:
    with pytest.raises(Refused) as found:
        move(store, *things, to=to, by=by)
    return found.value.rules


def lying(store: Store) -> list[tuple[str, str, int]]:
    with store.reading() as read:
        rows = read.rows(
            "SELECT p.name, h.condition, h.quantity FROM holding h JOIN place p ON p.id = h.place_id "
            "WHERE h.quantity > 0 ORDER BY p.name, h.condition"
        )
    return [(name, condition, int(quantity)) for name, condition, quantity in rows]


def place_of_set(store: Store, code: str) -> str:
    with store.reading() as read:
        found = read.find(RotorSet, code=code)
        assert found is not None
        return chain(read, found.place_id)[1].name


# ---- counted stock -----------------------------------------------------------------------------


def test_accepted_screws_are_put_away_and_the_rest_stays(store: Store) -> None:
    line = put_in_stock(store, SCREW, 64, at=after(1), place=GOODS_IN, kind="goods-in", condition="on hold")
    inspecting_stock.inspect_stock(store, line=line, accepted=60, held=4, note="burr", by=CLERK, at=after(2))
    assert line_view(store, line=line, at=after(3)).put_away_from == GOODS_IN
    assert move(store, MoveSpec(line, 40), to=BIN).said == (f"40 of {line} are in {BIN}.",)
    move(store, MoveSpec(line, from_place=GOODS_IN), to=BIN2, minute=101)
    assert line_view(store, line=line, at=after(102)).next_step == "decide on what was held"
    assert lying(store) == [
        ("A-01", "serviceable", 40),
        ("A-02", "serviceable", 20),
        (GOODS_IN, "on hold", 4),
    ]
    move(store, line, to=HOLD_CAGE, minute=102)
    assert (HOLD_CAGE, "on hold", 4) in lying(store)
    assert line_view(store, line=line, at=after(103)).next_step == "decide on what was held"


def test_what_came_on_hold_after_a_look_is_looked_at(store: Store) -> None:
    line = put_in_stock(store, SCREW, 64, at=after(1), place=GOODS_IN, kind="goods-in", condition="on hold")
    inspecting_stock.inspect_stock(store, line=line, accepted=60, held=4, note="burr", by=CLERK, at=after(2))
    assert line_view(store, line=line, at=after(3)).waiting == 4
    with store.act("scrap 3, and 2 come back from somewhere", by=CLERK, at=after(4)) as act:
        found, here = act.find(ReceiptLine, code=line), end_place(act, PlaceKind.GOODS_IN)
        assert found is not None
        held, good = Slot(here.id, "on hold"), Slot(here.id, "serviceable")
        gone = Slot(end_place(act, PlaceKind.SCRAPPED).id, "unsalvageable")
        act.move_stock(found.id, 3, from_slot=held, to_slot=gone)
        act.move_stock(found.id, 2, from_slot=good, to_slot=held)
        act.move_stock(found.id, 58, from_slot=good, to_slot=gone)
    view = line_view(store, line=line, at=after(5))
    assert (view.waiting, view.next_step) == (3, "inspect it")


@pytest.mark.parametrize(
    ("condition", "allowed"),
    [
        ("serviceable", {BIN2, BENCH, VAN}),
        ("on hold", {GOODS_IN, HOLD_CAGE, BENCH}),
        ("unserviceable", {HOLD_CAGE, REMOVED_CAGE}),
    ],
)
def test_where_stock_may_lie(store: Store, condition: str, allowed: set[str]) -> None:
    for minute, target in enumerate((BIN2, BENCH, VAN, GOODS_IN, HOLD_CAGE, REMOVED_CAGE), start=100):
        line = put_in_stock(store, WASHER, 5, at=after(minute), condition=condition)
        if target in allowed:
            move(store, line, to=target, minute=minute)
        else:
            with pytest.raises(Refused) as found:
                move(store, line, to=target, minute=minute)
            assert found.value.rules == {"R6"}


def test_expired_or_held_stock_goes_to_the_cage_and_not_into_the_van(store: Store) -> None:
    expired = put_in_stock(store, LOCKER, 10_000, at=after(1), expires_on="2026-03-01")
    held = put_in_stock(store, SCREW, 8, at=after(2), lot_code="H")
    holding.place_hold(store, scope=holding.Scope(code=held), reason="x", reference="", by=CLERK, at=after(3))
    for line in (expired, held):
        assert refused(store, line, to=VAN) == {"R6"}
        assert refused(store, line, to=BIN2) == {"R6"}
    move(store, expired, held, to=HOLD_CAGE)
    assert {name for name, _, _ in lying(store)} == {HOLD_CAGE}


def test_why_a_thing_may_not_lie_somewhere_is_one_sentence(store: Store) -> None:
    held = put_in_stock(store, SCREW, 8, at=after(2), condition="on hold")
    with pytest.raises(Refused) as refused:
        move(store, held, to=BIN2, minute=100)
    [refusal] = refused.value.refusals
    assert refusal.message == (
        f"{held} ({SCREW}) is on hold, so {held} can't lie in bin {BIN2}; take it to a bench, goods-in or hold cage."
    )


def test_what_comes_back_from_a_van_is_moved_like_any_stock(store: Store) -> None:
    line = put_in_stock(store, SCREW, 8, at=after(1))
    move(store, line, to=VAN, by=TECHNICIAN)
    move(store, line, to=BIN, minute=101)
    assert lying(store) == [("A-01", "serviceable", 8)]


def test_stock_in_several_places_is_asked_for(store: Store) -> None:
    line = put_in_stock(store, SCREW, 64, at=after(1))
    move(store, MoveSpec(line, 8), to=VAN)
    with pytest.raises(BadInput):
        move(store, line, to=BENCH, minute=101)
    move(store, MoveSpec(line, from_place=VAN), to=BENCH, minute=102)
    assert lying(store) == [("A-01", "serviceable", 56), ("Bench 1", "serviceable", 8)]


@pytest.mark.parametrize("quantity", [0, -1, 9])
def test_no_more_is_moved_than_lies_there(store: Store, quantity: int) -> None:
    line = put_in_stock(store, SCREW, 8, at=after(1))
    with pytest.raises(BadInput):
        move(store, MoveSpec(line, quantity), to=VAN)


def test_all_arrive_or_none(store: Store) -> None:
    good = put_in_stock(store, SCREW, 8, at=after(1))
    bad = put_in_stock(store, WASHER, 8, at=after(2), condition="unserviceable")
    assert refused(store, good, bad, to=VAN) == {"R6"}
    assert lying(store) == [("A-01", "serviceable", 8), ("A-01", "unserviceable", 8)]


def test_every_thing_that_can_not_be_read_is_told_with_its_row(store: Store) -> None:
    line = put_in_stock(store, SCREW, 8, at=after(1))
    with pytest.raises(BadInput) as found:
        move(store, line, line, "P000001-0", MoveSpec(line, 99), to=VAN)
    assert [p.row for p in found.value.problems] == [2, 3, 4]
    with pytest.raises(BadInput):
        move(store, line, to=BIN)
    with pytest.raises(BadInput):
        move(store, to=BIN)
    with pytest.raises(NotFound):
        move(store, "K000001", to=BIN)


@pytest.mark.parametrize("kind", [codes.Kind.SHELF_PLACE, codes.Kind.PERSON])
def test_nothing_is_moved_to_a_number_that_the_store_does_not_hold(store: Store, kind: codes.Kind) -> None:
    line = put_in_stock(store, SCREW, 8, at=after(1))
    unknown = codes.make_code(kind, codes.next_number(kind, after=90_000))
    with pytest.raises(NotFound, match=unknown):
        move(store, line, to=unknown)


@pytest.mark.parametrize("to", ["scrapped", "QA-01", "supplier", "no such place"])
def test_nothing_is_moved_to_an_end_of_the_road_or_into_a_container(store: Store, to: str) -> None:
    line = put_in_stock(store, SCREW, 8, at=after(1))
    with pytest.raises(NotFound):
        move(store, line, to=to)


@pytest.mark.parametrize("by", [MANAGER, AUDITOR])
def test_who_is_no_clerk_or_technician_moves_nothing(store: Store, by: str) -> None:
    assert refused(store, put_in_stock(store, SCREW, 8, at=after(1)), to=VAN, by=by) == {"role"}


# ---- pieces and sets ---------------------------------------------------------------------------


def test_blades_are_put_away_piece_by_piece(store: Store) -> None:
    blades = blades_on_shelf(store, CW_BLADE, 2, at=after(1), place=GOODS_IN, kind="goods-in")
    move(store, *blades, to=BIN)
    with store.reading() as read:
        assert [chain(read, slot_of_piece(read, p.id).place_id)[0].name for p in read.select(Piece)] == [
            BIN,
            BIN,
        ]


def test_a_rejected_blade_goes_to_the_cage_only(store: Store) -> None:
    (blade,) = blades_on_shelf(store, CW_BLADE, 1, at=after(1))
    finding = PieceFinding(blade, mark="R", result="rejected", note="nick")
    inspecting.reinspect_pieces(store, findings=[finding], by=CLERK, at=after(2))
    assert refused(store, blade, to=BIN) == {"R6"}
    move(store, blade, to=HOLD_CAGE)


def test_a_set_is_carried_whole_and_its_blades_never_alone(store: Store) -> None:
    (code,) = sets_on_shelf(store, CW_BLADE, 1, at=after(1))
    with store.reading() as read:
        blade = read.get(Piece, 1).code
    assert refused(store, blade, to=VAN) == {"R1"}
    move(store, code, to=VAN, by=TECHNICIAN)
    assert place_of_set(store, code) == VAN
    with store.reading() as read:
        assert {chain(read, slot_of_piece(read, p.id).place_id)[-1].name for p in read.select(Piece)} == {VAN}


@pytest.mark.parametrize(
    ("changes", "fine", "wrong"),
    [
        ({"condition": "on hold"}, HOLD_CAGE, BIN2),
        ({"condition": "unserviceable"}, REMOVED_CAGE, BENCH),
        ({"match_record_id": None}, HOLD_CAGE, VAN),
        ({"used_minutes": 300 * 60}, HOLD_CAGE, BIN2),
    ],
)
def test_where_a_set_that_is_not_fit_may_lie(
    store: Store, changes: dict[str, object], fine: str, wrong: str
) -> None:
    (code,) = sets_on_shelf(store, CW_BLADE, 1, at=after(1))
    with store.act("it is not fit", by=CLERK, at=after(2)) as act:
        act.update(act.get(RotorSet, 1), **changes)
    assert refused(store, code, to=wrong) == {"R6"}
    move(store, code, to=fine)
    assert place_of_set(store, code) == fine


def test_evidence_lies_in_a_cage(store: Store) -> None:
    (code,) = sets_on_shelf(store, CW_BLADE, 1, at=after(1))
    holding.place_hold(
        store,
        scope=holding.Scope(code=code),
        reason="x",
        reference="",
        by=CLERK,
        at=after(2),
        is_evidence=True,
    )
    assert refused(store, code, to=BENCH) == {"R6"}
    move(store, code, to=HOLD_CAGE)


def test_a_broken_set_is_not_moved(store: Store) -> None:
    (code,) = sets_on_shelf(store, CW_BLADE, 1, at=after(1))
    matching.break_set(store, rotor_set=code, reason="cracked", by=CLERK, at=after(2))
    assert "R1" in refused(store, code, to=HOLD_CAGE)


# ---- kits --------------------------------------------------------------------------------------


def test_a_sealed_kit_is_carried_whole(store: Store) -> None:
    stock_up(store, at=after(1))
    kit = sealed_kit(store, at=after(5))
    with store.reading() as read:
        inside = read.value("SELECT code FROM rotor_set ORDER BY id")
        screws = read.value(
            "SELECT r.code FROM receipt_line r JOIN part p ON p.id = r.part_id WHERE p.number = ?", SCREW
        )
    move(store, kit, to=VAN, by=TECHNICIAN)
    assert refused(store, inside, to=BIN) == {"R5"}
    with store.reading() as read:
        found = read.find(Kit, code=kit)
        assert found is not None
        assert chain(read, found.place_id)[1].name == VAN
    move(store, MoveSpec(screws, 1, from_place=BIN), to=BIN2, minute=101)


def test_a_kit_with_something_on_hold_goes_to_the_cage_only(store: Store) -> None:
    stock_up(store, at=after(1))
    kit = sealed_kit(store, at=after(5))
    with store.reading() as read:
        inside = read.value("SELECT code FROM rotor_set ORDER BY id")
    holding.place_hold(
        store, scope=holding.Scope(code=inside), reason="x", reference="", by=CLERK, at=after(6)
    )
    assert refused(store, kit, to=VAN) == {"R6"}
    move(store, kit, to=HOLD_CAGE)


def test_a_kit_being_built_stays_on_a_bench(store: Store) -> None:
    stock_up(store, at=after(1))
    kit = kitting.build_kit(store, bench=BENCH, revision="QA A", by=BUILDER, at=after(5)).codes[0]
    assert refused(store, kit, to=VAN) == {"R6"}
    with store.reading() as read:
        assert read.value("SELECT state FROM kit") == "building"


@pytest.mark.parametrize(
    ("state", "error"), [("issued", Conflict), ("opened", Refused), ("dissolved", Refused)]
)
def test_an_issued_or_dead_kit_is_not_moved(store: Store, state: str, error: type[Exception]) -> None:
    stock_up(store, at=after(1))
    kit = sealed_kit(store, at=after(5))
    with store.act("its state", by=CLERK, at=after(6)) as act:
        act.update(act.get(Kit, 1), state=state)
    with pytest.raises(error):
        move(store, kit, to=VAN)


def test_a_serial_that_two_pieces_have_moves_neither_of_them(store: Store) -> None:
    """A serial is unique by maker and part alone (R16): two parts may have the same."""
    both = [
        *blades_on_shelf(store, CW_BLADE, 1, at=after(1)),
        *blades_on_shelf(store, CCW_BLADE, 1, at=after(2)),
    ]
    with store.act("the same serial", by=CLERK, at=after(3)) as act:
        for piece in act.select(Piece):
            act.update(piece, serial="0007")
    with pytest.raises(
        BadInput, match=f"2 pieces have the serial '0007'; scan our own code: {both[0]}, {both[1]}"
    ):
        move(store, "0007", to=HOLD_CAGE)
    with pytest.raises(NotFound, match="no piece has the serial '0008'"):
        move(store, "0008", to=HOLD_CAGE)
