"""Every kind of row that a store holds, as frozen values.

One class declares one table: its columns are the fields, a field `part_id` refers to the table `part`
(others are named in `refers`), `int` is a whole number in the unit that the name carries, `str` is text,
`| None` may be empty. Dates (`_on`) are ISO dates, instants (`_at`) are UTC as `2026-03-31T10:15:00.000000Z`.
`once` tables are append-only: the database refuses to change their rows. No table's rows can be deleted.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, ClassVar, TypeVar, dataclass_transform

RecordT = TypeVar("RecordT", bound="Record")


@dataclass(frozen=True)
class Shape:
    """What a table demands beyond its columns: uniqueness, checks, references, append-only or not."""

    name: str
    unique: tuple[tuple[str, ...], ...] = ()
    unique_where: tuple[tuple[tuple[str, ...], str], ...] = ()
    indexed: tuple[tuple[str, ...], ...] = ()
    checks: Mapping[str, str] = field(default_factory=dict)
    refers: Mapping[str, str] = field(default_factory=dict)
    once: bool = False


class Record:
    """The common root of all rows."""

    shape: ClassVar[Shape]
    id: int


TABLES: dict[str, type[Record]] = {}
"""Every record class by its table's name, in the order of declaration (referred tables first)."""


def one_of(column: str, *values: str) -> str:
    """The SQL of a check that a text column holds one of the values."""
    return f"{column} IN ({', '.join(repr(v) for v in values)})"


@dataclass_transform(frozen_default=True, kw_only_default=True)
def table(name: str, **shape: Any) -> Callable[[type[RecordT]], type[RecordT]]:
    """Declare a record class as the row of a table; see `Shape` for the keywords."""

    def declare(cls: type[RecordT]) -> type[RecordT]:
        made = dataclass(frozen=True, kw_only=True, slots=True)(cls)
        made.shape = Shape(name, **shape)
        TABLES[name] = made
        return made

    return declare


SENSES = ("CW", "CCW")
CONDITIONS = ("on hold", "serviceable", "unserviceable", "unsalvageable")
ROLES = ("clerk", "technician", "inspector", "manager", "auditor")


# ---- the record itself -------------------------------------------------------------------------


@table(
    "event",
    unique=(("key",),),
    indexed=(("at",), ("act",)),
    once=True,
    refers={"by_id": "person", "second_id": "person"},
    checks={"event_hash_is_sha256": "length(hash) = 64 AND length(previous_hash) = 64"},
)
class Event(Record):
    """One act of a person: who, when, why, and every statement it made, chained by SHA-256."""

    id: int = 0
    act: str
    at: str
    offset_minutes: int
    by_id: int
    second_id: int | None = None
    reason: str = ""
    key: str
    statements: str
    previous_hash: str
    hash: str


@table("site", unique=(("name",),))
class Site(Record):
    """Where places stand; its time zone says when a day ends."""

    id: int = 0
    name: str
    time_zone: str


@table("person", unique=(("code",), ("name",)), refers={"same_human_as_id": "person"})
class Person(Record):
    """A person who acts; a leaver is inactive and stays in the history. A script's account says so."""

    id: int = 0
    code: str
    name: str
    active: int = 1
    is_script: int = 0
    same_human_as_id: int | None = None
    event_id: int


@table("person_role", unique=(("person_id", "role"),), checks={"role_is_known": one_of("role", *ROLES)})
class PersonRole(Record):
    """A role that a person has, or had (`active` 0)."""

    id: int = 0
    person_id: int
    role: str
    active: int = 1


@table(
    "place",
    unique=(("code",), ("kind", "name")),
    indexed=(("name",),),
    checks={
        "place_kind_is_known": one_of(
            "kind",
            "bin",
            "goods-in",
            "hold cage",
            "bench",
            "van",
            "hands",
            "job",
            "removed-parts cage",
            "rotor set",
            "kit",
            "position",
            "airframe",
            "apron",
            "supplier",
            "returned to supplier",
            "consumed",
            "scrapped",
            "sold",
            "lost",
            "unaccounted",
        ),
        "place_closed_is_flag": "closed IN (0, 1)",
    },
)
class Place(Record):
    """Anything that stock can be in. `closed` locks a container: nothing goes in or comes out."""

    id: int = 0
    code: str
    kind: str
    name: str
    site_id: int | None = None
    person_id: int | None = None
    closed: int = 0
    active: int = 1


