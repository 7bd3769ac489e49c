"""The bench sheet's moves, and scans read by the settings that are kept of this terminal's scanner."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from kittrack.domain.keyboards import Layout, as_typed_on
from kittrack.domain.moves import Move
from kittrack.domain.scanner_settings import ScannerSettings
from kittrack.services import terminals
from kittrack.store.database import open_store
from tests import factories
from tests.factories import CLERK, INSPECTOR, TAIL2, TECHNICIAN, after
from tests.tui.conftest import SEAL, World
from tests.tui.screens import Person, stations

Ask = Callable[[str], list[tuple[Any, ...]]]


async def sign_on(me: Person, world: World, name: str = CLERK) -> None:
    await me.scan(world.badge(name))
    await me.press("f9")


# ---- moves ---------------------------------------------------------------------------------------


async def test_a_kit_is_issued_without_touching_a_key(world: World, ask: Ask) -> None:
    async with stations(world.url) as me:
        await sign_on(me, world)
        await me.scan(Move.GO_AHEAD)
        assert me.verdict == "NEXT: scan a job."
        await me.scan(world.job, world.kit, world.badge(TECHNICIAN), SEAL, Move.GO_AHEAD)
        assert me.verdict.startswith(f"DONE: {world.kit} is issued, whole")
    assert ask("SELECT state FROM kit") == [("issued",)]


async def test_the_next_station_and_the_start_again(world: World) -> None:
    async with stations(world.url) as me:
        await sign_on(me, world)
        await me.scan(world.job)
        assert world.job in me.screen
        await me.scan(Move.START_AGAIN)
        assert world.job not in me.screen
        shown = []
        for _ in range(6):
            await me.scan(Move.NEXT_STATION)
            shown.append(me.station.mode)
        assert shown == ["aircraft", "office", "goods_in", "matching", "kitting", "counter"]


async def test_the_second_person_is_asked_for_where_one_is_needed_and_else_it_is_said(issued: World) -> None:
    async with stations(issued.url, start="aircraft") as me:
        await sign_on(me, issued, TECHNICIAN)
        await me.scan(Move.SECOND_PERSON)
        assert "Nothing waits for an inspector here" in me.verdict
        await me.scan(issued.job, issued.kit, SEAL, issued.positions["FR"], issued.sets["CCW"][0])
        await me.type("L")
        await me.scan(Move.GO_AHEAD)
        await me.scan(issued.torque_tool)
        await me.type("0.8 N m")
        await me.scan(Move.SECOND_PERSON)
        assert "Nothing here asks for a second person" in me.screen
        await me.scan(Move.NEXT_STATION)
        assert "finish it or leave it" in me.screen
        await me.scan(Move.GO_AHEAD)
        assert "is fastened" in me.verdict
        await me.scan(Move.SECOND_PERSON)
        assert "scan the inspector's badge" in me.verdict
        await me.scan(issued.badge(INSPECTOR))
        await me.type("L")
        assert "inspection passed" in me.verdict
        await me.press("f2")
        await me.scan(Move.SECOND_PERSON)
        assert "Nothing here waits for a second person" in me.verdict


async def test_no_move_confirms_an_override_and_none_has_read_the_cautions(world: World, ask: Ask) -> None:
    store = open_store(world.url)
    for part in (factories.CW_BLADE, factories.CCW_BLADE):
        factories.put_sets(store, part, 2, at=after(8))
    factories.put_in_stock(store, factories.SCREW, 40, at=after(8), lot_code="S-2")
    factories.put_in_stock(store, factories.WASHER, 40, at=after(8), lot_code="W-2")
    factories.put_bottle(store, volume_ul=10_000, at=after(8), expires_on="2199-12-31")
    own = factories.sealed_kit(store, at=after(9), seal="009999", airframe=TAIL2)
    store.close()
    async with stations(world.url) as me:
        await me.scan(world.badge(CLERK))
        await me.scan(Move.GO_AHEAD)
        assert "not confirmed by a scan" in me.screen
        assert me.app.name_signed_on == ""
        await me.press("f9")
        await me.scan(world.job, own, world.badge(TECHNICIAN), "009999", Move.GO_AHEAD)
        assert "was built for QA-02" in me.screen
        await me.scan(Move.SECOND_PERSON)
        assert "Scan the second person's badge" in me.screen
        await me.scan(world.badge(INSPECTOR))
        await me.type("the other one is grounded")
        await me.scan(Move.GO_AHEAD)
        assert "not confirmed by a scan; press F9 yourself" in me.screen
        assert ask("SELECT count(*) FROM override") == [(0,)]
        await me.scan(Move.START_AGAIN)
        assert "was built for QA-02, so F9 asks why" in me.verdict
    assert ask("SELECT count(*) FROM kit WHERE state = 'issued'") == [(0,)]


# ---- the scanner of this terminal ----------------------------------------------------------------


async def test_a_prefix_and_a_suffix_that_are_kept_of_this_terminal_are_taken_off_everywhere(
    issued: World,
) -> None:
    terminals.keep_settings(ScannerSettings("~x", "#"))
    async with stations(issued.url) as me:
        await me.scan(f"~x{issued.badge(CLERK)}#")
        await me.press("f9")
        assert me.app.name_signed_on == CLERK
        await me.scan(f"~x{issued.kit}#")
        await me.type("1")
        await me.scan(f"~x{SEAL}#")
        assert SEAL in me.screen
        assert f"{SEAL}#" not in me.screen
        await me.scan(f"~x{Move.START_AGAIN}#")
        assert "How does it come back?" in me.verdict


async def test_another_terminal_s_settings_are_not_this_one_s(world: World) -> None:
    terminals.keep_settings(ScannerSettings("~x", "#"), terminal="bench 9")
    async with stations(world.url) as me:
        await me.scan(f"~x{world.badge(CLERK)}#")
        assert me.app.name_signed_on == ""
        assert me.station.said.tone.is_against


async def test_settings_that_can_t_be_read_are_named_and_nothing_is_taken(
    issued: World, terminals_file: Path
) -> None:
    def break_settings() -> None:
        terminals_file.write_text("prefix =", encoding="utf-8")

    async with stations(issued.url) as me:
        await sign_on(me, issued)
        await me.scan(issued.kit)
        await me.type("1")
        break_settings()
        await me.scan(SEAL)
        assert "This is not TOML" in me.screen
        await me.press("escape")
        await me.scan(issued.job)
        assert "This is not TOML" in me.verdict
        assert str(terminals_file) in me.verdict.replace(" ", "")
        assert issued.job not in me.screen


@pytest.mark.parametrize("layout", [Layout.GERMAN, Layout.FRENCH])
async def test_a_code_that_fits_another_keyboard_is_refused_with_that_explanation(
    issued: World, layout: Layout
) -> None:
    """Source of what arrives: the layouts of xkeyboard-config, as `domain/keyboards.py` has them."""
    async with stations(issued.url) as me:
        await sign_on(me, issued)
        await me.scan(as_typed_on(issued.kit, layout=layout))
        assert me.verdict.startswith("NOT READ: The scanner types as on a US keyboard")
        assert str(layout) in me.verdict
        await me.scan(issued.job, issued.kit, as_typed_on(issued.job, layout=layout))
        assert str(layout) in me.verdict  # and is no seal
        assert "Seal read" not in me.screen


async def test_a_form_that_takes_a_second_person_is_not_recorded_by_a_scan(world: World, ask: Ask) -> None:
    async with stations(world.url, start="office") as me:
        await sign_on(me, world, factories.MANAGER)
        await me.press("f10")
        await me.type("say after how many idle")
        await me.type("5")
        await me.scan(Move.SECOND_PERSON)
        assert "Scan the second person's badge" in me.screen
        await me.scan(world.badge(INSPECTOR))
        await me.type("shared bench")
        await me.scan(Move.GO_AHEAD)
        assert "not confirmed by a scan" in me.screen
        assert ask("SELECT count(*) FROM setting_change") == [(0,)]
        await me.press("f9")
        assert "The stations lock after 5 idle minutes" in me.verdict
    assert ask("SELECT new FROM setting_change") == [("5",)]
