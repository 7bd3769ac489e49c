"""Rotor sets: made of whole, single-sensed, proved blades, and broken for good."""

from collections.abc import Iterator, Sequence
from typing import Any

import pytest

from kittrack.domain.balance import Tape
from kittrack.errors import BadInput, NotFound, Refused
from kittrack.queries.integrity import set_integrity
from kittrack.queries.pairing import PairingProposal, propose_pairing
from kittrack.services import founding, holding, inspecting, matching, moving, weighing
from kittrack.services.inspecting import PieceFinding, PieceSpec
from kittrack.services.moving import MoveSpec
from kittrack.services.weighing import PieceWeighing
from kittrack.store.database import Store
from kittrack.store.records import MatchReading, MatchRecord, Part, PartMark, Piece, Place, RotorSet, Tool
from kittrack.store.stock import chain, directly_in, slot_of_piece
from tests.factories import (
    AUDITOR,
    BENCH,
    BIN,
    CCW_BLADE,
    CLERK,
    CW_BLADE,
    INSPECTOR,
    MANAGER,
    SCREW,
    SITE,
    TECHNICIAN,
    VAN,
    after,
    assert_conserved,
    blades_on_shelf,
    put_in_stock,
    sealed_kit,
    sets_on_shelf,
    stock_up,
)

SCALE = "Scale 1"


@pytest.fixture(autouse=True)
def _conserved(store: Store) -> Iterator[None]:
    yield
    assert_conserved(store)


def change_part(store: Store, number: str = CW_BLADE, *, minute: int = 1, **changes: Any) -> None:
    with store.act("change a part", by=MANAGER, at=after(minute)) as act:
        part = act.find(Part, number=number)
        assert part is not None
        act.update(part, **changes)


def weigh(
    store: Store, readings: Sequence[tuple[str, int, int]], *, minute: int = 10, scale: str = SCALE
) -> None:
    """Readings: (piece, mass in milligrams, radius in millimetres)."""
    weighings = [PieceWeighing(code, mg * 1000, mm * 1000) for code, mg, mm in readings]
    weighing.record_weighing(store, weighings=weighings, scale=scale, by=CLERK, at=after(minute))


def pair(store: Store, blades: Sequence[str], *, minute: int = 20, by: str = CLERK, **more: Any) -> str:
    return matching.make_set_of_pair(store, blades=blades, by=by, at=after(minute), **more).codes[0]


def measured(store: Store, blades: Sequence[str], *, minute: int = 20, by: str = CLERK, **more: Any) -> str:
    form = {"one_stop": True, **more}
    return matching.make_set_by_measurement(store, blades=blades, by=by, at=after(minute), **form).codes[0]


def pair_refused(store: Store, blades: Sequence[str], **more: Any) -> frozenset[str]:
    with pytest.raises(Refused) as refused:
        pair(store, blades, **more)
    return refused.value.rules


def measured_refused(store: Store, blades: Sequence[str], **more: Any) -> Refused:
    with pytest.raises(Refused) as refused:
        measured(store, blades, **more)
    return refused.value


def the_set(store: Store, code: str) -> RotorSet:
    with store.reading() as read:
        found = read.find(RotorSet, code=code)
    assert found is not None
    return found


# ---- by the supplier's pairing -----------------------------------------------------------------


def test_a_suppliers_pair_becomes_a_closed_set_on_the_bench(store: Store) -> None:
    blades = blades_on_shelf(store, CW_BLADE, 2, at=after(1))
    code = pair(store, blades, tape="none")
    made = the_set(store, code)
    with store.reading() as read:
        places = chain(read, made.place_id)
        inside = directly_in(read, made.place_id)
        record = read.get(MatchRecord, made.match_record_id or 0)
    assert (made.sense, made.state, made.condition, made.used_minutes, made.rematches) == (
        "CW", "complete", "serviceable", 0, 0,
    )  # fmt: skip
    assert [(p.name, p.kind, p.closed) for p in places] == [(code, "rotor set", 1), (BENCH, "bench", 0)]
    assert [(s.piece_id, s.condition) for s in inside] == [(1, "serviceable"), (2, "serviceable")]
    assert (record.method, record.tape) == ("supplier pairing", "none")
    assert record.source.startswith("invented maker's sheet 1")
    integrity = set_integrity(store)
    assert (integrity.sound, integrity.by_breach) == (1, ())


def test_two_pairs_do_not_swap_a_blade(store: Store) -> None:
    """Blade A of pair 17 with blade B of pair 18, both of the right sense, is no pair."""
    blades = blades_on_shelf(store, CW_BLADE, 4, at=after(1))
    assert pair_refused(store, (blades[0], blades[2])) == {"R19"}
    weigh(store, [(b, 42_000, 100) for b in blades[2:]])
    made = the_set(store, pair(store, blades[2:]))
    with store.reading() as read:
        record = read.get(MatchRecord, made.match_record_id or 0)
        readings = read.select(MatchReading)
        number = read.get(Piece, 3).pair_code
    assert record.source == f"invented maker's sheet 1; pair {number}"
    assert [r.moment_g_um for r in readings] == [None, None]  # weighed, but no part of this proof


def test_blades_without_a_pair_number_are_no_pair(store: Store) -> None:
    blades = blades_on_shelf(store, CW_BLADE, 2, at=after(1), pairs=False)
    with pytest.raises(Refused, match=f"{blades[0]} of none, {blades[1]} of none") as refused:
        pair(store, blades)
    assert [str(r.rule) for r in refused.value.refusals] == ["R19"]


