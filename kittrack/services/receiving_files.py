"""A delivery from a CSV file: read as text, so that codes survive; nothing is half loaded.

The first row names the columns, in any order and case:

    part           part number, or "maker: number"                               needed
    lot            the lot code as the pack says, or the word unknown            needed
    quantity       whole pieces, or a volume with its unit, such as 10 mL        needed
    expires        a date (2027-03-31 or 31 Mar 2027), none, or unknown          needed
    maker          the maker's name, where several use the part number
    made           the day of making or cure, as a date
    paper kind     the three together: what came as conformity document
    paper number
    paper issuer
    scan           the supplier's label as the scanner sent it
    order          the code of the order that it came in for

Commas, semicolons or tabs part the cells; the file is UTF-8, with or without a byte order mark. An empty
cell says nothing, so a lot or an expiry that is not known is written as such. A part or a lot that reads as what a
spreadsheet makes of a code (1E+05, Mar-26, #NAME?) is refused unless an apostrophe stands in front; the apostrophe is
no part of it. Source: design R13, R16.
"""

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

from kittrack.domain.dates import Expiry, read_date
from kittrack.domain.quantities import Dimension, read_quantity
from kittrack.domain.text import check_text, clean_label, is_made_by_spreadsheet
from kittrack.errors import BadInput, Problem
from kittrack.services.booking import MOST_LINES, LineSpec, PaperSpec
from kittrack.services.desk import Done
from kittrack.services.receiving import receive
from kittrack.store.database import Store

NEEDED = ("part", "lot", "quantity", "expires")
PAPER = ("paper kind", "paper number", "paper issuer")
COLUMNS = (*NEEDED, "maker", "made", *PAPER, "scan", "order")

MOST_BYTES = 5_000_000  # a thousand bytes a line of the longest delivery
MOST_CELL = 1_000  # characters of one cell, as long as a scan may be
MOST_PROBLEMS = 100  # sentences that a person reads before turning back to the file

_BLANKS = " \t"


def receive_file(
    store: Store,
    *,
    content: bytes,
    name: str,
    supplier: str,
    reference: str,
    by: str,
    at: datetime,
    key: str = "",
) -> Done:
    """Take in a delivery as `receive` does, from the content of a CSV file.

    Args:
        content: the bytes of the file.
        name: the file's name, for the sentences.

    Raises:
        BadInput: every fault with its row and column; nothing is recorded then.
    """
    lines = read_delivery_file(content, name=name)
    try:
        return receive(store, supplier=supplier, reference=reference, lines=lines, by=by, at=at, key=key)
    except BadInput as error:
        raise BadInput(replace(p, source=name) for p in error.problems) from error


def read_delivery_file(content: bytes, *, name: str) -> tuple[LineSpec, ...]:
    """Read the lines of a delivery file.

    Returns:
        The lines in the order of the file, each with its row.

    Raises:
        BadInput: every fault found, with row and column.
    """
    try:
        rows = _rows(_text(content))
        heading, columns = _heading(rows)
        read = [
            _read_row(row, cells, columns)
            for row, cells in enumerate(rows[heading:], heading + 1)
            if any(cells)
        ]
    except BadInput as error:
        raise BadInput(replace(p, source=name) for p in error.problems) from error
    problems = [replace(p, source=name) for one in read for p in one.problems]
    if problems:
        rest = len(problems) - MOST_PROBLEMS
        more = [Problem(f"There are {rest} more faults; mend these first.", source=name)] if rest > 0 else []
        raise BadInput([*problems[:MOST_PROBLEMS], *more])
    if not read:
        raise BadInput(
            [Problem("The file has no line under its heading; nothing was taken in.", source=name)]
        )
    return tuple(one.line for one in read if one.line is not None)


# ---- from bytes to cells -----------------------------------------------------------------------


def _text(content: bytes) -> str:
    if len(content) > MOST_BYTES:
        raise BadInput(
            f"The file has {len(content):,} bytes; split it into parts of at most {MOST_BYTES:,} bytes."
        )
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        row = content[: error.start].count(b"\n") + 1
        raise BadInput("The file is not in UTF-8; save it again as CSV UTF-8.", row=row) from None


def _rows(text: str) -> list[list[str]]:
    first = next((line for line in text.splitlines() if line.strip()), "")
    if not first:
        raise BadInput("The file is empty; save the delivery again as CSV UTF-8.")
    mark = max(",;\t", key=first.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=mark, strict=True)
    rows: list[list[str]] = []
    try:
        for row in reader:
            cells = [cell.strip(_BLANKS) for cell in row]
            rows.append(cells if any(cells) else [])
    except csv.Error as error:
        raise BadInput(
            f"The row can't be read ({error}); look at its quotation marks.", row=len(rows) + 1
        ) from None
    if sum(map(bool, rows)) > MOST_LINES + 1:
        raise BadInput(f"The file has more than {MOST_LINES:,} lines; split the delivery.")
    return rows


