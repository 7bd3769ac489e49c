"""The demo: the stations on a throw-away copy of an invented store, or that store written somewhere."""

import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Final
from urllib.parse import quote

from kittrack.cli.exits import Exit
from kittrack.cli.progress import progress_line
from kittrack.cli.stations import open_stations, store_address
from kittrack.cli.verb import Station, Verb, option
from kittrack.domain.rules import Rule
from kittrack.errors import Refusal, Refused
from kittrack.queries.log import event_log
from kittrack.services import demo
from kittrack.store.addresses import without_password
from kittrack.store.making import making_store


@dataclass(frozen=True)
class DemoShown:
    """What the demo did: nothing has a code, `said` tells where it is, `exit_code` is that of the stations."""

    codes: tuple[str, ...] = ()
    said: tuple[str, ...] = ()
    exit_code: int = Exit.DONE


def _demo(*, into: str = "") -> DemoShown:
    """Write the demo store to an address, or open the stations on a copy that is thrown away afterwards."""
    if into:
        _write(into)
        return DemoShown(said=(f"The demo store is at {without_password(into)}; nothing in it is real.",))
    with tempfile.TemporaryDirectory(prefix="kittrack-demo-") as folder:
        url = f"sqlite:///{quote(str(Path(folder) / 'demo.kittrack'))}"
        _write(url)
        return DemoShown(exit_code=open_stations(url, demo=True))


def _write(url: str) -> None:
    with making_store(url, demo=True) as store:
        if event_log(store, limit=1):
            message = (
                f"There is a store at {without_password(url)} already; name a place where there is none."
            )
            raise Refused([Refusal(Rule.NOTHING_ERASED, "store", message)])
        with progress_line("paragraphs") as progress:
            demo.build_demo(store, progress=progress)


VERBS: Final = (
    Verb(
        "demo", Station.STORE, "Open the stations on a throw-away copy of an invented store.",
        "--into sqlite:///demo.kittrack",
        _demo,
        (option("into", "write the demo store there and stop", read=store_address),),
        fails=lambda shown: shown.exit_code,
        reaches=(demo.build_demo,),
        opens_store=False,
    ),
)  # fmt: skip
