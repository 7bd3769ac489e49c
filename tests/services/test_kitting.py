"""Building, checking, sealing and dissolving kits, seen through the kit query and the store's own rows."""

import re
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from kittrack.errors import BadInput, Conflict, NotFound, Refused
from kittrack.queries.kits import KitView, kit_view, kits
from kittrack.queries.verify import verify
from kittrack.services import founding, holding, jobs, kit_settings, kitting, picking, sealing
from kittrack.services.coverage import Coverage
from kittrack.services.holding import Scope
from kittrack.services.sealing import Counted
from kittrack.store.database import Store
from kittrack.store.kit_facts import stock_facts
from kittrack.store.records import (
    Airframe,
    ApprovedPart,
    HubFixing,
    KitListLine,
    Part,
    Place,
    Position,
    ReceiptLine,
    Reservation,
    RotorSet,
    SenseMap,
    SenseMapLine,
    TypePosition,
    TypeRevision,
)
from tests.factories import (
    BENCH,
    BIN,
    BIN2,
    BUILDER,
    CCW_BLADE,
    CLERK,
    CW_BLADE,
    LOCKER,
    MANAGER,
    SCREW,
    TAIL,
    TAIL2,
    TECHNICIAN,
    VAN,
    WASHER,
    after,
    assert_conserved,
    put_bottle,
    put_in_stock,
    put_sets,
    sealed_kit,
    stock_up,
)


def build(store: Store, minute: int = 5, **how: Any) -> str:
    where: dict[str, Any] = {} if "airframe" in how else {"revision": "QA A"}
    return kitting.build_kit(store, bench=BENCH, by=BUILDER, at=after(minute), **where, **how).codes[0]


def view(store: Store, kit: str, minute: int = 90) -> KitView:
    return kit_view(store, kit=kit, at=after(minute))


def shelf(store: Store, number: str, place: str = BIN) -> int:
    with store.reading() as read:
        found = stock_facts(
            read, "t.number = ? AND h.place_id = (SELECT id FROM place WHERE name = ?)", number, place
        )
    return sum(f.quantity for f in found)


def dry(store: Store) -> None:
    """Let the hubs of the type take no threadlocker."""
    with store.act("dry hubs", by=MANAGER, at=after(2)) as act:
        for fixing in act.select(HubFixing):
            act.update(fixing, locker_part_id=None, locker_ul_per_screw=0)


# ---- building ------------------------------------------------------------------------------------


def test_a_shelf_kit_gets_its_computed_lines_and_is_picked(store: Store) -> None:
    stock_up(store, at=after(1))
    kit = build(store)
    seen = view(store, kit)
    lines = [(line.kind, line.sense, line.part, line.needed, line.have) for line in seen.lines]
    # worked example computed by hand: 4 hubs of 4 screws and washers, 16 x 0.05 mL; the bottle goes along
    assert lines == [
        ("rotor set", "CW", CW_BLADE, 2, 2),
        ("rotor set", "CCW", CCW_BLADE, 2, 2),
        ("screw", "", SCREW, 16, 16),
        ("washer", "", WASHER, 16, 16),
        ("threadlocker", "", LOCKER, 800, 10_000),
    ]
    assert (seen.state, seen.revision, seen.positions) == ("building", "QA A", ("FR", "RL", "FL", "RR"))
    assert seen.against == ()
    assert seen.next_step.startswith("let another person check it")
    assert shelf(store, SCREW) == 24
    assert_conserved(store)


@pytest.mark.parametrize(
    ("choice", "sets", "screws"),
    [
        (Coverage("arm", ("FR",)), {"CCW": 1}, 4),
        (Coverage("group", ("front",)), {"CCW": 1, "CW": 1}, 8),
        (Coverage("named", ("RR", "3")), {"CW": 2}, 8),  # 3 is the alias of FL
    ],
)
def test_a_kit_may_cover_an_arm_a_group_or_a_list(
    store: Store, choice: Coverage, sets: dict[str, int], screws: int
) -> None:
    stock_up(store, at=after(1))
    seen = view(store, build(store, positions=choice))
    assert {line.sense: line.needed for line in seen.lines if line.kind == "rotor set"} == sets
    assert next(line.needed for line in seen.lines if line.kind == "screw") == screws


@pytest.mark.parametrize(
    "choice",
    [Coverage("arm", ("XX",)), Coverage("group", ("left",)), Coverage("named", ()), Coverage("some")],
)
def test_positions_that_the_revision_does_not_have_are_told(store: Store, choice: Coverage) -> None:
    with pytest.raises(BadInput):
        build(store, positions=choice)


def test_a_kit_names_a_revision_or_an_airframe(store: Store) -> None:
    with pytest.raises(BadInput):
        kitting.build_kit(store, bench=BENCH, by=BUILDER, at=after(1))
    with pytest.raises(NotFound):
        kitting.build_kit(store, bench=BENCH, by=BUILDER, at=after(1), revision="QA Z")
    with pytest.raises(NotFound):
        kitting.build_kit(store, bench=BIN, by=BUILDER, at=after(1), revision="QA A")
    with pytest.raises(Refused) as refused:
        kitting.build_kit(store, bench=BENCH, by=TECHNICIAN, at=after(1), revision="QA A")
    assert refused.value.rules == {"role"}


