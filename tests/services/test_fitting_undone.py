"""Taking off a fit that was begun and not inspected: the set goes back to the job, its fasteners are scrapped."""

from typing import Any

import pytest

from kittrack.errors import BadInput, Refused
from kittrack.services import fitting
from kittrack.services.desk import Done
from kittrack.store.database import Store
from kittrack.store.records import Job, Place
from kittrack.store.stock import contents
from tests.aircraft_scene import Scene, open_job
from tests.factories import CLERK, TECHNICIAN, assert_conserved

CW, CCW = 0, 2  # places in Scene.sets


@pytest.fixture
def scene(store: Store) -> Scene:
    return Scene(store)


def test_an_unfinished_fit_comes_off_and_the_set_is_back_with_the_job(scene: Scene) -> None:
    scene.fit("FL", scene.sets[CW], "R")
    fitting.take_off_unfinished(
        scene.store,
        job=scene.job,
        position=scene.spot("FL"),
        reason="wrong arm first",
        by=TECHNICIAN,
        at=scene.now,
    )
    assert (scene.state("FL"), scene.fits()[0].state) == ("bare", "removed")
    scene.fit("FL", scene.sets[CW], "R")


def take_off(scene: Scene, **more: Any) -> Done:
    given: dict[str, Any] = {
        "job": scene.job,
        "reason": "torqued twice",
        "by": TECHNICIAN,
        "at": scene.now,
        **more,
    }
    return fitting.take_off_unfinished(scene.store, position=scene.spot("FL"), **given)


def test_taking_off_takes_a_reason_a_technician_and_an_open_job_that_began_it(scene: Scene) -> None:
    scene.fit("FL", scene.sets[CW], "R")
    with pytest.raises(BadInput, match="reason"):
        take_off(scene, reason=" ")
    other = open_job(scene.store, at=scene.now)
    for more, rules in (({"by": CLERK}, {"role"}), ({"job": other}, {"R10"})):
        with pytest.raises(Refused) as refused:
            take_off(scene, **more)
        assert refused.value.rules == rules
    scene.change(Job, {"code": scene.job}, state="closed")
    with pytest.raises(Refused) as refused:
        take_off(scene)
    assert refused.value.rules == {"R11"}
    assert scene.state("FL") == "not finished"


def test_taking_off_says_what_became_of_what_fastened_it(scene: Scene) -> None:
    scene.fit("FL", scene.sets[CW], "R")
    scene.fasten("FL")
    assert take_off(scene).said == (
        f"{scene.sets[CW]} is off QA-01 FL and back with {scene.job}.",
        f"4 of SC-M3x8 ({scene.screws}) scrapped.",
        f"4 of WA-M3 ({scene.washers}) scrapped.",
    )


def test_what_fastened_an_unfinished_fit_is_scrapped(scene: Scene) -> None:
    scene.fit("FL", scene.sets[CW], "R")
    scene.fasten("FL")
    fitting.take_off_unfinished(
        scene.store,
        job=scene.job,
        position=scene.spot("FL"),
        reason="torqued twice",
        by=TECHNICIAN,
        at=scene.now,
    )
    with scene.store.reading() as read:
        place = read.find(Place, kind="scrapped")
        assert place is not None
        assert sorted(s.quantity for s in contents(read, place.id)) == [4, 4]
    assert scene.state("FL") == "bare"
    assert_conserved(scene.store)


def test_an_inspected_fit_does_not_come_off_as_unfinished(scene: Scene) -> None:
    scene.whole("FL", scene.sets[CW], "R")
    with pytest.raises(Refused) as refused:
        fitting.take_off_unfinished(
            scene.store, job=scene.job, position=scene.spot("FL"), reason="x", by=TECHNICIAN, at=scene.now
        )
    assert refused.value.rules == {"R10"}
