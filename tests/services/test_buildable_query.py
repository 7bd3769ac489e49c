"""Ship sets from real stock: lot purity, dates, holds and the limiting line (the arithmetic is tested in the domain)."""

from datetime import date

import pytest

from kittrack.domain import ship_set_plan
from kittrack.domain.spin import Sense
from kittrack.errors import NotFound
from kittrack.queries.buildable import (
    Buildable,
    BuildableAt,
    buildable,
    buildable_by_place,
    joint_plan,
    worth_telling,
)
from kittrack.queries.issuable_stock import STORES
from kittrack.services import holding, jobs
from kittrack.services.holding import Scope
from kittrack.services.moving import MoveSpec, move_things
from kittrack.store.database import Store
from kittrack.store.records import (
    AirframeType,
    ApprovedPart,
    HubFixing,
    Part,
    ReceiptLine,
    RotorSet,
    TypePosition,
    TypeRevision,
)
from tests.factories import (
    BIN,
    CCW_BLADE,
    CLERK,
    CW_BLADE,
    LOCKER,
    MANAGER,
    SCREW,
    TAIL,
    VAN,
    WASHER,
    after,
    put_in_stock,
    put_sets,
    sealed_kit,
    stock_up,
)


def only(store: Store, minute: int, place: str = "") -> Buildable:
    (answer,) = buildable(store, at=after(minute), place=place)
    return answer


def line(answer: Buildable, word: str) -> tuple[int, int]:
    return next((have, need) for name, have, need in answer.stock if word in name)


def test_an_empty_store_builds_nothing_and_says_what_limits(store: Store) -> None:
    answer = only(store, 1)
    assert answer.ship_sets.count == 0
    assert any("CW rotor sets" in name for name in answer.ship_sets.limiting)
    assert answer.sets_by_sense == ((Sense.CW, 0, 2), (Sense.CCW, 0, 2))


def test_screws_count_by_whole_hubs_of_one_lot(store: Store) -> None:
    """10 + 7 + 15 screws, 4 a hub: 2 + 1 + 3 hubs (worked example computed by hand)."""
    for minute, (lot, quantity) in enumerate({"A": 10, "B": 7, "C": 15}.items()):
        put_in_stock(store, SCREW, quantity, lot_code=lot, at=after(minute))
    answer = only(store, 5)
    assert line(answer, SCREW) == (32, 16)
    assert dict(answer.ship_sets.by_line)[next(n for n, _, _ in answer.stock if SCREW in n)] == 1


def test_stock_of_which_nobody_knows_when_it_expires_is_not_counted(store: Store) -> None:
    unknown = put_in_stock(store, LOCKER, 10_000, at=after(1))
    put_in_stock(store, LOCKER, 5_000, lot_code="NEW", expires_on="2026-12-31", at=after(2))
    assert line(only(store, 3), LOCKER) == (15_000, 800)
    with store.act("its expiry is not on record", by=MANAGER, at=after(4)) as act:
        one = act.find(ReceiptLine, code=unknown)
        assert one is not None
        act.update(one, expiry_kind="unknown")
    assert line(only(store, 5), LOCKER) == (5_000, 800)


def test_held_and_expired_stock_is_not_counted(store: Store) -> None:
    held = put_in_stock(store, WASHER, 16, at=after(1))
    put_in_stock(store, LOCKER, 10_000, expires_on="2026-03-01", at=after(2))
    put_in_stock(store, LOCKER, 5_000, lot_code="NEW", expires_on="2026-03-02", at=after(3))
    assert line(only(store, 4), WASHER) == (16, 16)
    assert line(only(store, 4), LOCKER) == (5_000, 800)
    holding.place_hold(store, scope=Scope(code=held), reason="doubt", reference="", by=CLERK, at=after(5))
    assert line(only(store, 6), WASHER)[0] == 0


