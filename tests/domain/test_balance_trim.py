"""Trimming a set into tolerance: against first principles and against a fine search."""

from math import cos, hypot, pi, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import minimize

from kittrack.domain.balance import unbalance_of
from kittrack.domain.trimming import TrimPart, TrimPlan, trim_plan
from kittrack.errors import BadInput

RADIUS_UM = 200_000


def test_the_lighter_of_two_blades_gets_the_difference() -> None:
    # 4 g mm at 200 mm is 20 mg; down to 1 g mm it is 15 mg: first principles.
    best = trim_plan([1_000_000, 1_004_000], within_g_um=0, radius_um=RADIUS_UM)
    assert best.parts == (TrimPart(0, 20_000, RADIUS_UM),)
    assert not best.takes_away
    assert best.residual_g_um == pytest.approx(0, abs=1e-6)
    least = trim_plan([1_000_000, 1_004_000], within_g_um=1000, radius_um=RADIUS_UM)
    assert least.parts == (TrimPart(0, 15_000, RADIUS_UM),)
    assert least.residual_g_um == pytest.approx(1000)


def test_taking_away_is_done_on_the_heavier_blade() -> None:
    plan = trim_plan([1_000_000, 1_004_000], within_g_um=0, radius_um=RADIUS_UM, take_away=True)
    assert plan.parts == (TrimPart(1, 20_000, RADIUS_UM),)
    assert plan.takes_away


def test_three_blades_may_need_two_of_them_trimmed() -> None:
    # Down to nothing, the two lighter blades get what they lack against the heaviest.
    plan = trim_plan([1_000_000, 1_002_000, 1_005_000], within_g_um=0, radius_um=RADIUS_UM)
    assert plan.parts == (TrimPart(0, 25_000, RADIUS_UM), TrimPart(1, 15_000, RADIUS_UM))


def test_a_set_inside_its_tolerance_is_left_alone() -> None:
    plan = trim_plan([1000, 1004], within_g_um=4, radius_um=RADIUS_UM)
    assert plan == TrimPlan((), False, 4.0)


spreads = st.lists(st.integers(0, 10_000), min_size=2, max_size=6)


@given(spreads, st.integers(0, 5000), st.booleans())
def test_the_trimmed_set_is_inside(spread: list[int], within: int, take_away: bool) -> None:
    moments = [10**6 + m for m in spread]
    plan = trim_plan(moments, within_g_um=within, radius_um=RADIUS_UM, take_away=take_away)
    assert plan.residual_g_um <= within + 0.5  # two masses rounded up by at most 1 ug at 200 mm
    sign = -1 if take_away else 1
    trimmed = list(moments)
    for part in plan.parts:
        trimmed[part.slot] += sign * round(part.mass_ug * part.radius_um / 10**6)
    assert unbalance_of(trimmed).residual_g_um == pytest.approx(plan.residual_g_um, abs=2)


@given(spreads.filter(lambda s: len(s) > 2), st.integers(100, 3000))
def test_no_other_trim_of_so_few_blades_is_lighter(spread: list[int], within: int) -> None:
    plan = trim_plan([10**6 + m for m in spread], within_g_um=within, radius_um=RADIUS_UM)
    if len(plan.parts) < 2:
        return
    used = sum(p.mass_ug * p.radius_um / 10**6 for p in plan.parts)
    assert used <= _least_by_search(spread, within) + 1


def _least_by_search(spread: list[int], within: float) -> float:
    """The convex programme over all blades at once, by SLSQP: a lower bound for every plan."""
    angles = [2 * pi * k / len(spread) for k in range(len(spread))]

    def room(amounts: list[float]) -> float:
        x = sum((m + a) * cos(t) for m, a, t in zip(spread, amounts, angles, strict=True))
        y = sum((m + a) * sin(t) for m, a, t in zip(spread, amounts, angles, strict=True))
        return within - hypot(x, y)

    found = minimize(
        sum,
        [float(max(spread) - m) for m in spread],
        bounds=[(0, None)] * len(spread),
        constraints=[{"type": "ineq", "fun": room}],
        method="SLSQP",
    )
    return float(found.fun) if found.success and room(list(found.x)) > -1 else float("inf")


def test_blades_too_light_to_take_so_much_away_are_refused() -> None:
    # The sum of three neighbours of seven is longer than any of them, or any two outer ones, can give back.
    with pytest.raises(BadInput, match="Taking away can't bring"):
        trim_plan([1000, 1000, 1000, 0, 0, 0, 0], within_g_um=0, radius_um=RADIUS_UM, take_away=True)


@pytest.mark.parametrize("bad", [float("nan"), float("inf"), -1, 0, 1e300, 10**400, True])
def test_a_hostile_number_is_refused(bad: float) -> None:
    with pytest.raises(BadInput):
        trim_plan([1000, 2000], within_g_um=0, radius_um=bad)  # type: ignore[arg-type]  # hostile on purpose
    if bad != 0:
        with pytest.raises(BadInput):
            trim_plan([1000, 2000], within_g_um=bad, radius_um=1)
