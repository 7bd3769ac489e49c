"""Lists that the store hands out a page at a time, with the whole of one record asked for when it is looked at."""

from collections.abc import Awaitable, Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from kittrack.queries.lookup import Thing, what_is
from kittrack.queries.pages import Row, page
from kittrack.tui.listing import PAGE, Ask, Page, Record

Look = Callable[[Ask, Record, datetime], Awaitable[Sequence[str]]]


async def look_up(ask: Ask, record: Record, _at: datetime) -> list[str]:
    """What the store says of the code of a record."""
    thing: Thing = await ask(what_is, code=record.key)
    return lines_of(thing)


def lines_of(thing: Thing) -> list[str]:
    """A thing in words: what it is, its facts, where it is, what holds it."""
    lines = [f"{thing.kind} {thing.code}", *(f"{name}: {value}" for name, value in thing.facts)]
    around = [place for place in thing.where if place != thing.code]
    lines += [f"it is in {' in '.join(around)}"] if around else []
    return [*lines, *(f"ON HOLD under {hold}" for hold in thing.holds)]


@dataclass(frozen=True)
class Paged:
    """A list of `queries.pages`: never more than a page of it is held."""

    title: str
    heads: tuple[str, ...]
    empty: str
    of: str
    record: Callable[[Row], Record]
    look: Look | None = None

    async def page(self, ask: Ask, *, after: str, text: str, at: datetime) -> Page:  # noqa: ARG002 - every list's signature
        """The rows after a key, one more than shown to know whether more follow."""
        rows: Sequence[Row] = await ask(page, of=self.of, after=after, text=text, limit=PAGE + 1)
        shown = tuple(map(self.record, rows[:PAGE]))
        note = f"the first {PAGE}" if len(rows) > PAGE and not after else f"{len(shown)}"
        return Page(shown, more=len(rows) > PAGE, note=f"{note} shown")


@dataclass(frozen=True)
class Drawn:
    """A list whose answer is a picture with its numbers: one record a bar, all of them in the detail."""

    title: str
    heads: tuple[str, ...]
    empty: str
    records: Callable[[Ask, datetime], Awaitable[Sequence[Record]]]
    look: Callable[..., Any]

    async def page(self, ask: Ask, *, after: str, text: str, at: datetime) -> Page:  # noqa: ARG002 - every list's signature
        """All of it: there are as many records as months or parts."""
        found = tuple(record for record in await self.records(ask, at) if record.matches(text))
        return Page(found, note=f"{len(found)} in all")
