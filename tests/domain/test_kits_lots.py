"""Which stock is taken: first expiry first out, one lot for one hub.

Sources: "worked example computed by hand" marks values worked out on paper; the total order is checked with
every permutation, lot purity against all ways of dealing hubs to lots (exhaustive search).
"""

import itertools
from collections import Counter
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kittrack.domain.lots import Offer, allocate, allocate_by_hub, complete_hubs, first_out, whole_for
from kittrack.errors import BadInput

HUBS = ((1, 4), (2, 4), (3, 4), (4, 4))


def offer(key: int, quantity: int, *, lot: str = "", received: int = 1, until: str = "") -> Offer:
    return Offer(key, lot or f"L{key}", quantity, received, date.fromisoformat(until) if until else None)


def test_the_order_is_expiry_then_receipt_then_lot_then_slot() -> None:
    wanted = (
        offer(9, 1, until="2026-05-01", received=7),
        offer(8, 1, until="2026-06-01", received=2),
        offer(7, 1, until="2026-06-01", received=3, lot="L1"),
        offer(3, 1, until="2026-06-01", received=3, lot="L2"),
        offer(4, 1, until="2026-06-01", received=3, lot="L2"),
        offer(1, 1, received=1),
    )
    for shuffled in itertools.permutations(wanted):
        assert first_out(shuffled) == wanted


def test_an_offer_is_given_once_and_offers_something() -> None:
    with pytest.raises(BadInput):
        first_out((offer(1, 1), offer(1, 2)))
    with pytest.raises(BadInput):
        first_out((offer(1, 0),))


def test_ten_seven_fifteen_screws_serve_six_hubs_of_four() -> None:
    # worked example computed by hand: 2 + 1 + 3 hubs, though 32 // 4 = 8
    hubs = [(n, 4) for n in range(8)]
    found = allocate_by_hub(hubs, offers=[offer(1, 10), offer(2, 7), offer(3, 15)])
    assert found.unserved == (6, 7)
    assert found.short == 8
    assert Counter(d.offer.lot for d in found.draws) == {"L1": 2, "L2": 1, "L3": 3}


def test_one_lot_in_two_slots_serves_a_hub_together() -> None:
    found = allocate_by_hub([(1, 4)], offers=[offer(1, 3, lot="L1"), offer(2, 3, lot="L1")])
    assert [(d.offer.key, d.quantity, d.hub) for d in found.draws] == [(1, 3, 1), (2, 1, 1)]


@given(
    stock=st.lists(st.integers(1, 12), min_size=1, max_size=4),
    hubs=st.integers(1, 5),
    each=st.integers(1, 6),
)
def test_hubs_are_pure_and_as_many_as_any_dealing_gives(stock: list[int], hubs: int, each: int) -> None:
    found = allocate_by_hub(
        [(h, each) for h in range(hubs)], offers=[offer(n, q) for n, q in enumerate(stock)]
    )
    for hub in set(range(hubs)) - set(found.unserved):
        own = [d for d in found.draws if d.hub == hub]
        assert len({d.offer.lot for d in own}) == 1
        assert sum(d.quantity for d in own) == each
    used = Counter[int]()
    for draw in found.draws:
        used[draw.offer.key] += draw.quantity
    assert all(used[n] <= q for n, q in enumerate(stock))
    best = max(  # every way to give each hub a lot or none
        sum(choice is not None for choice in dealt)
        for dealt in itertools.product([None, *range(len(stock))], repeat=hubs)
        if all(dealt.count(n) * each <= q for n, q in enumerate(stock))
    )
    assert hubs - len(found.unserved) == best


def test_a_plain_line_runs_over_lots_and_says_what_is_short() -> None:
    found = allocate(5, offers=[offer(1, 2, received=2), offer(2, 2, received=1)])
    assert [(d.offer.key, d.quantity) for d in found.draws] == [(2, 2), (1, 2)]
    assert found.short == 1


