"""Airframes: added, flown, brought to another revision, sold and written off."""

from typing import Any

import pytest

from kittrack.domain.ledger import AccountClass
from kittrack.errors import BadInput, NotFound, Refused
from kittrack.queries.recall import recall_account
from kittrack.queries.verify import verify
from kittrack.services import airframe_leaving, airframes, catalogue, findings, holding, reversing
from kittrack.services.airframes import AirframeSpec
from kittrack.services.catalogue_specs import (
    CompanySpec,
    FixingSpec,
    Mark,
    PartSpec,
    PositionSpec,
    TypeRevisionSpec,
)
from kittrack.store.database import Store
from kittrack.store.fold import differences
from kittrack.store.recall_scope import Scope
from kittrack.store.records import (
    Airframe,
    Company,
    Hold,
    HoldItem,
    Place,
    Position,
    RotorSet,
    SenseMap,
    SenseMapLine,
    TypeRevision,
    UsageReading,
)
from kittrack.store.stock import chain
from tests.aircraft_scene import Scene, make_set, open_job, position_of
from tests.factories import (
    AUDITOR,
    CCW_BLADE,
    CLERK,
    CW_BLADE,
    INSPECTOR,
    MANAGER,
    SCREW,
    TAIL,
    TAIL2,
    TECHNICIAN,
    after,
)

SPEC = AirframeSpec(tail="QA-03", airframe_type="QA", revision="A")


def the_airframe(store: Store, tail: str = TAIL) -> Airframe:
    with store.reading() as read:
        found = read.find(Airframe, tail=tail)
    assert found is not None
    return found


def faults(store: Store) -> list[str]:
    """What `verify` finds, but for the paper that the stock of the scene comes without."""
    return [fault.message for fault in verify(store).faults if fault.check != "R14"]


def map_of(store: Store, tail: str = TAIL) -> tuple[SenseMap, dict[str, str]]:
    airframe = the_airframe(store, tail)
    with store.reading() as read:
        current = read.get(SenseMap, airframe.sense_map_id or 0)
        lines = read.select(SenseMapLine, "sense_map_id = ?", current.id)
        return current, {read.get(Position, line.position_id).name: line.sense for line in lines}


# ---- adding ----------------------------------------------------------------------------------------


def test_an_airframe_stands_on_the_apron_with_its_positions_and_an_unverified_map(store: Store) -> None:
    done = airframes.add_airframe(store, spec=SPEC, by=MANAGER, at=after(1))
    airframe = the_airframe(store, "QA-03")
    with store.reading() as read:
        positions = read.select(Position, "airframe_id = ?", airframe.id)
        around = [p.kind for p in chain(read, positions[0].place_id)]
        names = [read.get(Place, p.place_id).name for p in positions]
    assert done.codes == (airframe.code, *(p.code for p in positions))
    assert around == ["position", "airframe", "apron"]
    assert names == ["QA-03 FR", "QA-03 RL", "QA-03 FL", "QA-03 RR"]
    assert (airframe.minutes, airframe.flights) == (None, None)
    current, senses = map_of(store, "QA-03")
    assert senses == {"FR": "CCW", "RL": "CCW", "FL": "CW", "RR": "CW"}  # the published quad X
    assert (current.revision, current.verified) == (1, False)
    assert "not verified" in done.said[1]
    assert faults(store) == []


