"""Croston and its corrections against published forecasts."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kittrack.domain.rare_demand import rare_demand
from kittrack.errors import BadInput

# tests/forecasters/test_croston.py of the PyPI package intermittent-forecast, alpha 0.5, beta 0.2
SERIES = [0, 0, 3, 0, 4, 0, 0, 0, 2, 0]
EXPECTED = {  # after so many periods: Croston, SBA, SBJ
    3: (1, 0.9, 0.888888),
    4: (1, 0.9, 0.888888),
    5: (1.25, 1.125, 1.111111),
    8: (1.25, 1.125, 1.111111),
    9: (0.904605, 0.8141447, 0.804093),
    10: (0.904605, 0.8141447, 0.804093),
}


@pytest.mark.parametrize("periods", EXPECTED)
def test_published_forecasts_are_reproduced(periods: int) -> None:
    found = rare_demand(SERIES[:periods], alpha=0.5, beta=0.2)
    assert (found.croston, found.syntetos_boylan, found.shale_boylan_johnston) == pytest.approx(
        EXPECTED[periods], rel=1e-5
    )
    assert found.periods == periods


def test_size_and_interval_move_as_computed_by_hand() -> None:
    # z 3, 3.5, 2.75; p 3, 2.8, 3.04
    sizes = [rare_demand(SERIES[:n], alpha=0.5, beta=0.2) for n in (3, 5, 9)]
    assert [each.size for each in sizes] == pytest.approx([3, 3.5, 2.75])
    assert [each.interval for each in sizes] == pytest.approx([3, 2.8, 3.04])
    assert [each.demands for each in sizes] == [1, 2, 3]


def test_the_usual_smoothing() -> None:
    # computed: 2.99 / 3.01; a widely used library fixes 0.1 and the factor 0.95
    found = rare_demand(SERIES)
    assert found.croston == pytest.approx(2.99 / 3.01)
    assert found.croston == pytest.approx(0.9933555, abs=5e-8)
    assert found.syntetos_boylan == pytest.approx(0.95 * found.croston)


def test_a_published_example_that_is_wrong_is_not_repeated() -> None:
    # a post prints 12.5 / 3.2 for alpha 0.1; by Croston's formulas it is 11.4 / 3.1
    found = rare_demand([0, 0, 10, 0, 0, 20, 0, 0, 0, 15])
    assert found.croston == pytest.approx(11.4 / 3.1)
    assert found.croston == pytest.approx(3.677, abs=5e-4)


def test_the_fading_forecast_is_reproduced() -> None:
    # the same test file, TSB, alpha 0.3, beta 0.1: the forecast after the whole series
    assert rare_demand(SERIES, alpha=0.3, beta=0.1).fading == pytest.approx(0.9111351, rel=1e-6)


def test_dead_stock_fades_where_croston_stays() -> None:
    alive, dead = [0, 2, 0, 2, 0, 2], [0, 2, 0, 2, 0, 2] + [0] * 60
    assert rare_demand(dead).croston == rare_demand(alive).croston
    assert rare_demand(dead).fading < 0.05 * rare_demand(alive).fading


@pytest.mark.parametrize("periods", [1, 2, 12, 10_000])
def test_without_any_demand_the_forecast_is_nothing(periods: int) -> None:
    found = rare_demand([0] * periods)
    assert (found.croston, found.syntetos_boylan, found.fading, found.demands) == (0, 0, 0, 0)
    assert found.periods == periods


@given(st.lists(st.integers(0, 1000), min_size=1, max_size=60), st.floats(0.01, 1), st.floats(0.01, 1))
def test_forecasts_stay_within_what_was_asked_for(history: list[int], alpha: float, beta: float) -> None:
    found = rare_demand(history, alpha=alpha, beta=beta)
    assert 0 <= found.shale_boylan_johnston <= found.syntetos_boylan <= found.croston
    assert found.croston <= max(history) * (1 + 1e-9)
    assert 0 <= found.fading <= max(history) * (1 + 1e-9)
    assert found.demands == sum(amount > 0 for amount in history)


@given(amount=st.integers(1, 1000), gap=st.integers(1, 12), demands=st.integers(1, 8))
def test_a_steady_demand_is_forecast_exactly(amount: int, gap: int, demands: int) -> None:
    found = rare_demand(([0] * (gap - 1) + [amount]) * demands)
    assert found.croston == pytest.approx(amount / gap)


BAD = [-1, float("nan"), float("inf"), 10**30, None, "3", True]


@pytest.mark.parametrize("figure", BAD)
def test_figures_that_cannot_be_are_refused(figure: Any) -> None:
    with pytest.raises(BadInput):
        rare_demand([0, figure])
    for smoothing in ("alpha", "beta"):
        with pytest.raises(BadInput):
            rare_demand([0, 1], **{smoothing: figure})


@pytest.mark.parametrize("smoothing", [0, 1.0001])
def test_smoothing_stays_above_nothing_and_up_to_one(smoothing: float) -> None:
    with pytest.raises(BadInput):
        rare_demand([1], alpha=smoothing)
    with pytest.raises(BadInput):
        rare_demand([1], beta=smoothing)


@pytest.mark.parametrize("periods", [0, 10_001])
def test_a_history_has_some_periods(periods: int) -> None:
    with pytest.raises(BadInput, match="tells nothing"):
        rare_demand([1] * periods)
