"""Who is signed on: PINs that are never shown, names typed fast, the lock of stations that nobody touches."""

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from textual.widgets import Input

from kittrack.services import founding, idling, signing_on
from kittrack.store import credentials
from kittrack.store.database import open_store
from kittrack.tui.session import Session
from kittrack.tui.sign_on_form import SignOnForm
from tests.factories import BUILDER, CLERK, INSPECTOR, MANAGER, T0, TECHNICIAN, after
from tests.tui.conftest import SEAL, World
from tests.tui.screens import Person, stations

Ask = Callable[[str], list[tuple[Any, ...]]]
PIN, WRONG = "482915", "371906"


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """A hash that is as it is in use but for its cost."""
    monkeypatch.setattr(credentials, "COST_N", 2**4)


def set_pin(world: World, *names: str) -> None:
    store = open_store(world.url)
    for name in names:
        signing_on.set_pin(store, person=name, pin=PIN, by=name, at=after(20))
    store.close()


def masked(me: Person) -> Input:
    return me.app.screen.query_one("#field-pin", Input)


class Beat:
    """A clock of seconds that stands still until a test lets time go by."""

    def __init__(self) -> None:
        self.seconds = 1_000.0

    def __call__(self) -> float:
        return self.seconds


async def go_by(me: Person, beat: Beat, minutes: float) -> None:
    """Let minutes go by without a key, and the look that follows."""
    beat.seconds += 60 * minutes
    await me.pilot.pause(1.1)
    await me.settle()


# ---- PINs ----------------------------------------------------------------------------------------


async def test_a_pin_is_asked_for_masked_and_a_wrong_one_is_told_in_words(world: World, ask: Ask) -> None:
    set_pin(world, CLERK)
    async with stations(world.url) as me:
        await me.scan(world.badge(CLERK))
        assert f"{CLERK} signs on with a PIN" in me.screen
        for key in WRONG:
            await me.send_key(key)
        await me.settle()
        assert masked(me).value == WRONG
        assert WRONG not in me.screen
        await me.send("\r")
        assert f"That is not the PIN of {CLERK}; 4 attempts are left" in me.screen.replace("\n", " ").replace(
            "  ", " "
        )
        assert masked(me).value == ""
        assert me.app.name_signed_on == ""
        await me.type(PIN)
        await me.press("f9")  # the cautions
        assert me.app.name_signed_on == CLERK
        assert PIN not in me.screen
    assert not [row for row in ask("SELECT statements FROM event") if PIN in str(row) or WRONG in str(row)]


async def test_attempts_are_limited_and_then_the_right_pin_does_not_help(world: World) -> None:
    set_pin(world, CLERK)
    async with stations(world.url) as me:
        await me.scan(world.badge(CLERK))
        for _ in range(signing_on.ATTEMPTS):
            await me.type(WRONG)
        assert "locked out for 15 minutes" in me.screen
        await me.type(PIN)
        assert "is locked out until" in me.screen
        await me.press("escape")
        assert me.verdict.startswith("NOT YET: Nobody is signed on")
        assert me.app.name_signed_on == ""


async def test_a_label_scanned_where_a_pin_is_typed_is_neither_shown_nor_tried(
    world: World, ask: Ask
) -> None:
    set_pin(world, CLERK)
    async with stations(world.url) as me:
        await me.scan(world.badge(CLERK))
        for label in (world.kit, "]C10109506000134352"):
            await me.scan(label)
            assert "it was not tried as one" in me.screen
            assert label not in me.screen
            assert masked(me).value == ""
        await me.scan(PIN)  # typed by a machine, such as a keeper of secrets
        await me.press("f9")
        assert me.app.name_signed_on == CLERK
    assert ask("SELECT count(*) FROM event WHERE act = 'failed sign-on'") == [(0,)]


async def test_another_badge_while_a_pin_is_asked_for_signs_the_other_person_on(world: World) -> None:
    set_pin(world, CLERK)
    async with stations(world.url) as me:
        await me.scan(world.badge(CLERK))
        await me.scan(world.badge(BUILDER))
        await me.press("f9")
        assert me.app.name_signed_on == BUILDER