def test_an_airframe_that_comes_verified_says_how(store: Store) -> None:
    spec = AirframeSpec(
        tail="QA-03", airframe_type="QA", revision="A", minutes=90, flights=4, reading_source="logbook",
        verified_how="motor test record 7",
    )  # fmt: skip
    done = airframes.add_airframe(store, spec=spec, by=MANAGER, at=after(1))
    current, _ = map_of(store, "QA-03")
    assert current.verified
    assert "motor test record 7" in current.source
    assert len(done.said) == 1
    with store.reading() as read:
        reading = read.select(UsageReading, order="id DESC", limit=1)[0]
    assert (reading.minutes, reading.flights, reading.source) == (90, 4, "logbook")


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"tail": ""}, "tail"),
        ({"tail": TAIL}, "tail"),
        ({"tail": "K000042-G"}, "tail"),
        ({"revision": "Z"}, "revision"),
        ({"airframe_type": "QZ"}, "revision"),
        ({"minutes": 5, "reading_source": "logbook"}, "flights"),
        ({"minutes": 5, "flights": 1}, "reading_source"),
        ({"minutes": -5, "flights": 1, "reading_source": "logbook"}, "minutes"),
        ({"apron": "A-01"}, "apron"),
    ],
)
def test_an_airframe_that_can_not_be_is_told(store: Store, changes: dict[str, Any], field: str) -> None:
    given = {"tail": "QA-03", "airframe_type": "QA", "revision": "A", **changes}
    with pytest.raises(BadInput) as caught:
        airframes.add_airframe(store, spec=AirframeSpec(**given), by=MANAGER, at=after(1))
    assert {p.field for p in caught.value.problems} == {field}


def test_only_a_manager_adds_an_airframe(store: Store) -> None:
    with pytest.raises(Refused) as refused:
        airframes.add_airframe(store, spec=SPEC, by=CLERK, at=after(1))
    assert refused.value.rules == {"role"}


# ---- hours and flights -----------------------------------------------------------------------------


def fly(store: Store, minutes: int, flights: int, *, minute: int, **more: str) -> tuple[str, ...]:
    given = {"airframe": TAIL, "source": "logbook page 3", "by": TECHNICIAN, **more}
    return airframes.enter_usage(store, minutes=minutes, flights=flights, at=after(minute), **given).said


def test_hours_and_flights_only_grow(store: Store) -> None:
    fly(store, 30, 2, minute=60)
    assert (the_airframe(store).minutes, the_airframe(store).flights) == (30, 2)
    with pytest.raises(Refused) as refused:
        fly(store, 29, 1, minute=61)
    assert refused.value.rules == {"R12"}
    assert [r.message.partition(";")[0] for r in refused.value.refusals] == [
        "QA-01 stood at 0:30 h and 0:29 h is less", "QA-01 stood at 2 flights and 1 flight is less",
    ]  # fmt: skip
    fly(store, 30, 2, minute=62)


def test_a_total_that_outruns_the_clock_is_asked_about(store: Store) -> None:
    assert len(fly(store, 60, 2, minute=60)) == 1
    assert "2:00 h while 1:00 h passed" in fly(store, 180, 3, minute=120)[1]


def reverse(store: Store, event: int, minute: int) -> None:
    reversing.reverse_event(
        store, event=event, reason="a digit too many", second=INSPECTOR, by=MANAGER, at=after(minute)
    )


def read_hours(store: Store, minutes: int, *, minute: int) -> int:
    return airframes.enter_usage(
        store,
        airframe=TAIL,
        minutes=minutes,
        flights=2,
        source="logbook page 3",
        by=TECHNICIAN,
        at=after(minute),
    ).event


def test_a_reading_with_a_digit_too_many_is_reversed_and_the_right_one_entered(store: Store) -> None:
    read_hours(store, 30, minute=60)
    wrong = read_hours(store, 600, minute=120)
    reverse(store, wrong, 121)
    assert the_airframe(store).minutes == 30
    assert len(fly(store, 60, 3, minute=122)) == 1, "it grew by less than the hour that passed"
    assert the_airframe(store).minutes == 60
    with store.reading() as read:
        assert list(differences(read)) == []


def test_a_reading_that_was_read_again_since_is_not_reversed(store: Store) -> None:
    first = read_hours(store, 30, minute=60)
    again = read_hours(store, 30, minute=120)
    with pytest.raises(Refused, match=f"since event {again} read the hours again") as refused:
        reverse(store, first, 121)
    assert refused.value.rules == {"R12"}
    reverse(store, again, 122)
    reverse(store, first, 123)
    assert the_airframe(store).minutes in (None, 0)


