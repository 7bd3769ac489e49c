"""Fastening: new screws of one lot, the right parts and counts, threadlocker by bottle, torque with its tool."""

from typing import Any

import pytest

from kittrack.errors import BadInput, NotFound, Refused
from kittrack.services.fitting import TakenPart
from kittrack.store.database import Store
from kittrack.store.records import (
    Hold,
    HoldItem,
    HubFixing,
    KitListLine,
    Part,
    Piece,
    Place,
    ReceiptLine,
    RotorSet,
    Tool,
    TorqueRecord,
)
from kittrack.store.stock import contents, directly_in
from tests.aircraft_scene import TORQUE_TOOL, Scene, issue_bottle, issue_stock, position_of
from tests.factories import BIN, CLERK, LOCKER, MANAGER, SCREW, WASHER, assert_conserved, put_in_stock


@pytest.fixture
def scene(store: Store) -> Scene:
    made = Scene(store)
    made.fit("FL", made.sets[0], "R")
    return made


def rules(scene: Scene, **more: Any) -> frozenset[str]:
    with pytest.raises(Refused) as refused:
        scene.fasten("FL", **more)
    assert scene.state("FL") == "not finished"
    return refused.value.rules


def test_fastening_moves_new_fasteners_to_the_position_and_records_the_torque(scene: Scene) -> None:
    scene.fasten("FL")
    [record] = scene.fits()
    assert (record.state, record.screws, record.washers, record.locker_ul) == ("fastened", 4, 4, 200)
    assert (record.torque_method, record.torque_mnm, record.airframe_minutes) == ("torque", 800, 0)
    with scene.store.reading() as read:
        at_position = directly_in(read, position_of(read, "FL").place_id)
        assert [s.quantity for s in at_position] == [4, 4]
        [torque] = read.select(TorqueRecord)
        assert (torque.purpose, torque.torque_mnm, torque.fit_record_id) == ("fit", 800, record.id)
        consumed = read.find(Place, kind="consumed")
        assert consumed is not None
        assert [s.quantity for s in contents(read, consumed.id)] == [200]
        fitted = read.find(RotorSet, code=scene.sets[0])
        assert fitted is not None
        assert fitted.used_since_on == "2026-03-02"
    assert scene.state("FL") == "fitted"
    assert_conserved(scene.store)


def test_a_position_that_is_fastened_is_not_told_to_be_bare(scene: Scene) -> None:
    scene.fasten("FL")
    with pytest.raises(Refused) as refused:
        scene.fasten("FL")
    [message] = [r.message for r in refused.value.refusals if r.rule == "R3"]
    assert "is fastened already" in message
    assert "inspect" in message


@pytest.mark.parametrize(
    ("screws", "washers", "expected"),
    [(3, 4, {"R4"}), (5, 4, {"R4"}), (4, 3, {"R4"}), (4, 5, {"R4"}), (3, 3, {"R4"})],
)
def test_another_count_than_the_hub_takes_is_refused(
    scene: Scene, screws: int, washers: int, expected: set[str]
) -> None:
    assert rules(scene, parts=scene.parts(screws=screws, washers=washers)) == expected


def test_a_fixing_without_washers_or_threadlocker_is_short(scene: Scene) -> None:
    with pytest.raises(Refused) as refused:
        scene.fasten("FL", parts=scene.parts()[:1])
    assert {r.subject for r in refused.value.refusals} == {WASHER, LOCKER}


def test_a_part_that_the_revision_does_not_name_is_refused_however_alike(scene: Scene) -> None:
    with scene.store.act("a longer screw", by=MANAGER, at=scene.now) as act:
        like = act.find(Part, number=SCREW)
        assert like is not None
        act.insert(
            Part(
                number="SC-M3x10",
                maker_id=like.maker_id,
                name="screw",
                kind="fastener",
                paper_class="standard part",
            )
        )
    longer = issue_stock(scene.store, scene.job, "SC-M3x10", 4, at=scene.now)
    parts = (TakenPart(longer, 4), *scene.parts()[1:])
    assert rules(scene, parts=parts) == {"R4", "R7"}


