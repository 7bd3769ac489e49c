"""What leaves the stores for good: scrapped before a witness, or sent back to its supplier.

And the one override of a shelf life. Source: design R8 (second person), R10 (evidence), R20 (overrides).
"""

from collections.abc import Sequence
from datetime import date, datetime

from kittrack.domain.ledger import Condition, PlaceKind
from kittrack.domain.rules import Rule, require
from kittrack.errors import BadInput, Refusal
from kittrack.services import booking, desk
from kittrack.services.desk import Done
from kittrack.services.moving import Carried, MoveSpec, carry, read_carried
from kittrack.services.receiving import PaperSpec
from kittrack.services.set_breaking import let_go_of
from kittrack.store.act import Act
from kittrack.store.database import Store
from kittrack.store.records import Company, Kit, Lot, Override, Part, Place, ReceiptLine
from kittrack.store.stock import contents, end_place

EXTENSION_TEST = "shelf-life test"
"""The kind under which the recorded test of an extension is kept among a line's papers."""


@desk.done_by("clerk", "inspector", "manager")
def scrap(
    store: Store,
    *,
    things: Sequence[MoveSpec],
    reason: str,
    second: str,
    by: str,
    at: datetime,
    key: str = "",
) -> Done:
    """Scrap counted stock, pieces or whole rotor sets before a witness; mutilate them so that nobody uses them.

    Args:
        things: codes of receipt lines, pieces and rotor sets, as `moving.move_things` takes them.
        reason: why.
        second: the witness.

    Raises:
        Refused: no other person as witness (R8), a blade of a set (R1), something in a kit (R5), issued
            (R11), on an airframe or evidence (R10).
    """
    desk.require_text(reason=reason)
    with store.act("scrap", by=by, at=at, second=second or None, reason=reason, key=key) as act:
        target = end_place(act, PlaceKind.SCRAPPED)
        gone = read_carried(act, things, target)
        require(
            desk.check_done_by(act, scrap),
            desk.check_second(first=act.by, second=act.second, what="Scrapping"),
            _check_may_leave(act, gone),
        )
        said = _send_off(act, gone, target, condition=Condition.UNSALVAGEABLE)
    return Done(act.event_id, tuple(g.code for g in gone), (*said, "Mutilate it, so that nobody can use it."))


@desk.done_by("clerk", "manager")
def return_to_supplier(
    store: Store,
    *,
    things: Sequence[MoveSpec],
    reference: str,
    reason: str,
    by: str,
    at: datetime,
    key: str = "",
) -> Done:
    """Send counted stock, pieces or whole rotor sets back to the supplier they came from.

    Args:
        things: codes, as `moving.move_things` takes them.
        reference: the supplier's number for the return.
        reason: why.

    Raises:
        BadInput: they came from several suppliers.
        Refused: as for `scrap`, but no witness is needed.
    """
    desk.require_text(reference=reference, reason=reason)
    with store.act("return to supplier", by=by, at=at, reason=reason, key=key) as act:
        target = end_place(act, PlaceKind.RETURNED)
        gone = read_carried(act, things, target)
        require(desk.check_done_by(act, return_to_supplier), _check_may_leave(act, gone))
        supplier = _one_supplier(act, gone)
        act.note("returned to supplier", supplier=supplier.name, reference=reference)
        said = _send_off(act, gone, target, condition=Condition.ON_HOLD)
    return Done(
        act.event_id, tuple(g.code for g in gone), (*said, f"It goes to {supplier.name} under {reference}.")
    )


