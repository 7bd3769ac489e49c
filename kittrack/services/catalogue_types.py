"""Airframe types and their revisions: positions, approved rotor parts, groups and kit list, checked and written.

Source: design R4, R7, R17 (the map decides, the layout check warns), C7.
"""

from collections import Counter
from collections.abc import Iterable, Sequence

from kittrack.domain.layout import LayoutPosition, check_layout
from kittrack.domain.spin import Drive, Level, Sense
from kittrack.domain.text import check_text
from kittrack.errors import BadInput, NotFound, Problem
from kittrack.services.catalogue_faults import choice, collecting, fault, raise_any, texts, whose
from kittrack.services.catalogue_fixings import check_fixing, write_fixing
from kittrack.services.catalogue_parts import UNITS, part_named
from kittrack.services.catalogue_specs import ExtraSpec, GroupSpec, PositionSpec, TypeRevisionSpec
from kittrack.store.act import Act, Reading
from kittrack.store.records import (
    SENSES,
    AirframeType,
    ApprovedPart,
    HubFixing,
    KitListLine,
    Part,
    PositionGroup,
    TypePosition,
    TypeRevision,
)

LEVELS = tuple(level.value for level in Level)
DRIVES = tuple(drive.value for drive in Drive)
PER = ("kit", "hub")
EXTRA_KINDS = ("hub", "fastener", "consumable", "other")
ALL = "all"
"""What a person says for every position; no group is called so."""


def type_of(read: Reading, name: str) -> AirframeType:
    """The airframe type of a name.

    Raises:
        NotFound: there is none.
    """
    found = read.find(AirframeType, name=name.strip())
    if found is None:
        raise NotFound(f"no airframe type is called {name.strip()!r}; add it to the catalogue first")
    return found


def type_revision_of(read: Reading, airframe_type: str, name: str) -> TypeRevision:
    """The revision of an airframe type, both by name.

    Raises:
        NotFound: there is no such type, or it has no such revision.
    """
    kind = type_of(read, airframe_type)
    found = read.find(TypeRevision, airframe_type_id=kind.id, name=name.strip())
    if found is None:
        known = (
            ", ".join(r.name for r in read.select(TypeRevision, "airframe_type_id = ?", kind.id))
            or "none yet"
        )
        raise NotFound(
            f"{kind.name} has no revision {name.strip()!r} (it has: {known}); add it to the catalogue first"
        )
    return found


def name_of(read: Reading, revision: TypeRevision) -> str:
    """A type revision as a person says it: "BR4 revision B"."""
    return f"{read.get(AirframeType, revision.airframe_type_id).name} revision {revision.name}"


def positions_of(read: Reading, revision: TypeRevision) -> list[TypePosition]:
    """The positions of a type revision, in its own order."""
    return read.select(TypePosition, "type_revision_id = ?", revision.id, order="rank")


def layout_warnings(positions: Iterable[tuple[TypePosition, str]]) -> tuple[str, ...]:
    """What the layout check says against positions with the senses given; it warns, the map decides (C7)."""
    layout = [
        LayoutPosition(p.name, p.angle_mdeg, p.radius_um, Level(p.level), Drive(p.drive), Sense(sense))
        for p, sense in positions
    ]
    return check_layout(layout).warnings if layout else ()


# ---- what a revision says by itself ---------------------------------------------------------------


def check_type_revision(spec: TypeRevisionSpec) -> list[Problem]:
    """Every fault of a type revision that shows without looking into the store."""
    found = texts(spec, needed=("airframe_type", "name", "source"))
    if spec.retorque_minutes is not None and spec.retorque_minutes < 1:
        found.append(
            fault("retorque_minutes", "A re-torque falls due after some time; give it or leave it out.")
        )
    for fixing in spec.fixings:
        found += whose(f"fixing {fixing.name}", check_fixing(fixing))
    for position in spec.positions:
        found += whose(f"position {position.name}", _check_position(position, spec))
    found += _once("fixing", [f.name for f in spec.fixings])
    found += _once("group", [g.name for g in spec.groups])
    found += _once("position", [n for p in spec.positions for n in {p.name, p.alias} if n])
    for group in spec.groups:
        found += whose(f"group {group.name}", check_group(group, [p.name for p in spec.positions]))
    found += [p for extra in spec.extras for p in whose(f"extra {extra.part}", check_extra(extra))]
    return found or _check_geometry(spec)


