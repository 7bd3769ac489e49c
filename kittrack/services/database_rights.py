"""The database role of terminals on PostgreSQL: made, and given the rights to add and to read.

It changes nothing in the stores and is no act; the owner of the tables does it when the database is set up.
Source: design R12, A4.
"""

from dataclasses import dataclass

from kittrack.errors import BadInput
from kittrack.store.database import Store


@dataclass(frozen=True)
class Rights:
    """A database role that has the rights of a terminal: its name as the one code, and sentences."""

    codes: tuple[str, ...]
    said: tuple[str, ...]


def give_terminal_rights(store: Store, *, role: str, password: str = "") -> Rights:
    """Make a terminals' database role where there is none, and give it exactly the rights that acts need.

    It may read, add rows and change what acts change. It may not delete, empty or drop anything, nor change an
    event, a movement or any other row of the history.

    Args:
        store: a PostgreSQL store, opened as the owner of its tables.
        role: the name of the role; small letters, digits and _.
        password: its password, where it signs on with one; it is never sent as it is.

    Raises:
        BadInput: the store is a SQLite file, which has no roles, or the name is none.
        Refused: the role could do everything anyhow, or who is connected is not the owner.
    """
    if store.engine != "postgresql":
        raise BadInput(
            "A SQLite store has no database roles; the rights of its file protect it. Name a PostgreSQL store.",
            field="store",
        )
    is_new = store.give_rights(role, password=password)
    made = f"Role {role} is made" if is_new else f"Role {role} was there"
    return Rights(
        (role,),
        (
            f"{made} and has the rights of a terminal: it reads and adds, and erases nothing.",
            f"Let every terminal work with it: KITTRACK_STORE=postgresql://{role}@HOST/NAME",
            "Keep the owner's password away from the terminals; an upgrade of kittrack takes it, nothing else.",
        ),
    )
