"""What is loaded in the store's thread once the frame is drawn: the services, the queries, the first station.

This module itself loads nothing. Source: N1.
"""

from dataclasses import dataclass
from importlib import import_module
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from kittrack.store.database import Store

_NEEDED: Final = ("kittrack.tui.incoming", "kittrack.tui.presence")
"""What every station needs with its first entry."""


@dataclass(frozen=True)
class Found:
    """What opening a store found: whether it was ever founded, and whether it is a demo's."""

    is_founded: bool
    is_demo: bool


def ready_for(store: "Store", *, mode: str) -> Found:
    """Look whether a store was founded, and where it was, load the station of a mode."""
    from kittrack.services import founding

    found = Found(founding.is_founded(store), store.is_demo)
    if found.is_founded:
        from kittrack.tui import stations

        stations.load(mode)
        for name in _NEEDED:
            import_module(name)
    return found
