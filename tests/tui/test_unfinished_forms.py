"""A form outlives the terminal that it was typed at: it is kept, told of at the next sign-on, filled in, never recorded by itself."""

import json
import stat
from collections.abc import Callable
from pathlib import Path
from typing import Any

from textual.widgets import Input

from kittrack.store import terminal_memory
from kittrack.tui.deed_form import DeedForm
from tests.factories import CLERK, INSPECTOR, TECHNICIAN
from tests.tui.conftest import World
from tests.tui.screens import Person, stations
from tests.tui.test_deeds import fill, loose_blades, open_form, sign_on

Ask = Callable[[str], list[tuple[Any, ...]]]
PIN = "48151623"


def files() -> list[Path]:
    """The files of forms on this computer."""
    return sorted(terminal_memory.folder().glob("*.form-*"))


async def kept(me: Person, count: int = 1) -> list[dict[str, Any]]:
    """What is kept, once it is that of so many forms."""
    for _ in range(100):
        found = [json.loads(path.read_text()) for path in files() if path.suffix == ".json"]
        if len(found) == count:
            return found
        await me.pilot.pause(0.05)
    raise AssertionError([path.name for path in files()])


async def kept_with(me: Person, text: str) -> dict[str, Any]:
    """What is kept of the one form, once a text stands in it."""
    for _ in range(100):
        found = [path.read_text() for path in files() if path.suffix == ".json"]
        if len(found) == 1 and text in found[0]:
            return dict(json.loads(found[0]))
        await me.pilot.pause(0.05)
    raise AssertionError([path.read_text() for path in files()])


def form_of(me: Person) -> DeedForm:
    form = me.app.screen
    assert isinstance(form, DeedForm)
    return form


async def leave_half_done(world: World) -> None:
    """A clerk types into the form that dissolves a kit, and the terminal is closed."""
    async with stations(world.url, start="kitting") as me:
        await sign_on(me, world)
        await open_form(me, "dissolve")
        await me.scan(world.kit)
        await fill(me, reason="wrong revision")
        await kept_with(me, "wrong revision")


async def test_a_form_is_offered_again_after_its_terminal_was_closed(world: World, ask: Ask) -> None:
    await leave_half_done(world)
    [path] = files()
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    async with stations(world.url, start="kitting") as me:
        await sign_on(me, world)
        told = " ".join(me.verdict.split())
        assert "Left unfinished on" in told
        assert "(kit dissolve). Nothing of it is recorded." in told
        await open_form(me, "dissolve")
        form = form_of(me)
        assert form.now == {"kit": world.kit, "to_bin": "", "reason": "wrong revision", "seal": ""}
        assert "TAKEN FROM THE FORM LEFT UNFINISHED" in me.screen
        for _ in range(100):
            if files() != [path]:
                break
            await me.pilot.pause(0.05)
        await kept(me)  # one file, and it is this run's now
    async with stations(world.url, start="kitting") as me:
        await sign_on(me, world)
        await open_form(me, "dissolve")
        await me.press("escape")
        assert "Esc again leaves and forgets" in me.screen
        await me.press("escape")
        await kept(me, 0)
        await open_form(me, "dissolve")
        assert form_of(me).now["reason"] == ""
    assert ask("SELECT state FROM kit") == [("sealed",)]


async def test_a_recorded_form_is_forgotten_and_a_refused_one_is_not(world: World, ask: Ask) -> None:
    async with stations(world.url, start="office") as me:
        await sign_on(me, world, TECHNICIAN)
        await me.press("ctrl+p")
        for key in "finding record":
            await me.send_key(key)
        await me.settle()
        await me.press("enter")
        await fill(me, text="nick at the tip")
        assert [one["fields"] for one in await kept(me)] == [{"text": "nick at the tip"}]
        await me.press("f9")
        assert "NOT" in me.screen or "REFUSED" in me.screen
        await kept_with(me, '"is_sent": false')
        await me.scan(world.positions["FR"])
        await me.press("f9")
        assert me.verdict.startswith("DONE: "), me.screen
        await kept(me, 0)
    assert ask("SELECT text FROM finding") == [("nick at the tip",)]


