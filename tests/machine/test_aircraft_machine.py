"""Random days at an aircraft against a plain model: who refuses, what sits where, what a job still holds.

Jobs are opened, kits issued, returned or opened, sets fitted, fastened, inspected, walked, taken off again; with the
wrong mark, too few screws, the wrong torque, by the one who fitted, in any order. The model predicts exactly the
rules that refuse. After each step every receipt line sums to zero, the recall accounts of screws and sets add up
and say as many fitted as the model, and every set is where the model has it. At the end the store is verified.

KITTRACK_MACHINE_EXAMPLES and KITTRACK_MACHINE_STEPS make the walk longer.
"""

import os
import shutil
import tempfile
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import ClassVar

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)

from kittrack.domain.ledger import AccountClass
from kittrack.errors import Refused
from kittrack.queries.recall import recall_account
from kittrack.queries.verify import verify
from kittrack.services import fitting, holding, issuing, jobs, removing, returning
from kittrack.services.fitting import Seen, TakenPart
from kittrack.services.holding import Scope
from kittrack.services.returning import Leftover
from kittrack.store.act import Reading
from kittrack.store.database import open_store
from kittrack.store.records import Job, JobPosition, Piece, ReceiptLine
from kittrack.store.stock import chain, place_named
from tests.aircraft_scene import TORQUE_TOOL, position_of, spot_code
from tests.factories import (
    CCW_BLADE,
    CLERK,
    CW_BLADE,
    INSPECTOR,
    MANAGER,
    SCREW,
    TAIL,
    TECHNICIAN,
    WASHER,
    after,
    put_bottle,
    put_in_stock,
    put_sets,
    sealed_kit,
)
from tests.postgresql_copies import Copies

EXAMPLES = int(os.environ.get("KITTRACK_MACHINE_EXAMPLES", "10"))
STEPS = int(os.environ.get("KITTRACK_MACHINE_STEPS", "25"))
KITS = 3
MAP = {"FL": "CW", "RR": "CW", "FR": "CCW", "RL": "CCW"}
MARKS = {"CW": "R", "CCW": "L"}
NAMES = st.sampled_from(sorted(MAP))
NUMBERS = st.integers(0, 99)
BINS, JOB, GOODS_IN, CAGE = "bin", "job", "goods-in", "removed-parts cage"
PASSED = ("inspected", "walked")


@dataclass
class SetModel:
    """A set: its sense, the kind of place that it is in (or "position"), the kit around it."""

    sense: str
    where: str = BINS
    kit: str = ""
    is_held: bool = False
    is_fit: bool = True


@dataclass
class KitModel:
    """A kit: its state, its seal, its sets and the bottle that goes along."""

    seal: str
    state: str = "sealed"
    sets: list[str] = field(default_factory=list)
    bottle: str = ""


@dataclass
class SpotModel:
    """A position: how far the job is there, the set on it, and how far the fit of that set got in its job."""

    state: str = "to do"
    rotor_set: str = ""
    fit: str = ""


