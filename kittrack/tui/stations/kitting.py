"""Kitting: kits from the first pick to the shelf, and how many ship sets the stock still gives."""

from typing import ClassVar

from kittrack.tui import rows
from kittrack.tui.list_station import ListStation
from kittrack.tui.listing import Listing, Step
from kittrack.tui.lists import OfQuestion, Paged

_KIT = ("kit", "for", "airframe", "state", "where", "expires", "seal")
_BUILD = Step("kit build", "build a kit")


class Kitting(ListStation):
    """Kits."""

    mode = "kitting"
    about = (
        "Kits that are being built, sealed or out. F9 picks, checks, seals, labels or puts away, whatever comes next.",
        "F10 builds a kit: for an airframe or a type revision, for all positions, an arm or a group.",
    )
    CSS_PATH = "kitting.tcss"
    lists: ClassVar[tuple[Listing, ...]] = (
        Paged("kits", "what is being built, sealed or out", _KIT, "no kit is in work.", "kits", rows.of_kit, _BUILD),
        OfQuestion("ship sets", "what can be built, and what one more takes",
                   "buildable", "no airframe type is in the catalogue.", step="kit build", words="build a kit"),
        Paged("dead kits", "which kits were opened or dissolved",
              _KIT, "no kit was opened or dissolved yet.", "dead kits", rows.of_kit),
    )  # fmt: skip
