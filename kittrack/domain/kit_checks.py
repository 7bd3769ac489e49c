"""Why a kit can't be checked, sealed or issued: facts in, every reason out.

Source: design R4 to R8, R13, R21.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from kittrack.domain import dates
from kittrack.domain.dates import Expiry
from kittrack.domain.kits import KitLineState, LineKind, check_complete
from kittrack.domain.ledger import PlaceKind
from kittrack.domain.rules import Rule
from kittrack.domain.soundness import (
    HoldFact,
    Moment,
    SetFact,
    StockFact,
    check_holds,
    check_set,
    check_stock,
)
from kittrack.errors import Refusal


@dataclass(frozen=True)
class CoveredFact:
    """A position that a kit covers: what it was built for, and the rotor parts approved there now."""

    type_position_id: int
    name: str
    sense: str
    approved_part_ids: frozenset[int]


@dataclass(frozen=True)
class ReservedFact:
    """A reservation: what is kept ("kit" or "rotor set" with its code), for which job, until which day."""

    thing: str
    code: str
    job_id: int
    job_code: str
    until: date


@dataclass(frozen=True)
class KitFact:
    """A kit with its lines, its content and all that decides whether it may go out."""

    kit_id: int
    code: str
    place_id: int
    state: str
    purpose: str
    seal: str | None
    revision_id: int
    revision_name: str
    settings_revision: int
    settings_revision_now: int
    airframe_id: int | None
    job_id: int | None
    lines: tuple[KitLineState, ...]
    positions: tuple[CoveredFact, ...]
    sets: tuple[SetFact, ...]
    stock: tuple[StockFact, ...]
    reserved: tuple[ReservedFact, ...] = ()
    holds: tuple[HoldFact, ...] = ()

    @property
    def expiry(self) -> Expiry:
        """The earliest expiry of everything in it (R13)."""
        return dates.earliest([*(s.expiry for s in self.sets), *(s.expiry for s in self.stock)])


@dataclass(frozen=True)
class AirframeFact:
    """An airframe as an issue sees it; `senses` is its current map by the type's position."""

    airframe_id: int
    tail: str
    state: str
    revision_id: int
    revision_name: str
    senses: Mapping[int, str]


@dataclass(frozen=True)
class JobFact:
    """A job as an issue sees it; `covered` names the kit that already serves a position."""

    job_id: int
    code: str
    state: str
    airframe_id: int
    positions: Mapping[int, str]
    covered: Mapping[int, str]


NEXT_STEP = {
    "building": "let another person check it",
    "checked": "seal it, or swap what is wrong and check it again",
    "sealed": "issue it, or dissolve it",
    "issued": "open it at the aircraft, or return it",
    "opened": "its number is dead: build a new kit",
    "dissolved": "its number is dead: build a new kit",
}
"""What to do with a kit in each state."""

DEAD = ("opened", "dissolved")
"""States in which a kit's number is never used again."""


def next_step(
    state: str, *, lines: Sequence[KitLineState], is_fit: bool = True, holds_rest: bool = False
) -> str:
    """What to do next with a kit, in words.

    Args:
        state: the kit's state.
        lines: its lines.
        is_fit: whether nothing stands against what lies in it.
        holds_rest: whether a dead kit still holds what nobody took out of it.
    """
    if holds_rest:
        return "a set of it was found elsewhere: return what is left in it, as a kit that was opened"
    if state == "building" and any(line.short for line in lines):
        return "pick what it lacks"
    if state == "sealed" and not is_fit:
        return "it can't be issued as it is: settle what stands against it, or dissolve it"
    return NEXT_STEP[state]


def check_state(code: str, state: str, *, allowed: Sequence[str]) -> list[Refusal]:
    """Refuse where a kit's state does not allow an act (R5)."""
    if state in allowed:
        return []
    message = f"{code} is {state}, this takes one that is {' or '.join(allowed)}; {NEXT_STEP[state]}."
    return [Refusal(Rule.WHOLE_KIT, code, message)]


def check_issue(kit: KitFact, job: JobFact, airframe: AirframeFact, *, now: Moment) -> list[Refusal]:
    """Every reason why a kit can't go to a job and its airframe now; people, seal and place apart.

    Source: design R4 to R7, R11, R13, R21.
    """
    return [
        *(check_content(kit, now=now) if kit.state not in DEAD else ()),
        *check_effectivity(kit, airframe),
        *check_job(kit, job, airframe),
        *check_reserved(kit.reserved, for_job_id=job.job_id, on=now.day),
    ]


ISSUED_FROM = (PlaceKind.BIN, PlaceKind.VAN, PlaceKind.BENCH)


def check_place(kit: KitFact, *, kind: str, name: str) -> list[Refusal]:
    """Refuse to issue a kit from a cage or any other place where nothing issuable lies (R6)."""
    if kind in ISSUED_FROM or kit.state != "sealed":
        return []
    message = (
        f"{kit.code} is in {name} ({kind}); it is issued from a bin, a van or the bench: put it away first."
    )
    return [Refusal(Rule.FIT_FOR_ISSUE, kit.code, message)]


def check_content(kit: KitFact, *, now: Moment) -> list[Refusal]:
    """Every reason why what lies in a kit can't go out: short lines, unfit content, holds, settings.

    Source: design R1, R2, R4, R6, R13, R19, R21.
    """
    return [
        *check_complete(kit.lines, subject=kit.code),
        *(refusal for one in kit.sets for refusal in check_set(one, now=now)),
        *check_stock(kit.stock, now=now),
        *check_holds(kit.holds),
        *check_approved(kit),
        *check_settings(kit),
    ]