def turn_over(store: Store, minute: int, names: dict[str, str], tail: str = TAIL) -> None:
    """Give an airframe a new map, as the catalogue does it, with other senses for some positions."""
    with store.act("change the map", by=MANAGER, at=after(minute)) as act:
        frame = act.find(Airframe, tail=tail)
        assert frame is not None
        old = act.get(SenseMap, frame.sense_map_id or 0)
        new = act.insert(
            SenseMap(
                airframe_id=frame.id, revision=old.revision + 1, source="test", verified_event_id=act.event_id,
                event_id=act.event_id,
            )
        )  # fmt: skip
        for line in act.select(SenseMapLine, "sense_map_id = ?", old.id):
            name = act.get(Position, line.position_id).name
            act.insert(
                SenseMapLine(
                    sense_map_id=new.id, position_id=line.position_id, sense=names.get(name, line.sense)
                )
            )
        act.update(frame, sense_map_id=new.id)
        for position in act.select(TypePosition):
            for part in act.select(Part, "kind = 'blade'"):
                if not act.find(ApprovedPart, type_position_id=position.id, part_id=part.id):
                    act.insert(ApprovedPart(type_position_id=position.id, part_id=part.id))


def test_a_kit_for_an_airframe_follows_its_own_map(store: Store) -> None:
    stock_up(store, at=after(1), sets=3)
    turn_over(store, 2, {"FR": "CW"})  # one motor re-wired: three CW and one CCW
    seen = view(store, build(store, airframe=TAIL))
    assert {line.sense: line.needed for line in seen.lines if line.kind == "rotor set"} == {"CW": 3, "CCW": 1}
    assert seen.airframe == TAIL


def test_an_airframe_without_a_sense_for_a_position_gets_no_kit(store: Store) -> None:
    with store.act("take the map away", by=MANAGER, at=after(1)) as act:
        frame = act.find(Airframe, tail=TAIL)
        assert frame is not None
        act.update(frame, sense_map_id=None)
    with pytest.raises(Refused) as refused:
        build(store, airframe=TAIL)
    assert refused.value.rules == {"R17"}


def test_a_position_without_an_approved_part_stops_the_kit(store: Store) -> None:
    with store.act("withdraw an approval", by=MANAGER, at=after(1)) as act:
        for row in act.select(ApprovedPart, limit=1):
            act.update(row, active=0)
    with pytest.raises(Refused) as refused:
        build(store)
    assert refused.value.rules == {"R6"}


def test_extras_of_the_kit_list_come_along(store: Store) -> None:
    stock_up(store, at=after(1))
    with store.act("add to the kit list", by=MANAGER, at=after(2)) as act:
        washer, revision = act.find(Part, number=WASHER), act.find(TypeRevision, name="A")
        assert washer is not None
        assert revision is not None
        act.insert(KitListLine(type_revision_id=revision.id, part_id=washer.id, quantity=1, per="hub"))
    seen = view(store, build(store))
    assert [(x.needed, x.have) for x in seen.lines if x.kind == "extra"] == [(4, 4)]


# ---- picking -------------------------------------------------------------------------------------


def test_the_earliest_expiry_goes_first_then_the_earliest_receipt(store: Store) -> None:
    late = put_sets(store, CW_BLADE, 2, at=after(1), lot_code="B1", expires_on="2028-01-01")
    early = put_sets(store, CW_BLADE, 1, at=after(2), lot_code="B2", expires_on="2027-01-01")
    seen = view(store, build(store, positions=Coverage("named", ("FL", "RR"))))
    assert seen.lines[0].things == (early[0], late[0])


def test_what_is_not_fit_for_issue_is_never_picked(store: Store) -> None:
    held, worn, loose, expired, good = (
        put_sets(store, CW_BLADE, 1, at=after(1), lot_code=f"B{n}", expires_on=day)[0]
        for n, day in enumerate((None, None, None, "2026-03-01", None))
    )
    holding.place_hold(
        store, scope=Scope(code=held), reason="nick", reference="", by=CLERK, at=after(2)
    )  # fmt: skip
    with store.act("spoil two sets", by=CLERK, at=after(2)) as act:
        one, two = act.find(RotorSet, code=worn), act.find(RotorSet, code=loose)
        assert one is not None
        assert two is not None
        act.update(one, used_minutes=300 * 60)
        act.update(two, match_record_id=None)
    seen = view(store, build(store, positions=Coverage("named", ("FL", "RR"))))
    assert seen.lines[0].things == (good,)
    assert seen.lines[0].short == 1
    assert expired not in seen.lines[0].things


