"""A body of text that is laid out for the width there is, and scrolls when it is long."""

from collections.abc import Callable, Sequence

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.message import Message

from kittrack.tui.symbols import Symbols
from kittrack.tui.widgets.words import Words

Draw = Callable[[int], Sequence[str]]


class TextBody(VerticalScroll, can_focus=False):
    """Shows the lines that a function draws for a width; draws again when the width changes."""

    def __init__(self, *, symbols: Symbols, widget_id: str = "body") -> None:
        super().__init__(id=widget_id, classes="body")
        self._symbols = symbols
        self._text = Words()
        self._draw: Draw = lambda _: ()

    def compose(self) -> ComposeResult:
        """The one text inside."""
        yield self._text

    def show(self, draw: Draw) -> None:
        """Draw by a function from now on."""
        self._draw = draw
        self._redraw()

    class Redrawn(Message):
        """The text was laid out for another size; whether it goes on below may have changed."""

    def on_resize(self) -> None:
        """Draw for the new size."""
        self._redraw()
        self.post_message(self.Redrawn())

    def _redraw(self) -> None:
        lines = self._draw(max(20, (self.size.width or 80) - 1))
        self._text.put("\n".join(self._symbols.show(line) for line in lines))

    @property
    def goes_on(self) -> bool:
        """Whether there is more below than fits."""
        return self.max_scroll_y > 0
