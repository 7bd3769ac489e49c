"""The positions of an airframe and the revisions of its sense map, written inside an act.

Source: design R7 (effectivity by position), R17 (sense map).
"""

from collections.abc import Mapping

from kittrack.domain import codes
from kittrack.domain.ledger import PlaceKind
from kittrack.domain.rules import Rule
from kittrack.errors import BadInput, Problem, Refusal
from kittrack.services.catalogue_types import name_of, positions_of
from kittrack.store.act import Act, Reading
from kittrack.store.aircraft_facts import sets_at
from kittrack.store.records import (
    Airframe,
    ApprovedPart,
    Part,
    Place,
    Position,
    RotorSet,
    SenseMap,
    SenseMapLine,
    TypePosition,
    TypeRevision,
)
from kittrack.store.stock import contents


def positions_in_use(read: Reading, airframe: Airframe) -> list[Position]:
    """The positions that an airframe has now, in the order of its type revision."""
    found = read.select(Position, "airframe_id = ? AND active = 1", airframe.id)
    return sorted(found, key=lambda p: read.get(TypePosition, p.type_position_id).rank)


def fitted_sets(read: Reading, airframe: Airframe) -> list[RotorSet]:
    """The rotor sets fitted to an airframe, in the order of its positions."""
    return [one for position in positions_in_use(read, airframe) for one in sets_at(read, position)]


def name_positions(act: Act, airframe: Airframe, revision: TypeRevision) -> None:
    """Give an airframe every position of a type revision that it has not; each is a place in the airframe."""
    known = {p.name: p for p in act.select(Position, "airframe_id = ?", airframe.id)}
    for type_position in positions_of(act, revision):
        own = known.get(type_position.name)
        if own is not None:
            act.update(own, type_position_id=type_position.id, active=1)
            act.update(act.get(Place, own.place_id), active=1)
            continue
        code = act.new_code(Position, codes.Kind.POSITION)
        place = act.insert(
            Place(code=code, kind=PlaceKind.POSITION.value, name=f"{airframe.tail} {type_position.name}")
        )
        act.move_container(place.id, from_place_id=None, to_place_id=airframe.place_id)
        act.insert(
            Position(
                code=code, airframe_id=airframe.id, type_position_id=type_position.id, place_id=place.id,
                name=type_position.name,
            )
        )  # fmt: skip


# ---- sense maps --------------------------------------------------------------------------------------


def mapped_senses(read: Reading, airframe: Airframe) -> dict[str, str]:
    """The sense of each position in use by the airframe's current map, by position name, in order."""
    lines = (
        read.select(SenseMapLine, "sense_map_id = ?", airframe.sense_map_id) if airframe.sense_map_id else []
    )
    by_position = {line.position_id: line.sense for line in lines}
    return {p.name: by_position[p.id] for p in positions_in_use(read, airframe) if p.id in by_position}


def write_map(
    act: Act, airframe: Airframe, senses: Mapping[str, str], *, source: str, verified_how: str = ""
) -> Airframe:
    """Write the next revision of an airframe's sense map and make it the current one.

    Args:
        senses: the sense of each position by its name; one that is not named takes its type revision's.
        source: where the senses come from.
        verified_how: how they were verified by motor test; empty where they were not.
    """
    last = act.select(SenseMap, "airframe_id = ?", airframe.id, order="revision DESC", limit=1)
    if last and last[0].verified:
        act.update(last[0], cleared_event_id=act.event_id)
    made = act.insert(
        SenseMap(
            airframe_id=airframe.id, revision=last[0].revision + 1 if last else 1,
            source=f"{source}; verified: {verified_how}" if verified_how else source,
            verified_event_id=act.event_id if verified_how else None, event_id=act.event_id,
        )
    )  # fmt: skip
    for position in positions_in_use(act, airframe):
        own = act.get(TypePosition, position.type_position_id).sense
        act.insert(
            SenseMapLine(sense_map_id=made.id, position_id=position.id, sense=senses.get(position.name, own))
        )
    return act.update(airframe, sense_map_id=made.id)


def named_senses(
    read: Reading, airframe: Airframe, senses: Mapping[str, str], *, whole: bool
) -> dict[str, str]:
    """Senses by position name as a person gave them; an alias or the code of the position means it too.

    Raises:
        BadInput: an unknown position, one named twice, a sense that is none, or (`whole`) a position left out.
    """
    names: dict[str, str] = {}
    for p in positions_in_use(read, airframe):
        alias = read.get(TypePosition, p.type_position_id).alias
        names |= {p.code: p.name, p.name: p.name} | ({alias: p.name} if alias else {})
    found: dict[str, str] = {}
    faults: list[Problem] = []
    for said, sense in senses.items():
        name = names.get(said.strip())
        if name is None:
            faults.append(Problem(f"{airframe.tail} has no position {said!r}; look at its map.", said))
        elif name in found:
            faults.append(Problem(f"Position {name} is named twice; say its sense once.", said))
        elif sense not in {"CW", "CCW"}:
            faults.append(Problem(f"{sense!r} is no sense; say CW or CCW, seen from above.", said))
        else:
            found[name] = sense
    left_out = [n for n in dict.fromkeys(names.values()) if n not in found] if whole else []
    faults += [
        Problem(f"Position {name} is left out; say which way it turns, seen from above.", name)
        for name in left_out
    ]
    if faults:
        raise BadInput(faults)
    return found


# ---- another type revision ---------------------------------------------------------------------------


def check_refit(read: Reading, airframe: Airframe, new: TypeRevision) -> list[Refusal]:
    """Why what is fitted can't stay on an airframe that becomes another type revision (R7)."""
    named = {p.name: p for p in positions_of(read, new)}
    found = []
    for position in positions_in_use(read, airframe):
        spot = f"{airframe.tail} {position.name}"
        if position.name not in named and contents(read, position.place_id):
            message = f"{name_of(read, new)} has no position {position.name}, and something is fitted at {spot}; remove it first."
            found.append(Refusal(Rule.EFFECTIVITY, spot, message))
        for one in sets_at(read, position) if position.name in named else []:
            if not read.find(
                ApprovedPart, type_position_id=named[position.name].id, part_id=one.part_id, active=1
            ):
                number = read.get(Part, one.part_id).number
                message = f"{one.code} ({number}) at {spot} is not approved there for {name_of(read, new)}; remove it first."
                found.append(Refusal(Rule.EFFECTIVITY, spot, message))
    return found


def move_positions(act: Act, airframe: Airframe, new: TypeRevision) -> tuple[str, ...]:
    """Match an airframe's positions by name with another type revision's, and write its map anew.

    Returns:
        What a person has to know: positions given up and added, and senses that differ from the new layout.
    """
    kept = mapped_senses(act, airframe)
    layout = {p.name: p.sense for p in positions_of(act, new)}
    said = []
    for position in positions_in_use(act, airframe):
        if position.name not in layout:
            act.update(position, active=0)
            act.update(act.get(Place, position.place_id), active=0)
            said.append(f"Position {position.name} is given up.")
    said += [
        f"Position {name} is new and turns {sense} by the layout."
        for name, sense in layout.items()
        if name not in kept
    ]
    said += [
        f"Position {name} keeps {kept[name]} of the airframe's own map, while the layout says {sense}."
        for name, sense in layout.items()
        if kept.get(name, sense) != sense
    ]
    name_positions(act, airframe, new)
    write_map(act, airframe, kept, source=f"map before, and layout of {name_of(act, new)}")
    return tuple(said)
