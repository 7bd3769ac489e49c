"""Writing what stands on the screen into a file: a paper of its own where it has one, else as it stands.

The file's name is proposed whole, so that F9 writes it and the person knows where it is.
"""

import os
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from kittrack.tui.deeds import Answered, Deed, Texts
from kittrack.tui.keys import Key

if TYPE_CHECKING:
    from kittrack.printing.documents import Document
    from kittrack.tui.station import Station

SAVE: Final = Key(
    "ctrl+s", "Ctrl+S", "save", "print what is shown: write it into a file, as PDF, CSV or workbook"
)
INTO: Final = "into"
"""The field of a deed that writes a file."""

_ANSWER: Final = "print answer"
_FILES: Final = ("print ", "label ", "scanner sheet")
"""What the deeds begin with that draw into one file."""
_FOLDER: Final = "to"
_FOLDERS: Final = ("archive make", "archive airframe")
"""The deeds that name their file themselves in the folder that they are given."""


def file_proposed(name: str, *, on: date) -> Path:
    """A file that is not there yet, in the folder where kittrack was started or, where that can't be, at home.

    Args:
        name: what is written.
        on: the day.
    """
    stem = f"{'-'.join(name.split())}-{on.isoformat()}"
    folder = _folder()
    names = (f"{stem}{'' if number == 1 else f'-{number}'}.pdf" for number in range(1, 1000))
    return next((folder / one for one in names if not (folder / one).exists()), folder / f"{stem}.pdf")


def _folder() -> Path:
    here = Path.cwd()
    return here if os.access(here, os.W_OK) else Path.home()


def with_file(deed: Deed, given: Texts, *, on: date) -> Texts:
    """What is given to a form that writes a file, with the file's name or its folder where none is told."""
    if deed.key.startswith(_FILES) and any(ask.name == INTO for ask in deed.asks) and not given.get(INTO):
        return {**given, INTO: str(file_proposed(deed.key.removeprefix("print "), on=on))}
    if deed.key in _FOLDERS and not given.get(_FOLDER):
        return {**given, _FOLDER: str(_folder())}
    return given


async def write_answer(station: "Station", deed: Deed, answered: Answered) -> None:
    """Ask for a file, and write an answer into it."""
    from kittrack.tui.doing import do

    if deed.paper:
        deeds = await station.app.deeds_by_key()
        paper = deeds[deed.paper]
        names = {ask.name for ask in paper.asks}
        await do(station, paper, given={n: text for n, text in answered.texts.items() if n in names and text})
    elif deed.prints is not None:
        asked = [(ask.words, answered.texts.get(ask.name, "")) for ask in deed.asks]
        facts = [(words, text) for words, text in asked if text and text != "no"]
        await write_content(station, deed.key, deed.prints(deed.title, answered.answer, facts))


async def write_content(station: "Station", name: str, content: "Document") -> None:
    """Ask for a file, and write into it what stands on the screen.

    Args:
        station: where it stands.
        name: of the file.
        content: what is shown, without the foot of the stores' papers.
    """
    from kittrack.tui.doing import do

    deed = (await station.app.deeds_by_key())[_ANSWER]
    titled = replace(deed, title=f"Print: {content.title}", calls=_of(deed.calls, content))
    file = file_proposed(name, on=station.app.now().date())
    await do(station, titled, given={INTO: str(file)})


def _of(calls: Callable[..., Any], content: "Document") -> Callable[..., Any]:
    return partial(calls, content=content)
