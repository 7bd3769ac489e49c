"""What labels say: one frozen value for each thing that carries a label.

Each value turns itself into a `Face`: its code, its lines in order of importance and, where a rotor
turns, its sense. Where the lines stand is the business of `layout`.

Source: design section 3 (words), R3 (the sense is read from the label, never guessed), R10 (tags).
"""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Protocol

from kittrack.domain.spin import Sense


class NoDate(StrEnum):
    """Why a label carries no date of expiry: two different things (design R13)."""

    NONE = "no shelf life"
    UNKNOWN = "expiry unknown"


UseBy = date | NoDate


@dataclass(frozen=True, slots=True)
class Face:
    """The words of one label.

    `heading` ends with the code; `banner` is printed white on black; `lines` may be broken at blanks
    but are never cut. `short`, where given, says the same in fewer lines for a small stock.
    """

    kind: str
    code: str
    lines: tuple[str, ...]
    banner: str = ""
    sense: Sense | None = None
    short: tuple[str, ...] = ()

    @property
    def heading(self) -> str:
        """The kind in capitals and the code."""
        return f"{self.kind.upper()} {self.code}"

    @property
    def subject(self) -> str:
        """The label as a sentence names it."""
        return f"The {self.kind} label {self.code}"


class Label(Protocol):
    """Anything that can be printed as a label."""

    def face(self) -> Face:
        """Its words."""
        ...


@dataclass(frozen=True)
class SetCount:
    """So many rotor sets of one sense and part in a kit."""

    sense: Sense
    sets: int
    part: str

    def __str__(self) -> str:
        """The sense comes first, where it can't be cut off."""
        return f"{self.sense} {self.sets} {_plural(self.sets, 'set')} of {self.part}"


@dataclass(frozen=True)
class KitLabel:
    """A sealed kit. `airframe` is empty for a kit built for the shelf."""

    code: str
    airframe_type: str
    revision: str
    positions: str
    rotor_sets: tuple[SetCount, ...]
    fasteners: tuple[str, ...]
    seal: str
    use_by: UseBy
    built_by: str
    checked_by: str
    sealed_on: date
    airframe: str = ""

    def face(self) -> Face:
        """The words of the label."""
        target = f" for {self.airframe}" if self.airframe else ""
        senses = sorted(self.rotor_sets, key=lambda s: (s.sense is Sense.CCW, s.part))
        first = f"{self.airframe_type} rev {self.revision}{target}: {self.positions}"
        last = (
            f"seal {self.seal}, {_use_by(self.use_by)}",
            f"built {self.built_by}, checked {self.checked_by}, {self.sealed_on}",
        )
        return Face(
            kind="kit",
            code=self.code,
            banner="ISSUE WHOLE",
            lines=(first, *map(str, senses), *self.fasteners, *last),
            short=(first, *_by_part(senses), "; ".join(self.fasteners), *last),
        )


@dataclass(frozen=True)
class RotorSetLabel:
    """A matched set of blades. `proof` is its residual against its tolerance, with the unit."""

    code: str
    sense: Sense
    part: str
    blades: int
    lot: str
    proof: str
    matched_by: str
    matched_on: date
    use_by: UseBy = NoDate.NONE

    def face(self) -> Face:
        """The words of the label."""
        return Face(
            kind="rotor set",
            code=self.code,
            sense=self.sense,
            lines=(
                f"{self.sense.in_words} seen from above",
                f"{self.blades} {_plural(self.blades, 'blade')} {self.part}, lot {self.lot}",
                f"{self.proof}, {self.matched_by}, {self.matched_on}",
                *([] if self.use_by is NoDate.NONE else [_use_by(self.use_by)]),
            ),
        )


@dataclass(frozen=True)
class PieceLabel:
    """One blade, bottle or other single piece. `opened_on` is for bottles."""

    code: str
    part: str
    serial: str
    lot: str
    use_by: UseBy
    sense: Sense | None = None
    opened_on: date | None = None
    on_hold: str = ""

    def face(self) -> Face:
        """The words of the label."""
        opened = (f"opened {self.opened_on}",) if self.opened_on else ()
        serial = f"serial {self.serial}" if self.serial else "without a serial"
        lines = (self.part, f"{serial}, lot {self.lot}", _use_by(self.use_by))
        return _holdable(
            Face(kind="piece", code=self.code, lines=lines + opened, sense=self.sense), self.on_hold
        )


@dataclass(frozen=True)
class LotLabel:
    """A lot on its bag or box. `quantity` is a count or an amount with its unit."""

    code: str
    part: str
    maker: str
    supplier: str
    supplier_lot: str
    quantity: str
    use_by: UseBy
    received_on: date
    on_hold: str = ""

    def face(self) -> Face:
        """The words of the label."""
        lines = (
            f"{self.quantity} {self.part}",
            f"{self.maker}, lot {self.supplier_lot or 'unknown'}",
            f"from {self.supplier}, {self.received_on}",
            _use_by(self.use_by),
        )
        return _holdable(Face(kind="lot", code=self.code, lines=lines), self.on_hold)


