"""The page of oversight as a document: what was let pass, stopped, typed, left hanging and printed again."""

from datetime import datetime

from kittrack.printing.documents import Document, Table
from kittrack.queries.oversight import DAYS, SHIFT_HOURS, Oversight, oversight
from kittrack.queries.paper import GENERAL, Stores
from kittrack.store.database import Store


def oversight_document(
    store: Store, *, at: datetime, days: int = DAYS, shift_hours: int = SHIFT_HOURS
) -> Document:
    """The page of oversight.

    Args:
        store: the store.
        at: the instant of asking.
        days: how many days to look back.
        shift_hours: how long a shift is.
    """
    found = oversight(store, at=at, days=days, shift_hours=shift_hours)
    with store.reading() as read:
        stores = Stores(read, at=at)
    return Document(
        "Oversight",
        stores.mark,
        facts=(("Of the last", f"{days} days"), ("A shift is", f"{shift_hours} hours")),
        tables=(*_judged(found, stores), *_hanging(found, stores)),
        cautions=(GENERAL,),
        signatures=("Looked at by",),
        footer=stores.foot,
    )


def _judged(found: Oversight, stores: Stores) -> tuple[Table, ...]:
    return (
        Table(
            "Overrides", ("When", "What", "Of", "Why", "By", "Second person"),
            tuple((stores.local(o.at), o.kind, o.subject, o.reason, o.by, o.second) for o in found.overrides),
        ),
        Table(
            "Without a second person", ("When", "What", "Of", "By"),
            tuple((stores.local(a.at), a.what, a.subject, a.by) for a in found.alone),
        ),
        Table(
            "Wrong senses stopped", ("When", "Position", "Needed", "Scanned", "Mark", "Job", "By"),
            tuple(
                (stores.local(s.at), f"{s.airframe} {s.position}", s.needed, s.scanned, s.mark, s.job, s.by) for s in found.stopped
            ),
        ),
        Table(
            "Typed instead of scanned", ("Person", "Typed", "Scanned", "Percent typed", "Acts with typing", "Acts that do not say"),
            tuple(
                (t.person, str(t.typed), str(t.scanned), str(t.percent_typed), str(t.acts_typed), str(t.acts_silent)) for t in found.typed
            ),
            right=frozenset({"Typed", "Scanned", "Percent typed", "Acts with typing", "Acts that do not say"}),
            empty="no act says how its numbers came in",
        ),
    )  # fmt: skip


def _hanging(found: Oversight, stores: Stores) -> tuple[Table, ...]:
    return (
        Table(
            "Kits issued and not fitted for longer than a shift", ("Kit", "Airframe", "Job", "With", "Issued", "Hours", "How"),
            tuple(
                (k.kit, k.tail, k.job, k.receiver, stores.local(k.issued_at), str(k.hours_out), k.how) for k in found.kits_not_fitted
            ),
            right=frozenset({"Hours"}),
        ),
        Table(
            "Jobs open across shifts", ("Job", "Airframe", "Work", "Opened", "By", "Hours", "Begun and not finished", "To do"),
            tuple(
                (j.job, j.tail, j.purpose, stores.local(j.opened_at), j.opened_by, str(j.hours_open), ", ".join(j.unfinished), str(j.to_do))
                for j in found.jobs_across_shifts
            ),
            right=frozenset({"Hours", "To do"}),
        ),
        Table(
            "Printed again", ("When", "What", "Copy", "By", "Void because"),
            tuple((stores.local(r.at), r.subject, str(r.copy), r.by, r.void) for r in found.reprints),
            right=frozenset({"Copy"}),
        ),
    )  # fmt: skip