@table("company", unique=(("name",),))
class Company(Record):
    """A maker, a supplier, a new owner of an airframe, or several of these."""

    id: int = 0
    name: str
    is_maker: int = 0
    is_supplier: int = 0
    lead_time_days: int | None = None


# ---- the catalogue -----------------------------------------------------------------------------


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


# ---- stock -------------------------------------------------------------------------------------


@table(
    "lot",
    unique=(("code",),),
    refers={"maker_id": "company", "supplier_id": "company"},
    unique_where=((("part_id", "maker_id", "supplier_id", "lot_code"), "lot_code IS NOT NULL"),),
    indexed=(("lot_code",), ("part_id",)),
)
class Lot(Record):
    """A lot: part, maker, supplier, lot code (R16). An unknown code is None, and no two unknowns are one lot."""

    id: int = 0
    code: str
    part_id: int
    maker_id: int
    supplier_id: int
    lot_code: str | None = None


@table(
    "delivery",
    unique=(("code",),),
    indexed=(("supplier_id", "reference"),),
    refers={"supplier_id": "company"},
)
class Delivery(Record):
    """A delivery (or, with `is_opening`, the stock found before day one)."""

    id: int = 0
    code: str
    supplier_id: int
    reference: str
    is_opening: int = 0
    event_id: int


@table(
    "receipt_line",
    unique=(("code",),),
    indexed=(("lot_id",), ("part_id",)),
    checks={
        "receipt_quantity": "quantity > 0",
        "receipt_unit": one_of("unit", "pieces", "volume_ul"),
        "receipt_expiry": "(expiry_kind = 'date' AND expires_on IS NOT NULL) OR "
        "(expiry_kind IN ('none', 'unknown') AND expires_on IS NULL)",
    },
)
class ReceiptLine(Record):
    """One line of a delivery: it carries lot, paper, expiry and history; stock is held by it."""

    id: int = 0
    code: str
    delivery_id: int
    lot_id: int
    part_id: int
    quantity: int
    unit: str = "pieces"
    expiry_kind: str = "none"
    expires_on: str | None = None
    made_on: str | None = None
    history_known: int = 1
    raw_scan: str = ""
    event_id: int


@table("paper", once=True, indexed=(("receipt_line_id",),))
class Paper(Record):
    """A conformity document of a receipt line, or a named person's recorded acceptance (R14)."""

    id: int = 0
    receipt_line_id: int
    kind: str
    number: str
    issuer: str
    event_id: int


@table(
    "piece",
    unique=(("code",),),
    refers={"maker_id": "company"},
    unique_where=((("maker_id", "part_id", "serial"), "serial IS NOT NULL"),),
    indexed=(("receipt_line_id",), ("serial",)),
)
class Piece(Record):
    """A thing with an identity of its own: a blade, a hub, a bottle, a serialised part."""

    id: int = 0
    code: str
    receipt_line_id: int
    part_id: int
    maker_id: int
    serial: str | None = None
    pair_code: str = ""
    mark: str = ""
    sense: str | None = None
    mass_ug: int | None = None
    moment_g_um: int | None = None
    weighed_with_id: int | None = None
    opened_on: str | None = None
    expires_on: str | None = None
    note: str = ""
    event_id: int


@table(
    "inspection",
    once=True,
    indexed=(("receipt_line_id",), ("piece_id",), ("rotor_set_id",)),
    checks={"inspection_result": one_of("result", "accepted", "held", "rejected")},
)
class Inspection(Record):
    """What an inspection found on counted stock, a piece or a removed set."""

    id: int = 0
    receipt_line_id: int | None = None
    piece_id: int | None = None
    rotor_set_id: int | None = None
    quantity: int
    result: str
    mark: str = ""
    sense: str | None = None
    note: str = ""
    event_id: int


