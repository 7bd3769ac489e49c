"""How a deciding figure comes about: its formula, what went in, where the rule comes from, what came out.

A person who is told "no match" can ask why and gets the whole calculation, on a screen or on paper. The
builders compute through the same functions as the verdict itself, so the explanation can't drift from it.

Source: design C1 to C5 and R19.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from kittrack.domain import balance, measurement
from kittrack.domain.balance import Blade, Tape, Tolerance
from kittrack.domain.measurement import Setup, Verdict, Weighing


@dataclass(frozen=True)
class Figure:
    """One named number with its unit, in the unit in which a person reads it."""

    name: str
    value: float
    unit: str

    def __str__(self) -> str:
        """Name, value and unit: "residual = 1.2 g mm"."""
        return f"{self.name} = {_shown(self.value)} {self.unit}".rstrip()


@dataclass(frozen=True)
class Explanation:
    """The calculation of one figure.

    Args:
        title: what is explained.
        formula: the formula in the letters and names of the inputs.
        inputs: what went in, in the order of the formula.
        source: the standard or first principle behind the formula.
        result: what came out.
        verdict: the sentence that follows from it; empty where the figure is only a figure.
    """

    title: str
    formula: str
    inputs: tuple[Figure, ...]
    source: str
    result: Figure
    verdict: str = ""

    def lines(self) -> tuple[str, ...]:
        """The explanation as plain lines, one fact a line."""
        told = [self.title, f"formula: {self.formula}", *(f"  {figure}" for figure in self.inputs)]
        told += [f"result: {self.result}", f"source: {self.source}"]
        return tuple([*told, self.verdict] if self.verdict else told)


def explain_residual(blades: Sequence[Blade], *, tapes: Sequence[Tape] = ()) -> Explanation:
    """How the residual of a set comes about.

    Args:
        blades: the blades in slot order, evenly spaced.
        tapes: balance tape stuck on.

    Raises:
        BadInput: fewer than two blades, or a number that can't be one.
    """
    found = balance.unbalance_of([b.moment_g_um for b in blades], tapes=tapes)
    step_deg = 360 / len(blades)
    inputs = [_g_mm(f"M({b.key}) at {_shown(i * step_deg)} deg", b.moment_g_um) for i, b in enumerate(blades)]
    for tape in tapes:
        name = f"tape at {_shown(tape.angle_mdeg / 1000)} deg and {_shown(tape.radius_um / 1000)} mm"
        inputs.append(Figure(name, tape.mass_ug / 1000, "mg"))
    short = len(blades) == 2 and not tapes
    return Explanation(
        title="Residual unbalance of the set",
        formula="U = |Ma - Mb|" if short else "U = length of the vector sum of every moment M at its angle",
        inputs=tuple(inputs),
        source="first principles; a moment is mass times the radius of its centre of gravity",
        result=_g_mm("U", found.residual_g_um),
    )


def explain_permissible(*, grade_um_s: int, mass_ug: int, speed_rpm: float) -> Explanation:
    """How the permissible residual follows from a balance grade.

    Raises:
        BadInput: a number that can't be one; no speed.
    """
    residual = balance.permissible_g_um(grade_um_s=grade_um_s, mass_ug=mass_ug, speed_rpm=speed_rpm)
    return Explanation(
        title="Permissible residual unbalance from a grade",
        formula="U = 1000 G m / w, w = 2 pi n / 60",
        inputs=(
            Figure("G", grade_um_s / 1000, "mm/s"),
            Figure("m", mass_ug / 1e9, "kg"),
            Figure("n", speed_rpm, "rpm"),
            Figure("w", balance.angular_speed(speed_rpm), "rad/s"),
        ),
        source="ISO 21940-11; the grade is the operator's choice, no table gives one to small air propellers",
        result=_g_mm("U", residual),
    )


def explain_tolerance(tolerance: Tolerance) -> Explanation:
    """Where the tolerance of a match comes from.

    Raises:
        BadInput: a number that can't be one.
    """
    checked = balance.tolerance_from_maker(tolerance.residual_g_um, source=tolerance.source)
    figure = _g_mm("T", checked.residual_g_um)
    return Explanation("Tolerance of the match", "T as given", (figure,), checked.source, figure)


def explain_force(residual_g_um: float, *, speed_rpm: float) -> Explanation:
    """Which force a residual makes at a speed.

    Raises:
        BadInput: a number that can't be one; no speed.
    """
    newtons = balance.force_n(residual_g_um, speed_rpm=speed_rpm)
    return Explanation(
        title="Rotating force of the residual",
        formula="F = U w2 / 1,000,000, w = 2 pi n / 60",
        inputs=(
            _g_mm("U", residual_g_um),
            Figure("n", speed_rpm, "rpm"),
            Figure("w", balance.angular_speed(speed_rpm), "rad/s"),
        ),
        source="first principles (centrifugal force)",
        result=Figure("F", newtons, "N"),
    )


def explain_uncertainty(weighings: Sequence[Weighing], *, setup: Setup) -> Explanation:
    """How the expanded uncertainty of a residual comes about.

    Args:
        weighings: the blades in slot order, evenly spaced.
        setup: how they were measured.

    Raises:
        BadInput: a number that can't be one, or different radii of one stop.
    """
    expanded = measurement.expanded_g_um(weighings, setup=setup)
    each = [
        measurement.moment_uncertainty_g_um(
            w, scale=setup.scale, ruler=None if setup.one_radius else setup.ruler
        )
        for w in weighings
    ]
    common = " and U u(r) / r (one stop for all)" if setup.one_radius else ""
    return Explanation(
        title="Expanded uncertainty of the residual",
        formula=f"k times the root of the squares of u(M) = root of (r u(m))2 + (m u(r))2, in the worst "
        f"direction{common}",
        inputs=(*_of_tools(setup), *(_g_mm(f"u(M{i + 1})", u) for i, u in enumerate(each))),
        source="JCGM 100 (GUM) 4.3.7, 5.1.2, 6.2, F.2.2.1",
        result=_g_mm("expanded uncertainty", expanded),
    )


def explain_verdict(verdict: Verdict) -> Explanation:
    """How the verdict on a match comes about."""
    return Explanation(
        title="Verdict on the match",
        formula="matched when U + expanded uncertainty <= T",
        inputs=(
            _g_mm("U", verdict.residual_g_um),
            _g_mm("expanded uncertainty", verdict.expanded_g_um),
            _g_mm("T", verdict.tolerance_g_um),
        ),
        source="rule R19; guard band of ILAC-G8:09/2019, 4.2.3",
        result=_g_mm("U + expanded uncertainty", verdict.residual_g_um + verdict.expanded_g_um),
        verdict=verdict.message,
    )


def _of_tools(setup: Setup) -> Iterable[Figure]:
    scale, ruler = setup.scale, setup.ruler
    return (
        Figure("step of the scale", scale.resolution_ug / 1000, "mg"),
        Figure("calibration of the scale (k = 2)", scale.calibration_uncertainty_ug / 1000, "mg"),
        Figure("repeatability of the scale", scale.repeatability_ug / 1000, "mg"),
        Figure("u(m)", scale.standard_uncertainty_ug() / 1000, "mg"),
        Figure("step of the ruler", ruler.resolution_um / 1000, "mm"),
        Figure("u(r)", ruler.standard_uncertainty_um() / 1000, "mm"),
        Figure("k", setup.coverage_factor, ""),
    )


def _g_mm(name: str, moment_g_um: float) -> Figure:
    return Figure(name, moment_g_um / 1000, "g mm")


def _shown(value: float) -> str:
    """A number to read: six figures, and whole numbers in full."""
    if value == round(value):
        return f"{value:.0f}"
    return f"{value:.6g}" if abs(value) < 1e6 else f"{value:.1f}"
