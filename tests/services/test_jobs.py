"""Jobs: opening, reserving, losing, making good, closing."""

from datetime import timedelta
from typing import Any

import pytest

from kittrack.errors import BadInput, Conflict, NotFound, Refused
from kittrack.queries.kits import job_view, kit_view
from kittrack.services import (
    fitting,
    holding,
    issuing,
    jobs,
    kit_settings,
    kitting,
    making_good,
    picking,
    returning,
    sealing,
)
from kittrack.services.coverage import Coverage
from kittrack.services.holding import Scope
from kittrack.services.returning import Leftover
from kittrack.store.database import Store
from kittrack.store.kit_facts import stock_facts
from kittrack.store.records import (
    Airframe,
    Finding,
    HubFixing,
    Job,
    JobPosition,
    Part,
    Reservation,
    RotorSet,
    SenseMap,
    Voucher,
)
from tests.aircraft_scene import TORQUE_TOOL, spot_code
from tests.factories import (
    AUDITOR,
    BENCH,
    BIN,
    BUILDER,
    CCW_BLADE,
    CLERK,
    CW_BLADE,
    INSPECTOR,
    LOCKER,
    MANAGER,
    SCREW,
    T0,
    TAIL,
    TAIL2,
    TECHNICIAN,
    WASHER,
    after,
    assert_conserved,
    finished_kit,
    put_bottle,
    put_in_stock,
    put_sets,
    sealed_kit,
    stock_up,
)

TODAY = T0.date()


def open_one(store: Store, minute: int = 3, tail: str = TAIL, **how: Any) -> str:
    return jobs.open_job(
        store, airframe=tail, purpose="new rotors", by=TECHNICIAN, at=after(minute), **how
    ).codes[0]


def opened(store: Store) -> tuple[str, str]:
    """A job with its kit issued and opened at the aircraft."""
    job, kit = open_one(store), sealed_kit(store, at=after(5))
    issuing.issue_kit(store, kit=kit, job=job, seal="0001", receiver=TECHNICIAN, by=CLERK, at=after(6))
    issuing.open_at_aircraft(store, kit=kit, seal="0001", by=TECHNICIAN, at=after(7))
    return job, kit


def held_by(store: Store, job: str, number: str) -> list[tuple[str, int]]:
    with store.reading() as read:
        found = stock_facts(
            read, "t.number = ? AND h.place_id = (SELECT id FROM place WHERE code = ?)", number, job
        )
    return [(f.line_code, f.quantity) for f in found]


# ---- opening -------------------------------------------------------------------------------------


def test_a_job_covers_the_positions_chosen(store: Store) -> None:
    seen = job_view(store, job=open_one(store, positions=Coverage("group", ("front",))))
    assert [name for name, _ in seen.positions] == ["QA-01 FR", "QA-01 FL"]
    assert (seen.airframe, seen.state, seen.purpose) == (TAIL, "open", "new rotors")


def test_a_position_is_in_one_open_job_at_a_time(store: Store) -> None:
    open_one(store, positions=Coverage("arm", ("FR",)))
    open_one(store, 4, positions=Coverage("arm", ("FL",)))
    with pytest.raises(Refused) as refused:
        open_one(store, 5)
    assert refused.value.rules == {"R11"}
    assert len(refused.value.refusals) == 2
    open_one(store, 6, tail=TAIL2)


def test_no_job_for_an_airframe_that_is_gone_nor_by_an_auditor(store: Store) -> None:
    with store.act("sell", by=MANAGER, at=after(1)) as act:
        frame = act.find(Airframe, tail=TAIL)
        assert frame is not None
        act.update(frame, state="sold")
    with pytest.raises(Refused) as refused:
        jobs.open_job(store, airframe=TAIL, purpose="x", by=AUDITOR, at=after(2))
    assert refused.value.rules == {"R7", "role"}


def test_a_job_and_a_loss_say_why(store: Store) -> None:
    with pytest.raises(BadInput, match="purpose"):
        jobs.open_job(store, airframe=TAIL, purpose=" ", by=TECHNICIAN, at=after(2))
    job = open_one(store)
    with pytest.raises(BadInput, match="reason"):
        jobs.lose(store, job=job, thing=job, reason="", by=TECHNICIAN, at=after(4))
    with pytest.raises(BadInput, match="reason"):
        jobs.close_job(store, job=job, reason=" ", by=TECHNICIAN, at=after(4))


