"""What endangers matched sets: orphaned blades and their nearest partners, sets matched again and again, scales, the trend.

Source: design C3, R1, R19.
"""

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Final

from kittrack.domain import dates
from kittrack.domain.ledger import ENDS, PlaceKind
from kittrack.domain.measurement import Setup, Weighing, expanded_g_um
from kittrack.queries.demand_history import MOST_MONTHS, months_back
from kittrack.queries.integrity import Orphan, orphans_of
from kittrack.store.act import Reading
from kittrack.store.database import Store
from kittrack.store.records import MatchRecord, Part, Piece, ReceiptLine, RotorSet, Site, Tool
from kittrack.store.stock import Located, chains, located, within
from kittrack.store.weighing_facts import at_one_stop, setup_of, weighing_of

_IN_STORES = (
    PlaceKind.BIN,
    PlaceKind.GOODS_IN,
    PlaceKind.HOLD_CAGE,
    PlaceKind.BENCH,
    PlaceKind.VAN,
    PlaceKind.REMOVED_CAGE,
)
_CALIBRATED: Final = re.compile(r"calibrated until ([0-9]{4}-[0-9]{2}-[0-9]{2})")
REBALANCED_OFTEN: Final = 2
"""From so many times on a set that is matched again tells of its blades (common practice, no source)."""


@dataclass(frozen=True)
class OrphanPartner:
    """An orphaned blade and the loose blade that comes nearest to it.

    `misses_by_g_um` is by how much their difference is over what the tolerance leaves beside the expanded
    uncertainty of the scale: 0 where they would match, None where that can't be told; `says` tells why, and
    what stands in the way of the two.
    """

    sense: str
    blade: str
    part: str
    serial: str
    where: str
    condition: str
    moment_g_um: int | None
    partner: str
    partner_where: str
    difference_g_um: int | None
    misses_by_g_um: int | None
    says: str


@dataclass(frozen=True)
class Rebalanced:
    """A set whose blades were matched again: how often, and how many proofs it has had."""

    rematches: int
    proofs: int
    sense: str
    rotor_set: str
    part: str
    where: str
    condition: str
    used_minutes: int | None


@dataclass(frozen=True)
class ProofOnScale:
    """A set proved by a measurement, with the scale and what is against it. `doubt` is empty where nothing is."""

    doubt: str
    scale: str
    scale_name: str
    proved_on: date
    calibrated_until: date | None
    sense: str
    rotor_set: str
    part: str
    where: str
    residual_g_um: int | None
    uncertainty_g_um: int | None
    tolerance_g_um: int | None


@dataclass(frozen=True)
class IntegrityMonth:
    """A month of matched sets: made, made of blades that were in sets before, broken, gone whole, and whole at its end.

    A set has gone that was scrapped, sent back, lost, or sold with its airframe.
    """

    month: str
    made: int
    matched_again: int
    broken: int
    gone: int
    whole_at_end: int


# ---- orphans ---------------------------------------------------------------------------------------


def orphan_partners(store: Store) -> tuple[OrphanPartner, ...]:
    """Every orphaned blade with the loose blade that is nearest in moment, by blade code.

    A partner is of the same part and sense, of the same lot unless the part mixes lots, loose in the stores,
    and neither unserviceable nor unsalvageable.
    """
    with store.reading() as read:
        orphans = orphans_of(read)
        loose = _loose_blades(read) if orphans else []
        return tuple(_partner(read, orphan, loose) for orphan in orphans)


@dataclass(frozen=True)
class _Loose:
    piece: Piece
    lot_id: int
    item: Located

    @property
    def where(self) -> str:
        return self.item.chain[-1].name


