"""Which positions a kit or a job covers, and what each of them demands.

Source: design R4 (positions: all, one arm, a named group, a list), R17 (an airframe's own map decides).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from kittrack.domain.kits import VOLUME, Covered, Extra, Fixing, Locker
from kittrack.domain.rules import Rule, require
from kittrack.domain.spin import Sense
from kittrack.errors import BadInput, NotFound, Refusal
from kittrack.store.act import Reading
from kittrack.store.job_facts import senses_of
from kittrack.store.kit_facts import marks
from kittrack.store.kit_list import kit_list
from kittrack.store.records import (
    Airframe,
    ApprovedPart,
    HubFixing,
    Part,
    Position,
    PositionGroup,
    TypePosition,
    TypeRevision,
)


@dataclass(frozen=True)
class Coverage:
    """A choice of positions: all, the positions of one arm, a named group, or a list by name.

    `how` is "all", "arm", "group" or "named"; `names` has the arm, the group, or the positions' names or
    aliases as the type revision writes them.
    """

    how: str = "all"
    names: tuple[str, ...] = ()

    @property
    def in_words(self) -> str:
        """The choice as a sentence says it."""
        if self.how == "all":
            return "all positions"
        prefix = "" if self.how == "named" else f"{self.how} "
        return f"{prefix}{', '.join(self.names)}"


ALL = Coverage()


@dataclass(frozen=True)
class Chosen:
    """A chosen position of a type revision and the sense that it has to turn in."""

    position: TypePosition
    sense: Sense


def find_revision(read: Reading, text: str) -> TypeRevision:
    """The type revision that "TYPE REVISION" names, such as "QA A".

    Raises:
        NotFound: there is none; the sentence names those there are.
    """
    rows = read.rows(
        "SELECT t.name, r.name, r.id FROM type_revision r JOIN airframe_type t ON t.id = r.airframe_type_id ORDER BY t.name, r.id"
    )
    known = {f"{kind} {name}": row_id for kind, name, row_id in rows}
    if text.strip() not in known:
        there = ", ".join(known) or "none yet"
        raise NotFound(f"no type revision is known as {text.strip()!r}; write one of: {there}")
    return read.get(TypeRevision, known[text.strip()])


def choose(
    read: Reading, revision: TypeRevision, coverage: Coverage, *, airframe: Airframe | None = None
) -> tuple[Chosen, ...]:
    """The positions that a choice names, each with its sense, in the type revision's order.

    For an airframe the senses are those of its current map and only its positions in use count; for the
    shelf they are the type revision's.

    Raises:
        BadInput: a name that the type revision does not have, or a choice of nothing.
        Refused: the airframe has no sense for one of the positions (R17).
    """
    every = read.select(TypePosition, "type_revision_id = ?", revision.id, order="rank, id")
    picked = _named(read, revision, coverage, every)
    if airframe is None:
        return tuple(Chosen(p, Sense(p.sense)) for p in picked)
    senses = senses_of(read, airframe)
    mapless = [
        Refusal(
            Rule.SENSE_MAP,
            airframe.tail,
            f"{airframe.tail} has no sense for {p.name} in its map; enter it and verify it by motor test.",
        )
        for p in picked
        if p.id not in senses
    ]
    require(mapless)
    return tuple(Chosen(p, Sense(senses[p.id])) for p in picked)


def _named(
    read: Reading, revision: TypeRevision, coverage: Coverage, every: Sequence[TypePosition]
) -> list[TypePosition]:
    if coverage.how == "all":
        picked, missing = list(every), []
    elif coverage.how == "arm":
        picked = [p for p in every if p.arm in coverage.names]
        missing = sorted(set(coverage.names) - {p.arm for p in every})
    elif coverage.how == "group":
        groups = read.select(PositionGroup, "type_revision_id = ?", revision.id)
        members = {g.type_position_id for g in groups if g.name in coverage.names}
        picked = [p for p in every if p.id in members]
        missing = sorted(set(coverage.names) - {g.name for g in groups})
    elif coverage.how == "named":
        picked = [p for p in every if {p.name, p.alias} & set(coverage.names)]
        missing = sorted(set(coverage.names) - {n for p in every for n in (p.name, p.alias)})
    else:
        raise BadInput(
            f"{coverage.how!r} is no choice of positions; one of: all, arm, group, named", field="positions"
        )
    if missing or not picked:
        what = f"{coverage.how} {', '.join(missing) or 'without a name'}"
        there = ", ".join(p.name for p in every)
        raise BadInput(
            f"the type revision has no {what}; its positions are: {there or 'none'}", field="positions"
        )
    return picked


# ---- demand ------------------------------------------------------------------------------------


def covered(
    read: Reading, chosen: Sequence[Chosen], *, issuable: Mapping[int, int]
) -> tuple[tuple[Covered, ...], list[Refusal]]:
    """What each chosen position demands, and a refusal for each that has no approved rotor part.

    Args:
        read: the transaction.
        chosen: the positions.
        issuable: the issuable sets by rotor part, which decide between several approved parts.
    """
    ids = [c.position.id for c in chosen]
    approved = _approved(read, ids)
    fixings = {i: _fixing(read, i) for i in sorted({c.position.hub_fixing_id for c in chosen})}
    options = {
        c.position.id: tuple(p.id for p in approved.get(c.position.id, ()) if p.sense == c.sense)
        for c in chosen
    }
    wanted: dict[tuple[int, ...], int] = {}
    for parts in options.values():
        wanted[parts] = wanted.get(parts, 0) + 1
    by_id = {p.id: p for parts in approved.values() for p in parts}
    found, refusals = [], []
    for c in chosen:
        parts = options[c.position.id]
        if not parts:
            refusals.append(_unapproved(c))
            continue
        part_id = _best_part([by_id[i] for i in parts], needed=wanted[parts], issuable=issuable)
        found.append(
            Covered(c.position.id, c.position.name, c.sense, part_id, fixings[c.position.hub_fixing_id])
        )
    return tuple(found), refusals


def _unapproved(chosen: Chosen) -> Refusal:
    message = (
        f"No {chosen.sense} rotor part is approved for the position {chosen.position.name}; "
        "a manager approves one in the catalogue."
    )
    return Refusal(Rule.FIT_FOR_ISSUE, chosen.position.name, message)


def _best_part(parts: Sequence[Part], *, needed: int, issuable: Mapping[int, int]) -> int:
    """One part for all positions that accept the same ones: what is to be used up first, where it suffices.

    Where none suffices, the first part that is not superseded, so that the shortage names what to order.
    """
    ordered = sorted(parts, key=lambda p: (p.superseded_how != "use up", p.id))
    enough = [p.id for p in ordered if issuable.get(p.id, 0) >= needed]
    current = [p.id for p in parts if not p.superseded_how]
    return (enough or current or [ordered[0].id])[0]


def _approved(read: Reading, position_ids: Sequence[int]) -> dict[int, list[Part]]:
    rows = read.select(
        ApprovedPart, f"active = 1 AND type_position_id IN ({marks(position_ids)})", *position_ids
    )
    parts = {i: read.get(Part, i) for i in sorted({r.part_id for r in rows})}
    found: dict[int, list[Part]] = {}
    for row in rows:
        if parts[row.part_id].superseded_how != "safety":
            found.setdefault(row.type_position_id, []).append(parts[row.part_id])
    return found


def rotor_parts(read: Reading, chosen: Sequence[Chosen]) -> list[int]:
    """The ids of every rotor part that is approved at one of the positions in its sense."""
    approved = _approved(read, [c.position.id for c in chosen])
    return sorted({p.id for c in chosen for p in approved.get(c.position.id, ()) if p.sense == c.sense})


def _fixing(read: Reading, fixing_id: int) -> Fixing:
    row = read.get(HubFixing, fixing_id)
    locker = None
    if row.locker_part_id is not None:
        part = read.get(Part, row.locker_part_id)
        pack_ul = part.pack_quantity if part.unit == VOLUME else None
        locker = Locker(part.id, row.locker_ul_per_screw, single_dose=bool(part.single_dose), pack_ul=pack_ul)
    return Fixing(row.screw_part_id, row.screws_per_hub, row.washer_part_id, row.washers_per_hub, locker)


def extras(read: Reading, revision: TypeRevision) -> tuple[Extra, ...]:
    """The kit list of a type revision."""
    return tuple(
        Extra(line.part_id, line.quantity, read.get(Part, line.part_id).unit, per_hub=line.per == "hub")
        for line in kit_list(read, revision.id)
    )


def hub_of(read: Reading, position_id: int) -> Fixing:
    """The fixing of a type's position."""
    return _fixing(read, read.get(TypePosition, position_id).hub_fixing_id)


def positions_of(read: Reading, airframe: Airframe, chosen: Sequence[Chosen]) -> tuple[Position, ...]:
    """The airframe's own positions in use for chosen ones of its type."""
    ids = [c.position.id for c in chosen]
    rows = read.select(
        Position, f"airframe_id = ? AND active = 1 AND type_position_id IN ({marks(ids)})", airframe.id, *ids
    )
    return tuple(rows)
