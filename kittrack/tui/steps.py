"""Doing what was asked for, a step after the other: what went wrong becomes the station's verdict, long work is told of.

Source: design 7.
"""

import asyncio
from collections.abc import Awaitable, Callable
from functools import partial
from typing import TYPE_CHECKING

from kittrack.errors import KittrackError
from kittrack.tui.frame_first import FrameFirstApp
from kittrack.tui.scan_taker import ScanTaker
from kittrack.tui.store_thread import StoreThread
from kittrack.tui.verdicts import Tone, verdict, verdict_of

if TYPE_CHECKING:
    from kittrack.tui.station import Station

Step = Callable[[], Awaitable[None]]

_PATIENCE = 0.3  # seconds until a waiting person is told that work goes on
_LONG = 2  # seconds from which work is told of and can be stopped


class StepsApp(FrameFirstApp):
    """Does steps in the order in which they were asked for."""

    def __init__(self, store: StoreThread, *, demo: bool, start: str) -> None:
        super().__init__(store, demo=demo, start=start)
        self._is_busy = False
        self._steps: asyncio.Queue[tuple[Step, Station]] = asyncio.Queue()
        self._waiting: asyncio.TimerHandle

    def then(self, step: Step, *, station: "Station") -> None:
        """Do a step after all that was asked for before; its errors become the station's verdict."""
        self._steps.put_nowait((step, station))

    @property
    def is_at_rest(self) -> bool:
        """Whether every step is done, or waits for a person."""
        front = self.screen
        waits = isinstance(front, ScanTaker) and not front.is_working
        return waits or (self._steps.empty() and not self._is_busy and not self.is_opening)

    async def _do_steps(self) -> None:
        while True:
            self._is_busy = False
            step, station = await self._steps.get()
            self._is_busy = True
            self._wait_with(station)
            try:
                await self._do(step, station)
            finally:
                self._waiting.cancel()
            station.ask_again()

    async def _do(self, step: Step, station: "Station") -> None:
        """The one boundary at which an unexpected error is caught, so that the screen stays."""
        try:
            await step()
        except KittrackError as error:
            station.say(verdict_of(error))
        except Exception as error:  # noqa: BLE001 - the person gets a sentence, the log gets the trace
            from kittrack.tui.faults import log_fault

            station.say(verdict(Tone.FAULT, log_fault(error, where=f"{station.mode}: {_named(step)}")))

    def _wait_with(self, station: "Station") -> None:
        """Tell now and then how far a step is; a timer of the event loop, as most steps end long before."""
        loop = asyncio.get_running_loop()
        self._waiting = loop.call_later(_PATIENCE, self._say_wait, station)

    def _say_wait(self, station: "Station") -> None:
        self._wait_with(station)
        seconds = int(self.store_thread.seconds_at_work)
        words = "one moment"
        if seconds >= _LONG:
            words = ", ".join(filter(None, (f"at work for {seconds} s", self.store_thread.progress)))
            words += "; Esc stops it"
        front = self.screen
        if front is station:
            station.wait_shown(words)
        elif isinstance(front, ScanTaker) and front.is_working and seconds >= _LONG:
            front.hear(words)

    def stop_long_work(self) -> bool:
        """Stop what the store is at work with, where it takes long; says whether it does."""
        if self.store_thread.seconds_at_work < _LONG:
            return False
        self.store_thread.stop()
        return True


def _named(step: Step) -> str:
    inner = step.func if isinstance(step, partial) else step
    return getattr(inner, "__qualname__", type(inner).__name__)
