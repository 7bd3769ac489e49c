"""Sense maps: revised by two people, verified by motor test, cleared by motor work; what differs is a finding."""

from typing import Any

import pytest

from kittrack.errors import BadInput, Refused
from kittrack.queries.verify import verify
from kittrack.services import airframes, sense_maps, settings_types
from kittrack.store.database import Store
from kittrack.store.records import Airframe, Event, Finding, RotorSet, SenseMap, SenseMapLine
from kittrack.store.stock import open_holds
from tests.aircraft_scene import make_set, open_job, spot_code
from tests.factories import (
    CLERK,
    CW_BLADE,
    INSPECTOR,
    MANAGER,
    TAIL,
    TECHNICIAN,
    after,
)

RIGHT = {"FR": "CCW", "RL": "CCW", "FL": "CW", "RR": "CW"}
"""The published quad X, as the invented airframes have it."""


def revise(store: Store, senses: dict[str, str], *, minute: int = 50, **more: str) -> tuple[str, ...]:
    given: dict[str, Any] = {
        "airframe": TAIL,
        "source": "wiring plan 2",
        "by": MANAGER,
        "second": INSPECTOR,
        **more,
    }
    return sense_maps.revise_sense_map(store, senses=senses, at=after(minute), **given).said


def motor_test(store: Store, seen: dict[str, str], *, minute: int = 60, **more: str) -> tuple[str, ...]:
    given: dict[str, Any] = {"airframe": TAIL, "source": "MT-9", "by": TECHNICIAN, "second": CLERK, **more}
    return sense_maps.record_motor_test(store, seen=seen, at=after(minute), **given).said


def work_on(store: Store, *, minute: int = 40, **more: Any) -> tuple[str, ...]:
    given = {
        "airframe": TAIL,
        "work": "motor",
        "positions": ("FR",),
        "reason": "bearing",
        "by": TECHNICIAN,
        **more,
    }
    return sense_maps.record_motor_work(store, at=after(minute), **given).said


def current(store: Store) -> SenseMap:
    with store.reading() as read:
        airframe = read.find(Airframe, tail=TAIL)
        assert airframe is not None
        return read.get(SenseMap, airframe.sense_map_id or 0)


def senses(store: Store) -> list[str]:
    with store.reading() as read:
        return [line.sense for line in read.select(SenseMapLine, "sense_map_id = ?", current(store).id)]


# ---- revising --------------------------------------------------------------------------------------


def test_a_revised_map_is_a_new_revision_not_verified_and_names_what_it_touches(store: Store) -> None:
    job = open_job(store, at=after(1))
    said = revise(store, {"FR": "CW", "FL": "CCW", "RL": "CCW"})
    made = current(store)
    assert (made.revision, made.verified, made.source) == (2, False, "wiring plan 2")
    assert senses(store) == ["CW", "CCW", "CCW", "CW"]
    assert "FR CW, FL CCW" in said[0]
    assert any(job in text for text in said)
    with store.reading() as read:
        old = read.select(SenseMap, "airframe_id = ? AND revision = 1", made.airframe_id)[0]
        event = read.get(Event, made.event_id)
    assert old.cleared_event_id == made.event_id
    assert (event.by_id, event.second_id is not None, event.reason) == (1, True, "wiring plan 2")
    assert verify(store).faults == ()


def test_a_position_may_be_named_by_alias_or_code(store: Store) -> None:
    revise(store, {"1": "CW", spot_code(store, "FL"): "CCW"})
    assert senses(store) == ["CW", "CCW", "CCW", "CW"]


def test_the_layout_check_warns_and_the_map_stays(store: Store) -> None:
    said = revise(store, {"FR": "CW", "RL": "CW"})
    assert any("equal thrust would yaw it: no CCW, four CW" in text for text in said)
    assert senses(store) == ["CW", "CW", "CW", "CW"]


def test_a_position_that_now_has_no_approved_rotor_is_named(store: Store) -> None:
    assert any("No approved part turns CW" in text for text in revise(store, {"FR": "CW"}))


def test_a_rotor_that_now_turns_the_wrong_way_is_a_finding_and_on_hold(store: Store) -> None:
    fitted = make_set(store, CW_BLADE, at=after(1), where=f"{TAIL} FL")
    kept = make_set(store, CW_BLADE, at=after(2), where=f"{TAIL} RR")
    revise(store, {"FL": "CCW"})
    with store.reading() as read:
        finding = read.select(Finding)[0]
        one, other = read.find(RotorSet, code=fitted), read.find(RotorSet, code=kept)
        assert one is not None
        assert other is not None
        held = open_holds(read, rotor_sets=[one.id, other.id])
    assert fitted in finding.text
    assert [h.thing_id for h in held] == [one.id]


