"""Labels as a vector PDF: one label to a page on a roll, many to a page on a sheet."""

from collections.abc import Iterable
from io import BytesIO
from typing import Any, Final

from kittrack.printing.drawing import INSET_DOTS, Bars, Box, Drawing, Mark, Shape, Text
from kittrack.printing.fonts import register_face
from kittrack.printing.stock import Stock

POINTS_PER_INCH: Final = 72
_HAIR_PT: Final = 0.0005


def write_pdf(drawings: Iterable[tuple[int, Drawing]], stock: Stock, *, title: str) -> bytes:
    """Draw labels into one PDF of the same bytes each time.

    A page is a whole number of dots each way: a renderer that rounds its bitmap up would else stretch it.

    Args:
        drawings: each with its place on the stock's sheets, counted from 0 on the first page; rising.
        stock: where they were laid out.
        title: as a viewer shows it.
    """
    from reportlab.pdfgen.canvas import Canvas

    font = register_face()
    scale = POINTS_PER_INCH / float(stock.dpi)
    width, height = page_dots(stock)
    buffer = BytesIO()
    # A hair less than whole dots, which rounding up then makes whole.
    page_size = (width * scale - _HAIR_PT, height * scale - _HAIR_PT)
    canvas = Canvas(buffer, pagesize=page_size, invariant=1)
    canvas.setTitle(title)
    canvas.setProducer("kittrack")
    per_page = stock.sheet.labels if stock.sheet else 1
    page: int | None = None
    for place, drawing in drawings:
        if place // per_page != page:
            if page is not None:
                canvas.showPage()
            page = place // per_page
            canvas.scale(scale, scale)
        x, y = cell_dots(stock, place % per_page)
        pen = _Pen(canvas, font=font, x=x, top=height - y)
        for mark in drawing.marks:
            pen.draw(mark)
    canvas.save()
    return buffer.getvalue()


def page_dots(stock: Stock) -> tuple[int, int]:
    """Width and height of a page in whole dots."""
    if stock.sheet is None:
        return stock.width_dots, stock.height_dots
    return stock.dots(stock.sheet.page_width_um), stock.dots(stock.sheet.page_height_um)


def cell_dots(stock: Stock, place: int) -> tuple[int, int]:
    """Upper left corner of a label on its page in whole dots; places run along the rows from 0."""
    sheet = stock.sheet
    if sheet is None:
        return 0, 0
    row, column = divmod(place, sheet.columns)
    return (
        stock.dots(sheet.left_um + column * (stock.width_um + sheet.column_gap_um)),
        stock.dots(sheet.top_um + row * (stock.height_um + sheet.row_gap_um)),
    )


class _Pen:
    """Draws the marks of one label; its canvas counts dots from the page's lower left corner."""

    def __init__(self, canvas: Any, *, font: str, x: int, top: int) -> None:
        self.canvas, self.font, self.x, self.top = canvas, font, x, top

    def draw(self, mark: Mark) -> None:
        match mark:
            case Text():
                self.text(mark)
            case Bars():
                self.rectangles(mark.rectangles(), inset=INSET_DOTS)
            case Box():
                self.rectangles([(mark.x, mark.y, mark.width, mark.height)], inset=0)
            case Shape():
                self.shape(mark)

    def text(self, mark: Text) -> None:
        canvas, x, y = self.canvas, self.x + mark.x, self.top - mark.baseline
        canvas.setFont(self.font, mark.size)
        if mark.white:
            canvas.setFillGray(1)
        if mark.upside_down:
            canvas.saveState()
            canvas.transform(-1, 0, 0, -1, x, y)
            canvas.drawString(0, 0, mark.text)
            canvas.restoreState()
        else:
            canvas.drawString(x, y, mark.text)
        if mark.white:
            canvas.setFillGray(0)

    def rectangles(self, rectangles: Iterable[tuple[int, int, int, int]], *, inset: float) -> None:
        """Fill rectangles in one path, written out directly: a path object takes twice as long."""
        across, down = self.x + inset, self.top + inset
        path = [
            f"{across + x:.2f} {down - y - height:.2f} {width - 2 * inset:.2f} {height - 2 * inset:.2f} re"
            for x, y, width, height in rectangles
        ]
        self.canvas.addLiteral(f"{' '.join(path)} f")

    def shape(self, mark: Shape) -> None:
        corners = [f"{self.x + x:.2f} {self.top - y:.2f}" for x, y in mark.points]
        self.canvas.addLiteral(f"{corners[0]} m {' l '.join(corners[1:])} l h f")