def _heading(rows: Sequence[Sequence[str]]) -> tuple[int, list[str]]:
    """How many rows the heading takes, blank ones before it included, and the column of each cell."""
    at = next((i for i, cells in enumerate(rows) if any(cells)), 0)
    columns = [" ".join(cell.casefold().replace("_", " ").split()) for cell in rows[at]]
    found = [
        f"The column {clean_label(cell, max_length=40)!r} is not known; columns are: {', '.join(COLUMNS)}."
        for cell, column in zip(rows[at], columns, strict=True)
        if column not in COLUMNS
    ]
    found += [f"The column {c!r} stands twice; keep one." for c in COLUMNS if columns.count(c) > 1]
    found += [f"The column {c!r} is missing; add it." for c in NEEDED if c not in columns]
    if found:
        raise BadInput(Problem(message, "heading", at + 1) for message in found)
    return at + 1, columns


# ---- from cells to lines -----------------------------------------------------------------------


@dataclass(frozen=True)
class _Read:
    line: LineSpec | None
    problems: tuple[Problem, ...]


class _Row:
    """One row being read: its cells by column, and the faults found so far."""

    def __init__(self, row: int, cells: dict[str, str]) -> None:
        self.row = row
        self.cells = cells
        self.problems: list[Problem] = []

    def fault(self, message: str, column: str) -> None:
        self.problems.append(Problem(message, column, self.row))

    def text(self, column: str) -> str:
        """A cell as it stands, its faults kept."""
        text = self.cells.get(column, "")
        for problem in check_text(text, field=column) if text else ():
            self.fault(problem.message, column)
        return text

    def lot(self) -> str | None:
        text = self.code("lot")
        if not text:
            self.fault("The lot is empty; type it, or the word unknown.", "lot")
        return None if text.casefold() == "unknown" else text

    def code(self, column: str) -> str:
        """A code of the supplier's; one that a spreadsheet would have spoilt takes an apostrophe in front."""
        text = self.text(column)
        if text.startswith("'") and is_made_by_spreadsheet(text[1:]):
            return text[1:]
        if is_made_by_spreadsheet(text):
            self.fault(
                f"{text} is what a spreadsheet makes of a code; type the {column} from the pack, with an apostrophe in "
                "front if it really reads so.",
                column,
            )
        return text

    def quantity(self) -> tuple[int, str]:
        text = self.cells.get("quantity", "")
        is_volume = text[-1:].lower() == "l"
        try:
            amount = read_quantity(text, dimension=Dimension.VOLUME if is_volume else Dimension.PIECES)
        except BadInput as error:
            self.fault(error.problems[0].message, "quantity")
            return 1, "pieces"
        return amount, "volume_ul" if is_volume else "pieces"

    def expiry(self) -> Expiry:
        text = self.cells.get("expires", "")
        words = {"none": Expiry.unlimited(), "unknown": Expiry.unknown()}
        if text.casefold() in words:
            return words[text.casefold()]
        if not text:
            self.fault("The expiry is empty; type a date, none, or unknown.", "expires")
            return Expiry.unknown()
        day = self.day("expires")
        return Expiry.limited(day) if day else Expiry.unknown()

    def day(self, column: str) -> date | None:
        text = self.cells.get(column, "")
        if not text:
            return None
        try:
            return read_date(text)
        except BadInput as error:
            self.fault(error.problems[0].message, column)
            return None

    def papers(self) -> tuple[PaperSpec, ...]:
        kind, number, issuer = (self.text(column) for column in PAPER)
        if not (kind or number or issuer):
            return ()
        for column, text in zip(PAPER, (kind, number, issuer), strict=True):
            if not text:
                self.fault("A paper has a kind, a number and an issuer; fill this cell too.", column)
        return (PaperSpec(kind, number, issuer),)


def _read_row(row: int, cells: Sequence[str], columns: Sequence[str]) -> _Read:
    if len(cells) != len(columns):
        message = f"The row has {len(cells)} cells and the heading {len(columns)}; look for a missing or an extra mark between cells."
        return _Read(None, (Problem(message, row=row),))
    reading = _Row(row, dict(zip(columns, cells, strict=True)))
    for column, cell in reading.cells.items():
        if len(cell) > MOST_CELL:
            reading.fault(f"The cell has {len(cell)} characters; shorten it to {MOST_CELL}.", column)
            return _Read(None, tuple(reading.problems))
    part = reading.code("part")
    if not part:
        reading.fault("The part number is empty; type it.", "part")
    lot, (quantity, unit), expiry = reading.lot(), reading.quantity(), reading.expiry()
    line = LineSpec(
        part=part,
        quantity=quantity,
        lot_code=lot,
        expiry=expiry,
        made_on=reading.day("made"),
        papers=reading.papers(),
        maker=reading.text("maker"),
        unit=unit,
        raw_scan=reading.cells.get("scan", ""),
        order=reading.text("order"),
        row=row,
    )
    return _Read(line, tuple(reading.problems))
