"""The boundary of the program: whatever happens inside, outside there is an exit code and a plain sentence.

It loads next to nothing, so that the stations can be drawn before anything else is loaded.
"""

import os
import sys
from collections.abc import Callable
from contextlib import suppress
from typing import Any

from kittrack.cli.exits import Exit, exit_of
from kittrack.domain.text import clean_label
from kittrack.errors import KittrackError


def guarded(work: Callable[[], Exit | int], *, words: str) -> int:
    """Do the work of one line; answers with the exit code. No error of any kind leaves this function.

    Args:
        work: what is done.
        words: what it is called in the log of faults.
    """
    try:
        try:
            return int(work())
        finally:
            sys.stdout.flush()
    except KittrackError as error:
        say(str(error))
        return int(exit_of(error))
    except BrokenPipeError:
        _drop_stdout()
        return int(Exit.DONE)
    except KeyboardInterrupt:
        say("Interrupted.")
        return int(Exit.INTERRUPTED)
    except Exception as error:  # noqa: BLE001 - the last catch: a person gets a sentence, the log the trace
        from kittrack.faults import log_fault

        path = log_fault(error, where=words)
        where = f"; the log tells more: {path}" if path else ""
        say(f"A fault of kittrack itself stopped it ({type(error).__name__}){where}")
        return int(Exit.FAULT)


def say(text: str) -> None:
    """Sentences to stderr, whatever stands in them made harmless."""
    with suppress(OSError, ValueError):  # nobody is there to read it
        for line in text.split("\n"):
            sys.stderr.write(carried(clean_label(line), sys.stderr) + "\n")
        sys.stderr.flush()


def carried(text: str, stream: Any) -> str:
    """A line in which letters that the stream can't carry are written as escapes."""
    encoding = getattr(stream, "encoding", None) or "utf-8"
    return text.encode(encoding, "backslashreplace").decode(encoding)


def _drop_stdout() -> None:
    """Whoever read our output is gone: let Python's own last flush go nowhere."""
    with suppress(OSError, ValueError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.stdout.fileno())
        os.close(nowhere)