# ---- reserving -----------------------------------------------------------------------------------


def test_a_reserved_set_is_not_picked_for_others_but_for_its_job(store: Store) -> None:
    job = open_one(store)
    put_sets(store, CCW_BLADE, 2, at=after(3))
    first, second = put_sets(store, CW_BLADE, 2, at=after(3))
    jobs.reserve(store, job=job, thing=first, until=TODAY, by=CLERK, at=after(4))
    shelf_kit = kitting.build_kit(store, revision="QA A", bench=BENCH, by=BUILDER, at=after(5)).codes[0]
    assert kit_view(store, kit=shelf_kit, at=after(5)).lines[0].things == (second,)
    picking.pick_missing(store, kit=shelf_kit, job=job, by=BUILDER, at=after(6))
    assert kit_view(store, kit=shelf_kit, at=after(6)).lines[0].things == (second, first)
    with store.reading() as read:
        assert [r.state for r in read.select(Reservation)] == ["used"]


def test_a_kit_built_for_a_job_takes_its_sets_and_is_kept_for_it(store: Store) -> None:
    stock_up(store, at=after(1))
    job = open_one(store)
    with store.reading() as read:
        code = read.select(RotorSet)[0].code
    until = TODAY + timedelta(days=3)
    jobs.reserve(store, job=job, thing=code, until=until, by=CLERK, at=after(4))
    kit = kitting.build_kit(store, airframe=TAIL, job=job, bench=BENCH, by=BUILDER, at=after(5)).codes[0]
    assert kit_view(store, kit=kit, at=after(5)).reserved == (f"{kit} for {job} until {until}",)


def test_a_reservation_ends_with_its_day_or_when_it_is_released(store: Store) -> None:
    stock_up(store, at=after(1))
    job, other, kit = open_one(store), open_one(store, tail=TAIL2), sealed_kit(store, at=after(5))
    jobs.reserve(store, job=other, thing=kit, until=TODAY, by=CLERK, at=after(6))
    with pytest.raises(Refused) as refused:
        issuing.issue_kit(store, kit=kit, job=job, seal="0001", receiver=TECHNICIAN, by=CLERK, at=after(7))
    assert refused.value.rules == {"R6"}
    with pytest.raises(Refused) as refused:
        jobs.reserve(store, job=job, thing=kit, until=TODAY, by=CLERK, at=after(8))
    assert refused.value.rules == {"R6"}
    jobs.release_reservation(store, thing=kit, reason="not today", by=CLERK, at=after(9))
    with pytest.raises(NotFound):
        jobs.release_reservation(store, thing=kit, reason="again", by=CLERK, at=after(9))
    jobs.reserve(store, job=other, thing=kit, until=TODAY, by=CLERK, at=after(10))
    issuing.issue_kit(  # the next day nobody keeps it any more
        store, kit=kit, job=job, seal="0001", receiver=TECHNICIAN, by=CLERK, at=after(60 * 24)
    )


def test_what_can_not_be_reserved_is_told(store: Store) -> None:
    stock_up(store, at=after(1))
    job, kit = open_one(store), sealed_kit(store, at=after(5))
    inside = kit_view(store, kit=kit, at=after(5)).lines[0].things[0]
    with pytest.raises(Refused) as refused:
        jobs.reserve(store, job=job, thing=inside, until=TODAY, by=CLERK, at=after(6))
    assert refused.value.rules == {"R6"}
    with pytest.raises(BadInput):
        jobs.reserve(store, job=job, thing=kit, until=TODAY - timedelta(days=1), by=CLERK, at=after(6))
    with pytest.raises(BadInput):
        jobs.reserve(store, job=job, thing=job, until=TODAY, by=CLERK, at=after(6))
    issuing.issue_kit(store, kit=kit, job=job, seal="0001", receiver=TECHNICIAN, by=CLERK, at=after(7))
    with pytest.raises(Conflict):
        jobs.reserve(store, job=job, thing=kit, until=TODAY, by=CLERK, at=after(8))


