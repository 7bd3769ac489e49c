"""Whether sets and stock are fit for issue: each reason alone, by the rule that it cites (design R1, R2, R6, R13, R19)."""

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from kittrack.domain.dates import Expiry, LifeLimit, LifeUsed
from kittrack.domain.kit_checks import (
    AirframeFact,
    CoveredFact,
    JobFact,
    KitFact,
    ReservedFact,
    check_approved,
    check_effectivity,
    check_job,
    check_place,
    check_reserved,
    check_seal,
    check_settings,
    check_state,
    next_step,
)
from kittrack.domain.kits import Demand, KitLineState, LineKind
from kittrack.domain.soundness import HoldFact, Moment, ProofFact, SetFact, StockFact, check_set, check_stock
from kittrack.domain.spin import Sense
from kittrack.errors import Refusal

NOW = Moment(datetime(2026, 3, 2, 7, 0, tzinfo=UTC), "Europe/Oslo")
HOLD = HoldFact("piece", "U1", "H1", "nick", is_recall=False)
BLADE = StockFact(
    line_id=1, line_code="Y1", piece_id=1, piece_code="U1", place_id=9, condition="serviceable", quantity=1,
    part_id=5, part_number="RB-CW", part_kind="blade", lot="L1", received=1, expiry=Expiry.unlimited(),
    superseded_for_safety=False, sense="CW",
)  # fmt: skip
HUB = replace(BLADE, piece_id=3, piece_code="U3", part_id=6, part_number="HB", part_kind="hub", sense=None)
PROOF = ProofFact("measured", 1200, 800, 5000, 5000, pairing_suffices=False, pieces=frozenset({1, 2}))
SET = SetFact(
    set_id=1, code="R1", place_id=9, part_id=5, part_number="RB-CW", sense="CW", state="complete",
    condition="serviceable", blades_needed=2, mixes_lots=False, hub_part_id=6,
    content=(BLADE, replace(BLADE, piece_id=2, piece_code="U2"), HUB), proof=PROOF, used=LifeUsed(0, 0),
    limit=LifeLimit(minutes=600),
)  # fmt: skip


def rules(found: list[Refusal]) -> list[str]:
    return [str(r.rule) for r in found]


def test_a_whole_proved_serviceable_set_is_fit() -> None:
    assert check_set(SET, now=NOW) == []


@pytest.mark.parametrize(
    ("one", "rule"),
    [
        (replace(SET, state="broken"), "R1"),
        (replace(SET, content=SET.content[:2]), "R1"),  # its hub is missing
        (replace(SET, content=(BLADE, HUB), proof=replace(PROOF, pieces=frozenset({1}))), "R1"),
        (replace(SET, hub_part_id=None, content=SET.content[:2], mixes_lots=True), ""),
        (replace(SET, sense="CCW"), "R2"),
        (replace(SET, content=(replace(BLADE, lot="L2"), *SET.content[1:])), "R2"),
        (replace(SET, content=(replace(BLADE, lot="L2"), *SET.content[1:]), mixes_lots=True), ""),
        (replace(SET, content=(replace(BLADE, part_id=7), *SET.content[1:])), "R2"),
        (replace(SET, condition="on hold"), "R6"),
        (replace(SET, content=(replace(BLADE, condition="unserviceable"), *SET.content[1:])), "R6"),
        (replace(SET, content=(replace(BLADE, expiry=Expiry.unknown()), *SET.content[1:])), "R13"),
        (replace(SET, bound_to="QA-01 FR"), "R6"),
        (replace(SET, holds=(HOLD,)), "R6"),
        (replace(SET, proof=None), "R19"),
        (replace(SET, proof=replace(PROOF, pieces=frozenset({1, 7}))), "R19"),
        (replace(SET, proof=replace(PROOF, residual_g_um=4200)), ""),  # 4200 + 800 = 5000, just within
        (replace(SET, proof=replace(PROOF, residual_g_um=4201)), "R19"),
        (replace(SET, proof=replace(PROOF, tolerance_now_g_um=1999)), "R19"),  # the tolerance was tightened
        (replace(SET, proof=replace(PROOF, residual_g_um=None)), "R19"),
        (replace(SET, proof=replace(PROOF, uncertainty_g_um=None)), "R19"),
        (replace(SET, proof=replace(PROOF, tolerance_g_um=None, tolerance_now_g_um=None)), "R19"),
        (replace(SET, proof=replace(PROOF, method="supplier pairing")), "R19"),
        (replace(SET, proof=replace(PROOF, method="supplier pairing", pairing_suffices=True)), ""),
        (replace(SET, history_settled=False), "R19"),
        (replace(SET, used=LifeUsed(600, 0)), "R13"),
        (replace(SET, used=LifeUsed(None, None)), "R13"),  # unknown hours are no hours left
    ],
)
def test_each_fault_of_a_set_is_refused_by_its_rule(one: SetFact, rule: str) -> None:
    assert rules(check_set(one, now=NOW)) == ([rule] if rule else [])


