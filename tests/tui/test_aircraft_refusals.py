"""At the Aircraft what can't be done is told at the scan, and what is done instead is named and led to by F9."""

from collections.abc import Callable
from datetime import date
from typing import Any

from kittrack.services import founding, holding, jobs, returning, sense_maps, set_breaking
from kittrack.services.returning import Leftover
from kittrack.store.database import open_store
from kittrack.store.recall_scope import Scope
from kittrack.store.records import Piece, TorqueRecord
from tests.aircraft_scene import Scene, open_job
from tests.factories import CLERK, INSPECTOR, MANAGER, TAIL, TAIL2, TECHNICIAN, after
from tests.tui.conftest import SEAL, World
from tests.tui.screens import Person, stations

Ask = Callable[[str], list[tuple[Any, ...]]]


async def sign_on(me: Person, badge: str) -> None:
    await me.scan(badge)
    await me.press("f9")  # the cautions


def badges_of(scene: Scene) -> dict[str, str]:
    with scene.store.reading() as read:
        return dict(read.rows("SELECT name, code FROM person"))


def blades_of(scene: Scene, rotor_set: str) -> list[str]:
    with scene.store.reading() as read:
        sql = "SELECT h.piece_id FROM holding h JOIN rotor_set s ON s.place_id = h.place_id WHERE s.code = ?"
        return [read.get(Piece, row[0]).code for row in read.rows(sql, rotor_set)]


async def test_a_single_blade_is_refused_at_a_position_and_its_set_is_named(url: str) -> None:
    scene = Scene(open_store(url))
    blade = blades_of(scene, scene.sets[2])[0]
    async with stations(url, start="aircraft") as me:
        await sign_on(me, badges_of(scene)[TECHNICIAN])
        await me.scan(scene.spot("FR"), blade)
        assert me.verdict.startswith(
            f"REFUSED: {blade} is a single piece of {scene.sets[2]}; only a whole set"
        )
        assert me.verdict.endswith("(R1)")
    scene.store.close()


async def test_a_set_that_was_taken_apart_is_refused_and_no_longer_counted_as_what_the_job_holds(
    url: str,
) -> None:
    scene = Scene(open_store(url))
    set_breaking.break_set(
        scene.store, rotor_set=scene.sets[2], reason="nick", by=INSPECTOR, at=scene.now,
        damaged=blades_of(scene, scene.sets[2])[:1],
    )  # fmt: skip
    async with stations(url, start="aircraft") as me:
        await sign_on(me, badges_of(scene)[TECHNICIAN])
        await me.scan(scene.job)
        assert f"{scene.job} holds 1 of the 2 CCW sets to be fitted" in me.verdict
        assert "kit make-good" in me.verdict
        assert scene.sets[2] not in me.screen
        await me.scan(scene.spot("FR"), scene.sets[2])
        assert me.verdict.startswith(f"REFUSED: Set {scene.sets[2]} is broken and is never issued again")
        assert "(R1)" in me.verdict
    scene.store.close()


async def test_the_motor_test_comes_before_the_walk_and_the_close_is_refused_without_it(url: str) -> None:
    scene = Scene(open_store(url))
    scene.all_four()
    badges = badges_of(scene)
    async with stations(url, start="aircraft") as me:
        sense_maps.record_motor_work(
            scene.store, airframe=TAIL, work="motor", positions=("FR",), reason="bearing", by=TECHNICIAN, at=me.app.now()
        )  # fmt: skip
        await sign_on(me, badges[TECHNICIAN])
        await me.scan(scene.job)
        assert "verify the sense map by a motor test with rotors off. F9 records it." in me.verdict
        await me.press("f10")
        await me.type("job close")
        await me.press("f9")
        assert "QA-01 FR was not walked in the last check" in me.screen
        assert "Ctrl+Down more of this" in me.screen
        for _ in range(4):
            await me.press("ctrl+down")
        assert "The sense map is not verified by a motor test" in me.screen
        assert "(R17)" in me.screen
        await me.press("escape")
        await me.press("f9")
        for sense in ("CCW", "CCW", "CW", "CW"):
            await me.type(sense)
        await me.type("sheet 9")
        await me.scan(badges[INSPECTOR])
        await me.press("f9")
        assert "is verified by motor test" in me.verdict
        assert "Next: walk all positions" in me.verdict
    scene.store.close()