class Aircraft(RuleBasedStateMachine):
    """A day at one aircraft, one act after another, in any order."""

    make_url: ClassVar[Callable[[], tuple[str, Callable[[], None]]]]

    def __init__(self) -> None:
        super().__init__()
        url, self.clear_away = type(self).make_url()
        self.store = open_store(url)
        self.minute = 0
        self.sets: dict[str, SetModel] = {}
        self.kits: dict[str, KitModel] = {}
        self.spots = {name: SpotModel() for name in MAP}
        self.codes = {name: spot_code(self.store, name) for name in MAP}
        self.holds: dict[str, str] = {}
        self.job, self.is_open, self.served_by = "", False, ""
        self.screws, self.washers, self.bottles = 0, 0, set[str]()
        self.screws_fitted = 0

    def teardown(self) -> None:
        assert verify(self.store).faults == ()
        self.store.close()
        self.clear_away()

    def now(self) -> datetime:
        self.minute += 1
        return after(self.minute)

    @initialize(steps=st.integers(0, 24))
    def fill_the_stores(self, steps: int) -> None:
        self.screw_line = put_in_stock(self.store, SCREW, 16 * KITS, at=self.now(), lot_code="S-1")
        self.washer_line = put_in_stock(self.store, WASHER, 16 * KITS, at=self.now(), lot_code="W-1")
        for _ in range(KITS):
            put_bottle(self.store, volume_ul=10_000, at=self.now(), expires_on="2027-12-31")
        for part, sense in ((CW_BLADE, "CW"), (CCW_BLADE, "CCW")):
            for code in put_sets(self.store, part, 2 * KITS, at=self.now()):
                self.sets[code] = SetModel(sense)
        for number in range(KITS):
            self.take_in_kit(sealed_kit(self.store, at=self.now(), seal=f"seal {number}"), f"seal {number}")
        self.open_a_job()
        for _ in range(steps):
            self.go_on()

    def take_in_kit(self, code: str, seal: str) -> None:
        with self.store.reading() as read:
            rows = read.rows(
                "SELECT s.code, b.code FROM kit_pick p JOIN kit k ON k.id = p.kit_id LEFT JOIN rotor_set s ON s.id = p.rotor_set_id "
                "LEFT JOIN piece b ON b.id = p.piece_id WHERE k.code = ? ORDER BY p.id", code)  # fmt: skip
        kit = KitModel(seal, sets=[s for s, _ in rows if s], bottle=next(b for _, b in rows if b))
        for one in kit.sets:
            self.sets[one].kit = code
        self.kits[code] = kit

    @rule(steps=st.integers(1, 6))
    def work_on(self, steps: int) -> None:
        """Some acts in the order in which they belong; a walk without it seldom gets far."""
        for _ in range(steps):
            self.go_on()

    def go_on(self) -> None:
        """The next act of a job that goes as it should; where something stands in the way, it is refused."""
        if not self.is_open:
            self.open_a_job()
        elif not self.served_by:
            self.make_room()
        elif self.kits[self.served_by].state == "issued":
            self.open_a_kit(0, seal_is_read=True)
        elif (name := self.next_at()) is not None:
            self.go_on_at(name)
        elif any(spot.state != "walked" for spot in self.spots.values()):
            self.walk_around(leaves_one_out=False)
        elif self.left_over():
            self.give_back_what_is_left(sets_too=True)
        else:
            self.close_the_job()

    def make_room(self) -> None:
        """Take off what an earlier job fitted, then have a kit issued while there is one."""
        worn = [name for name, spot in self.spots.items() if spot.rotor_set and spot.fit == "earlier"]
        if worn:
            self.remove_a_set(worn[0])
        else:
            self.issue_a_kit(0)

    def next_at(self) -> str | None:
        """The position to work at next: what is half done first."""
        order = {"not finished": 0, "fitted": 1, "bare": 2, "to do": 2}
        waiting = [name for name, spot in self.spots.items() if spot.state in order]
        return min(waiting, key=lambda name: order[self.spots[name].state], default=None)

    def go_on_at(self, name: str) -> None:
        state = self.spots[name].state
        if state == "not finished":
            self.fasten_a_set(name, 4, 800)
        elif state == "fitted":
            self.inspect_a_position(name, INSPECTOR, mark_is_right=True)
        else:
            self.fit_a_set(0, name, mark_is_right=True, any_set=False)

    # ---- the job and its kits ------------------------------------------------------------------------

    @rule()
    def open_a_job(self) -> None:
        def act(at: datetime) -> None:
            self.job = jobs.open_job(self.store, airframe=TAIL, purpose="walk", by=TECHNICIAN, at=at).codes[0]

        if self.expect({"R11"} if self.is_open else set(), act):
            self.is_open, self.served_by = True, ""
            for spot in self.spots.values():
                spot.state, spot.fit = "to do", "earlier" if spot.rotor_set else ""

    def kit_in(self, number: int, *states: str) -> str:
        fitting_ones = [code for code, kit in self.kits.items() if kit.state in states]
        return fitting_ones[number % len(fitting_ones)] if fitting_ones else ""

    def unfit(self, kit: KitModel) -> set[str]:
        return {"R6"} if any(self.sets[code].is_held for code in kit.sets) else set()

    def closed(self) -> set[str]:
        return set() if self.is_open else {"R11"}

    @rule(number=NUMBERS)
    def issue_a_kit(self, number: int) -> None:
        code = self.kit_in(number, "sealed")
        if not code:
            return
        kit = self.kits[code]
        expected = self.unfit(kit) | self.closed() | ({"R11"} if self.served_by else set())
        if self.expect(
            expected,
            lambda at: issuing.issue_kit(
                self.store, kit=code, job=self.job, seal=kit.seal, receiver=TECHNICIAN, by=CLERK, at=at
            ),
        ):
            kit.state, self.served_by = "issued", code

    @rule(number=NUMBERS, seal_is_read=st.booleans())
    def take_a_kit_back(self, number: int, *, seal_is_read: bool) -> None:
        code = self.kit_in(number, "issued")
        if not code:
            return
        kit = self.kits[code]
        expected = self.unfit(kit) | (set() if seal_is_read else {"R5"})
        seal = kit.seal if seal_is_read else "another"
        if self.expect(
            expected,
            lambda at: returning.return_unopened(
                self.store, kit=code, seal=seal, to_place="A-02", by=CLERK, at=at
            ),
        ):
            kit.state, self.served_by = "sealed", ""

    @rule(number=NUMBERS, seal_is_read=st.booleans())
    def open_a_kit(self, number: int, *, seal_is_read: bool) -> None:
        code = self.kit_in(number, "issued")
        if not code:
            return
        kit = self.kits[code]
        expected = self.unfit(kit) | (set() if seal_is_read else {"R5"})
        seal = kit.seal if seal_is_read else "another"
        if self.expect(
            expected,
            lambda at: issuing.open_at_aircraft(self.store, kit=code, seal=seal, by=TECHNICIAN, at=at),
        ):
            kit.state = "opened"
            for one in kit.sets:
                self.sets[one].kit, self.sets[one].where = "", JOB
            self.screws, self.washers = self.screws + 16, self.washers + 16
            self.bottles.add(kit.bottle)

    # ---- at the positions ----------------------------------------------------------------------------

    def half_done_beside(self, name: str) -> set[str]:
        return (
            {"R11"} if any(s.state == "not finished" for n, s in self.spots.items() if n != name) else set()
        )

    def reopen_walk(self) -> None:
        for spot in self.spots.values():
            if spot.state == "walked":
                spot.state = "inspected"

    @rule(number=NUMBERS, name=NAMES, mark_is_right=st.integers(0, 4).map(bool), any_set=st.booleans())
    def fit_a_set(self, number: int, name: str, *, mark_is_right: bool, any_set: bool) -> None:
        issued = [c for c, s in self.sets.items() if s.where == JOB and s.sense == MAP[name]]
        choice = list(self.sets) if any_set or not issued else issued
        code = choice[number % len(choice)]
        one, spot = self.sets[code], self.spots[name]
        mark = MARKS[one.sense] if mark_is_right else {"R": "L", "L": "R"}[MARKS[one.sense]]
        expected = self.closed() | self.half_done_beside(name) | self.not_from(one)
        expected |= {"R10"} if spot.rotor_set else set()
        expected |= set() if mark_is_right else {"R2"}
        expected |= set() if one.sense == MAP[name] else {"R3", "R6"}
        expected |= {"R6"} if one.is_held or not one.is_fit else set()
        if self.expect(
            expected,
            lambda at: fitting.fit_set(
                self.store, job=self.job, position=self.codes[name], rotor_set=code, mark=mark, by=TECHNICIAN, at=at
            ),
        ):  # fmt: skip
            one.where = name
            spot.state, spot.rotor_set, spot.fit = "not finished", code, "started"
            self.reopen_walk()

    def not_from(self, one: SetModel) -> set[str]:
        """The rule against taking a set from where it is."""
        if one.kit:
            return {"R5"}
        return {JOB: set(), CAGE: {"R10"}}.get(one.where, {"R11"})

    @rule(name=NAMES, screws=st.sampled_from([4, 4, 4, 3]), torque_mnm=st.sampled_from([800, 800, 800, 2000]))
    def fasten_a_set(self, name: str, screws: int, torque_mnm: int) -> None:
        spot = self.spots[name]
        bottle = min(self.bottles or {kit.bottle for kit in self.kits.values()})
        expected = self.closed() | (set() if spot.fit == "started" else {"R3"})
        expected |= {"R4"} if screws != 4 else set()
        expected |= {"R18"} if torque_mnm != 800 else set()
        for there, taken in ((self.screws, screws), (self.washers, 4)):
            expected |= {"R9"} if there == 0 else {"R4"} if there < taken else set()
        expected |= set() if self.bottles else {"R9"}
        parts = (TakenPart(self.screw_line, screws), TakenPart(self.washer_line, 4), TakenPart(bottle))
        if self.expect(
            expected,
            lambda at: fitting.fasten(
                self.store, job=self.job, position=self.codes[name], parts=parts, torque_mnm=torque_mnm,
                tool=TORQUE_TOOL, by=TECHNICIAN, at=at,
            ),
        ):  # fmt: skip
            spot.state, spot.fit = "fitted", "fastened"
            self.screws, self.washers = self.screws - 4, self.washers - 4
            self.screws_fitted += 4

    @rule(
        name=NAMES,
        by=st.sampled_from([INSPECTOR, INSPECTOR, TECHNICIAN]),
        mark_is_right=st.integers(0, 3).map(bool),
    )
    def inspect_a_position(self, name: str, by: str, *, mark_is_right: bool) -> None:
        spot = self.spots[name]
        mark = MARKS[MAP[name]] if mark_is_right else "X"
        expected = {"R8"} if spot.fit != "fastened" else set()
        if not expected:
            expected |= {"R8", "role"} if by == TECHNICIAN else set()
            expected |= set() if mark_is_right else {"R2"}
            expected |= {"R6"} if self.sets[spot.rotor_set].is_held else set()
        if self.expect(
            expected,
            lambda at: fitting.inspect_position(
                self.store, job=self.job, position=self.codes[name], mark=mark, by=by, at=at
            ),
        ):
            spot.state, spot.fit = "inspected", "inspected"

    @rule(name=NAMES)
    def take_off_unfinished(self, name: str) -> None:
        spot = self.spots[name]
        is_unfinished = spot.fit in ("started", "fastened")
        was_fastened = spot.fit == "fastened"
        if self.expect(
            self.closed() | (set() if is_unfinished else {"R10"}),
            lambda at: fitting.take_off_unfinished(
                self.store, job=self.job, position=self.codes[name], reason="walk", by=TECHNICIAN, at=at
            ),
        ):
            self.sets[spot.rotor_set].where = JOB
            self.screws_fitted -= 4 if was_fastened else 0
            spot.state, spot.rotor_set, spot.fit = "bare", "", ""
            self.reopen_walk()

    @rule(name=NAMES)
    def remove_a_set(self, name: str) -> None:
        spot = self.spots[name]
        expected = self.closed() | self.half_done_beside(name)
        expected |= {"R10"} if not spot.rotor_set or spot.fit in ("started", "fastened") else set()
        if self.expect(
            expected,
            lambda at: removing.remove_set(
                self.store, job=self.job, position=self.codes[name], mark=MARKS[MAP[name]], reason="walk",
                by=TECHNICIAN, at=at,
            ),
        ):  # fmt: skip
            one = self.sets[spot.rotor_set]
            one.where, one.is_fit = CAGE, False
            self.screws_fitted -= 4
            spot.state, spot.rotor_set, spot.fit = "bare", "", ""
            self.reopen_walk()

    # ---- the end of a job ----------------------------------------------------------------------------

    def carrying(self) -> list[str]:
        return [name for name in MAP if self.spots[name].rotor_set]

    @rule(leaves_one_out=st.integers(0, 3).map(lambda n: n == 0))
    def walk_around(self, *, leaves_one_out: bool) -> None:
        carrying = self.carrying()
        seen = carrying[1:] if leaves_one_out else carrying
        expected = self.closed() | ({"R3"} if len(seen) < len(carrying) else set())
        for spot in self.spots.values():
            expected |= {"R8"} if spot.state == "fitted" else set() if spot.state in PASSED else {"R11"}
        expected |= {"R6"} if any(self.sets[self.spots[n].rotor_set].is_held for n in carrying) else set()
        if self.expect(
            expected,
            lambda at: fitting.walk_positions(
                self.store, job=self.job, seen=[Seen(self.codes[n], MARKS[MAP[n]]) for n in seen], by=INSPECTOR, at=at
            ),
        ):  # fmt: skip
            for spot in self.spots.values():
                spot.state = "walked"

    def left_over(self) -> bool:
        return bool(self.screws or self.washers or self.bottles) or any(
            s.where == JOB for s in self.sets.values()
        )

    @rule()
    def close_the_job(self) -> None:
        expected = self.closed() | ({"R11"} if self.left_over() else set())
        expected |= {"R11"} if any(kit.state == "issued" for kit in self.kits.values()) else set()
        for spot in self.spots.values():
            expected |= {"inspected": {"R3"}, "fitted": {"R8"}, "walked": set()}.get(spot.state, {"R11"})
        if self.expect(expected, lambda at: jobs.close_job(self.store, job=self.job, by=TECHNICIAN, at=at)):
            self.is_open = False

    @precondition(lambda self: self.screws)
    @rule()
    def lose_a_screw(self) -> None:
        jobs.lose(
            self.store, job=self.job, thing=self.screw_line, reason="dropped", by=TECHNICIAN, at=self.now()
        )
        self.screws -= 1

    @precondition(lambda self: self.left_over())
    @rule(sets_too=st.booleans())
    def give_back_what_is_left(self, *, sets_too: bool) -> None:
        loose = [code for code, one in self.sets.items() if one.where == JOB and sets_too]
        items = [Leftover(code) for code in (*sorted(self.bottles), *loose)]
        items += [Leftover(self.screw_line, self.screws)] if self.screws else []
        items += [Leftover(self.washer_line, self.washers)] if self.washers else []
        if not items:
            return
        returning.return_leftovers(self.store, job=self.job, items=items, by=CLERK, at=self.now())
        self.screws, self.washers, self.bottles = 0, 0, set()
        for code in loose:
            self.sets[code].where, self.sets[code].is_fit = GOODS_IN, False

    # ---- holds ---------------------------------------------------------------------------------------

    @precondition(lambda self: len(self.holds) < 2)
    @rule(number=NUMBERS)
    def hold_a_set(self, number: int) -> None:
        code = list(self.sets)[number % len(self.sets)]
        done = holding.place_hold(
            self.store, scope=Scope(code=code), reason="walk", reference="", by=TECHNICIAN, at=self.now()
        )
        self.holds[done.codes[0]] = code
        self.sets[code].is_held = True

    @precondition(lambda self: self.holds)
    @rule(number=NUMBERS)
    def release_a_hold(self, number: int) -> None:
        hold = list(self.holds)[number % len(self.holds)]
        holding.release_hold(self.store, hold=hold, reference="W-1", reason="walk", by=MANAGER, at=self.now())
        code = self.holds.pop(hold)
        self.sets[code].is_held = code in self.holds.values()

    # ---- what is always so ---------------------------------------------------------------------------

    def expect(self, rules: set[str], act: Callable[[datetime], object]) -> bool:
        """Do the act; it is refused under exactly the rules named, or done when there are none. Whether it was done."""
        if not rules:
            act(self.now())
            return True
        with pytest.raises(Refused) as refused:
            act(self.now())
        assert refused.value.rules == rules, str(refused.value)
        return False

    @invariant()
    def every_receipt_line_sums_to_zero(self) -> None:
        with self.store.reading() as read:
            sums = "SELECT receipt_line_id FROM holding GROUP BY receipt_line_id HAVING sum(quantity) <> 0"
            assert read.rows(sums) == []

    @invariant()
    def every_account_adds_up_and_says_what_is_fitted(self) -> None:
        if not self.sets:
            return
        sets_fitted = dict.fromkeys(MARKS, 0)
        for name in self.carrying():
            sets_fitted[MAP[name]] += 1
        for lot, fitted in (
            ("S-1", self.screws_fitted),
            (f"BLADES-1-{CW_BLADE}", 2 * sets_fitted["CW"]),
            (f"BLADES-1-{CCW_BLADE}", 2 * sets_fitted["CCW"]),
        ):
            account = recall_account(self.store, lot_code=lot)
            assert account.missing == 0
            assert dict(account.classes).get(AccountClass.FITTED, 0) == fitted, lot

    @invariant()
    def every_set_is_where_the_model_has_it(self) -> None:
        with self.store.reading() as read:
            for code, one in self.sets.items():
                around = chain(read, place_named(read, code).id)
                if one.kit:
                    assert around[1].code == one.kit
                elif one.where in MAP:
                    assert around[1].id == position_of(read, one.where).place_id
                else:
                    assert around[1].kind == one.where

    @invariant()
    def the_job_holds_what_the_model_has_and_is_as_far(self) -> None:
        if not self.job:
            return
        with self.store.reading() as read:
            job = read.find(Job, code=self.job)
            assert job is not None
            assert (job.state == "open") == self.is_open
            assert self._in_job(read, job) == (self.screws, self.washers, self.bottles)
            states = {p.position_id: p.state for p in read.select(JobPosition, "job_id = ?", job.id)}
            for name, spot in self.spots.items():
                assert states[position_of(read, name).id] == spot.state, name

    def _in_job(self, read: Reading, job: Job) -> tuple[int, int, set[str]]:
        loose: dict[str, int] = {}
        bottles: set[str] = set()
        for line, piece, quantity in read.rows(
            "SELECT receipt_line_id, piece_id, quantity FROM holding WHERE place_id = ?", job.place_id
        ):
            if piece:
                bottles.add(read.get(Piece, piece).code)
            else:
                loose[read.get(ReceiptLine, line).code] = quantity
        return loose.get(self.screw_line, 0), loose.get(self.washer_line, 0), bottles