@table(
    "lot_sample",
    once=True,
    indexed=(("receipt_line_id",),),
    checks={
        "sample_severity": one_of("severity", "normal", "tightened", "reduced"),
        "sample_size": "sample_size BETWEEN 1 AND lot_size",
    },
)
class LotSample(Record):
    """What came of the sample of a lot of fasteners; `faulty` is None where the lot was refused uncounted."""

    id: int = 0
    receipt_line_id: int
    severity: str
    lot_size: int
    sample_size: int
    faulty: int | None = None
    passed: int
    event_id: int


@table(
    "sampling_decision",
    once=True,
    indexed=(("part_id", "supplier_id"),),
    refers={"supplier_id": "company"},
    checks={"sampling_decision_kind": one_of("kind", "resume", "allow reduced", "no reduced")},
)
class SamplingDecision(Record):
    """A manager's word on how a supplier's lots of a part are sampled."""

    id: int = 0
    part_id: int
    supplier_id: int
    kind: str
    event_id: int


@table(
    "trim",
    once=True,
    indexed=(("piece_id",),),
    checks={"trim_is_something": "mass_ug <> 0 AND radius_um > 0"},
)
class Trim(Record):
    """Mass that was added to a blade at a radius, or taken away where it is below zero."""

    id: int = 0
    piece_id: int
    mass_ug: int
    radius_um: int
    event_id: int


@table(
    "rotor_set",
    unique=(("code",),),
    refers={"bound_position_id": "position"},
    indexed=(("part_id",), ("place_id",), ("bound_position_id",)),
    checks={
        "set_sense": one_of("sense", *SENSES),
        "set_state": one_of("state", "complete", "broken"),
        "set_condition": one_of("condition", *CONDITIONS),
    },
)
class RotorSet(Record):
    """The matched blades of one rotor. Its service life is unknown (None) where nobody recorded it."""

    id: int = 0
    code: str
    place_id: int
    part_id: int
    sense: str
    state: str = "complete"
    condition: str = "serviceable"
    match_record_id: int | None = None
    used_minutes: int | None = 0
    used_flights: int | None = 0
    used_since_on: str | None = None
    history_known: int = 1
    bound_position_id: int | None = None
    rematches: int = 0
    event_id: int


@table(
    "match_record",
    once=True,
    indexed=(("rotor_set_id",), ("tool_id",)),
    checks={"match_method": one_of("method", "supplier pairing", "measured")},
)
class MatchRecord(Record):
    """The proof that a set's blades match (R19), with everything that decided it."""

    id: int = 0
    rotor_set_id: int
    method: str
    source: str
    tool_id: int | None = None
    tolerance_g_um: int | None = None
    tolerance_source: str = ""
    residual_g_um: int | None = None
    uncertainty_g_um: int | None = None
    tape: str = ""
    event_id: int


@table("match_reading", once=True, unique=(("match_record_id", "slot"),), indexed=(("piece_id",),))
class MatchReading(Record):
    """One blade of a match record: its place around the hub and its static moment."""

    id: int = 0
    match_record_id: int
    piece_id: int
    slot: int
    moment_g_um: int | None = None


# ---- kits, jobs, fitting -----------------------------------------------------------------------


@table(
    "job",
    unique=(("code",),),
    refers={"checked_event_id": "event", "closed_event_id": "event"},
    indexed=(("airframe_id", "state"), ("state",)),
    checks={"job_state": one_of("state", "open", "closed")},
)
class Job(Record):
    """Work on one airframe; its place holds what was issued to it and is not yet settled (R11)."""

    id: int = 0
    code: str
    place_id: int
    airframe_id: int
    purpose: str
    state: str = "open"
    checked_event_id: int | None = None
    closed_event_id: int | None = None
    event_id: int


