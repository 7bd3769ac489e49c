"""The verdict line: what is ready, or every reason against, in words; it scrolls when it is long."""

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.reactive import reactive

from kittrack.tui import layout
from kittrack.tui.symbols import Symbols
from kittrack.tui.verdicts import Tone, Verdict, stop_banner
from kittrack.tui.widgets.words import Words


class VerdictLine(VerticalScroll, can_focus=False):
    """Shows one verdict. Its class follows the tone, its words say the same."""

    said: reactive[Verdict] = reactive(Verdict(Tone.NEXT, ()))

    def __init__(self, *, symbols: Symbols, said: Verdict) -> None:
        super().__init__(id="verdict")
        self.set_reactive(VerdictLine.said, said)
        self._symbols = symbols
        self._text = Words(self._laid_out())

    def compose(self) -> ComposeResult:
        """The one text inside."""
        yield self._text

    def watch_said(self, said: Verdict) -> None:
        """Show the new verdict from its first word."""
        self.set_class(said.tone.is_against, "against")
        self.set_class(said.tone is Tone.STOP, "stop")
        self._show()
        if self.scroll_y:
            self.scroll_home(animate=False)

    def on_resize(self) -> None:
        """Wrap anew for another width."""
        self._show()

    def _show(self) -> None:
        self._text.put(self._laid_out())

    def _laid_out(self) -> str:
        width = (self.size.width or 80) - 2
        lines = [stop_banner(width)] if self.said.tone is Tone.STOP else []
        for text in self.said.lines:
            indent = "    " if text.startswith("  ") else "  "
            lines += layout.wrapped(self._symbols.show(text), width=width, indent=indent)
        return "\n".join(lines)
