"""Acts: one transaction, one chained event, and what the guards hold whatever a program does."""

from datetime import timedelta
from zoneinfo import ZoneInfo

import pytest

from kittrack.errors import BadInput, Conflict, NotFound, Refused
from kittrack.services import founding
from kittrack.store.act import CLOCKS_DIFFER
from kittrack.store.database import Store
from kittrack.store.fold import differences
from kittrack.store.records import Company, Event
from tests.factories import CLERK, MANAGER, T0, after


def test_an_act_writes_its_rows_and_one_event_that_tells_them(store: Store) -> None:
    with store.act("add a company", by=CLERK, at=after(1), reason="new supplier") as act:
        company = act.insert(Company(name="Another", is_supplier=1))
    with store.reading() as read:
        assert read.find(Company, name="Another") == company
        event = read.get(Event, act.event_id)
    assert '["insert","company"' in event.statements
    assert (event.reason, event.by_id) == ("new supplier", 2)


def test_an_act_that_fails_leaves_nothing(store: Store) -> None:
    with pytest.raises(ZeroDivisionError), store.act("fail", by=CLERK, at=after(1)) as act:
        act.insert(Company(name="Another"))
        raise ZeroDivisionError
    with store.reading() as read:
        assert read.find(Company, name="Another") is None
        assert read.value("SELECT count(*) FROM event WHERE act = 'fail'") == 0


def test_each_event_carries_the_hash_before_it(store: Store) -> None:
    with store.reading() as read:
        events = read.select(Event)
    assert [e.previous_hash for e in events[1:]] == [e.hash for e in events[:-1]]


def test_a_clock_that_went_back_is_told_and_nothing_recorded(store: Store) -> None:
    with pytest.raises(BadInput, match="clock"), store.act("late", by=CLERK, at=T0.replace(hour=1)):
        pass


def test_a_clock_that_ran_ahead_is_corrected_by_two_people_and_work_goes_on(store: Store) -> None:
    with store.act("too early", by=CLERK, at=after(60 * 24 * 365)):
        pass
    with pytest.raises(Refused) as refused:
        founding.correct_clock(store, reason="battery", second=CLERK, by=CLERK, at=after(5))
    assert refused.value.rules == {"role", "R8"}
    founding.correct_clock(store, reason="battery", second=CLERK, by=MANAGER, at=after(5))
    with store.act("go on", by=CLERK, at=after(6)) as act:
        pass
    with store.reading() as read:
        assert list(differences(read)) == []
        assert read.get(Event, act.event_id).at < read.get(Event, act.event_id - 2).at


def test_a_key_that_looks_like_the_stores_own_is_refused(store: Store) -> None:
    with (
        pytest.raises(BadInput, match="can't be the name"),
        store.act("x", by=CLERK, at=after(1), key="event 7"),
    ):
        pass


def test_an_act_with_the_same_key_is_not_done_twice(store: Store) -> None:
    with store.act("once", by=CLERK, at=after(1), key="abc"):
        pass
    with (
        pytest.raises(Conflict, match="already recorded"),
        store.act("once", by=CLERK, at=after(2), key="abc"),
    ):
        pass


def test_an_unknown_person_can_not_act(store: Store) -> None:
    with pytest.raises(NotFound), store.act("x", by="Nobody", at=after(1)):
        pass


def test_an_act_a_little_behind_the_last_record_takes_its_time(store: Store) -> None:
    with store.act("first", by=CLERK, at=after(1)):
        pass
    oslo = ZoneInfo("Europe/Oslo")
    with store.act("second", by=CLERK, at=(after(1) - CLOCKS_DIFFER).astimezone(oslo)) as act:
        assert act.moment == after(1)
    with store.reading() as read:
        first, second = read.select(Event, order="id DESC", limit=2)[::-1]
    assert (second.at, second.offset_minutes) == (first.at, 60)


def test_an_act_further_behind_is_refused_with_the_way_out(store: Store) -> None:
    with store.act("first", by=CLERK, at=after(1)):
        pass
    late = after(1) - CLOCKS_DIFFER - timedelta(microseconds=1)
    with (
        pytest.raises(BadInput, match=r"set the clock.*kittrack clock correct"),
        store.act("x", by=CLERK, at=late),
    ):
        pass
