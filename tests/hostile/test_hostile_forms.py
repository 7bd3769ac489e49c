"""A form that was left unfinished, its file full of hostile text: shown as text, filled in as data, obeyed in nothing."""

import json
import shutil
from pathlib import Path

import pytest

from kittrack.domain.text import is_unseen
from kittrack.store import terminal_memory
from kittrack.store.act import instant_text
from kittrack.store.database import open_store
from kittrack.store.form_memory import FormContent, forms_here
from kittrack.tui.deed_form import DeedForm
from tests.factories import CLERK
from tests.hostile.test_hostile_stations import assert_shown_as_text
from tests.hostile.texts import EVERYTHING, OPEN, SHUT
from tests.tui.conftest import World, prepare
from tests.tui.screens import Person, stations, ticking
from tests.tui.test_deeds import open_form, sign_on

TEXT = f"{OPEN}{EVERYTHING}\x00\udcff{SHUT}"


@pytest.fixture
def world(sqlite_template: Path, tmp_path: Path) -> World:
    """The counter's world."""
    shutil.copyfile(sqlite_template, tmp_path / "world.kittrack")
    return prepare(f"sqlite:///{tmp_path / 'world.kittrack'}")


def keep(
    world: World, deed: str, *, fields: dict[str, str], rows: dict[str, tuple[dict[str, str], ...]]
) -> Path:
    """A file of an unfinished form with a content of somebody else's making."""
    store = open_store(world.url)
    with store.reading() as read:
        here = forms_here(read)
    store.close()
    assert here is not None
    at = instant_text(ticking()())
    assert here.new_file().keep(
        FormContent(world.badge(CLERK), deed, TEXT, at, fields, rows, (TEXT, "K000001-2"))
    )
    [path] = terminal_memory.folder().glob("*.form-*")
    return path


async def open_deed(me: Person, world: World, words: str) -> DeedForm:
    await sign_on(me, world)
    assert_shown_as_text(me)
    await open_form(me, words)
    assert_shown_as_text(me)
    form = me.app.screen
    assert isinstance(form, DeedForm)
    return form


async def test_hostile_fields_are_shown_as_text_and_refused_by_the_act(world: World) -> None:
    keep(world, "kit dissolve", fields={"kit": TEXT, "to_bin": TEXT, "reason": TEXT, "evil": TEXT, "second": TEXT}, rows={})  # fmt: skip
    async with stations(world.url, start="kitting") as me:
        form = await open_deed(me, world, "dissolve")
        await me.press("f6")  # another kit is in hand
        assert_shown_as_text(me)
        assert form.now["reason"].startswith(OPEN)
        assert not any(map(is_unseen, "".join(form.now.values())))
        await me.press("f9")
        assert_shown_as_text(me)
        assert me.app.screen is form  # the kit is no number of ours
        await me.press("f4", "escape", "f8", "f7", "escape", "escape")
        assert_shown_as_text(me)


async def test_hostile_rows_and_scans_are_data(world: World) -> None:
    boxes: tuple[dict[str, str], ...] = ({"scans": TEXT, "lot": TEXT, "evil": TEXT}, {})
    keep(world, "delivery scan", fields={"supplier": TEXT, "scans": f"{TEXT}\n{TEXT}"}, rows={"boxes": boxes, "evil": boxes})  # fmt: skip
    async with stations(world.url, start="goods_in") as me:
        form = await open_deed(me, world, "codes of its boxes")
        assert len(form.kept.added("boxes")) == 2
        await me.press("f9")
        assert_shown_as_text(me)
        await me.press("f7", "f7", "f7", "f9")
        assert_shown_as_text(me)
        assert me.app.is_running


async def test_a_file_that_is_none_is_told_at_sign_on_and_everything_goes_on(world: World) -> None:
    path = keep(world, "kit dissolve", fields={}, rows={})
    path.write_bytes(json.dumps({"version": 1, "who": TEXT}).encode()[:-3])
    async with stations(world.url, start="kitting") as me:
        form = await open_deed(me, world, "dissolve")
        assert form.now["reason"] == ""
        await me.press("escape")
        assert "can't be used: it is cut off or damaged. It is set aside" in " ".join(me.verdict.split())
        assert not path.exists()
