"""An open job at an aircraft, for tests: its place holds serviceable sets, screws, washers and threadlocker.

The state is written by plain inserts and movements, so that these tests stand on the acts at the aircraft alone.
"""

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from kittrack.domain import codes
from kittrack.services import fitting, removing
from kittrack.services.desk import Done
from kittrack.services.fitting import TakenPart
from kittrack.store.act import Act, Reading, Slot
from kittrack.store.database import Store
from kittrack.store.records import (
    Airframe,
    Company,
    Delivery,
    Finding,
    FitRecord,
    Job,
    JobPosition,
    Lot,
    MatchReading,
    MatchRecord,
    Part,
    Piece,
    Place,
    Position,
    ReceiptLine,
    Record,
    Removal,
    RotorSet,
    UsageReading,
)
from kittrack.store.stock import inside_of
from tests.factories import (
    BIN,
    CCW_BLADE,
    CW_BLADE,
    INSPECTOR,
    LOCKER,
    MANAGER,
    SCREW,
    TAIL,
    TECHNICIAN,
    WASHER,
    after,
)

MARKS = {"CW": "R", "CCW": "L"}
"""The invented maker's marks."""

TORQUE_TOOL = "Torque driver 1"


def position_of(read: Reading, name: str, *, tail: str = TAIL) -> Position:
    """The position of a tail."""
    frame = read.find(Airframe, tail=tail)
    assert frame is not None
    found = read.find(Position, airframe_id=frame.id, name=name)
    assert found is not None
    return found


def spot_code(store: Store, name: str, *, tail: str = TAIL) -> str:
    """The code on the tag of a position."""
    with store.reading() as read:
        return position_of(read, name, tail=tail).code


def _the(read: Reading, record: Any, **equal: Any) -> Any:
    found = read.find(record, **equal)
    assert found is not None, equal
    return found


def _line(act: Act, part: Part, quantity: int, *, lot_code: str, **more: Any) -> ReceiptLine:
    company = _the(act, Company, name="Invented Rotors")
    same = {"part_id": part.id, "maker_id": part.maker_id, "supplier_id": company.id, "lot_code": lot_code}
    lot = act.find(Lot, **same) or act.insert(Lot(code=act.new_code(Lot, codes.Kind.LOT), **same))
    delivery = act.insert(
        Delivery(
            code=act.new_code(Delivery, codes.Kind.DELIVERY), supplier_id=company.id, reference="DN-2",
            event_id=act.event_id,
        )
    )  # fmt: skip
    return act.insert(
        ReceiptLine(
            code=act.new_code(ReceiptLine, codes.Kind.RECEIPT_LINE), delivery_id=delivery.id, lot_id=lot.id, part_id=part.id,
            quantity=quantity, unit=part.unit, event_id=act.event_id, **more,
        )
    )  # fmt: skip


def _arrive(act: Act, line: ReceiptLine, quantity: int, to: Slot) -> None:
    supplier = _the(act, Place, kind="supplier")
    act.move_stock(line.id, quantity, from_slot=Slot(supplier.id, "on hold"), to_slot=to)


def open_job(
    store: Store,
    *,
    at: datetime,
    tail: str = TAIL,
    positions: Sequence[str] = (),
    purpose: str = "rotor change",
) -> str:
    """An open job on an airframe, covering the positions named or all of them."""
    with store.act("open a job", by=TECHNICIAN, at=at) as act:
        frame = _the(act, Airframe, tail=tail)
        code = act.new_code(Job, codes.Kind.JOB)
        place = act.insert(Place(code=code, kind="job", name=code))
        job = act.insert(
            Job(code=code, place_id=place.id, airframe_id=frame.id, purpose=purpose, event_id=act.event_id)
        )
        for position in act.select(Position, "airframe_id = ?", frame.id):
            if not positions or position.name in positions:
                act.insert(JobPosition(job_id=job.id, position_id=position.id))
    return code


