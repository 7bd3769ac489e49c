"""The log of unexpected errors of the stations: private, rotating, with the trace and nothing typed.

The person gets one plain sentence and the screen stays.
"""

import logging
import os
from io import TextIOWrapper
from logging.handlers import RotatingFileHandler
from pathlib import Path
from typing import Final

_MOST_BYTES: Final = 500_000  # a few hundred traces
_KEPT: Final = 3


class _PrivateLog(RotatingFileHandler):
    """A rotating log file that only its owner may read."""

    def _open(self) -> TextIOWrapper:
        number = os.open(self.baseFilename, os.O_CREAT | os.O_APPEND | os.O_WRONLY, 0o600)
        return TextIOWrapper(os.fdopen(number, "ab"), encoding="utf-8", errors="backslashreplace")


def log_path() -> Path:
    """Where the log is: KITTRACK_LOG, or the user's own log folder."""
    given = os.environ.get("KITTRACK_LOG")
    if given:
        return Path(given).expanduser()
    from platformdirs import user_log_path

    return user_log_path("kittrack", appauthor=False) / "kittrack.log"


def log_fault(error: BaseException, *, where: str) -> str:
    """Write the trace of an unexpected error; answers with the one sentence that the person gets."""
    said = (
        f"A fault of kittrack itself stopped this step ({type(error).__name__}); nothing more was recorded."
    )
    path = log_path()
    try:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        log = _PrivateLog(path, maxBytes=_MOST_BYTES, backupCount=_KEPT)
    except OSError:
        return f"{said} Start again with Esc; the log could not be written."
    log.setFormatter(logging.Formatter("%(asctime)s %(message)s"))
    trace = (type(error), error, error.__traceback__)
    try:
        log.emit(logging.LogRecord("kittrack", logging.ERROR, "", 0, "stations: %s", (where,), trace))
    finally:
        log.close()
    return f"{said} Start again with Esc; the log tells more: {path}"
