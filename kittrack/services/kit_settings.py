"""Checking a kit again after the settings of its type revision changed. Source: design R21."""

from datetime import datetime

from kittrack.domain.kits import Demand, kit_demand
from kittrack.domain.rules import Rule, require
from kittrack.errors import Refusal
from kittrack.services import coverage, desk
from kittrack.services.coverage import Chosen, Coverage
from kittrack.services.desk import Done
from kittrack.services.kit_desk import check_kit_state
from kittrack.store.act import Act
from kittrack.store.database import Store
from kittrack.store.kit_facts import demand_of
from kittrack.store.records import Airframe, Kit, KitLine, KitPosition, TypePosition, TypeRevision


@desk.done_by("clerk", "inspector", "manager")
def confirm_settings(store: Store, *, kit: str, by: str, at: datetime, key: str = "") -> Done:
    """Check a kit again after the settings of its type revision changed: its lines are computed anew (R21).

    Raises:
        Refused: the kit would be built otherwise now; it has to be dissolved and built anew (R4, R21).
    """
    with store.act("check a kit against changed settings", by=by, at=at, key=key) as act:
        found = desk.find_kit(act, kit)
        revision = act.get(TypeRevision, found.type_revision_id)
        require(
            desk.check_done_by(act, confirm_settings),
            check_kit_state(act, found, "building", "checked", "sealed"),
            _check_same_lines(act, found, revision),
        )
        act.update(found, settings_revision=revision.settings_revision)
    return Done(act.event_id, (found.code,), (f"{found.code} agrees with the settings of today.",))


def _check_same_lines(act: Act, kit: Kit, revision: TypeRevision) -> list[Refusal]:
    """Refuse where the positions of a kit would give other senses or lines by the settings of today."""
    if kit.purpose != "full":
        message = (
            f"{kit.code} makes a job good and was computed by other settings; dissolve it and build it again."
        )
        return [Refusal(Rule.NO_BACK_DOOR, kit.code, message)]
    lines = act.select(KitLine, "kit_id = ?", kit.id, order="rank")
    chosen = _chosen_now(act, kit, revision)
    now, refusals = _lines_now(act, revision, chosen, lines)
    then = {p.type_position_id: p.sense for p in act.select(KitPosition, "kit_id = ?", kit.id)}
    same_senses = then == {c.position.id: c.sense.value for c in chosen}
    if refusals or not same_senses or now != tuple(demand_of(line) for line in lines):
        message = f"By the settings of today {kit.code} has other lines; dissolve it and build it anew."
        return [*refusals, Refusal(Rule.NO_BACK_DOOR, kit.code, message)]
    return []


def _chosen_now(act: Act, kit: Kit, revision: TypeRevision) -> tuple[Chosen, ...]:
    frame = act.get(Airframe, kit.airframe_id) if kit.airframe_id else None
    positions = act.select(
        TypePosition, "id IN (SELECT type_position_id FROM kit_position WHERE kit_id = ?)", kit.id
    )
    names = Coverage("named", tuple(p.name for p in positions))
    return coverage.choose(act, revision, names, airframe=frame)


def _lines_now(
    act: Act, revision: TypeRevision, chosen: tuple[Chosen, ...], lines: list[KitLine]
) -> tuple[tuple[Demand, ...], list[Refusal]]:
    """The lines that positions give by the settings of today, for the rotor parts that a kit was built with."""
    have = {line.part_id: line.quantity for line in lines}
    positions, refusals = coverage.covered(act, chosen, issuable=have)
    if refusals:
        return (), refusals
    return kit_demand(positions, extras=coverage.extras(act, revision)), []