def test_a_pair_number_that_two_pairs_of_a_lot_bear_proves_nothing(store: Store) -> None:
    line = put_in_stock(store, CW_BLADE, 4, at=after(1), place=BENCH, kind="bench", condition="on hold")
    specs = [PieceSpec(serial=None, mark="R", pair_code="17")] * 4
    blades = inspecting.inspect_pieces(store, line=line, pieces=specs, by=CLERK, at=after(2)).codes
    assert pair_refused(store, blades[:2]) == {"R19"}


@pytest.mark.parametrize("changes", [{"pairing_suffices": 0}, {"pairing_source": ""}])
def test_a_pairing_is_a_proof_only_where_the_part_says_so_with_its_source(
    store: Store, changes: dict[str, Any]
) -> None:
    blades = blades_on_shelf(store, CW_BLADE, 2, at=after(1))
    change_part(store, minute=2, **changes)
    assert pair_refused(store, blades) == {"R19"}


# ---- one whole set of one sense ----------------------------------------------------------------


def test_a_set_has_all_its_blades_and_no_other(store: Store) -> None:
    blades = blades_on_shelf(store, CW_BLADE, 4, at=after(1))
    assert "R1" in pair_refused(store, blades[:1])
    assert "R1" in pair_refused(store, blades[:3])
    screws = blades_on_shelf(store, CCW_BLADE, 2, at=after(2))
    assert "R2" in pair_refused(store, (blades[0], screws[0]))


def test_a_blade_stands_in_a_set_once_and_no_set_is_made_of_nothing(store: Store) -> None:
    blades = blades_on_shelf(store, CW_BLADE, 2, at=after(1))
    for wrong in ((), (blades[0], blades[0])):
        with pytest.raises(BadInput):
            pair(store, wrong)
    with pytest.raises(BadInput):
        pair(store, blades, tape="\x1b[0m")


def test_a_part_of_which_no_sets_are_made_is_refused(store: Store) -> None:
    change_part(store, SCREW, tracking="serial")
    line = put_in_stock(store, SCREW, 2, at=after(2), place=BENCH, kind="bench", condition="on hold")
    pieces = [PieceSpec(serial=None, note="x")] * 2
    codes = inspecting.inspect_pieces(store, line=line, pieces=pieces, by=CLERK, at=after(3)).codes
    assert "R1" in pair_refused(store, codes)


def test_blades_of_two_lots_are_a_set_only_where_the_part_mixes_lots(store: Store) -> None:
    one = blades_on_shelf(store, CW_BLADE, 1, at=after(1), lot_code="A")
    two = blades_on_shelf(store, CW_BLADE, 1, at=after(2), lot_code="B")
    weigh(store, [(code, 42_000, 100) for code in one + two])
    assert measured_refused(store, one + two).rules == {"R2"}
    change_part(store, minute=21, mixes_lots=1)
    code = measured(store, one + two, minute=22)
    with store.reading() as read:
        record = read.get(MatchRecord, the_set(store, code).match_record_id or 0)
    assert "lots mixed: L000002-9, L000003-7" in record.source


def test_a_blade_not_read_as_its_part_turns_is_refused(store: Store) -> None:
    blades = blades_on_shelf(store, CW_BLADE, 2, at=after(1))
    with store.act("lose a reading", by=MANAGER, at=after(2)) as act:
        act.update(act.get(Piece, 1), sense=None)
    assert pair_refused(store, blades) == {"R2"}


@pytest.mark.parametrize("result", ["held", "rejected"])
def test_a_blade_on_hold_or_unserviceable_is_refused(store: Store, result: str) -> None:
    blades = blades_on_shelf(store, CW_BLADE, 2, at=after(1))
    finding = PieceFinding(blades[0], mark="R", result=result, note="nick")
    inspecting.reinspect_pieces(store, findings=[finding], by=CLERK, at=after(2))
    assert pair_refused(store, blades) == {"R6"}


def test_a_held_lot_gives_no_set(store: Store) -> None:
    blades = blades_on_shelf(store, CW_BLADE, 2, at=after(1))
    scope = holding.Scope(lot_code="LOT-1")
    holding.place_hold(
        store, scope=scope, reason="recall", reference="SB", by=CLERK, at=after(2), is_recall=True
    )
    assert pair_refused(store, blades) == {"R6"}


def test_a_blade_in_a_set_is_not_taken_for_another(store: Store) -> None:
    blades = blades_on_shelf(store, CW_BLADE, 2, at=after(1))
    pair(store, blades)
    assert "R1" in pair_refused(store, blades, minute=21, at_place=BENCH)


@pytest.mark.parametrize(
    ("by", "fine"), [(TECHNICIAN, True), (INSPECTOR, True), (MANAGER, False), (AUDITOR, False)]
)
def test_who_makes_sets(store: Store, by: str, fine: bool) -> None:
    blades = blades_on_shelf(store, CW_BLADE, 2, at=after(1))
    if fine:
        pair(store, blades, by=by)
    else:
        assert pair_refused(store, blades, by=by) == {"role"}


