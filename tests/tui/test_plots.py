"""Bars as lines of text: none is left out however many there are, none is longer than the width."""

import pytest

from kittrack.tui import layout
from kittrack.tui.symbols import symbols_here
from kittrack.tui.widgets.plots import Bar, bar_lines


@pytest.mark.parametrize("width", [40, 79, 140])
@pytest.mark.parametrize("count", [1, 2, 12, 23, 24, 25, 60, 200])
@pytest.mark.parametrize("value", [lambda _: 3, lambda n: n * 7 % 5, lambda n: n])
def test_every_bar_has_its_line_in_order(width: int, count: int, value: object) -> None:
    assert callable(value)
    bars = [Bar(f"n{number:03}", value(number), f"{number} sets") for number in range(count)]
    lines = bar_lines(bars, width=width, symbols=symbols_here())
    assert [line.split()[0] for line in lines] == [bar.name for bar in bars]
    assert all(bar.number in line for bar, line in zip(bars, lines, strict=True))
    assert all(len(line) <= width for line in lines)


def test_figures_of_an_answer_stand_at_the_right_edge_of_their_column() -> None:
    rows = [
        ("on hold", "84", "20 mL", "007"),
        ("issued", "", "1.2 mL", "12"),
        ("fitted", "1592", "-3 mL", "8"),
    ]
    lines = layout.table_or_blocks(("class", "pieces", "volume", "lot"), rows, width=60)
    assert lines == [
        " class    pieces  volume  lot",
        " on hold      84   20 mL  007",
        " issued           1.2 mL  12",
        " fitted     1592   -3 mL  8",
    ]
