"""How many acts a second one store takes from 1, 5 and 20 writers, and how long each of them waits.

Run: python tests/bench/bench_load.py [--engine sqlite|postgresql] [--seconds N]

Every writer is a process with a connection of its own that moves its own screws between two bins by the service,
one act after the other, with no pause: more than that many people ever do. Both engines wait for the disk at
each act. At the end the store is verified: every act that was confirmed is an event, and none is there twice.
"""

import argparse
import multiprocessing
import sys
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime
from multiprocessing.synchronize import Barrier
from pathlib import Path
from time import perf_counter

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # a checkout need not be installed

from kittrack.queries.verify import verify
from kittrack.services.moving import MoveSpec, move_things
from kittrack.store.database import Store, open_store
from tests import factories, postgresql_server
from tests.bench.measure import Timing, all_good, say

WRITERS = (1, 5, 20)
SECONDS = 10.0
HEADING = f"{'writers':>10} {'acts':>8} {'acts/s':>8} {'median ms':>10} {'p99 ms':>10} {'longest ms':>11}"


def write(
    url: str, line: str, seconds: float, barrier: Barrier, told: "multiprocessing.SimpleQueue[list[float]]"
) -> None:
    """Move one screw to and fro until the time is over, and tell how many seconds each act took."""
    store, times = open_store(url), []
    here, there = factories.BIN, factories.BIN2
    barrier.wait()
    until = perf_counter() + seconds
    while perf_counter() < until:
        begun = perf_counter()
        things = [MoveSpec(line, 1, from_place=here)]
        move_things(store, things=things, to=there, by=factories.CLERK, at=datetime.now(UTC))
        times.append(perf_counter() - begun)
        here, there = there, here
    store.close()
    told.put(times)


def load(url: str, lines: Sequence[str], *, seconds: float) -> bool:
    """As many writers as there are lines at once; says what they got done, and whether the store is sound."""
    context = multiprocessing.get_context("spawn")
    barrier, told = context.Barrier(len(lines)), context.SimpleQueue()
    store = open_store(url)
    before = _events(store)
    writers = [context.Process(target=write, args=(url, line, seconds, barrier, told)) for line in lines]
    for writer in writers:
        writer.start()
    times = [seconds for _ in writers for seconds in told.get()]
    for writer in writers:
        writer.join()
    timing = Timing(tuple(sorted(t * 1000 for t in times)))
    say(
        f"{len(lines):>10} {len(times):>8} {len(times) / seconds:>8.0f} {timing.median_ms:>10.1f} {timing.p99_ms:>10.1f} "
        f"{timing.times_ms[-1]:>11.1f}"
    )
    recorded, faults = _events(store) - before, verify(store).faults
    store.close()
    if recorded != len(times) or faults:
        say(f"{recorded} events for {len(times)} confirmed acts, {len(faults)} faults")
    return recorded == len(times) and not faults


def _events(store: Store) -> int:
    with store.reading() as read:
        return int(read.value("SELECT count(*) FROM event"))


@contextmanager
def durable_store(engine: str) -> Iterator[str]:
    """The address of a new store that waits for the disk, gone afterwards."""
    with tempfile.TemporaryDirectory() as folder:
        if engine == "sqlite":
            yield f"sqlite:///{folder}/store"
            return
        cluster = postgresql_server.temporary_folder()
        try:
            yield postgresql_server.create_database(postgresql_server.start(cluster, durable=True))
        finally:
            postgresql_server.stop(cluster)


def measure(engine: str, *, seconds: float) -> list[bool]:
    """The load of one engine with each number of writers, on one store."""
    say(f"\n==== {engine}, {seconds:g} s each\n{HEADING}")
    with durable_store(engine) as url:
        store = open_store(url, create=True)
        factories.make_world(store)
        lines = [
            factories.put_in_stock(store, factories.SCREW, 8, at=factories.after(1), lot_code=f"LOT-{n}")
            for n in range(max(WRITERS))
        ]
        store.close()
        return [load(url, lines[:writers], seconds=seconds) for writers in WRITERS]


def main(arguments: Sequence[str]) -> int:
    """Measure, and fail where an act was lost or done twice."""
    parser = argparse.ArgumentParser(description="Load a store with many writers.")
    parser.add_argument("--engine", choices=("sqlite", "postgresql"))
    parser.add_argument("--seconds", type=float, default=SECONDS)
    given = parser.parse_args(arguments)
    engines = [given.engine] if given.engine else ["sqlite", "postgresql"]
    return all_good([ok for engine in engines for ok in measure(engine, seconds=given.seconds)])


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
