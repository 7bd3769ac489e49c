"""Uncertainty of moments and the guard-banded verdict: published budget, Monte Carlo, first principles."""

from math import sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kittrack.domain.balance import permissible_g_um
from kittrack.domain.measurement import (
    Finding,
    RulerSpec,
    ScaleSpec,
    Setup,
    Verdict,
    Weighing,
    expanded_g_um,
    judge_match,
    moment_uncertainty_g_um,
    needed_resolution_ug,
    prove_match,
    residual_uncertainty_g_um,
)
from kittrack.errors import BadInput

RULER = RulerSpec(resolution_um=500)
FINE = ScaleSpec(resolution_ug=1000, calibration_uncertainty_ug=2000, repeatability_ug=1000)
COARSE = ScaleSpec(resolution_ug=100_000, calibration_uncertainty_ug=0, repeatability_ug=0)
PAIR = (Weighing(60_000_000, 250_000), Weighing(60_004_000, 250_000))  # 1 g mm apart


def at_one_stop(scale: ScaleSpec) -> Setup:
    return Setup(scale, RULER, one_radius=True)


def test_a_published_weighing_budget_comes_out() -> None:
    # "Uncertainty of simple weighing", www.ut.ee/katsekoda/GUM_examples/weighing.smu: repeatability 0.17 mg of
    # tared weighings, drift +-0.2 mg and readability +-0.05 mg rectangular: 0.2075 mg standard uncertainty.
    drift_k2_ug = round(2 * 200 / sqrt(3))
    scale = ScaleSpec(100, drift_k2_ug, 170, roundings=1)
    assert scale.standard_uncertainty_ug() == pytest.approx(207.525, rel=2e-4)


def test_rounding_to_a_step_has_the_standard_uncertainty_of_the_gum() -> None:
    # GUM F.2.2.1: 0.29 of the step; once for zero and once for load.
    assert ScaleSpec(1000, 0, 0, roundings=1).standard_uncertainty_ug() == pytest.approx(290, abs=2)
    assert ScaleSpec(1000, 0, 0).standard_uncertainty_ug() == pytest.approx(1000 / sqrt(6))


def test_the_mean_of_four_readings_halves_the_repeatability() -> None:
    once, four = ScaleSpec(1, 0, 10**6), ScaleSpec(1, 0, 10**6, readings=4)
    assert once.standard_uncertainty_ug() == pytest.approx(2 * four.standard_uncertainty_ug())


def test_the_moment_uncertainty_is_that_of_a_simulated_product() -> None:
    chance = np.random.default_rng(20_240_229)
    scale, ruler = ScaleSpec(10_000, 40_000, 30_000), RulerSpec(500, 400, 300)
    blade = Weighing(60_000_000, 250_000)
    masses = chance.normal(60.0, scale.standard_uncertainty_ug() / 1e6, 400_000)
    radii = chance.normal(250_000, ruler.standard_uncertainty_um(), 400_000)
    found = moment_uncertainty_g_um(blade, scale=scale, ruler=ruler)
    assert found == pytest.approx(float(np.std(masses * radii)), rel=0.01)


@pytest.mark.parametrize("count", [2, 3, 4, 5, 6, 8])
def test_equal_blades_have_the_residual_uncertainty_of_first_principles(count: int) -> None:
    expected = 100 * sqrt(2 if count == 2 else count / 2)
    assert residual_uncertainty_g_um([100.0] * count) == pytest.approx(expected)


@given(st.lists(st.floats(0.1, 1e6), min_size=2, max_size=8))
def test_the_residual_uncertainty_is_the_greatest_axis_of_the_ellipse(uncertainties: list[float]) -> None:
    angles = 2 * np.pi * np.arange(len(uncertainties)) / len(uncertainties)
    arms = np.array([np.cos(angles), np.sin(angles)])
    covariance = (arms * np.square(uncertainties)) @ arms.T
    greatest = float(np.linalg.eigvalsh(covariance)[-1])
    assert residual_uncertainty_g_um(uncertainties) == pytest.approx(sqrt(greatest), rel=1e-9)


