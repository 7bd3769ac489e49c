"""Collecting every fault of what a person typed or loaded, so that one answer names them all."""

from collections.abc import Iterable, Sequence
from dataclasses import replace

from kittrack.domain.text import check_text
from kittrack.errors import BadInput, NotFound, Problem


def fault(field: str, message: str) -> Problem:
    """A problem with the field that it concerns."""
    return Problem(message, field)


def choice(field: str, value: str, allowed: Sequence[str]) -> list[Problem]:
    """A problem where a value is none of the allowed ones."""
    if value in allowed:
        return []
    word = field.rsplit(" ", 1)[-1].replace("_", " ")
    return [fault(field, f"{value!r} is no {word} here; use one of: {', '.join(allowed)}.")]


def texts(spec: object, *, needed: Iterable[str], optional: Iterable[str] = ()) -> list[Problem]:
    """What is wrong with the text fields of a spec; optional ones may be empty."""
    found: list[Problem] = []
    for field in needed:
        found += check_text(getattr(spec, field), field=field)
    for field in optional:
        found += check_text(getattr(spec, field), field=field) if getattr(spec, field) else ()
    return found


def whose(owner: str, problems: Iterable[Problem]) -> list[Problem]:
    """Problems of a nested thing, its name in front of the field: "position FR, sense"."""
    return [
        Problem(p.message, f"{owner}, {p.field}" if p.field else owner, p.row, p.source) for p in problems
    ]


class collecting:  # noqa: N801 - reads as a statement: with collecting(found)
    """Go on after a fault: what the block raises for want of good input is added to a list.

    Args:
        found: where the faults are added.
        owner: the nested thing that the block is about, if any ("position FR").
        field: the field of a fault that names none.
    """

    def __init__(self, found: list[Problem], *, owner: str = "", field: str = "") -> None:
        self._found, self._owner, self._field = found, owner, field

    def __enter__(self) -> None:
        """Begin the block."""

    def __exit__(self, kind: object, why: BaseException | None, trace: object) -> bool:
        """Swallow what can be put right by a person; the rest goes on."""
        if isinstance(why, BadInput):
            problems = [p if p.field else replace(p, field=self._field) for p in why.problems]
        elif isinstance(why, NotFound):
            problems = [Problem(str(why), self._field)]
        else:
            return False
        self._found += whose(self._owner, problems) if self._owner else problems
        return True


def raise_any(problems: Sequence[Problem]) -> None:
    """Raise `BadInput` with all problems; do nothing when there is none."""
    if problems:
        raise BadInput(problems)
