"""Sets of three and more: the stated bound against exhaustive search and integer programming."""

from collections.abc import Sequence
from functools import cache
from itertools import combinations
from math import sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import LinearConstraint, milp

from kittrack.domain.balance import Blade, best_order, unbalance_of
from kittrack.domain.grouping import match_sets, window_factor
from kittrack.domain.matching import Pairing, pair_blades
from kittrack.errors import BadInput

SLACK = 1e-6  # g·µm: residuals are roots in floats


def named(moments: Sequence[int]) -> list[Blade]:
    return [Blade(f"b{i:02}", moment) for i, moment in enumerate(moments)]


def matched(moments: Sequence[int], size: int, tolerance: float) -> Pairing:
    return match_sets(named(moments), blades_per_rotor=size, tolerance_g_um=tolerance)


def most_by_search(moments: Sequence[int], size: int, tolerance: float) -> int:
    """The most sets that any choice makes, by trying all."""
    blades = named(moments)
    inside = {
        frozenset(chosen)
        for chosen in combinations(range(len(blades)), size)
        if best_order([blades[i] for i in chosen]).residual_g_um <= tolerance
    }

    @cache
    def most(left: frozenset[int]) -> int:
        if len(left) < size:
            return 0
        first = min(left)
        without = most(left - {first})
        taking = [1 + most(left - chosen) for chosen in inside if first in chosen and chosen <= left]
        return max([without, *taking])

    return most(frozenset(range(len(blades))))


def best_by_milp(moments: Sequence[int], size: int, tolerance: float) -> tuple[int, float]:
    """Most sets, then least total residual, as a set packing solved by HiGHS."""
    blades = named(moments)
    columns = [
        (chosen, best_order([blades[i] for i in chosen]).residual_g_um)
        for chosen in combinations(range(len(blades)), size)
    ]
    columns = [(chosen, residual) for chosen, residual in columns if residual <= tolerance]
    if not columns:
        return 0, 0.0
    uses = np.zeros((len(blades), len(columns)))
    for j, (chosen, _) in enumerate(columns):
        uses[list(chosen), j] = 1
    costs = np.array([residual for _, residual in columns])
    most = 1 + tolerance * len(blades)
    found = milp(
        costs - most,
        integrality=np.ones(len(columns)),
        bounds=(0, 1),
        constraints=LinearConstraint(uses, ub=1),
    )
    taken = np.round(found.x).astype(bool)
    return int(taken.sum()), float(costs[taken].sum())


small = st.lists(st.integers(0, 60), max_size=9)


@settings(deadline=None)
@given(small, st.sampled_from([3, 4, 5]), st.integers(0, 30))
def test_the_sets_are_sound_and_within_both_bounds(moments: list[int], size: int, tolerance: int) -> None:
    found = matched(moments, size, tolerance)
    moment_of = {b.key: b.moment_g_um for b in named(moments)}
    keys = [key for s in found.sets for key in s.keys] + [s.key for s in found.singles]
    assert sorted(keys) == sorted(moment_of)
    for one in found.sets:
        assert len(one.keys) == size
        again = unbalance_of([moment_of[key] for key in one.keys]).residual_g_um
        assert one.residual_g_um == again <= tolerance
    most = most_by_search(moments, size, tolerance)
    assert len(found.sets) <= most <= found.most_possible


@settings(deadline=None)
@given(small, st.integers(0, 30))
def test_three_blades_find_what_any_method_finds_at_0866_of_the_tolerance(
    moments: list[int], tolerance: int
) -> None:
    at_less = most_by_search(moments, 3, tolerance * sqrt(3) / 2 - SLACK)
    assert len(matched(moments, 3, tolerance).sets) >= at_less


@settings(deadline=None)
@given(st.lists(st.integers(0, 60), max_size=10), st.integers(0, 30))
def test_four_blades_find_what_any_method_finds_at_0707_of_the_tolerance(
    moments: list[int], tolerance: int
) -> None:
    at_less = most_by_search(moments, 4, tolerance / sqrt(2) - SLACK)
    assert len(matched(moments, 4, tolerance).sets) >= at_less


def test_closest_pairs_are_combined_where_most_pairs_would_not_fit() -> None:
    # At 10 the most pairs are (0,9)(10,19) and so on, 9 apart each: two of them leave 12.7.
    found = matched([0, 9, 10, 19, 1000, 1009, 1010, 1019], 4, 10)
    assert len(found.sets) == 1
    assert found.sets[0].residual_g_um == pytest.approx(sqrt(2))


