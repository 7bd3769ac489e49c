"""What making a rotor set takes whichever way its match is proved: the right blades, its hub, its place.

Source: design R1 (whole set), R2 (one part, one sense, one lot), R6, section 2 (containers are places).
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from kittrack.domain import codes
from kittrack.domain.ledger import Condition, PlaceKind
from kittrack.domain.rules import Rule
from kittrack.domain.text import check_text
from kittrack.errors import BadInput, Refusal
from kittrack.services import accepting, booking, desk
from kittrack.store.act import Act, Reading, Slot
from kittrack.store.records import Lot, MatchReading, MatchRecord, Part, Piece, Place, RotorSet
from kittrack.store.stock import chain, directly_in, place_named, slot_of_piece

MADE_AT = (PlaceKind.BENCH, PlaceKind.BIN)


@dataclass(frozen=True)
class Gathered:
    """The blades of a set to be, in slot order, its hub where one belongs to it, and the place it is made at."""

    part: Part
    blades: tuple[Piece, ...]
    hub: Piece | None
    place: Place
    lots: tuple[Lot, ...]

    @property
    def subject(self) -> str:
        """How a refusal names the set that is not made."""
        return " + ".join(b.code for b in self.blades)


@dataclass(frozen=True)
class Proof:
    """What a match record keeps: method, source, and for a measured match the figures in g·µm."""

    method: str
    source: str
    tool_id: int | None = None
    tolerance_g_um: int | None = None
    tolerance_source: str = ""
    residual_g_um: int | None = None
    uncertainty_g_um: int | None = None
    tape: str = ""


def gather(act: Act, blades: Sequence[str], *, hub: str, at_place: str, tape: str) -> Gathered:
    """Find blades, hub and place of a set to be.

    Raises:
        BadInput: no blade, a blade twice, a tape text that can't be kept, or no place to make it at.
        NotFound: a code or a place that the store does not hold.
    """
    booking.raise_any(check_text(tape, field="tape") if tape else ())
    pieces = tuple(desk.find_piece(act, text) for text in blades)
    if not pieces:
        raise BadInput(
            "No blade was scanned; scan each blade of the set in its order around the hub.", field="blades"
        )
    twice = [p.code for p in pieces if pieces.count(p) > 1]
    if twice:
        raise BadInput(f"Blade {twice[0]} stands twice; scan each blade once.", field="blades")
    lot_ids = dict.fromkeys(
        act.value("SELECT lot_id FROM receipt_line WHERE id = ?", p.receipt_line_id) for p in pieces
    )
    return Gathered(
        part=act.get(Part, pieces[0].part_id),
        blades=pieces,
        hub=desk.find_piece(act, hub) if hub else None,
        place=_place(act, pieces, at_place),
        lots=tuple(act.get(Lot, i) for i in lot_ids),
    )


def check_gathered(act: Act, gathered: Gathered) -> list[Refusal]:
    """Every reason why these pieces are no rotor set, but for the proof of their match (R1, R2, R6, R13)."""
    members = [*gathered.blades, *([gathered.hub] if gathered.hub else [])]
    stock = [slot_of_piece(act, p.id) for p in members]
    loose = [r for p in members for r in accepting.check_loose(act, p)]
    return [
        *_check_whole(gathered),
        *_check_hub(act, gathered),
        *_check_one_sense(gathered),
        *loose,
        *desk.check_fit(act, stock),
    ]


def write_set(act: Act, gathered: Gathered, proof: Proof, *, moments: bool) -> RotorSet:
    """Make a set of gathered pieces with its place and its match record, and close it.

    Args:
        act: the act.
        gathered: checked blades and hub.
        proof: why they match.
        moments: whether the blades' static moments are part of the proof.
    """
    code = act.new_code(RotorSet, codes.Kind.ROTOR_SET)
    place = act.insert(Place(code=code, kind=PlaceKind.ROTOR_SET.value, name=code))
    act.move_container(place.id, from_place_id=None, to_place_id=gathered.place.id)
    for piece in (*gathered.blades, *([gathered.hub] if gathered.hub else [])):
        stock = slot_of_piece(act, piece.id)
        target = Slot(place.id, Condition.SERVICEABLE.value, piece.id)
        act.move_stock(stock.receipt_line_id, stock.quantity, from_slot=stock.slot, to_slot=target)
    rotor_set = act.insert(_with_life_before(act, gathered, RotorSet(
        code=code, place_id=place.id, part_id=gathered.part.id, sense=str(gathered.part.sense), event_id=act.event_id
    )))  # fmt: skip
    act.update(place, closed=1)
    return write_proof(act, rotor_set, gathered.blades, proof, moments=moments)


def write_proof(
    act: Act, rotor_set: RotorSet, blades: Sequence[Piece], proof: Proof, *, moments: bool
) -> RotorSet:
    """Write a match record with its readings, and make it the set's own."""
    record = act.insert(
        MatchRecord(
            rotor_set_id=rotor_set.id,
            method=proof.method,
            source=proof.source,
            tool_id=proof.tool_id,
            tolerance_g_um=proof.tolerance_g_um,
            tolerance_source=proof.tolerance_source,
            residual_g_um=proof.residual_g_um,
            uncertainty_g_um=proof.uncertainty_g_um,
            tape=proof.tape,
            event_id=act.event_id,
        )
    )
    for slot, blade in enumerate(blades):
        moment = blade.moment_g_um if moments else None
        act.insert(MatchReading(match_record_id=record.id, piece_id=blade.id, slot=slot, moment_g_um=moment))
    return act.update(rotor_set, match_record_id=record.id)


