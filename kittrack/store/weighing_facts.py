"""What blades and scales on record say to the measurement: weighings, and how they were made."""

from collections.abc import Sequence
from dataclasses import replace

from kittrack.domain.balance import UG_PER_G
from kittrack.domain.measurement import RulerSpec, ScaleSpec, Setup, Weighing
from kittrack.store.records import Piece, Tool


def weighing_of(piece: Piece) -> Weighing:
    """The weighing that a blade carries; the radius follows from its mass and its moment."""
    mass, moment = piece.mass_ug or 0, piece.moment_g_um or 0
    return Weighing(mass, (2 * moment * UG_PER_G + mass) // (2 * mass))


def at_one_stop(weighings: Sequence[Weighing]) -> list[Weighing]:
    """The same with one radius for all, where they differ by no more than the rounding of a moment.

    Others are left as they are; `measurement` refuses them in its own words.
    """
    radii = sorted(w.radius_um for w in weighings)
    if radii[-1] - radii[0] > 2:  # a moment is rounded to one g um, so a radius to 1 um from 1 g up
        return list(weighings)
    return [replace(w, radius_um=radii[len(radii) // 2]) for w in weighings]


def setup_of(tool: Tool, *, one_stop: bool) -> Setup:
    """How blades were measured with a scale and its ruler or fixture."""
    scale = ScaleSpec(
        resolution_ug=tool.resolution_ug or 0,
        calibration_uncertainty_ug=tool.uncertainty_ug or 0,
        repeatability_ug=tool.repeatability_ug or 0,
    )
    return Setup(scale, RulerSpec(resolution_um=tool.ruler_um or 0), one_radius=one_stop)
