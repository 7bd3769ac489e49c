"""How `kittrack` ends: every exit code in one place.

0 to 6 are answers that a script may rely on; 7 is a fault of the program itself, whose trace stands in the
log file; 130 follows the shells' custom for a program that was interrupted. Source: design 8.
"""

from enum import IntEnum

from kittrack.errors import BadInput, Conflict, KittrackError, NotFound, PrintError, Refused, StoreError


class Exit(IntEnum):
    """The exit codes."""

    DONE = 0
    REFUSED = 1
    USAGE = 2
    NOT_FOUND = 3
    STORE = 4
    CONFLICT = 5
    PRINTING = 6
    FAULT = 7
    INTERRUPTED = 130


_CODES: tuple[tuple[type[KittrackError], Exit], ...] = (
    (Refused, Exit.REFUSED),
    (BadInput, Exit.USAGE),
    (NotFound, Exit.NOT_FOUND),
    (StoreError, Exit.STORE),
    (Conflict, Exit.CONFLICT),
    (PrintError, Exit.PRINTING),
)

MEANINGS = (
    (Exit.DONE, "done"),
    (Exit.REFUSED, "refused by a rule of the stores; nothing was recorded"),
    (Exit.USAGE, "wrong use, or input that can't be read; nothing was recorded"),
    (Exit.NOT_FOUND, "a code or a name is not in the store"),
    (Exit.STORE, "the store can't be used as it is, or `verify` found it unsound"),
    (Exit.CONFLICT, "somebody else was first, or the act was recorded before"),
    (Exit.PRINTING, "a label or document can't be printed"),
    (Exit.FAULT, "a fault of kittrack itself; its log file tells more"),
)
"""Each code as `kittrack --help` explains it."""


def exit_of(error: KittrackError) -> Exit:
    """The exit code of an error."""
    return next((code for kind, code in _CODES if isinstance(error, kind)), Exit.FAULT)
