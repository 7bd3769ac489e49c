"""Fitting a set: three-way sense, whole and proved, fit for issue, from where, one position at a time."""

from typing import Any

import pytest

from kittrack.domain import codes
from kittrack.errors import BadInput, Conflict, NotFound, Refused
from kittrack.services import fitting, founding
from kittrack.services.fitting import REFUSED_SCAN
from kittrack.store.database import Store
from kittrack.store.records import (
    Airframe,
    ApprovedPart,
    Event,
    Hold,
    HoldItem,
    Inspection,
    Job,
    MatchReading,
    MatchRecord,
    Part,
    PartMark,
    Position,
    ReceiptLine,
    RotorSet,
    SenseMap,
    SenseMapLine,
    TypeRevision,
)
from kittrack.store.stock import contents, inside_of
from tests.aircraft_scene import Scene, make_set, open_job, position_of, spot_code
from tests.factories import (
    AUDITOR,
    CCW_BLADE,
    CLERK,
    CW_BLADE,
    INSPECTOR,
    MANAGER,
    TAIL2,
    TECHNICIAN,
    assert_conserved,
)

CW, CCW = 0, 2  # places in Scene.sets


@pytest.fixture
def scene(store: Store) -> Scene:
    return Scene(store)


def rules(scene: Scene, name: str, rotor_set: str, mark: str, **more: Any) -> frozenset[str]:
    with pytest.raises(Refused) as refused:
        scene.fit(name, rotor_set, mark, **more)
    assert scene.fits() == []
    return refused.value.rules


def test_a_set_whose_label_mark_and_map_agree_is_fitted_and_not_finished_yet(scene: Scene) -> None:
    done = scene.fit("FL", scene.sets[CW], "R")
    [record] = scene.fits()
    assert (record.sense, record.mark, record.map_revision, record.state) == ("CW", "R", 1, "started")
    assert scene.state("FL") == "not finished"
    assert done.codes == (scene.sets[CW],)
    with scene.store.reading() as read:
        fitted = read.find(RotorSet, code=scene.sets[CW])
        assert fitted is not None
        assert inside_of(read, fitted.place_id) == position_of(read, "FL").place_id
    assert_conserved(scene.store)


@pytest.mark.parametrize(
    ("name", "which", "mark", "expected"),
    [
        (
            "FL",
            CCW,
            "L",
            {"R3", "R6"},
        ),  # label and mark agree, the map differs; its part is not approved there
        ("FL", CCW, "R", {"R2", "R3", "R6"}),  # a mark that the part does not have
        ("FL", CW, "L", {"R3"}),  # a wrong rotor in a rightly labelled bag
        ("FR", CW, "R", {"R3", "R6"}),
        ("FL", CW, "?", {"R2"}),
        ("FL", CW, "r", {"R2"}),  # marks are text: case counts
        ("FL", CW, "", {"R2"}),
    ],
)
def test_any_disagreement_of_label_mark_and_map_is_refused(
    scene: Scene, name: str, which: int, mark: str, expected: set[str]
) -> None:
    if mark == "L" and which == CW:  # a part whose table knows both marks
        with scene.store.act("widen the table", by=MANAGER, at=scene.now) as act:
            part = act.find(Part, number=CW_BLADE)
            assert part is not None
            act.insert(PartMark(part_id=part.id, revision=1, mark="L", sense="CCW"))
    assert rules(scene, name, scene.sets[which], mark) == expected


def test_no_second_person_and_no_reason_lifts_a_wrong_sense(scene: Scene) -> None:
    assert "R3" in rules(scene, "FR", scene.sets[CW], "R", second=MANAGER, reason="only one left")


