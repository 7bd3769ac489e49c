"""Orphans and who could re-match them, sets by scale, sets matched again, the trend. Figures by hand."""

from datetime import date

import pytest

from kittrack.domain.measurement import expanded_g_um
from kittrack.queries.integrity import set_integrity
from kittrack.queries.set_health import (
    IntegrityMonth,
    OrphanPartner,
    integrity_trend,
    orphan_partners,
    proofs_by_scale,
    rebalanced_sets,
)
from kittrack.services import disposing, holding, set_breaking
from kittrack.services.holding import Scope
from kittrack.services.moving import MoveSpec
from kittrack.store.database import Store
from kittrack.store.records import MatchRecord, Part, Piece, RotorSet, Tool
from kittrack.store.weighing_facts import setup_of, weighing_of
from tests.factories import CCW_BLADE, CLERK, CW_BLADE, INSPECTOR, MANAGER, after, blades_on_shelf, put_sets

DAY = 24 * 60
LOT = f"BLADES-1-{CW_BLADE}"


def orphan(store: Store, *, minute: int = 1) -> str:
    """A set broken by one damaged blade; answers with the code of the blade that is left."""
    (code,) = put_sets(store, CW_BLADE, 1, at=after(minute))
    with store.reading() as read:
        damaged, left = (r[0] for r in read.rows("SELECT code FROM piece ORDER BY id DESC LIMIT 2"))
    set_breaking.break_set(
        store, rotor_set=code, damaged=[damaged], reason="nick", by=CLERK, at=after(minute + 1)
    )
    return str(left)


def weigh(store: Store, piece: str, moment_g_um: int, *, minute: int, scale: str = "Scale 1") -> None:
    with store.act("weigh", by=CLERK, at=after(minute)) as act:
        found, tool = act.find(Piece, code=piece), act.find(Tool, name=scale)
        assert found is not None
        assert tool is not None
        act.update(found, mass_ug=20_000_000, moment_g_um=moment_g_um, weighed_with_id=tool.id)


def partner_of(store: Store, blade: str) -> OrphanPartner:
    return next(o for o in orphan_partners(store) if o.blade == blade)


def test_a_store_without_orphans_has_none(store: Store) -> None:
    put_sets(store, CW_BLADE, 1, at=after(1))
    assert orphan_partners(store) == ()


def test_both_blades_of_a_broken_set_are_listed_and_the_damaged_one_takes_no_partner(store: Store) -> None:
    left = orphan(store)
    found = {o.blade: o for o in orphan_partners(store)}
    assert len(found) == 2
    assert found[left].says == "no other loose blade of its lot is in the stores"
    damaged = next(o for o in found.values() if o.blade != left)
    assert damaged.condition == "unserviceable"
    assert "scrap it" in damaged.says


def test_a_blade_of_another_lot_or_sense_is_no_partner(store: Store) -> None:
    left = orphan(store)
    blades_on_shelf(store, CW_BLADE, 2, at=after(5), lot_code="OTHER")
    blades_on_shelf(store, CCW_BLADE, 2, at=after(6), lot_code=LOT)
    assert partner_of(store, left).partner == ""
    with store.act("mix", by=MANAGER, at=after(7)) as act:
        part = act.find(Part, number=CW_BLADE)
        assert part is not None
        act.update(part, mixes_lots=1)
    assert partner_of(store, left).partner


def test_an_unweighed_blade_is_to_be_weighed(store: Store) -> None:
    left = orphan(store)
    blades_on_shelf(store, CW_BLADE, 2, at=after(5), lot_code=LOT)
    found = partner_of(store, left)
    assert "is not weighed; weigh it, 2 could be its partner" in found.says
    assert (found.difference_g_um, found.misses_by_g_um) == (None, None)


def test_the_nearest_partner_and_by_how_much_it_misses(store: Store) -> None:
    """Tolerance 5 g mm less the expanded uncertainty of the two is the room; 9 g mm apart misses the rest."""
    left = orphan(store)
    far, farther = blades_on_shelf(store, CW_BLADE, 2, at=after(5), lot_code=LOT)
    weigh(store, left, 2_000_000, minute=6)
    weigh(store, far, 2_009_000, minute=7)
    weigh(store, farther, 1_985_000, minute=8)
    with store.reading() as read:
        tool, one, other = (
            read.find(Tool, name="Scale 1"),
            read.find(Piece, code=left),
            read.find(Piece, code=far),
        )
    assert tool is not None
    assert one is not None
    assert other is not None
    spread = expanded_g_um([weighing_of(one), weighing_of(other)], setup=setup_of(tool, one_stop=False))
    found = partner_of(store, left)
    assert (found.partner, found.difference_g_um) == (far, 9_000)
    assert found.misses_by_g_um == 9_000 - int(max(0.0, 5_000 - spread))
    assert found.says == "too far apart"


def test_two_that_would_match_are_told_with_what_stands_in_the_way(store: Store) -> None:
    left = orphan(store)
    near, _ = blades_on_shelf(store, CW_BLADE, 2, at=after(5), lot_code=LOT)
    with store.act("a fine scale", by=MANAGER, at=after(6)) as act:
        tool, part = act.find(Tool, name="Scale 1"), act.find(Part, number=CW_BLADE)
        assert tool is not None
        assert part is not None
        act.update(tool, resolution_ug=10, uncertainty_ug=20, repeatability_ug=10, ruler_um=1)
    weigh(store, left, 2_000_000, minute=7)
    weigh(store, near, 2_000_500, minute=8)
    found = partner_of(store, left)
    assert (found.misses_by_g_um, found.says) == (
        0,
        "they would match; inspect both, put them in a bin, then match them",
    )
    holding.place_hold(store, scope=Scope(code=near), reason="doubt", reference="", by=CLERK, at=after(9))
    assert f"{near} is held by H" in partner_of(store, left).says
    weigh(store, near, 2_000_500, minute=10, scale="Torque driver 1")
    assert "different scales" in partner_of(store, left).says


