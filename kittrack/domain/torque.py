"""Stated torques and the tools that apply them.

A torque is a value with its unit, source and condition. An angle or "snug" is another method and no torque.

Source: design R18, C8 and C9; ISO 6789-1 as printed in a tool maker's manual ("Review of ISO 6789").
"""

import re
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Final

from kittrack.domain import bounds
from kittrack.domain.preload import (
    MOST_TORQUE_MNM,
    PLAIN_NUT_FACTOR,
    TorqueBand,
    believable_torque,
    newton_metres,
    proof_torque_mnm,
    unit_slips,
)
from kittrack.domain.rules import Rule
from kittrack.domain.text import clean_label
from kittrack.domain.threads import Condition, PropertyClass, Thread
from kittrack.errors import BadInput, Problem, Refusal

_SHOWN: Final = 40
_TURN: Final = re.compile(r"(?<![a-z])(?:turns?|deg|degrees?|angle)(?![a-z])|°", re.IGNORECASE)
_SNUG: Final = re.compile(r"(?<![a-z])(?:snug|hand[ -]?tight|finger[ -]?tight)(?![a-z])", re.IGNORECASE)

# ISO 6789-1, setting tools of type II class A: 6 % up to 10 N m capacity, 4 % above.
_SMALL_TOOL_MNM: Final = 10_000
WIDEST_DEVIATION_PERCENT, _LARGE_TOOL_PERCENT = 6, 4


class Method(StrEnum):
    """How a screw is tightened."""

    TORQUE = "torque"
    ANGLE = "angle"
    SNUG = "snug"


@dataclass(frozen=True)
class Torque:
    """A torque in mN m, the condition of the thread it is stated for, and who states it."""

    torque_mnm: int
    condition: Condition
    source: str

    def __post_init__(self) -> None:
        bounds.whole(self.torque_mnm, name="torque in mN m", low=1, high=MOST_TORQUE_MNM)
        if not self.source.strip():
            raise BadInput("The torque has no source; name the manual and its page, or who stated it.")

    def __str__(self) -> str:
        """The torque with its condition and source."""
        source = clean_label(self.source, max_length=2 * _SHOWN)
        return f"{newton_metres(self.torque_mnm)} {self.condition} ({source})"


@dataclass(frozen=True)
class Tightening:
    """How a fixing is tightened: a torque, or in words an angle or snug, which no torque tool shows."""

    method: Method
    torque: Torque | None = None
    text: str = ""

    def __post_init__(self) -> None:
        if self.method is Method.TORQUE and self.torque is None:
            raise BadInput("The method is torque but no torque is stated; state value, condition and source.")
        if self.method is not Method.TORQUE and self.torque is not None:
            raise BadInput(
                f"The method is {self.method} but a torque is stated; choose torque or leave the value out."
            )
        if self.method is not Method.TORQUE and not self.text.strip():
            raise BadInput(
                f"The method is {self.method} but nothing says how far; type it, such as snug + 1/4 turn."
            )

    @property
    def needs_tool(self) -> bool:
        """Whether a torque tool must be named in the record."""
        return self.method is Method.TORQUE


def method_named_in(text: str) -> Method:
    """The method that words name: "snug + 1/4 turn" is an angle, "hand tight" is snug, the rest a torque."""
    if _TURN.search(text):
        return Method.ANGLE
    return Method.SNUG if _SNUG.search(text) else Method.TORQUE


def check_torque(
    torque: Torque, *, thread: Thread, strength: PropertyClass, subject: str
) -> tuple[Refusal, ...]:
    """Why a stated torque can't be used on the screws issued: it is beyond their proof load.

    Judged at K = 0.20, so a torque refused here overloads the screw in every condition. A slip of unit
    that would explain it is named.

    Args:
        torque: what the type revision states.
        thread: the screw's thread.
        strength: the class of the lot that is issued, which may be weaker than the torque is meant for.
        subject: the fixing as a person names it.
    """
    limit_mnm = proof_torque_mnm(thread, strength=strength)
    if torque.torque_mnm <= limit_mnm:
        return ()
    band = believable_torque(thread, strength=strength)
    message = (
        f"{newton_metres(torque.torque_mnm)} for {subject} brings {thread.name} {strength.name} to "
        f"{torque.torque_mnm / limit_mnm:.0%} of its proof load (K {PLAIN_NUT_FACTOR:.2f}); "
        f"issue the class that the torque is meant for, or have it corrected{_slips(torque, band=band)}."
    )
    return (Refusal(Rule.TORQUE, subject, message),)


