"""An app that draws the frame of its first station at once, and opens the store and loads the station behind it.

What comes in meanwhile goes to the station in its order. Source: design 7, N1.
"""

import gc
from collections.abc import Callable
from typing import TYPE_CHECKING

from textual import events
from textual.screen import Screen

from kittrack.errors import NoStore
from kittrack.tui.frame import Frame
from kittrack.tui.loading import ready_for
from kittrack.tui.opening import Opening
from kittrack.tui.scanner import GAP, ScannerApp
from kittrack.tui.store_thread import StoreThread
from kittrack.tui.widgets.scan_line import ScanLine

if TYPE_CHECKING:
    from kittrack.tui.station import Station


class FrameFirstApp(ScannerApp):
    """Stands before its store is open.

    Args:
        store: the store, which is opened once the frame is drawn.
        demo: whether it is known to be a demo's.
        start: the mode of the first station.
    """

    def __init__(self, store: StoreThread, *, demo: bool, start: str) -> None:
        super().__init__()
        self.store_thread = store
        self.is_demo = demo
        self._start = start
        self._kept: list[Callable[[Station], object]] = []
        self.came_in: list[str] = []
        """What was scanned or typed before the first station was there, to be told of where none comes."""
        self._keys_kept: list[events.Event] | None = []
        """What comes in while no screen is ready to take it: until the frame stands, while the station takes its place, while
        what a menu lists is loaded."""
        self.is_opening = True
        """Whether the first station is still to come."""
        self.has_no_store = False
        """Whether it never came because there is no store yet."""
        self.failed: BaseException | None = None
        """Why it never came."""

    def get_default_screen(self) -> Screen[None]:
        """What is drawn first: the frame, before anything that the store needs is loaded."""
        return Opening(self._start)

    async def _open(self) -> None:
        """Open the store and load the first station; where that can't be, leave, and let the caller tell why."""
        try:
            found = await self.store_thread.ask(ready_for, mode=self._start)
        except NoStore:
            self.has_no_store = True
        except Exception as error:  # noqa: BLE001 - it is raised again once the terminal is given back
            self.failed = error
        else:
            self.has_no_store = not found.is_founded
            self.is_demo = self.is_demo or found.is_demo
        if self.has_no_store or self.failed is not None:
            self.exit()
        else:
            await self._come_up()

    async def _come_up(self) -> None:
        """Put the station where the frame is, and let it take, in order, what came in meanwhile."""
        if self.return_code is not None:  # somebody left meanwhile
            return
        if self._held:  # somebody is in the middle of a scan
            self.set_timer(GAP, self._come_up)
            return
        typed = self.screen.query_one(ScanLine)
        self._keys_kept = []
        await self.switch_mode(self._start)
        self.is_opening = False
        if (station := self.station) is not None:
            station.scan_line.begin_with(typed.text)
            for act in self._kept:
                act(station)
        await self.let_keys_in()
        keep_what_is_loaded()

    def keep_keys(self) -> None:
        """Keep what comes in until a screen that is on its way lets it in."""
        self._keys_kept = self._keys_kept or []

    async def let_keys_in(self) -> None:
        """Let the screen in front take what came in before it was ready, and all that follows."""
        front = self.screen
        if isinstance(front, Frame):
            front.set_focus(front.scan_line.line)
        while self._keys_kept:
            await super().on_event(self._keys_kept.pop(0))
        self._keys_kept = None

    def keep(self, act: "Callable[[Station], object]") -> None:
        """Have the first station do something, in its turn, once it is there."""
        if self.is_opening:
            self._kept.append(act)
        elif self.station is not None:
            act(self.station)

    def enter(self, text: str, *, typed: bool, station: "Station") -> None:
        """Have a station take an entry, in its turn."""
        raise NotImplementedError

    def keep_text(self, text: str, *, typed: bool) -> None:
        """Have the station in front take an entry, the first one once it is there."""
        first = self.screen
        if isinstance(first, Opening):
            first.tell_waiting(text)
            self.came_in.append(text)
        self.keep(lambda station: self.enter(text, typed=typed, station=station))

    @property
    def station(self) -> "Station | None":
        """The station in front, None where something lies over it or the store is still to be opened."""
        screen = self.screen
        if not isinstance(screen, Frame) or isinstance(screen, Opening):
            return None
        from kittrack.tui.station import Station

        return screen if isinstance(screen, Station) else None

    async def on_event(self, event: events.Event) -> None:
        """Keep what comes in while no screen is ready for it."""
        comes_in = isinstance(event, events.Key | events.Paste) and not event.is_forwarded
        if comes_in and self._keys_kept is not None:
            self._keys_kept.append(event)
            return
        await super().on_event(event)

    def on_unmount(self) -> None:
        """Let everything go again."""
        gc.unfreeze()


def keep_what_is_loaded() -> None:
    """Have Python's collector of cycles look no more at what there is now: modules and screens, which stay.

    It looks at everything that it knows of once in a while, which takes 50 ms in the middle of a scan; what is made
    from here on is collected as ever (N2).
    """
    gc.freeze()
    gc.enable()  # it was off while modules were loaded