@desk.done_by("inspector", "manager")
def extend_shelf_life(
    store: Store,
    *,
    line: str,
    expires_on: date,
    test: PaperSpec,
    reason: str,
    second: str,
    by: str,
    at: datetime,
    key: str = "",
) -> Done:
    """Extend the shelf life of a receipt line by a recorded test: an override that the Office lists.

    Opened bottles keep their own day, and sealed kits theirs.

    Args:
        line: the receipt line's code.
        expires_on: the new last day.
        test: number and issuer of the test; its kind is `EXTENSION_TEST` whatever is given.
        reason: why.
        second: the second person.

    Raises:
        Refused: not an inspector or manager, no second person (R8), no known expiry or one that the new
            one does not lengthen (R20), a hold (R6).
    """
    desk.require_text(reason=reason, number=test.number, issuer=test.issuer)
    with store.act("extend a shelf life", by=by, at=at, second=second or None, reason=reason, key=key) as act:
        found = desk.find_line(act, line)
        part = act.get(Part, found.part_id)
        require(
            desk.check_done_by(act, extend_shelf_life),
            desk.check_second(first=act.by, second=act.second, what="Extending a shelf life"),
            _check_lengthens(act, found, expires_on),
            desk.check_holds(act, receipt_lines=[found.id]),
        )
        act.update(found, expires_on=expires_on.isoformat())
        booking.insert_paper(act, found, PaperSpec(EXTENSION_TEST, test.number, test.issuer))
        act.insert(
            Override(
                kind="shelf life extended", subject=found.code, reason=reason.strip(), event_id=act.event_id
            )
        )
        kits = _sealed_kits_with(act, found)
    said = [f"{found.code} ({part.number}) is good until {expires_on}; before it was {found.expires_on}."]
    said += [f"Kit {code} keeps the day that is on its label." for code in kits]
    return Done(act.event_id, (found.code,), tuple(said))


# ---- checks ------------------------------------------------------------------------------------


def _check_may_leave(act: Act, gone: Sequence[Carried]) -> list[Refusal]:
    found = [r for one in gone for r in (*one.refusals, *one.evidence)]
    for one in gone:
        if one.stock is None and one.rotor_set is None:
            message = f"{one.code} is a kit; dissolve it, then dispose of what was in it."
            found.append(Refusal(Rule.WHOLE_KIT, one.code, message))
        elif one.rotor_set is not None:
            found += _check_not_bound(act, one)
    return found


def _check_not_bound(act: Act, one: Carried) -> list[Refusal]:
    if one.rotor_set is None or one.rotor_set.bound_position_id is None:
        return []
    where = act.value("SELECT name FROM position WHERE id = ?", one.rotor_set.bound_position_id)
    message = f"{one.code} is off {where} for transport and goes back there; give the refit up first."
    return [Refusal(Rule.REMOVED_PARTS, one.code, message)]


def _check_lengthens(act: Act, line: ReceiptLine, expires_on: date) -> list[Refusal]:
    if line.expires_on is None:
        message = f"{line.code} has no known expiry to be extended; record the one on its paper first."
        return [Refusal(Rule.NO_WAVING_THROUGH, line.code, message)]
    if expires_on <= date.fromisoformat(line.expires_on) or expires_on < desk.today(act):
        message = f"{expires_on} does not lengthen the life of {line.code} (until {line.expires_on}); look at the test again."
        return [Refusal(Rule.NO_WAVING_THROUGH, line.code, message)]
    return []


# ---- leaving -----------------------------------------------------------------------------------


def _send_off(act: Act, gone: Sequence[Carried], place: Place, *, condition: Condition) -> list[str]:
    said = []
    for one in gone:
        carry(act, one, place, condition=condition.value)
        if one.rotor_set is not None:
            act.update(one.rotor_set, condition=condition.value)
            said += let_go_of(act, one.rotor_set)
        said.append(f"{one.code}: {one.quantity if one.stock else 'the whole set'} {place.name}.")
    return said


def _one_supplier(act: Act, gone: Sequence[Carried]) -> Company:
    lines = {one.stock.line_id for one in gone if one.stock}
    lines |= {s.receipt_line_id for one in gone if one.container_id for s in contents(act, one.container_id)}
    lots = [act.get(Lot, act.get(ReceiptLine, line).lot_id) for line in sorted(lines)]
    suppliers = [act.get(Company, i) for i in dict.fromkeys(lot.supplier_id for lot in lots)]
    if len(suppliers) > 1:
        names = ", ".join(s.name for s in suppliers)
        raise BadInput(
            f"These things came from several suppliers ({names}); send them back one by one.", field="things"
        )
    return suppliers[0]


def _sealed_kits_with(act: Act, line: ReceiptLine) -> list[str]:
    kits = act.select(
        Kit,
        "state IN ('sealed', 'issued') AND id IN (SELECT kit_id FROM kit_pick WHERE receipt_line_id = ? AND active = 1)",
        line.id,
    )
    return [kit.code for kit in kits]
