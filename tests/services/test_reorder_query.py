"""What was used and what to order: from issues in whole sets, in whole packs, the senses kept level."""

from datetime import date
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from kittrack.domain.dates import Expiry
from kittrack.domain.demand import OrderLine, propose_order
from kittrack.errors import BadInput
from kittrack.queries.reorder import Proposal, ProposedLine, reorder_proposal
from kittrack.queries.usage import Usage, usage_by_month
from kittrack.services import holding, issuing, jobs, ordering, receiving, returning, set_breaking
from kittrack.services.booking import LineSpec
from kittrack.services.holding import Scope
from kittrack.services.ordering import OrderSpec
from kittrack.store.database import Store
from kittrack.store.records import ApprovedPart, Company, Job, Part, ReceiptLine, RotorSet
from tests.aircraft_scene import Scene
from tests.factories import (
    BIN,
    CCW_BLADE,
    CLERK,
    CW_BLADE,
    LOCKER,
    MANAGER,
    SCREW,
    TAIL,
    TAIL2,
    TECHNICIAN,
    WASHER,
    after,
    blades_on_shelf,
    put_in_stock,
    put_sets,
    sealed_kit,
    stock_up,
)

DAY = 24 * 60


def issue_a_kit(store: Store, minute: int, *, seal: str = "77", tail: str = TAIL) -> str:
    """Stock up, build, seal and issue a kit to a job that is then over; answers with the kit."""
    stock_up(store, at=after(minute))
    kit = sealed_kit(store, at=after(minute + 1), seal=seal)
    job = jobs.open_job(store, airframe=tail, purpose="worn", by=CLERK, at=after(minute + 2)).codes[0]
    issuing.issue_kit(store, kit=kit, job=job, seal=seal, receiver=TECHNICIAN, by=CLERK, at=after(minute + 3))
    with store.act("end the job", by=CLERK, at=after(minute + 4)) as act:
        found = act.find(Job, code=job)
        assert found is not None
        act.update(found, state="closed")
    return kit


def used(store: Store, minute: int, **how: Any) -> dict[tuple[str, str], Usage]:
    return {(u.month, u.part): u for u in usage_by_month(store, at=after(minute), **how)}


def proposals(store: Store, minute: int, **how: Any) -> dict[str, Proposal]:
    found = reorder_proposal(store, at=after(minute), everything=True, **how)
    return {p.group.partition(" (")[0]: p for p in found}


def rotors(store: Store, minute: int, **how: Any) -> tuple[Proposal, dict[str, ProposedLine]]:
    found = proposals(store, minute, **how)["rotor sets of QA A"]
    return found, {line.part: line for line in found.lines}


# ---- usage -----------------------------------------------------------------------------------------


def test_nothing_was_used_at_first(store: Store) -> None:
    assert usage_by_month(store, at=after(1)) == ()


def test_an_issue_counts_in_whole_sets_and_pieces(store: Store) -> None:
    issue_a_kit(store, 1)
    found = used(store, DAY)
    assert (found["2026-03", CW_BLADE].quantity, found["2026-03", CW_BLADE].unit) == (2, "sets")
    assert found["2026-03", CW_BLADE].sense == "CW"
    assert found["2026-03", SCREW].quantity == 16
    assert found["2026-03", SCREW].issues == 1
    assert ("2026-03", LOCKER) not in found, "a bottle goes along and comes back; nothing is consumed yet"
    assert used(store, DAY, part=SCREW).keys() == {("2026-03", SCREW)}
    assert used(store, 70 * DAY, months=2) == {}, "April and May only"
    assert len(used(store, 70 * DAY, months=3)) == len(found)


def test_a_kit_that_comes_back_was_not_used(store: Store) -> None:
    kit = issue_a_kit(store, 1)
    returning.return_unopened(store, kit=kit, seal="77", to_place=BIN, by=CLERK, at=after(20))
    assert usage_by_month(store, at=after(DAY)) == ()


def test_a_set_broken_in_the_stores_counts_as_one(store: Store) -> None:
    (code,) = put_sets(store, CW_BLADE, 1, at=after(1))
    with store.reading() as read:
        blade = read.value("SELECT code FROM piece ORDER BY id LIMIT 1")
    set_breaking.break_set(
        store, rotor_set=code, damaged=[str(blade)], reason="dropped", by=CLERK, at=after(40 * DAY)
    )
    found = used(store, 41 * DAY)
    assert found.keys() == {("2026-04", CW_BLADE)}
    assert found["2026-04", CW_BLADE].quantity == 1


def test_threadlocker_counts_as_it_is_consumed(store: Store) -> None:
    scene = Scene(store)
    scene.whole("FL", scene.sets[0], "R")
    assert used(store, DAY)["2026-03", LOCKER].quantity == 200, "4 screws of 50 uL"


