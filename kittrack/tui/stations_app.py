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

from textual import events
from textual.screen import Screen

from kittrack.domain import scans
from kittrack.domain.codes import Kind, looks_like_code
from kittrack.domain.moves import Move
from kittrack.errors import BadInput, KittrackError, Refusal, Refused
from kittrack.queries.people import Who
from kittrack.services import idling, terminals
from kittrack.store.database import Store
from kittrack.tui import signing
from kittrack.tui.deeds import Deed
from kittrack.tui.entries import Entry, read_entry
from kittrack.tui.faults import log_fault
from kittrack.tui.form_keeping import FormMemory
from kittrack.tui.forms import ReadingPage, ScanTaker
from kittrack.tui.keys import STATIONS
from kittrack.tui.listing import Listing, Page
from kittrack.tui.scanner import Scan, ScannerApp
from kittrack.tui.session import Session
from kittrack.tui.sign_on_form import SignOnForm
from kittrack.tui.starting import said_at_start
from kittrack.tui.station import Station
from kittrack.tui.store_thread import StoreThread
from kittrack.tui.symbols import symbols_here
from kittrack.tui.terminal import CUT_SHORT, watch_terminal
from kittrack.tui.verdicts import Tone, Verdict, verdict, verdict_of

P = ParamSpec("P")
T = TypeVar("T")
Step = Callable[[], Awaitable[None]]
Deeds = Mapping[str, Sequence[Deed]]

_PATIENCE = 0.3  # seconds until a waiting person is told that work goes on
_LONG = 2  # seconds from which work is told of and can be stopped

