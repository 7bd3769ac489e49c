"""The range of numbers that a store gives out, and the labels of days that a restored backup has lost.

Numbers that were given out after a backup may stand on labels in the field. A restored store gives them up:
it starts a new range, and knows a label from the lost days by its number.
"""

from typing import Final

from kittrack.domain import codes
from kittrack.errors import NotFound
from kittrack.store.act import Act, Reading
from kittrack.store.records import TABLES
from kittrack.store.tables import columns

RANGE: Final = 10_000
"""Numbers are given out again from the next multiple of this, at least so many after the last one known."""
NEW_RANGE: Final = "new range of numbers"
"""The name of the note by which an event tells after which number a range starts."""


def start_new_range(act: Act) -> int:
    """Let new codes start after every number that may have been given out since the backup.

    Returns:
        The last number of the range that is given up.
    """
    known = max(
        (_highest(act, name) for name, record in TABLES.items() if "code" in columns(record)), default=0
    )
    floor = (max(known, act.number_floor) // RANGE + 2) * RANGE
    act._run("UPDATE store_stamp SET number_floor = ?", (floor,))  # noqa: SLF001 - the stamp is no record; the note tells it
    act.number_floor = floor
    act.note(NEW_RANGE, after=floor)
    return floor


def _highest(read: Reading, name: str) -> int:
    """The highest number among a table's codes; of places, those that have a number of their own."""
    own = f" WHERE code LIKE '{codes.Kind.SHELF_PLACE.value}%'" if name == "place" else ""
    last = read.value(f'SELECT code FROM "{name}"{own} ORDER BY length(code) DESC, code DESC LIMIT 1')
    return int(last[1:].partition("-")[0]) if last and codes.looks_like_code(last) else 0


def not_held(read: Reading, code: str) -> NotFound:
    """The error for a code of ours that the store does not hold, which says whether it is from the lost days."""
    floor = read.value("SELECT number_floor FROM store_stamp") or 0
    number = codes.read_code(code).number
    if number <= floor:
        return NotFound(
            f"the store holds nothing under {code}: its number was given out after the last backup and lost when "
            "that was restored; set the thing aside, and book it in again under a new label"
        )
    return NotFound(
        f"the store holds nothing under {code}; it may belong to another store: read it again, and ask whose label it is"
    )
