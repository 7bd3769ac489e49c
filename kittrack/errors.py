"""Everything that kittrack raises on purpose.

    KittrackError
      Refused        a rule of the stores forbids the act; carries every Refusal
      NotFound       a code or name that the store does not hold
      BadInput       what was typed, scanned or loaded can't be read; carries every Problem
      Conflict       somebody else was first; says who and when
      StoreError     the database: locked, lost, newer, damaged, of another program
        NoStore      there is none yet where one was named
      PrintError     a label or document that can't be drawn or printed

A fault in a person's data is a value (Refusal, Problem) until somebody has to stop for it; then the
values travel inside one exception. Exit codes stand in kittrack/cli/exits.py.
"""

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, order=True)
class Refusal:
    """One reason why an act is refused: the rule ("R3"), the thing, and one plain sentence.

    The message names the part, the rule's demand and what to do next.
    """

    rule: str
    subject: str
    message: str


@dataclass(frozen=True, order=True)
class Problem:
    """One fault in what was typed or loaded: where it stands and one plain sentence.

    `row` counts from 1 and includes a heading line, as an editor or a spreadsheet shows it.
    """

    message: str
    field: str = ""
    row: int | None = None
    source: str = ""

    def __str__(self) -> str:
        """The sentence with its place in front."""
        place = [self.source] if self.source else []
        if self.row is not None:
            place.append(f"row {self.row}")
        if self.field:
            place.append(self.field)
        return f"{', '.join(place)}: {self.message}" if place else self.message


class KittrackError(Exception):
    """The root of what kittrack raises on purpose; its text is fit to show to a person."""


class Refused(KittrackError):
    """An act that the rules of the stores forbid. `refusals` holds every reason, in rule order."""

    def __init__(self, refusals: Iterable[Refusal]) -> None:
        self.refusals = tuple(dict.fromkeys(refusals))
        super().__init__("\n".join(f"{r.rule}: {r.message}" for r in self.refusals))

    @property
    def rules(self) -> frozenset[str]:
        """The rules that refuse, as "R1" to "R21"."""
        return frozenset(r.rule for r in self.refusals)


class NotFound(KittrackError):
    """A code, name or number that the store does not hold."""


class BadInput(KittrackError):
    """Input that can't be read. `problems` holds every fault found, in the order of the input."""

    def __init__(self, problems: Iterable[Problem] | str, *, field: str = "", row: int | None = None) -> None:
        given = (Problem(problems, field, row),) if isinstance(problems, str) else tuple(problems)
        self.problems = given
        super().__init__("\n".join(str(p) for p in given))


class Conflict(KittrackError):
    """Somebody else was first: the thing is no longer where or what the act needs."""


class StoreError(KittrackError):
    """The database can't be used as it is; the message says why and what to do."""


class NoStore(StoreError):
    """There is no store yet where one was named; one can be founded there."""


class PrintError(KittrackError):
    """A label or a document can't be drawn, read back or printed."""
