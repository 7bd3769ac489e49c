"""Documents as a workbook for a spreadsheet (Office Open XML), sheet by sheet.

Every cell of text is kept as text: nothing runs as a formula, no code loses a zero or becomes a date. Only what
stands at the right edge of its column and is a plain number is one. The library is loaded when somebody writes a
workbook first.
"""

import io
import re
from collections.abc import Iterable, Sequence
from datetime import UTC, datetime
from typing import Any, Final

from kittrack.domain.text import clean_label
from kittrack.errors import PrintError
from kittrack.printing.documents import Document, Table

_PLAIN: Final = re.compile(r"(?!-0$)-?(0|[1-9][0-9]{0,14})(\.[0-9]{1,6})?")
_TEXT: Final = "@"
_MOST_ROWS: Final = 1_048_575  # of a sheet, its titles apart
_MOST_CELL: Final = 32_767  # characters that a cell holds
_MOST_NAME: Final = 31  # characters of a sheet's name
_NOT_IN_NAMES: Final = re.compile(r"[\[\]:*?/\\\x00-\x1f]")
_WIDEST: Final = 60
_MADE: Final = datetime(2000, 1, 1, tzinfo=UTC).replace(tzinfo=None)
"""Written as the time of making, so that the same document gives the same sheets; the document tells the true one."""


def document_xlsx(document: Document) -> bytes:
    """A document as a workbook: a first sheet of facts, figures and cautions, then a sheet for each table.

    Args:
        document: what it says.

    Raises:
        PrintError: a table has more rows than a sheet.
    """
    from openpyxl import Workbook

    book = Workbook()
    book.properties.created = book.properties.modified = _MADE
    book.properties.creator, book.properties.title = "kittrack", _kept(document.title)
    first = book.active
    first.title = _name(document.title, ())
    for row in _front(document):
        first.append([_cell(first, text, is_number=False) for text in row])
    _widen(first, list(_front(document)))
    for table in document.tables:
        _sheet(book, table)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _front(document: Document) -> Iterable[tuple[str, ...]]:
    yield (f"{document.title} {document.code}".rstrip(),)
    yield from document.facts
    for chart in document.charts:
        yield ()
        yield (chart.heading,)
        yield from ((bar.name, bar.number) for bar in chart.bars)
    yield ()
    yield from ((mark.value, text) for mark, text in document.cautions)
    yield (document.footer,)


def _sheet(book: Any, table: Table) -> None:
    from openpyxl.styles import Font

    rows = (*table.rows, *([table.total] if table.total else []))
    if len(rows) > _MOST_ROWS:
        raise PrintError(f"{table.heading} has {len(rows):,} rows, more than a sheet holds; write CSV.")
    sheet = book.create_sheet(_name(table.heading, book.sheetnames))
    right = [title in table.right for title in table.columns]
    for row in (table.columns, *rows):
        sheet.append([_cell(sheet, text, is_number=number) for text, number in zip(row, right, strict=True)])
    for cell in sheet[1]:
        cell.font = Font(bold=True)
    sheet.freeze_panes = "A2"
    _widen(sheet, [table.columns, *rows])


def _cell(sheet: Any, text: str, *, is_number: bool) -> Any:
    from openpyxl.cell import WriteOnlyCell

    if is_number and _PLAIN.fullmatch(text):
        return WriteOnlyCell(sheet, float(text) if "." in text else int(text))
    cell = WriteOnlyCell(sheet, "")
    cell.data_type, cell._value = "s", _kept(text)  # noqa: SLF001 - the setter would take "=1" for a formula
    cell.number_format, cell.quotePrefix = _TEXT, True
    return cell


def _kept(text: str) -> str:
    """The text without what a sheet can't hold."""
    return clean_label(text, max_length=_MOST_CELL)


def _name(heading: str, taken: Sequence[str]) -> str:
    """A sheet's name: what may stand in one, and no other sheet's."""
    plain = _NOT_IN_NAMES.sub(" ", clean_label(heading, max_length=200)).strip(" '")[:_MOST_NAME] or "Sheet"
    lower = {name.lower() for name in taken}
    name, number = plain, 2
    while name.lower() in lower:
        name = f"{plain[: _MOST_NAME - 4]} {number}"
        number += 1
    return name


def _widen(sheet: Any, rows: Sequence[Sequence[str]]) -> None:
    from openpyxl.utils import get_column_letter

    count = max((len(row) for row in rows), default=0)
    for at in range(count):
        longest = max((len(row[at]) for row in rows if len(row) > at and len(row) > 1), default=8)
        sheet.column_dimensions[get_column_letter(at + 1)].width = min(_WIDEST, longest + 2)