def test_a_set_is_reserved_from_the_shelf_while_it_is_fit_and_for_an_open_job(store: Store) -> None:
    (one,) = put_sets(store, CW_BLADE, 1, at=after(1))
    job, done = open_one(store), open_one(store, 4, tail=TAIL2)
    jobs.close_job(store, job=done, reason="cancelled", by=TECHNICIAN, at=after(5))
    hold = holding.place_hold(
        store, scope=Scope(code=one), reason="nick", reference="", by=CLERK, at=after(5)
    ).codes[0]
    for target, rules in ((job, {"R6"}), (done, {"R6", "R11"})):
        with pytest.raises(Refused) as refused:
            jobs.reserve(store, job=target, thing=one, until=TODAY, by=CLERK, at=after(6))
        assert refused.value.rules == rules
    holding.release_hold(store, hold=hold, reference="N-2", reason="polished", by=MANAGER, at=after(7))
    jobs.reserve(store, job=job, thing=one, until=TODAY, by=CLERK, at=after(8))
    jobs.reserve(store, job=job, thing=one, until=TODAY + timedelta(days=1), by=CLERK, at=after(9))  # longer
    with store.reading() as read:
        assert [(r.state, r.until_on) for r in read.select(Reservation)] == [
            ("released", str(TODAY)), ("active", str(TODAY + timedelta(days=1))),
        ]  # fmt: skip
    done_now = jobs.release_reservation(store, thing=one, reason="not today", by=CLERK, at=after(10))
    assert done_now.said == (f"{one} is issuable to any job again.",)
    with store.reading() as read:
        assert {r.state for r in read.select(Reservation)} == {"released"}


def test_a_dead_kit_is_not_reserved(store: Store) -> None:
    stock_up(store, at=after(1))
    job, kit = open_one(store), sealed_kit(store, at=after(5))
    kitting.dissolve_kit(store, kit=kit, reason="x", to_bin=BIN, by=CLERK, at=after(6))
    with pytest.raises(Refused) as refused:
        jobs.reserve(store, job=job, thing=kit, until=TODAY, by=CLERK, at=after(7))
    assert refused.value.rules == {"R5"}


# ---- losing and making good ----------------------------------------------------------------------


def test_a_dropped_screw_is_lost_and_made_good_from_its_own_lot(store: Store) -> None:
    stock_up(store, at=after(1))
    job, _ = opened(store)
    put_in_stock(store, SCREW, 40, at=after(8), lot_code="S-2", expires_on="2026-12-31")  # would go first
    ((line, _),) = held_by(store, job, SCREW)
    jobs.lose(
        store, job=job, thing=line, quantity=1, reason="dropped in the grass", by=TECHNICIAN, at=after(9)
    )
    kit = making_good.build_make_good(store, job=job, bench=BENCH, by=BUILDER, at=after(10)).codes[0]
    seen = kit_view(store, kit=kit, at=after(10))
    assert [(x.kind, x.needed, x.have, x.things) for x in seen.lines] == [("screw", 1, 1, (line,))]
    assert (seen.purpose, seen.job, seen.against) == ("make-good", job, ())
    finished_kit(store, kit, at=after(11), seal="0002")
    issuing.issue_kit(store, kit=kit, job=job, seal="0002", receiver=TECHNICIAN, by=CLERK, at=after(12))
    issuing.open_at_aircraft(store, kit=kit, seal="0002", by=TECHNICIAN, at=after(13))
    assert held_by(store, job, SCREW) == [(line, 16)]
    assert_conserved(store)


