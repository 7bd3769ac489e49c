"""Fastening a rotor set: new screws of one lot, washers, threadlocker, and the torque with its tool.

Source: design R4 (per hub, one lot), R6, R9 (new ones only), R13, R18.
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from kittrack.domain import codes, dates, fixing
from kittrack.domain.ledger import Condition, PlaceKind
from kittrack.domain.rules import Rule, require
from kittrack.domain.torque import Method, TorqueTool
from kittrack.errors import BadInput, Refusal
from kittrack.services import desk
from kittrack.services import position_desk as spots
from kittrack.services.desk import Done
from kittrack.services.inspecting_stock import check_strength_at
from kittrack.services.position_desk import Spot
from kittrack.store.act import Act, Reading, Slot
from kittrack.store.database import Store
from kittrack.store.kit_list import kit_list
from kittrack.store.records import (
    FitRecord,
    HubFixing,
    Job,
    Lot,
    Part,
    Piece,
    ReceiptLine,
    RotorSet,
    Tool,
    TorqueRecord,
)
from kittrack.store.stock import Stock, directly_in, end_place


@dataclass(frozen=True)
class TakenPart:
    """What a person takes for one hub: a receipt line's code, or a bottle's, and how many pieces.

    Of a bottle, and of threadlocker by volume, the nominal dose is taken whatever `quantity` says.
    """

    code: str
    quantity: int = 0


@dataclass(frozen=True)
class _Take:
    """A taken part found in the job's place."""

    line: ReceiptLine
    part: Part
    piece: Piece | None
    quantity: int
    there: int


@desk.done_by("technician")
def fasten(
    store: Store, *, job: str, position: str, parts: Sequence[TakenPart], by: str, at: datetime,
    torque_mnm: int | None = None, tool: str = "", method: str = "torque", key: str = "",
) -> Done:  # fmt: skip
    """Fasten the rotor set that was put on a position.

    Args:
        store: the store.
        job: the open job.
        position: the position's code.
        parts: screws and washers with their counts, the threadlocker, extras of the kit list per hub.
        by: the technician who fastens.
        at: the instant.
        torque_mnm: the torque that was set on the tool, in mN m.
        tool: the code or name of the torque tool.
        method: "torque", "angle" or "snug", as the type revision states it.
        key: the caller's own name for the act.

    Raises:
        Refused: the fixing is not complete or not new (R4, R7, R9), on hold or expired (R6, R13), or the
            torque does not satisfy (R18).
        BadInput: a count or the method can't be one.
    """  # fmt: skip
    how = read_method(method)
    with store.act("fasten a rotor set", by=by, at=at, key=key) as act:
        work, spot = desk.find_job(act, job), spots.find_spot(act, position)
        record = spots.current_fit(act, spot.position)
        needs = needs_of(act, spot)
        taken, missing = _look_up(act, work, needs, parts)
        require(
            desk.check_done_by(act, fasten),
            spots.check_job_at(act, work, spot),
            _check_started(spot, record, work),
            fixing.check_fixings(spot.name, needs=needs, taken=[_named(act, t) for t in taken]),
            missing,
            _check_usable(act, work, taken),
            check_tightening(act, spot, method=how, torque_mnm=torque_mnm, tool=tool),
            check_strength_at(spot.fixing, act.get(Part, spot.fixing.screw_part_id)),
        )
        assert record is not None  # noqa: S101 - _check_started refuses where there is none
        _take(act, work, spot, taken)
        _write(act, spot, record, taken, method=how, torque_mnm=torque_mnm, tool=tool)
        spots.set_state(act, work, spot, "fitted")
    return Done(act.event_id, (), (f"{spot.name} is fastened.", "Next: another person inspects it."))


def needs_of(read: Reading, spot: Spot) -> list[fixing.Need]:
    """What one hub of a position needs: screws, washers, threadlocker, and the kit list's extras per hub (R4)."""
    fixes: HubFixing = spot.fixing
    needs = []
    for part_id, count in (
        (fixes.screw_part_id, fixes.screws_per_hub),
        (fixes.washer_part_id, fixes.washers_per_hub),
    ):
        if part_id is not None and count:
            needs.append(fixing.Need(read.get(Part, part_id).number, count, one_lot=True))
    dose = fixes.locker_ul_per_screw * fixes.screws_per_hub
    if fixes.locker_part_id is not None and dose:
        locker = read.get(Part, fixes.locker_part_id)
        by_pack = locker.unit == "pieces"  # a pack that is counted serves one hub
        needs.append(fixing.Need(locker.number, 1 if by_pack else dose, unit=locker.unit))
    for line in (one for one in kit_list(read, spot.revision.id) if one.per == "hub"):
        part = read.get(Part, line.part_id)
        needs.append(fixing.Need(part.number, line.quantity, unit=part.unit))
    return needs


