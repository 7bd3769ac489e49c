"""What every screen has to be: whole at 80 x 24, the same without colour, in ASCII, with every key in its help."""

import re
from pathlib import Path

import pytest

from kittrack.services import founding
from kittrack.store.database import open_store
from kittrack.tui.keys import EVERYWHERE, STATIONS
from kittrack.tui.stations import load
from kittrack.tui.symbols import ASCII, UNICODE, sense_mark, symbols_for
from kittrack.tui.verdicts import Tone, verdict
from tests.factories import CLERK, MANAGER, TECHNICIAN, after
from tests.tui.conftest import World
from tests.tui.screens import Person, stations
from tests.tui.snapshots import assert_screen

MODES = [mode for mode, _ in STATIONS]


async def fill(me: Person, world: World, mode: str) -> None:
    """Have something on the screen."""
    if not me.app.name_signed_on:
        await me.scan(world.badge(CLERK))
        await me.press("f9")
    if mode == "counter":
        await me.scan(world.job, world.kit, world.badge(TECHNICIAN))
    if mode == "aircraft":
        await me.scan(world.job)


def words(screen: str) -> set[str]:
    return set(re.findall(r"[\w'.,:>()\[\]-]+", screen))


@pytest.mark.parametrize("mode", ["counter", "aircraft"])
async def test_a_small_terminal_shows_every_word_of_a_large_one(world: World, mode: str) -> None:
    shown = []
    for size in ((80, 24), (140, 40)):
        async with stations(world.url, start=mode, size=size) as me:
            await fill(me, world, mode)
            shown.append(words(me.screen))
    assert shown[1] - shown[0] <= {"more"}


async def test_the_flow_and_a_long_name_are_whole_on_80_columns(world: World) -> None:
    name = "Somebody With A Name As Long As Forty-Two"
    store = open_store(world.url)
    badge = founding.add_person(store, name=name, roles=("clerk",), by=MANAGER, at=after(30)).codes[0]
    store.close()
    async with stations(world.url) as me:
        await me.scan(badge)
        await me.press("f9")
        assert f"signed on: {name}" in me.screen
        assert "Goods-in > Matching > Kitting > [Counter] > Aircraft > Office" in me.screen


@pytest.mark.parametrize("mode", MODES)
async def test_every_station_says_what_to_do_first_and_can_be_left(url: str, mode: str) -> None:
    async with stations(url, start=mode) as me:
        assert me.verdict.startswith("NEXT: ")
        assert len(me.screen.split("\n")) == 24
        await me.press("f9")
        assert not me.verdict.startswith("FAULT")
        if me.app.screen is not me.station:  # where nothing comes next, F9 shows all that can be done
            await me.press("escape")
        await me.press("f5")
        assert me.station.mode == "counter"


@pytest.mark.parametrize("mode", MODES)
async def test_the_help_names_every_key_of_the_table(url: str, mode: str) -> None:
    async with stations(url, start=mode, size=(100, 60)) as me:
        await me.press("f1")
        own = load(mode).own_keys
        lines = me.screen.split("\n")
        for key in (*EVERYWHERE, *own):
            assert any(line.split()[:1] == [key.shown] for line in lines), key.shown
        await me.press("escape")
        assert "Help:" not in me.screen


