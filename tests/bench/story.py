"""The invented life of a fleet: kits built, issued and fitted, rotors taken off, scrapped or put back on the shelf."""

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from kittrack.domain import codes
from kittrack.services.kitting import begin, write_lines
from kittrack.store.act import Slot
from kittrack.store.records import (
    Airframe,
    FitRecord,
    Hold,
    HoldItem,
    Inspection,
    Job,
    JobPosition,
    Kit,
    KitLine,
    KitPick,
    Place,
    Position,
    ReceiptLine,
    Removal,
    RotorSet,
    Tool,
    TorqueRecord,
    UsageReading,
    Voucher,
)
from tests.bench.bulk import BulkAct
from tests.bench.goods_in import DEAD, MARKS, ON_HOLD, READY, Facts, GoodsIn, Supply

SCREW, WASHER, LOCKER = "screw", "washer", "threadlocker"
LOT_SIZES = {SCREW: (960, 0), WASHER: (960, 0), LOCKER: (20_000, 730)}
"""What comes in at once, and after how many days it expires (0: never)."""

SERVICE_MINUTES = 4_000
"""How long rotors stay on: within the life of 300 h even where a set is used a second time."""


@dataclass
class Fitted:
    """What sits on a position, and how many minutes its airframe had then."""

    rotor_set: RotorSet
    record: FitRecord
    minutes: int


@dataclass
class Frame:
    """An airframe of the fleet with its positions, their senses and what is fitted on them."""

    row: Airframe
    positions: Sequence[tuple[Position, str]]
    fitted: dict[int, Fitted] = field(default_factory=dict)


@dataclass
class Sealed:
    """A sealed kit, where it lies and what is in it."""

    kit: Kit
    place: Place
    where: Place
    sets: list[RotorSet]
    fixings: dict[str, tuple[ReceiptLine, int, int]]


@dataclass
class Work:
    """An open job on an airframe."""

    job: Job
    place: Place
    frame: Frame
    states: dict[int, JobPosition]


