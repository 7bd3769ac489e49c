"""What is in a kit, on an airframe, issued or gone is not moved, broken, weighed or inspected in passing.

And a whole life of a blade, from its delivery to the scrap, after which the store verifies.
"""

from collections.abc import Callable, Iterator

import pytest

from kittrack.domain.dates import Expiry
from kittrack.errors import BadInput, KittrackError, NotFound, Refused
from kittrack.queries.verify import verify
from kittrack.services import (
    disposing,
    founding,
    inspecting,
    inspecting_sets,
    inspecting_stock,
    matching,
    moving,
    receiving,
    weighing,
)
from kittrack.services.booking import LineSpec, PaperSpec
from kittrack.services.inspecting import PieceFinding, PieceSpec
from kittrack.services.moving import MoveSpec
from kittrack.services.opening_fitted import FittedSpec, open_fitted
from kittrack.services.weighing import PieceWeighing
from kittrack.store.act import Slot
from kittrack.store.database import Store
from kittrack.store.records import PaperKind, Piece, Place, Position, RotorSet, Tool
from kittrack.store.stock import chain, slot_of_piece
from tests.factories import (
    BENCH,
    BIN,
    BIN2,
    CLERK,
    CW_BLADE,
    INSPECTOR,
    LOCKER,
    MANAGER,
    SITE,
    TECHNICIAN,
    VAN,
    after,
    assert_conserved,
    blades_on_shelf,
    put_in_stock,
    sealed_kit,
    sets_on_shelf,
    stock_up,
)


@pytest.fixture(autouse=True)
def _sound(store: Store) -> Iterator[None]:
    """Whatever was done or refused, stock is conserved and the store folds to what it holds."""
    yield
    assert_conserved(store)
    assert verify(store).faults == ()


def code_of_set(store: Store, number: int = 1) -> str:
    with store.reading() as read:
        return read.get(RotorSet, number).code


def in_a_kit(store: Store) -> str:
    stock_up(store, at=after(1))
    sealed_kit(store, at=after(5))
    return code_of_set(store)


def on_a_position(store: Store) -> str:
    with store.reading() as read:
        spot = read.find(Position, name="FL")
    assert spot is not None
    sets = [FittedSpec(spot.code, CW_BLADE, "R", (None, None))]
    return open_fitted(store, fitted=sets, by=MANAGER, at=after(1)).codes[0]


def carried_to(store: Store, kind: str) -> str:
    (code,) = sets_on_shelf(store, CW_BLADE, 1, at=after(1))
    with store.act(f"to {kind}", by=CLERK, at=after(2)) as act:
        one = act.get(RotorSet, 1)
        to = act.find(Place, kind=kind)
        assert to is not None
        act.move_container(one.place_id, from_place_id=chain(act, one.place_id)[1].id, to_place_id=to.id)
    return code


def in_hands(store: Store) -> str:
    return carried_to(store, "hands")


def lost(store: Store) -> str:
    return carried_to(store, "lost")


def move(store: Store, code: str) -> None:
    moving.move_things(store, things=[MoveSpec(code)], to=BIN2, by=CLERK, at=after(50))


def break_up(store: Store, code: str) -> None:
    matching.break_set(store, rotor_set=code, reason="x", by=CLERK, at=after(50))


def inspect(store: Store, code: str) -> None:
    inspecting_sets.inspect_set(store, rotor_set=code, mark="R", note="x", by=INSPECTOR, at=after(50))


def weigh(store: Store, code: str) -> None:
    with store.reading() as read:
        place = read.value("SELECT place_id FROM rotor_set WHERE code = ?", code)
        piece = read.get(
            Piece, read.value("SELECT piece_id FROM holding WHERE place_id = ? ORDER BY piece_id", place)
        )
    weighing.record_weighing(
        store,
        weighings=[PieceWeighing(piece.code, 42_000_000, 100_000)],
        scale="Scale 1",
        by=CLERK,
        at=after(50),
    )


Act = Callable[[Store, str], None]
Scene = Callable[[Store], str]


@pytest.mark.parametrize(
    ("scene", "act", "rules"),
    [
        (in_a_kit, move, {"R5"}), (in_a_kit, break_up, {"R5"}), (in_a_kit, inspect, {"R5"}), (in_a_kit, weigh, {"R5"}),
        (on_a_position, move, {"R10"}), (on_a_position, break_up, {"R10"}), (on_a_position, inspect, {"R10"}),
        (on_a_position, weigh, {"R10"}),
        (in_hands, move, {"R11"}), (in_hands, break_up, None), (in_hands, inspect, {"R10"}), (in_hands, weigh, {"R10"}),
        (lost, move, {"R12"}), (lost, break_up, {"R1"}), (lost, inspect, {"R10"}), (lost, weigh, {"R10"}),
    ],
)  # fmt: skip
def test_what_is_out_of_reach(store: Store, scene: Scene, act: Act, rules: set[str] | None) -> None:
    """A set may be broken where it was damaged, in the hands of whoever fits it, so that its blades are on hold."""
    code = scene(store)
    if rules is None:
        act(store, code)
        return
    with pytest.raises(Refused) as refused:
        act(store, code)
    assert refused.value.rules >= rules


