"""Plots as plain lines of text, drawn by a library: bars with their numbers beside them.

The numbers stand in the names, so a plot says nothing that can't be read. The library is loaded when
somebody looks at a plot first. Source: design 7 (the Office), A1 (libraries at the edge).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from kittrack.tui import layout
from kittrack.tui.symbols import Symbols

_MOST_NAME: Final = 0.7  # of the width; the rest is the bar's
_THIN: Final = 0.0001  # of a bar, so that each takes one line


@dataclass(frozen=True)
class Bar:
    """One bar: its name, its length, and its number as a person reads it."""

    name: str
    value: float
    number: str


def bar_lines(
    bars: Sequence[Bar], *, width: int, symbols: Symbols, limit: float | None = None, limit_words: str = ""
) -> list[str]:
    """Bars from left to right, one a line, in the order given.

    Args:
        bars: what to draw; no value is below zero.
        width: characters a line.
        symbols: of the terminal.
        limit: a value at which a vertical line stands.
        limit_words: what the limit is, told under the bars.

    Returns:
        The lines; none longer than the width.
    """
    if not bars:
        return []
    names = layout.aligned([(bar.name, bar.number) for bar in bars], right=(1,))
    longest = max(map(len, names))
    if longest > width * _MOST_NAME or not any(bar.value > 0 for bar in bars):
        return [f"{name}  " for name in names]
    drawn = _drawn(names, [bar.value for bar in bars], width=width, symbols=symbols, limit=limit)
    return [*drawn, *([f"{symbols.bar} {limit_words}"] if limit is not None and limit_words else [])]


def _drawn(
    names: Sequence[str], values: Sequence[float], *, width: int, symbols: Symbols, limit: float | None
) -> list[str]:
    import plotext

    plotext.clear_figure()
    plotext.theme("clear")
    plotext.frame(frame=False)
    plotext.xaxes(lower=False, upper=False)
    plotext.yaxes(left=False, right=False)
    plotext.limit_size(False, False)  # else bars beyond the size of the terminal are left out without a word
    plotext.plot_size(width, len(names))
    plotext.xticks([])
    marker = "#" if symbols.is_ascii else "█"
    rising = ([f"{name} " for name in reversed(names)], list(reversed(values)))  # the library begins below
    plotext.bar(*rising, orientation="h", width=_THIN, marker=marker, minimum=0)
    if limit is not None:
        plotext.vline(limit)
        plotext.xlim(0, max(limit * 1.05, *values))
    text: str = plotext.uncolorize(plotext.build())
    plotext.clear_figure()
    return [line.rstrip().replace("│", symbols.bar) for line in text.split("\n") if line.strip()][
        : len(names)
    ]
