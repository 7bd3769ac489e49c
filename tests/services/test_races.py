"""Two people at once, each with a connection of their own: exactly one wins, the other is told.

A thread stands for a person at another machine; a barrier lets them act at the same moment.
"""

import threading
from collections.abc import Callable

import pytest

from kittrack.errors import Conflict, KittrackError, Refused
from kittrack.queries.kits import kit_view
from kittrack.services import holding, issuing, jobs, kitting, returning
from kittrack.services.holding import Scope
from kittrack.store.database import Store, open_store
from kittrack.store.records import Voucher
from tests.factories import (
    BENCH,
    BUILDER,
    CLERK,
    CW_BLADE,
    INSPECTOR,
    TAIL,
    TAIL2,
    TECHNICIAN,
    after,
    assert_conserved,
    sealed_kit,
    stock_up,
)

Deed = Callable[[Store], object]


def at_once(url: str, *deeds: Deed) -> list[object]:
    """What each deed gave or raised, done at one moment on connections of their own."""
    barrier, results = threading.Barrier(len(deeds)), [None] * len(deeds)

    def act(place: int, deed: Deed) -> None:
        store = open_store(url)
        try:
            barrier.wait(timeout=30)
            results[place] = deed(store)  # type: ignore[call-overload]
        except KittrackError as error:
            results[place] = error  # type: ignore[call-overload]
        finally:
            store.close()

    threads = [threading.Thread(target=act, args=(n, deed)) for n, deed in enumerate(deeds)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    return list(results)


def issue(kit: str, job: str, *, by: str, receiver: str) -> Deed:
    def deed(store: Store) -> object:
        return issuing.issue_kit(store, kit=kit, job=job, seal="0001", receiver=receiver, by=by, at=after(30))

    return deed


@pytest.mark.parametrize("turn", range(3))
def test_two_clerks_with_one_kit_exactly_one_issues_it_and_the_other_is_told_who(
    store: Store, turn: int
) -> None:
    stock_up(store, at=after(1))
    job = jobs.open_job(store, airframe=TAIL, purpose="x", by=TECHNICIAN, at=after(2)).codes[0]
    other = jobs.open_job(store, airframe=TAIL2, purpose="x", by=TECHNICIAN, at=after(2)).codes[0]
    kit = sealed_kit(store, at=after(5))
    results = at_once(
        store.url,
        issue(kit, job, by=CLERK, receiver=TECHNICIAN),
        issue(kit, other, by=BUILDER, receiver=INSPECTOR),
    )
    lost = [r for r in results if isinstance(r, Conflict)]
    assert len(lost) == 1, results
    winner, receiver = ((CLERK, TECHNICIAN), (BUILDER, INSPECTOR))[results.index(lost[0]) ^ 1]
    for word in (winner, receiver, "2026-03-02 07:30 UTC"):
        assert word in str(lost[0])
    with store.reading() as read:
        assert [v.state for v in read.select(Voucher)] == ["open"]
    assert_conserved(store)


def test_a_hold_placed_at_the_moment_of_an_issue_is_either_seen_or_comes_after_it(store: Store) -> None:
    stock_up(store, at=after(1))
    job = jobs.open_job(store, airframe=TAIL, purpose="x", by=TECHNICIAN, at=after(2)).codes[0]
    kit = sealed_kit(store, at=after(5))

    def hold(own: Store) -> object:
        return holding.place_hold(
            own, scope=Scope(code=kit), reason="recall", reference="", by=BUILDER, at=after(30)
        )

    issued, held = at_once(store.url, issue(kit, job, by=CLERK, receiver=TECHNICIAN), hold)
    assert not isinstance(held, KittrackError)
    if isinstance(issued, Refused):
        assert issued.rules == {"R6"}
        assert kit_view(store, kit=kit, at=after(31)).state == "sealed"
    else:
        assert not isinstance(issued, KittrackError), issued
        with store.reading() as read:
            acts = [row[0] for row in read.rows("SELECT act FROM event ORDER BY id DESC LIMIT 2")]
        assert acts == ["place a hold", "issue a kit"]
        with pytest.raises(Refused) as refused:
            issuing.open_at_aircraft(store, kit=kit, seal="0001", by=TECHNICIAN, at=after(32))
        assert refused.value.rules == {"R6"}


def test_a_hold_that_was_placed_on_another_connection_is_seen_by_the_issue(store: Store) -> None:
    stock_up(store, at=after(1))
    job = jobs.open_job(store, airframe=TAIL, purpose="x", by=TECHNICIAN, at=after(2)).codes[0]
    kit = sealed_kit(store, at=after(5))
    assert kit_view(store, kit=kit, at=after(6)).against == ()
    other = open_store(store.url)
    holding.place_hold(other, scope=Scope(code=kit), reason="recall", reference="", by=BUILDER, at=after(7))
    other.close()
    with pytest.raises(Refused) as refused:
        issue(kit, job, by=CLERK, receiver=TECHNICIAN)(store)
    assert refused.value.rules == {"R6"}


def test_two_builders_never_pick_one_set_twice(store: Store) -> None:
    stock_up(store, at=after(1), sets=3)

    def build(by: str) -> Deed:
        return lambda own: kitting.build_kit(own, revision="QA A", bench=BENCH, by=by, at=after(30)).codes[0]

    kits = at_once(store.url, build(CLERK), build(BUILDER))
    assert all(isinstance(k, str) for k in kits), kits
    views = [kit_view(store, kit=str(k), at=after(31)) for k in kits]
    picked = [code for v in views for line in v.lines if line.part == CW_BLADE for code in line.things]
    assert len(picked) == len(set(picked)) == 3
    assert_conserved(store)


def test_of_return_and_opening_exactly_one_happens(store: Store) -> None:
    stock_up(store, at=after(1))
    job = jobs.open_job(store, airframe=TAIL, purpose="x", by=TECHNICIAN, at=after(2)).codes[0]
    kit = sealed_kit(store, at=after(5))
    issue(kit, job, by=CLERK, receiver=TECHNICIAN)(store)
    results = at_once(
        store.url,
        lambda own: returning.return_unopened(
            own, kit=kit, seal="0001", to_place="A-01", by=CLERK, at=after(31)
        ),
        lambda own: issuing.open_at_aircraft(own, kit=kit, seal="0001", by=TECHNICIAN, at=after(31)),
    )
    assert sum(isinstance(r, Refused) for r in results) == 1, results
    assert sum(isinstance(r, KittrackError) for r in results) == 1, results
    assert_conserved(store)
