"""The checks at the aircraft: the sense three ways, a set's history, people, the last walk.

Every check is a plain function over facts that were read before; it hands back all of its reasons.
Whether a set is sound stands in soundness.py, fixings and torque in fixing.py.
Source: design R2, R3, R8, R11, R17, R19.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from kittrack.domain import bounds
from kittrack.domain.rules import Rule
from kittrack.domain.spin import Sense
from kittrack.errors import Refusal

SECOND_PERSON: Final = "second person"
RE_INSPECTION: Final = "re-inspection"
UNFINISHED: Final = ("not finished",)
"""States of a position that keep every other one from being started."""

NOT_BEGUN: Final = "to do"
"""The state of a position at which a job has begun nothing."""

PASSED: Final = ("inspected", "walked")
"""States of a position whose work was inspected."""


# ---- the sense ---------------------------------------------------------------------------------


@dataclass(frozen=True)
class SenseReading:
    """What the map, a rotor's label and the mark on the rotor itself say at one position.

    `marked` is the sense that the part's table of marks gives to `mark`, None where it has no such mark;
    `mapped` is None where the airframe's map does not name the position. `is_fitted` says that the rotor sits
    there already, so that it has to come off; `came_off`, that it just did.
    """

    position: str
    rotor: str
    label: Sense
    mark: str
    marked: Sense | None
    mapped: Sense | None
    is_fitted: bool = False
    came_off: bool = False


def check_sense(reading: SenseReading) -> list[Refusal]:
    """Why a rotor may not sit at a position: label, mark and map must all say the same sense.

    Source: design R2 (an unknown mark stops the rotor), R3 (no override), R17 (the map decides).
    """
    if reading.mapped is None:
        message = (
            f"The sense map of the airframe says nothing of {reading.position}; have a manager complete it."
        )
        return [Refusal(Rule.SENSE_MAP, reading.position, message)]
    found = _check_mark(reading)
    if reading.marked is not None and reading.marked is not reading.label:
        message = (
            f"STOP: {reading.position} turns {_spoken(reading.mapped)}; the label of {reading.rotor} says "
            f"{reading.label} and its mark {reading.mark!r} says {reading.marked}: {_away(reading)}."
        )
        found.append(Refusal(Rule.SENSE_BY_POSITION, reading.position, message))
    elif reading.label is not reading.mapped:
        message = (
            f"STOP: {reading.position} turns {_spoken(reading.mapped)} and {reading.rotor} is "
            f"{_spoken(reading.label)}; {_instead(reading)}."
        )
        found.append(Refusal(Rule.SENSE_BY_POSITION, reading.position, message))
    return found


def _check_mark(reading: SenseReading) -> list[Refusal]:
    if reading.marked is not None:
        return []
    if not reading.mark:
        message = f"No mark was read on {reading.rotor} at {reading.position}; read it on the rotor itself and enter it."
    else:
        message = (
            f"The mark {reading.mark!r} on {reading.rotor} at {reading.position} is not in the table of marks of its "
            f"part; read it once more, and if that is what it says, {_away(reading)}."
        )
    return [Refusal(Rule.ONE_SENSE, reading.rotor, message)]


def _instead(reading: SenseReading) -> str:
    if reading.came_off:
        return "it stays apart until it is inspected"
    if reading.is_fitted:
        return f"don't fly it, take it off and fit a {reading.mapped} set"
    return f"take a {reading.mapped} set"


def _away(reading: SenseReading) -> str:
    if reading.came_off:
        return "it stays apart until it is inspected"
    if reading.is_fitted:
        return "don't fly it, take it off and have it put on hold"
    return "don't fit it, have it put on hold"


def _spoken(sense: Sense) -> str:
    return f"{sense} ({sense.in_words}, seen from above)"


# ---- the set -----------------------------------------------------------------------------------


def check_history(rotor_set: str, *, known: bool, inspected: bool) -> list[Refusal]:
    """Why a set from before day one is not fitted: its history is unknown and nobody has inspected it since.

    Source: design 2 (before day one), R19.
    """
    if known or inspected:
        return []
    message = f"The history of {rotor_set} is unknown; have it inspected and proved before it is fitted."
    return [Refusal(Rule.PROOF_OF_MATCH, rotor_set, message)]


def time_in_service(used: int | None, *, at_fit: int | None, now: int | None) -> int | None:
    """A set's service (minutes or flights) after it came off: what it had, and the airframe's since the fit.

    Returns:
        None, which is "unknown" and never zero, where any of the three is unknown or the airframe's
        reading went down.
    """
    for reading in (used, at_fit, now):
        if reading is not None:
            bounds.quantity(reading, of="minutes or flights in service")
    if used is None or at_fit is None or now is None or now < at_fit:
        return None
    return used + now - at_fit


# ---- people, the walk, the end -----------------------------------------------------------------


def check_inspector(
    position: str, *, inspector: int, workers: Sequence[int], name: str, declared_alone: bool
) -> list[Refusal]:
    """Why a person may not inspect a position: they worked on it, and nobody declared that they are alone.

    Args:
        position: the position as a person names it.
        inspector: the human who inspects (one number for all badges of a person).
        workers: the humans who fitted and fastened.
        name: the inspector's name.
        declared_alone: whether a manager declared so for this job or day.

    Source: design R8.
    """
    if inspector not in workers or declared_alone:
        return []
    message = (
        f"{name} worked on {position} and can't inspect it; let another person do it, or have a manager "
        "declare that nobody else is there."
    )
    return [Refusal(Rule.SECOND_PERSON, position, message)]


def inspection_kind(*, inspector: int, workers: Sequence[int]) -> str:
    """How an inspection is recorded: nobody passes a re-inspection off as a second person. Source: design R8."""
    return RE_INSPECTION if inspector in workers else SECOND_PERSON


def check_one_at_a_time(position: str, *, others: Sequence[tuple[str, str]]) -> list[Refusal]:
    """Why work can't start at a position: another one of the job, (name, state), is not finished.

    Source: design 7 (one position finished before the next); the rule cited is the one that it serves.
    """
    return [
        Refusal(
            Rule.COUNT_OUT_COUNT_IN,
            name,
            f"{name} is {state}; finish it, or take its set off again, before {position} is begun.",
        )
        for name, state in others
        if state in UNFINISHED
    ]


@dataclass(frozen=True)
class Unsettled:
    """What stands between a job and its end: (position, state), what is left over, the map, open findings.

    `tightened_otherwise` are positions that the job tightened, each with how that differs from what is stated since.
    """

    job: str
    positions: tuple[tuple[str, str], ...]
    left_over: tuple[str, ...]
    map_verified: bool
    findings: tuple[str, ...]
    tightened_otherwise: tuple[tuple[str, str], ...] = ()


def check_closing(facts: Unsettled) -> list[Refusal]:
    """Every reason why a job can't be closed. Source: design R3 (the last walk), R8, R10, R11, R17, R21."""
    found = []
    for name, state in facts.positions:
        if state == "inspected":
            message = f"{name} was not walked in the last check; walk all positions of the airframe."
            found.append(Refusal(Rule.SENSE_BY_POSITION, name, message))
        elif state == "fitted":
            message = f"{name} is fitted and not inspected; let another person inspect it."
            found.append(Refusal(Rule.SECOND_PERSON, name, message))
        elif state == NOT_BEGUN:
            message = f"{name} is to do; finish it, or leave it out of the job with a reason."
            found.append(Refusal(Rule.COUNT_OUT_COUNT_IN, name, message))
        elif state != "walked":
            found.append(Refusal(Rule.COUNT_OUT_COUNT_IN, name, f"{name} is {state}; finish it."))
    for thing in facts.left_over:
        message = f"{thing} is not settled; use it, return it, scrap it, or record it lost with a reason."
        found.append(Refusal(Rule.COUNT_OUT_COUNT_IN, thing, message))
    if not facts.map_verified:
        message = f"The sense map is not verified by a motor test; test the motors with rotors off, then close {facts.job}."
        found.append(Refusal(Rule.SENSE_MAP, facts.job, message))
    for name, how in facts.tightened_otherwise:
        message = f"{name} {how} since; torque it again as stated (retorque)."
        found.append(Refusal(Rule.TORQUE, name, message))
    open_texts = [f"A finding is open ({text.rstrip('.')}); settle it first." for text in facts.findings]
    return [*found, *(Refusal(Rule.REMOVED_PARTS, facts.job, text) for text in open_texts)]


