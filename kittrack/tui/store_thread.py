"""The store behind one thread of its own, so that the screen never waits for a disk or a lock.

A store serves one thread (a connection each); the stations ask it through here and await the answer.
Source: design A4.
"""

import asyncio
import time
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import contextmanager
from typing import Any, Concatenate, ParamSpec, TypeVar

from kittrack.errors import StoreError
from kittrack.progress import heard_by
from kittrack.store import terminal_memory
from kittrack.store.database import Store, open_store

P = ParamSpec("P")
T = TypeVar("T")


class StoreThread:
    """Opens a store in its own thread, asks it there one question at a time, and closes it there."""

    def __init__(self, url: str) -> None:
        self._pool = ThreadPoolExecutor(max_workers=1, thread_name_prefix="store")
        self._opened: Future[Store] = self._pool.submit(open_store, url)
        self._began: float | None = None
        self._is_stopped = False
        self.progress = ""
        """How far the work of now is, where it tells."""

    @property
    def store(self) -> Store:
        """The open store; waits until it is, and raises what opening raised."""
        return self._opened.result()

    async def ask(self, function: Callable[Concatenate[Store, P], T], *args: P.args, **kwargs: P.kwargs) -> T:
        """Call a service or a query with the store in the store's thread; its errors arrive here."""
        loop = asyncio.get_running_loop()
        return await loop.run_in_executor(self._pool, self._call, function, args, kwargs)

    def _call(self, function: Callable[..., T], args: tuple[Any, ...], kwargs: dict[str, Any]) -> T:
        store = self._opened.result()
        self._is_stopped, self._began = False, time.monotonic()
        try:
            with heard_by(self._hear):
                return function(store, *args, **kwargs)
        finally:
            self._began, self.progress = None, ""

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
        self._opened.result().interrupt()

    @contextmanager
    def marked(self) -> Iterator[terminal_memory.Run]:
        """Mark that this computer works on the store until the block ends, and keep the head that it saw last."""
        mark = terminal_memory.opened_here(self.store)
        run = self._pool.submit(mark.__enter__).result()
        try:
            yield run
        finally:
            self._pool.submit(mark.__exit__, None, None, None).result()
            self._pool.submit(terminal_memory.remember, self.store).result()

    def close(self) -> None:
        """Finish what is being asked, then close the store."""
        if self._opened.exception() is None:
            self._pool.submit(self._opened.result().close).result()
        self._pool.shutdown()
