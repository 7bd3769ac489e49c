"""A morning at Kitting, by keys and scans only: built, checked by another person, sealed, put away, labelled."""

from collections.abc import Callable
from pathlib import Path

from kittrack.store.database import open_store
from tests import factories
from tests.factories import BUILDER, CLERK, after
from tests.tui.conftest import World
from tests.tui.screens import stations
from tests.tui.snapshots import assert_screen
from tests.tui.test_deeds import fill, open_form, sign_on
from tests.tui.test_lists import to_list
from tests.tui.test_signing import PIN, set_pin

Rows = Callable[[str], list[tuple[object, ...]]]


def more_sets(world: World) -> None:
    store = open_store(world.url)
    for part in (factories.CW_BLADE, factories.CCW_BLADE):
        factories.put_sets(store, part, 2, at=after(20), lot_code="MORE")
    factories.put_bottle(store, volume_ul=10_000, at=after(20), expires_on="2199-12-31", lot_code="TL-2")
    store.close()


async def test_a_kit_is_built_checked_sealed_put_away_and_labelled(
    world: World, ask: Rows, tmp_path: Path
) -> None:
    more_sets(world)
    label = tmp_path / "kit.pdf"
    async with stations(world.url, start="kitting") as me:
        await sign_on(me, world, BUILDER)
        await to_list(me, "ship sets")
        assert "F9 build a kit" in me.screen
        await me.press("f9")
        await fill(me, bench="Bench 1", revision="QA A")
        await me.press("f9")
        assert "Next, F9: check the kit" in me.verdict, me.screen
        await me.press("f9", "f9")
        assert "R8" in me.screen
        await me.press("escape")
        [(kit,)] = ask("SELECT code FROM kit ORDER BY id DESC LIMIT 1")
        await me.press("f12")
        await sign_on(me, world, CLERK)
        await me.scan(str(kit))
        assert "Next, F9: check the kit" in me.verdict
        assert_screen("kitting-check", me.screen)
        await me.press("f9", "f9")
        assert f"Next, F9: seal the kit ({kit})" in me.verdict, me.screen
        await me.press("f9")
        await fill(me, seal="004418")
        await me.press("f9")
        assert f"Next, F9: put the kit away ({kit})" in me.verdict, me.screen
        await me.press("f9")
        await fill(me, to_place="A-02")
        await me.press("f9")
        assert f"Next, F9: draw its label ({kit})" in me.verdict, me.screen
        await me.press("f9")
        await fill(me, into=str(label))
        await me.press("f9")
        assert me.verdict.startswith("DONE: "), me.screen
    assert ask("SELECT state FROM kit ORDER BY id DESC LIMIT 1") == [("sealed",)]
    assert label.stat().st_size > 1000


async def test_the_second_person_checks_and_seals_in_place_and_nobody_is_signed_off(
    world: World, ask: Rows
) -> None:
    more_sets(world)
    set_pin(world, CLERK)
    async with stations(world.url, start="kitting") as me:
        await sign_on(me, world, BUILDER)
        await open_form(me, "begin a kit")
        await fill(me, bench="Bench 1", revision="QA A")
        await me.press("f9")
        await me.press("f9")
        assert "line 1: CW 2 rotor set RB-18-CW" in me.screen
        await me.press("f9")
        assert "let another person do it" in " ".join(me.screen.split())
        await me.scan(world.badge(CLERK))
        await me.press("f9")
        assert f"{BUILDER} stays signed on" in " ".join(me.screen.split())
        await me.type(PIN)
        assert f"checked by {CLERK}" in me.verdict, me.screen
        assert f"signed on: {BUILDER}" in me.screen
        await me.press("f9")
        await fill(me, seal="004418")
        await me.scan(world.badge(CLERK))
        await me.press("f9")
        await me.type(PIN)
        assert "is sealed with 004418" in me.verdict, me.screen
    assert ask(
        "SELECT b.name, s.name FROM event e JOIN person b ON b.id = e.by_id JOIN person s ON s.id = e.second_id "
        "ORDER BY e.id DESC LIMIT 1"
    ) == [(BUILDER, CLERK)]
    assert ask(
        "SELECT p.name FROM kit k JOIN person p ON p.id = k.checked_by_id ORDER BY k.id DESC LIMIT 1"
    ) == [(CLERK,)]


async def test_a_kit_for_an_arm_is_short_of_nothing_that_it_does_not_cover(world: World, ask: Rows) -> None:
    more_sets(world)
    async with stations(world.url, start="kitting") as me:
        await sign_on(me, world, BUILDER)
        await open_form(me, "begin a kit")
        await fill(me, bench="Bench 1", airframe="QA-01", arm="FR")
        await me.press("f9")
        assert me.verdict.startswith("DONE: "), me.screen
        [(kit,)] = ask("SELECT code FROM kit ORDER BY id DESC LIMIT 1")
        await me.press("f11")
        assert "positions FR CCW" in me.screen
        await me.press("escape")
        await me.press("f10")
        assert f"in hand: {kit}" in me.screen


async def test_a_wrong_choice_of_positions_is_told_and_stays(world: World) -> None:
    async with stations(world.url, start="kitting") as me:
        await sign_on(me, world, BUILDER)
        await open_form(me, "begin a kit")
        await fill(me, bench="Bench 1", revision="QA A", arm="FR", group="front")
        await me.press("f9")
        assert "Positions are one arm, one group or a list of names" in " ".join(me.screen.split())
        assert "front" in me.screen