def _loose_blades(read: Reading) -> list[_Loose]:
    found = located(
        read,
        f"{within(*_IN_STORES)} AND h.piece_id IN (SELECT i.id FROM piece i JOIN part t ON t.id = i.part_id WHERE t.kind = 'blade')",
    )
    lots = {row[0]: row[1] for row in read.rows("SELECT id, lot_id FROM receipt_line")}
    free = [f for f in found if not any(p.kind in (PlaceKind.ROTOR_SET, PlaceKind.KIT) for p in f.chain)]
    return [
        _Loose(read.get(Piece, f.stock.piece_id or 0), lots[f.stock.receipt_line_id], f)
        for f in free
        if f.stock.condition in ("serviceable", "on hold")
    ]


def _partner(read: Reading, orphan: Orphan, loose: Sequence[_Loose]) -> OrphanPartner:
    piece = _piece(read, orphan.code)
    part = read.get(Part, piece.part_id)
    lot = read.get(ReceiptLine, piece.receipt_line_id).lot_id
    others = [
        other
        for other in loose
        if other.piece.id != piece.id
        and other.piece.part_id == part.id
        and other.piece.sense == piece.sense
        and (part.mixes_lots or other.lot_id == lot)
    ]
    near = _nearest(piece, others)
    difference, misses, says = _verdict(read, orphan, piece, part, others, near)
    return OrphanPartner(
        sense=orphan.sense, blade=orphan.code, part=orphan.part, serial=orphan.serial, where=orphan.where,
        condition=orphan.condition, moment_g_um=piece.moment_g_um, partner=near.piece.code if near else "",
        partner_where=near.where if near else "", difference_g_um=difference, misses_by_g_um=misses, says=says,
    )  # fmt: skip


def _piece(read: Reading, code: str) -> Piece:
    found = read.find(Piece, code=code)
    if found is None:
        raise AssertionError("an orphan is a piece of the same reading")
    return found


def _nearest(piece: Piece, others: Sequence[_Loose]) -> _Loose | None:
    """The other blade nearest in moment, or the first one where this or all of them are not weighed."""
    weighed = [o for o in others if o.piece.moment_g_um is not None]
    if piece.moment_g_um is None or not weighed:
        return others[0] if others else None
    own = piece.moment_g_um
    return min(weighed, key=lambda o: (abs((o.piece.moment_g_um or 0) - own), o.piece.code))


def _verdict(
    read: Reading, orphan: Orphan, piece: Piece, part: Part, others: Sequence[_Loose], near: _Loose | None
) -> tuple[int | None, int | None, str]:
    if orphan.condition not in ("serviceable", "on hold"):
        return None, None, f"it is {orphan.condition}: scrap it, it takes no partner"
    if near is None:
        same = "" if part.mixes_lots else " of its lot"
        return None, None, f"no other loose blade{same} is in the stores"
    if piece.moment_g_um is None or near.piece.moment_g_um is None:
        which = piece if piece.moment_g_um is None else near.piece
        return None, None, f"{which.code} is not weighed; weigh it, {len(others)} could be its partner"
    difference = abs(near.piece.moment_g_um - piece.moment_g_um)
    rooms = _rooms(read, part, piece, near.piece)
    if rooms is None:
        return difference, None, "the tolerance is not known, or the two were weighed on different scales"
    held = ", ".join(h.hold_code for h in near.item.holds)
    wait = f"; {near.piece.code} is held by {held}" if held else ""
    misses = max(0, difference - max(rooms))
    if misses:
        return difference, misses, f"too far apart{wait}"
    each = f" as two of {part.blades_per_rotor}" if (part.blades_per_rotor or 2) > 2 else ""
    where = " where both rested at one stop of the scale" if difference > rooms[0] else ""
    return (
        difference,
        0,
        f"they would match{each}{where}; inspect both, put them in a bin, then match them{wait}",
    )