def test_the_first_bottle_that_holds_the_dose_goes_along() -> None:
    bottles = [
        offer(1, 500, until="2026-04-01"),
        offer(2, 900, until="2026-05-01"),
        offer(3, 9000, until="2026-06-01"),
    ]
    chosen = whole_for(800, offers=bottles)
    assert chosen is not None
    assert chosen.key == 2
    assert whole_for(10_000, offers=bottles) is None
    exact = whole_for(900, offers=bottles)
    assert exact is not None
    assert exact.key == 2


def test_one_dropped_screw_is_made_good_from_its_own_lot() -> None:
    own = [offer(1, 7, lot="LA")]  # two hubs of four, one screw dropped
    found = complete_hubs(
        [(1, 4), (2, 4)], own=own, shelf=[offer(5, 50, lot="LB"), offer(6, 50, lot="LA", received=9)]
    )
    assert [(d.offer.lot, d.quantity, d.hub) for d in found.draws] == [("LA", 1, 2)]


def test_without_its_own_lot_a_whole_hub_is_made_good() -> None:
    found = complete_hubs([(1, 4), (2, 4)], own=[offer(1, 7, lot="LA")], shelf=[offer(5, 50, lot="LB")])
    assert [(d.offer.lot, d.quantity, d.hub) for d in found.draws] == [("LB", 4, 2)]


def test_what_the_job_holds_is_never_drawn_again_and_shortage_is_told() -> None:
    assert complete_hubs(HUBS, own=[offer(1, 16)], shelf=[offer(2, 16)]).draws == ()
    found = complete_hubs(
        HUBS, own=[offer(1, 6, lot="LA")], shelf=[offer(2, 2, lot="LA"), offer(3, 5, lot="LB")]
    )
    # worked example computed by hand: 4 of the job's own; 2 left of LA and 2 from the shelf; 4 of LB; nothing for the last
    assert [(d.offer.lot, d.quantity, d.hub) for d in found.draws] == [("LA", 2, 2), ("LB", 4, 3)]
    assert (found.unserved, found.short) == ((4,), 4)


def test_what_is_left_of_a_lot_completes_one_hub_and_the_next_is_served_whole() -> None:
    # worked example computed by hand: 7 of the job's own serve one hub, 3 are left for the second, none for the third
    found = complete_hubs(
        [(1, 4), (2, 4), (3, 4)], own=[offer(1, 7, lot="LA")], shelf=[offer(2, 50, lot="LA")]
    )
    assert [(d.quantity, d.hub) for d in found.draws] == [(1, 2), (4, 3)]


def test_the_lot_of_which_most_is_left_is_completed() -> None:
    own = [offer(1, 1, lot="LA"), offer(2, 3, lot="LB")]
    shelf = [offer(3, 50, lot="LA"), offer(4, 50, lot="LB", received=9)]
    found = complete_hubs([(1, 4)], own=own, shelf=shelf)
    assert [(d.offer.lot, d.quantity) for d in found.draws] == [("LB", 1)]


def test_a_lot_of_which_nothing_is_left_is_not_preferred() -> None:
    shelf = [offer(2, 4, lot="LB", until="2026-05-01"), offer(3, 50, lot="LA", until="2026-06-01")]
    found = complete_hubs([(1, 4), (2, 4)], own=[offer(1, 4, lot="LA")], shelf=shelf)
    assert [(d.offer.lot, d.quantity, d.hub) for d in found.draws] == [
        ("LB", 4, 2)
    ]  # first expiry, first out


def test_a_hub_that_nothing_serves_leaves_the_others_served() -> None:
    found = complete_hubs([(1, 9), (2, 4)], own=[], shelf=[offer(1, 4, lot="LA"), offer(2, 4, lot="LB")])
    assert [(d.offer.lot, d.quantity, d.hub) for d in found.draws] == [("LA", 4, 2)]
    assert (found.unserved, found.short) == ((1,), 9)
