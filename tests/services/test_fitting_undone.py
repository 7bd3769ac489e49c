"""Taking off a fit that was begun and not inspected: the set goes back to the job, its fasteners are scrapped."""

import pytest

from kittrack.errors import Refused
from kittrack.services import fitting
from kittrack.store.database import Store
from kittrack.store.records import (
    Place,
)
from kittrack.store.stock import contents
from tests.aircraft_scene import Scene
from tests.factories import (
    TECHNICIAN,
    assert_conserved,
)

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
