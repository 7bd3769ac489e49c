"""How quick the store is after years of work, beside a young store and beside SQL written by hand (N2, N3, N4).

Run: python tests/bench/bench_store.py [--movements N] [--engine sqlite|postgresql] [--small URL --large URL]

Without --small and --large the two stores are made in a temporary folder, the one on PostgreSQL by a server
that waits for the disk as a production server does. Everything that is compared takes turns in one run.
Source of the goals: design section 10.
"""

import argparse
import sys
import tempfile
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from datetime import datetime, timedelta
from functools import partial
from pathlib import Path
from typing import TypeVar

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # a checkout need not be installed

from kittrack.queries.at_aircraft import aircraft_view
from kittrack.queries.kits import issue_view, job_view, kit_view
from kittrack.queries.lookup import what_is
from kittrack.queries.people import who_is
from kittrack.queries.recall import recall_account
from kittrack.queries.trace import trace
from kittrack.queries.verify import verify
from kittrack.services.issuing import issue_kit
from kittrack.services.returning import return_unopened
from kittrack.store.database import Store, open_store
from tests import factories, postgresql_server
from tests.bench import by_hand, questions_by_hand, world
from tests.bench.by_hand import Bare
from tests.bench.measure import HEADING, all_good, say, seconds_of, side_by_side, verdict, verdict_of_slowest

T = TypeVar("T")

SCANS, ISSUES, ACCOUNTS = 300, 150, 30
FLAT, SCAN_P99_MS = 1.3, 20
ISSUE_LIMIT = {"sqlite": 3.0, "postgresql": 1.5}
ACCOUNT_LIMIT, ACCOUNT_MS = 3.0, 10


