"""Where the stations begin: the store is opened first, the terminal is touched only then.

The screen library is loaded late, while the store opens in its own thread.
"""

import asyncio
import sys
from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING

from kittrack.errors import BadInput, NoStore
from kittrack.services import founding
from kittrack.tui.store_thread import StoreThread

if TYPE_CHECKING:
    from kittrack.tui.deeds import Deed


Deeds = Callable[[], "Mapping[str, Sequence[Deed]]"]


def run_stations(
    store_url: str, *, deeds: Deeds, found: Callable[[], "Deed"], show_demo: Callable[[], int], demo: bool = False
) -> int:  # fmt: skip
    """Open the stations on a store and stay until the person leaves; where there is none, lead to one first.

    Args:
        store_url: the store.
        deeds: loads what can be done at each station, by its mode.
        found: loads what founds a store.
        show_demo: opens the stations on the demo.
        demo: whether to show the DEMO banner, as a demo store does by itself.

    Returns:
        The exit code: 0, or 1 after a fault, which is in the log.

    Raises:
        StoreError: the store can't be opened; the terminal was not touched.
        BadInput: there is no terminal to draw on.
    """
    if not (sys.stdin.isatty() and sys.__stderr__ is not None and sys.__stderr__.isatty()):
        raise BadInput("The stations need a terminal; type a verb instead (kittrack --help lists them).")
    thread = StoreThread(store_url)
    from kittrack.tui import stations_app as _stations_app  # noqa: F401 - loads while the store opens

    try:
        is_founded = asyncio.run(thread.ask(founding.is_founded))
    except NoStore:
        is_founded = False
    except BaseException:
        thread.close()
        raise
    if not is_founded:
        thread.close()
        return _lead(store_url, deeds=deeds, found=found, show_demo=show_demo)
    return _run(thread, deeds=deeds, demo=demo)


def _run(thread: StoreThread, *, deeds: Deeds, demo: bool = False, start: str = "counter") -> int:
    try:
        from kittrack.tui.stations_app import StationsApp
        from kittrack.tui.terminal import CUT_SHORT

        app = StationsApp(thread, demo=demo or thread.store.is_demo, start=start, deeds=deeds)
        with thread.marked() as run:
            app.run()
            run.is_cut_short = app.return_code == CUT_SHORT
        return app.return_code or 0
    finally:
        thread.close()


def _lead(store_url: str, *, deeds: Deeds, found: Callable[[], "Deed"], show_demo: Callable[[], int]) -> int:
    """Ask what to do where there is no store; what was founded opens at the Office, where the rest is set up."""
    from kittrack.tui.first_run import Chosen, FirstRun

    app = FirstRun(store_url, found=found())
    app.run()
    if app.chosen is Chosen.DEMO:
        return show_demo()
    if app.chosen is Chosen.FOUND:
        return _run(StoreThread(store_url), deeds=deeds, start="office")
    return app.return_code or 0
