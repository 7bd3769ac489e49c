"""Which loose blades would match: the best pairing, lot by lot, before anybody accepts it (C3)."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from math import hypot

from kittrack.domain import dates
from kittrack.domain.balance import Blade, g_mm
from kittrack.domain.grouping import match_sets
from kittrack.domain.ledger import PlaceKind
from kittrack.domain.matching import Pairing
from kittrack.domain.measurement import Setup, Weighing, expanded_g_um
from kittrack.domain.text import counted
from kittrack.errors import BadInput, NotFound
from kittrack.store.act import Reading
from kittrack.store.database import Store
from kittrack.store.records import Lot, Part, Piece, ReceiptLine, Site, Tool
from kittrack.store.stock import Located, located
from kittrack.store.weighing_facts import setup_of, weighing_of


@dataclass(frozen=True)
class LotPairing:
    """The proposal for the blades of one lot (of all lots, where the part mixes them) on one scale.

    `uncertainty_g_um` is the expanded uncertainty that every set is given; `pairing` keeps it free of the
    tolerance. Its keys are piece codes in slot order.
    """

    lots: tuple[str, ...]
    scale: str
    tolerance_g_um: int
    uncertainty_g_um: float
    pairing: Pairing
    said: str


@dataclass(frozen=True)
class PairingProposal:
    """What the loose blades of a part would make; `left_out` are loose blades that can't be matched yet, and why."""

    part: str
    sense: str
    lots: tuple[LotPairing, ...]
    left_out: tuple[tuple[str, str], ...]

    @property
    def sets(self) -> int:
        """How many sets would be made."""
        return sum(len(one.pairing.sets) for one in self.lots)


def propose_pairing(store: Store, *, part: str, at: datetime, one_stop: bool = False) -> PairingProposal:
    """The best sets among the serviceable loose blades of a part on bins and benches; those in cages and vans are left out.

    Args:
        store: the store.
        part: its part number.
        at: the instant at which dates are judged.
        one_stop: all blades rested on the scale at one stop of one fixture.

    Raises:
        NotFound: no such part.
        BadInput: its rotors are no matched sets, or it has no tolerance.

    Source: design C3, R19 (the tolerance less the expanded uncertainty is what a match may use).
    """
    with store.reading() as read:
        found = _part(read, part)
        blades, left_out = _loose(read, found, at)
        groups: dict[tuple[int, int], list[Piece]] = {}
        for piece, lot_id in blades:
            groups.setdefault((0 if found.mixes_lots else lot_id, piece.weighed_with_id or 0), []).append(
                piece
            )
        lots = tuple(
            _pair(read, found, group, one_stop=one_stop)
            for _, group in sorted(groups.items(), key=lambda g: g[0])
        )
    return PairingProposal(found.number, found.sense or "", lots, tuple(left_out))


def _part(read: Reading, number: str) -> Part:
    same = read.select(Part, "number = ?", number.strip())
    if len(same) != 1:
        why = f"{len(same)} makers use" if same else "no part has"
        raise NotFound(f"{why} the part number {number.strip()!r}")
    found = same[0]
    if found.kind != "blade" or (found.blades_per_rotor or 0) < 2:
        raise BadInput(
            f"Rotors of {found.number} are no sets of several blades; nothing is to be paired.", field="part"
        )
    if found.tolerance_g_um is None:
        raise BadInput(
            f"{found.number} has no tolerance; a manager enters the maker's figure first.", field="part"
        )
    return found


def _loose(read: Reading, part: Part, at: datetime) -> tuple[list[tuple[Piece, int]], list[tuple[str, str]]]:
    zone = read.select(Site, limit=1)[0].time_zone
    stock = located(
        read,
        "h.piece_id IN (SELECT id FROM piece WHERE part_id = ?) "
        "AND p.kind IN ('bin', 'bench', 'goods-in', 'hold cage', 'removed-parts cage', 'van')",
        part.id,
    )
    pieces = {p.id: p for p in read.select(Piece, "part_id = ?", part.id)}
    lines = {line.id: line for line in read.select(ReceiptLine, "part_id = ?", part.id)}
    ready: list[tuple[Piece, int]] = []
    left_out: list[tuple[str, str]] = []
    for item in stock:
        piece, line = pieces[item.stock.piece_id or 0], lines[item.stock.receipt_line_id]
        why = _why_not(part, piece, line, item, at=at, zone=zone)
        if why:
            left_out.append((piece.code, why))
        else:
            ready.append((piece, line.lot_id))
    return ready, left_out


def _why_not(part: Part, piece: Piece, line: ReceiptLine, item: Located, *, at: datetime, zone: str) -> str:
    today = dates.local_day(at, zone=zone).isoformat()
    is_at_hand = item.chain[0].kind in (PlaceKind.BIN, PlaceKind.BENCH, PlaceKind.GOODS_IN)
    unweighed = piece.mass_ug is None or piece.moment_g_um is None or piece.weighed_with_id is None
    reasons = (
        (bool(item.holds), "on hold"),
        (item.stock.condition != "serviceable", item.stock.condition),
        (piece.sense != part.sense, f"read as {piece.sense or 'no known sense'}"),
        (line.expiry_kind == "unknown", "expiry unknown"),
        (bool(line.expires_on) and today > (line.expires_on or ""), "expired"),
        (unweighed, "not weighed"),
        (not is_at_hand, f"it lies in {item.chain[0].name}: put it in a bin first"),
    )
    return next((why for is_so, why in reasons if is_so), "")


def _pair(read: Reading, part: Part, pieces: Sequence[Piece], *, one_stop: bool) -> LotPairing:
    tool = read.get(Tool, pieces[0].weighed_with_id or 0)
    tolerance, count = part.tolerance_g_um or 0, part.blades_per_rotor or 2
    uncertainty = _worst(pieces, setup_of(tool, one_stop=one_stop), count=count, tolerance=tolerance)
    room = max(0.0, tolerance - uncertainty)
    blades = [Blade(p.code, p.moment_g_um or 0) for p in pieces] if room else []
    pairing = match_sets(blades, blades_per_rotor=count, tolerance_g_um=room)
    lot_ids = {read.get(ReceiptLine, p.receipt_line_id).lot_id for p in pieces}
    said = (
        f"{counted(len(pairing.sets), 'set')} of {len(pieces)} blades, each uncertain by {g_mm(round(uncertainty))} of {g_mm(tolerance)}."
        if room
        else f"No set can be proved: {tool.name} is uncertain by {g_mm(round(uncertainty))} of {g_mm(tolerance)}; weigh on a finer scale or at one stop."
    )
    return LotPairing(
        tuple(read.get(Lot, i).code for i in sorted(lot_ids)),
        tool.name,
        tolerance,
        uncertainty,
        pairing,
        said,
    )


def _worst(pieces: Sequence[Piece], setup: Setup, *, count: int, tolerance: int) -> float:
    """The expanded uncertainty of a set of the heaviest blade at the greatest radius: no set has a larger one."""
    weighings = [weighing_of(p) for p in pieces]
    worst = Weighing(max(w.mass_ug for w in weighings), max(w.radius_um for w in weighings))
    base = expanded_g_um([worst] * count, setup=setup)
    if not setup.one_radius:
        return base
    least = min(w.radius_um for w in weighings)
    scaled = setup.checked_factor() * tolerance * setup.ruler.standard_uncertainty_um() / least
    return hypot(base, scaled)