def test_the_airframes_current_map_decides_and_not_the_type_revision(scene: Scene) -> None:
    with scene.store.act("swap two motor wires", by=MANAGER, at=scene.now) as act:
        fl = position_of(act, "FL")
        turned = act.insert(
            SenseMap(airframe_id=fl.airframe_id, revision=2, source="motor test", event_id=act.event_id)
        )
        for position in act.select(Position, "airframe_id = ?", fl.airframe_id):
            act.insert(SenseMapLine(sense_map_id=turned.id, position_id=position.id, sense="CCW"))
        frame = act.row("SELECT id FROM airframe WHERE id = ?", fl.airframe_id)
        assert frame is not None
        approved = act.find(Part, number=CCW_BLADE)
        assert approved is not None
        act.insert(ApprovedPart(type_position_id=fl.type_position_id, part_id=approved.id))
        act.update(_airframe(act, fl), sense_map_id=turned.id)
    assert rules(scene, "FL", scene.sets[CW], "R") == {"R3"}
    scene.fit("FL", scene.sets[CCW], "L")
    assert scene.fits()[0].map_revision == 2


def _airframe(act: Any, position: Position) -> Any:
    return act.get(Airframe, position.airframe_id)


def test_a_position_that_the_map_does_not_name_is_refused(scene: Scene) -> None:
    with scene.store.act("an empty map", by=MANAGER, at=scene.now) as act:
        frame = _airframe(act, position_of(act, "FL"))
        empty = act.insert(SenseMap(airframe_id=frame.id, revision=2, source="none", event_id=act.event_id))
        act.update(frame, sense_map_id=empty.id)
    assert rules(scene, "FL", scene.sets[CW], "R") == {"R17"}


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"state": "broken"}, {"R1"}),
        ({"match_record_id": None}, {"R19"}),
        ({"condition": "on hold"}, {"R6"}),
        ({"condition": "unserviceable"}, {"R6"}),
        ({"history_known": 0}, {"R19"}),
        ({"used_minutes": 300 * 60}, {"R13"}),
        ({"used_minutes": None}, {"R13"}),
    ],
)
def test_a_set_that_is_not_sound_is_refused(
    scene: Scene, changes: dict[str, Any], expected: set[str]
) -> None:
    scene.change(RotorSet, {"code": scene.sets[CW]}, **changes)
    assert rules(scene, "FL", scene.sets[CW], "R") == expected


def test_a_set_without_one_of_its_blades_is_refused(scene: Scene) -> None:
    short = make_set(scene.store, CW_BLADE, at=scene.now, where=scene.job, blades=1)
    assert rules(scene, "FL", short, "R") == {"R1"}


def test_a_set_from_before_day_one_is_fitted_once_it_was_inspected(scene: Scene) -> None:
    scene.change(RotorSet, {"code": scene.sets[CW]}, history_known=0)
    with scene.store.act("inspect it", by=INSPECTOR, at=scene.now) as act:
        one = act.find(RotorSet, code=scene.sets[CW])
        assert one is not None
        act.insert(Inspection(rotor_set_id=one.id, quantity=1, result="accepted", event_id=act.event_id))
    scene.fit("FL", scene.sets[CW], "R")


def test_a_measured_proof_counts_with_its_uncertainty_against_the_tolerance_of_today(scene: Scene) -> None:
    with scene.store.act("measure", by=MANAGER, at=scene.now) as act:
        one = act.find(RotorSet, code=scene.sets[CW])
        assert one is not None
        proof = act.insert(
            MatchRecord(
                rotor_set_id=one.id, method="measured", source="bench", tolerance_g_um=5000, residual_g_um=4600,
                uncertainty_g_um=400, event_id=act.event_id,
            )
        )  # fmt: skip
        for reading in act.rows(
            "SELECT piece_id, slot FROM match_reading WHERE match_record_id = ?", one.match_record_id
        ):
            act.insert(MatchReading(match_record_id=proof.id, piece_id=reading[0], slot=reading[1]))
        act.update(one, match_record_id=proof.id)
    scene.change(Part, {"number": CW_BLADE}, tolerance_g_um=4999)
    assert rules(scene, "FL", scene.sets[CW], "R") == {"R19"}
    scene.change(Part, {"number": CW_BLADE}, tolerance_g_um=5000)
    scene.fit("FL", scene.sets[CW], "R")


def test_a_supplier_pairing_that_no_longer_suffices_is_refused(scene: Scene) -> None:
    scene.change(Part, {"number": CW_BLADE}, pairing_suffices=0)
    assert rules(scene, "FL", scene.sets[CW], "R") == {"R19"}