def test_counted_single_doses_are_one_for_each_hub_and_a_hub_without_screws_takes_none(store: Store) -> None:
    with store.act("single doses", by=MANAGER, at=after(1)) as act:
        dose, fixing = act.find(Part, number=LOCKER), act.select(HubFixing)[0]
        assert dose is not None
        act.update(dose, single_dose=1, unit="pieces")
    put_in_stock(store, LOCKER, 9, at=after(2))
    assert line(only(store, 3), LOCKER) == (9, 4)
    with store.act("a hub that clips on", by=MANAGER, at=after(4)) as act:
        act.update(act.get(HubFixing, fixing.id), screws_per_hub=0)
    told = " ".join(name for name, _, _ in only(store, 5).stock)
    assert WASHER in told
    assert SCREW not in told
    assert LOCKER not in told  # it is measured by the screw


def test_a_van_is_counted_by_itself(store: Store) -> None:
    put_in_stock(store, SCREW, 16, place=VAN, kind="van", at=after(1))
    assert line(only(store, 2), SCREW)[0] == 0
    assert line(only(store, 2, place=VAN), SCREW)[0] == 16


def at_places(store: Store, minute: int) -> dict[str, BuildableAt]:
    return {one.place: one for one in buildable_by_place(store, at=after(minute))}


def test_an_empty_store_has_a_line_for_the_stores_and_for_each_van(store: Store) -> None:
    answer = at_places(store, 1)
    assert list(answer) == [STORES, VAN]
    assert all((one.ship_sets, one.sealed_kits, one.stranded) == (0, 0, 0) for one in answer.values())


def test_sealed_kits_and_loose_sets_are_told_apart_and_by_place(store: Store) -> None:
    stock_up(store, at=after(1))
    kit = sealed_kit(store, at=after(2))
    before = at_places(store, 3)[STORES]
    assert before.sealed_kits == 1
    move_things(store, things=[MoveSpec(kit)], to=VAN, by=CLERK, at=after(4))
    answer = at_places(store, 5)
    assert (answer[STORES].sealed_kits, answer[VAN].sealed_kits) == (0, 1)
    assert answer[STORES].ship_sets == before.ship_sets
    holding.place_hold(store, scope=Scope(code=kit), reason="doubt", reference="", by=CLERK, at=after(6))
    assert at_places(store, 7)[VAN].sealed_kits == 0


def test_stranded_sets_are_told_by_sense(store: Store) -> None:
    put_sets(store, CW_BLADE, 5, at=after(1))
    put_sets(store, CCW_BLADE, 2, at=after(2))
    one = at_places(store, 3)[STORES]
    assert any("0.8 mL more" in lack for lack in one.one_more_takes), "16 screws of 50 uL"
    # 5 / 2 - 2 / 2 = 1.5 ship sets, 3 sets (by hand)
    assert (one.cw_sets, one.ccw_sets, one.imbalance, one.fuller, one.stranded) == (5, 2, 1.5, Sense.CW, 3)
    put_sets(store, CCW_BLADE, 6, at=after(4))
    one = at_places(store, 5)[STORES]
    assert (one.cw_sets, one.ccw_sets, one.imbalance, one.fuller, one.stranded) == (5, 8, -1.5, Sense.CCW, 3)


def test_the_line_that_counts_by_volume_is_the_threadlocker(store: Store) -> None:
    answer = only(store, 1)
    assert [LOCKER in name for name in answer.volume_lines] == [True]


def test_a_van_is_worth_telling_once_it_carries_anything_of_a_type(store: Store) -> None:
    def told(minute: int) -> list[str]:
        return [one.place for one in worth_telling(buildable_by_place(store, at=after(minute)))]

    assert told(1) == [STORES]
    for number, minute in ((CW_BLADE, 2), (CCW_BLADE, 12)):
        (one,) = put_sets(store, number, 1, at=after(minute))
        move_things(store, things=[MoveSpec(one)], to=VAN, by=CLERK, at=after(minute + 1))
        assert told(minute + 2) == [STORES, VAN]
        move_things(store, things=[MoveSpec(one)], to=BIN, by=CLERK, at=after(minute + 3))
        assert told(minute + 4) == [STORES]
    stock_up(store, at=after(20))
    kit = sealed_kit(store, at=after(21))
    move_things(store, things=[MoveSpec(kit)], to=VAN, by=CLERK, at=after(22))
    assert told(23) == [STORES, VAN]


