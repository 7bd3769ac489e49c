"""The least trim that brings a rotor set inside its tolerance, where the maker allows trimming.

Source: design C5; first principles.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import ceil, cos, fsum, hypot, radians, sin, sqrt

from kittrack.domain import bounds
from kittrack.domain.balance import UG_PER_G, checked_moments, g_mm, slot_directions, unbalance_of
from kittrack.errors import BadInput

Vector = tuple[float, float]
Amounts = dict[int, float]  # slot -> g·µm to add there, or to take away


@dataclass(frozen=True)
class TrimPart:
    """What one blade gets: micrograms at a radius in µm, on the blade in this slot (counted from 0)."""

    slot: int
    mass_ug: int
    radius_um: int


@dataclass(frozen=True)
class TrimPlan:
    """What to add (or take away) on which blades, and the residual in g·µm that is left then."""

    parts: tuple[TrimPart, ...]
    takes_away: bool
    residual_g_um: float


def trim_plan(
    moments_g_um: Sequence[int], *, within_g_um: float, radius_um: int, take_away: bool = False
) -> TrimPlan:
    """Find the fewest blades, and on them the least mass, that bring the residual down to a limit.

    One blade can only move the residual along its own line, so a set of three and more may need two.
    Among all pairs the least sum is where the line through both directions touches the circle of the
    limit. Masses are rounded up to whole micrograms.

    Args:
        moments_g_um: static moments in slot order, evenly spaced.
        within_g_um: the residual to reach: the tolerance less the expanded uncertainty, or 0 for the best.
        radius_um: where on the blade the trim is put.
        take_away: remove material instead of adding it.

    Returns:
        The plan, without parts when the set is inside already; parts in slot order.

    Raises:
        BadInput: a number that can't be one, or blades that are too light to take so much away.
    """
    moments = checked_moments(moments_g_um)
    limit = bounds.tolerance(within_g_um, name="residual to reach in g um")
    bounds.whole(radius_um, name="trim radius in um", low=1, high=bounds.MOST_RADIUS_UM)
    now = unbalance_of(moments)
    if now.residual_g_um <= limit:
        return TrimPlan((), take_away, now.residual_g_um)
    spare = [float(m) if take_away else float("inf") for m in moments]
    sign = -1.0 if take_away else 1.0
    lines = [(sign * x, sign * y) for x, y in slot_directions(len(moments))]
    heading = radians(now.angle_mdeg / 1000)
    heavy = (now.residual_g_um * cos(heading), now.residual_g_um * sin(heading))
    amounts = _least(_candidates(heavy, lines, limit=limit), spare=spare)
    if amounts is None:
        raise BadInput(f"Taking away can't bring {g_mm(now.residual_g_um)} down: add mass or match again.")
    parts = tuple(TrimPart(i, ceil(a * UG_PER_G / radius_um), radius_um) for i, a in sorted(amounts.items()))
    return TrimPlan(parts, take_away, _left(heavy, lines, parts))


def _least(candidates: Iterator[Amounts], *, spare: Sequence[float]) -> Amounts | None:
    able = [c for c in candidates if all(amount <= spare[slot] for slot, amount in c.items())]
    return min(able, key=lambda c: (len(c), fsum(c.values()), sorted(c)), default=None)


def _candidates(heavy: Vector, lines: Sequence[Vector], *, limit: float) -> Iterator[Amounts]:
    for slot, line in enumerate(lines):
        amount = _alone(heavy, line, limit=limit)
        if amount is not None:
            yield {slot: amount}
    for (i, first), (j, second) in combinations(enumerate(lines), 2):
        both = _together(heavy, first, second, limit=limit)
        if both is not None:
            yield {i: both[0], j: both[1]}


def _alone(heavy: Vector, line: Vector, *, limit: float) -> float | None:
    """The least amount along one direction that reaches the circle of the limit."""
    along = -_dot(heavy, line)
    beside = heavy[0] * line[1] - heavy[1] * line[0]
    # Opposite blades lie on one line; what rounding leaves beside it is not a miss.
    if abs(beside) <= 1e-9 * hypot(*heavy):
        beside = 0.0
    if along <= 0 or abs(beside) > limit:
        return None
    return along - sqrt(limit**2 - beside**2)


def _together(heavy: Vector, first: Vector, second: Vector, *, limit: float) -> Vector | None:
    """The least amounts along two directions that reach the circle, when both are above zero."""
    cross = first[0] * second[1] - first[1] * second[0]
    if abs(cross) < 1e-9:
        return None
    edge = (first[1] - second[1], second[0] - first[0])
    size = hypot(*edge) if _dot(edge, first) > 0 else -hypot(*edge)
    wanted = (-heavy[0] - limit * edge[0] / size, -heavy[1] - limit * edge[1] / size)
    one = (wanted[0] * second[1] - wanted[1] * second[0]) / cross
    two = (first[0] * wanted[1] - first[1] * wanted[0]) / cross
    return (one, two) if one > 0 and two > 0 else None


def _left(heavy: Vector, lines: Sequence[Vector], parts: Sequence[TrimPart]) -> float:
    moved = [(p.mass_ug * p.radius_um / UG_PER_G, lines[p.slot]) for p in parts]
    x = fsum([heavy[0], *(m * line[0] for m, line in moved)])
    y = fsum([heavy[1], *(m * line[1] for m, line in moved)])
    return hypot(x, y)


def _dot(a: Vector, b: Vector) -> float:
    return a[0] * b[0] + a[1] * b[1]
