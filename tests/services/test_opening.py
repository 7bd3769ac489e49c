"""Opening the books: unknown is said to be unknown, open points are no breach, findings are recorded."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from kittrack.domain.dates import Expiry
from kittrack.errors import BadInput, Refused
from kittrack.queries.integrity import set_integrity
from kittrack.services import (
    findings,
    holding,
    inspecting,
    inspecting_sets,
    jobs,
    matching,
    removing,
    weighing,
)
from kittrack.services.booking import LineSpec, PaperSpec
from kittrack.services.inspecting import PieceSpec
from kittrack.services.inspecting_stock import inspect_stock
from kittrack.services.opening import UNKNOWN_SUPPLIER, ShelfSpec, open_shelf, record_history
from kittrack.services.opening_fitted import FittedSpec, open_fitted
from kittrack.services.weighing import PieceWeighing
from kittrack.store.database import Store
from kittrack.store.records import (
    Airframe,
    ApprovedPart,
    Company,
    Delivery,
    Finding,
    Hold,
    Lot,
    Part,
    PartMark,
    Piece,
    Position,
    ReceiptLine,
    RotorSet,
)
from kittrack.store.stock import chain, directly_in
from tests.factories import (
    BIN,
    CCW_BLADE,
    CLERK,
    CW_BLADE,
    INSPECTOR,
    MANAGER,
    SCREW,
    TAIL,
    TECHNICIAN,
    after,
    assert_conserved,
)

CERTIFICATE = PaperSpec("certificate of conformity", "C-0", "Invented Rotors")
SCREWS = ShelfSpec(LineSpec(SCREW, 200, None, expiry=Expiry.unlimited()), BIN)
BLADES = ShelfSpec(LineSpec(CW_BLADE, 4, "OLD-1", expiry=Expiry.unlimited(), papers=(CERTIFICATE,)), BIN)


@pytest.fixture
def conserved(store: Store) -> Iterator[None]:
    yield
    assert_conserved(store)


pytestmark = pytest.mark.usefixtures("conserved")


def spot(store: Store, name: str, *, tail: str = TAIL) -> str:
    with store.reading() as read:
        frame = read.find(Airframe, tail=tail)
        assert frame is not None
        found = read.find(Position, airframe_id=frame.id, name=name)
    assert found is not None
    return found.code


def fitted(store: Store, name: str = "FL", **changes: Any) -> FittedSpec:
    """The published map of the four-arm X: FL and RR turn CW, FR and RL turn CCW."""
    spec = FittedSpec(spot(store, name), CW_BLADE, "R", (None, None))
    return replace(spec, **changes)


def take_in(store: Store, *sets: FittedSpec, minute: int = 1, by: str = MANAGER) -> tuple[str, ...]:
    return open_fitted(store, fitted=sets, by=by, at=after(minute)).codes


# ---- shelf -------------------------------------------------------------------------------------


def test_what_lies_on_the_shelf_is_in_the_books_on_hold_with_an_unknown_history(store: Store) -> None:
    done = open_shelf(store, lines=(SCREWS, BLADES), by=MANAGER, at=after(1))
    with store.reading() as read:
        lines = read.select(ReceiptLine)
        delivery = read.get(Delivery, 1)
        there = directly_in(read, read.value("SELECT id FROM place WHERE name = ?", BIN))
        supplier = read.get(Company, delivery.supplier_id)
    assert done.codes == (delivery.code, *(line.code for line in lines))
    assert (delivery.is_opening, supplier.name) == (1, UNKNOWN_SUPPLIER)
    assert [line.history_known for line in lines] == [0, 0]
    assert [(s.quantity, s.condition) for s in there] == [(200, "on hold"), (4, "on hold")]


def test_a_known_history_is_said_to_be_known(store: Store) -> None:
    open_shelf(
        store,
        lines=(replace(SCREWS, history_known=True),),
        by=MANAGER,
        at=after(1),
        supplier="Invented Rotors",
    )
    with store.reading() as read:
        assert read.get(ReceiptLine, 1).history_known == 1
        assert read.get(Lot, 1).supplier_id == 1


def test_shelf_stock_becomes_serviceable_only_by_inspection_with_its_paper(store: Store) -> None:
    _, screws, blades = open_shelf(store, lines=(SCREWS, BLADES), by=MANAGER, at=after(1)).codes
    with pytest.raises(Refused) as refused:
        inspect_stock(store, line=screws, accepted=200, by=CLERK, at=after(2))
    assert refused.value.rules == {"R14", "R16"}
    inspecting.inspect_pieces(
        store, line=blades, pieces=[PieceSpec(serial="1", mark="R")], by=CLERK, at=after(3)
    )
    with store.reading() as read:
        assert read.value("SELECT condition FROM holding WHERE piece_id = 1") == "serviceable"


def test_every_fault_of_the_shelf_is_told_and_nothing_recorded(store: Store) -> None:
    bad = (
        replace(SCREWS, place="no such bin"),
        replace(SCREWS, place="scrapped"),
        ShelfSpec(LineSpec("NO-SUCH", 1, None), BIN),
        ShelfSpec(LineSpec(SCREW, 0, None), BIN),
    )
    with pytest.raises(BadInput) as refused:
        open_shelf(store, lines=bad, by=MANAGER, at=after(1))
    assert [(p.row, p.field) for p in refused.value.problems] == [
        (1, "place"),
        (2, "place"),
        (3, "part"),
        (4, "quantity"),
    ]
    with pytest.raises(BadInput):
        open_shelf(store, lines=(SCREWS,), by=MANAGER, at=after(1), supplier="Nobody")
    open_shelf(store, lines=(SCREWS,), by=MANAGER, at=after(1))
    with store.reading() as read:
        assert len(read.select(Delivery)) == 1


def test_the_unknown_supplier_is_made_once(store: Store) -> None:
    for minute in (1, 2):
        open_shelf(store, lines=(SCREWS,), by=MANAGER, at=after(minute))
    with store.reading() as read:
        assert len(read.select(Company, "name = ?", UNKNOWN_SUPPLIER)) == 1
        assert [lot.lot_code for lot in read.select(Lot)] == [None, None]


def test_only_a_manager_opens_the_books(store: Store) -> None:
    with pytest.raises(Refused) as refused:
        open_shelf(store, lines=(SCREWS,), by=CLERK, at=after(1))
    assert refused.value.rules == {"role"}
    with pytest.raises(Refused) as refused:
        take_in(store, fitted(store), by=TECHNICIAN)
    assert refused.value.rules == {"role"}


# ---- fitted ------------------------------------------------------------------------------------


def test_a_fitted_set_is_on_its_position_with_an_unknown_history(store: Store) -> None:
    (code,) = take_in(store, fitted(store, serials=("007", "008")))
    with store.reading() as read:
        made = read.get(RotorSet, 1)
        inside = directly_in(read, made.place_id)
        places = chain(read, made.place_id)
        pieces = read.select(Piece)
        found = read.select(Finding) + read.select(Hold)
    assert (made.code, made.sense, made.history_known, made.used_minutes, made.used_flights, made.match_record_id) == (
        code, "CW", 0, None, None, None,
    )  # fmt: skip
    assert [p.kind for p in places] == ["rotor set", "position", "airframe", "apron"]
    assert places[0].closed == 1
    assert [(p.serial, p.mark, p.sense) for p in pieces] == [("007", "R", "CW"), ("008", "R", "CW")]
    assert [s.condition for s in inside] == ["serviceable", "serviceable"]
    assert found == []


def test_an_unknown_history_is_an_open_point_and_no_other_breach(store: Store) -> None:
    take_in(store, fitted(store))
    assert set_integrity(store).by_breach == (("history unknown, not proved", 1),)


@pytest.mark.parametrize(
    ("name", "changes", "held"),
    [
        ("FR", {}, True),
        ("FL", {"mark": ""}, True),
        ("FL", {"mark": "X"}, True),
        ("FL", {"part": CCW_BLADE, "mark": "L"}, True),
    ],
    ids=["another sense than the map", "no mark", "unknown mark", "the other part"],
)
def test_what_does_not_belong_there_is_recorded_held_and_blocks_the_airframe(
    store: Store,
    name: str,
    changes: dict[str, Any],
    held: bool,
) -> None:
    (code,) = take_in(store, fitted(store, name, **changes))
    with store.reading() as read:
        made = read.find(RotorSet, code=code)
        found = read.select(Finding)
        holds = read.select(Hold)
    assert made is not None
    assert found
    assert all(f.rotor_set_id == made.id and f.airframe_id == 1 and f.settled_event_id is None for f in found)
    assert bool(holds) is held
    job = jobs.open_job(store, airframe=TAIL, purpose="walk", by=TECHNICIAN, at=after(2)).codes[0]
    with pytest.raises(Refused) as refused:
        jobs.close_job(store, job=job, by=TECHNICIAN, at=after(3))
    assert "R10" in refused.value.rules


def test_the_sense_that_was_found_is_the_sense_on_record(store: Store) -> None:
    with store.act("a table that knows the other sense", by=MANAGER, at=after(1)) as act:
        act.insert(PartMark(part_id=1, revision=1, mark="L", sense="CCW"))
    take_in(store, fitted(store, "FR", mark="L"), minute=2)
    with store.reading() as read:
        assert (read.get(RotorSet, 1).sense, read.get(Piece, 1).sense) == ("CCW", "CCW")
        assert len(read.select(Finding)) == 2


def test_a_part_that_is_not_approved_there_is_a_finding_without_a_hold(store: Store) -> None:
    with store.act("approve nothing", by=MANAGER, at=after(1)) as act:
        for row in act.select(ApprovedPart):
            act.update(row, active=0)
    take_in(store, fitted(store), minute=2)
    with store.reading() as read:
        assert (len(read.select(Finding)), len(read.select(Hold))) == (1, 0)


def test_a_finding_can_be_settled_once_the_rotor_is_off(store: Store) -> None:
    take_in(store, fitted(store, "FL", mark="X"))
    findings.settle_finding(store, finding=1, text="mark looked up, drawing 3", by=INSPECTOR, at=after(2))


def test_a_hub_of_the_set_is_taken_in_with_it(store: Store) -> None:
    with store.act("a hub of the set", by=MANAGER, at=after(1)) as act:
        hub = act.insert(
            Part(number="HUB-1", maker_id=1, name="hub", kind="hub", tracking="serial", paper_class="rotor")
        )
        act.update(act.get(Part, 1), hub_part_id=hub.id, hub_in_set=1)
    take_in(store, fitted(store, hub_serial="H-1"), minute=2)
    with store.reading() as read:
        assert [(p.part_id, p.serial) for p in directly_pieces(store)] == [
            (1, None),
            (1, None),
            (hub.id, "H-1"),
        ]
        assert len(read.select(ReceiptLine)) == 2


def directly_pieces(store: Store) -> list[Piece]:
    with store.reading() as read:
        inside = directly_in(read, read.get(RotorSet, 1).place_id)
        return [read.get(Piece, s.piece_id or 0) for s in inside]


def test_a_position_takes_one_set(store: Store) -> None:
    take_in(store, fitted(store))
    with pytest.raises(Refused) as refused:
        take_in(store, fitted(store), minute=2)
    assert refused.value.rules == {"R10"}
    with pytest.raises(BadInput):
        take_in(store, fitted(store, "RR"), fitted(store, "RR"), minute=2)


def test_a_serial_is_in_the_store_once(store: Store) -> None:
    take_in(store, fitted(store, serials=("1", "2")))
    for serials in (("2", "3"), ("4", "4")):
        with pytest.raises(Refused) as refused:
            take_in(store, fitted(store, "RR", serials=serials), minute=2)
        assert refused.value.rules == {"R16"}


def test_a_sold_airframe_is_not_taken_in(store: Store) -> None:
    with store.act("sold", by=MANAGER, at=after(1)) as act:
        act.update(act.get(Airframe, 1), state="sold")
    with pytest.raises(Refused) as refused:
        take_in(store, fitted(store), minute=2)
    assert refused.value.rules == {"R10"}


def test_every_fault_of_what_is_fitted_is_told(store: Store) -> None:
    bad = (
        fitted(store, "FL", part="NO-SUCH"),
        fitted(store, "FR", serials=(None,)),
        fitted(store, "RL", part=SCREW),
        fitted(store, "RR", serials=("", "x\x07"), mark="\x1b"),
        fitted(store, "RR", position="X000001"),
    )
    with pytest.raises(BadInput) as refused:
        take_in(store, *bad)
    assert [p.row for p in refused.value.problems] == [1, 2, 3, 4, 4, 4, 5]
    with pytest.raises(BadInput):
        take_in(store)
    take_in(store, fitted(store))


def test_what_is_taken_in_joins_an_open_hold(store: Store) -> None:
    take_in(store, fitted(store, lot_code="OLD-1"))
    holding.place_hold(
        store, scope=holding.Scope(lot_code="OLD-1"), reason="recall", reference="SB", by=CLERK, at=after(2), is_recall=True
    )  # fmt: skip
    take_in(store, fitted(store, "RR", lot_code="OLD-1"), minute=3)
    with store.reading() as read:
        assert read.value("SELECT count(*) FROM hold_item") == 2


# ---- once removed ------------------------------------------------------------------------------


def removed(store: Store) -> str:
    (code,) = take_in(store, fitted(store, serials=("1", "2")))
    job = jobs.open_job(store, airframe=TAIL, purpose="rotor change", by=TECHNICIAN, at=after(2)).codes[0]
    removing.remove_set(
        store, job=job, position=spot(store, "FL"), mark="R", reason="inspection", by=TECHNICIAN, at=after(3)
    )
    return code


def test_once_removed_it_takes_inspection_proof_and_a_record_of_its_service(store: Store) -> None:
    code = removed(store)

    def inspect(minute: int) -> None:
        inspecting_sets.inspect_set(
            store, rotor_set=code, mark="R", note="all of it", by=INSPECTOR, at=after(minute), to_place=BIN
        )

    with pytest.raises(Refused) as refused:
        inspect(4)
    assert refused.value.rules == {"R13", "R19"}
    weighings = [PieceWeighing(serial, 42_000_000, 100_000) for serial in ("1", "2")]
    weighing.record_weighing(store, weighings=weighings, scale="Scale 1", by=CLERK, at=after(5))
    matching.prove_set(store, rotor_set=code, one_stop=True, by=CLERK, at=after(6))
    with pytest.raises(Refused) as refused:
        inspect(7)
    assert refused.value.rules == {"R13"}
    record_history(
        store, rotor_set=code, used_minutes=120, used_flights=9, used_since_on=date(2025, 6, 1), source="old log, p. 4",
        second=INSPECTOR, by=MANAGER, at=after(8),
    )  # fmt: skip
    inspect(9)
    with store.reading() as read:
        made = read.get(RotorSet, 1)
        assert (made.condition, made.used_minutes, made.used_since_on) == ("serviceable", 120, "2025-06-01")
        assert chain(read, made.place_id)[1].name == BIN


def history(store: Store, code: str, *, by: str = MANAGER, second: str = INSPECTOR, **changes: Any) -> None:
    form = {"used_minutes": 1, "used_flights": 1, **changes}
    record_history(store, rotor_set=code, source="log", by=by, second=second, at=after(8), **form)


@pytest.mark.parametrize(
    ("by", "second", "rules"),
    [(CLERK, INSPECTOR, {"role"}), (MANAGER, MANAGER, {"R8"}), (MANAGER, "", {"R8"})],
)
def test_a_service_is_recorded_by_a_manager_and_a_second_person(
    store: Store, by: str, second: str, rules: set[str]
) -> None:
    code = removed(store)
    with pytest.raises(Refused) as refused:
        history(store, code, by=by, second=second)
    assert refused.value.rules == rules


def test_a_service_that_is_known_is_not_typed_over(store: Store) -> None:
    code = removed(store)
    history(store, code)
    with pytest.raises(Refused) as refused:
        history(store, code, used_minutes=0)
    assert refused.value.rules == {"R12"}


def test_a_fitted_set_gets_its_service_once_it_is_off(store: Store) -> None:
    (code,) = take_in(store, fitted(store))
    with pytest.raises(Refused) as refused:
        history(store, code)
    assert refused.value.rules == {"R10"}


@pytest.mark.parametrize(
    "changes", [{"used_minutes": -1}, {"used_flights": -1}, {"used_since_on": date(2027, 1, 1)}]
)
def test_a_service_that_can_not_be_is_told(store: Store, changes: dict[str, Any]) -> None:
    code = removed(store)
    with pytest.raises(BadInput):
        history(store, code, **changes)
