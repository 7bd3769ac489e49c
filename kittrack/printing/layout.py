"""Where the marks of a label stand: from its words and its stock to a `Drawing`.

From the top: the sense twice, once for each way of holding the label; the heading with its banner;
the lines, all of one size; the bars. The size is the largest at which everything fits. Nothing is cut
off and nothing is printed smaller than can be read: what does not fit is refused, with a stock that
would do.
"""

from bisect import bisect_right
from collections.abc import Callable, Iterator
from dataclasses import dataclass, fields, is_dataclass, replace
from functools import cache
from math import ceil
from typing import Any, Final

from kittrack.domain.spin import Sense
from kittrack.errors import PrintError
from kittrack.printing.barcodes import Pattern, Symbol, pattern
from kittrack.printing.contents import Face, Label
from kittrack.printing.drawing import Bars, Box, Drawing, Mark, Text, turning_arrow
from kittrack.printing.fonts import (
    ADVANCE_EM,
    CAP_HEIGHT_EM,
    LINE_EM,
    RISE_EM,
    columns,
    printable,
    text_width,
    wrap,
)
from kittrack.printing.stock import Stock, stocks

MIN_TEXT_UM: Final = (
    25_400 / 12
)  # 6 point; smaller print is not read at arm's length (common practice, no source)
MAX_TEXT_UM: Final = 5_600  # 16 point
_STEPS: Final = 24  # sizes tried between the two
_ROOMY_TEXT_UM: Final = 2_600  # text of this size or more leaves the bars their full height
MIN_BAR_UM: Final = (
    4_900  # about 5 mm: a hand scanner's line still crosses all bars (common practice, no source)
)
_BAR_SHARE: Final = 0.28  # of the label's height, where there is room
_SENSE_SHARES: Final = (0.32, 0.28, 0.24)  # of the height inside the margins: the largest that fits
_HEADING_SCALE: Final = 1.25
_GAP_UM: Final = 400
_MATRIX_SHARE: Final = 0.40  # of the label's width


@dataclass(frozen=True, slots=True)
class _Zone:
    """A rectangle in whole dots."""

    x: int
    y: int
    width: int
    height: int


@dataclass(frozen=True, slots=True)
class _Words:
    """The words of a label broken into rows for one size."""

    size: int
    heading: list[str]
    banner: str
    beside: bool
    rows: list[str]

    @property
    def heading_size(self) -> int:
        return int(self.size * _HEADING_SCALE)

    @property
    def height(self) -> int:
        own_row = bool(self.banner) and not self.beside
        head = (len(self.heading) + own_row) * self.heading_size + len(self.rows) * self.size
        return ceil(head * LINE_EM)


def lay_out(label: Label, stock: Stock, *, symbol: Symbol = Symbol.CODE_128) -> Drawing:
    """Place the words, the sense and the symbol of a label on a stock.

    Args:
        label: what is printed.
        stock: the paper and the printer's resolution.
        symbol: how its code is drawn.

    Returns:
        The drawing, in dots of the stock's printer.

    Raises:
        PrintError: something does not fit or can't be printed; names a stock that would do.
    """
    face = _printable_face(label.face(), label)
    bars = pattern(face.code, symbol=symbol)
    drawing = _fit(face, bars, stock)
    if drawing is None:
        raise PrintError(
            f"{face.subject} does not fit on {stock.title} at {stock.dpi} dpi with {symbol} bars of readable "
            f"width and text of 6 point; {_way_out(face, bars, stock)}."
        )
    return drawing


def _way_out(face: Face, bars: Pattern, stock: Stock) -> str:
    fitting = [s for s in stocks() if s.dpi == stock.dpi and _fit(face, bars, s) is not None]
    same_kind = [s for s in fitting if (s.sheet is None) == (stock.sheet is None)]
    for other in same_kind or fitting:
        return f"use {other.key}"
    return "shorten its words"


