"""Choosing one of several: arrows or a number, or typing to filter; Enter chooses."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar, Generic, TypeVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.screen import ModalScreen
from textual.widgets import Input, Static

from kittrack.domain.text import clean_label
from kittrack.tui import layout
from kittrack.tui.listing import Record
from kittrack.tui.scan_taker import ScanTaker
from kittrack.tui.scanner import LEAST
from kittrack.tui.widgets.record_list import RecordList

T = TypeVar("T")


@dataclass(frozen=True)
class Choice(Generic[T]):
    """One thing to choose: its cells; `is_first` marks those that fit what is in hand."""

    what: T
    cells: tuple[str, ...]
    is_first: bool = False


class Chooser(ModalScreen[T | None], ScanTaker, Generic[T]):
    """Lists choices by number and answers with the chosen one, or None where the person leaves."""

    CSS_PATH = "deed_form.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave", "leave the menu", show=False),
        Binding("f9", "choose", "choose", show=False),
        Binding("f10", "other", "other choices", show=False),
        Binding("down", "move(1)", "down", show=False),
        Binding("up", "move(-1)", "up", show=False),
        Binding("pagedown", "move(10)", "further down", show=False),
        Binding("pageup", "move(-10)", "further up", show=False),
    ]
    keys_shown = "Up Down or a number; type to filter   Enter choose   Esc leave"

    def __init__(self, title: str, *, choices: Sequence[Choice[T]]) -> None:
        super().__init__()
        self.title_shown = title
        self.choices = choices

    def compose(self) -> ComposeResult:
        """Title, the list, the one under the cursor in full, the line to type on."""
        with Vertical(id="deed", classes="chooser"):
            yield Static("", markup=False, id="menu-title", classes="form-title")
            yield RecordList(symbols=self.app.symbols)  # type: ignore[attr-defined]  # the app is the stations'
            yield Static("", markup=False, id="menu-told")
            yield Static("", markup=False, id="deed-keys")
            with Horizontal(id="menu-line"):
                yield Static("filter > ", markup=False, id="menu-prompt")
                yield Input(compact=True, id="menu-text", select_on_focus=False)

    def on_mount(self) -> None:
        """Show all."""
        line = self.query_one(Input)
        line.cursor_blink = False
        line.focus()
        self.call_after_refresh(self.show_again)

    def _text(self, text: str) -> str:
        shown: str = self.app.symbols.show(text)  # type: ignore[attr-defined]  # the app is the stations'
        return shown

    def show_again(self) -> None:
        """Show the choices that the filter lets through, whatever they are."""
        self.query_one("#menu-title", Static).update(self._text(self.title_shown))
        self.query_one("#deed-keys", Static).update(self._text(self.keys_shown))
        self._filter(self.query_one(Input).value.strip())

    def _filter(self, text: str) -> None:
        records = [
            Record(str(number), (f"{number:>3}", *choice.cells), (" ".join(choice.cells),))
            for number, choice in enumerate(self.choices, start=1)
        ]
        wanted = [r for r in records if (r.key == text if text.isdigit() else r.matches(text))]
        if text:
            wanted.sort(key=lambda record: nearness(record.cells[1], text))
        columns = max((len(record.cells) for record in records), default=1)
        self.query_one(RecordList).show(("",) * columns, wanted)

    # ---- what comes in ---------------------------------------------------------------------------

    def on_record_list_moved(self) -> None:
        """Tell the one under the cursor in full, in case its line is too long for the screen."""
        here = self.query_one(RecordList).here
        told = "  ".join(here.cells[1:]) if here else "Nothing is called so; empty the filter."
        self.query_one("#menu-told", Static).update(
            "\n".join(layout.wrapped(self._text(told), width=self.size.width - 4))
        )

    def on_input_changed(self, event: Input.Changed) -> None:
        """Filter while somebody types."""
        event.stop()
        self._filter(event.value.strip())

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Enter chooses."""
        event.stop()
        self.action_choose()

    def take_scan(self, text: str) -> None:
        """Nothing is scanned here; the few letters of fast fingers go on filtering."""
        if len(text) < LEAST and text.isprintable():
            line = self.query_one(Input)
            line.value += text
            line.cursor_position = len(line.value)
            return
        shown = clean_label(text, max_length=40)
        self.hear(f"{shown} was scanned; choose first, the form then takes scans. Esc leaves.")

    def hear(self, sentence: str) -> None:
        """Show one sentence."""
        self.query_one("#menu-told", Static).update(self._text(sentence))

    def action_go_ahead(self) -> None:
        """Take the one under the cursor."""
        self.action_choose()

    def action_move(self, lines: int) -> None:
        """Up and down."""
        self.query_one(RecordList).move(lines)

    def action_choose(self) -> None:
        """Take the one under the cursor."""
        here = self.query_one(RecordList).here
        if here is not None:
            self.dismiss(self.choices[int(here.key) - 1].what)

    def action_other(self) -> None:
        """There are no others here."""

    def action_leave(self) -> None:
        """Leave without a choice."""
        self.dismiss(None)


def nearness(name: str, text: str) -> int:
    """How near a name is to what was typed: 0 the same, 1 begins so, 2 its words do, 3 holds it, 4 only the rest of its line does."""
    own, typed = name.casefold(), " ".join(text.casefold().split())
    if own == typed:
        return 0
    if own.startswith(typed):
        return 1
    words = own.split()
    if all(any(word.startswith(part) for word in words) for part in typed.split()):
        return 2
    return 3 if typed in own else 4
