"""What lies under a recall, each piece once: lines beside their own pieces, sets with hubs, kits, bottles, reversals."""

import pytest

from kittrack.domain import codes
from kittrack.domain.dates import Expiry
from kittrack.domain.ledger import AccountClass
from kittrack.errors import BadInput, NotFound
from kittrack.queries.recall import RecallAccount, recall_account
from kittrack.services import holding, issuing, jobs, receiving, reversing
from kittrack.services.booking import LineSpec
from kittrack.services.holding import Scope
from kittrack.store.act import Reading, Slot
from kittrack.store.database import Store
from kittrack.store.recall_facts import located_under, received_under, recipients_of
from kittrack.store.recall_scope import Covered, resolve
from kittrack.store.records import Airframe, KitPick, Part, Piece, Place, ReceiptLine, RotorSet
from kittrack.store.stock import slot_of_piece
from tests.aircraft_scene import Scene
from tests.factories import (
    BENCH,
    BIN,
    CLERK,
    CW_BLADE,
    LOCKER,
    MANAGER,
    SCREW,
    TAIL,
    TECHNICIAN,
    after,
    put_bottle,
    put_in_stock,
    sealed_kit,
    sets_on_shelf,
    stock_up,
)


def account_of(read: Reading, covered: Covered) -> tuple[dict[str, int], int]:
    """What came in by part number, and how much is found in all."""
    found = located_under(read, covered)
    came = {read.get(Part, r.part_id).number: r.quantity for r in received_under(read, covered, found)}
    return came, sum(f.stock.quantity for f in found)


def held_kit(store: Store) -> tuple[str, RecallAccount]:
    kit = sealed_kit(store, at=after(5))
    hold = holding.place_hold(
        store, scope=Scope(code=kit), reason="doubt", reference="N-1", by=CLERK, at=after(6)
    ).codes[0]
    return kit, recall_account(store, code=hold)


# ---- once, however often it is covered -----------------------------------------------------------


def test_a_piece_that_its_line_covers_too_is_counted_once(store: Store) -> None:
    sets_on_shelf(store, CW_BLADE, 2, at=after(1))
    with store.reading() as read:
        both = Covered("lot", "x", lines=(1,), pieces=(1, 2), sets=(2,))
        assert account_of(read, both) == ({CW_BLADE: 4}, 4)
        loose = Covered("serials", "x", pieces=(1, 3), sets=(1,))
        assert account_of(read, loose) == ({CW_BLADE: 3}, 3)


def test_what_was_poured_from_a_bottle_is_counted_once_beside_its_line(store: Store) -> None:
    pour(store, put_bottle(store, volume_ul=10_000, at=after(1), expires_on="2027-01-01"), 300)
    with store.reading() as read:
        assert account_of(read, Covered("lot", "x", lines=(1,), pieces=(1,))) == ({LOCKER: 10_000}, 10_000)


def test_the_hub_of_a_set_is_under_its_recall(store: Store) -> None:
    (code,) = sets_on_shelf(store, CW_BLADE, 1, at=after(1))
    line = put_in_stock(store, SCREW, 1, at=after(2))  # any other part stands for the hub
    with store.act("a hub in the set", by=MANAGER, at=after(3)) as act:
        rotor, shelf = act.find(RotorSet, code=code), act.find(Place, name=BIN)
        of = act.find(ReceiptLine, code=line)
        assert rotor is not None
        assert shelf is not None
        assert of is not None
        hub = act.insert(
            Piece(code=act.new_code(Piece, codes.Kind.PIECE), receipt_line_id=of.id, part_id=of.part_id,
                  maker_id=1, event_id=act.event_id)
        )  # fmt: skip
        place = act.update(act.get(Place, rotor.place_id), closed=0)
        act.move_stock(
            of.id, 1, from_slot=Slot(shelf.id, "serviceable"), to_slot=Slot(place.id, "serviceable", hub.id)
        )
        act.update(place, closed=1)
    account = recall_account(store, code=code)
    assert (account.received, account.missing) == (3, 0)
    assert hub.code in {item.piece for item in account.items}


# ---- bottles -------------------------------------------------------------------------------------


