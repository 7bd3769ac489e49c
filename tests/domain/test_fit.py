"""The pure checks of a fit. The rules are the project's own (R2, R3, R8, R11, R17); no outside source states them."""

from dataclasses import replace

import pytest

from kittrack.domain import fit
from kittrack.domain.fit import SenseReading, Unsettled
from kittrack.domain.spin import Sense

CW, CCW = Sense.CW, Sense.CCW


def rules(reading: SenseReading) -> list[str]:
    return sorted({str(r.rule) for r in fit.check_sense(reading)})


def reading(*, label: Sense, marked: Sense | None, mapped: Sense | None, mark: str = "M") -> SenseReading:
    return SenseReading(position="QA-01 FL", rotor="R1", label=label, mark=mark, marked=marked, mapped=mapped)


@pytest.mark.parametrize("label", Sense)
@pytest.mark.parametrize("marked", Sense)
@pytest.mark.parametrize("mapped", Sense)
def test_a_rotor_sits_right_only_where_label_mark_and_map_say_the_same(
    label: Sense, marked: Sense, mapped: Sense
) -> None:
    found = rules(reading(label=label, marked=marked, mapped=mapped))
    assert found == ([] if label is marked is mapped else ["R3"])


@pytest.mark.parametrize("mark", ["", "unknown"])
def test_a_mark_without_a_sense_stops_the_rotor_even_where_label_and_map_agree(mark: str) -> None:
    assert rules(reading(label=CW, marked=None, mapped=CW, mark=mark)) == ["R2"]
    assert rules(reading(label=CCW, marked=None, mapped=CW, mark=mark)) == ["R2", "R3"]


def test_a_position_without_a_mapped_sense_takes_no_rotor() -> None:
    assert rules(reading(label=CW, marked=CW, mapped=None)) == ["R17"]


@pytest.mark.parametrize("is_fitted", [False, True])
@pytest.mark.parametrize("label", [Sense.CW, Sense.CCW])
@pytest.mark.parametrize(("mark", "marked"), [("", None), ("?", None), ("R", Sense.CW), ("L", Sense.CCW)])
def test_every_reason_names_the_position_and_the_set_and_what_to_do(
    mark: str, marked: Sense | None, label: Sense, is_fitted: bool
) -> None:
    reading = SenseReading("QA-01 FR", "R000017-5", label, mark, marked, Sense.CCW, is_fitted=is_fitted)
    for refusal in fit.check_sense(reading):
        assert "QA-01 FR" in refusal.message
        assert "R000017-5" in refusal.message
        assert "; " in refusal.message
        assert len(refusal.message) < 230  # four lines of a verdict at 80 characters
        comes_off = is_fitted and (mark != "" or refusal.rule != "R2")
        assert ("take it off" in refusal.message) is comes_off


@pytest.mark.parametrize("label", Sense)
@pytest.mark.parametrize("marked", Sense)
def test_a_stop_is_one_sentence_that_does_not_contradict_itself(label: Sense, marked: Sense) -> None:
    messages = [r.message for r in fit.check_sense(reading(label=label, marked=marked, mapped=CW))]
    assert len(messages) == (0 if label is marked is CW else 1)
    if label is marked is CCW:
        assert "take a CW set" in messages[0]
        assert "on hold" not in messages[0]  # nothing is wrong with the set itself
    elif label is not marked:
        assert "have it put on hold" in messages[0]


def test_a_mark_that_was_not_read_is_asked_for() -> None:
    [refusal] = fit.check_sense(reading(label=CW, marked=None, mapped=CW, mark=""))
    assert refusal.message == "No mark was read on R1 at QA-01 FL; read it on the rotor itself and enter it."


def test_a_mark_that_nobody_knows_is_read_again_before_the_set_is_given_up() -> None:
    [refusal] = fit.check_sense(reading(label=CW, marked=None, mapped=CW, mark="?"))
    assert "read it once more" in refusal.message


@pytest.mark.parametrize(("label", "mark", "marked"), [(CCW, "R", CCW), (CW, "L", CCW), (CW, "?", None)])
def test_what_came_off_is_not_told_to_come_off_nor_to_stay_off(
    label: Sense, mark: str, marked: Sense | None
) -> None:
    came_off = replace(reading(label=label, marked=marked, mapped=CW, mark=mark), came_off=True)
    [refusal] = fit.check_sense(came_off)
    assert "stays apart until it is inspected" in refusal.message
    assert "fit it" not in refusal.message


def test_the_words_of_a_stop_say_from_which_side_the_sense_is_seen() -> None:
    [message] = [
        r.message for r in fit.check_sense(reading(label=CCW, marked=CCW, mapped=CW)) if "take a" in r.message
    ]
    assert "CW (clockwise, seen from above)" in message


@pytest.mark.parametrize(
    ("used", "at_fit", "now", "expected"),
    [
        (0, 100, 160, 60), (40, 100, 160, 100), (0, 100, 100, 0), (None, 100, 160, None), (0, None, 160, None),
        (0, 100, None, None), (0, 160, 100, None),
    ],
)  # fmt: skip
def test_time_in_service_is_what_it_had_and_what_was_flown_or_unknown(
    used: int | None, at_fit: int | None, now: int | None, expected: int | None
) -> None:
    assert fit.time_in_service(used, at_fit=at_fit, now=now) == expected


