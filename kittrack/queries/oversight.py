"""What a manager must not hear from somebody else: overrides, senses stopped, numbers typed, kits and jobs that hang, reprints.

Source: design 7 (Office), R3, R8, R20; kits issued and not fitted for longer than a shift, numbers typed instead of scanned
and labels printed again are counted as trade practice counts them, no published source.
"""

import json
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Final

from kittrack.store.act import Reading, instant_text, read_instant_text
from kittrack.store.database import Store
from kittrack.store.shift_facts import jobs_under_way, kits_out

DAYS: Final = 30
SHIFT_HOURS: Final = 12
_REFUSED_SCAN: Final = "a scan was refused"
_RE_INSPECTION: Final = "re-inspection"


@dataclass(frozen=True)
class OverrideUsed:
    """One of the three overrides: who let what pass, why, who confirmed it. Instants are UTC, here and below."""

    at: str
    kind: str
    subject: str
    reason: str
    by: str
    second: str


@dataclass(frozen=True)
class WorkedAlone:
    """A check that the same person made again because nobody else was there, or the declaration that allowed it."""

    at: str
    what: str
    subject: str
    by: str


@dataclass(frozen=True)
class StoppedScan:
    """A rotor of the wrong sense that was stopped at its position."""

    at: str
    airframe: str
    position: str
    needed: str
    scanned: str
    mark: str
    job: str
    by: str


@dataclass(frozen=True)
class TypedByPerson:
    """How many numbers a person scanned and typed; `percent_typed` of those of which it is known."""

    person: str
    scanned: int
    typed: int
    percent_typed: float
    acts_typed: int
    acts_silent: int


@dataclass(frozen=True)
class KitNotFitted:
    """A kit that is out for longer than a shift and not all fitted."""

    voucher: str
    kit: str
    tail: str
    job: str
    receiver: str
    issued_at: str
    hours_out: int
    how: str


@dataclass(frozen=True)
class JobAcrossShifts:
    """A job that is open for longer than a shift; `unfinished` are positions that were begun."""

    job: str
    tail: str
    purpose: str
    opened_at: str
    opened_by: str
    hours_open: int
    unfinished: tuple[str, ...]
    to_do: int


@dataclass(frozen=True)
class Reprint:
    """A second or later copy of a label or a document, and why it is void where it is."""

    at: str
    subject: str
    copy: int
    by: str
    void: str


@dataclass(frozen=True)
class Oversight:
    """All of it on one page, for the last `days` days and shifts of `shift_hours` hours."""

    days: int
    shift_hours: int
    overrides: tuple[OverrideUsed, ...]
    alone: tuple[WorkedAlone, ...]
    stopped: tuple[StoppedScan, ...]
    typed: tuple[TypedByPerson, ...]
    kits_not_fitted: tuple[KitNotFitted, ...]
    jobs_across_shifts: tuple[JobAcrossShifts, ...]
    reprints: tuple[Reprint, ...]


def oversight(store: Store, *, at: datetime, days: int = DAYS, shift_hours: int = SHIFT_HOURS) -> Oversight:
    """Everything of this page at one moment.

    Args:
        store: the store.
        at: the instant of asking.
        days: how many days to look back.
        shift_hours: how long a shift is.
    """
    with store.reading() as read:
        since = _since(at, days)
        return Oversight(
            days, shift_hours, _overrides(read, since), _alone(read, since), _stopped(read, since), _typed(read, since),
            _kits(read, at, shift_hours), _jobs(read, at, shift_hours), _reprints(read, since),
        )  # fmt: skip


def overrides(store: Store, *, at: datetime, days: int = DAYS) -> tuple[OverrideUsed, ...]:
    """The overrides of the last days, the newest first."""
    with store.reading() as read:
        return _overrides(read, _since(at, days))


