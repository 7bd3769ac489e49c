"""Holds and recalls: placed, joined, narrowed, released; who must be told."""

from dataclasses import replace
from typing import Any

import pytest

from kittrack.domain.ledger import AccountClass
from kittrack.errors import BadInput, NotFound, Refused
from kittrack.queries.recall import recall_account
from kittrack.services import desk, holding
from kittrack.services.holding import Scope
from kittrack.store.database import Store
from kittrack.store.records import Hold, HoldItem, Part, Piece, ReceiptLine
from kittrack.store.stock import contents, place_named
from tests.factories import (
    BIN,
    CCW_BLADE,
    CLERK,
    CW_BLADE,
    MANAGER,
    SCREW,
    TECHNICIAN,
    VAN,
    WASHER,
    after,
    blades_on_shelf,
    put_in_stock,
)


def test_a_hold_by_the_makers_code_covers_every_supplier(store: Store) -> None:
    put_in_stock(store, SCREW, 16, lot_code="A1", at=after(1))
    put_in_stock(store, SCREW, 8, lot_code="A1", supplier="Invented Supplies", at=after(2))
    put_in_stock(store, SCREW, 8, lot_code="B2", at=after(3))
    done = holding.place_hold(
        store,
        scope=Scope(lot_code="A1"),
        reason="cracks",
        reference="N-1",
        is_recall=True,
        by=CLERK,
        at=after(4),
    )
    with store.reading() as read:
        assert len(read.select(HoldItem)) == 2
    account = recall_account(store, lot_code="A1")
    assert dict(account.classes)[AccountClass.HOLD] == account.received == 24
    assert account.missing == 0
    assert done.codes[0].startswith("H")


def test_held_stock_is_refused_with_the_hold_named(store: Store) -> None:
    line = put_in_stock(store, SCREW, 16, lot_code="A1", at=after(1))
    done = holding.place_hold(
        store, scope=Scope(code=line), reason="cracks", reference="", by=TECHNICIAN, at=after(2)
    )
    with store.act("look", by=CLERK, at=after(3)) as act:
        stock = contents(act, place_named(act, BIN).id)
        refusals = desk.check_fit(act, stock)
    assert [r.rule for r in refusals] == ["R6"]
    assert done.codes[0] in refusals[0].message


def test_a_later_arrival_joins_the_open_hold(store: Store) -> None:
    put_in_stock(store, SCREW, 16, lot_code="A1", at=after(1))
    holding.place_hold(
        store, scope=Scope(lot_code="A1"), reason="cracks", reference="", by=CLERK, at=after(2)
    )
    code = put_in_stock(store, SCREW, 8, lot_code="A1", supplier="Invented Supplies", at=after(3))
    with store.act("join", by=CLERK, at=after(4)) as act:
        line = act.find(ReceiptLine, code=code)
        assert line is not None
        said = holding.join_open_holds(act, lines=[line])
    assert len(said) == 1
    assert code in said[0]


@pytest.mark.parametrize(
    ("scope", "joins"),
    [
        (Scope(lot_code="A1"), (True, True, False)),
        (Scope(lot_code="A1", maker="Invented Rotors"), (True, True, False)),
        (Scope(supplier="Invented Supplies"), (False, True, False)),
        (Scope(supplier="Invented Rotors"), (True, False, True)),
        (Scope(maker="Invented Rotors"), (True, True, True)),
        (Scope(code="lot"), (True, False, False)),
        (Scope(code="line"), (False, False, False)),
    ],
)
def test_what_arrives_joins_the_hold_that_covers_it_and_no_other(
    store: Store, scope: Scope, joins: tuple[bool, ...]
) -> None:
    line = put_in_stock(store, SCREW, 16, lot_code="A1", at=after(1))
    put_in_stock(store, SCREW, 16, lot_code="A1", supplier="Invented Supplies", at=after(1))
    with store.reading() as read:
        lot = str(
            read.value(
                "SELECT l.code FROM lot l JOIN receipt_line r ON r.lot_id = l.id WHERE r.code = ?", line
            )
        )
    own = replace(scope, code={"lot": lot, "line": line}.get(scope.code, ""))
    hold = holding.place_hold(store, scope=own, reason="cracks", reference="", by=CLERK, at=after(2)).codes[0]
    arrived = [
        put_in_stock(store, SCREW, 8, lot_code=code, supplier=supplier, at=after(3))
        for code, supplier in (
            ("A1", "Invented Rotors"),
            ("A1", "Invented Supplies"),
            ("B2", "Invented Rotors"),
        )
    ]

    def joined(minute: int) -> list[str]:
        with store.act("join", by=CLERK, at=after(minute)) as act:
            lines = [found for code in arrived if (found := act.find(ReceiptLine, code=code))]
            return [said.split()[0] for said in holding.join_open_holds(act, lines=lines)]

    assert joined(4) == [code for code, does in zip(arrived, joins, strict=True) if does]
    holding.release_hold(store, hold=hold, reference="N", reason="tested", by=MANAGER, at=after(5))
    assert joined(6) == []


