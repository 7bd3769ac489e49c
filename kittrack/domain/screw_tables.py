"""Published screw tables as CSV text: lengths by standard, heads by thread, with what is wrong in them.

A table of others is data, and may hold slips: in one published list of lengths a 6 and an 8 have run
together to 68. Such a value is named with its row and never becomes a length that can be ordered.

Source: design C8; the layout is that of the CSV files in the PyPI package bd-warehouse 0.4.0.
"""

import csv
import re
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from itertools import zip_longest
from typing import Final

from kittrack.domain.text import clean_label
from kittrack.errors import BadInput, Problem

_MOST_TEXT: Final = 1_000_000
_SHOWN: Final = 40
_LENGTH_HEADING: Final = ("Screw_Type", "Unit", "Nominal_Sizes")
_UM_PER_UNIT: Final = {"mm": 1000, "in": 25_400}
_NUMBER: Final = re.compile(r"[0-9]{1,4}(?:\.[0-9]{1,4})?")
_SIZE: Final = re.compile(r"(M[0-9]{1,2}(?:\.[0-9])?)-([0-9](?:\.[0-9]{1,2})?)")
# Standard lengths grow by steps: none is more than twice the one before it (true of all 30 lists of the
# package, the slip apart). After a value that was left out, one step may be missing, so four times.
_MOST_STEP: Final = 2


@dataclass(frozen=True)
class LengthTable:
    """Lengths in um by standard, rising, and what was left out of them and why."""

    lengths_um: dict[str, tuple[int, ...]]
    problems: tuple[Problem, ...]


def read_length_table(text: str) -> LengthTable:
    """Read a list of lengths by standard, leaving out and naming every value that can't be right.

    Args:
        text: CSV with the columns Screw_Type, Unit (mm or in) and Nominal_Sizes, the sizes of a row
            separated by commas.

    Returns:
        The lengths that can be trusted; problems carry their row, counted from 1 with the heading.

    Raises:
        BadInput: no such table at all.
    """
    rows = _rows(text)
    if not rows or tuple(cell.strip() for cell in rows[0][1]) != _LENGTH_HEADING:
        raise BadInput(
            f"This is no table of screw lengths; its heading must be {', '.join(_LENGTH_HEADING)}."
        )
    lengths: dict[str, tuple[int, ...]] = {}
    problems: list[Problem] = []
    for number, cells in rows[1:]:
        name, fault = _row_name(cells, known=lengths)
        if fault:
            problems.append(Problem(fault, row=number))
            continue
        unit = cells[1].strip()
        found = _Lengths(name, unit)
        for cell, after in _with_next(cells[2].split(",")):
            found.take(cell.strip(), after=after.strip())
        lengths[name] = tuple(found.lengths_um)
        problems += [Problem(message, name, number) for message in found.faults]
    return LengthTable(lengths, tuple(problems))


def _row_name(cells: list[str], *, known: dict[str, tuple[int, ...]]) -> tuple[str, str]:
    """The standard of a row, and what is wrong with the row as a whole."""
    name = cells[0].strip() if cells else ""
    shown = clean_label(name, max_length=_SHOWN) or "This row"
    if len(cells) != len(_LENGTH_HEADING):
        return name, f"{shown} has {len(cells)} columns where {len(_LENGTH_HEADING)} belong; correct the row."
    if not name or name in known:
        return name, f"{shown} has no name or stands in the table twice; name each standard once."
    if cells[1].strip() not in _UM_PER_UNIT:
        return name, f"{shown} is in an unknown unit; write mm or in."
    return name, ""