class Story(GoodsIn):
    """One rotor change after another over the fleet."""

    def __init__(self, act: BulkAct, facts: Facts, fleet: Sequence[Frame], *, start: datetime) -> None:
        super().__init__(act, facts, start=start)
        self.fleet = deque(fleet)
        self.supplies: dict[str, Supply] = {}

    def change_rotors(self) -> None:
        """One whole rotor change of the next airframe, from the kit to the closed job."""
        self.fleet.rotate(-1)
        frame = self.fleet[0]
        sealed = self.seal_a_kit()
        self._fly(frame)
        work = self.open_job(frame)
        voucher = self._issue_and_open(sealed, work)
        removed = []
        for position, sense in frame.positions:
            if position.id in frame.fitted:
                removed.append(self._remove(work, position))
            one = next(s for s in sealed.sets if s.sense == sense)
            sealed.sets.remove(one)
            self._fit(work, position, one, sealed)
        self._walk_and_close(work, voucher)
        self._settle(removed)

    # ---- kits ------------------------------------------------------------------------------------

    def seal_a_kit(self) -> Sealed:
        """A kit for the shelf, built, checked by another, sealed and put into a bin."""
        act, facts = self.act, self.facts
        for sense, ready in self.shelf.items():
            while len(ready) < len(facts.chosen):
                self.make_sets(sense)
        supplies = {kind: self._supply(kind) for kind in LOT_SIZES}
        sealed = self._build(supplies)
        with self.tell("check a kit", "builder"):
            sealed.place = act.update(sealed.place, closed=1)
            kit = act.update(sealed.kit, state="checked", checked_by_id=facts.people["builder"].id)
        with self.tell("seal a kit", "builder"):
            until = supplies[LOCKER].line.expires_on
            sealed.kit = act.update(kit, state="sealed", seal=f"S{kit.id:06d}", expires_on=until)
        with self.tell("put a kit away"):
            act.move_container(kit.place_id, from_place_id=facts.bench.id, to_place_id=sealed.where.id)
        return sealed

    def _supply(self, kind: str) -> Supply:
        """Enough stock of a fixing for one kit, good for a quarter of a year at least where it expires."""
        size, days = LOT_SIZES[kind]
        supply, need = self.supplies.get(kind), max(d.quantity for d in self.facts.demand if d.kind == kind)
        soon = (self.clock + timedelta(days=90)).date().isoformat()
        if supply is None or supply.left < need or (days and (supply.line.expires_on or "") <= soon):
            supply = self.stock_up(self.facts.fixings[kind], size, expires_in_days=days)
            self.supplies[kind] = supply
        return supply

    def _build(self, supplies: dict[str, Supply]) -> Sealed:
        act, facts = self.act, self.facts
        with self.tell("build a kit", minutes=10):
            kit = begin(act, facts.revision, facts.bench)
            sealed = Sealed(
                kit, Place(id=kit.place_id, code=kit.code, kind="kit", name=kit.code), self.some_bin(), [], {}
            )
            for line in write_lines(act, kit, facts.chosen, facts.demand):
                if line.kind == "rotor set":
                    sealed.sets += [self._pick_set(kit, line) for _ in range(line.quantity)]
                else:
                    self._pick_stock(kit, line, supplies[line.kind])
                    dose = line.per_hub or line.quantity // len(facts.chosen)
                    sealed.fixings[line.kind] = (supplies[line.kind].line, line.quantity, dose)
        return sealed  # fmt: skip

    def _pick_set(self, kit: Kit, line: KitLine) -> RotorSet:
        one, place = self.shelf[line.sense or ""].popleft()
        self.act.move_container(one.place_id, from_place_id=place.id, to_place_id=kit.place_id)
        self.act.insert(
            KitPick(
                kit_id=kit.id, kit_line_id=line.id, rotor_set_id=one.id, quantity=1, event_id=self.act.event_id
            )
        )  # fmt: skip
        return one

    def _pick_stock(self, kit: Kit, line: KitLine, supply: Supply) -> None:
        """Screws and washers hub by hub, threadlocker in one draw."""
        by_hub = line.kind in (SCREW, WASHER)
        hubs = [c.position.id for c in self.facts.chosen] if by_hub else [None]
        here = Slot(supply.place.id, READY)
        for hub in hubs:
            quantity = line.per_hub if by_hub else line.quantity
            self.act.move_stock(supply.line.id, quantity, from_slot=here, to_slot=here.at_place(kit.place_id))
            self.act.insert(
                KitPick(
                    kit_id=kit.id, kit_line_id=line.id, receipt_line_id=supply.line.id, quantity=quantity,
                    type_position_id=hub, event_id=self.act.event_id,
                )
            )  # fmt: skip
            supply.left -= quantity

    # ---- jobs ------------------------------------------------------------------------------------

    def _fly(self, frame: Frame) -> None:
        """The hours since the last change."""
        minutes = (frame.row.minutes or 0) + SERVICE_MINUTES + self.chance.randrange(2_000)
        flights = (frame.row.flights or 0) + 200
        with self.tell("enter a reading", "technician", minutes=30):
            self.act.insert(
                UsageReading(
                    airframe_id=frame.row.id, minutes=minutes, flights=flights, source="flight log",
                    event_id=self.act.event_id,
                )
            )  # fmt: skip
            frame.row = self.act.update(frame.row, minutes=minutes, flights=flights)

    def open_job(self, frame: Frame) -> Work:
        """A job on all positions of an airframe."""
        act = self.act
        with self.tell("open a job", "technician"):
            code = act.new_code(Job, codes.Kind.JOB)
            place = act.insert(Place(code=code, kind="job", name=code))
            job = act.insert(
                Job(
                    code=code,
                    place_id=place.id,
                    airframe_id=frame.row.id,
                    purpose="rotor change",
                    event_id=act.event_id,
                )
            )
            states = {
                p.id: act.insert(JobPosition(job_id=job.id, position_id=p.id)) for p, _ in frame.positions
            }
        return Work(job, place, frame, states)

    def _issue_and_open(self, sealed: Sealed, work: Work) -> Voucher:
        act, facts, kit = self.act, self.facts, sealed.kit
        with self.tell("issue a kit", second="technician"):
            act.move_container(kit.place_id, from_place_id=sealed.where.id, to_place_id=facts.hands.id)
            kit = act.update(kit, state="issued")
            voucher = act.insert(
                Voucher(
                    code=act.new_code(Voucher, codes.Kind.VOUCHER), kit_id=kit.id, job_id=work.job.id,
                    airframe_id=work.frame.row.id, giver_id=act.by_id,
                    receiver_id=facts.people["technician"].id, event_id=act.event_id,
                )
            )  # fmt: skip
        with self.tell("open a kit at the aircraft", "technician"):
            place = act.update(sealed.place, closed=0)
            for one in sealed.sets:
                act.move_container(one.place_id, from_place_id=kit.place_id, to_place_id=work.place.id)
            for line, quantity, _ in sealed.fixings.values():
                here = Slot(kit.place_id, READY)
                act.move_stock(line.id, quantity, from_slot=here, to_slot=here.at_place(work.place.id))
            act.update(place, active=0)
            act.update(kit, state="opened")
        return voucher

    # ---- at the aircraft -------------------------------------------------------------------------

    def _remove(self, work: Work, position: Position) -> RotorSet:
        """A set comes off: to the cage with a tag, what fastened it to scrap."""
        act, off, frame = self.act, work.frame.fitted.pop(position.id), work.frame.row
        used = (off.rotor_set.used_minutes or 0) + (frame.minutes or 0) - off.minutes
        cage = self.facts.ends["removed-parts cage"].id
        with self.tell("remove a rotor set (replacement)", "technician", reason="life reached"):
            act.update(off.record, state="removed")
            aged = act.update(off.rotor_set, used_minutes=used)
            act.move_container(aged.place_id, from_place_id=position.place_id, to_place_id=cage)
            aged = act.update(aged, condition=ON_HOLD)
            act.insert(
                Removal(
                    code=act.new_code(Removal, codes.Kind.TAG), job_id=work.job.id, airframe_id=frame.id,
                    position_id=position.id, rotor_set_id=aged.id, purpose="replacement", reason="life reached",
                    sense_found=aged.sense, mark_found=MARKS[aged.sense], used_minutes=used, event_id=act.event_id,
                )
            )  # fmt: skip
            for line, quantity in (
                (off.record.screw_line_id, off.record.screws),
                (off.record.washer_line_id, off.record.washers),
            ):
                act.move_stock(
                    line or 0,
                    quantity,
                    from_slot=Slot(position.place_id, READY),
                    to_slot=self.at("scrapped", DEAD),
                )
            work.states[position.id] = act.update(work.states[position.id], state="bare")
        return aged  # fmt: skip

    def _fit(self, work: Work, position: Position, one: RotorSet, sealed: Sealed) -> None:
        """A set goes on, is fastened and inspected by another person."""
        act, frame, state = self.act, work.frame.row, work.states[position.id]
        with self.tell("fit a rotor set", "technician"):
            act.move_container(one.place_id, from_place_id=work.place.id, to_place_id=position.place_id)
            record = act.insert(
                FitRecord(
                    job_id=work.job.id, position_id=position.id, rotor_set_id=one.id, sense=one.sense,
                    mark=MARKS[one.sense], map_revision=1, fitted_by_id=act.by_id, airframe_minutes=frame.minutes,
                    airframe_flights=frame.flights, event_id=act.event_id,
                )
            )  # fmt: skip
            state = act.update(state, state="not finished")
        with self.tell("fasten a rotor set", "technician", minutes=5):
            record, one = self._fasten(work, position, one, record, sealed)
            state = act.update(state, state="fitted")
        with self.tell("inspect a position", "inspector"):
            record = act.update(
                record, state="inspected", inspected_by_id=act.by_id, inspection="second person"
            )
            work.states[position.id] = act.update(state, state="inspected")
        work.frame.fitted[position.id] = Fitted(one, record, frame.minutes or 0)

    def _fasten(
        self, work: Work, position: Position, one: RotorSet, record: FitRecord, sealed: Sealed
    ) -> tuple[FitRecord, RotorSet]:
        act, frame, tool = self.act, work.frame.row, self.facts.torque_tool
        here, there = Slot(work.place.id, READY), Slot(position.place_id, READY)
        for kind, (line, _, per_hub) in sealed.fixings.items():
            to_slot = self.at("consumed", READY) if kind == LOCKER else there
            act.move_stock(line.id, per_hub, from_slot=here, to_slot=to_slot)
        (screw, _, screws), (washer, _, washers), (locker, _, dose) = (
            sealed.fixings[k] for k in (SCREW, WASHER, LOCKER)
        )
        fastened = act.update(
            record, state="fastened", screw_line_id=screw.id, screws=screws, washer_line_id=washer.id,
            washers=washers, locker_line_id=locker.id, locker_ul=dose, torque_method="torque", torque_mnm=800,
            tool_id=tool.id,
        )  # fmt: skip
        act.insert(
            TorqueRecord(
                position_id=position.id, fit_record_id=record.id, purpose="fit", torque_mnm=800, tool_id=tool.id,
                airframe_minutes=frame.minutes, event_id=act.event_id,
            )
        )  # fmt: skip
        return fastened, act.update(one, used_since_on=one.used_since_on or self.clock.date().isoformat())

    def _walk_and_close(self, work: Work, voucher: Voucher) -> None:
        act = self.act
        with self.tell("walk all positions", "inspector"):
            for position, _ in work.frame.positions:
                fitted = work.frame.fitted[position.id]
                fitted.record = act.update(fitted.record, walked_by_id=act.by_id)
                act.update(work.states[position.id], state="walked")
            job = act.update(work.job, checked_event_id=act.event_id)
        with self.tell("close a job", "technician"):
            act.update(voucher, state="closed")
            act.update(work.place, active=0)
            act.update(job, state="closed", closed_event_id=act.event_id)

    # ---- what came off ---------------------------------------------------------------------------

    def _settle(self, removed: Sequence[RotorSet]) -> None:
        """Removed sets are looked at: one in five goes back to the shelf once, the rest is scrapped."""
        act, cage, scrapped = (
            self.act,
            self.facts.ends["removed-parts cage"].id,
            self.facts.ends["scrapped"].id,
        )
        for one in removed:
            again = self.chance.randrange(5) == 0 and (one.used_minutes or 0) < 8_000
            with self.tell("inspect a removed set", "inspector", reason="after removal"):
                act.insert(
                    Inspection(
                        rotor_set_id=one.id, quantity=1, result="accepted" if again else "rejected", sense=one.sense,
                        event_id=act.event_id,
                    )
                )  # fmt: skip
                seen = act.update(one, condition=READY if again else "unserviceable")
            target = self.some_bin()
            with self.tell("move" if again else "scrap", reason="" if again else "worn"):
                act.move_container(
                    one.place_id, from_place_id=cage, to_place_id=target.id if again else scrapped
                )
                if not again:
                    act.update(seen, condition=DEAD)
            if again:
                self.shelf[one.sense].append((seen, target))

    def hold_and_release(self, line: ReceiptLine, *, is_open: bool) -> None:
        """A hold on a line; released again at once where it turns out to be nothing."""
        act = self.act
        with self.tell("place a hold", "inspector", reason="supplier's notice"):
            hold = act.insert(
                Hold(
                    code=act.new_code(Hold, codes.Kind.HOLD), scope="receipt line", scope_text=f"receipt line {line.code}",
                    reason="supplier's notice", reference=f"SN-{act.event_id}", placed_event_id=act.event_id,
                )
            )  # fmt: skip
            item = act.insert(HoldItem(hold_id=hold.id, receipt_line_id=line.id))
        if is_open:
            return
        with self.tell("release a hold", "manager", reason="checked, nothing found"):
            act.update(item, released_event_id=act.event_id)
            act.update(hold, released_event_id=act.event_id, release_reference="SN closed")

    def calibrate(self, tool: Tool) -> Tool:
        """A tool comes back from its calibration, good for a year."""
        with self.tell("calibrate a tool", "manager", minutes=60):
            until = self.clock.replace(year=self.clock.year + 1).date().isoformat()
            return self.act.update(tool, calibrated_until_on=until)
