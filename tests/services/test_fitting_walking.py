"""The inspection of a position by another person, and the last walk around the airframe."""

from datetime import date
from typing import Any

import pytest

from kittrack.errors import BadInput, Refused
from kittrack.services import fitting, founding
from kittrack.services.removing import remove_set
from kittrack.store.database import Store
from kittrack.store.fold import differences
from kittrack.store.records import (
    Airframe,
    Hold,
    HoldItem,
    Job,
    Part,
    PartMark,
    Person,
    Position,
    ReceiptLine,
    RotorSet,
    SenseMap,
    SenseMapLine,
)
from tests.aircraft_scene import Scene, issue_bottle, issue_stock, make_set, open_job, spot_code
from tests.factories import (
    CLERK,
    CW_BLADE,
    INSPECTOR,
    MANAGER,
    SCREW,
    TAIL2,
    TECHNICIAN,
    WASHER,
    assert_conserved,
)


@pytest.fixture
def scene(store: Store) -> Scene:
    return Scene(store)


def refused_walk(scene: Scene, seen: str = "FL:R RR:R FR:L RL:L", **more: Any) -> frozenset[str]:
    with pytest.raises(Refused) as refused:
        scene.walk(seen, **more)
    return refused.value.rules


# ---- inspection ----------------------------------------------------------------------------------


def test_another_person_inspects_and_reads_the_mark_again(scene: Scene) -> None:
    scene.fit("FL", scene.sets[0], "R")
    scene.fasten("FL")
    scene.inspect("FL", "R")
    [record] = scene.fits()
    assert (record.state, record.inspection, scene.state("FL")) == ("inspected", "second person", "inspected")


def test_who_fitted_does_not_inspect(scene: Scene) -> None:
    scene.fit("FL", scene.sets[0], "R", by=INSPECTOR)
    scene.fasten("FL", by=INSPECTOR)
    with pytest.raises(Refused) as refused:
        scene.inspect("FL", "R")
    assert refused.value.rules == {"R8"}
    assert scene.state("FL") == "fitted"


def test_a_second_badge_of_the_fitter_is_no_second_person(scene: Scene) -> None:
    with scene.store.act("another badge", by=MANAGER, at=scene.now) as act:
        technician, inspector = (
            act.row("SELECT id FROM person WHERE name = ?", n) for n in (TECHNICIAN, INSPECTOR)
        )
        assert technician is not None
        assert inspector is not None
        act.update(act.get(Person, inspector[0]), same_human_as_id=technician[0])
    scene.fit("FL", scene.sets[0], "R")
    scene.fasten("FL")
    with pytest.raises(Refused) as refused:
        scene.inspect("FL", "R")
    assert refused.value.rules == {"R8"}


@pytest.mark.parametrize("for_this_job", [True, False])
def test_alone_by_a_managers_declaration_it_is_a_re_inspection_and_said_so(
    scene: Scene, for_this_job: bool
) -> None:
    scene.fit("FL", scene.sets[0], "R")
    scene.fasten("FL")
    other = open_job(scene.store, at=scene.now, tail=TAIL2)
    founding.declare_alone(
        scene.store, person=TECHNICIAN, from_on=date(2026, 3, 2), until_on=date(2026, 3, 2), reason="field site",
        by=MANAGER, at=scene.now, job=scene.job if for_this_job else other,
    )  # fmt: skip
    if not for_this_job:
        with pytest.raises(Refused) as refused:
            scene.inspect("FL", "R", by=TECHNICIAN)
        assert refused.value.rules == {"R8", "role"}
        return
    said = scene.inspect("FL", "R", by=TECHNICIAN).said
    assert scene.fits()[0].inspection == "re-inspection"
    assert "re-inspection" in said[0]


def test_someone_who_is_no_inspector_does_not_inspect(scene: Scene) -> None:
    scene.fit("FL", scene.sets[0], "R")
    scene.fasten("FL")
    with pytest.raises(Refused) as refused:
        scene.inspect("FL", "R", by=CLERK)
    assert refused.value.rules == {"role"}