def _rooms(read: Reading, part: Part, piece: Piece, other: Piece) -> tuple[int, int] | None:
    """What the tolerance leaves for the difference of two blades beside the expanded uncertainty, in whole g um.

    Returns:
        The room of any two weighings, and that of two at one stop of the scale; None where neither can be told.
    """
    if (
        part.tolerance_g_um is None
        or piece.weighed_with_id is None
        or piece.weighed_with_id != other.weighed_with_id
    ):
        return None
    tool = read.get(Tool, piece.weighed_with_id)
    both = [weighing_of(piece), weighing_of(other)]
    apart = _room(part.tolerance_g_um, both, setup_of(tool, one_stop=False))
    one, same = at_one_stop(both)
    if one.radius_um != same.radius_um:
        return apart, apart
    return apart, _room(part.tolerance_g_um, (one, same), setup_of(tool, one_stop=True))


def _room(tolerance_g_um: int, weighings: Sequence[Weighing], setup: Setup) -> int:
    return int(max(0.0, tolerance_g_um - expanded_g_um(weighings, setup=setup)))


# ---- sets ------------------------------------------------------------------------------------------


def rebalanced_sets(store: Store, *, at_least: int = REBALANCED_OFTEN) -> tuple[Rebalanced, ...]:
    """The sets in the fleet whose blades were matched again so often, or that were proved so often, the worst first.

    Args:
        store: the store.
        at_least: from how many times on.
    """
    with store.reading() as read:
        proofs = dict(read.rows("SELECT rotor_set_id, count(*) FROM match_record GROUP BY rotor_set_id"))
        sets, around = _alive(read)
        parts = {p.id: p for p in read.select(Part)}
    found = [
        Rebalanced(
            one.rematches, int(proofs.get(one.id, 0)), one.sense, one.code, parts[one.part_id].number,
            around[one.id], one.condition, one.used_minutes,
        )
        for one in sets
        if one.rematches >= at_least or proofs.get(one.id, 0) > at_least
    ]  # fmt: skip
    return tuple(sorted(found, key=lambda r: (-r.rematches, -r.proofs, r.rotor_set)))


def _alive(read: Reading) -> tuple[list[RotorSet], Mapping[int, str]]:
    """The complete sets that have not left the fleet, and where each is."""
    sets = read.select(RotorSet, "state = 'complete'", order="code")
    around = chains(read, (s.place_id for s in sets))
    alive = [s for s in sets if around[s.place_id][-1].kind not in ENDS]
    return alive, {s.id: " in ".join(p.name for p in around[s.place_id][1:]) for s in alive}


def proofs_by_scale(
    store: Store, *, scale: str = "", only_doubtful: bool = False
) -> tuple[ProofOnScale, ...]:
    """The sets in the fleet by the scale that proved them, those in doubt first.

    In doubt is a set whose scale was out of calibration on that day, or is under a hold now.

    Args:
        store: the store.
        scale: the name or code of one scale.
        only_doubtful: leave out those that nothing is against.
    """  # fmt: skip
    with store.reading() as read:
        zone = read.select(Site, limit=1)[0].time_zone
        sets, around = _alive(read)
        records = {m.id: m for m in read.select(MatchRecord, "tool_id IS NOT NULL")}
        proved = {
            r[0]: dates.local_day(dates.read_instant(r[1]), zone=zone)
            for r in read.rows(
                "SELECT m.id, e.at FROM match_record m JOIN event e ON e.id = m.event_id WHERE m.tool_id IS NOT NULL"
            )
        }
        tools, parts = {t.id: t for t in read.select(Tool)}, {p.id: p for p in read.select(Part)}
        holds = read.rows(
            "SELECT i.rotor_set_id, h.code, h.reason FROM hold_item i JOIN hold h ON h.id = i.hold_id "
            "WHERE h.scope = 'scale' AND i.released_event_id IS NULL AND i.rotor_set_id IS NOT NULL ORDER BY h.id"
        )
    lines = []
    for one in sets:
        record = records.get(one.match_record_id or 0)
        if record is None or record.tool_id is None:
            continue
        tool = tools[record.tool_id]
        if scale and scale.strip() not in (tool.name, tool.code):
            continue
        held = [f"{code}: {why}" for set_id, code, why in holds if set_id == one.id]
        line = _proof_line(
            one, record, tool, parts[one.part_id].number, around[one.id], proved[record.id], held
        )
        if line.doubt or not only_doubtful:
            lines.append(line)
    return tuple(
        sorted(lines, key=lambda p: (not p.doubt, p.scale_name, p.rotor_set))
    )  # fmt: skip


