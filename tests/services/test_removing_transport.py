"""Taking rotors off for transport: bound to their position, back with new hardware, their life not aged."""

import pytest

from kittrack.errors import BadInput, Refused
from kittrack.queries.kits import kit_view
from kittrack.services import fitting, issuing, making_good, removing
from kittrack.services.fitting import TakenPart
from kittrack.store.database import Store
from kittrack.store.records import (
    RotorSet,
)
from tests.aircraft_scene import Scene, issue_stock, open_job, position_of
from tests.factories import (
    AUDITOR,
    BENCH,
    BIN,
    BUILDER,
    CLERK,
    INSPECTOR,
    SCREW,
    TECHNICIAN,
    VAN,
    WASHER,
    finished_kit,
    put_in_stock,
)


@pytest.fixture
def scene(store: Store) -> Scene:
    """A job whose position FL is fitted and inspected; 600 minutes and 20 flights were flown since."""
    made = Scene(store)
    made.whole("FL", made.sets[0], "R")
    made.fly(minutes=600, flights=20)
    return made


def by_van(scene: Scene, where: str = VAN) -> RotorSet:
    scene.remove(purpose="transport", to_place=where, reason="drive to the next site")
    return scene.one()


@pytest.mark.parametrize(("where", "kind"), [(VAN, "van"), (BIN, "bin"), (TECHNICIAN, "hands")])
def test_a_set_taken_off_for_transport_is_bound_to_its_position(scene: Scene, where: str, kind: str) -> None:
    one = by_van(scene, where)
    assert (scene.place_of(one).kind, one.condition) == (kind, "serviceable")
    with scene.store.reading() as read:
        assert one.bound_position_id == position_of(read, "FL").id


def test_it_goes_back_there_with_new_hardware_and_its_hours_go_on(scene: Scene) -> None:
    by_van(scene)
    scene.fit("FL", scene.sets[0], "R")
    assert scene.fits()[-1].is_transport_refit == 1
    scene.fasten("FL")  # the second four of the sixteen screws; the first four are scrapped
    scene.inspect("FL", "R")
    scene.fly(minutes=660, flights=22)
    scene.remove()
    assert (scene.one().used_minutes, scene.one().used_flights) == (660, 22)


def test_the_transport_itself_ages_nothing(scene: Scene) -> None:
    by_van(scene)
    scene.fly(minutes=900, flights=40)  # flown with another set
    scene.fit("FL", scene.sets[0], "R")
    scene.fasten("FL")
    scene.inspect("FL", "R")
    scene.remove()
    assert scene.one().used_minutes == 600


def test_the_old_hardware_does_not_go_back_with_it(scene: Scene) -> None:
    few = issue_stock(scene.store, scene.job, SCREW, 4, at=scene.now)
    scene.fit("RR", scene.sets[1], "R")
    scene.fasten("RR", parts=(TakenPart(few, 4), *scene.parts()[1:]))
    scene.inspect("RR", "R")
    scene.remove("RR", purpose="transport", to_place=VAN)
    scene.fit("RR", scene.sets[1], "R")
    with pytest.raises(Refused) as stopped:
        scene.fasten("RR", parts=(TakenPart(few, 4), *scene.parts()[1:]))
    assert stopped.value.rules == {"R9"}


def test_it_goes_back_on_no_other_position_whoever_confirms(scene: Scene) -> None:
    by_van(scene)
    for more in ({}, {"second": INSPECTOR, "reason": "only one left"}):
        with pytest.raises(Refused) as stopped:
            scene.fit("RR", scene.sets[0], "R", **more)
        assert "R10" in stopped.value.rules
    other = open_job(scene.store, at=scene.now, tail="QA-02")
    with pytest.raises(Refused) as stopped:
        fitting.fit_set(
            scene.store, job=other, position=scene_spot(scene, "QA-02"), rotor_set=scene.sets[0], mark="R",
            by=TECHNICIAN, at=scene.now,
        )  # fmt: skip
    assert "R10" in stopped.value.rules


def scene_spot(scene: Scene, tail: str) -> str:
    with scene.store.reading() as read:
        return position_of(read, "FL", tail=tail).code


def test_a_refit_that_was_begun_and_undone_stays_bound(scene: Scene) -> None:
    bound = by_van(scene).bound_position_id
    scene.fit("FL", scene.sets[0], "R")
    fitting.take_off_unfinished(
        scene.store, job=scene.job, position=scene.spot("FL"), reason="rain", by=TECHNICIAN, at=scene.now
    )
    assert scene.one().bound_position_id == bound
    with pytest.raises(
        Refused, match="there is no refit to give up"
    ) as stopped:  # it is with its job, not on its way
        removing.give_up_refit(scene.store, rotor_set=scene.sets[0], reason="x", by=TECHNICIAN, at=scene.now)
    assert stopped.value.rules == {"R10"}
    scene.fit("FL", scene.sets[0], "R")