def test_two_at_one_stop_of_the_scale_match_where_their_own_radii_are_too_uncertain(store: Store) -> None:
    left = orphan(store)
    (near,) = blades_on_shelf(store, CW_BLADE, 1, at=after(5), lot_code=LOT)
    for code, mass_ug, minute in ((left, 20_000_000, 6), (near, 20_005_000, 7)):
        with store.act("weigh", by=CLERK, at=after(minute)) as act:
            found, tool = act.find(Piece, code=code), act.find(Tool, name="Scale 1")
            assert found is not None
            assert tool is not None
            act.update(found, mass_ug=mass_ug, moment_g_um=mass_ug // 10, weighed_with_id=tool.id)
    found_partner = partner_of(store, left)
    assert found_partner.misses_by_g_um == 0
    assert found_partner.says.startswith("they would match where both rested at one stop of the scale; ")


# ---- sets ------------------------------------------------------------------------------------------


def measured_sets(store: Store, count: int, *, source: str, minute: int = 1) -> list[str]:
    """Sets proved on Scale 1, the proof as `source` tells it."""
    with store.act("prove", by=CLERK, at=after(minute)) as act:
        tool = act.find(Tool, name="Scale 1")
        assert tool is not None
    made = put_sets(store, CW_BLADE, count, at=after(minute))
    with store.act("prove again", by=CLERK, at=after(minute + 1)) as act:
        for code in made:
            one = act.find(RotorSet, code=code)
            assert one is not None
            proof = act.insert(
                MatchRecord(
                    rotor_set_id=one.id, method="measured", source=source, tool_id=tool.id, tolerance_g_um=5000,
                    residual_g_um=1000, uncertainty_g_um=500, event_id=act.event_id,
                )
            )  # fmt: skip
            act.update(one, match_record_id=proof.id)
    return made


@pytest.mark.parametrize(
    ("told", "doubt"),
    [
        ("calibrated until 2026-03-02", ""),
        ("calibrated until 2026-03-01", "out of calibration then"),
        ("calibrated until None", "no calibration on record then"),
    ],
)
def test_a_proof_is_judged_by_the_calibration_of_its_own_day(store: Store, told: str, doubt: str) -> None:
    (code,) = measured_sets(store, 1, source=f"Scale 1 (W000002-7), {told}")
    (line,) = proofs_by_scale(store)
    assert (line.rotor_set, line.doubt, line.proved_on) == (code, doubt, date(2026, 3, 2))
    assert len(proofs_by_scale(store, only_doubtful=True)) == bool(doubt)


def test_a_scale_that_is_later_found_bad_puts_its_sets_in_doubt(store: Store) -> None:
    measured_sets(store, 2, source="Scale 1 (W000002-7), calibrated until 2027-01-31")
    put_sets(store, CCW_BLADE, 1, at=after(5))
    assert [line.doubt for line in proofs_by_scale(store, scale="Scale 1")] == ["", ""]
    assert proofs_by_scale(store, scale="Scale 9") == ()
    with store.reading() as read:
        tool = read.find(Tool, name="Scale 1")
    assert tool is not None
    hold = holding.place_hold(
        store, scope=Scope(code=tool.code), reason="dropped", reference="", by=MANAGER, at=after(6)
    ).codes[0]
    lines = proofs_by_scale(store, only_doubtful=True)
    assert [line.doubt for line in lines] == [f"the scale is held by {hold}: dropped"] * 2
    assert {line.scale_name for line in lines} == {"Scale 1"}


def test_sets_matched_again_and_again_come_first(store: Store) -> None:
    codes = put_sets(store, CW_BLADE, 3, at=after(1))
    assert rebalanced_sets(store) == ()
    with store.act("match again", by=CLERK, at=after(2)) as act:
        for code, times in zip(codes, (1, 2, 3), strict=True):
            one = act.find(RotorSet, code=code)
            assert one is not None
            act.update(one, rematches=times)
    assert [(r.rotor_set, r.rematches) for r in rebalanced_sets(store)] == [(codes[2], 3), (codes[1], 2)]
    assert len(rebalanced_sets(store, at_least=1)) == 3


def test_the_trend_counts_sets_month_by_month(store: Store) -> None:
    orphan(store)
    gone, _ = put_sets(store, CW_BLADE, 2, at=after(40 * DAY))
    disposing.scrap(
        store, things=[MoveSpec(gone)], reason="worn", second=INSPECTOR, by=CLERK, at=after(72 * DAY)
    )
    found = integrity_trend(store, at=after(75 * DAY), months=4)
    assert found == (
        IntegrityMonth("2026-02", 0, 0, 0, 0, 0),
        IntegrityMonth("2026-03", 1, 0, 1, 0, 0),
        IntegrityMonth("2026-04", 2, 0, 0, 0, 2),
        IntegrityMonth("2026-05", 0, 0, 0, 1, 1),
    )
    assert found[-1].whole_at_end == len(set_integrity(store).sets)
