"""Forms that lie over a station: fields to fill by typing or scanning, F9 to go ahead, Esc to leave.

A form takes scans itself, or says why not; none reaches the station below.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import ClassVar, Generic, TypeVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, VerticalScroll
from textual.screen import ModalScreen
from textual.widgets import Input, Static

from kittrack.domain.text import clean_label
from kittrack.errors import BadInput
from kittrack.tui.symbols import Symbols

T = TypeVar("T")
Values = Mapping[str, str]


class ScanTaker:
    """What a screen over a station does with a scan. `is_working` while the store is at work for it."""

    is_working = False

    def take_scan(self, text: str) -> None:
        """Use the scan, or tell the person what to do with it."""
        raise NotImplementedError


@dataclass(frozen=True)
class Field:
    """One line of a form: its name, what it asks in words, what stands there at first."""

    name: str
    words: str
    value: str = ""


class Form(ModalScreen[T | None], ScanTaker, Generic[T]):
    """Asks for some fields and answers with what `read` makes of them, or None where the person leaves."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f9", "go_ahead", "go ahead", show=False),
        Binding("escape", "leave", "leave the form", show=False),
        Binding("down", "app.focus_next", "the next field", show=False),
        Binding("up", "app.focus_previous", "the field before", show=False),
    ]

    def __init__(
        self,
        title: str,
        *,
        fields: Sequence[Field],
        read: Callable[[Values], T],
        symbols: Symbols,
        notes: Sequence[str] = (),
        scan_into: Callable[[str], str | None] = lambda _: None,
    ) -> None:
        super().__init__()
        self._title = title
        self._fields = fields
        self._read = read
        self._symbols = symbols
        self._notes = notes
        self._scan_into = scan_into

    def compose(self) -> ComposeResult:
        """Title, what to know, the fields, what is wrong, the keys."""
        show = self._symbols.show
        with VerticalScroll(id="form", can_focus=False):
            yield Static(show(self._title), markup=False, classes="form-title")
            for note in self._notes:
                yield Static(show(note), markup=False, classes="form-note")
            for field in self._fields:
                with Horizontal(classes="form-row"):
                    yield Static(show(field.words), markup=False, classes="form-label")
                    yield Input(
                        show(field.value), compact=True, id=f"field-{field.name}", select_on_focus=False
                    )
            yield Static("", markup=False, id="form-fault")
            yield Static("F9 go ahead   Enter next field   Esc leave", markup=False, classes="form-keys")

    def on_mount(self) -> None:
        """Begin at the first field that is empty."""
        inputs = list(self.query(Input))
        for one in inputs:
            one.cursor_blink = False
        empty = [one for one in inputs if not one.value]
        if inputs:
            (empty or inputs)[0].focus()

    def on_input_submitted(self) -> None:
        """Enter goes on to the next field."""
        self.focus_next()

    def take_scan(self, text: str) -> None:
        """Put the scan into the field that it belongs in, or tell that it belongs in none."""
        name = self._scan_into(text)
        if name is None:
            shown = clean_label(text, max_length=40)
            self.tell(f"{shown} was scanned and this form has no use for it; F9 goes ahead, Esc leaves.")
            return
        field = self.query_one(f"#field-{name}", Input)
        field.value = self._symbols.show(text.strip())
        self.tell("")
        self.action_next_empty()

    def action_next_empty(self) -> None:
        """Go to the first field that is still empty."""
        empty = [one for one in self.query(Input) if not one.value]
        if empty:
            empty[0].focus()

    def tell(self, sentence: str) -> None:
        """Say something in the form itself."""
        self.query_one("#form-fault", Static).update(self._symbols.show(sentence) if sentence else "")

    def action_go_ahead(self) -> None:
        """Read the fields; leave with what they say, or say what is wrong with them."""
        values = {field.name: self.query_one(f"#field-{field.name}", Input).value for field in self._fields}
        try:
            answer = self._read(values)
        except BadInput as error:
            self.tell("NOT READ: " + " ".join(problem.message for problem in error.problems))
            return
        self.dismiss(answer)

    def action_leave(self) -> None:
        """Leave without an answer."""
        self.dismiss(None)


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

    def take_scan(self, text: str) -> None:
        """Nothing is scanned here."""
        shown = clean_label(text, max_length=40)
        said = f"{shown} was scanned; read this first ({self._keys.strip()}), then scan it again."
        self.query_one("#form-fault", Static).update(self._symbols.show(said))

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
