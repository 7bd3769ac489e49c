"""Holds and recalls, counts, findings, labels, and what a manager looks back on."""

from kittrack.store.records.declaring import Record, one_of, table


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