def test_a_short_kit_is_begun_said_to_be_short_and_can_not_be_checked(store: Store) -> None:
    put_sets(store, CW_BLADE, 2, at=after(1))
    put_sets(store, CCW_BLADE, 2, at=after(1))
    put_in_stock(store, SCREW, 8, at=after(1))  # one pack of eight for four hubs of four
    put_in_stock(store, WASHER, 16, at=after(1))
    put_bottle(store, volume_ul=5000, at=after(1), expires_on="2026-12-31")
    done = kitting.build_kit(store, bench=BENCH, by=BUILDER, at=after(2), revision="QA A")
    assert any("Short: screw SC-M3x8, 8 of 16" in text for text in done.said)
    (kit,) = done.codes
    with pytest.raises(Refused) as refused:
        sealing.check_kit(store, kit=kit, by=CLERK, at=after(3))
    assert refused.value.rules == {"R4"}
    assert "16 needed (4 hubs of 4), 8 in the kit, short by 8" in str(refused.value)
    assert [r.rule for r in view(store, kit).against] == ["R4"]

    put_in_stock(store, SCREW, 7, at=after(4), lot_code="S-7")
    picking.pick_missing(store, kit=kit, by=BUILDER, at=after(5))
    assert view(store, kit).lines[2].short == 4  # seven of another lot serve one hub, not two
    put_in_stock(store, SCREW, 1, at=after(6), lot_code="S-7")
    picking.pick_missing(store, kit=kit, by=BUILDER, at=after(7))
    assert view(store, kit).lines[2].short == 0  # 3 and 1 of one lot, though of two receipt lines
    sealing.check_kit(store, kit=kit, by=CLERK, at=after(8))
    assert_conserved(store)


def test_a_bottle_with_less_than_the_dose_stays_and_the_next_goes_along(store: Store) -> None:
    put_bottle(store, volume_ul=700, at=after(1), expires_on="2026-05-01")
    full = put_bottle(store, volume_ul=900, at=after(1), expires_on="2026-06-01", lot_code="TL-2")
    seen = view(store, build(store))
    assert seen.lines[-1].things == (full,)


def test_swapping_takes_one_thing_out_and_the_next_in(store: Store) -> None:
    stock_up(store, at=after(1))
    spare = put_in_stock(store, SCREW, 40, at=after(2), lot_code="S-2")
    kit = build(store)
    first = view(store, kit).lines[2].things[0]
    picking.swap_pick(store, kit=kit, out=first, reason="bag torn", to_bin=BIN2, by=BUILDER, at=after(6))
    assert view(store, kit).lines[2].things == (spare,)
    assert shelf(store, SCREW, BIN2) == 16
    picking.swap_pick(
        store, kit=kit, out=spare, reason="back", to_bin=BIN2, take=first, by=BUILDER, at=after(7)
    )
    assert view(store, kit).lines[2].things == (first,)
    assert_conserved(store)


def test_a_swap_that_can_not_take_what_it_names_changes_nothing(store: Store) -> None:
    stock_up(store, at=after(1))
    kit = build(store)
    inside = view(store, kit).lines[0].things[0]
    other = put_sets(store, CCW_BLADE, 1, at=after(6), lot_code="B9")[0]
    with pytest.raises(Refused) as refused:
        picking.swap_pick(
            store, kit=kit, out=inside, reason="nick", to_bin=BIN, take=other, by=BUILDER, at=after(7)
        )
    assert refused.value.rules == {"R6"}
    assert view(store, kit).lines[0].things[0] == inside
    with pytest.raises(NotFound):
        picking.swap_pick(store, kit=kit, out=other, reason="nick", to_bin=BIN, by=BUILDER, at=after(8))
    with pytest.raises(BadInput):
        picking.swap_pick(store, kit=kit, out=kit, reason="nick", to_bin=BIN, by=BUILDER, at=after(8))


def test_what_is_swapped_out_for_a_hold_goes_to_the_hold_cage(store: Store) -> None:
    stock_up(store, at=after(1), sets=3)
    kit = build(store)
    bad, screws = view(store, kit).lines[0].things[0], view(store, kit).lines[2].things[0]
    for code in (bad, screws):
        holding.place_hold(store, scope=Scope(code=code), reason="x", reference="", by=CLERK, at=after(6))
    assert {r.rule for r in view(store, kit).against} == {"R6"}
    put_in_stock(store, SCREW, 16, at=after(6), lot_code="S-3")
    for code in (bad, screws):
        picking.swap_pick(store, kit=kit, out=code, reason="held", to_bin=BIN, by=BUILDER, at=after(7))
    assert view(store, kit).against == ()
    with store.reading() as read:
        caged = stock_facts(read, "h.place_id = (SELECT id FROM place WHERE kind = 'hold cage')")
        rotor = read.find(RotorSet, code=bad)
        assert rotor is not None
        where = read.value(
            "SELECT p.kind FROM containment c JOIN place p ON p.id = c.inside_id WHERE c.container_id = ?",
            rotor.place_id,
        )
    assert [(c.line_code, c.quantity, c.condition) for c in caged] == [(screws, 16, "on hold")]
    assert where == "hold cage"


