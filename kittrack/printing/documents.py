"""Documents on paper: vouchers, fit records, recall accounts and the like, as PDF.

What a document says is a value; `pages` sets it. Every text is data: nothing in it is taken for
markup, and a character that the typeface can't print is refused.

Source: design A5, section 9 (cautions are given by the caller and printed whole).
"""

import csv
import io
from dataclasses import dataclass
from enum import Enum

from kittrack.domain.text import sheet_cell
from kittrack.errors import PrintError
from kittrack.printing.pages import CAPTION, HEADING, TITLE, Flow, Paper, column_widths
from kittrack.printing.pdf import write_pdf

__all__ = ["Bar", "Caution", "Chart", "Document", "Paper", "Table", "document_csv", "document_pdf"]


class Caution(Enum):
    """How a caution is marked; words first."""

    CAUTION = "CAUTION"
    NOTE = "NOTE"


@dataclass(frozen=True)
class Table:
    """Rows under column titles. `right` names the columns whose cells stand at their right edge.

    `total` is one more row, below a line. Without rows, `empty` is printed.
    """

    heading: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    right: frozenset[str] = frozenset()
    total: tuple[str, ...] = ()
    empty: str = "none"


@dataclass(frozen=True)
class Bar:
    """One bar of a chart: its name, its length, and its number as a person reads it."""

    name: str
    value: float
    number: str


@dataclass(frozen=True)
class Chart:
    """Bars from left to right, one a row, each with its number beside it, so that nothing is told by length alone.

    Without bars, `empty` is printed.
    """

    heading: str
    bars: tuple[Bar, ...]
    empty: str = "nothing"


@dataclass(frozen=True)
class Document:
    """What a document says, from top to bottom.

    Args:
        title: the kind of document, in words.
        code: its own number, or the mark that says where in the chain it stands; drawn as bars too, empty for none.
        facts: name and value pairs below the title.
        charts: below the facts, for those who look before they read.
        tables: in order.
        cautions: each with how it is marked.
        signatures: who signs, one line each ("Given by").
        footer: repeated on each page beside "page n of m": when and for whom it was printed, and the
            like.
    """

    title: str
    code: str = ""
    facts: tuple[tuple[str, str], ...] = ()
    charts: tuple[Chart, ...] = ()
    tables: tuple[Table, ...] = ()
    cautions: tuple[tuple[Caution, str], ...] = ()
    signatures: tuple[str, ...] = ()
    footer: str = ""


def document_pdf(document: Document, *, paper: Paper = Paper.A4) -> bytes:
    """A document as PDF.

    Args:
        document: what it says.
        paper: the size of its pages.

    Returns:
        The file; the same for the same document.

    Raises:
        PrintError: a text can't be printed, a row has not as many cells as its table has columns, or
            a table has more columns than the paper has room for.
    """
    flow = _set(document, paper)
    return write_pdf(enumerate(flow.pages()), flow.sheet, title=_name(document))


def document_csv(document: Document) -> str:
    """A document as CSV for a spreadsheet: title and facts, then each table under its heading, cautions last.

    No cell runs as a formula or loses a zero. The bars, the page numbers and the lines to sign are on paper only.

    Args:
        document: what it says.
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")

    def write(*cells: str) -> None:
        writer.writerow([sheet_cell(cell) for cell in cells])

    write(document.title, document.code)
    for fact in document.facts:
        write(*fact)
    for chart in document.charts:
        write()
        write(chart.heading)
        for bar in chart.bars:
            write(bar.name, bar.number)
        if not chart.bars:
            write(chart.empty)
    for table in document.tables:
        write()
        write(table.heading)
        write(*table.columns)
        for row in (*table.rows, *([table.total] if table.total else [])):
            write(*row)
        if not table.rows:
            write(table.empty)
    write()
    for mark, text in document.cautions:
        write(mark.value, text)
    write(document.footer)
    return out.getvalue()


def _name(document: Document) -> str:
    return f"{document.title} {document.code}".rstrip()


def _set(document: Document, paper: Paper) -> Flow:
    name = _name(document)
    flow = Flow(paper, subject=f"The document {name}", running=name, footer=document.footer)
    flow.title(document.title, code=document.code)
    _facts(flow, document.facts)
    for chart in document.charts:
        _chart(flow, chart)
    for table in document.tables:
        _table(flow, table)
    for mark, text in document.cautions:
        _caution(flow, mark, text)
    _signatures(flow, document.signatures)
    return flow


def _facts(flow: Flow, facts: tuple[tuple[str, str], ...]) -> None:
    if not facts:
        return
    widths = column_widths([list(fact) for fact in facts], flow.columns, subject=flow.subject)
    for fact in facts:
        flow.row(fact, widths)
    flow.space(CAPTION)


def _chart(flow: Flow, chart: Chart) -> None:
    flow.heading(chart.heading)
    longest = max((bar.value for bar in chart.bars), default=0)
    if any(bar.value < 0 for bar in chart.bars):
        raise PrintError(
            f"{flow.subject} has a bar below zero in the chart {chart.heading}; draw no such one."
        )
    widest = max((len(bar.name) for bar in chart.bars), default=0)
    for bar in chart.bars:
        share = bar.value / longest if longest else 0.0
        flow.bar(bar.name, share, bar.number, name_columns=min(widest, flow.columns // 3))
    if not chart.bars:
        flow.paragraph(chart.empty)
    flow.space(HEADING)


def _table(flow: Flow, table: Table) -> None:
    cells = [row for row in (table.columns, *table.rows, table.total) if row]
    for row in cells:
        if len(row) != len(table.columns):
            raise PrintError(
                f"{flow.subject} has a row of {len(row)} cells in the table {table.heading} of "
                f"{len(table.columns)} columns; give a cell for each column."
            )
    widths = flow.set_size([list(row) for row in cells])
    right = tuple(title in table.right for title in table.columns)
    flow.open_table(table.heading, table.columns, widths, right)
    for row in table.rows:
        flow.row(row, widths, right)
    if not table.rows:
        flow.paragraph(table.empty)
    if table.total:
        flow.keep_with_next()
        flow.rule()
        flow.row(table.total, widths, right)
    flow.close_table()


def _caution(flow: Flow, mark: Caution, text: str) -> None:
    flow.paragraph(f"{mark.value}: {text}", bar=mark is Caution.CAUTION)
    flow.space(CAPTION)


def _signatures(flow: Flow, signatures: tuple[str, ...]) -> None:
    if not signatures:
        return
    widest = max(map(len, signatures))
    flow.space(HEADING)
    for role in signatures:
        flow.signature(role, label_columns=min(widest, flow.columns // 3), height=TITLE * 2)
