"""How far jobs are: the next step, what is still owed, every reason against closing, and open findings.

What one shift leaves half done shows here to whoever reads it next. Source: design 7 (Aircraft), R3, R10, R11.
"""

from dataclasses import dataclass

from kittrack.domain import codes
from kittrack.domain.fit import Unsettled, check_closing, next_step
from kittrack.errors import Refusal
from kittrack.store.act import Reading
from kittrack.store.aircraft_facts import unsettled
from kittrack.store.database import Store
from kittrack.store.job_facts import check_kits_back, kits_issued
from kittrack.store.numbers import not_held
from kittrack.store.records import Airframe, Job


@dataclass(frozen=True)
class JobStanding:
    """How far a job is: its next step, and every reason against closing it."""

    job: str
    airframe: str
    tail: str
    purpose: str
    state: str
    positions: tuple[tuple[str, str], ...]
    owed: tuple[str, ...]
    next_step: str
    reasons: tuple[Refusal, ...]


@dataclass(frozen=True)
class OpenFinding:
    """A finding that nobody has settled yet."""

    finding: int
    airframe: str
    position: str
    rotor_set: str
    job: str
    text: str
    at: str
    by: str


def standing(store: Store, job: str) -> JobStanding:
    """How far a job is, what it still holds, its next step, and every reason against closing it.

    Raises:
        NotFound: no job is known under the code.
    """
    with store.reading() as read:
        return _standing(read, _find_job(read, job))


def open_jobs(store: Store) -> tuple[JobStanding, ...]:
    """Every open job, oldest first: what the next shift has to know."""
    with store.reading() as read:
        return tuple(_standing(read, job) for job in read.select(Job, "state = 'open'"))


def newest_open_jobs(store: Store, *, most: int) -> tuple[JobStanding, ...]:
    """The newest open jobs, at the most so many, in the order in which they were opened."""
    with store.reading() as read:
        newest = read.select(Job, "state = 'open'", order="id DESC", limit=most)
        return tuple(_standing(read, job) for job in reversed(newest))


def findings(store: Store) -> tuple[OpenFinding, ...]:
    """Every finding that nobody has settled, oldest first."""
    rows = (
        "SELECT f.id, coalesce(a.tail, ''), coalesce(p.name, ''), coalesce(s.code, ''), coalesce(j.code, ''), f.text, e.at, w.name "
        "FROM finding f JOIN event e ON e.id = f.event_id JOIN person w ON w.id = e.by_id "
        "LEFT JOIN airframe a ON a.id = f.airframe_id LEFT JOIN position p ON p.id = f.position_id "
        "LEFT JOIN rotor_set s ON s.id = f.rotor_set_id LEFT JOIN job j ON j.id = f.job_id "
        "WHERE f.settled_event_id IS NULL ORDER BY f.id"
    )
    with store.reading() as read:
        return tuple(OpenFinding(*row) for row in read.rows(rows))


def _find_job(read: Reading, text: str) -> Job:
    code = codes.read_code(text, expect=codes.Kind.JOB).text
    found = read.find(Job, code=code)
    if found is None:
        raise not_held(read, code)
    return found


def _standing(read: Reading, job: Job) -> JobStanding:
    facts: Unsettled = unsettled(read, job)
    frame = read.get(Airframe, job.airframe_id)
    is_open = job.state == "open"
    return JobStanding(
        job=job.code, airframe=frame.code, tail=frame.tail, purpose=job.purpose, state=job.state,
        positions=facts.positions, owed=facts.left_over, next_step=next_step(facts) if is_open else f"{job.code} is closed.",
        reasons=(*check_closing(facts), *check_kits_back(kits_issued(read, job))) if is_open else (),
    )  # fmt: skip
