"""Verbs that write documents: PDF to print and sign, or the same as CSV or a workbook for a spreadsheet."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from inspect import Parameter, signature
from pathlib import Path
from typing import Any, Final

from kittrack.cli import reading
from kittrack.cli.output_file import write_out
from kittrack.cli.tables import Table, facts, listing
from kittrack.cli.verb import Argument, Station, Values, Verb, option, switch, word
from kittrack.cli.verbs_find import RECALLED, recall_scope
from kittrack.cli.verbs_hold import SCOPE_OPTIONS
from kittrack.errors import BadInput
from kittrack.printing.documents import Document, Paper, document_csv, document_pdf
from kittrack.printing.queue import print_pdf
from kittrack.printing.workbook import document_xlsx
from kittrack.queries import count_papers, fit_record, recall_papers, unserviceable
from kittrack.queries import voucher as vouchers
from kittrack.queries.fit_record import FitRecordOfJob
from kittrack.queries.unserviceable import UnserviceableItem
from kittrack.queries.voucher import VoucherView, voucher_document
from kittrack.services import document_printing
from kittrack.services.desk import Done
from kittrack.store.database import Store
from kittrack.store.private import path_named

FORMS: Final = (".pdf", ".csv", ".xlsx")


@dataclass(frozen=True)
class WrittenDocument:
    """A document that was written into a file: its kind, its own number where it has one, the file."""

    document: str
    number: str
    file: str
    printed: tuple[str, ...] = ()

    @property
    def said(self) -> tuple[str, ...]:
        """Where it is, in a sentence, and what a print queue said."""
        return (
            f"{self.document} {self.number}".strip() + f": written to {Path(self.file).absolute()}.",
            *self.printed,
        )


def content_of(document: Document, into: Path, paper: str = Paper.A4.name) -> bytes:
    """A document in the form that the ending of a file says.

    Raises:
        BadInput: the ending is none of .pdf, .csv and .xlsx.
        PrintError: a text of it can't be printed.
    """
    ending = into.suffix.lower()
    if ending not in FORMS:
        raise BadInput(
            f"{into.name} has no ending that says what to write; end it in .pdf, .csv or .xlsx.",
            field="--into",
        )
    if ending == ".csv":
        return document_csv(document).encode("utf-8-sig")  # the mark by which spreadsheets know UTF-8
    if ending == ".xlsx":
        return document_xlsx(document)
    return document_pdf(document, paper=Paper[paper])


def writes(make: Callable[..., Document]) -> Callable[..., WrittenDocument]:
    """What a verb calls that writes the document of a question; its keywords are those of the question and of a file."""

    def write(
        store: Store,
        *,
        into: Path,
        at: datetime,
        paper: str = Paper.A4.name,
        force: bool = False,
        queue: str = "",
        **asked: Any,
    ) -> WrittenDocument:
        check_printable(into, queue)
        with write_out(into, force=force) as out:
            document = make(store, at=at, **asked)
            content = content_of(document, into, paper)
            out(content)
        return WrittenDocument(
            document.title, document.code, str(into), sent(content, queue=queue, paper=paper)
        )

    own = [p for p in signature(write).parameters.values() if p.kind is not Parameter.VAR_KEYWORD]
    taken = {p.name for p in own}
    theirs = [p for p in signature(make).parameters.values() if p.name not in taken]
    write.__signature__ = signature(write).replace(parameters=[*own, *theirs])  # type: ignore[attr-defined]  # what inspect reads first
    return write


def written(found: WrittenDocument) -> list[Table]:
    """What is said of a document that was written."""
    name = f"{found.document} {found.number}".strip()
    return [facts(("document", name), ("file", found.file), ("printed", " ".join(found.printed)))]


def check_printable(into: Path, queue: str) -> None:
    """Raise BadInput where something else than a PDF is to go to a print queue."""
    if queue and into.suffix.lower() != ".pdf":
        raise BadInput(
            f"Only a PDF goes to a print queue; end {into.name} in .pdf, or name no queue.", field="--queue"
        )


def sent(content: bytes, *, queue: str, paper: str) -> tuple[str, ...]:
    """Hand a document to a print queue, where one is named; answers with what the queue said.

    Raises:
        PrintError: there is no such queue, or it refuses; the file is written all the same.
    """
    if not queue:
        return ()
    media = {Paper.A4.name: "A4", Paper.LETTER.name: "Letter"}[paper]
    answer = print_pdf(content, queue=queue, title="kittrack document", media=media, what="document")
    return (f"The queue {answer.queue} took it as job {answer.job}.",)


INTO: Final = (
    option("into", "the file to write; its ending .pdf, .csv or .xlsx says its kind", read=path_named, flag="--into", needed=True),
    option("paper", "the paper of a PDF; default A4", choices=tuple(p.name for p in Paper)),
    switch("force", "write over a file that is there"),
    option("queue", "also send the PDF to this print queue, as `label queues` names it"),
)  # fmt: skip
"""How a verb is told where a document goes."""


def print_verb(
    words: str, station: Station, help_text: str, example: str, make: Callable[..., Document], *arguments: Argument,
    build: Callable[[Values], Values] | None = None,
) -> Verb:  # fmt: skip
    """A verb that writes the document of a question into a file."""
    return Verb(
        f"print {words}", station, help_text, f"{example} --into {words}.pdf".lstrip(), writes(make), (*arguments, *INTO),
        build=build, show=written, reaches=(make,),
    )  # fmt: skip


def print_copy(
    store: Store, make: Callable[[datetime], Document], *, into: Path, by: str, at: datetime, paper: str, force: bool, key: str,
    queue: str = "",
) -> Done:  # fmt: skip
    """Write a document of which every copy is kept: drawn once to see that it can be, kept, then drawn as that copy."""
    check_printable(into, queue)
    with write_out(into, force=force) as out:
        first = make(at)
        content_of(first, into, paper)
        done = document_printing.record_document_print(
            store, title=first.title, code=first.code, paper=paper, by=by, at=at, key=key
        )
        content = content_of(make(at), into, paper)
        out(content)
    printed = sent(content, queue=queue, paper=paper)
    return Done(
        done.event, done.codes, (f"{first.title} {first.code}: written to {into}.", *done.said, *printed)
    )


# ---- the voucher and the notice, of which copies are kept -----------------------------------------


def _voucher(
    store: Store, *, voucher: str, into: Path, by: str, at: datetime, paper: str = Paper.A4.name, force: bool = False, key: str = "",
    queue: str = "",
) -> Done:  # fmt: skip
    """Write a voucher into a file and keep that it was printed."""

    def make(when: datetime) -> Document:
        return voucher_document(store, voucher=voucher, at=when)

    return print_copy(store, make, into=into, by=by, at=at, paper=paper, force=force, key=key, queue=queue)


def _notice(
    store: Store, *, notice: str, into: Path, by: str, at: datetime, paper: str = Paper.A4.name, force: bool = False, key: str = "",
    queue: str = "",
) -> Done:  # fmt: skip
    """Write a recall notice into a file and keep that it was printed."""

    def make(when: datetime) -> Document:
        return recall_papers.notice_document(store, notice=notice, at=when)

    return print_copy(store, make, into=into, by=by, at=at, paper=paper, force=force, key=key, queue=queue)


# ---- questions ------------------------------------------------------------------------------------


def _voucher_view(view: VoucherView) -> list[Table]:
    return [
        facts(
            ("voucher", view.voucher), ("state", view.state), ("kit", f"{view.kit}, {view.kit_state}, seal {view.seal}"),
            ("airframe", view.tail), ("revision", view.revision), ("job", f"{view.job}, {view.purpose}"),
            ("given by", view.given_by), ("received by", view.received_by), ("issued", view.issued_at), ("event", view.event),
            ("positions", view.positions), ("printed", tuple(f"copy {c.number} {c.at} by {c.by}" for c in view.copies)),
        ),
        listing(
            view.lines, "sense", "kind", "part", ("quantity", lambda x: reading.amount_text(x.quantity, x.unit)), "thing", "lot", "proof",
        ),
    ]  # fmt: skip


def _record(record: FitRecordOfJob) -> list[Table]:
    verified = "verified by motor test" if record.map_verified else "NOT verified"
    return [
        facts(
            ("job", record.job), ("airframe", f"{record.tail}, {record.revision}"), ("work", record.purpose), ("state", record.state),
            ("sense map", f"revision {record.map_revision}, {verified}"), ("opened", record.opened_at),
            ("last check by", record.checked_by), ("closed", record.closed_at), ("closed by", record.closed_by),
            ("not walked", record.not_done), ("left out", record.left_out), ("issued on", record.vouchers), ("findings", record.findings),
        ),
        listing(
            record.fits, "sense", "position", "needed", "rotor_set", "mark", "part", "proof", "screws", "washers", "locker", "torque",
            "tool", "fitted_by", "fitted_at", "inspected_by", "inspection", "walked_by", "state", title="fitted",
            nothing="nothing was fitted by it",
        ),
        listing(
            record.removed, "tag", "position", "rotor_set", "part", "sense_found", "mark_found", "used", "reason", title="taken off",
            nothing="nothing was taken off",
        ),
    ]  # fmt: skip


def _unserviceable(items: tuple[UnserviceableItem, ...]) -> list[Table]:
    return [
        listing(
            items, "tag", "thing", "sense", "part", ("quantity", lambda i: reading.amount_text(i.quantity, i.unit)), "condition",
            "where", "airframe", "position", "removed_at", "used", "sense_found", "reason", "holds", ("evidence", lambda i: i.is_evidence or None),
            nothing="nothing unserviceable lies in the stores",
        )
    ]  # fmt: skip


_JOB: Final = word("job", "the job's code")

VERBS: Final = (
    Verb(
        "voucher show", Station.COUNTER, "A voucher: who gave what to whom, how it stands, which copies were printed.", "V000011-M",
        vouchers.voucher,
        (word("voucher", "the voucher's code"),),
        show=_voucher_view,
        rows=lambda view: view.lines,
    ),
    Verb(
        "print voucher", Station.COUNTER, "Write an issue voucher to sign; every later copy says that it is one.",
        'V000011-M --into voucher.pdf --by "Clerk One"',
        _voucher,
        (word("voucher", "the voucher's code"), *INTO),
        reaches=(voucher_document, document_printing.record_document_print),
    ),
    Verb(
        "fit-record", Station.AIRCRAFT, "All that a job fitted, took off and found: sets, proofs, screws, torque, hands.", "J000031-6",
        fit_record.fit_record,
        (_JOB,),
        show=_record,
        rows=lambda record: record.fits,
    ),
    print_verb(
        "fit-record", Station.AIRCRAFT, "Write the fit record of a job; it releases nothing: the maker's manual and licensed people do.",
        "J000031-6", fit_record.fit_record_document, _JOB,
    ),
    Verb(
        "unserviceable", Station.OFFICE, "All that lies in the stores and may not fly: tags, where it came from, what keeps it.", "",
        unserviceable.unserviceable,
        show=_unserviceable,
        rows=lambda items: items,
    ),
    print_verb(
        "unserviceable", Station.OFFICE, "Write the unserviceable tag list.", "", unserviceable.unserviceable_document
    ),
    print_verb(
        "recall", Station.OFFICE, "Write the recall account of a lot, line, delivery, piece, set, scale, hold, supplier or maker.",
        "L000012-5", recall_papers.recall_account_document,
        word("code", "a lot, receipt line, delivery, piece, rotor set, scale or hold of ours", needed=False, scans=RECALLED), *SCOPE_OPTIONS,
        build=recall_scope,
    ),
    Verb(
        "print notice", Station.OFFICE, "Write the notice of a recall to one airframe, van, person or new owner.",
        'M000001-4 --into notice.pdf --by "Clerk One"',
        _notice,
        (word("notice", "the notice's code (M)"), *INTO),
        reaches=(recall_papers.notice_document,),
    ),
    print_verb(
        "notices", Station.OFFICE, "Write the list of all notices of a recall, with what is open under it.", "H000003-2",
        recall_papers.notices_document, word("hold", "the recall's code (H)"),
    ),
    print_verb(
        "count-sheet", Station.OFFICE, "Write the blind sheet of a count: what to look for, no quantities.", "C000001-A",
        count_papers.count_sheet_document, word("count", "the count's code"),
    ),
    print_verb(
        "count-result", Station.OFFICE, "Write what a settled count found, with who counted, settled and confirmed it.", "C000001-A",
        count_papers.count_result_document, word("count", "the count's code"),
    ),
    print_verb(
        "counts-due", Station.OFFICE, "Write the list of places that are due to be counted.", "", count_papers.counts_due_document
    ),
)  # fmt: skip
