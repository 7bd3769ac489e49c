"""One label as SVG, in millimetres of paper and dots of drawing."""

from html import escape

from kittrack.printing.drawing import INSET_DOTS, Bars, Box, Drawing, Mark, Shape, Text
from kittrack.printing.fonts import FAMILY, text_width
from kittrack.printing.stock import Stock


def write_svg(drawing: Drawing, stock: Stock, *, title: str) -> str:
    """Draw one label.

    Args:
        drawing: from `lay_out`.
        stock: where it was laid out.
        title: as a viewer shows it.
    """
    width_mm = drawing.width * stock.dot_um / 1000
    height_mm = drawing.height * stock.dot_um / 1000
    marks = "\n".join(map(_mark, drawing.marks))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width_mm:.3f}mm" height="{height_mm:.3f}mm" '
        f'viewBox="0 0 {drawing.width} {drawing.height}">\n'
        f"<title>{escape(title)}</title>\n"
        f'<rect width="100%" height="100%" fill="#fff"/>\n'
        f"{marks}\n</svg>\n"
    )


def _mark(mark: Mark) -> str:
    match mark:
        case Text():
            return _text(mark)
        case Bars():
            return _rectangles(list(mark.rectangles()), inset=INSET_DOTS)
        case Box():
            return f'<rect x="{mark.x}" y="{mark.y}" width="{mark.width}" height="{mark.height}"/>'
        case Shape():
            points = " ".join(f"{x:g},{y:g}" for x, y in mark.points)
            return f'<polygon points="{points}"/>'


def _text(mark: Text) -> str:
    # textLength holds the width where the viewer has another typeface.
    length = text_width(len(mark.text), size=mark.size)
    turn = f' transform="rotate(180 {mark.x:.2f} {mark.baseline:.2f})"' if mark.upside_down else ""
    colour = ' fill="#fff"' if mark.white else ""
    return (
        f'<text x="{mark.x:.2f}" y="{mark.baseline:.2f}" font-size="{mark.size:g}" textLength="{length:.2f}" '
        f'lengthAdjust="spacingAndGlyphs" font-family="{FAMILY}, monospace" xml:space="preserve"'
        f"{colour}{turn}>{escape(mark.text)}</text>"
    )


def _rectangles(rectangles: list[tuple[int, int, int, int]], *, inset: float) -> str:
    path = "".join(
        f"M{x + inset:g} {y + inset:g}h{w - 2 * inset:g}v{h - 2 * inset:g}h{2 * inset - w:g}z"
        for x, y, w, h in rectangles
    )
    return f'<path d="{path}"/>'
