"""Issuing whole kits and opening them at the aircraft: R4 to R8, R13, R20, R21 refused and accepted."""

from typing import Any

import pytest

from kittrack.domain import codes
from kittrack.errors import BadInput, Conflict, NotFound, Refused
from kittrack.queries.kits import issue_view, job_view, kit_view
from kittrack.services import founding, holding, issuing, jobs, sealing
from kittrack.services.coverage import Coverage
from kittrack.services.holding import Scope
from kittrack.services.issuing import Waiver
from kittrack.store.database import Store
from kittrack.store.records import (
    Airframe,
    AirframeType,
    Job,
    MatchRecord,
    Override,
    Part,
    Person,
    Place,
    Position,
    ReceiptLine,
    Reservation,
    SenseMap,
    SenseMapLine,
    TypeRevision,
    Voucher,
)
from tests.factories import (
    BUILDER,
    CLERK,
    INSPECTOR,
    MANAGER,
    SCREW,
    T0,
    TAIL,
    TAIL2,
    TECHNICIAN,
    VAN,
    after,
    assert_conserved,
    sealed_kit,
    stock_up,
)


def ready(
    store: Store, *, tail: str = TAIL, positions: Coverage | None = None, **how: Any
) -> tuple[str, str]:
    """A job for an airframe, and a sealed kit on the shelf."""
    stock_up(store, at=after(1))
    choice: dict[str, Any] = {"positions": positions} if positions else {}
    job = jobs.open_job(
        store, airframe=tail, purpose="new rotors", by=TECHNICIAN, at=after(2), **choice
    ).codes[0]
    return job, sealed_kit(store, at=after(5), **choice, **how)


def issue(store: Store, job: str, kit: str, minute: int = 10, **how: Any) -> str:
    form: dict[str, Any] = {"seal": "0001", "receiver": TECHNICIAN, "by": CLERK, **how}
    return issuing.issue_kit(store, kit=kit, job=job, at=after(minute), **form).codes[0]


def refused_rules(store: Store, job: str, kit: str, minute: int = 10, **how: Any) -> set[str]:
    """The rules that refuse an issue; the screen's question must give the same but for the people."""
    with pytest.raises(Refused) as refused:
        issue(store, job, kit, minute, **how)
    return {str(rule) for rule in refused.value.rules}


def seen_rules(store: Store, job: str, kit: str, minute: int = 10, **how: str) -> set[str]:
    return {str(r.rule) for r in issue_view(store, kit=kit, job=job, at=after(minute), **how).against}


def test_a_kit_goes_whole_into_the_receiver_s_hands(store: Store) -> None:
    job, kit = ready(store)
    assert issue_view(store, kit=kit, job=job, at=after(9), seal="0001").is_ready
    voucher = issue(store, job, kit)
    seen = kit_view(store, kit=kit, at=after(11))
    assert (seen.state, seen.where) == ("issued", TECHNICIAN)
    with store.reading() as read:
        row = read.find(Voucher, code=voucher)
        assert row is not None
        people = [read.get(Person, i).name for i in (row.giver_id, row.receiver_id)]
        assert (people, row.state) == ([CLERK, TECHNICIAN], "open")
    assert_conserved(store)


def test_a_kit_goes_out_of_a_van_too(store: Store) -> None:
    job, kit = ready(store)
    sealing.put_away_kit(store, kit=kit, to_place=VAN, by=CLERK, at=after(6))
    issue(store, job, kit)
    assert kit_view(store, kit=kit, at=after(11)).where == TECHNICIAN


def test_a_second_issue_is_told_who_has_it_and_since_when(store: Store) -> None:
    job, kit = ready(store)
    voucher = issue(store, job, kit)
    with pytest.raises(Conflict) as conflict:
        issue(store, job, kit, 11, by=BUILDER)
    for word in (CLERK, TECHNICIAN, job, voucher, "2026-03-02 07:10 UTC"):
        assert word in str(conflict.value)
    assert seen_rules(store, job, kit, 11) >= {"R5"}


# R4: a short kit can't be issued because it can't be checked; the guard is test_kitting's.


