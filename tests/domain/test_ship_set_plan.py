"""Ship sets where lines and types share parts, against integer programming.

The oracle is `scipy.optimize.milp`: as many variables as there are (kind of group, heap) pairs, a heap not
overdrawn, every group wanted cut.
"""

from collections.abc import Sequence
from itertools import product
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, milp

from kittrack.domain import cutting, ship_set_plan
from kittrack.domain.buildable import Need, ship_sets
from kittrack.domain.cutting import Cut, fits
from kittrack.domain.ship_set_plan import SetLine, plan_together, ship_sets_of
from kittrack.errors import BadInput

Stock = dict[int, tuple[int, ...]]


def most_by_programming(types: Sequence[Sequence[SetLine]], stock: Stock, weights: Sequence[float]) -> Any:
    """The best weighted number of ship sets, by an integer program over counts and cuts."""
    cuts = sorted({line.cut for lines in types for line in lines})
    heaps = [(part, q) for part, heaps in sorted(stock.items()) for q in heaps]
    pairs = [(c, h) for c, h in product(range(len(cuts)), range(len(heaps))) if heaps[h][0] in cuts[c].heaps]
    size = len(types) + len(pairs)
    limits: list[tuple[Any, float, float]] = []
    for c, cut in enumerate(cuts):  # groups cut of a kind minus groups wanted >= 0
        row = np.zeros(size)
        for t, lines in enumerate(types):
            row[t] = -sum(line.groups for line in lines if line.cut == cut)
        for p, (kind, _) in enumerate(pairs):
            row[len(types) + p] = kind == c
        limits.append((row, 0.0, np.inf))
    for h, (_, quantity) in enumerate(heaps):
        row = np.zeros(size)
        for p, (kind, heap) in enumerate(pairs):
            row[len(types) + p] = cuts[kind].size if heap == h else 0
        limits.append((row, 0.0, float(quantity)))
    cost = np.zeros(size)
    cost[: len(types)] = [-w for w in weights]
    rows, low, high = zip(*limits, strict=True)
    found = milp(
        cost, constraints=LinearConstraint(np.array(rows), low, high), integrality=np.ones(size), bounds=Bounds(0, 1000), options={"mip_rel_gap": 0}
    )  # fmt: skip
    return round(-found.fun)


PARTS = (1, 2, 3)
lines = st.builds(
    lambda parts, groups, pure: SetLine("line", tuple(sorted(parts)), groups * pure, pure),
    st.sets(st.sampled_from(PARTS), min_size=1, max_size=2),
    st.integers(1, 3),
    st.sampled_from((1, 2, 3, 4, 6)),
)
stocks = st.fixed_dictionaries({part: st.lists(st.integers(0, 25), max_size=3).map(tuple) for part in PARTS})
some_types = st.lists(st.lists(lines, min_size=1, max_size=3), min_size=1, max_size=3)


@settings(max_examples=200, deadline=None)
@given(types=some_types, stock=stocks)
def test_a_joint_plan_builds_as_many_as_integer_programming(types: list[list[SetLine]], stock: Stock) -> None:
    plan = plan_together(types, stock)
    best = most_by_programming(types, stock, [1.0] * len(types))
    assert sum(plan.counts) == best if plan.is_optimal else sum(plan.counts) <= best


@settings(max_examples=100, deadline=None)
@given(types=some_types, stock=stocks)
def test_the_type_named_first_gets_as_many_as_alone(types: list[list[SetLine]], stock: Stock) -> None:
    last = len(types) - 1
    plan = plan_together(types, stock, first=[last])
    assert plan.counts[last] == ship_sets_of(types[last], stock).count
    weights = [1.0] * last + [100.0]
    assert not plan.is_optimal or sum(
        w * n for w, n in zip(weights, plan.counts, strict=True)
    ) == most_by_programming(types, stock, weights)


@settings(max_examples=150, deadline=None)
@given(one=st.lists(lines, min_size=1, max_size=4), stock=stocks)
def test_one_type_alone_agrees_with_integer_programming(one: list[SetLine], stock: Stock) -> None:
    assert ship_sets_of(one, stock).count == most_by_programming([one], stock, [1.0])