def make_set(
    store: Store,
    part_number: str,
    *,
    at: datetime,
    where: str,
    blades: int | None = None,
    lot_code: str = "B-1",
    **changes: Any,
) -> str:
    """A rotor set, complete and proved unless `changes` say otherwise, inside the place of that name."""
    with store.act("make a set", by=TECHNICIAN, at=at) as act:
        part = _the(act, Part, number=part_number)
        count = part.blades_per_rotor if blades is None else blades
        line = _line(act, part, part.blades_per_rotor, lot_code=lot_code)
        code = act.new_code(RotorSet, codes.Kind.ROTOR_SET)
        place = act.insert(Place(code=code, kind="rotor set", name=code))
        act.move_container(place.id, from_place_id=None, to_place_id=_the(act, Place, name=where).id)
        one = act.insert(
            RotorSet(
                code=code, place_id=place.id, part_id=part.id, sense=part.sense, event_id=act.event_id,
            )
        )  # fmt: skip
        proof = act.insert(
            MatchRecord(
                rotor_set_id=one.id,
                method="supplier pairing",
                source="invented maker's sheet 1",
                event_id=act.event_id,
            )
        )
        pieces = [_piece(act, line, part, place) for _ in range(count)]
        for slot, piece in enumerate(pieces):
            act.insert(MatchReading(match_record_id=proof.id, piece_id=piece.id, slot=slot))
        act.update(one, **{"match_record_id": proof.id, **changes})
        act.update(place, closed=1)
    return code


def _piece(act: Act, line: ReceiptLine, part: Part, place: Place) -> Piece:
    code = act.new_code(Piece, codes.Kind.PIECE)
    piece = act.insert(
        Piece(
            code=code, receipt_line_id=line.id, part_id=part.id, maker_id=part.maker_id, sense=part.sense,
            mark=MARKS.get(part.sense or "", ""), event_id=act.event_id,
        )
    )  # fmt: skip
    _arrive(act, line, 1, Slot(place.id, "serviceable", piece.id))
    return piece


def issue_stock(
    store: Store, job: str, number: str, quantity: int, *, at: datetime, lot_code: str = "S-1", **more: Any
) -> str:
    """Counted stock in a job's place; answers with the receipt line's code."""
    with store.act("issue stock", by=TECHNICIAN, at=at) as act:
        line = _line(act, _the(act, Part, number=number), quantity, lot_code=lot_code, **more)
        _arrive(act, line, quantity, Slot(_the(act, Place, name=job).id, "serviceable"))
    return line.code


def issue_bottle(
    store: Store,
    job: str,
    *,
    at: datetime,
    volume_ul: int = 10_000,
    expires_on: str = "2027-12-31",
    **changes: Any,
) -> str:
    """A bottle of threadlocker in a job's place; answers with its code."""
    with store.act("issue a bottle", by=TECHNICIAN, at=at) as act:
        part = _the(act, Part, number=LOCKER)
        line = _line(act, part, volume_ul, lot_code="TL-1", expiry_kind="date", expires_on=expires_on)
        bottle = act.insert(
            Piece(
                code=act.new_code(Piece, codes.Kind.PIECE), receipt_line_id=line.id, part_id=part.id,
                maker_id=part.maker_id, event_id=act.event_id, **changes,
            )
        )  # fmt: skip
        _arrive(act, line, volume_ul, Slot(_the(act, Place, name=job).id, "serviceable", bottle.id))
    return bottle.code


