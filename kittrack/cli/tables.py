"""Answers on paper and screen: aligned plain tables, JSON documents, CSV files.

What comes from the store is data: on the way to a terminal everything unseen in it is made visible, in a
CSV file nothing of it runs as a formula.
"""

import csv
import io
import json
import re
import unicodedata
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, fields, is_dataclass
from datetime import date, datetime
from enum import Enum
from typing import Any, Final

from kittrack.domain.text import clean_label, csv_cell

Column = str | tuple[str, Callable[[Any], Any]]
_GAP: Final = "  "


@dataclass(frozen=True)
class Table:
    """Rows under headings. With no rows, `nothing` is said instead, on stderr."""

    headings: tuple[str, ...]
    rows: tuple[tuple[Any, ...], ...]
    title: str = ""
    nothing: str = "nothing"


def listing(items: Sequence[Any], *columns: Column, title: str = "", nothing: str = "nothing") -> Table:
    """A table of values, one row each.

    Args:
        items: frozen values of one kind.
        columns: the name of a field, or a heading with what stands under it for an item.
        title: a line above the table.
        nothing: what is said when there is no item.
    """
    headings = tuple(c.replace("_", " ") if isinstance(c, str) else c[0] for c in columns)
    rows = tuple(tuple(getattr(i, c) if isinstance(c, str) else c[1](i) for c in columns) for i in items)
    return Table(headings, rows, title, nothing)


def facts(*pairs: tuple[str, Any], title: str = "") -> Table:
    """A table of names and values; what is empty is left out."""
    return Table((), tuple((n, v) for n, v in pairs if v not in (None, "", ())), title)


def cell(value: Any) -> str:
    """A value as it stands in a table, on one line and without anything unseen; an instant to the minute."""
    text = clean_label(plain_text(value))
    return f"{text[:10]} {text[11:16]} UTC" if _INSTANT.fullmatch(text) else text


_INSTANT: Final = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{6}Z")  # as the store keeps it


def _day_or_instant(value: date) -> str:
    if isinstance(value, datetime):
        return value.isoformat(timespec="microseconds").replace("+00:00", "Z")  # as the store keeps it
    return value.isoformat()


def plain_text(value: Any) -> str:
    """A value as text, as it is; a value of several named parts, or many of them, as one line of JSON."""
    if value is None or isinstance(value, bool):
        return {None: "", True: "yes", False: "no"}[value]
    if isinstance(value, Enum):
        return str(value.value)
    if isinstance(value, date):
        return _day_or_instant(value)
    if _has_parts(value) or (isinstance(value, tuple | list) and any(map(_has_parts, value))):
        return json.dumps(_jsonable(value), ensure_ascii=True)
    if isinstance(value, tuple | list):
        return ", ".join(plain_text(v) for v in value)
    return str(value)


def _has_parts(value: Any) -> bool:
    return isinstance(value, Mapping) or (is_dataclass(value) and not isinstance(value, type))


# ---- tables ------------------------------------------------------------------------------------


def table_lines(table: Table) -> list[str]:
    """A table as lines of text, its columns aligned, numbers to the right, nothing cut off."""
    lines = [clean_label(table.title)] if table.title else []
    texts = [[cell(v) for v in row] for row in table.rows]
    heads = [list(table.headings)] if table.headings and texts else []
    every = heads + texts
    if not every:
        return [*lines, _GAP + table.nothing] if table.title else lines
    right = [_is_number(table, at) for at in range(len(every[0]))]
    wide = [max(_width(row[at]) for row in every) for at in range(len(every[0]))]
    return [*lines, *(_line(row, wide, right) for row in every)]


def _is_number(table: Table, at: int) -> bool:
    values = [row[at] for row in table.rows if row[at] is not None]
    return bool(table.headings and values) and all(
        isinstance(v, int) and not isinstance(v, bool) for v in values
    )


def _line(row: Sequence[str], wide: Sequence[int], right: Sequence[bool]) -> str:
    cells = []
    for text, width, is_right in zip(row, wide, right, strict=True):
        pad = " " * (width - _width(text))
        cells.append(pad + text if is_right else text + pad)
    return _GAP.join(cells).rstrip()


def _width(text: str) -> int:
    """Columns of a terminal that a text takes: wide letters take two, combining marks none."""
    if text.isascii():
        return len(text)
    return sum(
        0 if unicodedata.combining(c) else 2 if unicodedata.east_asian_width(c) in "WF" else 1 for c in text
    )


# ---- JSON --------------------------------------------------------------------------------------


def json_text(value: Any) -> str:
    """One JSON document: keys are the fields of the answer, dates ISO, words of a list of words themselves.

    Everything beyond ASCII is escaped, so that no text of the store steers the terminal it is shown on.
    """
    return json.dumps(_jsonable(value), indent=2, ensure_ascii=True)


def _jsonable(value: Any) -> Any:
    if is_dataclass(value) and not isinstance(value, type):
        return {f.name: _jsonable(getattr(value, f.name)) for f in fields(value)}
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Mapping):
        return {plain_text(k): _jsonable(v) for k, v in value.items()}
    if isinstance(value, tuple | list):
        return [_jsonable(v) for v in value]
    return value if value is None or isinstance(value, str | int | float) else str(value)


# ---- CSV ---------------------------------------------------------------------------------------


def csv_text(items: Sequence[Any], *, kind: type | None = None, for_terminal: bool = False) -> str:
    """Values of one kind as CSV: the names of their fields, then one row each.

    Args:
        items: frozen dataclass values.
        kind: what they are, so that none of them still give the names; without it they give an empty text.
        for_terminal: also make everything unseen visible.
    """
    named = items[0] if items else kind
    if named is None:
        return ""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n", quoting=csv.QUOTE_NONNUMERIC)
    names = [f.name for f in fields(named)]
    writer.writerow(names)
    for item in items:
        writer.writerow([_csv_value(getattr(item, name), for_terminal=for_terminal) for name in names])
    return out.getvalue()


def _csv_value(value: Any, *, for_terminal: bool) -> int | str:
    if isinstance(value, int) and not isinstance(value, bool):
        return value
    text = csv_cell(plain_text(value))
    return clean_label(text) if for_terminal else text
