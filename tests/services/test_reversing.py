"""Correcting by reversal: only while nothing was built on the event, by two people, and the fold stays whole."""

import pytest

from kittrack.errors import NotFound, Refused
from kittrack.queries.lookup import what_is
from kittrack.services import holding, issuing, jobs, moving, reversing
from kittrack.services.line_standing import line_view
from kittrack.services.moving import MoveSpec
from kittrack.store.database import Store
from kittrack.store.fold import differences
from kittrack.store.records import Kit, Voucher
from tests.factories import (
    BENCH,
    BIN,
    BIN2,
    BUILDER,
    CLERK,
    CW_BLADE,
    SCREW,
    TAIL,
    TECHNICIAN,
    VAN,
    after,
    assert_conserved,
    put_in_stock,
    sealed_kit,
    sets_on_shelf,
    stock_up,
)


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
    assert what_is(store, code=kit).where[0].startswith("bin")
    issuing.issue_kit(store, kit=kit, job=job, seal="77", receiver=TECHNICIAN, by=CLERK, at=after(6))


def lying(store: Store, line: str) -> dict[str, int]:
    """How much of a line lies in each place."""
    return {one.place: one.quantity for one in line_view(store, line=line, at=after(60)).lying}


def test_moved_stock_goes_back_once_what_followed_was_reversed(store: Store) -> None:
    line = put_in_stock(store, SCREW, 20, at=after(1))
    out = moving.move_things(store, things=[MoveSpec(line, 12)], to=VAN, by=CLERK, at=after(2)).event
    on = moving.move_things(
        store, things=[MoveSpec(line, 5, from_place=VAN)], to=BIN2, by=CLERK, at=after(3)
    ).event
    with pytest.raises(Refused, match=f"moved again by event {on}; reverse these first") as refused:
        reverse(store, out, 4)
    assert refused.value.rules == {"R12"}
    assert lying(store, line) == {BIN: 8, VAN: 7, BIN2: 5}
    reverse(store, on, 5)
    reverse(store, out, 6)
    assert lying(store, line) == {BIN: 20}
    with store.reading() as read:
        assert list(differences(read)) == []


def test_a_line_that_came_together_from_two_bins_goes_back_to_both_or_to_none(store: Store) -> None:
    line = put_in_stock(store, SCREW, 20, at=after(1))
    moving.move_things(store, things=[MoveSpec(line, 10)], to=BIN2, by=CLERK, at=after(2))
    both = [MoveSpec(line, from_place=place) for place in (BIN, BIN2)]
    out = moving.move_things(store, things=both, to=VAN, by=CLERK, at=after(3)).event
    on = moving.move_things(store, things=[MoveSpec(line, 8)], to=BENCH, by=CLERK, at=after(4)).event
    with pytest.raises(Refused, match=f"moved again by event {on}") as refused:
        reverse(store, out, 5)
    assert refused.value.rules == {"R12"}
    reverse(store, on, 6)
    reverse(store, out, 7)
    assert lying(store, line) == {BIN: 10, BIN2: 10}
    assert_conserved(store)


def test_a_set_goes_back_to_its_bin_and_a_held_one_does_not(store: Store) -> None:
    sound, held = sets_on_shelf(store, CW_BLADE, 2, at=after(1))
    events = [
        moving.move_things(store, things=[MoveSpec(code)], to=BENCH, by=CLERK, at=after(2)).event
        for code in (sound, held)
    ]
    holding.place_hold(
        store, scope=holding.Scope(code=held), reason="cracks", reference="", by=CLERK, at=after(3)
    )
    reverse(store, events[0], 4)
    with pytest.raises(Refused) as refused:
        reverse(store, events[1], 5)
    assert refused.value.rules == {"R6"}
    assert what_is(store, code=sound).where[0].startswith(f"bin {BIN}")
    assert what_is(store, code=held).where[0].startswith(f"bench {BENCH}")


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