def _check_position(spec: PositionSpec, revision: TypeRevisionSpec) -> list[Problem]:
    found = texts(spec, needed=("name", "arm"), optional=("alias",))
    found += choice("sense", spec.sense, SENSES) + choice("level", spec.level, LEVELS)
    found += choice("drive", spec.drive, DRIVES)
    found += choice("fixing", spec.fixing, [f.name for f in revision.fixings])
    if not spec.approved:
        found.append(
            fault("approved", "No rotor part is approved here, so nothing could ever be fitted; name one.")
        )
    return found


def _once(what: str, names: Sequence[str]) -> list[Problem]:
    twice = [name for name, times in Counter(names).items() if times > 1]
    return [
        fault(f"{what} {name}", f"There are several {what}s of the name {name!r}; name each one once.")
        for name in twice
    ]


def check_group(spec: GroupSpec, known: Sequence[str]) -> list[Problem]:
    """What is wrong with a named group of positions."""
    found = list(check_text(spec.name, field="name"))
    if spec.name.strip().casefold() == ALL:
        found.append(fault("name", f"{ALL!r} always means every position; give the group another name."))
    if not spec.positions:
        found.append(fault("positions", "The group holds no position; name its positions."))
    found += [
        fault("positions", f"There is no position {name!r}; the positions are: {', '.join(known)}.")
        for name in spec.positions
        if name not in known
    ]
    if len(set(spec.positions)) < len(spec.positions):
        found.append(fault("positions", "A position stands in the group twice; name each one once."))
    return found


def check_extra(spec: ExtraSpec) -> list[Problem]:
    """What is wrong with a line of the kit list."""
    found = texts(spec, needed=("part",)) + choice("per", spec.per, PER) + choice("unit", spec.unit, UNITS)
    if spec.quantity < 1:
        found.append(fault("quantity", "The quantity is nothing; give at least 1 or leave the line out."))
    return found


def _check_geometry(spec: TypeRevisionSpec) -> list[Problem]:
    found: list[Problem] = []
    layout = [
        LayoutPosition(p.name, p.angle_mdeg, p.radius_um, Level(p.level), Drive(p.drive), Sense(p.sense))
        for p in spec.positions
    ]
    with collecting(found, field="positions"):
        check_layout(layout)
    return found


# ---- what the store says to it, and the writing ----------------------------------------------------


def write_type(act: Act, name: str) -> AirframeType:
    """Write an airframe type.

    Raises:
        BadInput: its name can't be kept, or is taken.
    """
    found = list(check_text(name, field="name"))
    if act.find(AirframeType, name=name):
        found.append(fault("name", f"There is an airframe type {name!r} already; add a revision to it."))
    raise_any(found)
    return act.insert(AirframeType(name=name))


def write_type_revision(act: Act, spec: TypeRevisionSpec) -> tuple[TypeRevision, tuple[str, ...]]:
    """Write a type revision with its fixings, positions, approved parts, groups and kit list.

    Returns:
        The revision, and warnings for the person, those of the layout check first.

    Raises:
        BadInput: every fault, by itself and against the store.
    """
    found = check_type_revision(spec)
    kind: AirframeType | None = None
    with collecting(found, field="airframe_type"):
        kind = type_of(act, spec.airframe_type)
    if kind is not None and act.find(TypeRevision, airframe_type_id=kind.id, name=spec.name):
        found.append(
            fault(
                "name",
                f"{kind.name} has a revision {spec.name!r} already; changes of it go through settings.",
            )
        )
    if found or kind is None:
        raise BadInput(found)
    revision = act.insert(
        TypeRevision(
            airframe_type_id=kind.id, name=spec.name, retorque_minutes=spec.retorque_minutes, source=spec.source
        )
    )  # fmt: skip
    warnings = _write_contents(act, revision, spec, found)
    raise_any(found)
    named = name_of(act, revision)
    layout = layout_warnings((p, p.sense) for p in positions_of(act, revision))
    return revision, tuple(f"{named}: {w}; the map decides, look at it once more." for w in layout) + warnings


