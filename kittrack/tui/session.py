"""Who is signed on at these stations, and since when nobody has touched them."""

import time
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from kittrack.queries.people import Who

_MINUTE = 60.0


def now() -> datetime:
    """The instant of an act, with the local offset; the one place where the stations look at the clock."""
    return datetime.now(UTC).astimezone()


@dataclass
class Session:
    """The person at the stations. `lock_minutes` is 0 where they never lock; `beat` counts seconds, never back."""

    who: "Who | None" = None
    lock_minutes: int = 0
    is_locked: bool = False
    beat: Callable[[], float] = time.monotonic
    _touched: float = field(default=0.0, init=False)

    def __post_init__(self) -> None:
        """Idleness counts from the start."""
        self.touch()

    def touch(self) -> None:
        """Somebody pressed a key, scanned, or moved the mouse."""
        self._touched = self.beat()

    @property
    def is_idle(self) -> bool:
        """Whether somebody is signed on and has not touched anything for as long as the stores allow."""
        is_over = self.beat() - self._touched >= self.lock_minutes * _MINUTE
        return self.who is not None and self.lock_minutes > 0 and not self.is_locked and is_over
