"""Drawing labels, and keeping that they were drawn: the second and later copies say so on themselves."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Final

from kittrack.domain import codes
from kittrack.domain.rules import require
from kittrack.errors import BadInput
from kittrack.printing.barcodes import Symbol
from kittrack.printing.contents import Face, Label
from kittrack.printing.labels import check_label, label_png, label_svg, labels_pdf
from kittrack.printing.stock import Stock
from kittrack.services import desk
from kittrack.services.label_contents import label_of
from kittrack.store.act import Act
from kittrack.store.database import Store
from kittrack.store.records import LabelPrint

MOST_LABELS: Final = 5_000  # of one act; more than a delivery has lines

FORMS: Final = ("pdf", "svg", "png")
"""The kinds of file; the last two hold one label each."""


@dataclass(frozen=True)
class Drawn:
    """Labels that were drawn: the event, the codes, what is to be said, the copy of each, and the file."""

    event: int
    codes: tuple[str, ...]
    said: tuple[str, ...]
    copies: tuple[int, ...]
    content: bytes


@dataclass(frozen=True)
class Copy:
    """A label that was drawn before; it says which copy it is, so that nobody takes it for a second thing."""

    label: Label
    number: int

    def face(self) -> Face:
        """The words of the label and its number as a copy."""
        face, words = self.label.face(), f"copy {self.number}"
        return replace(face, lines=(*face.lines, words), short=(*face.short, words) if face.short else ())


@desk.done_by("clerk", "technician", "inspector", "manager")
def record_label_print(
    store: Store, *, things: Sequence[str], stock: Stock, by: str, at: datetime, start: int = 1,
    symbol: Symbol = Symbol.CODE_128, form: str = "pdf", is_checked: bool = False, key: str = "",
) -> Drawn:  # fmt: skip
    """Draw the labels of things by their codes and keep each as printed; nothing is kept if one can't be drawn.

    Args:
        store: the store.
        things: codes of ours, in the order of printing.
        stock: the paper and the printer's resolution.
        by: who prints; anybody of the stores may.
        at: the instant.
        start: the first place of a sheet that still has a label, counted along its rows from 1.
        symbol: how codes are drawn.
        form: "pdf" for any number of labels, "svg" or "png" for one.
        is_checked: also read every label back with an independent reader.
        key: the caller's own name for the act.

    Raises:
        PrintError: a label does not fit, can't be printed or does not read back.
        Refused: a kit that is not sealed (R5).
        NotFound, BadInput: a code is unknown, does not check, or its kind carries no label.
    """  # fmt: skip
    _check_request(things, form)
    with store.act("print labels", by=by, at=at, key=key) as act:
        require(desk.check_done_by(act, record_label_print))
        labels = [label_of(act, text) for text in things]
        copies = [_record(act, label, stock).copy_number for label in labels]
        marked = [
            Copy(label, number) if number > 1 else label for label, number in zip(labels, copies, strict=True)
        ]
        for label in marked if is_checked else ():
            check_label(label, stock, symbol=symbol)
        content = _draw(marked, stock, start=start, symbol=symbol, form=form)
    printed = tuple(label.face().code for label in labels)
    said = [f"{code} is copy {number}." for code, number in zip(printed, copies, strict=True) if number > 1]
    return Drawn(act.event_id, printed, tuple(said), tuple(copies), content)


def _check_request(things: Sequence[str], form: str) -> None:
    if not 1 <= len(things) <= MOST_LABELS:
        raise BadInput(f"{len(things)} labels are asked for; name from 1 to {MOST_LABELS:,} codes.")
    if form not in FORMS:
        raise BadInput(f"{form!r} is no form of a label; one of: {', '.join(FORMS)}.", field="form")
    if form != "pdf" and len(things) > 1:
        raise BadInput(f"A file in {form} holds one label; print several as pdf.", field="form")
    counts = Counter(codes.read_code(text).text for text in things)
    twice = [code for code, times in counts.items() if times > 1]
    if twice:
        raise BadInput(f"{', '.join(twice)} is named twice; name each code once.", field="things")


def _record(act: Act, label: Label, stock: Stock) -> LabelPrint:
    code = label.face().code
    before = act.value("SELECT max(copy_number) FROM label_print WHERE subject = ?", code) or 0
    return act.insert(
        LabelPrint(subject=code, copy_number=before + 1, stock=stock.key, event_id=act.event_id)
    )


def _draw(labels: Sequence[Label], stock: Stock, *, start: int, symbol: Symbol, form: str) -> bytes:
    if form == "svg":
        return label_svg(labels[0], stock, symbol=symbol).encode("utf-8")
    if form == "png":
        return label_png(labels[0], stock, symbol=symbol)
    return labels_pdf(labels, stock, start=start, symbol=symbol)
