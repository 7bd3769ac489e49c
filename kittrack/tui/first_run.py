"""Where there is no store yet: a newcomer founds one, or looks at the demo first. Source: design 7, 9."""

import asyncio
from collections.abc import Callable, Sequence
from datetime import datetime
from enum import StrEnum
from functools import partial
from typing import Any, Final

from textual.worker import Worker

from kittrack.domain import scans
from kittrack.domain.text import clean_label
from kittrack.services.desk import Done
from kittrack.store.addresses import without_password
from kittrack.store.making import making_store
from kittrack.tui import session
from kittrack.tui.chooser import Choice, Chooser
from kittrack.tui.deed_form import DeedForm
from kittrack.tui.deeds import Answered, Deed
from kittrack.tui.scan_taker import ScanTaker
from kittrack.tui.scanner import Scan, ScannerApp
from kittrack.tui.symbols import symbols_here
from kittrack.tui.terminal import CUT_SHORT, when_it_goes


class Chosen(StrEnum):
    """What a newcomer does."""

    FOUND = "found"
    DEMO = "demo"
    LEAVE = "leave"


_TOLD, _LABEL = 3, 40  # of what came in too early: how much is named, and how much of each
_CHOICES: Final = (
    Choice(Chosen.FOUND, ("found the store", "your first site, its time zone, and the first manager: you")),
    Choice(
        Chosen.DEMO, ("look at the demo", "two years of an invented operator, on a copy that is thrown away")
    ),
    Choice(Chosen.LEAVE, ("leave", "nothing is made")),
)


class FirstRun(ScannerApp):
    """Asks what to do where there is no store, and founds it; `chosen` says what was done.

    Args:
        url: where the store is to be.
        found: the deed that founds it.
        clock: the instant of the act.
        came_in: what was scanned or typed before anybody knew that there is no store.
    """

    CSS_PATH = "theme.tcss"
    ENABLE_COMMAND_PALETTE = False
    TITLE = "kittrack"

    def __init__(
        self, url: str, *, found: Deed, clock: Callable[[], datetime] = session.now, came_in: Sequence[str] = ()
    ) -> None:  # fmt: skip
        super().__init__()
        self.now = clock
        self.symbols = symbols_here()
        self.chosen = Chosen.LEAVE
        self._url = url
        self._found = found
        self._came_in = [*came_in]

    def on_mount(self) -> None:
        """Ask."""
        self.set_class(self.symbols.is_ascii, "ascii")
        when_it_goes(self, then=partial(self.exit, None, CUT_SHORT))
        _: Worker[None] = self.run_worker(self._lead, name="lead", exit_on_error=True)

    async def forget_entries(self) -> None:
        """There is no store yet that could keep how a number came in."""

    async def note_entry(self, text: str, *, typed: bool) -> None:
        """As above: what founds a store holds no number of ours."""

    async def _lead(self) -> None:
        where = without_password(self._url)
        while True:
            title = " ".join((f"There is no store yet at {where}.", *self._not_taken()))
            chosen = await self.push_screen_wait(Chooser(title, choices=_CHOICES))
            if chosen is Chosen.FOUND and not await self._is_founded():
                continue
            self.chosen = chosen or Chosen.LEAVE
            self.exit(0)
            return

    def _not_taken(self) -> Sequence[str]:
        """What came in too early, told once: no store could take it."""
        shown = ", ".join(clean_label(text, max_length=_LABEL) for text in self._came_in[:_TOLD])
        more = f" and {len(self._came_in) - _TOLD} more" if len(self._came_in) > _TOLD else ""
        told = [f"NOT TAKEN: {shown}{more}; scan it again once there is one."] if self._came_in else []
        self._came_in = []
        return told

    async def _is_founded(self) -> bool:
        answer: Done | Answered | None = await self.push_screen_wait(DeedForm(self._found, is_kept=False))
        return isinstance(answer, Done)

    # ---- what the form asks of its app -----------------------------------------------------------

    async def ask(self, function: Callable[..., Any], **values: Any) -> Any:
        """Make the store, and call what founds it, off the event loop."""
        return await asyncio.to_thread(self._call, function, values)

    def _call(self, function: Callable[..., Any], values: dict[str, Any]) -> Any:
        with making_store(self._url) as store:
            return function(store, **values)

    def read_scan(self, text: str) -> scans.Scan:
        """What a scan at the form is."""
        return scans.read_scan(text, today=self.now().date())

    def stop_long_work(self) -> None:
        """Founding is done in a moment."""

    def on_scan(self, event: Scan) -> None:
        """Hand a scan to the form in front."""
        if isinstance(self.screen, ScanTaker):
            self.screen.take_scan(event.text)
        else:
            self._came_in.append(event.text)
