"""What sits where on an airframe, what map and marks say, and how far its jobs are; read in any transaction.

Source: design R3, R10, R11, R17.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from kittrack.domain import codes
from kittrack.domain.fit import SenseReading, Unsettled
from kittrack.domain.spin import Sense
from kittrack.errors import NotFound
from kittrack.store.act import Reading
from kittrack.store.job_facts import COVERED
from kittrack.store.kit_facts import marks
from kittrack.store.numbers import not_held
from kittrack.store.records import (
    Airframe,
    Finding,
    FitRecord,
    HubFixing,
    Job,
    JobPosition,
    Part,
    PartMark,
    Person,
    Piece,
    Position,
    ReceiptLine,
    RotorSet,
    SenseMap,
    SenseMapLine,
    TypePosition,
    TypeRevision,
    UsageReading,
)
from kittrack.store.reversals import not_reversed
from kittrack.store.stock import chain, directly_in
from kittrack.store.tables import columns
from kittrack.store.tightening_facts import tightened_otherwise


@dataclass(frozen=True)
class Spot:
    """A position of an airframe with everything that decides what belongs there."""

    position: Position
    airframe: Airframe
    revision: TypeRevision
    type_position: TypePosition
    fixing: HubFixing
    mapped: Sense | None
    map_revision: int

    @property
    def name(self) -> str:
        """The position as a person names it: tail and position."""
        return f"{self.airframe.tail} {self.position.name}"


def find_airframe(read: Reading, text: str) -> Airframe:
    """The airframe of a scanned code or an exact tail."""
    if codes.looks_like_code(text):
        code = codes.read_code(text, expect=codes.Kind.AIRFRAME).text
        found = read.find(Airframe, code=code)
        if found is None:
            raise not_held(read, code)
    else:
        found = read.find(Airframe, tail=text.strip())
    if found is None:
        raise NotFound(f"no airframe is known as {text.strip()!r}; scan its tag or add it to the catalogue")
    return found


def spot_of(read: Reading, position: Position) -> Spot:
    """A position with its airframe, fixing and the sense that the airframe's current map gives it."""
    return spots_of(read, [position])[0]


def spots_of(read: Reading, positions: Sequence[Position]) -> list[Spot]:
    """Positions with what `spot_of` says of each, in the order given; what they share is asked for once."""
    frames = read.get_all(Airframe, (p.airframe_id for p in positions))
    maps = read.get_all(SenseMap, (f.sense_map_id for f in frames.values() if f.sense_map_id is not None))
    lines = read.select(
        SenseMapLine, f"sense_map_id IN ({marks([*maps])}) AND position_id IN ({marks(positions)})",
        *maps, *(p.id for p in positions),
    )  # fmt: skip
    senses = {line.position_id: Sense(line.sense) for line in lines}
    revisions = read.get_all(TypeRevision, (f.type_revision_id for f in frames.values()))
    kinds = read.get_all(TypePosition, (p.type_position_id for p in positions))
    fixings = read.get_all(HubFixing, (k.hub_fixing_id for k in kinds.values()))
    return [
        Spot(
            position=p, airframe=frame, revision=revisions[frame.type_revision_id], type_position=kind,
            fixing=fixings[kind.hub_fixing_id], mapped=senses.get(p.id),
            map_revision=maps[frame.sense_map_id].revision if frame.sense_map_id is not None else 0,
        )
        for p in positions
        for frame, kind in [(frames[p.airframe_id], kinds[p.type_position_id])]
    ]  # fmt: skip


def sets_at(read: Reading, position: Position) -> list[RotorSet]:
    """The rotor sets that the record holds at a position: none or one."""
    return sets_inside(read, [position.place_id])[position.place_id]


def sets_inside(read: Reading, place_ids: Iterable[int]) -> dict[int, list[RotorSet]]:
    """The rotor sets directly inside each of some places, in the order of their places."""
    found: dict[int, list[RotorSet]] = {place_id: [] for place_id in place_ids}
    for place_id, *row in read.rows(
        f"SELECT c.inside_id, {', '.join(f's.{name}' for name in columns(RotorSet))} FROM containment c "
        f"JOIN rotor_set s ON s.place_id = c.container_id WHERE c.inside_id IN ({marks([*found])}) "
        "ORDER BY c.container_id",
        *found,
    ):
        found[place_id].append(RotorSet(**dict(zip(columns(RotorSet), row, strict=True))))
    return found