class Scene:
    """What there is to scan in a store that `world` made, and a clock that moves on with each act."""

    def __init__(self, store: Store) -> None:
        self.store, self._clock = store, world.now_of(store)
        with store.reading() as read:
            self.kits = read.rows("SELECT code, seal FROM kit WHERE state = 'sealed' ORDER BY id")
            jobs = "JOIN job j ON j.airframe_id = a.id AND j.state = 'open'"
            self.jobs = self._codes(read.rows("SELECT code FROM job WHERE state = 'open' ORDER BY id"))
            self.frames = self._codes(read.rows(f"SELECT a.code FROM airframe a {jobs} ORDER BY a.id"))
            self.positions = self._codes(
                read.rows(f"SELECT p.code FROM position p JOIN airframe a ON a.id = p.airframe_id {jobs} ORDER BY p.id")
            )  # fmt: skip
            self.sets = self._codes(
                read.rows("SELECT s.code FROM containment c JOIN rotor_set s ON s.place_id = c.container_id "
                          "JOIN position p ON p.place_id = c.inside_id ORDER BY s.id LIMIT 24")
            )  # fmt: skip
            numbers = (factories.CW_BLADE, factories.SCREW, factories.LOCKER)
            self.lots = [self._middle(read.rows(
                "SELECT l.code FROM lot l JOIN part p ON p.id = l.part_id WHERE p.number = ? ORDER BY l.id", number
            )) for number in numbers]  # fmt: skip

    @property
    def now(self) -> datetime:
        """A later instant each time it is asked."""
        self._clock += timedelta(seconds=30)
        return self._clock

    @staticmethod
    def _codes(rows: Sequence[tuple[str]]) -> list[str]:
        return [row[0] for row in rows]

    @staticmethod
    def _middle(rows: Sequence[tuple[str]]) -> str:
        return rows[len(rows) // 2][0]


# ---- N2: a scan's question -----------------------------------------------------------------------

Question = Callable[[Scene, int], object]

QUESTIONS: dict[str, Question] = {
    "Counter: a job": lambda s, n: job_view(s.store, job=_nth(s.jobs, n)),
    "Counter: a kit": lambda s, n: kit_view(s.store, kit=_nth(s.kits, n)[0], at=s.now),
    "Counter: a kit to a job": lambda s, n: (
        job_view(s.store, job=_nth(s.jobs, n)),
        issue_view(
            s.store, kit=_nth(s.kits, n)[0], job=_nth(s.jobs, n), seal=_nth(s.kits, n)[1], at=s.now,
            giver=factories.CLERK, receiver=factories.TECHNICIAN,
        ),
    ),
    "Counter: a person": lambda s, _: who_is(s.store, who=factories.TECHNICIAN),
    "Aircraft: a job": lambda s, n: aircraft_view(s.store, code=_nth(s.jobs, n)),
    "Aircraft: an airframe": lambda s, n: aircraft_view(s.store, code=_nth(s.frames, n)),
    "any code: a position": lambda s, n: what_is(s.store, code=_nth(s.positions, n)),
    "any code: a set": lambda s, n: what_is(s.store, code=_nth(s.sets, n)),
}  # fmt: skip


def _timed(function: Callable[[], object], _: object) -> float:
    return seconds_of(function)


def _nth(things: Sequence[T], number: int) -> T:
    return things[number % len(things)]


def measure_scans(small: Scene, large: Scene) -> Iterator[bool]:
    """Every question of Counter and Aircraft on the large store beside the small one."""
    say("\nN2 scan to answer: the large store against the small one")
    say(HEADING)
    for name, ask in QUESTIONS.items():
        ours, young = side_by_side(*(_turn(scene, ask) for scene in (large, small)), repeats=SCANS)
        yield verdict_of_slowest(name, ours, young, limit=FLAT, most_ms=SCAN_P99_MS)


def _turn(scene: Scene, ask: Question) -> Callable[[int], float]:
    return lambda number: seconds_of(lambda: ask(scene, number))


# ---- N3: an issue --------------------------------------------------------------------------------


def measure_issues(scene: Scene, *, what: str) -> bool:
    """The issue of a whole kit by the service beside the same by hand; each kit comes back untimed."""
    bare, store = Bare(scene.store.url), scene.store
    back = open_store(store.url)  # a third connection, so that the pages each side keeps are equally stale

    def by_service(kit: str, seal: str, job: str) -> None:
        issue_kit(
            store, kit=kit, job=job, seal=seal, receiver=factories.TECHNICIAN, by=factories.CLERK, at=scene.now
        )  # fmt: skip

    def by_plain_sql(kit: str, seal: str, job: str) -> None:
        by_hand.issue(
            bare, kit=kit, job=job, seal=seal, giver=factories.CLERK, receiver=factories.TECHNICIAN, at=scene.now
        )  # fmt: skip

    def turn(issue: Callable[[str, str, str], None]) -> Callable[[int], float]:
        def take(number: int) -> float:
            (kit, seal), job = _nth(scene.kits, number), _nth(scene.jobs, number)
            seconds = seconds_of(lambda: issue(kit, seal, job))
            return_unopened(
                back, kit=kit, seal=seal, to_place=factories.BIN, by=factories.CLERK, at=scene.now
            )
            return seconds

        return take

    ours, theirs = side_by_side(turn(by_service), turn(by_plain_sql), repeats=ISSUES)
    bare.close()
    back.close()
    return verdict(f"issue of a kit, {what}", ours, theirs, limit=ISSUE_LIMIT[store.engine])


# ---- N4: account and trace -----------------------------------------------------------------------


def measure_accounts(scene: Scene) -> Iterator[bool]:
    """Recall account and trace of lots of each kind beside the best plain SQL for the same answer."""
    bare, store = Bare(scene.store.url), scene.store
    say("\nN4 recall account and trace of a lot: the queries against SQL by hand")
    say(HEADING)
    for name, lot in zip(("blades", "screws", "threadlocker"), scene.lots, strict=True):
        _same_answers(store, bare, lot)
        for what, ours, theirs in (
            (
                "recall account",
                partial(recall_account, store, code=lot),
                partial(questions_by_hand.recall, bare, lot),
            ),
            ("trace", partial(trace, store, code=lot), partial(questions_by_hand.trace, bare, lot)),
        ):
            timings = side_by_side(partial(_timed, ours), partial(_timed, theirs), repeats=ACCOUNTS)
            yield verdict(f"{what}, {name}", *timings, limit=ACCOUNT_LIMIT, enough_ms=ACCOUNT_MS)
    bare.close()  # fmt: skip


def _same_answers(store: Store, bare: Bare, lot: str) -> None:
    account, traced = recall_account(store, code=lot), trace(store, code=lot)
    received, sums, items = questions_by_hand.recall(bare, lot)
    assert received == account.received
    assert sums == {str(kind): quantity for kind, quantity in account.classes if quantity}
    assert sorted((i[7], i[9], i[2], i[4]) for i in items) == sorted(
        (i.serial, i.quantity, i.position, i.inside) for i in account.items
    )
    _, uses, steps = questions_by_hand.trace(bare, lot)
    assert [u[:4] for u in uses] == [(u.event, u.at, u.kind, u.code) for u in traced.uses]
    assert len(steps) == len(traced.steps)


# ---- the run -------------------------------------------------------------------------------------


@contextmanager
def stores(engine: str, *, movements: int) -> Iterator[tuple[Store, Store]]:
    """A small and a large store of an engine, new, and gone afterwards."""
    with tempfile.TemporaryDirectory() as folder:
        if engine == "sqlite":
            yield (
                _made(f"sqlite:///{folder}/small", world.SMALL),
                _made(f"sqlite:///{folder}/large", movements),
            )
            return
        cluster = postgresql_server.temporary_folder()
        try:
            server = postgresql_server.start(cluster, durable=True)
            urls = [postgresql_server.create_database(server) for _ in range(2)]
            yield _made(urls[0], world.SMALL), _made(urls[1], movements)
        finally:
            postgresql_server.stop(cluster)


def _made(url: str, movements: int) -> Store:
    store: list[Store] = []
    seconds = seconds_of(lambda: store.append(world.make_store(url, movements=movements)))
    say(f"made a store of {movements} movements in {seconds:.0f} s")
    return store[0]


def measure(small: Store, large: Store) -> list[bool]:
    """Everything on one engine; a store that was written by hand too must still be sound."""
    say(f"\n==== {large.engine}")
    young, old = Scene(small), Scene(large)
    results = list(measure_scans(young, old))
    say(f"\nN3 issue of a whole kit, durable: the service against SQL by hand\n{HEADING}")
    results += [measure_issues(young, what="small store"), measure_issues(old, what="large store")]
    results += measure_accounts(old)
    faults = verify(small).faults
    say(f"\nthe small store after it all: {len(faults)} faults")
    for store in (small, large):
        store.close()
    return [*results, not faults]


def main(arguments: Sequence[str]) -> int:
    """Measure, and fail where a goal is missed."""
    parser = argparse.ArgumentParser(description="Measure the store beside plain SQL.")
    parser.add_argument("--movements", type=int, default=world.LARGE)
    parser.add_argument("--engine", choices=("sqlite", "postgresql"))
    parser.add_argument("--small", help="a store that world.py made, instead of a new one")
    parser.add_argument("--large", help="another one")
    given = parser.parse_args(arguments)
    if given.small and given.large:
        return all_good(measure(open_store(given.small), open_store(given.large)))
    results: list[bool] = []
    for engine in [given.engine] if given.engine else ["sqlite", "postgresql"]:
        with stores(engine, movements=given.movements) as (small, large):
            results += measure(small, large)
    return all_good(results)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
