"""What the label of each thing of the store says now, by its code.

Source: design section 3 (words), R3 (the sense stands on the label), R10 (tags), R13 (use by).
"""

from collections.abc import Callable, Sequence
from datetime import date

from kittrack.domain import codes, dates
from kittrack.domain.dates import Expiry, ShelfLife
from kittrack.domain.ledger import Condition
from kittrack.domain.quantities import Dimension, write_quantity
from kittrack.domain.spin import Sense
from kittrack.errors import BadInput, NotFound
from kittrack.printing.contents import (
    AirframeLabel,
    HoldLabel,
    JobLabel,
    Label,
    LotLabel,
    NoDate,
    PersonLabel,
    PieceLabel,
    PlaceLabel,
    PositionLabel,
    ReceiptLineLabel,
    RotorSetLabel,
    TagLabel,
    ToolLabel,
    UseBy,
)
from kittrack.services import desk
from kittrack.services.kit_label import kit_label
from kittrack.store.act import Reading, read_instant_text
from kittrack.store.kit_facts import revision_name
from kittrack.store.numbers import not_held
from kittrack.store.records import (
    Airframe,
    AirframeType,
    Company,
    Delivery,
    Event,
    Hold,
    Job,
    Lot,
    MatchRecord,
    Part,
    Person,
    PersonRole,
    Piece,
    Place,
    Position,
    ReceiptLine,
    Removal,
    RotorSet,
    SenseMap,
    SenseMapLine,
    Site,
    Tool,
    TypeRevision,
)
from kittrack.store.stock import open_holds


def label_of(read: Reading, text: str) -> Label:
    """The label of the thing with a code.

    Raises:
        NotFound: the store holds nothing under it.
        BadInput: it does not check, or its kind carries no label.
        Refused: a kit that is not sealed (R5).
    """
    code = codes.read_code(text)
    make = _MAKERS.get(code.kind)
    if make is None:
        raise BadInput(f"{code} is {code.kind.with_article}, which carries no label; scan the thing itself.")
    found = make(read, code.text)
    if found is None:
        raise not_held(read, code.text)
    return found


# ---- what several labels say -----------------------------------------------------------------------


def day_of(read: Reading, event_id: int) -> date:
    """The local day of an event."""
    return dates.local_day(read_instant_text(read.get(Event, event_id).at), zone=desk.zone(read))


def _by(read: Reading, event_id: int) -> str:
    return read.get(Person, read.get(Event, event_id).by_id).name


def _use_by(expiry: Expiry) -> UseBy:
    if expiry.day is not None:
        return expiry.day
    return NoDate.UNKNOWN if expiry.kind is ShelfLife.UNKNOWN else NoDate.NONE


def _amount(quantity: int, unit: str) -> str:
    return write_quantity(quantity, dimension=Dimension.VOLUME) if unit == "volume_ul" else str(quantity)


def _on_hold(read: Reading, *, lines: Sequence[int] = (), pieces: Sequence[int] = ()) -> str:
    """Why a thing must not be used: an open hold, or that all of it still waits for its inspection."""
    held = open_holds(read, receipt_lines=lines, pieces=pieces)
    if held:
        return held[0].reason
    column, ids = ("piece_id", pieces) if pieces else ("receipt_line_id", lines)
    rows = read.rows(
        f"SELECT DISTINCT condition FROM holding WHERE {column} IN ({', '.join('?' * len(ids))})", *ids
    )
    return "not inspected yet" if rows == [(Condition.ON_HOLD.value,)] else ""


# ---- stock -----------------------------------------------------------------------------------------


