"""Kitting: the kits that are not dead, and what each lacks."""

from collections.abc import Sequence
from datetime import datetime
from typing import ClassVar

from kittrack.queries.kits import KitView, kits
from kittrack.tui import records_of
from kittrack.tui.list_station import ListStation
from kittrack.tui.listing import Ask, Listing, Record, WholeAnswer

_HEADS = ("kit", "for", "state", "lines", "where", "expires")


async def _all(ask: Ask, at: datetime) -> Sequence[Record]:
    found: Sequence[KitView] = await ask(kits, at=at)
    return [records_of.of_kit(kit) for kit in found]


async def _lacking(ask: Ask, at: datetime) -> Sequence[Record]:
    found: Sequence[KitView] = await ask(kits, at=at)
    return [records_of.of_kit(kit) for kit in found if kit.against]


class Kitting(ListStation):
    """Kits."""

    mode = "kitting"
    about = (
        "Every kit that is being built, sealed or out, with its lines and what stands against it.",
        "Building, checking and sealing are verbs: kittrack --help, station Kitting.",
    )
    CSS_PATH = "kitting.tcss"
    lists: ClassVar[tuple[Listing, ...]] = (
        WholeAnswer("kits", _HEADS, "no kit is built yet; begin one: kittrack kit build --help", _all),
        WholeAnswer("kits that can't go on", _HEADS, "nothing stands against any kit.", _lacking),
    )