def test_without_its_own_lot_a_whole_hub_is_made_good(store: Store) -> None:
    put_sets(store, CW_BLADE, 2, at=after(1))
    put_sets(store, CCW_BLADE, 2, at=after(1))
    put_in_stock(store, SCREW, 16, at=after(1), lot_code="S-1")
    put_in_stock(store, WASHER, 16, at=after(1))
    put_bottle(store, volume_ul=10_000, at=after(1), expires_on="2026-12-31")
    job, _ = opened(store)
    ((line, _),) = held_by(store, job, SCREW)
    jobs.lose(store, job=job, thing=line, quantity=1, reason="dropped", by=TECHNICIAN, at=after(9))
    with pytest.raises(Refused) as refused:
        making_good.build_make_good(store, job=job, bench=BENCH, by=BUILDER, at=after(10))
    assert refused.value.rules == {"R4"}
    put_in_stock(store, SCREW, 16, at=after(11), lot_code="S-2")
    kit = making_good.build_make_good(store, job=job, bench=BENCH, by=BUILDER, at=after(12)).codes[0]
    assert [(x.needed, x.hubs, x.per_hub) for x in kit_view(store, kit=kit, at=after(12)).lines] == [
        (4, 1, 4)
    ]


def test_a_lost_set_and_a_lost_bottle_are_made_good(store: Store) -> None:
    stock_up(store, at=after(1), sets=3)
    put_bottle(store, volume_ul=5000, at=after(1), expires_on="2027-12-31", lot_code="TL-2")
    job, kit = opened(store)
    lines = kit_view(store, kit=kit, at=after(8)).lines
    gone, bottle = lines[0].things[0], lines[4].things[0]
    for thing in (gone, bottle):
        jobs.lose(store, job=job, thing=thing, reason="fell into the sea", by=TECHNICIAN, at=after(9))
    with pytest.raises(NotFound):
        jobs.lose(store, job=job, thing=gone, reason="again", by=TECHNICIAN, at=after(9))
    with pytest.raises(NotFound):
        jobs.lose(store, job=job, thing=bottle, reason="again", by=TECHNICIAN, at=after(9))
    made = making_good.build_make_good(store, job=job, bench=BENCH, by=BUILDER, at=after(10)).codes[0]
    seen = kit_view(store, kit=made, at=after(10))
    assert [(x.kind, x.sense, x.needed) for x in seen.lines] == [
        ("rotor set", "CW", 1),
        ("threadlocker", "", 800),
    ]
    assert_conserved(store)


def test_a_lost_extra_is_made_good(store: Store) -> None:
    from kittrack.store.records import KitListLine, TypeRevision

    stock_up(store, at=after(1))
    with store.act("add to the kit list", by=MANAGER, at=after(2)) as act:
        revision, screw = act.find(TypeRevision, name="A"), act.find(Part, number=SCREW)
        assert revision is not None
        assert screw is not None
        tag = act.insert(
            Part(
                number="TAG-1", maker_id=screw.maker_id, name="streamer", kind="other", paper_class="material"
            )
        )
        act.insert(KitListLine(type_revision_id=revision.id, part_id=tag.id, quantity=2))
    put_in_stock(store, "TAG-1", 5, at=after(2))
    job, _ = opened(store)
    ((line, _),) = held_by(store, job, "TAG-1")
    jobs.lose(store, job=job, thing=line, reason="blown away", by=TECHNICIAN, at=after(9))
    kit = making_good.build_make_good(store, job=job, bench=BENCH, by=BUILDER, at=after(10)).codes[0]
    assert [(x.kind, x.needed) for x in kit_view(store, kit=kit, at=after(10)).lines] == [("extra", 1)]
    give(store, job, kit, 11)
    with pytest.raises(Refused, match="owes nothing"):
        making_good.build_make_good(store, job=job, bench=BENCH, by=BUILDER, at=after(15))
    jobs.lose(store, job=job, thing=line, reason="blown away too", by=TECHNICIAN, at=after(16))
    again = making_good.build_make_good(store, job=job, bench=BENCH, by=BUILDER, at=after(17)).codes[0]
    assert [(x.kind, x.needed) for x in kit_view(store, kit=again, at=after(17)).lines] == [("extra", 1)]


def give(store: Store, job: str, kit: str, minute: int) -> None:
    """Finish a kit that was built for a job, issue it and open it at the aircraft."""
    finished_kit(store, kit, at=after(minute), seal="0002")
    issuing.issue_kit(
        store, kit=kit, job=job, seal="0002", receiver=TECHNICIAN, by=CLERK, at=after(minute + 1)
    )
    issuing.open_at_aircraft(store, kit=kit, seal="0002", by=TECHNICIAN, at=after(minute + 2))


