"""What receiving and opening share: the lines of a delivery, read, checked and booked.

Source: design R13 (expiry), R14 (paper), R16 (identity of a lot).
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta

from kittrack.domain import codes, dates
from kittrack.domain.dates import Expiry, ShelfLife
from kittrack.domain.ledger import Condition, PlaceKind
from kittrack.domain.rules import Rule
from kittrack.domain.text import check_text
from kittrack.errors import BadInput, NotFound, Problem, Refusal
from kittrack.services import desk
from kittrack.store.act import Act, Reading, Slot
from kittrack.store.records import Company, Delivery, Lot, Paper, PaperKind, Part, ReceiptLine
from kittrack.store.stock import end_place

ACCEPTANCE = "recorded acceptance"
"""The kind of paper that a manager's own recorded acceptance is; it suffices where the class names it."""

MOST_LINES = 5_000  # lines of one delivery; a whole year of a small fleet (common practice, no source)
MOST_QUANTITY = 10**9  # pieces or microlitres of one line; keeps sums far inside 64 bits
MOST_SCAN = 1_000  # characters of a scan kept as read

_EXPIRY_KINDS = {ShelfLife.LIMITED: "date", ShelfLife.UNLIMITED: "none", ShelfLife.UNKNOWN: "unknown"}


@dataclass(frozen=True)
class PaperSpec:
    """A conformity document: its kind, its number, who issued it."""

    kind: str
    number: str
    issuer: str


@dataclass(frozen=True)
class LineSpec:
    """One line of a delivery as it was read from the packs and the papers.

    Args:
        part: the part number, or "maker: number" where several makers use it.
        quantity: in the part's unit.
        lot_code: as the pack says, character by character; None where it says nothing.
        expiry: the last day, no expiry, or unknown; computed where only `made_on` is known and the part
            has a shelf life.
        made_on: the day of making or cure.
        papers: the documents that came with it.
        maker: the maker's name, where the part number alone does not tell.
        unit: what `quantity` counts, "pieces" or "volume_ul".
        raw_scan: the supplier's label as the scanner sent it.
        order: the code of the order that it came in for; empty where none is named.
        row: the row of the file it came from; by default its place among the lines, from 1.
    """

    part: str
    quantity: int
    lot_code: str | None
    expiry: Expiry = field(default_factory=Expiry.unknown)
    made_on: date | None = None
    papers: tuple[PaperSpec, ...] = ()
    maker: str = ""
    unit: str = "pieces"
    raw_scan: str = ""
    order: str = ""
    row: int | None = None


# ---- reading -----------------------------------------------------------------------------------


def book_delivery(act: Act, company: Company, reference: str, *, is_opening: int = 0) -> Delivery:
    """Write a delivery of a supplier."""
    code = act.new_code(Delivery, codes.Kind.DELIVERY)
    return act.insert(
        Delivery(
            code=code,
            supplier_id=company.id,
            reference=reference,
            is_opening=is_opening,
            event_id=act.event_id,
        )
    )


def book_line(
    act: Act, delivery: Delivery, spec: LineSpec, part: Part, *, place_id: int, history_known: int = 1
) -> ReceiptLine:
    """Write one line with its lot and papers, and move its stock from the supplier to a place, on hold."""
    lot = _lot(act, part, delivery.supplier_id, spec.lot_code)
    fresh = ReceiptLine(
        code=act.new_code(ReceiptLine, codes.Kind.RECEIPT_LINE),
        delivery_id=delivery.id,
        lot_id=lot.id,
        part_id=part.id,
        quantity=spec.quantity,
        unit=part.unit,
        expiry_kind="unknown",
        made_on=spec.made_on.isoformat() if spec.made_on else None,
        history_known=history_known,
        raw_scan=spec.raw_scan,
        event_id=act.event_id,
    )
    line = act.insert(with_expiry(fresh, _expiry_by_making(spec, part)))
    for paper in spec.papers:
        insert_paper(act, line, paper)
    held = Condition.ON_HOLD.value
    source = Slot(end_place(act, PlaceKind.SUPPLIER).id, held)
    act.move_stock(line.id, spec.quantity, from_slot=source, to_slot=Slot(place_id, held))
    return line