def test_a_set_is_made_on_a_bench_or_in_a_bin(store: Store) -> None:
    blades = blades_on_shelf(store, CW_BLADE, 2, at=after(1), place="goods-in Home", kind="goods-in")
    with pytest.raises(NotFound):
        pair(store, blades, at_place=VAN)
    code = pair(store, blades, minute=21)
    with store.reading() as read:
        assert [p.name for p in chain(read, the_set(store, code).place_id)][1:] == [BENCH]
    more = blades_on_shelf(store, CW_BLADE, 2, at=after(22))
    code = pair(store, more, minute=23, at_place=BIN)
    with store.reading() as read:
        assert [p.name for p in chain(read, the_set(store, code).place_id)][1:] == [BIN]


# ---- hubs --------------------------------------------------------------------------------------


def hubs(store: Store, *, minute: int = 2) -> tuple[str, ...]:
    with store.act("a hub of the set", by=MANAGER, at=after(minute)) as act:
        blade = act.find(Part, number=CW_BLADE)
        assert blade is not None
        hub = act.insert(
            Part(
                number="HUB-1",
                maker_id=blade.maker_id,
                name="hub",
                kind="hub",
                tracking="serial",
                paper_class="rotor",
            )
        )
        act.update(blade, hub_part_id=hub.id, hub_in_set=1)
    line = put_in_stock(store, "HUB-1", 2, at=after(minute), place=BENCH, kind="bench", condition="on hold")
    specs = [PieceSpec(serial=f"H{i}") for i in range(2)]
    return inspecting.inspect_pieces(store, line=line, pieces=specs, by=CLERK, at=after(minute)).codes


def test_a_hub_that_belongs_to_the_set_goes_into_it_and_comes_out_on_hold(store: Store) -> None:
    blades = blades_on_shelf(store, CW_BLADE, 2, at=after(1))
    hub, other = hubs(store)
    assert pair_refused(store, blades) == {"R1"}
    assert "R1" in pair_refused(store, blades, hub=blades[0])
    code = pair(store, blades, hub=hub)
    with store.reading() as read:
        assert len(directly_in(read, the_set(store, code).place_id)) == 3
        assert len(read.select(MatchReading)) == 2
    freed = matching.break_set(store, rotor_set=code, reason="blade cracked", by=CLERK, at=after(30)).codes
    assert hub in freed
    assert other not in freed
    with store.reading() as read:
        piece = read.find(Piece, code=hub)
        assert piece is not None
        assert slot_of_piece(read, piece.id).condition == "on hold"


def test_a_hub_that_stays_on_its_arm_is_left_out(store: Store) -> None:
    blades = blades_on_shelf(store, CW_BLADE, 2, at=after(1))
    hub, _ = hubs(store)
    change_part(store, minute=3, hub_in_set=0)
    assert pair_refused(store, blades, hub=hub) == {"R1"}


# ---- by measurement ----------------------------------------------------------------------------


def test_weighed_blades_within_tolerance_are_a_set_with_their_figures(store: Store) -> None:
    """Moments 42.000 g and 42.010 g at 100 mm: residual 1 g mm of 5 allowed.

    Uncertainty by first principles: u(scale)^2 = 2 x 1^2 / 12 + (2 / 2)^2 + 1^2 mg^2, so 1.472 mg; times
    100 mm and sqrt 2 for two blades 0.208 g mm. The one stop, read to 0.5 mm at both ends, scales the
    residual only: 1 x 0.204 / 100 = 0.002 g mm. Twice the root of the squares: 0.4164 g mm, kept as 417 g um.
    """
    blades = blades_on_shelf(store, CW_BLADE, 2, at=after(1), pairs=False)
    weigh(store, [(blades[0], 42_000, 100), (blades[1], 42_010, 100)])
    code = measured(store, blades, tape="none")
    with store.reading() as read:
        record = read.get(MatchRecord, the_set(store, code).match_record_id or 0)
        readings = read.select(MatchReading)
    assert (record.method, record.residual_g_um, record.tolerance_g_um, record.tool_id) == (
        "measured",
        1000,
        5000,
        2,
    )
    assert record.uncertainty_g_um == 417
    assert record.tolerance_source == "invented maker's sheet 1"
    assert [(r.slot, r.moment_g_um) for r in readings] == [(0, 4_200_000), (1, 4_201_000)]
    assert set_integrity(store).sound == 1


def test_blades_that_differ_too_much_are_told_so(store: Store) -> None:
    blades = blades_on_shelf(store, CW_BLADE, 2, at=after(1), pairs=False)
    weigh(store, [(blades[0], 42_000, 100), (blades[1], 42_100, 100)])
    refused = measured_refused(store, blades)
    assert refused.rules == {"R19"}
    assert "try another partner" in str(refused)


def test_a_scale_that_is_too_coarse_is_told_so(store: Store) -> None:
    """A kitchen scale of 0.1 g proves nothing at 5 g mm and 100 mm: half its step is 5 g mm already."""
    with store.act("a coarse scale", by=MANAGER, at=after(1)) as act:
        act.insert(
            Tool(
                code="W000900-0",
                name="Kitchen scale",
                kind="scale",
                resolution_ug=100_000,
                uncertainty_ug=50_000,
                repeatability_ug=50_000,
                ruler_um=500,
                calibrated_until_on="2027-01-31",
            )
        )
    blades = blades_on_shelf(store, CW_BLADE, 2, at=after(2), pairs=False)
    weigh(store, [(b, 42_000, 100) for b in blades], scale="Kitchen scale")
    refused = measured_refused(store, blades)
    assert refused.rules == {"R19"}
    assert "too coarse" in str(refused)


