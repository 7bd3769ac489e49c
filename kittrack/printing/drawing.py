"""What a label is drawn with: marks at whole or part printer dots, x to the right and y down.

A drawing is a value; the PDF, SVG and PNG writers each turn the same one into a file, so that they
can't differ in what they say.
"""

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import Final

from kittrack.domain.spin import Sense
from kittrack.printing.barcodes import Pattern

# Bars that end exactly on the edge of a pixel are widened by page renderers, which fill every pixel
# touched. Held back by this much on each side, all bars in one path, they keep their width. Found by
# a sweep over renderers and resolutions; the tests hold it in two renderers.
INSET_DOTS: Final = 0.03
_DARK: Final = re.compile("1+")
_SWEEP_DEG: Final = 280  # of a full turn; the gap is where the head stands free
_STEPS: Final = 28


@dataclass(frozen=True, slots=True)
class Text:
    """A row of text that starts at `x` on its baseline; upside down it runs to the left and rises downwards."""

    text: str
    x: float
    baseline: float
    size: float
    white: bool = False
    upside_down: bool = False


@dataclass(frozen=True, slots=True)
class Box:
    """A filled rectangle in whole dots."""

    x: int
    y: int
    width: int
    height: int


@dataclass(frozen=True, slots=True)
class Shape:
    """A filled outline, closed from its last point to its first."""

    points: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Bars:
    """A symbol: `x` and `y` are its first module's corner, `row_dots` the height of each row."""

    pattern: Pattern
    x: int
    y: int
    module_dots: int
    row_dots: int

    def rectangles(self) -> Iterator[tuple[int, int, int, int]]:
        """The dark runs as x, y, width and height in whole dots, from the top and the left."""
        for at, row in enumerate(self.pattern.rows):
            y = self.y + at * self.row_dots
            for run in _DARK.finditer(row):
                left, right = run.span()
                yield self.x + left * self.module_dots, y, (right - left) * self.module_dots, self.row_dots


Mark = Text | Box | Shape | Bars


@dataclass(frozen=True, slots=True)
class Drawing:
    """One label: its size in dots and its marks, later ones over earlier ones."""

    width: int
    height: int
    marks: tuple[Mark, ...]


def turning_arrow(sense: Sense, *, x: float, y: float, size: float) -> Shape:
    """A round arrow that turns as a rotor of the sense does, seen from above.

    Args:
        sense: the sense.
        x: left edge of the square that it fills.
        y: upper edge of the square.
        size: side of the square.
    """
    return Shape(tuple((round(x + px * size, 2), round(y + py * size, 2)) for px, py in _unit_arrow(sense)))


@cache
def _unit_arrow(sense: Sense) -> tuple[tuple[float, float], ...]:
    """The arrow in a square of side 1: a ring with a gap at its upper right and a head before the gap."""
    outer, inner, begin = 0.40, 0.26, math.radians(-20)
    end = begin + math.radians(_SWEEP_DEG)  # with y down, a growing angle turns clockwise
    angles = [begin + (end - begin) * step / _STEPS for step in range(_STEPS + 1)]
    tip = end + math.radians(38)
    middle = (outer + inner) / 2
    ring = [(outer, a) for a in angles] + [(0.5, end), (middle, tip), (0.16, end)]
    ring += [(inner, a) for a in reversed(angles)]
    points = [(0.5 + r * math.cos(a), 0.5 + r * math.sin(a)) for r, a in ring]
    if sense is Sense.CCW:
        points = [(1 - px, py) for px, py in points]
    return tuple(points)
