"""Trimming blades, where their maker allows it: what was put on or taken off, and the weighing it makes void.

Source: design C5, R19.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from kittrack.domain import bounds
from kittrack.domain.rules import Rule, require
from kittrack.domain.text import check_text
from kittrack.errors import Refusal
from kittrack.services import accepting, booking, desk, weighing
from kittrack.services.desk import Done
from kittrack.store.act import Act
from kittrack.store.database import Store
from kittrack.store.records import Part, Piece, Trim


@dataclass(frozen=True)
class BladeTrim:
    """What one blade got: its code or serial, micrograms at a radius in micrometres, added or taken away."""

    piece: str
    mass_ug: int
    radius_um: int
    takes_away: bool = False


@desk.done_by("clerk", "technician", "inspector")
def trim_blades(
    store: Store, *, trims: Sequence[BladeTrim], by: str, at: datetime, reason: str, key: str = ""
) -> Done:
    """Record that loose blades were trimmed; each has to be weighed again before it is matched.

    Args:
        trims: one for each blade.
        reason: what allows it and how it was done, such as the page of the maker's manual.

    Raises:
        BadInput: every fault of every row at once.
        Refused: the maker does not allow trimming (R19), or a blade is in a set or not within reach (R1, R5, R10).
    """
    booking.raise_any(check_text(reason, field="reason"))
    with store.act("trim blades", by=by, at=at, reason=reason, key=key) as act:
        pieces = weighing.pieces_of(act, trims, check=_check_figures)
        loose = [r for p in pieces for r in accepting.check_loose(act, p)]
        allowed = [r for p in pieces for r in _check_allowed(act, p)]
        require(desk.check_done_by(act, trim_blades), loose, allowed)
        for piece, trim in zip(pieces, trims, strict=True):
            mass = -trim.mass_ug if trim.takes_away else trim.mass_ug
            act.insert(Trim(piece_id=piece.id, mass_ug=mass, radius_um=trim.radius_um, event_id=act.event_id))
            act.update(piece, mass_ug=None, moment_g_um=None, weighed_with_id=None)
    codes = tuple(p.code for p in pieces)
    return Done(
        act.event_id, codes, (f"Weigh {', '.join(codes)} again; the weighing before the trim is void.",)
    )


def _check_allowed(act: Act, piece: Piece) -> list[Refusal]:
    part = act.get(Part, piece.part_id)
    if part.trim_allowed:
        return []
    message = (
        f"The maker of {part.number} does not allow trimming; find another partner, or send the blade back."
    )
    return [Refusal(Rule.PROOF_OF_MATCH, part.number, message)]


def _check_figures(trim: BladeTrim) -> None:
    bounds.whole(trim.mass_ug, name="trim mass in ug", low=1, high=bounds.MOST_MASS_UG)
    bounds.whole(trim.radius_um, name="trim radius in um", low=1, high=bounds.MOST_RADIUS_UM)
