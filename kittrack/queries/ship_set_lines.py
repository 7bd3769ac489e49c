"""What one ship set of a type revision takes, line by line, as stock is cut into it. Source: design C10, R4."""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from kittrack.domain.kits import packs_for
from kittrack.domain.ship_set_plan import SetLine
from kittrack.domain.spin import Sense
from kittrack.store.act import Reading
from kittrack.store.kit_list import kit_list
from kittrack.store.records import HubFixing, Part, TypePosition

NO_PART = -1
"""Stands for a part where none is approved, or where the only one is superseded for safety: there is no stock of it."""


@dataclass(frozen=True)
class RevisionLines:
    """The lines of a type revision's ship set, and how many rotor sets of each sense it takes.

    `rotor_lines` has the sense of each line that is one of rotor sets, `volume_lines` the names of those in microlitres.
    """

    revision_id: int
    type_name: str
    revision: str
    lines: tuple[SetLine, ...]
    rotor_lines: Mapping[str, Sense]
    sets_wanted: Mapping[Sense, int]
    volume_lines: frozenset[str]

    @property
    def name(self) -> str:
        """The type revision as kits are built for it."""
        return f"{self.type_name} {self.revision}"


def revision_lines(read: Reading) -> tuple[RevisionLines, ...]:
    """Every type revision that has positions, in order of type and revision."""
    parts = {p.id: p for p in read.select(Part, "superseded_how <> 'safety'")}
    rows = read.rows(
        "SELECT r.id, t.name, r.name FROM type_revision r JOIN airframe_type t ON t.id = r.airframe_type_id "
        "WHERE EXISTS (SELECT 1 FROM type_position p WHERE p.type_revision_id = r.id) ORDER BY t.name, r.name"
    )
    return tuple(_of_revision(read, row[0], row[1], row[2], parts) for row in rows)


def _of_revision(
    read: Reading, revision_id: int, type_name: str, revision: str, parts: Mapping[int, Part]
) -> RevisionLines:
    positions = read.select(TypePosition, "type_revision_id = ?", revision_id, order="rank")
    rotors = list(_rotor_lines(read, positions, parts))
    lines = [line for _, line in rotors]
    lines += _fixing_lines(read, positions, parts)
    lines += _extra_lines(read, revision_id, parts, len(positions))
    return RevisionLines(
        revision_id, type_name, revision, tuple(lines), {line.name: sense for sense, line in rotors},
        {sense: sum(p.sense == sense for p in positions) for sense in Sense},
        frozenset(line.name for line in lines if any(p in parts and parts[p].unit == "volume_ul" for p in line.parts)),
    )  # fmt: skip


def _rotor_lines(
    read: Reading, positions: list[TypePosition], parts: Mapping[int, Part]
) -> Iterator[tuple[Sense, SetLine]]:
    """A line for the positions that accept the same parts: one ship set takes all of it of one part, as a kit does."""
    approved: dict[int, set[int]] = defaultdict(set)
    for position, part in read.rows("SELECT type_position_id, part_id FROM approved_part WHERE active = 1"):
        approved[position].add(part)
    groups: dict[tuple[str, tuple[int, ...]], int] = defaultdict(int)
    for position in positions:
        accepted = sorted(
            i
            for i in approved.get(position.id, ())
            if i in parts and parts[i].sense == position.sense and parts[i].kind == "blade"
        )
        groups[position.sense, tuple(accepted)] += 1
    for (sense, accepted_parts), quantity in sorted(groups.items()):
        names = " or ".join(parts[i].number for i in accepted_parts) or "no approved part"
        line = SetLine(
            f"{sense} rotor sets {names}", accepted_parts or (NO_PART,), quantity, quantity, tops_up=True
        )
        yield Sense(sense), line


def _fixing_lines(
    read: Reading, positions: list[TypePosition], parts: Mapping[int, Part]
) -> Iterator[SetLine]:
    fixings = {f.id: f for f in read.select(HubFixing)}
    wanted: dict[tuple[str, int, int], int] = defaultdict(int)
    locker: dict[int, int] = defaultdict(int)
    hubs: dict[int, int] = defaultdict(int)
    for position in positions:
        fixing = fixings[position.hub_fixing_id]
        if fixing.screws_per_hub:
            wanted["screw", fixing.screw_part_id, fixing.screws_per_hub] += fixing.screws_per_hub
        if fixing.washer_part_id and fixing.washers_per_hub:
            wanted["washer", fixing.washer_part_id, fixing.washers_per_hub] += fixing.washers_per_hub
        if fixing.locker_part_id and fixing.locker_ul_per_screw * fixing.screws_per_hub:
            locker[fixing.locker_part_id] += fixing.locker_ul_per_screw * fixing.screws_per_hub
            hubs[fixing.locker_part_id] += 1
    doubled = {(k, p) for k, p, _ in wanted if sum((k, p) == (a, b) for a, b, _ in wanted) > 1}
    for (kind, part, per_hub), quantity in sorted(wanted.items()):
        more = f", {per_hub} a hub" if (kind, part) in doubled else ""
        yield _counted(parts, part, quantity, pure_in=per_hub, more=more)
    for part, volume in sorted(locker.items()):
        yield _locker_line(parts, part, volume, hubs[part])


def _locker_line(parts: Mapping[int, Part], part_id: int, volume: int, hubs: int) -> SetLine:
    """One bottle goes along, so it is of one lot; single doses are taken whole."""
    part = parts.get(part_id)
    if part is None or not part.single_dose:
        return _counted(parts, part_id, volume, pure_in=volume)
    if part.unit == "pieces":
        return _counted(parts, part_id, hubs, pure_in=1)
    packs = packs_for(volume, pack_quantity=part.pack_quantity).packs
    return _counted(parts, part_id, packs * part.pack_quantity, pure_in=part.pack_quantity)


def _extra_lines(
    read: Reading, revision_id: int, parts: Mapping[int, Part], hubs: int
) -> Iterator[SetLine]:  # fmt: skip
    for line in kit_list(read, revision_id):
        more = f" (kit list, per {line.per})"
        quantity = line.quantity * (hubs if line.per == "hub" else 1)
        yield _counted(parts, line.part_id, quantity, pure_in=1, more=more)


def _counted(
    parts: Mapping[int, Part], part_id: int, quantity: int, *, pure_in: int, more: str = ""
) -> SetLine:
    part = parts.get(part_id)
    name = f"{part.number} ({part.name}{more})" if part else "a part superseded for safety"
    return SetLine(name, (part_id if part else NO_PART,), quantity, pure_in)