def test_a_piece_that_was_used_up_is_not_moved(store: Store) -> None:
    line = put_in_stock(store, LOCKER, 10_000, at=after(1), expires_on="2028-01-31")
    bottle = inspecting_stock.open_bottle(store, line=line, by=CLERK, at=after(2)).codes[0]
    with store.act("use it up", by=CLERK, at=after(3)) as act:
        piece = act.find(Piece, code=bottle)
        consumed = act.find(Place, kind="consumed")
        assert piece is not None
        assert consumed is not None
        stock = slot_of_piece(act, piece.id)
        target = Slot(consumed.id, "serviceable")
        act.move_stock(stock.receipt_line_id, stock.quantity, from_slot=stock.slot, to_slot=target)
    with pytest.raises(BadInput):
        move(store, bottle)


def test_a_person_is_not_carried(store: Store) -> None:
    put_in_stock(store, LOCKER, 10_000, at=after(1), expires_on="2028-01-31")
    with store.reading() as read:
        badge = read.value("SELECT code FROM person ORDER BY id")
    with pytest.raises(BadInput):
        move(store, badge)


def test_where_a_set_is_made_is_asked_where_there_are_several_benches(store: Store) -> None:
    founding.add_place(store, kind="bench", name="Bench 2", site=SITE, by=MANAGER, at=after(1))
    blades = blades_on_shelf(store, CW_BLADE, 2, at=after(2), place="goods-in Home", kind="goods-in")
    with pytest.raises(BadInput):
        matching.make_set_of_pair(store, blades=blades, by=CLERK, at=after(3))
    matching.make_set_of_pair(store, blades=blades, at_place="Bench 2", by=CLERK, at=after(4))


def test_a_scale_is_known_by_its_label_too(store: Store) -> None:
    (blade,) = blades_on_shelf(store, CW_BLADE, 1, at=after(1))
    with store.reading() as read:
        scale, driver = read.get(Tool, 2).code, read.get(Tool, 1).code
    readings = [PieceWeighing(blade, 42_000_000, 100_000)]
    weighing.record_weighing(store, weighings=readings, scale=scale, by=CLERK, at=after(2))
    with pytest.raises(NotFound):
        weighing.record_weighing(store, weighings=readings, scale=driver, by=CLERK, at=after(3))
    readings = [PieceWeighing("no such serial", 1, 1)]
    with pytest.raises(BadInput) as refused:
        weighing.record_weighing(store, weighings=readings, scale=scale, by=CLERK, at=after(4))
    assert [(p.row, p.field) for p in refused.value.problems] == [(1, "piece")]


def test_where_no_kind_of_paper_is_named_nothing_is_accepted(store: Store) -> None:
    line = put_in_stock(store, CW_BLADE, 2, at=after(1), condition="on hold")
    with store.act("name no paper", by=MANAGER, at=after(2)) as act:
        for kind in act.select(PaperKind):
            act.update(kind, active=0)
    with pytest.raises(Refused) as refused:
        inspecting.inspect_pieces(
            store, line=line, pieces=[PieceSpec(serial=None, mark="R")], by=CLERK, at=after(3)
        )
    assert refused.value.rules == {"R14"}


def test_one_blade_from_its_delivery_to_the_scrap(store: Store) -> None:
    paper = PaperSpec("certificate of conformity", "C-1", "Invented Rotors")
    spec = LineSpec(CW_BLADE, 2, "LOT-7", expiry=Expiry.unlimited(), papers=(paper,))
    line = receiving.receive(
        store, supplier="Invented Rotors", reference="DN-1", lines=[spec], by=CLERK, at=after(1)
    ).codes[1]
    pieces = [PieceSpec(serial=s, mark="R", pair_code="1") for s in ("A", "B")]
    blades = inspecting.inspect_pieces(store, line=line, pieces=pieces, by=CLERK, at=after(2)).codes
    moving.move_things(store, things=[MoveSpec(b) for b in blades], to=BENCH, by=CLERK, at=after(3))
    code = matching.make_set_of_pair(store, blades=blades, by=CLERK, at=after(4)).codes[0]
    moving.move_things(store, things=[MoveSpec(code)], to=VAN, by=TECHNICIAN, at=after(5))
    moving.move_things(store, things=[MoveSpec(code)], to=BIN, by=TECHNICIAN, at=after(6))
    orphans = matching.break_set(
        store, rotor_set=code, reason="B cracked", damaged=["B"], by=CLERK, at=after(7)
    ).codes
    inspecting.reinspect_pieces(
        store,
        findings=[PieceFinding("A", mark="R", result="rejected", note="root crack")],
        by=INSPECTOR,
        at=after(8),
    )
    disposing.scrap(
        store, things=[MoveSpec(o) for o in orphans], reason="cracked", second=MANAGER, by=CLERK, at=after(9)
    )
    with store.reading() as read:
        ends = read.rows(
            "SELECT p.kind, h.condition FROM holding h JOIN place p ON p.id = h.place_id WHERE h.quantity > 0"
        )
    assert ends == [("scrapped", "unsalvageable")] * 2
    for act in (move, break_up):
        with pytest.raises(KittrackError):
            act(store, code)