def test_lost_single_doses_are_made_good_in_whole_ones(store: Store) -> None:
    for number in (CW_BLADE, CCW_BLADE):
        put_sets(store, number, 2, at=after(1))
    for number, quantity in ((SCREW, 16), (WASHER, 16), (LOCKER, 1500)):
        put_in_stock(store, number, quantity, at=after(1))
    with store.act("buy single doses", by=MANAGER, at=after(2)) as act:
        locker = act.find(Part, number=LOCKER)
        assert locker is not None
        act.update(locker, single_dose=1, pack_quantity=500)
    job, _ = opened(store)  # 0.8 mL takes two doses of 0.5 mL
    ((line, held),) = held_by(store, job, LOCKER)
    assert held == 1000
    jobs.lose(store, job=job, thing=line, quantity=300, reason="spilt", by=TECHNICIAN, at=after(9))
    kit = making_good.build_make_good(store, job=job, bench=BENCH, by=BUILDER, at=after(10)).codes[0]
    seen = kit_view(store, kit=kit, at=after(10)).lines
    assert [(x.kind, x.needed, x.have) for x in seen] == [("threadlocker", 500, 500)]


def test_hubs_that_take_screws_alone_are_made_good_with_screws_alone(store: Store) -> None:
    with store.act("bare hubs", by=MANAGER, at=after(1)) as act:
        for fixing in act.select(HubFixing):
            act.update(
                fixing, washer_part_id=None, washers_per_hub=0, locker_part_id=None, locker_ul_per_screw=0
            )
    stock_up(store, at=after(1))
    job, kit = opened(store)
    assert [x.kind for x in kit_view(store, kit=kit, at=after(8)).lines] == [
        "rotor set",
        "rotor set",
        "screw",
    ]
    ((line, _),) = held_by(store, job, SCREW)
    jobs.lose(store, job=job, thing=line, quantity=2, reason="dropped", by=TECHNICIAN, at=after(9))
    made = making_good.build_make_good(store, job=job, bench=BENCH, by=BUILDER, at=after(10)).codes[0]
    assert [(x.kind, x.needed) for x in kit_view(store, kit=made, at=after(10)).lines] == [("screw", 2)]


def test_a_job_that_fastened_all_that_it_got_a_kit_for_owes_nothing(store: Store) -> None:
    stock_up(store, at=after(1))
    job = open_one(store, positions=Coverage("arm", ("FL",)))
    kit = sealed_kit(store, at=after(5), airframe=TAIL, positions=Coverage("arm", ("FL",)))
    issuing.issue_kit(store, kit=kit, job=job, seal="0001", receiver=TECHNICIAN, by=CLERK, at=after(6))
    issuing.open_at_aircraft(store, kit=kit, seal="0001", by=TECHNICIAN, at=after(7))
    things = {x.kind: x.things[0] for x in kit_view(store, kit=kit, at=after(8)).lines}
    spot = spot_code(store, "FL")
    fitting.fit_set(
        store, job=job, position=spot, rotor_set=things["rotor set"], mark="R", by=TECHNICIAN, at=after(9)
    )
    parts = (
        fitting.TakenPart(things["screw"], 4),
        fitting.TakenPart(things["washer"], 4),
        fitting.TakenPart(things["threadlocker"]),
    )
    fitting.fasten(
        store, job=job, position=spot, parts=parts, torque_mnm=800, tool=TORQUE_TOOL, by=TECHNICIAN, at=after(10)
    )  # fmt: skip
    with pytest.raises(Refused, match=f"{job} has fastened every position") as refused:
        making_good.build_make_good(store, job=job, bench=BENCH, by=BUILDER, at=after(11))
    assert refused.value.rules == {"R11"}


