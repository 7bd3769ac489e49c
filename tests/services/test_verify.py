"""`verify` names every rule that the data break, once each, and nothing where the rule allows it."""

from typing import Any

import pytest

from kittrack.domain import codes
from kittrack.queries.verify import verify
from kittrack.services import founding, issuing, jobs
from kittrack.store.act import Act, Slot
from kittrack.store.database import Store
from kittrack.store.records import (
    Airframe,
    Delivery,
    Finding,
    FitRecord,
    Job,
    Kit,
    Lot,
    Part,
    Place,
    Position,
    ReceiptLine,
    Record,
    RotorSet,
    SenseMap,
    SenseMapLine,
    Voucher,
)
from kittrack.store.stock import directly_in
from tests.aircraft_scene import Scene, make_set, position_of
from tests.factories import (
    BIN,
    BUILDER,
    CLERK,
    CW_BLADE,
    MANAGER,
    SCREW,
    T0,
    TAIL,
    TECHNICIAN,
    after,
    put_sets,
    sealed_kit,
    stock_up,
)


def faults(store: Store) -> list[tuple[str, str]]:
    return [(f.check, f.message) for f in verify(store).faults]


def at_aircraft(scene: Scene) -> list[tuple[str, str]]:
    """The faults but for R14: nothing of the scene has a paper."""
    return [f for f in faults(scene.store) if f[0] != "R14"]


def the(act: Act, record: type[Any], **equal: Any) -> Any:
    found = act.find(record, **equal)
    assert found is not None, equal
    return found


def change(
    store: Store, record: type[Record], where: dict[str, Any], minute: int = 50, **changes: Any
) -> None:
    with store.act("forge", by=MANAGER, at=after(minute)) as act:
        act.update(the(act, record, **where), **changes)


@pytest.fixture
def scene(store: Store) -> Scene:
    made = Scene(store)
    made.whole("FL", made.sets[0], "R")
    assert at_aircraft(made) == []
    return made


@pytest.fixture
def kit(store: Store) -> str:
    stock_up(store, at=after(1))
    code = sealed_kit(store, at=after(5))
    assert faults(store) == []
    return code


# ---- at the aircraft -----------------------------------------------------------------------------


def test_a_set_that_the_map_gives_another_sense_is_named_unless_a_finding_says_so(scene: Scene) -> None:
    with scene.store.act("turn a motor", by=MANAGER, at=scene.now) as act:
        frame = the(act, Airframe, tail=TAIL)
        turned = act.insert(SenseMap(airframe_id=frame.id, revision=2, source="test", event_id=act.event_id))
        for spot in act.select(Position, "airframe_id = ?", frame.id):
            act.insert(SenseMapLine(sense_map_id=turned.id, position_id=spot.id, sense="CCW"))
        act.update(frame, sense_map_id=turned.id)
    message = f"a set sits on a position that the map gives another sense: {scene.sets[0]} at QA-01 FL"
    assert at_aircraft(scene) == [("R3", message)]
    with scene.store.act("find it", by=TECHNICIAN, at=scene.now) as act:
        spot = position_of(act, "FL")
        finding = act.insert(
            Finding(airframe_id=spot.airframe_id, position_id=spot.id, text="turned", event_id=act.event_id)
        )
    assert at_aircraft(scene) == []
    with scene.store.act("settle it", by=MANAGER, at=scene.now) as act:
        act.update(act.get(Finding, finding.id), settled_event_id=act.event_id)
    assert at_aircraft(scene) == [("R3", message)]


def test_a_position_with_two_sets_is_named(scene: Scene) -> None:
    with scene.store.reading() as read:
        name = read.get(Place, position_of(read, "FL").place_id).name
    make_set(scene.store, CW_BLADE, at=scene.now, where=name)
    assert ("R3", "a position holds more than one set: QA-01 FL") in at_aircraft(scene)


def test_who_inspected_their_own_fit_is_named_unless_it_is_recorded_as_that(scene: Scene) -> None:
    fit = scene.fits()[0]
    scene.change(FitRecord, {"id": fit.id}, inspected_by_id=fit.fitted_by_id)
    message = f"fitter and inspector of a position are one person, and it is not recorded as a re-inspection: {scene.sets[0]}"
    assert at_aircraft(scene) == [("R8", message)]
    scene.change(FitRecord, {"id": fit.id}, inspection="re-inspection")
    assert at_aircraft(scene) == []


@pytest.mark.parametrize("single_use", [0, 1])
def test_screws_that_came_back_from_a_position_are_named(scene: Scene, single_use: int) -> None:
    scene.change(Part, {"number": SCREW}, single_use=single_use)
    with scene.store.act("take the screws", by=TECHNICIAN, at=scene.now) as act:
        line, shelf = the(act, ReceiptLine, code=scene.screws), the(act, Place, name=BIN)
        spot = position_of(act, "FL").place_id
        (screws,) = (s for s in directly_in(act, spot) if s.receipt_line_id == line.id)
        act.move_stock(line.id, 4, from_slot=screws.slot, to_slot=Slot(shelf.id, "serviceable"))
    message = f"fasteners or single-use stock came back from a position: {scene.screws}"
    assert [f for f in at_aircraft(scene) if f[0] == "R9"] == [("R9", message)]


