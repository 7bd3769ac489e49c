"""The portable archive: a whole store in one zip of open formats, readable without this program.

One JSON-lines file a table, its rows in the order of their ids, and a manifest with the SHA-256 of each. Read
into an empty store of either engine it gives the same rows and the same chain: every movement passes the
movements' own trigger again, so what is kept of their fold is made anew, and then the whole is verified before
it counts. What is read may come from anybody: it is refused whole, and nothing of it is ever unpacked to disk.
Source: design 2, A4.
"""

import hashlib
import json
import re
import struct
import zipfile
import zlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path
from typing import Any, Final, get_type_hints

from kittrack.domain.text import clean_label
from kittrack.errors import BadInput, NotFound, StoreError
from kittrack.store import schema
from kittrack.store.act import instant_text
from kittrack.store.database import Store
from kittrack.store.fold import Progress, chain_head
from kittrack.store.private import new_file
from kittrack.store.records import CACHES, SECRETS, TABLES, Record
from kittrack.store.tables import columns, values

FORMAT: Final = "kittrack archive"
FORMAT_VERSION: Final = 1
MANIFEST, README = "manifest.json", "README.txt"
_BATCH: Final = 2000

# What an archive may be at the most. Zip files that unfold to petabytes are a known attack (D. Fifield, "A
# better zip bomb", WOOT 2019), but deflate itself never reaches 1032:1; stores reach about 30:1.
MOST_RATIO: Final = 200
FREE_BYTES: Final = 64 * 2**20  # below this no ratio is asked for
MOST_BYTES: Final = 64 * 2**30
MOST_LINE: Final = 64 * 2**20
MOST_MANIFEST: Final = 2**20
HEAD_SHAPE: Final = r"[0-9]{1,17}:[0-9a-f]{64}"
SHA256_SHAPE: Final = "[0-9a-f]{64}"
_INT64: Final = 2**63


@dataclass(frozen=True)
class TableFile:
    """What the manifest tells of one table: rows, bytes and SHA-256 of its file, its columns in order."""

    rows: int
    bytes: int
    sha256: str
    columns: tuple[str, ...]


@dataclass(frozen=True)
class Manifest:
    """What an archive tells of itself; `head` is the number and hash of the last event."""

    made_at: str
    engine: str
    schema_version: int
    is_demo: int
    number_floor: int
    head: str
    tables: dict[str, TableFile]

    @property
    def events(self) -> int:
        """How many events there are: the number of the last one."""
        return int(self.head.partition(":")[0])


def archived_tables() -> dict[str, type[Record]]:
    """Every table of an archive by name: all but those that the movements' trigger keeps."""
    return {name: record for name, record in TABLES.items() if name not in CACHES}


def _member(table: str) -> str:
    return f"tables/{table}.jsonl"


# ---- writing -----------------------------------------------------------------------------------


def write_archive(store: Store, path: Path, *, at: datetime, progress: Progress | None = None) -> Manifest:
    """Write a whole store, as it is at one moment, to a new private file.

    Raises:
        Refused: there is a file already.
        StoreError: it can't be written.
    """
    with new_file(path) as part, store.reading() as read:
        number, digest = chain_head(read)
        stamp = read.row("SELECT is_demo, number_floor FROM store_stamp") or (0, 0)
        names = archived_tables()
        with zipfile.ZipFile(part, "w", zipfile.ZIP_DEFLATED, strict_timestamps=True) as archive:
            told = {}
            for done, (name, record) in enumerate(names.items()):
                rows = _rows(read.select, record)
                told[name] = write_member(archive, _member(name), rows, columns(record))
                if progress:
                    progress(done + 1, len(names))
            manifest = Manifest(
                made_at=instant_text(at), engine=store.engine, schema_version=schema.newest_version(store.engine),
                is_demo=int(stamp[0]), number_floor=int(stamp[1]), head=f"{number}:{digest}", tables=told,
            )  # fmt: skip
            write_text(archive, README, _README)
            write_text(archive, MANIFEST, _manifest_text(manifest))
    return manifest


def _rows(select: Any, record: type[Record]) -> Iterator[bytes]:
    names, after = columns(record), 0
    while batch := select(record, "id > ?", after, limit=_BATCH):
        after = batch[-1].id
        for row in batch:
            yield json.dumps(dict(zip(names, values(row), strict=True))).encode("ascii") + b"\n"


