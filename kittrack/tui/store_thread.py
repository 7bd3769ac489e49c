"""The store behind one thread of its own, so that the screen never waits for a disk or a lock.

A store serves one thread (a connection each); the stations ask it through here and await the answer. Nothing
that knows a database is loaded before the first question. Source: design A4, N1.
"""

import asyncio
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack
from typing import TYPE_CHECKING, Any, Concatenate, ParamSpec, TypeVar

from kittrack.errors import StoreError
from kittrack.progress import heard_by

if TYPE_CHECKING:
    from kittrack.store.database import Store
    from kittrack.store.terminal_memory import Run

P = ParamSpec("P")
T = TypeVar("T")


class StoreThread:
    """Opens a store in its own thread with the first question, answers one at a time, and closes it there.

    Args:
        url: the store.
        marks: whether this computer remembers that it works on the store, and keeps the head that it saw last.
    """

    def __init__(self, url: str, *, marks: bool = False) -> None:
        self._url, self._marks = url, marks
        self._pool = ThreadPoolExecutor(max_workers=1, thread_name_prefix="store")
        self._store: Store | None = None
        self._run: Run | None = None
        self._ending = ExitStack()
        self._began: float | None = None
        self._is_stopped = False
        self.progress = ""
        """How far the work of now is, where it tells."""

    async def ask(
        self, function: "Callable[Concatenate[Store, P], T]", *args: P.args, **kwargs: P.kwargs
    ) -> T:
        """Call a service or a query with the store in the store's thread; its errors arrive here.

        Raises:
            StoreError: the store can't be opened; the next question tries again.
        """
        loop = asyncio.get_running_loop()
        return await loop.run_in_executor(self._pool, self._call, function, args, kwargs)

    def tell(
        self, function: "Callable[Concatenate[Store, P], None]", *args: P.args, **kwargs: P.kwargs
    ) -> None:
        """Have something done in the store's thread before whatever is asked next, without waiting for it.

        For what can't fail: nobody hears of an error.
        """
        self._pool.submit(self._call, function, args, kwargs)

    def _call(self, function: Callable[..., T], args: tuple[Any, ...], kwargs: dict[str, Any]) -> T:
        store = self._store or self._open()
        self._is_stopped, self._began = False, time.monotonic()
        try:
            with heard_by(self._hear):
                return function(store, *args, **kwargs)
        finally:
            self._began, self.progress = None, ""

    def _open(self) -> "Store":
        from kittrack.store import terminal_memory
        from kittrack.store.database import open_store

        with ExitStack() as ending:
            store = open_store(self._url)
            ending.callback(store.close)
            if self._marks:
                ending.callback(terminal_memory.remember, store)
                self._run = ending.enter_context(terminal_memory.opened_here(store))
            self._ending = ending.pop_all()
        self._store = store
        return store

    def _hear(self, done: int, of: int, what: str) -> None:
        self.progress = f"{done} of {of} {what}"
        if self._is_stopped:
            raise StoreError(f"it was stopped after {self.progress}; nothing was recorded")

    @property
    def seconds_at_work(self) -> float:
        """How long the store has been at work without a pause, 0 where it waits."""
        return 0.0 if self._began is None else time.monotonic() - self._began

    def stop(self) -> None:
        """Stop what is being asked: a question at once, work that tells how far it is at its next word."""
        self._is_stopped = True
        if self._store is not None:
            self._store.interrupt()

    def close(self, *, is_cut_short: bool = False) -> None:
        """Finish what is being asked, then close the store.

        Args:
            is_cut_short: whether the terminal went away, which the next start then tells.
        """
        if self._run is not None:
            self._run.is_cut_short = is_cut_short
        self._pool.submit(self._ending.close).result()
        self._pool.shutdown()
