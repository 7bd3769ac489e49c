"""Opening the books on the airframes: rotor sets found fitted before day one, their history unknown.

A fitted set stays on its position and, once removed, needs inspection and proof before it is issued again.
What does not belong where it is found is a finding: recorded, on hold where its sense is in doubt, and
blocking its airframe. Source: design 2 (before day one; acts are refused, findings are not), R3, R17.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from kittrack.domain import codes
from kittrack.domain.dates import Expiry
from kittrack.domain.ledger import Condition, PlaceKind
from kittrack.domain.rules import Rule, require
from kittrack.domain.text import check_text
from kittrack.errors import KittrackError, Problem, Refusal
from kittrack.services import accepting, booking, desk, findings, holding, serials
from kittrack.services import position_desk as spots
from kittrack.services.booking import LineSpec
from kittrack.services.desk import Done
from kittrack.services.opening import opening_delivery
from kittrack.services.position_desk import Spot
from kittrack.store.act import Act, Slot
from kittrack.store.database import Store
from kittrack.store.records import ApprovedPart, Delivery, Part, Piece, Place, ReceiptLine, RotorSet


@dataclass(frozen=True)
class FittedSpec:
    """A rotor set found fitted at a position.

    Args:
        position: the position's code.
        part: the blades' part number.
        mark: the mark read on the rotor; "" where none can be read, which is a finding.
        serials: the serial of each blade in order around the hub, None for one without.
        lot_code: as the blades say; None where it is unknown.
        hub_serial: the hub's serial, where the hub belongs to the set.
    """

    position: str
    part: str
    mark: str
    serials: tuple[str | None, ...]
    lot_code: str | None = None
    hub_serial: str | None = None


@dataclass(frozen=True)
class _Seen:
    """A fitted set as it was read: where it is, its part, and the sense that its mark means."""

    spec: FittedSpec
    spot: Spot
    part: Part
    sense: str | None


@desk.done_by("manager")
def open_fitted(
    store: Store, *, fitted: Sequence[FittedSpec], by: str, at: datetime, supplier: str = "", key: str = ""
) -> Done:
    """Take into the books the rotor sets that are fitted, with an unknown history and service.

    A set whose mark does not say what the airframe's map says, or whose part is not approved there, is
    recorded all the same: as an open finding that blocks the airframe's jobs, and on hold.

    Returns:
        The codes of the sets in order.

    Raises:
        BadInput: every fault of every set at once.
        Refused: a position has a set on record (R10), or a serial is in the store already (R16).
    """
    with store.act("open the books: fitted", by=by, at=at, key=key) as act:
        require(desk.check_done_by(act, open_fitted))
        seen = _read_fitted(act, fitted)
        require(_check_positions(act, seen), _check_serials(act, seen))
        delivery = opening_delivery(act, supplier)
        said: list[str] = []
        made = []
        for one in seen:
            rotor_set = _seat(act, delivery, one)
            made.append(rotor_set.code)
            said.append(f"{rotor_set.sense} set {rotor_set.code} is on {one.spot.name}, its history unknown.")
            said += _findings_of(act, one, rotor_set)
    return Done(act.event_id, tuple(made), tuple(said))


# ---- reading and checks -------------------------------------------------------------------------


def _read_fitted(act: Act, fitted: Sequence[FittedSpec]) -> list[_Seen]:
    found: list[_Seen] = []
    problems = [] if fitted else [Problem("No set was entered; enter at least one.", "fitted")]
    for row, spec in enumerate(fitted, start=1):
        try:
            spot, part = spots.find_spot(act, spec.position), desk.find_part(act, spec.part)
        except KittrackError as error:
            problems.append(Problem(str(error), "position", row))
            continue
        faults = _fitted_problems(spec, part)
        if any(one.spot.position == spot.position for one in found):
            faults.append(Problem(f"{spot.name} stands twice; enter each position once.", "position"))
        problems += [replace(p, row=row) for p in faults]
        found.append(_Seen(spec, spot, part, accepting.sense_of_mark(act, part, spec.mark)))
    booking.raise_any(problems)
    return found


def _fitted_problems(spec: FittedSpec, part: Part) -> list[Problem]:
    if part.kind != "blade" or part.sense is None:
        return [Problem(f"{part.number} is no rotor blade; look at the rotor again.", "part")]
    found = []
    if len(spec.serials) != part.blades_per_rotor:
        message = f"A rotor of {part.number} has {part.blades_per_rotor} blades, not {len(spec.serials)}; count them."
        found.append(Problem(message, "serials"))
    texts: tuple[tuple[str, str | None], ...] = (
        ("lot", spec.lot_code),
        ("mark", spec.mark or None),
        ("hub serial", spec.hub_serial),
    )
    texts += tuple(("serial", s) for s in spec.serials)
    found += [p for name, text in texts if text is not None for p in check_text(text, field=name)]
    return found


def _check_positions(act: Act, seen: Sequence[_Seen]) -> list[Refusal]:
    found = []
    for one in seen:
        there = spots.sets_at(act, one.spot.position)
        if there:
            message = (
                f"{one.spot.name} has {there[0].code} on record; record what is found there as a finding."
            )
            found.append(Refusal(Rule.REMOVED_PARTS, one.spot.name, message))
        if one.spot.airframe.state != "active":
            message = f"{one.spot.airframe.tail} is {one.spot.airframe.state}; nothing is taken into the books on it."
            found.append(Refusal(Rule.REMOVED_PARTS, one.spot.name, message))
    return found


def _check_serials(act: Act, seen: Sequence[_Seen]) -> list[Refusal]:
    by_part: dict[int, list[str | None]] = {}
    for one in seen:
        by_part.setdefault(one.part.id, []).extend(one.spec.serials)
    parts = {one.part.id: one.part for one in seen}
    return [r for part, found in by_part.items() for r in serials.check_serials(act, parts[part], found)]


# ---- writing -----------------------------------------------------------------------------------


def _seat(act: Act, delivery: Delivery, one: _Seen) -> RotorSet:
    """Make a set of unknown history at a position, with its blades and its hub."""
    code = act.new_code(RotorSet, codes.Kind.ROTOR_SET)
    place = act.insert(Place(code=code, kind=PlaceKind.ROTOR_SET.value, name=code))
    act.move_container(place.id, from_place_id=None, to_place_id=one.spot.position.place_id)
    _blades(act, delivery, one, place)
    rotor_set = act.insert(
        RotorSet(
            code=code,
            place_id=place.id,
            part_id=one.part.id,
            sense=one.sense or str(one.part.sense),
            used_minutes=None,
            used_flights=None,
            history_known=0,
            event_id=act.event_id,
        )
    )
    act.update(place, closed=1)
    return rotor_set


def _blades(act: Act, delivery: Delivery, one: _Seen, place: Place) -> None:
    # A shelf life ends at fitting, so none is left to be recorded.
    line = LineSpec(one.part.number, len(one.spec.serials), one.spec.lot_code, expiry=Expiry.unlimited())
    booked = booking.book_line(act, delivery, line, one.part, place_id=place.id, history_known=0)
    holding.join_open_holds(act, lines=[booked])
    for serial in one.spec.serials:
        _piece(act, booked, one.part, place, serial=serial, mark=one.spec.mark.strip(), sense=one.sense)
    if one.part.hub_in_set and one.part.hub_part_id:
        hub = act.get(Part, one.part.hub_part_id)
        line = LineSpec(hub.number, 1, None, expiry=Expiry.unlimited())
        booked = booking.book_line(act, delivery, line, hub, place_id=place.id, history_known=0)
        _piece(act, booked, hub, place, serial=one.spec.hub_serial, mark="", sense=None)


def _piece(
    act: Act, line: ReceiptLine, part: Part, place: Place, *, serial: str | None, mark: str, sense: str | None
) -> None:
    piece = act.insert(
        Piece(
            code=act.new_code(Piece, codes.Kind.PIECE),
            receipt_line_id=line.id,
            part_id=part.id,
            maker_id=part.maker_id,
            serial=serial,
            mark=mark,
            sense=sense,
            event_id=act.event_id,
        )
    )
    source = Slot(place.id, Condition.ON_HOLD.value)
    act.move_stock(
        line.id, 1, from_slot=source, to_slot=Slot(place.id, Condition.SERVICEABLE.value, piece.id)
    )
    holding.join_open_holds(act, pieces=[piece])


def _findings_of(act: Act, one: _Seen, rotor_set: RotorSet) -> list[str]:
    """Write what does not belong there as open findings; a doubtful sense puts the set on hold too."""
    spot, found = one.spot, []
    mark = one.spec.mark.strip()
    if one.sense is None:
        told = f"mark {mark!r} is not in the mark table of {one.part.number}" if mark else "no mark was read"
        found.append(f"{spot.name}: {told}, so the sense of {rotor_set.code} is not known")
    elif spot.mapped is None or one.sense != spot.mapped.value:
        mapped = spot.mapped.value if spot.mapped else "nothing"
        found.append(f"{spot.name}: {rotor_set.code} turns {one.sense} and the map says {mapped}")
    elif one.sense != one.part.sense:
        found.append(f"{spot.name}: {one.part.number} turns {one.part.sense} and the mark says {one.sense}")
    doubtful = bool(found)
    approved = act.find(ApprovedPart, type_position_id=spot.type_position.id, part_id=one.part.id, active=1)
    if approved is None:
        found.append(f"{spot.name}: {one.part.number} is not approved for this position")
    for text in found:
        findings.open_finding(act, text, frame=spot.airframe, position=spot.position, rotor_set=rotor_set)
    said = [f"FINDING: {text}. Ground {spot.airframe.tail} until it is settled." for text in found]
    if doubtful:
        said.append(
            f"{rotor_set.code} is on hold under {findings.hold_set(act, rotor_set, reason=found[0])}."
        )
    return said
