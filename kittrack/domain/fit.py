"""The checks at the aircraft: the sense three ways, a whole and proved set, people, the last walk.

Every check is a plain function over facts that were read before; it hands back all of its reasons.
Fixings and torque stand in fixing.py. Source: design R1, R2, R3, R8, R11, R17, R19.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from kittrack.domain.rules import Rule
from kittrack.domain.spin import Sense
from kittrack.errors import Refusal

SECOND_PERSON: Final = "second person"
RE_INSPECTION: Final = "re-inspection"
UNFINISHED: Final = ("not finished",)
"""States of a position that keep every other one from being started."""

PASSED: Final = ("inspected", "walked")
"""States of a position whose work was inspected."""


# ---- the sense ---------------------------------------------------------------------------------


@dataclass(frozen=True)
class SenseReading:
    """What the map, a rotor's label and the mark on the rotor itself say at one position.

    `marked` is the sense that the part's table of marks gives to `mark`, None where it has no such mark;
    `mapped` is None where the airframe's map does not name the position.
    """

    position: str
    rotor: str
    label: Sense
    mark: str
    marked: Sense | None
    mapped: Sense | None


def check_sense(reading: SenseReading) -> list[Refusal]:
    """Why a rotor may not sit at a position: label, mark and map must all say the same sense.

    Source: design R2 (an unknown mark stops the rotor), R3 (no override), R17 (the map decides).
    """
    if reading.mapped is None:
        message = (
            f"The sense map of the airframe says nothing of {reading.position}; have a manager complete it."
        )
        return [Refusal(Rule.SENSE_MAP, reading.position, message)]
    found = []
    if reading.label is not reading.mapped:
        found.append(
            f"STOP: {reading.position} turns {_spoken(reading.mapped)} and {reading.rotor} is "
            f"{_spoken(reading.label)}; take a {reading.mapped} set."
        )
    if reading.marked is not None and reading.marked is not reading.mapped:
        found.append(
            f"STOP: the mark {reading.mark!r} on the rotor means {_spoken(reading.marked)} and "
            f"{reading.position} turns {_spoken(reading.mapped)}; don't fit it, have it put on hold."
        )
    if reading.marked is not None and reading.marked is not reading.label:
        found.append(
            f"STOP: the label of {reading.rotor} says {reading.label} and its mark {reading.mark!r} says "
            f"{reading.marked}; don't fit it, have it put on hold."
        )
    return [*_check_mark(reading), *(Refusal(Rule.SENSE_BY_POSITION, reading.position, m) for m in found)]


def _check_mark(reading: SenseReading) -> list[Refusal]:
    if reading.marked is not None:
        return []
    if not reading.mark:
        message = f"No mark was read on {reading.rotor}; read it on the rotor itself and enter it."
    else:
        message = (
            f"The mark {reading.mark!r} is not in the table of marks of {reading.rotor}'s part; "
            "don't guess, have the set put on hold."
        )
    return [Refusal(Rule.ONE_SENSE, reading.rotor, message)]


def _spoken(sense: Sense) -> str:
    return f"{sense} ({sense.in_words}, seen from above)"


# ---- the set -----------------------------------------------------------------------------------


@dataclass(frozen=True)
class SetParts:
    """What a rotor set must hold and what lies in it."""

    code: str
    broken: bool
    blades_needed: int
    blades_inside: int
    hub_needed: bool
    hub_inside: bool


def check_whole(parts: SetParts) -> list[Refusal]:
    """Why a set is not whole. Source: design R1."""
    found = []
    if parts.broken:
        found.append(f"{parts.code} was broken and is never issued or fitted again; take a whole set.")
    elif parts.blades_inside != parts.blades_needed:
        found.append(
            f"{parts.code} holds {parts.blades_inside} of its {parts.blades_needed} blades; "
            "have it broken on record, and take a whole set."
        )
    if parts.hub_needed and not parts.hub_inside and not parts.broken:
        found.append(f"{parts.code} is without its hub, which belongs to the set; take a whole set.")
    return [Refusal(Rule.WHOLE_SET, parts.code, message) for message in found]


@dataclass(frozen=True)
class Proof:
    """What proves that a set's blades match: `method` is "" where there is no record.

    Moments in g um. `tolerance_g_um` and `pairing_suffices` are what the part says today.
    `history_settled` is false for a set from before day one that nobody has inspected since.
    """

    code: str
    method: str
    pairing_suffices: bool
    residual_g_um: int | None
    uncertainty_g_um: int | None
    tolerance_g_um: int | None
    history_settled: bool


def check_proof(proof: Proof) -> list[Refusal]:
    """Why a set is not proved to match: no record, or one that does not suffice today. Source: design R19."""
    found = []
    if not proof.history_settled:
        found.append(
            f"The history of {proof.code} is unknown; have it inspected and proved before it is fitted."
        )
    if not proof.method:
        found.append(f"{proof.code} has no record of its match; have it measured at the bench.")
    elif proof.method == "supplier pairing":
        if not proof.pairing_suffices:
            found.append(
                f"A supplier's pairing does not suffice for the part of {proof.code}; have it measured."
            )
    elif proof.residual_g_um is None or proof.uncertainty_g_um is None or proof.tolerance_g_um is None:
        found.append(
            f"The match record of {proof.code} lacks a figure or its tolerance; have it measured again."
        )
    elif proof.residual_g_um + proof.uncertainty_g_um > proof.tolerance_g_um:
        found.append(
            f"The residual of {proof.code} with its uncertainty, "
            f"{proof.residual_g_um + proof.uncertainty_g_um} g um, is beyond the tolerance of "
            f"{proof.tolerance_g_um} g um; have it measured and matched again."
        )
    return [Refusal(Rule.PROOF_OF_MATCH, proof.code, message) for message in found]


def time_in_service(used: int | None, *, at_fit: int | None, now: int | None) -> int | None:
    """A set's service (minutes or flights) after it came off: what it had, and the airframe's since the fit.

    Returns:
        None, which is "unknown" and never zero, where any of the three is unknown or the airframe's
        reading went down.
    """
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
    """What stands between a job and its end: (position, state), what is left over, the map, open findings."""

    job: str
    positions: tuple[tuple[str, str], ...]
    left_over: tuple[str, ...]
    map_verified: bool
    findings: tuple[str, ...]


def check_closing(facts: Unsettled) -> list[Refusal]:
    """Every reason why a job can't be closed. Source: design R3 (the last walk), R8, R10, R11, R17."""
    found = []
    for name, state in facts.positions:
        if state == "inspected":
            message = f"{name} was not walked in the last check; walk all positions of the airframe."
            found.append(Refusal(Rule.SENSE_BY_POSITION, name, message))
        elif state == "fitted":
            message = f"{name} is fitted and not inspected; let another person inspect it."
            found.append(Refusal(Rule.SECOND_PERSON, name, message))
        elif state != "walked":
            found.append(Refusal(Rule.COUNT_OUT_COUNT_IN, name, f"{name} is {state}; finish it."))
    for thing in facts.left_over:
        message = f"{thing} is not settled; return it, scrap it, or record it lost with a reason."
        found.append(Refusal(Rule.COUNT_OUT_COUNT_IN, thing, message))
    if not facts.map_verified:
        message = f"The sense map is not verified by a motor test; test the motors with rotors off, then close {facts.job}."
        found.append(Refusal(Rule.SENSE_MAP, facts.job, message))
    open_texts = [f"A finding is open ({text}); settle it first." for text in facts.findings]
    return [*found, *(Refusal(Rule.REMOVED_PARTS, facts.job, text) for text in open_texts)]


def check_walk_covers(airframe: str, *, expected: Sequence[str], seen: Sequence[str]) -> list[Refusal]:
    """A refusal for each position with a rotor that the last walk left out. Source: design R3."""
    return [
        Refusal(
            Rule.SENSE_BY_POSITION, name, f"{name} of {airframe} was left out; scan it and read its mark too."
        )
        for name in expected
        if name not in seen
    ]