def _lot(read: Reading, code: str) -> Label | None:
    lot = read.find(Lot, code=code)
    if lot is None:
        return None
    lines = read.select(ReceiptLine, "lot_id = ?", lot.id)
    return LotLabel(
        code=code,
        part=read.get(Part, lot.part_id).number,
        maker=read.get(Company, lot.maker_id).name,
        supplier=read.get(Company, lot.supplier_id).name,
        supplier_lot=lot.lot_code or "",
        quantity=_amount(sum(line.quantity for line in lines), lines[0].unit),
        use_by=_use_by(dates.earliest(desk.expiry_of(line) for line in lines)),
        received_on=day_of(read, lines[-1].event_id),
        on_hold=_on_hold(read, lines=[line.id for line in lines]),
    )


def _line(read: Reading, code: str) -> Label | None:
    line = read.find(ReceiptLine, code=code)
    if line is None:
        return None
    return ReceiptLineLabel(
        code=code,
        part=read.get(Part, line.part_id).number,
        lot=read.get(Lot, line.lot_id).code,
        quantity=_amount(line.quantity, line.unit),
        use_by=_use_by(desk.expiry_of(line)),
        received_on=day_of(read, read.get(Delivery, line.delivery_id).event_id),
        on_hold=_on_hold(read, lines=[line.id]),
    )


def _piece(read: Reading, code: str) -> Label | None:
    piece = read.find(Piece, code=code)
    if piece is None:
        return None
    line = read.get(ReceiptLine, piece.receipt_line_id)
    return PieceLabel(
        code=code,
        part=read.get(Part, piece.part_id).number,
        serial=piece.serial or "",
        lot=read.get(Lot, line.lot_id).code,
        use_by=_use_by(desk.expiry_of(line, piece)),
        sense=Sense(piece.sense) if piece.sense else None,
        opened_on=date.fromisoformat(piece.opened_on) if piece.opened_on else None,
        on_hold=_on_hold(read, pieces=[piece.id]),
    )


def _rotor_set(read: Reading, code: str) -> Label | None:
    found = read.find(RotorSet, code=code)
    if found is None:
        return None
    part = read.get(Part, found.part_id)
    record = read.get(MatchRecord, found.match_record_id) if found.match_record_id else None
    event_id = record.event_id if record else found.event_id
    lots = read.rows(
        "SELECT DISTINCT l.code FROM holding h JOIN receipt_line r ON r.id = h.receipt_line_id "
        "JOIN lot l ON l.id = r.lot_id WHERE h.place_id = ? AND r.part_id = ? ORDER BY l.code",
        found.place_id,
        part.id,
    )
    return RotorSetLabel(
        code=code,
        sense=Sense(found.sense),
        part=part.number,
        blades=part.blades_per_rotor or 1,
        lot=", ".join(row[0] for row in lots),
        proof=_proof(record),
        matched_by=_by(read, event_id),
        matched_on=day_of(read, event_id),
    )


def _proof(record: MatchRecord | None) -> str:
    if record is None:
        return "NOT PROVED"
    if record.residual_g_um is None or record.tolerance_g_um is None:
        return record.method
    residual = write_quantity(record.residual_g_um, dimension=Dimension.MOMENT)
    return f"{residual} of {write_quantity(record.tolerance_g_um, dimension=Dimension.MOMENT)}"


def _hold(read: Reading, code: str) -> Label | None:
    hold = read.find(Hold, code=code)
    if hold is None:
        return None
    return HoldLabel(
        code=code,
        held=hold.scope_text,
        reason=hold.reason,
        placed_by=_by(read, hold.placed_event_id),
        placed_on=day_of(read, hold.placed_event_id),
    )


# ---- airframes -------------------------------------------------------------------------------------


def _airframe(read: Reading, code: str) -> Label | None:
    frame = read.find(Airframe, code=code)
    if frame is None:
        return None
    revision = read.get(TypeRevision, frame.type_revision_id)
    kind = read.get(AirframeType, revision.airframe_type_id)
    return AirframeLabel(code=code, tail=frame.tail, airframe_type=kind.name, revision=revision.name)