@dataclass(frozen=True)
class ReceiptLineLabel:
    """One line of a delivery, from goods-in to the shelf."""

    code: str
    part: str
    lot: str
    quantity: str
    use_by: UseBy
    received_on: date
    on_hold: str = ""

    def face(self) -> Face:
        """The words of the label."""
        lines = (
            f"{self.quantity} {self.part}",
            f"lot {self.lot}, received {self.received_on}",
            _use_by(self.use_by),
        )
        return _holdable(Face(kind="receipt line", code=self.code, lines=lines), self.on_hold)


@dataclass(frozen=True)
class HoldLabel:
    """What keeps a thing from being used, fixed to the thing itself."""

    code: str
    held: str
    reason: str
    placed_by: str
    placed_on: date

    def face(self) -> Face:
        """The words of the label."""
        return Face(
            kind="hold",
            code=self.code,
            banner="DO NOT USE",
            lines=(self.held, self.reason, f"{self.placed_by}, {self.placed_on}"),
        )


@dataclass(frozen=True)
class PlaceLabel:
    """A bin, bench, cage or van. `kind` is one of these words."""

    code: str
    kind: str
    name: str
    site: str

    def face(self) -> Face:
        """The words of the label."""
        return Face(kind=self.kind, code=self.code, lines=(self.name, self.site))


@dataclass(frozen=True)
class AirframeLabel:
    """One airframe, by its tail."""

    code: str
    tail: str
    airframe_type: str
    revision: str

    def face(self) -> Face:
        """The words of the label."""
        return Face(
            kind="airframe", code=self.code, lines=(self.tail, f"{self.airframe_type} rev {self.revision}")
        )


@dataclass(frozen=True)
class PositionLabel:
    """A position on its arm, with the sense that the airframe's map gives it."""

    code: str
    airframe: str
    position: str
    sense: Sense
    map_revision: str

    def face(self) -> Face:
        """The words of the label."""
        return Face(
            kind="position",
            code=self.code,
            sense=self.sense,
            lines=(
                f"{self.airframe}, {self.position}",
                f"{self.sense.in_words} seen from above",
                f"map revision {self.map_revision}",
            ),
        )


@dataclass(frozen=True)
class TagLabel:
    """The tag of a removed part (design R10). `found_sense` is what was read on the rotor itself."""

    code: str
    part: str
    rotor_set: str
    airframe: str
    position: str
    time_in_service: str
    reason: str
    removed_by: str
    removed_on: date
    found_sense: Sense | None = None
    evidence: bool = False

    def face(self) -> Face:
        """The words of the label."""
        sense = f"{self.found_sense} as found" if self.found_sense else "sense not read"
        return Face(
            kind="tag",
            code=self.code,
            banner="EVIDENCE" if self.evidence else "REMOVED",
            lines=(
                f"{self.rotor_set} {self.part}".strip(),
                f"{sense}, {self.time_in_service}",
                f"from {self.airframe}, {self.position}",
                self.reason,
                f"{self.removed_by}, {self.removed_on}",
            ),
        )


@dataclass(frozen=True)
class JobLabel:
    """A job or work order."""

    code: str
    airframe: str
    title: str
    opened_on: date

    def face(self) -> Face:
        """The words of the label."""
        return Face(kind="job", code=self.code, lines=(self.airframe, self.title, f"opened {self.opened_on}"))


@dataclass(frozen=True)
class PersonLabel:
    """A person's badge. `roles` as words."""

    code: str
    name: str
    roles: tuple[str, ...] = ()

    def face(self) -> Face:
        """The words of the label."""
        roles = (", ".join(self.roles),) if self.roles else ()
        return Face(kind="person", code=self.code, lines=(self.name, *roles))


@dataclass(frozen=True)
class ToolLabel:
    """A torque tool. `tool_range` with its unit."""

    code: str
    name: str
    tool_range: str
    calibrated_until: date | None

    def face(self) -> Face:
        """The words of the label."""
        until = f"calibrated until {self.calibrated_until}" if self.calibrated_until else "not calibrated"
        return Face(kind="tool", code=self.code, lines=(self.name, self.tool_range, until))


def _holdable(face: Face, reason: str) -> Face:
    if not reason:
        return face
    return Face(
        kind=face.kind,
        code=face.code,
        banner="ON HOLD",
        sense=face.sense,
        lines=(f"on hold: {reason}", *face.lines),
    )


def _by_part(counts: list[SetCount]) -> list[str]:
    """One line for each part, in the order given: "CW 2 and CCW 2 sets of ..."."""
    senses: dict[str, list[SetCount]] = {}
    for count in counts:
        senses.setdefault(count.part, []).append(count)
    return [
        f"{' and '.join(f'{c.sense} {c.sets}' for c in same)} {_plural(same[-1].sets, 'set')} of {part}"
        for part, same in senses.items()
    ]


def _use_by(use_by: UseBy) -> str:
    return use_by.value if isinstance(use_by, NoDate) else f"use by {use_by.isoformat()}"


def _plural(count: int, noun: str) -> str:
    return noun if count == 1 else f"{noun}s"
