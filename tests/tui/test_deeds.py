"""What can be done at a station: the menu reaches every verb of it, the form takes scans, keeps what was typed, records."""

import threading
from collections.abc import Callable

import pytest
from textual.widgets import Input

from kittrack.cli.deeds_of_verbs import all_deeds
from kittrack.store.database import open_store
from kittrack.tui.answer_page import AnswerPage
from kittrack.tui.chooser import Chooser
from kittrack.tui.deed_form import DeedForm
from kittrack.tui.deed_menu import DeedMenu
from kittrack.tui.deeds import NOWHERE
from kittrack.tui.keys import STATIONS
from kittrack.tui.stations_app import Deeds
from tests import factories
from tests.factories import CLERK, INSPECTOR, TECHNICIAN, after
from tests.tui.conftest import World
from tests.tui.screens import Person, stations

MODES = [mode for mode, _ in STATIONS]
Rows = Callable[[str], list[tuple[object, ...]]]


def loose_blades(world: World, count: int) -> tuple[str, ...]:
    store = open_store(world.url)
    try:
        return factories.blades_on_shelf(
            store, factories.CW_BLADE, count, at=after(20), lot_code="LOOSE", place=factories.BIN, kind="bin"
        )
    finally:
        store.close()


async def sign_on(me: Person, world: World, name: str = CLERK) -> None:
    await me.scan(world.badge(name))
    if me.app.screen is not me.station:  # the cautions, which are read once
        await me.press("f9")
    assert me.app.name_signed_on == name


async def open_form(me: Person, words: str) -> None:
    """Choose by the menu, as somebody types the words."""
    await me.press("f10")
    for key in words:
        await me.send_key(key)
    await me.settle()
    await me.press("enter")


async def fill(me: Person, **texts: str) -> None:
    """Type into the fields of the form, by their names, once it is laid out."""
    while not me.app.screen.query("Input"):
        await me.pilot.pause(0.02)
    for name, text in texts.items():
        me.app.screen.query_one(f"#field-{name}").focus()
        for key in text:
            await me.send_key(key)
        await me.settle()


@pytest.mark.parametrize("mode", MODES)
async def test_the_menu_lists_every_deed_of_the_station_and_its_form_opens(world: World, mode: str) -> None:
    async with stations(world.url, start=mode) as me:
        await me.press("f10")
        menu = me.app.screen
        assert isinstance(menu, DeedMenu)
        deeds = all_deeds()[mode]
        assert {choice.what.key for choice in menu.choices} == {deed.key for deed in deeds}
        await me.press("escape")
        for deed in deeds:
            form = DeedForm(deed)
            me.app.push_screen(form)
            await me.pilot.pause()
            assert len(list(form.query("Input"))) == len(deed.asks), deed.key
            assert "Esc leave" in me.screen, deed.key
            form.dismiss(None)
            await me.pilot.pause()


async def test_every_station_is_reached_from_any(world: World) -> None:
    async with stations(world.url, start="kitting") as me:
        for keys in (("f10", "f10"), ("ctrl+p",)):
            await me.press(*keys)
            menu = me.app.screen
            assert isinstance(menu, DeedMenu)
            assert {c.what.key for c in menu.choices} == {
                d.key for own, deeds in all_deeds().items() for d in deeds if own != NOWHERE
            }
            assert menu.choices[0].what.key in {d.key for d in all_deeds()["kitting"]}
            await me.press("escape")


async def test_what_is_typed_while_the_menu_loads_goes_to_its_filter(world: World) -> None:
    async with stations(world.url, start="office") as me:
        load = me.app._load_deeds
        begun, goes_on = threading.Event(), threading.Event()

        def slowly() -> Deeds:
            begun.set()
            goes_on.wait()
            return load()

        me.app._load_deeds = slowly
        await me.pilot.press("f10")
        while not begun.is_set():
            await me.pilot.pause(0.01)
        for key in "shelf life":
            await me.send_key(key)
        assert "shelf" not in me.station.scan_line.text
        goes_on.set()
        await me.settle()
        menu = me.app.screen
        assert isinstance(menu, DeedMenu)
        assert menu.query_one(Input).value == "shelf life"
        assert "expiry extend" in me.screen
        assert "person add" not in me.screen
        await me.press("escape")
        await me.send_key("x")
        assert me.station.scan_line.text == "x"