def _printable_face(face: Face, label: Label) -> Face:
    """The words as they can be printed; the field of the label that can't be is named before its lines are."""
    subject = face.subject
    for name, text in _texts(label):
        printable(text, subject=f"{subject}, {name.replace('_', ' ')},")

    def clean(text: str) -> str:
        return printable(text, subject=subject)

    return replace(
        face,
        kind=clean(face.kind),
        lines=tuple(clean(line) for line in face.lines if line.strip()),
        short=tuple(clean(line) for line in face.short if line.strip()),
    )


def _texts(value: Any, name: str = "") -> Iterator[tuple[str, str]]:
    """Every text of a label with the field that it stands in, those inside of fields too."""
    if isinstance(value, str):
        yield name, value
    elif isinstance(value, tuple):
        for part in value:
            yield from _texts(part, name)
    elif is_dataclass(value):
        for field in fields(value):
            yield from _texts(getattr(value, field.name), field.name)


def _fit(face: Face, bars: Pattern, stock: Stock) -> Drawing | None:
    """The drawing with the largest sense at which all fits, in full or else in short words."""
    wordings = [face, replace(face, lines=face.short)] if face.short else [face]
    for wording in wordings:
        for share in _SENSE_SHARES if face.sense else (0.0,):
            marks = _marks(wording, bars, stock, sense_share=share)
            if marks is not None:
                return Drawing(stock.width_dots, stock.height_dots, tuple(marks))
    return None


def _marks(face: Face, bars: Pattern, stock: Stock, *, sense_share: float) -> list[Mark] | None:
    margin = ceil(stock.margin_um / stock.dot_um)
    zone = _Zone(margin, margin, stock.width_dots - 2 * margin, stock.height_dots - 2 * margin)
    gap = max(1, stock.dots(_GAP_UM))
    marks: list[Mark] = []
    sense_size = 0
    if face.sense is not None:
        height = int(zone.height * sense_share)
        marks += _sense_strip(face.sense, _Zone(zone.x, zone.y, zone.width, height), gap)
        sense_size = max(int(mark.size) for mark in marks if isinstance(mark, Text))
        zone = _Zone(zone.x, zone.y + height + gap, zone.width, zone.height - height - gap)
    place = _symbol_beside if bars.symbol is Symbol.DATA_MATRIX else _symbol_below
    rest = place(face, bars, stock, zone, gap, sense_size)
    return None if rest is None else marks + rest


def _symbol_below(
    face: Face, bars: Pattern, stock: Stock, zone: _Zone, gap: int, sense_size: int
) -> list[Mark] | None:
    """Linear bars under the words; their quiet zones may lie in the label's margins."""
    module = bars.module_dots(width_dots=stock.width_dots, dot_um=stock.dot_um)
    if module is None or bars.width_modules * module > zone.width:
        return None
    least, full = stock.dots(MIN_BAR_UM), max(stock.dots(MIN_BAR_UM), int(stock.height_dots * _BAR_SHARE))

    def room(size: int) -> int:
        kept = full if size * stock.dot_um >= _ROOMY_TEXT_UM else least
        return zone.height - kept - gap

    words = _largest(face, stock, width=zone.width, room=room, sense_size=sense_size)
    if words is None:
        return None
    height = min(full, zone.height - gap - words.height)
    x = (stock.width_dots - bars.width_modules * module) // 2
    symbol = Bars(bars, x, zone.y + zone.height - height, module, height)
    return [*_place(words, zone), symbol]


