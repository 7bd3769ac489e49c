"""Facts of airframes and jobs as an issue sees them, and what a job still owes its positions.

Source: design R4, R7, R11; section 2 ("A dropped screw").
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from kittrack.domain.kit_checks import AirframeFact, JobFact, KitFact
from kittrack.domain.rules import Rule
from kittrack.errors import Refusal
from kittrack.store.act import Reading, read_instant_text
from kittrack.store.kit_facts import revision_name
from kittrack.store.records import Airframe, Event, Job, Kit, Person, Place, TypePosition, Voucher

COVERED: Final = "NOT EXISTS (SELECT 1 FROM left_out o WHERE o.job_position_id = job_position.id)"
"""Of the rows of `job_position`, those of positions that their job still covers."""

_SERVED = (
    "SELECT p.type_position_id, k.code FROM voucher v JOIN kit k ON k.id = v.kit_id JOIN kit_position p ON p.kit_id = k.id "
    "WHERE v.job_id = ? AND v.state IN ('open', 'closed') AND k.purpose = 'full' ORDER BY v.id"
)
"""The positions that a job has got a full kit for, and the kit of each."""


def airframe_fact(read: Reading, airframe: Airframe, *, beside: KitFact | None = None) -> AirframeFact:
    """An airframe with its current sense map, positions in use only.

    Args:
        read: the transaction.
        airframe: the airframe.
        beside: a kit whose revision has been read; mostly it is the airframe's own.
    """
    same = beside is not None and beside.revision_id == airframe.type_revision_id
    name = beside.revision_name if beside and same else revision_name(read, airframe.type_revision_id)
    return AirframeFact(
        airframe_id=airframe.id,
        tail=airframe.tail,
        state=airframe.state,
        revision_id=airframe.type_revision_id,
        revision_name=name,
        senses=senses_of(read, airframe),
    )


def senses_of(read: Reading, airframe: Airframe) -> dict[int, str]:
    """The current map of an airframe: the sense by type position, positions in use only."""
    rows = read.rows(
        "SELECT x.type_position_id, l.sense FROM sense_map_line l JOIN position x ON x.id = l.position_id "
        "WHERE l.sense_map_id = ? AND x.active = 1 ORDER BY x.id",
        airframe.sense_map_id or 0,
    )
    return {row[0]: row[1] for row in rows}


def job_fact(read: Reading, job: Job) -> JobFact:
    """A job with the positions that it covers and the kits that serve them already."""
    rows = read.rows(
        "SELECT x.type_position_id, x.name FROM job_position JOIN position x ON x.id = position_id "
        f"WHERE job_id = ? AND {COVERED} ORDER BY x.id",
        job.id,
    )
    return JobFact(
        job_id=job.id,
        code=job.code,
        state=job.state,
        airframe_id=job.airframe_id,
        positions={row[0]: row[1] for row in rows},
        covered={row[0]: row[1] for row in read.rows(_SERVED, job.id)},
    )


def owing_positions(read: Reading, job: Job) -> Sequence[TypePosition]:
    """The positions that a job got a kit for, or whose set goes back on, and that are not fastened yet, in their order."""
    served = sorted(
        {row[0] for row in read.rows(_SERVED, job.id)} | _unfastened(read, job) | _travelling(read, job)
    )
    if not served:
        return ()
    fastened = {
        row[0]
        for row in read.rows(
            "SELECT x.type_position_id FROM fit_record f JOIN position x ON x.id = f.position_id "
            "WHERE f.job_id = ? AND f.state IN ('fastened', 'inspected')",
            job.id,
        )
    }
    every = read.select(TypePosition, f"id IN ({', '.join('?' * len(served))})", *served, order="rank, id")
    return [p for p in every if p.id not in fastened | _left_out(read, job)]


def _left_out(read: Reading, job: Job) -> set[int]:
    """The type positions that were left out of a job."""
    rows = read.rows(
        "SELECT x.type_position_id FROM job_position JOIN position x ON x.id = position_id "
        f"WHERE job_id = ? AND NOT {COVERED}",
        job.id,
    )
    return {row[0] for row in rows}


def _unfastened(read: Reading, job: Job) -> set[int]:
    """The type positions on which a job put a set that is not fastened: it takes new screws, wherever it came from."""
    rows = read.rows(
        "SELECT x.type_position_id FROM fit_record f JOIN position x ON x.id = f.position_id "
        "WHERE f.job_id = ? AND f.state = 'started'",
        job.id,
    )
    return {row[0] for row in rows}


def _travelling(read: Reading, job: Job) -> set[int]:
    """The type positions of a job whose set was taken off for transport and goes back on them."""
    rows = read.rows(
        "SELECT x.type_position_id FROM job_position j JOIN position x ON x.id = j.position_id "
        "JOIN removal m ON m.position_id = x.id "
        "JOIN rotor_set s ON s.id = m.rotor_set_id AND s.bound_position_id = x.id WHERE j.job_id = ?",
        job.id,
    )
    return {row[0] for row in rows}


def with_a_set(read: Reading, job: Job) -> frozenset[int]:
    """The type positions that have their set: one of the job sits there, fastened or not, or its own one comes back."""
    rows = read.rows(
        "SELECT x.type_position_id FROM fit_record f JOIN position x ON x.id = f.position_id "
        "WHERE f.job_id = ? AND f.state IN ('started', 'fastened', 'inspected')",
        job.id,
    )
    return frozenset(row[0] for row in rows) | _travelling(read, job)


def open_voucher(read: Reading, kit: Kit) -> Voucher | None:
    """The voucher under which a kit is out, or None."""
    return read.find(Voucher, kit_id=kit.id, state="open")


def rest_lies_in(read: Reading, kit: Kit) -> bool:
    """Whether a dead kit still holds what nobody took out of it, since a set of it was found elsewhere."""
    return kit.state == "opened" and bool(read.get(Place, kit.place_id).active)


_NOT_BACK: Final = {
    "issued": "{kit} is out and unopened; open it at the aircraft or return it.",
    "opened": "A set of {kit} was found elsewhere and its number is dead; return what is left in it as a kit that was "
    "opened.",
}


@dataclass(frozen=True)
class IssuedKit:
    """A kit that was issued to a job; `is_out` while it still holds what was issued."""

    code: str
    state: str
    is_out: bool


def kits_issued(read: Reading, job: Job) -> list[IssuedKit]:
    """Every kit that was issued to a job, in the order of its vouchers."""
    rows = read.rows(
        "SELECT k.code, k.state, v.state = 'open' AND p.active = 1 FROM voucher v JOIN kit k ON k.id = v.kit_id "
        "JOIN place p ON p.id = k.place_id WHERE v.job_id = ? ORDER BY v.id",
        job.id,
    )
    return [IssuedKit(code, state, bool(is_out)) for code, state, is_out in rows]


def check_kits_back(issued: Sequence[IssuedKit]) -> list[Refusal]:
    """Refuse to close a job while a kit is out for it (R11)."""
    return [
        Refusal(Rule.COUNT_OUT_COUNT_IN, kit.code, _NOT_BACK[kit.state].format(kit=kit.code))
        for kit in issued
        if kit.is_out
    ]


def who_has(read: Reading, kit: Kit) -> str:
    """Who issued a kit to whom, for which job and when, as a sentence."""
    voucher = open_voucher(read, kit)
    if voucher is None:
        return f"{kit.code} was issued; look it up in the log."
    event = read.get(Event, voucher.event_id)
    giver, receiver = read.get(Person, voucher.giver_id), read.get(Person, voucher.receiver_id)
    when = read_instant_text(event.at).strftime("%Y-%m-%d %H:%M UTC")
    job = read.get(Job, voucher.job_id).code
    return (
        f"{kit.code} was issued by {giver.name} to {receiver.name} for {job} at {when} (voucher {voucher.code}); "
        "scan another kit."
    )
