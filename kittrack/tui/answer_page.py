"""The answer of a question, laid over a station and laid out for the width there is; it scrolls and filters nothing away."""

from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Static

from kittrack.domain.text import clean_label
from kittrack.tui.deeds import Draw
from kittrack.tui.scan_taker import ScanTaker
from kittrack.tui.widgets.text_body import TextBody

if TYPE_CHECKING:
    from kittrack.tui.stations_app import StationsApp

_KEYS = "Up Down PgUp PgDn Home End   Esc leaves"
_PRINT = "Ctrl+S print"


class AnswerPage(ModalScreen[bool | None], ScanTaker):
    """Text to read over the whole screen; True is answered where it is to be printed."""

    CSS_PATH = "deed_form.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,f11,f9", "leave", "leave", show=False),
        Binding("down", "scroll(1)", "down", show=False),
        Binding("up", "scroll(-1)", "up", show=False),
        Binding("pagedown,space", "page(1)", "further down", show=False),
        Binding("pageup", "page(-1)", "further up", show=False),
        Binding("home", "top", "the beginning", show=False),
        Binding("ctrl+s", "save", "print it", show=False),
        Binding("end", "bottom", "the end", show=False),
    ]
    if TYPE_CHECKING:
        app: StationsApp

    def __init__(self, title: str, *, draw: Draw, prints: bool = False) -> None:
        super().__init__()
        self._title = title
        self._draw = draw
        self._prints = prints

    def compose(self) -> ComposeResult:
        """Title, text, keys."""
        with Vertical(id="page"):
            yield Static(self.app.symbols.show(self._title), markup=False, classes="form-title")
            yield TextBody(symbols=self.app.symbols, widget_id="page-text")
            yield Static("", markup=False, id="page-told")
            yield Static(f"{_PRINT}   {_KEYS}" if self._prints else _KEYS, markup=False, classes="form-keys")

    def on_mount(self) -> None:
        """Show the answer."""
        self._body.show(lambda width: self._draw(width) or ["Nothing to show."])

    @property
    def _body(self) -> TextBody:
        return self.query_one(TextBody)

    def take_scan(self, text: str) -> None:
        """Nothing is scanned here."""
        shown = clean_label(text, max_length=40)
        self.hear(f"{shown} was scanned; Esc leaves this page, then scan it again.")

    def hear(self, sentence: str) -> None:
        """Show one sentence below the answer."""
        self.query_one("#page-told", Static).update(self.app.symbols.show(sentence))

    def action_go_ahead(self) -> None:
        """Nothing is ahead of what was read."""
        self.action_leave()

    def action_scroll(self, lines: int) -> None:
        """Show what is further up or down."""
        self._body.scroll_relative(y=lines, animate=False)

    def action_page(self, pages: int) -> None:
        """A screen full up or down."""
        self._body.scroll_relative(y=pages * max(1, self._body.size.height - 1), animate=False)

    def action_top(self) -> None:
        """The beginning."""
        self._body.scroll_home(animate=False)

    def action_bottom(self) -> None:
        """The end."""
        self._body.scroll_end(animate=False)

    def action_save(self) -> None:
        """Leave, to have it written into a file."""
        if self._prints:
            self.dismiss(True)

    def action_leave(self) -> None:
        """Leave."""
        self.dismiss(None)
