"""Inspection of counted stock by quantity, screws against the torque they get, and opened bottles."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from kittrack.domain.dates import Expiry
from kittrack.errors import BadInput, Refused
from kittrack.services import holding, receiving
from kittrack.services.desk import Done
from kittrack.services.inspecting_stock import inspect_stock, open_bottle
from kittrack.services.receiving import LineSpec, PaperSpec
from kittrack.store.act import Slot
from kittrack.store.database import Store
from kittrack.store.records import HubFixing, Inspection, Part, Piece
from tests.factories import (
    BIN,
    CLERK,
    CW_BLADE,
    INSPECTOR,
    LOCKER,
    MANAGER,
    SCREW,
    TECHNICIAN,
    WASHER,
    after,
    assert_conserved,
    put_in_stock,
)

MAKER = "Invented Rotors"
CERTIFICATE = PaperSpec("certificate of conformity", "C-77", MAKER)
SCREWS = LineSpec(SCREW, 64, "S-9", expiry=Expiry.unlimited(), papers=(CERTIFICATE,))


@pytest.fixture(autouse=True)
def _conserved(store: Store) -> Iterator[None]:
    yield
    assert_conserved(store)


def take_in(store: Store, line: LineSpec = SCREWS, *, minute: int = 1) -> str:
    done = receiving.receive(
        store, supplier=MAKER, reference="DN-1", lines=(line,), by=CLERK, at=after(minute)
    )
    return done.codes[1]


def there(store: Store) -> dict[str, int]:
    with store.reading() as read:
        rows = read.rows("SELECT condition, sum(quantity) FROM holding WHERE quantity > 0 GROUP BY condition")
    return {condition: int(quantity) for condition, quantity in rows}


def look(store: Store, line: str, *, minute: int = 5, by: str = CLERK, **counts: Any) -> Done:
    return inspect_stock(store, line=line, by=by, at=after(minute), **counts)


def rules_against(store: Store, line: str, *, by: str = CLERK, **counts: Any) -> frozenset[str]:
    with pytest.raises(Refused) as refused:
        look(store, line, by=by, **counts)
    return refused.value.rules


def test_each_quantity_gets_its_condition(store: Store) -> None:
    line = take_in(store)
    look(store, line, accepted=50, held=3, rejected=7, note="rust on the heads")
    assert there(store) == {"serviceable": 50, "on hold": 7, "unserviceable": 7}
    with store.reading() as read:
        assert [(i.result, i.quantity) for i in read.select(Inspection)] == [
            ("accepted", 50), ("held", 3), ("rejected", 7),
        ]  # fmt: skip


def test_what_was_accepted_can_be_found_bad_later(store: Store) -> None:
    line = take_in(store)
    look(store, line, accepted=64)
    look(store, line, held=10, rejected=4, note="wet", condition="serviceable", minute=6)
    assert there(store) == {"serviceable": 50, "on hold": 10, "unserviceable": 4}


@pytest.mark.parametrize(
    "counts",
    [
        {},
        {"accepted": -1, "held": 2, "note": "x"},
        {"accepted": 65},
        {"held": 1},
        {"rejected": 1},
        {"accepted": 1, "condition": "unserviceable"},
        {"accepted": 1, "note": "\x1b"},
        {"accepted": 1, "place": "hold cage Home"},
    ],
)
def test_a_count_that_can_not_be_is_told(store: Store, counts: dict[str, Any]) -> None:
    line = take_in(store)
    with pytest.raises(BadInput):
        look(store, line, **counts)
    assert there(store) == {"on hold": 64}


def test_blades_are_not_accepted_by_quantity(store: Store) -> None:
    blades = LineSpec(CW_BLADE, 8, "1", expiry=Expiry.unlimited(), papers=(CERTIFICATE,))
    line = take_in(store, blades)
    with pytest.raises(BadInput):
        look(store, line, accepted=8)


def test_stock_in_several_places_is_asked_for(store: Store) -> None:
    line = put_in_stock(store, WASHER, 20, at=after(1), condition="on hold")
    with store.act("put some on the bench", by=CLERK, at=after(2)) as act:
        places = {name: act.value("SELECT id FROM place WHERE name = ?", name) for name in (BIN, "Bench 1")}
        slot = Slot(places[BIN], "on hold")
        act.move_stock(1, 5, from_slot=slot, to_slot=slot.at_place(places["Bench 1"]))
    with pytest.raises(BadInput):
        look(store, line, accepted=5)
    look(store, line, accepted=5, place="Bench 1")
    assert there(store) == {"on hold": 15, "serviceable": 5}


# ---- what stands against acceptance ------------------------------------------------------------


def test_without_paper_expiry_or_release_nothing_is_accepted(store: Store) -> None:
    line = take_in(store, replace(SCREWS, papers=(), expiry=Expiry.unknown()))
    holding.place_hold(store, scope=holding.Scope(code=line), reason="x", reference="", by=CLERK, at=after(2))
    assert rules_against(store, line, accepted=64) == {"R6", "R13", "R14"}
    look(store, line, rejected=1, note="bent")
    assert there(store) == {"on hold": 63, "unserviceable": 1}


def test_an_expired_consumable_is_not_accepted(store: Store) -> None:
    bottle = LineSpec(
        LOCKER, 10_000, "T", expiry=Expiry.limited(date(2026, 3, 2)), papers=(CERTIFICATE,), unit="volume_ul"
    )
    line = take_in(store, bottle)
    last_minute = 60 * 15 + 59  # 23:59 in the stores on the last day; T0 is 08:00 there
    done = look(store, line, accepted=1_000, minute=last_minute)
    assert done.said == (f"{line} ({LOCKER}): 1 mL serviceable: put away what is good.",)
    with pytest.raises(Refused) as refused:
        look(store, line, accepted=9_000, minute=last_minute + 1)
    assert refused.value.rules == {"R13"}
    assert there(store) == {"serviceable": 1_000, "on hold": 9_000}


def test_a_lot_without_a_code_is_accepted_only_with_a_note(store: Store) -> None:
    line = take_in(store, replace(SCREWS, lot_code=None))
    assert rules_against(store, line, accepted=64) == {"R16"}
    look(store, line, accepted=64, note="label of the carton")
    assert there(store) == {"serviceable": 64}


@pytest.mark.parametrize("by", [TECHNICIAN, MANAGER])
def test_who_is_no_clerk_or_inspector_accepts_nothing(store: Store, by: str) -> None:
    assert rules_against(store, take_in(store), accepted=64, by=by) == {"role"}


def test_an_inspector_accepts(store: Store) -> None:
    look(store, take_in(store), accepted=64, by=INSPECTOR)
    assert there(store) == {"serviceable": 64}


# ---- screws against their torque ---------------------------------------------------------------


def set_torque(store: Store, torque_mnm: int) -> None:
    with store.act("another torque", by=MANAGER, at=after(2)) as act:
        act.update(act.get(HubFixing, 1), torque_mnm=torque_mnm)


@pytest.mark.parametrize(("torque_mnm", "refused"), [(800, False), (1300, False), (1400, True), (8000, True)])
def test_screws_too_weak_for_the_torque_of_their_fixing_are_not_accepted(
    store: Store,
    torque_mnm: int,
    refused: bool,
) -> None:
    """M3 in A2-70 at K = 0.20: 5.03 mm2 x 450 N/mm2 x 0.20 x 3 mm = 1358 mN m at its proof strength.

    Source: ISO 898-1 (stress area), ISO 3506-1 (0.2 % proof 450 N/mm2 of class 70).
    """
    line = take_in(store)
    set_torque(store, torque_mnm)
    if refused:
        assert rules_against(store, line, accepted=64) == {"R18"}
    else:
        look(store, line, accepted=64)


@pytest.mark.parametrize(("read", "refused"), [("A2-70", False), ("", False), ("A2-50", True), ("8.8", True)])
def test_the_class_on_the_heads_is_the_class_of_the_part(
    store: Store,
    read: str,
    refused: bool,
) -> None:
    line = take_in(store)
    if refused:
        assert rules_against(store, line, accepted=64, property_class=read) == {"R18"}
    else:
        look(store, line, accepted=64, property_class=read)


def test_goods_in_says_how_many_screws_to_look_at(store: Store) -> None:
    """Lot of 64, level II, 2.5 %: letter E, arrow down to F: 20 pieces, 1 faulty passes (ISO 2859-1)."""
    done = receiving.receive(store, supplier=MAKER, reference="DN-1", lines=(SCREWS,), by=CLERK, at=after(1))
    assert any("look at 20 of 64" in sentence and "at most 1 " in sentence for sentence in done.said)


# ---- bottles -----------------------------------------------------------------------------------


def bottles(store: Store, *, expires_on: str = "2028-01-31", condition: str = "serviceable") -> str:
    return put_in_stock(store, LOCKER, 25_000, at=after(1), expires_on=expires_on, condition=condition)


def opened(store: Store, line: str, *, by: str = CLERK, minute: int = 5) -> Piece:
    done = open_bottle(store, line=line, by=by, at=after(minute))
    with store.reading() as read:
        found = read.find(Piece, code=done.codes[0])
    assert found is not None
    return found


def test_an_opened_bottle_is_a_piece_with_its_own_last_day(store: Store) -> None:
    """365 days after 2 March 2026 is 2 March 2027: no 29 February lies between."""
    bottle = opened(store, bottles(store))
    assert (bottle.opened_on, bottle.expires_on) == ("2026-03-02", "2027-03-02")
    with store.reading() as read:
        rows = read.rows(
            "SELECT piece_id, quantity FROM holding WHERE quantity > 0 ORDER BY coalesce(piece_id, 0)"
        )
    assert rows == [(None, 15_000), (bottle.id, 10_000)]


def test_the_last_bottle_holds_what_is_left(store: Store) -> None:
    line = bottles(store)
    for minute in (5, 6, 7):
        opened(store, line, minute=minute)
    with store.reading() as read:
        rows = read.rows("SELECT quantity FROM holding WHERE piece_id IS NOT NULL ORDER BY piece_id")
    assert [q for (q,) in rows] == [10_000, 10_000, 5_000]
    with pytest.raises(BadInput):
        open_bottle(store, line=line, by=CLERK, at=after(8))


def test_a_bottle_without_an_opened_life_keeps_the_shelf_life_of_its_line(store: Store) -> None:
    with store.act("no opened life", by=MANAGER, at=after(1)) as act:
        part = act.find(Part, number=LOCKER)
        assert part is not None
        act.update(part, opened_life_days=None)
    assert opened(store, bottles(store)).expires_on is None


def test_what_is_not_fit_for_use_is_not_opened(store: Store) -> None:
    line = bottles(store, expires_on="2026-03-01")
    with pytest.raises(Refused) as refused:
        open_bottle(store, line=line, by=CLERK, at=after(5))
    assert refused.value.rules == {"R13"}
    good = bottles(store)
    holding.place_hold(store, scope=holding.Scope(code=good), reason="x", reference="", by=CLERK, at=after(6))
    with pytest.raises(Refused) as refused:
        open_bottle(store, line=good, by=CLERK, at=after(7))
    assert refused.value.rules == {"R6"}


def test_screws_are_not_opened_nor_is_a_single_dose(store: Store) -> None:
    line = put_in_stock(store, SCREW, 8, at=after(1))
    with pytest.raises(BadInput):
        open_bottle(store, line=line, by=CLERK, at=after(5))
    with store.act("single doses", by=MANAGER, at=after(6)) as act:
        part = act.find(Part, number=LOCKER)
        assert part is not None
        act.update(part, single_dose=1)
    with pytest.raises(BadInput):
        open_bottle(store, line=put_in_stock(store, LOCKER, 10_000, at=after(7)), by=CLERK, at=after(8))


def test_a_bottle_in_goods_in_is_put_away_before_it_is_opened(store: Store) -> None:
    line = put_in_stock(
        store, LOCKER, 10_000, at=after(1), expires_on="2028-01-31", place="goods-in Home", kind="goods-in"
    )
    with pytest.raises(Refused) as refused:
        open_bottle(store, line=line, by=CLERK, at=after(5))
    assert refused.value.rules == {"R5"}
