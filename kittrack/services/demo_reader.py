"""The scenario's text files: days of people's acts, one paragraph for each act.

    # a line that begins with a hash is for people
    2024-10-07 09:10  Clerk Amaryllis: receive a delivery as dn-1, y-cw, y-ccw
        supplier: Quillwing Rotorworks
        reference: DN 4411
        line: QW-18-CW, 16 pieces, lot QW2409

The heading says when (local time of the stores), who, what, and `as` the names by which later paragraphs call
what got its code by the act. The indented lines are the details, `key: value`; a key may stand several times.
`refused: R3` says that the act is refused under exactly these rules, and `because: text` what the refusal says.
Source: design A6.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from importlib.resources.abc import Traversable
from zoneinfo import ZoneInfo

from kittrack.errors import BadInput, Problem

_HEADING = re.compile(r"(\d{4}-\d\d-\d\d \d\d:\d\d)\s+([^:]+): (.+)")
_DETAIL = re.compile(r"\s+([^:]+): (.+)")


@dataclass(frozen=True)
class Entry:
    """One paragraph: where it stands, when, who, the act's words, the names it gives, its details in order."""

    source: str
    row: int
    at: datetime
    by: str
    act: str
    names: tuple[str, ...] = ()
    details: tuple[tuple[str, str], ...] = ()

    def all(self, key: str) -> tuple[str, ...]:
        """Every value of a key, in order."""
        return tuple(value for name, value in self.details if name == key)

    def get(self, key: str, default: str = "") -> str:
        """The last value of a key."""
        return (self.all(key) or (default,))[-1]

    def fault(self, message: str) -> BadInput:
        """What is wrong with this paragraph, with its place."""
        return BadInput([Problem(message, row=self.row, source=self.source)])


def read_history(folder: Traversable, *, zone: str) -> tuple[Entry, ...]:
    """Every paragraph of a folder's `.txt` files, in the order of their names.

    Args:
        folder: the folder.
        zone: the time zone in which the headings are written.

    Raises:
        BadInput: each line that can't be read, with its file and row.
    """
    problems: list[Problem] = []
    entries: list[Entry] = []
    for file in sorted(folder.iterdir(), key=lambda f: f.name):
        if file.name.endswith(".txt"):
            text = file.read_text(encoding="utf-8")
            entries += read_entries(text, source=file.name, zone=zone, problems=problems)
    if problems:
        raise BadInput(problems)
    return tuple(entries)


def read_entries(text: str, *, source: str, zone: str, problems: list[Problem]) -> Iterator[Entry]:
    """The paragraphs of one file; what can't be read is added to `problems`."""
    heading: Entry | None = None
    details: list[tuple[str, str]] = []
    for row, line in enumerate(text.splitlines(), start=1):
        if not line.strip() or line.lstrip().startswith("#"):
            continue
        if detail := _DETAIL.fullmatch(line):
            details.append((detail[1].strip(), detail[2].strip()))
            if heading is None:
                problems.append(Problem("A detail stands before any heading.", row=row, source=source))
            continue
        if heading is not None:
            yield _whole(heading, details)
        heading, details = _heading(line, row=row, source=source, zone=zone, problems=problems), []
    if heading is not None:
        yield _whole(heading, details)


def _whole(heading: Entry, details: list[tuple[str, str]]) -> Entry:
    return Entry(
        heading.source, heading.row, heading.at, heading.by, heading.act, heading.names, tuple(details)
    )


def _heading(line: str, *, row: int, source: str, zone: str, problems: list[Problem]) -> Entry | None:
    found = _HEADING.fullmatch(line.rstrip())
    try:
        at = datetime.strptime(found[1], "%Y-%m-%d %H:%M").replace(tzinfo=ZoneInfo(zone)) if found else None
    except ValueError:
        at = None
    if found is None or at is None:
        message = "The line is neither 'DATE TIME  PERSON: ACT' nor an indented 'key: value'."
        problems.append(Problem(message, row=row, source=source))
        return None
    act, _, names = found[3].partition(" as ")
    given = tuple(name.strip() for name in names.split(",") if name.strip())
    return Entry(source, row, at, found[2].strip(), act.strip(), given)
