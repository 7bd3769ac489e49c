"""Giving orders to the worker process, killing its children, and hearing what they confirmed before."""

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Any

ROOT = Path(__file__).resolve().parents[2]


@dataclass(frozen=True)
class Outcome:
    """What came of an order: the events that were confirmed, in order, and the child's exit code (-9: killed)."""

    confirmed: tuple[int, ...]
    ended: int
    failed: str = ""

    @property
    def was_killed(self) -> bool:
        """Whether the child ended by SIGKILL."""
        return self.ended == -signal.SIGKILL


class Worker:
    """A worker process that is ready for orders."""

    def __init__(self, orders: IO[str], said: IO[str]) -> None:
        self._orders, self._said = orders, said

    def do(
        self, deed: str, given: Mapping[str, str], *, die_before: int = 0, die_unconfirmed: bool = False
    ) -> Outcome:
        """Have one deed done by a child; it kills itself where that is asked for."""
        self._order(
            {"deed": deed, "with": given, "die_before": die_before, "die_unconfirmed": die_unconfirmed}
        )
        return self._until_end([])

    def kill_after(self, *, confirmed: int, seconds: float) -> Outcome:
        """Let a busy child confirm some events and go on for some time, then kill it without warning."""
        self._order({"deed": "be busy", "with": {}})
        child = 0
        heard: list[int] = []
        while len(heard) < confirmed:
            line = self._line()
            if line.startswith("child "):
                child = int(line.removeprefix("child "))
            elif line.isdigit():
                heard.append(int(line))
            else:
                assert line == "ready", line
        time.sleep(seconds)
        os.kill(child, signal.SIGKILL)
        return self._until_end(heard)

    def _order(self, order: dict[str, Any]) -> None:
        self._orders.write(json.dumps(order) + "\n")
        self._orders.flush()

    def _line(self) -> str:
        line = self._said.readline()
        assert line, "the worker process is gone"
        return line.rstrip("\n")

    def _until_end(self, heard: list[int]) -> Outcome:
        failed = ""
        while not (line := self._line()).startswith("ended "):
            if line.isdigit():
                heard.append(int(line))
            elif line.startswith("failed "):
                failed = line
        return Outcome(tuple(heard), int(line.removeprefix("ended ")), failed)


@contextmanager
def worker(url: str) -> Iterator[Worker]:
    """A worker process on a store, gone afterwards."""
    process = subprocess.Popen(
        [sys.executable, "-m", "tests.machine.worker", url], cwd=ROOT, stdin=subprocess.PIPE, stdout=subprocess.PIPE,
        text=True,
    )  # fmt: skip
    assert process.stdin is not None
    assert process.stdout is not None
    with process.stdin as orders, process.stdout as said:
        try:
            yield Worker(orders, said)
        finally:
            orders.close()
            process.wait(timeout=60)
