"""How quick and how small the stations are: first paint, scan to verdict, memory, long lists (N1, N2, N7).

Run: python tests/bench/bench_stations.py [--movements N] [--rows N] [--rounds N] [--parts start scans memory lists]
     [--small URL --large URL]

The program runs in a terminal of its own (a pty of 80 x 24) where it is started as a person starts it, and
in process where a scan is measured. Everything that is compared takes turns in one run. Without --small and
--large the two stores are made in a temporary folder. Source of the goals: design section 10.

First paint is the frame: the strip with the stations and who is signed on, the verdict line, and the scan line,
which takes scans and typing from then on. The store is not open by then and no verdict can be had; so the time
until the first station has looked at its store is told beside it, with no goal.

A scan is measured from its last byte until the frame that shows its verdict was handed to the terminal's driver.
"""

import argparse
import asyncio
import os
import pty
import select
import struct
import subprocess
import sys
import tempfile
import termios
from collections.abc import Awaitable, Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from datetime import timedelta
from fcntl import ioctl
from itertools import count
from pathlib import Path
from time import perf_counter, sleep
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # a checkout need not be installed
os.environ["TEXTUAL_FPS"] = "200"  # as kittrack.tui has it before the screen library is loaded

from rich.console import RenderableType
from textual.pilot import Pilot
from textual.screen import Screen

from kittrack.store.database import Store, open_store
from kittrack.store.records import Person
from kittrack.tui.station import Station
from kittrack.tui.stations_app import StationsApp
from kittrack.tui.store_thread import StoreThread
from kittrack.tui.verdicts import Verdict
from tests import factories
from tests.bench import world
from tests.bench.bench_store import Scene
from tests.bench.bulk import BulkAct
from tests.bench.measure import (
    HEADING,
    Timing,
    all_good,
    say,
    side_by_side,
    told,
    verdict,
    verdict_of_slowest,
)
from tests.tui.screens import feed

ROOT = Path(__file__).resolve().parents[2]
PAINT, VERSION, FLAT, SCAN_P99_MS, MEMORY, LIST = 1.3, 2.0, 1.3, 20.0, 1.3, 1.5
_PARTS = ("start", "scans", "memory", "lists")
EMPTY_APP = """
from textual.app import App
from textual.widgets import Static
class Empty(App):
    def compose(self):
        yield Static("nothing here")
Empty().run()
"""


# ---- N1: the start -------------------------------------------------------------------------------


class Terminal:
    """A program in a pty of 80 x 24, and what it has drawn so far."""

    def __init__(self, *command: str) -> None:
        mine, its = pty.openpty()
        ioctl(its, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
        environ = {**os.environ, "PYTHONPATH": str(ROOT), "TERM": "xterm-256color", "LC_ALL": "C.UTF-8"}
        self._mine = mine
        self._process = subprocess.Popen(
            command, stdin=its, stdout=its, stderr=its, env=environ, close_fds=True
        )
        os.close(its)
        self._drawn = b""

    def wait_for(self, *texts: str, seconds: float = 60) -> None:
        """Wait until every one of some texts was drawn."""
        end = perf_counter() + seconds
        while not all(text.encode() in self._drawn for text in texts):
            if perf_counter() > end:
                raise AssertionError(f"{texts} do not come: {self._drawn[-2000:]!r}")
            if select.select([self._mine], [], [], 0.5)[0]:
                self._drawn += os.read(self._mine, 65536)

    def press(self, keys: bytes, *, then: str) -> None:
        """Press keys and wait for what they draw."""
        self._drawn = b""
        os.write(self._mine, keys)
        self.wait_for(then)

    @property
    def resident_kb(self) -> int:
        """The memory of the program that is in use."""
        status = Path(f"/proc/{self._process.pid}/status").read_text(encoding="ascii")
        [line] = [line for line in status.splitlines() if line.startswith("VmRSS:")]
        return int(line.split()[1])

    def close(self) -> None:
        """End the program."""
        self._process.kill()
        self._process.wait()
        with suppress(OSError):
            os.close(self._mine)


FRAME = ("[Counter]", "nobody signed on", "opening the store", "scan >")
READY = ("a job >",)
"""What the Counter waits for once it has looked at its store."""


def paint(*command: str, texts: Sequence[str]) -> float:
    """Seconds from the start of a program until every one of some texts was on its screen."""
    begun = perf_counter()
    terminal = Terminal(*command)
    try:
        terminal.wait_for(*texts)
        return perf_counter() - begun
    finally:
        terminal.close()


def run(*command: str) -> float:
    """Seconds that a command takes."""
    begun = perf_counter()
    environ = {**os.environ, "PYTHONPATH": str(ROOT)}
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL, env=environ)
    return perf_counter() - begun


