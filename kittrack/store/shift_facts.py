"""What is under way at this moment, as a manager looks at it and as one shift hands it over to the next.

Source: design 7 (Office), R8, R11; hand-over as trade practice has it (ICAO COSCAP AC 020: written and by word).
"""

from collections.abc import Iterator
from dataclasses import dataclass

from kittrack.store.act import Reading
from kittrack.store.job_facts import COVERED


@dataclass(frozen=True)
class KitOut:
    """A kit that was issued and is not all fitted. `sets_left` counts rotor sets, None while it is unopened."""

    voucher: str
    kit: str
    tail: str
    job: str
    receiver: str
    issued_at: str
    sets_left: int | None


@dataclass(frozen=True)
class JobUnderWay:
    """An open job; `unfinished` are positions that were begun and are not inspected."""

    job: str
    tail: str
    purpose: str
    opened_at: str
    opened_by: str
    unfinished: tuple[str, ...]
    to_do: int


@dataclass(frozen=True)
class ShiftLine:
    """One line of what a shift leaves to the next."""

    section: str
    subject: str
    text: str


def kits_out(read: Reading) -> list[KitOut]:
    """Every kit that is issued and unopened, or opened with rotor sets still to fit; the oldest issue first."""
    rows = read.rows(
        "SELECT v.code, k.code, a.tail, j.code, n.name, e.at, k.state, "
        "(SELECT count(*) FROM containment c JOIN rotor_set s ON s.place_id = c.container_id WHERE c.inside_id IN (j.place_id, k.place_id)) "
        "FROM voucher v JOIN kit k ON k.id = v.kit_id JOIN job j ON j.id = v.job_id JOIN airframe a ON a.id = v.airframe_id "
        "JOIN person n ON n.id = v.receiver_id JOIN event e ON e.id = v.event_id "
        "WHERE (k.state = 'issued' AND v.state = 'open') "
        "OR (k.state = 'opened' AND j.state = 'open' AND v.state IN ('open', 'closed')) ORDER BY v.id"
    )
    found = []
    for voucher, kit, tail, job, receiver, at, state, left in rows:
        is_unopened = state == "issued"
        if is_unopened or left:
            found.append(KitOut(voucher, kit, tail, job, receiver, at, None if is_unopened else int(left)))
    return found


def jobs_under_way(read: Reading) -> list[JobUnderWay]:
    """Every open job, the oldest first."""
    rows = read.rows(
        "SELECT j.id, j.code, a.tail, j.purpose, e.at, n.name FROM job j JOIN airframe a ON a.id = j.airframe_id "
        "JOIN event e ON e.id = j.event_id JOIN person n ON n.id = e.by_id WHERE j.state = 'open' ORDER BY j.id"
    )
    return [_job(read, row) for row in rows]


def _job(read: Reading, row: tuple[int, str, str, str, str, str]) -> JobUnderWay:
    number, code, tail, purpose, at, by = row
    states = read.rows(
        "SELECT p.name, state FROM job_position JOIN position p ON p.id = position_id "
        f"WHERE job_id = ? AND {COVERED} ORDER BY p.id",
        number,
    )
    unfinished = tuple(
        f"{name}: {state}" for name, state in states if state in ("bare", "not finished", "fitted")
    )
    return JobUnderWay(
        code, tail, purpose, at, by, unfinished, sum(1 for _, state in states if state == "to do")
    )


# ---- what a shift leaves to the next -------------------------------------------------------------


def shift_lines(read: Reading, *, since: str) -> list[ShiftLine]:
    """Everything that the next shift has to know, by section; `since` is the instant of the last hand-over, UTC text."""
    return [
        *_kits(read),
        *_jobs(read),
        *(ShiftLine(section, str(s), str(t)) for section, sql in _OPEN for s, t in read.rows(sql)),
        *(ShiftLine(section, str(s), str(t)) for section, sql in _SINCE for s, t in read.rows(sql, since)),
    ]


def _kits(read: Reading) -> Iterator[ShiftLine]:
    for out in kits_out(read):
        how = "unopened" if out.sets_left is None else f"opened, {out.sets_left} sets not fitted"
        yield ShiftLine(
            "kits issued and not fitted", out.kit, f"{how}, with {out.receiver} for {out.job}, {out.tail}"
        )