def _write_contents(
    act: Act, revision: TypeRevision, spec: TypeRevisionSpec, found: list[Problem]
) -> tuple[str, ...]:
    warnings: list[str] = []
    fixings: dict[str, HubFixing] = {}
    for fixing in spec.fixings:
        with collecting(found, owner=f"fixing {fixing.name}"):
            fixings[fixing.name], said = write_fixing(act, revision, fixing)
            warnings += said
    for rank, position in enumerate(spec.positions, start=1):
        if position.fixing in fixings:
            with collecting(found, owner=f"position {position.name}"):
                warnings += _write_position(
                    act, revision, position, rank=rank, fixing=fixings[position.fixing]
                )
    for group in spec.groups:
        write_group(act, revision, group)
    for extra in spec.extras:
        with collecting(found, owner=f"extra {extra.part}"):
            write_extra(act, revision, extra)
    return tuple(warnings)


def _write_position(
    act: Act, revision: TypeRevision, spec: PositionSpec, *, rank: int, fixing: HubFixing
) -> tuple[str, ...]:
    found: list[Problem] = []
    parts: list[Part] = []
    for number in spec.approved:
        with collecting(found, field="approved"):
            parts.append(approvable(act, number))
    if not found and all(part.sense != spec.sense for part in parts):
        found.append(
            fault("approved", f"No approved part turns {spec.sense}, as the position does (R3); name one.")
        )
    raise_any(found)
    position = act.insert(
        TypePosition(
            type_revision_id=revision.id, rank=rank, name=spec.name, alias=spec.alias, arm=spec.arm, level=spec.level,
            drive=spec.drive, sense=spec.sense, angle_mdeg=spec.angle_mdeg, radius_um=spec.radius_um,
            hub_fixing_id=fixing.id,
        )
    )  # fmt: skip
    for part in dict.fromkeys(parts):
        act.insert(ApprovedPart(type_position_id=position.id, part_id=part.id))
    return tuple(w for part in parts for w in other_sense_warning(position, part))


def approvable(read: Reading, number: str) -> Part:
    """The rotor part of a number, which may be approved for a position.

    Raises:
        BadInput: it is unknown, no blade, or superseded for safety.
    """
    part = part_named(read, number, field="approved", kinds=("blade",))
    if part.superseded_how == "safety":
        raise BadInput(f"{part.number} is superseded for safety; approve its successor.", field="approved")
    return part


def other_sense_warning(position: TypePosition, part: Part) -> tuple[str, ...]:
    """A part of the other sense counts only where an airframe's own map turns the position round."""
    if part.sense == position.sense:
        return ()
    message = (
        f"{part.number} turns {part.sense} and {position.name} turns {position.sense} here; it can be fitted only "
        f"on an airframe whose own map says {part.sense} there."
    )
    return (message,)


def write_group(act: Act, revision: TypeRevision, spec: GroupSpec) -> None:
    """Write a named group of positions of a type revision.

    Raises:
        BadInput: its name is taken, or a position is unknown.
    """
    positions = {p.name: p for p in positions_of(act, revision)}
    if act.find(PositionGroup, type_revision_id=revision.id, name=spec.name):
        raise BadInput(f"There is a group {spec.name!r} already; take another name.", field="name")
    for name in spec.positions:
        if name in positions:
            act.insert(
                PositionGroup(
                    type_revision_id=revision.id, name=spec.name, type_position_id=positions[name].id
                )
            )


def extra_part(read: Reading, spec: ExtraSpec) -> Part:
    """The part of a line of the kit list.

    Raises:
        BadInput: it is unknown, a blade (sets are computed), or counted in another unit.
    """
    part = part_named(read, spec.part, field="part", kinds=EXTRA_KINDS)
    if part.unit != spec.unit:
        how = "in pieces" if part.unit == "pieces" else "by volume"
        raise BadInput(f"{part.number} is counted {how}; give the quantity so.", field="quantity")
    return part


def write_extra(act: Act, revision: TypeRevision, spec: ExtraSpec) -> KitListLine:
    """Write a line of the kit list.

    Raises:
        BadInput: the part can't be an extra, or is on the list already.
    """
    part = extra_part(act, spec)
    if act.find(KitListLine, type_revision_id=revision.id, part_id=part.id, per=spec.per):
        raise BadInput(
            f"{part.number} per {spec.per} is on the kit list already; give one line.", field="part"
        )
    return act.insert(
        KitListLine(type_revision_id=revision.id, part_id=part.id, quantity=spec.quantity, per=spec.per)
    )