def test_what_replaced_a_set_at_its_life_limit_is_told_apart(store: Store) -> None:
    scene = Scene(store)
    scene.all_four()
    scene.walk()
    issue_a_kit(store, 200, tail=TAIL2)
    scene.minute = DAY
    scene.fly(minutes=299 * 60, flights=300)
    scene.remove("FL", "R")
    found = used(store, 2 * DAY)
    assert (found["2026-03", CW_BLADE].quantity, found["2026-03", CW_BLADE].for_life) == (2, 1)
    assert found["2026-03", SCREW].for_life == 4


# ---- the proposal ----------------------------------------------------------------------------------


def test_an_empty_store_orders_one_ship_set_of_everything_and_says_why(store: Store) -> None:
    """Nothing was ever asked for: the re-order point is 0, there are 0, so one ship set is proposed (by hand)."""
    found, lines = rotors(store, 1)
    assert (found.is_due, found.ship_sets, found.reorder_at, found.target) == (True, 0, 0, 1)
    assert {part: (line.packs, line.quantity) for part, line in lines.items()} == {
        CW_BLADE: (4, 4),
        CCW_BLADE: (4, 4),
    }
    assert lines[CW_BLADE].expected_on == date(2026, 3, 16)
    assert any("never asked for" in reason for reason in found.reasons)
    every = proposals(store, 1)
    assert (every[SCREW].lines[0].packs, every[SCREW].lines[0].quantity) == (2, 16), "packs of 8"
    assert every[LOCKER].lines[0].quantity == 10_000, "a bottle of 10 mL for 0.8 mL"


def test_a_type_without_an_approved_rotor_part_orders_what_fixes_its_hubs_alone(store: Store) -> None:
    with store.act("nothing is approved", by=MANAGER, at=after(1)) as act:
        for one in act.select(ApprovedPart):
            act.update(one, active=0)
    assert set(proposals(store, 2)) == {SCREW, WASHER, LOCKER}


def test_stock_above_the_point_is_not_ordered(store: Store) -> None:
    stock_up(store, at=after(1))
    assert not any(p.is_due for p in proposals(store, 2).values())
    assert reorder_proposal(store, at=after(2)) == ()


def test_kits_goods_in_orders_and_loose_pairs_all_count(store: Store) -> None:
    stock_up(store, at=after(1))
    sealed_kit(store, at=after(2))
    put_sets(store, CW_BLADE, 1, at=after(3))
    blades_on_shelf(store, CW_BLADE, 5, at=after(4), lot_code="LOOSE", pairs=False)
    ordering.place_order(
        store,
        supplier="Invented Rotors",
        reference="PO",
        lines=[OrderSpec(CW_BLADE, 6)],
        by=MANAGER,
        at=after(6),
    )
    _, lines = rotors(store, 7)
    cw = lines[CW_BLADE]
    # in blades: one loose set, two sets in the kit, two complete pairs of five blades, six on order
    assert (cw.issuable, cw.in_kits, cw.waiting, cw.on_order) == (2, 4, 4, 6)
    assert cw.ship_sets == (1 + 2 + 2 + 3) // 2


def test_what_is_held_or_expires_too_soon_does_not_count(store: Store) -> None:
    line = put_in_stock(store, WASHER, 64, at=after(1))
    put_in_stock(store, LOCKER, 10_000, at=after(2), expires_on="2026-03-10")
    before = proposals(store, 3)
    assert before[WASHER].ship_sets == 4
    # 14 days of lead time: it is good on the 2nd and not on the 16th
    assert (before[LOCKER].ship_sets, before[LOCKER].lines[0].too_short) == (0, 10_000)
    assert any("expires before an order could arrive" in r for r in before[LOCKER].reasons)
    holding.place_hold(store, scope=Scope(code=line), reason="doubt", reference="", by=CLERK, at=after(4))
    assert proposals(store, 5)[WASHER].ship_sets == 0


def test_what_expires_too_soon_is_told_in_the_unit_of_its_part(store: Store) -> None:
    put_in_stock(store, WASHER, 24, at=after(1), expires_on="2026-03-10")
    put_in_stock(store, LOCKER, 2_500, at=after(1), expires_on="2026-03-10")
    put_sets(store, CW_BLADE, 3, at=after(1), expires_on="2026-03-10")
    put_sets(store, CCW_BLADE, 1, at=after(1), expires_on="2026-03-10")
    said = [words for one in proposals(store, 3).values() for words in one.reasons]
    many = "expire before an order could arrive and are not counted."
    one = "expires before an order could arrive and is not counted."
    for words in (f"24 of {WASHER} {many}", f"2.5 mL of {LOCKER} {one}", f"3 sets of {CW_BLADE} {many}", f"1 set of {CCW_BLADE} {one}"):  # fmt: skip
        assert words in said


