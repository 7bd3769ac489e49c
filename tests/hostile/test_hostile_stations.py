"""Every station, list, page and form over a store full of hostile text: all of it is shown as text, nothing is obeyed."""

import re
import shutil
from pathlib import Path

import pytest

from kittrack.domain.text import is_unseen
from kittrack.tui.keys import STATIONS
from tests.hostile.texts import DIRECTIONS, ESCAPES, FORMULAS, MARKUP, OPEN, PATHS, SQL, Poison, poison
from tests.machine.attack import attacking
from tests.tui.screens import Person, stations

BEGINNING = "[bold red]x[/]"
POISON = Poison(FORMULAS[0], MARKUP + ESCAPES + DIRECTIONS + SQL + PATHS)


@pytest.fixture(scope="module")
def poisoned(demo_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo store with a hostile text behind every text."""
    path = tmp_path_factory.mktemp("stations") / "demo.kittrack"
    shutil.copy(demo_file, path)
    with attacking(f"sqlite:///{path}") as attack:
        poison(attack, POISON)
    return path


@pytest.fixture
def url(poisoned: Path, tmp_path: Path) -> str:
    """The address of a copy of it."""
    shutil.copy(poisoned, tmp_path / "store.kittrack")
    return f"sqlite:///{tmp_path / 'store.kittrack'}"


def assert_shown_as_text(me: Person) -> None:
    """No character of the screen steers or hides, and markup stands there letter by letter."""
    screen = me.screen
    unseen = sorted({f"U+{ord(c):04X}" for c in screen if c != "\n" and is_unseen(c)})
    assert not unseen, unseen
    for found in re.finditer(OPEN, screen):
        rest = screen[found.end() :].split("\n")[0][: len(BEGINNING)].rstrip()
        beginning = rest.split("...")[0].split("…")[0].split("  ")[0]
        assert BEGINNING.startswith(beginning) or len(beginning) < 3, rest


@pytest.mark.parametrize("size", [(80, 24), (200, 60)], ids=["80x24", "200x60"])
@pytest.mark.parametrize("mode", [mode for mode, _ in STATIONS])
async def test_every_station_shows_hostile_text_as_text(url: str, mode: str, size: tuple[int, int]) -> None:
    async with stations(url, start=mode, size=size) as me:
        assert_shown_as_text(me)
        for key in ("f8", "down", "f8", "down", "f8", "ctrl+down", "f1", "escape", "f8", "f8"):
            await me.press(key)
            assert_shown_as_text(me)
        await me.send(f"{MARKUP}{DIRECTIONS}\r")
        assert_shown_as_text(me)
        await me.send(f"=cmd{SQL}{PATHS}\r")
        assert_shown_as_text(me)
        await me.send("]C1" + "9" * 5_000 + "\r")
        assert_shown_as_text(me)
        assert me.app.is_running
