"""Twenty people at once on one store, each with a connection of their own: one wins, nineteen are told who and when.

A thread stands for a person at another machine; a barrier lets them act at the same moment. KITTRACK_CLERKS
says how many they are.
"""

import os
from collections.abc import Callable

import pytest

from kittrack.errors import Conflict, KittrackError, Refused
from kittrack.queries.verify import verify
from kittrack.services import fitting, founding, holding, issuing, jobs, kitting, matching, sealing
from kittrack.services.holding import Scope
from kittrack.store.database import Store
from kittrack.store.records import FitRecord, Hold, Kit, RotorSet, Voucher
from tests.aircraft_scene import Scene
from tests.factories import (
    BENCH,
    BUILDER,
    CLERK,
    CW_BLADE,
    MANAGER,
    TAIL,
    TECHNICIAN,
    after,
    assert_conserved,
    put_in_stock,
    put_sets,
    sealed_kit,
    stock_up,
)
from tests.services.test_races import Deed, at_once

CLERKS = int(os.environ.get("KITTRACK_CLERKS", "20"))
WHEN = "2026-03-02 08:00 UTC"
"""Sixty minutes after the first act of the factories' world, when all of them act."""


@pytest.fixture
def people(store: Store) -> list[str]:
    """As many people as act at once, each with every role that the acts take."""
    names = [f"Person {number:02d}" for number in range(1, CLERKS + 1)]
    roles = ("clerk", "technician", "inspector", "manager")
    for name in names:
        founding.add_person(store, name=name, roles=roles, by=MANAGER, at=after(0))
    return names


def race(
    store: Store, people: list[str], deed: Callable[[Store, str], object]
) -> tuple[str, list[KittrackError]]:
    """Let all of them do one deed at once; answers with the one who did it and what the others were told."""

    def by(name: str) -> Deed:
        return lambda own: deed(own, name)

    with store.reading() as read:
        before = read.value("SELECT max(id) FROM event")
    results = at_once(store.url, *(by(name) for name in people))
    lost = [r for r in results if isinstance(r, KittrackError)]
    won = [name for name, r in zip(people, results, strict=True) if not isinstance(r, KittrackError)]
    assert len(won) == 1, [str(r) for r in results]
    with store.reading() as read:
        assert read.value("SELECT max(id) FROM event") == before + 1
    assert verify(store).faults == ()
    assert_conserved(store)
    return won[0], lost


def assert_all_told(
    lost: list[KittrackError], winner: str, *, kind: type[KittrackError], rules: set[str]
) -> None:
    assert len(lost) == CLERKS - 1
    for error in lost:
        assert isinstance(error, kind), error
        if isinstance(error, Refused):
            assert error.rules == rules
        assert winner in str(error)
        assert WHEN in str(error)


def test_one_set_is_broken_by_one_of_them(store: Store, people: list[str]) -> None:
    rotor_set = put_sets(store, CW_BLADE, 1, at=after(1))[0]
    winner, lost = race(
        store,
        people,
        lambda own, name: matching.break_set(
            own, rotor_set=rotor_set, reason="a nick", by=name, at=after(60)
        ),
    )
    assert_all_told(lost, winner, kind=Refused, rules={"R1"})
    with store.reading() as read:
        assert [s.state for s in read.select(RotorSet)] == ["broken"]


def test_one_kit_is_issued_by_one_of_them(store: Store, people: list[str]) -> None:
    stock_up(store, at=after(1))
    job = jobs.open_job(store, airframe=TAIL, purpose="x", by=TECHNICIAN, at=after(2)).codes[0]
    kit = sealed_kit(store, at=after(5))
    winner, lost = race(
        store,
        people,
        lambda own, name: issuing.issue_kit(
            own, kit=kit, job=job, seal="0001", receiver=TECHNICIAN, by=name, at=after(60)
        ),
    )
    assert_all_told(lost, winner, kind=Conflict, rules=set())
    with store.reading() as read:
        assert [v.state for v in read.select(Voucher)] == ["open"]


def test_one_kit_is_sealed_by_one_of_them(store: Store, people: list[str]) -> None:
    stock_up(store, at=after(1))
    kit = kitting.build_kit(store, bench=BENCH, revision="QA A", by=BUILDER, at=after(5)).codes[0]
    sealing.check_kit(store, kit=kit, by=CLERK, at=after(6))
    winner, lost = race(
        store,
        people,
        lambda own, name: sealing.seal_kit(own, kit=kit, seal=f"seal of {name}", by=name, at=after(60)),
    )
    assert_all_told(lost, winner, kind=Refused, rules={"R5"})
    with store.reading() as read:
        assert [k.seal for k in read.select(Kit)] == [f"seal of {winner}"]


