"""A morning at Matching, by keys and scans only: weigh blades, look at what is proposed, make sets, break one."""

from collections.abc import Callable
from pathlib import Path

import pytest

from kittrack.services import disposing, inspecting, set_breaking, weighing
from kittrack.services.inspecting import PieceFinding
from kittrack.services.moving import MoveSpec
from kittrack.services.weighing import PieceWeighing
from kittrack.store.database import open_store
from kittrack.tui.proposal_page import ProposalPage
from tests import factories
from tests.factories import CLERK, TECHNICIAN, after
from tests.tui.conftest import World
from tests.tui.screens import Person, stations
from tests.tui.snapshots import assert_screen
from tests.tui.test_deeds import fill, open_form, sign_on
from tests.tui.test_lists import to_list

Rows = Callable[[str], list[tuple[object, ...]]]
MASSES_MG = (42_000, 42_060, 42_010, 42_055, 43_000)


def loose_blades(world: World, *, weighed: bool) -> tuple[str, ...]:
    """Five loose blades; weighed, the first and third and the second and fourth match."""
    store = open_store(world.url)
    try:
        blades = factories.blades_on_shelf(
            store, factories.CW_BLADE, len(MASSES_MG), at=after(20), lot_code="LOOSE", place=factories.BIN,
            kind="bin", pairs=False,
        )  # fmt: skip
        if weighed:
            weighings = [
                PieceWeighing(code, mg * 1000, 100_000) for code, mg in zip(blades, MASSES_MG, strict=True)
            ]
            weighing.record_weighing(store, weighings=weighings, scale="Scale 1", by=CLERK, at=after(21))
        return blades
    finally:
        store.close()


async def propose(me: Person) -> ProposalPage:
    """From the list of loose blades to the proposal, the blades having rested at one stop."""
    await to_list(me, "loose blades")
    await me.press("f9")
    await me.press("f9")
    assert "NOT READ: one stop is empty" in me.screen  # nobody presumes how they lay on the scale
    await fill(me, one_stop="yes")
    await me.press("f9")
    page = me.app.screen
    assert isinstance(page, ProposalPage)
    return page


async def test_blades_are_weighed_looked_at_and_matched(world: World, ask: Rows) -> None:
    blades = loose_blades(world, weighed=False)
    async with stations(world.url, start="matching") as me:
        await sign_on(me, world)
        await to_list(me, "loose blades")
        assert "F9 weigh it" in me.screen
        await me.scan(blades[1])
        assert "Next, F9: weigh it." in me.verdict
        await me.press("escape", "f9")
        await fill(me, scale="Scale 1")
        for blade, milligrams in zip(blades, MASSES_MG, strict=True):
            await me.scan(blade)
            await fill(me, mass_ug=f"{milligrams / 1000} g")
            if blade == blades[0]:
                await fill(me, radius_um="100 mm")
        await me.press("f9")
        assert "static moment 4300.000 g mm" in me.verdict
        await propose(me)
        assert "Proposed, nothing is made yet: CW RB-18-CW" in me.screen
        assert ask("SELECT count(*) FROM rotor_set WHERE sense = 'CW'") == [(2,)]
        await me.press("f9")
        assert f"{blades[0]}, {blades[2]}" in me.screen or f"{blades[2]}, {blades[0]}" in me.screen
        await me.press("f9")
        assert ask("SELECT count(*) FROM rotor_set WHERE sense = 'CW'") == [(3,)]
        await me.press("f8")
        assert "DONE: 1 of 1 sets are made" in me.screen
        await me.press("escape")
        assert me.verdict.startswith("DONE: 2 sets made: R")
    made = ask(
        "SELECT s.code FROM rotor_set s JOIN match_record m ON m.id = s.match_record_id WHERE m.method = 'measured'"
    )
    assert len(made) == 4 + 2


async def test_a_proposal_shows_residuals_as_bars_and_numbers(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("KITTRACK_ASCII", "1")  # where bars are letters that a text file keeps
    loose_blades(world, weighed=True)
    for width, height in ((80, 24), (140, 40)):
        async with stations(world.url, start="matching", size=(width, height)) as me:
            await sign_on(me, world)
            await propose(me)
            assert_screen(f"matching-proposal-{width}", me.screen)


async def test_a_set_is_broken_for_good_and_with_a_reason(world: World, ask: Rows) -> None:
    store = open_store(world.url)
    [broken] = factories.put_sets(store, factories.CW_BLADE, 1, at=after(20), lot_code="MORE")
    store.close()
    async with stations(world.url, start="matching") as me:
        await sign_on(me, world, TECHNICIAN)
        await me.scan(broken)
        assert f"In hand: rotor set {broken}" in me.verdict
        await open_form(me, "break a rotor set")
        await me.press("f9")
        assert "NOT READ: reason is empty." in me.screen
        await fill(me, reason="nick in one blade")
        await me.press("f9")
        assert me.verdict.startswith("DONE: "), me.screen
        await to_list(me, "orphaned blades")
        assert f"was in {broken}" in me.screen
    assert ask(f"SELECT state FROM rotor_set WHERE code = '{broken}'") == [("broken",)]


async def test_an_orphaned_blade_is_inspected_again_then_scrapped_then_only_traced(world: World) -> None:
    store = open_store(world.url)
    [broken] = factories.put_sets(store, factories.CW_BLADE, 1, at=after(20), lot_code="MORE")
    orphan = set_breaking.break_set(store, rotor_set=broken, reason="nick", by=CLERK, at=after(21)).codes[-1]
    async with stations(world.url, start="matching") as me:
        await me.scan(orphan)
        assert "Next, F9: inspect it again." in me.verdict
        cracked = [PieceFinding(orphan, mark="R", result="rejected", note="crack at the root")]
        inspecting.reinspect_pieces(store, findings=cracked, by=factories.INSPECTOR, at=after(22))
        await me.press("escape")
        await me.scan(orphan)
        assert "Next, F9: scrap it." in me.verdict
        disposing.scrap(
            store,
            things=[MoveSpec(orphan)],
            reason="cracked",
            second=factories.MANAGER,
            by=CLERK,
            at=after(23),
        )
        await me.press("escape")
        await me.scan(orphan)
        assert "Next, F9: trace it." in me.verdict, "it is gone for good"
    store.close()


async def test_a_reader_who_is_not_signed_on_sees_the_proposal_and_makes_nothing(
    world: World, ask: Rows
) -> None:
    loose_blades(world, weighed=True)
    async with stations(world.url, start="matching") as me:
        await propose(me)
        await me.press("f9")
        assert "Nobody is signed on" in me.screen
        await me.press("f8")
        assert "0 of 2 sets are made." in me.screen
        await me.press("escape")
        assert me.app.screen is me.station
    assert ask("SELECT count(*) FROM rotor_set") == [(4,)]


async def test_a_set_without_a_label_gets_one_by_one_key_and_is_explained_then(
    world: World, tmp_path: Path
) -> None:
    store = open_store(world.url)
    [loose] = factories.put_sets(store, factories.CW_BLADE, 1, at=after(20), lot_code="MORE")
    store.close()
    label = tmp_path / "set.pdf"
    async with stations(world.url, start="matching") as me:
        await sign_on(me, world)
        await me.scan(loose)
        assert "Next, F9: draw its label" in me.verdict
        await me.press("f9")
        await fill(me, into=str(label))
        await me.press("f9")
        assert me.verdict.startswith("DONE: "), me.screen
        assert f"Next, F9: explain its match ({loose})" in me.verdict
        await me.press("f10")
        assert "label print" in me.screen
        await me.press("escape")
    assert label.stat().st_size > 1000