_LOOKS = 1.0  # seconds between two looks whether anybody is still there


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
        session: Session | None = None,
    ) -> None:
        super().__init__()
        self.now = clock
        self.store_thread = store
        self.is_demo = demo
        self._load_deeds = deeds
        self._deeds: Deeds | None = None
        self.symbols = symbols_here()
        self.session = session or Session()
        self.forms = FormMemory(self)
        self._start = start
        self._is_busy = False
        self._is_start_told = False
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

    async def deeds_by_key(self) -> dict[str, Deed]:
        """Every deed by its key."""
        return {deed.key: deed for of_mode in (await self.all_deeds()).values() for deed in of_mode}

    def then(self, step: Step, *, station: Station) -> None:
        """Do a step after all that was asked for before; its errors become the station's verdict."""
        self._steps.put_nowait((step, station))

    def enter(self, text: str, *, typed: bool, station: Station) -> None:
        """Have a station take an entry, in its turn."""
        self.then(partial(self._enter, station, text, typed=typed), station=station)

    def read_scan(self, text: str) -> scans.Scan:
        """What a scan at a form is, by what this terminal's scanner sends for GS; its affixes are off already."""
        known = (*scans.GS_STAND_INS, *terminals.settings_of().gs_stand_ins)
        return scans.read_scan(text, today=self.now().date(), gs_stand_ins=known)

    async def confirm(self, who: str, *, what: str) -> Who:
        """The second person of an act, by badge or name, and by PIN where one is set; nobody is signed off.

        Raises:
            NotFound, Refused, BadInput: there is no such person here, or the PIN was not given.
        """
        return await signing.confirm(self, who, what=what)

    @property
    def signed_on(self) -> Who | None:
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
                asyncio.get_running_loop().add_signal_handler(getattr(signal, name), self._cut_short)
        self.set_class(self.symbols.is_ascii, "ascii")
        self.switch_mode(self._start)
        self.set_interval(_LOOKS, self._look_idle)
        watch_terminal(self, then=self._cut_short)
        self.run_worker(self._do_steps(), name="steps", exit_on_error=True)

    @property
    def is_at_rest(self) -> bool:
        """Whether every step is done, or waits for a person."""
        front = self.screen
        waits = isinstance(front, ScanTaker) and not front.is_working
        return waits or (self._steps.empty() and not self._is_busy)

    def _cut_short(self) -> None:
        """The terminal goes away: finish what is being recorded and leave; the next start tells of it."""
        self.forms.keep_now()
        self.exit(return_code=CUT_SHORT)

    def tell_start_once(self, station: Station) -> None:
        """Have the first station say what is to be known of the store, after it has looked at it."""
        if not self._is_start_told:
            self._is_start_told = True
            self.then(partial(self._tell_start, station), station=station)

    async def _tell_start(self, station: Station, *, who: str = "", after: Verdict | None = None) -> None:
        said = await said_at_start(self, who=who)
        if said is not None:
            station.say(Verdict(said.tone, (*said.sentences, *(after.sentences if after else ()))))
        elif after is not None:
            station.say(after)

    async def _do_steps(self) -> None:
        while True:
            self._is_busy = False
            step, station = await self._steps.get()
            self._is_busy = True
            waiting = self.set_interval(_PATIENCE, partial(self._say_wait, station))
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

    async def _enter(self, station: Station, text: str, *, typed: bool) -> None:
        settings = terminals.settings_of()
        entry = read_entry(text, typed=typed, today=self.now().date(), settings=settings)
        if entry.scan.move is not None:
            await self._make_move(entry.scan.move, station)
        elif self.signed_on is None and _is_sign_on(entry, station):
            await self._sign_on(station, entry.code.text if entry.code else entry.text)
        else:
            if entry.code is not None:
                await self.note_entry(entry.code.text, typed=typed)
            await station.take(entry)

    async def note_entry(self, text: str, *, typed: bool) -> None:
        """Tell the store how a number of ours came in; it is kept with the next act."""
        await self.ask(Store.entered, text, typed=typed)

    async def forget_entries(self) -> None:
        """Tell the store that what was entered is not acted on."""
        await self.ask(Store.forget_entries)

    async def _make_move(self, move: Move, station: Station) -> None:
        """Do what a bar code of the bench sheet stands for: what one key does, and never more."""
        match move:
            case Move.GO_AHEAD:
                await station.go_ahead()
            case Move.START_AGAIN:
                await station.start_again()
            case Move.SECOND_PERSON:
                await station.ask_for_second()
            case Move.NEXT_STATION:
                modes = [mode for mode, _ in STATIONS]
                await self.action_station(modes[(modes.index(station.mode) + 1) % len(modes)])

    # ---- who is there ----------------------------------------------------------------------------

    async def _sign_on(self, station: Station, text: str) -> None:
        who = await signing.find(self, text)
        proved = await signing.prove(self, who, title="Sign on", note=f"{who.name} signs on with a PIN.")
        read = await signing.have_cautions_read(self, proved) if proved else None
        if proved is None:
            station.say(verdict(Tone.NOT_YET, f"Nobody is signed on: the PIN of {who.name} was not typed."))
        elif read is None:
            station.say(verdict(Tone.NOT_YET, "Nobody is signed on: the cautions are to be read first."))
        else:
            await self._welcome(station, read)

    async def _sign_on_by_form(self, station: Station) -> None:
        """F12: a form of its own, so that a name is never taken for a filter or a seal."""
        note = "Scan your badge, or type your exact name and Enter."
        then = partial(signing.have_cautions_read, self)
        who = await self.push_screen_wait(SignOnForm("Sign on", notes=(note,), then=then))
        if who is None:
            station.say(verdict(Tone.NEXT, "Nobody is signed on; scan a badge to sign on."))
        else:
            await self._welcome(station, who)

    async def _welcome(self, station: Station, who: Who) -> None:
        self.session.lock_minutes = (await self.ask(idling.idle_lock)).minutes
        self._set_signed_on(who)
        roles = ", ".join(who.roles)
        left = await self.forms.look(who.code)
        said = verdict(Tone.DONE, f"{who.name} is signed on ({roles}).", *left, *station.next_in_words())
        if "manager" in who.roles:
            await self._tell_start(station, who=who.code, after=said)
        else:
            station.say(said)

    def _look_idle(self) -> None:
        if self.session.is_idle:
            self.action_lock()

    def action_lock(self) -> None:
        """Cover everything until somebody proves to be there; what is underneath stays as it is."""
        if self.signed_on is None or self.session.is_locked:
            return
        self.session.is_locked = True
        notes = (
            f"{self.name_signed_on} is signed on. What was begun is kept; nothing is recorded meanwhile.",
            "Scan your badge, or type your exact name. Another person signs on instead.",
        )
        then = partial(signing.have_cautions_read, self)
        self.push_screen(SignOnForm("LOCKED", notes=notes, then=then, is_lock=True), self._unlock)

    def _unlock(self, who: Who | None) -> None:
        before, self.session.is_locked = self.signed_on, False
        if who is None or before is None or who.code == before.code:
            return
        self._set_signed_on(who)
        self.run_worker(self.forms.look(who.code), group="forms", exit_on_error=False)
        told = f"{who.name} is signed on and acts from here; what {before.name} began stands as it was left."
        front = self.screen
        if isinstance(front, ScanTaker):
            front.hear(told)
        elif isinstance(front, Station):
            front.say(verdict(Tone.NEXT, told, "Esc starts again with an empty station."))

    def _set_signed_on(self, who: Who | None) -> None:
        self.session.who = who
        self.session.touch()
        for stack in self._screen_stacks.values():
            for screen in stack:
                if isinstance(screen, Station):
                    screen.show_signed_on(self.name_signed_on)

    # ---- what comes in ---------------------------------------------------------------------------

    @property
    def takes_pastes(self) -> bool:
        """A station takes every paste as a scan; a field of a form keeps a plain one."""
        return isinstance(self.screen, Station)

    async def on_event(self, event: events.Event) -> None:
        """Note that somebody is there."""
        if isinstance(event, events.InputEvent | events.Paste):
            self.session.touch()
        await super().on_event(event)

    def on_scan(self, event: Scan) -> None:
        """Hand a scan to what is in front: a form takes it at once, a station in its turn."""
        front = self.screen
        if isinstance(front, ScanTaker):
            self._hand_to_form(front, event.text)
        elif isinstance(front, Station):
            front.scan_line.clear()
            self.enter(event.text, typed=False, station=front)

    def _hand_to_form(self, front: ScanTaker, text: str) -> None:
        try:
            bare = terminals.settings_of().bare(text)
            move = self.read_scan(bare).move
        except BadInput as error:  # the file of the settings can't be read
            front.hear(" ".join(str(problem) for problem in error.problems))
            return
        if move is not None:
            front.take_move(move)
        else:
            front.take_scan(bare)

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
            self.then(partial(self._sign_on_by_form, station), station=station)
            return
        name = self.name_signed_on
        self._set_signed_on(None)
        station.say(verdict(Tone.DONE, f"{name} is signed off. Scan a badge to sign on."))

    def action_theme(self) -> None:
        """Change between dark and light."""
        self.theme = "textual-light" if self.current_theme.dark else "textual-dark"

    def action_leave(self) -> None:
        """Leave kittrack; what stands in an open form is kept."""
        self.forms.keep_now()
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
        self.forms.keep_now()
        self.exit(return_code=1, message=log_fault(error, where="screen"))


def _is_sign_on(entry: Entry, station: Station) -> bool:
    """Whether an entry says who signs on: a badge, or a name typed where names are no filter."""
    if entry.code is not None:
        return entry.code.kind is Kind.PERSON
    return station.takes_names and entry.typed and not looks_like_code(entry.text)


def _named(step: Step) -> str:
    inner = step.func if isinstance(step, partial) else step
    return getattr(inner, "__qualname__", type(inner).__name__)
