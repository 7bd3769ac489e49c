"""The stations' own forms, by keys: what is told by the labels, what is suggested and listed, what scans do."""

from collections.abc import Callable
from typing import Any

from textual.widgets import Input

from kittrack.store.database import open_store
from kittrack.tui.chooser import Chooser
from tests.aircraft_scene import Scene, make_set, position_of
from tests.factories import CCW_BLADE, CLERK, INSPECTOR, TECHNICIAN
from tests.tui.conftest import World
from tests.tui.screens import Person, stations
from tests.tui.test_aircraft import begin, fit
from tests.tui.test_form_choosing import seen

Ask = Callable[[str], list[tuple[Any, ...]]]


def field(me: Person, name: str) -> Input:
    return me.app.screen.query_one(f"#field-{name}", Input)


async def at_old_rotor(me: Person, scene: Scene) -> None:
    """Sign on and open the form that takes an old rotor off."""
    with scene.store.reading() as read:
        where = read.value("SELECT name FROM place WHERE id = ?", position_of(read, "FR").place_id)
        badge = read.value("SELECT code FROM person WHERE name = ?", TECHNICIAN)
    make_set(scene.store, CCW_BLADE, at=scene.now, where=where)
    await me.scan(badge)
    await me.press("f9")
    await me.scan(scene.job, scene.spot("FR"))
    await me.press("f9")


async def test_what_is_wrong_is_told_by_the_label_of_its_field(url: str) -> None:
    scene = Scene(open_store(url))
    async with stations(url, start="aircraft") as me:
        await at_old_rotor(me, scene)
        assert field(me, "mark").has_focus
        await me.press("f9")
        assert "NOT READ: Why it comes off is empty." in me.screen
        assert "reason:" not in me.screen
        await me.type("300 hours")
        assert field(me, "purpose").has_focus
        await me.type("transport")
        await me.press("f9")
        said = " ".join(me.screen.split())
        assert "NOT READ: Transport: to: A set taken off for transport goes to a bin" in said
        assert "to_place:" not in said
        assert field(me, "to_place").has_focus
    scene.store.close()


async def test_f4_lists_what_fixed_words_mean_in_a_station_s_own_form(url: str) -> None:
    scene = Scene(open_store(url))
    async with stations(url, start="aircraft") as me:
        await at_old_rotor(me, scene)
        field(me, "purpose").focus()
        await me.press("f4")
        assert isinstance(me.app.screen, Chooser)
        assert "it comes off for a journey and goes back on" in me.screen
        await me.press("down", "enter")
        assert field(me, "purpose").value == "transport"
    scene.store.close()


async def test_what_the_job_holds_is_listed_for_a_hub_and_a_tool_is_suggested(issued: World) -> None:
    async with stations(issued.url, start="aircraft") as me:
        await begin(me, issued)
        await fit(me, issued, "FR", issued.sets["CCW"][0], "L")
        await me.press("f9")
        screws = field(me, "part0").value
        field(me, "part0").focus()
        await me.press("f4")
        assert f"1 {screws} 16 in the job" in " ".join(me.screen.split())
        await me.press("escape")
        field(me, "tool").focus()
        for key in issued.torque_tool[:7]:
            await me.send_key(key)
        await seen(me, f"Right takes {issued.torque_tool}")
        await me.press("end")
        await me.scan(issued.job)
        assert f"{issued.job} is a job; this form has no use for it." in me.screen


async def test_how_the_numbers_of_a_station_s_form_came_in_is_kept_with_those_of_the_station(
    issued: World, ask: Ask
) -> None:
    async with stations(issued.url, start="aircraft") as me:
        await begin(me, issued)
        await fit(me, issued, "FR", issued.sets["CCW"][0], "L")
        await me.scan(issued.positions["FR"])
        await me.press("f9")
        await me.type("8 N m")
        await me.type(issued.torque_tool)
        await me.press("f9")
        assert "(R18)" in me.screen  # refused once, noted once
        field(me, "torque").focus()
        await me.type("0.8 N m")
        await me.press("f9")
        assert "is fastened" in me.verdict
    [(scanned, typed)] = ask("SELECT scanned, typed_texts FROM entry ORDER BY event_id DESC LIMIT 1")
    assert (scanned, typed) == (1, issued.torque_tool)


async def test_a_finding_is_settled_with_both_fields_told_by_their_labels(issued: World) -> None:
    async with stations(issued.url) as me:
        await me.scan(issued.badge(CLERK))
        await me.press("f9")
        await me.scan(issued.kit)
        await me.type("1")
        await me.press("f9")
        said = " ".join(me.screen.split())
        assert "NOT READ: Seal is empty. Where it goes is empty." in said
        await me.scan(issued.badge(INSPECTOR))
        assert "is a person; this form has no use for it." in me.screen