def _jobs(read: Reading) -> Iterator[ShiftLine]:
    for job in jobs_under_way(read):
        yield ShiftLine("jobs open", job.job, f"{job.tail}, {job.purpose}; {job.to_do} positions to do")
        for position in job.unfinished:
            yield ShiftLine("positions NOT FINISHED", job.job, f"{job.tail} {position}")


_OPEN = (
    ("kits being built",
     "SELECT k.code, k.state || ', ' || coalesce(p.name, '') FROM kit k LEFT JOIN containment c ON c.container_id = k.place_id "
     "LEFT JOIN place p ON p.id = c.inside_id WHERE k.state IN ('building', 'checked') ORDER BY k.id"),
    ("findings open",
     "SELECT f.id, coalesce(a.tail, '') || ' ' || f.text FROM finding f LEFT JOIN airframe a ON a.id = f.airframe_id "
     "WHERE f.settled_event_id IS NULL ORDER BY f.id"),
    ("recalls open",
     "SELECT h.code, h.scope_text || ', ' || h.reference FROM hold h WHERE h.is_recall = 1 AND h.released_event_id IS NULL "
     "AND NOT EXISTS (SELECT 1 FROM recall_closure c WHERE c.hold_id = h.id) ORDER BY h.id"),
    ("recall notices without answer",
     "SELECT n.code, n.recipient_kind || ' ' || n.recipient || ', ' || n.state FROM recall_notice n WHERE n.state <> 'answered' ORDER BY n.id"),
    ("holds open",
     "SELECT h.code, h.scope_text || ', ' || h.reason FROM hold h WHERE h.is_recall = 0 AND h.released_event_id IS NULL ORDER BY h.id"),
    ("counts not settled",
     "SELECT s.code, p.name || ', ' || s.state FROM stock_count s JOIN place p ON p.id = s.place_id WHERE s.state <> 'settled' ORDER BY s.id"),
    ("drills under way", "SELECT d.code, d.scope_text FROM recall_drill d WHERE d.ended_event_id IS NULL ORDER BY d.id"),
    ("kept for jobs",
     "SELECT coalesce(k.code, s.code), j.code || ' until ' || r.until_on FROM reservation r JOIN job j ON j.id = r.job_id "
     "LEFT JOIN kit k ON k.id = r.kit_id LEFT JOIN rotor_set s ON s.id = r.rotor_set_id WHERE r.state = 'active' ORDER BY r.id"),
    ("deliveries expected",
     "SELECT o.code, c.name || ', ' || t.number || ', expected on ' || l.due_on FROM order_line l JOIN purchase_order o ON o.id = l.purchase_order_id "
     "JOIN company c ON c.id = o.supplier_id JOIN part t ON t.id = l.part_id WHERE l.cancelled_event_id IS NULL AND l.quantity > "
     "coalesce((SELECT sum(r.quantity) FROM order_arrival a JOIN receipt_line r ON r.id = a.receipt_line_id WHERE a.order_line_id = l.id), 0) "
     "ORDER BY l.due_on, l.id"),
    ("waits in goods-in",
     "SELECT r.code, t.number || ', ' || p.name FROM holding h JOIN place p ON p.id = h.place_id JOIN receipt_line r ON r.id = h.receipt_line_id "
     "JOIN part t ON t.id = r.part_id WHERE p.kind = 'goods-in' GROUP BY r.id, r.code, t.number, p.name ORDER BY r.id"),
)  # fmt: skip
"""What is open, by section: what it is, and what is to be known of it."""

_SINCE = (
    ("overrides since the last hand-over",
     "SELECT o.subject, o.kind || ': ' || o.reason FROM override o JOIN event e ON e.id = o.event_id WHERE e.at > ? ORDER BY o.id"),
    ("wrong senses stopped since",
     "SELECT e.id, n.name || ' at ' || e.at FROM event e JOIN person n ON n.id = e.by_id WHERE e.act = 'a scan was refused' AND e.at > ? ORDER BY e.id"),
)  # fmt: skip
"""What happened since the last hand-over, by section."""