def test_the_coverage_of_a_balanced_set_is_what_the_comment_says() -> None:
    # A two-dimensional normal fault is within 2 sigma with 1 - exp(-2) and within 2.45 sigma with 95 %.
    chance = np.random.default_rng(7)
    angles = 2 * np.pi * np.arange(3) / 3
    faults = chance.normal(0, 1, (200_000, 3)) @ np.array([np.cos(angles), np.sin(angles)]).T
    sigma = residual_uncertainty_g_um([1.0, 1.0, 1.0])
    sizes = np.hypot(faults[:, 0], faults[:, 1])
    assert np.mean(sizes <= 2 * sigma) == pytest.approx(0.8647, abs=0.005)
    assert np.mean(sizes <= 2.45 * sigma) == pytest.approx(0.95, abs=0.005)


def test_a_tenth_gram_scale_can_not_prove_a_match_at_speed() -> None:
    # G 6.3 for a rotor of 120 g at 3000 rpm leaves 2.41 g mm, which is 10 mg at 250 mm: computed.
    limit = permissible_g_um(grade_um_s=6300, mass_ug=120 * 10**6, speed_rpm=3000)
    same = (PAIR[0], PAIR[0])
    verdict = prove_match(same, setup=at_one_stop(COARSE), tolerance_g_um=limit)
    assert verdict.finding is Finding.TOO_COARSE
    assert not verdict.accepted
    assert verdict.message == (
        "Not proven, the scale is too coarse for any match at this tolerance: residual 0 g mm, uncertain by "
        "28.868 g mm, of 2.406 g mm allowed; a scale with steps of 5 mg would do."
    )


def test_a_fine_scale_at_one_stop_proves_the_pair() -> None:
    verdict = prove_match(PAIR, setup=at_one_stop(FINE), tolerance_g_um=2406)
    assert verdict.accepted
    assert verdict.message.startswith("Matched: residual 1 g mm, uncertain by 1.0")


def test_a_ruler_set_anew_for_each_blade_is_named_as_what_falls_short() -> None:
    verdict = prove_match(PAIR, setup=Setup(FINE, RULER), tolerance_g_um=2406)
    assert verdict.finding is Finding.TOO_COARSE
    assert "the ruler is too coarse" in verdict.message
    assert verdict.message.endswith("take the radius of all blades at one stop of a fixture.")


def test_blades_too_far_apart_need_another_partner() -> None:
    far = (PAIR[0], Weighing(60_100_000, 250_000))
    verdict = prove_match(far, setup=at_one_stop(FINE), tolerance_g_um=2406)
    assert verdict.finding is Finding.NO_MATCH
    assert verdict.message.startswith("No match, and no better scale would change that: residual 25 g mm")


def test_no_scale_proves_a_residual_that_takes_all_the_room() -> None:
    verdict = prove_match(PAIR, setup=at_one_stop(FINE), tolerance_g_um=1000)
    assert verdict.finding is Finding.TOO_COARSE
    assert verdict.message.endswith("try another partner.")
    doubtful = prove_match(PAIR, setup=at_one_stop(FINE), tolerance_g_um=900)
    assert doubtful.finding is Finding.IN_DOUBT
    assert "try another partner" in doubtful.message


def test_a_stop_that_is_not_known_at_all_is_no_fault_of_the_scale() -> None:
    setup = Setup(FINE, RulerSpec(resolution_um=2_000_000), one_radius=True)
    verdict = prove_match(PAIR, setup=setup, tolerance_g_um=1500)
    assert "the ruler is too coarse" in verdict.message
    assert verdict.message.endswith("no scale would do, so try another partner.")


@pytest.mark.parametrize(
    ("residual", "expanded", "tolerance", "finding"),
    [
        # The four zones of ILAC-G8:09/2019, 4.2.3; their borders belong to the better zone.
        (1000, 1400, 2400, Finding.MATCHED),
        (1000, 1400.5, 2400, Finding.TOO_COARSE),
        (2400, 0, 2400, Finding.MATCHED),
        (2400, 1, 2400, Finding.TOO_COARSE),
        (2401, 1, 2400, Finding.IN_DOUBT),
        (2402, 1, 2400, Finding.NO_MATCH),
        (0, 0, 0, Finding.MATCHED),
    ],
)
def test_the_verdict_follows_the_guard_band(
    residual: float, expanded: float, tolerance: float, finding: Finding
) -> None:
    verdict = judge_match(residual, expanded_g_um=expanded, tolerance_g_um=tolerance)
    assert verdict.finding is finding
    assert verdict.accepted == (finding is Finding.MATCHED)


