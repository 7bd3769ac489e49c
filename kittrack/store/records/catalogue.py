"""The catalogue: parts, airframe types and their revisions, airframes, sense maps, tools."""

from kittrack.store.records.declaring import SENSES, Record, one_of, table


@table(
    "part",
    unique=(("maker_id", "number"),),
    refers={"maker_id": "company", "hub_part_id": "part", "superseded_by_id": "part"},
    indexed=(("number",),),
    checks={
        "part_kind_is_known": one_of("kind", "blade", "hub", "fastener", "consumable", "other"),
        "part_unit_is_known": one_of("unit", "pieces", "volume_ul"),
        "part_tracking_is_known": one_of("tracking", "lot", "serial"),
        "part_blade_has_sense": "kind <> 'blade' OR sense IN ('CW', 'CCW')",
        "part_supersession_is_known": "superseded_how IN ('', 'use up', 'safety')",
    },
)
class Part(Record):
    """A part number of one maker. Columns of other kinds than its own stay empty."""

    id: int = 0
    number: str
    maker_id: int
    name: str
    kind: str
    tracking: str = "lot"
    unit: str = "pieces"
    paper_class: str
    revision: int = 1
    mark_revision: int = 0
    pack_quantity: int = 1
    sense: str | None = None
    thread_hand: str | None = None
    blades_per_rotor: int | None = None
    hub_part_id: int | None = None
    hub_in_set: int = 0
    tolerance_g_um: int | None = None
    tolerance_source: str = ""
    pairing_suffices: int = 0
    pairing_source: str = ""
    mixes_lots: int = 0
    trim_allowed: int = 0
    thread: str = ""
    length_um: int | None = None
    head: str = ""
    drive: str = ""
    property_class: str = ""
    single_use: int = 0
    single_dose: int = 0
    expiry_needed: int = 0
    shelf_life_days: int | None = None
    opened_life_days: int | None = None
    life_minutes: int | None = None
    life_flights: int | None = None
    life_days: int | None = None
    superseded_by_id: int | None = None
    superseded_how: str = ""
    source: str = ""


@table(
    "part_mark",
    unique=(("part_id", "revision", "mark"),),
    once=True,
    checks={"mark_has_sense": one_of("sense", *SENSES)},
)
class PartMark(Record):
    """What the supplier moulds or prints on a blade, and the sense it means (R2). A table has a revision."""

    id: int = 0
    part_id: int
    revision: int
    mark: str
    sense: str


@table("paper_kind", unique=(("paper_class", "kind"),))
class PaperKind(Record):
    """A kind of paper that suffices for a class of part (R14)."""

    id: int = 0
    paper_class: str
    kind: str
    active: int = 1


@table("airframe_type", unique=(("name",),))
class AirframeType(Record):
    """A design of airframe."""

    id: int = 0
    name: str


@table("type_revision", unique=(("airframe_type_id", "name"),))
class TypeRevision(Record):
    """A revision of a type. `settings_revision` counts the changes under R21."""

    id: int = 0
    airframe_type_id: int
    name: str
    settings_revision: int = 1
    retorque_minutes: int | None = None
    source: str = ""


@table(
    "hub_fixing",
    unique=(("type_revision_id", "name"),),
    refers={"screw_part_id": "part", "washer_part_id": "part", "locker_part_id": "part"},
    checks={
        "fixing_method_is_known": one_of("torque_method", "torque", "angle", "snug"),
        "fixing_has_torque": "torque_method <> 'torque' OR torque_mnm > 0",
        "fixing_counts": "screws_per_hub >= 0 AND washers_per_hub >= 0 AND locker_ul_per_screw >= 0",
    },
)
class HubFixing(Record):
    """How one rotor's hub is fixed to its motor: screws, washers, threadlocker, torque (R18)."""

    id: int = 0
    type_revision_id: int
    name: str
    screw_part_id: int
    screws_per_hub: int
    washer_part_id: int | None = None
    washers_per_hub: int = 0
    locker_part_id: int | None = None
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