def test_a_rotor_and_a_part_that_suit_the_revised_map_are_no_fault(store: Store) -> None:
    settings_types.approve_part(
        store, airframe_type="QA", revision="A", positions=("FR",), part=CW_BLADE, source="letter", by=MANAGER,
        second=INSPECTOR, at=after(1),
    )  # fmt: skip
    make_set(store, CW_BLADE, at=after(2), where=f"{TAIL} FR")
    said = revise(store, {"FR": "CW"})
    assert not any("No approved part" in text for text in said)
    with store.reading() as read:
        assert read.select(Finding) == []


@pytest.mark.parametrize(
    ("given", "faults"),
    [
        (RIGHT, 1),
        ({}, 1),
        ({"XX": "CW"}, 1),
        ({"FR": "L"}, 1),
        ({"FR": "CW", "1": "CW"}, 1),
        ({"XX": "CW", "FR": "L"}, 2),
    ],
)
def test_a_revision_that_can_not_be_read_is_told(store: Store, given: dict[str, str], faults: int) -> None:
    with pytest.raises(BadInput) as caught:
        revise(store, given)
    assert len(caught.value.problems) == faults


@pytest.mark.parametrize(
    ("people", "rules"),
    [
        ({"by": TECHNICIAN}, {"role"}),
        ({"second": MANAGER}, {"R8"}),
        ({"by": CLERK, "second": CLERK}, {"role", "R8"}),
    ],
)
def test_a_revision_takes_a_manager_and_a_second_person(
    store: Store, people: dict[str, Any], rules: set[str]
) -> None:
    with pytest.raises(Refused) as refused:
        revise(store, {"FR": "CW"}, **people)
    assert refused.value.rules == rules
    assert current(store).revision == 1


def test_a_revision_needs_a_source(store: Store) -> None:
    with pytest.raises(BadInput):
        revise(store, {"FR": "CW"}, source="")


# ---- motor work and motor test ---------------------------------------------------------------------


@pytest.mark.parametrize("work", sense_maps.WORK)
def test_motor_work_clears_the_verification_and_a_motor_test_gives_it_back(store: Store, work: str) -> None:
    job = open_job(store, at=after(1))
    assert current(store).verified
    said = work_on(store, work=work)
    assert not current(store).verified
    assert any(job in text for text in said)
    assert len(work_on(store, minute=41, work=work, positions=())) == 1
    motor_test(store, RIGHT)
    assert current(store).verified
    assert verify(store).faults == ()


def test_work_that_is_no_motor_work_is_told(store: Store) -> None:
    with pytest.raises(BadInput):
        work_on(store, work="paint")
    with pytest.raises(BadInput):
        work_on(store, positions=("XX",))
    with pytest.raises(Refused) as refused:
        work_on(store, by=CLERK)
    assert refused.value.rules == {"role"}


def test_a_motor_that_turns_otherwise_stops_everything_until_a_test_agrees(store: Store) -> None:
    job = open_job(store, at=after(1))
    said = motor_test(store, {**RIGHT, "FR": "CW"})
    assert said[0].startswith("STOP")
    assert not current(store).verified
    with store.reading() as read:
        finding = read.select(Finding)[0]
        assert read.value("SELECT code FROM job WHERE id = ?", finding.job_id) == job
        assert finding.settled_event_id is None
    motor_test(store, RIGHT, minute=61)
    assert current(store).verified
    with store.reading() as read:
        assert read.select(Finding)[0].settled_event_id is not None


def test_a_motor_test_sees_every_position_and_two_people_see_it(store: Store) -> None:
    with pytest.raises(BadInput) as caught:
        motor_test(store, {"FR": "CCW"})
    assert {p.field for p in caught.value.problems} == {"RL", "FL", "RR"}
    with pytest.raises(Refused) as refused:
        motor_test(store, RIGHT, second=TECHNICIAN)
    assert refused.value.rules == {"R8"}
    with pytest.raises(Refused) as refused:
        motor_test(store, RIGHT, by=CLERK, second=TECHNICIAN)
    assert refused.value.rules == {"role"}


def test_a_new_airframe_is_verified_by_its_first_motor_test(store: Store) -> None:
    spec = airframes.AirframeSpec(tail="QA-03", airframe_type="QA", revision="A")
    airframes.add_airframe(store, spec=spec, by=MANAGER, at=after(1))
    assert motor_test(store, RIGHT, airframe="QA-03") == ("QA-03: map revision 1 is verified by motor test.",)
