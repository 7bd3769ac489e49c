"""Who changed a row last and when, for whoever comes second.

Source: design A4 (of two at once one wins, and the other is told who won).
"""

from typing import Final

from kittrack.store.act import Reading, read_instant_text
from kittrack.store.records import Event, Person, Record

RECENT: Final = 1000
"""How many events are looked through, from the last one back; what lies longer ago is told by the log."""


def last_change(read: Reading, row: Record) -> str:
    """Who changed a row last, by which act and when, as a sentence; "" where that lies long ago.

    Args:
        read: the transaction.
        row: the row as it is; its statements in the events are looked for.
    """
    event_id = read.value(
        "SELECT id FROM event WHERE id > (SELECT max(id) FROM event) - ? AND statements LIKE ? "
        "ORDER BY id DESC LIMIT 1",
        RECENT,
        f'%["update","{row.shape.name}",{row.id},%',
    )
    return f"The last change to it was made {event_in_words(read, event_id)}." if event_id else ""


def event_in_words(read: Reading, event_id: int) -> str:
    """Who recorded an event, when, and by which act: "by Clerk One at 2026-03-02 07:30 UTC (seal a kit)"."""
    event = read.get(Event, event_id)
    when = read_instant_text(event.at).strftime("%Y-%m-%d %H:%M UTC")
    return f"by {read.get(Person, event.by_id).name} at {when} ({event.act})"
