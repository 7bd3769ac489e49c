"""Making a store: under another name beside its place, and put there once its first act is recorded.

So a name that can't be read, a full disk or a power cut in between leaves nothing that looks like a store.
"""

from collections.abc import Iterator
from contextlib import closing, contextmanager

from kittrack.store.addresses import parts_of
from kittrack.store.database import Store, open_store
from kittrack.store.engines import sqlite_path
from kittrack.store.private import is_there, make_folder, new_file


@contextmanager
def making_store(url: str, *, demo: bool = False) -> Iterator[Store]:
    """Give a store to be founded, open; the one that is at an address already, or else a new one.

    Args:
        url: `sqlite:///path` or `postgresql://...`.
        demo: mark a store that is made here as holding the invented scenario.

    Raises:
        StoreError, BadInput: as `open_store`; or the file can't be made.
        Refused: another store was put in its place meanwhile.
    """
    if parts_of(url).scheme != "sqlite" or is_there(sqlite_path(url)):
        with closing(open_store(url, create=True, demo=demo)) as store:
            yield store
        return
    path = sqlite_path(url)
    make_folder(path.parent)
    with new_file(path) as part:
        part.unlink()  # the store makes its own file under this name
        with closing(open_store(url, create=True, demo=demo, file=part)) as store:
            yield store
