"""A process killed in the middle of acts: what was confirmed is there, nothing is half done, all folds.

KITTRACK_KILLS says how many times each engine's writer is killed; the figures in DEVELOPERS.md were made
with 500.
"""

import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

from kittrack.store.database import open_store
from kittrack.store.fold import differences
from kittrack.store.records import Company
from tests.factories import SCREW, after, put_in_stock

KILLS = int(os.environ.get("KITTRACK_KILLS", "8"))
ROOT = Path(__file__).resolve().parents[2]


def kill_after(url: str, seconds: float) -> list[int]:
    """Let a writer work for some time, kill it with no warning, and answer with what it had confirmed."""
    worker = subprocess.Popen(
        [sys.executable, "-m", "tests.machine.busy_worker", url], cwd=ROOT, stdout=subprocess.PIPE, text=True
    )
    assert worker.stdout is not None
    with worker.stdout as out:
        assert out.readline() == "ready\n"
        time.sleep(seconds)
        worker.send_signal(signal.SIGKILL)
        said = out.read().splitlines()
    assert worker.wait() == -signal.SIGKILL
    return [int(line) for line in said if line.isdigit()]


def test_a_killed_writer_loses_nothing_confirmed_and_leaves_nothing_half(world_url: str) -> None:
    store = open_store(world_url)
    put_in_stock(store, SCREW, 3, at=after(1))
    store.close()
    chance = random.Random(20260302)  # noqa: S311 - moments to kill at, the same in every run
    confirmed = 0
    for _ in range(KILLS):
        said = kill_after(world_url, chance.uniform(0.0, 0.03))
        store = open_store(world_url)
        with store.reading() as read:
            last = read.value("SELECT max(id) FROM event")
            assert not said or said[-1] <= last <= said[-1] + 1
            moves = read.value(
                "SELECT count(*) FROM movement m JOIN event e ON e.id = m.event_id WHERE e.act = 'move to and fro'"
            )
            rows = read.value("SELECT count(*) FROM company WHERE name LIKE 'made by event%'")
            events = read.value("SELECT count(*) FROM event WHERE act = 'move to and fro'")
            assert moves == rows == events
            assert all(read.find(Company, name=f"made by event {number}") for number in said)
            assert list(differences(read)) == []
        store.close()
        confirmed += len(said)
    assert confirmed > 0