def measure_start(url: str, *, rounds: int) -> Iterator[bool]:
    """First paint, and until a verdict can be had, beside an empty app; the version beside a bare interpreter."""
    say(f"\nN1 start\n{HEADING}")
    frame, ready, empty = side_by_side(
        lambda _: paint(*kittrack(url), texts=FRAME),
        lambda _: paint(*kittrack(url), texts=READY),
        lambda _: paint(sys.executable, "-c", EMPTY_APP, texts=("nothing here",)),
        repeats=rounds, warm_up=2,
    )  # fmt: skip
    yield verdict("first paint, an empty app", frame, empty, limit=PAINT)
    told("it has looked at its store, the same", ready, empty)
    version, bare = side_by_side(
        lambda _: run(sys.executable, "-m", "kittrack", "--version"),
        lambda _: run(sys.executable, "-c", "pass"),
        repeats=rounds * 3, warm_up=2,
    )  # fmt: skip
    yield verdict("--version, a bare interpreter", version, bare, limit=VERSION)


def kittrack(url: str) -> tuple[str, ...]:
    """The line that starts the stations on a store."""
    return (sys.executable, "-m", "kittrack", "--store", url)


# ---- N2: scan to verdict -------------------------------------------------------------------------


class Bench:
    """The stations in process, and how long they take from a scan's last byte until its verdict is shown."""

    def __init__(self, app: StationsApp, pilot: Pilot[int], store: Store) -> None:
        self.app, self.store, self._pilot = app, store, pilot
        self._shown = asyncio.Event()

    async def time(self, act: Callable[[], object]) -> float:
        """Seconds from an act, such as a scan, until the next verdict is on the screen."""
        station = self.app.screen_stack[0]
        assert isinstance(station, Station)
        self._shown.clear()
        said: list[Verdict] = []
        say, draw = station.say, self.app._display

        def say_it(verdict: Verdict) -> None:
            say(verdict)
            said.append(verdict)

        def draw_it(screen: Screen[Any], frame: RenderableType | None) -> None:
            draw(screen, frame)
            if said and self.app.is_at_rest:  # a step may say something on its way to its verdict
                self._shown.set()

        station.say = say_it  # type: ignore[method-assign, assignment]  # the one way to be told at once
        self.app._display = draw_it  # type: ignore[method-assign, assignment]  # what hands a frame to the driver
        begun = perf_counter()
        act()
        await asyncio.wait_for(self._shown.wait(), 30)
        seconds = perf_counter() - begun
        del station.say, self.app._display
        assert self._is_on_screen(said[-1])
        await self.rest()
        return seconds

    def _is_on_screen(self, verdict: Verdict) -> bool:
        """Whether the first words of a verdict stand in what was drawn."""
        words = " ".join(verdict.lines[0].split()[:4])
        strips = self.app.screen._compositor.render_strips()
        return any(words in "".join(segment.text for segment in strip) for strip in strips)

    async def rest(self) -> None:
        """Wait until nothing is left to do."""
        await self._pilot.pause(0.06)
        while not self.app.is_at_rest:
            await self._pilot.pause(0.005)

    async def scan(self, code: str) -> float:
        """Scan a label."""
        return await self.time(lambda: feed(self.app, f"{code}\r"))

    async def press(self, key: str) -> None:
        """Press a key and wait."""
        await self._pilot.press(key)
        await self.rest()


@contextmanager
def terminals_of_nobody() -> Iterator[None]:
    """No settings of a scanner, whatever is kept on this machine."""
    before = os.environ.get("KITTRACK_TERMINALS")
    os.environ["KITTRACK_TERMINALS"] = "/nonexistent/terminals.toml"
    yield
    if before is None:
        del os.environ["KITTRACK_TERMINALS"]
    else:
        os.environ["KITTRACK_TERMINALS"] = before