def _proof_line(
    one: RotorSet, record: MatchRecord, tool: Tool, part: str, where: str, proved_on: date, held: list[str]
) -> ProofOnScale:
    told = _CALIBRATED.search(record.source)
    until = date.fromisoformat(told[1]) if told else None
    doubts = []
    if until is None:
        doubts.append("no calibration on record then")
    elif proved_on > until:
        doubts.append("out of calibration then")
    doubts += [f"the scale is held by {h}" for h in held]
    return ProofOnScale(
        doubt="; ".join(doubts), scale=tool.code, scale_name=tool.name, proved_on=proved_on, calibrated_until=until,
        sense=one.sense, rotor_set=one.code, part=part, where=where, residual_g_um=record.residual_g_um,
        uncertainty_g_um=record.uncertainty_g_um, tolerance_g_um=record.tolerance_g_um,
    )  # fmt: skip


# ---- trend -----------------------------------------------------------------------------------------


def integrity_trend(store: Store, *, at: datetime, months: int = 12) -> tuple[IntegrityMonth, ...]:
    """Sets made, matched again, broken, and whole at the end, for each of the last months, the running one included.

    Args:
        store: the store.
        at: the instant of asking.
        months: how many months back, at most ten years. A month is that of the event in UTC.
    """
    with store.reading() as read:
        zone = read.select(Site, limit=1)[0].time_zone
        made = read.rows(
            "SELECT substr(e.at, 1, 7), count(*), sum(CASE WHEN s.rematches > 0 THEN 1 ELSE 0 END) FROM rotor_set s "
            "JOIN event e ON e.id = s.event_id GROUP BY 1"
        )
        broken = read.rows(
            "SELECT substr(b.at, 1, 7), count(*) FROM (SELECT s.id AS id, min(e.at) AS at FROM rotor_set s "
            "JOIN match_reading r ON r.match_record_id = s.match_record_id JOIN movement m ON m.to_piece_id = r.piece_id "
            "AND m.from_place_id = s.place_id JOIN event e ON e.id = m.event_id WHERE s.state = 'broken' GROUP BY s.id) b GROUP BY 1"
        )
        left = _left_by_month(read)
    wanted = months_back(dates.local_day(at, zone=zone).isoformat()[:7], min(MOST_MONTHS, max(1, months)))
    new = {month: (int(count), int(again)) for month, count, again in made}
    apart = {month: int(count) for month, count in broken}
    found = []
    for month in wanted:
        whole = sum(n for m, (n, _) in new.items() if m <= month)
        whole -= sum(n for of in (apart, left) for m, n in of.items() if m <= month)
        count, again = new.get(month, (0, 0))
        found.append(IntegrityMonth(month, count, again, apart.get(month, 0), left.get(month, 0), whole))
    return tuple(found)


def _left_by_month(read: Reading) -> dict[str, int]:
    """How many whole sets left the fleet in each month, and are not back: by the last move of what they left in."""
    around = chains(read, (one.place_id for one in read.select(RotorSet, "state = 'complete'")))
    outermost = Counter(chain[-2].id for chain in around.values() if chain[-1].kind in ENDS)
    found: Counter[str] = Counter()
    for container, month in read.rows(
        "SELECT m.container_id, max(substr(e.at, 1, 7)) FROM movement m JOIN event e ON e.id = m.event_id "
        "WHERE m.container_id IS NOT NULL GROUP BY m.container_id"
    ):
        if container in outermost:
            found[month] += outermost[container]
    return found
