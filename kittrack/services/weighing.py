"""Weighing blades: the mass on a scale in date, the radius at which it acts, and the static moment of the two.

Source: design C4, R19.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Protocol, TypeVar

from kittrack.domain import codes
from kittrack.domain.ledger import PlaceKind
from kittrack.domain.measurement import Weighing
from kittrack.domain.rules import Rule, require
from kittrack.domain.text import clean_label
from kittrack.errors import BadInput, KittrackError, NotFound, Problem, Refusal
from kittrack.services import desk
from kittrack.services.desk import Done
from kittrack.store.act import Act, Reading
from kittrack.store.database import Store
from kittrack.store.records import Piece, Tool
from kittrack.store.stock import chain, slot_of_piece

WITHIN_REACH = frozenset(
    {PlaceKind.BIN, PlaceKind.GOODS_IN, PlaceKind.HOLD_CAGE, PlaceKind.BENCH, PlaceKind.REMOVED_CAGE}
)
"""Kinds of place from which somebody of the stores can take a thing in hand."""


@dataclass(frozen=True)
class PieceWeighing:
    """One blade on the scale: its code or serial, the reading in micrograms, the radius in micrometres.

    The radius is that of the centre of gravity, or of the stop at which the blade rests on the scale.
    """

    piece: str
    mass_ug: int
    radius_um: int


@desk.done_by("clerk", "technician", "inspector")
def record_weighing(
    store: Store, *, weighings: Sequence[PieceWeighing], scale: str, by: str, at: datetime, key: str = ""
) -> Done:
    """Keep what a scale showed for blades; later readings replace earlier ones on the blade.

    Args:
        weighings: one for each blade.
        scale: the code or name of the scale.

    Raises:
        BadInput: every fault of every reading at once.
        Refused: the scale is out of calibration (R19), or a blade is not within reach (R5, R10).
    """
    with store.act("weigh blades", by=by, at=at, key=key) as act:
        tool = find_scale(act, scale)
        pieces = pieces_of(act, weighings, check=_check_reading)
        outside = [r for piece in pieces for r in check_within_reach(act, piece)]
        require(
            desk.check_done_by(act, record_weighing),
            check_calibrated(tool, on=desk.today(act)),
            outside,
        )
        said = []
        for piece, weighing in zip(pieces, weighings, strict=True):
            moment = Weighing(weighing.mass_ug, weighing.radius_um).moment_g_um
            act.update(piece, mass_ug=weighing.mass_ug, moment_g_um=moment, weighed_with_id=tool.id)
            said.append(f"{piece.code}: static moment {moment / 1000:.3f} g mm.")
    return Done(act.event_id, tuple(p.code for p in pieces), tuple(said))


def find_scale(read: Reading, text: str) -> Tool:
    """The scale of a scanned code or an exact name.

    Raises:
        NotFound: no scale in use is known so.
    """
    shown = clean_label(text.strip(), max_length=40)
    if codes.looks_like_code(text):
        found = read.find(Tool, code=codes.read_code(text, expect=codes.Kind.TOOL).text)
    else:
        found = read.find(Tool, name=text.strip())
    if found is None or found.kind != "scale" or not found.active:
        raise NotFound(f"no scale in use is known as {shown!r}; scan the label on the scale")
    return found


def check_calibrated(tool: Tool, *, on: date) -> list[Refusal]:
    """Why a scale proves nothing on a day: no calibration, or one that is over (R19)."""
    until = tool.calibrated_until_on
    if until is not None and on <= date.fromisoformat(until):
        return []
    why = f"is out of calibration since {until}" if until else "has no calibration on record"
    return [Refusal(Rule.PROOF_OF_MATCH, tool.code, f"Scale {tool.name} {why}; take a calibrated one.")]


def check_within_reach(read: Reading, piece: Piece) -> list[Refusal]:
    """Why a piece can't be taken in hand: it is in a kit (R5), on an airframe (R10), issued or gone."""
    places = chain(read, slot_of_piece(read, piece.id).place_id)
    kinds = [p.kind for p in places]
    if PlaceKind.KIT in kinds:
        message = f"{piece.code} is in kit {places[kinds.index('kit')].code}; open the kit first."
        return [Refusal(Rule.WHOLE_KIT, piece.code, message)]
    if kinds[-1] not in WITHIN_REACH:
        message = f"{piece.code} is {_where(places[-1].kind, places[-1].name)}; bring it to the stores first."
        return [Refusal(Rule.REMOVED_PARTS, piece.code, message)]
    return []


def _where(kind: str, name: str) -> str:
    return f"at {kind} {name}" if name != kind else kind


def _check_reading(reading: PieceWeighing) -> None:
    Weighing(reading.mass_ug, reading.radius_um).moment_g_um  # noqa: B018 - refuses what no blade has


class BladeRow(Protocol):
    """One row about one blade, named by its code or serial."""

    @property
    def piece(self) -> str:
        """The code or serial."""


RowT = TypeVar("RowT", bound=BladeRow)


def pieces_of(act: Act, rows: Sequence[RowT], *, check: Callable[[RowT], object]) -> list[Piece]:
    """The blade of each row, in order.

    Args:
        act: the act.
        rows: one for each blade.
        check: raises BadInput where the figures of a row can't be.

    Raises:
        BadInput: every fault of every row at once: unknown, twice, or with figures that can't be; or no row.
    """
    if not rows:
        raise BadInput("No blade was entered; enter at least one.", field="piece")
    found: list[Piece] = []
    problems: list[Problem] = []
    for number, row in enumerate(rows, start=1):
        try:
            check(row)
            piece = desk.find_piece(act, row.piece)
        except BadInput as error:
            problems += [replace(p, row=number) for p in error.problems]
        except KittrackError as error:
            problems.append(Problem(str(error), "piece", number))
        else:
            if piece in found:
                problems.append(
                    Problem(f"{piece.code} stands twice; enter each blade once.", "piece", number)
                )
            found.append(piece)
    if problems:
        raise BadInput(problems)
    return found


# ---- what a scale must show -------------------------------------------------------------------


def check_figures(tool: Tool) -> list[Refusal]:
    """Why a scale proves nothing: a figure of its uncertainty is not on record (R19)."""
    figures = (
        ("resolution", tool.resolution_ug),
        ("calibration uncertainty", tool.uncertainty_ug),
        ("ruler's step", tool.ruler_um),
    )
    lacking = [name for name, value in figures if not value]
    if not lacking:
        return []
    message = (
        f"Scale {tool.name} has no {' and no '.join(lacking)} on record; a manager enters it from its sheet."
    )
    return [Refusal(Rule.PROOF_OF_MATCH, tool.code, message)]