class _Lengths:
    """The lengths of one row as they are read: what is taken so far, and the faults."""

    def __init__(self, name: str, unit: str) -> None:
        self.lengths_um: list[int] = []
        self.faults: list[str] = []
        self._name = clean_label(name, max_length=_SHOWN)
        self._unit = unit
        self._left_out = False

    def take(self, cell: str, *, after: str) -> None:
        """Take a value, or leave it out and say why."""
        fault = self._fault(cell, after=after)
        if fault:
            shown = clean_label(cell, max_length=_SHOWN) or "An empty value"
            self.faults.append(f"{shown} in the lengths of {self._name} {fault}; it is left out.")
        else:
            self.lengths_um.append(self._um(cell))
        self._left_out = bool(fault)

    def _fault(self, cell: str, *, after: str) -> str:
        if not _NUMBER.fullmatch(cell) or self._um(cell) < 1:
            return "is no length"
        if not self.lengths_um:
            return ""
        last, length_um = self.lengths_um[-1], self._um(cell)
        if length_um <= last:
            return "repeats the value before it or goes back"
        if length_um <= last * _MOST_STEP * (_MOST_STEP if self._left_out else 1):
            return ""
        return f"jumps too far{self._run_together(cell, after=after)}"

    def _run_together(self, cell: str, *, after: str) -> str:
        """How the digits of a value may be two lengths between its neighbours."""
        last = self.lengths_um[-1]
        end = self._um(after) if _NUMBER.fullmatch(after) else None
        for place in range(1, len(cell)):
            one, other = cell[:place], cell[place:]
            if not (_NUMBER.fullmatch(one) and _NUMBER.fullmatch(other)):
                continue
            if last < self._um(one) < self._um(other) and (end is None or self._um(other) < end):
                return f" and looks like {one} and {other} run together"
        return ""

    def _um(self, cell: str) -> int:
        return int(Decimal(cell) * _UM_PER_UNIT[self._unit])


@dataclass(frozen=True)
class HeadRow:
    """One thread of a head table, all in um; the key as printed, which may be its greatest size."""

    pitch_um: int
    head_um: int
    key_um: int
    shortest_um: int
    longest_um: int


@dataclass(frozen=True)
class HeadTable:
    """Head rows by thread name, and what was left out and why."""

    rows: dict[str, HeadRow]
    problems: tuple[Problem, ...]


def read_head_table(text: str, *, standard: str) -> HeadTable:
    """Read the metric rows of one standard from a table of heads with a hexagon socket.

    Args:
        text: CSV whose first column is the size ("M3-0.5") and whose other columns are named
            "standard:figure", of which dk, s, short and long are read.
        standard: the standard's name as the columns give it, such as "iso4762".

    Returns:
        The rows in which the standard has figures. Inch sizes are no business of this table's reader and
        rows that are empty for the standard are passed over.

    Raises:
        BadInput: no such columns.
    """
    rows = _rows(text)
    heading = [cell.strip() for cell in rows[0][1]] if rows else []
    wanted = [f"{standard}:{figure}" for figure in ("dk", "s", "short", "long")]
    if any(column not in heading for column in wanted):
        shown = clean_label(standard, max_length=_SHOWN)
        raise BadInput(f"This is no table of heads of {shown}; it needs the columns {', '.join(wanted)}.")
    places = [heading.index(column) for column in wanted]
    found: dict[str, HeadRow] = {}
    problems: list[Problem] = []
    for number, cells in rows[1:]:
        size = _SIZE.fullmatch(cells[0].strip()) if cells else None
        figures = [cells[place].strip() if place < len(cells) else "" for place in places]
        if size is None or not any(figures):
            continue
        if size[1] in found or not all(map(_NUMBER.fullmatch, figures)):
            message = f"{size[0]} stands in the table twice or lacks a figure; it is left out."
            problems.append(Problem(message, standard, number))
            continue
        found[size[1]] = HeadRow(*(int(Decimal(cell) * 1000) for cell in (size[2], *figures)))
    return HeadTable(found, tuple(problems))


def _rows(text: str) -> list[tuple[int, list[str]]]:
    """The rows of a CSV text that are not empty, with their line numbers."""
    if len(text) > _MOST_TEXT:
        raise BadInput(f"The table is longer than {_MOST_TEXT:,} characters; it is no screw table.")
    reader = csv.reader(text.removeprefix("\ufeff").splitlines(), strict=True)
    try:
        return [(reader.line_num, cells) for cells in reader if cells]
    except csv.Error:
        raise BadInput(
            f"The table can't be read at line {reader.line_num}; save it again as CSV.", row=reader.line_num
        ) from None


def _with_next(cells: list[str]) -> Iterator[tuple[str, str]]:
    """Each cell with the one after it, and with nothing at the end."""
    return zip_longest(cells, cells[1:], fillvalue="")