def question_torque(
    torque: Torque, *, thread: Thread, strength: PropertyClass | None, subject: str
) -> tuple[Problem, ...]:
    """What is odd about a stated torque: a warning to read the source again, not a refusal.

    Args:
        torque: what is stated.
        thread: the screw's thread.
        strength: its class; None where it is unknown.
        subject: the fixing as a person names it.

    Returns:
        A problem when the torque is not believable for the thread, with the slip of unit that would
        explain it; another when the class is unknown.
    """
    found = []
    band = believable_torque(thread, strength=strength)
    named = f"{thread.name} {strength.name}" if strength else thread.name
    if torque.torque_mnm not in band:
        size = "little" if torque.torque_mnm < band.low_mnm else "much"
        found.append(
            f"{newton_metres(torque.torque_mnm)} for {subject} is {size} for {named}, where "
            f"{newton_metres(band.low_mnm)} to {newton_metres(band.high_mnm)} are usual; "
            f"read the source and its unit again{_slips(torque, band=band)}."
        )
    if strength is None:
        found.append(
            f"The screws of {subject} have no property class, so their torque can't be judged; state the class."
        )
    return tuple(Problem(message, "torque") for message in found)


def _slips(torque: Torque, *, band: TorqueBand) -> str:
    slips = unit_slips(torque.torque_mnm, band=band)
    return f" (if a unit was mistaken: {'; '.join(map(str, slips))})" if slips else ""


@dataclass(frozen=True)
class TorqueTool:
    """A setting torque tool: its range in mN m, and the last day of its calibration, if it has one."""

    code: str
    name: str
    min_mnm: int
    max_mnm: int
    calibrated_until: date | None

    def __post_init__(self) -> None:
        bounds.whole(self.max_mnm, name="greatest torque of the tool in mN m", low=1, high=MOST_TORQUE_MNM)
        bounds.whole(self.min_mnm, name="least torque of the tool in mN m", low=1, high=self.max_mnm)

    @property
    def deviation_percent(self) -> int:
        """The largest deviation allowed to a tool of its capacity: 6 % up to 10 N m, 4 % above (ISO 6789-1)."""
        return WIDEST_DEVIATION_PERCENT if self.max_mnm <= _SMALL_TOOL_MNM else _LARGE_TOOL_PERCENT

    @property
    def test_points_mnm(self) -> tuple[float, float, float]:
        """Where a calibration reads it: lowest marked value, 60 % and 100 % (ISO 6789-1:2017, clause 5.1.3)."""
        return float(self.min_mnm), 0.6 * self.max_mnm, float(self.max_mnm)


def check_tool(tool: TorqueTool, *, torque_mnm: int, on: date) -> tuple[Refusal, ...]:
    """Why a tool can't apply a torque: out of its range, or not calibrated on that day.

    A calibration lasts through its last day.

    Args:
        tool: the tool that was scanned.
        torque_mnm: the torque to apply, in mN m.
        on: the local day.

    Raises:
        BadInput: a torque that can't be one.
    """
    bounds.whole(torque_mnm, name="torque in mN m", low=1, high=MOST_TORQUE_MNM)
    name = clean_label(f"{tool.code} {tool.name}".strip(), max_length=_SHOWN)
    found = []
    if not tool.min_mnm <= torque_mnm <= tool.max_mnm:
        side = "below" if torque_mnm < tool.min_mnm else "above"
        found.append(
            f"{newton_metres(torque_mnm)} is {side} the range of {name} ({newton_metres(tool.min_mnm)} to "
            f"{newton_metres(tool.max_mnm)}); take a tool whose range covers it."
        )
    if tool.calibrated_until is None:
        found.append(f"{name} has no calibration on record; take a calibrated tool.")
    elif on > tool.calibrated_until:
        found.append(
            f"{name} is out of calibration since {tool.calibrated_until.isoformat()}; take a calibrated tool."
        )
    return tuple(Refusal(Rule.TORQUE, name, message) for message in found)


def deviation_percent(set_mnm: float, *, reference_mnm: float) -> float:
    """By how many percent a tool's setting differs from what the reference reads: (Xa - Xr) 100 / Xr.

    Args:
        set_mnm: what the tool was set to.
        reference_mnm: what the calibration device read.

    Raises:
        BadInput: a figure that can't be one.

    Source: ISO 6789 (formula from memory).
    """
    stated = bounds.real(set_mnm, name="set torque in mN m", low=0, high=MOST_TORQUE_MNM)
    reference = bounds.real(
        reference_mnm, name="reference torque in mN m", low=0, high=MOST_TORQUE_MNM, above=True
    )
    return (stated - reference) * 100 / reference


def passes_calibration(tool: TorqueTool, *, set_mnm: float, reference_mnm: float) -> bool:
    """Whether a reading lies within the deviation allowed to the tool; the limit itself passes."""
    found = abs(deviation_percent(set_mnm, reference_mnm=reference_mnm))
    return found <= tool.deviation_percent + 1e-9  # a reading on the limit survives the division