@pytest.mark.parametrize(("size", "count"), [(3, 18), (4, 16)])
@pytest.mark.parametrize("seed", range(6))
def test_integer_programming_gains_at_most_one_set(size: int, count: int, seed: int) -> None:
    chance = np.random.default_rng(seed)
    moments = [int(m) for m in chance.normal(20_000_000, 4000, count)]
    tolerance = 1500.0
    most, least_total = best_by_milp(moments, size, tolerance)
    found = matched(moments, size, tolerance)
    assert most - 1 <= len(found.sets) <= most <= found.most_possible
    if len(found.sets) == most:
        assert found.total_residual_g_um >= least_total - SLACK


@given(st.lists(st.integers(0, 1000), min_size=3, max_size=7))
def test_the_best_order_stays_within_the_window_factor(moments: list[int]) -> None:
    spread = max(moments) - min(moments)
    assert best_order(named(moments)).residual_g_um <= window_factor(len(moments)) * spread + SLACK


@given(st.lists(st.integers(0, 1000), min_size=3, max_size=3))
def test_three_blades_leave_at_least_0866_of_their_range(moments: list[int]) -> None:
    spread = max(moments) - min(moments)
    assert best_order(named(moments)).residual_g_um >= sqrt(3) / 2 * spread - SLACK


@given(st.lists(st.integers(0, 40), max_size=8), st.integers(0, 20))
def test_two_blades_go_the_proven_way(moments: list[int], tolerance: int) -> None:
    assert matched(moments, 2, tolerance) == pair_blades(named(moments), tolerance_g_um=tolerance)


@settings(deadline=None)
@given(small, st.sampled_from([3, 4]), st.integers(0, 30), st.randoms(use_true_random=False))
def test_the_order_of_the_input_changes_nothing(
    moments: list[int], size: int, tolerance: int, chance: object
) -> None:
    mixed = named(moments)
    chance.shuffle(mixed)  # type: ignore[attr-defined]  # a random.Random, which Hypothesis hands out
    assert match_sets(mixed, blades_per_rotor=size, tolerance_g_um=tolerance) == matched(
        moments, size, tolerance
    )


@settings(deadline=None)
@given(small, st.sampled_from([3, 4, 5]), st.integers(0, 30))
def test_what_a_single_wants_makes_a_set_with_those_that_join(
    moments: list[int], size: int, tolerance: int
) -> None:
    blade_of = {b.key: b for b in named(moments)}
    for single in matched(moments, size, tolerance).singles:
        if single.wanted is None:
            assert "more than one new blade" in single.in_words
            continue
        joined = [blade_of[key] for key in (single.key, *single.wanted.joining)]
        assert len(joined) == size - 1
        for moment in (single.wanted.low_g_um, single.wanted.high_g_um):
            assert best_order([*joined, Blade("new", moment)]).residual_g_um <= tolerance + SLACK


def test_a_single_of_three_names_who_would_join() -> None:
    # x between the roots of x2 - x (a + b) + a2 + b2 - ab = tolerance2: 1000 -+ 10 for a = b.
    found = matched([1000, 1000], 3, 10)
    assert [s.in_words for s in found.singles] == [
        "b00 stays single at 1 g mm; the nearest single, b01, is 0 g mm away; "
        "a blade from 0.99 g mm to 1.01 g mm would match it and b01.",
        "b01 stays single at 1 g mm; the nearest single, b00, is 0 g mm away; "
        "a blade from 0.99 g mm to 1.01 g mm would match it and b00.",
    ]


@pytest.mark.parametrize("size", [0, 1, 9, 2.5, float("nan"), True, None])
def test_a_rotor_of_no_such_number_of_blades_is_refused(size: object) -> None:
    with pytest.raises(BadInput, match="number of blades of a rotor"):
        match_sets([], blades_per_rotor=size, tolerance_g_um=1)  # type: ignore[arg-type]  # hostile on purpose


@pytest.mark.parametrize("value", [float("nan"), float("inf"), -1, 1e300, 10**400, True])
@pytest.mark.parametrize("size", [3, 4])
def test_no_hostile_number_passes(value: int, size: int) -> None:
    with pytest.raises(BadInput, match="static moment of blade b02"):
        matched([1, 2, value], size, 1)
    with pytest.raises(BadInput, match="tolerance"):
        matched([1, 2, 3], size, value)


def test_the_window_factor_needs_a_rotor() -> None:
    assert window_factor(3) == 1
    with pytest.raises(BadInput, match="at least two blades, not 1"):
        window_factor(1)