@table(
    "job_position",
    unique=(("job_id", "position_id"),),
    indexed=(("position_id",),),
    checks={
        "job_position_state": one_of(
            "state", "to do", "bare", "not finished", "fitted", "inspected", "walked"
        )
    },
)
class JobPosition(Record):
    """How far the work at one position is. Anything between "to do" and "inspected" is not finished."""

    id: int = 0
    job_id: int
    position_id: int
    state: str = "to do"


@table(
    "kit",
    unique=(("code",),),
    unique_where=((("seal",), "seal IS NOT NULL"),),
    refers={"built_by_id": "person", "checked_by_id": "person"},
    indexed=(("state",), ("place_id",), ("airframe_id",), ("job_id",)),
    checks={
        "kit_purpose": one_of("purpose", "full", "make-good"),
        "kit_state": one_of("state", "building", "checked", "sealed", "issued", "opened", "dissolved"),
        "kit_sealed_has_seal": "state NOT IN ('sealed', 'issued') OR seal IS NOT NULL",
    },
)
class Kit(Record):
    """A kit for one type revision and a choice of positions, or what makes a job good."""

    id: int = 0
    code: str
    place_id: int
    type_revision_id: int
    settings_revision: int
    airframe_id: int | None = None
    job_id: int | None = None
    purpose: str = "full"
    state: str = "building"
    seal: str | None = None
    expires_on: str | None = None
    built_by_id: int
    checked_by_id: int | None = None
    event_id: int


@table(
    "kit_position",
    unique=(("kit_id", "type_position_id"),),
    once=True,
    checks={"kit_position_sense": one_of("sense", *SENSES)},
)
class KitPosition(Record):
    """A position that a kit covers and the sense it was built for."""

    id: int = 0
    kit_id: int
    type_position_id: int
    sense: str


@table(
    "kit_line",
    unique=(("kit_id", "rank"),),
    once=True,
    checks={
        "kit_line_kind": one_of("kind", "rotor set", "screw", "washer", "threadlocker", "extra"),
        "kit_line_quantity": "quantity > 0",
    },
)
class KitLine(Record):
    """A computed demand of a kit (R4): sets by sense and part, fixings per hub, extras."""

    id: int = 0
    kit_id: int
    rank: int
    kind: str
    part_id: int
    sense: str | None = None
    quantity: int
    unit: str = "pieces"
    hubs: int = 0
    per_hub: int = 0


@table(
    "kit_pick",
    indexed=(("kit_id",), ("rotor_set_id",), ("receipt_line_id",), ("piece_id",), ("kit_line_id",)),
    checks={
        "kit_pick_is_one_thing": "(rotor_set_id IS NULL) <> (receipt_line_id IS NULL)",
        "kit_pick_quantity": "quantity > 0",
    },
)
class KitPick(Record):
    """What was picked for a line, and for which hub where the line counts by hub."""

    id: int = 0
    kit_id: int
    kit_line_id: int
    rotor_set_id: int | None = None
    receipt_line_id: int | None = None
    piece_id: int | None = None
    quantity: int
    type_position_id: int | None = None
    active: int = 1
    event_id: int


@table(
    "reservation",
    indexed=(("job_id",), ("kit_id",), ("rotor_set_id",)),
    checks={
        "reservation_state": one_of("state", "active", "released", "used"),
        "reservation_is_one_thing": "(kit_id IS NULL) <> (rotor_set_id IS NULL)",
    },
)
class Reservation(Record):
    """A kit or a set kept for a job until the end of a day."""

    id: int = 0
    job_id: int
    kit_id: int | None = None
    rotor_set_id: int | None = None
    until_on: str
    state: str = "active"


@table(
    "voucher",
    unique=(("code",),),
    refers={"giver_id": "person", "receiver_id": "person"},
    indexed=(("kit_id",), ("job_id",), ("airframe_id",)),
    unique_where=((("kit_id",), "state = 'open'"),),
    checks={"voucher_state": one_of("state", "open", "returned", "reversed", "closed")},
)
class Voucher(Record):
    """The issue of a whole kit to a job and an airframe, from a giver to a receiver."""

    id: int = 0
    code: str
    kit_id: int
    job_id: int
    airframe_id: int
    giver_id: int
    receiver_id: int
    state: str = "open"
    event_id: int


