"""What every act at an aircraft asks: what a scan means, who worked there, and what blocks its job.

What is read of an airframe stands in store/aircraft_facts.py and is named here too. Source: design R3, R8, R10.
"""

from kittrack.domain import codes
from kittrack.domain.fit import next_step
from kittrack.domain.rules import Rule
from kittrack.errors import NotFound, Refusal
from kittrack.services import desk
from kittrack.store.act import Act, Reading
from kittrack.store.aircraft_facts import (
    Spot,
    current_fit,
    find_airframe,
    job_position,
    job_states,
    open_findings,
    open_job_of,
    position_holding,
    sense_of_mark,
    sense_reading,
    sets_at,
    spot_of,
    spots_of,
    unsettled,
    workers_on,
)
from kittrack.store.numbers import not_held
from kittrack.store.records import (
    Airframe,
    FitRecord,
    Job,
    JobPosition,
    Person,
    Position,
    Tool,
)

__all__ = [
    "Spot", "check_job_at", "check_no_findings", "current_fit", "find_airframe", "find_position", "find_spot",
    "find_tool", "fitters", "human", "job_position", "job_states", "local_day_text", "next_of", "open_findings",
    "open_job_of", "position_holding", "reopen_walk", "sense_of_mark", "sense_reading", "set_state", "sets_at",
    "spot_of", "spots_of", "unsettled",
]  # fmt: skip


def find_position(read: Reading, text: str) -> Position:
    """The position of a scanned code."""
    code = codes.read_code(text, expect=codes.Kind.POSITION).text
    found = read.find(Position, code=code)
    if found is None:
        raise not_held(read, code)
    if not found.active:
        raise NotFound(f"no position in use has the code {code}; scan the tag on the arm")
    return found


def find_spot(read: Reading, text: str) -> Spot:
    """The position of a scanned code with its airframe, fixing and mapped sense."""
    return spot_of(read, find_position(read, text))


def find_tool(read: Reading, text: str) -> Tool:
    """The tool of a scanned code or an exact name."""
    if codes.looks_like_code(text):
        found = read.find(Tool, code=codes.read_code(text, expect=codes.Kind.TOOL).text)
    else:
        found = read.find(Tool, name=text.strip())
    if found is None:
        raise NotFound(f"no tool is known as {text.strip()!r}; scan its tag or add it to the catalogue")
    return found


def fitters(read: Reading, fit: FitRecord) -> tuple[int, ...]:
    """The humans who worked on a fit: who began it and who fastened it, by one number for all badges."""
    return tuple(dict.fromkeys(human(person) for person in workers_on(read, fit)))


def human(person: Person) -> int:
    """One number for all badges of a person."""
    return person.same_human_as_id or person.id


# ---- map, marks, and what blocks ---------------------------------------------------------------


def set_state(act: Act, job: Job, spot: Spot, state: str) -> None:
    """Write how far a job is at a position that it covers."""
    row = job_position(act, job, spot.position)
    act.update(row or act.insert(JobPosition(job_id=job.id, position_id=spot.position.id)), state=state)


def check_job_at(read: Reading, job: Job, spot: Spot) -> list[Refusal]:
    """Why a job can't work at a position: it is closed, of another airframe, or does not cover the position."""
    if job.state != "open":
        message = f"{job.code} is closed; open a new job for {spot.airframe.tail}."
        return [Refusal(Rule.COUNT_OUT_COUNT_IN, job.code, message)]
    if job.airframe_id != spot.airframe.id:
        tail = read.get(Airframe, job.airframe_id).tail
        message = f"{job.code} is for {tail} and {spot.name} is a position of {spot.airframe.tail}; scan a position of {tail}."
        return [Refusal(Rule.SENSE_BY_POSITION, spot.name, message)]
    if job_position(read, job, spot.position) is None:
        message = f"{job.code} does not cover {spot.name}; open a job that does."
        return [Refusal(Rule.EFFECTIVITY, spot.name, message)]
    return []


def check_no_findings(read: Reading, job: Job) -> list[Refusal]:
    """A refusal for each open finding of a job or its airframe: the job is blocked until it is settled."""
    return [
        Refusal(
            Rule.REMOVED_PARTS,
            job.code,
            f"{job.code} is blocked by finding {f.id} ({f.text.rstrip('.')}); settle it first.",
        )
        for f in open_findings(read, job)
    ]


def reopen_walk(act: Act, job: Job) -> None:
    """Take back the last check of a job when work at its airframe goes on: it will be due again."""
    for _, state in job_states(act, job):
        if state.state == "walked":
            act.update(state, state="inspected")


def next_of(read: Reading, job: Job) -> str:
    """The next step of a job, in one sentence."""
    return next_step(unsettled(read, job))


def local_day_text(act: Act) -> str:
    """The local day of an act as the store keeps it."""
    return desk.today(act).isoformat()