def test_another_seal_is_refused(store: Store) -> None:
    job, kit = ready(store)
    assert refused_rules(store, job, kit, seal="0009") == {"R5"}
    assert refused_rules(store, job, kit, seal="") == {"R5"}
    assert seen_rules(store, job, kit, seal="0009") == {"R5"}
    with pytest.raises(Refused, match=r"The seal read on .* is missing, the record says 0001"):
        issue(store, job, kit, seal="\x1b[2J")  # what no seal can be is not shown
    issue(store, job, kit, seal=" 0001 ")


def test_an_unsealed_kit_is_refused(store: Store) -> None:
    job, _ = ready(store)
    stock_up(store, at=after(6))
    from kittrack.services import kitting

    kit = kitting.build_kit(store, revision="QA A", bench="Bench 1", by=BUILDER, at=after(7)).codes[0]
    assert refused_rules(store, job, kit) == {"R5"}
    assert "R5" in seen_rules(store, job, kit)


@pytest.mark.parametrize("what", ["kit", "set", "line", "piece", "lot"])
def test_a_hold_on_anything_in_the_kit_is_seen_at_the_counter(store: Store, what: str) -> None:
    job, kit = ready(store)
    lines = kit_view(store, kit=kit, at=after(6)).lines
    with store.reading() as read:
        blade = read.value(
            "SELECT p.code FROM piece p JOIN holding h ON h.piece_id = p.id JOIN rotor_set s ON s.place_id = h.place_id "
            "WHERE s.code = ? ORDER BY p.id",
            lines[1].things[0],
        )
        lot = read.value(
            "SELECT l.code FROM lot l JOIN receipt_line r ON r.lot_id = l.id WHERE r.code = ?",
            lines[3].things[0],
        )
    code = {"kit": kit, "set": lines[0].things[0], "line": lines[2].things[0], "piece": blade, "lot": lot}[
        what
    ]
    recalled = what != "kit"  # a recall goes by what is in a kit
    held = holding.place_hold(
        store, scope=Scope(code=code), reason="x", reference="B-1", is_recall=recalled, by=CLERK, at=after(7)
    ).codes[0]
    assert refused_rules(store, job, kit) == {"R6"}
    assert seen_rules(store, job, kit) == {"R6"}
    holding.release_hold(store, hold=held, reference="B-2", reason="cleared", by=MANAGER, at=after(12))
    issue(store, job, kit, 13)


def test_a_kit_with_something_of_unknown_expiry_is_refused(store: Store) -> None:
    """No expiry and unknown expiry are two things (R13)."""
    job, kit = ready(store)
    with store.act("what the label said was misread", by=MANAGER, at=after(8)) as act:
        screws = act.select(ReceiptLine, "unit = 'pieces'", order="id DESC")[0]
        act.update(screws, expiry_kind="unknown")
    assert refused_rules(store, job, kit) == {"R13"}
    assert seen_rules(store, job, kit) == {"R13"}
    with store.act("it has none", by=MANAGER, at=after(11)) as act:
        act.update(act.get(ReceiptLine, screws.id), expiry_kind="none")
    issue(store, job, kit, 12)


def test_an_expired_kit_is_refused_and_good_until_the_end_of_its_last_day(store: Store) -> None:
    job, kit = ready(store)  # the bottle ends with 2026-12-31 in Oslo, which is 23:00 UTC
    last_minute = (304 * 24 + 15) * 60 + 59  # 2026-12-31 22:59 UTC, counted from 2026-03-02 07:00
    assert after(last_minute).isoformat() == "2026-12-31T22:59:00+00:00"
    assert refused_rules(store, job, kit, last_minute + 1) == {"R13"}
    issue(store, job, kit, last_minute)


def test_a_superseded_for_safety_part_and_a_lost_proof_stop_the_kit(store: Store) -> None:
    job, kit = ready(store)
    with store.act("supersede", by=MANAGER, at=after(6)) as act:
        screw = act.find(Part, number=SCREW)
        assert screw is not None
        act.update(screw, superseded_how="safety")
        for blade in act.select(Part, "kind = 'blade'"):
            act.update(blade, tolerance_g_um=1500)  # the sets have 1200 + 800
        assert act.select(MatchRecord)
    assert refused_rules(store, job, kit) == {"R6", "R19"}


def add_revision(store: Store) -> None:
    with store.act("new revision", by=MANAGER, at=after(6)) as act:
        kind, frame = act.find(AirframeType, name="QA"), act.find(Airframe, tail=TAIL)
        assert kind is not None
        assert frame is not None
        new = act.insert(TypeRevision(airframe_type_id=kind.id, name="B", source="test"))
        act.update(frame, type_revision_id=new.id)


