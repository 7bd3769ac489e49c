"""What sits where on an airframe, what map and marks say, and how far its jobs are; read in any transaction.

Source: design R3, R10, R11, R17.
"""

from dataclasses import dataclass

from kittrack.domain import codes
from kittrack.domain.fit import SenseReading, Unsettled
from kittrack.domain.spin import Sense
from kittrack.errors import NotFound
from kittrack.store.act import Reading
from kittrack.store.numbers import not_held
from kittrack.store.records import (
    Airframe,
    Event,
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
    TorqueRecord,
    TypePosition,
    TypeRevision,
    UsageReading,
)
from kittrack.store.stock import chain, containers_in, directly_in


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
    airframe = read.get(Airframe, position.airframe_id)
    type_position = read.get(TypePosition, position.type_position_id)
    mapped, map_revision = None, 0
    if airframe.sense_map_id is not None:
        map_revision = read.get(SenseMap, airframe.sense_map_id).revision
        line = read.find(SenseMapLine, sense_map_id=airframe.sense_map_id, position_id=position.id)
        mapped = Sense(line.sense) if line else None
    return Spot(
        position=position, airframe=airframe, revision=read.get(TypeRevision, airframe.type_revision_id),
        type_position=type_position, fixing=read.get(HubFixing, type_position.hub_fixing_id),
        mapped=mapped, map_revision=map_revision,
    )  # fmt: skip


def sets_at(read: Reading, position: Position) -> list[RotorSet]:
    """The rotor sets that the record holds at a position: none or one."""
    found = [read.find(RotorSet, place_id=place) for place in containers_in(read, position.place_id)]
    return [one for one in found if one is not None]


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


def workers_on(read: Reading, fit: FitRecord) -> list[Person]:
    """Who worked on a fit: who began it, then who fastened it; the badge that was used, each once."""
    torques = read.select(TorqueRecord, "fit_record_id = ? AND purpose = 'fit'", fit.id)
    people = [fit.fitted_by_id, *(read.get(Event, t.event_id).by_id for t in torques)]
    return [read.get(Person, who) for who in dict.fromkeys(people)]


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
        "airframe_id = ? AND event_id <= ?",
        position.airframe_id,
        arrived or 0,
        order="id DESC",
        limit=1,
    )
    return (readings[0].minutes, readings[0].flights) if readings else (None, None)


def job_position(read: Reading, job: Job, position: Position) -> JobPosition | None:
    """How far a job is at a position; None where it isn't part of the job."""
    return read.find(JobPosition, job_id=job.id, position_id=position.id)


def job_states(read: Reading, job: Job) -> list[tuple[Position, JobPosition]]:
    """Every position of a job with its state, in the order of the airframe."""
    rows = read.select(JobPosition, "job_id = ?", job.id)
    return sorted(((read.get(Position, r.position_id), r) for r in rows), key=lambda pair: pair[0].id)


def open_job_of(read: Reading, airframe: Airframe) -> Job | None:
    """The oldest open job of an airframe, or None."""
    return read.find(Job, airframe_id=airframe.id, state="open")


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


def unsettled(read: Reading, job: Job) -> Unsettled:
    """Everything that stands between a job and its end."""
    frame = read.get(Airframe, job.airframe_id)
    current = read.get(SenseMap, frame.sense_map_id) if frame.sense_map_id is not None else None
    return Unsettled(
        job=job.code,
        positions=tuple(
            (f"{frame.tail} {position.name}", row.state) for position, row in job_states(read, job)
        ),
        left_over=tuple(left_over(read, job)),
        map_verified=current is not None and current.verified,
        findings=tuple(f"{f.id}: {f.text}" for f in open_findings(read, job)),
    )


def left_over(read: Reading, job: Job) -> list[str]:
    """What was issued to a job and is not settled, each named by code and quantity (R11)."""
    found = []
    for place_id in containers_in(read, job.place_id):
        one = read.find(RotorSet, place_id=place_id)
        found += [f"rotor set {one.code}"] if one and one.state == "complete" else []
    for item in directly_in(read, job.place_id):
        line = read.get(ReceiptLine, item.receipt_line_id)
        part = read.get(Part, line.part_id)
        code = read.get(Piece, item.piece_id).code if item.piece_id else line.code
        amount = f"{item.quantity / 1000:g} mL" if part.unit == "volume_ul" else str(item.quantity)
        found.append(f"{amount} of {part.number} ({code})")
    return found
