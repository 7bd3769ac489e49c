"""How far long work is: whoever does it tells, whoever shows it listens. A line of the terminal, or a station.

Work tells through `told_to`; who shows it stands in a context, so that work in another thread is another matter.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Final

Listener = Callable[[int, int, str], None]
"""Hears how much is done, of how much, and of what; it may raise to stop the work."""

_LISTENER: Final[ContextVar[Listener | None]] = ContextVar("listener", default=None)


@contextmanager
def heard_by(listener: Listener) -> Iterator[None]:
    """Have a listener hear of all work that is done within."""
    before = _LISTENER.set(listener)
    try:
        yield
    finally:
        _LISTENER.reset(before)


def told_to(what: str) -> Callable[[int, int], None] | None:
    """What work calls with (done, in all), None where nobody listens.

    Args:
        what: what is counted, such as "events".
    """
    listener = _LISTENER.get()
    return None if listener is None else lambda done, of: listener(done, of, what)
