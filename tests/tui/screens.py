"""How tests drive the stations: bytes as a terminal sends them, keys, and the screen as plain text."""

import gc
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import count
from typing import Any

from textual._xterm_parser import XTermParser  # the one place that feeds bytes; the parser is not public
from textual.app import App
from textual.pilot import Pilot

from kittrack.cli.deeds_of_verbs import all_deeds
from kittrack.tui.scanner import GAP
from kittrack.tui.session import Session
from kittrack.tui.station import Station
from kittrack.tui.stations_app import StationsApp
from kittrack.tui.store_thread import StoreThread
from tests.factories import after

END = "\r"
_SCROLL_BARS = dict.fromkeys(range(0x2581, 0x2590), " ")  # their parts of a line are no words
_SECONDS = count()  # one for all sessions, so that a later one never acts before an earlier one


def feed(app: App[Any], data: str) -> None:
    """Hand bytes to an app as its terminal driver does.

    Python's collector waits meanwhile: a look at all that tests have loaded takes longer than the gap that ends a scan.
    The program itself freezes what it has loaded.
    """
    parser = XTermParser()
    gc.disable()
    try:
        came_in = [*parser.feed(data), *parser.feed("")]
    finally:
        gc.enable()
    for event in came_in:
        app.post_message(event)


@dataclass
class Person:
    """Somebody at the stations with a scanner and two hands."""

    app: StationsApp
    pilot: Pilot[int]

    async def send(self, data: str) -> None:
        """Send bytes as one burst, as a scanner or a paste does."""
        feed(self.app, data)
        await self.settle()

    async def scan(self, *codes: str) -> None:
        """Scan labels one after another, without a pause."""
        await self.send("".join(f"{code}{END}" for code in codes))

    async def type(self, text: str) -> None:
        """Type a line, key by key with a person's pauses, and Enter."""
        for key in (*text, END):
            await self.send_key(key)
        await self.settle()

    async def send_key(self, data: str) -> None:
        """One key, and the pause after which the app knows that it was a person's."""
        feed(self.app, data)
        await self._know_whose()
        await self.pilot.pause()

    async def press(self, *keys: str) -> None:
        """Press keys that no scanner sends, such as f9."""
        for key in keys:
            await self.pilot.press(key)
            await self.settle()

    async def settle(self) -> None:
        """Wait until everything that was sent has been done.

        It is at rest when two looks in a row find it so: between a form's end and what its answer sets off,
        one look sees nothing at work.
        """
        await self._know_whose()
        rests = 0
        for _ in range(200):
            await self.pilot.pause()
            rests = rests + 1 if self.app.is_at_rest else 0
            if rests == 2:
                return
            await self.pilot.pause(0.01)
        raise AssertionError("the stations do not come to rest")

    async def _know_whose(self) -> None:
        """Wait until the app knows whether a scanner or a person sent what it was sent; on a busy machine it takes longer."""
        await self.pilot.pause(GAP * 1.6)
        for _ in range(100):
            if not self.app.holds_keys:
                return
            await self.pilot.pause(GAP / 4)
        raise AssertionError("keys are held back for good")

    @property
    def station(self) -> Station:
        """The station under whatever lies over it."""
        station = self.app.screen_stack[0]
        assert isinstance(station, Station)
        return station

    @property
    def verdict(self) -> str:
        """The verdict as shown, on one line."""
        return " ".join(self.station.said.lines)

    @property
    def screen(self) -> str:
        """The screen as plain text, blanks at the line ends left out."""
        strips = self.app.screen._compositor.render_strips()
        lines = ("".join(segment.text for segment in strip) for strip in strips)
        return "\n".join(line.translate(_SCROLL_BARS).rstrip() for line in lines)

    def is_grey(self, x: int, y: int) -> bool:
        """Whether a character of the screen is drawn without colour."""
        strip = self.app.screen._compositor.render_strips()[y]
        [segment] = strip.crop(x, x + 1)
        style = segment.style
        colours = [c.get_truecolor() for c in (style.color, style.bgcolor) if c] if style else []
        return all(max(c) - min(c) <= 1 for c in colours)


def ticking() -> Callable[[], datetime]:
    """A clock that begins ten hours after the factories' first instant and goes on by a second a look."""
    return lambda: after(600) + timedelta(seconds=next(_SECONDS))


@asynccontextmanager
async def stations(
    url: str,
    *,
    start: str = "counter",
    size: tuple[int, int] = (80, 24),
    demo: bool = False,
    session: Session | None = None,
) -> AsyncIterator[Person]:
    """The stations on a store, on a terminal of a size."""
    thread = StoreThread(url)
    try:
        app = StationsApp(thread, demo=demo, start=start, clock=ticking(), deeds=all_deeds, session=session)
        async with app.run_test(size=size) as pilot:
            person = Person(app, pilot)
            await person.settle()
            yield person
    finally:
        thread.close()
