"""The plan of an airframe, what is fitted, how far jobs are and what is due: as the next person reads it."""

from typing import Any

import pytest

from kittrack.domain import codes
from kittrack.errors import NotFound, Refused
from kittrack.queries import aircraft, at_aircraft, due, standing
from kittrack.services import findings, fitting, holding, jobs, removing, settings_types, torquing
from kittrack.services.settings_types import Tightening
from kittrack.store.act import Slot
from kittrack.store.database import Store
from kittrack.store.recall_scope import Scope
from kittrack.store.records import Airframe, Job, Kit, Place, SenseMap, TypeRevision, Voucher
from kittrack.store.stock import directly_in
from tests.aircraft_scene import TORQUE_TOOL, Scene, make_set, open_job, position_of
from tests.factories import CCW_BLADE, CW_BLADE, INSPECTOR, MANAGER, QUAD, TAIL, TAIL2, TECHNICIAN


@pytest.fixture
def scene(store: Store) -> Scene:
    return Scene(store)


def states(scene: Scene) -> list[str]:
    return [p.state for p in aircraft.plan(scene.store, TAIL).positions]


# ---- the plan ------------------------------------------------------------------------------------


def test_the_plan_has_the_positions_in_order_with_their_geometry_and_needed_sense(scene: Scene) -> None:
    plan = aircraft.plan(scene.store, TAIL)
    assert (plan.type_name, plan.revision, plan.map_revision, plan.map_verified) == ("QA", "A", 1, True)
    assert [(p.name, p.angle_mdeg // 1000, p.sense) for p in plan.positions] == list(QUAD)
    assert plan.positions[0].approved == (CCW_BLADE,)
    assert plan.jobs == (scene.job,)
    assert all(p.rotor_set == "" and p.agrees is None for p in plan.positions)


def test_interrupted_work_shows_as_not_finished_to_whoever_reads_the_plan_next(scene: Scene) -> None:
    scene.whole("FL", scene.sets[0], "R")
    scene.fit("RR", scene.sets[1], "R")
    assert states(scene) == ["to do", "to do", "inspected", "not finished"]
    job = standing.standing(scene.store, scene.job)
    assert job.next_step == "Next: finish QA-01 RR: fasten it, or take its set off again."
    assert standing.open_jobs(scene.store)[0] == job


def test_the_plan_shows_the_fitted_set_and_whether_its_sense_agrees(scene: Scene) -> None:
    scene.whole("FL", scene.sets[0], "R")
    with scene.store.reading() as read:
        where = read.value("SELECT name FROM place WHERE id = ?", position_of(read, "FR").place_id)
    make_set(scene.store, CW_BLADE, at=scene.now, where=where, history_known=0)
    by_name = {p.name: p for p in aircraft.plan(scene.store, TAIL).positions}
    assert (by_name["FL"].rotor_set, by_name["FL"].set_sense, by_name["FL"].agrees) == (
        scene.sets[0],
        "CW",
        True,
    )
    assert (by_name["FR"].set_sense, by_name["FR"].sense, by_name["FR"].agrees) == ("CW", "CCW", False)


def test_the_plan_tells_holds_and_open_findings(scene: Scene) -> None:
    scene.whole("FL", scene.sets[0], "R")
    findings.record_finding(
        scene.store,
        text="a nick",
        position=scene.spot("FL"),
        rotor_set=scene.sets[0],
        mark="R",
        by=TECHNICIAN,
        at=scene.now,
    )
    plan = aircraft.plan(scene.store, scene.tail)
    assert plan.findings == ("1: a nick",)
    assert [p.held for p in plan.positions] == [False, False, True, False]
    [found] = standing.findings(scene.store)
    assert (found.airframe, found.position, found.rotor_set, found.job, found.by) == (
        TAIL, "FL", scene.sets[0], scene.job, TECHNICIAN,
    )  # fmt: skip
    findings.settle_finding(scene.store, finding=1, text="within limits", by=INSPECTOR, at=scene.now)
    assert standing.findings(scene.store) == ()
    assert aircraft.plan(scene.store, scene.tail).findings == ()


def test_an_airframe_is_known_by_its_code_and_its_tail(scene: Scene) -> None:
    code = aircraft.plan(scene.store, TAIL2).airframe
    assert aircraft.plan(scene.store, code) == aircraft.plan(scene.store, TAIL2)
    with pytest.raises(NotFound):
        aircraft.plan(scene.store, "QA-99")
    with pytest.raises(NotFound):
        standing.standing(scene.store, codes.make_code(codes.Kind.JOB, 99))


# ---- as fitted -----------------------------------------------------------------------------------


def test_what_is_fitted_is_told_with_people_lots_torque_and_time(scene: Scene) -> None:
    scene.all_four()
    scene.walk()
    scene.fly(minutes=90, flights=3)
    fitted = {f.name: f for f in aircraft.as_fitted(scene.store, TAIL)}
    assert list(fitted) == ["QA-01 FR", "QA-01 RL", "QA-01 FL", "QA-01 RR"]
    one = fitted["QA-01 FL"]
    assert (one.rotor_set, one.sense, one.needed_sense, one.mark) == (scene.sets[0], "CW", "CW", "R")
    assert (one.fitted_by, one.inspected_by, one.inspection, one.walked_by) == (
        TECHNICIAN, INSPECTOR, "second person", INSPECTOR,
    )  # fmt: skip
    assert (one.used_minutes, one.used_flights, one.state) == (90, 3, "inspected")
    assert one.fastened is not None
    assert (one.fastened.screw_line, one.fastened.screws, one.fastened.torque_mnm) == (scene.screws, 4, 800)
    assert (one.fastened.screw_lot_code, one.fastened.tool, one.fastened.locker_ul) == (
        "S-1",
        TORQUE_TOOL,
        200,
    )
    assert (one.torqued_minutes, one.retorque.since, one.retorque.over) == (0, 90, -510)


def test_a_set_that_is_only_put_on_has_no_fastening_yet(scene: Scene) -> None:
    scene.fit("FL", scene.sets[0], "R")
    [one] = aircraft.as_fitted(scene.store, TAIL)
    assert (one.fastened, one.state, one.inspected_by) == (None, "started", "")


def test_a_set_from_before_day_one_is_told_as_unknown(scene: Scene) -> None:
    with scene.store.reading() as read:
        where = read.value("SELECT name FROM place WHERE id = ?", position_of(read, "FR").place_id)
    make_set(scene.store, CCW_BLADE, at=scene.now, where=where, history_known=0, used_minutes=None)
    [one] = aircraft.as_fitted(scene.store, TAIL)
    assert (one.used_minutes, one.history_known, one.job, one.state, one.fitted_at) == (
        None,
        False,
        "",
        "",
        "",
    )
    assert one.retorque.due


# ---- jobs ----------------------------------------------------------------------------------------


def subjects(scene: Scene) -> set[tuple[str, str]]:
    return {(r.rule, r.subject) for r in standing.standing(scene.store, scene.job).reasons}


def test_every_reason_against_closing_is_told(scene: Scene) -> None:
    scene.whole("FL", scene.sets[0], "R")
    scene.fit("RR", scene.sets[1], "R")
    scene.fasten("RR")
    scene.change(SenseMap, {"revision": 1}, verified_event_id=None)
    findings.record_finding(scene.store, text="a nick", airframe=TAIL, by=TECHNICIAN, at=scene.now)
    told = subjects(scene)
    assert {
        ("R3", "QA-01 FL"),
        ("R8", "QA-01 RR"),
        ("R11", "QA-01 FR"),
        ("R17", scene.job),
        ("R10", scene.job),
    } <= told
    owed = standing.standing(scene.store, scene.job).owed
    assert owed == (
        f"rotor set {scene.sets[2]}", f"rotor set {scene.sets[3]}", f"8 of SC-M3x8 ({scene.screws})",
        f"8 of WA-M3 ({scene.washers})", f"9.6 mL of TL-10 ({scene.bottle})",
    )  # fmt: skip


def test_the_next_step_leads_through_a_job_to_its_end(scene: Scene) -> None:
    told = []

    def note() -> None:
        told.append(standing.standing(scene.store, scene.job).next_step)

    for name, one, mark in zip(("FL", "RR", "FR", "RL"), scene.sets, "RRLL", strict=True):
        scene.whole(name, one, mark)
    note()
    scene.walk()
    note()
    with scene.store.act("the bottle goes back", by=TECHNICIAN, at=scene.now) as act:
        job = act.row("SELECT id FROM place WHERE name = ?", scene.job)
        home = act.row("SELECT id FROM place WHERE name = 'A-01'")
        assert job is not None
        assert home is not None
        [rest] = directly_in(act, job[0])
        act.move_stock(
            rest.receipt_line_id,
            rest.quantity,
            from_slot=rest.slot,
            to_slot=Slot(home[0], "serviceable", rest.piece_id),
        )
    note()
    assert told[0] == "Next: walk all positions; QA-01 FR was not walked yet."
    assert told[1].startswith("Next: return, scrap or account for what is left: 9.2 mL of TL-10")
    assert told[2] == f"Next: close {scene.job}."
    assert subjects(scene) == set()
    scene.change(SenseMap, {"revision": 1}, verified_event_id=None)
    note()
    assert "motor test" in told[3]


def test_a_kit_that_is_out_and_unopened_stands_against_closing(scene: Scene) -> None:
    with scene.store.act("issue a kit", by=TECHNICIAN, at=scene.now) as act:
        job, revision = act.find(Job, code=scene.job), act.find(TypeRevision, name="A")
        assert job is not None
        assert revision is not None
        place = act.insert(Place(code="K0", kind="kit", name="K0"))
        kit = act.insert(
            Kit(
                code="K0", place_id=place.id, type_revision_id=revision.id, settings_revision=1, state="issued", seal="1",
                built_by_id=act.by_id, event_id=act.event_id,
            )
        )  # fmt: skip
        act.insert(
            Voucher(
                code="V0", kit_id=kit.id, job_id=job.id, airframe_id=job.airframe_id, giver_id=act.by_id,
                receiver_id=act.by_id, event_id=act.event_id,
            )
        )  # fmt: skip
    assert ("R11", "K0") in subjects(scene)
    [out] = at_aircraft.aircraft_view(scene.store, code=scene.job).kits
    assert (out.code, out.is_issued, out.where) == ("K0", True, TECHNICIAN)


def test_a_torque_that_is_changed_meanwhile_has_the_job_tighten_again(scene: Scene) -> None:
    """Design R21: an open job is checked again; what was fastened before the change is torqued anew."""
    scene.all_four()
    assert "R18" not in {rule for rule, _ in subjects(scene)}
    settings_types.change_torque(
        scene.store, airframe_type="QA", revision="A", fixing="hub", source="maker's letter 9", by=MANAGER, second=INSPECTOR,
        tightening=Tightening(torque_mnm=900, tolerance_mnm=50, condition="threadlocker"), at=scene.now,
    )  # fmt: skip
    against = {r.subject: r for r in standing.standing(scene.store, scene.job).reasons if r.rule == "R18"}
    assert set(against) == {f"QA-01 {name}" for name in ("FL", "RR", "FR", "RL")}
    assert "with 0.8 N m and is stated with 0.9 N m since" in against["QA-01 FL"].message
    view = at_aircraft.aircraft_view(scene.store, code=scene.job)
    assert view.next_act == "torque again"
    [first] = [p.name for p in view.positions if p.code == view.next_position]
    assert view.next_step.startswith(f"Next: torque QA-01 {first} again")
    with pytest.raises(Refused) as refused:
        jobs.close_job(scene.store, job=scene.job, by=TECHNICIAN, at=scene.now)
    assert "R18" in refused.value.rules
    for name in ("FL", "RR", "FR", "RL"):
        torquing.record_retorque(
            scene.store,
            position=scene.spot(name),
            torque_mnm=900,
            tool=TORQUE_TOOL,
            by=TECHNICIAN,
            at=scene.now,
        )
    assert "R18" not in {rule for rule, _ in subjects(scene)}


def test_a_closed_job_has_no_reasons_and_no_next_step(scene: Scene) -> None:
    scene.change(Job, {"code": scene.job}, state="closed")
    done = standing.standing(scene.store, scene.job)
    assert (done.reasons, done.next_step) == ((), f"{scene.job} is closed.")
    assert standing.open_jobs(scene.store) == ()
    assert standing.newest_open_jobs(scene.store, most=5) == ()


# ---- due -----------------------------------------------------------------------------------------


def test_a_re_torque_falls_due_by_the_hours_since_the_last_one(scene: Scene) -> None:
    scene.whole("FL", scene.sets[0], "R")  # the type revision of the factories states 600 minutes
    for minutes, is_due in ((599, False), (600, True)):
        scene.fly(minutes=minutes, flights=1)
        assert bool(due.retorques(scene.store)) is is_due
    [one] = due.retorques(scene.store)
    assert (one.name, one.since_minutes, one.over_minutes) == ("QA-01 FL", 600, 0)
    assert at_aircraft.aircraft_view(scene.store, code=TAIL).retorque_due == ("FL",)
    torquing.record_retorque(
        scene.store, position=scene.spot("FL"), torque_mnm=800, tool=TORQUE_TOOL, by=TECHNICIAN, at=scene.now
    )
    assert due.retorques(scene.store) == ()
    assert at_aircraft.aircraft_view(scene.store, code=TAIL).retorque_due == ()
    assert [d.over_minutes for d in due.retorques(scene.store, only_due=False)] == [-600]


def test_a_new_fit_counts_anew_and_an_old_torque_does_not_count_for_it(scene: Scene) -> None:
    scene.whole("FL", scene.sets[0], "R")
    scene.fly(minutes=700, flights=1)
    scene.remove("FL")
    scene.fit("FL", scene.sets[1], "R")
    assert [d.since_minutes for d in due.retorques(scene.store)] == [None]  # put on, not torqued yet
    assert at_aircraft.aircraft_view(scene.store, code=TAIL).retorque_due == ()  # it is told as not finished
    scene.fasten("FL")
    assert due.retorques(scene.store) == ()


@pytest.mark.parametrize("changes", [{"minutes": None}, {"state": "sold"}])
def test_unknown_hours_are_due_first_and_airframes_that_left_are_not(
    scene: Scene, changes: dict[str, Any]
) -> None:
    scene.whole("FL", scene.sets[0], "R")
    scene.change(Airframe, {"tail": TAIL}, **changes)
    found = due.retorques(scene.store)
    assert [(d.since_minutes, d.over_minutes) for d in found] == (
        [] if changes.get("state") else [(None, None)]
    )


def test_a_revision_without_an_interval_demands_none(scene: Scene) -> None:
    scene.whole("FL", scene.sets[0], "R")
    scene.change(TypeRevision, {"name": "A"}, retorque_minutes=None)
    scene.fly(minutes=9000, flights=1)
    assert due.retorques(scene.store, only_due=False) == ()


def test_taking_an_unfinished_fit_off_shows_as_bare(scene: Scene) -> None:
    scene.fit("FL", scene.sets[0], "R")
    fitting.take_off_unfinished(
        scene.store, job=scene.job, position=scene.spot("FL"), reason="rain", by=TECHNICIAN, at=scene.now
    )
    assert states(scene)[2] == "bare"
    assert standing.standing(scene.store, scene.job).next_step == "Next: fit a set at QA-01 FL."


def test_of_many_open_jobs_the_newest_are_told_in_their_order(scene: Scene) -> None:
    more = [open_job(scene.store, at=scene.now, positions=[name]) for name in ("FR", "FL")]
    assert [job.job for job in standing.newest_open_jobs(scene.store, most=2)] == more
    assert [job.job for job in standing.newest_open_jobs(scene.store, most=9)] == [scene.job, *more]


def test_a_set_that_is_bound_to_a_bare_position_is_told_there(scene: Scene) -> None:
    scene.all_four()
    with scene.store.reading() as read:
        van = read.value("SELECT code FROM place WHERE kind IN ('van', 'bin') ORDER BY id")
    scene.remove("FL", "R", purpose="transport", to_place=van)
    scene.remove("FR", "L")
    told = {p.name: p.comes_back for p in at_aircraft.aircraft_view(scene.store, code=scene.job).positions}
    assert told == {"FL": scene.sets[0], "FR": "", "RL": "", "RR": ""}
    removing.give_up_refit(scene.store, rotor_set=scene.sets[0], reason="bent", by=TECHNICIAN, at=scene.now)
    told = {p.name: p.comes_back for p in at_aircraft.aircraft_view(scene.store, code=scene.job).positions}
    assert not told["FL"]


def test_what_sits_on_an_airframe_and_is_held_is_told_with_its_positions(scene: Scene) -> None:
    scene.all_four()
    assert at_aircraft.aircraft_view(scene.store, code=scene.job).holds == ()
    held = holding.place_hold(
        scene.store, scope=Scope(code=scene.screws), reason="heads may break", reference="bulletin 3",
        is_recall=True, by=MANAGER, at=scene.now,
    )  # fmt: skip
    one = holding.place_hold(
        scene.store, scope=Scope(code=scene.sets[0]), reason="a nick", reference="report 4",
        by=MANAGER, at=scene.now,
    )  # fmt: skip
    told = at_aircraft.aircraft_view(scene.store, code=scene.job).holds
    assert f"RECALLED by {held.codes[0]} (heads may break): FR, RL, FL, RR" in told
    assert f"ON HOLD by {one.codes[0]} (a nick): FL" in told


def test_an_airframe_is_found_by_its_job_and_by_a_position(scene: Scene) -> None:
    by_tail = at_aircraft.aircraft_view(scene.store, code=TAIL)
    assert by_tail.job == scene.job
    for code in (scene.job, scene.spot("FL"), scene.job.lower()):
        assert at_aircraft.aircraft_view(scene.store, code=code) == by_tail
    for kind in (codes.Kind.JOB, codes.Kind.POSITION):
        unknown = codes.make_code(kind, codes.next_number(kind, after=90_000))
        with pytest.raises(NotFound, match=unknown):
            at_aircraft.aircraft_view(scene.store, code=unknown)


def test_an_airframe_without_a_job_is_told_to_open_one(scene: Scene) -> None:
    view = at_aircraft.aircraft_view(scene.store, code=TAIL2)
    assert (view.job, view.next_step, view.next_act) == ("", "Next: open a job for it.", "open a job")
