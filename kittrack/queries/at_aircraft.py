"""An airframe and its open job as the technician sees them: every position, what is there, how far it is.

Source: design 7 (Aircraft), R3, R10, R11, R17.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TypeVar

from kittrack.domain import codes, fit
from kittrack.domain.fit import Unsettled
from kittrack.domain.kit_checks import NEXT_STEP
from kittrack.errors import NotFound, Refusal
from kittrack.queries.due import due_at
from kittrack.store.act import Reading
from kittrack.store.aircraft_facts import (
    JobWork,
    Spot,
    find_airframe,
    fits_of,
    open_job_of,
    sets_inside,
    spots_of,
    work_on,
    workers_on_each,
)
from kittrack.store.aircraft_holds import holds_on
from kittrack.store.database import Store
from kittrack.store.job_facts import open_voucher
from kittrack.store.kit_facts import revision_name
from kittrack.store.numbers import not_held
from kittrack.store.records import (
    Airframe,
    FitRecord,
    Job,
    Kit,
    Part,
    Person,
    Position,
    RotorSet,
    SenseMap,
    TypeRevision,
)

T = TypeVar("T")


@dataclass(frozen=True)
class PositionView:
    """One position: what belongs there, what sits there by the record, and how far the job is.

    `sense` is that of the airframe's current map, "" where it names none. `state` is the job's state of the
    position, "" where the job does not cover it. `agrees` is False where the fitted set has another sense. `worked_by` names who fitted and fastened what sits there.
    `comes_back` is the set that was taken off a bare position for transport and belongs back on it, "" otherwise. `angle_mdeg` counts clockwise from the nose, seen from above.
    """

    code: str
    name: str
    alias: str
    level: str
    sense: str
    angle_mdeg: int
    radius_um: int
    state: str
    fitted: str
    fitted_part: str
    fitted_sense: str
    agrees: bool
    fit_state: str
    worked_by: tuple[str, ...]
    comes_back: str = ""


@dataclass(frozen=True)
class KitForJob:
    """A kit that waits for a job: `issued` and unopened with `where` a person, or sealed and kept for it in a place."""

    code: str
    is_issued: bool
    where: str
    until: str = ""


@dataclass(frozen=True)
class InJob:
    """Something that was issued to a job and is not settled: a rotor set, or an amount of a receipt line or bottle."""

    code: str
    kind: str
    part: str
    sense: str
    quantity: int
    unit: str


@dataclass(frozen=True)
class AircraftView:
    """An airframe with its open job, if it has one (`job` is "" otherwise).

    `next_position` is the code of the position that `next_step` is about, "" where it is about none.
    `next_act` names the same step for a screen: one of "open a job", "finding", "position", "torque again",
    "motor test", "walk", "left over", "close", or "" for a closed job. `kits` are those that wait to be opened for it.
    `retorque_minutes` is the interval of the type revision, None where it states none. `holds` tells each open
    hold on a set that sits there, on one of its blades, or on what fastens it, with the positions. `retorque_due` names the positions whose screws are to be
    torqued again by now.
    """

    code: str
    tail: str
    revision: str
    state: str
    map_revision: int
    map_verified: bool
    job: str
    purpose: str
    job_state: str
    positions: tuple[PositionView, ...]
    in_job: tuple[InJob, ...]
    findings: tuple[str, ...]
    against_closing: tuple[Refusal, ...]
    next_step: str
    next_position: str
    next_act: str
    kits: tuple[KitForJob, ...] = ()
    retorque_minutes: int | None = None
    holds: tuple[str, ...] = ()
    retorque_due: tuple[str, ...] = ()


def aircraft_view(store: Store, *, code: str) -> AircraftView:
    """The airframe of a scan: of its own tag or tail, of its job, of one of its positions, or of the kit that is out for it.

    Raises:
        NotFound: the store holds nothing under it, or the kit is out for no job.
        BadInput: the code does not check.
    """
    with store.reading() as read:
        frame, job = _frame_and_job(read, code)
        return _view(read, frame, job)


def _frame_and_job(read: Reading, text: str) -> tuple[Airframe, Job | None]:
    kind = codes.read_code(text).kind if codes.looks_like_code(text) else None
    if kind is codes.Kind.JOB:
        job = read.find(Job, code=codes.read_code(text).text)
        return read.get(Airframe, _found(read, job, text).airframe_id), job
    if kind is codes.Kind.KIT:
        job = _job_of_kit(read, text)
        return read.get(Airframe, job.airframe_id), job
    if kind is codes.Kind.POSITION:
        position = read.find(Position, code=codes.read_code(text).text)
        frame = read.get(Airframe, _found(read, position, text).airframe_id)
    else:
        frame = find_airframe(read, text)
    return frame, open_job_of(read, frame)


def _job_of_kit(read: Reading, text: str) -> Job:
    kit = _found(read, read.find(Kit, code=codes.read_code(text).text), text)
    voucher = open_voucher(read, kit)
    if voucher is None:
        raise NotFound(f"{kit.code} is {kit.state} and out for no job; {NEXT_STEP[kit.state]}.")
    return read.get(Job, voucher.job_id)


def _found(read: Reading, thing: T | None, text: str) -> T:
    if thing is None:
        raise not_held(read, text)
    return thing


def _view(read: Reading, frame: Airframe, job: Job | None) -> AircraftView:
    current = read.get(SenseMap, frame.sense_map_id) if frame.sense_map_id is not None else None
    places = read.select(Position, "airframe_id = ? AND active = 1", frame.id)
    work = work_on(read, job) if job else None
    sets = sets_inside(read, (p.place_id for p in places))
    there = {p.id: sets[p.place_id][0] for p in places if sets[p.place_id]}
    spots, fits = spots_of(read, places), fits_of(read, there)
    positions = _positions(read, spots, work, there, fits)
    facts = work.unsettled if work else None
    is_open = job is not None and job.state == "open"
    return AircraftView(
        code=frame.code, tail=frame.tail, revision=revision_name(read, frame.type_revision_id), state=frame.state,
        map_revision=current.revision if current else 0, map_verified=current is not None and current.verified,
        job=job.code if job else "", purpose=job.purpose if job else "", job_state=job.state if job else "",
        positions=positions, in_job=_in_job(read, work) if work else (),
        findings=facts.findings if facts else (),
        against_closing=tuple(fit.check_closing(facts)) if facts and is_open else (),
        next_step=_next_step(facts, is_open=is_open),
        next_position=_next_position(positions, facts) if is_open else "",
        next_act=_next_act(facts, is_open=is_open),
        kits=_kits(read, job) if job and is_open else (),
        retorque_minutes=read.get(TypeRevision, frame.type_revision_id).retorque_minutes, holds=holds_on(read, places, sets),
        retorque_due=due_at(read, [spot for spot in spots if sets[spot.position.place_id]], fits),
    )  # fmt: skip


def _kits(read: Reading, job: Job) -> tuple[KitForJob, ...]:
    """The kits that are out for a job and unopened, then those that are kept for it."""
    waiting = (
        "SELECT 1 AS issued, k.code, p.name, '' FROM voucher v JOIN kit k ON k.id = v.kit_id "
        "JOIN person p ON p.id = v.receiver_id WHERE v.job_id = ? AND v.state = 'open' AND k.state = 'issued' "
        "UNION ALL SELECT 0, k.code, x.name, r.until_on FROM reservation r JOIN kit k ON k.id = r.kit_id "
        "JOIN containment c ON c.container_id = k.place_id JOIN place x ON x.id = c.inside_id "
        "WHERE r.job_id = ? AND r.state = 'active' AND k.state = 'sealed' ORDER BY 1 DESC, 2"
    )
    return tuple(
        KitForJob(code, is_issued=bool(issued), where=where, until=until)
        for issued, code, where, until in read.rows(waiting, job.id, job.id)
    )


def _next_step(facts: Unsettled | None, *, is_open: bool) -> str:
    if facts is None:
        return "Next: open a job for it."
    return fit.next_step(facts) if is_open else "This job is closed."


def _next_act(facts: Unsettled | None, *, is_open: bool) -> str:
    """What `fit.next_step` says, as one word; the order of the two is the same."""
    if facts is None:
        return "open a job"
    states = {state for _, state in facts.positions}
    steps = (
        ("", not is_open),
        ("finding", bool(facts.findings)),
        ("position", bool(states - {"inspected", "walked"})),
        ("torque again", bool(facts.tightened_otherwise)),
        ("motor test", not facts.map_verified),
        ("walk", "inspected" in states),
        ("left over", bool(facts.left_over)),
    )
    return next((name for name, holds in steps if holds), "close")


def _next_position(positions: tuple[PositionView, ...], facts: Unsettled | None) -> str:
    """The position to take next: what is half done first, as `fit.next_step` has it."""
    for state in ("not finished", "fitted", "bare", "to do"):
        for position in positions:
            if position.state == state:
                return position.code
    again = [name for name, _ in facts.tightened_otherwise] if facts else []
    return next((p.code for p in positions for name in again[:1] if name.endswith(f" {p.name}")), "")


def _positions(
    read: Reading, spots: Sequence[Spot], work: JobWork | None, there: Mapping[int, RotorSet],
    fits: Mapping[int, FitRecord],
) -> tuple[PositionView, ...]:  # fmt: skip
    """What belongs on each position, what sits there and who worked on it; asked for all of them together."""
    workers = workers_on_each(read, [*fits.values()])
    parts = read.get_all(Part, (one.part_id for one in there.values()))
    states = {position.id: row.state for position, row in work.states} if work else {}
    back = _coming_back(read, [at for at, state in states.items() if state == "bare"])
    return tuple(
        _position(spot, states.get(at, ""), there.get(at), parts, fits.get(at), workers, back.get(at, ""))
        for spot in spots
        for at in [spot.position.id]
    )


def _position(
    spot: Spot, state: str, on: RotorSet | None, parts: Mapping[int, Part],
    record: FitRecord | None, workers: Mapping[int, Sequence[Person]],
    comes_back: str,
) -> PositionView:  # fmt: skip
    kind = spot.type_position
    return PositionView(
        code=spot.position.code, name=spot.position.name, alias=kind.alias, level=kind.level, sense=str(spot.mapped or ""),
        angle_mdeg=kind.angle_mdeg, radius_um=kind.radius_um, state=state, fitted=on.code if on else "",
        fitted_part=parts[on.part_id].number if on else "", fitted_sense=on.sense if on else "",
        agrees=on is None or on.sense == spot.mapped,
        fit_state=record.state if record else "",
        worked_by=tuple(p.name for p in workers[record.id]) if record else (), comes_back=comes_back,
    )  # fmt: skip


def _coming_back(read: Reading, bare: Sequence[int]) -> Mapping[int, str]:
    """By bare position, the set that was taken off it for transport and is bound to it still."""
    if not bare:
        return {}
    rows = read.rows(
        "SELECT m.position_id, s.code FROM removal m JOIN rotor_set s ON s.id = m.rotor_set_id "
        f"WHERE m.position_id IN ({', '.join('?' * len(bare))}) AND s.bound_position_id = m.position_id ORDER BY m.id",
        *bare,
    )
    return dict(rows)


def _in_job(read: Reading, work: JobWork) -> tuple[InJob, ...]:
    parts = read.get_all(Part, (one.part_id for one in work.sets))
    whole = [one for one in work.sets if one.state == "complete"]
    found = [InJob(s.code, "rotor set", parts[s.part_id].number, s.sense, 1, "pieces") for s in whole]
    found += [
        InJob(one.code, one.part.kind, one.part.number, "", one.quantity, one.unit) for one in work.loose
    ]
    return tuple(sorted(found, key=lambda one: (one.kind != "rotor set", one.part, one.code)))
