"""The log of faults: what went wrong inside kittrack, for whoever has to mend it.

It is private to its owner, rotates, and holds the trace and what was being done, never what was typed.
"""

import io
import logging
import os
from logging.handlers import RotatingFileHandler
from pathlib import Path
from typing import Final

_MOST_BYTES: Final = 500_000  # a few hundred traces; four files of them are kept
_KEPT: Final = 3


class _PrivateFile(RotatingFileHandler):
    """A rotating log file that only its owner may read."""

    def _open(self) -> io.TextIOWrapper:
        number = os.open(self.baseFilename, os.O_CREAT | os.O_APPEND | os.O_WRONLY, 0o600)
        return io.TextIOWrapper(os.fdopen(number, "ab"), encoding="utf-8", errors="backslashreplace")


def log_path() -> Path:
    """Where the log is: KITTRACK_LOG, or the user's own log folder."""
    given = os.environ.get("KITTRACK_LOG")
    if given:
        return Path(given).expanduser()
    from platformdirs import user_log_path

    return user_log_path("kittrack", appauthor=False) / "kittrack.log"


def log_fault(error: BaseException, *, where: str) -> Path | None:
    """Write the trace of a fault to the log.

    Args:
        error: the fault.
        where: the verb or the station and its step.

    Returns:
        The path of the log, or None where it can't be written.
    """
    path = log_path()
    try:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        keeper = _PrivateFile(path, maxBytes=_MOST_BYTES, backupCount=_KEPT)
    except OSError:
        return None
    keeper.setFormatter(logging.Formatter("%(asctime)s %(message)s"))
    record = logging.LogRecord(
        "kittrack", logging.ERROR, "", 0, "kittrack %s", (where,), (type(error), error, error.__traceback__)
    )
    try:
        keeper.emit(record)
    finally:
        keeper.close()
    return path
