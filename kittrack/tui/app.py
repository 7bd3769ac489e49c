"""Where the stations begin and end: the frame is drawn first, the store is opened behind it.

Whatever keeps the store from being opened is told once the terminal is given back. The screen library is loaded
late, and what knows the store later still.
"""

import gc
import sys
from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING

from kittrack.errors import BadInput

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
        StoreError: the store can't be opened; the terminal was given back.
        BadInput: there is no terminal to draw on, or the store's address can't be read.
    """
    if not (sys.stdin.isatty() and sys.__stderr__ is not None and sys.__stderr__.isatty()):
        raise BadInput("The stations need a terminal; type a verb instead (kittrack --help lists them).")
    from kittrack.tui.terminal import gone_terminal_is_quiet

    with gone_terminal_is_quiet():
        return _run(store_url, deeds=deeds, found=found, show_demo=show_demo, demo=demo)


def _run(
    store_url: str, *, deeds: Deeds, found: Callable[[], "Deed"], show_demo: Callable[[], int], demo: bool = False,
    start: str = "counter",
) -> int:  # fmt: skip
    gc.disable()  # what is loaded from here on stays; the app turns the collector on once its first station is there
    try:
        from kittrack.tui.stations_app import StationsApp
        from kittrack.tui.store_thread import StoreThread
        from kittrack.tui.terminal import CUT_SHORT, size_where_untold

        thread = StoreThread(store_url, marks=True)
        app = StationsApp(thread, demo=demo, start=start, deeds=deeds)
        try:
            app.run(size=size_where_untold())
        finally:
            thread.close(is_cut_short=app.return_code == CUT_SHORT)
    finally:
        gc.enable()
    if app.failed is not None:
        raise app.failed
    if app.has_no_store:
        return _lead(store_url, deeds=deeds, found=found, show_demo=show_demo, came_in=app.came_in)
    return app.return_code or 0


def _lead(
    store_url: str, *, deeds: Deeds, found: Callable[[], "Deed"], show_demo: Callable[[], int], came_in: Sequence[str]
) -> int:  # fmt: skip
    """Ask what to do where there is no store; what was founded opens at the Office, where the rest is set up."""
    from kittrack.tui.first_run import Chosen, FirstRun
    from kittrack.tui.terminal import size_where_untold

    app = FirstRun(store_url, found=found(), came_in=came_in)
    app.run(size=size_where_untold())
    if app.chosen is Chosen.DEMO:
        return show_demo()
    if app.chosen is Chosen.FOUND:
        return _run(store_url, deeds=deeds, found=found, show_demo=show_demo, start="office")
    return app.return_code or 0