@pytest.mark.parametrize("left", ["stock", "a set"])
def test_a_closed_job_that_holds_something_is_named(store: Store, left: str) -> None:
    job = jobs.open_job(store, airframe=TAIL, purpose="x", by=TECHNICIAN, at=after(2)).codes[0]
    change(store, Job, {"code": job}, state="closed")
    assert faults(store) == []
    if left == "a set":
        make_set(store, CW_BLADE, at=after(51), where=job)
    else:
        stock_up(store, at=after(51))
        with store.act("leave it there", by=TECHNICIAN, at=after(52)) as act:
            shelf, place = the(act, Place, name=BIN), the(act, Place, name=job)
            screws = next(s for s in directly_in(act, shelf.id) if s.quantity == 40)
            act.move_stock(
                screws.receipt_line_id, 40, from_slot=screws.slot, to_slot=Slot(place.id, "serviceable")
            )
    assert ("R11", f"a closed job still owes something: {job}") in faults(store)


# ---- kits and sets -------------------------------------------------------------------------------


@pytest.mark.parametrize("state", ["checked", "sealed"])
def test_an_open_kit_that_should_be_closed_is_named(store: Store, kit: str, state: str) -> None:
    change(store, Place, {"code": kit}, closed=0)
    change(store, Kit, {"code": kit}, state=state)
    assert faults(store) == [("R5", f"a sealed or issued kit is not closed: {kit}")]


def test_an_issued_kit_that_lies_in_a_bin_is_named(store: Store, kit: str) -> None:
    change(store, Kit, {"code": kit}, state="issued")
    assert faults(store) == [("R5", f"an issued kit is in nobody's hands: {kit}")]


def test_an_open_set_is_named(store: Store) -> None:
    (code,) = put_sets(store, CW_BLADE, 1, at=after(1))
    change(store, Place, {"code": code}, closed=0)
    assert faults(store) == [("R1", f"a complete set is not closed: {code}")]
    change(store, RotorSet, {"code": code}, state="broken", condition="on hold")
    assert [f for f in faults(store) if "closed" in f[1]] == []


def test_a_builder_who_checked_is_named_unless_a_manager_declared_them_alone(store: Store, kit: str) -> None:
    with store.reading() as read:
        builder = read.value("SELECT built_by_id FROM kit WHERE code = ?", kit)
    change(store, Kit, {"code": kit}, checked_by_id=builder)
    assert faults(store) == [("R8", f"builder and checker of a kit are one person: {kit}")]
    declare(store, BUILDER)
    assert faults(store) == []


def test_a_giver_who_received_is_named_unless_a_manager_declared_them_alone(store: Store, kit: str) -> None:
    job = jobs.open_job(store, airframe=TAIL, purpose="x", by=TECHNICIAN, at=after(6)).codes[0]
    voucher = issuing.issue_kit(
        store, kit=kit, job=job, seal="0001", receiver=TECHNICIAN, by=CLERK, at=after(7)
    ).codes[0]
    assert faults(store) == []
    with store.reading() as read:
        giver = read.value("SELECT giver_id FROM voucher WHERE code = ?", voucher)
    change(store, Voucher, {"code": voucher}, receiver_id=giver)
    assert faults(store) == [("R8", f"giver and receiver of an issue are one person: {voucher}")]
    declare(store, CLERK)
    assert faults(store) == []


def declare(store: Store, person: str) -> None:
    founding.declare_alone(
        store, person=person, from_on=T0.date(), until_on=T0.date(), reason="night", by=MANAGER, at=after(60)
    )


# ---- paper ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("condition", "is_opening", "named"),
    [("serviceable", 0, True), ("on hold", 0, False), ("serviceable", 1, False)],
)
def test_serviceable_stock_without_a_paper_is_named_unless_it_was_there_before_day_one(
    store: Store, condition: str, is_opening: int, named: bool
) -> None:
    with store.act("no paper", by=CLERK, at=after(1)) as act:
        part, shelf = the(act, Part, number=SCREW), the(act, Place, name=BIN)
        lot = act.insert(
            Lot(code=act.new_code(Lot, codes.Kind.LOT), part_id=part.id, maker_id=part.maker_id, supplier_id=1, lot_code="A1")
        )  # fmt: skip
        delivery = act.insert(
            Delivery(
                code=act.new_code(Delivery, codes.Kind.DELIVERY), supplier_id=1, reference="D1", is_opening=is_opening,
                event_id=act.event_id,
            )
        )  # fmt: skip
        line = act.insert(
            ReceiptLine(
                code=act.new_code(ReceiptLine, codes.Kind.RECEIPT_LINE), delivery_id=delivery.id, lot_id=lot.id,
                part_id=part.id, quantity=8, expiry_kind="none", event_id=act.event_id,
            )
        )  # fmt: skip
        source = the(act, Place, kind="supplier")
        act.move_stock(line.id, 8, from_slot=Slot(source.id, "on hold"), to_slot=Slot(shelf.id, condition))
    found = [f for f in faults(store) if f[0] == "R14"]
    assert found == ([("R14", f"stock is serviceable without a paper: {line.code}")] if named else [])
