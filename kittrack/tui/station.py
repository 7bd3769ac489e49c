"""What all stations are: the strip, a body, the verdict line, the keys, and the scan line that has the focus.

A station is a screen. What it knows it asks of the store's thread, step by step, in the order in which
things were entered. Source: design 7.
"""

from collections.abc import Iterable, Sequence
from functools import partial
from typing import TYPE_CHECKING, ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.screen import Screen
from textual.widget import Widget
from textual.widgets import Static

from kittrack.domain.codes import Code
from kittrack.errors import BadInput
from kittrack.services.desk import Done
from kittrack.tui import doing, layout
from kittrack.tui.deeds import Answered, Deed
from kittrack.tui.entries import Entry, that_is
from kittrack.tui.keys import EVERYWHERE, STATIONS, Key
from kittrack.tui.symbols import Symbols
from kittrack.tui.verdicts import Tone, Verdict, verdict
from kittrack.tui.widgets.scan_line import ScanLine
from kittrack.tui.widgets.strip import FlowStrip
from kittrack.tui.widgets.verdict_line import VerdictLine

if TYPE_CHECKING:
    from kittrack.tui.stations_app import StationsApp


def bindings(keys: Iterable[Key]) -> list[BindingType]:
    """The bindings of a table of keys."""
    return [Binding(key.name, key.action, key.words, show=False, id=key.name) for key in keys]


