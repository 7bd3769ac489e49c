"""PINs on the command line: read from a file, the environment or the terminal, never from an argument.

Every process of a machine may see the arguments of the others, and a shell keeps them. Who acts by a line,
and who is named as the second person, signs on where a PIN is set for them.
"""

import argparse
import getpass
import os
import sys
from collections.abc import Mapping
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final

from kittrack.cli.verb import Verb
from kittrack.domain.text import clean_label
from kittrack.services import signing_on
from kittrack.store.database import Store
from kittrack.store.private import secret_in

ROLES: Final = {"by": "KITTRACK_PIN", "second": "KITTRACK_SECOND_PIN"}
"""Whose PIN a line may need, and the environment variable that holds it; with _FILE, a file that does."""


def add_pin_options(parser: argparse.ArgumentParser, verb: Verb) -> None:
    """Add the options of PIN files to the parser of an act."""
    for role in ROLES:
        if role in verb.common:
            parser.add_argument(
                f"--{_dest(role).replace('_', '-')}", default=argparse.SUPPRESS, metavar="FILE",
                help=f"a private file with the PIN of {_WHOSE[role]}; default: {ROLES[role]}_FILE, {ROLES[role]}",
            )  # fmt: skip


_WHOSE: Final = {"by": "the person who acts", "second": "the second person"}


def _dest(role: str) -> str:
    return "pin_file" if role == "by" else f"{role}_pin_file"


def sign_on_all(store: Store, verb: Verb, values: Mapping[str, Any], given: argparse.Namespace) -> None:
    """Sign on whoever acts by a line, and the second person, where they have to.

    Raises:
        Refused: a PIN is missing or wrong, or its person is locked out.
        BadInput: a file of a PIN can't be read, or can be read by others.
    """
    for role, variable in ROLES.items():
        who = values.get(role)
        if role not in verb.common or not who or not signing_on.needs_pin(store, who=who):
            continue
        pin = read_pin(getattr(given, _dest(role), ""), variable=variable, asks_for=f"PIN of {who}")
        signing_on.sign_on(store, who=who, pin=pin, at=datetime.now(UTC).astimezone())


def read_pin(file: str, *, variable: str = "", asks_for: str = "") -> str:
    """A PIN from the first of: the file named, the environment, the terminal; empty where none has one.

    Args:
        file: the name of a private file; its first line is the PIN.
        variable: the environment variable that may hold a PIN; with _FILE behind it, a file's name.
        asks_for: what to ask for where a person sits at the terminal.
    """
    named = file or (os.environ.get(f"{variable}_FILE", "") if variable else "")
    if named:
        return secret_in(Path(named).expanduser(), what="PIN file")
    if variable and os.environ.get(variable):
        return os.environ[variable]
    if asks_for and sys.stdin is not None and sys.stdin.isatty() and sys.stderr.isatty():
        with suppress(EOFError):
            return getpass.getpass(f"{clean_label(asks_for)}: ")
    return ""
