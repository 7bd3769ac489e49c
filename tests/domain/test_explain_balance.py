"""Explanations carry the figure that decides, not another one."""

import re
from collections.abc import Callable

import pytest

from kittrack.domain import balance, explain
from kittrack.domain.balance import Blade, Tape, Tolerance
from kittrack.domain.explain import Explanation
from kittrack.domain.measurement import RulerSpec, ScaleSpec, Setup, Weighing, expanded_g_um, prove_match
from kittrack.errors import BadInput

PAIR = (Weighing(60_000_000, 250_000), Weighing(60_004_000, 250_000))
SETUP = Setup(ScaleSpec(1000, 2000, 1000), RulerSpec(500), one_radius=True)


def test_the_residual_of_two_blades_is_told_with_its_blades() -> None:
    told = explain.explain_residual([Blade("B1", 1_000_000), Blade("B2", 1_004_000)])
    assert told.lines() == (
        "Residual unbalance of the set",
        "formula: U = |Ma - Mb|",
        "  M(B1) at 0 deg = 1000 g mm",
        "  M(B2) at 180 deg = 1004 g mm",
        "result: U = 4 g mm",
        "source: first principles; a moment is mass times the radius of its centre of gravity",
    )


def test_tape_is_told_with_its_place() -> None:
    blades = [Blade("B1", 0), Blade("B2", 1_000_000)]
    told = explain.explain_residual(blades, tapes=[Tape(10_000_000, 100_000, 0)])
    assert told.result.value == 0
    assert str(told.inputs[-1]) == "tape at 0 deg and 100 mm = 10000 mg"
    assert "vector sum" in told.formula


def test_the_permissible_residual_is_told_with_grade_mass_and_speed() -> None:
    # G 6.3, 50 kg, 3600 rpm: omega 377.0 rad/s, 836 g mm (repository clay-good/roughlogic.com, section 3).
    told = explain.explain_permissible(grade_um_s=6300, mass_ug=50 * 10**9, speed_rpm=3600)
    assert [str(f) for f in told.inputs] == ["G = 6.3 mm/s", "m = 50 kg", "n = 3600 rpm", "w = 376.991 rad/s"]
    assert told.result.value == pytest.approx(835.563, rel=1e-6)
    # The formula is the one that was computed.
    g, m, _, w = (f.value for f in told.inputs)
    assert told.result.value == pytest.approx(1000 * g * m / w)


def test_the_force_is_told_in_newtons() -> None:
    # 1000 g mm at 3000 rpm: 98.69 N (Hofmann EB 3500 manual, section 9.3).
    told = explain.explain_force(1_000_000, speed_rpm=3000)
    assert told.result.value == pytest.approx(98.69, abs=0.01)
    u, _, w = (f.value for f in told.inputs)
    assert told.result.value == pytest.approx(u * w**2 / 1e6)
    assert told.result.unit == "N"


def test_the_uncertainty_is_the_one_of_the_verdict() -> None:
    for setup in (SETUP, Setup(SETUP.scale, SETUP.ruler)):
        told = explain.explain_uncertainty(PAIR, setup=setup)
        assert told.result.value * 1000 == pytest.approx(expanded_g_um(PAIR, setup=setup))
        assert ("one stop for all" in told.formula) == setup.one_radius
    assert [f.name for f in told.inputs[-3:]] == ["k", "u(M1)", "u(M2)"]
    assert str(told.inputs[-3]) == "k = 2"


def test_the_verdict_is_told_with_its_sentence() -> None:
    verdict = prove_match(PAIR, setup=SETUP, tolerance_g_um=2406)
    told = explain.explain_verdict(verdict)
    assert told.result.value * 1000 == pytest.approx(verdict.residual_g_um + verdict.expanded_g_um)
    assert told.lines()[-1] == verdict.message
    assert re.match(r"result: U \+ expanded uncertainty = 2\.0\d+ g mm", told.lines()[-3])


def test_the_tolerance_is_told_with_its_source() -> None:
    told = explain.explain_tolerance(Tolerance(2400, "maker's sheet 12, revision B"))
    assert told.source == "maker's sheet 12, revision B"
    assert str(told.result) == "T = 2.4 g mm"
    with pytest.raises(BadInput, match="no source"):
        explain.explain_tolerance(Tolerance(2400, ""))


def test_great_and_odd_numbers_stay_readable() -> None:
    assert str(explain.Figure("m", 12_345_678.25, "mg")) == "m = 12345678.2 mg"
    assert str(explain.Figure("m", 0.1234567, "mg")) == "m = 0.123457 mg"


@pytest.mark.parametrize("bad", [float("nan"), float("inf"), -1, 1e300, 10**400, True])
def test_no_hostile_number_is_explained(bad: int) -> None:
    calls: tuple[Callable[[], Explanation], ...] = (
        lambda: explain.explain_residual([Blade("a", 1), Blade("b", bad)]),
        lambda: explain.explain_permissible(grade_um_s=6300, mass_ug=bad, speed_rpm=1),
        lambda: explain.explain_permissible(grade_um_s=6300, mass_ug=1, speed_rpm=0),
        lambda: explain.explain_force(bad, speed_rpm=1),
        lambda: explain.explain_uncertainty((PAIR[0], Weighing(bad, 1)), setup=SETUP),
        lambda: explain.explain_tolerance(Tolerance(bad, "s")),
    )
    for call in calls:
        with pytest.raises(BadInput):
            call()


def test_a_set_of_one_blade_has_nothing_to_explain() -> None:
    with pytest.raises(BadInput, match="at least two blades, not 1"):
        explain.explain_residual([Blade("a", balance.UG_PER_G)])