class Scene:
    """A job on a tail with what was issued to it: two CW and two CCW sets, 16 screws, 16 washers, a bottle."""

    def __init__(
        self,
        store: Store,
        *,
        tail: str = TAIL,
        sets: Sequence[str] = (CW_BLADE, CW_BLADE, CCW_BLADE, CCW_BLADE),
        begin: int = 10,
    ) -> None:
        self.store, self.tail, self.minute = store, tail, begin
        self.job = open_job(store, at=self.now, tail=tail)
        self.sets = [make_set(store, number, at=self.now, where=self.job) for number in sets]
        self.screws = issue_stock(store, self.job, SCREW, 16, at=self.now)
        self.washers = issue_stock(store, self.job, WASHER, 16, at=self.now)
        self.bottle = issue_bottle(store, self.job, at=self.now)

    @property
    def now(self) -> datetime:
        """A later instant each time it is asked."""
        self.minute += 1
        return after(self.minute)

    def spot(self, name: str) -> str:
        """The code of a position."""
        return spot_code(self.store, name, tail=self.tail)

    def fit(self, name: str, rotor_set: str, mark: str, **more: Any) -> Done:
        """Fit a set as the technician."""
        given = {"job": self.job, "by": TECHNICIAN, "at": self.now, **more}
        return fitting.fit_set(self.store, position=self.spot(name), rotor_set=rotor_set, mark=mark, **given)

    def parts(self, *, screws: int = 4, washers: int = 4) -> tuple[TakenPart, ...]:
        """What one hub takes."""
        return (TakenPart(self.screws, screws), TakenPart(self.washers, washers), TakenPart(self.bottle))

    def fasten(self, name: str, **more: Any) -> Done:
        """Fasten as the technician, as the type revision states it."""
        given: dict[str, Any] = {
            "job": self.job, "parts": self.parts(), "torque_mnm": 800, "tool": TORQUE_TOOL, "by": TECHNICIAN,
            "at": self.now, **more,
        }  # fmt: skip
        return fitting.fasten(self.store, position=self.spot(name), **given)

    def inspect(self, name: str, mark: str, **more: Any) -> Done:
        """Inspect as the inspector."""
        given = {"job": self.job, "by": INSPECTOR, "at": self.now, **more}
        return fitting.inspect_position(self.store, position=self.spot(name), mark=mark, **given)

    def whole(self, name: str, rotor_set: str, mark: str) -> None:
        """Fit, fasten and inspect one position."""
        self.fit(name, rotor_set, mark)
        self.fasten(name)
        self.inspect(name, mark)

    def all_four(self) -> None:
        """Fit, fasten and inspect all four positions: FL and RR clockwise, FR and RL counter-clockwise."""
        for name, rotor_set, mark in zip(("FL", "RR", "FR", "RL"), self.sets, "RRLL", strict=True):
            self.whole(name, rotor_set, mark)

    def walk(self, seen: str = "FL:R RR:R FR:L RL:L", **more: Any) -> Done:
        """Walk the positions named, with the marks read on them."""
        pairs = [
            fitting.Seen(self.spot(name), mark) for name, _, mark in (s.partition(":") for s in seen.split())
        ]
        given = {"job": self.job, "by": INSPECTOR, "at": self.now, **more}
        return fitting.walk_positions(self.store, seen=pairs, **given)

    def state(self, name: str) -> str:
        """How far the job is at a position."""
        with self.store.reading() as read:
            job, position = _the(read, Job, code=self.job), position_of(read, name, tail=self.tail)
            return str(_the(read, JobPosition, job_id=job.id, position_id=position.id).state)

    def fits(self) -> list[FitRecord]:
        """All fit records, in order."""
        with self.store.reading() as read:
            return read.select(FitRecord)

    def fly(self, *, minutes: int, flights: int) -> None:
        """Enter a reading of the airframe."""
        with self.store.act("read the hours", by=TECHNICIAN, at=self.now) as act:
            frame = _the(act, Airframe, tail=self.tail)
            act.insert(
                UsageReading(
                    airframe_id=frame.id,
                    minutes=minutes,
                    flights=flights,
                    source="log",
                    event_id=act.event_id,
                )
            )
            act.update(frame, minutes=minutes, flights=flights)

    def change(self, record: type[Record], where: dict[str, Any], **changes: Any) -> None:
        """Change the world behind the acts' back."""
        with self.store.act("change the world", by=MANAGER, at=self.now) as act:
            act.update(_the(act, record, **where), **changes)

    def remove(self, name: str = "FL", mark: str = "R", **more: Any) -> Done:
        """Take a set off as the technician."""
        given: dict[str, Any] = {
            "job": self.job, "reason": "life limit", "by": TECHNICIAN, "at": self.now, **more,
        }  # fmt: skip
        return removing.remove_set(self.store, position=self.spot(name), mark=mark, **given)

    def make_removed_and_serviceable(self, *, from_position: str) -> str:
        """The first CW set as one that came off a position long ago, was inspected and lies in a bin."""
        with self.store.act("long ago", by=TECHNICIAN, at=self.now) as act:
            one, job = _the(act, RotorSet, code=self.sets[0]), _the(act, Job, code=self.job)
            position = position_of(act, from_position, tail=self.tail)
            bin_place = _the(act, Place, name=BIN)
            act.move_container(one.place_id, from_place_id=job.place_id, to_place_id=bin_place.id)
            act.insert(
                Removal(
                    code="T0", job_id=job.id, airframe_id=position.airframe_id, position_id=position.id, rotor_set_id=one.id,
                    purpose="replacement", reason="inspection", sense_found="CW", mark_found="R", event_id=act.event_id,
                )
            )  # fmt: skip
        return self.sets[0]

    def one(self, which: int = 0) -> RotorSet:
        """A set of the scene as it is now."""
        with self.store.reading() as read:
            found: RotorSet = _the(read, RotorSet, code=self.sets[which])
        return found

    def place_of(self, one: RotorSet) -> Place:
        """Where a set is."""
        with self.store.reading() as read:
            return read.get(Place, inside_of(read, one.place_id) or 0)

    def findings(self) -> list[Finding]:
        """The open findings."""
        with self.store.reading() as read:
            return read.select(Finding, "settled_event_id IS NULL")
