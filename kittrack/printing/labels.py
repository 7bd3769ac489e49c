"""Labels as files: PDF for a printer driver, SVG for a page, PNG for a thermal printer.

What a label says stands in `contents`, its paper in `stock`.
"""

from collections.abc import Iterable

from kittrack.errors import PrintError
from kittrack.printing.barcodes import Symbol
from kittrack.printing.contents import Label
from kittrack.printing.layout import lay_out
from kittrack.printing.pdf import write_pdf
from kittrack.printing.raster import check_reads_back, write_png
from kittrack.printing.stock import Stock
from kittrack.printing.svg import write_svg


def labels_pdf(
    labels: Iterable[Label], stock: Stock, *, start: int = 1, symbol: Symbol = Symbol.CODE_128
) -> bytes:
    """Labels as one vector PDF, to be printed at actual size.

    Args:
        labels: in the order of printing; at least one.
        stock: the paper and the printer's resolution.
        start: the first place of the first sheet that still has a label, counted along its rows from 1.
        symbol: how codes are drawn.

    Returns:
        The file; the same for the same labels.

    Raises:
        PrintError: a label does not fit or can't be printed, there is none, or the sheet has no such place.
    """
    places = stock.sheet.labels if stock.sheet else 1
    if not 1 <= start <= places:
        raise PrintError(f"{stock.title} has no place {start}; start at 1 to {places}.")
    drawings = [lay_out(label, stock, symbol=symbol) for label in labels]
    if not drawings:
        raise PrintError("There is no label to print; choose at least one.")
    return write_pdf(enumerate(drawings, start - 1), stock, title="kittrack labels")


def label_svg(label: Label, stock: Stock, *, symbol: Symbol = Symbol.CODE_128) -> str:
    """One label as SVG.

    Raises:
        PrintError: it does not fit or can't be printed.
    """
    return write_svg(lay_out(label, stock, symbol=symbol), stock, title=label.face().heading)


def label_png(label: Label, stock: Stock, *, symbol: Symbol = Symbol.CODE_128) -> bytes:
    """One label as PNG, a pixel to each printer dot.

    Raises:
        PrintError: it does not fit or can't be printed.
    """
    return write_png(lay_out(label, stock, symbol=symbol), stock, title=label.face().heading)


def check_label(label: Label, stock: Stock, *, symbol: Symbol = Symbol.CODE_128) -> None:
    """Raise when a label can't be printed so that an independent reader reads its code.

    Raises:
        PrintError: it does not fit, can't be printed or does not read back.
    """
    face = label.face()
    drawing = lay_out(label, stock, symbol=symbol)
    check_reads_back(drawing, code=face.code, subject=face.subject)
