"""What a person says about a catalogue row before it is one: names instead of row numbers, units in the names.

Each value is filled from a form, a command line or a text file, and is checked and written by
catalogue_parts.py and catalogue_types.py. Source: design 3, R2, R4, R14, R17, R18, R19.
"""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class CompanySpec:
    """A maker, a supplier, a new owner of an airframe, or several of these."""

    name: str
    is_maker: bool = False
    is_supplier: bool = False
    lead_time_days: int | None = None


@dataclass(frozen=True, kw_only=True)
class PaperKindSpec:
    """A kind of paper that suffices for a class of part (R14)."""

    paper_class: str
    kind: str


@dataclass(frozen=True, kw_only=True)
class Mark:
    """What a supplier moulds or prints on a blade, and the sense that it means, seen from above (R2)."""

    text: str
    sense: str


@dataclass(frozen=True, kw_only=True)
class PartSpec:
    """A part number of one maker. What does not belong to its kind stays empty.

    `tracking` empty is the kind's own: by serial for blades and hubs, by lot for the rest. `hub_part` is a
    part number, or "maker: number".
    """

    number: str
    maker: str
    name: str
    kind: str
    paper_class: str
    tracking: str = ""
    unit: str = "pieces"
    pack_quantity: int = 1
    sense: str = ""
    marks: tuple[Mark, ...] = ()
    thread_hand: str = ""
    blades_per_rotor: int | None = None
    hub_part: str = ""
    hub_in_set: bool = False
    tolerance_g_um: int | None = None
    tolerance_source: str = ""
    pairing_suffices: bool = False
    pairing_source: str = ""
    mixes_lots: bool = False
    trim_allowed: bool = False
    thread: str = ""
    length_um: int | None = None
    head: str = ""
    drive: str = ""
    property_class: str = ""
    single_use: bool = False
    single_dose: bool = False
    expiry_needed: bool = False
    shelf_life_days: int | None = None
    opened_life_days: int | None = None
    life_minutes: int | None = None
    life_flights: int | None = None
    life_days: int | None = None
    source: str = ""


@dataclass(frozen=True, kw_only=True)
class ToolSpec:
    """A torque tool with its range, or a scale with its figures. No calibration date: not to be used."""

    name: str
    kind: str
    min_mnm: int | None = None
    max_mnm: int | None = None
    resolution_ug: int | None = None
    uncertainty_ug: int | None = None
    repeatability_ug: int | None = None
    ruler_um: int | None = None
    calibrated_until_on: str | None = None


@dataclass(frozen=True, kw_only=True)
class FixingSpec:
    """How a rotor's hub is fixed to its motor (R18).

    A torque is given with its condition and source; the methods "angle" and "snug" are given in words
    (`torque_text`), such as "snug, then a quarter turn". `stack_um` is all that lies between the screw's
    head and the thread; the engagement is what may and must reach into the thread.
    """

    name: str
    screw: str
    screws_per_hub: int
    washer: str = ""
    washers_per_hub: int = 0
    locker: str = ""
    locker_ul_per_screw: int = 0
    torque_method: str = "torque"
    torque_mnm: int | None = None
    torque_tolerance_mnm: int | None = None
    torque_text: str = ""
    torque_condition: str = ""
    torque_source: str = ""
    stack_um: int | None = None
    engagement_min_um: int | None = None
    engagement_max_um: int | None = None


@dataclass(frozen=True, kw_only=True)
class PositionSpec:
    """One rotor position: angle clockwise from the nose and sense, both seen from above.

    `fixing` is the name of a fixing of the same type revision, `approved` the rotor parts that may sit here.
    """

    name: str
    arm: str
    sense: str
    angle_mdeg: int
    radius_um: int
    fixing: str
    approved: tuple[str, ...]
    alias: str = ""
    level: str = "single"
    drive: str = "tractor"


@dataclass(frozen=True, kw_only=True)
class GroupSpec:
    """A named group of positions, such as "front arms", that a kit may be built for."""

    name: str
    positions: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class ExtraSpec:
    """What a kit carries beside sets and fixings, per kit or per hub; the unit must be the part's own."""

    part: str
    quantity: int
    per: str = "kit"
    unit: str = "pieces"


@dataclass(frozen=True, kw_only=True)
class TypeRevisionSpec:
    """A revision of an airframe type with all that kits and fits of it are computed from."""

    airframe_type: str
    name: str
    source: str
    positions: tuple[PositionSpec, ...]
    fixings: tuple[FixingSpec, ...]
    groups: tuple[GroupSpec, ...] = ()
    extras: tuple[ExtraSpec, ...] = ()
    retorque_minutes: int | None = None
