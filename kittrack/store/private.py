"""Files that only their owner may read: new ones, whole or not there at all, and those that hold a secret.

A backup or an archive is written under another name beside its place, waited for on the disk, and put in
place at the end; nothing that stands there already is written over.
"""

import os
import secrets
import stat
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

from kittrack.domain.rules import Rule
from kittrack.domain.text import clean_label, is_unseen
from kittrack.errors import BadInput, Refusal, Refused, StoreError

_BESIDE: Final = ("", "-wal", "-shm", "-journal")  # a SQLite file's companions


def path_named(text: str) -> Path:
    """The path that a person typed, the home folder's sign read.

    Raises:
        BadInput: it holds a zero byte or other characters that can't be seen, which no file's name should.
    """
    if any(map(is_unseen, text)):
        shown = clean_label(text, max_length=120)
        raise BadInput(f"The name {shown} holds characters that can't be seen; type another.", field="file")
    return Path(text).expanduser()


_MOST_BYTES: Final = 4096  # of a secret; far more than the longest passphrase


def secret_in(path: Path, *, what: str) -> str:
    """The first line of a private file: a PIN or a password.

    Args:
        path: the file.
        what: what it is called where it can't be read.

    Raises:
        BadInput: it can't be read, is no text, or others may read it.
    """
    shown = clean_label(str(path), max_length=120)
    try:
        with path.open("rb") as file:
            mode = os.fstat(file.fileno()).st_mode
            if os.name == "posix" and stat.S_ISREG(mode) and mode & 0o077:
                raise BadInput(f"Others may read {shown}; make it private first: chmod 600", field=what)
            found = file.read(_MOST_BYTES)
        return found.decode("utf-8").split("\n")[0].removesuffix("\r")
    except UnicodeDecodeError:
        raise BadInput(f"{shown} holds no text; write the secret into it as UTF-8.", field=what) from None
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or "no such name"
        raise BadInput(f"{shown} can't be read ({why}); name another file.", field=what) from None


def write_private(path: Path, content: bytes) -> None:
    """Write a file that only its owner may read where it is new; what was there is written over.

    Raises:
        OSError: it can't be written; a new one is then not left there half.
    """
    is_new = not os.path.lexists(path)
    try:
        with os.fdopen(os.open(path, os.O_CREAT | os.O_TRUNC | os.O_WRONLY, 0o600), "wb") as file:
            file.write(content)
    except OSError:
        if is_new:
            path.unlink(missing_ok=True)
        raise


def is_there(path: Path) -> bool:
    """Whether there is something at a path.

    Raises:
        StoreError: a folder on the way to it may not be looked into.
    """
    try:
        return path.exists()
    except OSError as error:
        raise StoreError(
            f"{path} can't be looked at ({error.strerror}); look at the rights of its folder"
        ) from error


def make_folder(folder: Path) -> None:
    """Make a folder that only its owner may read, with those above it, where it isn't there.

    Raises:
        StoreError: it can't be made.
    """
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    except (OSError, ValueError) as error:
        raise _not_written(folder, error) from error


def replace_private(path: Path, content: bytes) -> None:
    """Write a whole private file or nothing, in place of what was there; it is on the disk when this returns.

    Raises:
        OSError: it can't be written.
    """
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    fresh = path.with_name(f"{path.name}.{os.getpid()}")
    try:
        with os.fdopen(os.open(fresh, os.O_CREAT | os.O_TRUNC | os.O_WRONLY, 0o600), "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        fresh.replace(path)
    finally:
        fresh.unlink(missing_ok=True)


@contextmanager
def new_file(path: Path) -> Iterator[Path]:
    """Write a file: gives the name to write to, and puts it in place when all went well.

    Raises:
        Refused: there is a file, or what a SQLite store left beside one.
        StoreError: the folder can't be written to, or the disk is full.
    """
    refuse_existing(path)
    # A number of its own, since a process that was killed may have left one, and numbers of processes come again.
    part = path.with_name(f"{path.name}.part-{secrets.token_hex(4)}")
    try:
        os.close(os.open(part, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600))
    except (OSError, ValueError) as error:
        raise _not_written(path, error) from error
    try:
        yield part
        with part.open("rb+") as written:
            os.fsync(written.fileno())
        _put_in_place(part, path)
    except OSError as error:
        raise _not_written(path, error) from error
    finally:
        for suffix in _BESIDE:
            part.with_name(part.name + suffix).unlink(missing_ok=True)


def refuse_existing(path: Path) -> None:
    """Refuse where something stands at a path already (R12)."""
    for suffix in _BESIDE:
        beside = path.with_name(path.name + suffix)
        if os.path.lexists(beside):
            message = (
                f"There is {beside} already, and nothing is written over; name a place where there is none."
            )
            raise Refused([Refusal(Rule.NOTHING_ERASED, str(path), message)])


def _put_in_place(part: Path, path: Path) -> None:
    try:
        path.hardlink_to(part)  # the one way that never replaces what another put there meanwhile
    except FileExistsError:
        refuse_existing(path)
        raise
    except OSError:  # a file system without links, as on a memory stick
        refuse_existing(path)
        part.rename(path)
    if os.name == "posix":
        folder = os.open(path.parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)


def _not_written(path: Path, error: Exception) -> StoreError:
    why = getattr(error, "strerror", None) or "no such name"
    return StoreError(
        f"{path} can't be written ({why}); look at the folder, its rights and the room that the disk or its quota leaves"
    )
