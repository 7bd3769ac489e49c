"""What the verdict line says: a tone as a word in front, then every sentence.

Source: design 7 (the verdict line), R20 (every reason, not the first).
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from kittrack.errors import BadInput, Conflict, NotFound, PrintError, Refused, StoreError


class Tone(StrEnum):
    """How a verdict is meant; the value is the word that stands in front of it."""

    READY = "READY"
    DONE = "DONE"
    NEXT = "NEXT"
    NOT_FINISHED = "NOT FINISHED"
    NOT_YET = "NOT YET"
    REFUSED = "REFUSED"
    STOP = "STOP"
    NOT_READ = "NOT READ"
    NOT_FOUND = "NOT FOUND"
    TOO_LATE = "TOO LATE"
    STORE = "STORE"
    FAULT = "FAULT"

    @property
    def is_against(self) -> bool:
        """Whether it says that something did not or can't happen."""
        return self not in (Tone.READY, Tone.DONE, Tone.NEXT, Tone.NOT_FINISHED)


@dataclass(frozen=True)
class Verdict:
    """A tone and its sentences, the first one beside the word."""

    tone: Tone
    sentences: tuple[str, ...]

    @property
    def lines(self) -> tuple[str, ...]:
        """The sentences as shown, the word of the tone in front of the first."""
        first, *rest = self.sentences or ("",)
        head = first if first.startswith(f"{self.tone}:") else f"{self.tone}: {first}"
        return (head, *(f"  {sentence}" for sentence in rest))


def verdict(tone: Tone, *sentences: str) -> Verdict:
    """A verdict of plain sentences, empty ones left out."""
    return Verdict(tone, tuple(s for s in sentences if s))


def done(said: Sequence[str]) -> Verdict:
    """What an act said, as a verdict."""
    return Verdict(Tone.DONE, tuple(said) or ("It is recorded.",))


def stop_banner(width: int) -> str:
    """STOP in words across a width, to be read at arm's length and without colour."""
    word = "STOP"
    gap = "   "
    return gap.join([word] * max(1, (width + len(gap)) // (len(word) + len(gap))))


SENSE_RULES = frozenset({"R2", "R3"})
"""A refusal by one of these stops the hand at once, so it is shown as STOP."""


def verdict_of(error: Exception) -> Verdict:
    """What an error that was raised on purpose says to the person at the screen.

    Raises:
        TypeError: the error is none of kittrack's own.
    """
    match error:
        case Refused():
            stops = bool(error.rules & SENSE_RULES)
            return Verdict(Tone.STOP if stops else Tone.REFUSED, _reasons(error, sense_first=stops))
        case BadInput():
            return Verdict(Tone.NOT_READ, tuple(str(p) for p in error.problems))
        case NotFound():
            return Verdict(Tone.NOT_FOUND, _lines(error))
        case Conflict():
            return Verdict(Tone.TOO_LATE, _lines(error))
        case StoreError() | PrintError():
            return Verdict(Tone.STORE, _lines(error))
    raise TypeError(f"{type(error).__name__} is no error of kittrack's own")


def _reasons(error: Refused, *, sense_first: bool) -> tuple[str, ...]:
    """Every reason; those that stop the hand come first."""
    refusals = error.refusals
    if sense_first:
        refusals = tuple(sorted(refusals, key=lambda r: r.rule not in SENSE_RULES))
    return tuple(reasons_in_words((r.rule, r.message) for r in refusals))


def reasons_in_words(reasons: Iterable[tuple[str, str]]) -> list[str]:
    """Reasons with the rule that each cites at the end, so that the words come first."""
    return [f"{message} ({rule})" if rule.startswith("R") else message for rule, message in reasons]


def _lines(error: Exception) -> tuple[str, ...]:
    return tuple(line for line in str(error).split("\n") if line) or (type(error).__name__,)
