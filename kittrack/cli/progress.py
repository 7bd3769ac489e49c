"""One line that says how far long work is: on a terminal only, and wiped away when the work is done."""

import sys
from collections.abc import Callable


def progress_line(what: str) -> Callable[[int, int], None] | None:
    """What long work calls with (done, in all); None where stderr is no terminal, so that a pipe stays silent."""
    if not sys.stderr.isatty():
        return None

    def show(done: int, of: int) -> None:
        text = f"{done} of {of} {what}"
        sys.stderr.write(f"\r{text}" if done < of else f"\r{' ' * len(text)}\r")
        sys.stderr.flush()

    return show
