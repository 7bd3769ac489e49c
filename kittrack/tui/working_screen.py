"""A screen over a station that does its work in the store's thread; what was typed stays until the work is done."""

from collections.abc import Awaitable, Callable
from typing import TYPE_CHECKING, Generic, TypeVar

from textual.screen import ModalScreen

from kittrack.errors import KittrackError
from kittrack.tui.faults import log_fault
from kittrack.tui.scan_taker import ScanTaker
from kittrack.tui.verdicts import Tone, Verdict, verdict, verdict_of

if TYPE_CHECKING:
    from kittrack.tui.stations_app import StationsApp

T = TypeVar("T")


class WorkingScreen(ModalScreen[T], ScanTaker, Generic[T]):
    """A screen over a station that does its work in the store's thread and tells here what went wrong."""

    if TYPE_CHECKING:
        app: StationsApp

    def begin(self, step: Callable[[], Awaitable[None]]) -> None:
        """Do a step, one at a time; its errors are told and what was typed stays."""
        if self.is_working:
            return
        self.is_working = True
        self.show_keys()
        self.run_worker(self._work(step), exclusive=True, group="step", exit_on_error=False)

    async def _work(self, step: Callable[[], Awaitable[None]]) -> None:
        try:
            await step()
        except KittrackError as error:
            self.tell(verdict_of(error))
        except Exception as error:  # noqa: BLE001 - the person gets a sentence and keeps what was typed
            self.tell(verdict(Tone.FAULT, log_fault(error, where=type(self).__name__)))
        finally:
            self.is_working = False
            if self.is_attached:
                self.show_keys()

    def show_keys(self) -> None:
        """Show the keys of the moment."""

    def tell(self, said: Verdict) -> None:
        """Show a verdict in the screen itself."""
        raise NotImplementedError

    def hear(self, sentence: str) -> None:
        """Show one sentence."""
        self.tell(verdict(Tone.NEXT, sentence))