@pytest.mark.parametrize("thing", ["rotor_set_id", "piece_id", "receipt_line_id"])
def test_a_hold_on_the_set_its_blades_or_their_line_is_refused(scene: Scene, thing: str) -> None:
    with scene.store.act("hold", by=CLERK, at=scene.now) as act:
        one = act.find(RotorSet, code=scene.sets[CW])
        assert one is not None
        blade = contents(act, one.place_id)[0]
        items = {
            "rotor_set_id": HoldItem(hold_id=1, rotor_set_id=one.id),
            "piece_id": HoldItem(hold_id=1, piece_id=blade.piece_id),
            "receipt_line_id": HoldItem(hold_id=1, receipt_line_id=blade.receipt_line_id),
        }
        hold = act.insert(
            Hold(
                code="H0",
                scope="lot",
                scope_text="x",
                reason="bulletin",
                reference="1",
                placed_event_id=act.event_id,
            )
        )
        assert hold.id == 1
        act.insert(items[thing])
    assert rules(scene, "FL", scene.sets[CW], "R") == {"R6"}


def test_a_part_superseded_for_safety_is_refused(scene: Scene) -> None:
    scene.change(Part, {"number": CW_BLADE}, superseded_how="safety")
    assert rules(scene, "FL", scene.sets[CW], "R") == {"R6"}


def test_shelf_life_counts_until_the_first_fit_and_not_after_it(scene: Scene) -> None:
    with scene.store.act("expire", by=MANAGER, at=scene.now) as act:
        for line in act.rows(
            "SELECT DISTINCT id FROM receipt_line WHERE part_id IN (SELECT id FROM part WHERE kind = 'blade')"
        ):
            act.update(act.get(ReceiptLine, line[0]), expiry_kind="date", expires_on="2026-03-01")
    assert rules(scene, "FL", scene.sets[CW], "R") == {"R13"}
    scene.change(RotorSet, {"code": scene.sets[CW]}, used_since_on="2026-01-01")
    scene.fit("FL", scene.sets[CW], "R")


def test_calendar_life_starts_with_the_first_fit(scene: Scene) -> None:
    scene.change(Part, {"number": CW_BLADE}, life_days=30)
    scene.fit("FL", scene.sets[CW], "R")
    fitting.take_off_unfinished(
        scene.store, job=scene.job, position=scene.spot("FL"), reason="x", by=TECHNICIAN, at=scene.now
    )
    scene.change(RotorSet, {"code": scene.sets[CW]}, used_since_on="2026-01-31")  # 30 days before the job
    with pytest.raises(Refused) as refused:
        scene.fit("FL", scene.sets[CW], "R")
    assert refused.value.rules == {"R13"}


def test_a_part_that_is_no_longer_approved_for_the_position_is_refused(scene: Scene) -> None:
    with scene.store.reading() as read:
        fl, part = position_of(read, "FL"), read.find(Part, number=CW_BLADE)
    assert part is not None
    scene.change(ApprovedPart, {"type_position_id": fl.type_position_id, "part_id": part.id}, active=0)
    assert rules(scene, "FL", scene.sets[CW], "R") == {"R6"}


def test_a_position_of_another_revision_is_refused(scene: Scene) -> None:
    with scene.store.act("revision B", by=MANAGER, at=scene.now) as act:
        first = act.find(TypeRevision, name="A")
        assert first is not None
        other = act.insert(TypeRevision(airframe_type_id=first.airframe_type_id, name="B"))
        act.update(_airframe(act, position_of(act, "FL")), type_revision_id=other.id)
    assert rules(scene, "FL", scene.sets[CW], "R") == {"R6"}


def test_a_position_of_another_airframe_is_refused(scene: Scene) -> None:
    with pytest.raises(Refused) as refused:
        fitting.fit_set(
            scene.store, job=scene.job, position=spot_code(scene.store, "FL", tail=TAIL2), rotor_set=scene.sets[CW],
            mark="R", by=TECHNICIAN, at=scene.now,
        )  # fmt: skip
    assert refused.value.rules == {"R3"}


