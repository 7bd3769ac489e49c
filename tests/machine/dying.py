"""Let a process kill itself, with no warning and nothing tidied up, at a chosen statement to the database."""

import os
import signal
from typing import Any

import peewee


def die_before(statement: int) -> None:
    """Kill this process before the n-th statement from here on, BEGIN and COMMIT counted like any other.

    Every statement of a store goes through a cursor of its own, so the cursors are what is counted.
    """
    database: Any = peewee.Database
    plain, asked = database.cursor, 0

    def cursor(self: Any, *given: Any, **named: Any) -> Any:
        nonlocal asked
        asked += 1
        if asked == statement:
            os.kill(os.getpid(), signal.SIGKILL)
        return plain(self, *given, **named)

    database.cursor = cursor
