"""Text laid out for a width: wrapped, never cut, columns aligned."""

import re
import textwrap
from collections.abc import Collection, Sequence
from itertools import zip_longest
from typing import Final

GAP = "  "
_FIGURE: Final = re.compile(r"-?(0|[1-9]\d*)([.:]\d+)?( [a-zA-Z%]{1,5}( mm)?)?")


def wrapped(text: str, *, width: int, indent: str = "") -> list[str]:
    """A sentence as lines of at most `width` characters; later lines begin with `indent`.

    A word longer than a line is broken, so that every character of it is still shown.
    """
    return textwrap.wrap(text, max(8, width), subsequent_indent=indent, break_on_hyphens=False) or [""]


def are_figures(cells: Collection[str]) -> bool:
    """Whether cells hold figures, with or without a unit, or nothing; a number with zeros in front is a name."""
    return any(cells) and all(_FIGURE.fullmatch(cell) for cell in cells if cell)


def table(
    rows: Sequence[Sequence[str]], *, width: int, indent: str = " ", right: Collection[int] = ()
) -> list[str]:
    """Rows as aligned columns; where they don't fit, the widest columns wrap within themselves.

    Args:
        rows: cells of text; all rows have the same number of cells.
        width: the width of the screen in characters.
        indent: what each line begins with.
        right: the columns whose cells stand at their right edge.

    Returns:
        The lines, none longer than the width unless the width is too small for one letter a column.
    """
    if not rows:
        return []
    widths = _widths(rows, room=width - len(indent))
    lines = []
    for row in rows:
        cells = [wrapped(cell, width=w) if cell else [""] for cell, w in zip(row, widths, strict=True)]
        lines += [
            (indent + GAP.join(_padded(parts, widths, right))).rstrip()
            for parts in zip_longest(*cells, fillvalue="")
        ]
    return lines


def _widths(rows: Sequence[Sequence[str]], *, room: int) -> list[int]:
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    free = room - len(GAP) * (len(widths) - 1)
    while sum(widths) > free and max(widths) > 8:
        widths[widths.index(max(widths))] -= 1
    return widths


def between(left: str, right: str, *, width: int) -> list[str]:
    """Two texts at the two ends of one line, or on two lines where they don't fit on one."""
    if len(left) + len(right) + len(GAP) <= width:
        return [left + right.rjust(width - len(left))]
    return [*wrapped(left, width=width), *(line.rjust(width) for line in wrapped(right, width=width))]


def packed(words: Sequence[str], *, width: int) -> list[str]:
    """Short texts in as few lines as they fit on, three blanks between them, none of them broken."""
    lines: list[str] = []
    for word in words:
        if lines and len(lines[-1]) + 3 + len(word) <= width:
            lines[-1] += f"   {word}"
        else:
            lines.append(word)
    return lines


def one_line_rows(rows: Sequence[Sequence[str]], *, width: int, right: Collection[int] = ()) -> list[str]:
    """Rows as aligned columns of one line each; the last columns give way first, "..." says where."""
    lines = [line.rstrip() for line in aligned(rows, right=right)]
    return [line if len(line) <= width else f"{line[: max(0, width - 3)]}..." for line in lines]


def aligned(rows: Sequence[Sequence[str]], *, right: Collection[int] = ()) -> list[str]:
    """Rows as aligned columns, each as wide as its longest cell; those named stand at their right edge."""
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    return [GAP.join(_padded(row, widths, right)) for row in rows]


def _padded(cells: Sequence[str], widths: Sequence[int], right: Collection[int]) -> list[str]:
    return [
        cell.rjust(width) if at in right else cell.ljust(width)
        for at, (cell, width) in enumerate(zip(cells, widths, strict=True))
    ]


def figure_columns(rows: Sequence[Sequence[str]]) -> frozenset[int]:
    """The columns of some rows that hold figures, which stand at their right edge."""
    return frozenset(at for at, cells in enumerate(zip(*rows, strict=True)) if are_figures(cells))


def table_or_blocks(heads: Sequence[str], rows: Sequence[Sequence[str]], *, width: int) -> list[str]:
    """Rows under heads as a table where its columns have room for their words, else a block of lines a row.

    Args:
        heads: one for each column; none where the rows are names and values.
        rows: cells of text, at least one row.
        width: characters a line.
    """
    every = [*([tuple(heads)] if heads else []), *(tuple(row) for row in rows)]
    used = [i for i in range(len(every[0])) if any(row[i] for row in rows)]
    every = [tuple(row[i] for i in used) for row in every]
    if not heads or _has_room(every, width=width):
        right = figure_columns(every[1:]) if heads else ()
        return table(every, width=width, indent=" ", right=right)
    lines: list[str] = []
    for row in every[1:]:
        first, *others = [(head, text) for head, text in zip(every[0], row, strict=True) if text]
        rest = packed([f"{head}: {text}" for head, text in others], width=width - 4)
        lines += wrapped(f" {first[1]}", width=width, indent="  ")
        lines += [f"   {part}" for line in rest for part in wrapped(line, width=width - 4, indent="  ")]
    return lines


def _has_room(rows: Sequence[Sequence[str]], *, width: int) -> bool:
    """Whether no word of a table has to be broken, and no cell to go over more than a few lines."""
    words = [
        max((len(word) for row in rows for word in row[i].split()), default=1) for i in range(len(rows[0]))
    ]
    gaps = len(GAP) * (len(words) - 1) + 1
    if sum(words) + gaps > width:
        return False
    widths = _widths(rows, room=width - 1)
    return all(given >= word for given, word in zip(widths, words, strict=True))