def check_paper(read: Reading, line: ReceiptLine) -> list[Refusal]:
    """Why a line's paper does not suffice: none of its kinds is one that its part's class needs (R14)."""
    part = read.get(Part, line.part_id)
    wanted = paper_kinds(read, part)
    if any(p.kind in wanted for p in read.select(Paper, "receipt_line_id = ?", line.id)):
        return []
    if not wanted:
        message = f"No kind of paper is named for the class {part.paper_class!r} of {part.number}, so {line.code} stays on hold; a manager names one."
    else:
        message = f"{line.code} ({part.number}) has no sufficient paper and stays on hold; attach one of: {', '.join(wanted)}."
    return [Refusal(Rule.PAPER, line.code, message)]


def check_expiry_known(line: ReceiptLine, part: Part) -> list[Refusal]:
    """Why a line may not leave its hold for want of an expiry: nobody knows it, or its part needs a date (R13)."""
    if line.expiry_kind == "date" or (line.expiry_kind == "none" and not part.expiry_needed):
        return []
    if not part.expiry_needed:
        message = (
            f"The shelf life of {line.code} ({part.number}) is not known, so it stays on hold; record its last good "
            "day from its paper, or none where the maker gives none."
        )
        return [Refusal(Rule.DATES, line.code, message)]
    message = f"{part.number} needs an expiry date and {line.code} has none, so it stays on hold; record the date from its paper."
    return [Refusal(Rule.DATES, line.code, message)]


def needs_of(read: Reading, line: ReceiptLine, *, at: datetime) -> list[str]:
    """What a line lacks before it can be accepted at an instant, one sentence each."""
    part, lot = read.get(Part, line.part_id), read.get(Lot, line.lot_id)
    found = [r.message for r in (*check_paper(read, line), *check_expiry_known(line, part))]
    expiry = desk.expiry_of(line)
    if dates.is_expired(expiry, at=at, zone=desk.zone(read)):
        found.append(
            f"{line.code} ({part.number}) expired at the end of {expiry.day}; send it back to the supplier."
        )
    if lot.lot_code is None:
        found.append(
            f"{line.code} ({part.number}) has no lot code; it is kept as a lot of its own, {lot.code}."
        )
    if part.superseded_how == "safety":
        found.append(
            f"{part.number} is superseded for safety; {line.code} can't be used, send it back to the supplier."
        )
    return found


# ---- reading a delivery ------------------------------------------------------------------------


def read_delivery(
    act: Act, supplier: str, reference: str, lines: Sequence[LineSpec]
) -> tuple[Company, list[Part]]:
    """The supplier of a delivery and the part of each line.

    Raises:
        BadInput: every fault of the reference, the supplier and the lines at once.
    """
    problems = list(check_text(reference, field="reference"))
    company = act.find(Company, name=supplier.strip())
    if company is None or not company.is_supplier:
        problems.append(
            Problem(
                f"No supplier is known as {supplier.strip()!r}; add it to the catalogue first.", "supplier"
            )
        )
    parts, faults = parts_of(act, lines)
    raise_any([*problems, *faults])
    if company is None:
        raise AssertionError("a missing supplier is a problem, and was raised")
    return company, parts


def parts_of(act: Act, lines: Sequence[LineSpec]) -> tuple[list[Part], list[Problem]]:
    """The parts of lines that can be read, and every fault of every line."""
    if not lines:
        return [], [Problem("The delivery has no line; enter at least one.", "lines")]
    if len(lines) > MOST_LINES:
        return [], [
            Problem(f"The delivery has {len(lines)} lines; enter at most {MOST_LINES} at once.", "lines")
        ]
    parts, problems = [], []
    for place, spec in enumerate(lines, start=1):
        row = spec.row or place
        problems += _line_problems(act, spec, row)
        try:
            part = desk.find_part(act, f"{spec.maker}: {spec.part}" if spec.maker else spec.part)
        except (NotFound, BadInput) as error:
            problems.append(Problem(_sentence(error), "part", row))
            continue
        problems += _unit_problems(spec, part, row)
        parts.append(part)
    return parts, problems


