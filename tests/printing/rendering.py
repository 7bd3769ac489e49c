"""Pages as two independent renderers draw them, and symbols as an independent reader sees them."""

import shutil
import subprocess
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, Final

import pypdfium2
import pytest
import zxingcpp
from PIL import Image

from kittrack.printing.specimens import specimen_labels
from kittrack.printing.stock import stocks

LABELS: Final = {f"{type(label).__name__}-{label.face().code}": label for label in specimen_labels()}
STOCKS: Final = {stock.key: stock for stock in stocks()}
OUR_SYMBOLS: Final = (zxingcpp.BarcodeFormat.Code128, zxingcpp.BarcodeFormat.DataMatrix)


def by_pdfium(pdf: bytes, *, dpi: float) -> Iterator[Any]:
    """Each page as a picture of greys."""
    document = pypdfium2.PdfDocument(pdf)
    try:
        for page in document:
            yield page.render(scale=dpi / 72, grayscale=True).to_pil()
    finally:
        document.close()


def by_poppler(pdf: bytes, *, dpi: float) -> Iterator[Any]:
    """Each page in black and white, as a thermal printer's driver draws it."""
    with TemporaryDirectory() as folder:
        source = Path(folder) / "in.pdf"
        source.write_bytes(pdf)
        subprocess.run(["pdftoppm", "-mono", "-r", str(dpi), source, Path(folder) / "page"], check=True)
        for file in sorted(Path(folder).glob("page*")):
            with Image.open(file) as page:
                yield page.convert("L")


@cache
def _poppler_is_there() -> bool:
    return shutil.which("pdftoppm") is not None


RENDERERS: Final[dict[str, Callable[..., Iterator[Any]]]] = {"pdfium": by_pdfium, "poppler": by_poppler}


def renderer(name: str) -> Callable[..., Iterator[Any]]:
    """A renderer by name; skips where poppler is not installed."""
    if name == "poppler" and not _poppler_is_there():
        pytest.skip("no pdftoppm: install poppler-utils")
    return RENDERERS[name]


def symbols(picture: Any) -> list[Any]:
    """What the reader finds, in its own order; each has `text`, `format` and `position`."""
    return list(zxingcpp.read_barcodes(picture, OUR_SYMBOLS))


def codes(picture: Any) -> list[str]:
    """The texts that the reader finds, sorted."""
    return sorted(found.text for found in symbols(picture))


def page_text(pdf: bytes) -> list[str]:
    """The text of each page as a viewer copies it."""
    document = pypdfium2.PdfDocument(pdf)
    try:
        return [page.get_textpage().get_text_bounded() for page in document]
    finally:
        document.close()
