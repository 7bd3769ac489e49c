"""The menu of what can be done at a station: arrows or a number, or typing to filter; Enter chooses."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.screen import ModalScreen
from textual.widgets import Input, Static

from kittrack.domain.text import clean_label
from kittrack.tui.deeds import Deed
from kittrack.tui.forms import ScanTaker
from kittrack.tui.listing import Record
from kittrack.tui.widgets.record_list import RecordList

if TYPE_CHECKING:
    from kittrack.tui.stations_app import StationsApp


class DeedMenu(ModalScreen[Deed | None], ScanTaker):
    """Lists deeds by number, those that take what is in hand first."""

    CSS_PATH = "deed_form.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,f10", "leave", "leave the menu", show=False),
        Binding("f9", "choose", "choose", show=False),
        Binding("down", "move(1)", "down", show=False),
        Binding("up", "move(-1)", "up", show=False),
        Binding("pagedown", "move(10)", "further down", show=False),
        Binding("pageup", "move(-10)", "further up", show=False),
    ]
    if TYPE_CHECKING:
        app: StationsApp

    def __init__(
        self, title: str, *, deeds: Sequence[Deed], in_hand: str = "", fits: frozenset[str] = frozenset()
    ) -> None:
        super().__init__()
        self._title = title
        self._in_hand = in_hand
        self._fits = fits
        self._deeds = sorted(deeds, key=lambda deed: deed.title not in fits)

    def compose(self) -> ComposeResult:
        """Title, the list, the line to type on."""
        hand = f", in hand: {self._in_hand}" if self._in_hand else ""
        with Vertical(id="deed"):
            yield Static(self.app.symbols.show(f"{self._title}{hand}"), markup=False, classes="form-title")
            yield RecordList(symbols=self.app.symbols)
            yield Static("", markup=False, id="menu-told")
            yield Static(
                " Up Down, or a number; type to filter   Enter choose   Esc leave",
                markup=False,
                id="deed-keys",
            )
            with Horizontal(id="menu-line"):
                yield Input(compact=True, id="menu-text", select_on_focus=False)

    def on_mount(self) -> None:
        """Show all."""
        line = self.query_one(Input)
        line.cursor_blink = False
        line.focus()
        self.call_after_refresh(self._show, "")

    def _show(self, text: str) -> None:
        records = [self._record(number, deed) for number, deed in enumerate(self._deeds, start=1)]
        wanted = [r for r in records if (r.key == text if text.isdigit() else r.matches(text))]
        self.query_one(RecordList).show(("", "what", ""), wanted)

    def _record(self, number: int, deed: Deed) -> Record:
        takes = f"for {self._in_hand}" if deed.title in self._fits else ""
        return Record(str(number), (f"{number:>2}", deed.title, takes))

    def on_input_changed(self, event: Input.Changed) -> None:
        """Filter while somebody types."""
        event.stop()
        self._show(event.value.strip())

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Enter chooses."""
        event.stop()
        self.action_choose()

    def take_scan(self, text: str) -> None:
        """Nothing is scanned here."""
        shown = clean_label(text, max_length=40)
        told = f"{shown} was scanned; choose first, the form then takes scans. Esc leaves."
        self.query_one("#menu-told", Static).update(self.app.symbols.show(told))

    def action_move(self, lines: int) -> None:
        """Up and down."""
        self.query_one(RecordList).move(lines)

    def action_choose(self) -> None:
        """Take the one under the cursor."""
        here = self.query_one(RecordList).here
        if here is not None:
            self.dismiss(self._deeds[int(here.key) - 1])

    def action_leave(self) -> None:
        """Leave without a choice."""
        self.dismiss(None)
