"""Correcting by reversal: only while nothing was built on the event, by two people, and the fold stays whole."""

import pytest

from kittrack.errors import NotFound, Refused
from kittrack.queries.lookup import what_is
from kittrack.services import issuing, jobs, reversing
from kittrack.store.database import Store
from kittrack.store.fold import differences
from kittrack.store.records import Kit, Voucher
from tests.factories import BUILDER, CLERK, TAIL, TECHNICIAN, after, sealed_kit, stock_up


def issued(store: Store) -> tuple[str, str, int]:
    stock_up(store, at=after(1))
    kit = sealed_kit(store, at=after(2), seal="77")
    job = jobs.open_job(store, airframe=TAIL, purpose="rotors worn", by=CLERK, at=after(3)).codes[0]
    done = issuing.issue_kit(store, kit=kit, job=job, seal="77", receiver=TECHNICIAN, by=CLERK, at=after(4))
    return kit, job, done.event


def reverse(store: Store, event: int, minute: int, *, by: str = CLERK, second: str = BUILDER) -> int:
    return reversing.reverse_event(
        store, event=event, reason="wrong airframe", by=by, at=after(minute), second=second, seal="77"
    ).event


def test_an_issue_is_reversed_and_the_kit_can_be_issued_again(store: Store) -> None:
    kit, job, event = issued(store)
    reverse(store, event, 5)
    with store.reading() as read:
        found, voucher = read.find(Kit, code=kit), read.find(Voucher, id=1)
        assert found is not None
        assert voucher is not None
        assert (found.state, voucher.state) == ("sealed", "reversed")
        assert list(differences(read)) == []
    assert what_is(store, code=kit).where[1].startswith("bin")
    issuing.issue_kit(store, kit=kit, job=job, seal="77", receiver=TECHNICIAN, by=CLERK, at=after(6))


def test_an_event_is_reversed_once(store: Store) -> None:
    _, _, event = issued(store)
    reverse(store, event, 5)
    with pytest.raises(Refused) as refused:
        reverse(store, event, 6)
    assert refused.value.rules == {"R12"}


def test_what_was_built_on_is_not_reversed_and_the_later_events_are_named(store: Store) -> None:
    kit, _, event = issued(store)
    opened = issuing.open_at_aircraft(store, kit=kit, seal="77", by=TECHNICIAN, at=after(5)).event
    with pytest.raises(Refused) as refused:
        reverse(store, event, 6)
    assert refused.value.rules == {"R12"}
    assert str(opened) in str(refused.value)


def test_opening_a_kit_can_not_be_reversed(store: Store) -> None:
    kit, _, _ = issued(store)
    opened = issuing.open_at_aircraft(store, kit=kit, seal="77", by=TECHNICIAN, at=after(5)).event
    with pytest.raises(Refused) as refused:
        reverse(store, opened, 6)
    assert refused.value.rules == {"R12"}


def test_nobody_reverses_alone_and_a_technician_not_at_all(store: Store) -> None:
    _, _, event = issued(store)
    with pytest.raises(Refused) as refused:
        reverse(store, event, 5, second=CLERK)
    assert refused.value.rules == {"R8"}
    with pytest.raises(Refused) as refused:
        reverse(store, event, 6, by=TECHNICIAN)
    assert refused.value.rules == {"role"}


def test_an_event_that_is_not_there_is_told(store: Store) -> None:
    with pytest.raises(NotFound):
        reverse(store, 4242, 5)
