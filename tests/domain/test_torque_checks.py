"""What is refused or questioned about torques and torque tools (R18)."""

from datetime import date, timedelta
from typing import Any

import pytest

from kittrack.domain.preload import MNM_PER_UNIT
from kittrack.domain.threads import COARSE, PROPERTY_CLASSES, Condition
from kittrack.domain.torque import (
    Method,
    Tightening,
    Torque,
    TorqueTool,
    check_tool,
    check_torque,
    deviation_percent,
    method_named_in,
    passes_calibration,
    question_torque,
)
from kittrack.errors import BadInput

M3 = COARSE["M3"]
TODAY = date(2026, 11, 25)


def stated(torque_nm: float, condition: Condition = Condition.DRY) -> Torque:
    return Torque(round(torque_nm * 1000), condition, "invented manual, page 3")


def judged(torque_nm: float, *, thread: str = "M3", grade: str) -> str:
    """ "refused", "questioned" or "fine", the same in every condition."""
    verdicts = set()
    for condition in Condition:
        torque = stated(torque_nm, condition)
        strength = PROPERTY_CLASSES[grade]
        refused = check_torque(torque, thread=COARSE[thread], strength=strength, subject="hub")
        assert {refusal.rule for refusal in refused} <= {"R18"}
        odd = question_torque(torque, thread=COARSE[thread], strength=strength, subject="hub")
        assert odd or not refused  # what is refused is odd as well
        verdicts.add("refused" if refused else "questioned" if odd else "fine")
    (verdict,) = verdicts
    return verdict


# STROBL appendix 10-2, HORSCH Express TD p. 74, Toro 09698 p. 18, and the typical figures after VDI 2230
PUBLISHED_NM: dict[str, list[tuple[float, ...]]] = {
    "M3": [(1.32, 1.94, 2.27)],
    "M4": [(3.0, 4.4, 5.1), (3.1, 4.5, 5.3), (3, 4.5), (3.04, 4.47, 5.23)],
    "M5": [(5.9, 8.7, 10), (6.1, 8.9, 10.4), (6, 9), (6.07, 8.92, 10.4)],
    "M6": [(10, 15, 18), (10.4, 15.3, 17.9), (10, 15), (10.3, 15.1, 17.7)],
}


@pytest.mark.parametrize("thread", PUBLISHED_NM)
def test_published_torques_pass_for_their_own_class(thread: str) -> None:
    for row in PUBLISHED_NM[thread]:
        for grade, torque_nm in zip(("8.8", "10.9", "12.9"), row, strict=False):
            assert judged(torque_nm, thread=thread, grade=grade) == "fine"


def test_a_torque_meant_for_a_stronger_class_is_refused() -> None:
    assert judged(1.94, grade="A2-70") == "refused"  # meant for 10.9
    assert judged(2.27, grade="8.8") == "refused"  # meant for 12.9
    assert judged(1.94, grade="8.8") == "refused"
    assert judged(0.93, grade="A2-70") == "fine"  # its own
    assert judged(0.93, grade="A2-50") == "refused"
    (refusal,) = check_torque(
        stated(1.94), thread=M3, strength=PROPERTY_CLASSES["A2-70"], subject="hub of arm 1"
    )
    assert refusal.subject == "hub of arm 1"
    assert "M3 A2-70" in refusal.message
    assert "143%" in refusal.message


@pytest.mark.parametrize(("grade", "torque_nm"), [("8.8", 1.8), ("10.9", 2.6), ("12.9", 3.0)])
def test_a_suspect_published_row_is_caught(grade: str, torque_nm: float) -> None:
    # HORSCH p. 74, M3: contradicts the same table's M4 row, by which M3 8.8 would be 1.3
    assert judged(torque_nm, grade=grade) == "refused"


@pytest.mark.parametrize("torque_nm", [0.5, 0.8, 1.0])
def test_gentle_torques_of_small_motors_pass(torque_nm: float) -> None:
    for grade in ("8.8", "10.9", "12.9"):
        assert judged(torque_nm, grade=grade) == "fine"


@pytest.mark.parametrize(
    ("meant", "number"), [("kgf cm", 5.10), ("lbf in", 4.43), ("ozf in", 70.8), ("cN m", 50)]
)
def test_another_unit_taken_for_newton_metres_is_refused_and_named(meant: str, number: float) -> None:
    # all of them are 0.5 N m
    assert number * float(MNM_PER_UNIT[meant]) == pytest.approx(500, rel=0.002)
    (refusal,) = check_torque(stated(number), thread=M3, strength=PROPERTY_CLASSES["10.9"], subject="hub")
    assert f"{meant} taken for N m would be 0.5" in refusal.message


