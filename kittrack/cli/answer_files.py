"""The answer of any question as a document in a file, where it has no paper of its own."""

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from kittrack.cli.output_file import write_out
from kittrack.cli.tables import Table, cell
from kittrack.cli.verbs_documents import WrittenDocument, check_printable, content_of, sent
from kittrack.printing import documents
from kittrack.printing.documents import Document, Paper
from kittrack.queries.answer_paper import answer_document
from kittrack.store.database import Store
from kittrack.tui.layout import are_figures


def answer_content(title: str, tables: Sequence[Table], *, facts: Sequence[tuple[str, str]] = ()) -> Document:
    """The tables of an answer as a document.

    Args:
        title: of the document.
        tables: as the verb shows them; those without headings are facts.
        facts: what was asked.
    """
    told = [*facts]
    listed: list[documents.Table] = []
    for table in tables:
        rows = tuple(tuple(cell(value) for value in row) for row in table.rows)
        if not table.headings and not listed and all(len(row) == 2 for row in rows):
            told += [(row[0], row[1]) for row in rows]
            continue
        columns = table.headings or ("",) * max((len(row) for row in rows), default=1)
        right = frozenset(
            name for at, name in enumerate(columns) if name and are_figures([row[at] for row in rows])
        )
        listed.append(documents.Table(table.title, columns, rows, right=right, empty=table.nothing))
    return Document(title, facts=tuple(told), tables=tuple(listed))


def write_answer(
    store: Store, *, content: Document, into: Path, at: datetime, paper: str = Paper.A4.name, force: bool = False,
    queue: str = "",
) -> WrittenDocument:  # fmt: skip
    """Write an answer into a file, as its ending says: PDF, CSV or workbook."""
    check_printable(into, queue)
    with write_out(into, force=force) as out:
        drawn = content_of(answer_document(store, content=content, at=at), into, paper)
        out(drawn)
    return WrittenDocument(content.title, "", str(into), sent(drawn, queue=queue, paper=paper))