@table(
    "type_position",
    unique=(("type_revision_id", "name"),),
    checks={
        "type_position_sense": one_of("sense", *SENSES),
        "type_position_level": one_of("level", "single", "upper", "lower"),
        "type_position_drive": one_of("drive", "tractor", "pusher"),
    },
)
class TypePosition(Record):
    """One rotor position of a type revision; angle clockwise from the nose, seen from above."""

    id: int = 0
    type_revision_id: int
    rank: int
    name: str
    alias: str = ""
    arm: str
    level: str = "single"
    drive: str = "tractor"
    sense: str
    angle_mdeg: int
    radius_um: int
    hub_fixing_id: int


@table("approved_part", unique=(("type_position_id", "part_id"),))
class ApprovedPart(Record):
    """A rotor part that may be fitted at a position, or might once (`active` 0)."""

    id: int = 0
    type_position_id: int
    part_id: int
    active: int = 1


@table("position_group", unique=(("type_revision_id", "name", "type_position_id"),))
class PositionGroup(Record):
    """One member of a named group of positions ("front arms")."""

    id: int = 0
    type_revision_id: int
    name: str
    type_position_id: int


@table(
    "kit_list_line",
    unique=(("type_revision_id", "part_id", "per"),),
    checks={"kit_list_per": one_of("per", "kit", "hub"), "kit_list_quantity": "quantity > 0"},
)
class KitListLine(Record):
    """An extra that a kit of this type revision carries beside sets and fixings."""

    id: int = 0
    type_revision_id: int
    part_id: int
    quantity: int
    per: str = "kit"


@table("kit_list_end", indexed=(("kit_list_line_id",),), refers={"again_event_id": "event"})
class KitListEnd(Record):
    """That an extra was taken off a kit list; it is off until an event puts it on again."""

    id: int = 0
    kit_list_line_id: int
    event_id: int
    again_event_id: int | None = None


@table(
    "airframe",
    unique=(("code",), ("tail",)),
    refers={"owner_id": "company"},
    checks={"airframe_state": one_of("state", "active", "sold", "written off")},
)
class Airframe(Record):
    """One tail. Its hours and flights are unknown (None) until somebody enters a reading."""

    id: int = 0
    code: str
    tail: str
    type_revision_id: int
    place_id: int
    sense_map_id: int | None = None
    minutes: int | None = None
    flights: int | None = None
    state: str = "active"
    owner_id: int | None = None


@table("position", unique=(("code",), ("airframe_id", "name")))
class Position(Record):
    """One position of one airframe; its place holds what is fitted there."""

    id: int = 0
    code: str
    airframe_id: int
    type_position_id: int
    place_id: int
    name: str
    active: int = 1


@table(
    "sense_map",
    unique=(("airframe_id", "revision"),),
    refers={"verified_event_id": "event", "cleared_event_id": "event"},
)
class SenseMap(Record):
    """A revision of an airframe's sense map (R17). Verified: `verified_event_id` set, `cleared_event_id` empty."""

    id: int = 0
    airframe_id: int
    revision: int
    source: str
    verified_event_id: int | None = None
    cleared_event_id: int | None = None
    event_id: int

    @property
    def verified(self) -> bool:
        """Whether a motor test verified this map and nothing has cleared it since."""
        return self.verified_event_id is not None and self.cleared_event_id is None


@table(
    "sense_map_line",
    unique=(("sense_map_id", "position_id"),),
    once=True,
    checks={"sense_map_sense": one_of("sense", *SENSES)},
)
class SenseMapLine(Record):
    """The sense that a map revision gives to a position, seen from above."""

    id: int = 0
    sense_map_id: int
    position_id: int
    sense: str


@table("usage_reading", once=True, indexed=(("airframe_id",),))
class UsageReading(Record):
    """A reading of an airframe's total hours (in minutes) and flights."""

    id: int = 0
    airframe_id: int
    minutes: int
    flights: int
    source: str
    event_id: int


@table("tool", unique=(("code",), ("name",)), checks={"tool_kind": one_of("kind", "torque", "scale")})
class Tool(Record):
    """A torque tool or a scale with its calibration date."""

    id: int = 0
    code: str
    name: str
    kind: str
    min_mnm: int | None = None
    max_mnm: int | None = None
    resolution_ug: int | None = None
    uncertainty_ug: int | None = None
    repeatability_ug: int | None = None
    ruler_um: int | None = None
    calibrated_until_on: str | None = None
    active: int = 1