def test_another_revision_is_refused(store: Store) -> None:
    job, kit = ready(store)
    add_revision(store)
    assert refused_rules(store, job, kit) == {"R7"}


def rewire(store: Store, minute: int, name: str, tail: str = TAIL) -> None:
    """Turn one motor of an airframe over: a new revision of its map."""
    with store.act("rewire", by=MANAGER, at=after(minute)) as act:
        frame = act.find(Airframe, tail=tail)
        assert frame is not None
        old = act.get(SenseMap, frame.sense_map_id or 0)
        new = act.insert(
            SenseMap(
                airframe_id=frame.id, revision=old.revision + 1, source="motor work", event_id=act.event_id
            )
        )
        for line in act.select(SenseMapLine, "sense_map_id = ?", old.id):
            turned = act.get(Position, line.position_id).name == name
            sense = {"CW": "CCW", "CCW": "CW"}[line.sense] if turned else line.sense
            act.insert(SenseMapLine(sense_map_id=new.id, position_id=line.position_id, sense=sense))
        act.update(frame, sense_map_id=new.id)


def test_the_current_map_is_compared_position_by_position(store: Store) -> None:
    job, kit = ready(store)
    rewire(store, 6, "FR")
    with pytest.raises(Refused) as refused:
        issue(store, job, kit)
    assert refused.value.rules == {"R7"}
    assert "FR" in str(refused.value)
    rewire(store, 11, "FR")
    issue(store, job, kit, 12)


def test_two_turned_motors_that_keep_the_count_are_found_too(store: Store) -> None:
    job, kit = ready(store)
    rewire(store, 6, "FR")
    rewire(store, 7, "FL")  # still two of each sense
    with pytest.raises(Refused) as refused:
        issue(store, job, kit)
    assert [r.rule for r in refused.value.refusals] == ["R7", "R7"]


def test_giver_and_receiver_differ_unless_declared_alone(store: Store) -> None:
    job, kit = ready(store)
    founding.set_roles(store, person=CLERK, roles=("clerk", "technician"), by=MANAGER, at=after(6))
    assert refused_rules(store, job, kit, receiver=CLERK) == {"R8"}
    assert seen_rules(store, job, kit, giver=CLERK, receiver=CLERK) == {"R8"}
    founding.declare_alone(
        store,
        person=CLERK,
        job=job,
        from_on=T0.date(),
        until_on=T0.date(),
        reason="night",
        by=MANAGER,
        at=after(11),
    )
    done = issuing.issue_kit(store, kit=kit, job=job, seal="0001", receiver=CLERK, by=CLERK, at=after(12))
    assert any("declared alone" in text for text in done.said)
    with store.reading() as read:
        statements = read.value("SELECT statements FROM event WHERE id = ?", done.event)
    assert f'"of":"issue of a kit","subject":"{kit}"' in statements


def test_only_a_clerk_gives_and_only_a_technician_receives(store: Store) -> None:
    job, kit = ready(store)
    assert refused_rules(store, job, kit, receiver=MANAGER, by=TECHNICIAN) == {"role"}
    with store.act("leaves", by=MANAGER, at=after(11)) as act:
        person = act.find(Person, name=INSPECTOR)
        assert person is not None
        act.update(person, active=0)
    assert "R8" in refused_rules(store, job, kit, 12, receiver=INSPECTOR)


def test_changed_settings_stop_the_issue(store: Store) -> None:
    job, kit = ready(store)
    with store.act("change a setting", by=MANAGER, at=after(6)) as act:
        for revision in act.select(TypeRevision):
            act.update(revision, settings_revision=2)
    assert refused_rules(store, job, kit) == {"R21"}


def test_a_kit_fits_its_job_whole(store: Store) -> None:
    job, kit = ready(store)
    small = jobs.open_job(
        store, airframe=TAIL2, purpose="x", positions=Coverage("arm", ("FR",)), by=TECHNICIAN, at=after(6)
    ).codes[0]
    assert refused_rules(store, small, kit) == {"R5"}  # a kit for four arms, a job on one
    assert refused_rules(store, small, kit, airframe=TAIL) == {"R5", "R7"}
    jobs.close_job(store, job=small, reason="x", by=TECHNICIAN, at=after(11))
    assert "R11" in refused_rules(store, small, kit, 12)
    issue(store, job, kit, 13)


