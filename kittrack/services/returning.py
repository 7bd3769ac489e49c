"""What comes back: a kit unopened, a kit opened complete or short, and what a job has left over.

An opened number is dead. Sets go to inspection on hold; fasteners are scrapped, or go to inspection where
their own bag is still closed. Source: design R5, R9, R11; section 2 ("Opening a kit").
"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from kittrack.domain import codes
from kittrack.domain.ledger import Condition, PlaceKind
from kittrack.domain.rules import require
from kittrack.errors import BadInput, Conflict, Refusal
from kittrack.services import desk
from kittrack.services.desk import Done
from kittrack.services.jobs import find_in_job
from kittrack.services.kit_desk import bench_of, check_kit_state
from kittrack.services.kit_holds import pass_on_holds
from kittrack.services.kitting import end_reservations
from kittrack.services.sealing import check_kit_seal, check_still_good
from kittrack.store.act import Act, Slot
from kittrack.store.database import Store
from kittrack.store.job_facts import open_voucher, rest_lies_in, who_has
from kittrack.store.kit_facts import kit_fact
from kittrack.store.records import Job, Kit, Part, Piece, Place, ReceiptLine, RotorSet
from kittrack.store.stock import Stock, containers_in, directly_in, end_place, inside_of, place_named


@dataclass(frozen=True)
class Missing:
    """What an opened kit lacks: the code of a rotor set, a receipt line or a bottle, and how much."""

    code: str
    quantity: int = 1


@dataclass(frozen=True)
class Leftover:
    """What a job gives back: a set, a receipt line or a bottle; `bag_closed` where its own bag was never opened."""

    code: str
    quantity: int = 1
    bag_closed: bool = False


@desk.done_by("clerk")
def return_unopened(
    store: Store, *, kit: str, seal: str, to_place: str, by: str, at: datetime, key: str = ""
) -> Done:
    """Take an issued kit back with its seal intact, after a look-over: the same number is on the shelf again.

    Args:
        store: the store.
        kit: the kit's code.
        seal: the seal as it is read on the kit.
        to_place: the bin, the van or the hold cage where it goes.
        by: the clerk who looked it over.
        at: the instant.
        key: the caller's own name for the act.

    Raises:
        Refused: another seal, or it was not issued (R5); something in it is on hold or out of date and the place
            is not the hold cage (R6, R13).
    """
    with store.act("take back a kit unopened", by=by, at=at, key=key) as act:
        found = desk.find_kit(act, kit)
        place = place_named(act, to_place, kinds=(PlaceKind.BIN, PlaceKind.VAN, PlaceKind.HOLD_CAGE))
        fact = kit_fact(act, found)
        require(
            desk.check_done_by(act, return_unopened),
            check_kit_state(act, found, "issued"),
            check_kit_seal(fact, seal),
            [] if place.kind == PlaceKind.HOLD_CAGE else check_still_good(act, fact),
        )
        act.move_container(found.place_id, from_place_id=bench_of(act, found).id, to_place_id=place.id)
        act.update(found, state="sealed")
        _return_voucher(act, found)
    return Done(act.event_id, (found.code,), (f"{found.code} is back in {place.name}, seal intact.",))


@desk.done_by("clerk")
def return_opened(
    store: Store,
    *,
    kit: str,
    reason: str,
    by: str,
    at: datetime,
    missing: Sequence[Missing] = (),
    closed_bags: Sequence[str] = (),
    key: str = "",
) -> Done:
    """Take back an issued kit that was opened elsewhere than at its aircraft; its number is dead.

    So comes back, too, what is left of a kit of which a set was found elsewhere.

    Args:
        store: the store.
        kit: the kit's code.
        reason: why it was opened, and how anything missing was lost.
        by: the clerk.
        at: the instant.
        missing: what is not there any more.
        closed_bags: the codes of receipt lines and bottles whose own bag or bottle is still closed.
        key: the caller's own name for the act.

    Raises:
        Refused: it was not issued (R5).
        BadInput: a code that the kit does not hold, or more missing than it holds.
    """
    desk.require_text(reason=reason)
    with store.act("take back an opened kit", by=by, at=at, reason=reason, key=key) as act:
        found = desk.find_kit(act, kit)
        is_rest = rest_lies_in(act, found)
        require(
            desk.check_done_by(act, return_opened), [] if is_rest else check_kit_state(act, found, "issued")
        )
        said = _take_apart(act, found, missing, closed_bags)
        if not is_rest or open_voucher(act, found):
            _return_voucher(act, found)
        end_reservations(act, found, state="released")
    return Done(act.event_id, (found.code,), tuple(said))


@desk.done_by("clerk", "technician", "inspector")
def open_kit(
    store: Store,
    *,
    kit: str,
    reason: str,
    by: str,
    at: datetime,
    missing: Sequence[Missing] = (),
    closed_bags: Sequence[str] = (),
    key: str = "",
) -> Done:
    """Record that a sealed kit was opened that nobody had been issued, in a van or a bin; its number is dead.

    Arguments as for `return_opened`. In the stores a kit is dissolved instead, and its stock stays good.

    Raises:
        Refused: it is not sealed, nor one that a finding opened (R5).
        Conflict: it is issued; then it is returned opened.
    """
    desk.require_text(reason=reason)
    with store.act("open a kit outside its aircraft", by=by, at=at, reason=reason, key=key) as act:
        found = desk.find_kit(act, kit)
        require(desk.check_done_by(act, open_kit), _check_not_issued(act, found))
        said = _take_apart(act, found, missing, closed_bags)
        end_reservations(act, found, state="released")
    return Done(act.event_id, (found.code,), tuple(said))


@desk.done_by("clerk")
def return_leftovers(
    store: Store, *, job: str, items: Sequence[Leftover], by: str, at: datetime, key: str = ""
) -> Done:
    """Take back what a job has left: sets to inspection, closed bags to inspection, opened fasteners to scrap (R9).

    Raises:
        NotFound: the job holds nothing under a code, or not so much.
        BadInput: no item.
    """
    if not items:
        raise BadInput("nothing is named; scan what comes back", field="items")
    with store.act("take back what a job has left", by=by, at=at, key=key) as act:
        work = desk.find_job(act, job)
        require(desk.check_done_by(act, return_leftovers))
        said = [_take_leftover(act, work, item) for item in items]
    return Done(act.event_id, (work.code,), tuple(said))


def _check_not_issued(act: Act, kit: Kit) -> list[Refusal]:
    if not rest_lies_in(act, kit):
        return check_kit_state(act, kit, "sealed")
    if open_voucher(act, kit):
        raise Conflict(who_has(act, kit))
    return []


def _return_voucher(act: Act, kit: Kit) -> None:
    voucher = open_voucher(act, kit)
    if voucher is None:
        raise AssertionError("an issued kit has an open voucher")
    act.update(voucher, state="returned")


# ---- taking an opened kit apart ------------------------------------------------------------------


def _take_apart(act: Act, kit: Kit, missing: Sequence[Missing], closed_bags: Sequence[str]) -> list[str]:
    """Move everything out of an opened kit and end its number."""
    gone = _by_code(missing)
    closed = {codes.read_code(text).text for text in closed_bags}
    place = act.update(act.get(Place, kit.place_id), closed=0)
    sets = [one for i in containers_in(act, kit.place_id) if (one := act.find(RotorSet, place_id=i))]
    stock = directly_in(act, kit.place_id)
    named = {s.code for s in sets} | {_code_of(act, item) for item in stock}
    strange = sorted((set(gone) | closed) - named)
    if strange:
        raise BadInput(
            f"{kit.code} does not hold {', '.join(strange)}; scan what belongs to it", field="missing"
        )
    said = [f"{kit.code} is opened and its number is dead."]
    bottles = [act.get(Piece, item.piece_id) for item in stock if item.piece_id]
    kept = pass_on_holds(act, kit, rotor_sets=sets, pieces=bottles)
    said += [_set_out(act, kit, one, is_missing=gone.pop(one.code, 0) > 0) for one in sets]
    for item in stock:
        said += _stock_out(act, item, gone, closed)
    if any(gone.values()):
        what = ", ".join(f"{quantity} of {code}" for code, quantity in gone.items() if quantity)
        raise BadInput(
            f"{kit.code} held less than is said to be missing: {what}; count again", field="missing"
        )
    act.update(place, active=0)
    act.update(kit, state="opened")
    return [*said, *kept]


def _by_code(missing: Sequence[Missing]) -> dict[str, int]:
    found: dict[str, int] = defaultdict(int)
    for item in missing:
        if item.quantity < 1:
            raise BadInput(
                f"{item.quantity} of {item.code} can't be missing; give at least 1", field="missing"
            )
        found[codes.read_code(item.code).text] += item.quantity
    return found


def _code_of(act: Act, item: Stock) -> str:
    return (
        act.get(Piece, item.piece_id).code
        if item.piece_id
        else act.get(ReceiptLine, item.receipt_line_id).code
    )


def _part_of(act: Act, item: Stock) -> Part:
    return act.get(Part, act.get(ReceiptLine, item.receipt_line_id).part_id)


def _set_out(act: Act, kit: Kit, one: RotorSet, *, is_missing: bool) -> str:
    if is_missing:
        lost = end_place(act, PlaceKind.LOST)
        act.move_container(one.place_id, from_place_id=kit.place_id, to_place_id=lost.id)
        return f"{one.code} is lost."
    return _set_to_inspection(act, one, from_place_id=kit.place_id)


def _set_to_inspection(act: Act, one: RotorSet, *, from_place_id: int) -> str:
    goods_in = end_place(act, PlaceKind.GOODS_IN)
    act.move_container(one.place_id, from_place_id=from_place_id, to_place_id=goods_in.id)
    act.update(one, condition=Condition.ON_HOLD.value)
    return f"{one.code} goes to {goods_in.name}, on hold: inspect it."


def _stock_out(act: Act, item: Stock, gone: dict[str, int], closed: set[str]) -> list[str]:
    code = _code_of(act, item)
    lost = min(gone.get(code, 0), item.quantity)
    if lost and item.piece_id:
        lost = item.quantity  # a bottle is there or it is not
        gone[code] = 0
    said = []
    if lost:
        end = Slot(end_place(act, PlaceKind.LOST).id, Condition.UNSALVAGEABLE.value, item.piece_id)
        act.move_stock(item.receipt_line_id, lost, from_slot=item.slot, to_slot=end)
        gone[code] = max(0, gone.get(code, 0) - lost)
        said.append(f"{desk.amount_of(lost, _part_of(act, item).unit)} {code} is lost.")
    rest = item.quantity - lost
    if rest:
        said.append(_stock_back(act, item, rest, is_closed=code in closed))
    return said


def _stock_back(act: Act, item: Stock, quantity: int, *, is_closed: bool) -> str:
    """Counted stock that left the stores: to inspection where it was never opened, else to scrap (R9)."""
    part, code = _part_of(act, item), _code_of(act, item)
    keeps = is_closed or item.piece_id is not None or (part.kind == "other" and not part.single_use)
    place = end_place(act, PlaceKind.GOODS_IN if keeps else PlaceKind.SCRAPPED)
    condition = Condition.ON_HOLD if keeps else Condition.UNSALVAGEABLE
    act.move_stock(
        item.receipt_line_id,
        quantity,
        from_slot=item.slot,
        to_slot=Slot(place.id, condition.value, item.piece_id),
    )
    where = f"goes to {place.name}, on hold: inspect it" if keeps else "is scrapped; make it unusable"
    return f"{desk.amount_of(quantity, part.unit)} {code} ({part.number}) {where}."


def _take_leftover(act: Act, job: Job, left: Leftover) -> str:
    if codes.read_code(left.code).kind is codes.Kind.ROTOR_SET:
        one = desk.find_set(act, left.code)
        if inside_of(act, one.place_id) != job.place_id:
            raise BadInput(f"{job.code} does not hold {one.code}; scan what it holds", field="items")
        return _set_to_inspection(act, one, from_place_id=job.place_id)
    item, _ = find_in_job(act, job, left.code, left.quantity)
    quantity = item.quantity if item.piece_id else left.quantity
    return _stock_back(act, item, quantity, is_closed=left.bag_closed)
