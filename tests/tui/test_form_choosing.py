"""What a field could say: suggested while somebody types, taken by Right alone, listed by F4; scans are never touched."""

import pytest
from textual.widgets import Input

from kittrack.cli.deeds_of_verbs import all_deeds
from kittrack.tui.chooser import Chooser, nearness
from kittrack.tui.deed_form import DeedForm
from tests.factories import CCW_BLADE, CW_BLADE, INSPECTOR, MANAGER
from tests.hostile.texts import DIRECTIONS, MARKUP
from tests.machine.attack import attacking
from tests.tui.conftest import World
from tests.tui.screens import Person, stations
from tests.tui.test_deeds import fill, open_form, sign_on


async def seen(me: Person, text: str) -> str:
    """The screen, as one line, once a text stands on it."""
    for _ in range(100):
        screen = " ".join(me.screen.split())
        if text in screen:
            return screen
        await me.pilot.pause(0.05)
    raise AssertionError(me.screen)


def field(me: Person, name: str) -> Input:
    return me.app.screen.query_one(f"#field-{name}", Input)


async def take(me: Person, name: str, wanted: str) -> None:
    """Press Right once the suggestion is there; until then it does nothing at the end of a field."""
    for _ in range(50):
        await me.press("right")
        if field(me, name).value == wanted:
            return
    raise AssertionError(field(me, name).value)


async def test_a_part_is_completed_by_right_and_by_nothing_else(world: World) -> None:
    typed = CCW_BLADE[:3].lower()
    async with stations(world.url, start="goods_in") as me:
        await sign_on(me, world)
        await open_form(me, "delivery receive")
        await fill(me, part=typed)
        await seen(me, "Right takes ")
        assert field(me, "part").value == typed
        await me.press("down")
        assert field(me, "part").value == typed
        await me.press("up", "end")
        for key in CCW_BLADE[3:-1]:
            await me.send_key(key)
        await seen(me, f"Right takes {CCW_BLADE}")
        await take(me, "part", CCW_BLADE)
        await fill(me, supplier="no such supplier")
        await me.pilot.pause(0.2)
        assert "Right takes" not in me.screen
        assert "supplier: the supplier's name. F4 lists what it can be" in me.screen


async def test_a_part_is_found_by_its_name_and_chosen_by_f4(world: World) -> None:
    async with stations(world.url, start="goods_in") as me:
        await sign_on(me, world)
        await open_form(me, "delivery receive")
        await fill(me, part="screw")
        await seen(me, "Named so, F4 lists them: SC-M3x8 (fastener")
        assert "Right takes" not in me.screen
        await me.press("f4")
        assert isinstance(me.app.screen, Chooser)
        await me.press("enter")
        assert field(me, "part").value == "SC-M3x8"


async def test_the_revisions_and_fixings_of_a_type_are_listed(world: World) -> None:
    async with stations(world.url, start="office") as me:
        await sign_on(me, world, MANAGER)
        await open_form(me, "setting torque")
        await fill(me, airframe_type="QA")
        field(me, "revision").focus()
        await me.press("f4")
        assert "revision of QA" in me.screen
        await me.press("enter", "down")
        assert field(me, "revision").value == "A"
        await me.press("f4")
        assert "fixing of QA A" in me.screen
        await me.press("enter")
        assert field(me, "fixing").value


async def test_a_scan_is_never_completed(world: World) -> None:
    async with stations(world.url, start="goods_in") as me:
        await sign_on(me, world)
        await open_form(me, "delivery receive")
        field(me, "part").focus()
        await me.scan(CW_BLADE[:-1])
        await me.pilot.pause(0.3)
        assert field(me, "part").value == CW_BLADE[:-1]
        await me.press("f9")
        assert field(me, "part").value == CW_BLADE[:-1]


async def test_the_last_of_several_is_completed_and_what_stands_before_it_stays(world: World) -> None:
    first, second = world.sets["CW"][:2]
    async with stations(world.url, start="kitting") as me:
        form = DeedForm(next(d for d in all_deeds()["matching"] if d.key == "set proofs"))
        me.app.push_screen(form)
        await me.settle()
        await fill(me, rotor_sets=f"{first}, {second[:-2].lower()}")
        await seen(me, f"Right takes {second}")
        await take(me, "rotor_sets", f"{first}, {second}")


async def test_f4_lists_what_the_store_holds_and_a_key_chooses(world: World) -> None:
    async with stations(world.url, start="goods_in") as me:
        await sign_on(me, world)
        await open_form(me, "delivery receive")
        await fill(me, part=CW_BLADE[:3])
        await me.press("f4")
        chooser = me.app.screen
        assert isinstance(chooser, Chooser)
        assert f"part beginning with {CW_BLADE[:3]}" in me.screen
        await me.scan(world.kit)
        assert "choose first" in me.screen
        for key in CW_BLADE:
            await me.send_key(key)
        await me.press("enter")
        assert field(me, "part").value == CW_BLADE
        assert field(me, "part").has_focus
        await fill(me, reference="x")
        await me.press("f4")
        assert "Nothing is listed for reference; type it." in me.screen


