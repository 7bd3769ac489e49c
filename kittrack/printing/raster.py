"""One label as pixels, one to each printer dot: for thermal printers, and for reading a label back."""

from io import BytesIO
from typing import Any

from kittrack.errors import PrintError
from kittrack.printing.drawing import Bars, Box, Drawing, Mark, Shape, Text
from kittrack.printing.fonts import font_file, text_width
from kittrack.printing.stock import Stock

_BLACK, _WHITE = 0, 1


def write_png(drawing: Drawing, stock: Stock, *, title: str) -> bytes:
    """Draw one label as a PNG of black and white pixels that knows its resolution.

    Args:
        drawing: from `lay_out`.
        stock: where it was laid out.
        title: kept in the file.
    """
    from PIL.PngImagePlugin import PngInfo

    text = PngInfo()
    text.add_itxt("Title", title)
    buffer = BytesIO()
    dpi = float(stock.dpi)
    pixels(drawing).save(buffer, format="PNG", dpi=(dpi, dpi), pnginfo=text)
    return buffer.getvalue()


def read_back(drawing: Drawing) -> tuple[str, ...]:
    """The texts of all symbols of our kinds that an independent reader finds on a drawing, in no certain order."""
    import zxingcpp

    grey = pixels(drawing).convert("L")
    image = memoryview(grey.tobytes()).cast("B", (drawing.height, drawing.width))
    kinds = (zxingcpp.BarcodeFormat.Code128, zxingcpp.BarcodeFormat.DataMatrix)
    return tuple(found.text for found in zxingcpp.read_barcodes(image, kinds))


def check_reads_back(drawing: Drawing, *, code: str, subject: str) -> None:
    """Raise when an independent reader does not find exactly the code on a drawing.

    Raises:
        PrintError: it finds nothing or something else.
    """
    found = read_back(drawing)
    if found != (code,):
        raise PrintError(
            f"{subject} does not read back as {code} but as {', '.join(found) or 'nothing'}; "
            "print it on a larger stock."
        )


def pixels(drawing: Drawing) -> Any:
    """A drawing as a picture of black and white pixels, one to each dot."""
    from PIL import Image, ImageDraw

    image = Image.new("1", (drawing.width, drawing.height), _WHITE)
    pen = ImageDraw.Draw(image)
    pen.fontmode = "1"
    for mark in drawing.marks:
        _draw(image, pen, mark)
    return image


def _draw(image: Any, pen: Any, mark: Mark) -> None:
    match mark:
        case Text():
            _text(image, pen, mark)
        case Bars():
            for x, y, width, height in mark.rectangles():
                pen.rectangle((x, y, x + width - 1, y + height - 1), fill=_BLACK)
        case Box():
            pen.rectangle((mark.x, mark.y, mark.x + mark.width - 1, mark.y + mark.height - 1), fill=_BLACK)
        case Shape():
            pen.polygon(mark.points, fill=_BLACK)


def _text(image: Any, pen: Any, mark: Text) -> None:
    from PIL import Image, ImageDraw, ImageFont

    font = ImageFont.truetype(str(font_file()), int(mark.size))
    colour = _WHITE if mark.white else _BLACK
    if not mark.upside_down:
        pen.text((mark.x, mark.baseline), mark.text, font=font, fill=colour, anchor="ls")
        return
    width, height = int(text_width(len(mark.text), size=mark.size)) + 1, int(mark.size * 1.2)
    mask = Image.new("1", (width, height), 0)
    turned = ImageDraw.Draw(mask)
    turned.fontmode = "1"
    turned.text((0, mark.size), mark.text, font=font, fill=1, anchor="ls")
    where = (int(mark.x) - width, int(mark.baseline) - height + int(mark.size))
    image.paste(colour, where, mask.rotate(180))
