"""A list of records with a cursor: one line a record, only what is on the screen is drawn."""

from collections.abc import Sequence

from rich.text import Text
from textual import events
from textual.message import Message
from textual.reactive import reactive
from textual.widget import Widget

from kittrack.tui import layout
from kittrack.tui.listing import Record
from kittrack.tui.symbols import Symbols


class RecordList(Widget, can_focus=False):
    """Shows one page of records. Moving past an end is told by `RecordList.Past`."""

    cursor: reactive[int] = reactive(0)

    class Moved(Message):
        """The cursor stands on another record."""

    class Past(Message):
        """Somebody moved past the end (1) or the beginning (-1) of the page."""

        def __init__(self, direction: int) -> None:
            super().__init__()
            self.direction = direction

    def __init__(self, *, symbols: Symbols) -> None:
        super().__init__(id="records")
        self._symbols = symbols
        self._heads: tuple[str, ...] = ()
        self._records: Sequence[Record] = ()
        self._right: frozenset[int] = frozenset()
        self._top = 0

    def show(self, heads: tuple[str, ...], records: Sequence[Record], *, at_end: bool = False) -> None:
        """Show a page, the cursor on its first or last record."""
        self._heads, self._records, self._top = heads, records, 0
        self._right = layout.figure_columns([record.cells for record in records])
        self.cursor = len(records) - 1 if at_end and records else 0
        self._follow()
        self.refresh()
        self.post_message(self.Moved())

    @property
    def here(self) -> Record | None:
        """The record under the cursor."""
        return self._records[self.cursor] if self.cursor < len(self._records) else None

    @property
    def rows(self) -> int:
        """How many records fit."""
        return max(1, self.size.height - 1)

    def move(self, lines: int) -> None:
        """Move the cursor; past an end only from the end itself."""
        last = len(self._records) - 1
        if last < 0:
            return
        wanted = max(0, min(last, self.cursor + lines))
        if wanted == self.cursor:
            self.post_message(self.Past(1 if lines > 0 else -1))
            return
        self.cursor = wanted
        self._follow()
        self.post_message(self.Moved())

    def choose(self, key: str) -> bool:
        """Put the cursor on the record with a key, else the first about that number; says whether there is one on this page."""
        found = [i for i, record in enumerate(self._records) if record.key == key]
        found = found or [i for i, record in enumerate(self._records) if record.code == key]
        if found:
            self.move(found[0] - self.cursor)
        return bool(found)

    def on_mouse_scroll_down(self, _event: events.MouseScrollDown) -> None:
        """The wheel moves the cursor."""
        self.move(3)

    def on_mouse_scroll_up(self, _event: events.MouseScrollUp) -> None:
        """The wheel moves the cursor."""
        self.move(-3)

    def on_resize(self) -> None:
        """Keep the cursor on the screen."""
        self._follow()
        self.refresh()

    def _follow(self) -> None:
        self._top = min(self._top, self.cursor)
        if self.cursor >= self._top + self.rows:
            self._top = self.cursor - self.rows + 1

    def render(self) -> Text:
        """Heads, then the records that fit, the one under the cursor marked in the margin."""
        shown = self._records[self._top : self._top + self.rows]
        cells = [self._heads, *(tuple(map(self._symbols.show, record.cells)) for record in shown)]
        lines = layout.one_line_rows(cells, width=self.size.width - 2, right=self._right)
        text = Text(no_wrap=True)
        text.append(f"  {lines[0]}", style="bold")
        for number, line in enumerate(lines[1:], start=self._top):
            is_here = number == self.cursor
            text.append(
                f"\n{self._symbols.here if is_here else ' '} {line}", style="reverse" if is_here else ""
            )
        return text
