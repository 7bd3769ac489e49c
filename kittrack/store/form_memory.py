"""What stands in open forms, kept beside what else this computer remembers of a store: a private file for each form.

A form that is recorded or left on purpose takes its file away; one that a closed terminal, a fault or a power cut
ended leaves it, and the next sign-on of its person finds it. What a file says is data: nobody but kittrack writes
it, and one that it could not have written is set aside. Secrets and second persons never stand in it. Forms of a
demo store are not kept, nor those that can't be written: work goes on without.
"""

import json
import os
import re
import secrets
import stat
from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import asdict, dataclass
from datetime import datetime, timedelta
from itertools import count
from pathlib import Path
from threading import Lock
from typing import Any, Final
from zoneinfo import ZoneInfo

from kittrack.errors import Problem
from kittrack.store.act import Reading, read_instant_text
from kittrack.store.private import replace_private
from kittrack.store.records import Site
from kittrack.store.terminal_memory import folder, is_at_work, name_of

KEPT_DAYS: Final = 14
"""Days after which a form that nobody went on with is forgotten, and a file that was set aside too."""
MOST_BYTES: Final = 500_000
"""Of one form: far more than the longest delivery by scans."""
_VERSION: Final = 1
_MOST_FORMS: Final = 200  # that are read at one look
_OWN_NAME: Final = re.compile(r"[0-9a-f]{32}\.form-(?P<pid>\d{1,10})-(?P<run>[0-9a-f]{12})-\d{1,10}\.json")
_ASIDE: Final = ".bad"

Row = Mapping[str, str]


@dataclass(frozen=True)
class FormContent:
    """What stood in a form: whose (the badge), the deed by its name, when (UTC), its fields, its rows by their name.

    `scanned` are the numbers of ours that a scanner put there; `is_sent` says that the form was being recorded.
    """

    who: str
    deed: str
    title: str
    at: str
    fields: Row
    rows: Mapping[str, tuple[Row, ...]]
    scanned: tuple[str, ...] = ()
    is_sent: bool = False


@dataclass(frozen=True)
class LeftForm:
    """A form that was left unfinished, the file that says so, and when it was left by the clock of the site."""

    content: FormContent
    path: Path
    when: str

    def forget(self) -> None:
        """Take its file away."""
        _take_away(self.path)


class _NoForm(ValueError):
    """A file that no kittrack of this version wrote; says why in words."""


_NOT_OURS: Final = (ValueError, TypeError, RecursionError, OverflowError)
"""What reading a file raises that kittrack did not write."""


