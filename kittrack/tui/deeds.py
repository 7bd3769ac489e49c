"""What a station can do besides showing: acts that a form asks for, and questions whose answer is read.

A deed is one frozen declaration; the form, the reading of its fields and the scans that fill them all
follow from it. The screens hold no rule: whatever is refused, a service refused.
"""

from collections.abc import Awaitable, Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Protocol

from kittrack.domain.codes import Code, Kind
from kittrack.domain.scan_result import Scan
from kittrack.services.desk import Done
from kittrack.tui import typed

Values = dict[str, Any]
Texts = Mapping[str, str]


class Asker(Protocol):
    """Calls a service or a query in the store's thread."""

    async def __call__(self, function: Callable[..., Any], *args: Any, **kwargs: Any) -> Any:
        """The answer; its errors arrive here."""


@dataclass(frozen=True)
class Ask:
    """One field of a deed.

    `name` is the keyword that the act (or its `build`) takes; a field that is left empty is not passed on,
    so the act's own default holds. `scans` are the kinds of numbers of ours that fill it, `many` says that
    scans add up in it. A `row` field belongs to one of several rows; `keeps` says that it stays filled
    where the form goes on to the next.
    """

    name: str
    words: str
    read: Callable[[str], Any] = typed.text
    needed: bool = True
    value: str = ""
    scans: tuple[Kind, ...] = ()
    many: bool = False
    row: bool = False
    keeps: bool = False


@dataclass(frozen=True)
class Act:
    """Something that is recorded.

    `calls` is the service; `build` turns what was read into its keywords. `rows` is the keyword of all rows
    where the form takes several, `row` makes one of what was read. `again` says that the form stays open
    for the next one. `hint` tells what the store knows of what stands in the fields. `scan` turns a
    supplier's label into texts for fields.
    """

    title: str
    calls: Callable[..., Any]
    asks: tuple[Ask, ...] = ()
    build: Callable[[Values], Values] | None = None
    notes: tuple[str, ...] = ()
    rows: str = ""
    row: Callable[..., Any] | None = None
    again: bool = False
    hint: Callable[[Asker, Texts, datetime], Awaitable[Sequence[str]]] | None = None
    scan: Callable[[Scan], Texts] | None = None
    by: bool = True

    def takes(self, kind: Kind) -> bool:
        """Whether a number of a kind has a place in its form."""
        return any(kind in ask.scans for ask in self.asks)


@dataclass(frozen=True)
class Question:
    """Something that is asked of the store and read on a page of its own.

    `answer` gets the asker, the values read and the instant, and answers with a function that lays lines
    out for a width.
    """

    title: str
    answer: Callable[[Asker, Values, datetime], Awaitable[Sequence[str]]]
    asks: tuple[Ask, ...] = ()
    notes: tuple[str, ...] = ()

    def takes(self, kind: Kind) -> bool:
        """Whether a number of a kind has a place in its form."""
        return any(kind in ask.scans for ask in self.asks)


Deed = Act | Question


def filled(asks: Sequence[Ask], codes: Sequence[Code], *, given: Texts) -> dict[str, str]:
    """What stands in the fields at first: what is given, then each code in the first field that takes its kind."""
    texts = {ask.name: given.get(ask.name, ask.value) for ask in asks}
    for code in codes:
        fit = [ask for ask in asks if code.kind in ask.scans and (ask.many or not texts[ask.name])]
        if fit:
            texts[fit[0].name] = code.text
    return texts


def done_of(answer: object) -> Done:
    """What an act said, whichever shape its answer has."""
    if isinstance(answer, Done):
        return answer
    event, codes, said = (
        getattr(answer, "event", 0),
        getattr(answer, "codes", ()),
        getattr(answer, "said", ()),
    )
    return Done(int(event), tuple(codes), tuple(said))