def write_member(
    archive: zipfile.ZipFile, name: str, lines: Iterator[bytes], heads: tuple[str, ...]
) -> TableFile:
    """Write one file of an archive line by line; answers with what the manifest tells of it."""
    digest, size, rows = hashlib.sha256(), 0, 0
    with archive.open(_entry(name), "w", force_zip64=True) as out:
        for line in lines:
            out.write(line)
            digest.update(line)
            size += len(line)
            rows += 1
    return TableFile(rows, size, digest.hexdigest(), heads)


def write_text(archive: zipfile.ZipFile, name: str, text: str) -> None:
    """Write one text file of an archive."""
    archive.writestr(_entry(name), text.encode("utf-8"))


def _entry(name: str) -> zipfile.ZipInfo:
    """A file's head with a fixed date, so that the same store at the same moment gives the same bytes."""
    entry = zipfile.ZipInfo(name, date_time=(1980, 1, 1, 0, 0, 0))
    entry.compress_type = zipfile.ZIP_DEFLATED
    entry.external_attr = 0o600 << 16
    return entry


def _manifest_text(manifest: Manifest) -> str:
    told = {"format": FORMAT, "format_version": FORMAT_VERSION, **asdict(manifest)}
    return json.dumps(told, indent=1) + "\n"


_README: Final = f"""\
This zip holds the whole record of one rotor and kit store. Nothing but a text editor is needed to read it.

{MANIFEST}         how many rows each file has, its size and its SHA-256, the schema version, and the head of
                      the chain: number and hash of the last event
tables/NAME.jsonl     one table: one row a line, each a JSON object, in the order of "id"

A column X_id holds the id of a row in the table X, or in a table that its name tells (by_id: a person).
Numbers carry their unit in the name: mass_ug micrograms, moment_g_um gram micrometres, volume_ul microlitres,
torque_mnm newton millimetres, length_um micrometres, minutes. Ends "_on": a day; "_at" and "at": UTC.

event      every act: who, when, why, and in "statements" every row that it wrote. Its "hash" is the SHA-256 of
           the JSON object of its other columns and "movements" (its movements' values in column order),
           keys sorted, no blanks, UTF-8; "previous_hash" is the hash of the event before it.
movement   everything that was moved, in order. What is in a place now is the sum of the movements to it less
           those from it, by receipt line, piece and condition; where a container is, is its last movement.
{", ".join(SECRETS)} holds slow hashes of PINs (scrypt): keep this file as private as the store itself.

To check it or to make a store of it again:
    kittrack archive check FILE --expected-head NUMBER:HASH   (as the note beside it or a voucher shows it)
    kittrack archive read FILE --into sqlite:///new.kittrack
"""


# ---- reading -----------------------------------------------------------------------------------


@dataclass(frozen=True)
class Archive:
    """An open archive whose names, sizes and manifest hold; `rows` reads a table and checks what it reads."""

    manifest: Manifest
    _zip: zipfile.ZipFile

    def rows(self, name: str) -> Iterator[tuple[Any, ...]]:
        """The rows of a table, values in column order.

        Raises:
            BadInput: a row can't be read, or the file is not the one that the manifest tells of.
        """
        record, told = TABLES[name], self.manifest.tables[name]
        read_line = _line_reader(name, record, older=self._is_older)
        digest, size, count, last = hashlib.sha256(), 0, 0, 0
        with refusing_damage(), self._zip.open(_member(name)) as stream:
            while line := stream.readline(MOST_LINE + 1):
                size += len(line)
                if len(line) > MOST_LINE or size > told.bytes:
                    raise BadInput(f"{_member(name)} is larger than the manifest tells; {TAKE_ANOTHER}")
                digest.update(line)
                row = read_line(line)
                if row[0] <= last:
                    raise BadInput(f"{_member(name)} is not in the order of its ids; {TAKE_ANOTHER}")
                last, count = row[0], count + 1
                yield row
        if (count, size, digest.hexdigest()) != (told.rows, told.bytes, told.sha256):
            raise BadInput(f"{_member(name)} is not the file that the manifest tells of; {TAKE_ANOTHER}")

    @property
    def _is_older(self) -> bool:
        return self.manifest.schema_version < schema.newest_version("sqlite")


TAKE_ANOTHER: Final = "the archive was damaged or changed, take another copy; nothing was read in"