class FormFile:
    """The file of one open form; once it is forgotten, nothing is kept in it any more."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._lock = Lock()
        self._is_over = False

    def keep(self, content: FormContent) -> bool:
        """Keep what stands in the form in place of what was kept before; says whether it could be."""
        written = json.dumps({"version": _VERSION, **asdict(content)}).encode()
        with self._lock:
            if self._is_over or len(written) > MOST_BYTES:
                return False
            try:
                replace_private(self._path, written)
            except OSError:
                return False
        return True

    def empty(self) -> None:
        """Keep nothing for now."""
        with self._lock:
            _take_away(self._path)

    def forget(self) -> None:
        """Keep nothing from now on."""
        self._is_over = True
        self.empty()


class FormsHere:
    """The forms of one run of the stations on a store, and those that earlier runs left."""

    def __init__(self, name: str, *, time_zone: str) -> None:
        self._name = name
        self._zone = ZoneInfo(time_zone)
        self._folder = folder()
        self._run = secrets.token_hex(6)
        self._numbers = count(1)

    def new_file(self) -> FormFile:
        """A file for a form that is opened."""
        name = f"{self._name}.form-{os.getpid()}-{self._run}-{next(self._numbers)}.json"
        return FormFile(self._folder / name)

    def tidy(self, *, at: datetime) -> tuple[Problem, ...]:
        """Forget what is old, and set aside every file that is none, with a sentence for each."""
        problems: list[Problem] = []
        for path in self._files():
            try:
                is_old = abs(at - read_instant_text(_content(path).at)) > timedelta(days=KEPT_DAYS)
            except _NOT_OURS as fault:
                problems.append(_problem(_set_aside(path), fault, "It is set aside; do the form once more."))
                continue
            except OSError:
                continue
            if is_old:
                _take_away(path)
        with suppress(OSError):
            for path in self._folder.glob(f"{self._name}.form-*"):
                if _OWN_NAME.fullmatch(path.name) is None:
                    _forget_old(path, at)
        return tuple(problems)

    def left(self) -> tuple[tuple[LeftForm, ...], tuple[Problem, ...]]:
        """The forms that ended runs left, the oldest first, and a sentence for each file that is none; nothing is touched."""
        found: list[LeftForm] = []
        problems: list[Problem] = []
        for path in self._files():
            try:
                content = _content(path)
                when = f"{read_instant_text(content.at).astimezone(self._zone):%Y-%m-%d %H:%M}"
            except _NOT_OURS as fault:
                problems.append(_problem(path, fault, "The next sign-on sets it aside."))
            except OSError:
                continue
            else:
                found.append(LeftForm(content, path, when))
        return tuple(sorted(found, key=lambda form: form.content.at)), tuple(problems)

    def _files(self) -> Iterator[Path]:
        with suppress(OSError):
            files = sorted(self._folder.glob(f"{self._name}.form-*.json"))
            for path in files[:_MOST_FORMS]:
                own = _OWN_NAME.fullmatch(path.name)
                is_mine = own is None or own["run"] == self._run
                if own is not None and not is_mine and not is_at_work(self._name, int(own["pid"])):
                    yield path


def forms_here(read: Reading) -> FormsHere | None:
    """The forms of a store on this computer; None for a store that it does not remember, as a demo."""
    name = name_of(read)
    return FormsHere(name, time_zone=read.select(Site, limit=1)[0].time_zone) if name else None


# ---- files -----------------------------------------------------------------------------------------


def _content(path: Path) -> FormContent:
    """What a file says.

    Raises:
        ValueError, TypeError, RecursionError: it is none that kittrack wrote.
        OSError: it can't be read now.
    """
    if not stat.S_ISREG(path.lstat().st_mode):
        raise _NoForm("it is no file")
    with path.open("rb") as file:
        found = file.read(MOST_BYTES + 1)
    if len(found) > MOST_BYTES:
        raise _NoForm("it is too large")
    kept = json.loads(found)
    if not isinstance(kept, dict) or kept.pop("version", None) != _VERSION:
        raise _NoForm("another version wrote it")
    content = FormContent(**kept)
    texts = (content.who, content.deed, content.title, content.at)
    if not all(isinstance(text, str) for text in texts) or not isinstance(content.is_sent, bool):
        raise _NoForm("it holds what no form holds")
    return FormContent(
        *texts, _row(content.fields), _rows(content.rows), tuple(_texts(content.scanned)), content.is_sent
    )


def _rows(found: Any) -> dict[str, tuple[Row, ...]]:
    if not isinstance(found, dict) or not all(isinstance(rows, list) for rows in found.values()):
        raise _NoForm("it holds what no form holds")
    return {name: tuple(map(_row, rows)) for name, rows in found.items()}


def _row(found: Any) -> Row:
    if not isinstance(found, dict):
        raise _NoForm("it holds what no form holds")
    return dict(zip(found, _texts(list(found.values())), strict=True))


def _texts(found: Any) -> list[str]:
    if not isinstance(found, list) or not all(isinstance(text, str) for text in found):
        raise _NoForm("it holds what no form holds")
    return found


def _take_away(path: Path) -> None:
    with suppress(OSError):
        path.unlink(missing_ok=True)


def _set_aside(path: Path) -> Path:
    """Move a file out of the way; says where it is."""
    aside = path.with_name(path.name + _ASIDE)
    with suppress(OSError):
        path.replace(aside)
        return aside
    return path


def _problem(path: Path, fault: Exception, next_step: str) -> Problem:
    why = str(fault) if isinstance(fault, _NoForm) else "it is cut off or damaged"
    return Problem(f"What was kept of an unfinished form can't be used: {why}. {next_step}", source=str(path))


def _forget_old(path: Path, at: datetime) -> None:
    """Take away what was set aside, or begun and not put in place, once it is old."""
    with suppress(OSError):
        if at.timestamp() - path.lstat().st_mtime > KEPT_DAYS * 86_400:
            path.unlink()
