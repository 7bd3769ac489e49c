"""Goods-in: a delivery becomes lots and receipt lines, which stay on hold until somebody inspects them.

Source: design R13 (expiry), R14 (paper), R16 (identity of a lot).
"""

from collections.abc import Sequence
from datetime import datetime

from kittrack.domain.dates import Expiry
from kittrack.domain.ledger import PlaceKind
from kittrack.domain.rules import Rule, require
from kittrack.domain.text import check_text
from kittrack.errors import Refusal
from kittrack.services import arrivals, booking, desk, holding
from kittrack.services.booking import ACCEPTANCE, LineSpec, PaperSpec
from kittrack.services.desk import Done
from kittrack.store.act import Act
from kittrack.store.database import Store
from kittrack.store.records import Delivery, Part, ReceiptLine
from kittrack.store.sampling_facts import plan_in_words, plan_of
from kittrack.store.stock import end_place

__all__ = [
    "ACCEPTANCE",
    "LineSpec",
    "PaperSpec",
    "accept_without_paper",
    "attach_paper",
    "receive",
    "record_expiry",
]


@desk.done_by("clerk", "manager")
def receive(
    store: Store,
    *,
    supplier: str,
    reference: str,
    lines: Sequence[LineSpec],
    by: str,
    at: datetime,
    key: str = "",
) -> Done:
    """Take in a delivery of one supplier: everything goes on hold in goods-in.

    Args:
        supplier: the name of a company that supplies.
        reference: the number of the delivery note.
        lines: one or more; a line may name the order that it was expected for.

    Returns:
        The delivery's code and the code of each receipt line in order; what each line still needs.

    Raises:
        BadInput: every fault of every line at once; nothing is recorded then.

    Source: design R14, R16; section 2 (receipt line).
    """
    with store.act("receive a delivery", by=by, at=at, key=key) as act:
        require(desk.check_done_by(act, receive))
        company, parts = booking.read_delivery(act, supplier, reference, lines)
        expected = arrivals.expected_lines(act, company, lines, parts)
        again = act.find(Delivery, supplier_id=company.id, reference=reference)
        delivery = booking.book_delivery(act, company, reference)
        place = end_place(act, PlaceKind.GOODS_IN)
        booked = [
            booking.book_line(act, delivery, spec, part, place_id=place.id)
            for spec, part in zip(lines, parts, strict=True)
        ]
        several = f"{len(booked)} lines of {company.name} are on hold in {place.name}: inspect them."
        one = f"1 line of {company.name} is on hold in {place.name}: inspect it."
        said = [one if len(booked) == 1 else several]
        if again is not None:
            said.append(
                f"Delivery note {reference} was taken in before as {again.code}; look that it is not booked twice."
            )
        for line in booked:
            said += [*booking.needs_of(act, line, at=act.moment), *_how_many_to_look_at(act, line)]
        named = [(o, line) for o, line in zip(expected, booked, strict=True) if o is not None]
        said += [arrivals.book_arrival(act, ordered, line) for ordered, line in named]
        unnamed = [part for ordered, part in zip(expected, parts, strict=True) if ordered is None]
        said += arrivals.still_expected(act, company, unnamed)
        said += holding.join_open_holds(act, lines=booked)
    return Done(act.event_id, (delivery.code, *(line.code for line in booked)), tuple(said))


@desk.done_by("clerk", "inspector", "manager")
def attach_paper(store: Store, *, line: str, paper: PaperSpec, by: str, at: datetime, key: str = "") -> Done:
    """Add a conformity document to a receipt line (R14)."""
    with store.act("attach a paper", by=by, at=at, key=key) as act:
        require(desk.check_done_by(act, attach_paper))
        booking.raise_any(booking.paper_problems(paper, row=None))
        found = desk.find_line(act, line)
        booking.insert_paper(act, found, paper)
        rest = booking.check_paper(act, found)
        said = rest[0].message if rest else f"{found.code} has the paper that it needs; inspect it."
    return Done(act.event_id, (found.code,), (said,))


@desk.done_by("manager")
def accept_without_paper(
    store: Store, *, line: str, reason: str, by: str, at: datetime, key: str = ""
) -> Done:
    """Record a manager's own acceptance of a receipt line instead of a paper (R14).

    It suffices only where the manager named this kind for the part's class.
    """
    booking.raise_any(check_text(reason, field="reason"))
    with store.act("accept without paper", by=by, at=at, reason=reason, key=key) as act:
        found = desk.find_line(act, line)
        part = act.get(Part, found.part_id)
        require(desk.check_done_by(act, accept_without_paper), _check_acceptance_allowed(act, part))
        booking.insert_paper(act, found, PaperSpec(ACCEPTANCE, f"event {act.event_id}", act.by.name))
    return Done(
        act.event_id,
        (found.code,),
        (f"{found.code} is accepted by {act.by.name} without paper; inspect it.",),
    )


@desk.done_by("clerk", "inspector", "manager")
def record_expiry(
    store: Store, *, line: str, expiry: Expiry, source: str, by: str, at: datetime, key: str = ""
) -> Done:
    """Record the shelf life of a line that came without one, from a paper found later (R13).

    Raises:
        Refused: the line has an expiry already; only a recorded test lengthens one (R20).
    """
    booking.raise_any(check_text(source, field="source"))
    with store.act("record a shelf life", by=by, at=at, reason=source, key=key) as act:
        found = desk.find_line(act, line)
        part = act.get(Part, found.part_id)
        require(desk.check_done_by(act, record_expiry), _check_expiry_open(found, part, expiry))
        fresh = booking.with_expiry(found, expiry)
        act.update(found, expiry_kind=fresh.expiry_kind, expires_on=fresh.expires_on)
    return Done(act.event_id, (found.code,), (f"{found.code} ({part.number}) is good: {expiry}.",))


def _check_acceptance_allowed(act: Act, part: Part) -> list[Refusal]:
    if ACCEPTANCE in booking.paper_kinds(act, part):
        return []
    message = f"For {part.number} (class {part.paper_class!r}) a {ACCEPTANCE} is no sufficient paper; attach a document."
    return [Refusal(Rule.PAPER, part.number, message)]


def _check_expiry_open(line: ReceiptLine, part: Part, expiry: Expiry) -> list[Refusal]:
    if line.expiry_kind == "date":
        message = f"{line.code} is good until {line.expires_on}; only a recorded test lengthens that."
        return [Refusal(Rule.NO_WAVING_THROUGH, line.code, message)]
    return booking.check_expiry_known(booking.with_expiry(line, expiry), part)


def _how_many_to_look_at(act: Act, line: ReceiptLine) -> list[str]:
    found = plan_of(act, line)
    return [] if found is None else [f"{line.code}: {plan_in_words(found[0])}."]
