"""Findings: recorded whatever they are; the record moves to the truth, the set is held, the job is blocked."""

from typing import Any

import pytest

from kittrack.domain import codes
from kittrack.errors import BadInput, NotFound, Refused
from kittrack.services import findings, fitting
from kittrack.services.desk import Done
from kittrack.store.database import Store
from kittrack.store.records import Finding, HoldItem, Kit, Place, RotorSet, TypeRevision
from tests.aircraft_scene import Scene, make_set, open_job, position_of
from tests.factories import (
    AUDITOR,
    BIN,
    CCW_BLADE,
    CLERK,
    CW_BLADE,
    INSPECTOR,
    MANAGER,
    TAIL2,
    TECHNICIAN,
    assert_conserved,
)


@pytest.fixture
def scene(store: Store) -> Scene:
    made = Scene(store)
    made.all_four()
    made.fly(minutes=600, flights=20)
    return made


def record(scene: Scene, name: str = "", **more: Any) -> Done:
    given: dict[str, Any] = {
        "text": "found at the pre-flight walk",
        "by": TECHNICIAN,
        "at": scene.now,
        **more,
    }
    if name:
        given["position"] = scene.spot(name)
    return findings.record_finding(scene.store, **given)


def settle(scene: Scene, number: int, **more: Any) -> Done:
    given: dict[str, Any] = {"text": "put right", "by": INSPECTOR, "at": scene.now, **more}
    return findings.settle_finding(scene.store, finding=number, **given)


def at_position(scene: Scene, one: RotorSet) -> str:
    return scene.place_of(one).name


def is_held(scene: Scene, one: RotorSet) -> bool:
    with scene.store.reading() as read:
        return bool(read.select(HoldItem, "rotor_set_id = ?", one.id))


def test_two_rotors_found_swapped_end_on_record_where_they_are(scene: Scene) -> None:
    """FL carries a CW set and FR a CCW one; somebody swapped them."""
    record(scene, "FR", rotor_set=scene.sets[0], mark="R")
    assert at_position(scene, scene.one(0)) == "QA-01 FR"
    assert scene.place_of(scene.one(2)).kind == "unaccounted"  # displaced, not found yet
    record(scene, "FL", rotor_set=scene.sets[2], mark="L")
    assert at_position(scene, scene.one(2)) == "QA-01 FL"
    assert is_held(scene, scene.one(0))
    assert is_held(scene, scene.one(2))
    assert len(scene.findings()) == 2
    assert (scene.state("FL"), scene.state("FR")) == ("to do", "to do")
    assert_conserved(scene.store)


def test_what_was_swapped_on_one_airframe_keeps_its_hours(scene: Scene) -> None:
    record(scene, "FR", rotor_set=scene.sets[0], mark="R")
    record(scene, "FL", rotor_set=scene.sets[2], mark="L")
    assert [scene.one(i).used_minutes for i in (0, 2)] == [600, 600]
    scene.fly(minutes=630, flights=21)
    scene.remove("FR", "R", purpose="finding")
    assert scene.one(0).used_minutes == 630


def test_hours_are_unknown_where_a_set_was_missed_while_the_airframe_flew(scene: Scene) -> None:
    record(scene, "FR", rotor_set=scene.sets[0], mark="R")
    scene.fly(minutes=630, flights=21)
    record(scene, "FL", rotor_set=scene.sets[2], mark="L")
    assert (scene.one(0).used_minutes, scene.one(2).used_minutes) == (600, None)


def test_hours_are_unknown_of_a_set_that_was_missed_and_turns_up_on_another_airframe(scene: Scene) -> None:
    record(scene, "FL", found="nothing")
    done = record(scene, rotor_set=scene.sets[0], mark="R", position=_spot(scene, TAIL2, "FL"))
    assert f"{scene.sets[0]} is now on record at QA-02 FL." in done.said
    assert scene.one(0).used_minutes is None


def test_hours_are_known_of_a_set_that_was_missed_where_it_is_and_has_not_flown(scene: Scene) -> None:
    scene.fly(minutes=660, flights=22)
    record(scene, "FL", found="nothing")
    record(scene, "FL", rotor_set=scene.sets[0], mark="R")
    assert scene.one(0).used_minutes == 660


def test_hours_are_unknown_of_a_set_that_nobody_fitted_on_record(scene: Scene) -> None:
    spare = make_set(scene.store, CW_BLADE, at=scene.now, where=BIN)
    record(scene, "FL", rotor_set=spare, mark="R")
    with scene.store.reading() as read:
        one = read.find(RotorSet, code=spare)
    assert one is not None
    assert (one.used_minutes, at_position(scene, one)) == (None, "QA-01 FL")
    assert scene.place_of(scene.one(0)).kind == "unaccounted"


def test_a_set_of_another_airframe_moves_over_with_unknown_hours(scene: Scene) -> None:
    record(scene, rotor_set=scene.sets[0], mark="R", position=_spot(scene, TAIL2, "FL"))
    assert at_position(scene, scene.one(0)) == "QA-02 FL"
    assert scene.one(0).used_minutes is None
    assert scene.state("FL") == "bare"


def _spot(scene: Scene, tail: str, name: str) -> str:
    with scene.store.reading() as read:
        return position_of(read, name, tail=tail).code


def test_a_wrong_mark_on_the_expected_set_opens_its_position_again(scene: Scene) -> None:
    done = record(scene, "FL", rotor_set=scene.sets[0], mark="?")
    assert any("table of marks" in s for s in done.said)
    assert (
        scene.state("FL") == "inspected"
    )  # a mark nobody knows is no wrong sense; the finding blocks the job
    assert is_held(scene, scene.one(0))