def pour(store: Store, bottle: str, volume_ul: int, *, back_ul: int = 0) -> None:
    with store.act("pour", by=TECHNICIAN, at=after(3)) as act:
        piece, used = act.find(Piece, code=bottle), act.find(Place, kind="consumed")
        assert piece is not None
        assert used is not None
        here, there = slot_of_piece(act, piece.id).slot, Slot(used.id, "unsalvageable")
        act.move_stock(piece.receipt_line_id, volume_ul, from_slot=here, to_slot=there)
        if back_ul:
            act.move_stock(piece.receipt_line_id, back_ul, from_slot=there, to_slot=here)


@pytest.mark.parametrize(("back_ul", "consumed"), [(0, 300), (100, 200), (300, 0)])
def test_what_went_back_into_a_bottle_was_not_poured_from_it(
    store: Store, back_ul: int, consumed: int
) -> None:
    bottle = put_bottle(store, volume_ul=10_000, at=after(1), expires_on="2027-01-01")
    pour(store, bottle, 300, back_ul=back_ul)
    account = recall_account(store, code=bottle)
    assert (account.received, account.missing) == (10_000, 0)
    assert dict(account.classes)[AccountClass.CONSUMED] == consumed
    assert len(account.items) == (2 if consumed else 1)


def test_each_of_two_bottles_counts_by_what_was_in_it(store: Store) -> None:
    first = put_bottle(store, volume_ul=10_000, at=after(1), expires_on="2027-01-01")
    put_bottle(store, volume_ul=4_000, at=after(2), expires_on="2027-01-01")
    pour(store, first, 300)
    with store.reading() as read:
        assert account_of(read, Covered("serials", "x", pieces=(1, 2))) == ({LOCKER: 14_000}, 14_000)


# ---- kits ----------------------------------------------------------------------------------------


def test_the_account_of_a_held_kit_has_all_that_is_in_it_and_no_more(store: Store) -> None:
    stock_up(store, at=after(1), sets=3)
    _, account = held_kit(store)
    assert {p.part: p.received for p in account.parts} == {
        "RB-18-CW": 4, "RB-18-CCW": 4, "SC-M3x8": 16, "WA-M3": 16, "TL-10": 10_000,
    }  # fmt: skip
    assert account.missing == 0


def test_screws_of_two_lines_in_one_kit_are_summed_up(store: Store) -> None:
    stock_up(store, at=after(1))
    with store.reading() as read:
        screws = read.rows(
            "SELECT r.id FROM receipt_line r JOIN part t ON t.id = r.part_id WHERE t.number = ?", SCREW
        )
        shelf = read.find(Place, name=BIN)
    assert shelf is not None
    with store.act("only eight of the first line", by=MANAGER, at=after(2)) as act:
        bench = act.find(Place, name=BENCH)
        assert bench is not None
        act.move_stock(
            screws[0][0], 32, from_slot=Slot(shelf.id, "serviceable"), to_slot=Slot(bench.id, "serviceable")
        )
    put_in_stock(store, SCREW, 8, at=after(3), lot_code="S-2")
    _, account = held_kit(store)
    assert {p.part: p.received for p in account.parts}[SCREW] == 16
    assert account.missing == 0


def test_a_kit_beside_a_line_of_its_screws_counts_them_once(store: Store) -> None:
    stock_up(store, at=after(1))
    sealed_kit(store, at=after(5))
    with store.reading() as read:
        line = read.value(
            "SELECT r.id FROM receipt_line r JOIN part t ON t.id = r.part_id WHERE t.number = ?", SCREW
        )
        came, found = account_of(read, Covered("kit", "x", lines=(line,), sets=(1,), kits=(1,)))
    assert came[SCREW] == 40
    assert sum(came.values()) == found


def test_a_hold_on_an_opened_kit_is_looked_up_by_what_is_still_of_it(store: Store) -> None:
    stock_up(store, at=after(1))
    job = jobs.open_job(store, airframe=TAIL, purpose="x", by=TECHNICIAN, at=after(2)).codes[0]
    kit = sealed_kit(store, at=after(5))
    issuing.issue_kit(store, kit=kit, job=job, seal="0001", receiver=TECHNICIAN, by=CLERK, at=after(6))
    with store.reading() as read:
        assert resolve(read, Scope(code=kit)).sets == ()  # they are inside it still
    issuing.open_at_aircraft(store, kit=kit, seal="0001", by=TECHNICIAN, at=after(7))
    with store.reading() as read:
        assert resolve(read, Scope(code=kit)).sets == (1, 2, 3, 4)
    with store.act("one was swapped out before", by=MANAGER, at=after(8)) as act:
        act.update(act.select(KitPick, "rotor_set_id = ?", 1)[0], active=0)
    with store.reading() as read:
        assert resolve(read, Scope(code=kit)).sets == (2, 3, 4)