def test_a_job_loses_only_what_it_holds_and_says_how_much(store: Store) -> None:
    stock_up(store, at=after(1), sets=3)
    job, kit = opened(store)
    lines = kit_view(store, kit=kit, at=after(7)).lines
    screws, bottle = lines[2].things[0], lines[4].things[0]
    with store.reading() as read:
        elsewhere = read.select(RotorSet)[2].code
    for thing, quantity, error in ((screws, 17, NotFound), (screws, 0, BadInput), (elsewhere, 1, NotFound)):
        with pytest.raises(error):
            jobs.lose(store, job=job, thing=thing, quantity=quantity, reason="x", by=TECHNICIAN, at=after(8))
    lost = [
        jobs.lose(store, job=job, thing=thing, quantity=quantity, reason="dropped", by=TECHNICIAN, at=after(9)).said[0]
        for thing, quantity in ((screws, 16), (bottle, 1), (lines[0].things[0], 1))
    ]  # fmt: skip
    assert [said.split(" is lost")[0] for said in lost] == [
        f"16 of {screws}", f"10 mL of {bottle}", f"the whole set of {lines[0].things[0]}",
    ]  # fmt: skip
    assert held_by(store, job, SCREW) == []
    assert_conserved(store)


def test_a_job_makes_good_only_what_it_owes(store: Store) -> None:
    stock_up(store, at=after(1))
    job = open_one(store)
    with pytest.raises(Refused) as refused:  # no kit was issued to it
        making_good.build_make_good(store, job=job, bench=BENCH, by=BUILDER, at=after(4))
    assert refused.value.rules == {"R11"}
    kit = sealed_kit(store, at=after(5))
    issuing.issue_kit(store, kit=kit, job=job, seal="0001", receiver=TECHNICIAN, by=CLERK, at=after(6))
    with pytest.raises(Refused, match="not opened yet"):
        making_good.build_make_good(store, job=job, bench=BENCH, by=BUILDER, at=after(6))
    issuing.open_at_aircraft(store, kit=kit, seal="0001", by=TECHNICIAN, at=after(7))
    with pytest.raises(Refused, match="owes nothing"):
        making_good.build_make_good(store, job=job, bench=BENCH, by=BUILDER, at=after(8))
    ((line, _),) = held_by(store, job, SCREW)
    jobs.lose(store, job=job, thing=line, quantity=2, reason="dropped", by=TECHNICIAN, at=after(9))
    made = making_good.build_make_good(store, job=job, bench=BENCH, by=BUILDER, at=after(10)).codes[0]
    with pytest.raises(Refused, match="good already"):
        making_good.build_make_good(store, job=job, bench=BENCH, by=BUILDER, at=after(11))
    with pytest.raises(Refused) as refused:  # it is not for any other use
        picking.pick_missing(store, kit=made, by=BUILDER, at=after(11))
    assert refused.value.rules == {"R4"}


# ---- closing -------------------------------------------------------------------------------------


def test_closing_names_every_reason_against_it(store: Store) -> None:
    stock_up(store, at=after(1))
    job, _ = opened(store)
    with store.act("unverify and find", by=MANAGER, at=after(8)) as act:
        frame = act.find(Airframe, tail=TAIL)
        assert frame is not None
        act.update(act.get(SenseMap, frame.sense_map_id or 0), cleared_event_id=act.event_id)
        act.insert(Finding(airframe_id=frame.id, text="odd mark", event_id=act.event_id))
        states = ("walked", "inspected", "fitted", "to do")
        for row, state in zip(act.select(JobPosition), states, strict=True):
            act.update(row, state=state)
    with pytest.raises(Refused) as refused:
        jobs.close_job(store, job=job, by=INSPECTOR, at=after(9))
    assert refused.value.rules == {"R3", "R8", "R10", "R11", "R17"}
    assert {r.rule for r in job_view(store, job=job).against} == refused.value.rules


def walk_all(store: Store, minute: int) -> None:
    with store.act("walk", by=INSPECTOR, at=after(minute)) as act:
        for row in act.select(JobPosition):
            act.update(row, state="walked")


def test_a_job_closes_when_nothing_is_left_and_all_is_walked(store: Store) -> None:
    stock_up(store, at=after(1))
    job, kit = opened(store)
    walk_all(store, 8)
    with pytest.raises(Refused) as refused:
        jobs.close_job(store, job=job, by=INSPECTOR, at=after(9))
    assert refused.value.rules == {"R11"}
    lines = kit_view(store, kit=kit, at=after(9)).lines
    things = [(code, x.have if x.kind != "rotor set" else 1) for x in lines for code in x.things]
    returning.return_leftovers(
        store, job=job, items=[Leftover(code, n) for code, n in things], by=CLERK, at=after(10)
    )
    jobs.close_job(store, job=job, by=INSPECTOR, at=after(11))
    assert job_view(store, job=job).state == "closed"
    with store.reading() as read:
        assert [v.state for v in read.select(Voucher)] == ["closed"]
    with pytest.raises(Refused) as refused:
        jobs.lose(store, job=job, thing=things[0][0], reason="x", by=TECHNICIAN, at=after(12))
    assert refused.value.rules == {"R11"}
    assert_conserved(store)


