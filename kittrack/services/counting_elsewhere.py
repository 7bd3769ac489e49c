"""What a count found that is on record elsewhere, inside something whole: the record of that is put right first.

A count moves the record of what it found to where it lies. What is on record inside a whole set, a closed kit or a
position can't be moved alone (R1, R5, R10): then the act that says what became of those comes before the settlement.
The sheet keeps what was found. Source: design 2.
"""

from collections.abc import Sequence

from kittrack.domain.ledger import PlaceKind
from kittrack.domain.rules import Rule
from kittrack.errors import Refusal
from kittrack.store.act import Reading
from kittrack.store.job_facts import who_has
from kittrack.store.records import CountLine, Kit, Piece, Place, RotorSet
from kittrack.store.stock import chain, stock_of_piece


def check_found_alone(read: Reading, lines: Sequence[CountLine]) -> list[Refusal]:
    """Refuse to settle while something that was found is on record inside something whole, or in somebody's hands."""
    found = [
        line
        for line in lines
        if (line.counted if line.recounted is None else line.recounted) and not line.booked
    ]
    return [refusal for line in found for refusal in _check(read, line)]


def _check(read: Reading, line: CountLine) -> list[Refusal]:
    if line.container_id is not None:
        itself, *around = chain(read, line.container_id)
        kit = read.find(Kit, place_id=itself.id)
        if kit is not None and kit.state == "issued":
            message = f"{who_has(read, kit)} It was found in this place: take it back there first."
            return [Refusal(Rule.WHOLE_KIT, kit.code, message)]
        return _check_inside(read, itself.code, around)
    stock = stock_of_piece(read, line.piece_id) if line.piece_id is not None else None
    if stock is None:
        return []
    return _check_inside(read, read.get(Piece, line.piece_id or 0).code, chain(read, stock.place_id))


def _check_inside(read: Reading, code: str, around: Sequence[Place]) -> list[Refusal]:
    """The outermost of what is whole around a thing: what has to be said about it before the thing can be moved."""
    by_kind = {place.kind: place for place in around}
    if spot := by_kind.get(PlaceKind.POSITION):
        message = f"{code} is on record at {spot.name}; record a finding there of what sits on it, then settle the count."
        return [Refusal(Rule.REMOVED_PARTS, code, message)]
    kit = by_kind.get(PlaceKind.KIT)
    if kit is not None and kit.closed:
        message = f"{code} is on record in the closed kit {kit.code}; record that the kit was opened, then settle the count."
        return [Refusal(Rule.WHOLE_KIT, code, message)]
    own = by_kind.get(PlaceKind.ROTOR_SET)
    if own is not None and read.find(RotorSet, place_id=own.id, state="complete") is not None:
        message = f"{code} is on record in the rotor set {own.code}; break the set, then settle the count."
        return [Refusal(Rule.WHOLE_SET, code, message)]
    return []
