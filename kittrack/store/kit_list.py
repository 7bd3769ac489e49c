"""The extras that kits of a type revision carry, without those that were taken off the list.

Whoever builds, checks, fits or plans by a kit list reads it here. Source: design R4, R21.
"""

from kittrack.store.act import Reading
from kittrack.store.records import KitListEnd, KitListLine


def kit_list(read: Reading, type_revision_id: int) -> list[KitListLine]:
    """The lines of a kit list that count, in the order in which they were first added."""
    return read.select(
        KitListLine,
        "type_revision_id = ? AND id NOT IN (SELECT kit_list_line_id FROM kit_list_end WHERE again_event_id IS NULL)",
        type_revision_id,
    )


def end_of(read: Reading, line: KitListLine) -> KitListEnd | None:
    """The entry that takes a line off its list, or None while it is on it."""
    found = read.select(KitListEnd, "kit_list_line_id = ? AND again_event_id IS NULL", line.id)
    return found[0] if found else None