def test_hours_from_which_a_rotor_counts_are_not_reversed(store: Store) -> None:
    event = read_hours(store, 30, minute=1)
    scene = Scene(store)
    scene.fit("FL", scene.sets[0], "R")
    with pytest.raises(Refused, match="counted from them") as refused:
        reverse(store, event, 100)
    assert refused.value.rules == {"R12"}
    assert the_airframe(store).minutes == 30


def test_an_unknown_total_begins_with_its_first_reading(store: Store) -> None:
    airframes.add_airframe(store, spec=SPEC, by=MANAGER, at=after(1))
    assert len(fly(store, 10_000, 300, minute=2, airframe="QA-03")) == 1
    assert the_airframe(store, "QA-03").minutes == 10_000


def test_a_reading_needs_a_source_and_a_person_who_may(store: Store) -> None:
    with pytest.raises(BadInput):
        fly(store, 30, 2, minute=1, source=" ")
    with pytest.raises(Refused) as refused:
        fly(store, 30, 2, minute=1, by=AUDITOR)
    assert refused.value.rules == {"role"}
    with pytest.raises(NotFound):
        fly(store, 30, 2, minute=1, airframe="QA-99")


# ---- another type revision -------------------------------------------------------------------------


def revision_b(
    store: Store, *, names: str = "FR RL FL RR", parts: tuple[str, str] = (CW_BLADE, CCW_BLADE)
) -> None:
    """A revision of the same type with longer stack; positions keep their names as far as they are listed."""
    angles = {"FR": (45, "CCW"), "RL": (225, "CCW"), "FL": (315, "CW"), "RR": (135, "CW"), "XX": (0, "CW")}
    positions = tuple(
        PositionSpec(
            name=name, arm=name, sense=angles[name][1], angle_mdeg=angles[name][0] * 1000, radius_um=300_000,
            fixing="hub", approved=parts,
        )
        for name in names.split()
    )  # fmt: skip
    fixing = FixingSpec(
        name="hub", screw=SCREW, screws_per_hub=4, torque_mnm=800, torque_condition="dry", torque_source="manual"
    )  # fmt: skip
    spec = TypeRevisionSpec(
        airframe_type="QA", name="B", source="modification 3", positions=positions, fixings=(fixing,)
    )  # fmt: skip
    catalogue.add_type_revision(store, spec=spec, by=MANAGER, at=after(1))


def modify(store: Store, minute: int = 50, **more: str) -> tuple[str, ...]:
    given = {
        "airframe": TAIL,
        "revision": "B",
        "source": "modification 3",
        "by": MANAGER,
        "second": INSPECTOR,
        **more,
    }
    return airframes.change_type_revision(store, at=after(minute), **given).said


def test_another_revision_keeps_positions_by_name_and_clears_the_map(store: Store) -> None:
    revision_b(store)
    fitted = make_set(store, CW_BLADE, at=after(2), where=f"{TAIL} FL")
    job = open_job(store, at=after(3))
    said = modify(store)
    with store.reading() as read:
        revision = read.get(TypeRevision, the_airframe(store).type_revision_id)
        position = position_of(read, "FL")
        assert (
            read.value("SELECT type_revision_id FROM type_position WHERE id = ?", position.type_position_id)
            == revision.id
        )
        one = read.find(RotorSet, code=fitted)
        assert one is not None
        assert chain(read, one.place_id)[1].name == f"{TAIL} FL"
    current, senses = map_of(store)
    assert (revision.name, current.revision, current.verified) == ("B", 2, False)
    assert senses == {"FR": "CCW", "RL": "CCW", "FL": "CW", "RR": "CW"}
    assert any(job in text for text in said)
    assert faults(store) == []