async def test_typing_filters_the_menu_and_a_number_chooses(world: World) -> None:
    async with stations(world.url, start="office") as me:
        await me.press("f10")
        for key in "shelf life":
            await me.send_key(key)
        await me.settle()
        assert "expiry extend" in me.screen
        assert "person add" not in me.screen
        await me.scan(world.kit)
        assert f"{world.kit} was scanned; choose first" in me.screen
        await me.press("escape")
        await me.press("escape")
        await sign_on(me, world)
        await me.press("f10")
        await me.send_key("3")
        await me.settle()
        chooser = me.app.screen
        assert isinstance(chooser, Chooser)
        third = chooser.choices[2].what
        await me.press("enter")
        assert third.title.split(":", maxsplit=1)[0][:40] in me.screen


async def test_letters_typed_so_fast_that_they_look_like_a_scan_go_on_filtering(world: World) -> None:
    async with stations(world.url, start="office") as me:
        await me.press("f10")
        for key in "shift repo":
            await me.send_key(key)
        await me.settle()
        await me.pilot.pause(0.4)
        await me.scan("rt")
        assert "filter > shift report" in me.screen
        assert isinstance(me.app.screen, DeedMenu)


async def test_a_question_is_answered_on_a_page_and_a_wrong_one_keeps_what_was_typed(world: World) -> None:
    async with stations(world.url, start="office") as me:
        await open_form(me, "trace")
        await me.scan("R000099-5")
        await me.press("f9")
        assert "NOT FOUND: the store holds nothing under R000099-5" in " ".join(me.screen.split())
        assert me.app.screen.query_one("#field-code").value == "R000099-5"  # type: ignore[attr-defined]
        wanted = world.sets["CW"][0]
        await me.scan(wanted)
        await me.press("f9")
        assert isinstance(me.app.screen, AnswerPage)
        assert f"rotor set {wanted} is made of" in me.screen
        assert max(map(len, me.screen.split("\n"))) <= 80
        await me.scan(world.kit)
        assert "Esc leaves this page" in me.screen
        await me.press("escape")
        assert me.station.mode == "office"


async def test_an_act_takes_who_is_signed_on_and_says_what_it_did(world: World, ask: Rows) -> None:
    async with stations(world.url, start="office") as me:
        await open_form(me, "finding record")
        assert me.verdict.startswith("REFUSED: Nobody is signed on")
        await sign_on(me, world, TECHNICIAN)
        await me.press("ctrl+p")
        for key in "finding record":
            await me.send_key(key)
        await me.settle()
        await me.press("enter")
        await fill(me, text="nick at the tip")
        await me.scan(world.positions["FR"])
        await me.press("f9")
        assert me.verdict.startswith("DONE: ")
    assert ask("SELECT text FROM finding") == [("nick at the tip",)]


async def test_what_is_refused_is_told_in_the_form_and_all_that_was_typed_stays(
    world: World, ask: Rows
) -> None:
    async with stations(world.url, start="kitting") as me:
        await sign_on(me, world)
        await open_form(me, "dissolve")
        await me.scan(world.kit)
        await fill(me, reason="wrong revision")
        await me.press("f9")
        assert "NOT READ: to is empty." in me.screen
        await fill(me, to_bin="no such bin")
        await me.press("f9")
        form = me.app.screen
        assert isinstance(form, DeedForm)
        assert "no such bin" in me.screen
        assert form.now == {"kit": world.kit, "to_bin": "no such bin", "reason": "wrong revision", "seal": ""}
        assert f"{world.kit} kit for QA A: sealed" in me.screen
        await me.press("escape")
        assert "Esc again leaves" in me.screen
        await me.press("escape")
        assert me.station.mode == "kitting"
    assert ask("SELECT state FROM kit") == [("sealed",)]


