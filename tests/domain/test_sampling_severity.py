"""Switching between normal, tightened and reduced inspection."""

from itertools import repeat
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kittrack.domain.sampling import InspectionLevel, LotPlan, Severity, plan_lot
from kittrack.domain.severity import LotResult, Standing, check_sample, standing_after
from kittrack.errors import BadInput

LOT = {severity: plan_lot(1000, kind="fastener", aql="2.5", severity=severity) for severity in Severity}


def results(text: str, severity: Severity = Severity.NORMAL) -> list[LotResult]:
    """A history in letters: p passed without a fault, F failed, g in the gap, a handed in again and failed."""
    lot = LOT[severity]
    faulty = {"p": 0, "F": lot.rejection, "g": lot.acceptance + 1, "a": lot.rejection}
    return [LotResult(lot, faulty[letter], handed_in_again=letter == "a") for letter in text]


# aqlrule.com and sqconline.com chart the rules of ISO 2859-1
@pytest.mark.parametrize(
    ("history", "severity"),
    [
        ("", Severity.NORMAL),
        ("F", Severity.NORMAL),
        ("FF", Severity.TIGHTENED),
        ("FpppF", Severity.TIGHTENED),
        ("FppppF", Severity.NORMAL),  # six lots apart
        ("pppppFpF", Severity.TIGHTENED),
        ("Faa", Severity.NORMAL),  # lots handed in again do not count
        ("p" * 100, Severity.NORMAL),  # reduced inspection is a manager's choice
    ],
)
def test_two_of_five_refused_lots_tighten_inspection(history: str, severity: Severity) -> None:
    assert standing_after(results(history)).severity is severity


TIGHT = Standing(Severity.TIGHTENED)


@pytest.mark.parametrize(
    ("history", "severity", "stopped"),
    [
        ("pppp", Severity.TIGHTENED, False),
        ("ppppp", Severity.NORMAL, False),
        ("ppppFppppp", Severity.NORMAL, False),
        ("ppppFpppp", Severity.TIGHTENED, False),
        ("FFFF", Severity.TIGHTENED, False),
        ("FFFFF", Severity.TIGHTENED, True),
        ("FpFpFpFpF", Severity.TIGHTENED, True),  # five altogether, not in a row
        ("FFFFFppppp", Severity.TIGHTENED, True),  # nothing resumes by itself
        ("FFFFaaa", Severity.TIGHTENED, False),
    ],
)
def test_five_lots_decide_under_tightened_inspection(history: str, severity: Severity, stopped: bool) -> None:
    standing = standing_after(results(history, Severity.TIGHTENED), start=TIGHT)
    assert (standing.severity, standing.stopped) == (severity, stopped)


def test_ten_clean_lots_reach_the_score_for_reduced_inspection() -> None:
    # sqconline.com: a switching score of at least 30; 3 for each lot that the next tighter limit passes
    nine, ten = (standing_after(results("p" * lots), allow_reduced=True) for lots in (9, 10))
    assert (nine.severity, nine.score) == (Severity.NORMAL, 27)
    assert ten.severity is Severity.REDUCED


def test_small_acceptance_numbers_need_fifteen_lots() -> None:
    lot = plan_lot(60, kind="fastener", aql="2.5")  # Ac 1
    assert lot.acceptance == 1
    history = [LotResult(lot, 1)] * 15
    assert standing_after(history[:14], allow_reduced=True).score == 28
    assert standing_after(history, allow_reduced=True).severity is Severity.REDUCED
    every_one = plan_lot(4, kind="fastener", aql="2.5")
    assert standing_after([LotResult(every_one, 0)] * 14, allow_reduced=True).score == 28


def test_a_refused_lot_of_a_small_acceptance_number_sets_the_score_to_zero() -> None:
    lot = plan_lot(60, kind="fastener", aql="2.5")  # Ac 1
    standing = standing_after([*[LotResult(lot, 0)] * 3, LotResult(lot, 2)])
    assert (standing.severity, standing.score) == (Severity.NORMAL, 0)


def test_a_lot_that_passes_only_just_sets_the_score_to_zero() -> None:
    lot = LOT[Severity.NORMAL]  # n 80, Ac 5; at 1.5 it would be 3
    assert (lot.inspect, lot.acceptance) == (80, 5)
    clean = results("ppp")
    assert standing_after([*clean, LotResult(lot, 3)]).score == 12
    assert standing_after([*clean, LotResult(lot, 4)]).score == 0
    assert standing_after([*clean, LotResult(lot, 6)]).score == 0