def test_a_set_whose_sense_the_map_no_longer_wants_is_taken_back_to_be_done(scene: Scene) -> None:
    scene.change(RotorSet, {"code": scene.sets[0]}, sense="CCW")
    record(scene, "FL", rotor_set=scene.sets[0], mark="R")
    assert scene.state("FL") == "to do"


@pytest.mark.parametrize("found", ["stranger", "nothing"])
def test_a_stranger_or_nothing_displaces_the_expected_set(scene: Scene, found: str) -> None:
    record(scene, "FL", found=found)
    assert scene.place_of(scene.one(0)).kind == "unaccounted"
    assert is_held(scene, scene.one(0))
    assert scene.state("FL") == "bare"
    assert scene.one(0).used_minutes == 600


def test_a_finding_of_words_alone_moves_nothing_and_still_blocks(scene: Scene) -> None:
    record(scene, airframe=scene.tail)
    assert at_position(scene, scene.one(0)) == "QA-01 FL"
    with pytest.raises(Refused) as refused:
        scene.walk()
    assert refused.value.rules == {"R10"}


def test_without_a_job_the_airframes_next_job_is_blocked(scene: Scene) -> None:
    record(scene, airframe=TAIL2)
    job = open_job(scene.store, at=scene.now, tail=TAIL2)
    one = make_set(scene.store, CW_BLADE, at=scene.now, where=job)
    with pytest.raises(Refused) as refused:
        _fit(scene, job, one)
    assert refused.value.rules == {"R10"}
    settle(scene, scene.findings()[0].id)
    _fit(scene, job, one)


def _fit(scene: Scene, job: str, one: str) -> Done:
    return fitting.fit_set(
        scene.store,
        job=job,
        position=_spot(scene, TAIL2, "FL"),
        rotor_set=one,
        mark="R",
        by=TECHNICIAN,
        at=scene.now,
    )


def test_a_set_found_outside_its_sealed_kit_kills_the_kit(scene: Scene) -> None:
    with scene.store.act("a sealed kit", by=CLERK, at=scene.now) as act:
        revision, home = act.find(TypeRevision, name="A"), act.find(Place, name=BIN)
        assert revision is not None
        assert home is not None
        code = act.new_code(Kit, codes.Kind.KIT)
        place = act.insert(Place(code=code, kind="kit", name=code))
        act.move_container(place.id, from_place_id=None, to_place_id=home.id)
        act.insert(
            Kit(
                code=code, place_id=place.id, type_revision_id=revision.id, settings_revision=1, state="sealed", seal="1",
                built_by_id=act.by_id, event_id=act.event_id,
            )
        )  # fmt: skip
    inside = make_set(scene.store, CCW_BLADE, at=scene.now, where=code)
    scene.change(Place, {"code": code}, closed=1)
    said = record(scene, "FR", rotor_set=inside, mark="L").said
    assert any(code in s and "dead" in s for s in said)
    with scene.store.reading() as read:
        kit = read.find(Kit, code=code)
        assert kit is not None
        assert kit.state == "opened"
        assert read.select(HoldItem, "kit_id = ?", kit.id)


def test_a_finding_says_what_and_where(scene: Scene) -> None:
    for more in (
        {"text": " ", "airframe": scene.tail}, {}, {"airframe": scene.tail, "rotor_set": scene.sets[0]},
        {"airframe": scene.tail, "found": "nothing"},
    ):  # fmt: skip
        with pytest.raises(BadInput):
            record(scene, **more)
    for found in ("something", "nothing"):
        with pytest.raises(BadInput):
            record(scene, "FL", found=found, rotor_set=scene.sets[0])
    assert scene.findings() == []


def test_an_auditor_only_reads(scene: Scene) -> None:
    with pytest.raises(Refused) as refused:
        record(scene, "FL", by=AUDITOR)
    assert refused.value.rules == {"role"}


# ---- settling ------------------------------------------------------------------------------------


def test_a_settled_finding_keeps_its_text_and_unblocks_the_job(scene: Scene) -> None:
    record(scene, "FL", text="a nick in blade A")
    [found] = scene.findings()
    settle(scene, found.id, text="within the maker's limit, manual 7.1")
    with scene.store.reading() as read:
        settled = read.get(Finding, found.id)
    assert settled.settlement == "within the maker's limit, manual 7.1"
    scene.walk()


def test_a_finding_is_settled_once(scene: Scene) -> None:
    record(scene, "FL")
    number = scene.findings()[0].id
    settle(scene, number)
    with pytest.raises(Refused) as refused:
        settle(scene, number)
    assert refused.value.rules == {"R12"}


def test_a_wrong_rotor_comes_off_before_its_finding_is_settled(scene: Scene) -> None:
    record(scene, "FR", rotor_set=scene.sets[0], mark="R")
    number = scene.findings()[0].id
    with pytest.raises(Refused) as refused:
        settle(scene, number)
    assert refused.value.rules == {"R3"}
    scene.remove("FR", "R", purpose="finding")
    settle(scene, number)
    assert is_held(scene, scene.one(0))  # a settlement releases no hold


@pytest.mark.parametrize(
    ("by", "allowed"), [(INSPECTOR, True), (MANAGER, True), (TECHNICIAN, False), (CLERK, False)]
)
def test_an_inspector_or_a_manager_settles(scene: Scene, by: str, allowed: bool) -> None:
    record(scene, "FL")
    number = scene.findings()[0].id
    if allowed:
        settle(scene, number, by=by)
        return
    with pytest.raises(Refused) as refused:
        settle(scene, number, by=by)
    assert refused.value.rules == {"role"}


def test_a_finding_nobody_recorded_is_not_found_and_a_settlement_has_words(scene: Scene) -> None:
    with pytest.raises(NotFound):
        settle(scene, 99)
    record(scene, "FL")
    with pytest.raises(BadInput):
        settle(scene, 1, text="")
