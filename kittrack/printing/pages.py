"""Setting text on pages: rows of equally wide characters, tables whose titles repeat, page n of m.

Pages are drawings at 300 dots per inch, written by the same writer as labels.
"""

from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from enum import Enum
from math import ceil
from typing import Final

from kittrack.errors import PrintError
from kittrack.printing.barcodes import Pattern, pattern
from kittrack.printing.drawing import Bars, Box, Drawing, Mark, Text
from kittrack.printing.fonts import LINE_EM, RISE_EM, columns, printable, text_width, wrap
from kittrack.printing.stock import Stock

_DPI: Final = 300  # of the drawing; 600 and 1200 dpi printers make whole dots of it too
_POINT: Final = _DPI / 72
TITLE: Final = 15 * _POINT
HEADING: Final = 11 * _POINT
BODY: Final = 8.5 * _POINT
CAPTION: Final = 7 * _POINT
_SIZES: Final = (BODY, 7.75 * _POINT, CAPTION, 6.25 * _POINT)  # of the characters of a table
_MARGIN: Final = ceil(15_000 / 25_400 * _DPI)
_RULE: Final = 2
_GUTTER: Final = 2  # characters between two columns
_NARROWEST: Final = 4  # characters in a column
_BAR_HEIGHT: Final = round(10_000 / 25_400 * _DPI)
_BAR_SHARE: Final = 0.5  # of the width, at most
_MODULE: Final = 4  # dots, 0.339 mm


class Paper(Enum):
    """Paper sizes: width and height in micrometres. ISO 216; ANSI/ASME Y14.1."""

    A4 = (210_000, 297_000)
    LETTER = (215_900, 279_400)


def column_widths(rows: Sequence[Sequence[str]], width: int, *, subject: str) -> list[int]:
    """Share a width among columns: each what it needs, the widest cut down until all fit.

    Words stay whole where the longest of each column fit side by side; where they don't, the longest words
    of all are broken, and no others.

    Args:
        rows: the cells, titles included; all rows equally long.
        width: characters across.
        subject: what is printed, for the sentence.

    Returns:
        Characters for each column.

    Raises:
        PrintError: there are more columns than there is room for.
    """
    count = len(rows[0])
    room = width - _GUTTER * (count - 1)
    if room < _NARROWEST * count:
        raise PrintError(f"{subject} has a table of {count} columns, too many for this paper; print fewer.")
    needed = [max(1, *(len(row[at]) for row in rows)) for at in range(count)]
    if sum(needed) <= room:
        return needed
    least = _longest_words(rows)
    longest = max(least)
    while sum(least) > room:
        longest -= 1
        least = [min(low, longest) for low in least]
    cap = max(needed)
    while sum(max(low, min(n, cap)) for low, n in zip(least, needed, strict=True)) > room:
        cap -= 1
    widths = [max(low, min(n, cap)) for low, n in zip(least, needed, strict=True)]
    for at in sorted(range(count), key=lambda at: -needed[at]):
        widths[at] += min(room - sum(widths), needed[at] - widths[at])
    return widths


def _longest_words(rows: Sequence[Sequence[str]]) -> list[int]:
    """How many characters the longest word of each column has."""
    return [
        max((len(word) for cell in column for word in cell.split()), default=1)
        for column in zip(*rows, strict=True)
    ]