def check_tightening(
    act: Act, spot: Spot, *, method: Method, torque_mnm: int | None, tool: str
) -> list[Refusal]:
    """Why a tightening does not satisfy a position's fixing on the day of the act (R18)."""
    fixes = spot.fixing
    stated = fixing.StatedTightening(
        Method(fixes.torque_method), torque_mnm=fixes.torque_mnm, tolerance_mnm=fixes.torque_tolerance_mnm,
        words=fixes.torque_text,
    )  # fmt: skip
    used, refused = _tool_facts(act, spot, tool)
    if refused:
        return refused
    applied = fixing.Applied(method, torque_mnm=torque_mnm, tool=used)
    return fixing.check_tightening(spot.name, stated=stated, applied=applied, on=desk.today(act))


def write_torque(
    act: Act,
    spot: Spot,
    *,
    purpose: str,
    record: FitRecord | None,
    method: Method,
    torque_mnm: int | None,
    tool: str,
) -> TorqueRecord:
    """Write a torque with the airframe's hours within an act."""
    return act.insert(
        TorqueRecord(
            position_id=spot.position.id, fit_record_id=record.id if record else None, purpose=purpose,
            torque_method=method.value, torque_mnm=torque_mnm, tool_id=_tool_id(act, tool),
            airframe_minutes=spot.airframe.minutes, event_id=act.event_id,
        )
    )  # fmt: skip


# ---- reading what was taken ----------------------------------------------------------------------


def read_method(text: str) -> Method:
    """The way of tightening that a word names.

    Raises:
        BadInput: it names none.
    """
    if text not in tuple(Method):
        raise BadInput(
            f"{text!r} is no way of tightening; it is one of: {', '.join(Method)}.", field="method"
        )
    return Method(text)


def _look_up(
    act: Act, job: Job, needs: Iterable[fixing.Need], parts: Sequence[TakenPart]
) -> tuple[list[_Take], list[Refusal]]:
    """Find each taken part in the job's place; what isn't there is refused, since only new issued ones are used."""
    by_volume = {n.part: n.quantity for n in needs if n.unit == "volume_ul"}
    inside = directly_in(act, job.place_id)
    taken, refused = [], []
    for part in _each_once(parts):
        piece = (
            desk.find_piece(act, part.code) if codes.read_code(part.code).kind is codes.Kind.PIECE else None
        )
        line = act.get(ReceiptLine, piece.receipt_line_id) if piece else desk.find_line(act, part.code)
        kind = act.get(Part, line.part_id)
        unasked = max(part.quantity, 1) if kind.unit == "volume_ul" else part.quantity
        quantity = by_volume.get(kind.number, unasked)
        if quantity < 1:
            raise BadInput(f"{part.code} was taken without a count; enter how many.", field="quantity")
        there = sum(
            s.quantity for s in inside if _is_of(s, line, piece) and s.condition == Condition.SERVICEABLE
        )
        taken.append(_Take(line, kind, piece, quantity, there))
        refused += _check_there(job, taken[-1])
    return taken, refused


def _each_once(parts: Iterable[TakenPart]) -> list[TakenPart]:
    """What was scanned twice, as one with both counts."""
    counts: Counter[str] = Counter()
    for part in parts:
        counts[codes.read_code(part.code).text] += part.quantity
    return [TakenPart(code, quantity) for code, quantity in counts.items()]


def _is_of(stock: Stock, line: ReceiptLine, piece: Piece | None) -> bool:
    return stock.receipt_line_id == line.id and stock.piece_id == (piece.id if piece else None)


def _check_there(job: Job, take: _Take) -> list[Refusal]:
    code = take.piece.code if take.piece else take.line.code
    if take.there >= take.quantity:
        return []
    if take.there == 0:
        message = f"{code} ({take.part.number}) is not among what was issued to {job.code}; take new ones of its kit, never used or loose ones."
        return [Refusal(Rule.SINGLE_USE, code, message)]
    message = f"{job.code} has {take.there} of {code} ({take.part.number}) left and {take.quantity} were taken; ask for a make-good kit."
    return [Refusal(Rule.KIT_ARITHMETIC, code, message)]


def _named(act: Act, take: _Take) -> fixing.Taken:
    return fixing.Taken(take.part.number, act.get(Lot, take.line.lot_id).code, take.quantity)


def _check_usable(act: Act, job: Job, taken: Sequence[_Take]) -> list[Refusal]:
    """Holds, dates and supersession of what was taken; a bottle must be named, since its opened date counts."""
    stock = [
        Stock(
            t.line.id, t.piece.id if t.piece else None, job.place_id, Condition.SERVICEABLE.value, t.quantity
        )
        for t in taken
        if t.there
    ]
    found = desk.check_fit(act, stock)
    for take in taken:
        if take.part.unit != "volume_ul" or take.part.single_dose or take.piece is not None:
            continue
        message = f"{take.part.number} comes out of a bottle whose opened date counts; scan the bottle, not {take.line.code}."
        found.append(Refusal(Rule.DATES, take.line.code, message))
    return found