def test_screws_of_one_hub_are_of_one_lot_from_however_many_lines(scene: Scene) -> None:
    same = issue_stock(scene.store, scene.job, SCREW, 2, at=scene.now)
    other = issue_stock(scene.store, scene.job, SCREW, 2, at=scene.now, lot_code="S-2")
    rest = scene.parts()[1:]
    assert rules(scene, parts=(TakenPart(scene.screws, 2), TakenPart(other, 2), *rest)) == {"R4"}
    scene.fasten("FL", parts=(TakenPart(scene.screws, 2), TakenPart(same, 2), *rest))


def test_loose_screws_that_were_not_issued_to_the_job_are_refused(scene: Scene) -> None:
    loose = put_in_stock(scene.store, SCREW, 8, at=scene.now)
    assert rules(scene, parts=(TakenPart(loose, 4), *scene.parts()[1:])) == {"R9"}


def test_used_screws_do_not_fasten_a_second_rotor(scene: Scene) -> None:
    few = issue_stock(scene.store, scene.job, SCREW, 4, at=scene.now)
    scene.fasten("FL", parts=(TakenPart(few, 4), *scene.parts()[1:]))
    scene.inspect("FL", "R")
    scene.fit("RR", scene.sets[1], "R")
    with pytest.raises(Refused) as refused:
        scene.fasten("RR", parts=(TakenPart(few, 4), *scene.parts()[1:]))
    assert refused.value.rules == {"R9"}


def test_more_than_the_job_has_left_is_refused(scene: Scene) -> None:
    few = issue_stock(scene.store, scene.job, SCREW, 2, at=scene.now)
    assert rules(scene, parts=(TakenPart(few, 4), *scene.parts()[1:])) == {"R4"}


def test_a_line_scanned_twice_counts_as_one_with_both_counts(scene: Scene) -> None:
    few = issue_stock(scene.store, scene.job, SCREW, 3, at=scene.now)
    rest = scene.parts()[1:]
    assert rules(scene, parts=(TakenPart(few, 2), TakenPart(few, 2), *rest)) == {"R4"}
    scene.fasten("FL", parts=(TakenPart(scene.screws, 2), TakenPart(scene.screws, 2), *rest))


def test_a_part_taken_without_a_count_is_asked_for(scene: Scene) -> None:
    with pytest.raises(BadInput, match="how many"):
        scene.fasten("FL", parts=(TakenPart(scene.screws), *scene.parts()[1:]))


def test_a_held_lot_of_screws_is_refused(scene: Scene) -> None:
    with scene.store.act("hold", by=CLERK, at=scene.now) as act:
        line = act.find(ReceiptLine, code=scene.screws)
        assert line is not None
        hold = act.insert(
            Hold(
                code="H0",
                scope="lot",
                scope_text="x",
                reason="cracks",
                reference="1",
                is_recall=1,
                placed_event_id=act.event_id,
            )
        )
        act.insert(HoldItem(hold_id=hold.id, receipt_line_id=line.id))
    assert rules(scene) == {"R6"}


# ---- threadlocker --------------------------------------------------------------------------------


def test_the_first_dose_opens_the_bottle_and_starts_its_opened_life(scene: Scene) -> None:
    scene.fasten("FL")
    with scene.store.reading() as read:
        bottle = read.find(Piece, code=scene.bottle)
        assert bottle is not None
        assert (bottle.opened_on, bottle.expires_on) == (
            "2026-03-02",
            "2027-03-02",
        )  # 365 days, the test's figure
    scene.inspect("FL", "R")
    scene.fit("RR", scene.sets[1], "R")
    scene.fasten("RR")
    with scene.store.reading() as read:
        again = read.find(Piece, code=scene.bottle)
    assert again == bottle


@pytest.mark.parametrize(("shelf", "opened"), [("2026-03-01", None), ("2027-12-31", "2026-03-01")])
def test_threadlocker_past_its_shelf_or_opened_life_is_refused(
    scene: Scene, shelf: str, opened: str | None
) -> None:
    old = issue_bottle(
        scene.store, scene.job, at=scene.now, expires_on=shelf, opened_on="2025-03-01" if opened else None
    )
    if opened:
        scene.change(Piece, {"code": old}, expires_on=opened)
    assert rules(scene, parts=(*scene.parts()[:2], TakenPart(old))) == {"R13"}