async def test_who_has_left_and_who_is_unknown_is_told_in_the_form(world: World) -> None:
    store = open_store(world.url)
    founding.let_person_go(store, person=BUILDER, by=MANAGER, at=after(20))
    store.close()
    async with stations(world.url) as me:
        await me.press("f12")
        await me.type("Nobody Atall")
        assert "NOT FOUND: " in me.screen
        await me.scan(world.badge(BUILDER))
        assert f"{BUILDER} has left" in me.screen
        await me.scan(world.kit)
        assert "NOT FOUND: " in me.screen
        await me.press("escape")
        assert me.verdict.startswith("NEXT: Nobody is signed on")


# ---- names ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("sent", [f"{CLERK}\r", f"\x1b[200~{CLERK}\x1b[201~\r"], ids=["fast", "pasted"])
async def test_a_name_that_is_typed_fast_or_pasted_signs_on_after_f12(world: World, sent: str) -> None:
    async with stations(world.url, start="office") as me:
        await me.press("f12")
        await me.send(sent)
        await me.press("f9")
        assert me.app.name_signed_on == CLERK


async def test_on_a_list_a_typed_name_filters_and_signs_nobody_on(world: World) -> None:
    async with stations(world.url, start="matching") as me:
        await me.type(CLERK)
        assert f"filtered by '{CLERK}'" in me.verdict
        assert me.app.name_signed_on == ""


# ---- the lock ------------------------------------------------------------------------------------


async def begin_a_form(me: Person, world: World) -> None:
    """Sign on, and type half of what a kit's way back asks for."""
    await me.scan(world.badge(CLERK))
    await me.press("f9")
    await me.scan(world.kit)
    await me.type("2")
    for key in "wrong":
        await me.send_key(key)
    await me.settle()
    assert "wrong" in me.screen


async def test_stations_that_nobody_touches_are_covered_and_the_same_person_finds_the_form_as_it_was(
    issued: World,
) -> None:
    beat = Beat()
    async with stations(issued.url, session=Session(beat=beat)) as me:
        await begin_a_form(me, issued)
        await go_by(me, beat, idling.DEFAULT_MINUTES - 0.5)
        assert "LOCKED" not in me.screen
        await go_by(me, beat, 0.6)
        assert "LOCKED" in me.screen
        for kept in ("wrong", issued.kit, "Why it was opened"):
            assert kept not in me.screen
        await me.press("f9", "escape", "f5", "f12")
        await me.scan(issued.kit)
        assert "LOCKED" in me.screen
        await me.scan(issued.badge(CLERK))
        assert "LOCKED" not in me.screen
        assert me.app.screen.query_one("#field-reason", Input).value == "wrong"
        assert me.app.name_signed_on == CLERK
        await me.press("f9")
        assert me.verdict.startswith("DONE: ")


async def test_a_locked_person_with_a_pin_comes_back_by_it_alone(issued: World) -> None:
    set_pin(issued, TECHNICIAN)
    async with stations(issued.url) as me:
        await me.scan(issued.badge(TECHNICIAN))
        await me.type(PIN)
        await me.press("f9", "ctrl+l")
        assert "LOCKED" in me.screen
        await me.scan(issued.badge(TECHNICIAN))
        await me.type(WRONG)
        assert "4 attempts are left" in me.screen
        assert me.app.session.is_locked
        await me.type(PIN)
        assert not me.app.session.is_locked
        assert me.app.name_signed_on == TECHNICIAN


async def test_another_person_signs_on_anew_reads_the_cautions_and_is_told_whose_work_stands_there(
    issued: World, ask: Ask
) -> None:
    async with stations(issued.url) as me:
        await begin_a_form(me, issued)
        me.app.action_lock()
        await me.settle()
        await me.scan(issued.badge(BUILDER))
        assert "does not replace the maker's manual" in me.screen
        await me.press("escape")
        assert "The cautions are to be read first" in me.screen
        assert me.app.session.is_locked
        await me.scan(issued.badge(BUILDER))
        await me.press("f9")
        assert me.app.name_signed_on == BUILDER
        assert f"what {CLERK} began stands" in me.screen
        await me.press("f9")
        assert me.verdict.startswith("DONE: ")
    [(by,)] = ask("SELECT b.name FROM event e JOIN person b ON b.id = e.by_id ORDER BY e.id DESC LIMIT 1")
    assert by == BUILDER


