"""The fit record of a job: what was fitted where, proved how, fastened with what, by whom, inspected by whom.

It records work and releases nothing. Source: design R3, R8, R10, R18, R19, section 9.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from kittrack.domain import codes
from kittrack.printing.documents import Document, Table
from kittrack.queries.paper import (
    FIGURES,
    GENERAL,
    RELEASE,
    SENSES,
    Stores,
    amount,
    hours,
    moment,
    torque,
)
from kittrack.store.act import Reading
from kittrack.store.database import Store
from kittrack.store.job_facts import COVERED
from kittrack.store.kit_facts import revision_name
from kittrack.store.numbers import not_held
from kittrack.store.records import Airframe, Job, SenseMap

TITLE = "Fit record"


@dataclass(frozen=True)
class FittedPosition:
    """One fit of a job: sense by map, label and mark; proof; fixings; torque with its tool; hands."""

    position: str
    needed: str
    rotor_set: str
    sense: str
    part: str
    mark: str
    map_revision: int
    proof: str
    state: str
    screws: str
    washers: str
    locker: str
    torque: str
    tool: str
    fitted_by: str
    fitted_at: str
    inspected_by: str
    inspection: str
    walked_by: str


@dataclass(frozen=True)
class RemovedSet:
    """A set that a job took off, with its tag."""

    tag: str
    position: str
    rotor_set: str
    part: str
    sense_found: str
    mark_found: str
    used: str
    reason: str


@dataclass(frozen=True)
class FitRecordOfJob:
    """All that a job did at its airframe; `checked_by` made the last walk, `not_done` names what it has not reached.

    `left_out` are the positions that the job was opened for and left as they were, each with the reason.
    """

    job: str
    purpose: str
    tail: str
    revision: str
    state: str
    map_revision: int
    map_verified: bool
    hours: str
    opened_at: str
    checked_by: str
    closed_at: str
    closed_by: str
    not_done: tuple[str, ...]
    left_out: tuple[str, ...]
    fits: tuple[FittedPosition, ...]
    removed: tuple[RemovedSet, ...]
    findings: tuple[str, ...]
    vouchers: tuple[str, ...]


def fit_record(store: Store, *, job: str, at: datetime) -> FitRecordOfJob:
    """The fit record of a job, finished or not.

    Raises:
        NotFound: the store holds no such job.
    """
    with store.reading() as read:
        return _record(read, _find(read, job), Stores(read, at=at))


def fit_record_document(store: Store, *, job: str, at: datetime) -> Document:
    """The fit record as a document to sign.

    Raises:
        NotFound: the store holds no such job.
    """
    with store.reading() as read:
        stores = Stores(read, at=at)
        return _document(_record(read, _find(read, job), stores), stores)


def _find(read: Reading, text: str) -> Job:
    code = codes.read_code(text, expect=codes.Kind.JOB).text
    found = read.find(Job, code=code)
    if found is None:
        raise not_held(read, code)
    return found


def _record(read: Reading, job: Job, stores: Stores) -> FitRecordOfJob:
    frame = read.get(Airframe, job.airframe_id)
    current = read.get(SenseMap, frame.sense_map_id) if frame.sense_map_id else None
    closed_by = read.value("SELECT by_id FROM event WHERE id = ?", job.closed_event_id or 0)
    return FitRecordOfJob(
        job=job.code, purpose=job.purpose, tail=frame.tail, revision=revision_name(read, frame.type_revision_id), state=job.state,
        map_revision=current.revision if current else 0, map_verified=bool(current and current.verified),
        hours=hours(frame.minutes), opened_at=stores.when(job.event_id), checked_by=_walkers(read, job),
        closed_at=stores.when(job.closed_event_id), closed_by=stores.who(closed_by), not_done=_not_done(read, job), left_out=_left_out(read, job),
        fits=_fits(read, job, stores), removed=_removed(read, job), findings=_findings(read, job), vouchers=_vouchers(read, job),
    )  # fmt: skip


def _walkers(read: Reading, job: Job) -> str:
    rows = read.rows(
        "SELECT DISTINCT n.name FROM fit_record f JOIN person n ON n.id = f.walked_by_id WHERE f.job_id = ? ORDER BY 1",
        job.id,
    )
    return ", ".join(name for (name,) in rows)


def _last_check(record: FitRecordOfJob) -> str:
    if record.not_done:
        return f"NOT DONE at {', '.join(record.not_done)}"
    return f"done by {record.checked_by}" if record.checked_by else "no rotor set was fitted"


def _not_done(read: Reading, job: Job) -> tuple[str, ...]:
    rows = read.rows(
        "SELECT p.name, state FROM job_position JOIN position p ON p.id = position_id "
        f"WHERE job_id = ? AND state <> 'walked' AND {COVERED} ORDER BY p.id",
        job.id,
    )
    return tuple(f"{name}: {state}" for name, state in rows)


def _left_out(read: Reading, job: Job) -> tuple[str, ...]:
    rows = read.rows(
        "SELECT p.name, e.reason FROM left_out o JOIN job_position j ON j.id = o.job_position_id "
        "JOIN position p ON p.id = j.position_id JOIN event e ON e.id = o.event_id WHERE j.job_id = ? ORDER BY p.id",
        job.id,
    )
    return tuple(f"{name}: {reason}" for name, reason in rows)


_FITS = (
    "SELECT p.name, coalesce(l.sense, ''), s.code, f.sense, t.number, f.mark, f.map_revision, m.method, m.residual_g_um, "
    "m.uncertainty_g_um, m.tolerance_g_um, f.state, f.screws, sp.number, sl.code, sl.lot_code, f.washers, wl.code, f.locker_ul, "
    "kl.code, f.torque_method, f.torque_mnm, w.name, f.fitted_by_id, f.event_id, f.inspected_by_id, "
    "f.inspection, f.walked_by_id FROM fit_record f JOIN position p ON p.id = f.position_id "
    "JOIN rotor_set s ON s.id = f.rotor_set_id JOIN part t ON t.id = s.part_id JOIN airframe a ON a.id = p.airframe_id "
    "JOIN type_position tp ON tp.id = p.type_position_id "
    "LEFT JOIN sense_map sm ON sm.airframe_id = a.id AND sm.revision = f.map_revision "
    "LEFT JOIN sense_map_line l ON l.sense_map_id = sm.id AND l.position_id = p.id "
    "LEFT JOIN match_record m ON m.id = s.match_record_id "
    "LEFT JOIN receipt_line sr ON sr.id = f.screw_line_id LEFT JOIN part sp ON sp.id = sr.part_id LEFT JOIN lot sl ON sl.id = sr.lot_id "
    "LEFT JOIN receipt_line wr ON wr.id = f.washer_line_id LEFT JOIN lot wl ON wl.id = wr.lot_id "
    "LEFT JOIN receipt_line kr ON kr.id = f.locker_line_id LEFT JOIN lot kl ON kl.id = kr.lot_id "
    "LEFT JOIN tool w ON w.id = f.tool_id WHERE f.job_id = ? ORDER BY tp.rank, f.id"
)


def _fits(read: Reading, job: Job, stores: Stores) -> tuple[FittedPosition, ...]:
    return tuple(_fit(row, stores) for row in read.rows(_FITS, job.id))


def _fit(row: Sequence[object], stores: Stores) -> FittedPosition:
    (
        name, needed, rotor_set, sense, part, mark, revision, method, residual, uncertainty, tolerance, state, screws, screw_part,
        screw_lot, screw_code, washers, washer_lot, locker, locker_lot, how, set_to, tool, fitted, event, inspected,
        inspection, walked,
    ) = row  # fmt: skip
    of_lot = " ".join(str(text) for text in (screw_part, "of lot", screw_lot, screw_code) if text)
    return FittedPosition(
        position=str(name), needed=str(needed), rotor_set=str(rotor_set), sense=str(sense), part=str(part), mark=str(mark),
        map_revision=_whole(revision), proof=_proof(method, residual, uncertainty, tolerance), state=str(state),
        screws=f"{screws} {of_lot}" if screws else "", washers=f"{washers} of lot {washer_lot}" if washers else "",
        locker=f"{amount(_whole(locker), 'volume_ul')} of lot {locker_lot}" if locker else "",
        torque=torque(_whole(set_to)) if set_to else str(how), tool=str(tool or ""), fitted_by=stores.who(_whole(fitted)),
        fitted_at=stores.when(_whole(event)), inspected_by=stores.who(_whole(inspected)), inspection=str(inspection),
        walked_by=stores.who(_whole(walked)),
    )  # fmt: skip


def _whole(value: object) -> int:
    return value if isinstance(value, int) else 0


def _proof(method: object, residual: object, uncertainty: object, tolerance: object) -> str:
    if method is None:
        return "NOT PROVED"
    if residual is None:
        return str(method)
    return f"{moment(_whole(residual))} + {moment(_whole(uncertainty))} of {moment(_whole(tolerance))}"


def _removed(read: Reading, job: Job) -> tuple[RemovedSet, ...]:
    rows = read.rows(
        "SELECT r.code, p.name, s.code, t.number, r.sense_found, r.mark_found, r.used_minutes, r.reason, r.purpose FROM removal r "
        "JOIN position p ON p.id = r.position_id JOIN rotor_set s ON s.id = r.rotor_set_id JOIN part t ON t.id = s.part_id "
        "WHERE r.job_id = ? ORDER BY r.id",
        job.id,
    )
    return tuple(
        RemovedSet(tag, name, one, part, sense, mark, hours(used), f"{purpose}: {reason}")
        for tag, name, one, part, sense, mark, used, reason, purpose in rows
    )


def _findings(read: Reading, job: Job) -> tuple[str, ...]:
    rows = read.rows("SELECT id, text, settlement FROM finding WHERE job_id = ? ORDER BY id", job.id)
    return tuple(f"{number}: {text}; {settled or 'OPEN'}" for number, text, settled in rows)


def _vouchers(read: Reading, job: Job) -> tuple[str, ...]:
    rows = read.rows(
        "SELECT v.code, k.code, v.state FROM voucher v JOIN kit k ON k.id = v.kit_id WHERE v.job_id = ? ORDER BY v.id",
        job.id,
    )
    return tuple(f"{code} for {kit}, {state}" for code, kit, state in rows)


# ---- as a document -------------------------------------------------------------------------------


def _document(record: FitRecordOfJob, stores: Stores) -> Document:
    verified = "verified by motor test" if record.map_verified else "NOT verified by motor test"
    return Document(
        TITLE,
        record.job,
        facts=(
            ("Airframe", f"{record.tail}, {record.revision}"), ("Work", record.purpose), ("Hours now", record.hours),
            ("Sense map", f"revision {record.map_revision}, {verified}"), ("Opened", record.opened_at),
            ("Last check of all positions", _last_check(record)),
            ("Closed", f"{record.closed_at} by {record.closed_by}" if record.closed_at else "OPEN"),
            ("Not walked", ", ".join(record.not_done) or "none"), ("Left out", "; ".join(record.left_out) or "none"), ("Issued on", ", ".join(record.vouchers) or "no voucher"),
        ),
        tables=_tables(record),
        cautions=(RELEASE, SENSES, FIGURES, GENERAL),
        signatures=("Fitted by", "Inspected by", "Released by, in the words of the maker's manual"),
        footer=stores.foot,
    )  # fmt: skip


def _tables(record: FitRecordOfJob) -> tuple[Table, ...]:
    fits = record.fits
    return (
        Table(
            "Rotor sets, senses seen from above", ("Position", "By map", "Set", "Its sense", "Mark read", "Part", "Proof of match", "State"),
            tuple((f.position, f.needed, f.rotor_set, f.sense, f.mark, f.part, f.proof, f.state) for f in fits),
        ),
        Table(
            "Fastening", ("Position", "Screws", "Washers", "Threadlocker", "Torque", "Tool"),
            tuple((f.position, f.screws, f.washers, f.locker, f.torque, f.tool) for f in fits),
        ),
        Table(
            "Hands", ("Position", "Fitted by", "Fitted", "Inspected by", "As", "Last check by"),
            tuple((f.position, f.fitted_by, f.fitted_at, f.inspected_by, f.inspection, f.walked_by) for f in fits),
        ),
        Table(
            "Taken off", ("Tag", "Position", "Set", "Part", "Sense found", "Mark", "In service", "Why"),
            tuple((r.tag, r.position, r.rotor_set, r.part, r.sense_found, r.mark_found, r.used, r.reason) for r in record.removed),
        ),
        Table("Findings", ("Finding",), tuple((text,) for text in record.findings)),
    )  # fmt: skip