@pytest.mark.parametrize(("mark", "expected"), [("?", {"R2"}), ("", {"R2"}), ("L", {"R3"})])
def test_a_mark_that_disagrees_stops_the_inspection(scene: Scene, mark: str, expected: set[str]) -> None:
    with scene.store.act("widen the table", by=MANAGER, at=scene.now) as act:
        part = act.find(Part, number=CW_BLADE)
        assert part is not None
        act.insert(PartMark(part_id=part.id, revision=1, mark="L", sense="CCW"))
    scene.fit("FL", scene.sets[0], "R")
    scene.fasten("FL")
    with pytest.raises(Refused) as refused:
        scene.inspect("FL", mark)
    assert refused.value.rules == expected


def test_a_position_that_is_not_fastened_is_not_inspected(scene: Scene) -> None:
    for prepare in (None, lambda: scene.fit("FL", scene.sets[0], "R")):
        if prepare:
            prepare()
        with pytest.raises(Refused) as refused:
            scene.inspect("FL", "R")
        assert refused.value.rules == {"R8"}
    scene.fasten("FL")
    scene.inspect("FL", "R")
    with pytest.raises(Refused):
        scene.inspect("FL", "R")


# ---- the walk ------------------------------------------------------------------------------------


def test_the_whole_way_of_one_airframe_to_all_walked(scene: Scene) -> None:
    scene.all_four()
    said = scene.walk().said
    assert {scene.state(n) for n in ("FL", "RR", "FR", "RL")} == {"walked"}
    assert all(f.walked_by_id for f in scene.fits())
    assert "All 4 rotors" in said[0]
    assert_conserved(scene.store)
    with scene.store.reading() as read:
        assert list(differences(read)) == []


def test_the_inspector_may_inspect_all_positions_in_one_pass_at_the_end(scene: Scene) -> None:
    for name, one, mark in zip(("FL", "RR", "FR", "RL"), scene.sets, "RRLL", strict=True):
        scene.fit(name, one, mark)
        scene.fasten(name)
    assert refused_walk(scene) == {"R8"}
    for name, mark in zip(("FL", "RR", "FR", "RL"), "RRLL", strict=True):
        scene.inspect(name, mark)
    scene.walk()


@pytest.mark.parametrize(
    ("seen", "expected"),
    [
        ("FL:R RR:R FR:L", {"R3"}),  # one left out
        ("FL:L RR:R FR:L RL:L", {"R2"}),  # a mark that is none of that part's
        ("FL: RR:R FR:L RL:L", {"R2"}),  # not read
    ],
)
def test_a_walk_that_leaves_out_or_disagrees_is_refused(scene: Scene, seen: str, expected: set[str]) -> None:
    scene.all_four()
    assert refused_walk(scene, seen) == expected
    assert scene.state("FL") == "inspected"


def test_a_walk_by_a_changed_map_finds_what_was_right_at_the_fit(scene: Scene) -> None:
    scene.all_four()
    with scene.store.act("all motors reversed", by=MANAGER, at=scene.now) as act:
        frame = act.find(Airframe, tail=scene.tail)
        assert frame is not None
        turned = act.insert(
            SenseMap(airframe_id=frame.id, revision=2, source="motor test", event_id=act.event_id)
        )
        for position in act.select(Position, "airframe_id = ?", frame.id):
            old = act.find(SenseMapLine, sense_map_id=frame.sense_map_id, position_id=position.id)
            assert old is not None
            sense = {"CW": "CCW", "CCW": "CW"}[old.sense]
            act.insert(SenseMapLine(sense_map_id=turned.id, position_id=position.id, sense=sense))
        act.update(frame, sense_map_id=turned.id)
    assert refused_walk(scene) == {"R3"}