@pytest.mark.parametrize(
    ("serial", "joins"),
    [
        ("0010", True),
        ("0015", True),
        ("0020", True),
        ("0009", False),
        ("0021", False),
        ("15", False),
        (None, False),
    ],
)
def test_a_piece_joins_by_its_serial_from_the_first_to_the_last_of_the_range(
    store: Store, serial: str | None, joins: bool
) -> None:
    known, other = blades_on_shelf(store, CW_BLADE, 2, at=after(1))
    (ccw,) = blades_on_shelf(store, CCW_BLADE, 1, at=after(1))
    with store.act("serials", by=CLERK, at=after(2)) as act:
        for code, text in ((known, "0012"), (other, serial), (ccw, "0015")):
            one = act.find(Piece, code=code)
            assert one is not None
            act.update(one, serial=text)
    scope = Scope(part=CW_BLADE, serials=("0010", "0020"))
    hold = holding.place_hold(store, scope=scope, reason="cracks", reference="", by=CLERK, at=after(3)).codes[
        0
    ]
    with store.act("join", by=CLERK, at=after(4)) as act:
        pieces = [
            p for p in act.select(Piece) if p.code in (other, ccw)
        ]  # one of another part with such a serial
        said = holding.join_open_holds(act, pieces=pieces)
        items = act.select(HoldItem, "piece_id = ?", pieces[0].id)
    assert [text.split()[0] for text in said] == ([other] if joins else [])
    assert bool(items) is joins
    assert hold


def test_a_lot_code_of_another_maker_does_not_join(store: Store) -> None:
    put_in_stock(store, SCREW, 16, lot_code="A1", at=after(1))
    scope = Scope(lot_code="A1", maker="Invented Rotors")
    holding.place_hold(store, scope=scope, reason="cracks", reference="", by=CLERK, at=after(2))
    with store.act("another maker", by=MANAGER, at=after(3)) as act:
        part = act.find(Part, number=WASHER)
        assert part is not None
        act.update(part, maker_id=2)
    code = put_in_stock(store, WASHER, 8, lot_code="A1", at=after(4))
    with store.act("join", by=CLERK, at=after(5)) as act:
        line = act.find(ReceiptLine, code=code)
        assert line is not None
        assert holding.join_open_holds(act, lines=[line]) == ()


def test_the_van_that_has_it_is_named(store: Store) -> None:
    line = put_in_stock(store, SCREW, 16, lot_code="A1", place=VAN, kind="van", at=after(1))
    done = holding.place_hold(
        store, scope=Scope(code=line), reason="cracks", reference="", by=CLERK, at=after(2)
    )
    assert any("VAN Van 1" in sentence for sentence in done.said)


def test_a_hold_is_narrowed_and_then_released_with_a_reference(store: Store) -> None:
    first = put_in_stock(store, SCREW, 16, lot_code="A1", at=after(1))
    second = put_in_stock(store, SCREW, 8, lot_code="A1", supplier="Invented Supplies", at=after(2))
    hold = holding.place_hold(
        store, scope=Scope(lot_code="A1"), reason="cracks", reference="", by=CLERK, at=after(3)
    ).codes[0]
    holding.release_hold(
        store, hold=hold, only=[first], reference="N-2", reason="not affected", by=MANAGER, at=after(4)
    )
    with store.reading() as read:
        found = read.find(Hold, code=hold)
        assert found is not None
        assert found.released_event_id is None
    holding.release_hold(store, hold=hold, reference="N-3", reason="tested", by=MANAGER, at=after(5))
    account = recall_account(store, lot_code="A1")
    assert dict(account.classes)[AccountClass.SHELF] == 24
    with pytest.raises(Refused) as refused:
        holding.release_hold(store, hold=hold, reference="N-3", reason="again", by=MANAGER, at=after(6))
    assert refused.value.rules == {"R12"}
    assert second


