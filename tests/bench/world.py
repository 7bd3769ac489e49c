"""A store as it stands after years of work: ten thousand or a million movements, the same ones every time.

Run: python tests/bench/world.py URL [--movements N]

The small invented world of the tests' factories is founded by the services; then `story.py` tells rotor
changes over a fleet until there are enough movements. At the end some kits lie sealed on the shelf and some
jobs are open, for the acts that are to be measured. `verify` finds nothing on the result.
"""

import argparse
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import datetime, timedelta
from pathlib import Path
from time import perf_counter
from typing import TypeVar

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # a checkout need not be installed

from kittrack.domain.kits import kit_demand
from kittrack.services import coverage, founding
from kittrack.store.act import Act, Reading, read_instant_text
from kittrack.store.database import Store, open_store
from kittrack.store.records import (
    Airframe,
    Company,
    Part,
    Person,
    Place,
    Position,
    Record,
    SenseMapLine,
    Site,
    Tool,
)
from tests import factories
from tests.bench.bulk import BulkAct
from tests.bench.goods_in import Facts
from tests.bench.story import LOCKER, SCREW, WASHER, Frame, Story

R = TypeVar("R", bound=Record)

SMALL, LARGE = 10_000, 1_000_000
YEARS = 10
MOVEMENTS_A_CHANGE = 93
"""About as many come with one rotor change, its deliveries and its share of other stock included."""

SPARE_KITS, OPEN_JOBS = 24, 12
BINS, OTHER_PARTS = 60, 120


def make_store(url: str, *, movements: int) -> Store:
    """A new store with at least so many movements, open. A tenth more airframes than it takes at least."""
    store = open_store(url, create=True)
    factories.make_world(store)
    fleet = 20 if movements < 100_000 else 120
    with store.act("set up years of work", by=factories.MANAGER, at=factories.after(1)) as act:
        _more_places(act)
        _more_parts(act)
        _more_airframes(act, fleet)
    with _made_quick(store):
        _tell(store, movements=movements)
    return store


def now_of(store: Store) -> datetime:
    """A moment some hours after the last act of a store."""
    with store.reading() as read:
        return read_instant_text(read.value("SELECT max(at) FROM event")) + timedelta(hours=2)


# ---- the small world, made larger ----------------------------------------------------------------


def _more_places(act: Act) -> None:
    site = _the(act, Site, name=factories.SITE)
    for number in range(1, BINS + 1):
        founding.write_place(act, "bin", f"B-{number:02d}", site)


def _more_parts(act: Act) -> None:
    maker = _the(act, Company, name="Invented Rotors")
    for number in range(1, OTHER_PARTS + 1):
        act.insert(
            Part(
                number=f"OT-{number:04d}", maker_id=maker.id, name=f"other part {number}", kind="other",
                paper_class="standard part", source="invented",
            )
        )  # fmt: skip


def _more_airframes(act: Act, fleet: int) -> None:
    known = act.select(Airframe)
    revision = coverage.find_revision(act, "QA A")
    for number in range(len(known) + 1, fleet + 1):
        factories._airframe(act, f"QA-{number:02d}", revision)


# ---- the story -----------------------------------------------------------------------------------


def _tell(store: Store, *, movements: int) -> None:
    with store.reading() as read:
        facts, fleet = _facts(read), _fleet(read)
    act = BulkAct(store, at=factories.after(2))
    story = Story(act, facts, fleet, start=factories.after(24 * 60))
    begun = story.clock
    pause = timedelta(days=365 * YEARS) * MOVEMENTS_A_CHANGE / movements
    tools = [facts.torque_tool, facts.scale]
    changes = 0
    while act.moved < movements:
        changes += 1
        story.change_rotors()
        if changes % 4 == 0:
            line = story.use_others()
            if changes % 200 == 0:
                story.hold_and_release(line, is_open=changes % 1000 == 0)
        story.clock = max(story.clock, begun + changes * pause)
        if (tools[0].calibrated_until_on or "") < story.clock.date().isoformat():
            tools = [story.calibrate(tool) for tool in tools]
    for _ in range(SPARE_KITS):
        story.seal_a_kit()
    for frame in list(story.fleet)[:OPEN_JOBS]:
        story.open_job(frame)
    act.flush()


