"""Tricks of somebody at the counter, the bench or the aircraft who wants round a rule: each one is refused, or shows.

A trick is a row of allowed acts that would add up to what a rule forbids. Source: design R1 to R9, R12, R20; section 2
(a reversal checks the rules again).
"""

from datetime import date

import pytest

from kittrack.errors import Conflict, KittrackError, NotFound, Refused
from kittrack.queries.verify import verify
from kittrack.services import (
    founding,
    holding,
    issuing,
    jobs,
    kitting,
    moving,
    picking,
    returning,
    reversing,
    sealing,
    set_breaking,
)
from kittrack.services.moving import MoveSpec
from kittrack.store.database import Store
from kittrack.store.records import Kit, Voucher
from tests.factories import (
    BENCH,
    BIN,
    BIN2,
    BUILDER,
    CLERK,
    MANAGER,
    SCREW,
    TAIL,
    TAIL2,
    TECHNICIAN,
    VAN,
    after,
    put_in_stock,
    sealed_kit,
    stock_up,
)

SEAL = "77"


def rules_of(error: pytest.ExceptionInfo[Refused]) -> set[str]:
    return set(error.value.rules)


def hold(store: Store, code: str, minute: int) -> str:
    scope = holding.Scope(code=code)
    done = holding.place_hold(store, scope=scope, reason="cracks", reference="", by=CLERK, at=after(minute))
    return done.codes[0]


def open_job(store: Store, minute: int, tail: str = TAIL) -> str:
    return jobs.open_job(store, airframe=tail, purpose="rotors worn", by=CLERK, at=after(minute)).codes[0]


def issue(store: Store, kit: str, job: str, minute: int, *, to: str = TECHNICIAN, by: str = CLERK) -> int:
    done = issuing.issue_kit(store, kit=kit, job=job, seal=SEAL, receiver=to, by=by, at=after(minute))
    return done.event


def reverse(store: Store, event: int, minute: int, *, seal: str = "") -> None:
    reversing.reverse_event(
        store, event=event, reason="a mistake", by=CLERK, second=BUILDER, at=after(minute), seal=seal
    )


@pytest.fixture
def kit(store: Store) -> str:
    """A sealed kit in a bin."""
    stock_up(store, at=after(1))
    return sealed_kit(store, at=after(2), seal=SEAL)


def screws_of(store: Store, code: str) -> str:
    """The receipt line of the screws in a kit."""
    with store.reading() as read:
        found: str = read.value(
            "SELECT r.code FROM kit_pick k JOIN kit t ON t.id = k.kit_id JOIN receipt_line r ON r.id = k.receipt_line_id "
            "JOIN part p ON p.id = r.part_id WHERE t.code = ? AND p.number = ?",
            code, SCREW,
        )  # fmt: skip
    return found


# ---- by a reversal -----------------------------------------------------------------------------


def test_held_stock_does_not_come_back_to_the_shelf_by_a_reversal(store: Store) -> None:
    line = put_in_stock(store, SCREW, 40, at=after(1))
    hold(store, line, 2)
    moved = moving.move_things(store, things=[MoveSpec(line)], to="hold cage Home", by=CLERK, at=after(3))
    with pytest.raises(Refused) as refused:
        reverse(store, moved.event, 4)
    assert rules_of(refused) == {"R6"}


def test_a_held_kit_does_not_come_back_to_the_shelf_by_a_reversed_issue(store: Store, kit: str) -> None:
    event = issue(store, kit, open_job(store, 20), 21)
    hold(store, screws_of(store, kit), 22)
    with pytest.raises(Refused) as refused:
        reverse(store, event, 23, seal=SEAL)
    assert rules_of(refused) == {"R6"}
    returning.return_unopened(store, kit=kit, seal=SEAL, to_place="hold cage Home", by=CLERK, at=after(24))