@table(
    "fit_record",
    indexed=(
        ("job_id",),
        ("position_id",),
        ("rotor_set_id",),
        ("screw_line_id",),
        ("washer_line_id",),
        ("locker_line_id",),
    ),
    refers={
        "fitted_by_id": "person",
        "inspected_by_id": "person",
        "walked_by_id": "person",
        "screw_line_id": "receipt_line",
        "washer_line_id": "receipt_line",
        "locker_line_id": "receipt_line",
    },
    checks={
        "fit_state": one_of("state", "started", "fastened", "inspected", "removed"),
        "fit_inspection": one_of("inspection", "", "second person", "re-inspection"),
        "fit_sense": one_of("sense", *SENSES),
    },
)
class FitRecord(Record):
    """One rotor set on one position: sense read three ways, fixings, torque, inspector (R3, R18, R8)."""

    id: int = 0
    job_id: int
    position_id: int
    rotor_set_id: int
    state: str = "started"
    sense: str
    mark: str
    map_revision: int
    screw_line_id: int | None = None
    screws: int = 0
    washer_line_id: int | None = None
    washers: int = 0
    locker_line_id: int | None = None
    locker_ul: int = 0
    torque_method: str = ""
    torque_mnm: int | None = None
    tool_id: int | None = None
    fitted_by_id: int
    inspected_by_id: int | None = None
    inspection: str = ""
    walked_by_id: int | None = None
    airframe_minutes: int | None = None
    airframe_flights: int | None = None
    is_transport_refit: int = 0
    event_id: int


@table(
    "torque_record",
    once=True,
    indexed=(("position_id",), ("fit_record_id",)),
    checks={"torque_purpose": one_of("purpose", "fit", "re-torque")},
)
class TorqueRecord(Record):
    """A torque applied at a position with a tool, and the airframe's hours then (R18)."""

    id: int = 0
    position_id: int
    fit_record_id: int | None = None
    purpose: str
    torque_method: str = "torque"
    torque_mnm: int | None = None
    tool_id: int | None = None
    airframe_minutes: int | None = None
    event_id: int


@table(
    "removal",
    unique=(("code",),),
    once=True,
    indexed=(("rotor_set_id", "position_id"), ("position_id",), ("airframe_id",)),
    checks={
        "removal_purpose": one_of("purpose", "replacement", "transport", "finding"),
        "removal_sense": one_of("sense_found", "CW", "CCW", ""),
    },
)
class Removal(Record):
    """A rotor set taken off a position, whole, with its tag (R10)."""

    id: int = 0
    code: str
    job_id: int
    airframe_id: int
    position_id: int
    rotor_set_id: int
    purpose: str
    reason: str
    sense_found: str
    mark_found: str
    used_minutes: int | None = None
    used_flights: int | None = None
    is_evidence: int = 0
    event_id: int


# ---- holds, counts, oversight ------------------------------------------------------------------


@table(
    "hold",
    unique=(("code",),),
    refers={"placed_event_id": "event", "released_event_id": "event"},
    checks={
        "hold_scope_is_known": one_of(
            "scope",
            "lot",
            "receipt line",
            "piece",
            "rotor set",
            "kit",
            "maker lot",
            "serials",
            "supplier",
            "maker",
            "scale",
            "airframe",
        )
    },
)
class Hold(Record):
    """A hold by lot, piece, set, kit, maker's code, serial range...; later arrivals of its scope join it."""

    id: int = 0
    code: str
    scope: str
    scope_text: str
    lot_code: str = ""
    reason: str
    reference: str
    is_recall: int = 0
    is_evidence: int = 0
    placed_event_id: int
    released_event_id: int | None = None
    release_reference: str = ""


