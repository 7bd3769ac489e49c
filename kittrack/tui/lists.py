"""The kinds of lists: rows of the store a page at a time, the table of a question, and pictures with their numbers."""

from collections.abc import Awaitable, Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from kittrack.domain.codes import looks_like_code
from kittrack.queries.pages import Row, page
from kittrack.tui.listing import PAGE, Ask, Page, Record, Step, page_of

if TYPE_CHECKING:
    from kittrack.tui.deeds import Deed


@dataclass(frozen=True)
class Paged:
    """A list of `queries.pages`: never more than a page of it is held."""

    title: str
    asks: str
    heads: tuple[str, ...]
    empty: str
    of: str
    record: Callable[[Row], Record]
    first: Step | None = None
    paper: str = ""

    async def page(self, ask: Ask, *, after: str, text: str, at: datetime) -> Page:  # noqa: ARG002 - every list's signature
        """The rows after a key, one more than shown to know whether more follow."""
        rows: Sequence[Row] = await ask(page, of=self.of, after=after, text=text, limit=PAGE + 1)
        shown = tuple(map(self.record, rows[:PAGE]))
        return Page(shown, more=len(rows) > PAGE, note=f"{len(shown)} shown")


@dataclass(frozen=True)
class OfQuestion:
    """The table that answers a question which asks for nothing; its rows are cut into pages.

    A row is about the first number of ours in it, or what stands under the head `about`; of a step "DEED:FIELD" the
    field is filled with that, or with the first cell. Where a number stands under the head `begun`, the step was taken
    already, and the row is about that number and what comes next for it. `fills` names further fields of the step with
    the heads that fill them. `when` names a head and what stands under it where the step is taken; else what comes next is that
    of the number.
    """

    title: str
    asks: str
    question: str
    empty: str
    step: str = ""
    words: str = ""
    heads: tuple[str, ...] = ()
    first: Step | None = None
    paper: str = ""
    about: str = ""
    begun: str = ""
    fills: tuple[tuple[str, str], ...] = ()
    when: tuple[str, tuple[str, ...]] | None = None

    async def page_of(self, deed: "Deed", ask: Ask, *, after: str, text: str, at: datetime) -> Page:
        """The page of the table of an answer."""
        if deed.grid is None:
            return Page(())
        heads, rows = deed.grid(await ask(deed.calls, **({"at": at} if deed.at else {})))
        records = [self._record(number, heads, row) for number, row in enumerate(rows, start=1)]
        return page_of(records, after=after, text=text, heads=heads)

    async def page(self, ask: Ask, *, after: str, text: str, at: datetime) -> Page:  # noqa: ARG002 - every list's signature
        """Nothing by itself: the station knows the question."""
        return Page(())

    def _record(self, number: int, heads: Sequence[str], row: Sequence[str]) -> Record:
        cells = dict(zip(heads, row, strict=True))
        begun = cells[self.begun] if self.begun else ""
        subject = cells[self.about] if self.about else ""
        code = next((cell for cell in (begun, subject, *row) if looks_like_code(cell)), "")
        detail = tuple(f"{head}: {cell}" for head, cell in cells.items() if cell)
        fits = self.when is None or cells[self.when[0]] in self.when[1]
        step = self._step(cells, subject or row[0]) if self.step and not begun and fits else None
        return Record(str(number), tuple(row), detail, code, step)

    def _step(self, cells: Mapping[str, str], subject: str) -> Step:
        deed, _, field = self.step.partition(":")
        given = ((field, subject),) if field else ()
        return Step(deed, self.words, (*given, *((name, cells[head]) for name, head in self.fills)))


@dataclass(frozen=True)
class Drawn:
    """A list whose answer is a picture with its numbers."""

    title: str
    asks: str
    heads: tuple[str, ...]
    empty: str
    asked: Callable[[Ask, datetime], Awaitable[Page]]
    first: Step | None = None
    paper: str = ""

    async def page(self, ask: Ask, *, after: str, text: str, at: datetime) -> Page:  # noqa: ARG002 - every list's signature
        """All of it: there are as many records as months or types."""
        found = await self.asked(ask, at)
        records = tuple(record for record in found.records if record.matches(text))
        return Page(
            records,
            note=f"{len(records)} in all",
            heads=found.heads,
            picture=found.picture,
            chart=found.chart,
        )
