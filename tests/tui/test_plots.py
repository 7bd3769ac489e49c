"""Bars as lines of text: none is left out however many there are, none is longer than the width."""

import pytest

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
