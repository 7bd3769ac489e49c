"""The tables of an answer laid out for a width of the screen: nothing is cut, wide tables become blocks."""

from collections.abc import Sequence

from kittrack.cli.tables import Table, cell
from kittrack.domain.text import clean_label
from kittrack.tui import layout


def tables_drawn(tables: Sequence[Table], *, width: int) -> list[str]:
    """The lines of an answer, none longer than the width.

    Args:
        tables: as the verb shows them.
        width: characters a line.
    """
    lines: list[str] = []
    for table in tables:
        drawn = _drawn(table, width)
        lines += ["", *drawn] if lines and drawn else drawn
    if not lines and tables:
        return layout.wrapped(tables[0].nothing, width=width)
    return lines


def _drawn(table: Table, width: int) -> list[str]:
    title = layout.wrapped(clean_label(table.title), width=width) if table.title else []
    rows = [tuple(cell(value) for value in row) for row in table.rows]
    if not rows:
        return [*title, *layout.wrapped(f"  {table.nothing}", width=width)] if title else []
    return [*title, *layout.table_or_blocks(table.headings, rows, width=width)]
