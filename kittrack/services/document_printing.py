"""Keeping that a document was printed, so that a second copy of a voucher or a notice says what it is."""

from datetime import datetime
from typing import Final

from kittrack.domain.rules import require
from kittrack.services import desk
from kittrack.services.desk import Done
from kittrack.store.database import Store
from kittrack.store.records import LabelPrint

COPIED: Final = ("Issue voucher", "Recall notice", "Shift hand-over")
"""The documents of which there is one, whose every copy is kept."""


@desk.done_by("clerk", "technician", "inspector", "manager")
def record_document_print(
    store: Store, *, title: str, code: str, paper: str, by: str, at: datetime, key: str = ""
) -> Done:
    """Keep that a document was printed; the answer says which copy it is.

    Args:
        store: the store.
        title: the kind of document, one of `COPIED`.
        code: its own number.
        paper: the size of its pages.
    """
    with store.act("print a document", by=by, at=at, key=key) as act:
        require(desk.check_done_by(act, record_document_print))
        subject = f"{title} {code}"
        before = act.value("SELECT max(copy_number) FROM label_print WHERE subject = ?", subject) or 0
        act.insert(
            LabelPrint(
                subject=subject, copy_number=before + 1, stock=f"{paper}, 300 dpi", event_id=act.event_id
            )
        )
    said = (f"This is copy {before + 1} of {title} {code}; it says so.",) if before else ()
    return Done(act.event_id, (code,), said)
