"""Where the stations begin: the store is opened first, the terminal is touched only then.

The screen library is loaded late, while the store opens in its own thread.
"""

import sys
from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING

from kittrack.errors import BadInput
from kittrack.tui.store_thread import StoreThread

if TYPE_CHECKING:
    from kittrack.tui.deeds import Deed


def run_stations(
    store_url: str, *, deeds: Callable[[], "Mapping[str, Sequence[Deed]]"], demo: bool = False
) -> int:
    """Open the stations on a store and stay until the person leaves.

    Args:
        store_url: the store.
        deeds: loads what can be done at each station, by its mode.
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
    try:
        from kittrack.tui.stations_app import CUT_SHORT, StationsApp

        app = StationsApp(thread, demo=demo or thread.store.is_demo, deeds=deeds)
        with thread.marked() as run:
            app.run()
            run.is_cut_short = app.return_code == CUT_SHORT
        return app.return_code or 0
    finally:
        thread.close()
