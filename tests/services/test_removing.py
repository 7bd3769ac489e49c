"""Removals: whole, tagged, with the sense found and the time in service."""

from typing import Any

import pytest

from kittrack.errors import BadInput, Conflict, Refused
from kittrack.store.database import Store
from kittrack.store.records import (
    Airframe,
    FitRecord,
    Hold,
    HoldItem,
    Job,
    JobPosition,
    Part,
    Place,
    Removal,
    RotorSet,
    SenseMap,
)
from kittrack.store.stock import contents, directly_in, inside_of
from tests.aircraft_scene import Scene, issue_bottle, issue_stock, make_set, open_job, position_of
from tests.factories import (
    BIN,
    CCW_BLADE,
    CLERK,
    CW_BLADE,
    MANAGER,
    SCREW,
    TECHNICIAN,
    VAN,
    WASHER,
    assert_conserved,
)


@pytest.fixture
def scene(store: Store) -> Scene:
    """A job whose position FL is fitted and inspected; 600 minutes and 20 flights were flown since."""
    made = Scene(store)
    made.whole("FL", made.sets[0], "R")
    made.fly(minutes=600, flights=20)
    return made


def refused(scene: Scene, name: str = "FL", mark: str = "R", **more: Any) -> frozenset[str]:
    with pytest.raises(Refused) as stopped:
        scene.remove(name, mark, **more)
    return stopped.value.rules


def test_a_removed_set_goes_whole_to_the_cage_on_hold_with_its_tag(scene: Scene) -> None:
    done = scene.remove()
    tag_code = done.codes[0]
    assert done.said == (
        f"{scene.sets[0]} came off QA-01 FL: tag {tag_code}, sense found CW, in service 10:00 h.",
        "It goes, whole, to removed-parts cage Home.",
        f"4 of SC-M3x8 ({scene.screws}) scrapped.",
        f"4 of WA-M3 ({scene.washers}) scrapped.",
    )
    one = scene.one()
    assert (scene.place_of(one).kind, one.condition) == ("removed-parts cage", "on hold")
    with scene.store.reading() as read:
        tag = read.find(Removal, code=tag_code)
        assert tag is not None
        assert (tag.sense_found, tag.mark_found, tag.used_minutes, tag.used_flights) == ("CW", "R", 600, 20)
        assert len(contents(read, one.place_id)) == 2
        assert read.select(FitRecord)[0].state == "removed"
    assert (scene.state("FL"), scene.findings()) == ("bare", [])
    assert (one.used_minutes, one.used_flights) == (600, 20)
    assert_conserved(scene.store)


def test_used_screws_and_washers_are_scrapped_and_the_position_is_empty(scene: Scene) -> None:
    scene.remove()
    with scene.store.reading() as read:
        scrapped = read.find(Place, kind="scrapped")
        assert scrapped is not None
        assert [(s.quantity, s.condition) for s in directly_in(read, scrapped.id)] == [
            (4, "unsalvageable")
        ] * 2
        assert contents(read, position_of(read, "FL").place_id) == []


def test_time_in_service_adds_up_over_two_fits(scene: Scene) -> None:
    scene.remove()
    scene.change(RotorSet, {"code": scene.sets[0]}, condition="serviceable")
    with scene.store.act("back to the job", by=TECHNICIAN, at=scene.now) as act:
        one, job = act.find(RotorSet, code=scene.sets[0]), act.find(Place, name=scene.job)
        assert one is not None
        assert job is not None
        act.move_container(one.place_id, from_place_id=inside_of(act, one.place_id), to_place_id=job.id)
    scene.whole("FL", scene.sets[0], "R")
    scene.fly(minutes=700, flights=23)
    scene.remove()
    assert (scene.one().used_minutes, scene.one().used_flights) == (700, 23)


@pytest.mark.parametrize("unknown", ["before", "at the fit", "now", "reading went down"])
def test_time_in_service_that_is_not_known_stays_unknown_and_is_never_zero(
    scene: Scene, unknown: str
) -> None:
    if unknown == "before":
        scene.change(RotorSet, {"code": scene.sets[0]}, used_minutes=None)
    elif unknown == "at the fit":
        scene.change(FitRecord, {"id": scene.fits()[0].id}, airframe_minutes=None)
    elif unknown == "now":
        scene.change(Airframe, {"tail": scene.tail}, minutes=None)
    else:
        scene.change(FitRecord, {"id": scene.fits()[0].id}, airframe_minutes=601)
    said = scene.remove().said
    assert scene.one().used_minutes is None
    assert "unknown" in said[0]
    assert scene.one().used_flights == 20