async def test_a_manager_says_when_the_stations_lock_and_0_says_never(world: World) -> None:
    store = open_store(world.url)
    idling.lock_when_idle(store, minutes=2, reason="shared bench", second=INSPECTOR, by=MANAGER, at=after(20))
    beat = Beat()
    async with stations(world.url, session=Session(beat=beat)) as me:
        await me.scan(world.badge(CLERK))
        await me.press("f9")
        await go_by(me, beat, 2.1)
        assert "LOCKED" in me.screen
        await me.scan(world.badge(CLERK))
        idling.lock_when_idle(
            store, minutes=0, reason="own bench", second=INSPECTOR, by=MANAGER, at=after(700)
        )
        await me.press("f12")
        await me.scan(world.badge(CLERK))
        await go_by(me, beat, 10_000)
        assert "LOCKED" not in me.screen
    store.close()


async def test_nobody_signed_on_is_never_locked(world: World) -> None:
    beat = Beat()
    async with stations(world.url, session=Session(lock_minutes=1, beat=beat)) as me:
        await go_by(me, beat, 100)
        await me.press("ctrl+l")
        assert not isinstance(me.app.screen, SignOnForm)


# ---- the second person ---------------------------------------------------------------------------


async def fitted(me: Person, world: World) -> None:
    """A fastened rotor at FR that waits for an inspector."""
    await me.scan(world.badge(TECHNICIAN))
    await me.press("f9")
    await me.scan(world.job, world.kit, SEAL, world.positions["FR"], world.sets["CCW"][0])
    await me.type("L")
    await me.press("f9")
    await me.scan(world.torque_tool)
    await me.type("0.8 N m")
    await me.press("f9")


async def test_an_inspector_confirms_by_badge_and_pin_and_nobody_is_signed_off(
    issued: World, ask: Ask
) -> None:
    set_pin(issued, INSPECTOR)
    async with stations(issued.url, start="aircraft") as me:
        await fitted(me, issued)
        await me.scan(issued.badge(INSPECTOR))
        assert f"Second person: {INSPECTOR}" in me.screen
        assert f"{TECHNICIAN} stays signed on" in me.screen
        await me.press("escape")
        assert f"{INSPECTOR} did not confirm" in me.verdict
        await me.type("L")  # without the PIN nobody inspects
        assert me.station.said.tone.is_against
        assert ask("SELECT inspected_by_id FROM fit_record") == [(None,)]
        await me.scan(issued.badge(INSPECTOR))
        await me.type(PIN)
        await me.type("L")
        assert "inspection passed" in me.verdict
        assert me.app.name_signed_on == TECHNICIAN
    assert ask("SELECT p.name, f.inspection FROM fit_record f JOIN person p ON p.id = f.inspected_by_id") == [
        (INSPECTOR, "second person")
    ]


async def test_alone_the_same_person_makes_a_separate_pass_that_is_said_to_be_one(
    issued: World, ask: Ask
) -> None:
    store = open_store(issued.url)
    founding.declare_alone(
        store, person=TECHNICIAN, from_on=date(2026, 3, 1), until_on=T0.date(), reason="field camp", by=MANAGER,
        at=after(20),
    )  # fmt: skip
    store.close()
    async with stations(issued.url, start="aircraft") as me:
        await fitted(me, issued)
        await me.scan(issued.badge(TECHNICIAN))
        assert "RE-INSPECTION" in me.verdict
        await me.type("L")
        assert "re-inspection by the person who fitted it" in me.verdict
    assert ask("SELECT inspection FROM fit_record") == [("re-inspection",)]


async def test_a_part_of_a_name_tells_the_names_that_it_may_stand_for(world: World) -> None:
    async with stations(world.url) as me:
        assert "press F12 and type your name" in me.verdict
        await me.press("f12")
        await me.type("clerk")
        told = " ".join(me.screen.split())
        assert "nobody is known as 'clerk'; scan your badge or type your exact name: " in told
        assert CLERK in told
        await me.press("escape")
        assert me.app.signed_on is None