class Flow:
    """Fills pages from the top; what does not fit below goes to the next page."""

    def __init__(self, paper: Paper, *, subject: str, running: str, footer: str) -> None:
        width_um, height_um = paper.value
        self.sheet = Stock(paper.name, paper.name, Decimal(_DPI), width_um, height_um, 0)
        self.subject = subject
        self._running = self._clean(running)
        self._width = self.sheet.width_dots - 2 * _MARGIN
        self.columns = columns(self._width, size=BODY)
        # "page 999 of 999" stands at the right of the footer's first row.
        self._footer = self._rows(
            self._clean(footer), CAPTION, width=self._width - text_width(18, size=CAPTION)
        )
        self._bottom = self.sheet.height_dots - _MARGIN - (len(self._footer) + 1) * CAPTION * LINE_EM
        self._filled: list[list[Mark]] = [[]]
        self._y: float = _MARGIN
        self._top: float = _MARGIN
        self._size: float = BODY
        self._repeated: tuple[str, Sequence[str], Sequence[int], Sequence[bool]] | None = None

    # --- what a document is made of -------------------------------------------------------------

    def title(self, title: str, *, code: str) -> None:
        """The title at the left and the code as bars and text at the right of the first page."""
        left: float = self._width
        below = self._y
        if code:
            bars = pattern(code)
            fitting = bars.module_dots(width_dots=int(self._width * _BAR_SHARE), dot_um=self.sheet.dot_um)
            module = min(fitting or 0, _MODULE)
            if not module:
                raise PrintError(f"{self.subject} has too long a number for bars on this paper; shorten it.")
            across = bars.width_modules * module
            x = _MARGIN + self._width - across - bars.quiet_modules * module
            self._mark(Bars(bars, x, int(self._y), module, _BAR_HEIGHT))
            self._mark(Text(code, x, self._y + _BAR_HEIGHT + RISE_EM * HEADING, HEADING))
            left = x - bars.quiet_modules * module - _MARGIN
            below += _BAR_HEIGHT + HEADING * LINE_EM
        for row in self._rows(self._clean(title), TITLE, width=left):
            self._line([(0, row)], TITLE)
        self._y = max(self._y, below) + BODY

    def set_size(self, rows: Sequence[Sequence[str]]) -> list[int]:
        """Choose the size of a table's characters, the largest at which no word is broken; answers with its columns' widths.

        Args:
            rows: the cells, titles included; all rows equally long.

        Returns:
            Characters for each column.
        """
        words = sum(_longest_words(rows)) + _GUTTER * (len(rows[0]) - 1)
        self._size = next((size for size in _SIZES if words <= columns(self._width, size=size)), _SIZES[-1])
        return column_widths(rows, columns(self._width, size=self._size), subject=self.subject)

    def row(self, cells: Sequence[str], widths: Sequence[int], right: Sequence[bool] = ()) -> None:
        """One row of cells, each broken to its column's width. A row stays on one page where it can."""
        size = self._size
        broken = [
            wrap(self._clean(cell), width, split_words=True) or [""]
            for cell, width in zip(cells, widths, strict=True)
        ]
        count = max(map(len, broken))
        self._need(min(count * size * LINE_EM, self._bottom - self._top - 3 * HEADING))
        for at in range(count):
            line, start = [], 0
            for column, (rows, width) in enumerate(zip(broken, widths, strict=True)):
                text = rows[at] if at < len(rows) else ""
                shift = width - len(text) if right and right[column] else 0
                line.append((start + shift, text))
                start += width + _GUTTER
            self._need(size * LINE_EM)
            self._line(line, size)

    def open_table(
        self, heading: str, titles: Sequence[str], widths: Sequence[int], right: Sequence[bool]
    ) -> None:
        """Heading and column titles, with room for a first row; repeated on each page until closed."""
        self._need(HEADING * 2 + BODY * 4)
        self._table_head(heading, titles, widths, right)
        self._repeated = (f"{heading} (continued)", titles, widths, right)

    def close_table(self) -> None:
        """End what is repeated, and the size that it was set in."""
        self._repeated = None
        self._size = BODY
        self.space(BODY)

    def paragraph(self, text: str, *, bar: bool = False) -> None:
        """Rows over the whole width, with a thick line along their left where they are to stand out."""
        indent = 2 if bar else 0
        rows = wrap(self._clean(text), self.columns - indent, split_words=True) or [""]
        self._need(min(len(rows) * BODY * LINE_EM, self._bottom - self._top - 3 * HEADING))
        for row in rows:
            self._need(BODY * LINE_EM)
            if bar:
                self._mark(Box(_MARGIN, round(self._y), 4 * _RULE, ceil(BODY * LINE_EM)))
            self._line([(indent, row)], BODY)

    def symbol(self, bars: Pattern, *, name: str, words: str, module_dots: int, height_um: int) -> None:
        """A bar code with its name above and a sentence below, together on one page.

        Args:
            bars: what is drawn, its quiet zone kept free on all sides.
            name: in large letters.
            words: what a scan of it does or shows.
            module_dots: width of the narrowest bar; each of a matrix's rows is as high.
            height_um: height of linear bars.
        """
        quiet = bars.quiet_modules * module_dots
        linear = len(bars.rows) == 1
        row_dots = self.sheet.dots(height_um) if linear else module_dots
        height = row_dots * len(bars.rows)
        self._need(TITLE * LINE_EM + 2 * quiet + height + 2 * BODY * LINE_EM)
        for row in self._rows(self._clean(name), TITLE, width=self._width):
            self._line([(0, row)], TITLE)
        self._mark(Bars(bars, _MARGIN + quiet, round(self._y + quiet), module_dots, row_dots))
        self._y += 2 * quiet + height
        self.paragraph(words)

    def heading(self, text: str) -> None:
        """A heading with room for some rows below it."""
        self._need(HEADING * 2 + BODY * 4)
        for row in self._rows(self._clean(text), HEADING, width=self._width):
            self._line([(0, row)], HEADING)

    def bar(self, name: str, share: float, number: str, *, name_columns: int) -> None:
        """A bar of a chart: its name at the left, a box as long as its share, its number behind the box.

        Args:
            name: broken to its columns where it is longer.
            share: of the longest bar, from 0 to 1.
            number: as a person reads it.
            name_columns: characters that the names have.
        """
        names = wrap(self._clean(name), name_columns, split_words=True) or [""]
        self._need(len(names) * BODY * LINE_EM)
        shown = self._clean(number)
        start = _MARGIN + text_width(name_columns + _GUTTER, size=BODY)
        room = _MARGIN + self._width - start - text_width(len(shown) + _GUTTER, size=BODY)
        length = max(round(room * share), _RULE)
        self._mark(Box(round(start), round(self._y + BODY * 0.1), length, round(BODY * 0.9)))
        x = start + length + text_width(1, size=BODY)
        self._mark(Text(shown, x, self._y + RISE_EM * BODY, BODY))
        for row in names:
            self._line([(0, row)], BODY)

    def rule(self) -> None:
        """A line across."""
        self._mark(Box(_MARGIN, round(self._y) + 2 * _RULE, self._width, _RULE))
        self._y += 5 * _RULE

    def space(self, height: float) -> None:
        """Blank."""
        self._y += height

    def keep_with_next(self) -> None:
        """Start a new page unless a line and a row still fit."""
        self._need(3 * BODY)

    def signature(self, role: str, *, label_columns: int, height: float) -> None:
        """A role with lines for name, signature and date, on one page."""
        rows = wrap(self._clean(role), label_columns, split_words=True) or [""]
        self._need(height + len(rows) * BODY * LINE_EM)
        self._y += height
        start = text_width(label_columns + _GUTTER, size=BODY)
        part = (self._width - start) / 3
        for at, name in enumerate(("name", "signature", "date")):
            x = _MARGIN + start + at * part
            self._mark(Box(round(x), round(self._y), round(part * 0.92), _RULE))
            self._mark(Text(name, x, self._y + RISE_EM * CAPTION + 2 * _RULE, CAPTION))
        self._y -= BODY * LINE_EM
        for row in rows:
            self._line([(0, row)], BODY)
        self._y += CAPTION

    def pages(self) -> Iterator[Drawing]:
        """The pages, each with its footer."""
        count = len(self._filled)
        for at, marks in enumerate(self._filled, 1):
            foot = list(self._foot(f"page {at} of {count}"))
            yield Drawing(self.sheet.width_dots, self.sheet.height_dots, (*marks, *foot))

    # --- how it is set ----------------------------------------------------------------------------

    def _foot(self, number: str) -> Iterable[Mark]:
        y = self._bottom + CAPTION
        yield Box(_MARGIN, round(y), self._width, _RULE)
        x = _MARGIN + self._width - text_width(len(number), size=CAPTION)
        yield Text(number, x, y + 2 * _RULE + RISE_EM * CAPTION, CAPTION)
        for row in self._footer:
            yield Text(row, _MARGIN, y + 2 * _RULE + RISE_EM * CAPTION, CAPTION)
            y += CAPTION * LINE_EM

    def _table_head(
        self, heading: str, titles: Sequence[str], widths: Sequence[int], right: Sequence[bool]
    ) -> None:
        for row in self._rows(self._clean(heading), HEADING, width=self._width):
            self._line([(0, row)], HEADING)
        self.row(titles, widths, right)
        self.rule()

    def _need(self, height: float) -> None:
        """Go to a new page unless so much fits on this one."""
        if self._y + height <= self._bottom:
            return
        self._filled.append([])
        self._y = _MARGIN
        for row in self._rows(self._running, CAPTION, width=self._width):
            self._line([(0, row)], CAPTION)
        self._y += BODY
        self._top = self._y
        if self._repeated is not None:
            repeated, self._repeated = self._repeated, None
            self._table_head(*repeated)
            self._repeated = repeated

    def _line(self, pieces: Iterable[tuple[int, str]], size: float) -> None:
        """One row of text: pieces at their column, counted in characters of the size."""
        for start, text in pieces:
            if text:
                x = _MARGIN + text_width(start, size=size)
                self._mark(Text(text, x, self._y + RISE_EM * size, size))
        self._y += size * LINE_EM

    def _mark(self, mark: Mark) -> None:
        self._filled[-1].append(mark)

    def _clean(self, text: str) -> str:
        return printable(text, subject=self.subject)

    @staticmethod
    def _rows(text: str, size: float, *, width: float) -> list[str]:
        return wrap(text, columns(width, size=size), split_words=True) or [""]
