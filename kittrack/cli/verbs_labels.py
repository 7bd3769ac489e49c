"""Verbs of labels: draw them into a file, and list the papers that they can be drawn for."""

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Final

from kittrack.cli import reading
from kittrack.cli.tables import Table, listing
from kittrack.cli.verb import Argument, Station, Verb, option, switch, words
from kittrack.domain import codes
from kittrack.errors import BadInput, PrintError
from kittrack.printing.barcodes import Symbol
from kittrack.printing.stock import stock_named, stocks
from kittrack.services import labelling
from kittrack.services.desk import Done
from kittrack.store.database import Store
from kittrack.store.private import path_named, write_private

DEFAULT_STOCK: Final = "roll-100x50"


@dataclass(frozen=True)
class LabelStock:
    """A label paper at one resolution: the name that --stock takes, what it is, its size in mm, labels to a page."""

    stock: str
    title: str
    width_mm: float
    height_mm: float
    labels: int


def _print(
    store: Store, *, things: tuple[str, ...], into: Path, by: str, at: datetime, stock: str = DEFAULT_STOCK,
    start: int = 1, symbol: str = Symbol.CODE_128.value, is_checked: bool = False, force: bool = False, key: str = "",
) -> Done:  # fmt: skip
    """Draw labels into a file; its ending says which kind of file."""
    if into.exists() and not force:
        raise BadInput(f"{into} is there already; take another name, or write over it with --force.")
    drawn = labelling.record_label_print(
        store, things=things, stock=stock_named(stock), by=by, at=at, start=start, symbol=Symbol(symbol),
        form=into.suffix.removeprefix(".").lower() or "pdf", is_checked=is_checked, key=key,
    )  # fmt: skip
    try:
        write_private(into, drawn.content)
    except OSError as error:
        raise PrintError(
            f"The labels are recorded as drawn, but {into} can't be written ({error.strerror}); "
            "print them again into another file."
        ) from error
    labels = f"{len(drawn.codes)} labels" if len(drawn.codes) > 1 else "1 label"
    return Done(drawn.event, drawn.codes, (f"{labels} in {into}; print at actual size.", *drawn.said))


def _print_kits(
    store: Store, *, things: tuple[str, ...], into: Path, by: str, at: datetime, stock: str = DEFAULT_STOCK,
    start: int = 1, symbol: str = Symbol.CODE_128.value, is_checked: bool = False, force: bool = False, key: str = "",
) -> Done:  # fmt: skip
    """Draw the labels of kits only; any other code is named."""
    for text in things:
        codes.read_code(text, expect=codes.Kind.KIT)
    return _print(
        store, things=things, into=into, by=by, at=at, stock=stock, start=start, symbol=symbol,
        is_checked=is_checked, force=force, key=key,
    )  # fmt: skip


def _stocks() -> tuple[LabelStock, ...]:
    return tuple(
        LabelStock(s.key, s.title, s.width_um / 1000, s.height_um / 1000, s.sheet.labels if s.sheet else 1)
        for s in stocks()
    )


def _stock_table(found: tuple[LabelStock, ...]) -> list[Table]:
    return [listing(found, "stock", "title", "width_mm", "height_mm", "labels")]


def _arguments(what: str, *, scans: tuple[codes.Kind, ...]) -> tuple[Argument, ...]:
    return (
        words("things", what, scans=scans),
        option("into", "the file to write; its ending .pdf, .svg or .png says its kind", read=path_named, flag="--into", needed=True),
        option("stock", f"the label paper, as `label stocks` names it; default {DEFAULT_STOCK}"),
        option("start", "the first place of a sheet that still has a label, from 1", read=reading.whole),
        option("symbol", "how codes are drawn; default code 128", choices=tuple(s.value for s in Symbol)),
        switch("is_checked", "read every label back with an independent reader", flag="--check"),
        switch("force", "write over a file that is there"),
    )  # fmt: skip


_REACHES: Final = (labelling.record_label_print,)

VERBS: Final = (
    Verb(
        "label kit", Station.KITTING, "Draw the labels of sealed kits into a file.",
        'K000042-G --into kit.pdf --by "Clerk One"',
        _print_kits,
        _arguments("codes of sealed kits", scans=(codes.Kind.KIT,)),
        reaches=_REACHES,
    ),
    Verb(
        "label print", Station.OFFICE, "Draw the labels of any things into a file: sets, lines, places, badges, tags...",
        'R000012-3 Y000004-T N000005-X --into labels.pdf --stock sheet-a4-3x8 --start 4 --by "Clerk One"',
        _print,
        _arguments("codes of ours", scans=tuple(codes.Kind)),
        reaches=_REACHES,
    ),
    Verb(
        "label stocks", Station.OFFICE, "The label papers that labels can be drawn for.", "",
        _stocks,
        show=_stock_table,
        rows=lambda found: found,
        opens_store=False,
    ),
)  # fmt: skip
