"""What stands on a screen is printed from there: a list, an answer, each into a file whose place is told."""

from collections.abc import Callable
from pathlib import Path

import openpyxl
import pytest

from kittrack.tui.answer_page import AnswerPage
from kittrack.tui.deed_form import DeedForm
from tests.cli.test_documents_line import read_back, squeezed
from tests.factories import CLERK, MANAGER
from tests.tui.conftest import World
from tests.tui.screens import Person, stations
from tests.tui.test_deeds import fill, open_form, sign_on
from tests.tui.test_lists import to_list

Rows = Callable[[str], list[tuple[object, ...]]]


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Where kittrack was started."""
    found = tmp_path / "here"
    found.mkdir()
    monkeypatch.chdir(found)
    return found


def file_told(me: Person, folder: Path) -> Path:
    """The one file of the folder, which the verdict names."""
    [file] = folder.iterdir()
    assert str(file) in me.verdict.replace(" ", "") or str(file) in me.verdict
    return file


async def end_it_in(me: Person, ending: str) -> None:
    """Type another ending over that of the file proposed."""
    me.app.screen.query_one("#field-into").focus()
    await me.press("end", "backspace", "backspace", "backspace")
    for key in ending:
        await me.send_key(key)
    await me.settle()


async def test_a_list_with_a_paper_of_its_own_is_printed_by_two_keys(world: World, folder: Path) -> None:
    async with stations(world.url, start="office") as me:
        assert "Ctrl+S print" in me.screen
        await me.press("ctrl+s")
        assert "F9 write" in me.screen
        await me.press("f9")
        assert me.verdict.startswith("DONE: Ship sets EV"), me.screen
        file = file_told(me, folder)
        assert file.name.startswith("ship-sets-")
        assert squeezed("Lines from the stores") in read_back(file)[0]


async def test_any_other_list_is_printed_as_it_stands_with_its_filter(world: World, folder: Path) -> None:
    async with stations(world.url, start="office") as me:
        await to_list(me, "people")
        for key in "inspector":
            await me.send_key(key)
        await me.settle()
        await me.press("ctrl+s")
        form = me.app.screen
        assert isinstance(form, DeedForm)
        await end_it_in(me, "csv")
        await me.press("f9")
        text = file_told(me, folder).read_text("utf-8-sig")
        assert "Filtered by,inspector" in text
        assert "Name,Badge,Roles" in text
        assert "inspector" in text.split("Roles")[1]
        assert CLERK not in text


async def test_a_picture_is_printed_with_its_bars_and_its_numbers(issued: World, folder: Path) -> None:
    async with stations(issued.url, start="office") as me:
        await to_list(me, "usage by month")
        await me.press("ctrl+s", "f9")
        text, _ = read_back(file_told(me, folder))
        assert squeezed("rotor sets used, by month") in text
        assert squeezed("4 sets") in text
        await me.press("ctrl+s")
        proposed = me.app.screen.query_one("#field-into").value  # type: ignore[attr-defined]
        assert "usage-by-month-" in proposed
        assert proposed.endswith("-2.pdf"), "what was written is not written over"


async def test_an_account_is_printed_from_where_it_stands(world: World, folder: Path, ask: Rows) -> None:
    [(lot,)] = ask("SELECT l.code FROM lot l JOIN part p ON p.id = l.part_id WHERE p.number = 'SC-M3x8'")
    async with stations(world.url, start="office") as me:
        await me.scan(str(lot))
        await me.press("f9")
        assert isinstance(me.app.screen, AnswerPage)
        assert "Ctrl+S print" in me.screen
        await me.press("ctrl+s")
        assert str(lot) in me.screen
        await me.press("f9")
        file = file_told(me, folder)
        text, bars = read_back(file)
        assert squeezed("Recall account") in text
        assert str(lot) in bars


async def test_an_answer_without_a_paper_is_printed_with_what_was_asked(world: World, folder: Path) -> None:
    async with stations(world.url, start="office") as me:
        await sign_on(me, world, MANAGER)
        await open_form(me, "month by month: sets and pieces")
        await fill(me, months="6")
        await me.press("f9", "ctrl+s")
        await end_it_in(me, "xlsx")
        await me.press("f9")
        sheet = openpyxl.load_workbook(file_told(me, folder)).worksheets[0]
        cells = [cell for row in sheet.iter_rows(values_only=True) for cell in row if cell is not None]
        assert "months" in cells
        assert "6" in map(str, cells)
