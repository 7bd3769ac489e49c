"""What a database says when it can't, in plain sentences."""

from kittrack.errors import Conflict, StoreError
from kittrack.store.addresses import parts_of, without_password
from kittrack.store.engines import sqlite_path
from kittrack.store.room import QUOTA, want_of_room


def clash(text: str) -> Exception:
    """What a constraint or a guard of the database said, as an error of ours.

    Args:
        text: the database's own words.
    """
    first = text.splitlines()[0]
    if "guard:" in first:
        return StoreError(
            f"the store's own guard refused the act, nothing was recorded: {first.split('guard:')[1].strip()}"
        )
    if "UNIQUE" in first or "unique" in first:
        return Conflict(f"that is in the store already, nothing was recorded ({first})")
    return StoreError(f"the store's own rules refused the act, nothing was recorded ({first})")


_SENTENCES = (
    ("interrupted", "it was stopped; nothing was recorded"),
    ("due to user request", "it was stopped; nothing was recorded"),
    ("locked", "the store is in use by another act that takes too long; wait a moment and try again"),
    (
        "readonly",
        "the store can't be written to; check the rights of its file and that the disk isn't read-only",
    ),
    ("read-only", "the store can't be written to; check its rights and that the disk isn't read-only"),
    (
        QUOTA,
        "the disk quota is used up, though the disk itself may have room; delete what is not needed or have the quota "
        "raised, and try again, nothing of this act was recorded",
    ),
    ("full", "the disk is full; make room and try again, nothing of this act was recorded"),
    ("No space left", "the disk is full; make room and try again, nothing of this act was recorded"),
    (
        "malformed",
        "the store's file is damaged; keep it as it is, stop working with it, and restore the last backup: "
        "kittrack backup restore",
    ),
    ("not a database", "the file is not a kittrack store; name another one"),
    (
        "permission denied",
        "this database role has not the right to do that; work with the role that was given the rights of a "
        "terminal, or let the owner give them: kittrack database rights ROLE",
    ),
    ("unable to open", "the store's file can't be opened; check its folder and rights"),
    ("Connection refused", "no database server answers there; start it, or check the host and the port"),
    ("resolve host", "no computer of that name is known; check the host, and that the network is up"),
    ("timeout", "the database server does not answer in time; check that it runs and that the network is up"),
    ("authentication failed", "the database server does not take that role and password; check both"),
    (
        "no password supplied",
        "the database server asks for a password; name its file in KITTRACK_STORE_PASSWORD_FILE",
    ),
    (
        'FATAL:  role "',
        "the database server does not let that role in; check its name, or let the administrator make it",
    ),
    (
        'FATAL:  database "',
        "the database server does not open a database of that name; check it, or let the administrator make it",
    ),
    ("disk I/O error", "the disk fails under the store; stop, and restore the last backup on another disk"),
)


def first_cause(error: BaseException | None) -> str:
    """The text of what went wrong first: a full disk ends SQLite's transaction before the roll-back fails."""
    texts = [str(error)]
    while error is not None and (error := error.__context__) is not None:
        texts.append(str(error))
    real = [text for text in texts if text and "no transaction is active" not in text]
    return real[0] if real else texts[0]


def plain(text: str, url: str) -> str:
    """What the database said, as one plain sentence that says what to do.

    Args:
        text: the database's own words.
        url: the store's, named without its password.
    """
    if "disk I/O error" in text and parts_of(url).scheme == "sqlite":
        text = want_of_room(sqlite_path(url).parent) or text
    for mark, sentence in _SENTENCES:
        if mark in text:
            return f"{sentence} ({without_password(url)})"
    first = text.splitlines()[0] if text else "no answer"
    return f"the store does not answer as it should: {first} ({without_password(url)})"
