"""Matched-set integrity: every set with its proof, every breach by kind, every orphaned blade."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from kittrack.domain.ledger import ENDS, PlaceKind
from kittrack.store.act import Reading
from kittrack.store.database import Store
from kittrack.store.records import MatchRecord, Part, Piece, Place, RotorSet
from kittrack.store.stock import chains


@dataclass(frozen=True)
class SetState:
    """One rotor set. `breaches` is empty for one that holds together and is proved.

    `residual_g_um`, `uncertainty_g_um` and `tolerance_g_um` are those of its match record, where measured.
    """

    sense: str
    code: str
    part: str
    state: str
    condition: str
    where: str
    blades: tuple[str, ...]
    proof: str
    residual_g_um: int | None
    uncertainty_g_um: int | None
    tolerance_g_um: int | None
    breaches: tuple[str, ...]


@dataclass(frozen=True)
class Orphan:
    """A blade whose set was broken, that is still in the stores."""

    code: str
    sense: str
    part: str
    serial: str
    set_it_was_in: str
    where: str
    condition: str


@dataclass(frozen=True)
class Integrity:
    """Every set that was not broken and is still in the fleet, every broken set, every orphan; counts by breach."""

    sets: tuple[SetState, ...]
    broken: tuple[str, ...]
    orphans: tuple[Orphan, ...]

    @property
    def sound(self) -> int:
        """How many sets hold together and are proved."""
        return sum(not s.breaches for s in self.sets)

    @property
    def by_breach(self) -> tuple[tuple[str, int], ...]:
        """How many sets each kind of breach touches, in alphabetical order."""
        kinds = sorted({b for s in self.sets for b in s.breaches})
        return tuple((kind, len(self.with_breach(kind))) for kind in kinds)

    def with_breach(self, kind: str) -> tuple[SetState, ...]:
        """The sets that a kind of breach touches, by code."""
        return tuple(s for s in self.sets if kind in s.breaches)


def set_integrity(store: Store) -> Integrity:
    """Every rotor set that has not left the fleet against R1, R2 and R19, ordered by code."""
    with store.reading() as read:
        alive = read.select(RotorSet, "state = 'complete'")
        around = chains(read, (s.place_id for s in alive))
        alive = [s for s in alive if around[s.place_id][-1].kind not in ENDS]
        broken = [
            row[0] for row in read.rows("SELECT code FROM rotor_set WHERE state = 'broken' ORDER BY code")
        ]
        states = _states(read, alive, around)
        orphans = orphans_of(read)
    return Integrity(tuple(sorted(states, key=lambda s: s.code)), tuple(broken), orphans)


def _states(
    read: Reading, sets: Sequence[RotorSet], around: Mapping[int, Sequence[Place]]
) -> Iterator[SetState]:
    parts = {p.id: p for p in read.select(Part)}
    records = {m.id: m for m in read.select(MatchRecord)}
    members = _members(read)
    proved: dict[int, set[int]] = {}
    for record, piece in read.rows("SELECT match_record_id, piece_id FROM match_reading"):
        proved.setdefault(record, set()).add(piece)
    for one in sets:
        part, record = parts[one.part_id], records.get(one.match_record_id or 0)
        pieces = members.get(one.place_id, [])
        blades = [
            piece for piece, _ in pieces if piece.part_id == part.id or parts[piece.part_id].kind == "blade"
        ]
        lots = {lot for piece, lot in pieces if piece in blades}
        found = [
            *_breaches_of_blades(one, part, blades, lots),
            *_breaches_of_proof(one, record, blades, proved),
        ]
        yield SetState(
            sense=one.sense, code=one.code, part=part.number, state=one.state, condition=one.condition,
            where=" in ".join(p.name for p in around[one.place_id][1:]), blades=tuple(p.code for p in blades),
            proof=f"{record.method}: {record.source}" if record else "none",
            residual_g_um=record.residual_g_um if record else None,
            uncertainty_g_um=record.uncertainty_g_um if record else None,
            tolerance_g_um=record.tolerance_g_um if record else None, breaches=tuple(found),
        )  # fmt: skip


def _members(read: Reading) -> dict[int, list[tuple[Piece, int]]]:
    """The pieces in each set's place, with the lot of each."""
    rows = read.rows(
        "SELECT h.place_id, h.piece_id, r.lot_id FROM holding h JOIN place p ON p.id = h.place_id "
        "JOIN receipt_line r ON r.id = h.receipt_line_id WHERE p.kind = 'rotor set' AND h.piece_id IS NOT NULL "
        "ORDER BY h.place_id, h.piece_id"
    )
    pieces = {p.id: p for p in read.select(Piece)}
    found: dict[int, list[tuple[Piece, int]]] = {}
    for place, piece, lot in rows:
        found.setdefault(place, []).append((pieces[piece], lot))
    return found


def _breaches_of_blades(one: RotorSet, part: Part, blades: Sequence[Piece], lots: set[int]) -> Iterator[str]:
    if len(blades) != (part.blades_per_rotor or 0):
        yield "not whole"
    if {b.part_id for b in blades} - {one.part_id}:
        yield "mixed parts"
    if {b.sense for b in blades} - {one.sense}:
        yield "mixed senses"
    if len(lots) > 1 and not part.mixes_lots:
        yield "mixed lots"


def _breaches_of_proof(
    one: RotorSet, record: MatchRecord | None, blades: Sequence[Piece], proved: Mapping[int, set[int]]
) -> Iterator[str]:
    if record is None:
        yield "history unknown, not proved" if not one.history_known else "not proved"
        return
    if proved.get(record.id, set()) != {b.id for b in blades}:
        yield "proof is of other blades"
    if record.method == "measured":
        residual, uncertainty, tolerance = (
            record.residual_g_um,
            record.uncertainty_g_um,
            record.tolerance_g_um,
        )
        if residual is None or uncertainty is None or tolerance is None or residual + uncertainty > tolerance:
            yield "outside tolerance"


def orphans_of(read: Reading) -> tuple[Orphan, ...]:
    """Blades that came out of a set and lie in the stores, in no other set; they went into that set before."""
    rows = read.rows(
        "SELECT p.id, h.place_id, h.condition, (SELECT s.code FROM movement m JOIN rotor_set s ON s.place_id = m.to_place_id "
        "WHERE m.to_piece_id = p.id ORDER BY m.id DESC LIMIT 1) FROM piece p JOIN part t ON t.id = p.part_id "
        "JOIN holding h ON h.piece_id = p.id JOIN place w ON w.id = h.place_id "
        "WHERE t.kind = 'blade' AND w.kind IN ('bin', 'goods-in', 'hold cage', 'bench', 'van', 'removed-parts cage') "
        "AND EXISTS (SELECT 1 FROM movement m JOIN rotor_set s ON s.place_id = m.to_place_id WHERE m.to_piece_id = p.id) "
        "ORDER BY p.code"
    )
    around = chains(read, (row[1] for row in rows))
    found = []
    for piece_id, place, condition, was_in in rows:
        piece = read.get(Piece, piece_id)
        part = read.get(Part, piece.part_id)
        name = next(p.name for p in around[place] if p.kind != PlaceKind.ROTOR_SET)
        found.append(
            Orphan(
                piece.code, piece.sense or "", part.number, piece.serial or "", was_in or "", name, condition
            )
        )
    return tuple(found)