def test_what_is_narrowed_to_stays_held_by_the_same_entry(store: Store) -> None:
    first = put_in_stock(store, SCREW, 16, lot_code="A1", at=after(1))
    put_in_stock(store, SCREW, 8, lot_code="A1", supplier="Invented Supplies", at=after(2))
    hold = holding.place_hold(
        store, scope=Scope(lot_code="A1"), reason="cracks", reference="", by=CLERK, at=after(3)
    ).codes[0]
    form: dict[str, Any] = {
        "hold": hold,
        "scope": Scope(code=first),
        "reference": "N-2",
        "reason": "one line",
        "at": after(4),
    }
    with pytest.raises(Refused) as refused:
        holding.narrow_hold(store, by=CLERK, **form)
    assert refused.value.rules == {"role"}
    for empty in ("reference", "reason"):
        with pytest.raises(BadInput, match=empty):
            holding.narrow_hold(store, by=MANAGER, **{**form, empty: " "})
    holding.narrow_hold(store, by=MANAGER, **form)
    with store.reading() as read:
        assert [i.released_event_id is None for i in read.select(HoldItem)] == [True, False]
    holding.release_hold(store, hold=hold, reference="N-3", reason="tested", by=MANAGER, at=after(5))
    with pytest.raises(Refused) as refused:
        holding.narrow_hold(store, by=MANAGER, **form | {"at": after(6)})
    assert refused.value.rules == {"R12"}


def test_only_what_a_hold_covers_is_released_from_it_and_all_of_it_ends_it(store: Store) -> None:
    lines = [
        put_in_stock(store, SCREW, 8, lot_code="A1", supplier=s, at=after(1))
        for s in ("Invented Rotors", "Invented Supplies")
    ]
    other = put_in_stock(store, SCREW, 8, lot_code="B2", at=after(2))
    hold = holding.place_hold(
        store, scope=Scope(lot_code="A1"), reason="cracks", reference="", by=CLERK, at=after(3)
    ).codes[0]
    form: dict[str, Any] = {"hold": hold, "reference": "N-2", "reason": "tested", "by": MANAGER}
    with pytest.raises(BadInput, match=f"{other} is not under {hold}; it holds {lines[0]}, {lines[1]}"):
        holding.release_hold(store, only=[lines[0], other], at=after(4), **form)
    done = holding.release_hold(store, only=[lines[0], lines[0]], at=after(5), **form)
    assert done.said == (f"{hold} is narrowed: 1 of 2 things stay on hold under N-2.",)
    done = holding.release_hold(store, only=[lines[1]], at=after(6), **form)
    assert done.said == (f"{hold} is released under N-2.",)
    with store.reading() as read:
        found = read.find(Hold, code=hold)
        assert found is not None
        assert (found.released_event_id, found.release_reference) == (done.event, "N-2")


def test_a_hold_says_why(store: Store) -> None:
    line = put_in_stock(store, SCREW, 16, lot_code="A1", at=after(1))
    with pytest.raises(BadInput, match="reason"):
        holding.place_hold(store, scope=Scope(code=line), reason=" ", reference="", by=CLERK, at=after(2))


def test_a_clerk_may_place_a_hold_and_not_release_it(store: Store) -> None:
    line = put_in_stock(store, SCREW, 16, lot_code="A1", at=after(1))
    hold = holding.place_hold(
        store, scope=Scope(code=line), reason="cracks", reference="", by=CLERK, at=after(2)
    ).codes[0]
    with pytest.raises(Refused) as refused:
        holding.release_hold(store, hold=hold, reference="N-3", reason="tested", by=CLERK, at=after(3))
    assert refused.value.rules == {"role"}


@pytest.mark.parametrize(
    ("scope", "error"),
    [
        (Scope(), BadInput),
        (Scope(lot_code="never"), NotFound),
        (Scope(serials=("1", "22"), part=SCREW), BadInput),
        (Scope(supplier="nobody"), NotFound),
    ],
)
def test_a_scope_that_means_nothing_is_told(store: Store, scope: Scope, error: type[Exception]) -> None:
    with pytest.raises(error):
        holding.place_hold(store, scope=scope, reason="cracks", reference="", by=CLERK, at=after(1))


def test_a_recall_needs_a_reference(store: Store) -> None:
    line = put_in_stock(store, SCREW, 16, lot_code="A1", at=after(1))
    with pytest.raises(BadInput, match="reference"):
        holding.place_hold(
            store,
            scope=Scope(code=line),
            reason="cracks",
            reference="",
            is_recall=True,
            by=CLERK,
            at=after(2),
        )