def test_a_kit_that_somebody_opened_is_not_whole_again_by_a_reversed_issue(store: Store, kit: str) -> None:
    """The seal is read, as it is when a kit comes back unopened."""
    event = issue(store, kit, open_job(store, 20), 21)
    for seal in ("", "78"):
        with pytest.raises(Refused) as refused:
            reverse(store, event, 22, seal=seal)
        assert rules_of(refused) == {"R5"}
    reverse(store, event, 23, seal=SEAL)
    with store.reading() as read:
        assert read.select(Voucher)[0].state == "reversed"


def test_a_kit_in_the_cage_does_not_come_back_to_the_shelf_by_a_reversal(store: Store, kit: str) -> None:
    hold(store, kit, 20)
    put = sealing.put_away_kit(store, kit=kit, to_place="hold cage Home", by=CLERK, at=after(21))
    with pytest.raises(Refused) as refused:
        reverse(store, put.event, 22)
    assert rules_of(refused) == {"R6"}


# ---- by taking apart and putting together ------------------------------------------------------


def test_a_kit_from_a_van_is_not_dissolved_without_its_seal(store: Store, kit: str) -> None:
    """Opened in the van, its screws would be good again by dissolving it in the stores (R9)."""
    moving.move_things(store, things=[MoveSpec(kit)], to=VAN, by=TECHNICIAN, at=after(20))
    moving.move_things(store, things=[MoveSpec(kit)], to=BIN, by=TECHNICIAN, at=after(21))
    with pytest.raises(Refused) as refused:
        kitting.dissolve_kit(store, kit=kit, reason="not needed", to_bin=BIN, by=CLERK, at=after(22))
    assert rules_of(refused) == {"R5"}
    kitting.dissolve_kit(store, kit=kit, reason="not needed", to_bin=BIN, by=CLERK, at=after(23), seal=SEAL)


def test_a_kit_that_came_back_is_not_dissolved_without_its_seal(store: Store, kit: str) -> None:
    issue(store, kit, open_job(store, 20), 21)
    returning.return_unopened(store, kit=kit, seal=SEAL, to_place=BIN, by=CLERK, at=after(22))
    with pytest.raises(Refused) as refused:
        kitting.dissolve_kit(store, kit=kit, reason="not needed", to_bin=BIN, by=CLERK, at=after(23))
    assert rules_of(refused) == {"R5"}


def test_the_builder_does_not_check_a_kit_by_letting_another_swap_in_it(store: Store) -> None:
    stock_up(store, at=after(1), sets=3)
    kit = kitting.build_kit(store, bench=BENCH, by=BUILDER, at=after(2), revision="QA A").codes[0]
    with store.reading() as read:
        out = read.value(
            "SELECT s.code FROM kit_pick k JOIN rotor_set s ON s.id = k.rotor_set_id ORDER BY k.id LIMIT 1"
        )
    picking.swap_pick(store, kit=kit, out=out, reason="label", to_bin=BIN, by=CLERK, at=after(3))
    for who in (BUILDER, CLERK):
        with pytest.raises(Refused) as refused:
            sealing.check_kit(store, kit=kit, by=who, at=after(4))
        assert "R8" in rules_of(refused)


def test_nothing_leaves_a_kit_in_work_but_by_a_swap(store: Store) -> None:
    stock_up(store, at=after(1))
    kit = kitting.build_kit(store, bench=BENCH, by=BUILDER, at=after(2), revision="QA A").codes[0]
    with store.reading() as read:
        inside = read.find(Kit, code=kit)
        assert inside is not None
        one = read.value(
            "SELECT s.code FROM rotor_set s JOIN containment c ON c.container_id = s.place_id WHERE c.inside_id = ?",
            inside.place_id,
        )
    with pytest.raises(Refused) as refused:
        moving.move_things(store, things=[MoveSpec(one)], to=BIN, by=CLERK, at=after(3))
    assert rules_of(refused) == {"R5"}
    with pytest.raises(Refused) as refused:
        set_breaking.break_set(store, rotor_set=one, reason="nick", by=CLERK, at=after(4))
    assert rules_of(refused) == {"R5"}


