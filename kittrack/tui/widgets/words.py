"""Text that is laid out already: it is drawn anew only where it differs, and moves others only where its size does."""

from textual.widgets import Static


class Words(Static):
    """Lines of text without markup.

    A station says again and again what it said before; to lay the whole screen out anew for it costs more than
    the question to the store (N2).
    """

    def __init__(self, text: str = "", *, widget_id: str | None = None) -> None:
        super().__init__(text, markup=False, id=widget_id)
        self._words = text

    def put(self, text: str) -> None:
        """Show a text."""
        if text == self._words:
            return
        before, self._words = self._words, text
        self.update(text, layout=_size(before) != _size(text))


def _size(text: str) -> tuple[int, int]:
    lines = text.split("\n")
    return len(lines), max(map(len, lines))
