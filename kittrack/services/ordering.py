"""Orders: what was asked of a supplier, when it is expected, what came in for it, what was cancelled.

Source: design C11 (lead time, packs, orders placed and their arrival).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from kittrack.domain import codes
from kittrack.domain.rules import Rule, require
from kittrack.domain.text import check_text
from kittrack.errors import BadInput, Problem, Refusal
from kittrack.services import booking, desk
from kittrack.services.arrivals import amount_words, find_order, line_for
from kittrack.services.desk import Done
from kittrack.store.act import Act, Reading
from kittrack.store.database import Store
from kittrack.store.records import Company, OrderLine, Part, PurchaseOrder, SupplyTerms
from kittrack.store.supply_facts import arrived, supply_of

MOST_LEAD_DAYS = 1_000  # longer than any supplier is waited for
_BUYERS = ("clerk", "manager")


@dataclass(frozen=True)
class OrderSpec:
    """One line of an order: a part, how much of it in the part's unit, and the day on which it is expected.

    Without a day it is expected after the supplier's lead time.
    """

    part: str
    quantity: int
    unit: str = "pieces"
    due: date | None = None


@desk.done_by(*_BUYERS)
def set_supply_terms(
    store: Store,
    *,
    part: str,
    supplier: str,
    source: str,
    by: str,
    at: datetime,
    lead_time_days: int | None = None,
    pack_quantity: int | None = None,
    is_preferred: bool = False,
    key: str = "",
) -> Done:
    """Say how a supplier delivers a part, where the catalogue does not or not rightly.

    Args:
        part: the part number.
        supplier: a company that supplies.
        source: where that is known from, such as "offer 4711".
        lead_time_days: days from order to door; None as the catalogue says.
        pack_quantity: how much a pack holds, in the part's unit; None as the catalogue says.
        is_preferred: the part is ordered from this supplier unless somebody says otherwise.

    Raises:
        BadInput: a figure that can't be one, or no supplier of that name.
        NotFound: no such part.
    """
    desk.require_text(source=source)
    _check_figures(lead_time_days, pack_quantity)
    with store.act("set how a supplier delivers", by=by, at=at, reason=source, key=key) as act:
        require(desk.check_done_by(act, set_supply_terms))
        found, company = desk.find_part(act, part), find_supplier(act, supplier)
        if is_preferred:
            _prefer_none(act, found)
        terms = SupplyTerms(
            part_id=found.id, supplier_id=company.id, lead_time_days=lead_time_days, pack_quantity=pack_quantity,
            preferred=int(is_preferred), source=source, event_id=act.event_id,
        )  # fmt: skip
        _write_terms(act, terms)
        supply = supply_of(act, found, supplier=company)
    days = "an unknown time" if supply.lead_time_days is None else f"{supply.lead_time_days} days"
    first = ", and is the first choice for it" if is_preferred else ""
    said = f"{company.name} delivers {found.number} in {days}, in packs of {supply.pack_quantity}{first}."
    return Done(act.event_id, said=(said,))


@desk.done_by(*_BUYERS)
def place_order(
    store: Store, *, supplier: str, reference: str, lines: Sequence[OrderSpec], by: str, at: datetime, key: str = ""
) -> Done:  # fmt: skip
    """Record an order that was placed with a supplier; its lines are expected from then on.

    Args:
        supplier: the name of a company that supplies.
        reference: our number of the order, or the supplier's confirmation.
        lines: one or more, each part once.

    Returns:
        The order's code; when each line is expected.

    Raises:
        BadInput: every fault of every line at once; nothing is recorded then.
        Refused: a part is superseded for safety (R6).
    """  # fmt: skip
    with store.act("place an order", by=by, at=at, key=key) as act:
        require(desk.check_done_by(act, place_order))
        booking.raise_any(check_text(reference, field="reference"))
        company = find_supplier(act, supplier)
        parts = _parts_of(act, lines)
        require(_check_not_superseded(parts))
        dated = _with_days(act, company, lines, parts)
        code = act.new_code(PurchaseOrder, codes.Kind.ORDER)
        order = act.insert(
            PurchaseOrder(code=code, supplier_id=company.id, reference=reference, event_id=act.event_id)
        )
        for spec, part in zip(dated, parts, strict=True):
            _insert_line(act, order, spec, part)
        said = [
            f"{code} is placed with {company.name}: label its papers {reference}, and name {code} when it comes in.",
            *_looks(act, company, dated, parts),
        ]
    return Done(act.event_id, (code,), tuple(said))


@desk.done_by(*_BUYERS)
def cancel_order(
    store: Store,
    *,
    order: str,
    reason: str,
    by: str,
    at: datetime,
    parts: Sequence[str] = (),
    key: str = "",
) -> Done:
    """Cancel what has not come in of an order, or of some of its parts.

    Args:
        order: the order's code.
        reason: why, such as "supplier can't deliver".
        parts: part numbers; without any, the whole order.

    Raises:
        BadInput: the order has no line for a part, or nothing is left to cancel.
    """
    desk.require_text(reason=reason)
    with store.act("cancel an order", by=by, at=at, reason=reason, key=key) as act:
        require(desk.check_done_by(act, cancel_order))
        found = find_order(act, order)
        came = arrived(act)
        wanted = [line_for(act, found, desk.find_part(act, number)) for number in parts] or _lines_of(
            act, found
        )
        still = [one for one in wanted if _outstanding(one, came)]
        if not still:
            raise BadInput(
                f"Nothing of this is still to come for {found.code}; look at: kittrack order list --all"
            )
        for one in still:
            act.update(one, cancelled_event_id=act.event_id)
        said = [_cancelled(act.get(Part, one.part_id), _outstanding(one, came)) for one in still]
    return Done(act.event_id, (found.code,), tuple(said))


# ---- finding -------------------------------------------------------------------------------------


def find_supplier(read: Reading, name: str) -> Company:
    """The company of an exact name that supplies.

    Raises:
        BadInput: there is none.
    """
    company = read.find(Company, name=name.strip())
    if company is None or not company.is_supplier:
        raise BadInput(
            f"No supplier is known as {name.strip()!r}; add it to the catalogue first.", field="supplier"
        )
    return company


def _lines_of(read: Reading, order: PurchaseOrder) -> list[OrderLine]:
    """The lines of an order in their order."""
    return read.select(OrderLine, "purchase_order_id = ?", order.id, order="id")


# ---- checks --------------------------------------------------------------------------------------


def _check_figures(lead_time_days: int | None, pack_quantity: int | None) -> None:
    problems = []
    if lead_time_days is not None and not 0 <= lead_time_days <= MOST_LEAD_DAYS:
        problems.append(Problem(f"A lead time is from 0 to {MOST_LEAD_DAYS:,} days.", "lead time"))
    if pack_quantity is not None and not 1 <= pack_quantity <= booking.MOST_QUANTITY:
        problems.append(Problem(f"A pack holds from 1 to {booking.MOST_QUANTITY:,}.", "pack"))
    booking.raise_any(problems)


def _parts_of(act: Act, lines: Sequence[OrderSpec]) -> list[Part]:
    asked = [booking.LineSpec(part=s.part, quantity=s.quantity, lot_code=None, unit=s.unit) for s in lines]
    parts, problems = booking.parts_of(act, asked)
    for row, part in enumerate(parts, start=1):
        if part in parts[: row - 1]:
            problems.append(Problem(f"{part.number} stands twice; order it in one line.", "part", row))
    for row, spec in enumerate(lines, start=1):
        if spec.due is not None and spec.due < desk.today(act):
            problems.append(Problem(f"It is expected on {spec.due}, which is past.", "due", row))
    booking.raise_any(replace(p, message=p.message.replace("The delivery", "The order")) for p in problems)
    return parts


def _check_not_superseded(parts: Sequence[Part]) -> list[Refusal]:
    return [
        Refusal(
            Rule.FIT_FOR_ISSUE, p.number, f"{p.number} is superseded for safety; order the part that follows it."
        )
        for p in parts
        if p.superseded_how == "safety"
    ]  # fmt: skip


def _with_days(
    act: Act, company: Company, lines: Sequence[OrderSpec], parts: Sequence[Part]
) -> list[OrderSpec]:
    dated, problems = [], []
    for row, (spec, part) in enumerate(zip(lines, parts, strict=True), start=1):
        days = supply_of(act, part, supplier=company).lead_time_days
        if spec.due is None and days is None:
            message = f"How long {company.name} takes for {part.number} is not known; say when it is expected: due=DATE."
            problems.append(Problem(message, "due", row))
        dated.append(replace(spec, due=spec.due or desk.today(act) + timedelta(days=days or 0)))
    booking.raise_any(problems)
    return dated


def _looks(act: Act, company: Company, dated: Sequence[OrderSpec], parts: Sequence[Part]) -> list[str]:
    said = []
    for spec, part in zip(dated, parts, strict=True):
        pack = supply_of(act, part, supplier=company).pack_quantity
        said.append(f"{part.number}: {amount_words(part, spec.quantity)} expected on {spec.due}.")
        if spec.quantity % pack:
            said.append(
                f"{part.number} comes in packs of {amount_words(part, pack)}; this is no whole number of packs."
            )
        if part.superseded_how:
            said.append(f"{part.number} is superseded and only used up; look whether its successor is meant.")
    return said


# ---- writing -------------------------------------------------------------------------------------


def _prefer_none(act: Act, part: Part) -> None:
    for other in act.select(SupplyTerms, "part_id = ? AND preferred = 1", part.id):
        act.update(other, preferred=0)


def _write_terms(act: Act, terms: SupplyTerms) -> None:
    known = act.find(SupplyTerms, part_id=terms.part_id, supplier_id=terms.supplier_id)
    if known is None:
        act.insert(terms)
        return
    act.update(
        known, lead_time_days=terms.lead_time_days, pack_quantity=terms.pack_quantity, preferred=terms.preferred,
        source=terms.source, event_id=terms.event_id,
    )  # fmt: skip


def _insert_line(act: Act, order: PurchaseOrder, spec: OrderSpec, part: Part) -> None:
    due = spec.due or desk.today(act)
    act.insert(
        OrderLine(purchase_order_id=order.id, part_id=part.id, quantity=spec.quantity, due_on=due.isoformat())
    )


def _outstanding(line: OrderLine, came: Mapping[int, int]) -> int:
    return 0 if line.cancelled_event_id is not None else max(0, line.quantity - came.get(line.id, 0))


def _cancelled(part: Part, rest: int) -> str:
    return f"{amount_words(part, rest)} of {part.number} are cancelled and expected no more."