def test_stock_of_unknown_expiry_waits_until_somebody_finds_it_out(store: Store) -> None:
    line = put_in_stock(store, WASHER, 64, at=after(1))
    with store.act("not on record", by=MANAGER, at=after(2)) as act:
        one = act.find(ReceiptLine, code=line)
        assert one is not None
        act.update(one, expiry_kind="unknown")
    washers = proposals(store, 3)[WASHER].lines[0]
    assert (washers.issuable, washers.waiting) == (0, 64)


def test_screws_count_by_whole_hubs_of_one_lot(store: Store) -> None:
    for minute, (lot, quantity) in enumerate({"A": 10, "B": 7, "C": 15}.items(), start=1):
        put_in_stock(store, SCREW, quantity, lot_code=lot, at=after(minute))
    line = proposals(store, 5)[SCREW].lines[0]
    assert (line.issuable, line.ship_sets) == (32, 1), "8 + 4 + 12 in hubs of 4, 16 a ship set (by hand)"
    assert any("8 of SC-M3x8 are left of lots" in reason for reason in proposals(store, 5)[SCREW].reasons)


def test_demand_lead_time_and_protection_make_the_point(store: Store) -> None:
    """Two ship sets in each of four months, lead time 28 + 7 days: 2.3 expected; scipy gives the point."""
    for month in range(4):
        issue_a_kit(store, month * 31 * DAY + 1, seal=f"A{month}")
        issue_a_kit(store, month * 31 * DAY + 60, seal=f"B{month}")
    ordering.set_supply_terms(
        store,
        part=CW_BLADE,
        supplier="Invented Rotors",
        lead_time_days=28,
        source="offer",
        by=MANAGER,
        at=after(130 * DAY),
    )
    found, _ = rotors(store, 131 * DAY, protection=98)
    assert found.horizon_days == 35
    expected = 2 * 35 / 30.4375
    assert found.expected == pytest.approx(expected, abs=0.005)
    assert found.reorder_at == stats.poisson.ppf(0.98, expected)
    assert found.protection == pytest.approx(100 * stats.poisson.cdf(found.ship_sets, expected), abs=0.1)
    assert any("the mean of 4 months" in reason for reason in found.reasons)
    wider, _ = rotors(store, 131 * DAY, protection=50)
    assert wider.reorder_at < found.reorder_at


def test_lives_that_run_out_add_to_what_is_expected(store: Store) -> None:
    """Four sets of 300 h at 10 h a day run out within the lead time: one ship set more (by hand)."""
    scene = Scene(store)
    scene.all_four()
    scene.minute = 29 * DAY
    scene.fly(minutes=290 * 60, flights=290)
    found, _ = rotors(store, 29 * DAY + 600)
    assert any("take 1 ship sets more" in reason for reason in found.reasons)
    assert found.expected == 1.0
    screws = proposals(store, 29 * DAY + 600)[SCREW]
    assert screws.expected == 1.0, "four hubs of four screws"


def test_a_set_of_unknown_service_is_said_and_not_planned(store: Store) -> None:
    scene = Scene(store)
    scene.all_four()
    scene.change(RotorSet, {"code": scene.sets[0]}, used_minutes=None)
    scene.minute = 29 * DAY
    scene.fly(minutes=290 * 60, flights=290)
    found, _ = rotors(store, 29 * DAY + 600)
    told = "1 fitted set has no record of its service; its replacement is not planned."
    assert told in found.reasons
    scene.change(RotorSet, {"code": scene.sets[1]}, used_minutes=None)
    found, _ = rotors(store, 29 * DAY + 700)
    told = "2 fitted sets have no record of their service; their replacement is not planned."
    assert told in found.reasons


def test_an_unknown_lead_time_is_taken_as_a_month_and_said(store: Store) -> None:
    with store.act("forget", by=MANAGER, at=after(1)) as act:
        company = act.find(Company, name="Invented Rotors")
        assert company is not None
        act.update(company, lead_time_days=None)
    found, lines = rotors(store, 2)
    assert lines[CW_BLADE].lead_time_days is None
    assert found.horizon_days == 37
    assert any("not known and taken as 30 days" in reason for reason in found.reasons)


def test_orders_that_took_longer_than_is_said_lengthen_the_lead_time(store: Store) -> None:
    """The catalogue says 14 days; the one order took 40, and 7 of review are added."""
    code = ordering.place_order(
        store,
        supplier="Invented Rotors",
        reference="PO",
        lines=[OrderSpec(SCREW, 8)],
        by=MANAGER,
        at=after(1),
    ).codes[0]
    line = LineSpec(SCREW, 8, "L", expiry=Expiry.unlimited(), order=code)
    receiving.receive(
        store, supplier="Invented Rotors", reference="DN", lines=[line], by=CLERK, at=after(40 * DAY)
    )
    found = proposals(store, 41 * DAY)[SCREW]
    assert found.horizon_days == 47
    assert any("40 days of lead time (1 orders took 40 days on average)" in r for r in found.reasons)
    assert proposals(store, 41 * DAY)[WASHER].horizon_days == 21