def test_positions_are_given_up_added_and_taken_up_again(store: Store) -> None:
    revision_b(store, names="FR RL RR XX")
    assert any("XX is new" in text for text in modify(store))
    assert set(map_of(store)[1]) == {"FR", "RL", "RR", "XX"}
    with store.reading() as read:
        gone = position_of(read, "FL")
        assert not gone.active
        assert not read.get(Place, gone.place_id).active
    modify(store, minute=51, revision="A")
    with store.reading() as read:
        assert position_of(read, "FL").id == gone.id
        assert position_of(read, "FL").active
        assert read.get(Place, gone.place_id).active
    assert set(map_of(store)[1]) == {"FR", "RL", "FL", "RR"}
    assert faults(store) == []


def test_a_rotor_on_a_position_that_goes_blocks_the_change(store: Store) -> None:
    revision_b(store, names="FR RL RR")
    make_set(store, CW_BLADE, at=after(2), where=f"{TAIL} FL")
    with pytest.raises(Refused) as refused:
        modify(store)
    assert refused.value.rules == {"R7"}
    assert "FL" in refused.value.refusals[0].message


def test_a_rotor_that_the_other_revision_does_not_approve_blocks_the_change(store: Store) -> None:
    catalogue.add_part(
        store, spec=catalogue_blade("RB-22-CW", "CW"), by=MANAGER, at=after(1),
    )  # fmt: skip
    catalogue.add_part(store, spec=catalogue_blade("RB-22-CCW", "CCW"), by=MANAGER, at=after(1))
    revision_b(store, parts=("RB-22-CW", "RB-22-CCW"))
    make_set(store, CW_BLADE, at=after(2), where=f"{TAIL} FL")
    with pytest.raises(Refused) as refused:
        modify(store)
    assert refused.value.rules == {"R7"}


def catalogue_blade(number: str, sense: str) -> PartSpec:
    return PartSpec(
        number=number, maker="Invented Rotors", name=f"blade {number}", kind="blade", paper_class="rotor", sense=sense,
        marks=(Mark(text=sense, sense=sense),), blades_per_rotor=2, tolerance_g_um=5000,
        tolerance_source="sheet",
    )  # fmt: skip


def test_another_revision_takes_a_manager_and_a_second_person(store: Store) -> None:
    revision_b(store)
    with pytest.raises(Refused) as refused:
        modify(store, second=MANAGER)
    assert refused.value.rules == {"R8"}
    with pytest.raises(Refused) as refused:
        modify(store, by=TECHNICIAN)
    assert refused.value.rules == {"role"}
    with pytest.raises(BadInput):
        modify(store, revision="A")


# ---- leaving ---------------------------------------------------------------------------------------


def sell(store: Store, minute: int = 50, **more: str) -> tuple[str, ...]:
    given = {
        "airframe": TAIL,
        "new_owner": "New Owner Club",
        "by": MANAGER,
        "reason": "fleet renewed",
        **more,
    }
    return airframe_leaving.sell_airframe(store, at=after(minute), **given).said


def test_a_sold_airframe_takes_what_is_fitted_to_its_new_owner(store: Store) -> None:
    catalogue.add_company(store, spec=CompanySpec(name="New Owner Club"), by=MANAGER, at=after(1))
    fitted = make_set(store, CW_BLADE, at=after(2), where=f"{TAIL} FL", lot_code="B-77")
    assert any(fitted in text for text in sell(store))
    airframe = the_airframe(store)
    with store.reading() as read:
        owner = read.get(Company, airframe.owner_id or 0)
        assert chain(read, airframe.place_id)[-1].kind == "sold"
    assert (airframe.state, owner.name) == ("sold", "New Owner Club")
    account = recall_account(store, lot_code="B-77")
    assert dict(account.classes)[AccountClass.SOLD] == account.received == 2
    with pytest.raises(Refused) as refused:
        sell(store, minute=51)
    assert refused.value.rules == {"R12"}
    with pytest.raises(Refused) as refused:
        fly(store, 10, 1, minute=52)
    assert refused.value.rules == {"R12"}
    assert faults(store) == []


