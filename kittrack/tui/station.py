"""What all stations are: the frame, and what a person can do in it.

A station is a screen. What it knows it asks of the store's thread, step by step, in the order in which
things were entered. Source: design 7.
"""

from functools import partial
from typing import ClassVar

from textual.binding import BindingType

from kittrack.domain.codes import Code
from kittrack.errors import BadInput
from kittrack.services.desk import Done
from kittrack.tui import doing, layout
from kittrack.tui.deeds import Answered, Deed
from kittrack.tui.entries import Entry, that_is
from kittrack.tui.frame import Frame, bindings
from kittrack.tui.keys import EVERYWHERE, Key
from kittrack.tui.verdicts import Tone, verdict
from kittrack.tui.widgets.scan_line import ScanLine
from kittrack.tui.widgets.verdict_line import VerdictLine


class Station(Frame):
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
    def mode_shown(self) -> str:
        """Its mode."""
        return self.mode

    @property
    def in_hand(self) -> tuple[Code, ...]:
        """The numbers of what is in hand here; they fill the form of whatever is done next."""
        return ()

    def next_in_words(self) -> tuple[str, ...]:
        """What comes next for whoever signs on here."""
        return (f"Next: scan {self.wants}.",)

    async def took(self, answer: Done) -> None:
        """Show the store as it is after an act, and what the act said."""
        new = await doing.given_out(self.app, answer)
        await self.reload()
        self.say(doing.what_was_done(answer, new=new))

    async def do_own(self, _key: str) -> bool:
        """Do what was chosen in the menu in the station's own way; False where it has none for it now."""
        return False

    async def show_answer(self, deed: Deed, answered: Answered) -> None:
        """Lay the answer of a question over the station."""
        await doing.show_answer(self, deed, answered)

    def help_lines(self) -> list[str]:
        """Help, read from the table of keys."""
        rows = [(key.shown, key.words) for key in (*EVERYWHERE, *self.own_keys)]
        return [*self.about, "", *layout.table(rows, width=min(76, self.size.width or 76))]

    # ---- keys ------------------------------------------------------------------------------------

    def on_mount(self) -> None:
        """Show who is signed on, and what the store says."""
        self.show_signed_on(self.app.name_signed_on)
        self.show_keys()
        self.app.then(self.reload, station=self)
        self.app.tell_start_once(self)

    def on_text_body_redrawn(self) -> None:
        """Name the keys that matter for what fits now."""
        self.call_after_refresh(self.show_keys)

    def on_scan_line_typed(self, event: ScanLine.Typed) -> None:
        """Take a typed line in its turn."""
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