def _check_started(spot: Spot, record: FitRecord | None, job: Job) -> list[Refusal]:
    if record is not None and record.state == "started" and record.job_id == job.id:
        return []
    if record is not None and record.state == "fastened" and record.job_id == job.id:
        message = f"{spot.name} is fastened already in {job.code}; let another person inspect it, or take its set off again."
    else:
        message = f"No rotor set of {job.code} waits at {spot.name} to be fastened; put one on first."
    return [Refusal(Rule.SENSE_BY_POSITION, spot.name, message)]


def _tool_facts(act: Act, spot: Spot, text: str) -> tuple[TorqueTool | None, list[Refusal]]:
    """A tool as the checks take it; None and the reasons where it is no torque tool in use or has no range."""
    if not text:
        return None, []
    tool: Tool = spots.find_tool(act, text)
    if tool.kind != "torque" or not tool.active:
        message = f"{tool.name} is not a torque tool in use; scan the torque tool that was used."
        return None, [Refusal(Rule.TORQUE, spot.name, message)]
    if not tool.min_mnm or not tool.max_mnm:
        message = f"The range of {tool.name} is not known; take a tool with a known range."
        return None, [Refusal(Rule.TORQUE, spot.name, message)]
    until = date.fromisoformat(tool.calibrated_until_on) if tool.calibrated_until_on else None
    return TorqueTool(tool.code, tool.name, tool.min_mnm, tool.max_mnm, until), []


def _tool_id(act: Act, text: str) -> int | None:
    return spots.find_tool(act, text).id if text else None


# ---- writing -------------------------------------------------------------------------------------


def _take(act: Act, job: Job, spot: Spot, taken: Sequence[_Take]) -> None:
    """Move what was taken: consumables are consumed, the rest sits at the position."""
    consumed = end_place(act, PlaceKind.CONSUMED).id
    for take in taken:
        used_up = take.part.kind == "consumable"
        piece_id = take.piece.id if take.piece else None
        ready = Condition.SERVICEABLE.value
        act.move_stock(
            take.line.id, take.quantity, from_slot=Slot(job.place_id, ready, piece_id),
            to_slot=Slot(consumed, ready) if used_up else Slot(spot.position.place_id, ready, piece_id),
        )  # fmt: skip
        if used_up and take.piece is not None:
            _open_bottle(act, take.piece, take.part)


def _open_bottle(act: Act, bottle: Piece, part: Part) -> None:
    """Write when a bottle was opened; from then on its opened life counts (R13)."""
    if bottle.opened_on is not None:
        return
    until = (
        dates.opened_until(desk.today(act), life_days=part.opened_life_days).day
        if part.opened_life_days
        else None
    )
    act.update(
        bottle,
        opened_on=spots.local_day_text(act),
        expires_on=until.isoformat() if until else bottle.expires_on,
    )


def _write(
    act: Act,
    spot: Spot,
    record: FitRecord,
    taken: Sequence[_Take],
    *,
    method: Method,
    torque_mnm: int | None,
    tool: str,
) -> None:
    fixes = spot.fixing
    screws, washers, locker = (
        [t for t in taken if t.part.id == part_id]
        for part_id in (fixes.screw_part_id, fixes.washer_part_id, fixes.locker_part_id)
    )
    act.update(
        record, state="fastened", screw_line_id=_first_line(screws), screws=sum(t.quantity for t in screws),
        washer_line_id=_first_line(washers), washers=sum(t.quantity for t in washers),
        locker_line_id=_first_line(locker), locker_ul=sum(_volume_ul(t, spot) for t in locker),
        torque_method=method.value, torque_mnm=torque_mnm, tool_id=_tool_id(act, tool),
        airframe_minutes=spot.airframe.minutes, airframe_flights=spot.airframe.flights,
    )  # fmt: skip
    write_torque(act, spot, purpose="fit", record=record, method=method, torque_mnm=torque_mnm, tool=tool)
    fitted = act.get(RotorSet, record.rotor_set_id)
    if fitted.used_since_on is None:
        act.update(fitted, used_since_on=spots.local_day_text(act))


def _first_line(taken: Sequence[_Take]) -> int | None:
    return taken[0].line.id if taken else None


def _volume_ul(take: _Take, spot: Spot) -> int:
    """The dose that was used: of a counted pack, what the fixing states."""
    fixes = spot.fixing
    return (
        take.quantity if take.part.unit == "volume_ul" else fixes.locker_ul_per_screw * fixes.screws_per_hub
    )
