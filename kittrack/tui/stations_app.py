"""The stations as one program on a terminal.

The app owns the store's thread, who is signed on, and the order in which things happen: entries and keys
become steps that are done one after another, off the event loop. It draws the frame of the first station at
once; only then the store is opened and the stations are loaded, in the store's thread. Source: design 7, N1.
"""

import asyncio
from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from functools import partial
from typing import TYPE_CHECKING, Any, ClassVar, Concatenate, ParamSpec, TypeVar

from textual import events
from textual.screen import Screen

from kittrack.errors import Refusal, Refused
from kittrack.tui.frame import Frame
from kittrack.tui.frame_first import keep_what_is_loaded
from kittrack.tui.keys import STATIONS
from kittrack.tui.opening import Opening
from kittrack.tui.scan_taker import ScanTaker
from kittrack.tui.scanner import Scan
from kittrack.tui.session import Session, now
from kittrack.tui.steps import StepsApp
from kittrack.tui.store_thread import StoreThread
from kittrack.tui.symbols import symbols_here
from kittrack.tui.terminal import CUT_SHORT, when_it_goes
from kittrack.tui.verdicts import Tone, Verdict, verdict

if TYPE_CHECKING:
    from kittrack.domain.scans import Scan as ReadScan
    from kittrack.queries.people import Who
    from kittrack.store.database import Store
    from kittrack.tui.deeds import Deed
    from kittrack.tui.form_keeping import FormMemory
    from kittrack.tui.listing import Listing, Page
    from kittrack.tui.station import Station

P = ParamSpec("P")
T = TypeVar("T")
Deeds = Mapping[str, Sequence["Deed"]]

_LOOKS = 1.0  # seconds between two looks whether anybody is still there
_FIRST_FRAME = (
    0.01  # seconds that the terminal's own thread has for the first frame before anything is loaded
)


def _station(mode: str) -> Callable[[], Screen[None]]:
    """A station that is loaded when somebody goes there first."""

    def make() -> Screen[None]:
        from kittrack.tui import stations

        return stations.load(mode)()

    return make


