"""What the store's stamp says, held against what the acts that set it told.

The stamp is one row that no statement of an event carries; the acts leave notes instead.
"""

import json
from collections.abc import Iterator
from typing import Any, Final

from kittrack.store.act import Act, Reading
from kittrack.store.numbers import NEW_RANGE

FOUNDED: Final = "founded"
"""The name of the note by which the first event tells whether the store is a demo."""


def note_founding(act: Act) -> None:
    """Let the first event of a store tell what its stamp says."""
    act.note(FOUNDED, is_demo=act.value("SELECT is_demo FROM store_stamp"))


def wrong_stamp(read: Reading) -> Iterator[tuple[str, str]]:
    """Each column of the stamp that no act set so: (column, a sentence)."""
    row = read.row("SELECT is_demo, number_floor FROM store_stamp")
    if row is None:
        yield "row", "store_stamp has no row; restore the last backup"
        return
    is_demo, floor = row
    founded = _last_note(read, FOUNDED).get("is_demo", is_demo)  # an older store's first event does not tell
    if is_demo != founded:
        yield "is_demo", "store_stamp says of the store that it is a demo, or none, against its first event"
    after = _last_note(read, NEW_RANGE).get("after", 0)
    if floor != after:
        yield "number_floor", f"store_stamp lets numbers begin after {floor}, the acts say after {after}"


def _last_note(read: Reading, name: str) -> dict[str, Any]:
    """The facts of the last note of a name; empty where there is none."""
    found: dict[str, Any] = {}
    for (text,) in read.rows(
        "SELECT statements FROM event WHERE statements LIKE ? ORDER BY id", f'%"{name}"%'
    ):
        try:
            notes = [s[2] for s in json.loads(text) if s[0] == "note" and s[1] == name]
            found = dict(notes[-1]) if notes else found
        except (ValueError, LookupError, TypeError, RecursionError):
            continue  # the chain's own check names an event that can't be read
    return found
