"""What the bar codes of one box say, before anything is taken in."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from kittrack.domain import dates
from kittrack.domain.boxes import BoxRow, read_box, read_sent
from kittrack.domain.scanner_settings import ScannerSettings
from kittrack.store.act import Reading
from kittrack.store.database import Store
from kittrack.store.near_facts import near_known
from kittrack.store.records import Site


@dataclass(frozen=True)
class WasAsked:
    """A doubt that only a look at the label settles: the scan counted from 1, the question, its choices in words."""

    scan: int
    question: str
    choices: tuple[str, ...]


@dataclass(frozen=True)
class WhatWasRead:
    """The table of what was read and what each thing fills, and all that a person has to look at."""

    rows: tuple[BoxRow, ...]
    questions: tuple[WasAsked, ...]
    problems: tuple[str, ...]
    notes: tuple[str, ...]
    look_again: tuple[str, ...]


def what_was_read(
    store: Store, *, scans: Sequence[str], at: datetime, settings: ScannerSettings | None = None
) -> WhatWasRead:
    """Read the bar codes of one box together; nothing is recorded.

    Args:
        scans: as they arrived.
        at: the moment, which decides the century of a year of two digits.
        settings: of the scanner that sent them.
    """
    with store.reading() as read:
        today = dates.local_day(at, zone=_zone(read))
        box = read_box(read_sent(text, today=today, settings=settings or ScannerSettings()) for text in scans)
        found = box.fields
        part = found.part_number or found.customer_part or ""
        near = near_known(read, part=part, serial=found.serial or "", lot=found.lot or "")
    asked = tuple(
        WasAsked(a.scan, a.question.message, tuple(c.words for c in a.question.choices))
        for a in box.questions
    )
    problems = tuple(f"scan {p.row}: {p.message}" if p.row else p.message for p in box.problems)
    return WhatWasRead(box.rows, asked, problems, box.notes, near)


def _zone(read: Reading) -> str:
    return read.select(Site, limit=1)[0].time_zone
