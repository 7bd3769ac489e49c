"""Serials and lots of the store that a text read from a label may have been meant for."""

from typing import Final

from kittrack.domain.codes import near_misses
from kittrack.domain.text import clean_label
from kittrack.store.act import Reading

_MOST: Final = 3  # near ones that a sentence names


def near_known(read: Reading, *, part: str, serial: str, lot: str) -> tuple[str, ...]:
    """What is to be looked at again in a serial and a lot: sentences; nothing is taken for anything else.

    Args:
        read: the store.
        part: the part number, which narrows the search where the store knows it; may be empty.
        serial: as read; may be empty.
        lot: as read; may be empty.

    Source: design C14 (near misses are suggested, never accepted).
    """
    parts = [row[0] for row in read.rows("SELECT id FROM part WHERE number = ?", part)]
    where = f" AND part_id IN ({', '.join('?' * len(parts))})" if parts else ""
    found: list[str] = []
    if serial:
        known = dict(read.rows(f"SELECT serial, code FROM piece WHERE serial IS NOT NULL{where}", *parts))
        if serial in known:
            shown = clean_label(serial)
            found.append(
                f"The serial {shown} is that of {known[serial]} already; look whether this is that piece."
            )
        found += _near(serial, list(known), what="serial")
    if lot:
        codes = [
            row[0] for row in read.rows(f"SELECT lot_code FROM lot WHERE lot_code IS NOT NULL{where}", *parts)
        ]
        if lot not in codes:
            found += _near(lot, codes, what="lot")
    return tuple(found)


def _near(text: str, known: list[str], *, what: str) -> list[str]:
    return [
        f"The {what} {clean_label(text)} is near {clean_label(near.candidate)}, which is known and {near.why}; "
        "read it again."
        for near in near_misses(text, candidates=known)[:_MOST]
    ]