@pytest.mark.parametrize("mode", MODES)
async def test_an_ascii_terminal_gets_ascii_only(
    world: World, mode: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("KITTRACK_ASCII", "1")
    store = open_store(world.url)
    founding.add_person(store, name="Årstein Ødegård", roles=("clerk",), by=MANAGER, at=after(30))
    store.close()
    async with stations(world.url, start=mode) as me:
        await me.press("f12")
        await me.type("Årstein Ødegård")
        assert me.screen.isascii()
        await me.press("f9")
        await fill(me, world, mode)
        assert me.screen.isascii()
        await me.press("f1")
        assert me.screen.isascii()


@pytest.mark.parametrize(
    ("environ", "encoding", "wanted"),
    [
        ({}, "UTF-8", UNICODE),
        ({}, "utf8", UNICODE),
        ({}, "ISO-8859-1", ASCII),
        ({}, "ANSI_X3.4-1968", ASCII),
        ({"KITTRACK_ASCII": "1"}, "UTF-8", ASCII),
        ({"KITTRACK_ASCII": "0"}, "UTF-8", UNICODE),
        ({"LANG": "C"}, "UTF-8", ASCII),  # Python says UTF-8 in the locale C, the terminal need not
        ({"LANG": "en_GB.UTF-8", "LC_ALL": "POSIX"}, "UTF-8", ASCII),
        ({"LANG": "C", "LC_CTYPE": "C.UTF-8"}, "UTF-8", UNICODE),
    ],
)
def test_the_symbols_follow_the_terminal(environ: dict[str, str], encoding: str, wanted: object) -> None:
    assert symbols_for(environ, encoding=encoding) == wanted


def test_a_locale_that_python_itself_changed_is_still_the_plain_one() -> None:
    environ = {"LANG": "C", "LC_CTYPE": "C.UTF-8"}
    assert symbols_for(environ, encoding="UTF-8", is_coerced=True) == ASCII


async def test_without_colour_the_same_words_stand_on_the_screen(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    texts = []
    for colour in (True, False):
        if not colour:
            monkeypatch.setenv("NO_COLOR", "1")
        async with stations(world.url) as me:
            await fill(me, world, "counter")
            texts.append(me.screen)
            greys = [me.is_grey(x, y) for y in range(24) for x in range(80)]
            assert all(greys) is not colour
    assert texts[0] == texts[1]


@pytest.mark.parametrize("tone", list(Tone))
def test_what_a_verdict_means_stands_in_its_first_word(tone: Tone) -> None:
    assert verdict(tone, "a sentence.").lines[0] == f"{tone.value}: a sentence."


def test_a_sense_is_told_by_word_and_arrow() -> None:
    assert (sense_mark("CW"), sense_mark("CCW"), sense_mark("")) == ("CW >", "CCW <", "no sense")


async def test_a_demo_says_so_on_every_station(url: str) -> None:
    async with stations(url, demo=True) as me:
        for number in range(2, 8):
            await me.press(f"f{number}")
            assert "DEMO" in me.screen.split("\n")[2] + me.screen.split("\n")[1]


async def test_a_long_verdict_says_that_it_goes_on_and_scrolls(world: World) -> None:
    async with stations(world.url) as me:
        me.station.say(verdict(Tone.NOT_YET, *(f"reason number {n}" for n in range(30))))
        await me.settle()
        assert "Ctrl+Down more of this" in me.screen
        assert "reason number 29" not in me.screen
        for _ in range(30):
            await me.pilot.press("ctrl+down")
        await me.settle()
        assert "reason number 29" in me.screen


async def test_light_and_dark(url: str) -> None:
    async with stations(url) as me:
        before = me.app.theme
        await me.press("ctrl+t")
        assert me.app.theme != before
        assert not me.app.current_theme.dark
        await me.press("ctrl+t")
        assert me.app.theme == before


async def test_the_office_looks_like_this(world: World) -> None:
    async with stations(world.url, start="office") as me:
        assert_screen("office-ship-sets", me.screen)


async def test_the_matching_station_looks_like_this(world: World) -> None:
    async with stations(world.url, start="matching") as me:
        assert_screen("matching-sets", me.screen)


async def test_the_kitting_station_looks_like_this(world: World) -> None:
    async with stations(world.url, start="kitting") as me:
        assert_screen("kitting-kits", me.screen)


async def test_an_unexpected_error_is_one_sentence_and_the_screen_stays(
    world: World, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    log = tmp_path / "log" / "kittrack.log"
    monkeypatch.setenv("KITTRACK_LOG", str(log))

    async def broken() -> None:
        raise ZeroDivisionError("secret words")

    async with stations(world.url) as me:
        me.app.then(broken, station=me.station)
        await me.settle()
        assert me.verdict.startswith(
            "FAULT: A fault of kittrack itself stopped this step (ZeroDivisionError)"
        )
        assert "secret words" not in me.screen
        await me.scan(world.badge(CLERK))
        await me.press("f9")
        assert me.app.name_signed_on == CLERK
    assert "ZeroDivisionError: secret words" in log.read_text(encoding="utf-8")
    assert log.stat().st_mode & 0o077 == 0