def test_the_tolerance_that_is_missed_is_the_smaller_one_in_gram_millimetres() -> None:
    tightened = replace(SET, proof=replace(PROOF, tolerance_g_um=5000, tolerance_now_g_um=1500))
    (refusal,) = check_set(tightened, now=NOW)
    assert "is outside the tolerance of 1.5 g mm" in refusal.message


@pytest.mark.parametrize(
    ("is_recall", "words"), [(True, "is recalled under H1"), (False, "is on hold under H1")]
)
def test_a_recall_is_told_as_one(is_recall: bool, words: str) -> None:
    (refusal,) = check_stock([replace(BLADE, holds=(replace(HOLD, is_recall=is_recall),))], now=NOW)
    assert words in refusal.message


def test_stock_without_pieces_is_named_by_its_receipt_line() -> None:
    assert BLADE.name == "U1 (RB-CW)"
    assert replace(BLADE, piece_id=None, piece_code="").name == "Y1 (RB-CW)"


def test_the_mark_of_every_blade_counts() -> None:
    wrong = replace(SET, content=(replace(BLADE, sense="CCW"), *SET.content[1:]))
    (refusal,) = check_set(wrong, now=NOW)
    assert refusal.rule == "R2"
    assert "U1" in refusal.message


@pytest.mark.parametrize(
    ("item", "rule"),
    [
        (replace(BLADE, condition="unserviceable"), "R6"),
        (replace(BLADE, superseded_for_safety=True), "R6"),
        (replace(BLADE, holds=(HOLD,)), "R6"),
        (replace(BLADE, holds=(replace(HOLD, is_recall=True),)), "R6"),
        (replace(BLADE, expiry=Expiry.limited(date(2026, 3, 1))), "R13"),
        (replace(BLADE, expiry=Expiry.limited(date(2026, 3, 2))), ""),  # good until the end of its day
        (replace(BLADE, expiry=Expiry.unknown()), "R13"),
    ],
)
def test_each_fault_of_stock_is_refused_by_its_rule(item: StockFact, rule: str) -> None:
    assert rules(check_stock([item], now=NOW)) == ([rule] if rule else [])


def test_one_reason_is_told_once() -> None:
    item = replace(BLADE, holds=(HOLD,))
    assert len(check_stock([item, item], now=NOW)) == 1


def test_sets_stand_in_one_total_order_of_age() -> None:
    young = replace(SET, code="R2", content=(replace(BLADE, received=2),))
    dated = replace(SET, code="R3", content=(replace(BLADE, expiry=Expiry.limited(date(2027, 1, 1))),))
    twin = replace(SET, code="R4")
    assert sorted([twin, young, SET, dated], key=lambda s: s.age) == [dated, SET, twin, young]


def test_a_set_is_as_old_as_the_first_of_its_blades() -> None:
    mixed = replace(SET, code="R9", content=(BLADE, replace(BLADE, received=3, lot="L3")))
    second = replace(SET, content=(replace(BLADE, received=2),))
    other_lot = replace(SET, content=(replace(BLADE, lot="L2"),))
    assert sorted([other_lot, second, mixed], key=lambda s: s.age) == [mixed, other_lot, second]


# ---- kits ----------------------------------------------------------------------------------------

