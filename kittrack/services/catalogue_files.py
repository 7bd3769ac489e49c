"""Loading a whole catalogue from a folder of text files, in one act: all of it or nothing.

The folder, every file of which may be left out (`queries/catalogue_form.py` tells what stands in each field):

    sites.csv        name, time_zone
    places.csv       kind, name, site              (bin, bench, van, hold cage, removed-parts cage, goods-in, apron)
    people.csv       name, roles, script, same_human_as                (roles parted by blanks)
    companies.csv    name, maker, supplier, lead_time
    papers.csv       paper_class, kind
    tools.csv        name, kind, from, to, resolution, uncertainty, repeatability, ruler, calibrated_until
    airframes.csv    tail, type, revision, hours, flights, reading_source, verified_how, apron
    parts/*.toml     [[part]] tables: the columns of parts as keys, and marks = { "R" = "CW", ... } for blades
    parts/*.csv      the same without marks, for fasteners, hubs and consumables
    types/*.toml     type = "name", then [[revision]] tables with name, source, retorque and, inside each,
                     [[revision.fixing]], [[revision.position]], [[revision.group]], [[revision.extra]]

Amounts stand with their unit ("8 mm", "0.8 N m", "10 mL", "3 g mm", "10 h", "730 days", "-157.5 deg"), dates as
2027-03-31, yes or no as such in CSV and as true or false in TOML. Text is UTF-8. CSV cells are parted by
commas, semicolons or tabs; a cell that begins with an apostrophe is a text as it stands, which is how "1E5"
is written where a part number really reads so. A blank cell is a value not given. Files that end in .txt or
.md are for people and are passed over. A site, place or person that the store knows just so is passed over
too; everything else must be new.

Every fault of every file is told in one BadInput, each with its file, row and field. Source: design R16, 8.
"""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from kittrack.domain.rules import require
from kittrack.errors import BadInput, Problem
from kittrack.services import desk
from kittrack.services.catalogue_faults import collecting, raise_any
from kittrack.services.catalogue_kinds import (
    AIRFRAME,
    COLUMNS_OF_SPECS,
    COMPANY,
    PAPER,
    PERSON,
    PLACE,
    SITE,
    TOOL,
    Kind,
)
from kittrack.services.catalogue_nested import (
    PART,
    PART_COLUMNS,
    PART_COLUMNS_NEEDED,
    TYPE,
    revision_kind,
)
from kittrack.services.catalogue_rows import Row
from kittrack.services.catalogue_text import read_csv, read_toml
from kittrack.services.desk import Done
from kittrack.store.act import Act
from kittrack.store.database import Store
from kittrack.store.records import Airframe, Person, Place, Tool

_LISTS: dict[str, tuple[Kind[Any], tuple[str, ...]]] = {
    "sites.csv": (SITE, ("name", "time_zone")),
    "places.csv": (PLACE, ("kind", "name", "site")),
    "people.csv": (PERSON, ("name", "roles", "script", "same_human_as")),
    "companies.csv": (COMPANY, ("name", "maker", "supplier", "lead_time")),
    "papers.csv": (PAPER, ("paper_class", "kind")),
    "tools.csv": (
        TOOL,
        (
            "name",
            "kind",
            "from",
            "to",
            "resolution",
            "uncertainty",
            "repeatability",
            "ruler",
            "calibrated_until",
        ),
    ),
    "airframes.csv": (
        AIRFRAME,
        ("tail", "type", "revision", "hours", "flights", "reading_source", "verified_how", "apron"),
    ),
}
_FOLDERS = {"parts": (".toml", ".csv"), "types": (".toml",)}
_FOR_PEOPLE = (".txt", ".md")
_ORDER = (SITE, PLACE, PERSON, COMPANY, PAPER, PART, TOOL, TYPE)
"""What is written before what leans on it; type revisions and then airframes come last."""


@dataclass(frozen=True)
class Founding:
    """What a new store is founded with, as the folder's first site and first manager say it."""

    site: str
    time_zone: str
    manager: str


@dataclass(frozen=True)
class _Entry:
    """One row that was read: its kind, its spec, where it stands, and what is wrong with it by itself."""

    kind: Kind[Any]
    spec: Any
    row: Row
    faults: tuple[Problem, ...]

    @property
    def name(self) -> str:
        return self.kind.name(self.spec)

    @property
    def is_nameless(self) -> bool:
        """Whether its own name could not be read, so that nothing can be found by it."""
        return any(fault.field.rpartition(", ")[2] in _NAMES for fault in self.faults)


_NAMES = frozenset({"name", "number", "tail", "type"})


@desk.done_by("manager")
def load_catalogue(store: Store, *, folder: Path, by: str, at: datetime, key: str = "") -> Done:
    """Load a folder of catalogue files into a founded store, in one act.

    Args:
        store: the founded store.
        folder: the folder; its form stands at the head of this module.
        by: a manager.
        at: the instant.
        key: the caller's own name for the act.

    Returns:
        The codes of new people, places, tools and airframes, in this order; how many of each kind were
        loaded; and every warning.

    Raises:
        BadInput: every fault of every row, with its file, row and field. Nothing was loaded.
        Refused: the person is no manager.
    """
    problems: list[Problem] = []
    entries = _read_folder(Path(folder), problems)
    with store.act("load the catalogue", by=by, at=at, key=key) as act:
        require(desk.check_done_by(act, load_catalogue))
        before = {
            record: act.value(f"SELECT coalesce(max(id), 0) FROM {record.shape.name}") for record in _CODED
        }
        warnings = _write_all(act, entries) if _all_named(entries, problems) else []
        raise_any(sorted(problems, key=_place_of))
        codes = tuple(_new_codes(act, before))
    counts = Counter(entry.kind.words for entry in entries)
    said = [f"{count} {one if count == 1 else many} loaded." for (one, many), count in counts.items()]
    return Done(act.event_id, codes, (*said, *warnings))