def test_a_set_found_fitted_before_day_one_comes_off_with_unknown_hours(scene: Scene) -> None:
    with scene.store.reading() as read:
        where = read.get(Place, position_of(read, "FR").place_id).name
    old = make_set(
        scene.store,
        CCW_BLADE,
        at=scene.now,
        where=where,
        history_known=0,
        used_minutes=None,
        used_flights=None,
    )
    tag = scene.remove("FR", "L", screws_out=4).codes[0]  # nobody knows how many went in
    assert scene.findings() == []
    with scene.store.reading() as read:
        removal, one = read.find(Removal, code=tag), read.find(RotorSet, code=old)
    assert removal is not None
    assert one is not None
    assert (removal.used_minutes, one.used_minutes, one.condition) == (None, None, "on hold")


# ---- what is found -------------------------------------------------------------------------------


@pytest.mark.parametrize("mark", ["?", ""])
def test_a_mark_that_can_not_be_told_is_recorded_as_a_finding(scene: Scene, mark: str) -> None:
    done = scene.remove(mark=mark)
    with scene.store.reading() as read:
        removal = read.find(Removal, code=done.codes[0])
    assert removal is not None
    assert (removal.sense_found, removal.mark_found) == ("", mark)
    [finding] = scene.findings()
    assert done.said[2:4] == (
        f"FINDING {finding.id}: {finding.text}",
        f"{scene.job} is blocked until an inspector or a manager settles it.",
    )
    assert (
        "it stays apart until it is inspected" in finding.text
        or "read it on the rotor itself" in finding.text
    )


def test_a_removal_finds_nothing_in_a_map_that_says_nothing_of_the_position(scene: Scene) -> None:
    with scene.store.act("an empty map", by=MANAGER, at=scene.now) as act:
        frame = act.find(Airframe, tail=scene.tail)
        assert frame is not None
        empty = act.insert(SenseMap(airframe_id=frame.id, revision=2, source="none", event_id=act.event_id))
        act.update(frame, sense_map_id=empty.id)
    done = scene.remove()
    assert scene.findings() == []
    assert not any("blocked" in text for text in done.said)


def test_a_rotor_of_the_wrong_sense_comes_off_is_held_and_blocks_the_job(scene: Scene) -> None:
    with scene.store.reading() as read:
        where = read.get(Place, position_of(read, "FR").place_id).name
    wrong = make_set(scene.store, CW_BLADE, at=scene.now, where=where)
    tag = scene.remove("FR", "R").codes[0]
    with scene.store.reading() as read:
        removal, one = read.find(Removal, code=tag), read.find(RotorSet, code=wrong)
        assert removal is not None
        assert one is not None
        assert removal.sense_found == "CW"
        [item] = read.select(HoldItem, "rotor_set_id = ?", one.id)
        assert "wrong sense" in read.get(Hold, item.hold_id).reason
    assert scene.place_of(one).kind == "removed-parts cage"
    with pytest.raises(Refused) as stopped:
        scene.fit("FR", scene.sets[2], "L")
    assert stopped.value.rules == {"R10"}


def test_another_count_of_screws_than_went_in_is_a_finding(scene: Scene) -> None:
    scene.remove(screws_out=3)
    [found] = scene.findings()
    assert found.text.startswith("3 screws came out")


def test_the_same_count_of_screws_is_none(scene: Scene) -> None:
    scene.remove(screws_out=4)
    assert scene.findings() == []


def test_no_fastener_is_used_twice_whatever_its_part_says(scene: Scene) -> None:
    scene.change(Part, {"number": SCREW}, single_use=0)
    scene.remove()
    with scene.store.reading() as read:
        scrapped = read.find(Place, kind="scrapped")
        assert scrapped is not None
        assert [s.quantity for s in directly_in(read, scrapped.id)] == [4, 4]


@pytest.mark.parametrize("how", ["no evidence", "released", "another set"])
def test_only_an_open_hold_as_evidence_on_the_set_itself_keeps_its_screws(scene: Scene, how: str) -> None:
    with scene.store.act("a hold", by=MANAGER, at=scene.now) as act:
        hold = act.insert(
            Hold(
                code="H0", scope="airframe", scope_text="x", reason="crash", reference="1",
                is_evidence=int(how != "no evidence"), placed_event_id=act.event_id,
            )
        )  # fmt: skip
        one = act.find(RotorSet, code=scene.sets[1 if how == "another set" else 0])
        assert one is not None
        released = act.event_id if how == "released" else None
        act.insert(HoldItem(hold_id=hold.id, rotor_set_id=one.id, released_event_id=released))
    tag = scene.remove().codes[0]
    with scene.store.reading() as read:
        removal, scrapped = read.find(Removal, code=tag), read.find(Place, kind="scrapped")
        assert removal is not None
        assert scrapped is not None
        assert removal.is_evidence == 0
        assert [s.quantity for s in directly_in(read, scrapped.id)] == [4, 4]


