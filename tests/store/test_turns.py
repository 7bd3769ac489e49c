"""Waiting for one's turn to write: whoever waits gets it about as often as whoever has just had it."""

import sqlite3
import threading
import time
from contextlib import ExitStack
from pathlib import Path
from typing import Any

import peewee
import pytest

from kittrack.store.database import Store, open_store
from kittrack.store.turns import take_turn
from tests.factories import CLERK, after

WRITERS, SECONDS = 6, 2.0


def test_busy_writers_all_get_their_turns(store: Store) -> None:
    """Six writers without a pause; by SQLite's own waiting some of them get hardly any turn, or none."""
    done, longest = [0] * WRITERS, [0.0] * WRITERS
    barrier = threading.Barrier(WRITERS)

    def write(number: int) -> None:
        own = open_store(store.url)
        barrier.wait()
        until = time.monotonic() + SECONDS
        while (begun := time.monotonic()) < until:
            with own.act(f"writer {number}", by=CLERK, at=after(1)):
                pass
            done[number] += 1
            longest[number] = max(longest[number], time.monotonic() - begun)
        own.close()

    threads = [threading.Thread(target=write, args=(number,)) for number in range(WRITERS)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert min(done) > 0
    assert min(done) * 12 > max(done), (done, longest)


def test_the_wait_ends_with_the_connections_own_patience(tmp_path: Path) -> None:
    path = f"{tmp_path}/waiting.db"
    holder = sqlite3.connect(path, isolation_level=None)
    holder.execute("CREATE TABLE t (x)")
    holder.execute("BEGIN IMMEDIATE")
    waiting: Any = peewee.SqliteDatabase(path, pragmas={"busy_timeout": 200}, lock_type="IMMEDIATE")
    begun = time.monotonic()
    with pytest.raises(peewee.OperationalError, match="locked"), ExitStack() as stack:
        take_turn(stack, waiting, engine="sqlite")
    assert time.monotonic() - begun >= 0.2
    assert waiting.execute_sql("PRAGMA busy_timeout").fetchone() == (200,)
    holder.execute("ROLLBACK")
    with ExitStack() as stack:
        take_turn(stack, waiting, engine="sqlite")
        assert waiting.in_transaction()
    holder.close()
    waiting.close()


def test_inside_a_transaction_it_is_the_same_turn(store: Store) -> None:
    with store.all_or_nothing():
        with store.act("first", by=CLERK, at=after(1)):
            pass
        with store.act("second", by=CLERK, at=after(1)):
            pass
    with store.reading() as read:
        acts = read.rows("SELECT act FROM event ORDER BY id DESC LIMIT 2")
    assert acts == [("second",), ("first",)]
