"""The frame that every station has, and that stands before the first of them does: from the strip to the scan line.

Nothing of the store, of a service or a query is loaded for it: it is what a person sees first, and it takes
scans from then on. Source: design 7, N1.
"""

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.screen import Screen
from textual.widget import Widget
from textual.widgets import Static

from kittrack.tui import layout
from kittrack.tui.keys import STATIONS, Key
from kittrack.tui.symbols import Symbols
from kittrack.tui.verdicts import Tone, Verdict, verdict
from kittrack.tui.widgets.scan_line import ScanLine
from kittrack.tui.widgets.strip import FlowStrip
from kittrack.tui.widgets.verdict_line import VerdictLine
from kittrack.tui.widgets.words import Words

if TYPE_CHECKING:
    from kittrack.tui.stations_app import StationsApp

_DEMO = "DEMO - DEMO - DEMO   invented things only, nothing here is real"


def bindings(keys: Iterable[Key]) -> list[BindingType]:
    """The bindings of a table of keys."""
    return [Binding(key.name, key.action, key.words, show=False, id=key.name) for key in keys]


class Frame(Screen[None]):
    """A strip, a body, the verdict line, the keys, and the scan line that has the focus."""

    first_said: ClassVar[Verdict] = verdict(Tone.NEXT, "Scan something.")
    AUTO_FOCUS: ClassVar[str | None] = "#scan"
    if TYPE_CHECKING:
        app: StationsApp

    def compose(self) -> ComposeResult:
        """From the strip down to the scan line."""
        yield FlowStrip(self.mode_shown, symbols=self.symbols)
        if self.app.is_demo:
            yield Static(_DEMO, id="demo", markup=False)
        yield from self.body()
        yield VerdictLine(symbols=self.symbols, said=self.first_said)
        yield Words(self.first_keys, widget_id="keys")
        yield ScanLine()

    def body(self) -> Iterable[Widget]:
        """The widgets between strip and verdict."""
        raise NotImplementedError

    # ---- what it shows ---------------------------------------------------------------------------

    @property
    def mode_shown(self) -> str:
        """The mode of the station that stands here, or will."""
        raise NotImplementedError

    @property
    def first_keys(self) -> str:
        """The line of keys before anything is mounted."""
        return ""

    @property
    def symbols(self) -> Symbols:
        """The symbols of this terminal."""
        return self.app.symbols

    @property
    def name_shown(self) -> str:
        """The station's name on the strip."""
        return dict(STATIONS)[self.mode_shown]

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

    body_goes_on_by: ClassVar[str] = ""
    """The key that shows more of a body that goes on below, and that it does; nothing where none can."""

    @property
    def body_goes_on(self) -> bool:
        """Whether the body goes on below."""
        return False

    def show_keys(self) -> None:
        """Show the keys of the moment, and that a verdict or the body goes on below where it does."""
        if self.is_mounted:
            goes_on = self.query_one(VerdictLine).max_scroll_y > 0
            self.query_one("#keys", Words).put(self.keys_shown(goes_on=goes_on))

    def keys_shown(self, *, goes_on: bool) -> str:
        """The line of keys, or two.

        The row is kept free that it may take to say that the body goes on: else the body, a row shorter for being told
        of, might go on for that reason alone, and which of two screens stands would hang on chance.
        """
        said = self._keys_packed(goes_on=goes_on, of_body=self.body_goes_on_by if self.body_goes_on else "")
        most = self._keys_packed(goes_on=goes_on, of_body=self.body_goes_on_by)
        return "\n".join([*said, *[""] * (len(most) - len(said))])

    def _keys_packed(self, *, goes_on: bool, of_body: str) -> list[str]:
        is_one_key = goes_on and of_body.startswith("Ctrl+Down")  # what it shows more of first is the verdict
        words = (
            "F1 help",
            *self.keys_in_words(),
            "" if is_one_key else of_body,
            "F10 menu",
            "Ctrl+Down more of this" if goes_on else "",
        )
        lines = layout.packed(tuple(filter(None, words)), width=(self.size.width or 80) - 1)
        return [f" {line}" for line in lines]

    def show_signed_on(self, name: str) -> None:
        """Show who is signed on."""
        if self.is_mounted:
            self.query_one(FlowStrip).signed_on = name

    # ---- keys and focus --------------------------------------------------------------------------

    def on_screen_resume(self) -> None:
        """Have the focus on the scan line again, whatever lay over it."""
        self.scan_line.take_focus()

    def on_descendant_blur(self, _event: events.DescendantBlur) -> None:
        """The scan line always has the focus, wherever somebody clicked."""
        if self.is_current:
            self.call_later(self.scan_line.take_focus)

    def on_resize(self) -> None:
        """Lay out anew for another size."""
        self.call_after_refresh(self.show_keys)
