"""Holds: placed by lot, line, piece, set, kit, maker's code, serials, supplier, maker or scale; narrowed; released.

A hold is a statement on things where they are; nothing moves by it. Everything under its scope that
arrives later joins it. One on a kit is no recall: a recall's account begins with what was
received, and a kit received nothing; what it holds stands in kit_holds.py.
Source: design R6, R15; fastener recalls go by manufacture lot (FAA AD 2005-14-12).
"""

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

from kittrack.domain import codes
from kittrack.domain.rules import Rule, require
from kittrack.errors import BadInput, Refusal
from kittrack.services import desk
from kittrack.services.desk import Done
from kittrack.services.kit_holds import came_out_uncounted
from kittrack.store.act import Act
from kittrack.store.database import Store
from kittrack.store.last_change import event_in_words
from kittrack.store.parts import part_numbered
from kittrack.store.recall_facts import bonded_under, located_under, recipients_of
from kittrack.store.recall_scope import Covered, Scope, covered_by_hold, find_hold, resolve
from kittrack.store.records import Company, Hold, HoldItem, Lot, Part, Piece, ReceiptLine

__all__ = ["Scope", "find_hold", "join_open_holds", "narrow_hold", "place_hold", "release_hold"]


@desk.done_by("clerk", "technician", "inspector", "manager")
def place_hold(
    store: Store, *, scope: Scope, reason: str, reference: str, by: str, at: datetime,
    is_recall: bool = False, is_evidence: bool = False, key: str = "",
) -> Done:  # fmt: skip
    """Place a hold, and say who must be told: airframes that carry it, vans and hands that have it.

    Anyone of the stores may place one; stopping is never refused for want of a role.

    Raises:
        BadInput: no scope, or no reason; NotFound: nothing is known under it.
    """
    desk.require_text(reason=reason)
    if is_recall:
        desk.require_text(reference=reference)
    with store.act("place a hold", by=by, at=at, reason=reason, key=key) as act:
        require(desk.check_done_by(act, place_hold))
        things = resolve(act, scope)
        _refuse_recall_by_kit(things, is_recall=is_recall)
        hold = act.insert(
            Hold(
                code=act.new_code(Hold, codes.Kind.HOLD), scope=things.scope, scope_text=things.text,
                lot_code=things.lot_code, reason=reason.strip(), reference=reference.strip(),
                is_recall=int(is_recall), is_evidence=int(is_evidence), placed_event_id=act.event_id,
            )
        )  # fmt: skip
        _add_items(act, hold, things)
        told = (
            *_who_must_be_told(act, things),
            *_not_inspected(act, scope, things),
            *came_out_uncounted(act, things),
        )
    said = [f"{hold.code} holds {things.text}: nothing of it can be picked, sealed, issued or fitted.", *told]
    if is_recall:
        said.append(f"Next: write its notices: kittrack notice write {hold.code}")
    return Done(act.event_id, (hold.code,), tuple(said))


@desk.done_by("manager", "inspector")
def narrow_hold(
    store: Store, *, hold: str, scope: Scope, reference: str, reason: str, by: str, at: datetime, key: str = ""
) -> Done:  # fmt: skip
    """Narrow a hold to another scope that lies within it, with the reference that says so; the rest is released.

    What is under both is held at every moment. Later arrivals join by the narrower scope.

    Args:
        hold: the hold's code.
        scope: the narrower scope.
        reference: the notice that narrows it.
        reason: why.

    Raises:
        Refused: not a manager or inspector; the hold is released already (R12).
        BadInput: the scope reaches beyond the hold; place a hold of its own on that.
    """
    desk.require_text(reference=reference, reason=reason)
    with store.act("narrow a hold", by=by, at=at, reason=reason, key=key) as act:
        found = find_hold(act, hold)
        require(desk.check_done_by(act, narrow_hold), _check_open(act, found))
        narrower = resolve(act, scope)
        _refuse_recall_by_kit(narrower, is_recall=bool(found.is_recall))
        items = act.select(HoldItem, "hold_id = ? AND released_event_id IS NULL", found.id)
        _refuse_wider(act, found, narrower)
        kept = [i for i in items if _is_named(i, narrower)]
        _add_items(act, found, _without(narrower, kept))
        for item in items:
            if item not in kept:
                act.update(item, released_event_id=act.event_id)
        act.update(found, scope=narrower.scope, scope_text=narrower.text, lot_code=narrower.lot_code)
        act.note("hold narrowed", hold=found.code, reference=reference.strip(), was=found.scope_text)
        told = _who_must_be_told(act, narrower)
    first = f"{found.code} holds {narrower.text} alone from now on, under {reference.strip()}; the rest is released."
    return Done(act.event_id, (found.code,), (first, *told))


