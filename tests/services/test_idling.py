"""After how many idle minutes the stations lock: a manager says it, with a second person, on both engines."""

import pytest

from kittrack.errors import BadInput, KittrackError, Refused
from kittrack.queries.verify import verify
from kittrack.services import idling
from kittrack.store.database import Store
from tests.factories import CLERK, INSPECTOR, MANAGER, after


def say(store: Store, minutes: int, *, by: str = MANAGER, second: str = INSPECTOR, at: int = 1) -> None:
    idling.lock_when_idle(store, minutes=minutes, reason="shared bench", second=second, by=by, at=after(at))


def test_a_store_begins_with_a_lock_after_a_quarter_of_an_hour(store: Store) -> None:
    assert idling.idle_lock(store).minutes == 15


def test_the_last_word_of_a_manager_counts_and_the_log_shows_what_it_was(store: Store) -> None:
    say(store, 5, at=1)
    say(store, 0, at=2)
    assert idling.idle_lock(store).minutes == 0
    with store.reading() as read:
        assert read.rows("SELECT old, new FROM setting_change ORDER BY id") == [("15", "5"), ("5", "0")]
    assert not verify(store).faults


@pytest.mark.parametrize("minutes", [-1, idling.MOST_MINUTES + 1])
def test_minutes_that_make_no_lock_are_refused(store: Store, minutes: int) -> None:
    with pytest.raises(BadInput):
        say(store, minutes)


@pytest.mark.parametrize(("by", "second", "rule"), [(CLERK, INSPECTOR, "role"), (MANAGER, MANAGER, "R8")])
def test_it_takes_a_manager_and_a_second_person(store: Store, by: str, second: str, rule: str) -> None:
    with pytest.raises(KittrackError) as error:
        say(store, 5, by=by, second=second)
    assert isinstance(error.value, Refused)
    assert rule in error.value.rules
    assert idling.idle_lock(store).minutes == idling.DEFAULT_MINUTES
