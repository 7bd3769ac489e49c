"""Occurrences: what was on the airframe then is evidence, fitted now or taken off since."""

from datetime import datetime
from typing import Any

import pytest

from kittrack.errors import BadInput, NotFound, Refused
from kittrack.services import occurrences
from kittrack.services.desk import Done
from kittrack.store.database import Store
from kittrack.store.records import Hold, HoldItem, Occurrence, RotorSet
from tests.aircraft_scene import Scene
from tests.factories import AUDITOR, TAIL2, TECHNICIAN, VAN, after


@pytest.fixture
def scene(store: Store) -> Scene:
    made = Scene(store)
    made.all_four()
    return made


def record(scene: Scene, *, happened_at: datetime | None = None, **more: Any) -> Done:
    at = scene.now
    given: dict[str, Any] = {
        "airframe": scene.tail, "text": "lost a blade at 20 m", "by": TECHNICIAN, "at": at,
        "happened_at": happened_at or at, **more,
    }  # fmt: skip
    return occurrences.record_occurrence(scene.store, **given)


def held(scene: Scene) -> list[str]:
    with scene.store.reading() as read:
        items = read.select(HoldItem, "rotor_set_id IS NOT NULL")
        assert all(read.get(Hold, i.hold_id).is_evidence for i in items)
        return sorted(read.get(RotorSet, i.rotor_set_id or 0).code for i in items)


def test_every_fitted_set_is_held_as_evidence_and_named(scene: Scene) -> None:
    done = record(scene)
    assert held(scene) == sorted(scene.sets)
    with scene.store.reading() as read:
        [hold] = read.select(Hold)
        [occurrence] = read.select(Occurrence)
    assert (hold.code, hold.scope, hold.is_evidence) == (done.codes[0], "airframe", 1)
    assert occurrence.text == "lost a blade at 20 m"
    assert all(any(code in s for s in done.said) for code in scene.sets)


def test_a_set_that_came_off_that_day_is_held_too_and_does_not_go_back(scene: Scene) -> None:
    scene.remove("FL", purpose="transport", to_place=VAN)
    record(scene)
    assert scene.sets[0] in held(scene)
    with pytest.raises(Refused) as refused:
        scene.fit("FL", scene.sets[0], "R")
    assert "R6" in refused.value.rules


def test_a_set_that_came_off_between_the_occurrence_and_its_record_is_held_too(scene: Scene) -> None:
    happened = scene.now
    scene.minute += 2 * 24 * 60
    scene.remove("FL")
    record(scene, happened_at=happened)
    assert scene.sets[0] in held(scene)


@pytest.mark.parametrize(("minute", "same_day"), [(15 * 60 + 59, True), (16 * 60, False)])
def test_the_day_ends_at_midnight_of_the_stores_and_not_of_utc(
    scene: Scene, minute: int, same_day: bool
) -> None:
    scene.remove("FL")  # in the morning; T0 is 08:00 in Oslo, so midnight there is 16 hours later, 23:00 UTC
    scene.minute = minute
    record(scene, happened_at=after(minute))
    assert (scene.sets[0] in held(scene)) is same_day


def test_a_fitted_set_under_evidence_comes_off_marked_as_evidence(scene: Scene) -> None:
    record(scene)
    said = scene.remove("FL").said
    assert any("evidence" in s for s in said)


def test_the_blades_of_a_set_broken_meanwhile_are_held_one_by_one(scene: Scene) -> None:
    scene.remove("FL")
    scene.change(RotorSet, {"code": scene.sets[0]}, state="broken")
    record(scene)
    with scene.store.reading() as read:
        assert len(read.select(HoldItem, "piece_id IS NOT NULL")) == 2


def test_an_occurrence_of_an_empty_airframe_is_recorded_all_the_same(scene: Scene) -> None:
    record(scene, airframe=TAIL2)
    assert held(scene) == []


@pytest.mark.parametrize("more", [{"text": ""}, {"reference": " "}, {"happened_at": after(9000)}])
def test_an_occurrence_without_words_or_in_the_future_is_input_that_can_not_be_used(
    scene: Scene, more: dict[str, Any]
) -> None:
    with pytest.raises(BadInput):
        record(scene, **more)


def test_a_time_without_its_offset_is_asked_for(scene: Scene) -> None:
    with pytest.raises(BadInput, match="offset"):
        record(scene, happened_at=after(1).replace(tzinfo=None))


def test_an_airframe_nobody_knows_is_not_found_and_an_auditor_only_reads(scene: Scene) -> None:
    with pytest.raises(NotFound):
        record(scene, airframe="QA-99")
    with pytest.raises(Refused) as refused:
        record(scene, by=AUDITOR)
    assert refused.value.rules == {"role"}
