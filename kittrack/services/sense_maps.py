"""The sense map of an airframe: revised, verified by motor test, and its verification cleared by motor work.

A motor test records what was seen. Where that differs from the map, the map is not verified, the difference
is a finding, and the airframe's jobs are blocked: the person is never asked to make the test agree.
Source: design R3, R8, R17, R21.
"""

from collections.abc import Mapping, Sequence
from datetime import datetime

from kittrack.domain.rules import require
from kittrack.errors import BadInput
from kittrack.services import desk
from kittrack.services.airframe_positions import (
    mapped_senses,
    named_senses,
    positions_in_use,
    write_map,
)
from kittrack.services.airframes import check_in_fleet
from kittrack.services.catalogue_types import layout_warnings
from kittrack.services.desk import Done
from kittrack.services.findings import hold_set, open_finding
from kittrack.services.open_work import kits_for_airframe, look_again, open_jobs
from kittrack.store.act import Act, Reading
from kittrack.store.aircraft_facts import find_airframe, open_job_of, sets_at
from kittrack.store.database import Store
from kittrack.store.records import (
    Airframe,
    ApprovedPart,
    Finding,
    Part,
    Position,
    SenseMap,
    TypePosition,
)

MOTOR_TEST = "record a motor test"
WORK = ("motor", "wiring", "speed controller")


@desk.done_by("manager")
def revise_sense_map(
    store: Store,
    *,
    airframe: str,
    senses: Mapping[str, str],
    source: str,
    by: str,
    second: str,
    at: datetime,
    key: str = "",
) -> Done:
    """Give an airframe's sense map a new revision, which is not verified until a motor test (R17, R21).

    Args:
        senses: the new sense of each position that changes, by its name, alias or code.
        source: what shows it: a wiring plan, a modification, a motor test.
        second: the second person (R21).

    Returns:
        `said` names the kits and jobs to check again, rotors that now sit on the wrong position (each is a
        finding and on hold), and what the layout check warns of (C7).

    Raises:
        Refused: the role, the second person, or the airframe has left the fleet.
        BadInput: nothing changes, or a position or sense can't be read.
    """
    desk.require_text(source=source)
    with store.act("revise a sense map", by=by, at=at, second=second, reason=source, key=key) as act:
        found = find_airframe(act, airframe)
        require(
            desk.check_done_by(act, revise_sense_map),
            desk.check_second(first=act.by, second=act.second, what="a change of a sense map"),
            check_in_fleet(found),
        )
        before = mapped_senses(act, found)
        wanted = named_senses(act, found, senses, whole=False)
        changed = {name: sense for name, sense in wanted.items() if before.get(name) != sense}
        if not changed:
            raise BadInput(f"The map of {found.tail} says so already; nothing changes.", field="senses")
        found = write_map(act, found, before | changed, source=source.strip())
        said = _after_revision(act, found, changed)
        revision = _current_map(act, found).revision
    turned = ", ".join(f"{name} {sense}" for name, sense in changed.items())
    first = f"{found.tail}: map revision {revision} says {turned}; it is not verified until a motor test."
    return Done(act.event_id, (found.code,), (first, *said))


def _after_revision(act: Act, airframe: Airframe, changed: Mapping[str, str]) -> tuple[str, ...]:
    positions = [p for p in positions_in_use(act, airframe) if p.name in changed]
    said = [text for p in positions for text in _misfits(act, airframe, p, changed[p.name])]
    said += [text for p in positions for text in _unapproved(act, airframe, p, changed[p.name])]
    kits = kits_for_airframe(act, airframe, positions=[p.type_position_id for p in positions])
    said += look_again(kits, open_jobs(act, airframe=airframe))
    senses = mapped_senses(act, airframe)
    layout = [
        (act.get(TypePosition, p.type_position_id), senses[p.name]) for p in positions_in_use(act, airframe)
    ]
    said += [
        f"{airframe.tail}: {warning}; the map decides, look at it once more."
        for warning in layout_warnings(layout)
    ]
    return tuple(said)


def _misfits(act: Act, airframe: Airframe, position: Position, sense: str) -> list[str]:
    """A rotor that sits where the map now turns the other way is a finding, and on hold."""
    said = []
    for one in sets_at(act, position):
        if one.sense == sense:
            continue
        text = f"{one.code} ({one.sense}) sits at {airframe.tail} {position.name}, which turns {sense} by the revised map"
        open_finding(
            act, text, frame=airframe, position=position, rotor_set=one, job=open_job_of(act, airframe)
        )
        hold = hold_set(act, one, reason=f"wrong sense by the revised map of {airframe.tail}")
        said.append(f"{text}: take it off; it is on hold under {hold}.")
    return said


