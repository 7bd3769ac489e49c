"""Looking through the records of an airframe that came along with it: are they what its stores wrote?

Each file is held against the manifest, and the zip against the note beside it, which whoever rewrites the zip does
not have. What comes along may be from anybody: it is refused whole where it is damaged, and nothing is unpacked to disk.
"""

import csv
import hashlib
import io
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

from kittrack.domain.text import clean_label
from kittrack.errors import BadInput
from kittrack.store.archive import (
    HEAD_SHAPE,
    MANIFEST,
    MOST_MANIFEST,
    README,
    SHA256_SHAPE,
    TAKE_ANOTHER,
    check_sizes,
    json_in,
    refusing_damage,
    text_in,
    whole_in,
)
from kittrack.store.backup import NOT_ITS_NOTE, Checked
from kittrack.store.handover import FORMAT
from kittrack.store.head_note import read_note

_EVENTS: Final = "events.csv"
_AT_ONCE: Final = 2**20  # bytes


def is_records(path: Path) -> bool:
    """Whether a file is a zip whose manifest says that it holds the records of an airframe."""
    try:
        with refusing_damage(), zipfile.ZipFile(path) as records:
            return _manifest(records).get("format") == FORMAT
    except BadInput:
        return False


def check_records(path: Path, *, expected_head: str = "") -> Checked:
    """Look through the records of an airframe: every file, the manifest, the note beside the zip.

    Args:
        path: the zip.
        expected_head: "number:hash" of an event that a voucher or another note tells; by default that of its own note.

    Raises:
        BadInput: a file in it was damaged or changed, or it is built to do harm.
    """
    noted = read_note(path)
    with refusing_damage(), zipfile.ZipFile(path) as records:
        check_sizes(records.infolist(), path.stat().st_size)
        told = _manifest(records)
        head = text_in(told, "head", shape=HEAD_SHAPE)
        _check_files(records, told.get("files"))
        expected = expected_head or noted.head
        faults = [*([] if noted.is_of(path) else [NOT_ITS_NOTE]), *_against(records, head, expected)]
    return Checked(str(path), int(head.partition(":")[0]), head, noted.head, tuple(faults))


def _manifest(records: zipfile.ZipFile) -> dict[str, Any]:
    if MANIFEST not in records.namelist():
        raise BadInput(f"the file lacks {MANIFEST}; {TAKE_ANOTHER}")
    with records.open(MANIFEST) as stream:
        text = stream.read(MOST_MANIFEST + 1)
    told = json_in(text, MANIFEST) if len(text) <= MOST_MANIFEST else None
    if not isinstance(told, dict):
        raise BadInput(f"{MANIFEST} can't be read; {TAKE_ANOTHER}")
    return told


def _check_files(records: zipfile.ZipFile, told: Any) -> None:
    """Refuse a zip that holds more, less or other files than its manifest tells."""
    files = told if isinstance(told, dict) else {}
    names = records.namelist()
    for name in names:
        if name not in {MANIFEST, README, *files} or names.count(name) > 1:
            shown = clean_label(name, max_length=80)
            raise BadInput(
                f"the file holds {shown!r}, which is no part of an airframe's records; {TAKE_ANOTHER}"
            )
    missing = sorted({MANIFEST, README, _EVENTS, *files} - set(names))
    if missing:
        raise BadInput(f"the file lacks {clean_label(missing[0], max_length=80)}; {TAKE_ANOTHER}")
    for name, one in files.items():
        known = one if isinstance(one, dict) else {}
        digest = hashlib.sha256()
        with records.open(name) as stream:
            while part := stream.read(_AT_ONCE):
                digest.update(part)
        told_of = (whole_in(known, "bytes"), text_in(known, "sha256", shape=SHA256_SHAPE))
        if (records.getinfo(name).file_size, digest.hexdigest()) != told_of:
            raise BadInput(
                f"{clean_label(name, max_length=80)} is not the file that the manifest tells of; {TAKE_ANOTHER}"
            )


def _against(records: zipfile.ZipFile, head: str, expected: str) -> Iterator[str]:
    """What speaks against records of which an event was noted outside them: they end there, or list it."""
    if expected in ("", head):
        return
    number, _, digest = expected.partition(":")
    own = _hash_of(records, number)
    if own is None:
        yield f"event {number} was noted outside, and the records list no such event; they may be of another store"
    elif own != digest:
        yield f"event {number} has another hash in the records than was noted outside; they were rewritten"


def _hash_of(records: zipfile.ZipFile, number: str) -> str | None:
    """The hash that the records list for an event, or None."""
    try:
        with records.open(_EVENTS) as stream, io.TextIOWrapper(stream, "utf-8", newline="") as lines:
            found = (row.get("hash") for row in csv.DictReader(lines) if row.get("event") == number)
            return next(found, None)
    except csv.Error as error:
        raise BadInput(f"{_EVENTS} can't be read; {TAKE_ANOTHER}") from error