def test_the_tightest_limits_score_as_well() -> None:
    lot = plan_lot(10**9, kind="fastener", aql="0.040", level=InspectionLevel.III)
    assert lot.acceptance == 2
    assert standing_after([LotResult(lot, 1)]).score == 3
    assert standing_after([LotResult(lot, 2)]).score == 0
    tightest = plan_lot(10**9, kind="fastener", aql="0.010")
    assert standing_after([LotResult(tightest, 0)]).score == 2


REDUCED = Standing(Severity.REDUCED)


@pytest.mark.parametrize(
    ("history", "severity"),
    [("pppp", Severity.REDUCED), ("ppg", Severity.NORMAL), ("ppF", Severity.NORMAL), ("a", Severity.REDUCED)],
)
def test_reduced_inspection_ends_with_the_first_doubt(history: str, severity: Severity) -> None:
    given_history = results(history, Severity.REDUCED)
    standing = standing_after(given_history, allow_reduced=True, start=REDUCED)
    assert standing.severity is severity
    # MIL-STD-105E: a lot in the gap passes all the same
    assert all(result.passed for result in results("pg", Severity.REDUCED))


def test_a_lot_at_its_acceptance_number_is_in_no_gap() -> None:
    lot = LOT[Severity.REDUCED]
    assert lot.rejection - lot.acceptance > 1
    at_the_number = [LotResult(lot, lot.acceptance)]
    standing = standing_after(at_the_number, allow_reduced=True, start=REDUCED)
    assert standing.severity is Severity.REDUCED
    assert not LotResult(lot, lot.rejection).in_gap


def test_reduced_inspection_ends_when_a_manager_no_longer_wants_it() -> None:
    assert standing_after(results("p", Severity.REDUCED), start=REDUCED).severity is Severity.NORMAL


def test_a_lot_in_another_severity_counts_only_if_it_failed() -> None:
    too_light = results("ppppp", Severity.NORMAL)
    assert standing_after(too_light, start=TIGHT).severity is Severity.TIGHTENED
    failed = results("FFFFF", Severity.NORMAL)
    assert standing_after(failed, start=TIGHT).stopped


@given(st.text(alphabet="pF", max_size=60))
def test_a_refused_pair_is_never_followed_by_less_than_tightened(letters: str) -> None:
    standing = Standing()
    for letter in letters:
        (result,) = results(letter, standing.severity)
        after = standing_after([result], start=standing)
        if standing.recent and not standing.recent[-1] and not result.passed:
            assert after.severity is Severity.TIGHTENED
        assert 0 <= after.score <= 3 * len(letters)
        assert len(after.recent) <= 5
        standing = after


def test_history_may_be_any_iterable() -> None:
    assert standing_after(repeat(results("p")[0], 3)).score == 9


@pytest.mark.parametrize("faulty", [-1, 81, 1.5, float("nan"), True, None])
def test_faulty_pieces_are_some_of_those_looked_at(faulty: Any) -> None:
    with pytest.raises(BadInput):
        LotResult(LOT[Severity.NORMAL], faulty)


@pytest.mark.parametrize(("faulty", "refused"), [(0, False), (5, False), (6, True), (80, True)])
def test_a_lot_passes_up_to_its_acceptance_number(faulty: int, refused: bool) -> None:
    # MIL-STD-105E, table II-A, letter J at 2.5: n 80, Ac 5, Re 6
    found = check_sample(LOT[Severity.NORMAL], faulty=faulty, stopped=False, subject="L000012-3 (screw)")
    assert [refusal.rule for refusal in found] == ["R6"] * refused
    assert all(f"{faulty} faulty of 80" in r.message and "at most 5" in r.message for r in found)


def test_a_supplier_whose_sampling_was_stopped_passes_no_lot_by_a_sample() -> None:
    (refusal,) = check_sample(LOT[Severity.NORMAL], faulty=0, stopped=True, subject="L000012-3 (screw)")
    assert refusal.rule == "R6"
    assert "not sampled; have every piece looked at" in refusal.message


def test_a_lot_plan_says_whether_it_takes_every_piece() -> None:
    assert LotPlan(8, 8, 0, 1, Severity.NORMAL).inspects_all
    assert not LOT[Severity.NORMAL].inspects_all