# ---- check and seal ------------------------------------------------------------------------------


def test_builder_and_checker_differ(store: Store) -> None:
    stock_up(store, at=after(1))
    kit = build(store)
    with pytest.raises(Refused) as refused:
        sealing.check_kit(store, kit=kit, by=BUILDER, at=after(6))
    assert refused.value.rules == {"R8"}
    sealing.check_kit(store, kit=kit, by=CLERK, at=after(7))
    assert view(store, kit).state == "checked"


def test_a_second_person_checks_and_seals_while_the_builder_is_signed_on(store: Store) -> None:
    stock_up(store, at=after(1))
    kit = build(store)
    sealing.check_kit(store, kit=kit, second=CLERK, by=BUILDER, at=after(6))
    sealing.seal_kit(store, kit=kit, seal="004417", second=CLERK, by=BUILDER, at=after(7))
    assert view(store, kit).checked_by == CLERK
    with store.reading() as read:
        events = read.rows(
            "SELECT e.act, b.name, s.name FROM event e JOIN person b ON b.id = e.by_id "
            "JOIN person s ON s.id = e.second_id WHERE e.act IN ('check a kit', 'seal a kit') ORDER BY e.id"
        )
    assert events == [("check a kit", BUILDER, CLERK), ("seal a kit", BUILDER, CLERK)]
    assert verify(store).faults == ()


def test_a_builder_is_no_checker_whoever_is_signed_on(store: Store) -> None:
    stock_up(store, at=after(1))
    kit = build(store)
    day = after(0).date()
    founding.declare_alone(
        store, person=BUILDER, from_on=day, until_on=day, reason="sick", by=MANAGER, at=after(5)
    )
    for by, second, said in (
        (BUILDER, BUILDER, f"{BUILDER} can't be the second person for an act of their own"),
        (CLERK, BUILDER, f"{CLERK} is there, so nobody is alone (R8)"),
        (CLERK, CLERK, f"{CLERK} can't be the second person for an act of their own"),
    ):
        with pytest.raises(Refused, match=re.escape(said)) as refused:
            sealing.check_kit(store, kit=kit, second=second, by=by, at=after(6))
        assert [str(r.rule) for r in refused.value.refusals] == ["R8"]
    assert view(store, kit).state == "building"


def test_a_builder_who_is_not_alone_is_no_checker_as_the_second_person_either(store: Store) -> None:
    stock_up(store, at=after(1))
    kit = build(store)
    with pytest.raises(Refused, match="of their own work; let another person do it") as refused:
        sealing.check_kit(store, kit=kit, second=BUILDER, by=CLERK, at=after(6))
    assert refused.value.rules == {"R8"}


def test_a_kit_is_checked_once_and_put_away_only_with_its_seal(store: Store) -> None:
    stock_up(store, at=after(1))
    kit = build(store)
    sealing.check_kit(store, kit=kit, by=CLERK, at=after(6))
    with pytest.raises(Refused) as refused:
        sealing.check_kit(store, kit=kit, by=CLERK, at=after(7))
    assert refused.value.rules == {"R5"}
    with pytest.raises(Refused) as refused:
        sealing.put_away_kit(store, kit=kit, to_place=BIN2, by=CLERK, at=after(8))
    assert refused.value.rules == {"R5"}
    assert view(store, kit).where == BENCH


def test_a_motor_that_was_turned_since_the_kit_was_built_stops_its_check_and_its_seal(store: Store) -> None:
    stock_up(store, at=after(1))
    kit = build(store, airframe=TAIL)
    turn_over(store, 6, {"FR": "CW"})
    with pytest.raises(Refused) as refused:
        sealing.check_kit(store, kit=kit, by=CLERK, at=after(7))
    assert refused.value.rules == {"R7"}
    turn_over(store, 8, {"FR": "CCW"})
    sealing.check_kit(store, kit=kit, by=CLERK, at=after(9))
    turn_over(store, 10, {"FL": "CCW"})
    with pytest.raises(Refused) as refused:
        sealing.seal_kit(store, kit=kit, seal="1", by=CLERK, at=after(11))
    assert refused.value.rules == {"R7"}


def test_who_checks_or_seals_as_the_second_person_has_a_role_for_it(store: Store) -> None:
    stock_up(store, at=after(1))
    kit = build(store)
    with pytest.raises(Refused) as refused:
        sealing.check_kit(store, kit=kit, second=TECHNICIAN, by=BUILDER, at=after(6))
    assert refused.value.rules == {"role"}
    sealing.check_kit(store, kit=kit, second=CLERK, by=BUILDER, at=after(7))
    with pytest.raises(Refused) as refused:
        sealing.seal_kit(store, kit=kit, seal="1", second=TECHNICIAN, by=BUILDER, at=after(8))
    assert refused.value.rules == {"role"}
    with pytest.raises(Refused) as refused:
        sealing.seal_kit(store, kit=kit, seal="1", second=BUILDER, by=BUILDER, at=after(9))
    assert refused.value.rules == {"R8"}