def test_the_uncertainty_counts_against_the_tolerance(store: Store) -> None:
    """4.6 g mm of residual is within 5 g mm by itself, and not with 0.42 g mm of uncertainty; 4.5 is."""
    blades = blades_on_shelf(store, CW_BLADE, 2, at=after(1), pairs=False)
    weigh(store, [(blades[0], 42_000, 100), (blades[1], 42_046, 100)])
    assert measured_refused(store, blades).rules == {"R19"}
    weigh(store, [(blades[1], 42_045, 100)], minute=21)
    measured(store, blades, minute=22)


def test_balance_tape_counts_into_the_residual(store: Store) -> None:
    """100 mg more at 100 mm are 10 g mm; 200 mg of tape at 50 mm on the other blade take them back."""
    blades = blades_on_shelf(store, CW_BLADE, 2, at=after(1), pairs=False)
    weigh(store, [(blades[0], 42_000, 100), (blades[1], 42_100, 100)])
    tape = Tape(mass_ug=200_000, radius_um=50_000, angle_mdeg=0)
    assert measured_refused(store, blades, tapes=[Tape(200_000, 50_000, 180_000)]).rules == {"R19"}
    code = measured(store, blades, tapes=[tape], tape="200 mg at 50 mm on the first blade")
    with store.reading() as read:
        record = read.get(MatchRecord, the_set(store, code).match_record_id or 0)
    assert (record.residual_g_um, record.tape) == (0, "200 mg at 50 mm on the first blade")


def test_mass_alone_or_another_scale_for_each_blade_is_no_proof(store: Store) -> None:
    blades = blades_on_shelf(store, CW_BLADE, 2, at=after(1), pairs=False)
    assert [str(r.rule) for r in measured_refused(store, blades).refusals] == ["R19"]
    change_part(store, minute=2, tolerance_g_um=None)
    both = [r.message for r in measured_refused(store, blades).refusals]
    assert ["no tolerance" in both[0], "no weighing" in both[1]] == [True, True]
    change_part(store, minute=2, tolerance_g_um=5000)
    with store.act("a second scale", by=MANAGER, at=after(2)) as act:
        act.insert(
            Tool(code="W000900-0", name="Scale 2", kind="scale", resolution_ug=1000, uncertainty_ug=2000,
                 repeatability_ug=1000, ruler_um=500, calibrated_until_on="2027-01-31")
        )  # fmt: skip
    weigh(store, [(blades[0], 42_000, 100)])
    weigh(store, [(blades[1], 42_000, 100)], minute=11, scale="Scale 2")
    assert "several scales" in str(measured_refused(store, blades))


@pytest.mark.parametrize("changes", [{"tolerance_g_um": None}, {"tolerance_source": ""}])
def test_without_a_tolerance_and_its_source_nothing_matches(store: Store, changes: dict[str, Any]) -> None:
    blades = blades_on_shelf(store, CW_BLADE, 2, at=after(1), pairs=False)
    weigh(store, [(b, 42_000, 100) for b in blades])
    change_part(store, minute=11, **changes)
    assert measured_refused(store, blades).rules == {"R19"}


@pytest.mark.parametrize(
    "changes",
    [
        {"calibrated_until_on": "2026-03-01"},
        {"calibrated_until_on": None},
        {"uncertainty_ug": None},
        {"ruler_um": None},
    ],
)
def test_a_scale_out_of_date_or_without_figures_proves_nothing(store: Store, changes: dict[str, Any]) -> None:
    blades = blades_on_shelf(store, CW_BLADE, 2, at=after(1), pairs=False)
    weigh(store, [(b, 42_000, 100) for b in blades])
    with store.act("another sheet of the scale", by=MANAGER, at=after(11)) as act:
        act.update(act.get(Tool, 2), **changes)
    assert measured_refused(store, blades).rules == {"R19"}


def test_the_last_day_of_a_calibration_counts(store: Store) -> None:
    blades = blades_on_shelf(store, CW_BLADE, 2, at=after(1), pairs=False)
    with store.act("calibrated until today", by=MANAGER, at=after(2)) as act:
        act.update(act.get(Tool, 2), calibrated_until_on="2026-03-02")
    weigh(store, [(b, 42_000, 100) for b in blades])
    measured(store, blades)


def test_a_ruler_set_anew_for_each_blade_is_a_coarse_tool(store: Store) -> None:
    """0.5 mm read at both ends is 0.204 mm; times 42 g and sqrt 2 and k = 2: 24 g mm, far beyond 5."""
    blades = blades_on_shelf(store, CW_BLADE, 2, at=after(1), pairs=False)
    weigh(store, [(b, 42_000, 100) for b in blades])
    refused = measured_refused(store, blades, one_stop=False)
    assert "ruler" in str(refused)


def test_one_stop_has_one_radius(store: Store) -> None:
    blades = blades_on_shelf(store, CW_BLADE, 2, at=after(1), pairs=False)
    weigh(store, [(blades[0], 42_000, 100), (blades[1], 40_000, 105)])
    with pytest.raises(BadInput):
        measured(store, blades)


# ---- weighing ----------------------------------------------------------------------------------