@contextmanager
def opened(path: Path) -> Iterator[Archive]:
    """Open an archive and check all of it that shows without its rows.

    Raises:
        BadInput: it is no archive, was damaged, or is built to do harm.
        NotFound: there is no such file.
        StoreError: it was written by a newer kittrack, or can't be read.
    """
    try:
        file = path.open("rb")
    except FileNotFoundError as error:
        raise NotFound(f"there is no archive at {path}; name another file") from error
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or "no such name"
        raise StoreError(f"{path} can't be read ({why}); name another file") from error
    with file:
        with refusing_damage():
            archive = zipfile.ZipFile(file)
            entries = archive.infolist()
            check_sizes(entries, path.stat().st_size)
            manifest = _read_manifest(archive, {e.filename for e in entries})
            _check_names([e.filename for e in entries], manifest)
        with archive:
            yield Archive(manifest, archive)


def check_hashes(archive: Archive, *, progress: Progress | None = None) -> None:
    """Read every table of an archive once and check it against the manifest.

    Raises:
        BadInput: one is not the file that the manifest tells of.
    """
    names = list(archive.manifest.tables)
    for done, name in enumerate(names):
        for _ in archive.rows(name):
            pass
        if progress:
            progress(done + 1, len(names))


@contextmanager
def refusing_damage() -> Iterator[None]:
    """What the zip library raises of a file that it can't read, as one plain sentence."""
    try:
        yield
    except (
        zipfile.BadZipFile, zipfile.LargeZipFile, zlib.error, struct.error, EOFError, NotImplementedError, RuntimeError,
        UnicodeError, OSError, OverflowError, MemoryError,
    ) as error:  # fmt: skip
        raise BadInput(f"the file is no archive that can be read; {TAKE_ANOTHER}") from error


def check_sizes(entries: list[zipfile.ZipInfo], on_disk: int) -> None:
    """Refuse a zip that unfolds to far more than its size, or whose files are packed in a way that ours are not."""
    total = sum(e.file_size for e in entries)
    if total > MOST_BYTES or total > max(FREE_BYTES, MOST_RATIO * on_disk):
        raise BadInput(
            "the archive unfolds to far more than its size and is not read; take one that you trust"
        )
    for entry in entries:
        if entry.flag_bits & 1 or entry.compress_type not in (zipfile.ZIP_DEFLATED, zipfile.ZIP_STORED):
            shown = clean_label(entry.filename, max_length=80)
            raise BadInput(
                f"{shown} in the archive is packed or locked in a way that ours are not; {TAKE_ANOTHER}"
            )


def _check_names(names: list[str], manifest: Manifest) -> None:
    tables = archived_tables()
    if manifest.schema_version < schema.newest_version("sqlite"):  # tables that came later are not in it
        tables = {name: record for name, record in tables.items() if name in manifest.tables}
    untold = sorted(tables.keys() - manifest.tables.keys())
    if untold:
        raise BadInput(f"{MANIFEST} tells nothing of the table {untold[0]}; {TAKE_ANOTHER}")
    wanted = {MANIFEST, README, *(_member(name) for name in tables)}
    for name in names:
        if name not in wanted or names.count(name) > 1:
            shown = clean_label(name, max_length=80)
            raise BadInput(f"the archive holds {shown!r}, which is no part of one; {TAKE_ANOTHER}")
    missing = sorted(wanted - set(names))
    if missing:
        raise BadInput(f"the archive lacks {missing[0]}; {TAKE_ANOTHER}")


# ---- the manifest ------------------------------------------------------------------------------


def _read_manifest(archive: zipfile.ZipFile, names: set[str]) -> Manifest:
    if MANIFEST not in names:
        raise BadInput(f"the archive lacks {MANIFEST}; {TAKE_ANOTHER}")
    with archive.open(MANIFEST) as stream:
        text = stream.read(MOST_MANIFEST + 1)
    told = json_in(text, MANIFEST) if len(text) <= MOST_MANIFEST else None
    if not isinstance(told, dict) or told.get("format") != FORMAT:
        raise BadInput(f"{MANIFEST} is not that of a kittrack archive; name another file")
    newest = schema.newest_version("sqlite")
    if whole_in(told, "format_version") > FORMAT_VERSION or whole_in(told, "schema_version") > newest:
        raise StoreError("the archive was written by a newer kittrack; update kittrack, nothing was read in")
    tables = told.get("tables")
    if not isinstance(tables, dict):
        raise BadInput(f"{MANIFEST} tells of no tables; {TAKE_ANOTHER}")
    return Manifest(
        made_at=text_in(told, "made_at"), engine=text_in(told, "engine"), schema_version=whole_in(told, "schema_version"),
        is_demo=int(whole_in(told, "is_demo") == 1), number_floor=whole_in(told, "number_floor"),
        head=text_in(told, "head", shape=HEAD_SHAPE),
        tables={name: _table_file(tables.get(name)) for name in archived_tables() if name in tables},
    )  # fmt: skip


