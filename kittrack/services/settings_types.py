"""Changing what is versioned of a type revision: torques, approved parts, re-torque time (R21).

Each change takes a manager, a second person and a source, is kept as old and new, and answers which open kits
and jobs have to be checked again. Source: design R6, R18, R21.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from kittrack.domain.quantities import Dimension, write_quantity, write_torque
from kittrack.domain.rules import require
from kittrack.domain.threads import Condition
from kittrack.domain.torque import Method
from kittrack.errors import BadInput, NotFound
from kittrack.services import desk
from kittrack.services.catalogue_fixings import judge_fixing
from kittrack.services.catalogue_parts import part_named
from kittrack.services.catalogue_specs import FixingSpec
from kittrack.services.catalogue_types import (
    ALL,
    approvable,
    name_of,
    other_sense_warning,
    positions_of,
    type_revision_of,
)
from kittrack.services.desk import Done
from kittrack.services.setting_changes import Changed, change_revision, require_authority
from kittrack.store.act import Act, Reading
from kittrack.store.aircraft_facts import sets_at
from kittrack.store.database import Store
from kittrack.store.records import (
    Airframe,
    ApprovedPart,
    Company,
    HubFixing,
    Part,
    Position,
    TypePosition,
    TypeRevision,
)


@dataclass(frozen=True, kw_only=True)
class Tightening:
    """How the screws of a hub are tightened, as `FixingSpec` says it: a torque with its condition, or words."""

    method: str = "torque"
    torque_mnm: int | None = None
    tolerance_mnm: int | None = None
    condition: str = ""
    text: str = ""


@desk.done_as(require_authority)
def change_torque(
    store: Store, *, airframe_type: str, revision: str, fixing: str, tightening: Tightening, source: str,
    by: str, second: str, at: datetime, key: str = "",
) -> Done:  # fmt: skip
    """Change how a hub fixing of a type revision is tightened (R18).

    Raises:
        Refused: the torque lies beyond what the screws bear (R18), or the authority is missing.
    """
    desk.require_text(source=source)
    with store.act("change a torque", by=by, at=at, second=second, reason=source, key=key) as act:
        require_authority(act, "a change of a torque")
        found = type_revision_of(act, airframe_type, revision)
        row = act.find(HubFixing, type_revision_id=found.id, name=fixing.strip())
        if row is None:
            named = [one.name for one in act.select(HubFixing, "type_revision_id = ?", found.id)]
            raise NotFound(
                f"{name_of(act, found)} has no fixing {fixing.strip()!r} (it has: {', '.join(named)}); name one of these"
            )
        if tightening.method == Method.TORQUE and not tightening.condition.strip():
            raise BadInput(
                f"A torque takes the condition of its thread: {', '.join(Condition)}.", field="condition"
            )
        judged = judge_fixing(act, _respecified(act, row, tightening, source=source.strip()))
        require(judged.refusals)
        new = act.update(
            row, torque_method=tightening.method, torque_mnm=tightening.torque_mnm,
            torque_tolerance_mnm=tightening.tolerance_mnm, torque_text=tightening.text,
            torque_condition=tightening.condition, torque_source=source.strip(),
        )  # fmt: skip
        changed = Changed(f"tightening of {row.name}", tightening_text(row), tightening_text(new))
        said = change_revision(act, found, [changed], source=source)
    return Done(
        act.event_id,
        said=(
            f"{row.name} is now tightened: {changed.new} (before: {changed.old}).",
            *judged.warnings,
            *said,
        ),
    )


def _respecified(read: Reading, row: HubFixing, new: Tightening, *, source: str) -> FixingSpec:
    return FixingSpec(
        name=row.name, screw=_full_number(read, row.screw_part_id), screws_per_hub=row.screws_per_hub,
        washer=_full_number(read, row.washer_part_id), washers_per_hub=row.washers_per_hub,
        locker=_full_number(read, row.locker_part_id), locker_ul_per_screw=row.locker_ul_per_screw,
        torque_method=new.method, torque_mnm=new.torque_mnm, torque_tolerance_mnm=new.tolerance_mnm,
        torque_text=new.text, torque_condition=new.condition, torque_source=source, stack_um=row.stack_um,
        engagement_min_um=row.engagement_min_um, engagement_max_um=row.engagement_max_um,
    )  # fmt: skip


def _full_number(read: Reading, part_id: int | None) -> str:
    """A part number with its maker, which no other part can be mistaken for; empty for no part."""
    if part_id is None:
        return ""
    part = read.get(Part, part_id)
    return f"{read.get(Company, part.maker_id).name}: {part.number}"


def tightening_text(row: HubFixing) -> str:
    """How a fixing is tightened, in words: the torque in two units, its tolerance and condition, or the text."""
    if row.torque_method != Method.TORQUE or row.torque_mnm is None:
        return f"{row.torque_method}: {row.torque_text}"
    spread = (
        f" +/- {write_quantity(row.torque_tolerance_mnm, dimension=Dimension.TORQUE)}"
        if row.torque_tolerance_mnm
        else ""
    )
    return f"{write_torque(row.torque_mnm)}{spread} {row.torque_condition}"


@desk.done_as(require_authority)
def approve_part(
    store: Store, *, airframe_type: str, revision: str, positions: Sequence[str], part: str, source: str,
    by: str, second: str, at: datetime, key: str = "",
) -> Done:  # fmt: skip
    """Approve a rotor part for positions of a type revision, by their names, or "all" for those of its sense (R6)."""
    desk.require_text(source=source)
    with store.act("approve a part", by=by, at=at, second=second, reason=source, key=key) as act:
        require_authority(act, "the approval of a part")
        found = type_revision_of(act, airframe_type, revision)
        new = approvable(act, part)
        chosen = _chosen(act, found, positions, sense=new.sense)
        changes = [c for p in chosen for c in _approve(act, p, new)]
        if not changes:
            raise BadInput(f"{new.number} is approved there already; nothing changes.", field="part")
        said = change_revision(act, found, changes, source=source)
        warnings = [w for p in chosen for w in other_sense_warning(p, new)]
        named = name_of(act, found)
    at_names = ", ".join(p.name for p in chosen)
    return Done(act.event_id, said=(f"{new.number} is approved for {named} at {at_names}.", *warnings, *said))


@desk.done_as(require_authority)
def withdraw_part(
    store: Store, *, airframe_type: str, revision: str, positions: Sequence[str], part: str, source: str,
    by: str, second: str, at: datetime, key: str = "",
) -> Done:  # fmt: skip
    """Withdraw the approval of a rotor part for positions of a type revision, by their names, or "all" (R6).

    Returns:
        `said` names the fitted sets of that part, and the positions for which no part is left.
    """
    desk.require_text(source=source)
    with store.act(
        "withdraw the approval of a part", by=by, at=at, second=second, reason=source, key=key
    ) as act:
        require_authority(act, "the withdrawal of an approval")
        found = type_revision_of(act, airframe_type, revision)
        old = part_named(act, part, field="part", kinds=("blade",))
        chosen = _chosen(act, found, positions)
        changes = [c for p in chosen for c in _withdraw(act, p, old)]
        if not changes:
            raise BadInput(f"{old.number} is not approved there; nothing changes.", field="part")
        said = change_revision(act, found, changes, source=source)
        left = [text for p in chosen for text in (*_fitted_there(act, p, old), *_nothing_left(act, p))]
        named = name_of(act, found)
    return Done(act.event_id, said=(f"{old.number} is no longer approved for {named}.", *left, *said))


def _chosen(
    read: Reading, revision: TypeRevision, names: Sequence[str], *, sense: str | None = None
) -> list[TypePosition]:
    known = positions_of(read, revision)
    if list(names) == [ALL]:
        return [p for p in known if sense in (None, p.sense)]
    by_name = {p.alias: p for p in known if p.alias} | {p.name: p for p in known}
    unknown = [n for n in names if n not in by_name]
    if unknown or not names:
        what = f"no position {', '.join(unknown)}" if unknown else "positions, and none is named"
        listed = ", ".join(p.name for p in known)
        raise BadInput(
            f"{name_of(read, revision)} has {what}; its positions are {listed}.", field="positions"
        )
    return list(dict.fromkeys(by_name[n] for n in names))


def _approved(read: Reading, position: TypePosition) -> list[Part]:
    rows = read.select(ApprovedPart, "type_position_id = ? AND active = 1", position.id)
    return [read.get(Part, row.part_id) for row in rows]


def _approve(act: Act, position: TypePosition, part: Part) -> list[Changed]:
    before = _approved(act, position)
    if part in before:
        return []
    known = act.find(ApprovedPart, type_position_id=position.id, part_id=part.id)
    if known:
        act.update(known, active=1)
    else:
        act.insert(ApprovedPart(type_position_id=position.id, part_id=part.id))
    return [Changed(f"approved at {position.name}", _numbers(before), _numbers([*before, part]))]


def _withdraw(act: Act, position: TypePosition, part: Part) -> list[Changed]:
    before = _approved(act, position)
    known = act.find(ApprovedPart, type_position_id=position.id, part_id=part.id, active=1)
    if known is None:
        return []
    act.update(known, active=0)
    return [
        Changed(f"approved at {position.name}", _numbers(before), _numbers([p for p in before if p != part]))
    ]


def _numbers(parts: Sequence[Part]) -> str:
    return ", ".join(sorted(p.number for p in parts)) or "none"


def _fitted_there(read: Reading, type_position: TypePosition, part: Part) -> list[str]:
    said = []
    for position in read.select(Position, "type_position_id = ? AND active = 1", type_position.id):
        airframe = read.get(Airframe, position.airframe_id)
        if airframe.state == "active":
            said += [
                f"{one.code} of that part is fitted at {airframe.tail} {position.name}; remove it before the next flight."
                for one in sets_at(read, position)
                if one.part_id == part.id
            ]
    return said


def _nothing_left(read: Reading, position: TypePosition) -> list[str]:
    if any(part.sense == position.sense for part in _approved(read, position)):
        return []
    return [
        f"No part that turns {position.sense} is left for {position.name}; nothing can be built or fitted there."
    ]


@desk.done_as(require_authority)
def change_retorque(
    store: Store, *, airframe_type: str, revision: str, minutes: int | None, source: str,
    by: str, second: str, at: datetime, key: str = "",
) -> Done:  # fmt: skip
    """Change after which time a re-torque falls due; None where the maker asks for none (R18)."""
    desk.require_text(source=source)
    if minutes is not None and minutes < 1:
        raise BadInput("A re-torque falls due after some time; give it or leave it out.", field="minutes")
    with store.act("change the re-torque time", by=by, at=at, second=second, reason=source, key=key) as act:
        require_authority(act, "a change of the re-torque time")
        found = type_revision_of(act, airframe_type, revision)
        changed = Changed("re-torque", _hours(found.retorque_minutes), _hours(minutes))
        if changed.old == changed.new:
            raise BadInput(f"{name_of(act, found)} says so already; nothing changes.", field="minutes")
        said = change_revision(act, found, [changed], source=source, retorque_minutes=minutes)
        named = name_of(act, found)
    return Done(act.event_id, said=(f"Re-torque of {named}: {changed.new}.", *said))


def _hours(minutes: int | None) -> str:
    return "none" if minutes is None else f"after {write_quantity(minutes, dimension=Dimension.TIME)} h"
