"""The Office: ship sets, what is open and due, the shelf, what expires, integrity in numbers, the event log."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import ClassVar

from kittrack.queries.buildable import Buildable, buildable
from kittrack.queries.due import RetorqueDue, retorques
from kittrack.queries.expiring import Expiring, expiring
from kittrack.queries.integrity import Integrity, set_integrity
from kittrack.queries.log import LogEntry, event_log
from kittrack.queries.shelf import ShelfLine, on_the_shelf
from kittrack.queries.standing import JobStanding, OpenFinding, findings, open_jobs
from kittrack.tui import records_of
from kittrack.tui.list_station import ListStation
from kittrack.tui.listing import PAGE, Ask, Listing, Page, Record, WholeAnswer

_LOOKED_THROUGH = 5_000  # events that a filter looks through for one page


async def _ship_sets(ask: Ask, at: datetime) -> Sequence[Record]:
    found: Sequence[Buildable] = await ask(buildable, at=at)
    return [records_of.of_buildable(one) for one in found]


async def _open(ask: Ask, _at: datetime) -> Sequence[Record]:
    jobs: Sequence[JobStanding] = await ask(open_jobs)
    found: Sequence[OpenFinding] = await ask(findings)
    return [*map(records_of.of_finding, found), *map(records_of.of_job, jobs)]


async def _due(ask: Ask, _at: datetime) -> Sequence[Record]:
    found: Sequence[RetorqueDue] = await ask(retorques)
    return [records_of.of_retorque(one) for one in found]


async def _shelf(ask: Ask, at: datetime) -> Sequence[Record]:
    found: Sequence[ShelfLine] = await ask(on_the_shelf, at=at)
    return [records_of.of_shelf(line) for line in found]


async def _expiring(ask: Ask, at: datetime) -> Sequence[Record]:
    found: Sequence[Expiring] = await ask(expiring, at=at)
    return [records_of.of_expiring(item) for item in found]


async def _integrity(ask: Ask, _at: datetime) -> Sequence[Record]:
    found: Integrity = await ask(set_integrity)
    if not (found.sets or found.broken):
        return ()
    told = [
        ("sets are whole and proved", found.sound),
        *((f"sets: {breach}", count) for breach, count in found.by_breach),
        ("sets were broken", len(found.broken)),
        ("blades are orphaned", len(found.orphans)),
    ]
    return records_of.counts(told, kind="integrity")


@dataclass(frozen=True)
class _Log:
    """The event log, newest first, paged by the number of the event."""

    title: str = "event log"
    heads: tuple[str, ...] = ("event", "at (UTC)", "by", "act", "reason")
    empty: str = "no event is recorded yet."

    async def page(self, ask: Ask, *, after: str, text: str, at: datetime) -> Page:  # noqa: ARG002 - every list's signature
        """Events before the one with a number; a filter looks through the newest of them."""
        before = int(after) if after else None
        if not text:
            found: Sequence[LogEntry] = await ask(event_log, before=before, limit=PAGE)
            return Page(tuple(map(records_of.of_event, found)), more=len(found) == PAGE)
        return await self._filtered(ask, before, text)

    async def _filtered(self, ask: Ask, before: int | None, text: str) -> Page:
        matching: list[Record] = []
        seen = 0
        while seen < _LOOKED_THROUGH and len(matching) < PAGE:
            found: Sequence[LogEntry] = await ask(event_log, before=before, limit=1000)
            matching += [record for record in map(records_of.of_event, found) if record.matches(text)]
            seen += len(found)
            if len(found) < 1000:
                return Page(tuple(matching[:PAGE]), more=len(matching) > PAGE, note=f"{len(matching)} found")
            before = found[-1].event
        note = f"{len(matching)} found in {seen} events; verbs look through all: kittrack log --help"
        return Page(tuple(matching[:PAGE]), more=len(matching) > PAGE, note=note)


class Office(ListStation):
    """What a manager should not have to hear from somebody else."""

    mode = "office"
    about = (
        "Ship sets, open work, due work, the shelf, what expires, integrity in numbers, and the event log.",
        "Settings, holds, recalls and counts are verbs: kittrack --help, station Office.",
    )
    CSS_PATH = "office.tcss"
    lists: ClassVar[tuple[Listing, ...]] = (
        WholeAnswer(
            "ship sets", ("type", "can be built", "senses"), "no type is known; load a catalogue: kittrack --help", _ship_sets
        ),
        WholeAnswer("open work", ("airframe", "what", "next"), "no job and no finding is open.", _open),
        WholeAnswer("re-torque due", ("position", "set", "over"), "no torque is due.", _due),
        WholeAnswer(
            "on the shelf", ("sense", "part", "how many", "place", "condition", "expiry"),
            "the shelf is empty; book a delivery first: kittrack receive --help", _shelf,
        ),
        WholeAnswer(
            "expiring", ("left", "until", "what", "part", "how many", "where"), "nothing expires within 90 days.", _expiring
        ),
        WholeAnswer("integrity", ("count", "of what"), "no set is made yet.", _integrity),
        _Log(),
    )  # fmt: skip
