"""Sampling plans against the public tables of MIL-STD-105E, which ISO 2859-1 took over."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from kittrack.domain import poisson
from kittrack.domain.sampling import (
    AQLS,
    InspectionLevel,
    Plan,
    Severity,
    acceptance_probability,
    code_letter,
    inspect_count,
    plan_lot,
    single_plan,
)
from kittrack.errors import BadInput

# qualitycontrolpartners.com and a pdfcoffee chart agree on the rows to 10,000; the rest as printed in
# GOST 34.11 annex A (base.garant.ru/71446952), which follows ISO 2859-1 from level II on.
LETTERS = {
    (2, 8): "A A B A A A A",
    (9, 15): "A B C A A A A",
    (16, 25): "B C D A A B B",
    (26, 50): "C D E A B B C",
    (51, 90): "C E F B B C C",
    (91, 150): "D F G B B C D",
    (151, 280): "E G H B C D E",
    (281, 500): "F H J B C D E",
    (501, 1200): "G J K C C E F",
    (1201, 3200): "H K L C D E G",
    (3201, 10_000): "J L M C D F G",
    (10_001, 35_000): "K M N C D F H",
    (35_001, 150_000): "L N P D E G J",
    (150_001, 500_000): "M P Q D E G J",
    (500_001, 10**9): "N Q R D E H K",
}


@pytest.mark.parametrize("ends", LETTERS)
def test_code_letters_are_the_published_ones(ends: tuple[int, int]) -> None:
    for level, letter in zip(InspectionLevel, LETTERS[ends].split(), strict=True):
        assert [code_letter(size, level=level) for size in ends] == [letter, letter]


# NIBS AC-TABLE.ASC, table 1-A, "developed from MIL-STD-105E"; acceptance numbers (its Re less 1).
# v: use the plan below, ^: the plan above. Columns 0.65 to 15.
NORMAL = """
A    2   v  v  v  v  v  0  ^  v
B    3   v  v  v  v  0  ^  v  1
C    5   v  v  v  0  ^  v  1  2
D    8   v  v  0  ^  v  1  2  3
E   13   v  0  ^  v  1  2  3  5
F   20   0  ^  v  1  2  3  5  7
G   32   ^  v  1  2  3  5  7 10
H   50   v  1  2  3  5  7 10 14
J   80   1  2  3  5  7 10 14 21
K  125   2  3  5  7 10 14 21  ^
L  200   3  5  7 10 14 21  ^  ^
M  315   5  7 10 14 21  ^  ^  ^
N  500   7 10 14 21  ^  ^  ^  ^
P  800  10 14 21  ^  ^  ^  ^  ^
Q 1250  14 21  ^  ^  ^  ^  ^  ^
"""
# The same file, table 1-B; its lot sizes are those of level II under a heading of level III, so that only
# the letters are used.
TIGHTENED = """
A    2   v  v  v  v  v  v  v  v
B    3   v  v  v  v  v  0  v  v
C    5   v  v  v  v  0  v  v  1
D    8   v  v  v  0  v  v  1  2
E   13   v  v  0  v  v  1  2  3
F   20   v  0  v  v  1  2  3  5
G   32   0  v  v  1  2  3  5  8
H   50   v  v  1  2  3  5  8 12
J   80   v  1  2  3  5  8 12 18
K  125   1  2  3  5  8 12 18  ^
L  200   2  3  5  8 12 18  ^  ^
"""


def cells(table: str) -> list[tuple[str, int, list[str]]]:
    rows = [line.split() for line in table.strip().splitlines()]
    return [(row[0], int(row[1]), row[2:]) for row in rows]


@pytest.mark.parametrize(
    ("severity", "table"),
    [(Severity.NORMAL, NORMAL), (Severity.TIGHTENED, TIGHTENED)],
    ids=["normal", "tightened"],
)
def test_single_plans_are_the_published_ones(severity: Severity, table: str) -> None:
    rows = cells(table)
    for place, (letter, size, row) in enumerate(rows):
        for column, cell in enumerate(row):
            plan = single_plan(letter, aql=AQLS[AQLS.index("0.65") + column], severity=severity)
            if cell.isdigit():
                assert plan == Plan(letter, plan.aql, severity, size, int(cell), int(cell) + 1)
                continue
            on = rows[place + 1 :] if cell == "v" else rows[:place][::-1]
            target = next(((other, n, r[column]) for other, n, r in on if r[column].isdigit()), None)
            if target is not None:
                assert (plan.code_letter, plan.sample_size, plan.acceptance) == (
                    target[0],
                    target[1],
                    int(target[2]),
                )


# AQLSchemesCust, AAZ14Single.R (a transcription of MIL-STD-105E), arrows followed: n, Ac, Re
TRANSCRIBED = [
    # table II-C
    ("A", "0.65", Severity.REDUCED, (8, 0, 1)),
    ("G", "0.65", Severity.REDUCED, (8, 0, 1)),
    ("H", "0.65", Severity.REDUCED, (32, 0, 2)),
    ("J", "0.65", Severity.REDUCED, (32, 0, 2)),
    ("K", "0.65", Severity.REDUCED, (50, 1, 3)),
    ("L", "0.65", Severity.REDUCED, (80, 1, 4)),
    ("M", "0.65", Severity.REDUCED, (125, 2, 5)),
    ("N", "0.65", Severity.REDUCED, (200, 3, 6)),
    ("P", "0.65", Severity.REDUCED, (315, 5, 8)),
    ("Q", "0.65", Severity.REDUCED, (500, 7, 10)),
    ("R", "0.65", Severity.REDUCED, (800, 10, 13)),
    ("R", "1.0", Severity.REDUCED, (500, 10, 13)),
    ("C", "2.5", Severity.REDUCED, (2, 0, 1)),
    ("D", "2.5", Severity.REDUCED, (2, 0, 1)),
    ("D", "4.0", Severity.REDUCED, (5, 0, 2)),
    ("C", "6.5", Severity.REDUCED, (3, 0, 2)),
    ("A", "10", Severity.REDUCED, (2, 0, 2)),
    ("C", "10", Severity.REDUCED, (2, 0, 2)),
    ("D", "10", Severity.REDUCED, (3, 1, 3)),
    ("C", "15", Severity.REDUCED, (2, 1, 3)),
    ("A", "0.010", Severity.REDUCED, (500, 0, 1)),
    # corners of table II-A
    ("A", "10", Severity.NORMAL, (5, 1, 2)),
    ("A", "15", Severity.NORMAL, (3, 1, 2)),
    ("R", "0.010", Severity.NORMAL, (1250, 0, 1)),
    ("R", "0.015", Severity.NORMAL, (800, 0, 1)),
    ("Q", "0.025", Severity.NORMAL, (2000, 1, 2)),
    ("P", "0.025", Severity.NORMAL, (500, 0, 1)),
    ("R", "0.65", Severity.NORMAL, (2000, 21, 22)),
    # corners of table II-B
    ("A", "0.010", Severity.TIGHTENED, (2000, 0, 1)),
    ("R", "0.015", Severity.TIGHTENED, (1250, 0, 1)),
    ("Q", "0.025", Severity.TIGHTENED, (3150, 1, 2)),
    ("R", "0.025", Severity.TIGHTENED, (3150, 1, 2)),
    ("H", "0.65", Severity.TIGHTENED, (125, 1, 2)),
    ("A", "10", Severity.TIGHTENED, (8, 1, 2)),
    ("R", "0.65", Severity.TIGHTENED, (2000, 18, 19)),
]


@pytest.mark.parametrize(("letter", "aql", "severity", "numbers"), TRANSCRIBED)
def test_corners_and_reduced_plans_are_the_transcribed_ones(
    letter: str, aql: str, severity: Severity, numbers: tuple[int, int, int]
) -> None:
    plan = single_plan(letter, aql=aql, severity=severity)
    assert (plan.sample_size, plan.acceptance, plan.rejection) == numbers


# Published arrow resolutions: PLOS figure 22583454, lots 35,001 to 500,000; minmen.co for the last one.
@pytest.mark.parametrize(
    ("lot_size", "level", "aql", "size", "acceptance"),
    [
        (100_000, InspectionLevel.S4, "0.65", 80, 1),
        (100_000, InspectionLevel.S3, "0.65", 20, 0),
        (100_000, InspectionLevel.S4, "0.40", 125, 1),
        (100_000, InspectionLevel.S3, "0.40", 32, 0),
        (100_000, InspectionLevel.S4, "0.25", 50, 0),
        (100_000, InspectionLevel.S4, "0.15", 80, 0),
        (35_001, InspectionLevel.S4, "0.25", 50, 0),
        (500_000, InspectionLevel.S4, "0.25", 50, 0),
        (3000, InspectionLevel.II, "2.5", 125, 7),
        # derived with the arrows; a public table prints 8 with 0/1 and 13 with 1/2 here, its arrows lost
        (40, InspectionLevel.II, "2.5", 5, 0),
        (60, InspectionLevel.II, "2.5", 20, 1),
    ],
)
def test_lots_get_the_published_plans(
    lot_size: int, level: InspectionLevel, aql: str, size: int, acceptance: int
) -> None:
    lot = plan_lot(lot_size, kind="fastener", aql=aql, level=level)
    assert (lot.inspect, lot.acceptance, lot.rejection) == (size, acceptance, acceptance + 1)
    assert not lot.inspects_all
    assert inspect_count(lot_size, kind="fastener", aql=aql, level=level) == size


def test_a_sample_as_large_as_the_lot_means_every_piece() -> None:
    # derived: lot of 4, II, 2.5: A, arrow down to C, 5 pieces; both published charts then say 100 percent
    lot = plan_lot(4, kind="fastener", aql="2.5")
    assert (lot.inspect, lot.acceptance, lot.rejection, lot.plan) == (4, 0, 1, None)
    assert lot.inspects_all
    assert inspect_count(5, kind="fastener", aql="2.5") == 5
    assert inspect_count(1, kind="fastener", aql="2.5") == 1


@given(
    lot_size=st.integers(1, 10**9),
    kind=st.sampled_from(["blade", "hub", "consumable", "other"]),
    severity=st.sampled_from(list(Severity)),
)
def test_every_blade_is_looked_at(lot_size: int, kind: str, severity: Severity) -> None:
    lot = plan_lot(lot_size, kind=kind, aql="15", severity=severity, level=InspectionLevel.S1)
    assert lot.inspects_all
    assert (lot.acceptance, lot.rejection) == (0, 1)


@given(
    lot_size=st.integers(1, 10**9),
    aql=st.sampled_from(AQLS),
    level=st.sampled_from(list(InspectionLevel)),
    severity=st.sampled_from(list(Severity)),
)
def test_no_plan_asks_for_more_than_the_lot(
    lot_size: int, aql: str, level: InspectionLevel, severity: Severity
) -> None:
    lot = plan_lot(lot_size, kind="fastener", aql=aql, level=level, severity=severity)
    assert 1 <= lot.inspect <= lot_size
    assert 0 <= lot.acceptance < lot.rejection
    assert lot.acceptance < lot.inspect
    assert lot.plan is None or lot.plan.sample_size == lot.inspect < lot_size


@given(letter=st.sampled_from("ABCDEFGHJKLMNPQR"), aql=st.sampled_from(AQLS), rate=st.floats(0, 50))
def test_tightened_plans_pass_bad_lots_no_more_often(letter: str, aql: str, rate: float) -> None:
    normal, tightened = (
        acceptance_probability(single_plan(letter, aql=aql, severity=severity), faults_per_hundred=rate)
        for severity in (Severity.NORMAL, Severity.TIGHTENED)
    )
    assert tightened <= normal + 1e-9


def test_a_published_operating_characteristic_is_met() -> None:
    # 7 CFR 42.140, curve 6: n 500, Ac 3; 26 % at 1.0 fault per hundred, about 99 % at 0.10
    plan = Plan("N", "0.25", Severity.NORMAL, 500, 3, 4)
    assert acceptance_probability(plan, faults_per_hundred=1.0) == pytest.approx(0.26, abs=0.01)
    assert acceptance_probability(plan, faults_per_hundred=0.10) == pytest.approx(0.99, abs=0.01)
    assert acceptance_probability(plan, faults_per_hundred=1.0) == pytest.approx(0.26503, abs=5e-6)  # scipy
    assert acceptance_probability(plan, faults_per_hundred=0.10) == pytest.approx(0.99825, abs=5e-6)
    # the binomial of the same plan lies close by
    assert stats.binom.cdf(3, 500, 0.01) == pytest.approx(0.26362, abs=5e-6)


@given(limit=st.integers(0, 3000), mean=st.floats(0, 2000))
def test_poisson_sums_agree_with_scipy(limit: int, mean: float) -> None:
    assert poisson.at_most(limit, mean=mean) == pytest.approx(
        float(stats.poisson.cdf(limit, mean)), rel=1e-7, abs=1e-12
    )


@given(share=st.floats(0, 0.9999), mean=st.floats(0, 2000))
def test_poisson_quantiles_agree_with_scipy(share: float, mean: float) -> None:
    found = poisson.least_covering(share, mean=mean)
    assert stats.poisson.cdf(found, mean) >= share - 1e-9
    assert found == 0 or stats.poisson.cdf(found - 1, mean) < share + 1e-9


def test_great_means_stay_finite() -> None:
    assert poisson.at_most(100_000, mean=100_000) == pytest.approx(
        float(stats.poisson.cdf(100_000, 100_000)), rel=1e-6
    )
    assert poisson.at_most(10**9, mean=1) == 1
    assert poisson.at_most(0, mean=100_000) == 0


@pytest.mark.parametrize("figure", [0, -1, 10**12, 2.5, float("nan"), float("inf"), True, None, "8"])
def test_a_lot_that_cannot_be_is_refused(figure: Any) -> None:
    for kind in ("fastener", "blade"):
        with pytest.raises(BadInput):
            inspect_count(figure, kind=kind, aql="2.5")
    with pytest.raises(BadInput):
        code_letter(figure)


@pytest.mark.parametrize("aql", ["", "2.50", "3.0", "nan", "-1", "2,5", "\x1b[2J"])
def test_an_unknown_limit_is_named(aql: str) -> None:
    for kind in ("fastener", "blade"):
        with pytest.raises(BadInput, match="no acceptance quality limit") as raised:
            inspect_count(100, kind=kind, aql=aql)
        assert "\x1b" not in str(raised.value)


@pytest.mark.parametrize("letter", ["", "I", "O", "S", "AB", "a", "\x1b"])
def test_an_unknown_letter_is_named(letter: str) -> None:
    with pytest.raises(BadInput, match="no code letter") as raised:
        single_plan(letter, aql="2.5")
    assert "\x1b" not in str(raised.value)


@pytest.mark.parametrize("figure", [-1, float("nan"), float("inf"), 10**9, None, True])
def test_a_rate_that_cannot_be_is_refused(figure: Any) -> None:
    with pytest.raises(BadInput):
        acceptance_probability(single_plan("F", aql="0.65"), faults_per_hundred=figure)
    with pytest.raises(BadInput):
        poisson.at_most(1, mean=figure)
    with pytest.raises(BadInput):
        poisson.least_covering(0.9, mean=figure)


@pytest.mark.parametrize("share", [-0.1, 1, 1.5, float("nan"), None])
def test_a_share_that_cannot_be_is_refused(share: Any) -> None:
    with pytest.raises(BadInput):
        poisson.least_covering(share, mean=2)
