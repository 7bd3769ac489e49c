"""The Aircraft tells a newcomer what comes next: where the kit is, what is left over, what a finding takes, the end."""

from collections.abc import Callable
from datetime import date
from typing import Any

from kittrack.services import findings, fitting, holding, jobs, returning, sense_maps
from kittrack.services.returning import Leftover
from kittrack.store.database import open_store
from kittrack.store.recall_scope import Scope
from tests.aircraft_scene import Scene
from tests.factories import CLERK, INSPECTOR, TAIL, TECHNICIAN, after
from tests.tui.conftest import SEAL, World
from tests.tui.screens import Person, stations

Ask = Callable[[str], list[tuple[Any, ...]]]


async def sign_on(me: Person, badge: str) -> None:
    await me.scan(badge)
    await me.press("f9")  # the cautions


def badges_of(scene: Scene) -> dict[str, str]:
    with scene.store.reading() as read:
        return dict(read.rows("SELECT name, code FROM person"))


async def test_an_empty_station_shows_the_open_jobs_and_where_one_was_left_unfinished(url: str) -> None:
    scene = Scene(open_store(url))
    scene.fit("FR", scene.sets[2], "L")
    async with stations(url, start="aircraft") as me:
        [line] = [line for line in me.screen.split("\n") if scene.job in line]
        assert "QA-01" in line
        assert "NOT FINISHED: QA-01 FR" in line
        assert "rotor change" in line
    fitting.take_off_unfinished(
        scene.store, job=scene.job, position=scene.spot("FR"), reason="no light", by=TECHNICIAN, at=after(90)
    )
    async with stations(url, start="aircraft") as me:
        assert "rotor off: QA-01 FR" in me.screen
    scene.store.close()


async def test_a_job_without_its_kit_says_where_the_kit_is_until_it_is_opened(
    world: World, issued: World
) -> None:
    async with stations(issued.url, start="aircraft") as me:
        await sign_on(me, issued.badge(TECHNICIAN))
        await me.scan(issued.job)
        assert f"{issued.kit} is issued for it, to {TECHNICIAN}, and unopened" in me.verdict
        await me.scan(issued.kit, SEAL)
        assert "unopened" not in me.verdict
        shown = me.station.said.sentences
        assert shown[1].startswith("Next: begin with QA-01 FR.")  # in sight, however much came out of the kit
        assert "the job holds, not used yet:" in me.screen


async def test_a_job_that_nothing_is_issued_to_sends_to_the_counter(world: World) -> None:
    async with stations(world.url, start="aircraft") as me:
        await me.scan(world.job)
        assert (
            f"Nothing is issued to {world.job} yet; a clerk issues its kit at the Counter (F5)." in me.verdict
        )
    store = open_store(world.url)
    jobs.reserve(store, job=world.job, thing=world.kit, until=date(2199, 1, 31), by=CLERK, at=after(90))
    store.close()
    async with stations(world.url, start="aircraft") as me:
        await me.scan(world.job)
        assert f"{world.kit} in " in me.verdict
        assert "is kept for it until 2199-01-31: collect it at the Counter (F5)." in me.verdict


async def test_the_menu_begins_with_what_is_worked_on(issued: World) -> None:
    async with stations(issued.url, start="aircraft") as me:
        await sign_on(me, issued.badge(TECHNICIAN))
        await me.scan(issued.job, issued.positions["FR"])
        held = [str(code) for code in me.station.in_hand]
        assert held[:2] == [issued.positions["FR"], issued.job]
        await me.press("f10")
        assert f"in hand: {', '.join(held)}" in me.screen
        await me.type("map work")
        fields = {field.id: field.value for field in me.app.screen.query("Input").results()}  # type: ignore[attr-defined]
        assert fields["field-airframe"] == held[2]


async def test_another_tail_may_be_typed_while_one_is_worked_on(issued: World) -> None:
    async with stations(issued.url, start="aircraft") as me:
        await sign_on(me, issued.badge(TECHNICIAN))
        await me.scan(issued.job)
        await me.type("QA-02")
        assert "open a job for it" in me.verdict
        await me.type("QA-77")
        assert "or type another tail" in me.verdict
        assert "QA-02" in me.screen