def test_threadlocker_on_its_last_day_is_good(scene: Scene) -> None:
    last = issue_bottle(scene.store, scene.job, at=scene.now, expires_on="2026-03-02")
    scene.fasten("FL", parts=(*scene.parts()[:2], TakenPart(last)))


def test_threadlocker_of_a_bottle_that_is_not_named_is_refused(scene: Scene) -> None:
    loose = issue_stock(scene.store, scene.job, LOCKER, 1000, at=scene.now)
    assert rules(scene, parts=(*scene.parts()[:2], TakenPart(loose))) == {"R13"}


def test_single_dose_packs_are_taken_by_volume_without_a_bottle(scene: Scene) -> None:
    scene.change(Part, {"number": LOCKER}, single_dose=1)
    packs = issue_stock(scene.store, scene.job, LOCKER, 1000, at=scene.now)
    scene.fasten("FL", parts=(*scene.parts()[:2], TakenPart(packs)))
    assert scene.fits()[0].locker_ul == 200


def test_counted_single_dose_packs_serve_one_hub_each(scene: Scene) -> None:
    with scene.store.act("capsules", by=MANAGER, at=scene.now) as act:
        like, fixing = act.find(Part, number=LOCKER), act.find(HubFixing, name="hub")
        assert like is not None
        assert fixing is not None
        capsule = act.insert(
            Part(
                number="TL-1",
                maker_id=like.maker_id,
                name="capsule",
                kind="consumable",
                paper_class="material",
                single_dose=1,
            )
        )
        act.update(fixing, locker_part_id=capsule.id)
    line = issue_stock(scene.store, scene.job, "TL-1", 2, at=scene.now)
    assert rules(scene, parts=(*scene.parts()[:2], TakenPart(line, 2))) == {"R4"}
    scene.fasten("FL", parts=(*scene.parts()[:2], TakenPart(line, 1)))
    assert scene.fits()[0].locker_ul == 200


def test_an_extra_of_the_kit_list_per_hub_belongs_to_the_fixing(scene: Scene) -> None:
    with scene.store.act("spinners", by=MANAGER, at=scene.now) as act:
        like, fixing = act.find(Part, number=SCREW), act.find(HubFixing, name="hub")
        assert like is not None
        assert fixing is not None
        cap = act.insert(
            Part(number="CAP", maker_id=like.maker_id, name="cap", kind="other", paper_class="standard part")
        )
        act.insert(
            KitListLine(type_revision_id=fixing.type_revision_id, part_id=cap.id, quantity=1, per="hub")
        )
    assert rules(scene) == {"R4"}
    line = issue_stock(scene.store, scene.job, "CAP", 4, at=scene.now)
    scene.fasten("FL", parts=(*scene.parts(), TakenPart(line, 1)))


def test_a_fixing_of_screws_alone_takes_screws_alone(scene: Scene) -> None:
    scene.change(HubFixing, {"name": "hub"}, washer_part_id=None, washers_per_hub=0, locker_part_id=None)
    assert rules(scene) == {"R7"}  # what the revision does not name is put back
    scene.fasten("FL", parts=scene.parts()[:1])
    [record] = scene.fits()
    assert (record.washers, record.washer_line_id, record.locker_ul) == (0, None, 0)


def test_a_tool_is_known_by_its_code_too(scene: Scene) -> None:
    with scene.store.reading() as read:
        tool = read.find(Tool, name=TORQUE_TOOL)
    assert tool is not None
    scene.fasten("FL", tool=tool.code)
    assert scene.fits()[0].tool_id == tool.id


# ---- torque --------------------------------------------------------------------------------------


@pytest.mark.parametrize("torque_mnm", [752, 800, 848])  # 6 % of 0.8 N m: ISO 6789-1, tools up to 10 N m
def test_a_torque_within_the_tools_deviation_is_taken(scene: Scene, torque_mnm: int) -> None:
    scene.fasten("FL", torque_mnm=torque_mnm)


@pytest.mark.parametrize("torque_mnm", [751, 849, 8000, None])
def test_another_torque_is_refused(scene: Scene, torque_mnm: int | None) -> None:
    assert rules(scene, torque_mnm=torque_mnm) == {"R18"}


