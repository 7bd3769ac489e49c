"""Moving things between places of the stores and vans: put away, load a van, take to the hold cage.

A container moves whole. What is fit for issue goes to bins, vans and benches; what is on hold or expired to
goods-in, the hold cage or a bench; what is unserviceable to the cages. Source: design R1, R5, R6, R10, R13.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from kittrack.domain import codes
from kittrack.domain.kit_checks import check_content
from kittrack.domain.ledger import Condition, PlaceKind, place_in_words
from kittrack.domain.quantities import stock_in_words
from kittrack.domain.rules import Rule, require
from kittrack.domain.soundness import Moment, StockFact, check_set, check_stock
from kittrack.domain.text import either
from kittrack.errors import BadInput, Problem, Refusal
from kittrack.services import booking, desk
from kittrack.services.desk import Done
from kittrack.services.kit_desk import check_kit_state
from kittrack.services.set_breaking import check_no_evidence
from kittrack.store.act import Act, Reading, Slot
from kittrack.store.database import Store
from kittrack.store.kit_facts import kit_fact, set_facts, stock_facts
from kittrack.store.records import Kit, Part, Place, RotorSet
from kittrack.store.stock import chain, inside_of, place_named

IN_STORES = (
    *(PlaceKind.BIN, PlaceKind.BENCH, PlaceKind.VAN),
    *(PlaceKind.GOODS_IN, PlaceKind.HOLD_CAGE, PlaceKind.REMOVED_CAGE),
)
FIT, ON_HOLD, UNSERVICEABLE = "fit for issue", "on hold or expired", "unserviceable"
MAY_GO_TO = {
    FIT: frozenset({PlaceKind.BIN, PlaceKind.VAN, PlaceKind.BENCH}),
    ON_HOLD: frozenset({PlaceKind.GOODS_IN, PlaceKind.HOLD_CAGE, PlaceKind.BENCH}),
    UNSERVICEABLE: frozenset({PlaceKind.HOLD_CAGE, PlaceKind.REMOVED_CAGE}),
}
CAGES = frozenset({PlaceKind.HOLD_CAGE, PlaceKind.REMOVED_CAGE})


@dataclass(frozen=True)
class MoveSpec:
    """One thing that is carried.

    Args:
        what: the code of a receipt line (counted stock), a piece, a rotor set or a kit.
        quantity: how much of counted stock, in its unit; None for all that lies there.
        from_place: where counted stock lies, if in several places.
        condition: which of it, if it lies there in several conditions.
    """

    what: str
    quantity: int | None = None
    from_place: str = ""
    condition: str = ""


@dataclass(frozen=True)
class Carried:
    """A thing to be moved: a set or kit with its place, or stock of a slot; its state, and what forbids it."""

    code: str
    state: str
    here: Place
    rotor_set: RotorSet | None = None
    container_id: int | None = None
    stock: StockFact | None = None
    quantity: int = 1
    refusals: tuple[Refusal, ...] = ()
    why: str = ""
    evidence: tuple[Refusal, ...] = ()


@desk.done_by("clerk", "technician")
def move_things(
    store: Store, *, things: Sequence[MoveSpec], to: str, by: str, at: datetime, key: str = ""
) -> Done:
    """Carry things to one place; all of them arrive or none.

    Args:
        things: what was scanned.
        to: the code or name of a bin, bench, van, goods-in or cage.

    Raises:
        BadInput: every thing that can't be read, or lies there already.
        Refused: a piece of a set (R1) or of a kit (R5), what is issued (R11) or on an airframe (R10), or a
            place where such a thing may not lie (R6).
        Conflict: a kit is issued.
    """
    with store.act("move things", by=by, at=at, key=key) as act:
        target = place_named(act, to, kinds=IN_STORES)
        carried = read_carried(act, things, target)
        require(
            desk.check_done_by(act, move_things),
            [r for one in carried for r in (*one.refusals, *_check_target(one, target))],
        )
        for one in carried:
            carry(act, one, target)
        said = tuple(f"{_moved(act, one)} in {target.name}." for one in carried)
    return Done(act.event_id, tuple(one.code for one in carried), said)


def _moved(act: Act, one: Carried) -> str:
    """What was moved, as a sentence begins: how much of a line where the rest of it stays."""
    if one.stock is None or one.quantity == one.stock.quantity:
        return f"{one.code} is"
    unit = act.get(Part, one.stock.part_id).unit
    return f"{desk.amount_of(one.quantity, unit)} {one.code} {'is' if one.quantity == 1 else 'are'}"


# ---- reading what is carried -------------------------------------------------------------------


def read_carried(act: Act, things: Sequence[MoveSpec], target: Place) -> list[Carried]:
    """What is to be carried to a place, read from scans; each with its state and what forbids taking it.

    Raises:
        BadInput: every thing that can't be read, stands twice or lies there already.
        Conflict: a kit is issued.
    """
    if not things:
        raise BadInput("Nothing was scanned; scan what you carry.", field="things")
    found: list[Carried] = []
    problems: list[Problem] = []
    for row, thing in enumerate(things, start=1):
        try:
            one = _read(act, thing, target)
        except BadInput as error:
            problems += [replace(p, row=row) for p in error.problems]
            continue
        if one.here.id == target.id:
            problems.append(Problem(f"{one.code} is in {target.name} already.", "to", row))
        if any(_same(one, other) for other in found):
            problems.append(Problem(f"{one.code} stands twice; scan it once.", "things", row))
        found.append(one)
    booking.raise_any(problems)
    return found


def _same(one: Carried, other: Carried) -> bool:
    same_stock = one.stock is not None and one.stock == other.stock
    return same_stock or (one.container_id is not None and one.container_id == other.container_id)


def _read(act: Act, thing: MoveSpec, target: Place) -> Carried:
    kind = codes.read_code(thing.what).kind if codes.looks_like_code(thing.what) else codes.Kind.PIECE
    if kind is codes.Kind.ROTOR_SET:
        return _set(act, desk.find_set(act, thing.what))
    if kind is codes.Kind.KIT:
        return _kit(act, desk.find_kit(act, thing.what))
    if kind is codes.Kind.PIECE:
        return _piece(act, thing.what)
    if kind is codes.Kind.RECEIPT_LINE:
        return _counted(act, thing, target)
    raise BadInput(f"{thing.what} is {kind.with_article}; scan what you carry.", field="what")


def _set(act: Act, rotor_set: RotorSet) -> Carried:
    (fact,) = set_facts(act, [rotor_set])
    wrong = check_set(replace(fact, bound_to=""), now=_now(act))
    return Carried(
        code=rotor_set.code,
        state=_state(rotor_set.condition, wrong),
        here=_around(act, rotor_set.place_id),
        rotor_set=rotor_set,
        container_id=rotor_set.place_id,
        refusals=(*_check_around(act, rotor_set.code, rotor_set.place_id), *_check_alive(rotor_set)),
        why=wrong[0].message if wrong else "",
        evidence=tuple(check_no_evidence(act, rotor_set.code, rotor_set_id=rotor_set.id)),
    )


def _kit(act: Act, kit: Kit) -> Carried:
    wrong = check_content(kit_fact(act, kit), now=_now(act)) if kit.state == "sealed" else []
    return Carried(
        code=kit.code,
        state=ON_HOLD if wrong else FIT,
        here=_around(act, kit.place_id),
        container_id=kit.place_id,
        refusals=(
            *check_kit_state(act, kit, "building", "checked", "sealed"),
            *_check_around(act, kit.code, kit.place_id),
        ),
        why=wrong[0].message if wrong else "" if kit.state == "sealed" else f"{kit.code} is not sealed yet.",
    )


def _piece(act: Act, text: str) -> Carried:
    piece = desk.find_piece(act, text)
    facts = stock_facts(act, "h.piece_id = ?", piece.id)
    if not facts:
        raise BadInput(f"{piece.code} was used up; there is nothing to move.", field="what")
    return _stock(act, facts[0], facts[0].quantity)


def _counted(act: Act, thing: MoveSpec, target: Place) -> Carried:
    line = desk.find_line(act, thing.what)
    where = "h.receipt_line_id = ? AND h.piece_id IS NULL AND h.quantity > 0 AND h.place_id <> ?"
    lying = [
        f for f in stock_facts(act, where, line.id, target.id) if act.get(Place, f.place_id).kind in IN_STORES
    ]
    if thing.from_place:
        place = place_named(act, thing.from_place)
        lying = [f for f in lying if f.place_id == place.id]
    lying = [f for f in lying if thing.condition in ("", f.condition)]
    fitting = [
        f for f in lying if target.kind in MAY_GO_TO[_state(f.condition, check_stock([f], now=_now(act)))]
    ]
    found = fitting or lying
    if not found:
        raise BadInput(f"Nothing of {line.code} lies there to be moved; look where it is.", field="what")
    if len(found) > 1:
        told = ", ".join(f"{f.quantity} {f.condition} in {act.get(Place, f.place_id).name}" for f in found)
        raise BadInput(
            f"{line.code} lies in several ways ({told}); name place and condition.", field="from place"
        )
    quantity = found[0].quantity if thing.quantity is None else thing.quantity
    if not 0 < quantity <= found[0].quantity:
        unit = act.get(Part, found[0].part_id).unit
        raise BadInput(
            f"Of {line.code} {stock_in_words(found[0].quantity, unit)} lie there, not {stock_in_words(quantity, unit)}; "
            "count again.",
            field="quantity",
        )
    return _stock(act, found[0], quantity)


def _stock(act: Act, fact: StockFact, quantity: int) -> Carried:
    wrong = check_stock([fact], now=_now(act))
    return Carried(
        code=fact.code,
        state=_state(fact.condition, wrong),
        here=act.get(Place, fact.place_id),
        stock=fact,
        quantity=quantity,
        refusals=tuple(_check_around(act, fact.code, fact.place_id, itself=True)),
        why=wrong[0].message if wrong else "",
        evidence=tuple(
            check_no_evidence(act, fact.code, piece_id=fact.piece_id or 0, receipt_line_id=fact.line_id)
        ),
    )


def _around(read: Reading, container_id: int) -> Place:
    """The place that a container is in."""
    return read.get(Place, inside_of(read, container_id) or 0)


def _state(condition: str, wrong: Sequence[Refusal]) -> str:
    if condition in (Condition.UNSERVICEABLE, Condition.UNSALVAGEABLE):
        return UNSERVICEABLE
    return ON_HOLD if wrong or condition != Condition.SERVICEABLE else FIT


def _now(act: Act) -> Moment:
    return Moment(act.moment, desk.zone(act))


# ---- checks ------------------------------------------------------------------------------------


def _check_around(read: Reading, code: str, place_id: int, *, itself: bool = False) -> list[Refusal]:
    """Why a thing can't be carried off from where it is.

    Args:
        read: the transaction.
        code: the thing's code.
        place_id: the place of stock, or the container's own place.
        itself: whether that place is where stock lies, and not the thing itself.
    """
    around = chain(read, place_id)[0 if itself else 1 :]
    by_kind = {p.kind: p for p in around}
    if itself and PlaceKind.ROTOR_SET in by_kind:
        message = f"{code} is in rotor set {by_kind[PlaceKind.ROTOR_SET].code}; carry the whole set, or break it with a reason."
        return [Refusal(Rule.WHOLE_SET, code, message)]
    if PlaceKind.KIT in by_kind:
        message = (
            f"{code} is in kit {by_kind[PlaceKind.KIT].code}; carry the whole kit, or open or dissolve it."
        )
        return [Refusal(Rule.WHOLE_KIT, code, message)]
    if PlaceKind.POSITION in by_kind:
        message = f"{code} is on {by_kind[PlaceKind.POSITION].name}; take it off with its tag first."
        return [Refusal(Rule.REMOVED_PARTS, code, message)]
    outer = around[-1]
    if outer.kind in (PlaceKind.JOB, PlaceKind.HANDS):
        message = f"{code} is issued ({outer.kind} {outer.name}); take it back at the counter."
        return [Refusal(Rule.COUNT_OUT_COUNT_IN, code, message)]
    if outer.kind not in IN_STORES:
        message = f"{code} is {outer.kind}; it is no longer in the stores, so record what was found instead."
        return [Refusal(Rule.NOTHING_ERASED, code, message)]
    return []


def _check_alive(rotor_set: RotorSet) -> list[Refusal]:
    if rotor_set.state == "complete":
        return []
    message = f"{rotor_set.code} is broken and its number is dead; move its blades one by one."
    return [Refusal(Rule.WHOLE_SET, rotor_set.code, message)]


def _check_target(one: Carried, target: Place) -> list[Refusal]:
    """Why a thing may not lie in a place (R6)."""
    allowed = MAY_GO_TO[one.state]
    if one.evidence:
        allowed = CAGES
    elif one.container_id is not None and one.state == FIT and one.why:
        allowed = frozenset({PlaceKind.BENCH})  # a kit that is being built
    if one.refusals or target.kind in allowed:
        return []
    places = either(sorted(allowed))
    reason = one.why.rpartition("; ")[0] or one.why.rstrip(".") or f"{one.code} is {one.state}"
    if one.evidence:
        reason = f"{one.code} is evidence"
    where = place_in_words(target.kind, target.name)
    message = f"{reason}, so {one.code} can't lie in {where}; take it to a {places}."
    return [Refusal(Rule.FIT_FOR_ISSUE, one.code, message)]


def carry(act: Act, one: Carried, target: Place, *, condition: str = "") -> None:
    """Move a thing to a place, stock in another condition where one is named."""
    if one.stock is None:
        act.move_container(one.container_id or 0, from_place_id=one.here.id, to_place_id=target.id)
        return
    source = Slot(one.stock.place_id, one.stock.condition, one.stock.piece_id)
    there = Slot(target.id, condition or one.stock.condition, one.stock.piece_id)
    act.move_stock(one.stock.line_id, one.quantity, from_slot=source, to_slot=there)
