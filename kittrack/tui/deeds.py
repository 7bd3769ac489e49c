"""What a station can do besides showing: acts that a form asks for, and questions whose answer is read.

A deed is one frozen declaration; the form, the reading of its fields and the scans that fill them all
follow from it. The screens hold no rule: whatever is refused, a service refused.
"""

from collections.abc import Awaitable, Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any, Final, Protocol

from kittrack.domain.codes import Code, Kind
from kittrack.errors import BadInput, Problem
from kittrack.services.desk import Done

if TYPE_CHECKING:
    from kittrack.printing.documents import Document

NOWHERE: Final = ""
"""The mode of deeds that stand in no menu, as they are done from what stands on a screen."""
Values = dict[str, Any]
Texts = Mapping[str, str]
Draw = Callable[[int], Sequence[str]]
"""Lays lines out for a width."""
Facts = Sequence[tuple[str, str]]
"""Names and values."""
Grid = tuple[tuple[str, ...], Sequence[tuple[str, ...]]]
"""Column heads and rows of cells."""


class Asker(Protocol):
    """Calls a service or a query in the store's thread."""

    async def __call__(self, function: Callable[..., Any], *args: Any, **kwargs: Any) -> Any:
        """The answer; its errors arrive here."""


@dataclass(frozen=True)
class Ask:
    """One field of a deed.

    `name` is the keyword that the deed (or its `build`) takes, unless `field` names it where two rows have the
    same; a field that is left empty is not passed on, so the default of what it calls holds, unless `empty_ok`:
    then it is passed as "". `help` says what belongs
    there while the field has the focus. `scans` are the kinds of numbers of ours that fill it, `many` says
    that scans add up in it, `is_raw` that it gathers scans as they were sent. `rows` names the rows that it is
    one field of; `keeps` says that it stays filled for the next row. `is_secret` shows nothing of it.
    `choices` are all the texts that it takes, each with what it means; `suggests` says of what in the store its
    text is (`queries.suggestions`), besides the kinds of numbers that a scan puts there.
    """

    name: str
    words: str
    read: Callable[[str], Any] = str
    help: str = ""
    needed: bool = True
    value: str = ""
    scans: tuple[Kind, ...] = ()
    many: bool = False
    is_raw: bool = False
    rows: str = ""
    keeps: bool = False
    empty_ok: bool = False
    is_secret: bool = False
    field: str = ""
    choices: tuple[tuple[str, str], ...] = ()
    suggests: tuple[str, ...] = ()

    @property
    def looked_up(self) -> tuple[str, ...]:
        """What is suggested while somebody types, by its names in `queries.suggestions`."""
        return () if self.is_secret or self.is_raw else (*self.suggests, *(kind.value for kind in self.scans))

    @property
    def keyword(self) -> str:
        """The keyword under which it is passed on."""
        return self.field or self.name


@dataclass(frozen=True)
class Rows:
    """Several values of one kind: the keyword of all of them, in words, and what makes one of its fields."""

    name: str
    words: str
    make: Callable[..., Any]
    needed: bool = True


@dataclass(frozen=True)
class Deed:
    """Something that is recorded, or asked of the store.

    `key` is its name (the verb of the command line), `title` says what it does. `calls` is the service or the
    query, `build` turns what was read into its keywords; `by` and `at` say whether it takes the person and the
    instant. `shows` lays a question's answer out; an act has none and answers with what it did. `grid` is the main table of
    an answer. `paper` is the deed that writes an answer of it on paper, `prints` makes a document of an answer that has no paper
    of its own, from a title, the answer and what was asked; `writes` says that a file is written and nothing else. `done_by` are the
    roles of which one has to be held, none where nobody asks.
    """

    key: str
    title: str
    calls: Callable[..., Any]
    asks: tuple[Ask, ...] = ()
    rows: tuple[Rows, ...] = ()
    build: Callable[[Values], Values] | None = None
    notes: tuple[str, ...] = ()
    by: bool = True
    at: bool = True
    shows: Callable[[Any], Draw] | None = None
    grid: Callable[[Any], Grid] | None = None
    paper: str = ""
    prints: "Callable[[str, Any, Facts], Document] | None" = None
    writes: bool = False
    done_by: tuple[str, ...] = ()

    @property
    def is_act(self) -> bool:
        """Whether it is recorded."""
        return self.shows is None

    def takes(self, kind: Kind) -> bool:
        """Whether a number of a kind has a place in its form."""
        return any(kind in ask.scans for ask in self.asks)

    @property
    def heads(self) -> tuple[Ask, ...]:
        """The fields that are asked once."""
        return tuple(ask for ask in self.asks if not ask.rows)

    @property
    def in_order(self) -> tuple[Ask, ...]:
        """The fields in the order in which the form shows them."""
        return (*self.heads, *(ask for rows in self.rows for ask in self.of_rows(rows.name)))

    def of_rows(self, rows: str) -> tuple[Ask, ...]:
        """The fields of one row of some rows."""
        return tuple(ask for ask in self.asks if rows and ask.rows == rows)


@dataclass(frozen=True)
class Answered:
    """What the store answered to a question, with which values it was asked, and the texts that they were read from."""

    answer: Any
    values: Values
    texts: Texts


Hint = Callable[[Asker, Texts, datetime], Awaitable[Sequence[str]]]
"""What the store knows of what stands in the fields of a form."""


def filled(asks: Sequence[Ask], codes: Sequence[Code], *, given: Texts) -> dict[str, str]:
    """What stands in the fields at first: what is given, then each code in the first field that takes its kind."""
    texts = {ask.name: given.get(ask.name, ask.value) for ask in asks}
    for code in codes:
        fit = [ask for ask in asks if code.kind in ask.scans and (ask.many or not texts[ask.name])]
        fit.sort(key=lambda ask: not ask.needed)
        if fit and code.text not in texts[fit[0].name]:
            before = texts[fit[0].name]
            texts[fit[0].name] = f"{before}, {code.text}" if before else code.text
    return texts


def read_texts(asks: Sequence[Ask], texts: Texts) -> Values:
    """What fields say.

    Raises:
        BadInput: every field that can't be read, or is empty and needed.
    """
    values: Values = {}
    problems: list[Problem] = []
    for ask in asks:
        text = texts[ask.name]
        if not text:
            problems += [Problem(f"{ask.words} is empty.")] if ask.needed else []
            values |= {ask.keyword: ""} if ask.empty_ok else {}
            continue
        try:
            values[ask.keyword] = ask.read(text)
        except BadInput as error:
            problems += [Problem(f"{ask.words}: {p.message}") for p in error.problems]
    if problems:
        raise BadInput(problems)
    return values


def done_of(answer: object) -> Done:
    """What an act said, whichever shape its answer has."""
    if isinstance(answer, Done):
        return answer
    event, codes, said = (
        getattr(answer, "event", 0),
        getattr(answer, "codes", ()),
        getattr(answer, "said", ()),
    )
    return Done(int(event or 0), tuple(codes), tuple(said))
