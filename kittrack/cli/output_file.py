"""A file that a verb writes, private to its owner: never over another one unasked, and a fault of the disk said in one sentence."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from kittrack.errors import BadInput, PrintError
from kittrack.store.private import write_private


@contextmanager
def write_out(into: Path, *, force: bool) -> Iterator[Callable[[bytes], None]]:
    """Check first that a file may be written; the block gets the function that writes it.

    Raises:
        BadInput: it is there already.
        PrintError: it can't be written.
    """
    if into.exists() and not force:
        raise BadInput(f"{into} is there already; take another name, or write over it with --force.")

    def write(content: bytes) -> None:
        try:
            write_private(into, content)
        except OSError as error:
            raise PrintError(
                f"{into} can't be written ({error.strerror}); print again into another file."
            ) from error

    yield write
