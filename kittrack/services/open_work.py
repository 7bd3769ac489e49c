"""Open kits and jobs that a change of a setting, a map or an airframe touches, as sentences for the person.

A kit keeps the settings revision that it was built to; sealing and issuing compare it. These lists say at
once which ones have to be looked at. Source: design R7, R17, R21.
"""

from collections.abc import Iterable, Sequence

from kittrack.store.act import Reading
from kittrack.store.records import Airframe, Job, Kit, TypeRevision

UNISSUED = ("building", "checked", "sealed")


def unissued_kits(read: Reading, revisions: Iterable[TypeRevision]) -> list[Kit]:
    """Kits of type revisions that have not left the stores, by id."""
    ids = sorted({r.id for r in revisions})
    if not ids:
        return []
    marks, states = ", ".join("?" * len(ids)), ", ".join("?" * len(UNISSUED))
    return read.select(Kit, f"type_revision_id IN ({marks}) AND state IN ({states})", *ids, *UNISSUED)


def open_jobs(
    read: Reading, *, revisions: Iterable[TypeRevision] = (), airframe: Airframe | None = None
) -> list[Job]:
    """Open jobs on an airframe, or on every airframe of type revisions, by id."""
    ids = sorted({r.id for r in revisions})
    found = read.select(Job, "state = 'open' AND airframe_id = ?", airframe.id) if airframe else []
    if ids:
        of_type = f"SELECT id FROM airframe WHERE type_revision_id IN ({', '.join('?' * len(ids))})"
        found += read.select(Job, f"state = 'open' AND airframe_id IN ({of_type})", *ids)
    return found


def kits_for_airframe(read: Reading, airframe: Airframe, *, positions: Sequence[int] = ()) -> list[Kit]:
    """Kits built for one airframe or issued to its open jobs and not opened yet, by id.

    Args:
        positions: only those that cover one of these type positions; all when empty.
    """
    where = (
        "state IN ('building', 'checked', 'sealed', 'issued') AND (airframe_id = ? OR job_id IN "
        "(SELECT id FROM job WHERE airframe_id = ? AND state = 'open') OR id IN "
        "(SELECT kit_id FROM voucher WHERE airframe_id = ? AND state = 'open'))"
    )
    params = [airframe.id] * 3
    if positions:
        covers = (
            f"SELECT kit_id FROM kit_position WHERE type_position_id IN ({', '.join('?' * len(positions))})"
        )
        where += f" AND id IN ({covers})"
    return read.select(Kit, where, *params, *positions)


def look_again(kits: Iterable[Kit], jobs: Iterable[Job]) -> tuple[str, ...]:
    """One sentence for each kit and job that a change touches."""
    said = [
        f"Kit {k.code} ({k.state}) was built before this change; check it again before it goes on."
        for k in kits
    ]
    said += [f"Job {j.code} is open; check what was issued to it and what is fitted." for j in jobs]
    return tuple(said)
