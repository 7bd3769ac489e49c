"""Scrap before a witness, back to the supplier, and the one override of a shelf life."""

from collections.abc import Iterator
from datetime import date
from typing import Any

import pytest

from kittrack.errors import BadInput, Refused
from kittrack.services import disposing, holding, inspecting_stock, jobs
from kittrack.services.booking import PaperSpec
from kittrack.services.desk import Done
from kittrack.services.moving import MoveSpec
from kittrack.store.database import Store
from kittrack.store.records import Override, Paper, Piece, ReceiptLine, Reservation, RotorSet
from kittrack.store.stock import chain
from tests.factories import (
    AUDITOR,
    BIN,
    BUILDER,
    CLERK,
    CW_BLADE,
    INSPECTOR,
    LOCKER,
    MANAGER,
    SCREW,
    TAIL,
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

TEST = PaperSpec("", "LAB-7", "Invented Laboratory")


@pytest.fixture(autouse=True)
def _conserved(store: Store) -> Iterator[None]:
    yield
    assert_conserved(store)


def scrap(
    store: Store, *things: str | MoveSpec, by: str = CLERK, second: str = MANAGER, minute: int = 50
) -> Done:
    specs = [t if isinstance(t, MoveSpec) else MoveSpec(t) for t in things]
    return disposing.scrap(store, things=specs, reason="worn", by=by, second=second, at=after(minute))


def send_back(store: Store, *things: str | MoveSpec, by: str = CLERK, minute: int = 50) -> Done:
    specs = [t if isinstance(t, MoveSpec) else MoveSpec(t) for t in things]
    return disposing.return_to_supplier(
        store, things=specs, reference="RMA-1", reason="wrong class", by=by, at=after(minute)
    )


def rules_of(act: Any, *args: Any, **more: Any) -> frozenset[str]:
    with pytest.raises(Refused) as refused:
        act(*args, **more)
    return refused.value.rules


def lying(store: Store) -> list[tuple[str, str, int]]:
    with store.reading() as read:
        rows = read.rows(
            "SELECT p.name, h.condition, h.quantity FROM holding h JOIN place p ON p.id = h.place_id "
            "WHERE h.quantity > 0 ORDER BY p.name, h.condition"
        )
    return [(name, condition, int(quantity)) for name, condition, quantity in rows]


# ---- scrap -------------------------------------------------------------------------------------


def test_screws_are_scrapped_before_a_witness(store: Store) -> None:
    line = put_in_stock(store, SCREW, 64, at=after(1))
    scrap(store, MoveSpec(line, 4))
    assert lying(store) == [(BIN, "serviceable", 60), ("scrapped", "unsalvageable", 4)]


@pytest.mark.parametrize(("by", "second"), [(CLERK, ""), (CLERK, CLERK), (MANAGER, MANAGER)])
def test_nobody_scraps_alone(store: Store, by: str, second: str) -> None:
    line = put_in_stock(store, SCREW, 64, at=after(1))
    assert rules_of(scrap, store, line, by=by, second=second) == {"R8"}


@pytest.mark.parametrize("by", [TECHNICIAN, AUDITOR])
def test_who_scraps(store: Store, by: str) -> None:
    assert rules_of(scrap, store, put_in_stock(store, SCREW, 64, at=after(1)), by=by) == {"role"}


def test_scrap_takes_a_reason(store: Store) -> None:
    line = put_in_stock(store, SCREW, 64, at=after(1))
    with pytest.raises(BadInput):
        disposing.scrap(store, things=[MoveSpec(line)], reason="", by=CLERK, second=MANAGER, at=after(2))


def test_a_piece_and_a_whole_set_are_scrapped_and_a_blade_of_a_set_is_not(store: Store) -> None:
    (code,) = sets_on_shelf(store, CW_BLADE, 1, at=after(1))
    (loose,) = blades_on_shelf(store, CW_BLADE, 1, at=after(2), lot_code="LOT-2")
    with store.reading() as read:
        inside = read.get(Piece, 1).code
    assert rules_of(scrap, store, inside) == {"R1"}
    scrap(store, code, loose)
    with store.reading() as read:
        one = read.get(RotorSet, 1)
        assert chain(read, one.place_id)[-1].kind == "scrapped"
    assert (one.condition, one.state) == ("unsalvageable", "complete")


def test_what_is_gone_is_not_scrapped_again(store: Store) -> None:
    (code,) = sets_on_shelf(store, CW_BLADE, 1, at=after(1))
    scrap(store, code)
    with pytest.raises(BadInput):
        scrap(store, code, minute=51)
    assert "R12" in rules_of(send_back, store, code, minute=52)


def test_a_bottle_is_scrapped_with_what_is_left_in_it(store: Store) -> None:
    line = put_in_stock(store, LOCKER, 10_000, at=after(1), expires_on="2028-01-31")
    bottle = inspecting_stock.open_bottle(store, line=line, by=CLERK, at=after(2)).codes[0]
    scrap(store, bottle)
    assert lying(store) == [("scrapped", "unsalvageable", 10_000)]


def test_what_is_in_a_kit_or_is_a_kit_is_not_scrapped(store: Store) -> None:
    stock_up(store, at=after(1))
    kit = sealed_kit(store, at=after(5))
    with store.reading() as read:
        inside = read.get(RotorSet, 1).code
    assert rules_of(scrap, store, inside) == {"R5"}
    assert rules_of(scrap, store, kit) == {"R5"}


def test_evidence_is_not_scrapped(store: Store) -> None:
    (code,) = sets_on_shelf(store, CW_BLADE, 1, at=after(1))
    line = put_in_stock(store, SCREW, 8, at=after(2))
    for minute, thing in enumerate((code, line), start=3):
        holding.place_hold(
            store, scope=holding.Scope(code=thing), reason="x", reference="", by=CLERK, at=after(minute), is_evidence=True
        )  # fmt: skip
        assert rules_of(scrap, store, thing) == {"R10"}


def test_what_is_recalled_may_be_scrapped(store: Store) -> None:
    line = put_in_stock(store, SCREW, 8, at=after(2))
    holding.place_hold(
        store,
        scope=holding.Scope(code=line),
        reason="x",
        reference="SB",
        by=CLERK,
        at=after(3),
        is_recall=True,
    )
    scrap(store, line)
    assert lying(store) == [("scrapped", "unsalvageable", 8)]


def test_a_set_off_for_transport_is_not_scrapped(store: Store) -> None:
    (code,) = sets_on_shelf(store, CW_BLADE, 1, at=after(1))
    with store.act("off for transport", by=TECHNICIAN, at=after(2)) as act:
        act.update(act.get(RotorSet, 1), bound_position_id=1)
    assert rules_of(scrap, store, code) == {"R10"}


def test_a_reserved_set_that_is_scrapped_is_reserved_no_more(store: Store) -> None:
    (code,) = sets_on_shelf(store, CW_BLADE, 1, at=after(1))
    job = jobs.open_job(store, airframe=TAIL, purpose="x", by=CLERK, at=after(2)).codes[0]
    jobs.reserve(store, job=job, thing=code, until=date(2026, 4, 1), by=CLERK, at=after(3))
    done = scrap(store, code)
    assert any(job in sentence for sentence in done.said)
    with store.reading() as read:
        assert read.get(Reservation, 1).state == "released"


# ---- back to the supplier ----------------------------------------------------------------------


def test_what_is_sent_back_is_with_its_supplier(store: Store) -> None:
    line = put_in_stock(store, SCREW, 64, at=after(1), condition="unserviceable")
    (code,) = sets_on_shelf(store, CW_BLADE, 1, at=after(2))
    done = send_back(store, line, code)
    assert lying(store) == [
        (code, "serviceable", 1), (code, "serviceable", 1), ("returned to supplier", "on hold", 64),
    ]  # fmt: skip
    assert any("Invented Rotors" in sentence and "RMA-1" in sentence for sentence in done.said)
    with store.reading() as read:
        assert read.get(RotorSet, 1).condition == "on hold"
        assert chain(read, read.get(RotorSet, 1).place_id)[-1].kind == "returned to supplier"


def test_things_of_two_suppliers_are_sent_back_one_by_one(store: Store) -> None:
    one = put_in_stock(store, SCREW, 8, at=after(1))
    two = put_in_stock(store, SCREW, 8, at=after(2), supplier="Invented Supplies")
    with pytest.raises(BadInput):
        send_back(store, one, two)
    send_back(store, two)
    assert lying(store) == [(BIN, "serviceable", 8), ("returned to supplier", "on hold", 8)]


def test_who_sends_back_and_what_is_not_sent_back(store: Store) -> None:
    stock_up(store, at=after(1))
    kit = sealed_kit(store, at=after(5))
    line = put_in_stock(store, SCREW, 8, at=after(6), place=VAN, kind="van")
    assert rules_of(send_back, store, line, by=TECHNICIAN) == {"role"}
    assert rules_of(send_back, store, kit) == {"R5"}
    with pytest.raises(BadInput):
        disposing.return_to_supplier(
            store, things=[MoveSpec(line)], reference="", reason="x", by=CLERK, at=after(51)
        )


# ---- the override of a shelf life --------------------------------------------------------------


def extend(
    store: Store, line: str, *, by: str = INSPECTOR, second: str = MANAGER, minute: int = 50, **more: Any
) -> Done:
    form = {"expires_on": date(2026, 9, 30), "test": TEST, "reason": "bond test passed", **more}
    return disposing.extend_shelf_life(store, line=line, by=by, second=second, at=after(minute), **form)


def bottles(store: Store, expires_on: str | None = "2026-03-31") -> str:
    return put_in_stock(store, LOCKER, 100_000, at=after(1), expires_on=expires_on)


def test_a_recorded_test_extends_a_shelf_life_and_the_office_lists_it(store: Store) -> None:
    line = bottles(store)
    extend(store, line)
    with store.reading() as read:
        found = read.get(ReceiptLine, 1)
        override = read.get(Override, 1)
        paper = read.find(Paper, kind=disposing.EXTENSION_TEST)
    assert found.expires_on == "2026-09-30"
    assert (override.kind, override.subject, override.reason) == (
        "shelf life extended",
        line,
        "bond test passed",
    )
    assert paper is not None
    assert (paper.number, paper.issuer) == ("LAB-7", "Invented Laboratory")


def test_an_expired_line_may_pass_a_test_too(store: Store) -> None:
    extend(store, bottles(store, "2026-03-01"))


@pytest.mark.parametrize(
    ("by", "second", "rules"),
    [
        (CLERK, MANAGER, {"role"}), (TECHNICIAN, MANAGER, {"role"}), (INSPECTOR, INSPECTOR, {"R8"}), (MANAGER, "", {"R8"}),
    ],
)  # fmt: skip
def test_who_extends_a_shelf_life(store: Store, by: str, second: str, rules: set[str]) -> None:
    line = bottles(store)
    assert rules_of(extend, store, line, by=by, second=second) == rules
    extend(store, line, by=MANAGER, second=BUILDER, minute=51)


@pytest.mark.parametrize(
    ("expires_on", "to"),
    [("2026-03-31", date(2026, 3, 31)), ("2026-03-31", date(2026, 3, 30)), ("2026-02-01", date(2026, 3, 1))],
    ids=["the same day", "shorter", "over already"],
)
def test_what_does_not_lengthen_is_no_extension(store: Store, expires_on: str, to: date) -> None:
    assert rules_of(extend, store, bottles(store, expires_on), expires_on=to) == {"R20"}


def test_no_known_expiry_is_extended(store: Store) -> None:
    assert rules_of(extend, store, bottles(store, None)) == {"R20"}


def test_a_recalled_line_is_not_extended(store: Store) -> None:
    line = bottles(store)
    holding.place_hold(store, scope=holding.Scope(code=line), reason="x", reference="", by=CLERK, at=after(2))
    assert rules_of(extend, store, line) == {"R6"}


@pytest.mark.parametrize(
    "more", [{"reason": ""}, {"test": PaperSpec("", "", "x")}, {"test": PaperSpec("", "x", "")}]
)
def test_an_extension_names_its_test_and_reason(store: Store, more: dict[str, Any]) -> None:
    with pytest.raises(BadInput):
        extend(store, bottles(store), **more)


def test_a_sealed_kit_keeps_its_day(store: Store) -> None:
    stock_up(store, at=after(1))
    kit = sealed_kit(store, at=after(5))
    with store.reading() as read:
        before = read.value("SELECT expires_on FROM kit")
        line = read.value(
            "SELECT r.code FROM receipt_line r JOIN part p ON p.id = r.part_id WHERE p.number = ?", LOCKER
        )
    done = extend(store, line, expires_on=date(2035, 1, 1))
    assert any(kit in sentence for sentence in done.said)
    with store.reading() as read:
        assert read.value("SELECT expires_on FROM kit") == before
