"""Which method forecasts a history, and that it is told."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kittrack.domain.forecasts import DAYS_A_MONTH, forecast
from kittrack.domain.rare_demand import rare_demand
from kittrack.errors import BadInput


def test_demand_of_most_months_is_its_mean() -> None:
    found = forecast([2, 3, 4, 3])
    assert (found.per_month, found.method) == (3.0, "mean")
    assert found.in_days(DAYS_A_MONTH * 2) == pytest.approx(6)
    assert "the mean of 4 months" in found.in_words


def test_rare_demand_is_forecast_by_croston_with_its_correction() -> None:
    # the series of the public test suite cited in test_demand_rare.py: 10 months, 3 with a demand;
    # at smoothing 0.1 Croston gives 2.99 / 3.01 (by hand), less the half of 0.1
    found = forecast([0, 0, 3, 0, 4, 0, 0, 0, 2, 0])
    assert found.method == "Croston, Syntetos-Boylan"
    assert found.per_month == pytest.approx(2.99 / 3.01 * 0.95)
    assert "asked for in 3 of 10 months" in found.in_words


def test_the_border_between_plentiful_and_rare() -> None:
    # 1.32 months between demands (Syntetos, Boylan and Croston 2005, from memory): 33 months, 25 with a demand
    assert forecast([1] * 25 + [0] * 8).method == "Croston, Syntetos-Boylan"
    assert forecast([1] * 26 + [0] * 7).method == "mean"


def test_what_was_never_asked_for_is_zero_and_says_so() -> None:
    found = forecast([0, 0, 0])
    assert (found.per_month, found.in_words) == (0, "never asked for in 3 months")


@pytest.mark.parametrize("bad", [[], [1, -1]])
def test_no_history_is_no_forecast(bad: list[float]) -> None:
    with pytest.raises(BadInput):
        forecast(bad)


@given(st.lists(st.integers(0, 50), min_size=1, max_size=60))
def test_a_forecast_is_never_above_the_largest_month(history: list[int]) -> None:
    found = forecast(history)
    assert 0 <= found.per_month <= max(history) + 1e-9
    if found.method.startswith("Croston"):
        assert found.per_month == rare_demand(history).syntetos_boylan