def test_a_position_outside_the_job_is_refused(scene: Scene) -> None:
    front = open_job(scene.store, at=scene.now, positions=["FL", "FR"])
    other = make_set(scene.store, CW_BLADE, at=scene.now, where=front)
    assert rules(scene, "RR", other, "R", job=front) == {"R7"}
    scene.fit("FL", other, "R", job=front)


def test_a_closed_job_is_refused(scene: Scene) -> None:
    scene.change(Job, {"code": scene.job}, state="closed")
    assert rules(scene, "FL", scene.sets[CW], "R") == {"R11"}


@pytest.mark.parametrize("by", [CLERK, AUDITOR, MANAGER])
def test_only_a_technician_fits(scene: Scene, by: str) -> None:
    assert rules(scene, "FL", scene.sets[CW], "R", by=by) == {"role"}


def test_one_position_is_finished_before_the_next(scene: Scene) -> None:
    scene.fit("FL", scene.sets[CW], "R")
    with pytest.raises(Refused, match="QA-01 FL is not finished") as refused:
        scene.fit("RR", scene.sets[CW + 1], "R")
    assert refused.value.rules == {"R11"}
    scene.fasten("FL")
    scene.fit("RR", scene.sets[CW + 1], "R")


def test_a_position_that_carries_a_set_takes_no_second_one(scene: Scene) -> None:
    scene.whole("FL", scene.sets[CW], "R")
    with pytest.raises(Refused) as refused:
        scene.fit("FL", scene.sets[CW + 1], "R")
    assert refused.value.rules == {"R10"}


# ---- scans, and undoing ---------------------------------------------------------------------------


def test_a_scan_of_something_else_is_named(scene: Scene) -> None:
    with pytest.raises(BadInput, match="position"):
        fitting.fit_set(
            scene.store,
            job=scene.job,
            position=scene.sets[CW],
            rotor_set=scene.sets[CW],
            mark="R",
            by=TECHNICIAN,
            at=scene.now,
        )
    with pytest.raises((BadInput, NotFound)):
        scene.fit("FL", scene.spot("FL"), "R")


def test_a_position_or_a_tag_that_the_store_does_not_hold_is_not_found(scene: Scene) -> None:
    unknown = codes.make_code(codes.Kind.POSITION, codes.next_number(codes.Kind.POSITION, after=90_000))
    with pytest.raises(NotFound):
        fitting.fit_set(
            scene.store,
            job=scene.job,
            position=unknown,
            rotor_set=scene.sets[CW],
            mark="R",
            by=TECHNICIAN,
            at=scene.now,
        )
    scene.change(Position, {"name": "FL"}, active=0)
    with pytest.raises(NotFound, match="in use"):
        scene.fit("FL", scene.sets[CW], "R")


def test_an_airframe_without_any_map_takes_no_rotor(scene: Scene) -> None:
    scene.change(Airframe, {"tail": scene.tail}, sense_map_id=None)
    assert rules(scene, "FL", scene.sets[CW], "R") == {"R17"}


def test_a_stopped_scan_is_kept_as_data_for_the_office(scene: Scene) -> None:
    fitting.record_refused_scan(
        scene.store, job=scene.job, position=scene.spot("FR"), scanned=scene.sets[CW] + "\x1b[2J", mark="R",
        by=TECHNICIAN, at=scene.now,
    )  # fmt: skip
    with scene.store.reading() as read:
        event = read.select(Event, order="id DESC", limit=1)[0]
    assert f'["note","{REFUSED_SCAN}"' in event.statements
    assert '"needed":"CCW"' in event.statements
    assert "<ESC>" in event.statements


def test_the_same_key_is_not_fitted_twice(scene: Scene) -> None:
    scene.fit("FL", scene.sets[CW], "R", key="k1")
    with pytest.raises(Conflict):
        scene.fit("FL", scene.sets[CW], "R", key="k1")
    founding.acknowledge_cautions(scene.store, by=TECHNICIAN, at=scene.now)  # the store goes on
