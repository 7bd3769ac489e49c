"""The fields of forms, by keys: what stands in one where somebody arrives, and which of them keys go to."""

import pytest
from textual.widgets import Input

from kittrack.cli.deeds_of_verbs import all_deeds
from kittrack.domain.codes import Kind
from kittrack.tui.deed_form import DeedForm
from kittrack.tui.deeds import Ask, Deed
from tests.tui.conftest import World
from tests.tui.screens import Person, stations

ASKS = (
    Ask("kit", "kit", scans=(Kind.KIT,), value="K000001-0"),
    Ask("reason", "why", value="worn"),
    Ask("things", "things", scans=(Kind.ROTOR_SET,), many=True, value="R000001-0"),
)


async def open_filled(me: Person) -> DeedForm:
    form = DeedForm(Deed("a test", "A form that is filled", lambda: None, asks=ASKS), is_kept=False)
    me.app.push_screen(form)
    await me.settle()
    return form


def value(form: DeedForm, name: str) -> str:
    return form.query_one(f"#field-{name}", Input).value


async def test_typing_replaces_what_a_form_begins_with(world: World) -> None:
    async with stations(world.url) as me:
        form = await open_filled(me)
        assert "Typing replaces what stands here, Right keeps it" in me.screen
        await me.send_key("x")
        assert value(form, "kit") == "x"
        await me.settle()
        assert "Typing replaces" not in me.screen


@pytest.mark.parametrize("key", ["enter", "down", "tab"])
async def test_typing_replaces_what_stands_where_somebody_arrives(world: World, key: str) -> None:
    async with stations(world.url) as me:
        form = await open_filled(me)
        await me.press(key)
        await me.send_key("x")
        assert (value(form, "kit"), value(form, "reason")) == ("K000001-0", "x")
        await me.press("up")
        await me.send_key("y")
        assert (value(form, "kit"), value(form, "reason")) == ("y", "x")


@pytest.mark.parametrize("key", ["right", "end"])
async def test_a_key_keeps_what_stands_and_goes_on_with_it(world: World, key: str) -> None:
    async with stations(world.url) as me:
        form = await open_filled(me)
        await me.press("down", key)
        await me.send_key("x")
        assert value(form, "reason") == "wornx"


async def test_a_scan_replaces_too_and_is_itself_replaced_by_typing(world: World) -> None:
    async with stations(world.url) as me:
        form = await open_filled(me)
        await me.scan(world.kit)
        assert value(form, "kit") == world.kit
        await me.send_key("x")
        assert value(form, "kit") == "x"


async def test_a_field_that_takes_several_is_gone_on_with(world: World) -> None:
    async with stations(world.url) as me:
        form = await open_filled(me)
        await me.press("down", "down")
        await me.send_key(",")
        await me.scan(world.sets["CW"][0])
        assert value(form, "things") == f"R000001-0, {world.sets['CW'][0]}"


@pytest.mark.parametrize(("is_ascii", "mark"), [("0", "▶"), ("1", "*")])
async def test_a_mark_in_characters_stands_before_the_field_that_keys_go_to(
    world: World, monkeypatch: pytest.MonkeyPatch, is_ascii: str, mark: str
) -> None:
    monkeypatch.setenv("KITTRACK_ASCII", is_ascii)
    async with stations(world.url) as me:
        await open_filled(me)
        for words in ("kit", "why", "things"):
            marked = [line for line in me.screen.split("\n") if line.strip().startswith(f"{mark} ")]
            assert [line.split()[1] for line in marked] == [words]
            await me.press("down")


async def test_who_signs_on_by_a_form_sees_the_mark_too(world: World) -> None:
    async with stations(world.url) as me:
        await me.press("f12")
        assert "▶ Badge, or exact name" in me.screen


async def test_every_form_marks_one_field(world: World) -> None:
    deeds = {deed.key: deed for of_mode in all_deeds().values() for deed in of_mode if deed.asks}
    async with stations(world.url) as me:
        for deed in [*deeds.values()][::9]:
            form = DeedForm(deed, is_kept=False)
            me.app.push_screen(form)
            await me.settle()
            assert me.screen.count("▶ ") == 1, deed.key
            form.dismiss(None)
            await me.settle()