async def test_a_bare_position_of_a_blocked_job_leads_to_the_finding_and_back(url: str) -> None:
    scene = Scene(open_store(url))
    scene.whole("FR", scene.sets[2], "L")
    scene.remove("FR", "L", screws_out=3)
    badges = badges_of(scene)
    async with stations(url, start="aircraft") as me:
        await sign_on(me, badges[TECHNICIAN])
        await me.scan(scene.spot("FR"))
        assert f"FR: {scene.job} is blocked by finding" in me.verdict
        assert "An inspector or a manager settles it: F9." in me.verdict
        assert "F9 settles the finding >" in me.screen
        await me.press("f9")
        await me.type("it lay on the bench")
        await me.scan(badges[INSPECTOR])
        await me.press("f9")
        assert "Next: FR needs CCW: scan a rotor set." in me.verdict
        assert "rotor set >" in me.screen
    scene.store.close()


async def test_who_can_t_inspect_is_told_at_their_badge_before_any_mark_is_read(url: str) -> None:
    scene = Scene(open_store(url))
    scene.fit("FR", scene.sets[2], "L")
    scene.fasten("FR")
    badges = badges_of(scene)
    async with stations(url, start="aircraft") as me:
        await sign_on(me, badges[TECHNICIAN])
        await me.scan(scene.spot("FR"), badges[CLERK])
        assert me.verdict.startswith(f"REFUSED: {CLERK} is not an inspector")
        await me.scan(badges[TECHNICIAN])
        assert f"{TECHNICIAN} worked on QA-01 FR and can't inspect it" in me.verdict
        assert "inspector's badge >" in me.screen
        today = me.app.now().date()
        founding.declare_alone(
            scene.store, person=badges[TECHNICIAN], from_on=today, until_on=date(2199, 1, 1), reason="alone on the hill",
            by=MANAGER, at=me.app.now(),
        )  # fmt: skip
        await me.scan(badges[TECHNICIAN])
        assert me.verdict.startswith("NEXT: RE-INSPECTION of FR")
        assert "A manager declared that nobody else is there" in me.verdict
        await me.type("L")
        assert "re-inspection by the person who fitted it" in me.verdict
    scene.store.close()


async def test_a_mark_that_stops_the_hand_is_read_again_after_the_set_is_scanned_again(url: str) -> None:
    scene = Scene(open_store(url))
    async with stations(url, start="aircraft") as me:
        await sign_on(me, badges_of(scene)[TECHNICIAN])
        await me.scan(scene.spot("FR"), scene.sets[2])
        await me.type("R")
        assert me.verdict.startswith("STOP: ")
        assert f"To read it once more, scan {scene.sets[2]} again." in me.verdict
        await me.scan(scene.sets[2])
        await me.type("L")
        assert "label, mark and map agree" in me.verdict
    scene.store.close()


async def test_nobody_s_walk_goes_on_with_what_another_person_saw(url: str) -> None:
    scene = Scene(open_store(url))
    scene.all_four()
    badges = badges_of(scene)
    async with stations(url, start="aircraft") as me:
        await sign_on(me, badges[INSPECTOR])
        await me.scan(scene.job)
        await me.press("f9")
        await me.scan(scene.spot("FR"))
        await me.type("L")
        await me.press("f12")
        await me.scan(scene.spot("RL"))
        assert "Nobody is signed on" in me.verdict
        await sign_on(me, badges[TECHNICIAN])
        await me.scan(scene.spot("RL"))
        assert me.verdict.startswith("NEXT: the walk was begun by another person")
        assert "Still to see: FR, RL, FL, RR." in me.verdict
        for name, mark in (("FR", "L"), ("RL", "L"), ("FL", "R"), ("RR", "R")):
            await me.scan(scene.spot(name))
            await me.type(mark)
        await me.press("f9")
        assert "All 4 rotors of QA-01 agree" in me.verdict
    scene.store.close()


