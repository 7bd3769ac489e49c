"""`kittrack unfinished` lists the forms that were left on this computer, as a table and as a document."""

import shutil
from pathlib import Path

import pytest

from kittrack.cli.exits import Exit
from kittrack.store import terminal_memory
from kittrack.store.act import instant_text, person_known_as
from kittrack.store.database import open_store
from kittrack.store.form_memory import FormContent, forms_here
from kittrack.tui.session import now
from tests.cli.line import CommandLine
from tests.factories import CLERK
from tests.hostile.texts import DIRECTIONS, MARKUP


def test_unfinished_forms_are_listed_and_a_damaged_file_is_told(
    sqlite_template: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shutil.copyfile(sqlite_template, tmp_path / "world.kittrack")
    url = f"sqlite:///{tmp_path / 'world.kittrack'}"
    line = CommandLine(url, capsys)
    assert "no form was left unfinished" in line.run("unfinished").err
    store = open_store(url)
    with store.reading() as read:
        here, badge = forms_here(read), person_known_as(read, CLERK).code
    store.close()
    assert here is not None
    fields = {"reason": f"cracked {MARKUP}{DIRECTIONS}"}
    assert here.new_file().keep(FormContent(badge, "scrap", "Scrap it", instant_text(now()), fields, {}))
    shown = line.run("unfinished")
    assert shown.code == Exit.DONE
    assert CLERK in shown.out
    assert "cracked [bold red]x[/]" in " ".join(shown.out.split())
    assert "\u202e" not in shown.out
    [one] = line.run("unfinished", "--json").json["forms"]
    assert (one["person"], one["deed"], one["fields"]) == (CLERK, "scrap", fields)
    [first] = terminal_memory.folder().glob("*.form-*")
    here.new_file().keep(FormContent("P-of-another-day", "scrap", "Scrap it", instant_text(now()), {}, {}))
    told = {one["person"] for one in line.run("unfinished", "--json").json["forms"]}
    assert told == {CLERK, "P-of-another-day"}  # whom the store does not know is named by the badge
    [path] = {*terminal_memory.folder().glob("*.form-*")} - {first}
    path.write_bytes(b"{")
    assert "it is cut off or damaged. The next sign-on sets it aside." in " ".join(
        line.run("unfinished").out.split()
    )
    assert path.exists()  # a question touches nothing