@pytest.mark.parametrize(("torque_mnm", "good"), [(790, True), (789, False), (810, True), (811, False)])
def test_a_tolerance_that_the_fixing_states_goes_before_the_tools(
    scene: Scene, torque_mnm: int, good: bool
) -> None:
    scene.change(HubFixing, {"name": "hub"}, torque_tolerance_mnm=10)
    if good:
        scene.fasten("FL", torque_mnm=torque_mnm)
    else:
        assert rules(scene, torque_mnm=torque_mnm) == {"R18"}


@pytest.mark.parametrize(
    "changes",
    [
        {"min_mnm": 801}, {"max_mnm": 799}, {"min_mnm": None}, {"calibrated_until_on": None}, {"active": 0},
        {"calibrated_until_on": "2026-03-01"},
    ],
)  # fmt: skip
def test_a_tool_that_does_not_reach_or_is_out_of_calibration_is_refused(
    scene: Scene, changes: dict[str, Any]
) -> None:
    scene.change(Tool, {"name": TORQUE_TOOL}, **changes)
    assert rules(scene) == {"R18"}


def test_a_calibration_lasts_through_its_last_day(scene: Scene) -> None:
    scene.change(Tool, {"name": TORQUE_TOOL}, calibrated_until_on="2026-03-02")
    scene.fasten("FL")


@pytest.mark.parametrize("tool", ["", "Scale 1"])
def test_a_torque_without_a_torque_tool_is_refused(scene: Scene, tool: str) -> None:
    assert rules(scene, tool=tool) == {"R18"}


def test_a_tool_nobody_knows_is_not_found(scene: Scene) -> None:
    with pytest.raises(NotFound, match="tool"):
        scene.fasten("FL", tool="Driver 9")


def test_a_fixing_by_angle_is_recorded_as_such_and_takes_no_torque(scene: Scene) -> None:
    scene.change(
        HubFixing,
        {"name": "hub"},
        torque_method="angle",
        torque_mnm=None,
        torque_text="snug, then a quarter turn",
    )
    assert rules(scene) == {"R18"}
    assert rules(scene, method="angle") == {"R18"}
    scene.fasten("FL", method="angle", torque_mnm=None, tool="")
    assert scene.fits()[0].torque_method == "angle"


def test_a_way_of_tightening_nobody_knows_is_refused_as_input(scene: Scene) -> None:
    with pytest.raises(BadInput, match="way of tightening"):
        scene.fasten("FL", method="firmly")


def test_every_reason_is_told_at_once(scene: Scene) -> None:
    loose = put_in_stock(scene.store, SCREW, 8, at=scene.now, place=BIN)
    parts = (TakenPart(loose, 3), *scene.parts(washers=5)[1:])
    assert rules(scene, parts=parts, torque_mnm=700, by=CLERK) == {"role", "R4", "R9", "R18"}


def test_a_position_on_which_nothing_was_put_is_not_fastened(scene: Scene) -> None:
    with pytest.raises(Refused) as refused:
        scene.fasten("RR")
    assert refused.value.rules == {"R3"}


def test_another_technician_may_finish_what_one_began(scene: Scene) -> None:
    scene.fasten("FL", by="Inspector One")
    with pytest.raises(Refused) as refused:
        scene.inspect("FL", "R")
    assert refused.value.rules == {"R8"}


def test_screws_that_the_stated_torque_overloads_are_not_fitted(scene: Scene) -> None:
    """A torque meant for class 10.9 on M3 of A2-70: 2.0 N m is beyond its proof torque of 1.36 N m (K = 0.20)."""
    with scene.store.act("another torque", by=MANAGER, at=scene.now) as act:
        (fixing,) = act.select(HubFixing)
        screw = act.get(Part, fixing.screw_part_id)
        act.update(fixing, torque_mnm=2000)
        act.update(screw, property_class="A2-70")
    with pytest.raises(Refused, match="proof") as refused:
        scene.fasten("FL", torque_mnm=2000)
    assert refused.value.rules == {"R18"}
    assert scene.state("FL") == "not finished"