def position_holding(read: Reading, rotor_set: RotorSet) -> Position | None:
    """The position that a set is fitted on, or None."""
    for place in chain(read, rotor_set.place_id):
        if place.kind == "position":
            return read.find(Position, place_id=place.id)
    return None


def current_fit(read: Reading, position: Position) -> FitRecord | None:
    """The record of what was last fitted at a position, if it has not come off since."""
    found = read.select(
        FitRecord, "position_id = ? AND state <> 'removed'", position.id, order="id DESC", limit=1
    )
    return found[0] if found else None


def fits_of(read: Reading, there: Mapping[int, RotorSet]) -> dict[int, FitRecord]:
    """The fits by which sets came to where they are; left out where the record of one came there without a fit.

    They are found by their sets, which are fitted a few times in their lives; a position is fitted for ever.

    Args:
        read: the transaction.
        there: the set on each position, by the id of the position; the answer has the same ids.
    """
    sets = {one.id: position for position, one in there.items()}
    found = read.select(FitRecord, f"rotor_set_id IN ({marks([*sets])}) AND state <> 'removed'", *sets)
    return {fit.position_id: fit for fit in found if sets[fit.rotor_set_id] == fit.position_id}


def workers_on(read: Reading, fit: FitRecord) -> list[Person]:
    """Who worked on a fit: who began it, then who fastened it; the badge that was used, each once."""
    return workers_on_each(read, [fit])[fit.id]


def workers_on_each(read: Reading, fits: Sequence[FitRecord]) -> Mapping[int, list[Person]]:
    """What `workers_on` says, by the id of the fit."""
    badges = {fit.id: [fit.fitted_by_id] for fit in fits}
    for fit_id, by_id in read.rows(
        "SELECT t.fit_record_id, e.by_id FROM torque_record t JOIN event e ON e.id = t.event_id "
        f"WHERE t.purpose = 'fit' AND t.fit_record_id IN ({marks(fits)}) ORDER BY t.id",
        *badges,
    ):
        badges[fit_id].append(by_id)
    people = read.get_all(Person, (by_id for ids in badges.values() for by_id in ids))
    return {fit_id: [people[by_id] for by_id in dict.fromkeys(ids)] for fit_id, ids in badges.items()}


def reading_at_start(
    read: Reading, rotor_set: RotorSet, position: Position, record: FitRecord | None
) -> tuple[int | None, int | None]:
    """The airframe's minutes and flights from which a set's service at a position counts; None is unknown.

    Without a fit on record it is the reading at which the record of the set came there, by a finding or at the
    opening of the books.
    """
    if record is not None:
        return record.airframe_minutes, record.airframe_flights
    arrived = read.value(
        "SELECT max(event_id) FROM movement WHERE container_id = ? AND to_place_id = ?",
        rotor_set.place_id,
        position.place_id,
    )
    readings = read.select(
        UsageReading,
        f"airframe_id = ? AND event_id <= ? AND {not_reversed('usage_reading.event_id')}",
        position.airframe_id,
        arrived or 0,
        order="id DESC",
        limit=1,
    )
    return (readings[0].minutes, readings[0].flights) if readings else (None, None)


def job_position(read: Reading, job: Job, position: Position) -> JobPosition | None:
    """How far a job is at a position; None where it isn't part of the job."""
    rows = read.select(JobPosition, f"job_id = ? AND position_id = ? AND {COVERED}", job.id, position.id)
    return rows[0] if rows else None


def job_states(read: Reading, job: Job) -> list[tuple[Position, JobPosition]]:
    """Every position of a job with its state, in the order of the airframe."""
    rows = read.select(JobPosition, f"job_id = ? AND {COVERED}", job.id)
    positions = read.get_all(Position, (r.position_id for r in rows))
    return sorted(((positions[r.position_id], r) for r in rows), key=lambda pair: pair[0].id)


def open_job_of(read: Reading, airframe: Airframe) -> Job | None:
    """The oldest open job of an airframe, or None."""
    # Where one row is asked for, PostgreSQL's plan for any airframe reads all jobs from the first one on.
    return next(iter(read.select(Job, "airframe_id = ? AND state = 'open'", airframe.id)), None)