async def test_rows_are_kept_taken_back_and_begun_by_the_next_scan(world: World, ask: Rows) -> None:
    blades = loose_blades(world, 2)
    scale = str(ask("SELECT code FROM tool WHERE kind = 'scale'")[0][0])
    async with stations(world.url, start="matching") as me:
        await sign_on(me, world, INSPECTOR)
        await open_form(me, "what a scale showed")
        await me.scan(scale, blades[0])
        await fill(me, mass_ug="31.2 g", radius_um="96 mm")
        await me.scan(blades[1])
        form = me.app.screen
        assert isinstance(form, DeedForm)
        assert [row["piece"] for row in form.kept.added("weighings")] == [blades[0]]
        assert form.now["radius_um"] == "96 mm"
        await me.press("f9")
        assert "mass is empty" in me.screen
        await fill(me, mass_ug="31.3 g")
        await me.press("f8")
        assert "F7 last row back" in me.screen
        await me.press("f7")
        assert form.now["piece"] == blades[1]
        await me.press("f9")
        assert me.app.screen is me.station, me.screen
        assert me.verdict.startswith("DONE: ")
    kept = ask("SELECT code, mass_ug FROM piece WHERE mass_ug IS NOT NULL ORDER BY id")
    assert kept == [(blades[0], 31_200_000), (blades[1], 31_300_000)]


async def test_a_scan_of_no_use_is_named_and_changes_nothing(world: World) -> None:
    async with stations(world.url, start="kitting") as me:
        await sign_on(me, world)
        await open_form(me, "kit seal")
        await me.scan(world.torque_tool)
        assert f"{world.torque_tool} is a tool; this form has no use for it." in me.screen
        form = me.app.screen
        assert isinstance(form, DeedForm)
        assert form.now == {"kit": world.kit, "seal": "", "second": ""}


async def test_a_box_is_taken_in_by_its_codes(world: World, ask: Rows) -> None:
    async with stations(world.url, start="goods_in") as me:
        await sign_on(me, world)
        await open_form(me, "codes of its boxes")
        await fill(me, supplier="Invented Rotors", reference="DN 77")
        await me.scan("[)>\x1e06\x1dPRB-18-CW\x1dQ4\x1d1TLOT-77\x1e\x04")
        assert "LOT-77" in me.screen
        await me.press("f9")
        form = me.app.screen
        assert isinstance(form, DeedForm)
        assert "expire" in me.screen
        await fill(me, expiry="none")
        await me.press("f9")
        assert me.verdict.startswith("DONE: "), me.screen
    [(lot, raw)] = ask(
        "SELECT l.lot_code, r.raw_scan FROM receipt_line r JOIN lot l ON l.id = r.lot_id ORDER BY r.id DESC LIMIT 1"
    )
    assert lot == "LOT-77"
    assert "\x1d" in str(raw)


async def test_a_pin_is_never_shown_and_has_to_be_typed_twice_alike(world: World) -> None:
    async with stations(world.url, start="office") as me:
        await sign_on(me, world)
        await open_form(me, "one's own")
        await me.scan(world.badge(CLERK))
        await fill(me, pin="48151623", again="48151624")
        assert "48151623" not in me.screen
        await me.press("f9")
        assert "not the same" in me.screen
        await fill(me, again="\x7f3")
        await me.press("f9")
        assert me.verdict.startswith("DONE: "), me.screen


async def test_a_form_tells_at_its_head_who_may_do_it_before_it_is_filled(issued: World) -> None:
    async with stations(issued.url, start="goods_in") as me:
        await sign_on(me, issued)
        await open_form(me, "inspect set")
        said = " ".join(me.screen.split())
        assert f"Done by an inspector or a technician; {CLERK} is not, and would be refused." in said
        await me.press("escape")
        await open_form(me, "delivery receive")
        assert "Done by a clerk or a manager. " in " ".join(me.screen.split())
