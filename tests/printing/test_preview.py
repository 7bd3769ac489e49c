"""A label as text: every word whole and in its place, the bars in theirs, and ASCII where asked for."""

import pytest

from kittrack.errors import PrintError
from kittrack.printing.barcodes import Symbol
from kittrack.printing.contents import Label, PersonLabel
from kittrack.printing.preview import preview
from kittrack.printing.stock import Stock
from tests.printing.rendering import LABELS, STOCKS

BLOCKS = set("▀▄█")
FRAME = set("─│┌┐└┘")


@pytest.mark.parametrize("symbol", Symbol)
@pytest.mark.parametrize("stock", STOCKS.values(), ids=STOCKS)
@pytest.mark.parametrize("label", LABELS.values(), ids=LABELS)
def test_every_word_of_every_label_is_shown(label: Label, stock: Stock, symbol: Symbol) -> None:
    lines = preview(label, stock, symbol=symbol)
    assert len({len(line) for line in lines}) == 1
    words = " ".join("".join(" " if c in BLOCKS | FRAME else c for c in line) for line in lines).split()
    face = label.face()
    assert set(face.heading.split()) <= set(words)
    assert set(face.banner.split()) <= set(words)
    assert any(set(" ".join(said).split()) <= set(words) for said in (face.lines, face.short) if said)
    assert BLOCKS & set("".join(lines))
    if face.sense:
        assert words.count(face.sense.value) >= 2


@pytest.mark.parametrize("label", LABELS.values(), ids=LABELS)
def test_ascii_alone_draws_the_same_in_other_characters(label: Label) -> None:
    stock = STOCKS["roll-62x29@203"]
    plain, drawn = preview(label, stock, is_ascii=True), preview(label, stock)
    assert all(line.isascii() and line.isprintable() for line in plain)
    swap = str.maketrans({"▀": "'", "▄": ",", "█": "#", "─": "-", "│": "|", **dict.fromkeys("┌┐└┘", "+")})
    assert [line.translate(swap).encode("ascii", "replace").decode() for line in drawn] == list(plain)


def test_a_preview_fits_a_terminal_of_eighty_columns() -> None:
    widths = {len(preview(label, stock)[0]) for label in LABELS.values() for stock in STOCKS.values()}
    assert max(widths) <= 80


def test_what_cannot_be_printed_cannot_be_shown() -> None:
    with pytest.raises(PrintError):
        preview(PersonLabel(code="P000003-D", name="李雷"), STOCKS["roll-62x29@203"])
