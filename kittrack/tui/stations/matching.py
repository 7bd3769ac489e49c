"""Matching: every rotor set with its proof, and the blades that a broken set left."""

from collections.abc import Sequence
from datetime import datetime
from typing import ClassVar

from kittrack.queries.integrity import Integrity, set_integrity
from kittrack.tui import records_of
from kittrack.tui.list_station import ListStation
from kittrack.tui.listing import Ask, Listing, Record, WholeAnswer


async def _sets(ask: Ask, _at: datetime) -> Sequence[Record]:
    found: Integrity = await ask(set_integrity)
    return [records_of.of_set(state) for state in found.sets]


async def _breaches(ask: Ask, _at: datetime) -> Sequence[Record]:
    found: Integrity = await ask(set_integrity)
    return [records_of.of_set(state) for state in found.sets if state.breaches]


async def _orphans(ask: Ask, _at: datetime) -> Sequence[Record]:
    found: Integrity = await ask(set_integrity)
    return [records_of.of_orphan(orphan) for orphan in found.orphans]


_SET_HEADS = ("sense", "set", "part", "condition", "match", "where")


class Matching(ListStation):
    """Sets and orphans."""

    mode = "matching"
    about = (
        "Every rotor set with the proof of its match, those that something stands against, and orphaned blades.",
        "Weighing, pairing and breaking are verbs: kittrack --help, station Matching.",
    )
    CSS_PATH = "matching.tcss"
    lists: ClassVar[tuple[Listing, ...]] = (
        WholeAnswer(
            "rotor sets",
            _SET_HEADS,
            "no set is made yet; inspect blades, then match them: kittrack --help",
            _sets,
        ),
        WholeAnswer("sets with a breach", _SET_HEADS, "every set is whole and proved.", _breaches),
        WholeAnswer(
            "orphaned blades",
            ("sense", "blade", "part", "was in", "where", "condition"),
            "no blade is orphaned.",
            _orphans,
        ),
    )
