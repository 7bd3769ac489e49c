"""Pairing against brute force and general graph matching: most pairs first, then least total residual."""

from collections.abc import Sequence
from time import perf_counter

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kittrack.domain.matching import Blade, Pairing, pair_blades
from kittrack.errors import BadInput

EVERY = 10**9


def named(moments: Sequence[int]) -> list[Blade]:
    return [Blade(f"b{i:02}", moment) for i, moment in enumerate(moments)]


def pairs_of(moments: Sequence[int], tolerance: float) -> list[tuple[int, ...]]:
    moment_of = {b.key: b.moment_g_um for b in named(moments)}
    found = pair_blades(named(moments), tolerance_g_um=tolerance)
    return [tuple(moment_of[key] for key in pair.keys) for pair in found.sets]


def quality(pairing: Pairing) -> tuple[int, float]:
    return len(pairing.sets), pairing.total_residual_g_um


def by_graph(blades: Sequence[Blade], tolerance: float) -> tuple[int, float]:
    graph = nx.Graph()
    graph.add_nodes_from(blades)
    far = 1 + max(b.moment_g_um for b in blades)
    for i, one in enumerate(blades):
        for other in blades[i + 1 :]:
            gap = abs(one.moment_g_um - other.moment_g_um)
            if gap <= tolerance:
                graph.add_edge(one, other, weight=far - gap)
    matched = nx.max_weight_matching(graph, maxcardinality=True)
    return len(matched), float(sum(abs(a.moment_g_um - b.moment_g_um) for a, b in matched))


def by_brute_force(moments: tuple[int, ...], tolerance: float) -> tuple[int, int]:
    """Minus the number of pairs and the total, the least of every pairing."""
    if len(moments) < 2:
        return 0, 0
    first, *rest = moments
    best = by_brute_force(tuple(rest), tolerance)
    for i, partner in enumerate(rest):
        if abs(first - partner) <= tolerance:
            count, total = by_brute_force((*rest[:i], *rest[i + 1 :]), tolerance)
            best = min(best, (count - 1, total + abs(first - partner)))
    return best


@pytest.mark.parametrize(
    ("moments", "pairs", "total"),
    [
        # networkx 3.6.1, min_weight_matching on the complete graph. Nearest first would take (3,4)(0,7) = 8.
        ([0, 3, 4, 7], [(0, 3), (4, 7)], 6),
        ([101, 112, 105, 110, 102, 109], [(101, 102), (105, 109), (110, 112)], 7),
        (
            [1003, 1000, 1008, 1001, 1007, 1004, 1010, 1002],
            [(1000, 1001), (1002, 1003), (1004, 1007), (1008, 1010)],
            7,
        ),
    ],
)
def test_the_pairs_are_those_of_graph_matching(
    moments: list[int], pairs: list[tuple[int, int]], total: float
) -> None:
    assert pairs_of(moments, EVERY) == pairs
    assert pair_blades(named(moments), tolerance_g_um=EVERY).total_residual_g_um == total


def test_the_most_pairs_come_before_the_closest_pair() -> None:
    # 9 and 10 are closest, but then 0 and 19 have no partner.
    assert pairs_of([0, 9, 10, 19], 10) == [(0, 9), (10, 19)]
    assert pairs_of([0, 9, 10, 19], 8) == [(9, 10)]


def test_a_pair_at_the_tolerance_is_inside_and_one_beyond_is_not() -> None:
    assert pairs_of([1000, 1004], 4) == [(1000, 1004)]
    assert pairs_of([1000, 1005], 4) == []
    assert pairs_of([1000, 1004], 3.999999) == []


moment_lists = st.lists(st.integers(0, 40), max_size=8)
tolerances = st.integers(0, 20) | st.floats(0, 20)


@given(moment_lists, tolerances)
def test_no_pairing_of_all_is_better(moments: list[int], tolerance: float) -> None:
    count, total = by_brute_force(tuple(moments), tolerance)
    assert quality(pair_blades(named(moments), tolerance_g_um=tolerance)) == (-count, total)


@given(st.lists(st.integers(0, 10**6), min_size=1, max_size=24), st.integers(0, 10**5))
def test_general_graph_matching_finds_nothing_better(moments: list[int], tolerance: int) -> None:
    blades = named(moments)
    assert quality(pair_blades(blades, tolerance_g_um=tolerance)) == by_graph(blades, tolerance)


@given(moment_lists, tolerances, st.randoms(use_true_random=False))
def test_the_order_of_the_input_changes_nothing(moments: list[int], tolerance: float, chance: object) -> None:
    mixed = named(moments)
    chance.shuffle(mixed)  # type: ignore[attr-defined]  # a random.Random, which Hypothesis hands out
    expected = pair_blades(named(moments), tolerance_g_um=tolerance)
    assert pair_blades(mixed, tolerance_g_um=tolerance) == expected


@given(moment_lists, st.integers(0, 20), st.integers(1, 9), st.integers(0, 10**6))
def test_scale_and_a_common_moment_keep_the_pairs(
    moments: list[int], tolerance: int, times: int, common: int
) -> None:
    before = pair_blades(named(moments), tolerance_g_um=tolerance)
    moved = named([m * times + common for m in moments])
    after = pair_blades(moved, tolerance_g_um=tolerance * times)
    assert [s.keys for s in after.sets] == [s.keys for s in before.sets]
    assert after.total_residual_g_um == before.total_residual_g_um * times


