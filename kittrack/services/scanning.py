"""Receipt lines from the bar codes of a box: what was read fills the line, what is in doubt is asked and not kept.

Source: design R13, R16, C14; section 7 (Goods-in: scans of supplier labels fill the form).
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

from kittrack.domain import dates
from kittrack.domain.boxes import Asked, Box, read_box, read_sent, still_asked
from kittrack.domain.dates import Expiry
from kittrack.domain.scan_result import FieldValue, Scan
from kittrack.domain.scanner_settings import ScannerSettings
from kittrack.domain.text import clean_label
from kittrack.errors import BadInput, Problem
from kittrack.services import desk
from kittrack.services.booking import LineSpec, PaperSpec
from kittrack.services.desk import Done
from kittrack.services.receiving import receive
from kittrack.store.database import Store
from kittrack.store.near_facts import near_known


@dataclass(frozen=True)
class Typed:
    """What a person typed beside the scans of one box; empty or None where nothing was.

    Args:
        part: the part number, or "maker: number"; it decides where the label has another number.
        quantity: as counted, in `unit`.
        unit: "pieces" or "volume_ul".
        lot: the lot code, where no scan gives it.
        is_lot_unknown: the pack says no lot.
        expiry: the last day, none or unknown, where no scan gives it.
        made_on: the day of making or cure.
        maker: the maker's name, where the part number alone does not tell.
        papers: the documents that came with it.
    """

    part: str = ""
    quantity: int | None = None
    unit: str = "pieces"
    lot: str = ""
    is_lot_unknown: bool = False
    expiry: Expiry | None = None
    made_on: date | None = None
    maker: str = ""
    papers: tuple[PaperSpec, ...] = ()


@dataclass(frozen=True)
class ScannedBox:
    """One box: its bar codes as they arrived, and what a person typed beside them."""

    scans: tuple[str, ...]
    typed: Typed = Typed()


@dataclass(frozen=True)
class ReadLine:
    """A receipt line from scans, what is to be looked at again, and the serial that waits for the inspection."""

    line: LineSpec
    warnings: tuple[str, ...]
    serial: str = ""


def line_from_scans(scans: Sequence[Scan], *, typed: Typed | None = None) -> ReadLine:
    """The receipt line that the scans of one box make, with the raw scans kept in it.

    Args:
        scans: read by `read_sent`, their questions settled or not.
        typed: what a person typed beside them.

    Raises:
        BadInput: a scan can't be read or is no supplier's label, two contradict each other, what was typed contradicts
            the label's lot or day, a question is open, or the part, quantity, lot or expiry is still missing.
    """
    box, typed = read_box(scans), typed or Typed()
    problems = [*box.problems, *_not_suppliers(box), *_contradictions(box, typed)]
    if not problems:
        problems = [_open(asked) for asked in still_asked(box, given=_given(typed))]
    spec = _line(box, typed)
    if not problems:
        problems = _missing(box, typed, spec)
    if problems:
        raise BadInput(problems)
    return ReadLine(spec, tuple(_warnings(box, typed)), box.fields.serial or "")


def receive_scanned(
    store: Store, *, boxes: Sequence[ScannedBox], supplier: str, reference: str, by: str, at: datetime,
    settings: ScannerSettings | None = None, key: str = "",
) -> Done:  # fmt: skip
    """Take in a delivery as `receive` does, each line from the bar codes of a box.

    Args:
        boxes: one for each line.
        settings: of the scanner that sent them.

    Raises:
        BadInput: every fault of every box, with the box's number as its row; nothing is recorded then.
    """
    with store.reading() as read:
        today = dates.local_day(at, zone=desk.zone(read))
    lines, problems = [], []
    for row, box in enumerate(boxes, 1):
        scans = [read_sent(text, today=today, settings=settings or ScannerSettings()) for text in box.scans]
        try:
            found = line_from_scans(scans, typed=box.typed)
        except BadInput as error:
            problems += [replace(p, row=row) for p in error.problems]
            continue
        lines.append(replace(found, line=replace(found.line, row=row)))
    if problems:
        raise BadInput(problems)
    said = _look_again(store, lines)
    specs = [found.line for found in lines]
    done = receive(store, supplier=supplier, reference=reference, lines=specs, by=by, at=at, key=key)
    return replace(done, said=(*done.said, *said))


def _look_again(store: Store, lines: Sequence[ReadLine]) -> list[str]:
    said: list[str] = []
    with store.reading() as read:
        for found in lines:
            said += found.warnings
            said += near_known(read, part=found.line.part, serial=found.serial, lot=found.line.lot_code or "")
    return said


# ---- what stands against a line --------------------------------------------------------------------


def _not_suppliers(box: Box) -> list[Problem]:
    ours = [s.code for s in box.scans if s.code is not None]
    found = [
        Problem(f"{code} is {code.kind.with_article} of this store; scan the supplier's label.", "scan")
        for code in ours
    ]
    found += [
        Problem(f"{scan.move.called} is a move of the bench sheet; scan the supplier's label.", "scan")
        for scan in box.scans
        if scan.move is not None
    ]
    return found


def _contradictions(box: Box, typed: Typed) -> list[Problem]:
    """Where the label and the person differ on what only one of them can be right about."""
    label = box.fields
    pairs: list[tuple[str, object, object]] = [
        ("lot", label.lot, "unknown" if typed.is_lot_unknown else typed.lot or None),
        ("expires", label.expiry, None if typed.expiry is None else typed.expiry.day or typed.expiry),
        ("made", label.made_on, typed.made_on),
    ]
    return [
        Problem(
            f"The label says {clean_label(str(read))}, but {clean_label(str(said))} was typed; look at the box, and leave "
            "the scan out if its label is wrong.",
            name,
        )
        for name, read, said in pairs
        if read is not None and said is not None and read != said
    ]


def _open(asked: Asked) -> Problem:
    choices = "; or ".join(choice.words for choice in asked.question.choices)
    return Problem(
        f"{asked.question.message} It may be: {choices}. Type the right one beside the scan.", "scan"
    )


def _missing(box: Box, typed: Typed, spec: LineSpec) -> list[Problem]:
    found = []
    if not spec.part:
        found.append(Problem("No code of this box names the part; type its number.", "part"))
    if not spec.quantity:
        found.append(Problem("No code of this box says how many; count and type the quantity.", "quantity"))
    if spec.lot_code is None and not typed.is_lot_unknown:
        found.append(Problem("No code of this box gives the lot; type it from the pack, or unknown.", "lot"))
    if box.fields.expiry is None and typed.expiry is None:
        found.append(
            Problem("No code of this box gives an expiry; type the date, none, or unknown.", "expires")
        )
    return found


def _warnings(box: Box, typed: Typed) -> list[str]:
    label, found = box.fields, list(box.notes)
    number = label.part_number or label.customer_part
    if typed.part and number and number != typed.part.rpartition(": ")[2]:
        found.append(
            f"The label says part number {clean_label(number)}, the line is taken in as {clean_label(typed.part)}; compare "
            "both with the order."
        )
    if None not in (label.quantity, typed.quantity) and label.quantity != typed.quantity:
        found.append(
            f"The label says {label.quantity}, {typed.quantity} were counted; tell the supplier of the difference."
        )
    if label.best_before and not label.expiry:
        found.append(f"The label gives {label.best_before} as best before, which is kept with the scan only.")
    if label.serial:
        found.append(
            f"The serial {clean_label(label.serial)} is kept with the scan; enter it at the inspection."
        )
    return found


def _given(typed: Typed) -> dict[str, FieldValue]:
    """What was typed, by the names of the fields of a scan."""
    given: dict[str, FieldValue | None] = {
        "part_number": typed.part or None,
        "customer_part": typed.part or None,
        "lot": "unknown" if typed.is_lot_unknown else typed.lot or None,
        "quantity": typed.quantity,
        "expiry": None if typed.expiry is None else typed.expiry.day or str(typed.expiry),
        "made_on": typed.made_on,
    }
    return {name: value for name, value in given.items() if value is not None}


def _line(box: Box, typed: Typed) -> LineSpec:
    label = box.fields
    expiry = Expiry.limited(label.expiry) if label.expiry else typed.expiry or Expiry.unknown()
    return LineSpec(
        part=typed.part or label.part_number or label.customer_part or "",
        quantity=typed.quantity if typed.quantity is not None else label.quantity or 0,
        unit=typed.unit,
        lot_code=label.lot or typed.lot or None,
        expiry=expiry,
        made_on=label.made_on or typed.made_on,
        maker=typed.maker,
        papers=typed.papers,
        raw_scan=box.raw,
    )
