"""A newcomer without a store: what there is to do, a store that is founded, and nothing made where somebody leaves."""

import os
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

import pytest
from textual.pilot import Pilot

from kittrack.cli.deeds_of_verbs import deed_of
from kittrack.cli.verbs_store import VERBS
from kittrack.services.founding import is_founded
from kittrack.store.database import open_store
from kittrack.tui.deed_form import DeedForm
from kittrack.tui.first_run import Chosen, FirstRun
from tests.factories import after
from tests.tui.screens import feed, stations
from tests.tui.test_lists import to_list

FOUND = deed_of(next(verb for verb in VERBS if verb.words == "found"))


@asynccontextmanager
async def newcomer(url: str, *came_in: str) -> AsyncIterator[tuple[FirstRun, Pilot[int]]]:
    app = FirstRun(url, found=FOUND, clock=lambda: after(0), came_in=came_in)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause(0.3)
        yield app, pilot


def screen(app: FirstRun) -> str:
    strips = app.screen._compositor.render_strips()
    return "\n".join("".join(segment.text for segment in strip) for strip in strips)


async def fill(app: FirstRun, pilot: Pilot[int], **texts: str) -> None:
    form = app.screen
    assert isinstance(form, DeedForm)
    for name, text in texts.items():
        form.query_one(f"#field-{name}").value = text  # type: ignore[attr-defined]
    await pilot.pause()


async def test_a_store_is_founded_and_what_was_refused_stays_typed(tmp_path: Path) -> None:
    url = f"sqlite:///{tmp_path / 'first.kittrack'}"
    async with newcomer(url) as (app, pilot):
        assert "There is no store yet at" in screen(app)
        await pilot.press("enter")
        await pilot.pause(0.2)
        await fill(app, pilot, site="Home", time_zone="Nowhere/At all", manager="Manager One")
        await pilot.press("f9")
        await pilot.pause(1.5)
        assert "Nowhere/At all" in screen(app)
        assert app.is_running
        feed(app, "K000004-M\r")
        await pilot.pause(0.3)
        assert "this form has no use for it" in screen(app)
        await fill(app, pilot, time_zone="Europe/Oslo")
        await pilot.press("f9")
        await pilot.pause(1.5)
    assert app.chosen is Chosen.FOUND
    store = open_store(url)
    assert is_founded(store)
    store.close()


async def test_what_was_scanned_before_there_was_a_store_is_named_once(tmp_path: Path) -> None:
    url = f"sqlite:///{tmp_path / 'first.kittrack'}"
    codes = ("K000004-M", "J000001-8", "\x1b[2Jred", "X000001-T", "X000002-R")
    async with newcomer(url, *codes) as (app, pilot):
        told = " ".join(screen(app).split())
        assert "NOT TAKEN: K000004-M, J000001-8, " in told
        assert "red and 2 more; scan it again once there is one." in told
        assert "\x1b" not in told
        await pilot.press("enter")
        await pilot.pause(0.2)
        await pilot.press("escape")
        await pilot.pause(0.2)
        assert "There is no store yet at" in screen(app)
        assert "NOT TAKEN" not in screen(app)


@pytest.mark.parametrize(("keys", "chosen"), [(["down", "enter"], Chosen.DEMO), (["escape"], Chosen.LEAVE)])
async def test_nothing_is_made_where_somebody_looks_at_the_demo_or_leaves(
    tmp_path: Path, keys: list[str], chosen: Chosen
) -> None:
    url = f"sqlite:///{tmp_path / 'first.kittrack'}"
    async with newcomer(url) as (app, pilot):
        for key in keys:
            await pilot.press(key)
            await pilot.pause(0.2)
    assert app.chosen is chosen
    assert not os.listdir(tmp_path)  # noqa: PTH208 - nothing else runs any more


async def test_leaving_the_form_leads_back_to_the_choice(tmp_path: Path) -> None:
    async with newcomer(f"sqlite:///{tmp_path / 'first.kittrack'}") as (app, pilot):
        await pilot.press("enter")
        await pilot.pause(0.2)
        await pilot.press("escape")
        await pilot.pause(0.2)
        assert "look at the demo" in screen(app)


async def test_an_empty_store_says_at_each_station_what_to_do_first(tmp_path: Path) -> None:
    url = f"sqlite:///{tmp_path / 'first.kittrack'}"
    store = open_store(url, create=True)
    assert not is_founded(store)
    FOUND.calls(store, site="Home", time_zone="Europe/Oslo", manager="Manager One", at=after(0))
    store.close()
    async with stations(url, start="office") as me:
        assert "F9: load a catalogue folder." in me.verdict
        await me.press("f9")
        assert "Nobody is signed on" in me.verdict
        await me.press("f2")
        assert "F9: take a delivery in." in me.verdict
        await me.press("f4")
        assert "F9: build a kit." in me.verdict
        await me.press("f7")
        await to_list(me, "parts")
        assert "F9: load a catalogue folder." in me.verdict
