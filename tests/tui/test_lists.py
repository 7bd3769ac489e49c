"""Lists filter while somebody types, look scans up, and turn pages by key however long the log is."""

from typing import Any, cast

import pytest

from kittrack.cli.deeds_of_verbs import all_deeds
from kittrack.services import founding
from kittrack.store.database import open_store
from kittrack.tui.answer_page import AnswerPage
from kittrack.tui.list_station import ListStation
from kittrack.tui.listing import PAGE
from kittrack.tui.lists import OfQuestion
from kittrack.tui.stations import load
from kittrack.tui.widgets.record_list import RecordList
from tests.factories import MANAGER, after
from tests.tui.conftest import World
from tests.tui.screens import Person, stations


def records(me: Person) -> RecordList:
    return me.station.query_one(RecordList)


async def to_list(me: Person, title: str) -> None:
    """Choose a list by F8."""
    await me.press("f8")
    for key in title:
        await me.send_key(key)
    await me.settle()
    await me.press("enter")
    assert me.verdict.startswith(f"NEXT: {title} (list"), me.verdict


async def test_typing_filters_and_escape_shows_all(world: World) -> None:
    async with stations(world.url, start="matching") as me:
        assert "4 shown" in me.verdict
        for key in "ccw":
            await me.send_key(key)
        await me.settle()
        assert "2 shown; filtered by 'ccw'" in me.verdict
        await me.press("escape")
        assert "4 shown" in me.verdict
        await me.type("no such thing")
        assert "0 shown; filtered by 'no such thing'" in me.verdict


async def test_a_scan_is_taken_in_hand_and_says_what_comes_next(world: World) -> None:
    async with stations(world.url, start="matching") as me:
        wanted = world.sets["CCW"][1]
        await me.scan(wanted)
        assert me.verdict == f"DONE: In hand: rotor set {wanted}.   Next, F9: explain its match."
        here = records(me).here
        assert here is not None
        assert here.key == wanted
        await me.scan(world.kit)
        assert "Next, F9: draw its label" in me.verdict
        assert "F9 draw its label" in me.screen
        assert "for QA A: sealed, in A-02" in me.screen
        await me.press("down")
        assert "F9 draw its label" not in me.screen
        await me.scan("R000099-5")
        assert me.verdict.startswith("NOT FOUND: ")
        await me.scan("]C10109506000134352")
        assert me.station.said.lines[0]


async def test_the_detail_says_in_full_what_a_line_has_no_room_for(world: World) -> None:
    async with stations(world.url, start="kitting", size=(100, 40)) as me:
        assert f"{world.kit} for QA A: sealed, in A-02" in me.screen
        assert "positions FR CCW, RL CCW, FL CW, RR CW" in me.screen
        assert "16 screws SC-M3x8" in me.screen


async def test_what_decided_is_a_key_away(world: World) -> None:
    async with stations(world.url, start="kitting") as me:
        await me.press("f11")
        assert isinstance(me.app.screen, AnswerPage)
        told = " ".join(me.screen.split())
        assert f"What decided: kit {world.kit}" in told
        for _ in range(12):
            await me.press("pagedown")
            told += " ".join(me.screen.split())
        assert "formula: " in told
        assert "source: " in told
        assert f"kit {world.kit} is made of" in told
        await me.press("escape")
        await me.press("ctrl+o")
        assert isinstance(me.app.screen, AnswerPage)
    async with stations(world.url, start="office") as me:
        await me.press("f11")
        assert "Nothing is in hand" in me.verdict


@pytest.mark.parametrize("mode", ["goods_in", "matching", "kitting", "office"])
@pytest.mark.parametrize("is_empty", [True, False])
async def test_every_list_opens_and_an_empty_one_says_so(
    world: World, url: str, mode: str, is_empty: bool
) -> None:
    async with stations(url if is_empty else world.url, start=mode) as me:
        station = me.station
        assert isinstance(station, ListStation)
        for number, listing in enumerate(station.lists):
            station._number = number
            me.app.then(station.start_again, station=station)
            await me.settle()
            assert me.verdict.startswith(
                f"NEXT: {listing.title} (list {number + 1} of {len(station.lists)}): "
            ), me.verdict
            if not records(me).here:
                assert listing.empty in me.verdict
                assert (listing.first is None) == ("F9: " not in me.verdict)


@pytest.mark.parametrize("mode", ["goods_in", "matching", "kitting", "office"])
def test_every_step_of_a_list_is_a_deed(mode: str) -> None:
    keys = {deed.key for deeds in all_deeds().values() for deed in deeds}
    lists = cast("type[ListStation]", load(mode)).lists
    steps = [listing.first.deed for listing in lists if listing.first]
    steps += [one.step.partition(":")[0] for one in lists if isinstance(one, OfQuestion) and one.step]
    questions = [one.question for one in lists if isinstance(one, OfQuestion)]
    assert set(steps) | set(questions) <= keys


async def test_the_log_turns_its_pages_by_key_and_holds_one_at_a_time(url: str) -> None:
    store = open_store(url)
    for number in range(PAGE + 30):
        founding.add_site(
            store, name=f"Site {number}", time_zone="Europe/Oslo", by=MANAGER, at=after(10 + number)
        )
    store.close()
    async with stations(url, start="office") as me:
        await to_list(me, "event log")
        first = shown(me)
        assert len(first) == PAGE
        records(me).move(PAGE)
        await me.settle()
        await me.press("down")
        second = shown(me)
        assert len(second) < PAGE
        assert first[-1] - 1 == second[0]
        assert second[-1] == 1
        await me.press("up")
        assert shown(me) == first
        here = records(me).here
        assert here is not None
        assert int(here.key) == first[-1]
        await me.type("Site 7")
        assert "found" in me.verdict


def shown(me: Person) -> list[int]:
    found: Any = records(me)._records
    return [int(record.key) for record in found]


async def test_broken_and_orphaned_show(world: World) -> None:
    async with stations(world.url, start="matching") as me:
        await to_list(me, "orphaned blades")
        assert "no blade is orphaned" in me.verdict
        await to_list(me, "sets not proved")
        assert "every set has its proof" in me.verdict
