"""Never blocked, never lost: long work that tells and can be stopped, a store that is locked or goes away."""

import sqlite3
import time
from collections.abc import Callable
from functools import partial
from typing import Any

import pytest
from textual.widgets import Input

from kittrack.progress import told_to
from kittrack.services import jobs
from kittrack.store.database import Store, open_store
from kittrack.store.engines import sqlite_path
from tests.factories import CLERK, TAIL2, TECHNICIAN, after
from tests.tui.conftest import SEAL, World
from tests.tui.screens import Person, feed, stations

Ask = Callable[[str], list[tuple[Any, ...]]]


def count_for_long(store: Store) -> int:
    """A question that no machine answers while a person waits."""
    with store.reading() as read:
        numbers = "WITH RECURSIVE c(x) AS (SELECT 1 UNION ALL SELECT x + 1 FROM c WHERE x < 3000000000)"
        return int(read.value(f"{numbers} SELECT count(*) FROM c"))


def tell_for_long(_store: Store) -> None:
    """Work that tells how far it is."""
    tell = told_to("blades")
    assert tell is not None
    for done in range(10_000):
        tell(done, 10_000)
        time.sleep(0.01)


def begin(me: Person, work: Callable[[Store], object]) -> None:
    async def step() -> None:
        await me.app.ask(work)

    me.app.then(step, station=me.station)


async def wait_for(me: Person, text: str, *, seconds: float = 15) -> None:
    """Wait until a text stands on the screen, without waiting for the work."""
    end = time.monotonic() + seconds
    while text not in me.screen:
        assert time.monotonic() < end, me.screen
        await me.pilot.pause(0.05)


@pytest.mark.parametrize("work", [count_for_long, tell_for_long])
async def test_long_work_says_so_and_esc_stops_it(both: World, work: Callable[[Store], object]) -> None:
    async with stations(both.url, size=(110, 30)) as me:
        begin(me, work)
        await wait_for(me, "one moment >")
        await wait_for(me, "Esc stops it")
        if work is tell_for_long:
            assert "of 10000 blades" in me.screen
        feed(me.app, "x")  # the screen takes keys meanwhile
        await me.pilot.pause(0.2)
        assert me.station.scan_line.text == "x"
        await me.pilot.press("escape")
        await me.settle()
        assert me.verdict.startswith("STORE: it was stopped")
        assert "nothing was recorded" in me.verdict
        await me.scan(both.job)
        assert both.job in me.screen


async def test_a_locked_store_is_told_in_the_form_that_stays_filled_and_works_later(
    issued: World, ask: Ask
) -> None:
    async with stations(issued.url) as me:
        await me.scan(issued.badge(CLERK))
        await me.press("f9")
        await me.scan(issued.kit)
        await me.type("2")
        await me.type("wrong job")
        other = sqlite3.connect(sqlite_path(issued.url), isolation_level=None)
        other.execute("BEGIN IMMEDIATE")
        await me.pilot.press("f9")
        await wait_for(me, "in use by another act")
        assert me.app.screen.query_one("#field-reason", Input).value == "wrong job"
        assert ask("SELECT state FROM kit") == [("issued",)]
        other.execute("ROLLBACK")
        other.close()
        await me.press("f9")
        assert me.verdict.startswith("DONE: ")
    assert ask("SELECT state FROM kit") == [("opened",)]


@pytest.mark.postgresql
@pytest.mark.parametrize("world_url", ["postgresql"], indirect=True)
async def test_a_connection_that_is_cut_loses_nothing_that_was_scanned(both: World) -> None:
    store = open_store(both.url)
    async with stations(both.url) as me:
        await me.scan(both.badge(CLERK))
        await me.press("f9")
        await me.scan(both.job, both.kit, both.badge(TECHNICIAN))
        with store.reading() as read:
            read.rows("SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = current_database() AND pid <> pg_backend_pid()")  # fmt: skip
        await me.scan(SEAL)
        assert me.verdict.startswith("READY: ")
        await me.press("f9")
        assert me.verdict.startswith("DONE: ")
    store.close()


async def test_an_act_is_not_stopped_half_way(world: World, ask: Ask) -> None:
    def open_slowly(store: Store) -> None:
        with store.all_or_nothing():
            time.sleep(2.5)
            jobs.open_job(store, airframe=TAIL2, purpose="slow", by=TECHNICIAN, at=after(60))

    async with stations(world.url) as me:
        begin(me, partial(open_slowly))
        await wait_for(me, "Esc stops it")
        await me.pilot.press("escape")
        await me.settle()
    assert ask("SELECT count(*) FROM job WHERE purpose = 'slow'") == [(1,)]
