"""What a torque does to a screw: preload, share of the proof load, and whether a figure is believable.

Plausibility only: the maker's torque decides. Published tables differ by up to 3.6 times for one M3
screw, so a torque is kept with its source and condition and never computed for use.

Source: design C8 and C9; T = K d F with published ranges of K; VDI 2230 for the typical torque; the SI and
the exact definitions of pound, inch and standard gravity for the units.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from math import pi, sqrt
from typing import Final

from kittrack.domain import bounds
from kittrack.domain.threads import (
    PROPERTY_CLASSES,
    UM_PER_MM,
    Condition,
    PropertyClass,
    Thread,
    loads,
    nut_factor_band,
)
from kittrack.errors import BadInput

MOST_TORQUE_MNM: Final = 1_000_000  # one kN m, far beyond an M8 screw (common practice, no source)
_MOST_FORCE_N: Final = 10**9
_MOST_SHOWN_MNM: Final = 10**12

# K of plain dry steel (mobiletechengineering.com, 2020-11-15), where lubricated 0.15 and threadlocker 0.14
# are printed: the highest of the three, so that a torque beyond the proof load at this K is beyond it in
# each of them.
PLAIN_NUT_FACTOR: Final = 0.20

_GRAVITY: Final = Fraction("9.80665")  # 3rd CGPM, 1901
_POUND_KG, _INCH_MM = Fraction("0.45359237"), Fraction("25.4")  # yard and pound agreement, 1959
MNM_PER_UNIT: Final[dict[str, Fraction]] = {
    "N m": Fraction(1000),
    "cN m": Fraction(10),
    "kgf cm": _GRAVITY * 10,
    "lbf in": _POUND_KG * _GRAVITY * _INCH_MM,
    "lbf ft": _POUND_KG * _GRAVITY * _INCH_MM * 12,
    "ozf in": _POUND_KG / 16 * _GRAVITY * _INCH_MM,
}
# Which unit is taken for which: mostly a factor of 8.9 to 12, and 100 for cN m.
_SLIPS: Final = (
    ("kgf cm", "N m"),
    ("lbf in", "N m"),
    ("lbf in", "lbf ft"),
    ("cN m", "N m"),
    ("ozf in", "N m"),
    ("N m", "kgf cm"),
    ("N m", "lbf in"),
    ("lbf ft", "lbf in"),
    ("N m", "cN m"),
    ("N m", "ozf in"),
)

# Between these shares of the proof load (at K = 0.20) a torque is believable. Below a tenth a screw hardly
# clamps; published tables lie between 65 % and 80 %. The ends are less than 8.85 times apart, the
# smallest of the common slips, so no slip leads from one believable torque to another (house rule).
LEAST_SHARE, MOST_SHARE = 0.10, 0.85


@dataclass(frozen=True)
class Preload:
    """The preload that a torque gives over the band of K, in newtons, and the proof load it is held against."""

    low_n: float
    high_n: float
    proof_n: float
    source: str

    @property
    def low_share(self) -> float:
        """The share of the proof load at the greatest K."""
        return self.low_n / self.proof_n

    @property
    def high_share(self) -> float:
        """The share of the proof load at the least K."""
        return self.high_n / self.proof_n


def force_n(torque_mnm: float, *, diameter_um: int, nut_factor: float) -> float:
    """The preload of a torque: F = T / (K d); mN m over mm is N.

    Raises:
        BadInput: a figure that can't be one.
    """
    torque = bounds.real(torque_mnm, name="torque in mN m", low=0, high=MOST_TORQUE_MNM)
    return torque / _arm_mm(diameter_um, nut_factor=nut_factor)


def torque_mnm_for(preload_n: float, *, diameter_um: int, nut_factor: float) -> float:
    """The torque of a preload: T = K d F; N times mm is mN m.

    Raises:
        BadInput: a figure that can't be one.
    """
    force = bounds.real(preload_n, name="preload in N", low=0, high=_MOST_FORCE_N)
    return force * _arm_mm(diameter_um, nut_factor=nut_factor)


def _arm_mm(diameter_um: int, *, nut_factor: float) -> float:
    diameter = bounds.whole(diameter_um, name="diameter in um", low=1, high=bounds.MOST_RADIUS_UM)
    return bounds.real(nut_factor, name="nut factor K", low=0.01, high=10) * diameter / UM_PER_MM


def preload(torque_mnm: int, *, thread: Thread, strength: PropertyClass, condition: Condition) -> Preload:
    """The preload of a torque over the published band of K.

    Args:
        torque_mnm: the torque in mN m.
        thread: the screw's thread.
        strength: the class of the screw.
        condition: how the thread is when it is tightened.

    Raises:
        BadInput: a torque that can't be one.
    """
    band = nut_factor_band(condition, is_stainless=strength.is_stainless)
    return Preload(
        low_n=force_n(torque_mnm, diameter_um=thread.diameter_um, nut_factor=band.high),
        high_n=force_n(torque_mnm, diameter_um=thread.diameter_um, nut_factor=band.low),
        proof_n=loads(thread, strength=strength).proof_n,
        source=band.source,
    )


def proof_torque_mnm(thread: Thread, *, strength: PropertyClass) -> float:
    """The torque that brings a screw to its proof load at K = 0.20; a plain screw is overloaded beyond it, a slippery one before."""
    proof_n = loads(thread, strength=strength).proof_n
    return torque_mnm_for(proof_n, diameter_um=thread.diameter_um, nut_factor=PLAIN_NUT_FACTOR)


@dataclass(frozen=True)
class TorqueBand:
    """Between which torques, in mN m, a figure is believable for a thread."""

    low_mnm: float
    high_mnm: float

    def __contains__(self, torque_mnm: float) -> bool:
        return self.low_mnm <= torque_mnm <= self.high_mnm


def believable_torque(thread: Thread, *, strength: PropertyClass | None) -> TorqueBand:
    """The band of believable torques of a thread: 10 % to 85 % of the proof load at K = 0.20.

    Args:
        thread: the screw's thread.
        strength: its class; None where it is unknown, which widens the band over all steel classes.
    """
    known: Iterable[PropertyClass] = (strength,) if strength else _steel_classes()
    proofs = [proof_torque_mnm(thread, strength=each) for each in known]
    return TorqueBand(min(proofs) * LEAST_SHARE, max(proofs) * MOST_SHARE)


def _steel_classes() -> tuple[PropertyClass, ...]:
    return tuple(each for each in PROPERTY_CLASSES.values() if not each.is_stainless)


@dataclass(frozen=True)
class UnitSlip:
    """A slip of unit that would explain a torque, and the torque in mN m without it."""

    meant: str
    taken_for: str
    torque_mnm: float

    def __str__(self) -> str:
        """As a sentence names it."""
        return f"{self.meant} taken for {self.taken_for} would be {newton_metres(self.torque_mnm)}"


def unit_slips(torque_mnm: float, *, band: TorqueBand) -> tuple[UnitSlip, ...]:
    """Which slips of unit turn an unbelievable torque into a believable one, the common ones first.

    Args:
        torque_mnm: the torque as it stands.
        band: what is believable.

    Returns:
        The slips; empty when the torque is believable as it stands, or when no slip explains it.
    """
    torque = bounds.real(torque_mnm, name="torque in mN m", low=0, high=MOST_TORQUE_MNM)
    if torque in band:
        return ()
    slips = (
        UnitSlip(meant, taken_for, torque * float(MNM_PER_UNIT[meant] / MNM_PER_UNIT[taken_for]))
        for meant, taken_for in _SLIPS
    )
    return tuple(slip for slip in slips if slip.torque_mnm in band)


def newton_metres(torque_mnm: float) -> str:
    """A torque as a sentence shows it, to three significant figures."""
    torque = bounds.real(torque_mnm, name="torque in mN m", low=0, high=_MOST_SHOWN_MNM)
    shown = f"{torque / 1000:.3g}"
    return f"{float(shown):.10f}".rstrip("0").rstrip(".") + " N m" if "e" in shown else f"{shown} N m"


# Bearing diameter under a socket head, ISO 4762 d_w (from memory), and medium clearance hole, ISO 273
# (bd-warehouse 0.4.0, clearance_hole_sizes.csv), both in um.
_BEARINGS_UM: Final[dict[str, tuple[int, int]]] = {
    "M1.6": (2720, 1800),
    "M2": (3480, 2400),
    "M2.5": (4180, 2900),
    "M3": (5070, 3400),
    "M4": (6530, 4500),
    "M5": (8030, 5500),
    "M6": (9380, 6600),
    "M8": (12_330, 9000),
}
TYPICAL_FRICTION: Final = 0.12  # the middle column of published VDI 2230 tables
_USED_OF_YIELD: Final = 0.9  # those tables use 90 % of R_p0.2


@dataclass(frozen=True)
class Assembly:
    """Preload in N and torque in mN m that use 90 % of a screw's yield, torsion included."""

    preload_n: float
    torque_mnm: float


