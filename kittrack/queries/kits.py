"""What a kit needs and has, every reason against it, and what to do next; the same for an issue and a job.

Source: design R4 to R8, R11, section 7 (the verdict line of Kitting and Counter).
"""

from dataclasses import dataclass
from datetime import datetime

from kittrack.domain import codes, fit
from kittrack.domain.kit_checks import (
    KitFact,
    check_content,
    check_effectivity,
    check_issue,
    check_place,
    check_seal,
    check_state,
    next_step,
)
from kittrack.domain.kits import KitLineState, packs_for
from kittrack.domain.rules import Rule
from kittrack.domain.soundness import Moment
from kittrack.errors import Refusal
from kittrack.store.act import Reading, people_known_as
from kittrack.store.aircraft_facts import find_airframe, unsettled
from kittrack.store.database import Store
from kittrack.store.job_facts import (
    airframe_fact,
    check_kits_back,
    job_fact,
    kits_issued,
    rest_lies_in,
    who_has,
)
from kittrack.store.kit_facts import kit_fact, marks
from kittrack.store.numbers import not_held
from kittrack.store.records import Airframe, Job, Kit, Person, Place

LIVE = ("building", "checked", "sealed", "issued")


@dataclass(frozen=True)
class KitLineView:
    """One line of a kit: what it needs, has and lacks, in `unit`; `things` are the codes that were picked.

    `packs` and `left_over` say how many packs a line takes and what stays of the last one.
    """

    rank: int
    kind: str
    sense: str
    part: str
    needed: int
    have: int
    short: int
    unit: str
    hubs: int
    per_hub: int
    packs: int
    left_over: int
    things: tuple[str, ...]


@dataclass(frozen=True)
class KitView:
    """A kit as a screen shows it; `against` holds every reason why it can't go on as it is.

    `where` names its place, `where_kind` says what kind of place that is; `holds_rest` says of a dead kit that what
    is left of it is still in it, since a set was found elsewhere.
    """

    code: str
    state: str
    purpose: str
    where: str
    where_kind: str
    revision: str
    airframe: str
    job: str
    positions: tuple[str, ...]
    senses: tuple[str, ...]
    lines: tuple[KitLineView, ...]
    built_by: str
    checked_by: str
    seal: str
    expires_on: str
    reserved: tuple[str, ...]
    against: tuple[Refusal, ...]
    next_step: str
    holds_rest: bool


@dataclass(frozen=True)
class IssueView:
    """Whether a kit can go to a job: every reason against, and whether it takes the override of R20."""

    kit: KitView
    job: str
    airframe: str
    needs_override: bool
    against: tuple[Refusal, ...]

    @property
    def is_ready(self) -> bool:
        """Whether nothing stands against the issue."""
        return not self.against


@dataclass(frozen=True)
class JobView:
    """A job as a screen shows it; `left_over` is what was issued and is not settled (R11)."""

    code: str
    airframe: str
    purpose: str
    state: str
    positions: tuple[tuple[str, str], ...]
    kits: tuple[tuple[str, str], ...]
    left_over: tuple[str, ...]
    against: tuple[Refusal, ...]
    next_step: str


def kit_view(store: Store, *, kit: str, at: datetime) -> KitView:
    """A kit with its lines, every reason against it at this moment, and the next step.

    Raises:
        NotFound: the store holds no such kit. BadInput: the code can't be read.
    """
    with store.reading() as read:
        found = _kit(read, kit)
        return _view(read, found, kit_fact(read, found), _place(read, found), now=_moment(read, at))


def kits(store: Store, *, state: str = "", at: datetime) -> tuple[KitView, ...]:
    """Kits in a state, or all that are not dead, by code; each as `kit_view` shows it."""
    wanted = (state,) if state else LIVE
    with store.reading() as read:
        now = _moment(read, at)
        found = read.select(Kit, f"state IN ({marks(wanted)})", *wanted, order="code")
        return tuple(_view(read, k, kit_fact(read, k), _place(read, k), now=now) for k in found)


def issue_view(
    store: Store,
    *,
    kit: str,
    job: str,
    at: datetime,
    airframe: str = "",
    seal: str | None = None,
    giver: str = "",
    receiver: str = "",
) -> IssueView:
    """Every reason against issuing a kit to a job now.

    Args:
        store: the store.
        kit: the kit's code.
        job: the job's code.
        at: the instant.
        airframe: the airframe as scanned; by default the job's.
        seal: the seal as read on the kit; None while nobody has read it.
        giver: who gives it (badge or name), once known.
        receiver: who takes it, once known.

    Raises:
        NotFound: a code or a person is unknown.
    """
    with store.reading() as read:
        now, found, work = _moment(read, at), _kit(read, kit), _job(read, job)
        frame = find_airframe(read, airframe) if airframe else read.get(Airframe, work.airframe_id)
        fact, place = kit_fact(read, found), _place(read, found)
        against = [
            *_state_for_issue(read, found),
            *(check_seal(fact, read_back=seal) if seal is not None else ()),
            *check_issue(fact, job_fact(read, work), airframe_fact(read, frame, beside=fact), now=now),
            *check_place(fact, kind=place.kind, name=place.name),
            *_same_person(read, giver, receiver),
        ]
        view = _view(read, found, fact, place, now=now)
        other = found.airframe_id not in (None, frame.id)
    return IssueView(view, work.code, frame.tail, other, tuple(dict.fromkeys(against)))