def test_a_weighing_keeps_mass_moment_and_scale(store: Store) -> None:
    blades = blades_on_shelf(store, CW_BLADE, 1, at=after(1))
    weigh(store, [(blades[0], 42_123, 101)])
    with store.reading() as read:
        piece = read.get(Piece, 1)
    assert (piece.mass_ug, piece.moment_g_um, piece.weighed_with_id) == (42_123_000, 4_254_423, 2)


def test_every_bad_reading_is_told_with_its_row(store: Store) -> None:
    blades = blades_on_shelf(store, CW_BLADE, 2, at=after(1))
    bad = [
        (blades[0], 42_000, 100),
        ("U000900-0", 1, 1),
        (blades[0], 1, 1),
        (blades[1], -1, 100),
        (blades[1], 1, 0),
    ]
    with pytest.raises(BadInput) as refused:
        weigh(store, bad)
    assert [p.row for p in refused.value.problems] == [2, 3, 4, 5]
    with pytest.raises(BadInput):
        weigh(store, [])


@pytest.mark.parametrize("scale", ["Torque driver 1", "No such scale"])
def test_blades_are_weighed_on_a_scale(store: Store, scale: str) -> None:
    blades = blades_on_shelf(store, CW_BLADE, 1, at=after(1))
    with pytest.raises(NotFound):
        weigh(store, [(blades[0], 42_000, 100)], scale=scale)


def test_a_scale_out_of_date_weighs_nothing(store: Store) -> None:
    blades = blades_on_shelf(store, CW_BLADE, 1, at=after(1))
    with pytest.raises(Refused) as refused:
        weigh(store, [(blades[0], 42_000, 100)], minute=60 * 24 * 400)
    assert refused.value.rules == {"R19"}


# ---- one-piece rotors --------------------------------------------------------------------------


def one_piece(store: Store, residual: int, uncertainty: int, **more: Any) -> str:
    change_part(store, minute=2, blades_per_rotor=1)
    blade = blades_on_shelf(store, CW_BLADE, 1, at=after(3), pairs=False)[0]
    done = matching.make_set_of_one(
        store, rotor=blade, scale=SCALE, residual_g_um=residual, uncertainty_g_um=uncertainty, by=CLERK, at=after(4), **more
    )  # fmt: skip
    return done.codes[0]


def test_a_one_piece_rotor_is_a_set_of_one_with_its_own_balance_proof(store: Store) -> None:
    made = the_set(store, one_piece(store, 4000, 1000))
    with store.reading() as read:
        record = read.get(MatchRecord, made.match_record_id or 0)
    assert (record.method, record.residual_g_um, record.uncertainty_g_um) == ("measured", 4000, 1000)
    assert set_integrity(store).sound == 1


@pytest.mark.parametrize(("residual", "uncertainty"), [(4001, 1000), (0, 5001), (6000, 0)])
def test_a_one_piece_rotor_outside_its_tolerance_is_refused(
    store: Store, residual: int, uncertainty: int
) -> None:
    with pytest.raises(Refused) as refused:
        one_piece(store, residual, uncertainty)
    assert refused.value.rules == {"R19"}


@pytest.mark.parametrize("changes", [{"tolerance_g_um": None}, {"tolerance_source": ""}])
def test_a_one_piece_rotor_without_a_tolerance_and_its_source_is_not_proved(
    store: Store, changes: dict[str, Any]
) -> None:
    change_part(store, **changes)
    with pytest.raises(Refused, match="has no tolerance with its source") as refused:
        one_piece(store, 0, 0)
    assert refused.value.rules == {"R19"}


def test_a_stand_out_of_calibration_proves_no_one_piece_rotor(store: Store) -> None:
    with store.act("calibrated until yesterday", by=MANAGER, at=after(1)) as act:
        act.update(act.get(Tool, 2), calibrated_until_on="2026-03-01")
    with pytest.raises(Refused, match="out of calibration since 2026-03-01") as refused:
        one_piece(store, 0, 0)
    assert refused.value.rules == {"R19"}


def test_a_maker_may_vouch_for_a_one_piece_rotor(store: Store) -> None:
    change_part(store, minute=2, blades_per_rotor=1)
    rotors = blades_on_shelf(store, CW_BLADE, 2, at=after(3), pairs=False)  # neither has a pair to belong to
    made = the_set(store, pair(store, rotors[:1]))
    with store.reading() as read:
        assert read.get(MatchRecord, made.match_record_id or 0).source == "invented maker's sheet 1"


def test_a_two_blade_rotor_is_no_set_of_one(store: Store) -> None:
    blade = blades_on_shelf(store, CW_BLADE, 1, at=after(3))[0]
    with pytest.raises(Refused) as refused:
        matching.make_set_of_one(
            store, rotor=blade, scale=SCALE, residual_g_um=0, uncertainty_g_um=0, by=CLERK, at=after(4)
        )
    assert refused.value.rules == {"R1"}


# ---- breaking ----------------------------------------------------------------------------------


def broken(store: Store, code: str, *, minute: int = 30, by: str = CLERK, **more: Any) -> tuple[str, ...]:
    return matching.break_set(
        store, rotor_set=code, reason="blade cracked", by=by, at=after(minute), **more
    ).codes


