"""A process that begins to work on a store and is ended in the middle, as by a power cut or a closed terminal.

`python -m tests.machine.cut_short URL nothing|act|issue`: what it does before it is gone.
"""

import os
import signal
import sys

from kittrack.services import issuing
from kittrack.store import terminal_memory
from kittrack.store.database import open_store
from tests.factories import CLERK, SCREW, TECHNICIAN, after, put_in_stock


def main(url: str, what: str, *more: str) -> None:
    """Do what is asked for, then be gone without a chance to tidy up."""
    store = open_store(url)
    with terminal_memory.opened_here(store, who=CLERK):
        if what == "act":
            put_in_stock(store, SCREW, 3, at=after(90))
        if what == "issue":
            kit, job = more
            issuing.issue_kit(store, kit=kit, job=job, seal="7", receiver=TECHNICIAN, by=CLERK, at=after(90))
        os.kill(os.getpid(), signal.SIGKILL)


if __name__ == "__main__":
    main(*sys.argv[1:])