def _unapproved(act: Act, airframe: Airframe, position: Position, sense: str) -> list[str]:
    approved = act.select(ApprovedPart, "type_position_id = ? AND active = 1", position.type_position_id)
    if any(act.get(Part, row.part_id).sense == sense for row in approved):
        return []
    return [
        f"No approved part turns {sense} at {airframe.tail} {position.name}, so nothing can be fitted there; "
        "have one approved for the type revision."
    ]


@desk.done_by("technician", "inspector")
def record_motor_test(
    store: Store,
    *,
    airframe: str,
    seen: Mapping[str, str],
    source: str,
    by: str,
    second: str,
    at: datetime,
    key: str = "",
) -> Done:
    """Record which way every motor turned, rotors off. Where all agree with the map, it is verified (R17).

    Args:
        seen: the sense seen from above at every position, by its name, alias or code.
        source: the test's record or procedure.
        by: the technician or inspector who made the test.
        second: the second person who watched it (R8).

    Returns:
        `said` begins with "STOP" where a motor turned otherwise: then the map is not verified and each
        difference is a finding that blocks the airframe's jobs.
    """
    desk.require_text(source=source)
    with store.act(MOTOR_TEST, by=by, at=at, second=second, reason=source, key=key) as act:
        found = find_airframe(act, airframe)
        require(
            desk.check_done_by(act, record_motor_test),
            desk.check_second(first=act.by, second=act.second, what="a motor test"),
            check_in_fleet(found),
        )
        wanted = named_senses(act, found, seen, whole=True)
        senses = mapped_senses(act, found)
        wrong = {name: sense for name, sense in wanted.items() if senses.get(name) != sense}
        act.note("motor test", airframe=found.code, seen=wanted)
        said = _stop(act, found, wrong, senses) if wrong else _verify(act, found)
    return Done(act.event_id, (found.code,), tuple(said))


def _verify(act: Act, airframe: Airframe) -> list[str]:
    current = _current_map(act, airframe)
    act.update(current, verified_event_id=act.event_id, cleared_event_id=None)
    said = [f"{airframe.tail}: map revision {current.revision} is verified by motor test."]
    for finding in _test_findings(act, airframe):
        act.update(
            finding, settled_event_id=act.event_id, settlement="a later motor test agrees with the map"
        )
        said.append(f"Finding {finding.id} is settled: the motors turn as the map says.")
    return said


def _stop(act: Act, airframe: Airframe, wrong: Mapping[str, str], senses: Mapping[str, str]) -> list[str]:
    _clear(act, airframe)
    said = []
    for position in positions_in_use(act, airframe):
        if position.name in wrong:
            text = (
                f"motor test: {airframe.tail} {position.name} turned {wrong[position.name]}, "
                f"and the map says {senses.get(position.name, 'nothing')}"
            )
            open_finding(act, text, frame=airframe, position=position, job=open_job_of(act, airframe))
            said.append(f"STOP: {text}; put the wiring right or have the map revised, then test again.")
    return said


def _test_findings(read: Reading, airframe: Airframe) -> list[Finding]:
    of_tests = "SELECT id FROM event WHERE act = ?"
    return read.select(
        Finding,
        f"airframe_id = ? AND settled_event_id IS NULL AND event_id IN ({of_tests})",
        airframe.id,
        MOTOR_TEST,
    )


@desk.done_by("technician", "inspector", "manager")
def record_motor_work(
    store: Store,
    *,
    airframe: str,
    work: str,
    positions: Sequence[str],
    reason: str,
    by: str,
    at: datetime,
    key: str = "",
) -> Done:
    """Record work on a motor, its wiring or its speed controller: the map is no longer verified (R17).

    Args:
        work: "motor", "wiring" or "speed controller".
        positions: where, by name, alias or code; none for the whole airframe.
        reason: what was done.
    """
    desk.require_text(reason=reason)
    if work not in WORK:
        raise BadInput(f"{work!r} is no motor work; one of: {', '.join(WORK)}", field="work")
    with store.act("record motor work", by=by, at=at, reason=reason, key=key) as act:
        found = find_airframe(act, airframe)
        require(desk.check_done_by(act, record_motor_work), check_in_fleet(found))
        at_names = list(named_senses(act, found, dict.fromkeys(positions, "CW"), whole=False))
        act.note("motor work", airframe=found.code, work=work, positions=at_names)
        was_verified = _clear(act, found)
        jobs = open_jobs(act, airframe=found)
    where = f" at {', '.join(at_names)}" if at_names else ""
    said = [
        f"{found.tail}: {work} work{where} recorded; the map is not verified, make a motor test with rotors off."
    ]
    if was_verified:
        said += [f"Job {job.code} can't close before that." for job in jobs]
    return Done(act.event_id, (found.code,), tuple(said))


def _clear(act: Act, airframe: Airframe) -> bool:
    current = _current_map(act, airframe)
    if current.verified:
        act.update(current, cleared_event_id=act.event_id)
        return True
    return False


def _current_map(read: Reading, airframe: Airframe) -> SenseMap:
    return read.get(SenseMap, airframe.sense_map_id or 0)
