"""How well a static moment is known, and whether that is good enough to call blades a match.

A moment is mass times radius. Scale and ruler each bring rounding, repeatability and calibration, taken as
independent and added in squares. Calibration faults are in truth common to all blades of one scale; a common
fault of equal weighings cancels in the residual, so taking them as independent errs on the safe side. A ruler
that is set anew for each blade is a coarse tool (half a millimetre on a 60 g blade is 30 g mm): where all
blades rest on the scale at one stop of one fixture, the radius is one quantity, and `one_radius` says so.

Source: design C4 and R19; JCGM 100 (GUM): 4.3.7 and F.2.2.1 (rounding to d has the standard uncertainty
d / sqrt 12), 5.1.2 and its note (product of independent quantities), 6.2 (expanded uncertainty).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import fsum, hypot, sqrt

from kittrack.domain import bounds
from kittrack.domain.balance import UG_PER_G, g_mm, slot_directions, static_moment_g_um, unbalance_of
from kittrack.errors import BadInput

# GUM 6.3.3: k = 2 covers about 95 %. For a residual of two blades that is what it says. Where three and more
# blades measure as nearly balanced, the true residual has a direction to choose and k = 2 covers 86 %
# (1 - exp(-2), Rayleigh); k = 2.45 covers 95 % there (JCGM 102, two quantities).
COVERAGE_FACTOR = 2.0
STEPS = (5, 2, 1)  # scale intervals are 1, 2 or 5 times a power of ten (OIML R 76-1, from memory)


@dataclass(frozen=True)
class ScaleSpec:
    """What is known of a scale, in micrograms.

    Args:
        resolution_ug: the step of its display.
        calibration_uncertainty_ug: expanded (k = 2), from the certificate; 0 only for a difference of
            weighings whose calibration fault cancels.
        repeatability_ug: standard deviation of one weighing.
        readings: weighings of which the mean is taken.
        roundings: 2 where zero and load are each rounded to a step; 1 where the repeatability was found on
            tared weighings and holds the rounding of the tare already.
    """

    resolution_ug: int
    calibration_uncertainty_ug: int
    repeatability_ug: int
    readings: int = 1
    roundings: int = 2

    def standard_uncertainty_ug(self) -> float:
        """Standard uncertainty of one mass.

        Raises:
            BadInput: a number that no scale has.
        """
        limits = (self.resolution_ug, self.calibration_uncertainty_ug, self.repeatability_ug)
        return _combined(limits, readings=self.readings, roundings=self.roundings, tool="scale", unit="ug")


@dataclass(frozen=True)
class RulerSpec:
    """What is known of the ruler (or the fixture's stop) for the radius, in micrometres.

    Args:
        resolution_um: its graduation, or the part of it that is read.
        calibration_uncertainty_um: expanded (k = 2), from the certificate.
        repeatability_um: standard deviation of one setting, finding the balance point included.
        readings: settings of which the mean is taken.
        roundings: 2 where both ends are read; 1 where one end lies against a stop.
    """

    resolution_um: int
    calibration_uncertainty_um: int = 0
    repeatability_um: int = 0
    readings: int = 1
    roundings: int = 2

    def standard_uncertainty_um(self) -> float:
        """Standard uncertainty of one radius.

        Raises:
            BadInput: a number that no ruler has.
        """
        limits = (self.resolution_um, self.calibration_uncertainty_um, self.repeatability_um)
        return _combined(limits, readings=self.readings, roundings=self.roundings, tool="ruler", unit="um")


@dataclass(frozen=True)
class Weighing:
    """One blade on the scale: the reading in micrograms and the radius in µm at which it acts."""

    mass_ug: int
    radius_um: int

    @property
    def moment_g_um(self) -> int:
        """The static moment that follows."""
        return static_moment_g_um(mass_ug=self.mass_ug, cg_radius_um=self.radius_um)


@dataclass(frozen=True)
class Setup:
    """How the blades of a set were measured.

    Args:
        scale: the scale.
        ruler: what the radius was taken with.
        one_radius: every blade was read at the same stop of one fixture; a fault of the radius then only
            scales the residual.
        coverage_factor: k of the expanded uncertainty.
    """

    scale: ScaleSpec
    ruler: RulerSpec
    one_radius: bool = False
    coverage_factor: float = COVERAGE_FACTOR

    def checked_factor(self) -> float:
        """The coverage factor.

        Raises:
            BadInput: it is not from 1 to 10.
        """
        return bounds.real(self.coverage_factor, name="coverage factor", low=1, high=10)


class Finding(StrEnum):
    """The four zones of a decision with a guard band as wide as the expanded uncertainty.

    Source: ILAC-G8:09/2019, 4.2.3 (pass, conditional pass, conditional fail, fail); only the first counts
    as a match (design R19).
    """

    MATCHED = "matched"
    TOO_COARSE = "too coarse"
    IN_DOUBT = "in doubt"
    NO_MATCH = "no match"


@dataclass(frozen=True)
class Verdict:
    """Whether a residual is proven to be within tolerance, with one sentence for a person; all in g·µm."""

    finding: Finding
    residual_g_um: float
    expanded_g_um: float
    tolerance_g_um: float
    message: str

    @property
    def accepted(self) -> bool:
        """Whether residual and uncertainty together are within tolerance."""
        return self.finding is Finding.MATCHED


def moment_uncertainty_g_um(weighing: Weighing, *, scale: ScaleSpec, ruler: RulerSpec | None) -> float:
    """Standard uncertainty of one static moment m r: the square root of (r u_m)2 + (m u_r)2 + (u_m u_r)2.

    Args:
        weighing: the blade.
        scale: the scale it was weighed on.
        ruler: what its radius was taken with; none when the radius is common to all blades.

    Raises:
        BadInput: a number that can't be one.
    """
    bounds.moment(weighing.moment_g_um, of="the blade")
    by_mass = scale.standard_uncertainty_ug() / UG_PER_G
    by_radius = 0.0 if ruler is None else ruler.standard_uncertainty_um()
    mass_g = weighing.mass_ug / UG_PER_G
    return hypot(weighing.radius_um * by_mass, mass_g * by_radius, by_mass * by_radius)


def residual_uncertainty_g_um(
    uncertainties_g_um: Sequence[float], *, angles_mdeg: Sequence[int] | None = None
) -> float:
    """Standard uncertainty of the residual of N blades, in the direction in which it is greatest.

    The residual's direction is unknown when the set is nearly balanced, so the greatest half axis of the
    uncertainty ellipse is taken: for equal blades sqrt 2 u for two and sqrt(N / 2) u for three and more.

    Args:
        uncertainties_g_um: standard uncertainty of each blade's moment, in slot order.
        angles_mdeg: where the blades stand if not evenly.

    Raises:
        BadInput: fewer than two, or a number that can't be one.
    """
    if len(uncertainties_g_um) < 2:
        raise BadInput("A residual needs the uncertainty of at least two blades: give one for each blade.")
    squares = [bounds.tolerance(u, name="uncertainty of a moment in g um") ** 2 for u in uncertainties_g_um]
    directions = slot_directions(len(squares), angles_mdeg=angles_mdeg)
    doubled = [(c * c - s * s, 2 * c * s) for c, s in directions]
    whole = fsum(squares)
    lean = hypot(
        fsum(u * c for u, (c, _) in zip(squares, doubled, strict=True)),
        fsum(u * s for u, (_, s) in zip(squares, doubled, strict=True)),
    )
    return sqrt((whole + lean) / 2)


def expanded_g_um(weighings: Sequence[Weighing], *, setup: Setup) -> float:
    """Expanded uncertainty of the residual of a set of evenly spaced blades.

    Args:
        weighings: the blades in slot order.
        setup: how they were measured.

    Raises:
        BadInput: a number that can't be one, or different radii of one stop.
    """
    return setup.checked_factor() * hypot(*_shares(weighings, setup=setup))


def judge_match(
    residual_g_um: float,
    *,
    expanded_g_um: float,
    tolerance_g_um: float,
    tool: str = "scale",
    way_out: str = "try another partner or a finer scale",
) -> Verdict:
    """Judge a residual: a match only when residual plus expanded uncertainty is within tolerance.

    Args:
        residual_g_um: measured residual.
        expanded_g_um: its expanded uncertainty.
        tolerance_g_um: what the maker or the grade allows.
        tool: what brings most of the uncertainty, for the sentence.
        way_out: what to do where the match is not proven, for the sentence.

    Returns:
        The verdict, in words that say whether the blades or the tool fall short.

    Raises:
        BadInput: a number that can't be one.

    Source: design R19 and C4.
    """
    residual = bounds.tolerance(residual_g_um, name="residual in g um")
    expanded = bounds.tolerance(expanded_g_um, name="expanded uncertainty in g um")
    limit = bounds.tolerance(tolerance_g_um)
    finding = _finding(residual, expanded, limit)
    return Verdict(
        finding, residual, expanded, limit, _sentence(finding, residual, expanded, limit, tool, way_out)
    )


def prove_match(weighings: Sequence[Weighing], *, setup: Setup, tolerance_g_um: float) -> Verdict:
    """Judge a set from its weighings, and say which scale would do where this one does not.

    Args:
        weighings: the blades in slot order, evenly spaced.
        setup: how they were measured.
        tolerance_g_um: what the maker or the grade allows.

    Raises:
        BadInput: a number that can't be one, or different radii of one stop.
    """
    residual = unbalance_of([w.moment_g_um for w in weighings]).residual_g_um
    by_scale, by_ruler = _shares(weighings, setup=setup)
    room = bounds.tolerance(tolerance_g_um) - residual
    needed = needed_resolution_ug(weighings, setup=setup, room_g_um=max(room, 0.0))
    return judge_match(
        residual,
        expanded_g_um=expanded_g_um(weighings, setup=setup),
        tolerance_g_um=tolerance_g_um,
        tool="scale" if by_scale >= by_ruler else "ruler",
        way_out=_way_out(needed, room=room, one_radius=setup.one_radius),
    )


def needed_resolution_ug(weighings: Sequence[Weighing], *, setup: Setup, room_g_um: float) -> int | None:
    """Find the coarsest scale step with which the expanded uncertainty fits into what the residual leaves.

    A finer scale is taken to be finer in every respect: its calibration and repeatability shrink in
    proportion to its step. The ruler stays as it is.

    Args:
        weighings: the blades in slot order.
        setup: how they were measured.
        room_g_um: tolerance less residual.

    Returns:
        A step in micrograms, 1, 2 or 5 times a power of ten; None when the ruler alone takes the room,
        or the step would be under one microgram.

    Raises:
        BadInput: a number that can't be one, or different radii of one stop.
    """
    room = bounds.tolerance(room_g_um, name="room for uncertainty in g um") / setup.checked_factor()
    by_scale, by_ruler = _shares(weighings, setup=setup)
    if room <= by_ruler:
        return None
    exact_ug = setup.scale.resolution_ug * sqrt(room**2 - by_ruler**2) / by_scale
    return _step_at_most(exact_ug)


def _step_at_most(limit_ug: float) -> int | None:
    steps = (step * 10**power for power in range(12, -1, -1) for step in STEPS)
    return next((step for step in steps if step <= limit_ug), None)


def _shares(weighings: Sequence[Weighing], *, setup: Setup) -> tuple[float, float]:
    """What scale and ruler bring to the standard uncertainty of the residual."""
    residual = unbalance_of([w.moment_g_um for w in weighings]).residual_g_um
    by_scale = residual_uncertainty_g_um(
        [moment_uncertainty_g_um(w, scale=setup.scale, ruler=None) for w in weighings]
    )
    if not setup.one_radius:
        both = residual_uncertainty_g_um(
            [moment_uncertainty_g_um(w, scale=setup.scale, ruler=setup.ruler) for w in weighings]
        )
        return by_scale, sqrt(max(both**2 - by_scale**2, 0.0))
    radii = {w.radius_um for w in weighings}
    if len(radii) > 1:
        raise BadInput("Blades read at one stop have one radius: give the same radius for each of them.")
    return by_scale, residual * setup.ruler.standard_uncertainty_um() / radii.pop()


def _combined(limits: tuple[int, int, int], *, readings: int, roundings: int, tool: str, unit: str) -> float:
    names = ("resolution", "calibration uncertainty", "repeatability")
    resolution, calibration, repeatability = (
        bounds.whole(value, name=f"{name} of the {tool} in {unit}", low=least, high=bounds.MOST_RADIUS_UM)
        for value, name, least in zip(limits, names, (1, 0, 0), strict=True)
    )
    times = bounds.whole(readings, name=f"number of readings of the {tool}", low=1, high=1000)
    ends = bounds.whole(roundings, name=f"number of rounded readings of the {tool}", low=1, high=2)
    return sqrt(ends * resolution**2 / 12 + (calibration / 2) ** 2 + repeatability**2 / times)


def _finding(residual: float, expanded: float, limit: float) -> Finding:
    if residual + expanded <= limit:
        return Finding.MATCHED
    if residual <= limit:
        return Finding.TOO_COARSE
    return Finding.IN_DOUBT if residual - expanded <= limit else Finding.NO_MATCH


def _sentence(
    finding: Finding, residual: float, expanded: float, limit: float, tool: str, way_out: str
) -> str:
    figures = f"residual {g_mm(residual)}, uncertain by {g_mm(expanded)}, of {g_mm(limit)} allowed"
    if finding is Finding.MATCHED:
        return f"Matched: {figures}."
    if finding is Finding.TOO_COARSE and expanded >= limit:
        return f"Not proven, the {tool} is too coarse for any match at this tolerance: {figures}; {way_out}."
    if finding is Finding.TOO_COARSE:
        return f"Not proven, the blades may match but the {tool} is too coarse: {figures}; {way_out}."
    if finding is Finding.IN_DOUBT:
        return f"No match as measured, though the {tool} is too coarse to be sure: {figures}; {way_out}."
    return f"No match, and no better {tool} would change that: {figures}; try another partner."


def _way_out(needed_ug: int | None, *, room: float, one_radius: bool) -> str:
    if room <= 0:
        return "try another partner"
    if needed_ug is not None:
        return f"a scale with steps of {needed_ug / 1000:,.12g} mg would do"
    if one_radius:
        return "no scale would do, so try another partner"
    return "no scale would do, so take the radius of all blades at one stop of a fixture"
