"""The stations from the command line, and which store they and the verbs mean.

Nothing of the verbs is loaded here before somebody at the stations asks for it.
"""

import os
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING
from urllib.parse import quote

from kittrack.cli.boundary import guarded
from kittrack.errors import BadInput
from kittrack.store.addresses import without_password

if TYPE_CHECKING:
    from kittrack.tui.deeds import Deed


def run_stations_line(store: str | None) -> int:
    """Open the stations on the store that a line names; answers with the exit code."""
    return guarded(lambda: open_stations(store_url(store)), words="")


def open_stations(url: str, *, demo: bool = False) -> int:
    """Open the stations on a store; every verb is something that can be done there."""
    from kittrack.tui.app import run_stations

    return run_stations(url, deeds=_deeds, found=_found, show_demo=_show_demo, demo=demo)


def _deeds() -> Mapping[str, Sequence["Deed"]]:
    from kittrack.cli.deeds_of_verbs import all_deeds

    return all_deeds()


def _found() -> "Deed":
    from kittrack.cli.deeds_of_verbs import deed_of
    from kittrack.cli.verbs_store import VERBS

    return deed_of(next(verb for verb in VERBS if verb.words == "found"))


def _show_demo() -> int:
    from kittrack.cli.run import run

    return run(["demo"])


def store_url(given: str | None) -> str:
    """The store that is meant: what was typed, KITTRACK_STORE, or one file in the user's data folder."""
    named = store_address(given) if given else os.environ.get("KITTRACK_STORE")
    if named:
        return named
    from platformdirs import user_data_path

    path = user_data_path("kittrack", appauthor=False) / "store.kittrack"
    return f"sqlite:///{quote(str(path))}"


def store_address(text: str) -> str:
    """A store's address as it is typed: without a password, which every process of the machine could read there.

    Raises:
        BadInput: there is one in it.
    """
    if without_password(text) != text:
        raise BadInput(
            f"A password does not belong into the command line ({without_password(text)}): every program of this "
            "machine can read it there. Put it into a private file and name that in KITTRACK_STORE_PASSWORD_FILE.",
            field="store",
        )
    return text
