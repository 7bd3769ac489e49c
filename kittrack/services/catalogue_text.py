"""Reading the files of a catalogue: CSV for flat lists, TOML for what is nested.

Whatever is wrong is added to the list of problems with its file and row, down to the cell where it can be.
"""

import csv
import io
import re
import tomllib
from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path

from kittrack.domain.text import clean_label
from kittrack.errors import Problem
from kittrack.services.catalogue_rows import Row

_SHOWN = 40
_TOML_PLACE = re.compile(r" \(at (?:line ([0-9]+), column [0-9]+|end of document)\)$")


def read_csv(
    path: Path, *, source: str, columns: Sequence[str], needed: Sequence[str], problems: list[Problem]
) -> list[Row]:
    """The rows of a CSV file with a heading line.

    Commas, semicolons or tabs part the cells, whichever the heading uses most; a byte order mark is passed
    over; cells are UTF-8. Blank lines are passed over.

    Args:
        path: the file.
        source: the file as problems shall name it.
        columns: the columns that the file may have; any other is a problem of the heading.
        needed: those of them that it must have.
        problems: where the faults are added.
    """
    data = path.read_bytes().removeprefix(b"\xef\xbb\xbf")
    if data.startswith((b"\xff\xfe", b"\xfe\xff")) or b"\x00" in data:
        message = "The file is not UTF-8 text (it looks like UTF-16); save it as CSV UTF-8."
        problems.append(Problem(message, "", 1, source))
        return []
    rows = list(_records(data, source=source, problems=problems))
    heading: list[str] = []
    found: list[Row] = []
    for number, cells in rows:
        texts = [
            text.strip() for text in _decoded(cells, heading, source=source, row=number, problems=problems)
        ]
        if not heading:
            heading = texts
            faults = _heading_faults(heading, columns=columns, needed=needed)
            problems += [Problem(m, clean_label(n, max_length=_SHOWN), number, source) for n, m in faults]
            if faults:
                return []
        elif len(texts) != len(heading):
            message = f"The row has {len(texts)} cells and the heading {len(heading)}; put every cell under its heading."
            problems.append(Problem(message, "", number, source))
        else:
            found.append(Row(dict(zip(heading, texts, strict=True)), source, problems, number))
    return found


def _records(data: bytes, *, source: str, problems: list[Problem]) -> Iterator[tuple[int, list[str]]]:
    """The rows that are not blank, with the line on which each begins; every character is one byte.

    Bytes go through latin-1 one to one, so that each cell is decoded by itself and a bad one can be named.
    """
    lines = io.StringIO(data.decode("latin-1"), newline="")
    first = lines.readline()
    lines.seek(0)
    reader = csv.reader(lines, delimiter=max(",;\t", key=first.count), strict=True)
    begins = 1
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                yield begins, cells
            begins = reader.line_num + 1
    except csv.Error as why:
        message = f"The row can't be read as CSV ({why}); look at its quotes."
        problems.append(Problem(message, "", begins, source))


def _decoded(
    cells: Sequence[str], heading: Sequence[str], *, source: str, row: int, problems: list[Problem]
) -> list[str]:
    texts = []
    for at, cell in enumerate(cells):
        try:
            texts.append(cell.encode("latin-1").decode("utf-8"))
        except UnicodeDecodeError:
            name = heading[at] if at < len(heading) else f"cell {at + 1}"
            shown = clean_label(cell, max_length=_SHOWN)
            problems.append(
                Problem(f"{shown} is not UTF-8 text; save the file as CSV UTF-8.", name, row, source)
            )
            texts.append("")
    return texts


def _heading_faults(
    heading: Sequence[str], *, columns: Sequence[str], needed: Sequence[str]
) -> list[tuple[str, str]]:
    known = ", ".join(columns)
    return [
        *((n, f"There is no such column; the columns are: {known}.") for n in heading if n not in columns),
        *((n, "The column is missing; add it, its cells may be empty.") for n in needed if n not in heading),
        *((n, "The column stands twice; keep one.") for n, times in Counter(heading).items() if times > 1),
    ]


def read_toml(path: Path, *, source: str, problems: list[Problem]) -> Row | None:
    """A TOML file as one row of nested tables; None when it can't be read."""
    data = path.read_bytes().removeprefix(b"\xef\xbb\xbf")
    try:
        return Row(tomllib.loads(data.decode("utf-8")), source, problems, is_typed=True)
    except UnicodeDecodeError as why:
        row = data.count(b"\n", 0, why.start) + 1
        problems.append(Problem("The line is not UTF-8 text; save the file as UTF-8.", "", row, source))
    except tomllib.TOMLDecodeError as why:
        place = _TOML_PLACE.search(str(why))
        row = int(place[1]) if place and place[1] else data.count(b"\n") + 1
        problems.append(Problem(f"The line is no TOML: {_TOML_PLACE.sub('', str(why))}.", "", row, source))
    return None