@settings(max_examples=150, deadline=None)
@given(
    heaps=st.lists(st.integers(0, 30), min_size=1, max_size=4),
    pure=st.sampled_from((1, 2, 4)),
    groups=st.integers(1, 3),
)
def test_lines_that_share_nothing_are_counted_as_before(heaps: list[int], pure: int, groups: int) -> None:
    stock: Stock = {1: tuple(heaps), 2: (7,)}
    found = ship_sets_of([SetLine("a", (1,), groups * pure, pure), SetLine("b", (2,), 2)], stock)
    plain = ship_sets([Need("a", groups * pure, tuple(heaps), pure), Need("b", 2, (7,))])
    assert found == plain


@settings(max_examples=150, deadline=None)
@given(one=st.lists(lines, min_size=1, max_size=3), stock=stocks)
def test_what_is_told_to_add_is_enough_for_one_more(one: list[SetLine], stock: Stock) -> None:
    named = [SetLine(f"line {n}", line.parts, line.quantity, line.pure_in) for n, line in enumerate(one)]
    found = ship_sets_of(named, stock)
    assert found.unlock, "something always lacks for one more"
    more = {part: tuple(heaps) for part, heaps in stock.items()}
    for name, quantity in found.unlock:
        part = next(line for line in named if line.name in name.split(" + ")).parts[0]
        more[part] = (*more[part], quantity)
    assert ship_sets_of(named, more).count > found.count


def test_four_types_that_share_all_their_parts_are_planned_to_the_best() -> None:
    """As large as a fleet gets: 60 sets of three parts, screws of five lots; the program's answer is proved."""
    types = [
        [SetLine("CW", (1, 2), 2, 2), SetLine("screws", (3,), 16, 4)],
        [SetLine("CW", (1,), 3, 3), SetLine("screws", (3,), 24, 4)],
        [SetLine("CW", (2,), 4, 4), SetLine("screws", (3,), 24, 6)],
        [SetLine("CW", (1, 2), 4, 4), SetLine("screws", (3,), 16, 4)],
    ]
    stock: Stock = {1: (27,), 2: (33,), 3: (90, 55, 41, 130, 18)}
    plan = plan_together(types, stock)
    assert plan.is_optimal
    assert sum(plan.counts) == most_by_programming(types, stock, [1.0] * 4)


def test_two_lines_of_one_part_compete_for_it() -> None:
    """56 washers, 16 in groups of 4 and 24 in groups of 6 a ship set: 40 each, so one and not two (by hand)."""
    upper, lower = SetLine("washers above", (1,), 16, 4), SetLine("washers below", (1,), 24, 6)
    found = ship_sets_of([upper, lower], {1: (56,)})
    assert found.by_line == (("washers above", 3), ("washers below", 2))
    assert found.count == 1
    assert sum(quantity for _, quantity in found.unlock) == 24  # 80 wanted, 56 there


def test_rotor_sets_of_two_makers_are_not_mixed_in_a_ship_set() -> None:
    """9 + 5 sets, 2 a ship set of one maker: 4 + 2, not 14 // 2 = 7 (by hand); one more of either unlocks."""
    line = SetLine("CW", (1, 2), 2, 2, tops_up=True)
    found = ship_sets_of([line], {1: (9,), 2: (5,)})
    assert (found.count, found.unlock) == (6, (("CW", 1),))


@pytest.mark.parametrize(
    ("stock", "count", "add"),
    [
        ({}, 0, 2),  # nothing there at all: a whole ship set of one maker
        ({1: (0,)}, 0, 2),
        ({1: (8,), 2: (4,)}, 6, 2),
        ({1: (8,), 2: (5,)}, 6, 1),  # the second maker's heap needs less
        ({1: (9,), 2: (4,)}, 6, 1),
    ],
)
def test_the_least_that_unlocks_one_more_is_added_to_the_heap_that_needs_least(
    stock: Stock, count: int, add: int
) -> None:
    """Counted by hand: 2 sets of one maker a ship set."""
    found = ship_sets_of([SetLine("CW", (1, 2), 2, 2, tops_up=True)], stock)
    assert (found.count, found.unlock) == (count, (("CW", add),))