LINES = (KitLineState(Demand(LineKind.ROTOR_SET, 5, 1, sense=Sense.CW), "RB-CW"),)
KIT = KitFact(
    kit_id=1, code="K1", place_id=7, state="sealed", purpose="full", seal="0042", revision_id=1, revision_name="QA A",
    settings_revision=3, settings_revision_now=3, airframe_id=None, job_id=None, lines=LINES,
    positions=(CoveredFact(11, "FR", "CW", frozenset({5})),), sets=(SET,), stock=(),
)  # fmt: skip
FRAME = AirframeFact(2, "QA-01", "active", 1, "QA A", {11: "CW"})
JOB = JobFact(3, "J1", "open", 2, {11: "FR"}, {})


def test_a_part_that_is_no_longer_approved_at_its_position_stops_a_full_kit_only() -> None:
    lost = replace(KIT, positions=(replace(KIT.positions[0], approved_part_ids=frozenset()),))
    assert check_approved(KIT) == []
    assert rules(check_approved(lost)) == ["R6"]
    assert check_approved(replace(lost, purpose="make-good")) == []


def test_settings_revision_and_map_are_those_of_now() -> None:
    assert rules(check_settings(replace(KIT, settings_revision_now=4))) == ["R21"]
    assert check_effectivity(KIT, FRAME) == []
    assert rules(check_effectivity(KIT, replace(FRAME, revision_id=9, state="sold"))) == ["R7", "R7"]
    (turned,) = check_effectivity(KIT, replace(FRAME, senses={11: "CCW"}))
    (unmapped,) = check_effectivity(KIT, replace(FRAME, senses={}))
    assert (turned.rule, unmapped.rule) == ("R7", "R7")
    assert "FR CW, but on QA-01 it turns CCW by the current map" in turned.message
    assert "FR CW, but on QA-01 it has no sense in the map" in unmapped.message


@pytest.mark.parametrize(
    ("kit", "job", "expected"),
    [
        (KIT, JOB, []),
        (KIT, replace(JOB, state="closed"), ["R11"]),
        (KIT, replace(JOB, airframe_id=9), ["R7"]),
        (replace(KIT, job_id=9), JOB, ["R5"]),
        (KIT, replace(JOB, positions={12: "FL"}), ["R5"]),
        (KIT, replace(JOB, positions={12: "FR"}), []),  # the same arm of another revision: R7 tells that
        (KIT, replace(JOB, covered={11: "K9"}), ["R11"]),
        (replace(KIT, purpose="make-good"), replace(JOB, covered={11: "K9"}), []),
    ],
)
def test_a_kit_belongs_to_its_job(kit: KitFact, job: JobFact, expected: list[str]) -> None:
    assert rules(check_job(kit, job, FRAME)) == expected


def test_a_reservation_counts_until_the_end_of_its_day_and_not_against_its_own_job() -> None:
    kept = (ReservedFact("kit", "K1", 8, "J8", date(2026, 3, 2)),)
    assert rules(check_reserved(kept, for_job_id=3, on=date(2026, 3, 2))) == ["R6"]
    assert check_reserved(kept, for_job_id=8, on=date(2026, 3, 2)) == []
    assert check_reserved(kept, for_job_id=3, on=date(2026, 3, 3)) == []


def test_the_seal_is_compared_as_text() -> None:
    assert check_seal(KIT, read_back=" 0042\n") == []
    for other in ("42", "0043", ""):
        assert rules(check_seal(KIT, read_back=other)) == ["R5"]
    [unsealed] = check_seal(replace(KIT, seal=None), read_back="")
    assert unsealed.rule == "R5"
    assert "sealed first" in unsealed.message


def test_place_state_and_next_step() -> None:
    assert check_place(KIT, kind="van", name="Van 1") == []
    assert rules(check_place(KIT, kind="hold cage", name="cage")) == ["R6"]
    assert check_place(replace(KIT, state="issued"), kind="hands", name="Technician One") == []
    assert check_state("K1", "sealed", allowed=("sealed",)) == []
    assert rules(check_state("K1", "opened", allowed=("sealed",))) == ["R5"]
    assert next_step("building", lines=LINES) == "pick what it lacks"
    assert next_step("building", lines=()) == "let another person check it"
    assert next_step("sealed", lines=()) == "issue it, or dissolve it"
    assert "can't be issued" in next_step("sealed", lines=(), is_fit=False)
    assert (
        next_step("checked", lines=LINES, is_fit=False) == "seal it, or swap what is wrong and check it again"
    )