def test_a_set_in_a_van_that_is_bound_to_no_position_has_no_refit(scene: Scene) -> None:
    by_van(scene)
    scene.change(RotorSet, {"code": scene.sets[0]}, bound_position_id=None)
    with pytest.raises(Refused) as stopped:
        removing.give_up_refit(scene.store, rotor_set=scene.sets[0], reason="x", by=TECHNICIAN, at=scene.now)
    assert stopped.value.rules == {"R10"}


def test_a_refit_may_be_given_up_to_the_cage(scene: Scene) -> None:
    by_van(scene)
    for more, stop in (
        ({"reason": " ", "by": TECHNICIAN}, BadInput),
        ({"reason": "x", "by": AUDITOR}, Refused),
    ):
        with pytest.raises(stop):
            removing.give_up_refit(scene.store, rotor_set=scene.sets[0], at=scene.now, **more)
    removing.give_up_refit(
        scene.store, rotor_set=scene.sets[0], reason="dropped in the van", by=TECHNICIAN, at=scene.now
    )
    one = scene.one()
    assert (scene.place_of(one).kind, one.condition, one.bound_position_id) == (
        "removed-parts cage",
        "on hold",
        None,
    )
    with pytest.raises(Refused) as stopped:
        removing.give_up_refit(
            scene.store, rotor_set=scene.sets[0], reason="again", by=TECHNICIAN, at=scene.now
        )
    assert stopped.value.rules == {"R10"}


def test_new_hardware_for_the_way_back_is_made_good_without_another_set(store: Store) -> None:
    scene = Scene(store)
    put_in_stock(scene.store, SCREW, 8, at=scene.now, lot_code="S-9")
    put_in_stock(scene.store, WASHER, 8, at=scene.now, lot_code="W-9")
    scene.all_four()
    scene.remove(purpose="transport", to_place=VAN, reason="drive to the next site")
    kit = making_good.build_make_good(
        scene.store, job=scene.job, bench=BENCH, by=BUILDER, at=scene.now
    ).codes[0]
    lines = kit_view(scene.store, kit=kit, at=scene.now).lines
    assert [(line.kind, line.needed) for line in lines] == [("screw", 4), ("washer", 4)]
    finished_kit(scene.store, kit, at=scene.now, seal="0009")
    issuing.issue_kit(
        scene.store, kit=kit, job=scene.job, seal="0009", receiver=TECHNICIAN, by=CLERK, at=scene.now
    )
    issuing.open_at_aircraft(scene.store, kit=kit, seal="0009", by=TECHNICIAN, at=scene.now)
    scene.fit("FL", scene.sets[0], "R")
    with scene.store.reading() as read:
        held = dict(
            read.rows(
                "SELECT p.number, l.code FROM holding h JOIN place x ON x.id = h.place_id JOIN receipt_line l "
                "ON l.id = h.receipt_line_id JOIN part p ON p.id = l.part_id WHERE x.name = ? AND h.quantity > 0",
                scene.job,
            )
        )
    parts = (TakenPart(held[SCREW], 4), TakenPart(held[WASHER], 4), TakenPart(scene.bottle))
    scene.fasten("FL", parts=parts)
    assert scene.state("FL") == "fitted"


def test_a_set_that_is_on_without_screws_is_made_good_too(store: Store) -> None:
    scene = Scene(store)
    put_in_stock(scene.store, SCREW, 8, at=scene.now, lot_code="S-9")
    put_in_stock(scene.store, WASHER, 8, at=scene.now, lot_code="W-9")
    scene.all_four()
    with pytest.raises(Refused, match="got no kit yet"):
        making_good.build_make_good(scene.store, job=scene.job, bench=BENCH, by=BUILDER, at=scene.now)
    scene.remove(purpose="transport", to_place=VAN, reason="drive to the next site")
    scene.fit("FL", scene.sets[0], "R")
    kit = making_good.build_make_good(
        scene.store, job=scene.job, bench=BENCH, by=BUILDER, at=scene.now
    ).codes[0]
    lines = kit_view(scene.store, kit=kit, at=scene.now).lines
    assert [(line.kind, line.needed) for line in lines] == [("screw", 4), ("washer", 4)]