def test_a_broken_set_is_dead_and_its_blades_are_orphans_on_hold(store: Store) -> None:
    (code,) = sets_on_shelf(store, CW_BLADE, 1, at=after(1))
    orphans = broken(store, code)
    made = the_set(store, code)
    with store.reading() as read:
        conditions = [slot_of_piece(read, i).condition for i in (1, 2)]
        cages = {chain(read, slot_of_piece(read, i).place_id)[0].kind for i in (1, 2)}
        place = read.get(Place, made.place_id)
    assert (made.state, made.condition, place.active) == ("broken", "on hold", 0)
    assert (conditions, cages) == (["on hold", "on hold"], {"hold cage"})
    assert tuple(o.code for o in set_integrity(store).orphans) == orphans


def test_a_damaged_blade_comes_out_unserviceable(store: Store) -> None:
    (code,) = sets_on_shelf(store, CW_BLADE, 1, at=after(1))
    with store.reading() as read:
        first = read.get(Piece, 1).code
    broken(store, code, damaged=[first])
    with store.reading() as read:
        assert [slot_of_piece(read, i).condition for i in (1, 2)] == ["unserviceable", "on hold"]


def test_breaking_takes_a_reason_and_happens_once(store: Store) -> None:
    one, two = sets_on_shelf(store, CW_BLADE, 2, at=after(1))
    with pytest.raises(BadInput):
        matching.break_set(store, rotor_set=one, reason=" ", by=CLERK, at=after(30))
    with store.reading() as read:
        of_two = read.get(Piece, 3).code
    with pytest.raises(BadInput):
        broken(store, one, damaged=[of_two])
    with pytest.raises(Refused) as refused:
        broken(store, one, by=AUDITOR)
    assert refused.value.rules == {"role"}
    broken(store, one)
    with pytest.raises(Refused) as refused:
        broken(store, one, minute=31)
    assert refused.value.rules == {"R1"}
    assert the_set(store, two).state == "complete"


def test_what_is_evidence_is_not_broken(store: Store) -> None:
    (code,) = sets_on_shelf(store, CW_BLADE, 1, at=after(1))
    hold = holding.place_hold(
        store,
        scope=holding.Scope(code=code),
        reason="x",
        reference="",
        by=CLERK,
        at=after(2),
        is_evidence=True,
    ).codes[0]
    with pytest.raises(Refused) as refused:
        broken(store, code)
    assert refused.value.rules == {"R10"}
    holding.release_hold(store, hold=hold, reference="r", reason="done", by=MANAGER, at=after(31))
    broken(store, code, minute=32)


def test_a_hold_on_a_set_stays_on_each_of_its_blades(store: Store) -> None:
    (code,) = sets_on_shelf(store, CW_BLADE, 1, at=after(1))
    holding.place_hold(store, scope=holding.Scope(code=code), reason="x", reference="", by=CLERK, at=after(2))
    orphans = broken(store, code)
    with pytest.raises(Refused) as refused:
        inspecting.reinspect_pieces(
            store, findings=[PieceFinding(orphans[0], "R")], by=INSPECTOR, at=after(31)
        )
    assert refused.value.rules == {"R6"}


def test_orphans_are_matched_again_only_after_an_inspection_and_by_measurement(store: Store) -> None:
    (code,) = sets_on_shelf(store, CW_BLADE, 1, at=after(1))
    with store.act("time in service", by=MANAGER, at=after(2)) as act:
        act.update(act.get(RotorSet, 1), used_minutes=90, used_flights=4, used_since_on="2026-01-05")
    orphans = broken(store, code)
    weigh(store, [(o, 42_000, 100) for o in orphans], minute=31)
    assert measured_refused(store, orphans, minute=32, at_place=BENCH).rules == {"R6"}
    findings = [PieceFinding(o, mark="R") for o in orphans]
    with pytest.raises(Refused) as refused:
        inspecting.reinspect_pieces(store, findings=findings, by=CLERK, at=after(33))
    assert refused.value.rules == {"role"}
    inspecting.reinspect_pieces(store, findings=findings, by=INSPECTOR, at=after(33))
    assert pair_refused(store, orphans, minute=34, at_place=BENCH) == {"R19"}
    made = the_set(store, measured(store, orphans, minute=35, at_place=BENCH))
    assert (made.used_minutes, made.used_flights, made.used_since_on, made.rematches) == (
        90,
        4,
        "2026-01-05",
        1,
    )
    assert made.code != code


def test_a_new_set_takes_the_life_of_the_blade_that_served_longest_and_unknown_stays_unknown(
    store: Store,
) -> None:
    one, two = sets_on_shelf(store, CW_BLADE, 2, at=after(1))
    with store.act("time in service", by=MANAGER, at=after(2)) as act:
        act.update(act.get(RotorSet, 1), used_minutes=90, used_flights=None, used_since_on="2026-02-01")
        act.update(
            act.get(RotorSet, 2),
            used_minutes=30,
            used_flights=7,
            rematches=2,
            history_known=0,
            used_since_on="2026-01-01",
        )
    mixed = (broken(store, one)[0], broken(store, two, minute=31)[0])
    weigh(store, [(o, 42_000, 100) for o in mixed], minute=32)
    findings = [PieceFinding(o, mark="R") for o in mixed]
    inspecting.reinspect_pieces(store, findings=findings, by=INSPECTOR, at=after(33))
    done = matching.make_set_by_measurement(
        store, blades=mixed, one_stop=True, at_place=BENCH, by=CLERK, at=after(34)
    )
    assert done.said[1:] == (
        "Its blades were in sets before; it carries the service of the one that served longest.",
        "Put its label on it.",
    )
    made = the_set(store, done.codes[0])
    assert made.used_since_on == "2026-01-01"  # the older of both
    assert (made.used_minutes, made.used_flights, made.rematches, made.history_known) == (90, None, 3, 0)