def test_a_job_does_not_close_while_its_kit_is_out(store: Store) -> None:
    stock_up(store, at=after(1))
    job, kit = open_one(store), sealed_kit(store, at=after(5))
    issuing.issue_kit(store, kit=kit, job=job, seal="0001", receiver=TECHNICIAN, by=CLERK, at=after(6))
    with pytest.raises(Refused) as refused:
        jobs.close_job(store, job=job, by=TECHNICIAN, at=after(7), reason="given up")
    assert refused.value.rules == {"R11"}
    returning.return_unopened(store, kit=kit, seal="0001", to_place=BIN, by=CLERK, at=after(8))
    jobs.close_job(store, job=job, by=TECHNICIAN, at=after(9), reason="given up")
    assert job_view(store, job=job).state == "closed"


def test_a_job_that_was_never_begun_closes_with_a_reason_and_frees_what_was_kept(store: Store) -> None:
    stock_up(store, at=after(1))
    job, kit = open_one(store), sealed_kit(store, at=after(5))
    jobs.reserve(store, job=job, thing=kit, until=TODAY, by=CLERK, at=after(6))
    with pytest.raises(Refused) as refused:
        jobs.close_job(store, job=job, by=TECHNICIAN, at=after(7))
    assert refused.value.rules == {"R11"}
    jobs.close_job(store, job=job, by=TECHNICIAN, at=after(8), reason="flight cancelled")
    assert kit_view(store, kit=kit, at=after(8)).reserved == ()
    sealing.put_away_kit(store, kit=kit, to_place=BIN, by=CLERK, at=after(9))


def test_a_job_of_which_anything_was_begun_is_not_given_up(store: Store) -> None:
    stock_up(store, at=after(1))
    job, _ = opened(store)
    with pytest.raises(Refused) as refused:  # what was issued lies with it
        jobs.close_job(store, job=job, by=TECHNICIAN, at=after(8), reason="given up")
    assert "R11" in refused.value.rules
    other = open_one(store, 9, tail=TAIL2)
    with store.act("begin", by=TECHNICIAN, at=after(10)) as act:
        row = act.find(Job, code=other)
        assert row is not None
        spot = act.select(JobPosition, "job_id = ?", row.id)[0]
        act.update(spot, state="not finished")
    with pytest.raises(Refused):
        jobs.close_job(store, job=other, by=TECHNICIAN, at=after(11), reason="given up")
    with store.act("found something instead", by=TECHNICIAN, at=after(12)) as act:
        act.update(act.get(JobPosition, spot.id), state="to do")
        frame = act.find(Airframe, tail=TAIL2)
        assert frame is not None
        act.insert(Finding(airframe_id=frame.id, text="odd mark", event_id=act.event_id))
    with pytest.raises(Refused) as refused:
        jobs.close_job(store, job=other, by=TECHNICIAN, at=after(13), reason="given up")
    assert "R10" in refused.value.rules


def test_a_closed_job_frees_its_own_reservations_and_its_place(store: Store) -> None:
    sets = put_sets(store, CW_BLADE, 2, at=after(1))
    job, other = open_one(store), open_one(store, 4, tail=TAIL2)
    for owner, one in ((job, sets[0]), (other, sets[1])):
        jobs.reserve(store, job=owner, thing=one, until=TODAY, by=CLERK, at=after(5))
    jobs.close_job(store, job=job, by=TECHNICIAN, at=after(6), reason="cancelled")
    with store.reading() as read:
        assert [r.state for r in read.select(Reservation)] == ["released", "active"]
        places = {code: read.value("SELECT active FROM place WHERE code = ?", code) for code in (job, other)}
    assert places == {job: 0, other: 1}