@pytest.mark.parametrize("taken_for", ["kgf cm", "lbf in", "cN m", "ozf in"])
def test_newton_metres_taken_for_another_unit_are_questioned_and_named(taken_for: str) -> None:
    torque = Torque(round(1.3 * float(MNM_PER_UNIT[taken_for])), Condition.DRY, "invented manual, page 3")
    (problem,) = question_torque(torque, thread=M3, strength=PROPERTY_CLASSES["10.9"], subject="hub")
    assert f"N m taken for {taken_for} would be 1." in problem.message
    assert "is little for M3 10.9" in problem.message
    assert check_torque(torque, thread=M3, strength=PROPERTY_CLASSES["10.9"], subject="hub") == ()


def test_foot_pounds_and_inch_pounds_are_told_apart() -> None:
    twelve_times = Torque(12 * 1300, Condition.DRY, "invented manual, page 3")
    (refusal,) = check_torque(twelve_times, thread=M3, strength=PROPERTY_CLASSES["10.9"], subject="hub")
    assert "lbf in taken for lbf ft would be 1.3 N m" in refusal.message
    a_twelfth = Torque(1300 // 12, Condition.DRY, "invented manual, page 3")
    (problem,) = question_torque(a_twelfth, thread=M3, strength=PROPERTY_CLASSES["10.9"], subject="hub")
    assert "lbf ft taken for lbf in would be 1.3 N m" in problem.message


def test_a_torque_that_no_slip_explains_is_refused_without_a_hint() -> None:
    (refusal,) = check_torque(stated(900), thread=M3, strength=PROPERTY_CLASSES["10.9"], subject="hub")
    assert "mistaken" not in refusal.message


def test_an_unknown_class_is_asked_for_and_never_assumed() -> None:
    (problem,) = question_torque(stated(1.3), thread=M3, strength=None, subject="hub")
    assert "state the class" in problem.message
    assert len(question_torque(stated(13), thread=M3, strength=None, subject="hub")) == 2
    assert len(question_torque(stated(0.13), thread=M3, strength=None, subject="hub")) == 2


@pytest.mark.parametrize("torque_mnm", [0, -1, 10**7, 1.5, float("nan"), True, "500"])
def test_a_torque_that_cannot_be_is_refused(torque_mnm: Any) -> None:
    with pytest.raises(BadInput):
        Torque(torque_mnm, Condition.DRY, "invented manual")


def test_a_torque_needs_its_source() -> None:
    with pytest.raises(BadInput, match="no source"):
        Torque(500, Condition.DRY, "  ")
    assert str(Torque(500, Condition.LUBRICATED, "p. 3\x1b")) == "0.5 N m lubricated (p. 3<ESC>)"


@pytest.mark.parametrize(
    ("text", "method"),
    [
        ("0.5 N m", Method.TORQUE),
        ("snug + ¼ turn", Method.ANGLE),  # a published propeller-nut table says so
        ("1/4 turn", Method.ANGLE),
        ("90°", Method.ANGLE),
        ("90 deg", Method.ANGLE),
        ("SNUG", Method.SNUG),
        ("hand-tight", Method.SNUG),
        ("finger tight", Method.SNUG),
        ("", Method.TORQUE),
    ],
)
def test_words_name_the_method(text: str, method: Method) -> None:
    assert method_named_in(text) is method


def test_an_angle_or_snug_is_no_torque() -> None:
    assert Tightening(Method.TORQUE, stated(0.5)).needs_tool
    assert not Tightening(Method.ANGLE, text="snug + 1/4 turn").needs_tool
    contradictions: tuple[dict[str, Any], ...] = (
        {"method": Method.TORQUE},
        {"method": Method.SNUG, "torque": stated(0.5), "text": "snug"},
        {"method": Method.ANGLE, "text": " "},
    )
    for fields in contradictions:
        with pytest.raises(BadInput):
            Tightening(**fields)


def tool(**changed: Any) -> TorqueTool:
    fields: dict[str, Any] = {
        "code": "T000001",
        "name": "driver",
        "min_mnm": 200,
        "max_mnm": 2000,
        "calibrated_until": date(2026, 12, 31),
    }
    return TorqueTool(**(fields | changed))


def test_a_task_below_or_above_the_range_of_a_tool_is_refused() -> None:
    # a 1.3 N m task on a 2 to 10 N m tool
    (refusal,) = check_tool(tool(min_mnm=2000, max_mnm=10_000), torque_mnm=1300, on=TODAY)
    assert refusal.rule == "R18"
    assert "below the range" in refusal.message
    (refusal,) = check_tool(tool(), torque_mnm=2001, on=TODAY)
    assert "above the range" in refusal.message
    for torque_mnm in (200, 1300, 2000):
        assert check_tool(tool(), torque_mnm=torque_mnm, on=TODAY) == ()


def test_a_calibration_lasts_through_its_last_day() -> None:
    last = date(2026, 12, 31)
    assert check_tool(tool(), torque_mnm=500, on=last) == ()
    (refusal,) = check_tool(tool(), torque_mnm=500, on=last + timedelta(days=1))
    assert refusal.rule == "R18"
    assert "2026-12-31" in refusal.message
    (refusal,) = check_tool(tool(calibrated_until=None), torque_mnm=500, on=TODAY)
    assert "no calibration on record" in refusal.message


def test_a_tool_answers_for_every_fault_at_once() -> None:
    assert len(check_tool(tool(calibrated_until=None), torque_mnm=9000, on=TODAY)) == 2


@pytest.mark.parametrize(
    "changed", [{"min_mnm": 0}, {"min_mnm": 3000}, {"max_mnm": 10**9}, {"min_mnm": 0.2}, {"max_mnm": None}]
)
def test_a_tool_that_cannot_be_is_refused(changed: dict[str, Any]) -> None:
    with pytest.raises(BadInput):
        tool(**changed)


@pytest.mark.parametrize("torque_mnm", [0, -5, float("nan"), 10**9, True])
def test_a_tool_is_not_asked_about_a_torque_that_cannot_be(torque_mnm: Any) -> None:
    with pytest.raises(BadInput):
        check_tool(tool(), torque_mnm=torque_mnm, on=TODAY)


def test_the_deviation_allowed_goes_by_capacity() -> None:
    # ISO 6789 as printed in the Facom S.325DA manual: 6 % up to 10 N m, 4 % above
    assert tool(max_mnm=10_000).deviation_percent == 6
    assert tool(max_mnm=10_001).deviation_percent == 4


def test_calibration_starts_at_the_lowest_marked_value() -> None:
    # ISO 6789-1:2017 in Norbar articles 67 and 68: a 10 to 100 N m tool is no longer calibrated at 20
    assert tool(min_mnm=10_000, max_mnm=100_000).test_points_mnm == (10_000, 60_000, 100_000)
    # and with a range from a fifth on, the 20 / 60 / 100 % of the Facom manual
    assert tool(min_mnm=20_000, max_mnm=100_000).test_points_mnm == (20_000, 60_000, 100_000)


@pytest.mark.parametrize(
    ("set_mnm", "reference_mnm", "percent", "small_passes", "large_passes"),
    [(1300, 1250, 4.0, True, True), (1300, 1220, 6.557, False, False), (1060, 1000, 6.0, True, False)],
)
def test_deviations_are_judged_inclusive_of_the_limit(
    set_mnm: int, reference_mnm: int, percent: float, small_passes: bool, large_passes: bool
) -> None:
    # computed with the formula of ISO 6789 (from memory)
    assert deviation_percent(set_mnm, reference_mnm=reference_mnm) == pytest.approx(percent, abs=5e-4)
    small, large = tool(), tool(max_mnm=20_000)
    assert passes_calibration(small, set_mnm=set_mnm, reference_mnm=reference_mnm) is small_passes
    assert passes_calibration(large, set_mnm=set_mnm, reference_mnm=reference_mnm) is large_passes
    assert passes_calibration(small, set_mnm=940, reference_mnm=1000)
    assert not passes_calibration(small, set_mnm=939, reference_mnm=1000)


@pytest.mark.parametrize("figure", [0, -1, float("nan"), float("inf"), None, True])
def test_a_reference_that_cannot_be_is_refused(figure: Any) -> None:
    with pytest.raises(BadInput):
        deviation_percent(1000, reference_mnm=figure)
