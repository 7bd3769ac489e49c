"""Stock: lots, receipt lines and their paper, pieces, inspections, rotor sets and their proof."""

from kittrack.store.records.declaring import CONDITIONS, SENSES, Record, one_of, table


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