class Station(Screen[None]):
    """One place where a person stands.

    Subclasses name their `mode`, what they `want` scanned, their own `keys` and what they `take`, and show
    their state in widgets of their own. `takes_names` says whether a typed name signs on without F12.
    """

    mode: ClassVar[str]
    wants: ClassVar[str]
    about: ClassVar[tuple[str, ...]] = ()
    own_keys: ClassVar[tuple[Key, ...]] = ()
    takes_names: ClassVar[bool] = True
    BINDINGS: ClassVar[list[BindingType]] = bindings(EVERYWHERE)
    AUTO_FOCUS: ClassVar[str | None] = "#scan"
    if TYPE_CHECKING:
        app: StationsApp

    def compose(self) -> ComposeResult:
        """From the strip down to the scan line."""
        yield FlowStrip(self.mode, symbols=self.symbols)
        if self.app.is_demo:
            yield Static(
                "DEMO - DEMO - DEMO   invented things only, nothing here is real", id="demo", markup=False
            )
        yield from self.body()
        yield VerdictLine(symbols=self.symbols)
        yield Static("", id="keys", markup=False)
        yield ScanLine()

    def body(self) -> Iterable[Widget]:
        """The widgets between strip and verdict."""
        raise NotImplementedError

    # ---- what a station does ---------------------------------------------------------------------

    async def take(self, entry: Entry) -> None:
        """Take an entry as far as it can be taken. Errors become the verdict."""
        raise that_is(entry.require_code(self.wants), wanted=self.wants)

    async def go_ahead(self) -> None:
        """Do what is ready (F9)."""
        self.say(verdict(Tone.NEXT, f"Nothing is ready here yet; scan {self.wants}."))

    async def ask_for_second(self) -> None:
        """Say whose badge is to be scanned as the second person's (the bench sheet's SECOND PERSON)."""
        raise BadInput("Nothing here waits for a second person; a form asks for one where one is needed.")

    async def start_again(self) -> None:
        """Be empty again (Esc)."""
        await self.reload()

    async def reload(self) -> None:
        """Ask the store anew for what is shown."""
        raise NotImplementedError

    @property
    def in_hand(self) -> tuple[Code, ...]:
        """The numbers of what is in hand here; they fill the form of whatever is done next."""
        return ()

    def next_in_words(self) -> tuple[str, ...]:
        """What comes next for whoever signs on here."""
        return (f"Next: scan {self.wants}.",)

    async def took(self, answer: Done) -> None:
        """Show the store as it is after an act, and what the act said."""
        known = self.in_hand
        await self.reload()
        self.say(doing.what_was_done(answer, known=known))

    async def do_own(self, _key: str) -> bool:
        """Do what was chosen in the menu in the station's own way; False where it has none for it now."""
        return False

    async def show_answer(self, deed: Deed, answered: Answered) -> None:
        """Lay the answer of a question over the station."""
        await doing.show_answer(self, deed, answered)

    # ---- what it shows ---------------------------------------------------------------------------

    @property
    def symbols(self) -> Symbols:
        """The symbols of this terminal."""
        return self.app.symbols

    @property
    def name_shown(self) -> str:
        """The station's name on the strip."""
        return dict(STATIONS)[self.mode]

    @property
    def scan_line(self) -> ScanLine:
        """The line at the bottom."""
        return self.query_one(ScanLine)

    @property
    def said(self) -> Verdict:
        """The verdict shown."""
        return self.query_one(VerdictLine).said

    def say(self, said: Verdict) -> None:
        """Show a verdict."""
        self.query_one(VerdictLine).said = said
        self.call_after_refresh(self.show_keys)

    def prompt(self) -> str:
        """What the scan line waits for, in a word or a few."""
        return "scan"

    def ask_again(self) -> None:
        """Name on the scan line what it waits for, and the keys of the moment."""
        if self.is_mounted:
            self.scan_line.prompt = self.prompt()
            self.show_keys()

    def wait_shown(self, words: str) -> None:
        """Say that the store is still at work, and for how long."""
        self.scan_line.prompt = words

    def keys_in_words(self) -> Sequence[str]:
        """What the line of keys says, besides help."""
        return ("F9 go ahead", "Esc start again")

    def show_keys(self) -> None:
        """Show the keys of the moment, and that a verdict goes on below where it does."""
        if not self.is_mounted:
            return
        more = self.query_one(VerdictLine).max_scroll_y > 0
        words = [
            "F1 help",
            *self.keys_in_words(),
            "F10 menu",
            *(["Ctrl+Down more of this"] if more else []),
        ]
        lines = layout.packed(words, width=(self.size.width or 80) - 1)
        self.query_one("#keys", Static).update("\n".join(f" {line}" for line in lines))

    def show_signed_on(self, name: str) -> None:
        """Show who is signed on."""
        if self.is_mounted:
            self.query_one(FlowStrip).signed_on = name

    def help_lines(self) -> list[str]:
        """Help, read from the table of keys."""
        rows = [(key.shown, key.words) for key in (*EVERYWHERE, *self.own_keys)]
        return [*self.about, "", *layout.table(rows, width=min(76, self.size.width or 76))]

    # ---- keys and focus --------------------------------------------------------------------------

    def on_mount(self) -> None:
        """Show who is signed on, and what the store says."""
        self.show_signed_on(self.app.name_signed_on)
        self.show_keys()
        self.app.then(self.reload, station=self)
        self.app.tell_start_once(self)

    def on_screen_resume(self) -> None:
        """Have the focus on the scan line again, whatever lay over the station."""
        self.scan_line.take_focus()

    def on_descendant_blur(self, _event: events.DescendantBlur) -> None:
        """The scan line always has the focus, wherever somebody clicked."""
        if self.is_current:
            self.call_later(self.scan_line.take_focus)

    def on_resize(self) -> None:
        """Lay out anew for another size."""
        self.call_after_refresh(self.show_keys)

    def on_text_body_redrawn(self) -> None:
        """Name the keys that matter for what fits now."""
        self.call_after_refresh(self.show_keys)

    def on_scan_line_typed(self, event: ScanLine.Typed) -> None:
        """Hand a typed line over."""
        event.stop()
        self.app.enter(event.text, typed=True, station=self)

    def action_go_ahead(self) -> None:
        """F9."""
        self.app.then(self.go_ahead, station=self)

    def action_start_again(self) -> None:
        """Esc."""
        if self.app.stop_long_work():
            return
        self.scan_line.clear()
        self.app.then(self.app.forget_entries, station=self)
        self.app.then(self.start_again, station=self)

    def action_menu(self) -> None:
        """F10."""
        self.app.then(partial(doing.choose, self), station=self)

    def action_every_deed(self) -> None:
        """Ctrl+P."""
        self.app.then(partial(doing.choose, self, everywhere=True), station=self)

    def action_help(self) -> None:
        """F1."""
        self.app.show_help(self)

    def action_scroll_verdict(self, lines: int) -> None:
        """Show what of the verdict is further up or down."""
        self.query_one(VerdictLine).scroll_relative(y=lines, animate=False)