async def test_the_picture_is_not_flipped_before_there_is_one(issued: World) -> None:
    async with stations(issued.url, start="aircraft") as me:
        await me.press("f8")
        await me.scan(issued.job)
        assert "SEEN FROM BELOW" not in me.screen


async def test_an_airframe_without_a_job_says_what_is_on_it_and_not_that_it_is_left_out(url: str) -> None:
    scene = Scene(open_store(url))
    async with stations(url, start="aircraft") as me:
        await sign_on(me, badges_of(scene)[TECHNICIAN])
        await me.type("QA-02")
        assert "not in this job" not in me.screen
        assert "no rotor" in me.screen
    scene.store.close()


async def test_a_finding_is_settled_where_it_stands_by_who_may(url: str) -> None:
    scene = Scene(open_store(url))
    findings.record_finding(
        scene.store, text="a chip in the arm.", position=scene.spot("FR"), by=TECHNICIAN, at=scene.now
    )
    badges = badges_of(scene)
    async with stations(url, start="aircraft") as me:
        await sign_on(me, badges[TECHNICIAN])
        await me.scan(scene.job)
        assert "a chip in the arm. An inspector or a manager settles it: F9." in me.verdict
        await me.press("f9")
        await me.type("filed smooth")
        await me.scan(badges[TECHNICIAN])
        await me.press("f9")
        assert "REFUSED: " in me.screen
        await me.scan(badges[INSPECTOR])
        await me.press("f9")
        assert me.verdict.startswith("DONE: Finding 1 is settled")
        assert "Next: begin with QA-01 FR." in me.verdict
    scene.store.close()


async def test_what_is_left_over_goes_to_the_counter_and_the_end_of_a_job_releases_nothing(url: str) -> None:
    scene = Scene(open_store(url))
    scene.all_four()
    scene.walk()
    badges = badges_of(scene)
    async with stations(url, start="aircraft") as me:
        await sign_on(me, badges[TECHNICIAN])
        await me.scan(scene.job)
        assert "Bring it to the Counter (F5)" in me.verdict
        returning.return_leftovers(
            scene.store, job=scene.job, items=(Leftover(scene.bottle),), by=CLERK, at=me.app.now()
        )
        await me.scan(scene.job)
        await me.press("f9")
        assert me.verdict.startswith(f"DONE: {scene.job} is closed.")
        assert "Nothing is released by this: the maker's manual and the person licensed" in me.verdict
        assert "torqued again" in me.verdict
        assert not me.station.query_one("#verdict").max_scroll_y  # whole at 80x24
    scene.store.close()


async def test_a_set_that_travelled_is_awaited_at_its_own_position_with_new_screws(url: str) -> None:
    scene = Scene(open_store(url))
    scene.all_four()
    with scene.store.reading() as read:
        van = read.value("SELECT code FROM place WHERE kind IN ('van', 'bin') ORDER BY id")
    scene.remove("FR", "L", purpose="transport", to_place=van)
    badges = badges_of(scene)
    async with stations(url, start="aircraft") as me:
        await sign_on(me, badges[TECHNICIAN])
        await me.scan(scene.spot("FR"))
        assert f"{scene.sets[2]} was taken off it for transport and goes back on it; scan it." in me.verdict
        await me.scan(scene.sets[2])
        await me.type("L")
        assert "label, mark and map agree" in me.verdict
        await me.press("f9")  # every screw that the job held is used up
        assert "THE JOB IS SHORT, it holds 0 of 4 " in me.screen
        assert "make-good kit" in me.screen
    scene.store.close()


async def test_a_walk_that_was_stopped_shows_that_it_begins_again(url: str) -> None:
    scene = Scene(open_store(url))
    scene.all_four()
    badges = badges_of(scene)
    async with stations(url, start="aircraft") as me:
        await sign_on(me, badges[TECHNICIAN])
        await me.scan(scene.job)
        await me.press("f9")
        for name, mark in (("FR", "R"), ("RL", "L"), ("FL", "R"), ("RR", "R")):
            await me.scan(scene.spot(name))
            await me.type(mark)
        await me.press("f9")
        assert me.verdict.startswith("STOP: ")
        assert "QA-01 FR" in me.verdict
        assert " seen\n" not in me.screen
    scene.store.close()


async def test_who_signs_on_at_an_airframe_is_told_its_next_step(issued: World) -> None:
    async with stations(issued.url, start="aircraft") as me:
        await me.scan(issued.job)
        await sign_on(me, issued.badge(TECHNICIAN))
        assert "Next: begin with QA-01 FR." in me.verdict


