"""Adding to the catalogue, one thing at a time: companies, paper, parts, tools, airframe types and revisions.

What exists is changed in settings.py, where a second person and a source are asked for (R21).
Source: design R2, R4, R14, R16, R17, R18, R19, C7.
"""

from collections.abc import Sequence
from datetime import date, datetime

from kittrack.domain.rules import Rule, require
from kittrack.errors import BadInput, Refusal
from kittrack.services import desk
from kittrack.services.catalogue_faults import raise_any
from kittrack.services.catalogue_parts import part_named, write_part
from kittrack.services.catalogue_small import write_company, write_paper_kind, write_tool
from kittrack.services.catalogue_specs import (
    CompanySpec,
    GroupSpec,
    PaperKindSpec,
    PartSpec,
    ToolSpec,
    TypeRevisionSpec,
)
from kittrack.services.catalogue_types import (
    check_group,
    name_of,
    positions_of,
    type_revision_of,
    write_group,
    write_type,
    write_type_revision,
)
from kittrack.services.desk import Done
from kittrack.services.position_desk import find_tool
from kittrack.store.act import Act
from kittrack.store.database import Store
from kittrack.store.records import PaperKind, Part

SUPERSEDED = ("use up", "safety")
_MANAGED_KINDS = ("blade", "hub")


@desk.done_by("manager", "clerk")
def add_company(store: Store, *, spec: CompanySpec, by: str, at: datetime, key: str = "") -> Done:
    """Add a maker, a supplier, a new owner of an airframe, or several of these."""
    with store.act("add a company", by=by, at=at, key=key) as act:
        require(desk.check_done_by(act, add_company))
        company = write_company(act, spec)
    return Done(act.event_id, said=(f"{company.name} added.",))


@desk.done_by("manager")
def add_paper_kind(store: Store, *, paper_class: str, kind: str, by: str, at: datetime) -> Done:
    """Say that a kind of paper suffices for a class of part (R14)."""
    with store.act("name a kind of paper", by=by, at=at) as act:
        require(desk.check_done_by(act, add_paper_kind))
        made = write_paper_kind(act, PaperKindSpec(paper_class=paper_class, kind=kind))
    return Done(act.event_id, said=(f"{made.kind} suffices for {made.paper_class}.",))


@desk.done_by("manager")
def withdraw_paper_kind(
    store: Store, *, paper_class: str, kind: str, by: str, at: datetime, reason: str
) -> Done:
    """Say that a kind of paper no longer suffices for a class of part; what was received before stays as it is."""
    desk.require_text(reason=reason)
    with store.act("withdraw a kind of paper", by=by, at=at, reason=reason) as act:
        require(desk.check_done_by(act, withdraw_paper_kind))
        known = act.find(PaperKind, paper_class=paper_class, kind=kind, active=1)
        if known is None:
            raise BadInput(
                f"{kind!r} does not suffice for {paper_class!r}; look at the list of papers", field="kind"
            )
        act.update(known, active=0)
    return Done(
        act.event_id,
        said=(f"{kind} no longer suffices for {paper_class}; later deliveries need another paper.",),
    )


def add_part(store: Store, *, spec: PartSpec, by: str, at: datetime, key: str = "") -> Done:
    """Add a part number, a blade with its table of marks; blades and hubs take a manager.

    Raises:
        BadInput: every fault of the part.
    """
    roles = ("manager",) if spec.kind in _MANAGED_KINDS else ("manager", "clerk")
    with store.act("add a part", by=by, at=at, key=key) as act:
        require(desk.check_role(act, *roles))
        part, warnings = write_part(act, spec)
    return Done(act.event_id, said=(f"{part.kind} {part.number} added.", *warnings))


@desk.done_by("manager")
def supersede_part(
    store: Store, *, part: str, successor: str, how: str, source: str, by: str, at: datetime, key: str = ""
) -> Done:
    """Say that a part is superseded by another one: its stock is used up, or must not be used for safety (R6).

    A supersession for safety can be made stricter here, but never weaker; settings.withdraw_supersession can.

    Args:
        how: "use up" or "safety".
        source: the bulletin or letter that says so.
    """
    desk.require_text(source=source)
    if how not in SUPERSEDED:
        raise BadInput(f"{how!r} is no way of superseding; one of: {', '.join(SUPERSEDED)}", field="how")
    with store.act("supersede a part", by=by, at=at, reason=source, key=key) as act:
        old, new = part_named(act, part, field="part"), part_named(act, successor, field="successor")
        require(desk.check_done_by(act, supersede_part), _check_successor(act, old, new, how=how))
        act.update(old, superseded_by_id=new.id, superseded_how=how, revision=old.revision + 1)
    stop = "must not be used any more" if how == "safety" else "is used up, then no longer ordered"
    return Done(act.event_id, said=(f"{old.number} {stop}; its successor is {new.number}.",))