def test_one_kit_is_checked_by_one_of_them(store: Store, people: list[str]) -> None:
    stock_up(store, at=after(1))
    kit = kitting.build_kit(store, bench=BENCH, revision="QA A", by=BUILDER, at=after(5)).codes[0]
    winner, lost = race(
        store, people, lambda own, name: sealing.check_kit(own, kit=kit, by=name, at=after(60))
    )
    assert_all_told(lost, winner, kind=Refused, rules={"R5"})


def test_one_hold_is_released_by_one_of_them(store: Store, people: list[str]) -> None:
    rotor_set = put_sets(store, CW_BLADE, 1, at=after(1))[0]
    hold = holding.place_hold(
        store, scope=Scope(code=rotor_set), reason="x", reference="", by=CLERK, at=after(2)
    ).codes[0]
    winner, lost = race(
        store,
        people,
        lambda own, name: holding.release_hold(
            own, hold=hold, reference="W-1", reason="cleared", by=name, at=after(60)
        ),
    )
    assert_all_told(lost, winner, kind=Refused, rules={"R12"})
    with store.reading() as read:
        assert [h.release_reference for h in read.select(Hold)] == ["W-1"]


def test_what_is_left_is_picked_by_one_of_them(store: Store, people: list[str]) -> None:
    stock_up(store, at=after(1))
    results = at_once(
        store.url,
        *(
            lambda own, name=name: kitting.build_kit(
                own, bench=BENCH, revision="QA A", by=name, at=after(60)
            ).codes[0]
            for name in people
        ),
    )
    assert all(isinstance(code, str) for code in results), results
    with store.reading() as read:
        picked = read.rows(
            "SELECT rotor_set_id, count(*) FROM kit_pick WHERE rotor_set_id IS NOT NULL AND active = 1 GROUP BY 1"
        )
        numbers = [k.code for k in read.select(Kit)]
    assert picked
    assert all(times == 1 for _, times in picked)
    assert sorted(numbers) == sorted(set(map(str, results)))
    assert verify(store).faults == ()
    assert_conserved(store)


def test_one_position_is_fitted_and_inspected_by_one_of_them(store: Store, people: list[str]) -> None:
    scene = Scene(store)
    spot = scene.spot("FL")

    def fit(own: Store, name: str) -> object:
        return fitting.fit_set(
            own, job=scene.job, position=spot, rotor_set=scene.sets[0], mark="R", by=name, at=after(60)
        )

    results = at_once(store.url, *(lambda own, name=name: fit(own, name) for name in people))
    lost = [r for r in results if isinstance(r, Refused)]
    winner = next(n for n, r in zip(people, results, strict=True) if not isinstance(r, KittrackError))
    assert len(lost) == CLERKS - 1
    for error in lost:
        assert "R10" in error.rules
        assert winner in str(error)
        assert WHEN in str(error)
    fitting.fasten(
        store, job=scene.job, position=spot, parts=scene.parts(), torque_mnm=800, tool="Torque driver 1",
        by=winner, at=after(60),
    )  # fmt: skip

    def inspect(own: Store, name: str) -> object:
        return fitting.inspect_position(own, job=scene.job, position=spot, mark="R", by=name, at=after(60))

    others = [name for name in people if name != winner]
    results = at_once(store.url, *(lambda own, name=name: inspect(own, name) for name in others))
    inspector = next(n for n, r in zip(others, results, strict=True) if not isinstance(r, KittrackError))
    told = [r for r in results if isinstance(r, Refused)]
    assert len(told) == CLERKS - 2
    assert all(e.rules == {"R8"} and inspector in str(e) and WHEN in str(e) for e in told), str(told[0])
    with store.reading() as read:
        assert [f.state for f in read.select(FitRecord)] == ["inspected"]
    assert_conserved(store)


def test_twenty_acts_at_once_are_twenty_events_in_one_chain(store: Store, people: list[str]) -> None:
    with store.reading() as read:
        before = read.value("SELECT max(id) FROM event")

    def five_deliveries(own: Store, name: str) -> object:
        for number in range(5):
            line = put_in_stock(own, "SC-M3x8", 8, at=after(60), lot_code=f"{name} {number}")
            holding.place_hold(own, scope=Scope(code=line), reason=name, reference="", by=name, at=after(60))
        return line

    results = at_once(store.url, *(lambda own, name=name: five_deliveries(own, name) for name in people))
    assert all(isinstance(code, str) for code in results), results
    with store.reading() as read:
        assert read.value("SELECT max(id) FROM event") == before + 10 * CLERKS
        lots = read.value("SELECT count(DISTINCT lot_code) FROM lot")
    assert lots == 5 * CLERKS
    assert verify(store).faults == ()
    assert_conserved(store)