@table(
    "hold_item",
    indexed=(
        ("hold_id",),
        ("receipt_line_id", "released_event_id"),
        ("piece_id",),
        ("rotor_set_id",),
        ("kit_id",),
    ),
    refers={"released_event_id": "event"},
)
class HoldItem(Record):
    """One thing under a hold: a receipt line, a piece, a set or a kit."""

    id: int = 0
    hold_id: int
    receipt_line_id: int | None = None
    piece_id: int | None = None
    rotor_set_id: int | None = None
    kit_id: int | None = None
    released_event_id: int | None = None


@table(
    "recall_notice",
    unique=(("code",),),
    refers={"recipient_id": "place", "sent_event_id": "event", "answered_event_id": "event"},
    indexed=(("hold_id",),),
    checks={
        "recall_notice_state": one_of("state", "to send", "sent", "answered"),
        "recall_notice_recipient": one_of("recipient_kind", "airframe", "van", "person", "owner"),
    },
)
class RecallNotice(Record):
    """What one airframe, van, person or new owner is told of a recall; followed until it is answered.

    `recipient_id` is the place of the airframe (for its new owner too), the van or the hands.
    """

    id: int = 0
    code: str
    hold_id: int
    recipient_kind: str
    recipient_id: int
    recipient: str
    state: str = "to send"
    sent_how: str = ""
    sent_event_id: int | None = None
    answer: str = ""
    answered_event_id: int | None = None
    event_id: int


@table(
    "recall_disposition",
    once=True,
    indexed=(("hold_id",),),
    checks={"recall_disposition_quantity": "quantity > 0"},
)
class RecallDisposition(Record):
    """What was decided about recalled stock that stays where it is; it stands while the stock is there.

    `around` names the places around the stock from the inside outward, by code.
    """

    id: int = 0
    hold_id: int
    receipt_line_id: int
    piece_id: int | None = None
    account_class: str
    around: str
    quantity: int
    decision: str
    reference: str
    event_id: int


@table("recall_closure", once=True, unique=(("hold_id",),))
class RecallClosure(Record):
    """That a recall is closed: everything under it was accounted for and settled."""

    id: int = 0
    hold_id: int
    reference: str
    event_id: int


@table(
    "recall_drill",
    unique=(("code",),),
    refers={"started_event_id": "event", "ended_event_id": "event"},
)
class RecallDrill(Record):
    """A recall exercise that holds nothing: how long it takes until everything under a scope was seen."""

    id: int = 0
    code: str
    scope: str
    scope_text: str
    started_event_id: int
    ended_event_id: int | None = None


@table(
    "recall_drill_line",
    unique=(("recall_drill_id", "rank"),),
    refers={"reported_event_id": "event"},
    checks={"recall_drill_line_unit": one_of("unit", "pieces", "volume_ul")},
)
class RecallDrillLine(Record):
    """Where a drill sends somebody to look, what the record says is there, and what was seen."""

    id: int = 0
    recall_drill_id: int
    rank: int
    account_class: str
    at_place: str
    part_id: int
    unit: str = "pieces"
    expected: int
    found: int | None = None
    reported_event_id: int | None = None


@table("finding", refers={"settled_event_id": "event"}, indexed=(("airframe_id",), ("job_id",)))
class Finding(Record):
    """Something physically found that the record did not expect; open until settled, and it blocks its job."""

    id: int = 0
    airframe_id: int | None = None
    position_id: int | None = None
    rotor_set_id: int | None = None
    job_id: int | None = None
    text: str
    settled_event_id: int | None = None
    settlement: str = ""
    event_id: int


@table(
    "stock_count",
    unique=(("code",),),
    refers={"counted_by_id": "person"},
    checks={"count_state": one_of("state", "open", "counted", "settled")},
)
class StockCount(Record):
    """A blind count of one place."""

    id: int = 0
    code: str
    place_id: int
    state: str = "open"
    counted_by_id: int | None = None
    event_id: int


@table("count_line", indexed=(("stock_count_id",),), refers={"container_id": "place"})
class CountLine(Record):
    """One thing of a count: booked when the sheet was made, counted, counted again."""

    id: int = 0
    stock_count_id: int
    receipt_line_id: int | None = None
    piece_id: int | None = None
    container_id: int | None = None
    condition: str = ""
    booked: int
    counted: int | None = None
    recounted: int | None = None