def test_who_swapped_a_thing_is_a_builder_too(store: Store) -> None:
    stock_up(store, at=after(1), sets=3)
    kit = build(store)
    picking.swap_pick(
        store,
        kit=kit,
        out=view(store, kit).lines[0].things[0],
        reason="nick",
        to_bin=BIN2,
        by=CLERK,
        at=after(6),
    )
    with pytest.raises(Refused) as refused:
        sealing.check_kit(store, kit=kit, by=CLERK, at=after(7))
    assert refused.value.rules == {"R8"}


def test_declared_alone_the_same_person_re_inspects_and_it_is_recorded_as_such(store: Store) -> None:
    stock_up(store, at=after(1))
    kit = build(store)
    day = after(0).date()
    founding.declare_alone(
        store, person=BUILDER, from_on=day, until_on=day, reason="sick", by=MANAGER, at=after(6)
    )
    done = sealing.check_kit(store, kit=kit, by=BUILDER, at=after(7))
    assert any("re-inspection" in text for text in done.said)
    with store.reading() as read:
        statements = read.value("SELECT statements FROM event WHERE id = ?", done.event)
    assert '"re-inspection"' in statements


def test_the_checker_s_count_must_agree(store: Store) -> None:
    stock_up(store, at=after(1))
    kit = build(store)
    with pytest.raises(Refused) as refused:
        sealing.check_kit(store, kit=kit, by=CLERK, at=after(6), counted=(Counted(3, 15), Counted(4, 16)))
    assert refused.value.rules == {"R4"}
    for rank in (0, 6):
        with pytest.raises(BadInput, match=f"has the lines 1 to 5, none {rank}"):
            sealing.check_kit(store, kit=kit, by=CLERK, at=after(6), counted=(Counted(rank, 1),))
    everything = (Counted(1, 2), Counted(2, 2), Counted(3, 16), Counted(4, 16), Counted(5, 10_000))
    sealing.check_kit(store, kit=kit, by=CLERK, at=after(7), counted=everything)


def test_a_sealed_kit_expires_with_its_earliest_content(store: Store) -> None:
    stock_up(store, at=after(1))  # the bottle ends on 2026-12-31
    kit = build(store)
    sealing.check_kit(store, kit=kit, by=CLERK, at=after(6))
    done = sealing.seal_kit(store, kit=kit, seal="12", by=CLERK, at=after(7))
    assert done.said == (f"{kit} is sealed with 12, good until 2026-12-31; label it and put it away.",)
    assert (view(store, kit).state, view(store, kit).expires_on) == ("sealed", "2026-12-31")


def test_a_kit_of_which_nothing_expires_is_sealed_without_expiry(store: Store) -> None:
    stock_up(store, at=after(1))
    dry(store)
    kit = build(store)
    sealing.check_kit(store, kit=kit, by=CLERK, at=after(6))
    done = sealing.seal_kit(store, kit=kit, seal="12", by=CLERK, at=after(7))
    assert done.said == (f"{kit} is sealed with 12, without expiry; label it and put it away.",)
    assert view(store, kit).expires_on == ""


def test_a_seal_number_is_used_once_even_on_a_dead_kit(store: Store) -> None:
    stock_up(store, at=after(1), sets=4)
    put_bottle(store, volume_ul=5000, at=after(1), expires_on="2026-12-31")
    kit = sealed_kit(store, at=after(5), seal="7")
    kitting.dissolve_kit(store, kit=kit, reason="test", to_bin=BIN, by=CLERK, at=after(6))
    other = build(store, 7)
    sealing.check_kit(store, kit=other, by=CLERK, at=after(8))
    with pytest.raises(Refused) as refused:
        sealing.seal_kit(store, kit=other, seal="7", by=CLERK, at=after(9))
    assert refused.value.rules == {"R5"}


def test_a_hold_or_an_expiry_after_the_check_stops_the_seal_and_a_swap_opens_it_again(store: Store) -> None:
    stock_up(store, at=after(1), sets=3)
    kit = build(store)
    sealing.check_kit(store, kit=kit, by=CLERK, at=after(6))
    bad = view(store, kit).lines[0].things[0]
    holding.place_hold(store, scope=Scope(code=bad), reason="x", reference="", by=CLERK, at=after(7))
    with pytest.raises(Refused) as refused:
        sealing.seal_kit(store, kit=kit, seal="8", by=CLERK, at=after(8))
    assert refused.value.rules == {"R6"}
    picking.swap_pick(store, kit=kit, out=bad, reason="held", to_bin=BIN, by=BUILDER, at=after(9))
    assert view(store, kit).state == "building"
    sealing.check_kit(store, kit=kit, by=CLERK, at=after(10))
    with pytest.raises(Refused) as refused:
        sealing.seal_kit(store, kit=kit, seal="8", by=CLERK, at=after(60 * 24 * 320))  # beyond 2026-12-31
    assert refused.value.rules == {"R13"}


