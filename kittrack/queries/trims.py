"""The least trim that would bring weighed blades inside the tolerance of their part. Source: design C5."""

from collections.abc import Sequence
from dataclasses import dataclass

from kittrack.domain import codes
from kittrack.domain.balance import g_mm, unbalance_of
from kittrack.domain.measurement import expanded_g_um
from kittrack.domain.trimming import trim_plan
from kittrack.errors import BadInput, NotFound
from kittrack.store.act import Reading
from kittrack.store.database import Store
from kittrack.store.records import Part, Piece, Tool
from kittrack.store.weighing_facts import at_one_stop, setup_of, weighing_of


@dataclass(frozen=True)
class BladeToTrim:
    """One blade to trim: mass in micrograms at a radius in micrometres, to add or to take away."""

    piece: str
    serial: str
    mass_ug: int
    radius_um: int
    takes_away: bool


@dataclass(frozen=True)
class TrimProposal:
    """What to trim; moments in g·µm. Without blades nothing is to be trimmed."""

    part: str
    residual_g_um: int
    uncertainty_g_um: int
    tolerance_g_um: int
    blades: tuple[BladeToTrim, ...]
    residual_after_g_um: int
    said: str


def trim_proposal(
    store: Store, *, blades: Sequence[str], radius_um: int, take_away: bool = False, one_stop: bool = False
) -> TrimProposal:
    """The fewest blades and the least mass that bring a set to be inside its tolerance, uncertainty kept free.

    Args:
        store: the store.
        blades: codes or serials in their order around the hub, from slot 0.
        radius_um: where on the blade the trim is put.
        take_away: remove material instead of adding it.
        one_stop: all blades rested on the scale at one stop of one fixture.

    Raises:
        NotFound: no such blade.
        BadInput: not the blades of one rotor, not weighed on one scale, the maker does not allow trimming, or
            the scale alone uses the tolerance up.
    """
    with store.reading() as read:
        pieces = [_piece(read, text) for text in blades]
        part = _part(read, pieces)
        uncertainty = _uncertainty(read, pieces, one_stop=one_stop)
    limit, moments = part.tolerance_g_um or 0, [p.moment_g_um or 0 for p in pieces]
    room = limit - uncertainty
    if room <= 0:
        raise BadInput(
            f"The scale is uncertain by {g_mm(uncertainty)} of {g_mm(limit)}; weigh on a finer one before trimming."
        )
    plan = trim_plan(moments, within_g_um=room, radius_um=radius_um, take_away=take_away)
    parts = tuple(
        BladeToTrim(pieces[t.slot].code, pieces[t.slot].serial or "", t.mass_ug, t.radius_um, take_away)
        for t in plan.parts
    )
    return TrimProposal(
        part=part.number, residual_g_um=round(unbalance_of(moments).residual_g_um), uncertainty_g_um=round(uncertainty),
        tolerance_g_um=limit, blades=parts, residual_after_g_um=round(plan.residual_g_um), said=_said(parts),
    )  # fmt: skip


def _said(parts: Sequence[BladeToTrim]) -> str:
    if not parts:
        return "These blades match as they are; nothing is to be trimmed."
    return (
        "Trim as the maker's manual says, record it (kittrack trim record), then weigh the trimmed blades again. "
        "Only a new measurement proves the set."
    )


def _piece(read: Reading, text: str) -> Piece:
    if codes.looks_like_code(text):
        code = codes.read_code(text, expect=codes.Kind.PIECE).text
        found = read.select(Piece, "code = ?", code)
    else:
        found = read.select(Piece, "serial = ?", text.strip(), limit=2)
    if len(found) != 1:
        why = "several pieces have" if found else "no piece has"
        raise NotFound(f"{why} the code or serial {text.strip()!r}; scan the blade's own label")
    return found[0]


def _part(read: Reading, pieces: Sequence[Piece]) -> Part:
    kinds = {p.part_id for p in pieces}
    if len(kinds) != 1:
        raise BadInput("The blades are of several parts; scan the blades of one rotor.", field="blades")
    part = read.get(Part, kinds.pop())
    if (
        len({p.code for p in pieces}) != len(pieces)
        or len(pieces) != part.blades_per_rotor
        or len(pieces) < 2
    ):
        count = part.blades_per_rotor
        raise BadInput(
            f"A rotor of {part.number} has {count} blades; scan each of them once.", field="blades"
        )
    if not part.trim_allowed:
        raise BadInput(
            f"The maker of {part.number} does not allow trimming; find another partner.", field="blades"
        )
    if part.tolerance_g_um is None:
        raise BadInput(
            f"{part.number} has no tolerance; a manager enters the maker's figure first.", field="blades"
        )
    return part


def _uncertainty(read: Reading, pieces: Sequence[Piece], *, one_stop: bool) -> float:
    lacking = [p.code for p in pieces if not p.mass_ug or p.moment_g_um is None or p.weighed_with_id is None]
    if lacking:
        are, them = ("is", "it") if len(lacking) == 1 else ("are", "them")
        raise BadInput(f"{', '.join(lacking)} {are} not weighed; weigh {them} first.", field="blades")
    tools = {p.weighed_with_id for p in pieces}
    if len(tools) > 1:
        raise BadInput("The blades were weighed on several scales; weigh them all on one.", field="blades")
    weighings = [weighing_of(p) for p in pieces]
    if one_stop:
        weighings = at_one_stop(weighings)
    return expanded_g_um(weighings, setup=setup_of(read.get(Tool, tools.pop() or 0), one_stop=one_stop))