def sets_before(read: Reading, pieces: Sequence[Piece]) -> list[RotorSet]:
    """The set that each piece came out of last, for those that were in one."""
    found = []
    for piece in pieces:
        set_id = read.value(
            "SELECT s.id FROM movement m JOIN rotor_set s ON s.place_id = m.from_place_id "
            "WHERE m.to_piece_id = ? AND m.from_piece_id = ? ORDER BY m.id DESC LIMIT 1",
            piece.id,
            piece.id,
        )
        if set_id is not None:
            found.append(read.get(RotorSet, set_id))
    return found


def blades_of(read: Reading, rotor_set: RotorSet) -> list[Piece]:
    """The blades inside a set, its hub left out, by the slots of its last match record, else by code."""
    inside = [read.get(Piece, s.piece_id) for s in directly_in(read, rotor_set.place_id) if s.piece_id]
    order = dict(
        read.rows(
            "SELECT piece_id, slot FROM match_reading WHERE match_record_id = ?",
            rotor_set.match_record_id or 0,
        )
    )
    own = [p for p in inside if p.part_id == rotor_set.part_id]
    return sorted(own, key=lambda p: (order.get(p.id, 0), p.code))


# ---- checks ------------------------------------------------------------------------------------


def _check_whole(gathered: Gathered) -> list[Refusal]:
    part, count = gathered.part, len(gathered.blades)
    if part.kind != "blade" or not part.blades_per_rotor:
        message = f"{part.number} is no blade of which rotor sets are made; scan blades."
        return [Refusal(Rule.WHOLE_SET, part.number, message)]
    if count != part.blades_per_rotor:
        message = f"A rotor of {part.number} has {part.blades_per_rotor} blades, not {count}; scan all of them and no other."
        return [Refusal(Rule.WHOLE_SET, gathered.subject, message)]
    return []


def _check_hub(act: Act, gathered: Gathered) -> list[Refusal]:
    part, hub = gathered.part, gathered.hub
    if not part.hub_in_set:
        if hub is None:
            return []
        message = f"The hub of {part.number} stays on its arm and is not in the set; leave {hub.code} out."
        return [Refusal(Rule.WHOLE_SET, hub.code, message)]
    if hub is not None and hub.part_id == part.hub_part_id:
        return []
    wanted = act.get(Part, part.hub_part_id).number if part.hub_part_id else "its hub"
    message = f"The hub belongs to a set of {part.number}; scan one of {wanted} with the blades."
    return [Refusal(Rule.WHOLE_SET, gathered.subject, message)]


def _check_one_sense(gathered: Gathered) -> list[Refusal]:
    part, found = gathered.part, []
    strange = [b.code for b in gathered.blades if b.part_id != part.id]
    wrong = [b.code for b in gathered.blades if b.part_id == part.id and b.sense != part.sense]
    if strange:
        found.append(
            f"{', '.join(strange)} is not of part {part.number}; a set has one part number: take another blade."
        )
    if wrong:
        found.append(f"{', '.join(wrong)} was not read as {part.sense}; have its mark inspected again.")
    if len(gathered.lots) > 1 and not part.mixes_lots:
        lots = ", ".join(lot.code for lot in gathered.lots)
        found.append(
            f"The blades are of several lots ({lots}) and {part.number} does not mix lots; take blades of one lot."
        )
    return [Refusal(Rule.ONE_SENSE, gathered.subject, message) for message in found]


def _place(act: Act, pieces: Sequence[Piece], at_place: str) -> Place:
    if at_place:
        return place_named(act, at_place, kinds=MADE_AT)
    where = {chain(act, slot_of_piece(act, p.id).place_id)[0] for p in pieces}
    if len(where) == 1 and (only := where.pop()).kind in MADE_AT:
        return only
    bench = act.select(Place, "kind = 'bench' AND active = 1", limit=2)
    if len(bench) == 1:
        return bench[0]
    raise BadInput("It is not said where the set is made; name the bench or the bin.", field="place")


def _with_life_before(act: Act, gathered: Gathered, fresh: RotorSet) -> RotorSet:
    """A set of blades that were in sets before has the service of the one that served longest."""
    before = sets_before(act, gathered.blades)
    if not before:
        return fresh
    since = [s.used_since_on for s in before if s.used_since_on]
    return replace(
        fresh,
        used_minutes=_most([s.used_minutes for s in before]),
        used_flights=_most([s.used_flights for s in before]),
        used_since_on=min(since, default=None),
        history_known=min(s.history_known for s in before),
        rematches=max(s.rematches for s in before) + 1,
    )


def _most(used: Sequence[int | None]) -> int | None:
    known = [u for u in used if u is not None]
    return max(known) if len(known) == len(used) else None
