"""Breaking a rotor set: the only way to separate its blades. Source: design R1, R10."""

from collections.abc import Sequence
from datetime import datetime

from kittrack.domain.ledger import Condition, PlaceKind
from kittrack.domain.rules import Rule, require
from kittrack.errors import BadInput, Refusal
from kittrack.services import desk
from kittrack.services.desk import Done
from kittrack.store.act import Act, Reading, Slot
from kittrack.store.database import Store
from kittrack.store.last_change import last_change
from kittrack.store.records import HoldItem, Part, Piece, Place, Reservation, RotorSet
from kittrack.store.stock import Stock, chain, directly_in, end_place

_BREAKABLE = frozenset(
    {
        *(PlaceKind.BIN, PlaceKind.GOODS_IN, PlaceKind.HOLD_CAGE, PlaceKind.BENCH, PlaceKind.VAN),
        *(PlaceKind.REMOVED_CAGE, PlaceKind.JOB, PlaceKind.HANDS),
    }
)


@desk.done_by("clerk", "technician", "inspector", "manager")
def break_set(
    store: Store,
    *,
    rotor_set: str,
    reason: str,
    by: str,
    at: datetime,
    damaged: Sequence[str] = (),
    key: str = "",
) -> Done:
    """Break a rotor set for good: its blades go to the hold cage as orphans, its hub on hold beside them.

    Args:
        rotor_set: the set's code.
        reason: why.
        damaged: codes or serials of its pieces that are unserviceable.

    Returns:
        The codes of the orphaned pieces.

    Raises:
        Refused: it is in a kit (R5), on a position (R10), evidence (R10), or broken already (R1).
    """
    desk.require_text(reason=reason)
    with store.act("break a set", by=by, at=at, reason=reason, key=key) as act:
        found = desk.find_set(act, rotor_set)
        require(
            desk.check_done_by(act, break_set),
            check_breakable(act, found),
        )
        inside = directly_in(act, found.place_id)
        bad = {_member(act, found, inside, text).id for text in damaged}
        pieces = take_apart(act, found, inside, damaged=bad)
        said = [f"{found.code} is broken for good; its number is never used again."]
        said += let_go_of(act, found)
    cage = "the hold cage"
    for piece in pieces:
        word = "unserviceable" if piece.id in bad else "an orphan"
        said.append(f"{piece.code} is {word}: put it in {cage}, and take the set's label off.")
    return Done(act.event_id, tuple(p.code for p in pieces), tuple(said))


def check_breakable(read: Reading, rotor_set: RotorSet) -> list[Refusal]:
    """Every reason why a set can't be broken where it is."""
    code = rotor_set.code
    if rotor_set.state != "complete":
        message = (
            f"{code} is broken already; nothing of it is left to separate. {last_change(read, rotor_set)}"
        )
        return [Refusal(Rule.WHOLE_SET, code, message.rstrip())]
    around = chain(read, rotor_set.place_id)
    kinds = [p.kind for p in around]
    found = check_no_evidence(read, code, rotor_set_id=rotor_set.id)
    if PlaceKind.KIT in kinds:
        kit = around[kinds.index(PlaceKind.KIT)].code
        found.append(
            Refusal(Rule.WHOLE_KIT, code, f"{code} is in kit {kit}; open or dissolve the kit first.")
        )
    elif PlaceKind.POSITION in kinds:
        spot = around[kinds.index(PlaceKind.POSITION)].name
        found.append(Refusal(Rule.REMOVED_PARTS, code, f"{code} is on {spot}; take it off and tag it first."))
    elif kinds[-1] not in _BREAKABLE:
        found.append(
            Refusal(
                Rule.WHOLE_SET, code, f"{code} is {kinds[-1]}; it is no longer in the stores to be broken."
            )
        )
    return found


def check_no_evidence(
    read: Reading, code: str, *, rotor_set_id: int = 0, piece_id: int = 0, receipt_line_id: int = 0
) -> list[Refusal]:
    """Why nothing may be changed on a thing: an open hold keeps it as evidence (R10)."""
    hold = read.value(
        "SELECT h.code FROM hold_item i JOIN hold h ON h.id = i.hold_id "
        "WHERE (i.rotor_set_id = ? OR i.piece_id = ? OR i.receipt_line_id = ?) "
        "AND i.released_event_id IS NULL AND h.is_evidence = 1 ORDER BY h.id",
        rotor_set_id,
        piece_id,
        receipt_line_id,
    )
    if hold is None:
        return []
    message = f"{code} is evidence under {hold}; change nothing on it until the hold is released."
    return [Refusal(Rule.REMOVED_PARTS, code, message)]


def take_apart(
    act: Act,
    rotor_set: RotorSet,
    inside: Sequence[Stock],
    *,
    damaged: set[int],
    missing: frozenset[int] = frozenset(),
) -> list[Piece]:
    """Move what is in a set to the hold cage, and end the set; pieces that are not there become unaccounted."""
    place = act.update(act.get(Place, rotor_set.place_id), closed=0)
    for stock in inside:
        bad = stock.piece_id in damaged
        condition = Condition.UNSERVICEABLE if bad else Condition.ON_HOLD
        is_missing = stock.piece_id in missing
        cage = end_place(act, PlaceKind.UNACCOUNTED if is_missing else PlaceKind.HOLD_CAGE)
        act.move_stock(
            stock.receipt_line_id,
            stock.quantity,
            from_slot=stock.slot,
            to_slot=Slot(cage.id, condition.value, stock.piece_id),
        )
    act.update(rotor_set, state="broken", condition=Condition.ON_HOLD.value, bound_position_id=None)
    act.update(place, active=0)
    pieces = [act.get(Piece, s.piece_id) for s in inside if s.piece_id]
    _keep_holds(act, rotor_set, pieces)
    return pieces


def _keep_holds(act: Act, rotor_set: RotorSet, pieces: Sequence[Piece]) -> None:
    """A hold on the set goes on for each of its pieces, until it is released."""
    for item in act.select(HoldItem, "rotor_set_id = ? AND released_event_id IS NULL", rotor_set.id):
        for piece in pieces:
            act.insert(HoldItem(hold_id=item.hold_id, piece_id=piece.id))


def _member(act: Act, rotor_set: RotorSet, inside: Sequence[Stock], text: str) -> Piece:
    piece = desk.find_piece(act, text)
    if piece.id not in {s.piece_id for s in inside}:
        raise BadInput(
            f"{piece.code} is not in {rotor_set.code}; scan the damaged blade itself.", field="damaged"
        )
    return piece


def let_go_of(act: Act, rotor_set: RotorSet) -> list[str]:
    """Release what reserved a set that is no more; the job then needs another."""
    said = []
    for kept in act.select(Reservation, "rotor_set_id = ? AND state = 'active'", rotor_set.id):
        act.update(kept, state="released")
        job = act.value("SELECT code FROM job WHERE id = ?", kept.job_id)
        said.append(
            f"It was reserved for {job}, which needs another {rotor_set.sense} set of {act.get(Part, rotor_set.part_id).number}."
        )
    return said