def test_an_unchecked_kit_is_not_sealed_and_a_sealed_one_not_changed(store: Store) -> None:
    stock_up(store, at=after(1))
    kit = build(store)
    with pytest.raises(Refused) as refused:
        sealing.seal_kit(store, kit=kit, seal="9", by=CLERK, at=after(6))
    assert refused.value.rules == {"R5"}
    sealing.check_kit(store, kit=kit, by=CLERK, at=after(7))
    sealing.seal_kit(store, kit=kit, seal="9", by=CLERK, at=after(8))
    with pytest.raises(Refused) as refused:
        picking.pick_missing(store, kit=kit, by=BUILDER, at=after(9))
    assert refused.value.rules == {"R5"}


def test_a_held_kit_goes_to_the_hold_cage_only(store: Store) -> None:
    stock_up(store, at=after(1))
    kit = sealed_kit(store, at=after(5))
    holding.place_hold(store, scope=Scope(code=kit), reason="x", reference="", by=CLERK, at=after(6))
    with pytest.raises(Refused) as refused:
        sealing.put_away_kit(store, kit=kit, to_place=VAN, by=CLERK, at=after(7))
    assert refused.value.rules == {"R6"}
    sealing.put_away_kit(store, kit=kit, to_place="hold cage Home", by=CLERK, at=after(8))
    assert view(store, kit).where == "hold cage Home"
    with pytest.raises(BadInput):
        sealing.put_away_kit(store, kit=kit, to_place="hold cage Home", by=CLERK, at=after(9))


@pytest.mark.parametrize("line", [0, 2, 4], ids=["set", "screws", "bottle"])
def test_a_kit_with_anything_on_hold_goes_to_the_hold_cage_only(store: Store, line: int) -> None:
    stock_up(store, at=after(1))
    kit = sealed_kit(store, at=after(5))
    held = view(store, kit).lines[line].things[0]
    holding.place_hold(store, scope=Scope(code=held), reason="x", reference="", by=CLERK, at=after(6))
    with pytest.raises(Refused) as refused:
        sealing.put_away_kit(store, kit=kit, to_place=BIN, by=CLERK, at=after(7))
    assert refused.value.rules == {"R6"}
    sealing.put_away_kit(store, kit=kit, to_place="hold cage Home", by=CLERK, at=after(8))


def test_a_kit_whose_set_lost_its_proof_goes_to_the_hold_cage_only(store: Store) -> None:
    stock_up(store, at=after(1))
    kit = sealed_kit(store, at=after(5))
    with store.act("tighten a tolerance", by=MANAGER, at=after(6)) as act:
        part = act.find(Part, number=CW_BLADE)
        assert part is not None
        act.update(part, tolerance_g_um=1000)
    with pytest.raises(Refused) as refused:
        sealing.put_away_kit(store, kit=kit, to_place=BIN, by=CLERK, at=after(7))
    assert refused.value.rules == {"R19"}


# ---- dissolving and settings ---------------------------------------------------------------------


def test_a_dissolved_kit_gives_everything_back_and_its_number_is_dead(store: Store) -> None:
    stock_up(store, at=after(1))
    kit = sealed_kit(store, at=after(5))
    kitting.dissolve_kit(store, kit=kit, reason="not needed", to_bin=BIN, by=CLERK, at=after(6))
    assert (shelf(store, SCREW), shelf(store, WASHER), shelf(store, LOCKER)) == (40, 40, 10_000)
    assert view(store, kit).state == "dissolved"
    with pytest.raises(Refused) as refused:
        sealing.seal_kit(store, kit=kit, seal="11", by=CLERK, at=after(7))
    assert refused.value.rules == {"R5"}
    again = view(store, build(store, 8))
    assert again.against == ()
    assert_conserved(store)


def test_a_kit_in_a_van_comes_back_before_it_is_dissolved(store: Store) -> None:
    stock_up(store, at=after(1))
    kit = sealed_kit(store, at=after(5))
    sealing.put_away_kit(store, kit=kit, to_place=VAN, by=CLERK, at=after(6))
    with pytest.raises(Refused, match=f"is in {VAN} .van.; bring it back to the stores") as refused:
        kitting.dissolve_kit(store, kit=kit, reason="x", to_bin=BIN, seal="0001", by=CLERK, at=after(7))
    assert refused.value.rules == {"R5"}
    assert len(refused.value.refusals) == 1
    sealing.put_away_kit(store, kit=kit, to_place=BIN2, by=CLERK, at=after(8))
    with pytest.raises(Refused, match="The seal read on") as refused:
        kitting.dissolve_kit(store, kit=kit, reason="x", to_bin=BIN, seal="0002", by=CLERK, at=after(9))
    assert refused.value.rules == {"R5"}
    kitting.dissolve_kit(store, kit=kit, reason="x", to_bin=BIN, seal="0001", by=CLERK, at=after(10))


