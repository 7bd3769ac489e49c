"""One line of a form: its label, its field, and a mark in front of the one that keys go to.

The mark is a character, as a screen without colours shows no background.
"""

from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.suggester import Suggester
from textual.widgets import Input, Static

from kittrack.tui.symbols import Symbols


class FormInput(Input):
    """A field. What stands in it is selected where somebody arrives: typing replaces it, Right or End keeps it.

    Args:
        value: what stands in it at first.
        name: the name of what it asks.
        adds_up: whether it takes several things; what stands in it is then gone on with, never replaced by a key.
        is_secret: whether it shows nothing of what is typed.
        suggester: what completes it.
    """

    def __init__(
        self, value: str = "", *, name: str, adds_up: bool = False, is_secret: bool = False,
        suggester: Suggester | None = None,
    ) -> None:  # fmt: skip
        super().__init__(
            value, compact=True, id=f"field-{name}", select_on_focus=not adds_up, password=is_secret,
            suggester=suggester,
        )  # fmt: skip
        self.set_reactive(FormInput.cursor_blink, False)

    def put(self, text: str) -> None:
        """Fill it as a scan does: in place of what stood there, and as if somebody just arrived."""
        self.value = text
        if self.has_focus and self.select_on_focus:
            self.select_all()
        else:
            self.cursor_position = len(text)

    def action_cursor_right(self, select: bool = False) -> None:
        """Keep what is selected; a second Right takes a suggestion."""
        if select or self.selection.is_empty:
            super().action_cursor_right(select)
        else:
            self.cursor_position = max(self.selection)

    def is_replaced_by_typing(self, *, on_arrival: bool) -> bool:
        """Whether the next letter takes the place of all that stands here, as it does where somebody arrives."""
        is_selected = sorted(self.selection) == [0, len(self.value)] or (on_arrival and self.select_on_focus)
        return bool(self.value) and is_selected


class FormRow(Horizontal):
    """A label and its field, marked while the field has the focus."""

    def __init__(self, words: str, field: FormInput, *, symbols: Symbols, row_id: str | None = None) -> None:
        super().__init__(id=row_id, classes="form-row")
        self._words = words
        self._field = field
        self._symbols = symbols

    def compose(self) -> ComposeResult:
        """Mark, label, field."""
        yield Static("", markup=False, classes="form-mark")
        yield Static(self._symbols.show(self._words), markup=False, classes="form-label")
        yield self._field

    def on_descendant_focus(self) -> None:
        """Keys go here now."""
        self.query_one(".form-mark", Static).update(self._symbols.here)

    def on_descendant_blur(self) -> None:
        """Keys go elsewhere."""
        self.query_one(".form-mark", Static).update("")
