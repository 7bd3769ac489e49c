"""Lists of what the store holds, as the stations show them: a page of records at a time.

A list asks for the records after a key and never holds more than a page. Source: design 7, N7.
"""

from collections.abc import Awaitable, Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any, Final, Protocol

if TYPE_CHECKING:
    from kittrack.printing.documents import Chart

PAGE: Final = 200
"""Records of a page: some screens full, far below what a widget can hold without a pause."""

Ask = Callable[..., Awaitable[Any]]


@dataclass(frozen=True)
class Step:
    """What comes next for something: the deed that does it, in a few words, texts for its fields, and rows that are filled already."""

    deed: str
    words: str
    given: tuple[tuple[str, str], ...] = ()
    rows: tuple[tuple[tuple[str, str], ...], ...] = ()


@dataclass(frozen=True)
class Record:
    """One line of a list: its key, its cells (the sense first), and everything there is to say of it.

    `code` is the number of ours that it is about, where its key is none; `step` what comes next for it, where
    its code alone does not say so.
    """

    key: str
    cells: tuple[str, ...]
    detail: tuple[str, ...] = ()
    code: str = ""
    step: Step | None = None

    def matches(self, text: str) -> bool:
        """Whether every word of a filter stands somewhere in the record, capitals or not."""
        whole = " ".join((self.key, *self.cells, *self.detail)).casefold()
        return all(word in whole for word in text.casefold().split())


@dataclass(frozen=True)
class Page:
    """Some records, whether more come after them, and a remark on what was looked through.

    `heads` replace those of the list, where the answer names its own columns. `picture` draws the whole answer
    for a width, where it is one that is looked at; `chart` is the same for paper.
    """

    records: tuple[Record, ...]
    more: bool = False
    note: str = ""
    heads: tuple[str, ...] = ()
    picture: Callable[[int], Sequence[str]] | None = None
    chart: "Chart | None" = None


class Listing(Protocol):
    """A list by name, with its column heads and what to say and do where it is empty."""

    @property
    def title(self) -> str:
        """Its name."""

    @property
    def asks(self) -> str:
        """What it answers, in the words of who asks."""

    @property
    def heads(self) -> tuple[str, ...]:
        """What stands over the columns."""

    @property
    def empty(self) -> str:
        """What to say, where nothing is in it."""

    @property
    def first(self) -> Step | None:
        """What to do first, where nothing is in it."""

    @property
    def paper(self) -> str:
        """The deed that writes the paper of it; "" where it is printed as it stands."""

    async def page(self, ask: Ask, *, after: str, text: str, at: datetime) -> Page:
        """The records after a key ("" for the first ones) that match a filter."""


def page_of(found: Sequence[Record], *, after: str, text: str, heads: tuple[str, ...] = ()) -> Page:
    """A page cut from an answer that came whole, such as the months of a year."""
    matching = [record for record in found if record.matches(text)]
    keys = [record.key for record in matching]
    start = keys.index(after) + 1 if after in keys else 0
    shown = tuple(matching[start : start + PAGE])
    return Page(shown, more=len(matching) > start + PAGE, note=f"{len(matching)} in all", heads=heads)