def _all_named(entries: list[_Entry], problems: list[Problem]) -> bool:
    """Whether every row has a name; else what leans on the lost ones would be blamed for them."""
    return len(problems) == sum(len(e.faults) for e in entries) and not any(e.is_nameless for e in entries)


_CODED: tuple[type[Person] | type[Place] | type[Tool] | type[Airframe], ...] = (Person, Place, Tool, Airframe)


def _new_codes(act: Act, before: dict[Any, int]) -> Iterator[str]:
    shelf = "AND kind NOT IN ('hands', 'airframe', 'position')"
    for record in _CODED:
        where = f"id > ? {shelf if record is Place else ''}"
        yield from (row.code for row in act.select(record, where, before[record]))


def founding_of(folder: Path) -> Founding:
    """What to found a new store with before the folder is loaded: its first site and its first manager.

    Raises:
        BadInput: the folder names no site or no manager, or can't be read.
    """
    problems: list[Problem] = []
    entries = _read_folder(Path(folder), problems)
    site = next((e.spec for e in entries if e.kind is SITE), None)
    manager = next((e.spec for e in entries if e.kind is PERSON and "manager" in e.spec.roles), None)
    if site is None:
        problems.append(Problem("No site is named; add the first one.", "name", None, "sites.csv"))
    if manager is None:
        problems.append(Problem("No manager is named; add one.", "roles", None, "people.csv"))
    if problems or site is None or manager is None:
        raise BadInput(sorted(problems, key=_place_of))
    return Founding(site.name, site.time_zone, manager.name)


def _place_of(problem: Problem) -> tuple[str, int]:
    return problem.source, problem.row or 0


# ---- reading -----------------------------------------------------------------------------------------------


def _read_folder(folder: Path, problems: list[Problem]) -> list[_Entry]:
    if not folder.is_dir():
        raise BadInput(
            f"there is no folder {folder}; name the one that holds the catalogue's files", field="folder"
        )
    entries: list[_Entry] = []
    for path in sorted(folder.iterdir()):
        if path.is_dir() and path.name in _FOLDERS:
            for inner in sorted(path.iterdir()):
                entries += _read_inner(inner, path.name, problems)
        elif path.name in _LISTS:
            kind, columns = _LISTS[path.name]
            rows = read_csv(path, source=path.name, columns=columns, needed=columns, problems=problems)
            entries += [_entry(kind, row) for row in rows]
        elif not _is_for_people(path):
            known = ", ".join((*_LISTS, *(f"{name}/" for name in _FOLDERS)))
            problems.append(
                Problem(f"No such file belongs to a catalogue; there are: {known}.", "", None, path.name)
            )
    if not entries and not problems:
        raise BadInput(
            f"the folder {folder} holds no catalogue file; see the form of one: kittrack catalogue form",
            field="folder",
        )
    return sorted(entries, key=_rank)


def _is_for_people(path: Path) -> bool:
    return path.name.startswith(".") or path.suffix in _FOR_PEOPLE


def _rank(entry: _Entry) -> tuple[int, bool]:
    """Hubs come before the blades that name them."""
    last = len(_ORDER) + (entry.kind is AIRFRAME)
    rank = _ORDER.index(entry.kind) if entry.kind in _ORDER else last
    return rank, entry.kind is PART and entry.spec.kind != "hub"


def _read_inner(path: Path, folder: str, problems: list[Problem]) -> Iterator[_Entry]:
    source = f"{folder}/{path.name}"
    if _is_for_people(path):
        return
    if path.suffix not in _FOLDERS[folder]:
        endings = " or ".join(_FOLDERS[folder])
        problems.append(Problem(f"Files of this folder end in {endings}.", "", None, source))
    elif path.suffix == ".csv":
        for row in read_csv(
            path, source=source, columns=PART_COLUMNS, needed=PART_COLUMNS_NEEDED, problems=problems
        ):
            row.seen.add("marks")
            yield _entry(PART, row)
    else:
        top = read_toml(path, source=source, problems=problems)
        if top is not None:
            yield from _parts_of(top) if folder == "parts" else _types_of(top)


def _parts_of(top: Row) -> Iterator[_Entry]:
    yield from [_entry(PART, row) for row in top.tables("part")]
    top.done()


def _types_of(top: Row) -> Iterator[_Entry]:
    kind = _entry(TYPE, top, whole=False)
    yield kind
    yield from [_entry(revision_kind(kind.spec), row) for row in top.tables("revision")]
    top.done()


def _entry(kind: Kind[Any], row: Row, *, whole: bool = True) -> _Entry:
    """Read and check a row; `whole` refuses fields that nobody asked for."""
    before = len(row.problems)
    spec = kind.read(row)
    if whole:
        row.done()
    row.blames(kind.check(spec), COLUMNS_OF_SPECS)
    return _Entry(kind, spec, row, tuple(row.problems[before:]))


# ---- writing -----------------------------------------------------------------------------------------------


def _write_all(act: Act, entries: list[_Entry]) -> list[str]:
    """Write every sound row that leans on sound rows only; so each fault is told once, where it is."""
    unsound = {entry.name for entry in entries if entry.faults}
    warnings: list[str] = []
    for entry in entries:
        if entry.faults:
            continue
        if unsound.intersection(entry.kind.leans_on(entry.spec)):
            unsound.add(entry.name)
            continue
        found: list[Problem] = []
        with collecting(found):
            warnings += entry.kind.write(act, entry.spec)
        if found:
            unsound.add(entry.name)
            entry.row.blames(found, COLUMNS_OF_SPECS)
    return warnings