def worked_alone(store: Store, *, at: datetime, days: int = DAYS) -> tuple[WorkedAlone, ...]:
    """Re-inspections and declarations that nobody else is there, of the last days, the newest first."""
    with store.reading() as read:
        return _alone(read, _since(at, days))


def stopped_scans(store: Store, *, at: datetime, days: int = DAYS) -> tuple[StoppedScan, ...]:
    """The rotors of the wrong sense that were stopped in the last days, the newest first."""
    with store.reading() as read:
        return _stopped(read, _since(at, days))


def typed_entries(store: Store, *, at: datetime, days: int = DAYS) -> tuple[TypedByPerson, ...]:
    """Who typed numbers of ours instead of scanning them in the last days, the largest share first.

    Acts that do not say how their numbers came in are counted as silent and in no share.
    """
    with store.reading() as read:
        return _typed(read, _since(at, days))


def kits_not_fitted(
    store: Store, *, at: datetime, shift_hours: int = SHIFT_HOURS
) -> tuple[KitNotFitted, ...]:
    """Kits that were issued longer than a shift ago and are not all fitted, the oldest first."""
    with store.reading() as read:
        return _kits(read, at, shift_hours)


def jobs_across_shifts(
    store: Store, *, at: datetime, shift_hours: int = SHIFT_HOURS
) -> tuple[JobAcrossShifts, ...]:
    """Jobs that are open for longer than a shift, the oldest first."""
    with store.reading() as read:
        return _jobs(read, at, shift_hours)


def reprints(store: Store, *, at: datetime, days: int = DAYS) -> tuple[Reprint, ...]:
    """Labels and documents that were printed again in the last days, the newest first."""
    with store.reading() as read:
        return _reprints(read, _since(at, days))


# ---- the questions -------------------------------------------------------------------------------


def _since(at: datetime, days: int) -> str:
    return instant_text(at - timedelta(days=days))


def _overrides(read: Reading, since: str) -> tuple[OverrideUsed, ...]:
    rows = read.rows(
        "SELECT e.at, o.kind, o.subject, o.reason, b.name, coalesce(s.name, '') FROM override o JOIN event e ON e.id = o.event_id "
        "JOIN person b ON b.id = e.by_id LEFT JOIN person s ON s.id = e.second_id WHERE e.at >= ? ORDER BY o.id DESC",
        since,
    )
    return tuple(OverrideUsed(*row) for row in rows)


def _alone(read: Reading, since: str) -> tuple[WorkedAlone, ...]:
    noted = read.rows(
        "SELECT e.at, e.statements, b.name FROM event e JOIN person b ON b.id = e.by_id "
        "WHERE e.at >= ? AND e.statements LIKE ? ORDER BY e.id DESC",
        since, f'%["note","{_RE_INSPECTION}",%',
    )  # fmt: skip
    found = [
        WorkedAlone(at, f"re-inspection: {facts.get('of', '')}", str(facts.get("subject", "")), by)
        for at, statements, by in noted
        for facts in _notes(statements, _RE_INSPECTION)
    ]
    for at, position, by in read.rows(
        "SELECT e.at, a.tail || ' ' || p.name, n.name FROM fit_record f JOIN event e ON e.id = f.event_id "
        "JOIN position p ON p.id = f.position_id JOIN airframe a ON a.id = p.airframe_id JOIN person n ON n.id = f.inspected_by_id "
        "WHERE f.inspection = 're-inspection' AND e.at >= ? ORDER BY f.id DESC",
        since,
    ):
        found.append(WorkedAlone(at, "re-inspection: position", position, by))
    for at, name, first, last, reason in read.rows(
        "SELECT e.at, n.name, d.from_on, d.until_on, d.reason FROM alone_declaration d JOIN event e ON e.id = d.event_id "
        "JOIN person n ON n.id = d.person_id WHERE e.at >= ? ORDER BY d.id DESC",
        since,
    ):
        found.append(WorkedAlone(at, f"declared alone: {reason}", f"{first} to {last}", name))
    return tuple(sorted(found, key=lambda w: w.at, reverse=True))