async def test_fixed_words_are_chosen_with_what_they_mean(world: World) -> None:
    async with stations(world.url, start="office") as me:
        await sign_on(me, world, MANAGER)
        await open_form(me, "person add")
        await fill(me, name="Clerk Three")
        field(me, "roles").focus()
        await me.press("f4")
        assert "takes in, moves, builds, issues" in me.screen
        await me.press("enter")
        assert field(me, "roles").value == "clerk"
        await fill(me, roles=", ins")
        await seen(me, "Right takes inspector")
        await take(me, "roles", "clerk, inspector")
        await fill(me, is_script="\x7f\x7f")
        await me.press("f4", "enter")
        assert field(me, "is_script").value == "yes"


def test_every_fixed_word_of_every_field_is_explained() -> None:
    choices = [
        (deed.key, ask.name, value, words)
        for deeds in all_deeds().values()
        for deed in deeds
        for ask in deed.asks
        for value, words in ask.choices
    ]
    assert len(choices) > 100
    assert not [one[:3] for one in choices if not one[3]]


async def test_hostile_names_are_listed_as_text_and_never_completed(world: World) -> None:
    with attacking(world.url) as attack:
        attack.change(
            "UPDATE company SET name = 'ZZ' || CAST(? AS TEXT) || id WHERE is_supplier = 1",
            f"{MARKUP}{DIRECTIONS}",
        )
    async with stations(world.url, start="goods_in") as me:
        await sign_on(me, world)
        await open_form(me, "delivery receive")
        await fill(me, supplier="zz")
        screen = await seen(me, "Begins so: ZZ[bold red]x[/]")
        assert "Right takes" not in screen
        await me.press("right")
        assert field(me, "supplier").value == "zz"
        await me.press("f4")
        assert "ZZ[bold red]x[/]" in me.screen
        await me.press("enter")
        assert field(me, "supplier").value.startswith("ZZ[bold red]x[/]")
        assert "\u202e" not in field(me, "supplier").value


async def test_a_store_that_can_t_be_asked_suggests_nothing_and_the_form_goes_on(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with stations(world.url, start="goods_in") as me:
        await sign_on(me, world)
        await open_form(me, "delivery receive")
        monkeypatch.setattr("kittrack.tui.form_choosing.suggestions", lambda *_args, **_more: 1 / 0)
        await fill(me, part="pr")
        await me.pilot.pause(0.2)
        assert field(me, "part").value == "pr"
        assert me.app.is_running


async def test_down_and_up_go_from_field_to_field_of_a_form_longer_than_the_screen(world: World) -> None:
    async with stations(world.url, start="office") as me:
        await sign_on(me, world, MANAGER)
        form = DeedForm(next(d for d in all_deeds()["office"] if d.key == "type revise"))
        me.app.push_screen(form)
        await me.settle()
        order = [ask.name for ask in form.deed.in_order]
        for name in order:
            assert form.ask_here is not None
            assert form.ask_here.name == name
            assert f"{form.ask_here.words}: " in me.screen  # its help
            assert form.input_of(form.ask_here).region.y < 24
            await me.pilot.press("down")
            await me.pilot.pause()
        for name in reversed(order):
            await me.pilot.press("up")
            await me.pilot.pause()
            assert form.ask_here is not None
            assert form.ask_here.name == name


async def test_a_field_that_can_t_be_read_is_named_and_gone_to(world: World) -> None:
    async with stations(world.url, start="goods_in") as me:
        await sign_on(me, world, INSPECTOR)
        await open_form(me, "delivery receive")
        await fill(me, supplier="a", reference="b", part="c", amount="many")
        await me.press("f9")
        assert "NOT READ: quantity: " in me.screen
        form = me.app.screen
        assert isinstance(form, DeedForm)
        assert form.ask_here is not None
        assert form.ask_here.name == "amount"
        assert form.now["part"] == "c"


def test_the_nearest_name_comes_first() -> None:
    names = ["airframe part", "part add", "part", "add a part", "kit spart", "kit"]
    assert sorted(names, key=lambda name: nearness(name, "part")) == [
        "part", "part add", "airframe part", "add a part", "kit spart", "kit",
    ]  # fmt: skip


async def test_the_menu_puts_the_exact_verb_first(world: World) -> None:
    async with stations(world.url, start="office") as me:
        for text, first in (
            ("issue", "issue"),
            ("part", "part add"),
            ("kit sea", "kit seal"),
            ("scrap", "scrap"),
        ):
            await me.press("ctrl+p")
            for key in text:
                await me.send_key(key)
            await me.settle()
            chooser = me.app.screen
            assert isinstance(chooser, Chooser)
            lines = me.screen.split("\n")
            shown = next(
                line
                for line in lines
                if line.lstrip(" ▶").split()[:1] and line.lstrip(" ▶").split()[0].isdigit()
            )
            assert " ".join(shown.lstrip(" ▶").split()[1:]).startswith(first), shown
            await me.press("escape")