async def test_rows_and_what_a_scanner_put_there_come_back(world: World, ask: Ask) -> None:
    blades = loose_blades(world, 2)
    scale = str(ask("SELECT code FROM tool WHERE kind = 'scale'")[0][0])
    async with stations(world.url, start="matching") as me:
        await sign_on(me, world, INSPECTOR)
        await open_form(me, "what a scale showed")
        await me.scan(scale, blades[0])
        await fill(me, mass_ug="31.2 g", radius_um="96 mm")
        await me.scan(blades[1])
        await kept_with(me, blades[1])
    async with stations(world.url, start="matching") as me:
        await sign_on(me, world, INSPECTOR)
        await open_form(me, "what a scale showed")
        form = form_of(me)
        assert [row["piece"] for row in form.kept.added("weighings")] == [blades[0]]
        assert form.now["piece"] == blades[1]
        await fill(me, mass_ug="31.3 g")
        await me.press("f9")
        assert me.verdict.startswith("DONE: "), me.screen
        await kept(me, 0)
    weighed = ask("SELECT code, mass_ug FROM piece WHERE mass_ug IS NOT NULL ORDER BY id")
    assert weighed == [(blades[0], 31_200_000), (blades[1], 31_300_000)]
    assert ask("SELECT typed FROM entry ORDER BY id DESC LIMIT 1") == [(0,)]


async def test_no_secret_and_no_second_person_is_kept(world: World) -> None:
    async with stations(world.url, start="office") as me:
        await sign_on(me, world)
        await open_form(me, "one's own")
        await me.scan(world.badge(CLERK))
        await fill(me, pin=PIN, again=PIN)
        [one] = await kept(me)
        assert one["fields"] == {"person": world.badge(CLERK)}
        await me.press("escape", "escape")
        await kept(me, 0)
        await me.press("f5")
        await me.press("ctrl+p")
        for key in "scrap":
            await me.send_key(key)
        await me.settle()
        await me.press("enter")
        await fill(me, reason="cracked", second=INSPECTOR)
        [one] = await kept(me)
        assert one["fields"] == {"reason": "cracked"}
        assert not any(PIN in path.read_text() or INSPECTOR in path.read_text() for path in files())


async def test_what_is_in_hand_comes_first_and_a_key_takes_what_was_left(issued: World) -> None:
    await leave_half_done(issued)
    async with stations(issued.url, start="kitting") as me:
        await sign_on(me, issued)
        deed = next(d for d in (await me.app.all_deeds())["kitting"] if d.key == "kit dissolve")
        form = DeedForm(deed, given={"kit": "K000099-4"})
        me.app.push_screen(form)
        await me.settle()
        assert form.now["reason"] == ""
        assert "F6 fills it in instead" in " ".join(me.screen.split())
        await me.press("f6")
        assert form.now["kit"] == issued.kit
        assert form.now["reason"] == "wrong revision"
        assert "TAKEN FROM THE FORM LEFT UNFINISHED" in me.screen


async def test_nobody_else_is_told_or_offered_it(world: World) -> None:
    await leave_half_done(world)
    async with stations(world.url, start="kitting") as me:
        await sign_on(me, world, INSPECTOR)
        assert "Left unfinished" not in me.verdict
        await open_form(me, "dissolve")
        assert form_of(me).now["reason"] == ""
        assert "TAKEN FROM" not in me.screen


async def test_a_form_of_a_station_comes_back_for_the_same_thing_only(issued: World) -> None:
    async with stations(issued.url) as me:
        await sign_on(me, issued)
        await me.press("f9")
        await me.scan(issued.kit)
        await me.type("2")
        await fill(me, reason="wrong job")
        await kept_with(me, "wrong job")
    async with stations(issued.url) as me:
        await sign_on(me, issued)
        assert f"{issued.kit} comes back opened and complete" in " ".join(me.verdict.split())
        await me.press("f9")
        await me.scan(issued.kit)
        await me.type("1")
        assert "TAKEN FROM" not in me.screen
        await me.press("escape")
        await me.scan(issued.kit)
        await me.type("2")
        assert "TAKEN FROM THE FORM LEFT UNFINISHED" in me.screen
        assert me.app.screen.query_one("#field-reason", Input).value == "wrong job"
        await me.press("f9")
        assert me.verdict.startswith("DONE: "), me.screen
        await kept(me, 0)


async def test_a_form_that_was_being_recorded_says_so(world: World) -> None:
    await leave_half_done(world)
    [path] = files()
    path.write_text(json.dumps(json.loads(path.read_text()) | {"is_sent": True}))
    async with stations(world.url, start="kitting") as me:
        await sign_on(me, world)
        assert "It was being recorded: look in the log" in " ".join(me.verdict.split())
