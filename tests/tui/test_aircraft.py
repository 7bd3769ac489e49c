"""The Aircraft by scans and keys only: the sense read three ways, one position finished before the next."""

from collections.abc import Callable
from typing import Any

from textual.widgets import Input

from kittrack.queries.at_aircraft import aircraft_view
from kittrack.services import returning
from kittrack.services.returning import Leftover
from kittrack.store.database import open_store
from kittrack.store.records import SenseMap
from tests.aircraft_scene import Scene, make_set, position_of
from tests.factories import CCW_BLADE, CLERK, INSPECTOR, TECHNICIAN
from tests.tui.conftest import SEAL, World
from tests.tui.screens import Person, stations
from tests.tui.snapshots import assert_screen

Ask = Callable[[str], list[tuple[Any, ...]]]
MARKS = {"CW": "R", "CCW": "L"}
AROUND = (("FR", "CCW"), ("RL", "CCW"), ("FL", "CW"), ("RR", "CW"))


async def begin(me: Person, world: World) -> None:
    """Sign on as the technician, take the job, and open its kit."""
    await me.scan(world.badge(TECHNICIAN))
    await me.press("f9")
    await me.scan(world.job, world.kit, SEAL)


async def fit(me: Person, world: World, name: str, one: str, mark: str) -> None:
    await me.scan(world.positions[name], one)
    await me.type(mark)


async def fasten(me: Person, world: World, torque: str = "0.8 N m") -> None:
    await me.press("f9")
    await me.scan(world.torque_tool)
    await me.type(torque)
    await me.press("f9")


async def inspect(me: Person, world: World, mark: str) -> None:
    await me.scan(world.badge(INSPECTOR))
    await me.type(mark)


async def test_an_airframe_is_found_by_its_tail_too(issued: World) -> None:
    async with stations(issued.url, start="aircraft") as me:
        await me.scan(issued.badge(TECHNICIAN))
        await me.press("f9")
        await me.type("QA-99")
        assert me.verdict.startswith("NOT")
        await me.type("QA-01")
        assert me.screen.count("FL") >= 1
        assert "No airframe is chosen" not in me.screen


async def test_a_whole_job_from_the_seal_to_its_end(issued: World, ask: Ask) -> None:
    left = {sense: list(codes) for sense, codes in issued.sets.items()}
    async with stations(issued.url, start="aircraft") as me:
        await begin(me, issued)
        for name, sense in AROUND:
            await fit(me, issued, name, left[sense].pop(), MARKS[sense])
            assert "label, mark and map agree" in me.verdict
            await fasten(me, issued)
            assert "is fastened" in me.verdict
            await inspect(me, issued, MARKS[sense])
            assert "inspection passed" in me.verdict
        await me.press("f9")
        assert "walk around QA-01" in me.verdict
        for name, sense in AROUND:
            await me.scan(issued.positions[name])
            await me.type(MARKS[sense])
        await me.press("f9")
        assert "All 4 rotors of QA-01 agree" in me.verdict
        assert me.app.name_signed_on == TECHNICIAN
        [(bottle,)] = ask(
            "SELECT p.code FROM piece p JOIN part t ON t.id = p.part_id WHERE t.kind = 'consumable'"
        )
        await me.press("f12", "f5")
        await me.scan(issued.badge("Clerk One"))
        await me.press("f9")
        await me.scan(issued.job, str(bottle))
        await me.press("f9")
        assert "goods-in" in me.verdict
        await me.press("f12", "f6")
        await me.scan(issued.badge(TECHNICIAN))
        await me.press("f9")
        assert me.verdict.startswith(f"DONE: {issued.job} is closed")
    assert ask("SELECT state FROM job") == [("closed",)]
    assert ask("SELECT DISTINCT inspection FROM fit_record") == [("second person",)]


async def test_a_set_of_the_wrong_sense_is_stopped_at_its_scan_and_put_on_record(
    issued: World, ask: Ask
) -> None:
    async with stations(issued.url, start="aircraft") as me:
        await begin(me, issued)
        await me.scan(issued.positions["FR"], issued.sets["CW"][0])
        assert me.verdict.startswith("STOP: QA-01 FR turns CCW")
        assert "take a CCW set" in me.verdict
        assert " STOP   STOP   STOP   STOP   STOP   STOP   STOP   STOP   STOP   STOP   STOP" in me.screen
        assert "rotor set >" in me.screen  # no mark is read on a set that can't be fitted
    assert ask("SELECT count(*) FROM fit_record") == [(0,)]
    assert ask("SELECT count(*) FROM event WHERE act = 'a scan was refused'") == [(1,)]


async def test_the_right_label_with_the_wrong_mark_is_stopped_too(issued: World, ask: Ask) -> None:
    async with stations(issued.url, start="aircraft") as me:
        await begin(me, issued)
        await fit(me, issued, "FR", issued.sets["CCW"][0], "R")
        assert me.verdict.startswith("STOP: ")
        assert_screen("aircraft-stop", me.screen)
    assert ask("SELECT count(*) FROM fit_record") == [(0,)]


