"""One line that says how far long work is: on a terminal only, and wiped away however the work ends."""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from kittrack.progress import told_to


@contextmanager
def progress_line(what: str) -> Iterator[Callable[[int, int], None] | None]:
    """What long work calls with (done, in all); None where stderr is no terminal, so that a pipe stays silent.

    Where somebody else listens, such as a station, they hear of it instead.
    """
    listener = told_to(what)
    if listener is not None:
        yield listener
        return
    if not sys.stderr.isatty():
        yield None
        return
    widest = 0

    def show(done: int, of: int) -> None:
        nonlocal widest
        text = f"{done} of {of} {what}"
        widest = max(widest, len(text))
        sys.stderr.write(f"\r{text}")
        sys.stderr.flush()

    try:
        yield show
    finally:
        sys.stderr.write(f"\r{' ' * widest}\r")
        sys.stderr.flush()
