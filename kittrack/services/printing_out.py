"""Labels on their way to a printer, labels that are void, and the bench sheet.

A label is read back before it counts, and counts before it is printed: a printer that fails leaves a copy that is kept as
void, never a label that nobody knows of.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from kittrack.domain import codes
from kittrack.domain.rules import require
from kittrack.errors import BadInput, NotFound, PrintError
from kittrack.printing.barcodes import Symbol
from kittrack.printing.bench_sheet import bench_sheet_pdf
from kittrack.printing.pages import Paper
from kittrack.printing.preview import preview
from kittrack.printing.queue import check_queue_name, media_of, print_pdf
from kittrack.printing.stock import Stock
from kittrack.services import desk
from kittrack.services.desk import Done
from kittrack.services.label_contents import label_of
from kittrack.services.labelling import Drawn, record_label_print
from kittrack.store.act import Act
from kittrack.store.database import Store
from kittrack.store.records import LabelPrint, LabelVoid, Site

BENCH_SHEET: Final = "bench sheet"
"""What a printed bench sheet is kept as; it has no number of its own."""

_PRINTERS: Final = ("clerk", "technician", "inspector", "manager")


@dataclass(frozen=True)
class Shown:
    """A label as lines of text."""

    code: str
    lines: tuple[str, ...]


def send_labels(
    store: Store, *, things: Sequence[str], queue: str, stock: Stock, by: str, at: datetime, start: int = 1,
    symbol: Symbol = Symbol.CODE_128, key: str = "",
) -> Done:  # fmt: skip
    """Print the labels of things on a queue of CUPS; each was read back by an independent reader before.

    Args:
        store: the store.
        things: codes of ours, in the order of printing.
        queue: the queue's name.
        stock: the paper and the printer's resolution.
        start: the first place of a sheet that still has a label.
        symbol: how codes are drawn.

    Returns:
        The codes; the queue's own answer among what is said.

    Raises:
        PrintError: a label can't be drawn or does not read back, and nothing is kept; or the queue does not take the
            job, and the copies are kept as void.
        Refused, NotFound, BadInput: as `record_label_print`.
    """  # fmt: skip
    check_queue_name(queue)
    drawn = record_label_print(
        store, things=things, stock=stock, by=by, at=at, start=start, symbol=symbol, is_checked=True, key=key
    )
    try:
        answer = print_pdf(drawn.content, queue=queue, title="kittrack labels", media=media_of(stock))
    except PrintError as error:
        _void_unprinted(store, drawn, queue=queue, by=by, at=at)
        copies = "These copies are" if len(drawn.codes) > 1 else "This copy is"
        raise PrintError(f"{error} {copies} kept as void.") from error
    return Done(drawn.event, drawn.codes, (*answer.words, *drawn.said))


def show_label(
    store: Store, *, thing: str, stock: Stock, symbol: Symbol = Symbol.CODE_128, is_ascii: bool = False
) -> Shown:
    """The label of a thing as it would be printed now, as text for a terminal; nothing is kept.

    Raises:
        PrintError: it does not fit or can't be printed.
        Refused, NotFound, BadInput: as `record_label_print`.
    """
    with store.reading() as read:
        label = label_of(read, thing)
    return Shown(label.face().code, preview(label, stock, symbol=symbol, is_ascii=is_ascii))


@desk.done_by(*_PRINTERS)
def void_label(
    store: Store, *, thing: str, copy: int, reason: str, by: str, at: datetime, key: str = ""
) -> Done:
    """Declare that one copy of a label is not to be used any more. Its code still means the same thing.

    Args:
        store: the store.
        thing: the code on the label.
        copy: the copy; the one without a number is 1.
        reason: why, such as "torn" or "on the wrong bin".

    Raises:
        NotFound: no such copy was printed.
        BadInput: it is void already.
    """
    desk.require_text(reason=reason)
    code = codes.read_code(thing).text
    with store.act("void a label", by=by, at=at, reason=reason, key=key) as act:
        require(desk.check_done_by(act, void_label))
        found = act.find(LabelPrint, subject=code, copy_number=copy)
        if found is None:
            raise NotFound(
                f"no copy {copy} of the label of {code} was printed; see: kittrack label history {code}"
            )
        if act.find(LabelVoid, label_print_id=found.id) is not None:
            raise BadInput(
                f"Copy {copy} of the label of {code} is void already; look at the copy in your hand."
            )
        act.insert(LabelVoid(label_print_id=found.id, reason=reason, event_id=act.event_id))
        left = _good_copies(act, code)
    rest = f"copy {' and '.join(map(str, left))} is still good" if left else "print a new one"
    return Done(act.event_id, (code,), (f"Copy {copy} of the label of {code} is void: take it off; {rest}.",))


@desk.done_by(*_PRINTERS)
def record_bench_sheet(
    store: Store, *, by: str, at: datetime, paper: Paper = Paper.A4, key: str = ""
) -> Drawn:
    """Draw the bench sheet of moves as PDF and keep that it was printed; it names the site and its copy.

    Args:
        store: the store.
        paper: the size of its page.
    """
    with store.act("print a bench sheet", by=by, at=at, key=key) as act:
        require(desk.check_done_by(act, record_bench_sheet))
        made = _record(act, BENCH_SHEET, f"{paper.name}, 300 dpi")
        site = act.select(Site, limit=1)[0].name
        content = bench_sheet_pdf(paper=paper, footer=f"{site}, copy {made.copy_number}")
    said = f"This is copy {made.copy_number} of the bench sheet; hang it where gloves are worn."
    return Drawn(act.event_id, (), (said,), (made.copy_number,), content)


def _void_unprinted(store: Store, drawn: Drawn, *, queue: str, by: str, at: datetime) -> None:
    """Keep that copies never came out of the printer."""
    reason = f"the queue {queue} did not take it"
    with store.act("void labels that were not printed", by=by, at=at, reason=reason) as act:
        for code, copy in zip(drawn.codes, drawn.copies, strict=True):
            for printed in act.select(LabelPrint, "subject = ? AND copy_number = ?", code, copy):
                act.insert(LabelVoid(label_print_id=printed.id, reason=reason, event_id=act.event_id))


def _record(act: Act, subject: str, stock: str) -> LabelPrint:
    before = act.value("SELECT max(copy_number) FROM label_print WHERE subject = ?", subject) or 0
    return act.insert(LabelPrint(subject=subject, copy_number=before + 1, stock=stock, event_id=act.event_id))


def _good_copies(act: Act, code: str) -> list[int]:
    rows = act.rows(
        "SELECT copy_number FROM label_print WHERE subject = ? AND id NOT IN (SELECT label_print_id FROM label_void) "
        "ORDER BY copy_number",
        code,
    )
    return [row[0] for row in rows]
