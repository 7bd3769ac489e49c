"""Bars on paper as long as their values, and workbooks in which text stays text, read by the library and by hand."""

import io
import re
import zipfile
from typing import Any

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kittrack.errors import PrintError
from kittrack.printing.documents import (
    Bar,
    Caution,
    Chart,
    Document,
    Paper,
    Table,
    _set,
    document_csv,
    document_pdf,
)
from kittrack.printing.drawing import Box, Text
from kittrack.printing.workbook import document_xlsx
from tests.printing.rendering import page_text
from tests.printing.test_documents import check_pages

HOSTILE = ("=1+1", "+1", "-x", "@a", '=HYPERLINK("http://x")', "007", "1E5", "2026-03-02", "1.0", "314659", "a\tb", "\x1b[2J", "CW\u202e")  # fmt: skip
USAGE = Chart("Used", (Bar("2026-01", 2, "2 sets"), Bar("2026-02", 8, "8 sets"), Bar("2026-03", 0, "0")))


def boxes(document: Document) -> list[Box]:
    (page,) = _set(document, Paper.A4).pages()
    return [mark for mark in page.marks if isinstance(mark, Box)]


def test_bars_are_as_long_as_their_values_and_each_has_its_number() -> None:
    first, second, third, _foot = boxes(Document("Stock review", charts=(USAGE,)))
    assert second.width == pytest.approx(4 * first.width, abs=3)
    assert third.width <= 2, "nothing is a line and no bar"
    assert first.x == second.x == third.x
    words = "".join(page_text(document_pdf(Document("Stock review", charts=(USAGE,)))))
    for told in ("2026-01", "8 sets", "Used"):
        assert told in words


def test_a_chart_without_bars_says_so_and_one_of_nothing_is_drawn() -> None:
    empty = Document("Stock review", charts=(Chart("Used", (), empty="nothing was used"),))
    assert "nothing was used" in "".join(page_text(document_pdf(empty)))
    check_pages(list(_set(Document("x", charts=(Chart("Used", (Bar("a", 0, "0"),)),)), Paper.A4).pages()))


def test_a_bar_below_zero_is_refused() -> None:
    with pytest.raises(PrintError, match="below zero"):
        document_pdf(Document("x", charts=(Chart("Used", (Bar("a", -1, "-1"),)),)))


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(st.text("abc xyz", min_size=1, max_size=60), st.floats(0, 1e6), st.integers(0, 10**9)),
        max_size=90,
    )
)
def test_charts_stay_on_their_pages(bars: list[tuple[str, float, int]]) -> None:
    chart = Chart("Used", tuple(Bar(name, value, str(number)) for name, value, number in bars))
    pages = list(_set(Document("Stock review", charts=(chart, USAGE)), Paper.LETTER).pages())
    check_pages(pages)
    shown = [m.text for page in pages for m in page.marks if isinstance(m, Text)]
    for _, _, number in bars:
        assert str(number) in shown


def test_a_chart_stands_in_csv_with_its_numbers() -> None:
    text = document_csv(Document("x", charts=(USAGE, Chart("Lost", (), empty="nothing"))))
    assert "2026-02,8 sets" in text.replace("'", "")
    assert "nothing" in text


# ---- workbooks -------------------------------------------------------------------------------------

SHEET = Table(
    "Stock: line/by [line]", ("Sense", "Lot code", "Quantity"),
    tuple(("CW", lot, "12") for lot in HOSTILE), right=frozenset({"Quantity"}), total=("", "all", "156"),
)  # fmt: skip


def book(document: Document) -> Any:
    return openpyxl.load_workbook(io.BytesIO(document_xlsx(document)))


def test_text_stays_text_and_only_plain_numbers_of_the_right_edge_are_numbers() -> None:
    sheet = book(Document("Stock review", tables=(SHEET,))).worksheets[1]
    rows = list(sheet.iter_rows(min_row=2))
    for row, lot in zip(rows, HOSTILE, strict=False):
        assert row[1].data_type == "s"
        assert row[1].number_format == "@"
        assert row[1].value == lot or not lot.isprintable()
        assert (row[2].data_type, row[2].value) == ("n", 12)
    assert rows[-1][2].value == 156
    assert sheet.freeze_panes == "A2"


def test_no_cell_of_the_file_itself_is_a_formula() -> None:
    content = document_xlsx(Document("=1+1", facts=(("=a", "=b"),), tables=(SHEET,), charts=(USAGE,)))
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        sheets = [n for n in archive.namelist() if n.startswith("xl/worksheets/")]
        for name in sheets:
            assert not re.search(rb"<f[ >/]", archive.read(name)), name
    assert len(sheets) == 2


@pytest.mark.parametrize("text", ["007", "1.50", "1e3", "", "--", "12 mL", "-0", "1" * 16])
def test_a_right_edge_that_is_no_plain_number_stays_text(text: str) -> None:
    table = Table("T", ("N",), ((text,),), right=frozenset({"N"}))
    cell = book(Document("x", tables=(table,))).worksheets[1]["A2"]
    if text == "1.50":
        assert cell.value == 1.5
        return
    assert (cell.value or "") == text
    assert cell.data_type != "n" or not text


def test_sheets_get_names_that_a_workbook_takes_and_no_two_alike() -> None:
    tables = tuple(Table(name, ("A",), ()) for name in ("a/b", "A B", "a?b", "x" * 60, "x" * 60, "''"))
    names = book(Document("Stock review", tables=tables)).sheetnames
    assert len({n.lower() for n in names}) == 7
    assert all(len(n) <= 31 for n in names)


def test_the_first_sheet_tells_facts_figures_cautions_and_foot() -> None:
    document = Document(
        "Stock review", "C1", facts=(("Kits", "007"),), charts=(USAGE,), cautions=((Caution.NOTE, "Read it."),), footer="Home"
    )  # fmt: skip
    first = book(document).worksheets[0]
    told = [[c.value for c in row if c.value] for row in first.iter_rows()]
    assert ["Stock review C1"] in told
    assert ["Kits", "007"] in told
    assert ["2026-02", "8 sets"] in told
    assert ["NOTE", "Read it."] in told
    assert told[-1] == ["Home"]


@settings(max_examples=40, deadline=None)
@given(st.lists(st.text(max_size=30), max_size=8))
def test_any_text_can_be_written_and_is_read_back_as_text(texts: list[str]) -> None:
    table = Table("T", ("Text",), tuple((text,) for text in texts))
    sheet = book(Document("x", tables=(table,))).worksheets[1]
    for row, text in zip(sheet.iter_rows(min_row=2), texts, strict=False):
        assert row[0].value is None or isinstance(row[0].value, str)
        if text and text.isascii() and text.isprintable():
            assert row[0].value == text