# ---- proved anew -------------------------------------------------------------------------------


def test_a_set_is_proved_anew_without_being_taken_apart(store: Store) -> None:
    (code,) = sets_on_shelf(store, CW_BLADE, 1, at=after(1))
    with store.reading() as read:
        blades = [read.get(Piece, i).code for i in (1, 2)]
    with pytest.raises(Refused) as refused:
        matching.prove_set(store, rotor_set=code, one_stop=True, by=CLERK, at=after(5))
    assert refused.value.rules == {"R19"}
    weigh(store, [(b, 42_000, 100) for b in blades])
    matching.prove_set(store, rotor_set=code, one_stop=True, tape="none", by=CLERK, at=after(11))
    with store.reading() as read:
        record = read.get(MatchRecord, the_set(store, code).match_record_id or 0)
    assert (record.method, record.residual_g_um) == ("measured", 0)
    assert set_integrity(store).sound == 1
    broken(store, code)
    with pytest.raises(Refused) as refused:
        matching.prove_set(store, rotor_set=code, one_stop=True, by=CLERK, at=after(31))
    assert "R1" in refused.value.rules


def test_a_set_whose_blades_lie_too_far_apart_is_not_proved_anew(store: Store) -> None:
    (code,) = sets_on_shelf(store, CW_BLADE, 1, at=after(1))
    proof = the_set(store, code).match_record_id
    with store.reading() as read:
        blades = [read.get(Piece, i).code for i in (1, 2)]
    weigh(store, [(blades[0], 42_000, 100), (blades[1], 42_100, 100)])
    with pytest.raises(Refused, match=f"^R19: {code}: No match") as refused:
        matching.prove_set(store, rotor_set=code, one_stop=True, by=CLERK, at=after(11))
    assert refused.value.rules == {"R19"}
    assert the_set(store, code).match_record_id == proof


def test_a_set_in_a_kit_is_not_proved_anew(store: Store) -> None:
    stock_up(store, at=after(1))
    with store.act("weighed before", by=MANAGER, at=after(2)) as act:
        for blade in act.select(Piece, "sense IS NOT NULL"):
            act.update(blade, mass_ug=42_000_000, moment_g_um=4_200_000, weighed_with_id=2)
    kit = sealed_kit(store, at=after(3))
    with store.reading() as read:
        code = read.get(RotorSet, 1).code
    with pytest.raises(Refused, match=f"is in kit {kit}; open the kit first") as refused:
        matching.prove_set(store, rotor_set=code, one_stop=True, by=CLERK, at=after(4))
    assert refused.value.rules == {"R5"}


def test_blades_are_proved_anew_in_the_order_in_which_they_stand_without_their_hub(store: Store) -> None:
    hub = hubs(store)[0]
    blades = blades_on_shelf(store, CW_BLADE, 2, at=after(3), pairs=False)
    weigh(store, [(b, 42_000, 100) for b in blades])
    code = measured(store, blades[::-1], hub=hub)
    matching.prove_set(store, rotor_set=code, one_stop=True, by=CLERK, at=after(21))
    with store.reading() as read:
        record = the_set(store, code).match_record_id
        readings = read.select(MatchReading, "match_record_id = ?", record)
        assert [read.get(Piece, r.piece_id).code for r in readings] == list(blades[::-1])


def test_a_blade_brings_the_service_of_the_last_set_that_it_was_in(store: Store) -> None:
    one, two = sets_on_shelf(store, CW_BLADE, 2, at=after(1))
    with store.act("time in service", by=MANAGER, at=after(2)) as act:
        act.update(act.get(RotorSet, 1), used_minutes=90, used_flights=9)
        act.update(act.get(RotorSet, 2), used_minutes=30, used_flights=3)
    blades = (*broken(store, one), *broken(store, two, minute=31))
    weigh(store, [(b, 42_000, 100) for b in blades], minute=32)
    findings = [PieceFinding(b, mark="R") for b in blades]
    inspecting.reinspect_pieces(store, findings=findings, by=INSPECTOR, at=after(33))
    mixed = measured(store, (blades[0], blades[2]), minute=34, at_place=BENCH)
    with store.act("it flew", by=MANAGER, at=after(35)) as act:
        act.update(act.get(RotorSet, 3), used_minutes=200, used_flights=20)
    again = broken(store, mixed, minute=36)
    inspecting.reinspect_pieces(
        store, findings=[PieceFinding(b, mark="R") for b in again], by=INSPECTOR, at=after(37)
    )
    made = the_set(store, measured(store, (blades[1], again[1]), minute=38, at_place=BENCH))
    assert (made.used_minutes, made.used_flights, made.rematches) == (200, 20, 2)


def test_blades_of_two_parts_are_told_by_name(store: Store) -> None:
    cw = blades_on_shelf(store, CW_BLADE, 2, at=after(1))
    ccw = blades_on_shelf(store, CCW_BLADE, 2, at=after(2))
    with pytest.raises(
        Refused, match=f"{ccw[0]} is not of part {CW_BLADE}; a set has one part number"
    ) as refused:
        pair(store, (cw[0], ccw[0]))
    assert "R2" in refused.value.rules
    with pytest.raises(BadInput, match=f"{cw[1]}"):
        pair(store, (cw[1], cw[1]))


