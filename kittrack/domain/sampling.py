"""Acceptance sampling of fasteners: how many to look at, when a lot passes, when to look harder.

Blades are safety-critical: every one is looked at. A small lot whose sample would be the whole lot is
looked at piece by piece as well.

Source: design C13; ISO 2859-1 with its forerunner MIL-STD-105E, whose tables I, II-A, II-B and II-C are
public (NIBS AC-TABLE.ASC prints I to II-B; AQLSchemesCust, AAZ14Single.R, all of them). Reduced plans are
those of MIL-STD-105E, with a gap between acceptance and rejection; ISO 2859-1:1999 closed the gap.
"""

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from kittrack.domain import bounds, poisson
from kittrack.domain.text import clean_label
from kittrack.errors import BadInput

_MOST_LOT: Final = 10**9
_SHOWN: Final = 20


class Severity(StrEnum):
    """How hard a supplier's lots are looked at."""

    NORMAL = "normal"
    TIGHTENED = "tightened"
    REDUCED = "reduced"


class InspectionLevel(StrEnum):
    """How much is looked at for a size of lot; II unless something else is agreed."""

    I = "I"  # noqa: E741  # the standard's own name
    II = "II"
    III = "III"
    S1 = "S-1"
    S2 = "S-2"
    S3 = "S-3"
    S4 = "S-4"


_LETTERS: Final = "ABCDEFGHJKLMNPQRS"
# Table I: the largest lot of a row, and its letters in the order of InspectionLevel.
_CODE_LETTERS: Final = (
    (8, "AABAAAA"),
    (15, "ABCAAAA"),
    (25, "BCDAABB"),
    (50, "CDEABBC"),
    (90, "CEFBBCC"),
    (150, "DFGBBCD"),
    (280, "EGHBCDE"),
    (500, "FHJBCDE"),
    (1200, "GJKCCEF"),
    (3200, "HKLCDEG"),
    (10_000, "JLMCDFG"),
    (35_000, "KMNCDFH"),
    (150_000, "LNPDEGJ"),
    (500_000, "MPQDEGJ"),
    (_MOST_LOT, "NQRDEHK"),
)

# Acceptance quality limits in percent nonconforming; 15 counts faults per hundred pieces.
AQLS: Final = (
    *("0.010", "0.015", "0.025", "0.040", "0.065", "0.10", "0.15", "0.25", "0.40", "0.65"),
    *("1.0", "1.5", "2.5", "4.0", "6.5", "10", "15"),
)

_FULL_SIZES: Final = (2, 3, 5, 8, 13, 20, 32, 50, 80, 125, 200, 315, 500, 800, 1250, 2000)
# Sample size by code letter. The tightened table has one more row, S, that only an arrow reaches.
_SIZES: Final = {
    Severity.NORMAL: _FULL_SIZES,
    Severity.TIGHTENED: (*_FULL_SIZES, 3150),
    Severity.REDUCED: (2, 2, 2, 3, 5, 8, 13, 20, 32, 50, 80, 125, 200, 315, 500, 800),
}
# The tables repeat along their diagonals: a cell depends only on row + column. The diagonal through
# letter F at 0.65 is number 0. A diagonal that is not listed holds an arrow.
_ZERO_DIAGONAL: Final = _LETTERS.index("F") + AQLS.index("0.65")
_NUMBERS: Final[dict[Severity, dict[int, tuple[int, int]]]] = {
    Severity.NORMAL: dict(
        zip(
            (0, 3, 4, 5, 6, 7, 8, 9, 10),
            ((ac, ac + 1) for ac in (0, 1, 2, 3, 5, 7, 10, 14, 21)),
            strict=True,
        )
    ),
    Severity.TIGHTENED: dict(
        zip((1, 4, 5, 6, 7, 8, 9, 10), ((ac, ac + 1) for ac in (0, 1, 2, 3, 5, 8, 12, 18)), strict=True)
    ),
    Severity.REDUCED: dict(
        zip(
            (0, 3, 4, 5, 6, 7, 8, 9, 10),
            ((0, 1), (0, 2), (1, 3), (1, 4), (2, 5), (3, 6), (5, 8), (7, 10), (10, 13)),
            strict=True,
        )
    ),
}
_LAST_ZERO_COLUMN: Final = AQLS.index("6.5")  # no table passes at 0 faulty beyond this limit
_UP_AFTER_ZERO: Final = {Severity.NORMAL: 1, Severity.REDUCED: 1}  # that diagonal points back up to Ac 0

SAMPLED_KIND: Final = "fastener"  # the one kind of part that is sampled (house rule)


@dataclass(frozen=True)
class Plan:
    """A single sampling plan: look at `sample_size`, pass at `acceptance` faulty ones, fail at `rejection`.

    `code_letter` is that of the plan's own row, after following an arrow.
    """

    code_letter: str
    aql: str
    severity: Severity
    sample_size: int
    acceptance: int
    rejection: int


@dataclass(frozen=True)
class LotPlan:
    """What to do with one lot: how many pieces to look at and when it passes.

    `plan` is None where every piece is looked at; then one faulty piece fails the lot, because a lot of
    which a faulty piece is known is not clean (house rule).
    """

    lot_size: int
    inspect: int
    acceptance: int
    rejection: int
    severity: Severity
    plan: Plan | None = None

    @property
    def inspects_all(self) -> bool:
        """Whether every piece is looked at."""
        return self.inspect == self.lot_size