def test_dissolving_takes_a_reason_ends_what_was_kept_and_happens_once(store: Store) -> None:
    stock_up(store, at=after(1))
    job = jobs.open_job(store, airframe=TAIL, purpose="x", by=TECHNICIAN, at=after(2)).codes[0]
    kit = sealed_kit(store, at=after(5))
    jobs.reserve(store, job=job, thing=kit, until=after(0).date(), by=CLERK, at=after(6))
    with pytest.raises(BadInput, match="reason"):
        kitting.dissolve_kit(store, kit=kit, reason=" ", to_bin=BIN, by=CLERK, at=after(7))
    kitting.dissolve_kit(store, kit=kit, reason="x", to_bin=BIN, by=CLERK, at=after(8))
    with store.reading() as read:
        place = read.find(Place, code=kit)
        assert place is not None
        assert (place.active, place.closed) == (0, 0)
        assert [r.state for r in read.select(Reservation)] == ["released"]
    with pytest.raises(Refused) as refused:
        kitting.dissolve_kit(store, kit=kit, reason="x", to_bin=BIN, by=CLERK, at=after(9))
    assert refused.value.rules == {"R5"}


def test_a_kit_is_kept_as_long_as_the_longest_kept_of_the_sets_that_went_into_it(store: Store) -> None:
    stock_up(store, at=after(1), sets=4)
    job = jobs.open_job(store, airframe=TAIL, purpose="x", by=TECHNICIAN, at=after(2)).codes[0]
    day = after(0).date()
    with store.reading() as read:
        codes = [one.code for one in read.select(RotorSet)]
    for code, days in zip((*codes[:2], *codes[4:6]), (3, 9, 5, 1), strict=True):
        jobs.reserve(store, job=job, thing=code, until=day + timedelta(days=days), by=CLERK, at=after(3))
    kit = build(store, airframe=TAIL, job=job)
    assert view(store, kit).reserved == (f"{kit} for {job} until {day + timedelta(days=9)}",)


def test_what_a_kit_lacks_is_told_with_the_way_out_of_it(store: Store) -> None:
    put_in_stock(store, WASHER, 40, at=after(1))
    done = kitting.build_kit(store, revision="QA A", bench=BENCH, by=BUILDER, at=after(5))
    short = [text for text in done.said if text.startswith("Short: ")]
    assert [text.partition("; ")[2] for text in short] == [
        "order it, or pick it when it is there.",
        "order it, or pick it when it is there.",
        "order it, or pick it when it is there.",
        "open a bottle that is on the shelf, or order one, then pick it.",
    ]
    stock_up(store, at=after(6))
    assert picking.pick_missing(store, kit=done.codes[0], by=BUILDER, at=after(7)).said != ()
    again = picking.pick_missing(store, kit=done.codes[0], by=BUILDER, at=after(8))
    assert again.said == (f"{done.codes[0]} lacks nothing; let another person check it.",)
    with pytest.raises(BadInput, match="reason"):
        picking.swap_pick(
            store, kit=done.codes[0], out=done.codes[0], reason=" ", to_bin=BIN, by=BUILDER, at=after(9)
        )


def change_settings(store: Store, minute: int, **changes: int) -> None:
    with store.act("change a setting", by=MANAGER, at=after(minute)) as act:
        revision = act.find(TypeRevision, name="A")
        assert revision is not None
        act.update(revision, settings_revision=revision.settings_revision + 1)
        if changes:
            fixing = act.row("SELECT id FROM hub_fixing")
            assert fixing is not None
            from kittrack.store.records import HubFixing

            act.update(act.get(HubFixing, fixing[0]), **changes)


def test_changed_settings_stop_a_kit_until_it_is_checked_against_them(store: Store) -> None:
    stock_up(store, at=after(1))
    kit = build(store)
    change_settings(store, 6)
    with pytest.raises(Refused) as refused:
        sealing.check_kit(store, kit=kit, by=CLERK, at=after(7))
    assert refused.value.rules == {"R21"}
    kit_settings.confirm_settings(store, kit=kit, by=CLERK, at=after(8))
    sealing.check_kit(store, kit=kit, by=CLERK, at=after(9))


def test_a_kit_that_would_be_built_otherwise_now_is_refused(store: Store) -> None:
    stock_up(store, at=after(1))
    kit = build(store)
    change_settings(store, 6, screws_per_hub=6)
    with pytest.raises(Refused) as refused:
        kit_settings.confirm_settings(store, kit=kit, by=CLERK, at=after(8))
    assert refused.value.rules == {"R21"}


def test_an_act_that_was_done_is_not_done_twice(store: Store) -> None:
    stock_up(store, at=after(1), sets=4)
    kitting.build_kit(store, bench=BENCH, by=BUILDER, at=after(5), revision="QA A", key="k1")
    with pytest.raises(Conflict):
        kitting.build_kit(store, bench=BENCH, by=BUILDER, at=after(6), revision="QA A", key="k1")


