"""The stations as one program on a terminal.

The app owns the store's thread, who is signed on, and the order in which things happen: entries and keys
become steps that are done one after another, off the event loop. Source: design 7.
"""

import asyncio
import signal
from collections.abc import Awaitable, Callable, Mapping, Sequence
from contextlib import suppress
from datetime import datetime
from functools import partial
from typing import Any, ClassVar, Concatenate, ParamSpec, TypeVar

from textual.screen import Screen

from kittrack.domain.codes import Kind, looks_like_code
from kittrack.errors import KittrackError, Refusal, Refused
from kittrack.queries.people import Who
from kittrack.store.database import Store
from kittrack.tui import signing
from kittrack.tui.deeds import Deed
from kittrack.tui.entries import Entry, read_entry
from kittrack.tui.faults import log_fault
from kittrack.tui.forms import ReadingPage, ScanTaker
from kittrack.tui.keys import STATIONS
from kittrack.tui.listing import Listing, Page
from kittrack.tui.scanner import Scan, ScannerApp
from kittrack.tui.station import Station
from kittrack.tui.store_thread import StoreThread
from kittrack.tui.symbols import symbols_here
from kittrack.tui.verdicts import Tone, Verdict, verdict, verdict_of

P = ParamSpec("P")
T = TypeVar("T")
Step = Callable[[], Awaitable[None]]
Deeds = Mapping[str, Sequence[Deed]]

_PATIENCE = 0.3  # seconds until a waiting person is told that work goes on


def _station(mode: str) -> Callable[[], Screen[None]]:
    """A station that is loaded when somebody goes there first."""

    def make() -> Screen[None]:
        from kittrack.tui import stations

        return stations.load(mode)()

    return make


