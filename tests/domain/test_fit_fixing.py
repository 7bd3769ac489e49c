"""The pure checks of a fixing: counts and parts, how it is tightened, when it is torqued again."""

from datetime import date

import pytest

from kittrack.domain.fixing import (
    Applied,
    Need,
    StatedTightening,
    Taken,
    check_fixings,
    check_tightening,
    is_still_as_stated,
    retorque,
)
from kittrack.domain.torque import Method, TorqueTool

NEEDS = (Need("SC", 4, one_lot=True), Need("WA", 4, one_lot=True), Need("TL", 200, unit="volume_ul"))
GOOD = (Taken("SC", "L1", 4), Taken("WA", "L2", 4), Taken("TL", "L3", 200))
DAY = date(2026, 3, 2)


def rules(*taken: Taken) -> list[tuple[str, str]]:
    return [(str(r.rule), r.subject) for r in check_fixings("QA-01 FL", needs=NEEDS, taken=taken)]


def test_a_complete_fixing_is_taken_from_one_line_or_several_of_one_lot() -> None:
    assert rules(*GOOD) == []
    assert rules(Taken("SC", "L1", 1), Taken("SC", "L1", 3), *GOOD[1:]) == []


@pytest.mark.parametrize("screws", [0, 3, 5, 8])
def test_another_count_than_per_hub_is_refused(screws: int) -> None:
    """A pack of 8 for two hubs of four leaves no hub with 3 or 5."""
    taken = [Taken("SC", "L1", screws)] if screws else []
    assert rules(*taken, *GOOD[1:]) == [("R4", "SC")]


def test_screws_of_two_lots_never_share_a_hub() -> None:
    assert rules(Taken("SC", "L1", 2), Taken("SC", "L9", 2), *GOOD[1:]) == [("R4", "SC")]


@pytest.mark.parametrize(
    ("taken", "amounts"),
    [(Taken("TL", "L3", 120), "0.12 mL: short by 0.08 mL"), (Taken("TL", "L3", 220), "put 0.02 mL")],
)
def test_a_wrong_dose_is_told_in_millilitres(taken: Taken, amounts: str) -> None:
    [refusal] = check_fixings("QA-01 FL", needs=NEEDS, taken=(*GOOD[:2], taken))
    assert "needs 0.2 mL of TL" in refusal.message
    assert amounts in refusal.message


def test_threadlocker_may_come_from_two_lots() -> None:
    assert rules(*GOOD[:2], Taken("TL", "L3", 100), Taken("TL", "L4", 100)) == []


def test_another_part_is_refused_beside_what_is_short() -> None:
    assert rules(Taken("SC-LONG", "L1", 4), *GOOD[1:]) == [("R4", "SC"), ("R7", "SC-LONG")]


@pytest.mark.parametrize(
    ("taken", "said"),
    [
        (
            (Taken("SC", "L1", 3), *GOOD[1:]),
            "needs 4 pieces of SC, and the scans give 3 pieces: short by 1 piece; take new ones",
        ),
        (
            (Taken("SC", "L1", 6), *GOOD[1:]),
            "needs 4 pieces of SC, and the scans give 6 pieces; put 2 pieces back",
        ),
        (
            (*GOOD[:2], Taken("TL", "L3", 150)),
            "needs 0.2 mL of TL, and the scans give 0.15 mL: short by 0.05 mL",
        ),
        ((*GOOD, Taken("WD", "L1", 4)), "for QA-01 FL (it names SC, TL, WA); put it back"),
    ],
)
def test_a_refused_fixing_says_how_many_of_what(taken: tuple[Taken, ...], said: str) -> None:
    (refusal,) = check_fixings("QA-01 FL", needs=NEEDS, taken=taken)
    assert said in refusal.message


def test_a_hub_that_needs_nothing_takes_nothing() -> None:
    (refusal,) = check_fixings("QA-01 FL", needs=(), taken=(Taken("SC", "L1", 4),))
    assert refusal.rule == "R7"
    assert "(it names nothing)" in refusal.message


# ---- tightening ----------------------------------------------------------------------------------


def tool(**changes: object) -> TorqueTool:
    given: dict[str, object] = {
        "code": "W1", "name": "driver", "min_mnm": 500, "max_mnm": 5000, "calibrated_until": date(2027, 1, 31), **changes,
    }  # fmt: skip
    return TorqueTool(**given)  # type: ignore[arg-type]  # test data


def tightened(
    torque_mnm: int | None, *, by: TorqueTool | None, tolerance_mnm: int | None = None, stated_mnm: int = 1000
) -> list[str]:
    found = check_tightening(
        "QA-01 FL", stated=StatedTightening(Method.TORQUE, stated_mnm, tolerance_mnm),
        applied=Applied(Method.TORQUE, torque_mnm, by), on=DAY,
    )  # fmt: skip
    return [str(r.rule) for r in found]


@pytest.mark.parametrize(
    ("torque_mnm", "good"), [(940, True), (939, False), (1060, True), (1061, False), (1000, True)]
)
def test_a_small_tool_may_be_off_by_six_percent(torque_mnm: int, good: bool) -> None:
    """ISO 6789-1, setting tools of type II class A: 6 % up to 10 N m, as a tool maker's manual reviews it."""
    assert (tightened(torque_mnm, by=tool()) == []) is good


@pytest.mark.parametrize(
    ("torque_mnm", "good"), [(11_520, True), (11_519, False), (12_480, True), (12_481, False)]
)
def test_a_large_tool_may_be_off_by_four_percent(torque_mnm: int, good: bool) -> None:
    """ISO 6789-1, the same source: 4 % above 10 N m."""
    assert (tightened(torque_mnm, stated_mnm=12_000, by=tool(max_mnm=20_000)) == []) is good