class StationsApp(StepsApp):
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
        clock: Callable[[], datetime] = now,
        deeds: Callable[[], Deeds] = dict,
        session: Session | None = None,
    ) -> None:
        super().__init__(store, demo=demo, start=start)
        self.now = clock
        self._load_deeds = deeds
        self._deeds: Deeds | None = None
        self.symbols = symbols_here()
        self.session = session or Session()
        self._forms: FormMemory | None = None
        self._is_start_told = False

    # ---- what stations use -----------------------------------------------------------------------

    async def ask(
        self, function: "Callable[Concatenate[Store, P], T]", *args: P.args, **kwargs: P.kwargs
    ) -> T:
        """Call a service or a query in the store's thread."""
        return await self.store_thread.ask(function, *args, **kwargs)

    async def ask_for_page(self, listing: "Listing", *, after: str, text: str) -> "Page":
        """A page of a list."""
        return await listing.page(self.ask, after=after, text=text, at=self.now())

    async def all_deeds(self) -> Deeds:
        """What can be done at each station; it is loaded when somebody looks at it first."""
        if self._deeds is None:
            self._deeds = await asyncio.to_thread(self._load_deeds)
            keep_what_is_loaded()
        return self._deeds

    async def deeds_of_menu(self) -> Deeds:
        """The same for a menu that is on its way: what is typed meanwhile is its filter, and waits for it."""
        if self._deeds is None:
            self.keep_keys()
        try:
            return await self.all_deeds()
        except BaseException:
            await self.let_keys_in()
            raise

    @property
    def forms(self) -> "FormMemory":
        """The forms that are open, and those that earlier runs left; no form opens before the store does."""
        if self._forms is None:
            from kittrack.tui.form_keeping import FormMemory

            self._forms = FormMemory(self)
        return self._forms

    def _keep_forms(self) -> None:
        if self._forms is not None:
            self._forms.keep_now()

    async def deeds_by_key(self) -> "dict[str, Deed]":
        """Every deed by its key."""
        return {deed.key: deed for of_mode in (await self.all_deeds()).values() for deed in of_mode}

    def enter(self, text: str, *, typed: bool, station: "Station") -> None:
        """Have a station take an entry, in its turn."""
        self.then(partial(self._enter, station, text, typed=typed), station=station)

    def read_scan(self, text: str) -> "ReadScan":
        """What a scan at a form is, by what this terminal's scanner sends for GS; its affixes are off already."""
        from kittrack.tui import incoming

        return incoming.read_scan(self, text)

    async def confirm(self, who: str, *, what: str) -> "Who":
        """The second person of an act, by badge or name, and by PIN where one is set; nobody is signed off.

        Raises:
            NotFound, Refused, BadInput: there is no such person here, or the PIN was not given.
        """
        from kittrack.tui import signing

        return await signing.confirm(self, who, what=what)

    @property
    def signed_on(self) -> "Who | None":
        """Who acts."""
        return self.session.who

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

    def show_help(self, station: "Station") -> None:
        """Lay the help of a station over it."""
        from kittrack.tui.reading_page import ReadingPage

        page = ReadingPage(
            f"Help: {station.name_shown}", lines=station.help_lines(), keys=" Esc leaves the help",
            symbols=self.symbols, asks=False,
        )  # fmt: skip
        self.push_screen(page)

    # ---- the frame first, then the store -----------------------------------------------------------

    def on_mount(self) -> None:
        """Begin to do steps, and open the store once the frame is on the terminal."""
        when_it_goes(self, then=self._cut_short)
        self.set_class(self.symbols.is_ascii, "ascii")
        self.call_after_refresh(self.set_timer, _FIRST_FRAME, self._begin)

    async def _begin(self) -> None:
        await self.let_keys_in()
        self.set_interval(_LOOKS, self._look_idle)
        self.run_worker(self._do_steps(), name="steps", exit_on_error=True)
        self.run_worker(self._open(), name="open", exit_on_error=True)

    # ---- how it begins and ends, and what is entered -----------------------------------------------

    def _cut_short(self) -> None:
        """The terminal goes away: finish what is being recorded and leave; the next start tells of it."""
        self._keep_forms()
        self.exit(return_code=CUT_SHORT)

    def tell_start_once(self, station: "Station") -> None:
        """Have the first station say what is to be known of the store, after it has looked at it."""
        if not self._is_start_told:
            self._is_start_told = True
            self.then(partial(self._tell_start, station), station=station)

    async def _tell_start(self, station: "Station") -> None:
        from kittrack.tui import presence

        await presence.tell_start(self, station)

    async def _enter(self, station: "Station", text: str, *, typed: bool) -> None:
        from kittrack.tui import incoming

        await incoming.take(self, station, text, typed=typed)

    async def note_entry(self, text: str, *, typed: bool) -> None:
        """Tell the store how a number of ours came in; it is kept with the next act."""
        self.store_thread.tell(lambda store: store.entered(text, typed=typed))

    async def forget_entries(self) -> None:
        """Tell the store that what was entered is not acted on."""
        self.store_thread.tell(lambda store: store.forget_entries())

    # ---- who is there ----------------------------------------------------------------------------

    def _look_idle(self) -> None:
        if self.session.is_idle:
            self.action_lock()

    def action_lock(self) -> None:
        """Cover everything until somebody proves to be there."""
        if self.signed_on is not None and not self.session.is_locked:
            from kittrack.tui import presence

            presence.lock(self)

    def set_signed_on(self, who: "Who | None") -> None:
        """Have somebody act from here, or nobody."""
        self.session.who = who
        self.session.touch()
        for stack in self._screen_stacks.values():
            for screen in stack:
                if isinstance(screen, Frame):
                    screen.show_signed_on(self.name_signed_on)

    # ---- what comes in ---------------------------------------------------------------------------

    @property
    def takes_pastes(self) -> bool:
        """A station takes every paste as a scan; a field of a form keeps a plain one."""
        return isinstance(self.screen, Frame)

    async def on_event(self, event: events.Event) -> None:
        """Note that somebody is there."""
        if isinstance(event, events.InputEvent | events.Paste):
            self.session.touch()
        await super().on_event(event)

    def on_scan(self, event: Scan) -> None:
        """Hand a scan to what is in front: a form takes it at once, a station in its turn."""
        front = self.screen
        if isinstance(front, ScanTaker):
            from kittrack.tui import incoming

            incoming.hand_to_form(self, front, event.text)
        elif isinstance(front, Frame):
            front.scan_line.clear()
            self.keep_text(event.text, typed=False)

    async def action_station(self, mode: str) -> None:
        """Go to a station, and look at the store again; not while a form is open."""
        if self.is_opening and isinstance(self.screen, Opening):
            self._start = mode
            self.screen.lead_to(mode)
        if self.station is None or self.station.mode == mode:
            return
        await self.switch_mode(mode)
        keep_what_is_loaded()
        if self.station is not None:
            self.station.show_signed_on(self.name_signed_on)
            self.then(self.station.reload, station=self.station)

    def action_sign(self) -> None:
        """Sign off, or say how to sign on."""
        if self.is_opening:
            self.keep(lambda _: self.action_sign())
            return
        station = self.station
        if station is None:
            return
        if self.signed_on is None:
            self.then(partial(self._sign_on_by_form, station), station=station)
            return
        name = self.name_signed_on
        self.set_signed_on(None)
        station.say(verdict(Tone.DONE, f"{name} is signed off. Scan a badge to sign on."))

    async def _sign_on_by_form(self, station: "Station") -> None:
        from kittrack.tui import presence

        await presence.sign_on_by_form(self, station)

    def action_theme(self) -> None:
        """Change between dark and light."""
        self.theme = "textual-light" if self.current_theme.dark else "textual-dark"

    def action_leave(self) -> None:
        """Leave kittrack; what stands in an open form is kept."""
        self._keep_forms()
        self.exit()

    def action_help_quit(self) -> None:
        """Ctrl+C does nothing by itself: say how to leave."""
        if isinstance(self.screen, Frame):
            self.screen.say(Verdict(Tone.NEXT, ("Ctrl+Q leaves kittrack; Esc starts this station again.",)))

    def _handle_exception(self, error: Exception) -> None:
        """A fault of a screen itself: leave with the terminal as it was, a sentence, and the trace in the log."""
        if self.is_headless:  # a test sees the error itself
            super()._handle_exception(error)
            return
        self._keep_forms()
        from kittrack.tui.faults import log_fault

        message = log_fault(error, where="screen")
        if self.return_code is None:  # else it leaves already, for a reason of its own
            self.exit(return_code=1, message=message)