def test_a_dead_number_stays_dead(store: Store, kit: str) -> None:
    returning.open_kit(store, kit=kit, reason="seal found broken", by=CLERK, at=after(20))
    job = open_job(store, 21)
    tries = (
        lambda: issue(store, kit, job, 22),
        lambda: sealing.seal_kit(store, kit=kit, seal="78", by=CLERK, at=after(23)),
        lambda: sealing.put_away_kit(store, kit=kit, to_place=BIN, by=CLERK, at=after(24)),
        lambda: returning.return_unopened(store, kit=kit, seal=SEAL, to_place=BIN, by=CLERK, at=after(25)),
        lambda: jobs.reserve(store, job=job, thing=kit, until=date(2026, 3, 9), by=CLERK, at=after(26)),
        lambda: issuing.open_at_aircraft(store, kit=kit, seal=SEAL, by=TECHNICIAN, at=after(27)),
    )
    for trick in tries:
        with pytest.raises((Refused, Conflict, NotFound)):
            trick()


# ---- by people ---------------------------------------------------------------------------------


def test_a_second_badge_of_the_same_human_is_no_second_person(store: Store, kit: str) -> None:
    founding.add_person(
        store,
        name="Clerk One again",
        roles=("clerk", "technician"),
        by=MANAGER,
        at=after(20),
        same_human_as=CLERK,
    )
    job = open_job(store, 21)
    with pytest.raises(Refused) as refused:
        issue(store, kit, job, 22, to="Clerk One again")
    assert rules_of(refused) == {"R8"}
    event = issue(store, kit, job, 23)
    with pytest.raises(Refused) as refused:
        reversing.reverse_event(
            store, event=event, reason="x", by=CLERK, second="Clerk One again", at=after(24), seal=SEAL
        )
    assert "R8" in rules_of(refused)


def test_an_issue_of_somebody_declared_alone_is_no_fault_of_the_store(store: Store, kit: str) -> None:
    """What R8 allows itself does not make `verify` cry wolf; without the declaration it does."""
    founding.set_roles(store, person=CLERK, roles=("clerk", "technician"), by=MANAGER, at=after(20))
    founding.declare_alone(
        store, person=CLERK, from_on=date(2026, 3, 2), until_on=date(2026, 3, 3), reason="field camp",
        by=MANAGER, at=after(21),
    )  # fmt: skip
    issue(store, kit, open_job(store, 22), 23, to=CLERK)
    assert verify(store).faults == ()


# ---- by the calendar and the reservation ---------------------------------------------------------


def test_a_kit_kept_for_a_job_goes_to_no_other_and_is_not_taken_apart_in_passing(
    store: Store, kit: str
) -> None:
    first, other = open_job(store, 20), open_job(store, 21, TAIL2)
    jobs.reserve(store, job=first, thing=kit, until=date(2026, 3, 9), by=CLERK, at=after(22))
    with pytest.raises(Refused) as refused:
        issue(store, kit, other, 23)
    assert rules_of(refused) == {"R6"}
    with pytest.raises(KittrackError):
        jobs.reserve(store, job=other, thing=kit, until=date(2026, 3, 9), by=BUILDER, at=after(24))


def test_an_expired_kit_does_not_come_back_to_a_bin(store: Store) -> None:
    stock_up(store, at=after(1))
    kit = sealed_kit(store, at=after(2), seal=SEAL)
    issue(store, kit, open_job(store, 20), 21)
    late = after(60 * 24 * 400)
    with pytest.raises(Refused) as refused:
        returning.return_unopened(store, kit=kit, seal=SEAL, to_place=BIN2, by=CLERK, at=late)
    assert rules_of(refused) <= {"R6", "R13"}
    returning.return_unopened(store, kit=kit, seal=SEAL, to_place="hold cage Home", by=CLERK, at=late)