def test_closing_a_job_leaves_the_vouchers_of_others_open(store: Store) -> None:
    stock_up(store, at=after(1), sets=4)
    put_bottle(store, volume_ul=5000, at=after(1), expires_on="2026-12-31")
    job, other = open_one(store), open_one(store, 4, tail=TAIL2)
    kit = sealed_kit(store, at=after(5))
    issuing.issue_kit(store, kit=kit, job=other, seal="0001", receiver=TECHNICIAN, by=CLERK, at=after(6))
    jobs.close_job(store, job=job, by=TECHNICIAN, at=after(7), reason="cancelled")
    with store.reading() as read:
        assert [v.state for v in read.select(Voucher)] == ["open"]


def test_a_bottle_is_not_lost_by_the_count_of_its_line(store: Store) -> None:
    stock_up(store, at=after(1))
    job, kit = opened(store)
    with store.reading() as read:
        line = read.value(
            "SELECT r.code FROM receipt_line r JOIN piece p ON p.receipt_line_id = r.id WHERE p.code = ?",
            kit_view(store, kit=kit, at=after(7)).lines[4].things[0],
        )
    with pytest.raises(NotFound, match="does not hold 100 of"):
        jobs.lose(store, job=job, thing=str(line), quantity=100, reason="spilt", by=TECHNICIAN, at=after(8))


def test_what_the_shelf_can_not_make_good_is_named(store: Store) -> None:
    stock_up(store, at=after(1))
    job, kit = opened(store)
    lines = kit_view(store, kit=kit, at=after(8)).lines
    for thing in (lines[0].things[0], lines[4].things[0]):
        jobs.lose(store, job=job, thing=thing, reason="lost", by=TECHNICIAN, at=after(9))
    with pytest.raises(Refused) as refused:
        making_good.build_make_good(store, job=job, bench=BENCH, by=BUILDER, at=after(10))
    assert [r.rule for r in refused.value.refusals] == ["R4", "R4"]
    assert "0.8 mL of TL-10" in str(refused.value)
    assert "1 CW rotor set RB-18-CW" in str(refused.value)
    with store.reading() as read:
        assert read.value("SELECT count(*) FROM kit") == 1


def test_a_closed_job_owes_nothing_and_makes_no_other_job_good(store: Store) -> None:
    stock_up(store, at=after(1))
    job, _ = opened(store)
    ((line, _),) = held_by(store, job, SCREW)
    jobs.lose(store, job=job, thing=line, reason="dropped", by=TECHNICIAN, at=after(8))
    kit = making_good.build_make_good(store, job=job, bench=BENCH, by=BUILDER, at=after(9)).codes[0]
    finished_kit(store, kit, at=after(10), seal="0002")
    other = open_one(store, 11, tail=TAIL2)
    with pytest.raises(Refused) as refused:
        issuing.issue_kit(store, kit=kit, job=other, seal="0002", receiver=TECHNICIAN, by=CLERK, at=after(12))
    assert "R5" in refused.value.rules
    jobs.close_job(store, job=other, reason="x", by=TECHNICIAN, at=after(13))
    with pytest.raises(Refused) as refused:
        making_good.build_make_good(store, job=other, bench=BENCH, by=BUILDER, at=after(14))
    assert refused.value.rules == {"R11"}


def test_a_make_good_kit_whose_settings_changed_is_built_again(store: Store) -> None:
    stock_up(store, at=after(1))
    job, _ = opened(store)
    ((line, _),) = held_by(store, job, SCREW)
    jobs.lose(store, job=job, thing=line, reason="dropped", by=TECHNICIAN, at=after(8))
    kit = making_good.build_make_good(store, job=job, bench=BENCH, by=BUILDER, at=after(9)).codes[0]
    with pytest.raises(Refused) as refused:
        kit_settings.confirm_settings(store, kit=kit, by=CLERK, at=after(10))
    assert refused.value.rules == {"R21"}
    kitting.dissolve_kit(store, kit=kit, reason="settings", to_bin=BIN, by=CLERK, at=after(11))
    making_good.build_make_good(store, job=job, bench=BENCH, by=BUILDER, at=after(12))
    assert_conserved(store)