async def test_the_plan_of_unfinished_work_looks_like_this_to_whoever_comes_next(issued: World) -> None:
    async with stations(issued.url, start="aircraft") as me:
        await begin(me, issued)
        await fit(me, issued, "FR", issued.sets["CCW"][0], "L")
    async with stations(issued.url, start="aircraft") as me:
        await me.scan(issued.badge(INSPECTOR))
        await me.press("f9")
        await me.scan(issued.job)
        assert me.verdict.startswith(f"NOT FINISHED: QA-01 FR, begun by {TECHNICIAN}.")
        assert "NOT FINISHED" in me.screen
        await me.press("f9")
        assert_screen("aircraft-unfinished", me.screen)


async def test_the_view_from_below_flips_the_picture_and_says_so(issued: World) -> None:
    async with stations(issued.url, start="aircraft") as me:
        await begin(me, issued)
        above = me.screen
        await me.press("f8")
        below = me.screen
        assert "seen from above" in above
        assert "SEEN FROM BELOW" in below
        assert next(line for line in above.split("\n") if "FL CW >" in line).index("FL") < 5
        assert next(line for line in below.split("\n") if "FL CW >" in line).index("FL CW >") > 20
        store = open_store(issued.url)
        senses = {p.name: p.sense for p in aircraft_view(store, code="QA-01").positions}
        store.close()
        assert senses == dict(AROUND)


async def test_a_torque_without_a_unit_is_refused_in_the_form(issued: World, ask: Ask) -> None:
    async with stations(issued.url, start="aircraft") as me:
        await begin(me, issued)
        await fit(me, issued, "FR", issued.sets["CCW"][0], "L")
        await fasten(me, issued, torque="0.8")
        assert "has no unit" in me.screen
        torque = me.app.screen.query_one("#field-torque", Input)
        torque.value = "8 N m"
        await me.press("f9")
        assert "REFUSED: " in me.screen
        assert "(R18)" in me.screen
        assert (torque.value, issued.torque_tool in me.screen) == ("8 N m", True)  # nothing typed is lost
    assert ask("SELECT state FROM fit_record") == [("started",)]


async def test_who_fitted_does_not_inspect(issued: World, ask: Ask) -> None:
    async with stations(issued.url, start="aircraft") as me:
        await begin(me, issued)
        await fit(me, issued, "FR", issued.sets["CCW"][0], "L")
        await fasten(me, issued)
        await me.scan(issued.badge(TECHNICIAN))
        assert "(R8)" in me.verdict
    assert ask("SELECT state FROM fit_record") == [("fastened",)]


async def test_unfinished_work_keeps_the_next_position_waiting_and_can_be_taken_off(
    issued: World, ask: Ask
) -> None:
    async with stations(issued.url, start="aircraft") as me:
        await begin(me, issued)
        await fit(me, issued, "FR", issued.sets["CCW"][0], "L")
        await me.scan(issued.positions["RL"])
        assert me.verdict.startswith(
            f"NOT FINISHED: FR, begun by {TECHNICIAN}; one position is finished before RL"
        )
        await me.scan(issued.sets["CCW"][1])
        assert "QA-01 FR is not finished" in me.verdict
        await me.press("f9", "ctrl+r")  # F9 takes the one that is not finished
        await me.type("screw dropped")
        await me.press("f9")
        assert "is off QA-01 FR" in me.verdict
    assert ask("SELECT state FROM fit_record") == [("removed",)]


async def test_a_rotor_comes_off_with_its_mark_and_a_tag(url: str) -> None:
    store = open_store(url)
    scene = Scene(store)
    with store.reading() as read:
        where = read.value("SELECT name FROM place WHERE id = ?", position_of(read, "FR").place_id)
        badge = read.value("SELECT code FROM person WHERE name = ?", TECHNICIAN)
    old = make_set(store, CCW_BLADE, at=scene.now, where=where)
    async with stations(url, start="aircraft") as me:
        await me.scan(badge)
        await me.press("f9")
        await me.scan(scene.job, scene.spot("FR"))
        assert f"take the old rotor {old} off" in me.verdict
        assert "old rotor on" in me.screen
        await me.press("f9")
        await me.type("L")
        await me.type("4")
        await me.type("300 hours reached")
        await me.press("f9")
        assert me.verdict.startswith("DONE: ")
        assert "needs CCW: scan a rotor set" in me.verdict
    with store.reading() as read:
        assert read.rows("SELECT sense_found, reason FROM removal") == [("CCW", "300 hours reached")]
        assert scene.state("FR") == "bare"
    store.close()