@given(st.floats(0, 1e6), st.floats(0, 1e6), st.floats(0, 1e6), st.floats(0, 1e6))
def test_more_uncertainty_never_turns_a_refusal_into_a_match(
    residual: float, expanded: float, more: float, tolerance: float
) -> None:
    def verdict(by: float) -> Verdict:
        return judge_match(residual, expanded_g_um=by, tolerance_g_um=tolerance)

    assert verdict(expanded).accepted or not verdict(expanded + more).accepted


weighings = st.lists(st.builds(Weighing, st.integers(10**7, 10**8), st.just(250_000)), min_size=2, max_size=6)


@given(weighings, st.integers(1, 10**6), st.floats(1, 1e6))
def test_the_scale_that_is_named_is_the_coarsest_that_would_do(
    blades: list[Weighing], step: int, room: float
) -> None:
    scale = ScaleSpec(step, 2 * step, step)
    setup = Setup(scale, RulerSpec(1), one_radius=True)
    needed = needed_resolution_ug(blades, setup=setup, room_g_um=room)
    if needed is None:
        return

    def expanded(resolution: int) -> float:
        finer = Setup(ScaleSpec(resolution, 2 * resolution, resolution), RulerSpec(1), one_radius=True)
        return expanded_g_um(blades, setup=finer)

    coarser = needed * 5 // 2 if str(needed).startswith("2") else needed * 2
    assert expanded(needed) <= room * (1 + 1e-9)
    assert expanded(coarser) > room * (1 - 1e-9)


def test_blades_of_which_each_was_read_anew_carry_the_fault_of_the_ruler_each() -> None:
    # First principles: the residual of two blades is as uncertain as both moments together, k = 2.
    moments = [moment_uncertainty_g_um(w, scale=FINE, ruler=RULER) for w in PAIR]
    expected = 2 * sqrt(moments[0] ** 2 + moments[1] ** 2)
    assert expanded_g_um(PAIR, setup=Setup(FINE, RULER)) == pytest.approx(expected)


@pytest.mark.parametrize("room_g_um", [1500, 2000, 5000, 20_000])
def test_the_scale_that_is_named_leaves_the_ruler_its_part_of_the_room(room_g_um: int) -> None:
    ruler = RulerSpec(20)  # two blades of 60 g bring about 1.4 g mm at k = 2
    setup = Setup(COARSE, ruler)
    needed = needed_resolution_ug(PAIR, setup=setup, room_g_um=room_g_um)
    assert needed is not None

    def expanded(resolution: int) -> float:
        return expanded_g_um(PAIR, setup=Setup(ScaleSpec(resolution, 0, 0), ruler))

    coarser = needed * 5 // 2 if str(needed).startswith("2") else needed * 2
    assert expanded(needed) <= room_g_um < expanded(coarser)


@pytest.mark.parametrize("room_g_um", [0, 1000])
def test_no_scale_is_named_where_the_ruler_alone_takes_the_room(room_g_um: int) -> None:
    assert needed_resolution_ug(PAIR, setup=Setup(COARSE, RulerSpec(20)), room_g_um=room_g_um) is None


@pytest.mark.parametrize(
    ("residual", "expanded", "said"),
    [
        (1000, 2400, "Not proven, the scale is too coarse for any match at this tolerance: residual 1 g mm"),
        (1000, 2399, "Not proven, the blades may match but the scale is too coarse: residual 1 g mm"),
        (3000, 1000, "No match as measured, though the scale is too coarse to be sure: residual 3 g mm"),
        (4000, 1000, "No match, and no better scale would change that: residual 4 g mm"),
    ],
)
def test_a_verdict_says_what_falls_short(residual: int, expanded: int, said: str) -> None:
    verdict = judge_match(residual, expanded_g_um=expanded, tolerance_g_um=2400)
    assert verdict.message.startswith(said)