@pytest.mark.parametrize(
    ("known", "inspected", "refused"), [(True, False, False), (False, True, False), (False, False, True)]
)
def test_an_unknown_history_takes_an_inspection(known: bool, inspected: bool, refused: bool) -> None:
    assert bool(fit.check_history("R1", known=known, inspected=inspected)) is refused


# ---- people --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("inspector", "alone", "refused"),
    [(1, False, True), (1, True, False), (2, True, False), (3, False, False)],
)
def test_who_worked_on_a_position_does_not_inspect_it_unless_declared_alone(
    inspector: int, alone: bool, refused: bool
) -> None:
    workers = (1, 2) if not alone else (1,)
    found = fit.check_inspector(
        "QA-01 FL", inspector=inspector, workers=workers, name="A", declared_alone=alone
    )
    assert [str(r.rule) for r in found] == (["R8"] if refused else [])


def test_a_re_inspection_is_never_called_a_second_person() -> None:
    assert fit.inspection_kind(inspector=1, workers=(1, 2)) == "re-inspection"
    assert fit.inspection_kind(inspector=3, workers=(1, 2)) == "second person"


# ---- the order of work, the end ------------------------------------------------------------------


@pytest.mark.parametrize("state", ["to do", "bare", "not finished", "fitted", "inspected", "walked"])
def test_only_a_position_that_is_half_done_keeps_the_next_from_being_begun(state: str) -> None:
    found = fit.check_one_at_a_time("QA-01 FL", others=[("QA-01 RR", state)])
    assert [r.subject for r in found] == (["QA-01 RR"] if state == "not finished" else [])


DONE = Unsettled("J1", positions=(("FL", "walked"),), left_over=(), map_verified=True, findings=())


def closing(**changes: object) -> list[str]:
    return [str(r.rule) for r in fit.check_closing(replace(DONE, **changes))]  # type: ignore[arg-type]  # test data


def test_a_job_that_is_settled_closes() -> None:
    assert closing() == []


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"positions": (("FL", "inspected"),)}, ["R3"]),
        ({"positions": (("FL", "fitted"),)}, ["R8"]),
        ({"positions": (("FL", "to do"), ("FR", "bare"), ("RR", "not finished"))}, ["R11"] * 3),
        ({"left_over": ("3 screws", "a bottle")}, ["R11", "R11"]),
        ({"map_verified": False}, ["R17"]),
        ({"findings": ("1: a nick",)}, ["R10"]),
        ({"tightened_otherwise": (("FL", "was tightened with 0.8 N m"),)}, ["R18"]),
    ],
)
def test_whatever_is_unsettled_keeps_a_job_open(changes: dict[str, object], expected: list[str]) -> None:
    assert closing(**changes) == expected


def test_every_reason_is_told_and_not_the_first_alone() -> None:
    assert closing(
        positions=(("FL", "inspected"), ("FR", "fitted")), map_verified=False, findings=("1: x",)
    ) == ["R3", "R8", "R17", "R10"]


@pytest.mark.parametrize(
    ("changes", "step"),
    [
        ({}, "close J1"),
        ({"map_verified": False}, "motor test"),
        ({"left_over": ("3 screws",)}, "3 screws"),
        ({"positions": (("FL", "inspected"), ("FR", "walked"))}, "walk all positions"),
        (
            {"positions": (("FL", "inspected"),), "left_over": ("3 screws",), "map_verified": False},
            "motor test",
        ),
        ({"positions": (("FL", "to do"),), "map_verified": False}, "begin with FL"),
        ({"positions": (("FL", "to do"), ("FR", "bare"))}, "fit a set at FR"),
        ({"positions": (("FL", "to do"), ("FR", "inspected"))}, "begin with FL. Or leave out of the job"),
        ({"positions": (("FL", "to do"),)}, "begin with FL"),
        ({"positions": (("FL", "bare"), ("FR", "fitted"))}, "inspect FR"),
        ({"positions": (("FL", "fitted"), ("FR", "not finished"))}, "finish FR"),
        ({"tightened_otherwise": (("FL", "was tightened with 0.8 N m"),)}, "torque FL again"),
        (
            {"positions": (("FL", "inspected"),), "tightened_otherwise": (("FL", "was tightened"),)},
            "torque FL again",
        ),
        (
            {"positions": (("FR", "not finished"),), "tightened_otherwise": (("FL", "was tightened"),)},
            "finish FR",
        ),
        ({"positions": (("FL", "not finished"),), "findings": ("1: a nick",)}, "settle finding 1"),
    ],
)
def test_the_next_step_is_what_is_most_urgent(changes: dict[str, object], step: str) -> None:
    assert step in fit.next_step(replace(DONE, **changes))  # type: ignore[arg-type]  # test data


def test_a_walk_names_each_position_that_was_left_out() -> None:
    found = fit.check_walk_covers("QA-01", expected=["FL", "FR", "RR"], seen=["FR"])
    assert [(str(r.rule), r.subject) for r in found] == [("R3", "FL"), ("R3", "RR")]
    assert fit.check_walk_covers("QA-01", expected=["FL"], seen=["FR", "FL"]) == []