class StationsApp(ScannerApp):
    """The six stations."""

    MODES: ClassVar[dict[str, Any]] = {mode: _station(mode) for mode, _ in STATIONS}
    CSS_PATH = "theme.tcss"
    ENABLE_COMMAND_PALETTE = False
    TITLE = "kittrack"
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (110, "-wide")]  # noqa: RUF012 - the library's own attribute

    def __init__(
        self,
        store: StoreThread,
        *,
        demo: bool = False,
        start: str = "counter",
        clock: Callable[[], datetime] = signing.now,
        deeds: Callable[[], Deeds] = dict,
    ) -> None:
        super().__init__()
        self.now = clock
        self.store_thread = store
        self.is_demo = demo
        self._load_deeds = deeds
        self._deeds: Deeds | None = None
        self.symbols = symbols_here()
        self.signed_on: Who | None = None
        self._start = start
        self._is_busy = False
        self._awaits_name = False
        self._steps: asyncio.Queue[tuple[Step, Station]] = asyncio.Queue()

    # ---- what stations use -----------------------------------------------------------------------

    async def ask(self, function: Callable[Concatenate[Store, P], T], *args: P.args, **kwargs: P.kwargs) -> T:
        """Call a service or a query in the store's thread."""
        return await self.store_thread.ask(function, *args, **kwargs)

    async def ask_for_page(self, listing: Listing, *, after: str, text: str) -> Page:
        """A page of a list."""
        return await listing.page(self.ask, after=after, text=text, at=self.now())

    async def all_deeds(self) -> Deeds:
        """What can be done at each station; it is loaded when somebody looks at it first."""
        if self._deeds is None:
            self._deeds = await asyncio.to_thread(self._load_deeds)
        return self._deeds

    def then(self, step: Step, *, station: Station) -> None:
        """Do a step after all that was asked for before; its errors become the station's verdict."""
        self._steps.put_nowait((step, station))

    def enter(self, text: str, *, typed: bool, station: Station) -> None:
        """Have a station take an entry, in its turn."""
        self.then(partial(self._enter, station, text, typed=typed), station=station)

    @property
    def name_signed_on(self) -> str:
        """The name for the strip; nothing where nobody is signed on."""
        return self.signed_on.name if self.signed_on else ""

    @property
    def me(self) -> str:
        """The badge of who is signed on, as acts take it.

        Raises:
            Refused: nobody is.
        """
        if self.signed_on is None:
            message = "Nobody is signed on; scan your badge or type your name, then go on."
            raise Refused([Refusal("role", "sign-on", message)])
        return self.signed_on.code

    def show_help(self, station: Station) -> None:
        """Lay the help of a station over it."""
        page = ReadingPage(
            f"Help: {station.name_shown}", lines=station.help_lines(), keys=" Esc leaves the help",
            symbols=self.symbols, asks=False,
        )  # fmt: skip
        self.push_screen(page)

    # ---- steps -----------------------------------------------------------------------------------

    def on_mount(self) -> None:
        """Go to the first station, and begin to do steps."""
        for name in ("SIGTERM", "SIGHUP"):
            with suppress(NotImplementedError, AttributeError, RuntimeError, ValueError):
                asyncio.get_running_loop().add_signal_handler(getattr(signal, name), self.exit)
        self.set_class(self.symbols.is_ascii, "ascii")
        self.switch_mode(self._start)
        self.run_worker(self._do_steps(), name="steps", exit_on_error=True)

    @property
    def is_at_rest(self) -> bool:
        """Whether every step is done, or waits for a person."""
        front = self.screen
        waits = isinstance(front, ScanTaker) and not front.is_working
        return self._steps.empty() and (waits or not self._is_busy)

    async def _do_steps(self) -> None:
        while True:
            self._is_busy = False
            step, station = await self._steps.get()
            self._is_busy = True
            waiting = self.set_timer(_PATIENCE, partial(self._say_wait, station))
            try:
                await self._do(step, station)
            finally:
                waiting.stop()
            station.ask_again()

    async def _do(self, step: Step, station: Station) -> None:
        """The one boundary at which an unexpected error is caught, so that the screen stays."""
        try:
            await step()
        except KittrackError as error:
            station.say(verdict_of(error))
        except Exception as error:  # noqa: BLE001 - the person gets a sentence, the log gets the trace
            station.say(verdict(Tone.FAULT, log_fault(error, where=f"{station.mode}: {_named(step)}")))

    def _say_wait(self, station: Station) -> None:
        if station.is_current:
            station.wait_shown()

    async def _enter(self, station: Station, text: str, *, typed: bool) -> None:
        entry = read_entry(text, typed=typed, today=self.now().date())
        if self.signed_on is None and self._is_sign_on(entry, station):
            self._awaits_name = False
            await self._sign_on(station, entry)
        else:
            await station.take(entry)

    def _is_sign_on(self, entry: Entry, station: Station) -> bool:
        if entry.code is not None:
            return entry.code.kind is Kind.PERSON
        takes = station.takes_names or self._awaits_name
        return takes and entry.typed and not looks_like_code(entry.text)

    async def _sign_on(self, station: Station, entry: Entry) -> None:
        who = await signing.sign_on(self.store_thread, entry.code.text if entry.code else entry.text)
        if not signing.has_read_cautions(who):
            page = ReadingPage(
                f"Cautions for {who.name}", lines=[line for text in signing.CAUTIONS for line in (text, "")], keys=" F9 I have read this   Esc sign off",
                symbols=self.symbols, asks=True,
            )  # fmt: skip
            if not await self.push_screen_wait(page):
                station.say(verdict(Tone.NOT_YET, "Nobody is signed on: the cautions are to be read first."))
                return
            who = await signing.acknowledge(self.store_thread, who, at=self.now())
        self._set_signed_on(who)
        roles = ", ".join(who.roles)
        station.say(verdict(Tone.DONE, f"{who.name} is signed on ({roles}).", f"Next: scan {station.wants}."))

    def _set_signed_on(self, who: Who | None) -> None:
        self.signed_on = who
        for stack in self._screen_stacks.values():
            for screen in stack:
                if isinstance(screen, Station):
                    screen.show_signed_on(self.name_signed_on)

    # ---- what comes in ---------------------------------------------------------------------------

    @property
    def takes_pastes(self) -> bool:
        """A station takes every paste as a scan; a field of a form keeps a plain one."""
        return isinstance(self.screen, Station)

    def on_scan(self, event: Scan) -> None:
        """Hand a scan to what is in front: a form takes it at once, a station in its turn."""
        front = self.screen
        if isinstance(front, ScanTaker):
            front.take_scan(event.text)
        elif isinstance(front, Station):
            front.scan_line.clear()
            self.enter(event.text, typed=False, station=front)

    async def action_station(self, mode: str) -> None:
        """Go to a station, and look at the store again; not while a form is open."""
        if not isinstance(self.screen, Station) or self.screen.mode == mode:
            return
        await self.switch_mode(mode)
        if isinstance(self.screen, Station):
            self.screen.show_signed_on(self.name_signed_on)
            self.then(self.screen.reload, station=self.screen)

    def action_sign(self) -> None:
        """Sign off, or say how to sign on."""
        station = self.screen
        if not isinstance(station, Station):
            return
        if self.signed_on is None:
            self._awaits_name = True
            station.say(verdict(Tone.NEXT, "Scan your badge, or type your exact name and Enter."))
            return
        name = self.name_signed_on
        self._set_signed_on(None)
        station.say(verdict(Tone.DONE, f"{name} is signed off. Scan a badge to sign on."))

    def action_theme(self) -> None:
        """Change between dark and light."""
        self.theme = "textual-light" if self.current_theme.dark else "textual-dark"

    def action_leave(self) -> None:
        """Leave kittrack."""
        self.exit()

    def action_help_quit(self) -> None:
        """Ctrl+C does nothing by itself: say how to leave."""
        if isinstance(self.screen, Station):
            self.screen.say(Verdict(Tone.NEXT, ("Ctrl+Q leaves kittrack; Esc starts this station again.",)))

    def _handle_exception(self, error: Exception) -> None:
        """A fault of a screen itself: leave with the terminal as it was, a sentence, and the trace in the log."""
        if self.is_headless:  # a test sees the error itself
            super()._handle_exception(error)
            return
        self.exit(return_code=1, message=log_fault(error, where="screen"))


def _named(step: Step) -> str:
    inner = step.func if isinstance(step, partial) else step
    return getattr(inner, "__qualname__", type(inner).__name__)
