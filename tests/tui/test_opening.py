"""The frame stands before the store is open: it takes what comes in, keeps it in order, and nothing is lost."""

import subprocess
import sys
import threading
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager

import pytest

from kittrack.cli.deeds_of_verbs import all_deeds
from kittrack.errors import StoreError
from kittrack.store.database import Store, open_store
from kittrack.tui.opening import Opening
from kittrack.tui.reading_page import ReadingPage
from kittrack.tui.sign_on_form import SignOnForm
from kittrack.tui.stations_app import StationsApp
from kittrack.tui.store_thread import StoreThread
from tests.factories import CLERK, TECHNICIAN
from tests.tui.conftest import SEAL, World
from tests.tui.screens import Person, feed, ticking
from tests.tui.test_never_lost import wait_for

_NOT_FOR_THE_FRAME = (
    "peewee",
    "sqlite3",
    "psycopg",
    "kittrack.store.",
    "kittrack.services",
    "kittrack.queries",
)


class Door:
    """Keeps a store from being opened until it is let."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, *, error: Exception | None = None) -> None:
        self._is_let = threading.Event()
        self._error = error
        monkeypatch.setattr("kittrack.store.database.open_store", self._open)

    def _open(self, url: str) -> Store:
        assert self._is_let.wait(30)
        if self._error is not None:
            raise self._error
        return open_store(url)

    async def let(self, me: Person) -> None:
        """Let the store be opened, and wait for the station."""
        self._is_let.set()
        await me.settle()


@asynccontextmanager
async def opening(url: str, door: Door) -> AsyncIterator[Person]:
    """The stations in front of a store that is not open yet."""
    thread = StoreThread(url)
    try:
        app = StationsApp(thread, clock=ticking(), deeds=all_deeds)
        async with app.run_test(size=(80, 24)) as pilot:
            me = Person(app, pilot)
            await wait_for(me, "NEXT: opening the store")
            assert isinstance(app.screen, Opening)
            yield me
    finally:
        door._is_let.set()
        thread.close()


@pytest.fixture
def door(monkeypatch: pytest.MonkeyPatch) -> Door:
    return Door(monkeypatch)


def test_the_frame_loads_nothing_that_knows_the_store() -> None:
    names = (
        "import sys, kittrack.__main__, kittrack.cli.stations, kittrack.tui.app, kittrack.tui.stations_app"
    )
    ran = subprocess.run(
        [sys.executable, "-c", f"{names}; print('\\n'.join(sys.modules))"], capture_output=True, text=True, check=True
    )  # fmt: skip
    loaded = set(ran.stdout.split()) - {"kittrack.store.addresses"}
    assert not [name for name in loaded if name.startswith(_NOT_FOR_THE_FRAME)]


async def test_the_frame_shows_where_one_is_and_takes_keys(world: World, door: Door) -> None:
    async with opening(world.url, door) as me:
        assert "> [Counter] >" in me.screen
        assert "nobody signed on" in me.screen
        assert "scan >" in me.screen
        await me.send_key("K")
        assert me.app.screen.query_one("#scan").has_focus
        await wait_for(me, "scan > K")
        await door.let(me)
        assert me.station.scan_line.text == "K"
        await me.send_key("1")
        await wait_for(me, "a job > K1")


async def test_what_is_typed_before_the_frame_stands_is_on_its_line(world: World) -> None:
    thread = StoreThread(world.url)
    try:
        app = StationsApp(thread, clock=ticking(), deeds=all_deeds)
        async with app.run_test(size=(80, 24)) as pilot:
            me = Person(app, pilot)
            app.screen.set_focus(None)
            for key in "BR4":
                feed(app, key)
            await wait_for(me, "> BR4")
            await me.settle()
            assert me.station.scan_line.text == "BR4"
    finally:
        thread.close()


async def test_scans_that_come_before_the_store_are_taken_in_their_order(world: World, door: Door) -> None:
    async with opening(world.url, door) as me:
        feed(me.app, f"{world.badge(CLERK)}\r{world.job}\r{world.kit}\r")
        await wait_for(me, world.kit)
        feed(me.app, f"{SEAL}\r")
        await wait_for(me, SEAL)
        for text in (world.badge(CLERK), world.job, world.kit, SEAL):
            assert f"Waits: {text}" in me.screen
        await door.let(me)
        await me.press("f9")  # the cautions, which the clerk reads for the first time
        await me.scan(world.badge(TECHNICIAN))
        assert me.verdict.startswith("READY: issue the whole kit")


async def test_a_typed_line_and_the_keys_after_it_wait_too(world: World, door: Door) -> None:
    async with opening(world.url, door) as me:
        for key in (*world.job, "\r"):
            await me.send_key(key)
        await wait_for(me, f"Waits: {world.job}")
        await me.pilot.press("escape")
        await me.pilot.press("f1")
        await door.let(me)
        assert isinstance(me.app.screen, ReadingPage)
        await me.press("escape")
        assert world.job not in me.screen
        assert me.verdict.endswith("scan a job.")


async def test_f12_asks_who_it_is_once_the_store_is_open(world: World, door: Door) -> None:
    async with opening(world.url, door) as me:
        await me.pilot.press("f12")
        await door.let(me)
        assert isinstance(me.app.screen, SignOnForm)


async def test_another_station_can_be_chosen_before_the_store_is_open(world: World, door: Door) -> None:
    async with opening(world.url, door) as me:
        await me.pilot.press("f6")
        await wait_for(me, "[Aircraft]")
        feed(me.app, f"{world.job}\r")
        await door.let(me)
        assert me.station.mode == "aircraft"
        assert world.job in me.screen


async def test_what_is_typed_while_the_station_comes_up_is_not_lost(
    world: World, door: Door, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with opening(world.url, door) as me:
        before = me.app.switch_mode

        def switch(mode: str) -> object:
            awaited = before(mode)
            feed(me.app, f"{world.job}\r")
            return awaited

        monkeypatch.setattr(me.app, "switch_mode", switch)
        feed(me.app, f"{world.badge(CLERK)}\r")
        await door.let(me)
        await me.press("f9")
        assert world.job in me.screen


@pytest.mark.parametrize("error", [StoreError("the disk fails"), RuntimeError("a fault")])
async def test_a_store_that_can_t_be_opened_ends_it_and_says_why(
    world: World, monkeypatch: pytest.MonkeyPatch, error: Exception
) -> None:
    door = Door(monkeypatch, error=error)
    async with opening(world.url, door) as me:
        door._is_let.set()
        while me.app.is_running:
            await me.pilot.pause(0.05)
    assert me.app.failed is error


@pytest.mark.parametrize("makes", [None, lambda url: open_store(url, create=True).close()])
async def test_no_store_and_an_empty_one_are_told_to_the_caller(
    store_url: str, monkeypatch: pytest.MonkeyPatch, makes: Callable[[str], None] | None
) -> None:
    if makes is not None:
        makes(store_url)
    door = Door(monkeypatch)
    async with opening(store_url, door) as me:
        feed(me.app, "K000004-M\r")
        await wait_for(me, "Waits: K000004-M")
        door._is_let.set()
        while me.app.is_running:
            await me.pilot.pause(0.05)
    assert me.app.has_no_store
    assert me.app.came_in == ["K000004-M"]
    assert me.app.failed is None