def test_what_is_added_for_one_line_serves_no_other_line_too() -> None:
    """3 sets of a part that two lines want 2 of each, by hand: 1 more is enough for both, of which one needs it."""
    alone = SetLine("alone", (1,), 2, 2, tops_up=True)
    either = SetLine("either", (1, 2), 2, 2, tops_up=True)
    assert ship_sets_of([alone, either], {1: (3,)}).unlock == (("alone", 1),)
    assert dict(ship_sets_of([alone, either], {}).unlock) == {"alone": 2, "either": 2}


def test_only_the_lines_that_compete_for_too_little_limit() -> None:
    plenty, short = SetLine("plenty", (1,), 2), SetLine("short", (2,), 2)
    assert ship_sets_of([plenty, short], {1: (9,), 2: (3,)}).limiting == ("short",)


def test_a_hub_takes_its_screws_of_one_lot() -> None:
    found = ship_sets_of([SetLine("screws", (1,), 8, 8)], {1: (10, 7, 15)})
    assert (found.count, found.unlock) == (2, (("screws", 8),))


def test_of_equal_totals_the_earlier_type_gets_more() -> None:
    alike = [SetLine("x", (1,), 2)]
    assert plan_together([alike, alike], {1: (7,)}).counts == (3, 0)
    assert plan_together([alike, alike], {1: (7,)}, first=[1]).counts == (0, 3)


def test_types_that_share_nothing_are_planned_apart() -> None:
    plan = plan_together([[SetLine("a", (1,), 2)], [SetLine("b", (2,), 3)]], {1: (5,), 2: (7,)})
    assert (plan.counts, plan.is_optimal) == ((2, 2), True)


def test_a_plan_that_is_cut_short_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ship_set_plan, "MOST_CHECKS", 3)
    types = [[SetLine("a", (1, 2), 3)], [SetLine("b", (2, 3), 2)], [SetLine("c", (1, 3), 2)]]
    plan = plan_together(types, {1: (9,), 2: (9,), 3: (9,)})
    assert not plan.is_optimal
    assert sum(plan.counts) <= most_by_programming(types, {1: (9,), 2: (9,), 3: (9,)}, [1.0] * 3)


def test_a_cut_that_is_not_found_in_time_is_not_claimed(monkeypatch: pytest.MonkeyPatch) -> None:
    heaps = [(1, 9), (1, 9)]
    wanted = {Cut((1,), 4): 2, Cut((1,), 5): 2}
    assert fits(heaps, wanted) is True  # 4 + 5 in each
    assert fits([(1, 10), (1, 8)], wanted) is True  # 5 + 5 and 4 + 4
    assert fits([(1, 11), (1, 7)], wanted) is False
    monkeypatch.setattr(cutting, "MOST_STEPS", 0)
    assert fits([(1, 11), (1, 7)], wanted) is None


@pytest.mark.parametrize("bad", [[], [SetLine("x", (1,), 6, 4)], [SetLine("x", (1,), 0)]])
def test_what_can_not_be_counted_is_told(bad: list[SetLine]) -> None:
    with pytest.raises(BadInput):
        ship_sets_of(bad, {})
    with pytest.raises(BadInput):
        plan_together([bad], {})


def test_a_plan_in_which_a_cut_could_not_be_decided_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    """A heap of 7 is 4 + 3 and one of 6 is 3 + 3, which the greedy cut of the 4 out of the 6 does not find."""
    types = [[SetLine("four", (1,), 4, 4)], [SetLine("three", (1,), 3, 3)]]
    stock: Stock = {1: (6, 7)}
    exact = plan_together(types, stock)
    assert (exact.counts, exact.is_optimal) == ((1, 3), True)
    monkeypatch.setattr(cutting, "MOST_STEPS", 1)
    cut_short = plan_together(types, stock)
    assert not cut_short.is_optimal
    assert sum(cut_short.counts) <= sum(exact.counts)
