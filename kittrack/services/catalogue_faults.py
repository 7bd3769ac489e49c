"""Collecting every fault of what a person typed or loaded, so that one answer names them all."""

from collections.abc import Callable, Iterable, Sequence
from typing import TypeVar

from kittrack.domain.text import check_text
from kittrack.errors import BadInput, KittrackError, Problem

T = TypeVar("T")


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


def attempt(look: Callable[[], T], problems: list[Problem], *, field: str = "") -> T | None:
    """The answer of a look-up; where it fails, None, and the reason is added to the problems."""
    try:
        return look()
    except BadInput as why:
        problems += [p if p.field or not field else Problem(p.message, field) for p in why.problems]
    except KittrackError as why:
        problems.append(Problem(str(why), field))
    return None


def raise_any(problems: Sequence[Problem]) -> None:
    """Raise `BadInput` with all problems; do nothing when there is none."""
    if problems:
        raise BadInput(problems)
