"""What the recall account shows: classes in one unit, who must be told by kind, each entry with where it is."""

import pytest

from kittrack.domain import codes
from kittrack.domain.dates import Expiry
from kittrack.domain.ledger import AccountClass
from kittrack.errors import NotFound
from kittrack.queries.recall import recall_account
from kittrack.services import holding, receiving, reversing
from kittrack.services.booking import LineSpec
from kittrack.services.holding import Scope
from kittrack.store.database import Store
from kittrack.store.records import Piece
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
    VAN,
    WASHER,
    after,
    blades_on_shelf,
    put_in_stock,
)


def test_pieces_are_told_where_some_are_and_volumes_only_where_all_are(store: Store) -> None:
    locker = put_in_stock(
        store, LOCKER, 10_000, lot_code="T1", at=after(1)
    )  # its number sorts before the washer's
    put_in_stock(store, WASHER, 16, lot_code="W1", at=after(2))
    account = recall_account(store, supplier="Invented Rotors")
    assert (account.unit, account.received, account.accounted) == ("pieces", 16, 16)
    assert dict(account.classes)[AccountClass.SHELF] == 16
    alone = recall_account(store, code=locker)
    assert (alone.unit, alone.received, alone.accounted) == ("volume_ul", 10_000, 10_000)


def test_an_airframe_a_van_and_the_shelf_are_told_apart(store: Store) -> None:
    scene = Scene(store)
    scene.whole("FL", scene.sets[0], "R")
    put_in_stock(store, SCREW, 8, lot_code="S-1", place=VAN, kind="van", at=scene.now)
    shelf = put_in_stock(store, SCREW, 8, lot_code="S-1", at=scene.now)
    account = recall_account(store, code="", lot_code="S-1")
    assert (account.airframes, account.vans, account.people, account.owners) == ((TAIL,), (VAN,), (), ())
    screws = [i for i in account.items if i.part == SCREW]
    assert [(i.account_class, i.quantity, i.where, i.airframe, i.position) for i in screws] == [
        (AccountClass.SHELF, 8, BIN, "", ""),
        (AccountClass.VAN, 8, VAN, "", ""),
        (AccountClass.ISSUED, 12, scene.job, "", ""),
        (AccountClass.FITTED, 4, "apron Home", TAIL, "FL"),
    ]
    assert [i.inside for i in screws[:3]] == ["", "", ""]
    assert screws[3].inside.split(" in ")[0] == scene.spot("FL")
    assert shelf in {i.receipt_line for i in screws}


def test_an_entry_names_the_piece_its_serial_and_what_holds_it(store: Store) -> None:
    blades = blades_on_shelf(store, CW_BLADE, 2, at=after(1))
    with store.act("a serial", by=CLERK, at=after(2)) as act:
        one = act.find(Piece, code=blades[1])
        assert one is not None
        act.update(one, serial="0042")
    hold = holding.place_hold(
        store, scope=Scope(code=blades[1]), reason="nick", reference="", by=CLERK, at=after(3)
    ).codes[0]
    screws = put_in_stock(store, SCREW, 8, lot_code="LOT-1", at=after(4))
    account = recall_account(store, lot_code="LOT-1")
    assert [(i.piece, i.serial, i.where, i.holds) for i in account.items] == [
        ("", "", BIN, ()), (blades[0], "", BENCH, ()), (blades[1], "0042", BENCH, (hold,)),
    ]  # fmt: skip
    assert len(account.lots) == 2
    assert account.items[0].receipt_line == screws


def test_what_never_came_has_no_account(store: Store) -> None:
    unknown = codes.make_code(codes.Kind.DELIVERY, codes.next_number(codes.Kind.DELIVERY, after=900))
    with pytest.raises(NotFound, match=unknown):
        recall_account(store, code=unknown)
    spec = LineSpec(part=SCREW, quantity=8, lot_code="A1", expiry=Expiry.unlimited())
    done = receiving.receive(
        store, supplier="Invented Rotors", reference="DN-9", lines=[spec], by=CLERK, at=after(2)
    )
    assert recall_account(store, code=done.codes[0]).received == 8
    reversing.reverse_event(
        store, event=done.event, reason="wrong parcel", by=CLERK, second=MANAGER, at=after(3)
    )
    with pytest.raises(NotFound, match="nothing was ever received under lot code A1"):
        recall_account(store, lot_code="A1")
