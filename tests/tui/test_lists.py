"""Lists filter while somebody types, look scans up, and turn pages by key however long the log is."""

from typing import Any

from kittrack.services import founding
from kittrack.store.database import open_store
from kittrack.tui.listing import PAGE
from kittrack.tui.widgets.record_list import RecordList
from tests.factories import MANAGER, after
from tests.tui.conftest import World
from tests.tui.screens import Person, stations


def records(me: Person) -> RecordList:
    return me.station.query_one(RecordList)


async def to_list(me: Person, title: str) -> None:
    """Press F8 until a list is in front."""
    for _ in range(8):
        if me.verdict.startswith(f"NEXT: {title} (list"):
            return
        await me.press("f8")
    raise AssertionError(title)


async def test_typing_filters_and_escape_shows_all(world: World) -> None:
    async with stations(world.url, start="matching") as me:
        assert "4 in all" in me.verdict
        for key in "ccw":
            await me.send_key(key)
        await me.settle()
        assert "2 in all; filtered by 'ccw'" in me.verdict
        await me.press("escape")
        assert "4 in all" in me.verdict
        await me.type("no such thing")
        assert "0 in all; filtered by 'no such thing'" in me.verdict


async def test_a_scan_is_looked_up_and_chosen(world: World) -> None:
    async with stations(world.url, start="matching") as me:
        wanted = world.sets["CCW"][1]
        await me.scan(wanted)
        assert me.verdict == f"DONE: {wanted} is a rotor set, in {world.kit}."
        here = records(me).here
        assert here is not None
        assert here.key == wanted
        await me.scan("]C10109506000134352")
        assert me.station.said.lines[0]


async def test_the_detail_says_in_full_what_a_line_has_no_room_for(world: World) -> None:
    async with stations(world.url, start="kitting") as me:
        assert f"{world.kit} for QA A, sealed, in A-02" in me.screen
        assert "positions FR CCW, RL CCW, FL CW, RR CW" in me.screen


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
        await to_list(me, "sets with a breach")
        assert "every set is whole and proved" in me.verdict