def _facts(read: Reading) -> Facts:
    revision = coverage.find_revision(read, "QA A")
    chosen = coverage.choose(read, revision, coverage.ALL)
    covered, _ = coverage.covered(read, chosen, issuable={})
    hands = _person(read, factories.TECHNICIAN)
    return Facts(
        people={
            role: _person(read, name)
            for role, name in (
                ("clerk", factories.CLERK), ("builder", factories.BUILDER), ("technician", factories.TECHNICIAN),
                ("inspector", factories.INSPECTOR), ("manager", factories.MANAGER),
            )
        },
        ends={
            kind: _the(read, Place, kind=kind)
            for kind in ("supplier", "goods-in", "consumed", "scrapped", "removed-parts cage")
        },
        bins=read.select(Place, "kind = 'bin'"),
        bench=_the(read, Place, kind="bench"),
        hands=_the(read, Place, kind="hands", person_id=hands.id),
        rotor_parts={
            "CW": _the(read, Part, number=factories.CW_BLADE),
            "CCW": _the(read, Part, number=factories.CCW_BLADE),
        },
        fixings={
            SCREW: _the(read, Part, number=factories.SCREW),
            WASHER: _the(read, Part, number=factories.WASHER),
            LOCKER: _the(read, Part, number=factories.LOCKER),
        },
        others=read.select(Part, "kind = 'other'"),
        suppliers=read.select(Company),
        revision=revision,
        chosen=chosen,
        demand=kit_demand(covered),
        torque_tool=_the(read, Tool, kind="torque"),
        scale=_the(read, Tool, kind="scale"),
    )  # fmt: skip


def _fleet(read: Reading) -> list[Frame]:
    fleet = []
    for row in read.select(Airframe):
        lines = read.select(SenseMapLine, "sense_map_id = ?", row.sense_map_id or 0)
        fleet.append(Frame(row, [(read.get(Position, line.position_id), line.sense) for line in lines]))
    return fleet


def _person(read: Reading, name: str) -> Person:
    return _the(read, Person, name=name)


def _the(read: Reading, record: type[R], **equal: object) -> R:
    found = read.find(record, **equal)
    assert found is not None, equal
    return found


# ---- how the engines are hurried -----------------------------------------------------------------


@contextmanager
def _made_quick(store: Store) -> Iterator[None]:
    """References are checked all at once at the end, and nothing waits for the disk until then."""
    database = store._database
    if store.engine == "sqlite":
        for pragma in ("synchronous = OFF", "foreign_keys = OFF", "cache_size = -400000"):
            database.execute_sql(f"PRAGMA {pragma}")
        yield
        broken = database.execute_sql("PRAGMA foreign_key_check").fetchall()
        assert not broken, broken[:3]
        for pragma in (
            "synchronous = FULL",
            "foreign_keys = ON",
            "cache_size = -2000",
            "wal_checkpoint(TRUNCATE)",
        ):
            database.execute_sql(f"PRAGMA {pragma}")
        return
    rules = database.execute_sql(
        "SELECT conrelid::regclass::text, conname, pg_get_constraintdef(oid) FROM pg_constraint "
        "WHERE contype = 'f' AND connamespace = current_schema()::regnamespace ORDER BY conname"
    ).fetchall()
    database.execute_sql("SET synchronous_commit = off")
    for table, name, _ in rules:
        database.execute_sql(f'ALTER TABLE {table} DROP CONSTRAINT "{name}"')
    yield
    for table, name, rule in rules:
        database.execute_sql(f'ALTER TABLE {table} ADD CONSTRAINT "{name}" {rule}')
    database.execute_sql("ANALYZE")  # the server does so by itself some minutes later
    database.execute_sql("SET synchronous_commit = on")


def main(arguments: Sequence[str]) -> None:
    """Make a store and say how long it took."""
    parser = argparse.ArgumentParser(description="Make a store with years of invented work in it.")
    parser.add_argument("url")
    parser.add_argument("--movements", type=int, default=LARGE)
    given = parser.parse_args(arguments)
    begun = perf_counter()
    store = make_store(given.url, movements=given.movements)
    with store.reading() as read:
        moved, events = read.value("SELECT count(*) FROM movement"), read.value("SELECT count(*) FROM event")
    sys.stdout.write(f"{moved} movements, {events} events in {perf_counter() - begun:.1f} s\n")
    store.close()


if __name__ == "__main__":
    main(sys.argv[1:])
