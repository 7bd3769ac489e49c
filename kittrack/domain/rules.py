"""The rules of the stores by number, and what the checks of all acts have in common.

A check is a plain function that returns every reason against an act as `Refusal` values, in a stable
order; `require` raises when there is any. Source: design R1 to R21 (DEVELOPERS.md, "Rules of the stores").
"""

from collections.abc import Iterable
from enum import StrEnum

from kittrack.errors import Refusal, Refused


class Rule(StrEnum):
    """The rules that a refusal cites; the value is what a person sees."""

    WHOLE_SET = "R1"
    ONE_SENSE = "R2"
    SENSE_BY_POSITION = "R3"
    KIT_ARITHMETIC = "R4"
    WHOLE_KIT = "R5"
    FIT_FOR_ISSUE = "R6"
    EFFECTIVITY = "R7"
    SECOND_PERSON = "R8"
    SINGLE_USE = "R9"
    REMOVED_PARTS = "R10"
    COUNT_OUT_COUNT_IN = "R11"
    NOTHING_ERASED = "R12"
    DATES = "R13"
    PAPER = "R14"
    RECALL_ACCOUNT = "R15"
    IDENTITY = "R16"
    SENSE_MAP = "R17"
    TORQUE = "R18"
    PROOF_OF_MATCH = "R19"
    NO_WAVING_THROUGH = "R20"
    NO_BACK_DOOR = "R21"


def require(*groups: Iterable[Refusal]) -> None:
    """Raise `Refused` with every refusal of every group, in rule order; do nothing when there is none."""
    found = [refusal for group in groups for refusal in group]
    if found:
        raise Refused(sorted(found, key=_order))


def _order(refusal: Refusal) -> tuple[int, str, str]:
    """Rules by their number; a refusal for want of a role, which has none, comes first."""
    number = refusal.rule.removeprefix("R")
    return (int(number) if number.isdigit() else 0, refusal.subject, refusal.message)
