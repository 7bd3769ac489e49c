"""The stations, one module each, loaded when somebody goes there first."""

from importlib import import_module
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from kittrack.tui.station import Station

_CLASSES: Final = {
    "goods_in": "GoodsIn",
    "matching": "Matching",
    "kitting": "Kitting",
    "counter": "Counter",
    "aircraft": "Aircraft",
    "office": "Office",
}


def load(mode: str) -> "type[Station]":
    """The class of a station."""
    found: type[Station] = getattr(import_module(f"kittrack.tui.stations.{mode}"), _CLASSES[mode])
    return found