def open_findings(read: Reading, job: Job) -> list[Finding]:
    """The unsettled findings that block a job: its own and its airframe's."""
    return read.select(
        Finding, "settled_event_id IS NULL AND (job_id = ? OR airframe_id = ?)", job.id, job.airframe_id
    )


def sense_of_mark(read: Reading, part: Part, mark: str) -> Sense | None:
    """The sense that a part's current table of marks gives to a mark, None where it has no such mark (R2)."""
    found = read.find(PartMark, part_id=part.id, revision=part.mark_revision, mark=mark.strip())
    return Sense(found.sense) if found else None


def sense_reading(
    read: Reading,
    spot: Spot,
    rotor_set: RotorSet,
    mark: str,
    *,
    is_fitted: bool = False,
    came_off: bool = False,
) -> SenseReading:
    """What map, label and mark say of a set at a position (R3)."""
    part = read.get(Part, rotor_set.part_id)
    return SenseReading(
        position=spot.name, rotor=rotor_set.code, label=Sense(rotor_set.sense), mark=mark.strip(),
        marked=sense_of_mark(read, part, mark), mapped=spot.mapped, is_fitted=is_fitted,
        came_off=came_off,
    )  # fmt: skip


@dataclass(frozen=True)
class Loose:
    """Stock that was issued to a job, in no rotor set: a receipt line or a piece of it, by its code."""

    code: str
    part: Part
    quantity: int
    unit: str


@dataclass(frozen=True)
class JobWork:
    """A job as far as it is: its positions in the order of the airframe, and what was issued and is not settled."""

    job: Job
    airframe: Airframe
    sense_map: SenseMap | None
    states: list[tuple[Position, JobPosition]]
    sets: list[RotorSet]
    loose: list[Loose]
    findings: list[Finding]
    tightened_otherwise: tuple[tuple[str, str], ...]

    @property
    def unsettled(self) -> Unsettled:
        """Everything that stands between the job and its end."""
        return Unsettled(
            job=self.job.code,
            positions=tuple((f"{self.airframe.tail} {p.name}", row.state) for p, row in self.states),
            left_over=tuple(self._left_over()),
            map_verified=self.sense_map is not None and self.sense_map.verified,
            findings=tuple(f"{f.id}: {f.text}" for f in self.findings),
            tightened_otherwise=self.tightened_otherwise,
        )

    def _left_over(self) -> Iterator[str]:
        """What was issued to the job and is not settled, each named by code and quantity (R11)."""
        yield from (f"rotor set {one.code}" for one in self.sets if one.state == "complete")
        for item in self.loose:
            amount = f"{item.quantity / 1000:g} mL" if item.part.unit == "volume_ul" else str(item.quantity)
            yield f"{amount} of {item.part.number} ({item.code})"


def work_on(read: Reading, job: Job) -> JobWork:
    """How far a job is."""
    frame = read.get(Airframe, job.airframe_id)
    return JobWork(
        job=job, airframe=frame,
        sense_map=read.get(SenseMap, frame.sense_map_id) if frame.sense_map_id is not None else None,
        states=job_states(read, job), sets=sets_inside(read, [job.place_id])[job.place_id],
        loose=_loose_in(read, job), findings=open_findings(read, job),
        tightened_otherwise=tightened_otherwise(read, job.id),
    )  # fmt: skip


def unsettled(read: Reading, job: Job) -> Unsettled:
    """Everything that stands between a job and its end."""
    return work_on(read, job).unsettled


def _loose_in(read: Reading, job: Job) -> list[Loose]:
    stock = directly_in(read, job.place_id)
    lines = read.get_all(ReceiptLine, (s.receipt_line_id for s in stock))
    parts = read.get_all(Part, (line.part_id for line in lines.values()))
    pieces = read.get_all(Piece, (s.piece_id for s in stock if s.piece_id))
    return [
        Loose(
            pieces[s.piece_id].code if s.piece_id else line.code, parts[line.part_id], s.quantity, line.unit
        )
        for s in stock
        for line in [lines[s.receipt_line_id]]
    ]