async def test_a_motor_test_of_the_menu_asks_for_every_motor_by_its_name(url: str) -> None:
    scene = Scene(open_store(url))
    badges = badges_of(scene)
    async with stations(url, start="aircraft") as me:
        await sign_on(me, badges[TECHNICIAN])
        sense_maps.record_motor_work(
            scene.store, airframe=TAIL, work="motor", positions=("FR",), reason="bearing", by=TECHNICIAN,
            at=me.app.now(),
        )  # fmt: skip
        await me.scan(scene.job)
        assert "NOT VERIFIED: test the motors while the rotors are off (F10, map test)." in me.verdict
        await me.press("f10")
        await me.type("map test")
        assert "Motor test, ROTORS OFF" in me.screen
        for sense in ("CW", "CCW", "CW", "CW"):  # the motor at FR was wired the wrong way round
            await me.type(sense)
        await me.type("sheet 8")
        await me.scan(badges[INSPECTOR])
        await me.press("f9")
        assert me.verdict.startswith("STOP: motor test: QA-01 FR turned CW, and the map says CCW")
        assert "New: " not in me.verdict  # the airframe's own number is no news
    scene.store.close()


async def test_what_is_recalled_on_an_airframe_stands_at_its_head(url: str) -> None:
    scene = Scene(open_store(url))
    scene.all_four()
    holding.place_hold(
        scene.store, scope=Scope(code=scene.screws), reason="heads may break", reference="bulletin 3", is_recall=True,
        by=CLERK, at=scene.now,
    )  # fmt: skip
    async with stations(url, start="aircraft") as me:
        await me.scan(scene.job)
        assert "RECALLED by " in me.screen
        assert "(heads may break): FR, RL, FL, RR" in " ".join(me.screen.split())
        assert "RE-TORQUE DUE" not in me.screen
        scene.fly(minutes=600, flights=9)
        await me.press("escape")
        await me.scan(scene.job)
        assert "RE-TORQUE DUE: FR, RL, FL, RR (F10, retorque)" in me.screen
    scene.store.close()


async def test_a_removed_set_that_is_refitted_elsewhere_is_sent_to_the_form_that_asks_for_it(
    url: str,
) -> None:
    scene = Scene(open_store(url))
    one = scene.make_removed_and_serviceable(from_position="RR")
    badges = badges_of(scene)
    async with stations(url, start="aircraft") as me:
        await sign_on(me, badges[TECHNICIAN])
        await me.scan(scene.spot("FL"), one)
        assert "F10, fit, asks for both" in me.verdict
        await me.press("f10")
        await me.type("fit")
        await me.scan(one)
        await me.type("R")
        await me.scan(badges[INSPECTOR])
        await me.type("no other set here")
        await me.press("f9")
        assert f"{one} (CW) matches QA-01 FL" in me.verdict
        assert "NOT FINISHED" in me.screen
    scene.store.close()


async def test_a_seal_is_read_again_and_a_kit_that_is_held_is_put_aside(issued: World) -> None:
    async with stations(issued.url, start="aircraft") as me:
        await sign_on(me, issued.badge(TECHNICIAN))
        await me.scan(issued.job, issued.kit)
        await me.type("004471")
        assert "(R5)" in me.verdict
        assert "seal >" in me.screen
        store = open_store(issued.url)
        holding.place_hold(
            store, scope=Scope(code=issued.kit), reason="wet", reference="", by=CLERK, at=me.app.now()
        )
        store.close()
        await me.type(SEAL)
        assert "(R6)" in me.verdict
        assert "position >" in me.screen


async def test_escape_leaves_a_position_of_the_walk_and_keeps_what_was_seen(url: str) -> None:
    scene = Scene(open_store(url))
    scene.all_four()
    async with stations(url, start="aircraft") as me:
        await sign_on(me, badges_of(scene)[TECHNICIAN])
        await me.scan(scene.job)
        await me.press("f9")
        await me.scan(scene.spot("FR"))
        await me.type("L")
        await me.scan(scene.spot("RL"))
        await me.press("escape")
        assert "Still to see: RL, FL, RR." in me.verdict
        await me.press("escape")
        assert "F9 begins the walk" in me.verdict
    scene.store.close()