def check_approved(kit: KitFact) -> list[Refusal]:
    """Refuse a full kit with no rotor part for a position that is approved there now (R6)."""
    if kit.purpose != "full":  # it may bring fasteners only; its lines stand under the settings' revision
        return []
    by_sense: dict[str, set[int]] = {}
    for line in kit.lines:
        if line.demand.kind is LineKind.ROTOR_SET:
            by_sense.setdefault(str(line.demand.sense), set()).add(line.demand.part_id)
    return [
        Refusal(
            Rule.FIT_FOR_ISSUE,
            kit.code,
            f"{kit.code} has no {p.sense} rotor part that is approved for the position {p.name}; "
            "dissolve it and build a new kit.",
        )
        for p in kit.positions
        if not by_sense.get(p.sense, set()) & p.approved_part_ids
    ]


def check_settings(kit: KitFact) -> list[Refusal]:
    """Refuse a kit that was built before its type revision's settings changed (R21)."""
    if kit.settings_revision == kit.settings_revision_now:
        return []
    message = (
        f"The settings of {kit.revision_name} changed after {kit.code} was built "
        f"(from {kit.settings_revision} to {kit.settings_revision_now}); check it against them again."
    )
    return [Refusal(Rule.NO_BACK_DOOR, kit.code, message)]


def check_effectivity(kit: KitFact, airframe: AirframeFact) -> list[Refusal]:
    """Compare a kit's revision and every position that it covers with the airframe as it is now (R7)."""
    found = []
    if airframe.state != "active":
        message = f"{airframe.tail} is {airframe.state}; nothing is issued to it: choose an active airframe."
        found.append(Refusal(Rule.EFFECTIVITY, airframe.tail, message))
    if kit.revision_id != airframe.revision_id:
        message = (
            f"{kit.code} was built for {kit.revision_name}, {airframe.tail} is {airframe.revision_name}; "
            "take a kit of the airframe's own revision."
        )
        return [*found, Refusal(Rule.EFFECTIVITY, kit.code, message)]
    for position in kit.positions:
        sense = airframe.senses.get(position.type_position_id)
        if sense == position.sense:
            continue
        turns = f"turns {sense}" if sense else "has no sense in the map"
        message = (
            f"{kit.code} was built for {position.name} {position.sense}, but on {airframe.tail} it {turns} "
            "by the current map; build a kit for this airframe."
        )
        found.append(Refusal(Rule.EFFECTIVITY, kit.code, message))
    return found


def check_job(kit: KitFact, job: JobFact, airframe: AirframeFact) -> list[Refusal]:
    """Why a kit does not belong to a job: closed, of another airframe, other positions, served already."""
    found = []
    if job.state != "open":
        message = f"{job.code} is {job.state}; open a new job for {airframe.tail}."
        found.append(Refusal(Rule.COUNT_OUT_COUNT_IN, job.code, message))
    if job.airframe_id != airframe.airframe_id:
        message = (
            f"{job.code} is work on another airframe than {airframe.tail}; scan the job of {airframe.tail}."
        )
        found.append(Refusal(Rule.EFFECTIVITY, job.code, message))
    if kit.job_id is not None and kit.job_id != job.job_id:
        message = f"{kit.code} makes another job good; scan the job that it was built for."
        found.append(Refusal(Rule.WHOLE_KIT, kit.code, message))
    # By name: what a kit of another revision covers is told as that (R7), and not as positions the job lacks.
    outside = [p.name for p in kit.positions if p.name not in job.positions.values()]
    if outside:
        message = (
            f"{kit.code} covers {', '.join(outside)}, which {job.code} does not; a kit is issued whole: "
            "build one for the job's positions."
        )
        found.append(Refusal(Rule.WHOLE_KIT, kit.code, message))
    return found + (_check_served(kit, job) if kit.purpose == "full" else [])


def _check_served(kit: KitFact, job: JobFact) -> list[Refusal]:
    served = {job.covered[p.type_position_id] for p in kit.positions if p.type_position_id in job.covered}
    return [
        Refusal(
            Rule.COUNT_OUT_COUNT_IN,
            kit.code,
            f"{job.code} has {other} for positions that {kit.code} covers; return that one, or make good what is lost.",
        )
        for other in sorted(served)
    ]


def check_reserved(reserved: Sequence[ReservedFact], *, for_job_id: int | None, on: date) -> list[Refusal]:
    """A refusal for each thing that is kept for another job on this day (R6; design 2, "Reservations")."""
    return [
        Refusal(
            Rule.FIT_FOR_ISSUE,
            r.code,
            f"{r.thing} {r.code} is reserved for {r.job_code} until {r.until}; take another, or have the reservation released.",
        )
        for r in reserved
        if r.job_id != for_job_id and r.until >= on
    ]


def check_seal(kit: KitFact, *, read_back: str) -> list[Refusal]:
    """Refuse where the seal on the kit is not the one on record (R5)."""
    if kit.seal is not None and read_back.strip() == kit.seal:
        return []
    if kit.seal is None:
        message = f"{kit.code} carries no seal by the record; have it checked and sealed first."
        return [Refusal(Rule.WHOLE_KIT, kit.code, message)]
    message = (
        f"The seal read on {kit.code} is {read_back.strip() or 'missing'}, the record says {kit.seal}; "
        "set the kit aside and take it apart as opened."
    )
    return [Refusal(Rule.WHOLE_KIT, kit.code, message)]