def test_the_closed_place_of_a_checked_kit_lets_nothing_out(store: Store) -> None:
    stock_up(store, at=after(1))
    kit = build(store)
    sealing.check_kit(store, kit=kit, by=CLERK, at=after(6))
    with store.reading() as read:
        place = read.find(Place, code=kit)
        assert place is not None
        assert place.closed == 1
        assert read.select(ReceiptLine)


def test_a_kit_for_an_airframe_takes_its_own_revision_and_a_job_of_its_own(store: Store) -> None:
    stock_up(store, at=after(1))
    with store.act("another revision", by=MANAGER, at=after(2)) as act:
        first = act.find(TypeRevision, name="A")
        assert first is not None
        act.insert(TypeRevision(airframe_type_id=first.airframe_type_id, name="B", source="test"))
    with pytest.raises(BadInput):
        build(store, airframe=TAIL, revision="QA B")
    job = jobs.open_job(store, airframe=TAIL2, purpose="x", by=TECHNICIAN, at=after(6)).codes[0]
    with pytest.raises(Refused) as refused:
        build(store, 7, airframe=TAIL, job=job)
    assert refused.value.rules == {"R7"}
    jobs.close_job(store, job=job, reason="x", by=TECHNICIAN, at=after(8))
    with pytest.raises(Refused) as refused:
        build(store, 9, job=job)
    assert refused.value.rules == {"R11"}
    build(store, 10, airframe=TAIL, revision="QA A")


def test_settings_that_took_a_position_or_its_part_away_end_the_kit(store: Store) -> None:
    stock_up(store, at=after(1))
    kit = build(store)
    with store.act("rename a position", by=MANAGER, at=after(6)) as act:
        for row in act.select(ApprovedPart, limit=1):
            act.update(row, active=0)
    with pytest.raises(Refused) as refused:
        kit_settings.confirm_settings(store, kit=kit, by=CLERK, at=after(7))
    assert refused.value.rules == {"R6", "R21"}


def test_single_doses_come_in_whole_packs(store: Store) -> None:
    with store.act("buy single doses", by=MANAGER, at=after(1)) as act:
        locker = act.find(Part, number=LOCKER)
        assert locker is not None
        act.update(locker, single_dose=1, pack_quantity=500)
    put_in_stock(store, LOCKER, 1500, at=after(2), expires_on="2026-12-31")
    seen = view(store, build(store))
    # worked example computed by hand: 0.8 mL takes two doses of 0.5 mL
    assert [(x.needed, x.have, x.packs) for x in seen.lines if x.kind == "threadlocker"] == [(1000, 1000, 2)]


def test_what_is_to_be_used_up_goes_first_where_it_suffices(store: Store) -> None:
    stock_up(store, at=after(1))
    with store.act("supersede", by=MANAGER, at=after(2)) as act:
        old = act.find(Part, number=CW_BLADE)
        assert old is not None
        new = act.insert(replace(old, id=0, number="RB-18-CW-2"))
        act.update(old, superseded_how="use up", superseded_by_id=new.id)
        for row in act.select(ApprovedPart, "part_id = ?", old.id):
            act.insert(ApprovedPart(type_position_id=row.type_position_id, part_id=new.id))
    assert view(store, build(store)).lines[0].part == CW_BLADE  # the old ones suffice
    assert view(store, build(store, 6)).lines[0].part == "RB-18-CW-2"  # none left: order the new one


def test_no_kit_is_built_of_a_rotor_part_that_is_superseded_for_safety(store: Store) -> None:
    stock_up(store, at=after(1))
    with store.act("supersede", by=MANAGER, at=after(2)) as act:
        old = act.find(Part, number=CW_BLADE)
        assert old is not None
        act.update(old, superseded_how="safety")
    with pytest.raises(Refused) as refused:
        build(store)
    assert refused.value.rules == {"R6"}
    assert [r.message for r in refused.value.refusals if "No CW rotor part is approved" in r.message]
    with store.act("its successor", by=MANAGER, at=after(6)) as act:
        new = act.insert(replace(old, id=0, number="RB-18-CW-2", superseded_how=""))
        for row in act.select(ApprovedPart, "part_id = ?", old.id):
            act.insert(ApprovedPart(type_position_id=row.type_position_id, part_id=new.id))
    assert view(store, build(store, 7)).lines[0].part == "RB-18-CW-2"  # short rather than of the old ones


def test_kits_are_listed_by_state(store: Store) -> None:
    stock_up(store, at=after(1), sets=4)
    first, second = build(store), build(store, 6)
    kitting.dissolve_kit(store, kit=first, reason="x", to_bin=BIN, by=CLERK, at=after(7))
    assert [k.code for k in kits(store, at=after(8))] == [second]
    assert [k.code for k in kits(store, state="dissolved", at=after(8))] == [first]
    for wrong in ("K000999-X", "Y000001-X"):
        with pytest.raises((NotFound, BadInput)):
            view(store, wrong)