def _position(read: Reading, code: str) -> Label | None:
    position = read.find(Position, code=code)
    if position is None:
        return None
    frame = read.get(Airframe, position.airframe_id)
    current = read.find(SenseMap, id=frame.sense_map_id or 0)
    line = (
        read.find(SenseMapLine, sense_map_id=current.id, position_id=position.id)
        if current is not None
        else None
    )
    if current is None or line is None:
        raise NotFound(f"the map of {frame.tail} gives no sense for {position.name}; revise the map first")
    return PositionLabel(
        code=code,
        airframe=frame.tail,
        position=position.name,
        sense=Sense(line.sense),
        map_revision=str(current.revision),
    )


def _tag(read: Reading, code: str) -> Label | None:
    removal = read.find(Removal, code=code)
    if removal is None:
        return None
    off = read.get(RotorSet, removal.rotor_set_id)
    hours = removal.used_minutes
    return TagLabel(
        code=code,
        part=read.get(Part, off.part_id).number,
        rotor_set=off.code,
        airframe=read.get(Airframe, removal.airframe_id).tail,
        position=read.get(Position, removal.position_id).name,
        time_in_service="time in service unknown"
        if hours is None
        else f"{hours // 60}:{hours % 60:02d} h in service",
        reason=removal.reason,
        removed_by=_by(read, removal.event_id),
        removed_on=day_of(read, removal.event_id),
        found_sense=Sense(removal.sense_found) if removal.sense_found else None,
        evidence=bool(removal.is_evidence),
    )


def _job(read: Reading, code: str) -> Label | None:
    job = read.find(Job, code=code)
    if job is None:
        return None
    frame = read.get(Airframe, job.airframe_id)
    named = f"{frame.tail}, {revision_name(read, frame.type_revision_id)}"
    return JobLabel(code=code, airframe=named, title=job.purpose, opened_on=day_of(read, job.event_id))


# ---- the stores themselves -------------------------------------------------------------------------


def _place(read: Reading, code: str) -> Label | None:
    place = read.find(Place, code=code)
    if place is None:
        return None
    site = read.get(Site, place.site_id).name if place.site_id else ""
    return PlaceLabel(code=code, kind=place.kind, name=place.name, site=site)


def _person(read: Reading, code: str) -> Label | None:
    person = read.find(Person, code=code)
    if person is None:
        return None
    roles = read.select(PersonRole, "person_id = ? AND active = 1", person.id)
    return PersonLabel(code=code, name=person.name, roles=tuple(r.role for r in roles))


def _tool(read: Reading, code: str) -> Label | None:
    tool = read.find(Tool, code=code)
    if tool is None:
        return None
    until = date.fromisoformat(tool.calibrated_until_on) if tool.calibrated_until_on else None
    return ToolLabel(code=code, name=tool.name, tool_range=_range(tool), calibrated_until=until)


def _range(tool: Tool) -> str:
    if tool.min_mnm is not None and tool.max_mnm is not None:
        low, high = (write_quantity(v, dimension=Dimension.TORQUE) for v in (tool.min_mnm, tool.max_mnm))
        return f"{low} to {high}"
    if tool.resolution_ug is not None:
        return f"shows {write_quantity(tool.resolution_ug, dimension=Dimension.MASS)}"
    return tool.kind


_MAKERS: dict[codes.Kind, Callable[[Reading, str], Label | None]] = {
    codes.Kind.KIT: kit_label,
    codes.Kind.ROTOR_SET: _rotor_set,
    codes.Kind.PIECE: _piece,
    codes.Kind.LOT: _lot,
    codes.Kind.RECEIPT_LINE: _line,
    codes.Kind.HOLD: _hold,
    codes.Kind.AIRFRAME: _airframe,
    codes.Kind.POSITION: _position,
    codes.Kind.TAG: _tag,
    codes.Kind.JOB: _job,
    codes.Kind.SHELF_PLACE: _place,
    codes.Kind.PERSON: _person,
    codes.Kind.TOOL: _tool,
}
