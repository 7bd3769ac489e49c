"""Draws the pictures of the stations that the README shows, on a demo store of its own.

Run: python demo_db/pictures/make_pictures.py [--into FOLDER]

Everything in the pictures is invented. The codes are those of the demo, which are the same every time.
"""

import argparse
import asyncio
import os
import sys
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import count
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # a checkout need not be installed

from textual.pilot import Pilot
from textual.widgets import Input

from kittrack.cli.deeds_of_verbs import all_deeds
from kittrack.services.demo import build_demo
from kittrack.store.act import read_instant_text
from kittrack.store.database import open_store
from kittrack.tui.scanner import Scan
from kittrack.tui.station import Station
from kittrack.tui.stations_app import StationsApp
from kittrack.tui.store_thread import StoreThread

SIZE = (88, 27)
HERE = Path(__file__).resolve().parent

CLERK, TECHNICIAN, INSPECTOR = "P000003-D", "P000006-7", "P000008-3"
KIT_BY_JOB = ("J000034-R", "K000040-E", TECHNICIAN, "004430")  # a whole kit that may go out
HALF_DONE = "J000033-T"  # a job with a position that somebody left unfinished
TORQUE_TOOL = "W000001-9"


@dataclass(frozen=True)
class Picture:
    """One picture: its name, the station, who signs on, the scans and keys that lead there.

    A step that begins with "key:" is a key, one with "type:" a text with Enter; any other is a scan.
    """

    name: str
    station: str
    person: str
    steps: tuple[str, ...] = ()
    grey: bool = False


PICTURES = (
    Picture("goods-in", "goods_in", CLERK),
    Picture("matching", "matching", CLERK),
    Picture("kitting", "kitting", CLERK),
    Picture("counter", "counter", CLERK, KIT_BY_JOB),
    Picture("aircraft", "aircraft", TECHNICIAN, (HALF_DONE,)),
    Picture("office", "office", CLERK),
    Picture(
        "stop-without-colour", "aircraft", TECHNICIAN,
        (HALF_DONE, "key:f9", "key:f9", "type:0.8 N m", TORQUE_TOOL, "key:f9", INSPECTOR, "type:15 CCW"), grey=True,
    ),
)  # fmt: skip


class Photographer:
    """Walks through one picture's steps in stations of its own."""

    def __init__(self, url: str, picture: Picture, clock: Callable[[], datetime]) -> None:
        self._url, self._picture, self._clock = url, picture, clock

    async def take(self) -> str:
        """The picture as SVG."""
        thread = StoreThread(self._url)
        try:
            app = StationsApp(
                thread, demo=True, start=self._picture.station, clock=self._clock, deeds=all_deeds
            )
            async with app.run_test(size=SIZE) as pilot:
                await self._rest(app, pilot)
                await self._do(app, pilot, self._picture.person)
                if not app.name_signed_on:  # the cautions, which each person reads once
                    await self._do(app, pilot, "key:f9")
                for step in self._picture.steps:
                    await self._do(app, pilot, step)
                return app.export_screenshot(title="kittrack")
        finally:
            thread.close()

    async def _do(self, app: StationsApp, pilot: Pilot[int], step: str) -> None:
        kind, _, what = step.partition(":")
        if kind == "key":
            await pilot.press(what)
        elif kind == "type" and isinstance(app.screen, Station):
            app.enter(what, typed=True, station=app.screen)
        elif kind == "type":
            field = app.screen.focused
            assert isinstance(field, Input)
            field.value = what
            await pilot.press("enter")
        else:
            app.post_message(Scan(step))
        await self._rest(app, pilot)

    @staticmethod
    async def _rest(app: StationsApp, pilot: Pilot[int]) -> None:
        await pilot.pause(0.1)
        while not app.is_at_rest:
            await pilot.pause(0.02)
        await pilot.pause(0.1)


def make_pictures(folder: Path) -> list[Path]:
    """Draw all pictures into a folder; answers with their paths."""
    folder.mkdir(parents=True, exist_ok=True)
    made = []
    with tempfile.TemporaryDirectory() as scratch:
        os.environ["KITTRACK_TERMINALS"] = f"{scratch}/terminals.toml"
        url = f"sqlite:///{scratch}/demo.kittrack"
        clock = _clock_after(url)
        for picture in PICTURES:
            os.environ.pop("NO_COLOR", None)
            if picture.grey:
                os.environ["NO_COLOR"] = "1"
            path = folder / f"{picture.name}.svg"
            drawn = asyncio.run(Photographer(url, picture, clock).take())
            path.write_text("\n".join(line.rstrip() for line in drawn.splitlines()) + "\n", encoding="utf-8")
            made.append(path)
    return made


def _clock_after(url: str) -> Callable[[], datetime]:
    """A new demo store, and a clock that goes on where its story ends."""
    store = open_store(url, create=True, demo=True)
    build_demo(store)
    with store.reading() as read:
        end = read_instant_text(read.value("SELECT max(at) FROM event")) + timedelta(hours=1)
    store.close()
    seconds = count()
    return lambda: end + timedelta(seconds=next(seconds))


def main(arguments: Sequence[str]) -> int:
    """Draw the pictures, and say where they are."""
    parser = argparse.ArgumentParser(description="Draw the pictures of the stations.")
    parser.add_argument("--into", type=Path, default=HERE, help="a folder; by default that of this script")
    for path in make_pictures(parser.parse_args(arguments).into):
        sys.stdout.write(f"{path}\n")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