def test_a_position_scanned_twice_or_of_another_airframe_is_input_that_can_not_be_read(scene: Scene) -> None:
    scene.all_four()
    with pytest.raises(BadInput, match="twice"):
        scene.walk("FL:R FL:R RR:R FR:L RL:L")
    foreign = fitting.Seen(spot_code(scene.store, "FL", tail=TAIL2), "R")
    with pytest.raises(BadInput, match="not a position"):
        fitting.walk_positions(scene.store, job=scene.job, seen=[foreign], by=INSPECTOR, at=scene.now)


def test_unfinished_positions_stop_the_walk(scene: Scene) -> None:
    scene.whole("FL", scene.sets[0], "R")
    scene.fit("RR", scene.sets[1], "R")
    assert refused_walk(scene, "FL:R RR:R") == {"R11"}


@pytest.mark.parametrize("thing", ["set", "screws"])
def test_a_hold_on_a_fitted_set_or_its_screws_stops_the_walk(scene: Scene, thing: str) -> None:
    scene.all_four()
    with scene.store.act("hold", by=CLERK, at=scene.now) as act:
        one, line = act.find(RotorSet, code=scene.sets[0]), act.find(ReceiptLine, code=scene.screws)
        assert one is not None
        assert line is not None
        hold = act.insert(
            Hold(
                code="H0",
                scope="lot",
                scope_text="x",
                reason="bulletin",
                reference="1",
                placed_event_id=act.event_id,
            )
        )
        act.insert(
            HoldItem(
                hold_id=hold.id, rotor_set_id=one.id if thing == "set" else None,
                receipt_line_id=line.id if thing == "screws" else None,
            )
        )  # fmt: skip
    assert refused_walk(scene) == {"R6"}


def test_work_after_the_walk_makes_it_due_again(scene: Scene) -> None:
    scene.all_four()
    scene.walk()
    remove_set(
        scene.store, job=scene.job, position=scene.spot("FL"), mark="R", reason="vibration in the hover", by=TECHNICIAN,
        at=scene.now,
    )  # fmt: skip
    assert [scene.state(n) for n in ("FL", "RR", "FR", "RL")] == [
        "bare",
        "inspected",
        "inspected",
        "inspected",
    ]


def test_a_job_on_part_of_an_airframe_walks_the_other_positions_too(scene: Scene) -> None:
    scene.all_four()
    scene.walk()
    front = open_job(scene.store, at=scene.now, positions=["FL"])
    remove_set(
        scene.store,
        job=front,
        position=scene.spot("FL"),
        mark="R",
        reason="nick",
        by=TECHNICIAN,
        at=scene.now,
    )
    assert "R11" in refused_walk(scene, "RR:R FR:L RL:L", job=front)


def test_an_empty_position_outside_the_job_is_said_and_not_expected(scene: Scene) -> None:
    job = open_job(scene.store, at=scene.now, positions=["FL"])
    one = make_set(scene.store, CW_BLADE, at=scene.now, where=job)
    parts = tuple(
        fitting.TakenPart(code, 4)
        for code in (
            issue_stock(scene.store, job, SCREW, 4, at=scene.now),
            issue_stock(scene.store, job, WASHER, 4, at=scene.now),
        )
    )
    scene.fit("FL", one, "R", job=job)
    scene.fasten(
        "FL", job=job, parts=(*parts, fitting.TakenPart(issue_bottle(scene.store, job, at=scene.now)))
    )
    scene.inspect("FL", "R", job=job)
    assert refused_walk(scene, "FL:R RR:R", job=job) == {"R10"}
    said = scene.walk("FL:R", job=job).said
    assert sum("carries no rotor" in s for s in said) == 3


def test_a_closed_job_is_not_walked(scene: Scene) -> None:
    scene.all_four()
    with scene.store.act("close", by=MANAGER, at=scene.now) as act:
        job = act.find(Job, code=scene.job)
        assert job is not None
        act.update(job, state="closed")
    assert refused_walk(scene) == {"R11"}


def test_a_clerk_does_not_walk(scene: Scene) -> None:
    scene.all_four()
    assert refused_walk(scene, by=CLERK) == {"role"}