def _stopped(read: Reading, since: str) -> tuple[StoppedScan, ...]:
    rows = read.rows(
        "SELECT e.at, e.statements, b.name FROM event e JOIN person b ON b.id = e.by_id WHERE e.act = ? AND e.at >= ? ORDER BY e.id DESC",
        _REFUSED_SCAN, since,
    )  # fmt: skip
    names = {code: (tail, name) for code, tail, name in read.rows(
        "SELECT p.code, a.tail, p.name FROM position p JOIN airframe a ON a.id = p.airframe_id"
    )} if rows else {}  # fmt: skip
    found = []
    for at, statements, by in rows:
        for facts in _notes(statements, "wrong sense refused"):
            tail, position = names.get(str(facts.get("position")), ("", ""))
            needed, scanned, mark, job = (
                str(facts.get(name, "")) for name in ("needed", "scanned", "mark", "job")
            )
            found.append(StoppedScan(at, tail, position, needed, scanned, mark, job, by))
    return tuple(found)


def _notes(statements: str, name: str) -> list[dict[str, Any]]:
    return [s[2] for s in json.loads(statements) if s[0] == "note" and s[1] == name]


def _typed(read: Reading, since: str) -> tuple[TypedByPerson, ...]:
    rows = read.rows(
        "SELECT b.name, coalesce(sum(x.scanned), 0), coalesce(sum(x.typed), 0), "
        "sum(CASE WHEN x.typed > 0 THEN 1 ELSE 0 END), sum(CASE WHEN x.id IS NULL THEN 1 ELSE 0 END) "
        "FROM event e JOIN person b ON b.id = e.by_id LEFT JOIN entry x ON x.event_id = e.id WHERE e.at >= ? GROUP BY b.name",
        since,
    )
    found = []
    for person, scanned, typed, acts, silent in rows:
        known = int(scanned) + int(typed)
        if known:
            share = round(100 * int(typed) / known, 1)
            found.append(TypedByPerson(person, int(scanned), int(typed), share, int(acts), int(silent)))
    return tuple(sorted(found, key=lambda t: (-t.percent_typed, t.person)))


def _hours(at: datetime, since: str) -> int:
    return (at - read_instant_text(since)) // timedelta(hours=1)


def _kits(read: Reading, at: datetime, shift_hours: int) -> tuple[KitNotFitted, ...]:
    found = []
    for out in kits_out(read):
        hours = _hours(at, out.issued_at)
        if hours >= shift_hours:
            how = "unopened" if out.sets_left is None else f"{out.sets_left} sets not fitted"
            found.append(
                KitNotFitted(out.voucher, out.kit, out.tail, out.job, out.receiver, out.issued_at, hours, how)
            )
    return tuple(found)


def _jobs(read: Reading, at: datetime, shift_hours: int) -> tuple[JobAcrossShifts, ...]:
    found = []
    for job in jobs_under_way(read):
        hours = _hours(at, job.opened_at)
        if hours >= shift_hours:
            found.append(
                JobAcrossShifts(
                    job.job,
                    job.tail,
                    job.purpose,
                    job.opened_at,
                    job.opened_by,
                    hours,
                    job.unfinished,
                    job.to_do,
                )
            )
    return tuple(found)


def _reprints(read: Reading, since: str) -> tuple[Reprint, ...]:
    rows = read.rows(
        "SELECT e.at, l.subject, l.copy_number, b.name, coalesce(v.reason, '') FROM label_print l JOIN event e ON e.id = l.event_id "
        "JOIN person b ON b.id = e.by_id LEFT JOIN label_void v ON v.label_print_id = l.id "
        "WHERE e.at >= ? AND l.copy_number > 1 ORDER BY l.id DESC",
        since,
    )
    return tuple(Reprint(at, subject, int(copy), by, void) for at, subject, copy, by, void in rows)
