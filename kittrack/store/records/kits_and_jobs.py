"""Kits, jobs, vouchers, and what was fitted and removed."""

from kittrack.store.records.declaring import SENSES, Record, one_of, table


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


@table("left_out", once=True, unique=(("job_position_id",),))
class LeftOut(Record):
    """That a position of a job stays as it is: nobody began anything there, and the job covers it no more."""

    id: int = 0
    job_position_id: int
    event_id: int


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