# ---- kits that are scanned here ------------------------------------------------------------------


async def test_a_kit_leads_to_the_airframe_that_it_is_out_for(issued: World, ask: Ask) -> None:
    store = open_store(issued.url)
    other = open_job(store, at=after(30), tail=TAIL2)
    store.close()
    async with stations(issued.url, start="aircraft") as me:
        await sign_on(me, issued.badge(TECHNICIAN))
        await me.scan(other)
        assert TAIL2 in me.screen
        await me.scan(issued.kit)
        assert f"{issued.kit} is for {TAIL}, another airframe than before." in me.verdict
        assert issued.job in me.screen
        await me.type(SEAL)
        assert "Next: begin with QA-01 FR." in me.verdict
        await me.scan(issued.kit)  # once more, although it is open
        assert me.verdict.startswith(f"NEXT: {issued.kit} was opened for {issued.job}")
        assert "seal >" not in me.screen


async def test_a_kit_that_nobody_was_given_asks_for_no_seal(world: World) -> None:
    async with stations(world.url, start="aircraft") as me:
        await sign_on(me, world.badge(TECHNICIAN))
        await me.scan(world.kit)
        assert me.verdict.startswith(f"NOT FOUND: {world.kit} is sealed and out for no job; issue it")
        assert "seal >" not in me.screen


async def test_a_kit_that_is_held_is_brought_back_sealed(issued: World) -> None:
    async with stations(issued.url, start="aircraft") as me:
        await sign_on(me, issued.badge(TECHNICIAN))
        store = open_store(issued.url)
        holding.place_hold(
            store, scope=Scope(code=issued.kit), reason="wet", reference="", by=CLERK, at=me.app.now()
        )
        store.close()
        await me.scan(issued.kit, SEAL)
        assert "(R6)" in me.verdict
        assert f"Leave {issued.kit} sealed and bring it back" in me.verdict


# ---- what is left over for another day -------------------------------------------------------------


async def test_what_was_left_unfinished_is_told_as_such_after_another_act(url: str) -> None:
    scene = Scene(open_store(url))
    scene.fit("FR", scene.sets[2], "L")
    async with stations(url, start="aircraft") as me:
        await sign_on(me, badges_of(scene)[TECHNICIAN])
        await me.scan(scene.job)
        await me.press("f10")
        await me.type("job lose")
        await me.scan(scene.screws)
        await me.type("fell into the grass")
        await me.press("f9")
        assert f"NOT FINISHED: QA-01 FR, begun by {TECHNICIAN}." in me.verdict
    scene.store.close()


async def test_a_re_torque_that_is_due_is_what_comes_next(url: str) -> None:
    scene = Scene(open_store(url))
    scene.all_four()
    scene.walk()
    back = [Leftover(scene.bottle)]
    returning.return_leftovers(scene.store, job=scene.job, items=back, by=CLERK, at=scene.now)
    jobs.close_job(scene.store, job=scene.job, by=TECHNICIAN, at=scene.now)
    scene.fly(minutes=600, flights=9)
    badges = badges_of(scene)
    with scene.store.reading() as read:
        tool = read.value("SELECT code FROM tool WHERE kind = 'torque'")
    async with stations(url, start="aircraft") as me:
        await sign_on(me, badges[TECHNICIAN])
        await me.type(TAIL)
        assert "the re-torque is due at FR, RL, FL, RR; F9 begins with FR." in me.verdict
        await me.press("f9")
        assert "FR: the screws of" in me.verdict
        await me.press("f9")
        assert "Re-torque FR (CCW)" in me.screen
        await me.scan(tool)
        await me.type("0.8 N m")
        await me.press("f9")
        assert me.verdict.startswith("DONE: QA-01 FR is torqued again.")
        assert "Next: the re-torque is due at RL, FL, RR; F9 begins with RL." in me.verdict
    with scene.store.reading() as read:
        assert read.select(TorqueRecord)[-1].purpose == "re-torque"
    scene.store.close()