def _walk(machine: type[Aircraft]) -> None:
    run_state_machine_as_test(
        machine,
        settings=settings(
            max_examples=EXAMPLES,
            stateful_step_count=STEPS,
            deadline=None,
            derandomize=EXAMPLES < 50,
            suppress_health_check=list(HealthCheck),
        ),
    )


def test_random_days_at_an_aircraft_on_sqlite(sqlite_template: Path) -> None:
    def make_url() -> tuple[str, Callable[[], None]]:
        folder = Path(tempfile.mkdtemp(prefix="kittrack-walk-"))
        shutil.copyfile(sqlite_template, folder / "walk.kittrack")
        return f"sqlite:///{folder / 'walk.kittrack'}", lambda: shutil.rmtree(folder)

    class OnSqlite(Aircraft):
        pass

    OnSqlite.make_url = staticmethod(make_url)
    _walk(OnSqlite)


@pytest.mark.postgresql
def test_random_days_at_an_aircraft_on_postgresql(postgresql_worlds: Copies) -> None:
    def make_url() -> tuple[str, Callable[[], None]]:
        url = postgresql_worlds.take()
        return url, lambda: postgresql_worlds.give_back(url)

    class OnPostgresql(Aircraft):
        pass

    OnPostgresql.make_url = staticmethod(make_url)
    _walk(OnPostgresql)
