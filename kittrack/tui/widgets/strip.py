"""The strip along the top: the flow of the material, where you are, who is signed on."""

from textual.geometry import Size
from textual.reactive import reactive
from textual.widgets import Static

from kittrack.tui import layout
from kittrack.tui.keys import STATIONS
from kittrack.tui.symbols import Symbols


class FlowStrip(Static):
    """One line, or two where the name is too long for one."""

    here: reactive[str] = reactive("")
    signed_on: reactive[str] = reactive("", layout=True)

    def __init__(self, here: str, *, symbols: Symbols) -> None:
        super().__init__("", markup=False, id="strip")
        self.set_reactive(FlowStrip.here, here)
        self._symbols = symbols

    def render(self) -> str:
        """The flow with this station in brackets, and who is signed on at the right."""
        names = (f"[{name}]" if mode == self.here else name for mode, name in STATIONS)
        flow = " " + f" {self._symbols.step} ".join(names)
        who = "nobody signed on: scan your badge, or F12 "
        if self.signed_on:
            who = f"signed on: {self._symbols.show(self.signed_on)} "
        return "\n".join(layout.between(flow, who, width=self._room))

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:  # noqa: ARG002 - the library's signature
        """One line or two."""
        self._width = width
        return len(self.render().split("\n"))

    @property
    def _room(self) -> int:
        return self.size.width or getattr(self, "_width", 80) or 80