def _check_successor(act: Act, old: Part, new: Part, *, how: str) -> list[Refusal]:
    found = []
    if old.superseded_how == "safety" and how != "safety":
        message = f"{old.number} is superseded for safety, and that is not weakened here; withdraw it under settings first."
        found.append(Refusal(Rule.NO_BACK_DOOR, old.number, message))
    if (new.kind, new.sense) != (old.kind, old.sense):
        message = f"{new.number} is another kind of part or turns the other way than {old.number}; name the right successor."
        found.append(Refusal(Rule.EFFECTIVITY, old.number, message))
    if new.superseded_how == "safety":
        message = f"{new.number} is itself superseded for safety; name the part that replaces it."
        found.append(Refusal(Rule.FIT_FOR_ISSUE, new.number, message))
    following: Part | None = new
    while following is not None:
        if following.id == old.id:
            message = f"{new.number} is replaced by {old.number} in turn, so nothing would be left; name another successor."
            return [*found, Refusal(Rule.EFFECTIVITY, old.number, message)]
        following = act.find(Part, id=following.superseded_by_id) if following.superseded_by_id else None
    return found


@desk.done_by("manager")
def add_tool(store: Store, *, spec: ToolSpec, by: str, at: datetime, key: str = "") -> Done:
    """Add a torque tool or a scale; answers with its code."""
    with store.act("add a tool", by=by, at=at, key=key) as act:
        require(desk.check_done_by(act, add_tool))
        tool, warnings = write_tool(act, spec)
    return Done(act.event_id, (tool.code,), (f"{tool.name} added as {tool.code}.", *warnings))


@desk.done_by("manager", "inspector")
def calibrate_tool(store: Store, *, tool: str, until: date, source: str, by: str, at: datetime) -> Done:
    """Record a new calibration of a tool.

    Args:
        until: the last day of the calibration.
        source: the certificate that says so.
    """
    desk.require_text(source=source)
    with store.act("calibrate a tool", by=by, at=at, reason=source) as act:
        require(desk.check_done_by(act, calibrate_tool))
        known = find_tool(act, tool)
        act.update(known, calibrated_until_on=until.isoformat())
    return Done(act.event_id, (known.code,), (f"{known.name} is calibrated until {until.isoformat()}.",))


@desk.done_by("manager")
def retire_tool(store: Store, *, tool: str, reason: str, by: str, at: datetime) -> Done:
    """Take a tool out of use; its records stay."""
    desk.require_text(reason=reason)
    with store.act("retire a tool", by=by, at=at, reason=reason) as act:
        require(desk.check_done_by(act, retire_tool))
        known = find_tool(act, tool)
        act.update(known, active=0)
    return Done(act.event_id, (known.code,), (f"{known.name} is out of use.",))


@desk.done_by("manager")
def add_airframe_type(store: Store, *, name: str, by: str, at: datetime) -> Done:
    """Add a design of airframe; its revisions follow."""
    with store.act("add an airframe type", by=by, at=at) as act:
        require(desk.check_done_by(act, add_airframe_type))
        kind = write_type(act, name)
    return Done(act.event_id, said=(f"Airframe type {kind.name} added; add its first revision next.",))


@desk.done_by("manager")
def add_type_revision(store: Store, *, spec: TypeRevisionSpec, by: str, at: datetime, key: str = "") -> Done:
    """Add a revision of an airframe type: positions, fixings, approved parts, groups, kit list.

    Returns:
        `said` holds what the layout check warns of (C7); it warns, the map of each airframe decides (R17).

    Raises:
        BadInput: every fault of the revision.
    """
    with store.act("add a type revision", by=by, at=at, key=key) as act:
        require(desk.check_done_by(act, add_type_revision))
        revision, warnings = write_type_revision(act, spec)
        named = name_of(act, revision)
    return Done(act.event_id, said=(f"{named} added with {len(spec.positions)} positions.", *warnings))


@desk.done_by("manager")
def add_position_group(
    store: Store,
    *,
    airframe_type: str,
    revision: str,
    name: str,
    positions: Sequence[str],
    by: str,
    at: datetime,
) -> Done:
    """Name a group of positions of a type revision, such as "front arms"."""
    spec = GroupSpec(name=name, positions=tuple(positions))
    with store.act("name a group of positions", by=by, at=at) as act:
        require(desk.check_done_by(act, add_position_group))
        found = type_revision_of(act, airframe_type, revision)
        raise_any(check_group(spec, [p.name for p in positions_of(act, found)]))
        write_group(act, found, spec)
        named = name_of(act, found)
    return Done(act.event_id, said=(f"Group {name} of {named}: {', '.join(positions)}.",))