def _refuse_recall_by_kit(things: Covered, *, is_recall: bool) -> None:
    if is_recall and things.kits:
        raise BadInput(
            "a recall goes by lot, receipt line, piece, set, maker's code, serials, supplier, maker or scale, not by "
            "kit; place it on what is in the kit",
            field="code",
        )


def _refuse_wider(act: Act, hold: Hold, narrower: Covered) -> None:
    """Raise where a scope covers stock that the hold does not hold now."""
    held = {f.stock for f in located_under(act, covered_by_hold(act, hold, only_open=True))}
    beyond = [f.stock for f in located_under(act, narrower) if f.stock not in held]
    if beyond:
        lines = sorted({act.get(ReceiptLine, s.receipt_line_id).code for s in beyond})
        raise BadInput(
            f"{narrower.text} reaches beyond {hold.code} ({', '.join(lines[:5])}); place a hold of its own on it",
            field="scope",
        )


def _is_named(item: HoldItem, covered: Covered) -> bool:
    return (
        item.receipt_line_id in covered.lines
        or item.piece_id in covered.pieces
        or item.rotor_set_id in covered.sets
        or item.kit_id in covered.kits
    )


def _without(covered: Covered, kept: Sequence[HoldItem]) -> Covered:
    """A scope without what some items hold already."""
    return replace(
        covered,
        lines=tuple(i for i in covered.lines if i not in {k.receipt_line_id for k in kept}),
        pieces=tuple(i for i in covered.pieces if i not in {k.piece_id for k in kept}),
        sets=tuple(i for i in covered.sets if i not in {k.rotor_set_id for k in kept}),
        kits=tuple(i for i in covered.kits if i not in {k.kit_id for k in kept}),
    )


def _check_open(act: Act, hold: Hold) -> list[Refusal]:
    if hold.released_event_id is None:
        return []
    who = event_in_words(act, hold.released_event_id)
    message = f"{hold.code} is released already, {who}; place a new hold if it is needed."
    return [Refusal(Rule.NOTHING_ERASED, hold.code, message)]


def _not_inspected(act: Act, scope: Scope, things: Covered) -> list[str]:
    """Serials are known from the inspection on, so a range may reach what still waits for it."""
    if things.scope != "serials":
        return []
    waiting = act.value(
        "SELECT sum(h.quantity) FROM holding h JOIN receipt_line r ON r.id = h.receipt_line_id JOIN place p ON p.id = h.place_id "
        "WHERE r.part_id = ? AND h.piece_id IS NULL AND h.quantity > 0 AND p.kind IN ('goods-in', 'bin', 'hold cage', 'bench', 'van')",
        part_numbered(act, scope.part).id,
    )
    if not waiting:
        return []
    return [f"{waiting} of this part are not inspected and nobody knows their serials; look at them first."]


@desk.done_by("manager", "inspector")
def release_hold(
    store: Store, *, hold: str, reference: str, reason: str, by: str, at: datetime, only: Sequence[str] = ()
) -> Done:
    """Release a hold, or only some of its things (codes), with the reference that allows it.

    Raises:
        Refused: not a manager or inspector; the hold is released already (R12).
        BadInput: a code that the hold does not cover.
    """
    desk.require_text(reference=reference, reason=reason)
    with store.act("release a hold", by=by, at=at, reason=reason) as act:
        found = find_hold(act, hold)
        require(desk.check_done_by(act, release_hold), _check_open(act, found))
        items = act.select(HoldItem, "hold_id = ? AND released_event_id IS NULL", found.id)
        chosen = _chosen(act, found, items, only) if only else items
        for item in chosen:
            act.update(item, released_event_id=act.event_id)
        whole = len(chosen) == len(items)
        if whole:
            act.update(found, released_event_id=act.event_id, release_reference=reference.strip())
        else:
            act.note("hold narrowed", hold=found.code, reference=reference.strip(), released=list(only))
    left = (
        "released" if whole else f"narrowed: {len(items) - len(chosen)} of {len(items)} things stay on hold"
    )
    return Done(act.event_id, (found.code,), (f"{found.code} is {left} under {reference.strip()}.",))


