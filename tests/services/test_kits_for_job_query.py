"""Which sealed kits are named for a job, and in which order."""

from datetime import date

import pytest

from kittrack.errors import NotFound
from kittrack.queries.kits_for_job import kits_for_job
from kittrack.services import holding, issuing, jobs, kitting
from kittrack.services.coverage import Coverage
from kittrack.services.holding import Scope
from kittrack.store.database import Store
from tests.factories import (
    BENCH,
    BUILDER,
    CCW_BLADE,
    CLERK,
    CW_BLADE,
    SCREW,
    TAIL,
    TAIL2,
    TECHNICIAN,
    WASHER,
    after,
    put_bottle,
    put_in_stock,
    put_sets,
    sealed_kit,
)


def stock(store: Store) -> None:
    for number in (CW_BLADE, CCW_BLADE):
        put_sets(store, number, 6, at=after(1))
    for number in (SCREW, WASHER):
        put_in_stock(store, number, 80, at=after(1), lot_code=f"L-{number}")
    for minute in (2, 3, 4):
        put_bottle(
            store, volume_ul=10_000, at=after(minute), expires_on="2199-12-31", lot_code=f"TL-{minute}"
        )


def open_job(store: Store, tail: str = TAIL) -> str:
    return jobs.open_job(store, airframe=tail, purpose="rotors", by=TECHNICIAN, at=after(20)).codes[0]


def named(store: Store, job: str, minute: int = 30) -> list[tuple[str, str]]:
    return [(one.kit, one.kept_until) for one in kits_for_job(store, job=job, at=after(minute))]


def test_a_kit_kept_for_the_job_comes_first_and_one_kept_for_another_is_not_named(store: Store) -> None:
    stock(store)
    first, second, third = (sealed_kit(store, at=after(n), seal=str(n)) for n in (10, 11, 12))
    job, other = open_job(store), open_job(store, TAIL2)
    until = date(2199, 1, 1)
    jobs.reserve(store, job=job, thing=third, until=until, by=CLERK, at=after(21))
    jobs.reserve(store, job=other, thing=first, until=until, by=CLERK, at=after(22))
    assert named(store, job) == [(third, "2199-01-01"), (second, "")]
    assert named(store, other) == [(first, "2199-01-01"), (second, "")]


def test_a_reservation_that_is_over_keeps_nothing(store: Store) -> None:
    stock(store)
    kit = sealed_kit(store, at=after(10))
    job, other = open_job(store), open_job(store, TAIL2)
    jobs.reserve(store, job=other, thing=kit, until=after(0).date(), by=CLERK, at=after(21))
    assert named(store, job) == []
    assert named(store, job, minute=3 * 24 * 60) == [(kit, "")]


def test_what_is_open_issued_or_of_another_airframe_is_not_named(store: Store) -> None:
    stock(store)
    kitting.build_kit(store, bench=BENCH, revision="QA A", by=BUILDER, at=after(10))
    sealed_kit(store, at=after(11), seal="1", airframe=TAIL2)
    kit = sealed_kit(store, at=after(12), seal="2")
    job = open_job(store)
    assert named(store, job) == [(kit, "")]
    issuing.issue_kit(store, kit=kit, job=job, seal="2", receiver=TECHNICIAN, by=CLERK, at=after(22))
    assert named(store, job) == []


def test_a_kit_on_hold_is_named_only_where_it_is_kept_for_the_job_and_with_the_reason(store: Store) -> None:
    stock(store)
    kept, free = (sealed_kit(store, at=after(n), seal=str(n)) for n in (10, 11))
    job = open_job(store)
    jobs.reserve(store, job=job, thing=kept, until=date(2199, 1, 1), by=CLERK, at=after(21))
    for kit in (kept, free):
        holding.place_hold(store, scope=Scope(code=kit), reason="wet", reference="", by=CLERK, at=after(22))
    [only] = kits_for_job(store, job=job, at=after(30))
    assert only.kit == kept
    assert "wet" in only.against


def test_a_job_that_nobody_knows_is_not_found(store: Store) -> None:
    with pytest.raises(NotFound):
        kits_for_job(store, job="J000998-U", at=after(1))


def test_a_kit_that_covers_more_than_the_job_is_not_named(store: Store) -> None:
    stock(store)
    kit = sealed_kit(store, at=after(10))
    job = jobs.open_job(
        store,
        airframe=TAIL,
        purpose="one rotor",
        positions=Coverage("named", ("FR",)),
        by=TECHNICIAN,
        at=after(20),
    ).codes[0]
    assert named(store, job) == []
    assert named(store, open_job(store, TAIL2)) == [(kit, "")]
