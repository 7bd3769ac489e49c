"""A recall and a recall drill from their beginning to their end in the Office, by keys and scans only."""

from collections.abc import Callable

from kittrack.domain import codes
from kittrack.queries.recalls import recall_standing
from kittrack.services.desk import Done
from kittrack.store.database import open_store
from kittrack.tui.stations.office import Office
from tests.factories import INSPECTOR, MANAGER
from tests.tui.conftest import World
from tests.tui.screens import Person, stations
from tests.tui.test_deeds import fill, open_form, sign_on

Rows = Callable[[str], list[tuple[object, ...]]]
_LOT = "SELECT l.code FROM lot l JOIN part p ON p.id = l.part_id WHERE p.number = 'SC-M3x8'"


async def place_recall(me: Person, lot: str) -> None:
    await me.scan(lot)
    await open_form(me, "hold a lot")
    await fill(me, is_recall="yes", reference="SB-7", reason="heads may shear")
    await me.press("f9")


async def test_a_recall_is_led_from_its_placing_to_its_closing(issued: World, ask: Rows) -> None:
    [(lot,)] = ask(_LOT)
    async with stations(issued.url, start="office") as me:
        await sign_on(me, issued, MANAGER)
        await place_recall(me, str(lot))
        assert "Next, F9: write its notices" in me.verdict, me.screen
        await me.press("f9", "f9")
        notices = [str(code) for (code,) in ask("SELECT code FROM recall_notice ORDER BY id")]
        assert notices
        [(hold,)] = ask("SELECT code FROM hold WHERE is_recall = 1")
        assert f"Next, F9: mark it as sent ({notices[0]})" in me.verdict, me.screen
        for notice in notices:
            await me.scan(notice)
            await me.press("f9")
            await fill(me, how="by telephone")
            await me.press("f9")
            assert f"Next, F9: keep the answer ({notice})" in me.verdict, me.screen
            await me.press("f9")
            await fill(me, answer="set aside")
            await me.press("f9")
            assert "Next, F9: show how far its recall is" in me.verdict, me.screen
        await me.press("f9")
        screen = " ".join(me.screen.split())
        assert "against it" in screen, screen
        assert "everything under it" not in screen.partition("against it")[0]
        await me.press("escape")
        classes = ", ".join(
            str(name)
            for name in ("on the shelf", "on hold", "in sealed kits", "issued, not fitted")
            if name in open_classes(issued, str(hold))
        )
        await me.scan(str(hold))
        await open_form(me, "keep what was decided")
        await fill(me, things=classes, decision="inspected, may stay", reference="SB-7 para 3")
        await me.press("f9")
        assert f"Next, F9: close it ({hold})" in me.verdict, me.screen
        await me.press("f9")
        await fill(me, reference="report 12", reason="all inspected")
        await me.scan(issued.badge(INSPECTOR))
        await me.press("f9")
        assert "is closed under report 12" in me.verdict, me.screen
        assert "Next, F9: show how far it is" in me.verdict
    assert ask("SELECT count(*) FROM recall_closure") == [(1,)]


def open_classes(world: World, hold: str) -> set[str]:
    store = open_store(world.url)
    try:
        return {one.account_class.value for one in recall_standing(store, hold=hold).stock if not one.settled}
    finally:
        store.close()


async def test_what_was_scanned_stays_in_hand_when_an_act_made_several_things(
    world: World, ask: Rows
) -> None:
    [(lot,)] = ask(_LOT)
    async with stations(world.url, start="office") as me:
        await sign_on(me, world, MANAGER)
        await me.scan(str(lot))
        several = tuple(codes.make_code(codes.Kind.NOTICE, number) for number in (900010, 900020))
        assert isinstance(me.station, Office)
        await me.station.took(Done(1, several, ("Written.",)))
        assert f"Next, F9: account for the lot ({lot})" in me.verdict, me.screen


async def test_a_hold_that_is_released_is_not_released_again(world: World, ask: Rows) -> None:
    [(lot,)] = ask(_LOT)
    async with stations(world.url, start="office") as me:
        await sign_on(me, world, MANAGER)
        await me.scan(str(lot))
        await open_form(me, "hold a lot")
        await fill(me, reason="heads without marking")
        await me.press("f9")
        assert "Next, F9: release it" in me.verdict
        await me.press("f9")
        await fill(me, reference="SB-7 rev 2", reason="not affected")
        await me.press("f9")
        assert "release it" not in me.verdict, me.screen


async def test_a_drill_is_reported_entry_by_entry_until_its_time_is_told(issued: World, ask: Rows) -> None:
    [(lot,)] = ask(_LOT)
    async with stations(issued.url, start="office") as me:
        await sign_on(me, issued, MANAGER)
        await me.scan(str(lot))
        await open_form(me, "start a recall drill")
        await fill(me, reason="quarterly drill")
        await me.press("f9")
        assert "Next, F9: report entry 1" in me.verdict, me.screen
        entries = ask("SELECT rank, expected FROM recall_drill_line ORDER BY rank")
        for rank, expected in entries:
            assert f"entry {rank}: look for" in me.screen
            await me.press("f9")
            await fill(me, found=str(expected))
            await me.press("f9")
        assert "has ended" in me.verdict, me.screen
        assert "it adds up" in " ".join(me.screen.split())
        assert "F9 show it" in me.screen


async def test_a_word_that_stands_in_a_field_from_the_start_is_replaced_by_what_is_typed(
    world: World,
) -> None:
    async with stations(world.url, start="office") as me:
        await sign_on(me, world, MANAGER)
        await open_form(me, "hold a lot")
        for _ in range(20):
            if me.app.screen.focused is not None and me.app.screen.focused.id == "field-is_recall":
                break
            await me.press("down")
        for letter in "yes":
            await me.send_key(letter)
        field = me.app.screen.query_one("#field-is_recall")
        for _ in range(40):
            if field.value == "yes":  # type: ignore[attr-defined]
                break
            await me.pilot.pause(0.05)
        assert field.value == "yes"  # type: ignore[attr-defined]