def join_open_holds(
    act: Act, *, lines: Sequence[ReceiptLine] = (), pieces: Sequence[Piece] = ()
) -> tuple[str, ...]:
    """Put what just arrived under every open hold whose scope covers it; answers with sentences.

    Receiving calls it for new lines, inspection for new pieces (serial ranges).
    """
    said = []
    for hold in act.select(Hold, "released_event_id IS NULL"):
        for line in lines:
            if _covers_line(act, hold, line):
                act.insert(HoldItem(hold_id=hold.id, receipt_line_id=line.id))
                said.append(f"{line.code} joins {hold.code} ({hold.reason}): put it in the hold cage.")
        for piece in pieces:
            if _covers_piece(act, hold, piece):
                act.insert(HoldItem(hold_id=hold.id, piece_id=piece.id))
                said.append(f"{piece.code} joins {hold.code} ({hold.reason}): put it in the hold cage.")
    return tuple(said)


# ---- what joins ------------------------------------------------------------------------------------


def _covers_line(act: Act, hold: Hold, line: ReceiptLine) -> bool:
    lot = act.get(Lot, line.lot_id)
    if hold.scope == "lot":
        return hold.scope_text.endswith(f" {lot.code}")
    if hold.scope == "maker lot":
        maker = act.get(Company, lot.maker_id).name
        return lot.lot_code == hold.lot_code and hold.scope_text in (
            f"lot code {hold.lot_code}",
            f"lot code {hold.lot_code} of {maker}",
        )
    if hold.scope in ("supplier", "maker"):
        company = act.get(Company, lot.supplier_id if hold.scope == "supplier" else lot.maker_id)
        return company.name == hold.scope_text
    return False


def _covers_piece(act: Act, hold: Hold, piece: Piece) -> bool:
    if hold.scope != "serials" or piece.serial is None:
        return False
    number, _, span = hold.scope_text.rpartition(": ")
    first, _, last = span.partition(" to ")
    same = act.get(Part, piece.part_id).number == number and len(piece.serial) == len(first)
    return same and first <= piece.serial <= last


def _add_items(act: Act, hold: Hold, things: Covered) -> None:
    for line in things.lines:
        act.insert(HoldItem(hold_id=hold.id, receipt_line_id=line))
    for piece in things.pieces:
        act.insert(HoldItem(hold_id=hold.id, piece_id=piece))
    for rotor_set in things.sets:
        act.insert(HoldItem(hold_id=hold.id, rotor_set_id=rotor_set))
    for kit in things.kits:
        act.insert(HoldItem(hold_id=hold.id, kit_id=kit))


def _chosen(act: Act, hold: Hold, items: Sequence[HoldItem], only: Sequence[str]) -> list[HoldItem]:
    by_code: dict[str, HoldItem] = {}
    for item in items:
        for table, row_id in (
            ("receipt_line", item.receipt_line_id),
            ("piece", item.piece_id),
            ("rotor_set", item.rotor_set_id),
            ("kit", item.kit_id),
        ):
            if row_id is not None:
                by_code[act.value(f"SELECT code FROM {table} WHERE id = ?", row_id)] = item
    wanted = [codes.read_code(text).text for text in only]
    strange = [code for code in wanted if code not in by_code]
    if strange:
        raise BadInput(
            f"{', '.join(strange)} is not under {hold.code}; it holds {', '.join(sorted(by_code))}",
            field="only",
        )
    return [by_code[code] for code in dict.fromkeys(wanted)]


# ---- who must be told --------------------------------------------------------------------------

_TOLD = {
    "airframe": "AIRFRAME {name} carries it: ground the aircraft until it is off.",
    "van": "VAN {name} has it aboard: call the van.",
    "person": "{name} has it in hand: stop the work and bring it back.",
    "owner": "{name}, was given it with the airframe: tell them.",
}


def _who_must_be_told(act: Act, things: Covered) -> tuple[str, ...]:
    """One sentence for each airframe, van, person and new owner that has something under the hold now."""
    told = {*recipients_of(act, located_under(act, things)).values()}
    if not things.kits:  # a doubt about a kit says nothing of what else was done with its bottle
        told |= {b.recipient for b in bonded_under(act, things) if b.recipient}
    order = list(_TOLD)
    return tuple(
        _TOLD[one.kind].format(name=one.name)
        for one in sorted(told, key=lambda r: (order.index(r.kind), r.name))
    )