async def with_bench(store: Store, start: str, work: Callable[[Bench], Awaitable[None]]) -> None:
    """Do some work at a station of a store."""
    begun, seconds = world.now_of(store), count()
    thread = StoreThread(store.url)
    try:
        app = StationsApp(thread, start=start, clock=lambda: begun + timedelta(seconds=next(seconds)))
        async with app.run_test(size=(80, 24)) as pilot:
            bench = Bench(app, pilot, store)
            await bench.rest()
            await work(bench)
    finally:
        thread.close()


async def sign_on(bench: Bench, name: str) -> None:
    """Sign on, cautions read."""
    with bench.store.reading() as read:
        badge = read.find(Person, name=name)
    assert badge is not None
    feed(bench.app, f"{badge.code}\r")
    await bench.rest()
    await bench.press("f9")


def scans_of(scene: Scene, station: str, number: int) -> list[tuple[str, str]]:
    """What is scanned one after another at a station: what it is, and its code."""
    job = scene.jobs[number % len(scene.jobs)]
    if station == "counter":
        kit, seal = scene.kits[number % len(scene.kits)]
        return [("Counter: a job", job), ("Counter: its kit", kit), ("Counter: its seal", f"{seal:0>6}")]
    return [
        ("Aircraft: a job", job),
        ("Aircraft: a position", scene.positions[number % len(scene.positions)]),
        ("Aircraft: an airframe", scene.frames[number % len(scene.frames)]),
    ]


def measure_scans(small: Store, large: Store, *, rounds: int) -> Iterator[bool]:
    """Scans at Counter and Aircraft on the large store beside the small one, turn by turn."""
    say(f"\nN2 scan to verdict in process: the large store against the small one\n{HEADING}")
    for station in ("counter", "aircraft"):
        times = asyncio.run(_scan_both(station, (large, small), rounds))
        for what, (ours, young) in times.items():
            timings = (Timing(tuple(sorted(one))) for one in (ours, young))
            yield verdict_of_slowest(what, *timings, limit=FLAT, most_ms=SCAN_P99_MS)


async def _scan_both(
    station: str, stores: tuple[Store, Store], rounds: int
) -> dict[str, tuple[list[float], list[float]]]:
    times: dict[str, tuple[list[float], list[float]]] = {}
    scenes = [Scene(store) for store in stores]

    async def on_large(old: Bench) -> None:
        async def on_small(young: Bench) -> None:
            for bench in (old, young):
                await sign_on(bench, factories.CLERK if station == "counter" else factories.TECHNICIAN)
            for number in range(-3, rounds):
                for side, bench in enumerate((old, young)):
                    for what, code in scans_of(scenes[side], station, number % rounds):
                        seconds = await bench.scan(code)
                        if number >= 0:
                            times.setdefault(what, ([], []))[side].append(seconds * 1000)
                    for _ in range(2):
                        await bench.press("escape")

        await with_bench(stores[1], station, on_small)

    await with_bench(stores[0], station, on_large)
    return times


# ---- N7: memory and long lists -------------------------------------------------------------------


def measure_memory(small: Store, large: Store, empty: str) -> Iterator[bool]:
    """The memory of the program after a look at every station: the large store against an empty one."""
    say("\nN7 memory after a look at every station")
    used = [_memory(url) for url in (large.url, small.url, empty)]
    ratio = used[0] / used[2]
    good = ratio <= MEMORY
    say(f"large {used[0] / 1024:.1f} MB, small {used[1] / 1024:.1f} MB, empty {used[2] / 1024:.1f} MB")
    say(f"ratio large to empty {ratio:.2f}   at most {MEMORY}: {'yes' if good else 'NO'}")
    yield good


def _memory(url: str) -> int:
    terminal = Terminal(*kittrack(url))
    keys = {
        "Goods-in": b"\x1bOQ",
        "Matching": b"\x1bOR",
        "Kitting": b"\x1bOS",
        "Aircraft": b"\x1b[17~",
        "Office": b"\x1b[18~",
    }
    try:
        terminal.wait_for(*READY)
        for name, key in keys.items():
            terminal.press(key, then=f"[{name}]")
            sleep(1.5)
        return terminal.resident_kb
    finally:
        terminal.close()


