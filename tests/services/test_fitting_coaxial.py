"""Coaxial arms: upper and lower are positions of their own, with their own sense and parts; a pair may co-rotate.

The co-rotating arm follows ArduPilot's X8 COR frame, on which both rotors of an arm turn alike (its example script
X8-corotating.lua); the counter-rotating one its X8 frame. The layout itself is invented.
"""

import pytest

from kittrack.errors import Refused
from kittrack.queries import aircraft
from kittrack.store.act import Act
from kittrack.store.database import Store
from kittrack.store.records import (
    AirframeType,
    ApprovedPart,
    HubFixing,
    Part,
    PartMark,
    TypePosition,
    TypeRevision,
)
from tests import factories
from tests.aircraft_scene import Scene
from tests.factories import MANAGER, T0

COAXIAL = "CX-01"
ARMS = (  # name, level, sense, the part approved there
    ("1U", "upper", "CW", "UP-CW"), ("1L", "lower", "CCW", "LO-CCW"),
    ("2U", "upper", "CW", "UP-CW"), ("2L", "lower", "CW", "LO-CW"),
)  # fmt: skip
ISSUED = ("UP-CW", "LO-CCW", "UP-CW", "LO-CW")
MARK = {"UP-CW": "R", "LO-CW": "R", "LO-CCW": "L"}


def _coaxial_type(act: Act) -> TypeRevision:
    like, fixing = act.find(Part, number=factories.CW_BLADE), act.find(HubFixing, name="hub")
    assert like is not None
    assert fixing is not None
    kind = act.insert(AirframeType(name="CX"))
    revision = act.insert(TypeRevision(airframe_type_id=kind.id, name="A", source="invented"))
    own = act.insert(
        HubFixing(
            type_revision_id=revision.id, name="hub", screw_part_id=fixing.screw_part_id, screws_per_hub=4,
            washer_part_id=fixing.washer_part_id, washers_per_hub=4, locker_part_id=fixing.locker_part_id,
            locker_ul_per_screw=50, torque_mnm=800, torque_condition="threadlocker", torque_source="invented",
        )
    )  # fmt: skip
    parts = {}
    for number, sense in (("UP-CW", "CW"), ("LO-CW", "CW"), ("LO-CCW", "CCW")):
        part = act.insert(
            Part(
                number=number, maker_id=like.maker_id, name=number, kind="blade", tracking="serial", paper_class="rotor",
                sense=sense, blades_per_rotor=2, pairing_suffices=1, mark_revision=1,
            )
        )  # fmt: skip
        parts[number] = act.insert(
            PartMark(part_id=part.id, revision=1, mark=MARK[number], sense=sense)
        ).part_id
    for rank, (name, level, sense, number) in enumerate(ARMS, start=1):
        position = act.insert(
            TypePosition(
                type_revision_id=revision.id, rank=rank, name=name, arm=name[0], level=level, sense=sense,
                angle_mdeg=90_000 * (1 if name[0] == "1" else -1), radius_um=300_000, hub_fixing_id=own.id,
            )
        )  # fmt: skip
        act.insert(ApprovedPart(type_position_id=position.id, part_id=parts[number]))
    return revision


@pytest.fixture
def scene(store: Store) -> Scene:
    with store.act("a coaxial type", by=MANAGER, at=T0) as act:
        factories._airframe(act, COAXIAL, _coaxial_type(act))
    return Scene(store, tail=COAXIAL, sets=ISSUED)


def refused(scene: Scene, name: str, which: int) -> frozenset[str]:
    with pytest.raises(Refused) as stopped:
        scene.fit(name, scene.sets[which], MARK[ISSUED[which]])
    return stopped.value.rules


def test_every_position_of_both_arms_is_fitted_inspected_and_walked(scene: Scene) -> None:
    for which, (name, _, _, number) in enumerate(ARMS):
        scene.whole(name, scene.sets[which], MARK[number])
    scene.walk("1U:R 1L:L 2U:R 2L:R")
    fitted = aircraft.as_fitted(scene.store, COAXIAL)
    assert [(f.name, f.sense, f.part) for f in fitted] == [
        ("CX-01 1U", "CW", "UP-CW"), ("CX-01 1L", "CCW", "LO-CCW"), ("CX-01 2U", "CW", "UP-CW"), ("CX-01 2L", "CW", "LO-CW"),
    ]  # fmt: skip
    assert {scene.state(name) for name, *_ in ARMS} == {"walked"}


def test_an_upper_part_is_refused_on_the_lower_position_of_the_same_sense(scene: Scene) -> None:
    assert refused(scene, "2L", 0) == {"R6"}


def test_a_lower_part_is_refused_on_the_upper_position_of_the_same_sense(scene: Scene) -> None:
    assert refused(scene, "2U", 3) == {"R6"}


def test_lower_is_not_taken_for_the_opposite_of_upper(scene: Scene) -> None:
    """On the co-rotating arm the counter-clockwise lower set is the wrong one, though it mirrors the upper."""
    assert "R3" in refused(scene, "2L", 1)
    scene.fit("2L", scene.sets[3], "R")


def test_each_level_has_its_own_plan_entry(scene: Scene) -> None:
    plan = aircraft.plan(scene.store, COAXIAL)
    assert [(p.name, p.arm, p.level, p.sense) for p in plan.positions] == [
        (name, name[0], level, sense) for name, level, sense, _ in ARMS
    ]


def test_a_walk_that_misses_the_lower_rotors_is_refused(scene: Scene) -> None:
    for which, (name, _, _, number) in enumerate(ARMS):
        scene.whole(name, scene.sets[which], MARK[number])
    with pytest.raises(Refused) as stopped:
        scene.walk("1U:R 2U:R")
    assert {r.subject for r in stopped.value.refusals} == {"CX-01 1L", "CX-01 2L"}
