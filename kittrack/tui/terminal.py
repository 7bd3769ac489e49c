"""Whether the terminal is still there: it can go without a signal, as behind a connection that broke.

The screen library would then read the end of its input for ever, as fast as the computer can, and the store would
never hear that the run was cut short.
"""

import asyncio
import os
import signal
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from typing import Any, Final, TextIO

from textual.app import App

CUT_SHORT: Final = 129
"""The exit code after the terminal went away, as the shells' custom is for a hang-up."""
_LOOKS: Final = 1.0  # seconds between two looks
_SMALLEST: Final = (80, 24)


def when_it_goes(app: App[Any], *, then: Callable[[], None]) -> None:
    """Have a running app do something once its terminal is gone, or somebody ends the program from outside.

    It looks every second whether the terminal is there, as not every one goes with a signal.
    """
    if app.is_headless:
        return
    for name in ("SIGTERM", "SIGHUP"):
        with suppress(NotImplementedError, AttributeError, RuntimeError, ValueError):
            asyncio.get_running_loop().add_signal_handler(getattr(signal, name), then)

    def look() -> None:
        if not _is_there():
            then()

    app.set_interval(_LOOKS, look)


def _is_there() -> bool:
    try:
        return sys.__stdin__ is not None and os.isatty(sys.__stdin__.fileno())
    except (OSError, ValueError):
        return False


def size_where_untold() -> tuple[int, int] | None:
    """80 x 24 where the terminal tells no size, as on a serial line or when it just went; else None.

    The screen library then takes two sizes that differ from two places, and lays out for one and the other by turns for
    ever.
    """
    try:
        told = os.get_terminal_size(sys.__stdout__.fileno() if sys.__stdout__ is not None else 1)
    except (OSError, ValueError):
        return _SMALLEST
    return None if all(told) else _SMALLEST


@contextmanager
def gone_terminal_is_quiet() -> Iterator[None]:
    """Have what is drawn on a terminal that is gone go nowhere, and end with no error.

    The screen library's writer ends at the first error; whoever draws then waits for it for ever, once its queue
    is full, and the program stays behind without a terminal.
    """
    drawn_on = sys.__stderr__
    if drawn_on is None:
        yield
        return
    sys.__stderr__ = _QuietWhenGone(drawn_on)  # type: ignore[misc, assignment]  # the library draws on what stands there
    try:
        yield
    finally:
        sys.__stderr__ = drawn_on  # type: ignore[misc]


class _QuietWhenGone:
    """A terminal to write to, which may go."""

    def __init__(self, terminal: TextIO) -> None:
        self._terminal = terminal

    def write(self, text: str) -> int:
        with suppress(OSError):
            self._terminal.write(text)
        return len(text)

    def flush(self) -> None:
        with suppress(OSError):
            self._terminal.flush()

    def __getattr__(self, name: str) -> Any:
        return getattr(self._terminal, name)