@given(moment_lists, tolerances)
def test_every_blade_is_in_one_pair_or_single(moments: list[int], tolerance: float) -> None:
    found = pair_blades(named(moments), tolerance_g_um=tolerance)
    keys = [key for pair in found.sets for key in pair.keys] + [s.key for s in found.singles]
    assert sorted(keys) == [b.key for b in named(moments)]
    assert all(pair.residual_g_um <= tolerance for pair in found.sets)
    assert found.most_possible == len(found.sets)


@given(moment_lists, st.integers(0, 20))
def test_what_a_single_wants_makes_one_pair_more(moments: list[int], tolerance: int) -> None:
    blades = named(moments)
    found = pair_blades(blades, tolerance_g_um=tolerance)
    for single in found.singles:
        assert single.wanted is not None
        for moment in (single.wanted.low_g_um, single.wanted.high_g_um):
            more = pair_blades([*blades, Blade("new", moment)], tolerance_g_um=tolerance)
            assert len(more.sets) == len(found.sets) + 1
        if single.wanted.low_g_um > 0:
            assert single.moment_g_um - single.wanted.low_g_um == tolerance
        assert single.wanted.high_g_um - single.moment_g_um == tolerance


@given(moment_lists, tolerances)
def test_two_singles_always_miss_the_tolerance(moments: list[int], tolerance: float) -> None:
    found = pair_blades(named(moments), tolerance_g_um=tolerance)
    alone = {s.key: s.moment_g_um for s in found.singles}
    for single in found.singles:
        gaps = [abs(m - single.moment_g_um) for key, m in alone.items() if key != single.key]
        assert (single.free is None) == (not gaps)
        if single.free is not None:
            assert single.free.distance_g_um == min(gaps)
            assert single.free.misses_by_g_um == min(gaps) - tolerance > 0


def test_a_single_says_who_is_nearest_and_what_would_match() -> None:
    found = pair_blades(named([1000, 1003, 1004, 9000, 12_000]), tolerance_g_um=2000)
    assert [s.in_words for s in found.singles] == [
        "b00 stays single at 1 g mm; the nearest single, b03, misses by 6 g mm; nearer is b01, which is in a "
        "set; a blade from 0 g mm to 3 g mm would match it.",
        "b03 stays single at 9 g mm; the nearest single, b04, misses by 1 g mm; "
        "a blade from 7 g mm to 11 g mm would match it.",
        "b04 stays single at 12 g mm; the nearest single, b03, misses by 1 g mm; "
        "a blade from 10 g mm to 14 g mm would match it.",
    ]
    (lonely,) = pair_blades([Blade("a", 5000)], tolerance_g_um=10).singles
    assert lonely.in_words == "a stays single at 5 g mm; a blade from 4.99 g mm to 5.01 g mm would match it."


def test_a_blade_in_a_set_is_spoken_of_only_where_it_is_nearer_than_the_nearest_single() -> None:
    tie = pair_blades(named([0, 4000, 8000, 8001]), tolerance_g_um=1)
    assert [(s.key, s.free and s.free.key, s.taken) for s in tie.singles] == [
        ("b00", "b01", None),
        ("b01", "b00", None),
    ]
    assert "misses by under 0.001 g mm" in pair_blades(named([0, 1]), tolerance_g_um=0.75).singles[0].in_words


def test_equal_blades_are_paired_in_order_of_their_keys() -> None:
    found = pair_blades([Blade(key, 7) for key in "dbacef"], tolerance_g_um=0)
    assert [s.keys for s in found.sets] == [("a", "b"), ("c", "d"), ("e", "f")]


def test_no_blades_make_no_pairs() -> None:
    assert pair_blades([], tolerance_g_um=1) == Pairing((), (), 0.0, 1.0, 0)


def test_ten_thousand_blades_are_paired_within_a_second() -> None:
    moments = [(i * 7_919_317) % 4_000_037 + 10**7 for i in range(10_000)]
    blades = [Blade(f"b{i}", m) for i, m in enumerate(moments)]
    begun = perf_counter()
    found = pair_blades(blades, tolerance_g_um=2400)
    assert perf_counter() - begun < 1
    assert len(found.sets) * 2 + len(found.singles) == 10_000


def test_huge_moments_are_paired_without_rounding() -> None:
    top = 10**12
    assert pairs_of([top - 3, top - 1, top], 1) == [(top - 1, top)]
    assert pairs_of([0, top], top - 1) == []


@pytest.mark.parametrize("value", [float("nan"), float("inf"), -1, 1e300, 10**400, True, "7", None])
def test_no_hostile_number_passes(value: object) -> None:
    bad: int = value  # type: ignore[assignment]  # hostile on purpose
    with pytest.raises(BadInput, match="static moment of blade b in g um"):
        pair_blades([Blade("a", 1), Blade("b", bad)], tolerance_g_um=1)
    with pytest.raises(BadInput, match="tolerance in g um"):
        pair_blades([Blade("a", 1)], tolerance_g_um=bad)


def test_a_blade_listed_twice_is_refused() -> None:
    with pytest.raises(BadInput, match="Blade a stands twice"):
        pair_blades([Blade("a", 1), Blade("a", 2)], tolerance_g_um=1)