def test_a_set_of_blades_that_lie_apart_is_made_where_somebody_says(store: Store) -> None:
    here = blades_on_shelf(store, CW_BLADE, 1, at=after(1), pairs=False)
    there = blades_on_shelf(store, CW_BLADE, 1, at=after(2), place=BIN, kind="bin", pairs=False)
    weigh(store, [(b, 42_000, 100) for b in (*here, *there)])
    founding.add_place(store, kind="bench", name="Bench 2", site=SITE, by=MANAGER, at=after(11))
    with pytest.raises(BadInput, match="name the bench or the bin"):
        measured(store, (*here, *there))
    code = measured(store, (*here, *there), at_place="Bench 2")
    with store.reading() as read:
        assert chain(read, the_set(store, code).place_id)[1].name == "Bench 2"


# ---- the proposal ------------------------------------------------------------------------------


def proposal(store: Store, *, one_stop: bool = True, minute: int = 50) -> PairingProposal:
    return propose_pairing(store, part=CW_BLADE, at=after(minute), one_stop=one_stop)


def test_the_best_pairing_is_proposed_and_every_proposed_set_can_be_made(store: Store) -> None:
    blades = blades_on_shelf(store, CW_BLADE, 5, at=after(1), pairs=False)
    masses = (42_000, 42_060, 42_010, 42_055, 43_000)
    weigh(store, [(code, mg, 100) for code, mg in zip(blades, masses, strict=True)])
    found = proposal(store)
    assert [set(s.keys) for s in found.lots[0].pairing.sets] == [
        {blades[0], blades[2]},
        {blades[1], blades[3]},
    ]
    assert [s.key for s in found.lots[0].pairing.singles] == [blades[4]]
    for minute, one in enumerate(found.lots[0].pairing.sets, start=20):
        measured(store, one.keys, minute=minute)
    assert proposal(store).sets == 0


def test_the_tolerance_is_used_only_as_far_as_the_uncertainty_leaves_it(store: Store) -> None:
    blades = blades_on_shelf(store, CW_BLADE, 2, at=after(1), pairs=False)
    weigh(store, [(blades[0], 42_000, 100), (blades[1], 42_046, 100)])
    assert proposal(store).sets == 0
    weigh(store, [(blades[1], 42_045, 100)], minute=11)
    assert proposal(store).sets == 1
    assert proposal(store, one_stop=False).sets == 0


def test_lots_are_paired_apart_unless_the_part_mixes_them(store: Store) -> None:
    one = blades_on_shelf(store, CW_BLADE, 1, at=after(1), lot_code="A", pairs=False)
    two = blades_on_shelf(store, CW_BLADE, 1, at=after(2), lot_code="B", pairs=False)
    weigh(store, [(code, 42_000, 100) for code in one + two])
    assert proposal(store).sets == 0
    change_part(store, minute=20, mixes_lots=1)
    assert (proposal(store).sets, len(proposal(store).lots[0].lots)) == (1, 2)


def test_what_is_left_out_of_the_proposal_says_why(store: Store) -> None:
    blades = blades_on_shelf(store, CW_BLADE, 4, at=after(1), pairs=False)
    weigh(store, [(code, 42_000, 100) for code in blades[1:]])
    finding = PieceFinding(blades[1], mark="R", result="rejected", note="nick")
    inspecting.reinspect_pieces(store, findings=[finding], by=CLERK, at=after(11))
    holding.place_hold(
        store, scope=holding.Scope(code=blades[2]), reason="x", reference="", by=CLERK, at=after(12)
    )
    assert proposal(store).left_out == (
        (blades[0], "not weighed"), (blades[1], "unserviceable"), (blades[2], "on hold"),
    )  # fmt: skip


def test_a_blade_in_a_cage_or_a_van_is_put_in_a_bin_before_it_is_matched(store: Store) -> None:
    blades = blades_on_shelf(store, CW_BLADE, 2, at=after(1), pairs=False)
    weigh(store, [(code, 42_000, 100) for code in blades])
    moving.move_things(store, things=[MoveSpec(blades[0])], to=VAN, by=CLERK, at=after(11))
    assert proposal(store).sets == 0
    assert proposal(store).left_out == ((blades[0], f"it lies in {VAN}: put it in a bin first"),)


@pytest.mark.parametrize(
    ("number", "changes"),
    [("NO-SUCH", {}), (SCREW, {}), (CW_BLADE, {"tolerance_g_um": None}), (CW_BLADE, {"blades_per_rotor": 1})],
)
def test_what_can_not_be_paired_is_told(store: Store, number: str, changes: dict[str, Any]) -> None:
    blades_on_shelf(store, CW_BLADE, 1, at=after(1))
    if changes:
        change_part(store, minute=2, **changes)
    with pytest.raises((BadInput, NotFound)):
        propose_pairing(store, part=number, at=after(50))


def test_a_new_mark_table_does_not_unmake_a_reading(store: Store) -> None:
    blades = blades_on_shelf(store, CW_BLADE, 2, at=after(1))
    with store.act("a new table", by=MANAGER, at=after(2)) as act:
        act.insert(PartMark(part_id=1, revision=2, mark="R2", sense="CW"))
        act.update(act.get(Part, 1), mark_revision=2)
    pair(store, blades)