async def test_a_walk_with_one_wrong_mark_is_stopped_and_begun_again(url: str) -> None:
    store = open_store(url)
    scene = Scene(store)
    scene.all_four()
    with store.reading() as read:
        badge = read.value("SELECT code FROM person WHERE name = ?", TECHNICIAN)
    async with stations(url, start="aircraft") as me:
        await me.scan(badge)
        await me.press("f9")
        await me.scan(scene.job)
        await me.press("f9")
        for name, mark in (("FR", "L"), ("RL", "R"), ("FL", "R"), ("RR", "R")):
            assert f"{name}" in me.verdict  # still to see
            await me.scan(scene.spot(name))
            await me.type(mark)
        await me.press("f9")
        assert me.verdict.startswith("STOP: ")
        assert scene.sets[3] in me.verdict  # the set at RL
        assert (
            f"F9 begins the walk again, in case a mark was misread; Ctrl+R takes {scene.sets[3]} off RL."
            in me.verdict
        )
        await me.press("f9")
        assert "Still to see: FR, RL, FL, RR" in me.verdict
    assert {scene.state(name) for name, _ in AROUND} == {"inspected"}
    store.close()


async def test_the_rotor_that_stopped_a_walk_comes_off_by_one_key(url: str) -> None:
    store = open_store(url)
    scene = Scene(store)
    scene.all_four()
    with store.reading() as read:
        badge = read.value("SELECT code FROM person WHERE name = ?", TECHNICIAN)
    async with stations(url, start="aircraft") as me:
        await me.scan(badge)
        await me.press("f9")
        await me.scan(scene.job)
        await me.press("f9")
        for name, mark in (("FR", "L"), ("RL", "R"), ("FL", "R"), ("RR", "R")):
            await me.scan(scene.spot(name))
            await me.type(mark)
        await me.press("f9", "ctrl+r")
        assert f"Take {scene.sets[3]} off RL" in me.screen
        assert me.app.screen.query_one("#field-purpose", Input).value == "finding"
        for text in ("R", "4", "its mark says the other sense"):
            await me.type(text)
        await me.press("f9")
        assert me.verdict.startswith("DONE: "), me.screen
        assert scene.state("RL") == "bare"
        await me.press("ctrl+r")  # nothing is stopped any more
        assert "Nothing unfinished is chosen" in me.verdict
    store.close()


async def test_a_motor_test_is_asked_for_and_recorded_with_a_second_person(url: str) -> None:
    store = open_store(url)
    scene = Scene(store)
    scene.all_four()
    scene.walk()
    scene.change(SenseMap, {"revision": 1}, verified_event_id=None)
    _take_leftovers(scene)
    with store.reading() as read:
        badges = dict(read.rows("SELECT name, code FROM person"))
    async with stations(url, start="aircraft") as me:
        await me.scan(badges[TECHNICIAN])
        await me.press("f9")
        await me.scan(scene.job)
        assert "motor test" in me.verdict
        assert "NOT VERIFIED" in me.screen
        await me.press("f9")
        for sense in ("CCW", "ccw", "CW", "CW"):
            await me.type(sense)
        await me.type("sheet 7")
        await me.scan(badges[INSPECTOR])
        await me.press("f9")
        assert "is verified by motor test" in me.verdict
        await me.press("f9")
        assert me.verdict.startswith(f"DONE: {scene.job} is closed")
    store.close()


def _take_leftovers(scene: Scene) -> None:
    returning.return_leftovers(
        scene.store, job=scene.job, items=(Leftover(scene.bottle),), by=CLERK, at=scene.now
    )


async def test_escape_leaves_the_position_first_and_the_airframe_then(issued: World) -> None:
    async with stations(issued.url, start="aircraft") as me:
        await begin(me, issued)
        await me.press("f9")
        assert "needs CCW: scan a rotor set" in me.verdict
        await me.press("escape")
        assert "QA-01" in me.screen
        await me.press("escape")
        assert me.verdict == "NEXT: scan a job or an airframe."


async def test_an_airframe_without_a_job_gets_one(world: World, ask: Ask) -> None:
    async with stations(world.url, start="aircraft") as me:
        await me.scan(world.badge(TECHNICIAN))
        await me.press("f9")
        [(other,)] = ask("SELECT code FROM airframe WHERE tail = 'QA-02'")
        await me.scan(str(other))
        assert "open a job" in me.verdict
        await me.press("f9")
        await me.type("check the front")
        await me.type("FR, FL")
        await me.press("f9")
        assert "is open for QA-02: FR, FL" in me.verdict
    assert ask(
        "SELECT count(*) FROM job_position p JOIN job j ON j.id = p.job_id WHERE j.purpose = 'check the front'"
    ) == [(2,)]


async def test_a_set_without_a_position_and_a_stranger_s_label_are_told(issued: World) -> None:
    async with stations(issued.url, start="aircraft") as me:
        await begin(me, issued)
        await me.scan(issued.sets["CW"][0])
        assert "scan the tag of its position first" in me.verdict
        await me.scan("]d201095060001343521726")
        assert me.station.said.tone.is_against