def test_the_seller_hears_of_a_recall_under_which_something_goes_along(store: Store) -> None:
    catalogue.add_company(store, spec=CompanySpec(name="New Owner Club"), by=MANAGER, at=after(1))
    make_set(store, CW_BLADE, at=after(2), where=f"{TAIL} FL", lot_code="B-77")
    make_set(store, CW_BLADE, at=after(3), where=f"{TAIL2} FL", lot_code="B-77")
    hold = holding.place_hold(
        store, scope=Scope(lot_code="B-77"), reason="spar cracks", reference="SB 9", is_recall=True, by=CLERK, at=after(4)
    ).codes[0]  # fmt: skip
    told = f"It takes along {hold} (spar cracks)"
    assert [text for text in sell(store) if text.startswith("It takes along")] == [
        f"{told}; write New Owner Club a notice (notice write)."
    ]
    gone = airframe_leaving.write_off_airframe(
        store, airframe=TAIL2, by=MANAGER, at=after(51), reason="broken arm plate"
    )
    assert f"{told}." in gone.said


def test_an_unknown_new_owner_is_told(store: Store) -> None:
    with pytest.raises(NotFound, match=r"add it first \(company add\)"):
        sell(store)


def test_a_written_off_airframe_is_scrapped_with_what_is_fitted(store: Store) -> None:
    make_set(store, CW_BLADE, at=after(2), where=f"{TAIL2} FL", lot_code="B-78")
    done = airframe_leaving.write_off_airframe(
        store, airframe=TAIL2, by=MANAGER, at=after(3), reason="broken arm plate"
    )
    assert the_airframe(store, TAIL2).state == "written off"
    assert dict(recall_account(store, lot_code="B-78").classes)[AccountClass.SCRAPPED] == 2
    assert len(done.said) == 2


def test_an_open_job_evidence_and_a_rotor_off_for_transport_keep_an_airframe(store: Store) -> None:
    catalogue.add_company(store, spec=CompanySpec(name="New Owner Club"), by=MANAGER, at=after(1))
    evidence = make_set(store, CW_BLADE, at=after(2), where=f"{TAIL} FL")
    off = make_set(store, CCW_BLADE, at=after(3), where="A-01")
    open_job(store, at=after(4))
    with store.act("set aside", by=MANAGER, at=after(5)) as act:
        one, other = act.find(RotorSet, code=evidence), act.find(RotorSet, code=off)
        assert one is not None
        assert other is not None
        hold = act.insert(
            Hold(
                code="H000001-1", scope="rotor set", scope_text=evidence, reason="accident", reference="O-1", is_evidence=1,
                placed_event_id=act.event_id,
            )
        )  # fmt: skip
        act.insert(HoldItem(hold_id=hold.id, rotor_set_id=one.id))
        act.update(other, bound_position_id=position_of(act, "FR").id)
    with pytest.raises(Refused) as refused:
        sell(store)
    assert refused.value.rules == {"R10", "R11"}
    assert {r.subject for r in refused.value.refusals} >= {evidence, off}
    assert the_airframe(store).state == "active"


def test_open_findings_and_holds_go_along_in_words(store: Store) -> None:
    catalogue.add_company(store, spec=CompanySpec(name="New Owner Club"), by=MANAGER, at=after(1))
    fitted = make_set(store, CW_BLADE, at=after(2), where=f"{TAIL} FL")
    with store.reading() as read:
        code = position_of(read, "FL").code
    findings.record_finding(
        store, text="nick in a blade", position=code, rotor_set=fitted, by=TECHNICIAN, at=after(3)
    )
    said = sell(store)
    assert any("tell the new owner" in text for text in said)
    assert any("nick in a blade" in text for text in said)
