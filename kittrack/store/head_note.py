"""The note beside a backup, an archive or an airframe's records: the head of its chain and the SHA-256 of the file.

Whoever has the file alone can compute every hash in it anew, so what shows a cut or rewritten one is kept outside
of it: this note, best also on another disk or on paper. Source: design 2 (the head is also kept outside the store).
"""

import hashlib
import re
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from kittrack.store.private import new_file

_NAME: Final = "{name}.head.txt"
_OF_STORE, _OF_AIRFRAME = "file", "records of an airframe"
"""How the first line of a note begins: a file that stands for a whole store, or one that does not."""
_MOST: Final = 10_000  # characters; a note has a few hundred


@dataclass(frozen=True)
class Noted:
    """What the note beside a file tells: a head as "number:hash", a SHA-256; empty where it tells none.

    `is_of_store` is False beside the records of one airframe, which are no copy of a store.
    """

    head: str
    digest: str
    is_of_store: bool = True

    def is_of(self, file: Path) -> bool:
        """Whether it was written for this very file, or tells nothing of one."""
        return not self.digest or self.digest == sha256_of(file)


def note_of(path: Path) -> Path:
    """The note that stands beside a file."""
    return path.with_name(_NAME.format(name=path.name))


def write_note(
    path: Path, *, name: str, events: int, head: str, digest: str, is_of_store: bool = True
) -> None:
    """Write the note of a file that is called `name`, to be put beside it."""
    text = (
        f"{_OF_STORE if is_of_store else _OF_AIRFRAME}: {name}\nSHA-256 of the file: {digest}\nevents: {events}\nhead: {head}\n\n"
        "The head is the number and the hash of the last event. Keep a copy of this note somewhere else,\n"
        "on paper too: a file that was cut off or rewritten does not agree with it.\n"
    )
    with new_file(note_of(path)) as part:
        part.write_text(text, encoding="utf-8")


def read_note(path: Path) -> Noted:
    """What the note beside a file tells of it."""
    text = ""
    with suppress(OSError, ValueError):  # none is there, or it is no text
        text = note_of(path).read_text(encoding="utf-8")[:_MOST]
    head = re.search(r"^head: ([0-9]{1,17}:[0-9a-f]{64})$", text, re.MULTILINE)
    digest = re.search(r"^SHA-256 of the file: ([0-9a-f]{64})$", text, re.MULTILINE)
    return Noted(
        head.group(1) if head else "",
        digest.group(1) if digest else "",
        not text.startswith(f"{_OF_AIRFRAME}: "),
    )


def heads_noted_in(folder: Path) -> Iterator[tuple[Path, str]]:
    """The backups and archives of a folder whose notes stand beside them: each file and its "number:hash"."""
    ending = _NAME.format(name="")
    for note in sorted(folder.glob(f"*{ending}")):
        file = note.with_name(note.name.removesuffix(ending))
        noted = read_note(file)
        if noted.head and noted.is_of_store and file.is_file():
            yield file, noted.head


def sha256_of(path: Path) -> str:
    """The SHA-256 of a file in hexadecimal."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
