"""Every copy of a document of which there is one is kept, and only its second copy says what it is."""

import pytest

from kittrack.errors import NotFound, Refused
from kittrack.queries.labels import label_history
from kittrack.services import document_printing
from kittrack.store.database import Store
from kittrack.store.records import LabelPrint
from tests.factories import AUDITOR, CLERK, after


def test_the_first_copy_is_silent_and_the_second_says_which_it_is(store: Store) -> None:
    given = {"title": "Issue voucher", "code": "V000001-0", "paper": "A4", "by": CLERK}
    first = document_printing.record_document_print(store, at=after(1), **given)
    second = document_printing.record_document_print(store, at=after(2), **given)
    assert (first.said, second.said) == ((), ("This is copy 2 of Issue voucher V000001-0; it says so.",))
    with store.reading() as read:
        assert [(p.subject, p.copy_number) for p in read.select(LabelPrint)] == [
            ("Issue voucher V000001-0", 1), ("Issue voucher V000001-0", 2),
        ]  # fmt: skip


def test_a_document_is_no_label_and_an_auditor_prints_none(store: Store) -> None:
    document_printing.record_document_print(
        store, title="Recall notice", code="M000001-V", paper="A4", by=CLERK, at=after(1)
    )
    with pytest.raises(NotFound):
        label_history(store, thing="M000001-V")
    with pytest.raises(Refused) as refused:
        document_printing.record_document_print(
            store, title="Recall notice", code="M000001-V", paper="A4", by=AUDITOR, at=after(2)
        )
    assert refused.value.rules == {"role"}