def job_view(store: Store, *, job: str) -> JobView:
    """A job with its positions, its kits, what it still owes, every reason against closing it, the next step."""
    with store.reading() as read:
        found = _job(read, job)
        facts = unsettled(read, found)
        issued = kits_issued(read, found)
        is_open = found.state == "open"
        return JobView(
            code=found.code, airframe=read.get(Airframe, found.airframe_id).tail, purpose=found.purpose, state=found.state,
            positions=facts.positions, kits=tuple((kit.code, kit.state) for kit in issued), left_over=facts.left_over,
            against=(*fit.check_closing(facts), *check_kits_back(issued)) if is_open else (),
            next_step=fit.next_step(facts) if is_open else "Closed.",
        )  # fmt: skip


def _view(read: Reading, kit: Kit, fact: KitFact, place: Place, *, now: Moment) -> KitView:
    frame = read.get(Airframe, kit.airframe_id) if kit.airframe_id else None
    is_live = kit.state in LIVE
    against = check_content(fact, now=now) if is_live else []
    if frame is not None and is_live:
        against += check_effectivity(fact, airframe_fact(read, frame, beside=fact))
    rest = rest_lies_in(read, kit)
    people = read.get_all(Person, (who for who in (kit.built_by_id, kit.checked_by_id) if who))
    return KitView(
        code=kit.code, state=kit.state, purpose=kit.purpose, where=place.name, where_kind=place.kind,
        revision=fact.revision_name, airframe=frame.tail if frame else "", job=read.get(Job, kit.job_id).code if kit.job_id else "",
        positions=tuple(p.name for p in fact.positions), senses=tuple(p.sense for p in fact.positions),
        lines=tuple(_line(line) for line in fact.lines), built_by=people[kit.built_by_id].name,
        checked_by=people[kit.checked_by_id].name if kit.checked_by_id else "",
        seal=kit.seal or "", expires_on=kit.expires_on or "",
        reserved=tuple(f"{r.code} for {r.job_code} until {r.until}" for r in fact.reserved),
        against=tuple(dict.fromkeys(against)), holds_rest=rest,
        next_step=f"{next_step(kit.state, lines=fact.lines, is_fit=not against, holds_rest=rest)}.",
    )  # fmt: skip


def _line(line: KitLineState) -> KitLineView:
    demand = line.demand
    packs = packs_for(demand.quantity, pack_quantity=line.pack_quantity)
    return KitLineView(
        rank=line.rank, kind=demand.kind.value, sense=str(demand.sense or ""), part=line.part_number, needed=demand.quantity,
        have=line.have, short=line.short, unit=demand.unit, hubs=demand.hubs, per_hub=demand.per_hub, packs=packs.packs,
        left_over=packs.left_over, things=tuple(dict.fromkeys(p.code for p in line.picked)),
    )  # fmt: skip


def _state_for_issue(read: Reading, kit: Kit) -> list[Refusal]:
    if kit.state == "issued":
        return [Refusal(Rule.WHOLE_KIT, kit.code, who_has(read, kit))]
    return check_state(kit.code, kit.state, allowed=("sealed",))


def _same_person(read: Reading, giver: str, receiver: str) -> list[Refusal]:
    """Giver and receiver must be two humans; whether one was declared alone the act itself decides (R8)."""
    if not giver or not receiver:
        return []
    one, two = people_known_as(read, giver, receiver)
    if (one.same_human_as_id or one.id) != (two.same_human_as_id or two.id):
        return []
    message = f"{one.name} can't give and receive one kit; let another person receive it, or have a manager declare that nobody else is there."
    return [Refusal(Rule.SECOND_PERSON, one.code, message)]


def _kit(read: Reading, text: str) -> Kit:
    code = codes.read_code(text, expect=codes.Kind.KIT).text
    found = read.find(Kit, code=code)
    if found is None:
        raise not_held(read, code)
    return found


def _job(read: Reading, text: str) -> Job:
    code = codes.read_code(text, expect=codes.Kind.JOB).text
    found = read.find(Job, code=code)
    if found is None:
        raise not_held(read, code)
    return found


def _place(read: Reading, kit: Kit) -> Place:
    """The place that a kit lies in, or its own where it is nowhere any more."""
    inside = "coalesce((SELECT inside_id FROM containment WHERE container_id = ?), ?)"
    return read.select(Place, f"id = {inside}", kit.place_id, kit.place_id)[0]


def _moment(read: Reading, at: datetime) -> Moment:
    return Moment(at, read.time_zone)
