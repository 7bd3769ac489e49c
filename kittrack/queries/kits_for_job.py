"""Which sealed kits somebody can fetch for a job: those that are kept for it, then those that fit its airframe's revision."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from itertools import islice

from kittrack.domain import codes
from kittrack.domain.dates import local_day
from kittrack.domain.kit_checks import ISSUED_FROM, check_content
from kittrack.domain.soundness import Moment
from kittrack.store.act import Reading
from kittrack.store.database import Store
from kittrack.store.job_facts import COVERED
from kittrack.store.kit_facts import kit_fact, marks
from kittrack.store.numbers import not_held
from kittrack.store.records import Airframe, Job, Kit

MOST, LOOKED_AT = 3, 12
"""Kits that are named at the most, and that are looked at to find so many; nobody fetches more to choose from."""


@dataclass(frozen=True)
class KitForJob:
    """A sealed kit that can be fetched. `kept_until` is the last day on which it is kept for the job, "" where it isn't.

    `against` is the first reason why a kit that is kept for the job can't go out now, "" where there is none.
    """

    kit: str
    where: str
    positions: int
    expires_on: str
    kept_until: str
    against: str


def kits_for_job(store: Store, *, job: str, at: datetime) -> tuple[KitForJob, ...]:
    """Sealed kits of the revision of a job's airframe that are kept for it, or for nobody and fit to go out.

    A kit is issued whole, so one that covers a position which the job does not is none of them (R5).

    Whether one may go to the job, with every reason against it, is told once it is scanned (`kits.issue_view`).

    Args:
        store: the store.
        job: the job's code.
        at: the instant at which shelf lives, holds and reservations are judged.

    Returns:
        Kits kept for the job, then the first to expire; none for a job that is closed.

    Raises:
        NotFound: the store holds no such job. BadInput: the code can't be read.
    """
    with store.reading() as read:
        code = codes.read_code(job, expect=codes.Kind.JOB).text
        work = read.find(Job, code=code)
        if work is None:
            raise not_held(read, code)
        if work.state != "open":
            return ()
        found = (one for one in _looked_at(read, work, at) if one.kept_until or not one.against)
        return tuple(islice(found, MOST))


def _looked_at(read: Reading, work: Job, at: datetime) -> Iterator[KitForJob]:
    frame, now = read.get(Airframe, work.airframe_id), Moment(at, read.time_zone)
    today = local_day(at, zone=read.time_zone).isoformat()
    rows = read.rows(
        _SQL, today, frame.type_revision_id, frame.id, work.id, *ISSUED_FROM, work.id, work.id, LOOKED_AT
    )
    for kit_id, code, where, positions, expires_on, kept_until in rows:
        against = check_content(kit_fact(read, read.get(Kit, kit_id)), now=now)
        first = against[0].message if against else ""
        yield KitForJob(code, where, int(positions), expires_on or "", kept_until or "", first)


_SQL = (
    "SELECT k.id, k.code, p.name, (SELECT count(*) FROM kit_position q WHERE q.kit_id = k.id), k.expires_on, v.until_on "
    "FROM kit k JOIN containment c ON c.container_id = k.place_id JOIN place p ON p.id = c.inside_id "
    "LEFT JOIN reservation v ON v.kit_id = k.id AND v.state = 'active' AND v.until_on >= ? "
    "WHERE k.state = 'sealed' AND k.type_revision_id = ? AND (k.airframe_id IS NULL OR k.airframe_id = ?) "
    "AND NOT EXISTS (SELECT 1 FROM kit_position q WHERE q.kit_id = k.id AND q.type_position_id NOT IN "
    f"(SELECT x.type_position_id FROM job_position JOIN position x ON x.id = position_id WHERE job_id = ? AND {COVERED})) "
    f"AND p.kind IN ({marks(ISSUED_FROM)}) AND (v.job_id IS NULL OR v.job_id = ?) "
    "ORDER BY CASE WHEN v.job_id = ? THEN 0 ELSE 1 END, coalesce(k.expires_on, '9999-12-31'), k.code LIMIT ?"
)