@table("occurrence", once=True)
class Occurrence(Record):
    """An accident or incident of an airframe; its parts are set aside as evidence."""

    id: int = 0
    airframe_id: int
    text: str
    happened_at: str
    event_id: int


@table("label_print", once=True, indexed=(("subject",),))
class LabelPrint(Record):
    """A label drawn for a code; the second and later copies say so."""

    id: int = 0
    subject: str
    copy_number: int
    stock: str
    event_id: int


@table(
    "label_void",
    unique=(("label_print_id",),),
    once=True,
    refers={"label_print_id": "label_print"},
)
class LabelVoid(Record):
    """A copy of a label that is not to be used any more, or never came out of the printer."""

    id: int = 0
    label_print_id: int
    reason: str
    event_id: int


@table(
    "override",
    once=True,
    checks={"override_kind": one_of("kind", "other airframe", "refit elsewhere", "shelf life extended")},
)
class Override(Record):
    """One of the three overrides that exist (R20), for the Office's list."""

    id: int = 0
    kind: str
    subject: str
    reason: str
    event_id: int


@table("entry", once=True, unique=(("event_id",),))
class Entry(Record):
    """How the things of an act were entered: how many by a scanner, how many by hand, and which these were."""

    id: int = 0
    scanned: int
    typed: int
    typed_texts: str = ""
    event_id: int


@table("shift_handover", once=True, unique=(("code",),))
class ShiftHandover(Record):
    """What one shift told the next: the person who leaves acted, the second person takes over."""

    id: int = 0
    code: str
    since_at: str
    text: str
    event_id: int


@table("shift_handover_line", once=True, unique=(("shift_handover_id", "rank"),))
class ShiftHandoverLine(Record):
    """One line of what the store itself knew at a hand-over, as it was then."""

    id: int = 0
    shift_handover_id: int
    rank: int
    section: str
    subject: str
    text: str


@table("alone_declaration", once=True)
class AloneDeclaration(Record):
    """A manager's declaration that nobody else is there, for a job or a dated period (R8)."""

    id: int = 0
    person_id: int
    job_id: int | None = None
    from_on: str
    until_on: str
    reason: str
    event_id: int


@table("setting_change", once=True)
class SettingChange(Record):
    """A change of a versioned setting under R21: what, from, to, source."""

    id: int = 0
    subject: str
    name: str
    old: str
    new: str
    source: str
    event_id: int


@table("acknowledgement", once=True, unique=(("person_id", "what"),))
class Acknowledgement(Record):
    """That a person has read and acknowledged the cautions."""

    id: int = 0
    person_id: int
    what: str
    event_id: int


# ---- ordering ----------------------------------------------------------------------------------


@table(
    "supply_terms",
    unique=(("part_id", "supplier_id"),),
    unique_where=((("part_id",), "preferred = 1"),),
    refers={"supplier_id": "company"},
    checks={
        "supply_lead_time": "lead_time_days IS NULL OR lead_time_days >= 0",
        "supply_pack": "pack_quantity IS NULL OR pack_quantity > 0",
        "supply_preferred_is_flag": "preferred IN (0, 1)",
    },
)
class SupplyTerms(Record):
    """How a supplier delivers a part: days from order to door, quantity in a pack; None as the catalogue says."""

    id: int = 0
    part_id: int
    supplier_id: int
    lead_time_days: int | None = None
    pack_quantity: int | None = None
    preferred: int = 0
    source: str
    event_id: int


@table("purchase_order", unique=(("code",),), refers={"supplier_id": "company"}, once=True)
class PurchaseOrder(Record):
    """An order placed with a supplier under a reference that his papers will show."""

    id: int = 0
    code: str
    supplier_id: int
    reference: str
    event_id: int