def test_a_reserved_or_unproved_set_is_not_counted(store: Store) -> None:
    (first, second) = put_sets(store, CW_BLADE, 2, at=after(1))
    assert at_places(store, 2)[STORES].cw_sets == 2
    job = jobs.open_job(store, airframe=TAIL, purpose="worn", by=CLERK, at=after(3)).codes[0]
    jobs.reserve(store, thing=first, job=job, until=date(2026, 3, 9), by=CLERK, at=after(4))
    assert at_places(store, 5)[STORES].cw_sets == 1
    with store.act("forget the proof", by=CLERK, at=after(6)) as act:
        found = act.find(RotorSet, code=second)
        assert found is not None
        act.update(found, match_record_id=None)
    assert at_places(store, 7)[STORES].cw_sets == 0


def second_type(store: Store, minute: int) -> None:
    """A type QB of two positions that takes the same blades and screws as QA."""
    with store.act("add a type", by=MANAGER, at=after(minute)) as act:
        kind = act.insert(AirframeType(name="QB"))
        revision = act.insert(TypeRevision(airframe_type_id=kind.id, name="A", source="invented"))
        parts = {p.number: p.id for p in act.select(Part)}
        fixing = act.insert(
            HubFixing(
                type_revision_id=revision.id, name="hub", screw_part_id=parts[SCREW], screws_per_hub=4, torque_mnm=800
            )
        )  # fmt: skip
        for rank, sense in enumerate(("CW", "CCW"), start=1):
            position = act.insert(
                TypePosition(
                    type_revision_id=revision.id, rank=rank, name=sense, arm=sense, sense=sense, angle_mdeg=0,
                    radius_um=1, hub_fixing_id=fixing.id,
                )
            )  # fmt: skip
            blade = parts[CW_BLADE if sense == "CW" else CCW_BLADE]
            act.insert(ApprovedPart(type_position_id=position.id, part_id=blade))


def test_two_types_that_share_parts_are_planned_together(store: Store) -> None:
    """5 and 5 sets, 2 and 1 of each sense a ship set: QB alone 5; with QA first 2 and then 1 (by hand)."""
    second_type(store, 1)
    put_sets(store, CW_BLADE, 5, at=after(2))
    put_sets(store, CCW_BLADE, 5, at=after(3))
    put_in_stock(store, SCREW, 200, at=after(4))
    put_in_stock(store, WASHER, 200, at=after(5))
    put_in_stock(store, LOCKER, 20_000, expires_on="2027-01-31", at=after(6))
    most = joint_plan(store, at=after(7))
    assert [(s.type_name, s.alone, s.together) for s in most.shares] == [("QA", 2, 0), ("QB", 5, 5)]
    assert most.is_optimal
    assert most.method == "optimal: all types together the most ship sets in total that this stock gives"
    first = joint_plan(store, at=after(7), first=["QA A"])
    assert [(s.type_name, s.together) for s in first.shares] == [("QA", 2), ("QB", 1)]
    assert (first.first, first.total) == (("QA A",), 3)
    assert first.method.startswith("optimal: the types named first as many as they can, the others the most")
    assert joint_plan(store, at=after(7), place=VAN).total == 0
    with pytest.raises(NotFound, match="QA A, QB A"):
        joint_plan(store, at=after(7), first=["QX A"])


def test_a_plan_whose_search_was_cut_short_says_so(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    second_type(store, 1)
    put_sets(store, CW_BLADE, 5, at=after(2))
    put_sets(store, CCW_BLADE, 5, at=after(3))
    put_in_stock(store, SCREW, 200, at=after(4))
    put_in_stock(store, WASHER, 200, at=after(5))
    put_in_stock(store, LOCKER, 20_000, expires_on="2027-01-31", at=after(6))
    monkeypatch.setattr(ship_set_plan, "MOST_CHECKS", 0)
    for first, whom in (((), "all types together"), (("QA A",), "the types named first as many as they can, the others")):  # fmt: skip
        plan = joint_plan(store, at=after(7), first=first)
        assert not plan.is_optimal
        assert plan.method == (
            f"greedy: {whom} at least so many ship sets; the search was cut short, more may be possible"
        )
        assert 0 < plan.total <= 5
