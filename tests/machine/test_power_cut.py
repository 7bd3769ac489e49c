"""A process killed in the middle of acts: what was confirmed is there, nothing is half done, all folds.

KITTRACK_KILLS says how many times each engine's writer is killed at a random moment; the figures in
DEVELOPERS.md were made with 500. Real acts are killed before each of their statements, however many there are.
"""

import os
import random
from collections.abc import Callable

import pytest

from kittrack.errors import Conflict
from kittrack.queries.verify import verify
from kittrack.services import issuing, jobs
from kittrack.store.database import Store, open_store
from kittrack.store.records import Company, Event, ReceiptLine, RotorSet
from tests.aircraft_scene import spot_code
from tests.factories import CLERK, SCREW, TAIL, TECHNICIAN, after, put_in_stock, sealed_kit, stock_up
from tests.machine.orders import Outcome, worker
from tests.machine.worker import TO_AND_FRO, receive

KILLS = int(os.environ.get("KITTRACK_KILLS", "8"))
VERIFIED = 40
"""About how often the whole store is folded again on the way; it is longer each time."""


def test_a_killed_writer_loses_nothing_confirmed_and_leaves_nothing_half(world_url: str) -> None:
    store = open_store(world_url)
    put_in_stock(store, SCREW, 3, at=after(1))
    store.close()
    chance = random.Random(20260302)  # noqa: S311 - moments to kill at, the same in every run
    confirmed = 0
    with worker(world_url) as busy:
        for kill in range(1, KILLS + 1):
            outcome = busy.kill_after(confirmed=chance.randint(1, 4), seconds=chance.uniform(0.0, 0.03))
            assert outcome.was_killed
            whole = kill % (1 + KILLS // VERIFIED) == 0 or kill == KILLS
            _assert_all_there(world_url, outcome, whole=whole)
            confirmed += len(outcome.confirmed)
    assert confirmed >= KILLS


def _assert_all_there(url: str, outcome: Outcome, *, whole: bool) -> None:
    store, said = open_store(url), outcome.confirmed
    with store.reading() as read:
        last = read.value("SELECT max(id) FROM event")
        assert said[-1] <= last <= said[-1] + 1  # one may be recorded and not yet confirmed
        moves = read.value(
            "SELECT count(*) FROM movement m JOIN event e ON e.id = m.event_id WHERE e.act = ?", TO_AND_FRO
        )
        rows = read.value("SELECT count(*) FROM company WHERE name LIKE 'made by event%'")
        events = read.value("SELECT count(*) FROM event WHERE act = ?", TO_AND_FRO)
        assert moves == rows == events
        assert all(read.find(Company, name=f"made by event {number}") for number in said)
    assert not whole or verify(store).faults == ()
    store.close()


# ---- real acts, killed before each statement -------------------------------------------------------


def ready_to_receive(_: Store) -> dict[str, str]:
    """Nothing has to be there for a delivery."""
    return {}


def ready_to_issue(store: Store) -> dict[str, str]:
    """A sealed kit and an open job."""
    stock_up(store, at=after(1))
    job = jobs.open_job(store, airframe=TAIL, purpose="x", by=TECHNICIAN, at=after(2)).codes[0]
    return {"kit": sealed_kit(store, at=after(5)), "job": job}


def ready_to_fit(store: Store) -> dict[str, str]:
    """A kit that is open at its airframe, with a clockwise set in it."""
    given = ready_to_issue(store)
    issuing.issue_kit(
        store, kit=given["kit"], job=given["job"], seal="0001", receiver=TECHNICIAN, by=CLERK, at=after(30)
    )
    sets = issuing.open_at_aircraft(store, kit=given["kit"], seal="0001", by=TECHNICIAN, at=after(31)).codes
    with store.reading() as read:
        clockwise = next(one for one in read.select(RotorSet) if one.code in sets and one.sense == "CW")
    return {
        "job": given["job"], "position": spot_code(store, "FL"), "rotor_set": clockwise.code, "mark": "R",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("deed", "make_ready", "at_least"),
    [("receive", ready_to_receive, 20), ("issue", ready_to_issue, 25), ("fit", ready_to_fit, 20)],
)
def test_an_act_killed_before_any_of_its_statements_is_absent_and_then_done_whole(
    world_url: str, deed: str, make_ready: Callable[[Store], dict[str, str]], at_least: int
) -> None:
    store = open_store(world_url)
    given = make_ready(store)
    before = _content(store)
    store.close()
    with worker(world_url) as hand:
        for statement in range(1, 1000):
            outcome = hand.do(deed, given, die_before=statement)
            if not outcome.was_killed:
                break
            assert outcome.confirmed == ()
            store = open_store(world_url)
            assert _content(store) == before
            store.close()
    assert (outcome.ended, outcome.failed, outcome.confirmed) == (0, "", (before[0] + 1,))
    assert statement > at_least
    store = open_store(world_url)
    assert _content(store)[0] == before[0] + 1
    assert verify(store).faults == ()
    store.close()


def _content(store: Store) -> tuple[int, str, tuple[tuple[int, ...], ...]]:
    """The last event, the chain's head, and where everything is; the whole is folded again on the way."""
    verdict = verify(store)
    assert verdict.faults == ()
    with store.reading() as read:
        held = read.rows("SELECT receipt_line_id, place_id, quantity FROM holding ORDER BY 1, 2, 3")
        inside = read.rows("SELECT container_id, inside_id FROM containment ORDER BY 1")
        return read.value("SELECT max(id) FROM event"), verdict.head, (*held, *inside)


def test_an_act_killed_between_its_end_and_the_answer_is_found_by_its_key_and_not_done_twice(
    world_url: str,
) -> None:
    with worker(world_url) as hand:
        outcome = hand.do("receive", {"key": "terminal 1, act 7"}, die_unconfirmed=True)
    assert outcome.was_killed
    assert outcome.confirmed == ()
    store = open_store(world_url)
    with store.reading() as read:
        event = read.find(Event, key="terminal 1, act 7")
        assert event is not None
        assert event.act == "receive a delivery"
    with pytest.raises(Conflict, match=f"already recorded as event {event.id}"):
        receive(store, key="terminal 1, act 7")
    with store.reading() as read:
        assert len(read.select(ReceiptLine)) == 2
    assert verify(store).faults == ()
    store.close()