def test_positions_are_served_once(store: Store) -> None:
    job, kit = ready(store)
    stock_up(store, at=after(6))
    other = sealed_kit(store, at=after(7), seal="0002")
    issue(store, job, kit)
    assert refused_rules(store, job, other, 11, seal="0002") == {"R11"}


def test_no_issue_to_an_airframe_that_was_sold(store: Store) -> None:
    job, kit = ready(store)
    with store.act("sell", by=MANAGER, at=after(6)) as act:
        frame = act.find(Airframe, tail=TAIL)
        assert frame is not None
        act.update(frame, state="sold")
    assert refused_rules(store, job, kit) == {"R7"}


def test_a_kit_in_the_hold_cage_is_put_away_first(store: Store) -> None:
    job, kit = ready(store)
    sealing.put_away_kit(store, kit=kit, to_place="hold cage Home", by=CLERK, at=after(6))
    assert refused_rules(store, job, kit) == {"R6"}
    assert seen_rules(store, job, kit) == {"R6"}


# ---- another airframe's kit (R20) ----------------------------------------------------------------


def other_s(store: Store) -> tuple[str, str]:
    stock_up(store, at=after(1))
    job = jobs.open_job(store, airframe=TAIL2, purpose="urgent", by=TECHNICIAN, at=after(2)).codes[0]
    return job, sealed_kit(store, at=after(5), airframe=TAIL)


def test_a_kit_of_another_airframe_takes_the_override(store: Store) -> None:
    job, kit = other_s(store)
    assert issue_view(store, kit=kit, job=job, at=after(6)).needs_override
    assert refused_rules(store, job, kit) == {"R20"}
    for second in (CLERK, TECHNICIAN):
        assert refused_rules(store, job, kit, waiver=Waiver("urgent", second)) == {"R20"}
    with pytest.raises(BadInput):
        issue(store, job, kit, waiver=Waiver(" ", INSPECTOR))
    done = issuing.issue_kit(
        store, kit=kit, job=job, seal="0001", receiver=TECHNICIAN, by=CLERK, at=after(10), waiver=Waiver("urgent flight", INSPECTOR),
    )  # fmt: skip
    assert "It was built for another airframe: the override is on the Office's list." in done.said
    with store.reading() as read:
        (row,) = read.select(Override)
        assert (row.kind, row.subject, row.reason) == ("other airframe", kit, "urgent flight")
        second_id = read.value("SELECT second_id FROM event WHERE id = ?", row.event_id)
        assert read.get(Person, second_id).name == INSPECTOR


def test_an_override_that_nothing_asks_for_is_none(store: Store) -> None:
    job, kit = ready(store)
    issue(store, job, kit, waiver=Waiver("to be sure", INSPECTOR))
    with store.reading() as read:
        assert read.select(Override) == []


def test_the_override_waives_neither_senses_nor_holds(store: Store) -> None:
    job, kit = other_s(store)
    rewire(store, 6, "FR", tail=TAIL2)
    assert refused_rules(store, job, kit, waiver=Waiver("urgent", INSPECTOR)) == {"R7"}
    rewire(store, 11, "FR", tail=TAIL2)
    holding.place_hold(store, scope=Scope(code=kit), reason="x", reference="", by=CLERK, at=after(12))
    assert refused_rules(store, job, kit, 13, waiver=Waiver("urgent", INSPECTOR)) == {"R6"}


# ---- at the aircraft -----------------------------------------------------------------------------


