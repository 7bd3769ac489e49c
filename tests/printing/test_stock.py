"""Label stocks: files that need no code, faults that name their place."""

from decimal import Decimal
from pathlib import Path

import pytest

from kittrack import data
from kittrack.errors import BadInput, NotFound
from kittrack.printing.stock import read_stock, stock_named, stocks

ROLL = 'title = "Roll"\ndpi = [203, 300]\nwidth_mm = 40\nheight_mm = 20.5\nmargin_mm = 1\n'
SHEET = (
    ROLL + "[sheet]\npage_width_mm = 210\npage_height_mm = 297\ncolumns = 5\nrows = 14\n"
    "left_mm = 2\ntop_mm = 2\ncolumn_gap_mm = 1\nrow_gap_mm = 0\n"
)


def test_our_stocks_cover_rolls_and_sheets_at_common_resolutions() -> None:
    known = stocks()
    assert {stock.dpi for stock in known} == {Decimal(203), Decimal(300), Decimal(600)}
    rolls = {(s.width_um, s.height_um) for s in known if s.sheet is None}
    assert rolls >= {(50_000, 25_000), (62_000, 29_000), (100_000, 50_000), (100_000, 150_000)}
    # ISO 216 A4 and ANSI/ASME Y14.1 A ("Letter"), 8 1/2 by 11 inch.
    pages = {(s.sheet.page_width_um, s.sheet.page_height_um) for s in known if s.sheet}
    assert pages == {(210_000, 297_000), (215_900, 279_400)}


def test_a_name_finds_its_stock_and_a_resolution_may_be_added() -> None:
    assert stock_named("roll-50x25").key == "roll-50x25@203"
    assert stock_named("roll-50x25@600").dpi == 600


@pytest.mark.parametrize(
    "name", ["", "roll-1x1", "roll-50x25@204", "../x", "ROLL-50X25", "roll-50x25@203@203"]
)
def test_an_unknown_name_is_answered_with_the_known_ones(name: str) -> None:
    with pytest.raises(NotFound, match="roll-100x50@203"):
        stock_named(name)


def test_dots_are_whole_and_stay_inside_the_paper() -> None:
    """50 mm are 399.6 dots of 203 dpi; 203.2 dpi, 8 dots to the millimetre, give 400."""
    assert stock_named("roll-50x25@203").width_dots == 399
    (fine,) = read_stock(ROLL.replace("[203, 300]", "203.2").replace("40", "50"), name="x")
    assert fine.width_dots == 400
    assert fine.key == "x@203.2"


def test_a_new_file_is_a_new_stock_and_takes_the_place_of_ours(tmp_path: Path) -> None:
    (tmp_path / "mine.toml").write_text(SHEET)
    (tmp_path / "roll-50x25.toml").write_text(ROLL)
    (tmp_path / "notes.txt").write_text("not a stock")
    mine = stock_named("mine@300", tmp_path)
    assert mine.sheet is not None
    assert mine.sheet.labels == 70
    assert (mine.width_um, mine.height_um) == (40_000, 20_500)
    assert stock_named("roll-50x25", tmp_path).width_um == 40_000
    assert len(stocks(tmp_path)) == len(stocks()) + 2 - 1


def test_a_folder_that_is_not_there_adds_nothing(tmp_path: Path) -> None:
    assert stocks(tmp_path / "nothing") == stocks()


def test_the_wheels_copy_is_preferred_to_the_checkout(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    packed = tmp_path / "_data" / "labels"
    packed.mkdir(parents=True)
    monkeypatch.setattr(data, "files", lambda _: tmp_path)
    assert data.data_folder("labels") == packed
    packed.rmdir()
    assert data.data_folder("labels") == Path(__file__).resolve().parents[2] / "labels"


@pytest.mark.parametrize(
    ("text", "field"),
    [
        (ROLL.replace("40", "0"), "width_mm"),
        (ROLL.replace("40", "true"), "width_mm"),
        (ROLL.replace("40", "nan"), "width_mm"),
        (ROLL.replace("40", '"40"'), "width_mm"),
        (ROLL.replace("20.5", "-1"), "height_mm"),
        (ROLL.replace("margin_mm = 1", "margin_mm = 11"), "margin_mm"),
        (ROLL.replace("margin_mm = 1", ""), "margin_mm"),
        (ROLL.replace('"Roll"', '""'), "title"),
        (ROLL.replace('"Roll"', '"a\\nb"'), "title"),
        (ROLL.replace("[203, 300]", "[]"), "dpi"),
        (ROLL.replace("[203, 300]", "[203, 203]"), "dpi"),
        (ROLL.replace("[203, 300]", "[203, 9999]"), "dpi"),
        (ROLL + "colour = 1\n", "colour"),
        ("sheet = 1\n" + ROLL, "sheet"),
        (SHEET.replace("columns = 5", "columns = 6"), "columns"),
        (SHEET.replace("rows = 14", "rows = 15"), "rows"),
        (SHEET.replace("rows = 14", "rows = 1.5"), "rows"),
        (SHEET.replace("left_mm = 2", ""), "left_mm"),
        (SHEET + "depth_mm = 1\n", "depth_mm"),
        ("title = ", ""),
    ],
)
def test_a_fault_in_a_file_names_its_line(text: str, field: str) -> None:
    with pytest.raises(BadInput) as refused:
        read_stock(text, name="mine")
    assert field in [problem.field for problem in refused.value.problems]
    assert all(problem.source == "mine" for problem in refused.value.problems)


def test_every_fault_of_every_file_is_told_at_once(tmp_path: Path) -> None:
    (tmp_path / "a.toml").write_text(ROLL.replace("40", "0").replace("20.5", "0"))
    (tmp_path / "b.toml").write_bytes(b"\xff")
    (tmp_path / "Bad Name.toml").write_text(ROLL)
    with pytest.raises(BadInput) as refused:
        stocks(tmp_path)
    assert [(p.source, p.field) for p in refused.value.problems] == [
        ("Bad Name", ""),
        ("a", "width_mm"),
        ("a", "height_mm"),
        ("b", ""),
    ]