def _symbol_beside(
    face: Face, bars: Pattern, stock: Stock, zone: _Zone, gap: int, sense_size: int
) -> list[Mark] | None:
    """A matrix at the left of the words, as large as they allow."""
    quiet = 2 * bars.quiet_modules
    across, down = bars.width_modules + quiet, len(bars.rows) + quiet
    width = min(int(zone.width * _MATRIX_SHARE), zone.height * across // down)
    while (module := bars.module_dots(width_dots=width, dot_um=stock.dot_um)) is not None:
        left = across * module + gap
        beside = _Zone(zone.x + left, zone.y, zone.width - left, zone.height)
        words = _largest(face, stock, width=beside.width, room=lambda _: zone.height, sense_size=sense_size)
        if words is not None:
            inset = bars.quiet_modules * module
            return [*_place(words, beside), Bars(bars, zone.x + inset, zone.y + inset, module, module)]
        width = across * module - 1
    return None


def _largest(
    face: Face, stock: Stock, *, width: int, room: Callable[[int], int], sense_size: int
) -> _Words | None:
    """The words at the largest size that fits, found by halving: what fits at a size fits at a smaller one."""
    sizes = _sizes(stock.dot_um)
    # The sense is the largest thing on its label, at least twice as high as any other word.
    ceiling = sense_size / (2 * _HEADING_SCALE) if sense_size else sizes[-1]
    best = None
    low, high = 0, bisect_right(sizes, ceiling) - 1
    while low <= high:
        middle = (low + high) // 2
        words = _words(face, sizes[middle], width)
        if words is not None and words.height <= room(sizes[middle]):
            best, low = words, middle + 1
        else:
            high = middle - 1
    return best


@cache
def _sizes(dot_um: float) -> tuple[int, ...]:
    """The text sizes to try, in whole dots, rising."""
    least, most = ceil(MIN_TEXT_UM / dot_um - 1e-9), int(MAX_TEXT_UM / dot_um)
    step = max(1, (most - least) // _STEPS)
    return tuple(range(least, most + 1, step))


def _words(face: Face, size: int, width: int) -> _Words | None:
    heading_size = int(size * _HEADING_SCALE)
    fitting = columns(width, size=heading_size)
    heading = wrap(face.heading, fitting)
    banner_columns = len(face.banner) + 1  # half a character of black at each end
    if heading is None or (face.banner and banner_columns > fitting):
        return None
    beside = len(heading) == 1 and len(heading[0]) + 1 + banner_columns <= fitting
    rows: list[str] = []
    across = columns(width, size=size)
    for line in face.lines:
        broken = wrap(line, across)
        if broken is None:
            return None
        rows += broken
    return _Words(size, heading, face.banner, beside, rows)


def _place(words: _Words, zone: _Zone) -> Iterator[Mark]:
    """The marks of words, from the top of a zone."""
    y: float = zone.y
    size, step = words.heading_size, words.heading_size * LINE_EM
    if words.banner:
        across = ceil(text_width(len(words.banner) + 1, size=size))
        top = round(y if words.beside else y + len(words.heading) * step)
        left = zone.x + zone.width - across if words.beside else zone.x
        yield Box(left, top, across, int(step))
        foot = top + (int(step) + CAP_HEIGHT_EM * size) / 2
        yield Text(words.banner, left + text_width(1, size=size) / 2, foot, size, white=True)
    for row in words.heading:
        yield Text(row, zone.x, y + RISE_EM * size, size)
        y += step
    if words.banner and not words.beside:
        y += step
    for row in words.rows:
        yield Text(row, zone.x, y + RISE_EM * words.size, words.size)
        y += words.size * LINE_EM


def _sense_strip(sense: Sense, zone: _Zone, gap: int) -> list[Mark]:
    """Arrow and word, upright from the left end and upside down from the right end, a line between them."""
    line = max(1, gap // 4)
    half = (zone.width - line) // 2 - 2 * gap
    side = min(zone.height, int(half * 0.4))
    letters = len(sense.value) * ADVANCE_EM
    size = min(int(zone.height / CAP_HEIGHT_EM), int((half - side - gap) / letters))
    right, bottom = zone.x + zone.width, zone.y + zone.height
    rise = (zone.height - CAP_HEIGHT_EM * size) / 2
    arrow_y = zone.y + (zone.height - side) / 2
    return [
        turning_arrow(sense, x=zone.x, y=arrow_y, size=side),
        Text(sense.value, zone.x + side + gap, bottom - rise, size),
        turning_arrow(sense, x=right - side, y=arrow_y, size=side),
        Text(sense.value, right - side - gap, zone.y + rise, size, upside_down=True),
        Box(zone.x + (zone.width - line) // 2, zone.y, line, zone.height),
    ]