# ---- who is told ---------------------------------------------------------------------------------


def test_whoever_has_some_of_it_is_told_at_every_step_to_the_aircraft(store: Store) -> None:
    stock_up(store, at=after(1))
    job = jobs.open_job(store, airframe=TAIL, purpose="x", by=TECHNICIAN, at=after(2)).codes[0]
    kit = sealed_kit(store, at=after(5))
    assert told(store) == set()
    issuing.issue_kit(store, kit=kit, job=job, seal="0001", receiver=TECHNICIAN, by=CLERK, at=after(6))
    assert told(store) == {("person", TECHNICIAN)}
    issuing.open_at_aircraft(store, kit=kit, seal="0001", by=TECHNICIAN, at=after(7))
    assert told(store) == {("airframe", TAIL)}


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({}, {("airframe", TAIL)}),
        ({"state": "sold", "owner_id": 2}, {("owner", f"Invented Supplies, owner of {TAIL}")}),
        ({"state": "written off"}, set()),
    ],
)
def test_of_an_airframe_that_left_its_owner_is_told_or_nobody(
    store: Store, changes: dict[str, object], expected: set[tuple[str, str]]
) -> None:
    scene = Scene(store)
    scene.whole("FL", scene.sets[0], "R")
    scene.change(Airframe, {"tail": TAIL}, **changes)
    with store.reading() as read:
        fitted = located_under(read, Covered("set", "x", sets=(1,)))
        assert {(one.kind, one.name) for one in recipients_of(read, fitted).values()} == expected


def told(store: Store) -> set[tuple[str, str]]:
    with store.reading() as read:
        found = located_under(read, Covered("lot", "x", sets=(1, 2)))
        return {(one.kind, one.name) for one in recipients_of(read, found).values()}


# ---- what did not come ---------------------------------------------------------------------------


def test_a_receipt_that_was_reversed_received_nothing(store: Store) -> None:
    put_in_stock(store, SCREW, 16, at=after(1), lot_code="A1")
    spec = LineSpec(part=SCREW, quantity=8, lot_code="A1", expiry=Expiry.unlimited())
    done = receiving.receive(
        store, supplier="Invented Rotors", reference="DN-9", lines=[spec], by=CLERK, at=after(2)
    )
    assert recall_account(store, lot_code="A1").received == 24
    reversing.reverse_event(
        store, event=done.event, reason="wrong parcel", by=CLERK, second=MANAGER, at=after(3)
    )
    account = recall_account(store, lot_code="A1")
    assert (account.received, account.accounted, account.missing) == (16, 16, 0)


# ---- what means nothing --------------------------------------------------------------------------


@pytest.mark.parametrize(
    "kind", [codes.Kind.KIT, codes.Kind.PIECE, codes.Kind.ROTOR_SET, codes.Kind.TOOL, codes.Kind.LOT]
)
def test_a_number_that_the_store_does_not_hold_is_not_found(store: Store, kind: codes.Kind) -> None:
    unknown = codes.make_code(kind, codes.next_number(kind, after=90_000))
    with store.reading() as read, pytest.raises(NotFound, match=unknown):
        resolve(read, Scope(code=unknown))


def test_a_scale_answers_for_the_sets_proved_with_it_and_no_other_tool_does(store: Store) -> None:
    with store.reading() as read:
        tools = dict(read.rows("SELECT kind, code FROM tool"))
        with pytest.raises(NotFound, match=f"{tools['torque']} is no scale of this store"):
            resolve(read, Scope(code=tools["torque"]))
        with pytest.raises(NotFound, match="no set in the store was proved with Scale 1"):
            resolve(read, Scope(code=tools["scale"]))


def test_a_number_of_another_kind_is_no_scope(store: Store) -> None:
    job = jobs.open_job(store, airframe=TAIL, purpose="x", by=TECHNICIAN, at=after(2)).codes[0]
    with store.reading() as read:
        with pytest.raises(
            BadInput, match=f"{job} is a job; name a lot, receipt line, piece, rotor set, kit or scale"
        ):
            resolve(read, Scope(code=job))
        with pytest.raises(BadInput, match="a range of serials needs its part number"):
            resolve(read, Scope(serials=("1", "2")))
