"""Timing things side by side: turn by turn, so that whatever else the machine does hits all of them alike."""

import gc
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from statistics import median
from time import perf_counter


@dataclass(frozen=True)
class Timing:
    """The times of one thing, in milliseconds and in ascending order."""

    times_ms: tuple[float, ...]

    @property
    def median_ms(self) -> float:
        """The middle one."""
        return median(self.times_ms)

    @property
    def p99_ms(self) -> float:
        """The one that 99 of 100 do not exceed."""
        return self.times_ms[min(len(self.times_ms) - 1, int(len(self.times_ms) * 0.99))]


def side_by_side(*turns: Callable[[int], float], repeats: int, warm_up: int = 3) -> tuple[Timing, ...]:
    """Let each take its turn, again and again.

    Args:
        turns: each is called with the number of the round and answers how many seconds it took.
        repeats: how many rounds count.
        warm_up: how many rounds before them do not.
    """
    times: list[list[float]] = [[] for _ in turns]
    gc.collect()
    for number in range(-warm_up, repeats):
        for turn, kept in zip(turns, times, strict=True):
            seconds = turn(number % repeats)
            if number >= 0:
                kept.append(seconds * 1000)
    return tuple(Timing(tuple(sorted(kept))) for kept in times)


def seconds_of(work: Callable[[], object]) -> float:
    """How long some work takes."""
    begun = perf_counter()
    work()
    return perf_counter() - begun


def say(line: str) -> None:
    """One line of the report."""
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


def verdict(what: str, one: Timing, other: Timing, *, limit: float, enough_ms: float = 0) -> bool:
    """Say how two timings compare, and whether the ratio of their medians keeps to its limit.

    Args:
        what: what was measured.
        one: ours.
        other: what it is measured against.
        limit: the largest ratio of the medians.
        enough_ms: a median that is good enough whatever the ratio.
    """
    ratio = one.median_ms / other.median_ms
    good = ratio <= limit or one.median_ms <= enough_ms
    goal = f"at most {limit:g}" + (f" or {enough_ms:g} ms" if enough_ms else "")
    return _told(what, one, other, ratio=ratio, goal=goal, good=good)


def verdict_of_slowest(what: str, one: Timing, other: Timing, *, limit: float, most_ms: float) -> bool:
    """Say the same of the 99th percentiles, which have to keep both to a ratio and to a time.

    Args:
        what: what was measured.
        one: ours.
        other: what it is measured against.
        limit: the largest ratio of the 99th percentiles.
        most_ms: what ours has to stay under.
    """
    ratio = one.p99_ms / other.p99_ms
    good = ratio <= limit and one.p99_ms < most_ms
    return _told(
        what, one, other, ratio=ratio, goal=f"p99 at most {limit:g}, under {most_ms:g} ms", good=good
    )


def told(what: str, one: Timing, other: Timing) -> None:
    """Say how two timings compare where there is no goal."""
    say(_line(what, one, other, ratio=one.median_ms / other.median_ms))


def _told(what: str, one: Timing, other: Timing, *, ratio: float, goal: str, good: bool) -> bool:
    say(f"{_line(what, one, other, ratio=ratio)}   {goal}: {'yes' if good else 'NO'}")
    return good


def _line(what: str, one: Timing, other: Timing, *, ratio: float) -> str:
    times = (one.median_ms, one.p99_ms, other.median_ms, other.p99_ms)
    return f"{what:34} {' '.join(f'{ms:8.2f}' for ms in times)} {ratio:6.2f}"


HEADING = f"{'ms':34} {'median':>8} {'p99':>8} {'against':>8} {'p99':>8} {'ratio':>6}"


def all_good(results: Sequence[bool]) -> int:
    """The exit code of a bench: 0 where every goal is reached."""
    return 0 if all(results) else 1