def _line_problems(act: Act, spec: LineSpec, row: int) -> list[Problem]:
    found = [] if spec.lot_code is None else [*check_text(spec.lot_code, field="lot", max_length=60)]
    if not 0 < spec.quantity <= MOST_QUANTITY:
        found.append(
            Problem(f"The quantity is {spec.quantity}; enter from 1 to {MOST_QUANTITY:,}.", "quantity")
        )
    if spec.made_on is not None and spec.made_on > desk.today(act):
        found.append(
            Problem(
                f"It is said to be made on {spec.made_on}, which is still to come; look at the pack.", "made"
            )
        )
    if spec.made_on and spec.expiry.day and spec.expiry.day < spec.made_on:
        found.append(
            Problem(f"It expires on {spec.expiry.day}, before it was made; look at the pack.", "expires")
        )
    if len(spec.raw_scan) > MOST_SCAN or "\0" in spec.raw_scan:
        found.append(
            Problem(
                f"The scan is longer than {MOST_SCAN} characters or holds a zero byte; scan it again.", "scan"
            )
        )
    found += [p for paper in spec.papers for p in paper_problems(paper, row=row)]
    return [replace(p, row=row) for p in found]


def _unit_problems(spec: LineSpec, part: Part, row: int) -> list[Problem]:
    if spec.unit == part.unit:
        return []
    words = {"pieces": "pieces", "volume_ul": "a volume, such as 10 mL"}
    return [
        Problem(f"{part.number} is counted in {words[part.unit]}; enter its quantity so.", "quantity", row)
    ]


def paper_problems(paper: PaperSpec, *, row: int | None) -> list[Problem]:
    """Every fault of a paper as it was typed."""
    texts = (("paper kind", paper.kind), ("paper number", paper.number), ("paper issuer", paper.issuer))
    found = [replace(p, row=row) for name, text in texts for p in check_text(text, field=name)]
    if paper.kind == ACCEPTANCE:
        found.append(
            Problem(f"A {ACCEPTANCE} is no document; a manager records it by itself.", "paper kind", row)
        )
    return found


def _sentence(error: Exception) -> str:
    text = str(error)
    return text[:1].upper() + text[1:] + ("" if text.endswith(".") else ".")


def raise_any(problems: Iterable[Problem]) -> None:
    """Raise `BadInput` with every problem; do nothing when there is none."""
    found = tuple(problems)
    if found:
        raise BadInput(found)


# ---- writing -----------------------------------------------------------------------------------


def _lot(act: Act, part: Part, supplier_id: int, lot_code: str | None) -> Lot:
    """The lot of a part, maker, supplier and code; an unknown code makes a lot of its own each time (R16)."""
    if lot_code is not None:
        known = act.find(
            Lot, part_id=part.id, maker_id=part.maker_id, supplier_id=supplier_id, lot_code=lot_code
        )
        if known is not None:
            return known
    code = act.new_code(Lot, codes.Kind.LOT)
    return act.insert(
        Lot(code=code, part_id=part.id, maker_id=part.maker_id, supplier_id=supplier_id, lot_code=lot_code)
    )


def insert_paper(act: Act, line: ReceiptLine, paper: PaperSpec) -> None:
    """Write a paper of a line."""
    act.insert(
        Paper(
            receipt_line_id=line.id,
            kind=paper.kind,
            number=paper.number,
            issuer=paper.issuer,
            event_id=act.event_id,
        )
    )


def paper_kinds(read: Reading, part: Part) -> list[str]:
    """The kinds of paper that suffice for a part, by its class (R14)."""
    named = read.select(PaperKind, "paper_class = ? AND active = 1", part.paper_class, order="kind")
    return [k.kind for k in named]


def _expiry_by_making(spec: LineSpec, part: Part) -> Expiry:
    """The stated expiry, or the one that follows from the day of making and the part's shelf life."""
    if spec.expiry.kind is ShelfLife.UNKNOWN and spec.made_on and part.shelf_life_days:
        return Expiry.limited(spec.made_on + timedelta(days=part.shelf_life_days))
    return spec.expiry


def with_expiry(line: ReceiptLine, expiry: Expiry) -> ReceiptLine:
    """The line as it is with another expiry."""
    day = expiry.day.isoformat() if expiry.day else None
    return replace(line, expiry_kind=_EXPIRY_KINDS[expiry.kind], expires_on=day)