def code_letter(lot_size: int, *, level: InspectionLevel = InspectionLevel.II) -> str:
    """The sample-size code letter of a lot, table I.

    Args:
        lot_size: pieces in the lot.
        level: the inspection level.

    Raises:
        BadInput: a lot that is no lot of at least two pieces.
    """
    size = bounds.whole(lot_size, name="lot size in pieces", low=2, high=_MOST_LOT)
    row = next(letters for largest, letters in _CODE_LETTERS if size <= largest)
    return row[tuple(InspectionLevel).index(level)]


def single_plan(letter: str, *, aql: str, severity: Severity = Severity.NORMAL) -> Plan:
    """The single sampling plan of a code letter, arrows followed: the new row's sample size counts too.

    Args:
        letter: a code letter of table I.
        aql: one of `AQLS`, as text.
        severity: which of the tables II-A, II-B and II-C.

    Raises:
        BadInput: an unknown letter or limit.
    """
    if len(letter) != 1 or letter not in _LETTERS[:-1]:
        raise BadInput(
            f"{_shown(letter)} is no code letter of a sample; use one of {', '.join(_LETTERS[:-1])}."
        )
    column = _column(aql)
    start = _LETTERS.index(letter)
    row, (acceptance, rejection) = _row_with_numbers(start, column=column, severity=severity)
    return Plan(_LETTERS[row], aql, severity, _SIZES[severity][row], acceptance, rejection)


def _row_with_numbers(start: int, *, column: int, severity: Severity) -> tuple[int, tuple[int, int]]:
    """The row and numbers that a cell stands for: its own, or the first in the direction of its arrow.

    Where the table ends before that, the other direction is taken: so do the arrows of its lower right (and
    MIL-STD-105E prints corners with an arrow that leads nowhere; the transcriptions agree on the nearest plan).
    """
    diagonal = start + column - _ZERO_DIAGONAL
    up, down = list(range(start, -1, -1)), list(range(start, len(_SIZES[severity])))
    rows = up + down if diagonal == _UP_AFTER_ZERO.get(severity) else down + up
    cells = ((row, _cell(row, column=column, severity=severity)) for row in rows)
    return next((row, numbers) for row, numbers in cells if numbers)


def _cell(row: int, *, column: int, severity: Severity) -> tuple[int, int] | None:
    """The acceptance and rejection number that a table prints in a cell; None where it prints an arrow."""
    numbers = _NUMBERS[severity].get(row + column - _ZERO_DIAGONAL)
    if numbers and numbers[1] == 1 and column > _LAST_ZERO_COLUMN:
        return None
    return numbers


def _column(aql: str) -> int:
    """The column of a limit in the tables."""
    if aql not in AQLS:
        raise BadInput(
            f"{_shown(aql)} is no acceptance quality limit of the tables; use one of {', '.join(AQLS)}."
        )
    return AQLS.index(aql)


def plan_lot(
    lot_size: int,
    *,
    kind: str,
    aql: str,
    level: InspectionLevel = InspectionLevel.II,
    severity: Severity = Severity.NORMAL,
) -> LotPlan:
    """What to look at in a lot: a sample of fasteners, every piece of anything else.

    Args:
        lot_size: pieces received.
        kind: the kind of part ("blade", "fastener", ...).
        aql: one of `AQLS`; it is checked for every kind.
        level: the inspection level.
        severity: what the supplier's history asks for (`standing_after`).

    Raises:
        BadInput: a lot or a limit that can't be one.
    """
    size = bounds.whole(lot_size, name="lot size in pieces", low=1, high=_MOST_LOT)
    _column(aql)
    every_one = LotPlan(size, size, 0, 1, severity)
    if kind != SAMPLED_KIND or size < 2:
        return every_one
    plan = single_plan(code_letter(size, level=level), aql=aql, severity=severity)
    if plan.sample_size >= size:
        return every_one
    return LotPlan(size, plan.sample_size, plan.acceptance, plan.rejection, severity, plan)


def inspect_count(
    lot_size: int,
    *,
    kind: str,
    aql: str,
    level: InspectionLevel = InspectionLevel.II,
    severity: Severity = Severity.NORMAL,
) -> int:
    """How many pieces of a lot to look at; arguments as for `plan_lot`.

    Raises:
        BadInput: a lot or a limit that can't be one.
    """
    return plan_lot(lot_size, kind=kind, aql=aql, level=level, severity=severity).inspect


def acceptance_probability(plan: Plan, *, faults_per_hundred: float) -> float:
    """How probably a plan passes a lot with so many faults per hundred pieces: its OC curve.

    Source: Poisson, as the curves of 7 CFR 42.140.

    Raises:
        BadInput: a rate that can't be one.
    """
    rate = bounds.real(faults_per_hundred, name="faults per hundred pieces", low=0, high=1000)
    passes_at = plan.rejection - 1  # in the gap of a reduced plan the lot still passes
    return poisson.at_most(passes_at, mean=plan.sample_size * rate / 100)


def _shown(text: str) -> str:
    return clean_label(text, max_length=_SHOWN) or "Nothing"
