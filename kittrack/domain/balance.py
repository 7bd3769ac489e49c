"""Static moments around a hub: what is left over, in which order it is least, and how much may be left.

Moments come in as whole g·µm (one thousandth of a g·mm) and residuals go out as floats in g·µm: a vector
sum is irrational, and nobody stores a residual without rounding it first. Blade k of N stands at k/N of a
turn, counted in the direction in which the slots of the hub are numbered. A rotor of thin blades is a
disc: one plane, the whole permissible residual.

Source: design C1 and C2; ISO 21940-11 in published extracts (e_per = 1000 G / omega, U = e m,
F = U omega squared).
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import permutations
from math import atan2, cos, fsum, hypot, pi

from kittrack.domain import bounds
from kittrack.errors import BadInput

FULL_TURN_MDEG = 360_000
UG_PER_G = 10**6
_MOST_SHOWN_G_UM = 10**18  # the sum of very many residuals
MOST_ORDERED = 8  # blades around one hub whose orders are all tried: 2,520 once mirror images are left out
# Cosines of the twelfths of a turn that floats hold exactly; with them equal blades cancel to zero.
EXACT_COSINES = {0: 1.0, 2: 0.5, 3: 0.0, 4: -0.5, 6: -1.0, 8: -0.5, 9: 0.0, 10: 0.5}


@dataclass(frozen=True, order=True)
class Blade:
    """One loose blade: its number and its static moment about the rotor axis in g·µm."""

    key: str
    moment_g_um: int


@dataclass(frozen=True)
class Tape:
    """Balance tape, putty or a grub screw: a mass at a radius, at an angle from slot 0 in slot direction."""

    mass_ug: int
    radius_um: int
    angle_mdeg: int


@dataclass(frozen=True)
class Unbalance:
    """A residual in g·µm and the direction of the heavy side, millidegrees from slot 0 in slot direction."""

    residual_g_um: float
    angle_mdeg: float


@dataclass(frozen=True)
class Placement:
    """The order of blades around a hub, as keys from slot 0 on, and the residual that it leaves in g·µm."""

    keys: tuple[str, ...]
    residual_g_um: float


@dataclass(frozen=True)
class Tolerance:
    """The residual that a set may have, in g·µm, and where that figure comes from."""

    residual_g_um: float
    source: str


def static_moment_g_um(*, mass_ug: int, cg_radius_um: int) -> int:
    """Static moment of one blade: mass times the radius of its centre of gravity, to the nearest g·µm.

    Raises:
        BadInput: a mass or radius that no blade has.
    """
    mass_ug = bounds.whole(mass_ug, name="blade mass in ug", low=1, high=bounds.MOST_MASS_UG)
    radius = bounds.whole(cg_radius_um, name="radius of gravity in um", low=1, high=bounds.MOST_RADIUS_UM)
    return bounds.moment((2 * mass_ug * radius + UG_PER_G) // (2 * UG_PER_G), of="the blade")


def unbalance_of(
    moments_g_um: Sequence[int], *, angles_mdeg: Sequence[int] | None = None, tapes: Sequence[Tape] = ()
) -> Unbalance:
    """Vector sum of blades and balance tape about the rotor axis.

    Args:
        moments_g_um: static moments in slot order; two or more.
        angles_mdeg: where the blades stand if not evenly; one for each.
        tapes: masses stuck on afterwards.

    Raises:
        BadInput: fewer than two blades, an angle missing, or a number that can't be one.

    Source: design C1; first principles.
    """
    moments = checked_moments(moments_g_um)
    directions = slot_directions(len(moments), angles_mdeg=angles_mdeg)
    # Evenly spaced directions sum to zero, so what all blades share is left out and can't leave noise.
    shared = min(moments) if angles_mdeg is None else 0
    arms = [(float(m - shared), direction) for m, direction in zip(moments, directions, strict=True)]
    arms += [_tape_arm(tape) for tape in tapes]
    x = fsum(moment * c for moment, (c, _) in arms)
    y = fsum(moment * s for moment, (_, s) in arms)
    return Unbalance(hypot(x, y), atan2(y, x) / (2 * pi) * FULL_TURN_MDEG % FULL_TURN_MDEG)


def best_order(blades: Sequence[Blade]) -> Placement:
    """Find the order around the hub that leaves the least residual, by trying every one.

    Turning the rotor and reading it backwards change nothing, so the blade of the least key stays in
    slot 0 and of each order and its mirror image one is tried. Orders are compared by their circular
    products in whole numbers; among equal ones the first in order of keys is taken.

    Args:
        blades: two to eight blades.

    Returns:
        The same placement for every order of the input.

    Raises:
        BadInput: fewer than two or more than eight blades, a key twice, or a moment that can't be one.

    Source: design C1.
    """
    if len(blades) > MOST_ORDERED:
        raise BadInput(f"A rotor of {len(blades)} blades is too many to order: at most {MOST_ORDERED}.")
    refuse_doubles(blades)
    moments = checked_moments([b.moment_g_um for b in blades])
    shared = min(moments)
    ordered = sorted(blades)
    spread = [b.moment_g_um - shared for b in ordered]
    weights = _lag_weights(len(blades))
    best = min(_orders(len(blades)), key=lambda order: _score([spread[i] for i in order], weights))
    placed = [ordered[i] for i in best]
    residual = unbalance_of([b.moment_g_um for b in placed]).residual_g_um
    return Placement(tuple(b.key for b in placed), residual)


def permissible_g_um(*, grade_um_s: int, mass_ug: int, speed_rpm: float) -> float:
    """Permissible residual of a rotor from a balance grade: U = G m / omega.

    Args:
        grade_um_s: the grade in µm/s, so 6300 for G 6.3. No table gives small air propellers a grade; fans
            stand at G 6.3, and which one holds is the operator's choice.
        mass_ug: mass of the whole rotor.
        speed_rpm: its greatest service speed.

    Returns:
        The residual in g·µm.

    Raises:
        BadInput: a number that can't be one; no speed.

    Source: design C2; ISO 21940-11.
    """
    grade = bounds.real(grade_um_s, name="balance grade in um/s", low=1, high=bounds.MOST_MASS_UG)
    return grade * _rotor_mass_g(mass_ug) / angular_speed(speed_rpm)


def grade_reached_um_s(*, residual_g_um: float, mass_ug: int, speed_rpm: float) -> float:
    """Balance grade that a residual amounts to at a speed, in µm/s: the inverse of `permissible_g_um`.

    Raises:
        BadInput: a number that can't be one; no speed.
    """
    residual = bounds.tolerance(residual_g_um, name="residual in g um")
    return residual * angular_speed(speed_rpm) / _rotor_mass_g(mass_ug)


def force_n(residual_g_um: float, *, speed_rpm: float) -> float:
    """Rotating force of a residual at a speed in newtons: F = U omega squared.

    Raises:
        BadInput: a number that can't be one; no speed.

    Source: design C2.
    """
    residual = bounds.tolerance(residual_g_um, name="residual in g um")
    return residual * 1e-9 * angular_speed(speed_rpm) ** 2  # one g um is 1e-9 kg m


def angular_speed(speed_rpm: float) -> float:
    """Turns a minute as radians a second.

    Raises:
        BadInput: zero, negative, or no number.
    """
    speed = bounds.real(speed_rpm, name="rotor speed in rpm", low=0, high=bounds.MOST_SPEED_RPM, above=True)
    return speed * 2 * pi / 60


def tolerance_from_grade(*, grade_um_s: int, mass_ug: int, speed_rpm: float, source: str) -> Tolerance:
    """Tolerance from a balance grade; `source` says who chose the grade.

    Raises:
        BadInput: a number that can't be one, or no source.
    """
    residual = permissible_g_um(grade_um_s=grade_um_s, mass_ug=mass_ug, speed_rpm=speed_rpm)
    return Tolerance(residual, _named_source(source))


def tolerance_from_maker(residual_g_um: float, *, source: str) -> Tolerance:
    """Tolerance where the maker gives a residual unbalance or a difference of static moments.

    Raises:
        BadInput: a number that can't be one, or no source.
    """
    return Tolerance(bounds.tolerance(residual_g_um), _named_source(source))


def tolerance_from_mass(*, difference_ug: int, cg_radius_um: int, source: str) -> Tolerance:
    """Tolerance where the maker gives a difference of mass: taken at the radius of gravity.

    Raises:
        BadInput: a number that can't be one, or no source.
    """
    mass = bounds.whole(difference_ug, name="mass difference in ug", low=0, high=bounds.MOST_MASS_UG)
    radius = bounds.whole(cg_radius_um, name="radius of gravity in um", low=1, high=bounds.MOST_RADIUS_UM)
    return Tolerance(bounds.tolerance(mass * radius / UG_PER_G), _named_source(source))


def tolerance_from_share(*, share_ppm: int, moments_g_um: Sequence[int], source: str) -> Tolerance:
    """Tolerance where the maker gives a share (0.1 % is 1000 ppm): taken of the mean static moment.

    Raises:
        BadInput: a number that can't be one, fewer than two blades, or no source.
    """
    share = bounds.whole(share_ppm, name="share of the moment in ppm", low=0, high=10**6)
    moments = checked_moments(moments_g_um)
    return Tolerance(sum(moments) * share / (10**6 * len(moments)), _named_source(source))


def g_mm(moment_g_um: float) -> str:
    """Show a moment or residual in g mm, to the thousandth that one g·µm is.

    Raises:
        BadInput: it is no finite number.
    """
    far = _MOST_SHOWN_G_UM
    shown = bounds.real(moment_g_um, name="moment in g um", low=-far, high=far)
    text = f"{shown / 1000:.3f}".rstrip("0").rstrip(".")
    if text in {"0", "-0"}:
        return "0 g mm" if moment_g_um == 0 else "under 0.001 g mm"
    return f"{text} g mm"


def checked_moments(moments_g_um: Sequence[int]) -> list[int]:
    """Give the moments of one rotor back when there are two or more and each is a real one.

    Raises:
        BadInput: fewer than two, or one that can't be a moment.
    """
    if len(moments_g_um) < 2:
        raise BadInput(f"A rotor has at least two blades, not {len(moments_g_um)}: give every blade.")
    return [bounds.moment(m, of=f"blade {i + 1}") for i, m in enumerate(moments_g_um)]


def refuse_doubles(blades: Sequence[Blade]) -> None:
    """Stop when a blade's number stands twice.

    Raises:
        BadInput: a key is there twice.
    """
    twice = sorted(key for key, times in Counter(b.key for b in blades).items() if times > 1)
    if twice:
        raise BadInput(f"Blade {twice[0]} stands twice in the list: give each blade once.")


def slot_directions(
    count: int, *, angles_mdeg: Sequence[int] | None = None
) -> tuple[tuple[float, float], ...]:
    """Cosine and sine of where each blade stands: evenly, or at the given angles.

    Raises:
        BadInput: another number of angles than of blades, or an angle that can't be one.
    """
    if angles_mdeg is None:
        return tuple(direction(k, of=count) for k in range(count))
    if len(angles_mdeg) != count:
        raise BadInput(f"{count} blades have {len(angles_mdeg)} angles: give one angle for each blade.")
    return tuple(_checked_direction(angle) for angle in angles_mdeg)


def direction(part: int, *, of: int) -> tuple[float, float]:
    """Cosine and sine of a part of a turn; exact where floats can be."""
    return _cosine(part, of=of), _cosine(4 * part - of, of=4 * of)


def _cosine(part: int, *, of: int) -> float:
    part = abs(part) % of
    if 12 * part % of == 0 and 12 * part // of in EXACT_COSINES:
        return EXACT_COSINES[12 * part // of]
    part = min(part, of - part)
    # Folding at a quarter turn makes opposite directions exact negatives of each other.
    return cos(2 * pi * part / of) if 4 * part <= of else -cos(pi * (of - 2 * part) / of)


def _checked_direction(angle_mdeg: int) -> tuple[float, float]:
    far = 10 * FULL_TURN_MDEG
    angle = bounds.whole(angle_mdeg, name="angle in mdeg", low=-far, high=far)
    return direction(angle % FULL_TURN_MDEG, of=FULL_TURN_MDEG)


def _tape_arm(tape: Tape) -> tuple[float, tuple[float, float]]:
    mass = bounds.whole(tape.mass_ug, name="tape mass in ug", low=0, high=bounds.MOST_MASS_UG)
    radius = bounds.whole(tape.radius_um, name="tape radius in um", low=0, high=bounds.MOST_RADIUS_UM)
    return mass * radius / UG_PER_G, _checked_direction(tape.angle_mdeg)


def _orders(count: int) -> Iterator[tuple[int, ...]]:
    """Every order around a hub but for turning and mirroring, in lexical order."""
    return ((0, *rest) for rest in permutations(range(1, count)) if rest[0] <= rest[-1])


def _lag_weights(count: int) -> list[tuple[float, list[tuple[int, int]]]]:
    """Weight of each circular product in the squared residual, lags of one size of cosine together."""
    groups: dict[float, list[tuple[int, int]]] = {}
    for lag in range(1, count // 2 + 1):
        cosine = _cosine(lag, of=count)
        times = 1 if 2 * lag == count else 2
        groups.setdefault(abs(cosine), []).append((lag, times if cosine > 0 else -times))
    return list(groups.items())


def _score(spread: Sequence[int], weights: list[tuple[float, list[tuple[int, int]]]]) -> float:
    """Squared residual less the part that is the same in every order."""
    turned = {
        lag: sum(a * b for a, b in zip(spread, [*spread[lag:], *spread[:lag]], strict=True))
        for _, lags in weights
        for lag, _ in lags
    }
    return sum(cosine * sum(times * turned[lag] for lag, times in lags) for cosine, lags in weights)


def _rotor_mass_g(mass_ug: int) -> float:
    mass = bounds.real(mass_ug, name="rotor mass in ug", low=0, high=bounds.MOST_MASS_UG, above=True)
    return mass / UG_PER_G


def _named_source(source: str) -> str:
    if not source.strip():
        raise BadInput("The tolerance has no source: name the maker's paper or who chose the grade (R19).")
    return source