@pytest.mark.parametrize(("torque_mnm", "good"), [(990, True), (989, False), (1010, True), (1011, False)])
def test_a_stated_tolerance_decides_before_the_tools_own(torque_mnm: int, good: bool) -> None:
    assert (tightened(torque_mnm, by=tool(), tolerance_mnm=10) == []) is good


def test_a_stated_tolerance_of_nothing_takes_the_value_itself() -> None:
    assert tightened(1000, by=tool(), tolerance_mnm=0) == []
    assert tightened(1001, by=tool(), tolerance_mnm=0) == ["R18"]


def test_a_torque_without_a_stated_value_is_met_by_none() -> None:
    stated = StatedTightening(Method.TORQUE)
    (refusal,) = check_tightening("FL", stated=stated, applied=Applied(Method.TORQUE, 1000, tool()), on=DAY)
    assert refusal.message == "FL takes a torque with its value; read it on the tool and enter it."


def test_a_stated_torque_is_not_met_by_another_method() -> None:
    stated = StatedTightening(Method.TORQUE, 1000)
    applied = Applied(Method.SNUG, 1000, tool())
    (refusal,) = check_tightening("QA-01 FL", stated=stated, applied=applied, on=DAY)
    assert refusal.rule == "R18"
    assert refusal.message.startswith(f"QA-01 FL is tightened by {Method.TORQUE}, not by {Method.SNUG};")


def test_a_method_is_told_with_its_words_where_it_has_some() -> None:
    assert (
        str(StatedTightening(Method.SNUG, words="snug, then a quarter turn"))
        == "snug (snug, then a quarter turn)"
    )
    assert str(StatedTightening(Method.TORQUE, 1000)) == "torque"


def test_a_tool_whose_range_begins_above_the_torque_is_refused() -> None:
    """The check value 1.3 N m on a tool of 2 to 10 N m (ISO 6789-1:2017 starts a range at its lowest mark)."""
    assert tightened(1300, stated_mnm=1300, by=tool(min_mnm=2000, max_mnm=10_000)) == ["R18"]


def test_value_and_calibration_are_both_told() -> None:
    assert tightened(700, by=tool(calibrated_until=date(2026, 3, 1))) == ["R18", "R18"]
    assert tightened(None, by=None) == ["R18", "R18"]
    assert tightened(1000, by=tool(calibrated_until=DAY)) == []


@pytest.mark.parametrize("method", [Method.ANGLE, Method.SNUG])
def test_an_angle_or_snug_is_another_method_and_no_torque(method: Method) -> None:
    stated = StatedTightening(method, words="snug, then a quarter turn")
    check = [
        [str(r.rule) for r in check_tightening("QA-01 FL", stated=stated, applied=applied, on=DAY)]
        for applied in (
            Applied(method),
            Applied(Method.TORQUE, 1000, tool()),
            Applied(method, 1000),
            Applied(method, None, tool()),
        )
    ]
    assert check == [[], ["R18"], ["R18"], ["R18"]]


# ---- the re-torque -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("interval", "torqued_at", "now", "due", "over"),
    [
        (3000, 0, 2999, False, -1), (3000, 0, 3000, True, 0), (3000, 0, 6600, True, 3600), (None, 0, 6600, False, None),
        (3000, 6000, 9000, True, 0), (3000, 6000, 8999, False, -1), (3000, 6000, 6000, False, -3000),
        (3000, None, 10, True, None), (3000, 10, None, True, None), (3000, 10, 5, True, None),
    ],
)  # fmt: skip
def test_a_re_torque_is_due_after_its_minutes_and_where_hours_are_unknown(
    interval: int | None, torqued_at: int | None, now: int | None, due: bool, over: int | None
) -> None:
    """NTSB DEN00IA133: bolts last torqued 110 h before, every 50 h by the maker: 6600 of 3000 minutes, 60 h over."""
    found = retorque(interval, torqued_at=torqued_at, now=now)
    assert (found.due, found.over) == (due, over)


@pytest.mark.parametrize(
    ("interval", "torqued_at", "now", "since"),
    [(None, 6000, 6600, 600), (3000, 6000, 6600, 600), (None, 6000, 6000, 0), (None, 6000, 5999, None), (None, None, 1, None)],
)  # fmt: skip
def test_a_torque_counts_since_the_minute_at_which_it_was_set(
    interval: int | None, torqued_at: int | None, now: int, since: int | None
) -> None:
    assert retorque(interval, torqued_at=torqued_at, now=now).since == since


@pytest.mark.parametrize(
    ("stated", "method", "torque_mnm", "good"),
    [
        (StatedTightening(Method.TORQUE, 800, 50), Method.TORQUE, 850, True),
        (StatedTightening(Method.TORQUE, 800, 50), Method.TORQUE, 851, False),
        # 6 %: the wider class of ISO 6789-1
        (StatedTightening(Method.TORQUE, 800), Method.TORQUE, 848, True),
        (StatedTightening(Method.TORQUE, 800), Method.TORQUE, 849, False),
        (StatedTightening(Method.TORQUE, 800, 50), Method.TORQUE, None, False),
        (StatedTightening(Method.TORQUE, 800, 50), Method.ANGLE, None, False),
        (StatedTightening(Method.ANGLE, words="a quarter turn"), Method.ANGLE, None, True),
        (StatedTightening(Method.ANGLE, words="a quarter turn"), Method.TORQUE, 800, False),
        (StatedTightening(Method.TORQUE, 800, 50), "a method that there is not", 800, False),
    ],
)
def test_a_hub_is_still_as_stated_within_the_tolerance_and_by_the_method(
    stated: StatedTightening, method: str, torque_mnm: int | None, good: bool
) -> None:
    assert is_still_as_stated(stated, method=method, torque_mnm=torque_mnm) is good