def test_a_set_set_aside_by_an_occurrence_keeps_its_screws_as_evidence(scene: Scene) -> None:
    with scene.store.act("occurrence", by=MANAGER, at=scene.now) as act:
        hold = act.insert(
            Hold(
                code="H0",
                scope="airframe",
                scope_text="x",
                reason="crash",
                reference="1",
                is_evidence=1,
                placed_event_id=act.event_id,
            )
        )
        one = act.find(RotorSet, code=scene.sets[0])
        assert one is not None
        act.insert(HoldItem(hold_id=hold.id, rotor_set_id=one.id))
    tag = scene.remove(purpose="transport", to_place=VAN).codes[0]
    with scene.store.reading() as read:
        removal, cage = read.find(Removal, code=tag), read.find(Place, kind="removed-parts cage")
        assert removal is not None
        assert cage is not None
        assert removal.is_evidence == 1
        assert [(s.quantity, s.condition) for s in directly_in(read, cage.id)] == [(4, "on hold")] * 2
    assert scene.place_of(scene.one()).kind == "removed-parts cage"  # not in the van, whatever was asked
    assert scene.one().bound_position_id is None


# ---- what is refused -----------------------------------------------------------------------------


def test_nothing_comes_off_a_bare_position(scene: Scene) -> None:
    assert refused(scene, "FR", "L") == {"R10"}


def test_a_removal_waits_for_the_half_done_position(scene: Scene) -> None:
    scene.fit("RR", scene.sets[1], "R")
    assert refused(scene) == {"R11"}
    scene.remove(purpose="finding")


def test_an_unfinished_fit_is_not_removed_with_a_tag(scene: Scene) -> None:
    scene.fit("RR", scene.sets[1], "R")
    assert refused(scene, "RR") == {"R10"}
    scene.fasten("RR")
    assert refused(scene, "RR") == {"R10"}


def test_a_position_outside_the_job_is_refused_unless_it_is_a_finding(scene: Scene) -> None:
    rear = open_job(scene.store, at=scene.now, positions=["RR"])
    assert refused(scene, job=rear) == {"R7"}
    scene.remove(job=rear, purpose="finding")
    with scene.store.reading() as read:
        states = [p.state for p in read.select(JobPosition, "position_id = ?", position_of(read, "FL").id)]
    assert states == ["inspected", "bare"]


@pytest.mark.parametrize("by", [CLERK, MANAGER])
def test_only_a_technician_removes(scene: Scene, by: str) -> None:
    assert refused(scene, by=by) == {"role"}


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"reason": ""}, "reason"), ({"purpose": "cleaning"}, "'cleaning' is no purpose of a removal"),
        ({"purpose": "transport"}, "for transport goes to a bin, a van or a person; scan where it goes"),
        ({"to_place": VAN}, "goes to the removed-parts cage; leave the place empty"),
        ({"purpose": "replacement", "to_place": BIN}, "goes to the removed-parts cage; leave the place empty"),
    ],
)  # fmt: skip
def test_a_removal_without_its_words_is_input_that_can_not_be_used(
    scene: Scene, more: dict[str, Any], said: str
) -> None:
    with pytest.raises(BadInput, match=said):
        scene.remove(**more)
    assert scene.state("FL") == "inspected"


def test_a_second_removal_of_the_same_set_finds_it_gone(scene: Scene) -> None:
    scene.remove(key="k")
    with pytest.raises(Conflict):
        scene.remove(key="k")
    assert refused(scene) == {"R10"}
    scene.change(Job, {"code": scene.job}, state="closed")
    assert refused(scene) == {"R10", "R11"}


def test_parts_that_may_be_used_again_go_to_the_cage_and_hubs_of_the_arm_stay(scene: Scene) -> None:
    with scene.store.act("a spinner sits there", by=MANAGER, at=scene.now) as act:
        like = act.find(Part, number=WASHER)
        assert like is not None
        for number, kind in (("CAP", "other"), ("HUB", "hub")):
            act.insert(Part(number=number, maker_id=like.maker_id, name=kind, kind=kind, paper_class="rotor"))
    with scene.store.reading() as read:
        where = read.get(Place, position_of(read, "FL").place_id).name
    for number in ("CAP", "HUB"):
        issue_stock(scene.store, where, number, 1, at=scene.now)
    issue_bottle(scene.store, scene.job, at=scene.now)
    scene.remove()
    with scene.store.reading() as read:
        cage = read.find(Place, kind="removed-parts cage")
        assert cage is not None
        assert [(s.quantity, s.condition) for s in directly_in(read, cage.id)] == [(1, "on hold")]
        assert len(directly_in(read, position_of(read, "FL").place_id)) == 1
