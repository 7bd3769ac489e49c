"""The one typeface of labels and documents: DejaVu Sans Mono, which python-barcode brings along.

All its characters are equally wide, so that what fits can be counted, and codes stay easy to compare.
It is embedded in each PDF. A character that it can't print is refused: a PDF library would print a
black square in its place without a word.

Source: libraries' own files; figures of the typeface are checked against the file by the tests.
"""

import unicodedata
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any, Final

from kittrack.domain.text import clean_label, is_unseen
from kittrack.errors import PrintError

FACE: Final = "DejaVuSansMono"
FAMILY: Final = "DejaVu Sans Mono"
ADVANCE_EM: Final = 1233 / 2048  # every character, the typeface's hmtx table
CAP_HEIGHT_EM: Final = 1493 / 2048  # height of H, its OS/2 table
RISE_EM: Final = 0.86  # above the baseline; an accent on a capital rises 0.07 em into the row above
LINE_EM: Final = 1.1  # from baseline to baseline: the rise, and 0.24 em below for g, j, p
# These need shaping or run from right to left; drawn one by one they would say something else.
_SHAPED: Final = frozenset({"R", "AL", "AN", "NSM"})


def font_file() -> Path:
    """Where the typeface lies."""
    return Path(str(files("barcode"))) / "fonts" / f"{FACE}.ttf"


@cache
def face() -> Any:
    """The typeface as reportlab reads it: `charToGlyph`, `charWidths` by character number."""
    from reportlab.pdfbase.ttfonts import TTFontFace

    return TTFontFace(str(font_file()))


@cache
def register_face() -> str:
    """Make the typeface known to reportlab; returns its name."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    pdfmetrics.registerFont(TTFont(FACE, str(font_file())))
    return FACE


@cache
def _printable() -> frozenset[str]:
    characters = map(chr, face().charToGlyph)
    return frozenset(
        c for c in characters if not is_unseen(c) and unicodedata.bidirectional(c) not in _SHAPED
    )


def printable(text: str, *, subject: str) -> str:
    """A text as it can be printed on one line: composed letters, line ends as blanks.

    Args:
        text: any text.
        subject: what it stands on, as the sentence of the refusal names it.

    Raises:
        PrintError: it has characters that the typeface can't print.
    """
    allowed = _printable()
    if allowed.issuperset(text):
        return text
    composed = unicodedata.normalize("NFC", " ".join(text.splitlines())).replace("\t", " ")
    strange = sorted(set(composed) - allowed)
    if strange:
        named = ", ".join(f"U+{ord(c):04X} {unicodedata.name(c, 'without a name')}" for c in strange[:3])
        raise PrintError(
            f"{subject} can't be printed: {clean_label(text, max_length=60)} has {named}; "
            "write it in Latin, Greek or Cyrillic letters."
        )
    return composed


def text_width(length: int, *, size: float) -> float:
    """The width of so many characters, in the unit of `size`."""
    return length * ADVANCE_EM * size


def columns(width: float, *, size: float) -> int:
    """How many characters of a size fit in a width."""
    return int(width / (ADVANCE_EM * size) + 1e-9)


def wrap(text: str, width: int, *, split_words: bool = False) -> list[str] | None:
    """Break a text at its blanks.

    Args:
        text: one line, from `printable`.
        width: the most characters in a row.
        split_words: break a word that is longer than a row; else such a text does not fit.

    Returns:
        Its rows, at least one, or None when it does not fit.
    """
    if len(text) <= width:
        return [text]
    if width < 1:
        return None
    rows = [""]
    for word in text.split(" "):
        joined = f"{rows[-1]} {word}" if rows[-1] else word
        if len(joined) <= width:
            rows[-1] = joined
            continue
        if len(word) > width and not split_words:
            return None
        pieces = [word[at : at + width] for at in range(0, len(word), width)]
        rows += pieces
    return [row for row in rows if row] or [""]
