"""Matching: loose blades with their readings, every rotor set with its proof, what a broken set left."""

from typing import ClassVar

from kittrack.queries.pairing import PairingProposal
from kittrack.tui import rows
from kittrack.tui.deeds import Answered, Deed
from kittrack.tui.list_station import ListStation
from kittrack.tui.listing import Listing
from kittrack.tui.lists import Paged
from kittrack.tui.proposal_page import ProposalPage

_SET = ("sense", "set", "part", "condition", "proof", "where")


class Matching(ListStation):
    """Blades and sets."""

    mode = "matching"
    about = (
        "Loose blades and rotor sets. F9 weighs a blade, proposes sets of weighed ones, or does what comes next.",
        "A proposal is shown with its residuals before any set is made. Breaking a set is for good: F10.",
    )
    CSS_PATH = "matching.tcss"
    lists: ClassVar[tuple[Listing, ...]] = (
        Paged("rotor sets", "every set with its proof",
              _SET, "no set is made yet; weigh loose blades and match them: F8.", "sets", rows.of_set),
        Paged(
            "loose blades", "which blades can be weighed, or matched to sets",
            ("sense", "part", "blade", "serial", "moment", "mass", "where", "lot"),
            "no loose blade is serviceable; inspect blades at Goods-in first.", "loose blades", rows.of_loose,
        ),
        Paged("sets not proved", "which sets have no proof of match, and why",
              ("sense", "set", "part", "condition", "why", "where"), "every set has its proof.",
              "sets not proved", rows.of_unproved),
        Paged(
            "orphaned blades", "what broken sets left",
            ("sense", "part", "blade", "serial", "condition", "was in", "where"),
            "no blade is orphaned.", "orphans", rows.of_orphan,
        ),
    )  # fmt: skip

    async def show_answer(self, deed: Deed, answered: Answered) -> None:
        """A proposal is looked at before any set of it is made."""
        if not isinstance(answered.answer, PairingProposal):
            await super().show_answer(deed, answered)
            return
        is_one_stop = bool(answered.values.get("one_stop"))
        made = await self.app.push_screen_wait(ProposalPage(answered.answer, is_one_stop=is_one_stop))
        if made is not None:
            await self.took(made)
