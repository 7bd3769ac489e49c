"""Lists of what the store holds, as the reading stations show them: a page of records at a time.

A list asks for the records after a key and never holds more than a page. Source: design 7, N7.
"""

from collections.abc import Awaitable, Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final, Protocol

PAGE: Final = 200
"""Records of a page: some screens full, far below what a widget can hold without a pause."""

Ask = Callable[..., Awaitable[Any]]


@dataclass(frozen=True)
class Record:
    """One line of a list: its key, its cells (the sense first), and everything there is to say of it."""

    key: str
    cells: tuple[str, ...]
    detail: tuple[str, ...] = ()

    def matches(self, text: str) -> bool:
        """Whether every word of a filter stands somewhere in the record, capitals or not."""
        whole = " ".join((self.key, *self.cells, *self.detail)).casefold()
        return all(word in whole for word in text.casefold().split())


@dataclass(frozen=True)
class Page:
    """Some records, whether more come after them, and a remark on what was looked through."""

    records: tuple[Record, ...]
    more: bool = False
    note: str = ""


class Listing(Protocol):
    """A list by name, with its column heads and what to say and do where it is empty."""

    @property
    def title(self) -> str:
        """Its name."""

    @property
    def heads(self) -> tuple[str, ...]:
        """What stands over the columns."""

    @property
    def empty(self) -> str:
        """What to do first, where nothing is in it."""

    async def page(self, ask: Ask, *, after: str, text: str, at: datetime) -> Page:
        """The records after a key ("" for the first ones) that match a filter."""


@dataclass(frozen=True)
class WholeAnswer:
    """A list whose question answers everything at once; pages are cut from the answer."""

    title: str
    heads: tuple[str, ...]
    empty: str
    records: Callable[[Ask, datetime], Awaitable[Sequence[Record]]]

    async def page(self, ask: Ask, *, after: str, text: str, at: datetime) -> Page:
        """The page that begins after the record with a key."""
        found = [record for record in await self.records(ask, at) if record.matches(text)]
        keys = [record.key for record in found]
        start = keys.index(after) + 1 if after in keys else 0
        return Page(
            tuple(found[start : start + PAGE]), more=len(found) > start + PAGE, note=f"{len(found)} in all"
        )
