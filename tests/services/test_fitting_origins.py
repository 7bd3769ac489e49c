"""Where a set may come from to its position: its kit, the job, or off another position (R5, R7, R11, R20)."""

from typing import Any

import pytest

from kittrack.errors import Refused
from kittrack.services import inspecting_sets
from kittrack.store.database import Store
from kittrack.store.records import (
    Job,
    Kit,
    KitLine,
    KitPick,
    KitPosition,
    Override,
    Part,
    Place,
    Reservation,
    RotorSet,
    TypeRevision,
)
from tests.aircraft_scene import Scene, make_set, open_job, position_of
from tests.factories import (
    BIN,
    CLERK,
    CW_BLADE,
    INSPECTOR,
    TAIL2,
    TECHNICIAN,
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


def test_a_set_that_was_not_issued_to_the_job_is_refused(scene: Scene) -> None:
    in_bin = make_set(scene.store, CW_BLADE, at=scene.now, where=BIN)
    assert rules(scene, "FL", in_bin, "R") == {"R11"}
    other = open_job(scene.store, at=scene.now, tail=TAIL2)
    issued_elsewhere = make_set(scene.store, CW_BLADE, at=scene.now, where=other)
    assert rules(scene, "FL", issued_elsewhere, "R") == {"R11"}


def _kit(scene: Scene, *, revision: str = "A", sense: str = "CW", closed: int = 0) -> str:
    """A kit that covers FL and lies in the job; the first set of the scene was picked for it."""
    with scene.store.act("a kit", by=CLERK, at=scene.now) as act:
        own = act.find(TypeRevision, name="A")
        assert own is not None
        built = act.find(TypeRevision, name=revision) or act.insert(
            TypeRevision(airframe_type_id=own.airframe_type_id, name=revision)
        )
        place = act.insert(Place(code="K0", kind="kit", name="K0"))
        home = act.find(Place, name=BIN)
        assert home is not None
        act.move_container(place.id, from_place_id=None, to_place_id=home.id)
        kit = act.insert(
            Kit(
                code="K0", place_id=place.id, type_revision_id=built.id, settings_revision=1, state="opened",
                built_by_id=act.by_id, event_id=act.event_id,
            )
        )  # fmt: skip
        fl, part, one = (
            position_of(act, "FL"),
            act.find(Part, number=CW_BLADE),
            act.find(RotorSet, code=scene.sets[CW]),
        )
        assert part is not None
        assert one is not None
        act.insert(KitPosition(kit_id=kit.id, type_position_id=fl.type_position_id, sense=sense))
        line = act.insert(
            KitLine(kit_id=kit.id, rank=1, kind="rotor set", part_id=part.id, sense="CW", quantity=1)
        )
        act.insert(
            KitPick(
                kit_id=kit.id, kit_line_id=line.id, rotor_set_id=one.id, quantity=1, event_id=act.event_id
            )
        )
        if closed:
            job = act.find(Job, code=scene.job)
            assert job is not None
            act.move_container(one.place_id, from_place_id=job.place_id, to_place_id=place.id)
            act.update(place, closed=1)
    return "K0"


def test_a_set_still_in_its_kit_is_refused(scene: Scene) -> None:
    _kit(scene, closed=1)
    assert rules(scene, "FL", scene.sets[CW], "R") == {"R5"}


def test_a_kit_of_the_airframes_revision_and_senses_serves(scene: Scene) -> None:
    _kit(scene)
    scene.fit("FL", scene.sets[CW], "R")


@pytest.mark.parametrize("built", [{"revision": "B"}, {"sense": "CCW"}])
def test_a_kit_of_another_revision_or_sense_is_refused_at_fit(scene: Scene, built: dict[str, Any]) -> None:
    _kit(scene, **built)
    assert rules(scene, "FL", scene.sets[CW], "R") == {"R7"}


# ---- a removed serviceable set, refitted elsewhere ------------------------------------------------


def test_a_removed_set_refitted_elsewhere_takes_a_reason_and_a_second_person_and_is_listed(
    scene: Scene,
) -> None:
    one = scene.make_removed_and_serviceable(from_position="RR")
    assert rules(scene, "FL", one, "R") == {"R8", "R20"}
    assert rules(scene, "FL", one, "R", second=TECHNICIAN, reason="no other set here") == {"R8"}
    assert rules(scene, "FL", one, "R", second=INSPECTOR) == {"R20"}
    scene.fit("FL", one, "R", second=INSPECTOR, reason="no other set here")
    with scene.store.reading() as read:
        [override] = read.select(Override)
    assert (override.kind, override.subject, override.reason) == ("refit elsewhere", one, "no other set here")


def test_a_removed_serviceable_set_goes_back_where_it_was_without_an_override(scene: Scene) -> None:
    scene.fit("FL", scene.make_removed_and_serviceable(from_position="FL"), "R")
    with scene.store.reading() as read:
        assert read.select(Override) == []


def test_a_set_reserved_for_another_job_is_refused_and_ones_own_reservation_is_used(scene: Scene) -> None:
    one = scene.make_removed_and_serviceable(from_position="FL")
    other = open_job(scene.store, at=scene.now, tail=TAIL2)
    with scene.store.act("reserve", by=CLERK, at=scene.now) as act:
        job, mine, kept = (
            act.find(Job, code=other),
            act.find(Job, code=scene.job),
            act.find(RotorSet, code=one),
        )
        assert job is not None
        assert mine is not None
        assert kept is not None
        theirs = act.insert(Reservation(job_id=job.id, rotor_set_id=kept.id, until_on="2026-03-02"))
        own = act.insert(Reservation(job_id=mine.id, rotor_set_id=kept.id, until_on="2026-03-02"))
    assert rules(scene, "FL", one, "R") == {"R6"}
    scene.change(Reservation, {"id": theirs.id}, until_on="2026-03-01")  # over since yesterday
    scene.fit("FL", one, "R")
    with scene.store.reading() as read:
        assert read.get(Reservation, own.id).state == "used"


def test_a_set_in_the_removed_parts_cage_waits_for_its_inspection(scene: Scene) -> None:
    scene.whole("FL", scene.sets[CW], "R")
    scene.remove("FL")
    with pytest.raises(Refused) as refused:
        scene.fit("FL", scene.sets[CW], "R")
    assert refused.value.rules == {"R6", "R10"}


def test_an_inspected_set_from_the_cage_goes_back_where_it_was(scene: Scene) -> None:
    scene.whole("FL", scene.sets[CW], "R")
    scene.remove("FL")
    inspecting_sets.inspect_set(
        scene.store,
        rotor_set=scene.sets[CW],
        mark="R",
        note="no nicks",
        to_place=BIN,
        by=INSPECTOR,
        at=scene.now,
    )
    scene.fit("FL", scene.sets[CW], "R")