@pytest.mark.parametrize("tolerance", [1000, 900])
def test_where_the_residual_takes_all_the_room_no_scale_is_spoken_of(tolerance: int) -> None:
    for setup in (at_one_stop(FINE), Setup(FINE, RULER)):
        assert prove_match(PAIR, setup=setup, tolerance_g_um=tolerance).message.endswith(
            " allowed; try another partner."
        )


@pytest.mark.parametrize(("factor", "good"), [(1, True), (10, True), (0.99, False), (10.01, False)])
def test_a_coverage_factor_is_from_one_to_ten(factor: float, good: bool) -> None:
    setup = Setup(FINE, RULER, coverage_factor=factor)
    if good:
        assert expanded_g_um(PAIR, setup=setup) * 2 == pytest.approx(
            factor * expanded_g_um(PAIR, setup=Setup(FINE, RULER))
        )
        return
    with pytest.raises(BadInput, match="coverage factor"):
        expanded_g_um(PAIR, setup=setup)


@given(weighings, st.integers(1, 50))
def test_uncertainty_scales_with_the_scale(blades: list[Weighing], times: int) -> None:
    one, many = ScaleSpec(100, 100, 100), ScaleSpec(100 * times, 100 * times, 100 * times)
    exact_stop = RulerSpec(1)
    by_one = expanded_g_um([blades[0]] * 2, setup=Setup(one, exact_stop, one_radius=True))
    by_many = expanded_g_um([blades[0]] * 2, setup=Setup(many, exact_stop, one_radius=True))
    assert by_many == pytest.approx(times * by_one)


def test_blades_of_one_stop_have_one_radius() -> None:
    with pytest.raises(BadInput, match="one radius"):
        expanded_g_um([PAIR[0], Weighing(60_000_000, 240_000)], setup=at_one_stop(FINE))


def test_one_blade_has_no_residual() -> None:
    with pytest.raises(BadInput, match="at least two blades"):
        residual_uncertainty_g_um([1.0])


@pytest.mark.parametrize("value", [float("nan"), float("inf"), -1, 1e300, 10**400, True, None])
def test_no_hostile_number_passes(value: object) -> None:
    bad: int = value  # type: ignore[assignment]  # hostile on purpose
    for call in (
        lambda: ScaleSpec(bad, 0, 0).standard_uncertainty_ug(),
        lambda: ScaleSpec(1, bad, 0).standard_uncertainty_ug(),
        lambda: ScaleSpec(1, 0, bad).standard_uncertainty_ug(),
        lambda: RulerSpec(bad).standard_uncertainty_um(),
        lambda: prove_match((PAIR[0], Weighing(bad, 1)), setup=at_one_stop(FINE), tolerance_g_um=1),
        lambda: prove_match((PAIR[0], Weighing(1, bad)), setup=at_one_stop(FINE), tolerance_g_um=1),
        lambda: prove_match(PAIR, setup=at_one_stop(FINE), tolerance_g_um=bad),
        lambda: expanded_g_um(PAIR, setup=Setup(FINE, RULER, coverage_factor=bad)),
        lambda: needed_resolution_ug(PAIR, setup=at_one_stop(FINE), room_g_um=bad),
        lambda: residual_uncertainty_g_um([1.0, bad]),
        lambda: judge_match(bad, expanded_g_um=0, tolerance_g_um=0),
        lambda: judge_match(0, expanded_g_um=bad, tolerance_g_um=0),
        lambda: judge_match(0, expanded_g_um=0, tolerance_g_um=bad),
    ):
        with pytest.raises(BadInput) as caught:
            call()
        assert len(caught.value.problems) == 1


@pytest.mark.parametrize(("readings", "roundings"), [(0, 2), (1, 0), (1, 3)])
def test_a_scale_without_readings_is_refused(readings: int, roundings: int) -> None:
    with pytest.raises(BadInput, match="readings of the scale"):
        ScaleSpec(1, 0, 0, readings=readings, roundings=roundings).standard_uncertainty_ug()
