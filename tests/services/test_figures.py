"""Figures worked out before anything is recorded, against published values."""

import pytest

from kittrack.errors import BadInput, NotFound
from kittrack.queries.explaining import Asked
from kittrack.queries.figures import (
    grade_reached,
    permissible_residual,
    screw_figures,
    tolerance_of_masses,
    tolerance_of_share,
    tool_reading,
)
from kittrack.store.database import Store
from tests.aircraft_scene import TORQUE_TOOL


def result(asked: Asked, number: int = 0) -> float:
    return asked.explanations[number].result.value


def test_a_grade_gives_its_permissible_residual_and_force() -> None:
    """G 6.3, 1 kg, 3000 rpm: e = 20.05 g mm/kg (ISO 21940-11 by its formula), F = U w^2 = 20.05e-6 x 314.16^2 N."""
    found = permissible_residual(grade_um_s=6300, mass_ug=10**9, speed_rpm=3000)
    assert result(found) == pytest.approx(20.05, abs=0.01)
    assert result(found, 1) == pytest.approx(20.05e-6 * 314.159**2, rel=1e-3)
    with pytest.raises(BadInput):
        permissible_residual(grade_um_s=6300, mass_ug=10**9, speed_rpm=0)


def test_a_residual_amounts_to_the_grade_that_allows_it() -> None:
    """The inverse of the row above: 20.05 g mm on 1 kg at 3000 rpm is G 6.3; at twice the speed G 12.6."""
    assert result(grade_reached(residual_g_um=20_054, mass_ug=10**9, speed_rpm=3000)) == pytest.approx(
        6.3, rel=1e-4
    )
    assert result(grade_reached(residual_g_um=20_054, mass_ug=10**9, speed_rpm=6000)) == pytest.approx(
        12.6, rel=1e-4
    )


def test_a_makers_difference_of_mass_or_in_percent_is_a_moment() -> None:
    """10 g at 100 mm are 1000 g mm (a balancer's manual, section 9.3); 0.1 % of 4200 g mm are 4.2 (by hand)."""
    assert result(tolerance_of_masses(difference_ug=10_000_000, cg_radius_um=100_000)) == pytest.approx(1000)
    assert result(tolerance_of_share(share_ppm=1000, moment_g_um=4_200_000)) == pytest.approx(4.2)


def test_a_screw_carries_what_the_standard_prints() -> None:
    """M3 of class 8.8: As 5.03 mm2, proof load 2920 N (ISO 898-1 as printed by fastener suppliers)."""
    found = screw_figures(thread="M3", strength="8.8", torque_mnm=1000, condition="dry", head="socket head")
    assert result(found) == pytest.approx(2920, rel=5e-3)
    assert result(found, 3) == 2.5  # key of ISO 4762 M3, in mm
    assert len(screw_figures(thread="M3", strength="8.8").explanations) == 2


@pytest.mark.parametrize(
    "wrong",
    [{"thread": "M7.3"}, {"strength": "8.9"}, {"condition": "wet"}, {"head": "hammer"}, {"torque_mnm": -1}],
)
def test_what_is_not_known_is_told(wrong: dict[str, object]) -> None:
    with pytest.raises(BadInput):
        screw_figures(**({"thread": "M3", "strength": "8.8", "torque_mnm": 800} | wrong))  # type: ignore[arg-type]  # on purpose


def test_a_tool_is_judged_by_its_class(store: Store) -> None:
    """6 % up to 10 N m (ISO 6789-1 as a maker's manual prints it): 0.85 against 0.80 is 6.25 %, 0.84 is 5 %."""
    outside = tool_reading(store, tool=TORQUE_TOOL, set_mnm=850, reference_mnm=800).explanations[0]
    inside = tool_reading(store, tool=TORQUE_TOOL, set_mnm=840, reference_mnm=800).explanations[0]
    assert outside.result.value == pytest.approx(6.25)
    assert inside.result.value == pytest.approx(5.0)
    assert outside.verdict.startswith("NOT within")
    assert inside.verdict.startswith("Within")
    with pytest.raises(NotFound):
        tool_reading(store, tool="Scale 1", set_mnm=850, reference_mnm=800)
