"""Positions that are left out of a job for more than is to be done (R3, R10, R11)."""

from typing import Any

import pytest

from kittrack.errors import BadInput, Refused
from kittrack.queries.at_aircraft import aircraft_view
from kittrack.queries.fit_record import fit_record
from kittrack.queries.kits import job_view
from kittrack.services import findings, fitting, jobs, leaving_out
from kittrack.services.coverage import Coverage
from kittrack.services.desk import Done
from kittrack.store.database import Store
from kittrack.store.job_facts import owing_positions
from kittrack.store.records import Job, LeftOut
from tests.aircraft_scene import Scene, open_job
from tests.factories import CLERK, INSPECTOR, TECHNICIAN

WHY = "these blades are sound"


@pytest.fixture
def scene(store: Store) -> Scene:
    return Scene(store)


def leave_out(scene: Scene, *names: str, **more: Any) -> Done:
    given: dict[str, Any] = {"job": scene.job, "reason": WHY, "by": TECHNICIAN, "at": scene.now, **more}
    return leaving_out.leave_out(scene.store, positions=[scene.spot(name) for name in names], **given)


def refused(scene: Scene, *names: str, **more: Any) -> list[tuple[str | None, str]]:
    with pytest.raises(Refused) as caught:
        leave_out(scene, *names, **more)
    with scene.store.reading() as read:
        assert read.select(LeftOut) == []
    return [(one.rule, one.message) for one in caught.value.refusals]


def test_a_job_ends_with_the_positions_that_it_kept(store: Store) -> None:
    scene = Scene(store)
    scene.whole("FL", scene.sets[0], "R")
    with pytest.raises(Refused, match="FR is to do; finish it, or leave it out of the job, then walk"):
        scene.walk("FL:R")
    done = leave_out(scene, "FR", "RL", "RR")
    assert done.said[0] == f"Left out of {scene.job}, as it is: QA-01 FR, QA-01 RL, QA-01 RR."
    assert "walk" in done.said[-1]
    view = job_view(scene.store, job=scene.job)
    assert [name for name, _ in view.positions] == ["QA-01 FL"]
    scene.walk("FL:R")
    assert job_view(scene.store, job=scene.job).positions == (("QA-01 FL", "walked"),)
    record = fit_record(scene.store, job=scene.job, at=scene.now)
    assert record.not_done == ()
    assert record.left_out == tuple(f"{name}: {WHY}" for name in ("FR", "RL", "RR"))


def test_another_job_takes_what_was_left_out(scene: Scene) -> None:
    leave_out(scene, "RR")
    other = jobs.open_job(
        scene.store, airframe="QA-01", purpose="later", positions=Coverage("named", ("RR",)), by=TECHNICIAN, at=scene.now
    ).codes[0]  # fmt: skip
    [shown] = [p for p in aircraft_view(scene.store, code=other).positions if p.name == "RR"]
    assert shown.state == "to do"
    with pytest.raises(Refused, match=f"{scene.job} does not cover QA-01 RR"):
        scene.fit("RR", scene.sets[1], "R")


def test_a_job_owes_nothing_where_it_was_left_out(scene: Scene) -> None:
    with scene.store.reading() as read:
        job = read.find(Job, code=scene.job)
        assert job is not None
        owed = {p.name for p in owing_positions(read, job)}
    leave_out(scene, "RR")
    with scene.store.reading() as read:
        assert {p.name for p in owing_positions(read, job)} == owed - {"RR"}


def test_what_was_begun_is_finished(scene: Scene) -> None:
    scene.fit("FL", scene.sets[0], "R")
    assert refused(scene, "FL", "RR") == [
        (
            "R11",
            f"QA-01 FL is not finished and can't be left out of {scene.job}; finish what was begun there.",
        ),
    ]


def test_where_something_was_found_since_the_work_is_done(scene: Scene) -> None:
    findings.record_finding(
        scene.store, position=scene.spot("FR"), found="nothing", text="seen", by=TECHNICIAN, at=scene.now
    )
    [(rule, message)] = refused(scene, "FR")
    assert rule == "R10"
    assert message.startswith("Something was found at QA-01 FR since")


def test_something_stays_in_a_job(scene: Scene) -> None:
    assert refused(scene, "FL", "FR", "RL", "RR") == [
        ("R11", f"Nothing would be left of {scene.job}; close it with a reason instead."),
    ]


def test_what_was_left_out_is_not_in_the_job_any_more(scene: Scene) -> None:
    leave_out(scene, "RR")
    with pytest.raises(Refused, match="does not cover QA-01 RR"):
        leave_out(scene, "RR")


@pytest.mark.parametrize(
    ("names", "said"), [((), "no position is named"), (("RR", "RR"), "QA-01 RR is named twice")]
)
def test_positions_are_named_and_each_once(scene: Scene, names: tuple[str, ...], said: str) -> None:
    with pytest.raises(BadInput, match=said):
        leave_out(scene, *names)


def test_a_clerk_leaves_nothing_out_and_a_reason_is_given(scene: Scene) -> None:
    assert [rule for rule, _ in refused(scene, "RR", by=CLERK)] == ["role"]
    with pytest.raises(BadInput, match="reason"):
        leave_out(scene, "RR", reason=" ")


def test_marks_are_read_on_the_rotors_that_were_left_out_too(scene: Scene) -> None:
    scene.all_four()
    scene.change(Job, {"code": scene.job}, state="closed")
    scene.job = open_job(scene.store, at=scene.now)
    scene.remove("FL", "R")
    leave_out(scene, "FR", "RL", "RR", by=INSPECTOR)
    with pytest.raises(Refused) as caught:
        fitting.walk_positions(scene.store, job=scene.job, seen=[], by=INSPECTOR, at=scene.now)
    assert {(one.rule, one.subject) for one in caught.value.refusals} == {
        ("R11", "QA-01 FL"), ("R3", "QA-01 RR"), ("R3", "QA-01 FR"), ("R3", "QA-01 RL"),
    }  # fmt: skip
