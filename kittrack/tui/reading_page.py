"""Text to read that lies over a station, such as help and the cautions."""

from collections.abc import Sequence
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.screen import ModalScreen
from textual.widgets import Static

from kittrack.domain.text import clean_label
from kittrack.tui.scan_taker import ScanTaker
from kittrack.tui.symbols import Symbols


class ReadingPage(ModalScreen[bool], ScanTaker):
    """Text to read, over a station. F9 answers yes where the page asks something, Esc leaves."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f9", "go_ahead", "go ahead", show=False),
        Binding("escape,f1", "leave", "leave", show=False),
        Binding("down", "scroll(1)", "down", show=False),
        Binding("up", "scroll(-1)", "up", show=False),
        Binding("pagedown", "scroll(10)", "further down", show=False),
        Binding("pageup", "scroll(-10)", "further up", show=False),
    ]

    def __init__(self, title: str, *, lines: Sequence[str], keys: str, symbols: Symbols, asks: bool) -> None:
        super().__init__()
        self._title = title
        self._lines = lines
        self._keys = keys
        self._symbols = symbols
        self._asks = asks

    def compose(self) -> ComposeResult:
        """Title, text, keys."""
        with VerticalScroll(id="form", can_focus=False):
            yield Static(self._symbols.show(self._title), markup=False, classes="form-title")
            yield Static("\n".join(self._symbols.show(line) for line in self._lines), markup=False)
            yield Static("", markup=False, id="form-fault")
        yield Static(self._keys, markup=False, classes="form-keys")

    @property
    def takes_go_ahead(self) -> bool:
        """Nobody has read a page by scanning."""
        return False

    def take_scan(self, text: str) -> None:
        """Nothing is scanned here."""
        shown = clean_label(text, max_length=40)
        self.hear(f"{shown} was scanned; read this first ({self._keys.strip()}), then scan it again.")

    def hear(self, sentence: str) -> None:
        """Show a sentence below the text."""
        self.query_one("#form-fault", Static).update(self._symbols.show(sentence))

    def action_scroll(self, lines: int) -> None:
        """Show what is further up or down."""
        self.query_one("#form", VerticalScroll).scroll_relative(y=lines, animate=False)

    def action_go_ahead(self) -> None:
        """Yes, where there is a question."""
        if self._asks:
            self.dismiss(result=True)

    def action_leave(self) -> None:
        """Leave."""
        self.dismiss(result=False)
