"""Re-torque: recorded with tool and hours, of what is fitted and fastened."""

from typing import Any

import pytest

from kittrack.errors import BadInput, Refused
from kittrack.services import torquing
from kittrack.services.desk import Done
from kittrack.store.database import Store
from kittrack.store.records import Airframe, HubFixing, Tool, TorqueRecord, TypeRevision
from tests.aircraft_scene import TORQUE_TOOL, Scene, make_set, position_of
from tests.factories import CCW_BLADE, CLERK, TECHNICIAN


@pytest.fixture
def scene(store: Store) -> Scene:
    made = Scene(store)
    made.whole("FL", made.sets[0], "R")
    made.fly(minutes=600, flights=20)
    return made


def retorque(scene: Scene, name: str = "FL", **more: Any) -> Done:
    given: dict[str, Any] = {
        "torque_mnm": 800,
        "tool": TORQUE_TOOL,
        "by": TECHNICIAN,
        "at": scene.now,
        **more,
    }
    return torquing.record_retorque(scene.store, position=scene.spot(name), **given)


def test_a_re_torque_is_recorded_with_its_tool_and_the_airframes_hours(scene: Scene) -> None:
    said = retorque(scene).said
    with scene.store.reading() as read:
        last = read.select(TorqueRecord)[-1]
        tool = read.find(Tool, name=TORQUE_TOOL)
    assert tool is not None
    assert (last.purpose, last.torque_mnm, last.tool_id, last.airframe_minutes) == (
        "re-torque",
        800,
        tool.id,
        600,
    )
    assert last.fit_record_id == scene.fits()[0].id
    assert "20:00 h" in said[0]  # 600 minutes now and 600 more


def test_no_interval_promises_no_date_and_unknown_hours_say_so(scene: Scene) -> None:
    scene.change(Airframe, {"tail": scene.tail}, minutes=None)
    assert "unknown" in retorque(scene).said[0]
    scene.change(TypeRevision, {"name": "A"}, retorque_minutes=None)
    assert "due" not in retorque(scene).said[0]


@pytest.mark.parametrize(
    "more", [{"torque_mnm": 700}, {"torque_mnm": None}, {"tool": ""}, {"method": "snug"}]
)
def test_a_torque_that_does_not_satisfy_is_refused(scene: Scene, more: dict[str, Any]) -> None:
    with pytest.raises(Refused) as refused:
        retorque(scene, **more)
    assert refused.value.rules == {"R18"}


def test_a_tool_out_of_calibration_is_refused(scene: Scene) -> None:
    scene.change(Tool, {"name": TORQUE_TOOL}, calibrated_until_on="2026-03-01")
    with pytest.raises(Refused) as refused:
        retorque(scene)
    assert refused.value.rules == {"R18"}


def test_a_fixing_by_angle_is_re_torqued_by_its_own_method(scene: Scene) -> None:
    scene.change(
        HubFixing, {"name": "hub"}, torque_method="angle", torque_mnm=None, torque_text="a quarter turn"
    )
    retorque(scene, method="angle", torque_mnm=None, tool="")


def test_a_bare_or_unfastened_position_is_not_torqued(scene: Scene) -> None:
    with pytest.raises(Refused) as refused:
        retorque(scene, "RR")
    assert refused.value.rules == {"R18"}
    scene.fit("RR", scene.sets[1], "R")
    with pytest.raises(Refused) as refused:
        retorque(scene, "RR")
    assert refused.value.rules == {"R18"}
    scene.fasten("RR")
    retorque(scene, "RR")


def test_what_was_fitted_before_day_one_can_be_torqued(scene: Scene) -> None:
    with scene.store.reading() as read:
        name = read.value("SELECT name FROM place WHERE id = ?", position_of(read, "FR").place_id)
    make_set(scene.store, CCW_BLADE, at=scene.now, where=name, history_known=0)
    retorque(scene, "FR")
    with scene.store.reading() as read:
        assert read.select(TorqueRecord)[-1].fit_record_id is None


def test_only_a_technician_torques_and_only_by_a_known_way(scene: Scene) -> None:
    with pytest.raises(Refused) as refused:
        retorque(scene, by=CLERK)
    assert refused.value.rules == {"role"}
    with pytest.raises(BadInput):
        retorque(scene, method="hard")
