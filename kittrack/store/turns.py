"""Beginning a transaction, and waiting fairly for one's turn to write to a SQLite file.

SQLite's own way of waiting sleeps longer and longer between its tries, up to a tenth of a second, while the writer
that has just finished begins its next act at once: of many busy writers some would never get a turn. Here
everybody tries again after the same short time, so that whoever waits is as likely as any other to be next.
On PostgreSQL the server's lock keeps a queue. Source: design A4.
"""

import random
import time
from contextlib import ExitStack
from typing import Any, Final, Protocol

import peewee

SHORTEST_S: Final = 0.0005
LONGEST_S: Final = 0.004
"""Between which times somebody who waits tries again; an act takes some milliseconds."""


class Begin(Protocol):
    """Begins a transaction that ends with the stack."""

    def __call__(self, stack: ExitStack, database: Any, *, engine: str) -> None:
        """Begin it on a database."""


def begin_reading(stack: ExitStack, database: Any, *, engine: str) -> None:
    """Begin to read one moment of the store; nobody waits for anybody."""
    stack.enter_context(database.atomic("DEFERRED" if engine == "sqlite" else "REPEATABLE READ, READ ONLY"))


def take_turn(stack: ExitStack, database: Any, *, engine: str) -> None:
    """Begin to write, as soon as nobody else does; inside a transaction it is the same turn.

    Raises:
        peewee.OperationalError: the store is locked for longer than the connection's own patience
            (`busy_timeout`).
    """
    if engine != "sqlite" or database.in_transaction():
        stack.enter_context(database.atomic())
        return
    connection = database.connection()
    patience_ms: int = connection.execute("PRAGMA busy_timeout").fetchone()[0]
    until = time.monotonic() + patience_ms / 1000
    connection.execute("PRAGMA busy_timeout = 0")
    try:
        while True:
            try:
                stack.enter_context(database.atomic())
            except peewee.OperationalError as error:
                if "locked" not in str(error) or time.monotonic() > until:
                    raise
            else:
                return
            time.sleep(random.uniform(SHORTEST_S, LONGEST_S))  # noqa: S311 - whose turn it is hurts nobody
    finally:
        connection.execute(f"PRAGMA busy_timeout = {patience_ms}")
