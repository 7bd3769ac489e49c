"""Verbs of printing: labels to a queue or shown, copies that are void, the bench sheet."""

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Final

from kittrack.cli import reading
from kittrack.cli.output_file import write_out
from kittrack.cli.tables import Table, facts, listing
from kittrack.cli.verb import Station, Values, Verb, option, switch, word, words
from kittrack.cli.verbs_labels import DEFAULT_STOCK
from kittrack.domain.codes import Kind
from kittrack.printing import queue
from kittrack.printing.barcodes import Symbol
from kittrack.printing.pages import Paper
from kittrack.printing.stock import stock_named
from kittrack.queries import labels
from kittrack.queries.labels import LabelHistory
from kittrack.services import printing_out
from kittrack.services.desk import Done
from kittrack.services.printing_out import Shown
from kittrack.store.database import Store
from kittrack.store.private import path_named

_STOCK: Final = option("stock", f"the label paper, as `label stocks` names it; default {DEFAULT_STOCK}")
_SYMBOL: Final = option(
    "symbol", "how codes are drawn; default code 128", choices=tuple(s.value for s in Symbol)
)


@dataclass(frozen=True)
class Queue:
    """A print queue by its name."""

    queue: str


def _read(values: Values) -> Values:
    read: Values = {"stock": stock_named(values.pop("stock", DEFAULT_STOCK))}
    if "symbol" in values:
        read["symbol"] = Symbol(values.pop("symbol"))
    return values | read


def _ascii(values: Values) -> Values:
    from kittrack.tui.symbols import symbols_here

    asked = values.pop("ascii", False)
    return _read(values) | {"is_ascii": asked or symbols_here().is_ascii}


def _lines(shown: Shown) -> list[Table]:
    return [Table((), tuple((line,) for line in shown.lines))]


def _history(found: LabelHistory) -> list[Table]:
    return [
        facts(("label of", found.code), *(("look", warning) for warning in found.warnings)),
        listing(found.copies, "copy", "printed_at", "by", "stock", ("void because", lambda c: c.void)),
    ]


def _queues() -> tuple[Queue, ...]:
    return tuple(map(Queue, queue.queues()))


def _queue_table(found: tuple[Queue, ...]) -> list[Table]:
    return [listing(found, "queue", nothing="CUPS has no queue here; set one up first")]


def _bench_sheet(
    store: Store, *, into: Path, by: str, at: datetime, paper: str = Paper.A4.name, force: bool = False, key: str = ""
) -> Done:  # fmt: skip
    """Draw the bench sheet into a file."""
    with write_out(into, force=force) as write:
        drawn = printing_out.record_bench_sheet(store, by=by, at=at, paper=Paper[paper], key=key)
        write(drawn.content)
    return Done(drawn.event, drawn.codes, (f"The bench sheet is in {into}.", *drawn.said))


VERBS: Final = (
    Verb(
        "label send", Station.OFFICE, "Print labels on a queue of CUPS, each read back before; shows the queue's answer.",
        'R000012-3 N000005-X --queue labels --stock roll-62x29@300 --by "Clerk One"',
        printing_out.send_labels,
        (
            words("things", "codes of ours", scans=tuple(Kind)),
            option("queue", "the queue, as `label queues` names it", needed=True),
            _STOCK,
            option("start", "the first place of a sheet that still has a label, from 1", read=reading.whole),
            _SYMBOL,
        ),
        build=_read,
    ),
    Verb(
        "label show", Station.OFFICE, "Show a label in the terminal as it would be printed now.",
        "R000012-3 --stock roll-62x29",
        printing_out.show_label,
        (
            word("thing", "a code of ours", scans=tuple(Kind)),
            _STOCK,
            _SYMBOL,
            switch("ascii", "draw with ASCII alone, also where the terminal has more"),
        ),
        build=_ascii,
        show=_lines,
    ),
    Verb(
        "label void", Station.OFFICE, "Declare that one copy of a label is not to be used any more.",
        'N000005-X 1 --reason "torn" --by "Clerk One"',
        printing_out.void_label,
        (
            word("thing", "the code on the label", scans=tuple(Kind)),
            word("copy", "the copy's number; 1 where the label shows none", read=reading.whole),
        ),
    ),
    Verb(
        "label history", Station.OFFICE, "Which labels of a thing were drawn, and which copies are void.",
        "N000005-X",
        labels.label_history,
        (word("thing", "a code of ours", scans=tuple(Kind)),),
        show=_history,
        rows=lambda found: found.copies,
    ),
    Verb(
        "label queues", Station.OFFICE, "The print queues that CUPS knows here.", "",
        _queues,
        show=_queue_table,
        rows=lambda found: found,
        opens_store=False,
    ),
    Verb(
        "label bench", Station.OFFICE, "Draw the bench sheet: bar codes of the moves that gloved hands need.",
        '--into bench.pdf --by "Clerk One"',
        _bench_sheet,
        (
            option("into", "the PDF file to write", read=path_named, flag="--into", needed=True),
            option("paper", "the paper; default A4", choices=tuple(p.name for p in Paper)),
            switch("force", "write over a file that is there"),
        ),
        reaches=(printing_out.record_bench_sheet,),
    ),
)  # fmt: skip
