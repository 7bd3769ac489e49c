"""The frame while the store is being opened: what is scanned, typed or pressed meanwhile is kept for the station.

Source: design 7, N1; nothing that was scanned is lost.
"""

from collections.abc import Iterable, Sequence
from operator import methodcaller
from typing import ClassVar, Final

from textual.binding import BindingType
from textual.widget import Widget

from kittrack.tui.frame import Frame, bindings
from kittrack.tui.keys import EVERYWHERE, Key
from kittrack.tui.verdicts import Tone, verdict
from kittrack.tui.widgets.scan_line import ScanLine
from kittrack.tui.widgets.strip import FlowStrip
from kittrack.tui.widgets.words import Words

_KEPT: Final = ("help", "go_ahead", "menu", "every_deed", "start_again")
"""Actions of a station that it does once it is there."""


def _kept(key: Key) -> Key:
    return Key(key.name, key.shown, f"keep('{key.action}')", key.words) if key.action in _KEPT else key


class Opening(Frame):
    """Stands where the first station will.

    Args:
        mode: that station.
    """

    first_said = verdict(Tone.NEXT, "opening the store; what you scan or type meanwhile is kept for it.")
    BINDINGS: ClassVar[list[BindingType]] = bindings(map(_kept, EVERYWHERE))

    def __init__(self, mode: str) -> None:
        super().__init__()
        self._mode = mode
        self._waiting: list[str] = []
        self._body = Words(widget_id="body")
        self._body.add_class("body")

    @property
    def mode_shown(self) -> str:
        """The mode of that station."""
        return self._mode

    def body(self) -> Iterable[Widget]:
        """What waits for the store."""
        yield self._body

    def keys_in_words(self) -> Sequence[str]:
        """One can leave."""
        return ("Ctrl+Q leave",)

    @property
    def first_keys(self) -> str:
        """All of them, so that the first frame is the whole one."""
        return self.keys_shown(goes_on=False)

    def lead_to(self, mode: str) -> None:
        """Another station will stand here."""
        self._mode = mode
        self.query_one(FlowStrip).here = mode

    def tell_waiting(self, text: str) -> None:
        """Show a scan that waits."""
        self._waiting.append(self.symbols.show(text))
        self._body.put("\n".join(["", *(f" Waits: {one}" for one in self._waiting)]))

    def on_scan_line_typed(self, event: ScanLine.Typed) -> None:
        """Keep a typed line."""
        event.stop()
        self.app.keep_text(event.text, typed=True)

    def action_keep(self, action: str) -> None:
        """A key of the station that will stand here."""
        self.app.keep(methodcaller(f"action_{action}"))
