"""What was reversed: the rows that an event made stay (design R12), and count for nothing from its reversal on."""

import json

from kittrack.store.act import Reading

REVERSAL = "reverse an event"
"""The act that reverses."""

_BEFORE, _AFTER = '%["note","reversed",{"event":', "}]%"


def like_a_reversal_of(event: int) -> str:
    """What the statements of an event's reversal are like (SQL LIKE)."""
    return f"{_BEFORE}{event}{_AFTER}"


def not_reversed(event: str) -> str:
    """SQL of whether an event stands; for the few rows of one line or one page.

    Args:
        event: the SQL of the event's id.
    """
    return (
        f"NOT EXISTS (SELECT 1 FROM event rev WHERE rev.act = '{REVERSAL}' "
        f"AND rev.statements LIKE '{_BEFORE}' || {event} || '{_AFTER}')"
    )


def reversed_events(read: Reading) -> frozenset[int]:
    """The ids of all events that were reversed."""
    return frozenset(
        statement[2]["event"]
        for (text,) in read.rows("SELECT statements FROM event WHERE act = ?", REVERSAL)
        for statement in json.loads(text)
        if statement[:2] == ["note", "reversed"]
    )
