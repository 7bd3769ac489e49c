"""Every kind of label on every stock, drawn by two renderers, read by an independent reader."""

import re
from io import BytesIO
from itertools import groupby
from typing import Any

import pytest
from PIL import Image, ImageDraw, ImageFilter

from kittrack.errors import PrintError
from kittrack.printing.barcodes import QUIET_MODULES, Symbol
from kittrack.printing.contents import Label
from kittrack.printing.drawing import Bars, Drawing
from kittrack.printing.labels import check_label, label_png, label_svg, labels_pdf
from kittrack.printing.layout import lay_out
from kittrack.printing.raster import check_reads_back
from kittrack.printing.stock import Stock
from tests.printing.rendering import LABELS, RENDERERS, STOCKS, codes, renderer

EVERY_LABEL = list(LABELS.values())
EVERY_CODE = sorted(label.face().code for label in EVERY_LABEL)
KIT = EVERY_LABEL[0]
ROLLS = {key: stock for key, stock in STOCKS.items() if stock.sheet is None}


def bars_of(drawing: Drawing) -> Bars:
    (found,) = (mark for mark in drawing.marks if isinstance(mark, Bars))
    return found


def dark_runs(picture: Any, *, y: int) -> list[tuple[bool, int]]:
    row = [picture.getpixel((x, y)) < 128 for x in range(picture.width)]
    return [(dark, len(list(run))) for dark, run in groupby(row)]


@pytest.mark.parametrize("symbol", Symbol)
@pytest.mark.parametrize("by", RENDERERS)
@pytest.mark.parametrize("stock", STOCKS.values(), ids=STOCKS)
def test_every_kind_of_label_reads_back_on_every_stock(stock: Stock, by: str, symbol: Symbol) -> None:
    pdf = labels_pdf(EVERY_LABEL, stock, symbol=symbol)
    pages = list(renderer(by)(pdf, dpi=float(stock.dpi)))
    found = [codes(page) for page in pages]
    assert sorted(code for page in found for code in page) == EVERY_CODE
    if stock.sheet is None:
        assert found == [[label.face().code] for label in EVERY_LABEL]


@pytest.mark.parametrize("by", RENDERERS)
@pytest.mark.parametrize("stock", ROLLS.values(), ids=ROLLS)
def test_bars_come_out_in_whole_dots_to_the_dot(stock: Stock, by: str) -> None:
    """Neither renderer widens or narrows a bar by one pixel, and ten modules at each side stay blank."""
    bars = bars_of(lay_out(KIT, stock))
    (page,) = renderer(by)(labels_pdf([KIT], stock), dpi=float(stock.dpi))
    assert (page.width, page.height) == (stock.width_dots, stock.height_dots)
    left, *inside, right = dark_runs(page, y=bars.y + bars.row_dots // 2)
    expected = [(m == "1", len(list(run)) * bars.module_dots) for m, run in groupby(bars.pattern.rows[0])]
    assert inside == expected
    for dark, width in (left, right):
        assert not dark
        assert width >= QUIET_MODULES * bars.module_dots


@pytest.mark.parametrize("label", EVERY_LABEL, ids=LABELS)
def test_the_label_check_reads_the_printers_own_pixels(label: Label) -> None:
    check_label(label, STOCKS["roll-50x25@203"])
    check_label(label, STOCKS["roll-50x25@203"], symbol=Symbol.DATA_MATRIX)


@pytest.mark.parametrize("symbol", Symbol)
@pytest.mark.parametrize("turn", [-7, -2, 3, 90, 180])
@pytest.mark.parametrize("label", EVERY_LABEL[::4], ids=list(LABELS)[::4])
def test_a_label_reads_when_held_askew_and_out_of_focus(label: Label, turn: int, symbol: Symbol) -> None:
    """Turned by a few degrees or wholly, seen at twice the printer's dots, blurred over about a dot."""
    stock = STOCKS["roll-62x29@203"]
    with Image.open(BytesIO(label_png(label, stock, symbol=symbol))) as picture:
        seen = picture.convert("L").resize((stock.width_dots * 2, stock.height_dots * 2))
    seen = seen.rotate(turn, resample=Image.Resampling.BICUBIC, expand=True, fillcolor=255)
    seen = seen.filter(ImageFilter.GaussianBlur(1.5))
    assert codes(seen) == [label.face().code]


@pytest.mark.parametrize("symbol", Symbol)
@pytest.mark.parametrize("turn", [-3, 0, 4])
@pytest.mark.parametrize("label", EVERY_LABEL, ids=LABELS)
def test_every_kind_of_label_reads_with_thin_ink_a_little_turned_and_blurred(
    label: Label, turn: int, symbol: Symbol
) -> None:
    """A cold print head: every dark run loses a quarter of a dot at each side, at four pixels to a dot."""
    stock, scale = STOCKS["roll-50x25@203"], 4
    with Image.open(BytesIO(label_png(label, stock, symbol=symbol))) as picture:
        seen = picture.convert("L").resize(
            (stock.width_dots * scale, stock.height_dots * scale), Image.Resampling.NEAREST
        )
    seen = seen.filter(ImageFilter.MaxFilter(3))
    seen = seen.rotate(turn, resample=Image.Resampling.BICUBIC, expand=True, fillcolor=255)
    assert codes(seen.filter(ImageFilter.GaussianBlur(2))) == [label.face().code]


@pytest.mark.parametrize("symbol", Symbol)
@pytest.mark.parametrize("label", EVERY_LABEL[::5], ids=list(LABELS)[::5])
def test_the_bars_of_an_svg_read_back(label: Label, symbol: Symbol) -> None:
    """Its one path of bars, drawn here at eight pixels a dot, apart from the program's own pixels."""
    stock, scale = STOCKS["roll-50x25@203"], 8
    (path,) = re.findall(r'<path d="([^"]+)"', label_svg(label, stock, symbol=symbol))
    picture = Image.new("L", (stock.width_dots * scale, stock.height_dots * scale), 255)
    pen = ImageDraw.Draw(picture)
    for x, y, across, down in re.findall(r"M([^ ]+) ([^h]+)h([^v]+)v([^h]+)h", path):
        left, top = float(x) * scale, float(y) * scale
        pen.rectangle((left, top, left + float(across) * scale, top + float(down) * scale), fill=0)
    assert codes(picture) == [label.face().code]


def test_a_label_that_does_not_read_back_is_refused() -> None:
    drawing = lay_out(KIT, STOCKS["roll-50x25@203"])
    words_only = Drawing(
        drawing.width, drawing.height, tuple(m for m in drawing.marks if not isinstance(m, Bars))
    )
    with pytest.raises(PrintError, match="not read back as K000042-A but as nothing"):
        check_reads_back(words_only, code="K000042-A", subject="The kit label")
    with pytest.raises(PrintError, match="but as K000042-A"):
        check_reads_back(drawing, code="K000043-8", subject="The kit label")