def add_rows(store: Store, rows: int) -> None:
    """So many events more, as the event log lists them."""
    with store.reading() as read:
        by = read.find(Person, name=factories.CLERK)
    assert by is not None
    bulk = BulkAct(store, at=world.now_of(store))
    at = world.now_of(store)
    for number in range(rows):
        with bulk.event("read the thermometer", at=at + timedelta(seconds=number), by=by.id):
            pass
        if number % 50_000 == 49_999:
            bulk.flush()
    bulk.flush()


def measure_lists(short: Store, long: Store, *, rounds: int) -> Iterator[bool]:
    """The event log of a store with many rows beside one with few: opening it, and turning a page."""
    with long.reading() as read:
        rows = read.value("SELECT count(*) FROM event")
    say(f"\nN7 a list of {rows} rows against a short one\n{HEADING}")
    times = asyncio.run(_lists((long, short), rounds))
    for what, (ours, theirs) in times.items():
        yield verdict(what, *(Timing(tuple(sorted(t))) for t in (ours, theirs)), limit=LIST, enough_ms=20)


async def _lists(stores: tuple[Store, Store], rounds: int) -> dict[str, tuple[list[float], list[float]]]:
    times: dict[str, tuple[list[float], list[float]]] = {"opening it": ([], []), "a page further": ([], [])}

    async def on_long(long: Bench) -> None:
        async def on_short(short: Bench) -> None:
            for number in range(-2, rounds):
                for side, bench in enumerate((long, short)):
                    opened, paged = await _open_log(bench)
                    if number >= 0:
                        times["opening it"][side].append(opened * 1000)
                        times["a page further"][side].append(paged * 1000)

        await with_bench(stores[1], "office", on_short)

    await with_bench(stores[0], "office", on_long)
    return times


async def _open_log(bench: Bench) -> tuple[float, float]:
    """Seconds to open the event log, and to go to its next page."""
    station = bench.app.screen_stack[0]
    assert isinstance(station, Station)
    await bench.press("f8")
    for key in "event":
        await bench.press(key)
    opened = await bench.time(lambda: bench.app.call_later(bench.app.simulate_key, "enter"))
    assert "event log" in " ".join(station.said.lines), station.said
    paged = await bench.time(lambda: _past_the_end(station))
    return opened, paged


def _past_the_end(station: Station) -> None:
    from kittrack.tui.widgets.record_list import RecordList

    records = station.query_one(RecordList)
    records.post_message(RecordList.Past(1))


# ---- the run -------------------------------------------------------------------------------------


def measure(
    small: Store, large: Store, folder: str, *, rows: int, rounds: int, parts: Sequence[str]
) -> list[bool]:
    """The parts that are asked for."""
    empty, long = (open_store(f"sqlite:///{folder}/{name}", create=True) for name in ("empty", "long"))
    for store in (empty, long):
        factories.make_world(store)
    results: list[bool] = []
    if "start" in parts:
        results += measure_start(empty.url, rounds=rounds)
    if "scans" in parts:
        results += measure_scans(small, large, rounds=rounds * 10)
    if "memory" in parts:
        results += measure_memory(small, large, empty.url)
    if "lists" in parts:
        add_rows(long, rows)
        add_rows(empty, 300)
        results += measure_lists(empty, long, rounds=rounds)
    for store in (empty, long, small, large):
        store.close()
    return results


def main(arguments: Sequence[str]) -> int:
    """Measure, and fail where a goal is missed."""
    parser = argparse.ArgumentParser(description="Measure the stations.")
    parser.add_argument("--movements", type=int, default=world.LARGE)
    parser.add_argument("--rows", type=int, default=1_000_000, help="rows of the long list")
    parser.add_argument("--rounds", type=int, default=15)
    parser.add_argument("--parts", nargs="+", choices=_PARTS, default=_PARTS)
    parser.add_argument("--small", help="a store that world.py made, instead of a new one")
    parser.add_argument("--large", help="another one")
    given = parser.parse_args(arguments)
    with tempfile.TemporaryDirectory() as folder, terminals_of_nobody():
        small = _given_or_made(given.small, f"sqlite:///{folder}/small", movements=world.SMALL)
        large = _given_or_made(given.large, f"sqlite:///{folder}/large", movements=given.movements)
        return all_good(
            measure(small, large, folder, rows=given.rows, rounds=given.rounds, parts=given.parts)
        )


def _given_or_made(given: str | None, url: str, *, movements: int) -> Store:
    return open_store(given) if given else world.make_store(url, movements=movements)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