def next_step(facts: Unsettled) -> str:
    """What to do next in a job, in one sentence: what is half done first, then what is to be done.

    Where some of it is done and only untouched positions are left, a second sentence says that they may be left out.
    The motor test comes before the walk, as it takes the rotors off.
    """
    at = {state: name for name, state in reversed(facts.positions)}  # the first of each state
    found = [f"settle finding {text.rstrip('.')}" for text in facts.findings]
    found += [words.format(at[state]) for state, words in _AT_A_POSITION.items() if state in at]
    found += [f"torque {name} again; what is stated for it changed" for name, _ in facts.tightened_otherwise]
    if not facts.map_verified:
        found.append("verify the sense map by a motor test with rotors off")
    if "inspected" in at:
        found.append(f"walk all positions; {at['inspected']} was not walked yet")
    if facts.left_over:
        found.append(f"return, scrap or account for what is left: {', '.join(facts.left_over)}")
    step = [*found, f"close {facts.job}"][0]
    begins = step == _AT_A_POSITION[NOT_BEGUN].format(at.get(NOT_BEGUN))
    may_end = begins and any(state in PASSED for state in at)
    return f"Next: {step}." + (" Or leave out of the job what stays as it is." if may_end else "")


_AT_A_POSITION: Final = {
    "not finished": "finish {}: fasten it, or take its set off again",
    "fitted": "let another person inspect {}",
    "bare": "fit a set at {}",
    "to do": "begin with {}",
}


def check_walk_covers(airframe: str, *, expected: Sequence[str], seen: Sequence[str]) -> list[Refusal]:
    """A refusal for each position with a rotor that the last walk left out. Source: design R3."""
    return [
        Refusal(
            Rule.SENSE_BY_POSITION, name, f"{name} of {airframe} was left out; scan it and read its mark too."
        )
        for name in expected
        if name not in seen
    ]
