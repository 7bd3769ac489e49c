"""The settings of each terminal's scanner: one small private file in the user's configuration folder.

A terminal is a place with a keyboard and a scanner; it has the name that KITTRACK_TERMINAL gives it, else the computer's.
The file is TOML, one table for each terminal:

    ["bench 2"]
    prefix = ""
    suffix = "#"
    gs_stand_ins = ["^]"]
"""

import os
import platform
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from kittrack.domain.scanner_settings import ScannerSettings, check_settings
from kittrack.domain.text import check_text, clean_label
from kittrack.errors import BadInput, Problem

_KEYS: Final = ("prefix", "suffix", "gs_stand_ins")
_MOST_BYTES: Final = 1_000_000


def terminal_name() -> str:
    """The name of the terminal that this program runs at."""
    return os.environ.get("KITTRACK_TERMINAL", "").strip() or platform.node() or "this computer"


def terminals_path() -> Path:
    """Where the settings are: KITTRACK_TERMINALS, or the user's own configuration folder."""
    given = os.environ.get("KITTRACK_TERMINALS")
    if given:
        return Path(given).expanduser()
    from platformdirs import user_config_path

    return user_config_path("kittrack", appauthor=False) / "terminals.toml"


def settings_of(terminal: str = "") -> ScannerSettings:
    """The settings of a terminal, by default of this one; those of a new scanner where none are kept.

    Raises:
        BadInput: the file is there and can't be read; it names the fault.
    """
    return all_settings().get(terminal or terminal_name(), ScannerSettings())


def all_settings() -> dict[str, ScannerSettings]:
    """The settings of every terminal that has any, by name.

    Raises:
        BadInput: the file can't be read, or holds what is no setting; every fault.
    """
    path = terminals_path()
    try:
        found = tomllib.loads(_content(path))
    except tomllib.TOMLDecodeError as fault:
        raise _fault(
            f"This is not TOML ({clean_label(str(fault))}); correct the file or remove it."
        ) from fault
    except UnicodeDecodeError as fault:
        raise _fault("This is not UTF-8; correct the file or remove it.") from fault
    except OSError as fault:
        raise _fault(f"The file can't be read ({fault.strerror}); give yourself the right to.") from fault
    return {name: _settings(name, table) for name, table in found.items()}


def keep_settings(settings: ScannerSettings, *, terminal: str = "") -> Path:
    """Keep the settings of a terminal, by default of this one; answers where.

    Raises:
        BadInput: the name or the settings are no such, or the file can't be written.
    """
    name = terminal or terminal_name()
    problems = [*check_text(name, field="terminal", max_length=60), *check_settings(settings)]
    texts = (settings.prefix, settings.suffix, *settings.gs_stand_ins)
    if any("\ud800" <= char <= "\udfff" for text in texts for char in text):
        problems.append(Problem("The settings hold what is no character; scan the self-test again."))
    if problems:
        raise BadInput(problems)
    kept = {**all_settings(), name: settings}
    path = terminals_path()
    try:
        _write(path, "\n".join(_table(name, own) for name, own in sorted(kept.items())))
    except OSError as fault:
        raise _fault(f"The file can't be written ({fault.strerror}); give yourself the right to.") from fault
    return path


# ---- the file --------------------------------------------------------------------------------------


def _content(path: Path) -> str:
    if not path.exists():
        return ""
    with path.open("rb") as file:
        return file.read(_MOST_BYTES).decode("utf-8")


def _write(path: Path, text: str) -> None:
    """Write the whole file or nothing, readable by its owner only."""
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    fresh = path.with_name(f"{path.name}.{os.getpid()}")
    number = os.open(fresh, os.O_CREAT | os.O_TRUNC | os.O_WRONLY, 0o600)
    try:
        with os.fdopen(number, "w", encoding="utf-8") as file:
            file.write(text)
        fresh.replace(path)
    finally:
        fresh.unlink(missing_ok=True)


def _settings(name: str, table: object) -> ScannerSettings:
    shown = clean_label(name, max_length=60)
    if not isinstance(table, Mapping) or set(table) - set(_KEYS):
        raise _fault(f"A terminal is a table of {', '.join(_KEYS)}; correct it.", field=shown)
    stand_ins: Any = table.get("gs_stand_ins", [])
    texts = [
        table.get("prefix", ""),
        table.get("suffix", ""),
        *(stand_ins if isinstance(stand_ins, list) else [None]),
    ]
    if not all(isinstance(text, str) for text in texts):
        raise _fault(
            "Prefix and suffix are texts, gs_stand_ins is a list of texts; correct them.", field=shown
        )
    settings = ScannerSettings(texts[0], texts[1], tuple(texts[2:]))
    if problems := check_settings(settings):
        raise _fault(problems[0].message, field=f"{shown}, {problems[0].field}")
    return settings


def _fault(message: str, *, field: str = "") -> BadInput:
    return BadInput([Problem(message, field=field, source=str(terminals_path()))])


def _table(name: str, settings: ScannerSettings) -> str:
    stand_ins = ", ".join(map(_quoted, settings.gs_stand_ins))
    return (
        f"[{_quoted(name)}]\nprefix = {_quoted(settings.prefix)}\nsuffix = {_quoted(settings.suffix)}\n"
        f"gs_stand_ins = [{stand_ins}]\n"
    )


def _quoted(text: str) -> str:
    """A basic string of TOML: everything unseen, quotes and backslashes by their number."""
    return '"' + "".join(c if c.isprintable() and c not in '"\\' else f"\\U{ord(c):08X}" for c in text) + '"'