@table(
    "order_line",
    unique=(("purchase_order_id", "part_id"),),
    indexed=(("part_id",),),
    refers={"cancelled_event_id": "event"},
    checks={"order_line_quantity": "quantity > 0"},
)
class OrderLine(Record):
    """A part of an order, in the part's unit, and the day on which it is expected."""

    id: int = 0
    purchase_order_id: int
    part_id: int
    quantity: int
    due_on: str
    cancelled_event_id: int | None = None


@table("order_arrival", unique=(("receipt_line_id",),), indexed=(("order_line_id",),), once=True)
class OrderArrival(Record):
    """A receipt line that came in for a line of an order."""

    id: int = 0
    order_line_id: int
    receipt_line_id: int
    event_id: int


# ---- secrets -----------------------------------------------------------------------------------

SECRETS = ("credential",)
"""Tables whose rows no event carries: an event names each by a fingerprint that gives nothing away."""


@table(
    "credential",
    unique=(("person_id",),),
    checks={
        "credential_method": one_of("method", "scrypt"),
        "credential_cost": "cost_n BETWEEN 2 AND 1048576 AND block_r BETWEEN 1 AND 32 AND parallel_p BETWEEN 1 AND 16",
        "credential_failures": "failures >= 0",
    },
)
class Credential(Record):
    """What a person's PIN is checked against: its slow hash, with the salt and the cost it was made with."""

    id: int = 0
    person_id: int
    method: str = "scrypt"
    cost_n: int
    block_r: int
    parallel_p: int
    salt: str
    digest: str
    failures: int = 0
    locked_until_at: str | None = None


# ---- the movements and what is kept of their fold -----------------------------------------------


@table(
    "movement",
    once=True,
    refers={
        "container_id": "place",
        "from_place_id": "place",
        "to_place_id": "place",
        "from_piece_id": "piece",
        "to_piece_id": "piece",
    },
    indexed=(("event_id",), ("receipt_line_id",), ("container_id",), ("to_piece_id",), ("to_place_id",)),
    checks={
        "movement_is_one_thing": "(receipt_line_id IS NULL) <> (container_id IS NULL)",
        "movement_quantity": "quantity > 0 AND (container_id IS NULL OR quantity = 1)",
        "movement_of_stock_has_conditions": "(receipt_line_id IS NULL) = (from_condition = '') AND "
        "(receipt_line_id IS NULL) = (to_condition = '')",
        "movement_goes_somewhere": "from_place_id IS NULL OR from_place_id <> to_place_id OR from_condition <> to_condition "
        "OR coalesce(from_piece_id, 0) <> coalesce(to_piece_id, 0)",
        "movement_of_stock_has_source": "from_place_id IS NOT NULL OR container_id IS NOT NULL",
    },
)
class Movement(Record):
    """What was moved: a quantity of a receipt line from slot to slot, or a container from place to place.

    A slot is (place, condition, piece or none). A container's first movement has no `from_place_id`.
    """

    id: int = 0
    event_id: int
    receipt_line_id: int | None = None
    container_id: int | None = None
    quantity: int
    from_place_id: int | None
    from_condition: str = ""
    from_piece_id: int | None = None
    to_place_id: int
    to_condition: str = ""
    to_piece_id: int | None = None


CACHES = ("holding", "containment")
"""Tables that the movements' own trigger keeps; no act writes them, `verify` folds them again."""


@table(
    "holding",
    unique_where=(
        (("receipt_line_id", "place_id", "condition"), "piece_id IS NULL"),
        (("piece_id",), "piece_id IS NOT NULL"),
    ),
    indexed=(("place_id",), ("receipt_line_id", "place_id")),
)
class Holding(Record):
    """How much of a receipt line (or which piece of it) is in a place, in a condition. A cache."""

    id: int = 0
    receipt_line_id: int
    piece_id: int | None = None
    place_id: int
    condition: str
    quantity: int


@table(
    "containment",
    unique=(("container_id",),),
    refers={"container_id": "place", "inside_id": "place"},
    indexed=(("inside_id",),),
)
class Containment(Record):
    """Where a container is. A cache."""

    id: int = 0
    container_id: int
    inside_id: int
