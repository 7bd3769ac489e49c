"""The bench sheet and the self-test sheet, read back by an independent reader from two renderers."""

from itertools import pairwise
from typing import Any

import pytest
import zxingcpp
from PIL import Image, ImageFilter

from kittrack.domain.keyboards import SELF_TEST
from kittrack.domain.moves import Move
from kittrack.domain.scans import read_scan
from kittrack.errors import PrintError
from kittrack.printing.barcodes import Symbol, pattern
from kittrack.printing.bench_sheet import bench_sheet_pdf
from kittrack.printing.pages import Paper
from kittrack.printing.self_test_sheet import self_test_sheet_pdf
from tests.factories import T0
from tests.printing.rendering import RENDERERS, codes, page_text, renderer, symbols

MOVES = sorted(move.value for move in Move)


@pytest.mark.parametrize("dpi", [203, 300, 600])
@pytest.mark.parametrize("by", RENDERERS)
@pytest.mark.parametrize("paper", Paper, ids=lambda paper: paper.name)
def test_the_bench_sheet_holds_every_move_once(paper: Paper, by: str, dpi: int) -> None:
    (page,) = renderer(by)(bench_sheet_pdf(paper=paper), dpi=dpi)
    assert codes(page) == MOVES


def test_the_bench_sheets_moves_stand_far_apart_and_say_what_they_do() -> None:
    (page,) = renderer("pdfium")(bench_sheet_pdf(footer="Invented stores, copy 2"), dpi=300)
    rows = sorted((s.position.top_left.y, s.position.bottom_left.y) for s in symbols(page))
    for (_, bottom), (top, _) in pairwise(rows):
        assert top - bottom > 20 / 25.4 * 300, "a scanner's line of 20 mm does not cross two of them"
    (words,) = page_text(bench_sheet_pdf(footer="Invented stores, copy 2"))
    for move in Move:
        assert move.called in words
    assert "copy 2" in words
    assert "override" not in words.lower()


@pytest.mark.parametrize("turn", [-6, 4, 90, 180])
def test_a_worn_bench_sheet_still_reads(turn: int) -> None:
    (page,) = renderer("pdfium")(bench_sheet_pdf(), dpi=300)
    seen = page.rotate(turn, resample=Image.Resampling.BICUBIC, expand=True, fillcolor=255)
    assert codes(seen.filter(ImageFilter.GaussianBlur(2))) == MOVES


@pytest.mark.parametrize("by", RENDERERS)
@pytest.mark.parametrize("paper", Paper, ids=lambda paper: paper.name)
def test_the_self_test_sheet_holds_its_text_with_the_separator_in_both_symbols(paper: Paper, by: str) -> None:
    (page,) = renderer(by)(self_test_sheet_pdf(paper=paper), dpi=300)
    found = sorted(symbols(page), key=lambda s: str(s.format))
    assert [bytes(s.bytes) for s in found] == [SELF_TEST.encode("ascii")] * 2
    assert {s.format for s in found} == {zxingcpp.BarcodeFormat.Code128, zxingcpp.BarcodeFormat.DataMatrix}
    for symbol in found:
        read = read_scan(_sent(symbol), today=T0.date())
        assert not read.problems


def _sent(symbol: Any) -> str:
    return f"{symbol.symbology_identifier}{bytes(symbol.bytes).decode('ascii')}\r"


def test_the_self_test_sheet_tells_the_steps() -> None:
    (words,) = page_text(self_test_sheet_pdf())
    assert "kittrack scanner test" in words


@pytest.mark.parametrize("symbol", Symbol)
def test_control_characters_are_drawn_only_where_they_are_meant(symbol: Symbol) -> None:
    with pytest.raises(PrintError):
        pattern(SELF_TEST, symbol=symbol)
    with pytest.raises(PrintError):
        pattern("A\x1bB", symbol=symbol, controls="\x1d")
    assert pattern(SELF_TEST, symbol=symbol, controls="\x1d").rows
