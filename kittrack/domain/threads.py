"""Metric coarse threads and what a screw of a property class may carry.

Source: design C8; ISO 68-1 and ISO 724 (profile, pitches), ISO 898-1 (stress area, steel classes),
ISO 3506-1 (stainless classes). The figures were read in suppliers' published extracts of these standards.
"""

from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property
from math import floor, log10, pi, sqrt
from typing import Final

from kittrack.domain import bounds
from kittrack.domain.text import clean_label
from kittrack.errors import BadInput

UM_PER_MM: Final = 1000
_MOST_DIAMETER_UM: Final = 64_000  # M64, the end of the coarse series of ISO 261 (from memory)
_MOST_STRESS_MPA: Final = 10_000  # beyond any steel
_SHOWN: Final = 20


class Condition(StrEnum):
    """How the thread is when the screw is tightened."""

    DRY = "dry"
    LUBRICATED = "lubricated"
    THREADLOCKER = "threadlocker"


@dataclass(frozen=True)
class Thread:
    """An ISO metric thread by its nominal diameter and pitch."""

    name: str
    diameter_um: int
    pitch_um: int

    def __post_init__(self) -> None:
        bounds.whole(
            self.diameter_um, name=f"diameter of {self.name} in um", low=1000, high=_MOST_DIAMETER_UM
        )
        bounds.whole(self.pitch_um, name=f"pitch of {self.name} in um", low=100, high=self.diameter_um // 3)

    @property
    def pitch_diameter_um(self) -> float:
        """The diameter d2 on which flanks and gaps are equal: d - 3/4 H, H = sqrt(3)/2 P (ISO 68-1)."""
        return self.diameter_um - 0.75 * self._height_um

    @property
    def minor_diameter_um(self) -> float:
        """The diameter d1 of the nut's thread: d - 5/4 H (ISO 68-1)."""
        return self.diameter_um - 1.25 * self._height_um

    @property
    def root_diameter_um(self) -> float:
        """The diameter d3 of the screw's core: d1 - H/6 (ISO 898-1)."""
        return self.minor_diameter_um - self._height_um / 6

    @property
    def stress_area_mm2(self) -> float:
        """The stress area in mm2: pi/4 ((d2 + d3)/2)^2, which is pi/4 (d - 0.9382 P)^2 (ISO 898-1)."""
        mean_mm = (self.pitch_diameter_um + self.root_diameter_um) / 2 / UM_PER_MM
        return pi / 4 * mean_mm**2

    @cached_property
    def nominal_stress_area_mm2(self) -> float:
        """The stress area as the load tables of ISO 898-1 take it: to three significant figures."""
        exact = self.stress_area_mm2
        return round(exact, 2 - floor(log10(exact)))

    @property
    def _height_um(self) -> float:
        return sqrt(3) / 2 * self.pitch_um


# ISO 724, coarse series, as published in supplier tables.
COARSE: Final[dict[str, Thread]] = {
    name: Thread(name, diameter_um, pitch_um)
    for name, diameter_um, pitch_um in (
        ("M1.6", 1600, 350),
        ("M2", 2000, 400),
        ("M2.5", 2500, 450),
        ("M3", 3000, 500),
        ("M3.5", 3500, 600),
        ("M4", 4000, 700),
        ("M5", 5000, 800),
        ("M6", 6000, 1000),
        ("M8", 8000, 1250),
    )
}


def coarse_thread(name: str) -> Thread:
    """The coarse thread of a name such as "M3".

    Raises:
        BadInput: a thread that is not of the coarse series from M1.6 to M8.
    """
    found = COARSE.get(name)
    if found is None:
        shown = clean_label(name, max_length=_SHOWN)
        raise BadInput(f"{shown or 'Nothing'} is no coarse thread here; use one of {', '.join(COARSE)}.")
    return found


@dataclass(frozen=True)
class PropertyClass:
    """The least strength of a screw's material in MPa (N/mm2).

    `proof_mpa` is the stress that it carries without lasting stretch: S_p of ISO 898-1; stainless classes
    have no S_p, so their 0.2 % stress R_p0.2 of ISO 3506-1 stands in for it.
    """

    name: str
    proof_mpa: int
    yield_mpa: int
    tensile_mpa: int
    is_stainless: bool = False

    def __post_init__(self) -> None:
        for stress_mpa in (self.proof_mpa, self.yield_mpa, self.tensile_mpa):
            bounds.whole(stress_mpa, name=f"stress of {self.name} in MPa", low=1, high=_MOST_STRESS_MPA)


# Steel: stresses implied by the published proof and ultimate loads of ISO 898-1 (Optimas and Engineering
# ToolBox tables), R_p0.2 as printed by roymech. Stainless: ISO 3506-1 as printed in "Mechanical Properties
# of Metric Fasteners".
_STAINLESS: Final = {"50": (210, 500), "70": (450, 700), "80": (600, 800)}
PROPERTY_CLASSES: Final[dict[str, PropertyClass]] = {
    "8.8": PropertyClass("8.8", 580, 640, 800),
    "10.9": PropertyClass("10.9", 830, 940, 1040),
    "12.9": PropertyClass("12.9", 970, 1100, 1220),
} | {
    f"{steel}-{digits}": PropertyClass(
        f"{steel}-{digits}", stretch_mpa, stretch_mpa, tensile_mpa, is_stainless=True
    )
    for steel in ("A2", "A4")
    for digits, (stretch_mpa, tensile_mpa) in _STAINLESS.items()
}


def property_class(name: str) -> PropertyClass:
    """The property class of a name such as "10.9" or "A2-70".

    Raises:
        BadInput: a class that is not known here.
    """
    found = PROPERTY_CLASSES.get(name)
    if found is None:
        shown = clean_label(name, max_length=_SHOWN)
        raise BadInput(
            f"{shown or 'Nothing'} is no property class here; use one of {', '.join(PROPERTY_CLASSES)}."
        )
    return found


@dataclass(frozen=True)
class Loads:
    """What a screw carries, in newtons: proof, 0.2 % stretch, least breaking load."""

    proof_n: float
    yield_n: float
    ultimate_n: float


def loads(thread: Thread, *, strength: PropertyClass) -> Loads:
    """The loads of a thread in a property class: nominal stress area times stress.

    Source: ISO 898-1 and ISO 3506-1.
    """
    area_mm2 = thread.nominal_stress_area_mm2
    return Loads(
        proof_n=area_mm2 * strength.proof_mpa,
        yield_n=area_mm2 * strength.yield_mpa,
        ultimate_n=area_mm2 * strength.tensile_mpa,
    )


@dataclass(frozen=True)
class NutFactorBand:
    """Between which values the nut factor K of T = K d F lies, and where they were read."""

    low: float
    high: float
    source: str


_TABLE: Final = "published ranges of K (zipfastener.com)"
# Plain dry steel is printed with 0.18 to 0.27, zinc plating with 0.17 to 0.35, black oxide with 0.17 (scribd 300189827).
# What a screw is coated with is not on record, so a dry one may be any of the three.
_DRY: Final = NutFactorBand(0.17, 0.35, f"{_TABLE}: dry steel, plain or zinc plated; black oxide 0.17")
_ADHESIVE: Final = 1.1
"""A machine manual allows for adhesive with so many times the torque of a dry thread (STROBL, appendix 10-2)."""
_STEEL_BANDS: Final = {
    Condition.DRY: _DRY,
    Condition.LUBRICATED: NutFactorBand(0.10, 0.26, f"{_TABLE}: machine oil"),
    Condition.THREADLOCKER: NutFactorBand(  # 0.14 is printed for threadlocker on steel
        0.14,
        _ADHESIVE * _DRY.high,
        "threadlocker on steel 0.14; upper end 1.1 times dry steel (STROBL appendix 10-2)",
    ),
}
_STAINLESS_DRY_HIGH: Final = 0.50  # 302 stainless on stainless 0.30 to 0.50 in the same published ranges


def nut_factor_band(condition: Condition, *, is_stainless: bool) -> NutFactorBand:
    """The band of K for a condition.

    A stainless screw may sit in a steel or aluminium thread, which slides better than stainless on
    stainless; its band therefore begins where that of steel does and ends where stainless does.

    Args:
        condition: how the thread is when the screw is tightened.
        is_stainless: whether the screw is of a stainless class.
    """
    band = _STEEL_BANDS[condition]
    if not is_stainless:
        return band
    high = _STAINLESS_DRY_HIGH * (_ADHESIVE if condition is Condition.THREADLOCKER else 1)
    return NutFactorBand(band.low, high, f"{band.source}; upper end stainless on stainless ({_TABLE})")