def _table_file(told: Any) -> TableFile:
    if not isinstance(told, dict) or not isinstance(told.get("columns"), list):
        raise BadInput(f"{MANIFEST} can't be read; {TAKE_ANOTHER}")
    names = tuple(c for c in told["columns"] if isinstance(c, str))
    return TableFile(
        whole_in(told, "rows"), whole_in(told, "bytes"), text_in(told, "sha256", shape=SHA256_SHAPE), names
    )


def whole_in(told: dict[str, Any], key: str) -> int:
    """A whole number of a manifest, or BadInput."""
    found = told.get(key)
    if isinstance(found, bool) or not isinstance(found, int) or not 0 <= found < _INT64:
        raise BadInput(f"{MANIFEST} has no number for {key}; {TAKE_ANOTHER}")
    return found


def text_in(told: dict[str, Any], key: str, *, shape: str = ".{0,100}") -> str:
    """A text of a manifest that has a shape, or BadInput."""
    found = told.get(key)
    if not isinstance(found, str) or not re.fullmatch(shape, found):
        raise BadInput(f"{MANIFEST} has no text for {key}; {TAKE_ANOTHER}")
    return found


# ---- one row -----------------------------------------------------------------------------------


def json_in(text: bytes, name: str) -> Any:
    """The JSON that a file of an archive holds, or BadInput."""
    try:
        return json.loads(text.decode("utf-8"), parse_constant=_no_constant)
    except (ValueError, RecursionError) as error:
        raise BadInput(f"{name} holds what is no JSON; {TAKE_ANOTHER}") from error


def _no_constant(word: str) -> None:
    raise ValueError(word)


def _line_reader(name: str, record: type[Record], *, older: bool) -> Callable[[bytes], tuple[Any, ...]]:
    """A function that reads one line of a table's file as the values of a row, in column order."""
    fields = record.__dataclass_fields__  # type: ignore[attr-defined]  # every record is a dataclass
    hints = get_type_hints(record)
    tests = {c: _test_of(c, hints[c]) for c in columns(record)}
    later = {c: fields[c].default for c in tests if isinstance(fields[c].default, int | str | None)}

    def read(line: bytes) -> tuple[Any, ...]:
        row = json_in(line, _member(name))
        if (
            isinstance(row, dict) and older
        ):  # a column that came later holds its default for the rows before it
            row = later | row
        if not isinstance(row, dict) or row.keys() != tests.keys():
            raise BadInput(f"{_member(name)} has a row of other columns than ours; {TAKE_ANOTHER}")
        wrong = [c for c, fits in tests.items() if not fits(row[c])]
        if wrong:
            raise BadInput(f"{_member(name)} has a {wrong[0]} that is none; {TAKE_ANOTHER}")
        return tuple(row[c] for c in tests)

    return read


_SHAPES: Final = {
    "at": re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}\.[0-9]{6}Z"),
    "on": re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}"),
}
"""What the text of an instant and of a day looks like, by the last word of the column's name."""

_MAY_BE_BLANK: Final = frozenset({"since_at"})  # the first hand-over of a shift follows no earlier one


def _test_of(column: str, hint: Any) -> Callable[[Any], bool]:
    """Whether a value may stand in a column."""
    may_be_empty = hint not in (int, str)
    if hint in (int, int | None):
        return lambda v: (v is None and may_be_empty) or (type(v) is int and -_INT64 <= v < _INT64)
    shape = _SHAPES.get(column.rpartition("_")[2])
    return lambda v: (
        (v is None and may_be_empty)
        or (v == "" and column in _MAY_BE_BLANK)
        or (isinstance(v, str) and (shape is None or shape.fullmatch(v) is not None))
    )