def test_opening_passes_everything_to_the_job(store: Store) -> None:
    job, kit = ready(store)
    issue(store, job, kit)
    done = issuing.open_at_aircraft(store, kit=kit, seal="0001", by=TECHNICIAN, at=after(11))
    assert len(done.codes) == 4
    assert [text.split()[0] for text in done.said[1:5]] == ["CW", "CW", "CCW", "CCW"]
    assert [text.split(":")[0] for text in done.said[5:]] == [
        "screw SC-M3x8",
        "washer WA-M3",
        "threadlocker TL-10",
    ]
    with store.reading() as read:
        emptied = read.find(Place, code=kit)
        assert emptied is not None
        assert (emptied.active, emptied.closed) == (0, 0)
    assert kit_view(store, kit=kit, at=after(12)).state == "opened"
    left = job_view(store, job=job).left_over
    assert len(left) == 7  # four sets, screws, washers, the bottle
    assert any(text.startswith("16 of SC-M3x8") for text in left)
    with pytest.raises(Refused) as refused:
        issuing.open_at_aircraft(store, kit=kit, seal="0001", by=TECHNICIAN, at=after(13))
    assert refused.value.rules == {"R5"}
    assert refused_rules(store, job, kit, 14) == {"R5", "R11"}  # a dead number, and the job is served
    assert_conserved(store)


def opening_rules(store: Store, kit: str, minute: int, seal: str = "0001", by: str = TECHNICIAN) -> set[str]:
    with pytest.raises(Refused) as refused:
        issuing.open_at_aircraft(store, kit=kit, seal=seal, by=by, at=after(minute))
    return {str(rule) for rule in refused.value.rules}


def test_what_changed_since_the_issue_stops_the_opening(store: Store) -> None:
    job, kit = ready(store)
    assert opening_rules(store, kit, 9) == {"R5"}  # not issued
    issue(store, job, kit)
    assert opening_rules(store, kit, 11, seal="0009") == {"R5"}
    assert opening_rules(store, kit, 11, by=CLERK) == {"role"}
    held = holding.place_hold(
        store, scope=Scope(code=kit), reason="x", reference="", by=CLERK, at=after(12)
    ).codes[0]
    rewire(store, 13, "RR")
    assert opening_rules(store, kit, 14) == {"R6", "R7"}
    rewire(store, 15, "RR")
    holding.release_hold(store, hold=held, reference="B", reason="ok", by=MANAGER, at=after(16))
    issuing.open_at_aircraft(store, kit=kit, seal="0001", by=TECHNICIAN, at=after(17))


def test_an_arm_s_kit_serves_its_arm_and_the_rest_follows(store: Store) -> None:
    stock_up(store, at=after(1))
    job = jobs.open_job(store, airframe=TAIL, purpose="x", by=TECHNICIAN, at=after(2)).codes[0]
    front = sealed_kit(store, at=after(3), positions=Coverage("group", ("front",)))
    stock_up(store, at=after(4))
    rear = sealed_kit(store, at=after(5), positions=Coverage("group", ("rear",)), seal="0002")
    issue(store, job, front)
    issue(store, job, rear, 11, seal="0002")
    assert [code for code, _ in job_view(store, job=job).kits] == [front, rear]


def test_a_reservation_for_the_job_is_used_by_the_issue(store: Store) -> None:
    job, kit = ready(store)
    jobs.reserve(store, job=job, thing=kit, until=T0.date(), by=CLERK, at=after(6))
    issue(store, job, kit)
    with store.reading() as read:
        assert [r.state for r in read.select(Reservation)] == ["used"]


def test_a_kit_whose_job_ended_is_not_opened(store: Store) -> None:
    job, kit = ready(store)
    issue(store, job, kit)
    with store.act("end the job by hand", by=MANAGER, at=after(11)) as act:
        row = act.find(Job, code=job)
        assert row is not None
        act.update(row, state="closed")
    assert opening_rules(store, kit, 12) == {"R11"}


def test_a_receiver_who_left_gets_nothing_by_an_override_either(store: Store) -> None:
    job, kit = other_s(store)
    founding.let_person_go(store, person=TECHNICIAN, by=MANAGER, at=after(6))
    assert refused_rules(store, job, kit, waiver=Waiver("urgent", INSPECTOR)) == {"R8"}


def test_the_counter_names_what_it_does_not_know(store: Store) -> None:
    job, kit = ready(store)
    wrongs: tuple[dict[str, Any], ...] = ({"giver": "Nobody", "receiver": CLERK}, {"airframe": "QA-99"})
    for wrong in wrongs:
        with pytest.raises(NotFound):
            seen_rules(store, job, kit, **wrong)
    assert seen_rules(store, job, kit, giver=CLERK, receiver=TECHNICIAN) == set()
    with pytest.raises(NotFound):
        job_view(store, job=codes.make_code(codes.Kind.JOB, codes.next_number(codes.Kind.JOB, after=900)))