def test_a_part_that_nobody_supplies_is_told(store: Store) -> None:
    with store.act("forget", by=MANAGER, at=after(1)) as act:
        for company in act.select(Company):
            act.update(company, is_supplier=0)
    found, lines = rotors(store, 2)
    assert lines[CW_BLADE].supplier == ""
    assert any("Nobody is known to supply RB-18-CW" in reason for reason in found.reasons)


def test_the_successor_of_a_superseded_part_is_ordered(store: Store) -> None:
    with store.act("supersede", by=MANAGER, at=after(1)) as act:
        part = act.find(Part, number=CW_BLADE)
        assert part is not None
        fresh = act.insert(Part(number="RB-18-CW2", maker_id=part.maker_id, name="new", kind="blade", paper_class="rotor", sense="CW", blades_per_rotor=2))  # fmt: skip
        for row in act.select(ApprovedPart, "part_id = ?", part.id):
            act.insert(ApprovedPart(type_position_id=row.type_position_id, part_id=fresh.id))
        act.update(part, superseded_how="use up", superseded_by_id=fresh.id)
    found, lines = rotors(store, 2)
    assert set(lines) == {"RB-18-CW2", CCW_BLADE}
    assert any("RB-18-CW serves some of the same positions" in reason for reason in found.reasons)


@pytest.mark.parametrize(
    "how", [{"protection": 49}, {"protection": 100}, {"cover_days": -1}, {"review_days": 366}]
)
def test_figures_that_can_not_be_are_refused(store: Store, how: dict[str, Any]) -> None:
    with pytest.raises(BadInput):
        reorder_proposal(store, at=after(1), **how)


# ---- the senses ------------------------------------------------------------------------------------


@settings(max_examples=300)
@given(
    needed=st.tuples(st.integers(1, 6), st.integers(1, 6)), have=st.tuples(st.integers(0, 60), st.integers(0, 60)),
    packs=st.tuples(st.integers(1, 5), st.integers(1, 5)), expected=st.floats(0, 12), further=st.integers(1, 8),
)  # fmt: skip
def test_a_proposal_never_unbalances_the_senses(
    needed: tuple[int, int],
    have: tuple[int, int],
    packs: tuple[int, int],
    expected: float,
    further: int,
) -> None:
    """After the order both senses reach the target, and none that was ordered passes it by a pack or more."""
    lines = [OrderLine("CW", needed[0], have[0], packs[0]), OrderLine("CCW", needed[1], have[1], packs[1])]
    order = propose_order(lines, expected=expected, service=0.95, further=further)
    if not order.is_due:
        assert order.lines == ()
        return
    bought = {line.part: line.quantity for line in order.lines}
    for line in lines:
        there = line.have + bought.get(line.part, 0)
        assert there >= order.target * line.per_ship_set
        if line.part in bought:
            assert there < order.target * line.per_ship_set + line.pack_quantity
            assert bought[line.part] % line.pack_quantity == 0
        else:
            assert line.have >= order.target * line.per_ship_set
    gap_before = abs(lines[0].have / needed[0] - lines[1].have / needed[1])
    gap_after = abs(
        (lines[0].have + bought.get("CW", 0)) / needed[0] - (lines[1].have + bought.get("CCW", 0)) / needed[1]
    )
    widest_pack = max(packs[0] / needed[0], packs[1] / needed[1])
    assert gap_after < max(gap_before, 0) + widest_pack + 1e-9


@pytest.mark.parametrize(("cw", "ccw"), [(0, 0), (1, 5), (5, 1), (2, 2), (0, 7), (3, 4)])
def test_the_proposal_of_a_store_levels_the_senses(store: Store, cw: int, ccw: int) -> None:
    if cw:
        put_sets(store, CW_BLADE, cw, at=after(1))
    if ccw:
        put_sets(store, CCW_BLADE, ccw, at=after(2))
    found, lines = rotors(store, 3)
    reach = {
        part: line.ship_sets if not line.packs else (line.issuable + line.quantity) // line.per_ship_set
        for part, line in lines.items()
    }
    assert min(reach.values()) >= (found.target if found.is_due else 1)
    for part, have in ((CW_BLADE, cw), (CCW_BLADE, ccw)):
        assert lines[part].quantity == (max(0, found.target * 4 - have * 2) if found.is_due else 0)
