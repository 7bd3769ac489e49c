"""Whether the terminal is still there: it can go without a signal, as behind a connection that broke.

The screen library would then read the end of its input for ever, as fast as the computer can, and the store would
never hear that the run was cut short.
"""

import os
import sys
from collections.abc import Callable
from typing import Any, Final

from textual.app import App

CUT_SHORT: Final = 129
"""The exit code after the terminal went away, as the shells' custom is for a hang-up."""
_LOOKS: Final = 1.0  # seconds between two looks


def watch_terminal(app: App[Any], *, then: Callable[[], None]) -> None:
    """Have an app on a terminal look every second whether it is there, and do something once it is gone."""

    def look() -> None:
        if not _is_there():
            then()

    if not app.is_headless:
        app.set_interval(_LOOKS, look)


def _is_there() -> bool:
    try:
        return sys.__stdin__ is not None and os.isatty(sys.__stdin__.fileno())
    except (OSError, ValueError):
        return False