def assembly_torque(
    thread: Thread, *, strength: PropertyClass, friction: float, bearing_um: tuple[int, int]
) -> Assembly:
    """The assembly preload and torque of a thread, as tables after VDI 2230 print them.

    Args:
        thread: the screw's thread.
        strength: its class.
        friction: the coefficient of friction in the thread and under the head.
        bearing_um: outer and inner diameter of the face under the head.

    Raises:
        BadInput: a figure that can't be one.

    Source: VDI 2230 (formula from memory, held against a published table of fine threads).
    """
    mu = bounds.real(friction, name="coefficient of friction", low=0.01, high=1)
    outer_um, inner_um = bearing_um
    bounds.whole(inner_um, name="inner bearing diameter in um", low=1, high=bounds.MOST_RADIUS_UM)
    bounds.whole(outer_um, name="outer bearing diameter in um", low=inner_um, high=bounds.MOST_RADIUS_UM)
    pitch_mm, d2_mm = thread.pitch_um / UM_PER_MM, thread.pitch_diameter_um / UM_PER_MM
    d0_mm = (thread.pitch_diameter_um + thread.root_diameter_um) / 2 / UM_PER_MM
    torsion = 1.5 * d2_mm / d0_mm * (pitch_mm / (pi * d2_mm) + 1.155 * mu)
    force = pi / 4 * d0_mm**2 * _USED_OF_YIELD * strength.yield_mpa / sqrt(1 + 3 * torsion**2)
    bearing_mm = (outer_um + inner_um) / 2 / UM_PER_MM
    arm_mm = 0.159 * pitch_mm + 0.577 * d2_mm * mu + bearing_mm * mu / 2
    return Assembly(force, force * arm_mm)


def typical_torque_mnm(thread: Thread, *, strength: PropertyClass) -> float:
    """The torque of published tables for a socket head at a friction of 0.12, to compare a maker's with.

    Raises:
        BadInput: a thread for which no socket head is standardised.
    """
    bearing = _BEARINGS_UM.get(thread.name)
    if bearing is None:
        raise BadInput(f"There is no socket head for {thread.name} to compare with; take the maker's torque.")
    return assembly_torque(
        thread, strength=strength, friction=TYPICAL_FRICTION, bearing_um=bearing
    ).torque_mnm
