"""A label as lines of text, to look at in a terminal before it is printed.

Words stand as themselves where they stand on the label; bars, arrows and boxes are drawn with half blocks, or with
ASCII where the terminal has no others. Ink shows as ink: a block is what the printer makes black. The bars are too
coarse to be scanned from a screen.
"""

from dataclasses import replace
from math import ceil
from typing import Any, Final

from kittrack.printing.barcodes import Symbol
from kittrack.printing.contents import Label
from kittrack.printing.drawing import Drawing, Text
from kittrack.printing.fonts import ADVANCE_EM, CAP_HEIGHT_EM, LINE_EM
from kittrack.printing.layout import lay_out
from kittrack.printing.raster import pixels
from kittrack.printing.stock import Stock

# What stands for (upper half, lower half) of a cell.
_BLOCKS: Final = {(False, False): " ", (True, False): "▀", (False, True): "▄", (True, True): "█"}
_ASCII: Final = {(False, False): " ", (True, False): "'", (False, True): ",", (True, True): "#"}
_DARK: Final = 160  # of 255: more than a third of a half cell is ink, as it is almost everywhere in a symbol
_LEAST_COLUMNS: Final = 56


def preview(
    label: Label, stock: Stock, *, symbol: Symbol = Symbol.CODE_128, is_ascii: bool = False
) -> tuple[str, ...]:
    """A label as lines of equally wide characters, with a frame that is the edge of the paper.

    The smallest words of the label decide the scale: each of their characters takes one cell, or more on a label whose
    words are large, so that its symbol still shows.

    Args:
        label: what is printed.
        stock: the paper and the printer's resolution.
        symbol: how its code is drawn.
        is_ascii: draw with ASCII alone; a letter beyond it stands as "?".

    Raises:
        PrintError: it does not fit or can't be printed.
    """
    drawing = lay_out(label, stock, symbol=symbol)
    texts = [mark for mark in drawing.marks if isinstance(mark, Text)]
    size = min(*(text.size for text in texts), drawing.width / (_LEAST_COLUMNS * ADVANCE_EM))
    width, height = ADVANCE_EM * size, LINE_EM * size
    cells = _graphics(drawing, ceil(drawing.width / width), ceil(drawing.height / height), is_ascii=is_ascii)
    for text in texts:
        _write(cells, text, width=width, height=height, is_ascii=is_ascii)
    return _framed(cells, is_ascii=is_ascii)


def _graphics(drawing: Drawing, columns: int, rows: int, *, is_ascii: bool) -> list[list[str]]:
    """Everything but words, two dots to a cell."""
    from PIL import Image

    shapes = tuple(mark for mark in drawing.marks if not isinstance(mark, Text))
    grey = pixels(replace(drawing, marks=shapes)).convert("L")
    small: Any = grey.resize((columns, 2 * rows), Image.Resampling.BOX)
    dark = [[small.getpixel((x, y)) < _DARK for x in range(columns)] for y in range(2 * rows)]
    drawn = _ASCII if is_ascii else _BLOCKS
    return [
        [drawn[above, below] for above, below in zip(dark[2 * row], dark[2 * row + 1], strict=True)]
        for row in range(rows)
    ]


def _write(cells: list[list[str]], text: Text, *, width: float, height: float, is_ascii: bool) -> None:
    """Put words where they stand; upside-down ones are shown upright. No word is longer than its place."""
    shown = text.text.encode("ascii", "replace").decode("ascii") if is_ascii else text.text
    middle = CAP_HEIGHT_EM * text.size / 2
    y = text.baseline + middle if text.upside_down else text.baseline - middle
    row = cells[min(int(y / height), len(cells) - 1)]
    start = round(text.x / width) - (len(shown) if text.upside_down else 0)
    column = min(start, len(row) - len(shown))
    row[column : column + len(shown)] = shown


def _framed(cells: list[list[str]], *, is_ascii: bool) -> tuple[str, ...]:
    across, down, corners = ("-", "|", "++++") if is_ascii else ("─", "│", "┌┐└┘")
    line = across * len(cells[0])
    body = (f"{down}{''.join(row)}{down}" for row in cells)
    return (f"{corners[0]}{line}{corners[1]}", *body, f"{corners[2]}{line}{corners[3]}")
