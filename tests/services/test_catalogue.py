"""Adding to the catalogue one thing at a time: what is kept, and that every fault of a row is told at once."""

import shutil
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from kittrack.errors import BadInput, NotFound, Refused
from kittrack.queries.verify import verify
from kittrack.services import catalogue
from kittrack.services.catalogue_parts import part_named
from kittrack.services.catalogue_specs import (
    CompanySpec,
    ExtraSpec,
    FixingSpec,
    GroupSpec,
    Mark,
    PartSpec,
    PositionSpec,
    ToolSpec,
    TypeRevisionSpec,
)
from kittrack.store.database import Store, open_store
from kittrack.store.records import (
    ApprovedPart,
    Company,
    HubFixing,
    KitListLine,
    PaperKind,
    Part,
    PartMark,
    PositionGroup,
    Tool,
    TypePosition,
    TypeRevision,
)
from tests.factories import (
    CCW_BLADE,
    CLERK,
    CW_BLADE,
    INSPECTOR,
    LOCKER,
    MANAGER,
    SCREW,
    TECHNICIAN,
    WASHER,
    after,
)

BLADE = PartSpec(
    number="RB-20-CW", maker="Invented Rotors", name="rotor blade 20 in CW", kind="blade", paper_class="rotor",
    sense="CW", marks=(Mark(text="20R", sense="CW"), Mark(text="20", sense="CCW")), blades_per_rotor=3,
    tolerance_g_um=3000, tolerance_source="invented sheet 2", life_minutes=6000,
)  # fmt: skip
SCREW_SPEC = PartSpec(
    number="SC-M3x10", maker="Invented Rotors", name="screw M3 x 10", kind="fastener", paper_class="standard part",
    thread="M3", length_um=10_000, head="socket head", drive="hex", property_class="A2-70", single_use=True,
)  # fmt: skip
DOSE = PartSpec(
    number="TL-SD", maker="Invented Rotors", name="threadlocker, single dose", kind="consumable", paper_class="material",
    unit="volume_ul", pack_quantity=200, single_dose=True, expiry_needed=True, shelf_life_days=730,
)  # fmt: skip
HUB = PartSpec(
    number="HUB-3", maker="Invented Rotors", name="hub for three blades", kind="hub", paper_class="rotor"
)


@pytest.fixture
def one_engine(sqlite_template: Path, tmp_path: Path) -> Iterator[Store]:
    """A store on one engine, for rows that are refused before either is asked."""
    path = tmp_path / "one.kittrack"
    shutil.copyfile(sqlite_template, path)
    opened = open_store(f"sqlite:///{path}")
    yield opened
    opened.close()


def fields(caught: pytest.ExceptionInfo[BadInput]) -> set[str]:
    return {problem.field for problem in caught.value.problems}


def part_of(store: Store, number: str) -> Part:
    with store.reading() as read:
        found = read.find(Part, number=number)
    assert found is not None
    return found


# ---- companies, paper, tools -----------------------------------------------------------------------


def test_a_clerk_may_add_a_supplier_with_its_lead_time(store: Store) -> None:
    catalogue.add_company(
        store, spec=CompanySpec(name="Later", is_supplier=True, lead_time_days=9), by=CLERK, at=after(1)
    )
    with store.reading() as read:
        found = read.find(Company, name="Later")
    assert found is not None
    assert (found.is_maker, found.is_supplier, found.lead_time_days) == (0, 1, 9)


@pytest.mark.parametrize(
    ("spec", "field"),
    [
        (CompanySpec(name="Invented Rotors"), "name"),
        (CompanySpec(name=" Blank"), "name"),
        (CompanySpec(name="A: B"), "name"),
        (CompanySpec(name="Later", is_supplier=True, lead_time_days=-1), "lead_time_days"),
        (CompanySpec(name="Later", is_maker=True, lead_time_days=3), "lead_time_days"),
    ],
)
def test_a_company_that_can_not_be_is_told(one_engine: Store, spec: CompanySpec, field: str) -> None:
    with pytest.raises(BadInput) as caught:
        catalogue.add_company(one_engine, spec=spec, by=MANAGER, at=after(1))
    assert fields(caught) == {field}


def test_a_technician_adds_no_company(store: Store) -> None:
    with pytest.raises(Refused) as refused:
        catalogue.add_company(store, spec=CompanySpec(name="Later"), by=TECHNICIAN, at=after(1))
    assert refused.value.rules == {"role"}


def test_a_kind_of_paper_is_named_withdrawn_and_named_again(store: Store) -> None:
    paper = {"paper_class": "rotor", "kind": "release certificate"}
    catalogue.add_paper_kind(store, **paper, by=MANAGER, at=after(1))
    with pytest.raises(BadInput):
        catalogue.add_paper_kind(store, **paper, by=MANAGER, at=after(2))
    catalogue.withdraw_paper_kind(store, **paper, by=MANAGER, at=after(3), reason="forged ones were seen")
    with store.reading() as read:
        assert read.find(PaperKind, **paper, active=1) is None
    with pytest.raises(BadInput):
        catalogue.withdraw_paper_kind(store, **paper, by=MANAGER, at=after(4), reason="again")
    catalogue.add_paper_kind(store, **paper, by=MANAGER, at=after(5))
    with store.reading() as read:
        assert len(read.select(PaperKind, "kind = ?", "release certificate")) == 1
        assert read.find(PaperKind, **paper, active=1) is not None


def test_only_a_manager_says_which_paper_suffices(store: Store) -> None:
    with pytest.raises(Refused) as refused:
        catalogue.add_paper_kind(store, paper_class="rotor", kind="handshake", by=CLERK, at=after(1))
    assert refused.value.rules == {"role"}


def test_a_tool_gets_a_code_is_calibrated_and_retired(store: Store) -> None:
    spec = ToolSpec(name="Torque driver 9", kind="torque", min_mnm=200, max_mnm=2000)
    done = catalogue.add_tool(store, spec=spec, by=MANAGER, at=after(1))
    assert "can't be used" in done.said[1]
    catalogue.calibrate_tool(
        store, tool=done.codes[0], until=date(2027, 5, 31), source="C-77", by=INSPECTOR, at=after(2)
    )
    catalogue.retire_tool(store, tool="Torque driver 9", reason="dropped", by=MANAGER, at=after(3))
    with store.reading() as read:
        tool = read.find(Tool, code=done.codes[0])
    assert tool is not None
    assert (tool.calibrated_until_on, tool.active) == ("2027-05-31", 0)


@pytest.mark.parametrize(
    ("spec", "field"),
    [
        (ToolSpec(name="T", kind="hammer"), "kind"),
        (ToolSpec(name="T", kind="torque", min_mnm=500, max_mnm=500), "max_mnm"),
        (ToolSpec(name="T", kind="torque", max_mnm=500), "min_mnm"),
        (ToolSpec(name="T", kind="torque", min_mnm=1, max_mnm=9, resolution_ug=1), "resolution_ug"),
        (ToolSpec(name="T", kind="scale", resolution_ug=1000), "uncertainty_ug"),
        (ToolSpec(name="T", kind="scale", resolution_ug=1, uncertainty_ug=1, ruler_um=-1), "ruler_um"),
        (ToolSpec(name="T", kind="scale", resolution_ug=1, uncertainty_ug=1, min_mnm=5), "min_mnm"),
        (ToolSpec(name="Scale 1", kind="scale", resolution_ug=1, uncertainty_ug=1), "name"),
        (
            ToolSpec(
                name="T", kind="scale", resolution_ug=1, uncertainty_ug=1, calibrated_until_on="31/03/27"
            ),
            "calibrated_until_on",
        ),
    ],
)
def test_a_tool_that_can_not_be_is_told(one_engine: Store, spec: ToolSpec, field: str) -> None:
    with pytest.raises(BadInput) as caught:
        catalogue.add_tool(one_engine, spec=spec, by=MANAGER, at=after(1))
    assert field in fields(caught)


# ---- parts -----------------------------------------------------------------------------------------


def test_a_blade_is_kept_by_serial_with_its_table_of_marks(store: Store) -> None:
    catalogue.add_part(store, spec=BLADE, by=MANAGER, at=after(1))
    part = part_of(store, "RB-20-CW")
    assert (part.tracking, part.sense, part.blades_per_rotor, part.mark_revision) == ("serial", "CW", 3, 1)
    with store.reading() as read:
        marks = {m.mark: m.sense for m in read.select(PartMark, "part_id = ?", part.id)}
    assert marks == {"20R": "CW", "20": "CCW"}


def test_a_hub_belongs_to_the_set_of_its_blades(store: Store) -> None:
    catalogue.add_part(store, spec=HUB, by=MANAGER, at=after(1))
    catalogue.add_part(store, spec=replace(BLADE, hub_part="HUB-3", hub_in_set=True), by=MANAGER, at=after(2))
    blade, hub = part_of(store, "RB-20-CW"), part_of(store, "HUB-3")
    assert (blade.hub_part_id, blade.hub_in_set, hub.tracking) == (hub.id, 1, "serial")


@pytest.mark.parametrize("spec", [SCREW_SPEC, DOSE], ids=["screw", "dose"])
def test_a_clerk_may_add_hardware_but_no_blade(store: Store, spec: PartSpec) -> None:
    catalogue.add_part(store, spec=spec, by=CLERK, at=after(1))
    assert part_of(store, spec.number).tracking == "lot"
    with pytest.raises(Refused) as refused:
        catalogue.add_part(store, spec=BLADE, by=CLERK, at=after(2))
    assert refused.value.rules == {"role"}


@pytest.mark.parametrize(
    ("spec", "field"),
    [
        (replace(BLADE, sense=""), "sense"),
        (replace(BLADE, sense="cw"), "sense"),
        (replace(BLADE, marks=()), "marks"),
        (replace(BLADE, marks=(Mark(text="20", sense="CCW"),)), "marks"),
        (replace(BLADE, marks=(Mark(text="20r", sense="CW"), Mark(text="20R", sense="CCW"))), "marks"),
        (replace(BLADE, marks=(Mark(text="20", sense="R"), Mark(text="x", sense="CW"))), "marks"),
        (replace(BLADE, blades_per_rotor=None), "blades_per_rotor"),
        (replace(BLADE, blades_per_rotor=9), "blades_per_rotor"),
        (replace(BLADE, tracking="lot"), "tracking"),
        (replace(BLADE, unit="volume_ul"), "unit"),
        (replace(BLADE, tolerance_g_um=None, tolerance_source=""), "tolerance_g_um"),
        (replace(BLADE, tolerance_source=""), "tolerance_source"),
        (replace(BLADE, pairing_suffices=True), "pairing_source"),
        (replace(BLADE, hub_in_set=True), "hub_part"),
        (replace(BLADE, hub_part="HUB-9"), "hub_part"),
        (replace(BLADE, hub_part=SCREW), "hub_part"),
        (replace(BLADE, thread="M3"), "thread"),
        (replace(BLADE, maker="Nobody"), "maker"),
        (replace(BLADE, number=CW_BLADE), "number"),
        (replace(BLADE, number="RB\u200b-20"), "number"),
        (replace(BLADE, kind="propeller"), "kind"),
        (replace(BLADE, thread_hand="CW"), "thread_hand"),
        (replace(BLADE, life_minutes=0), "life_minutes"),
        (replace(SCREW_SPEC, sense="CW"), "sense"),
        (replace(SCREW_SPEC, marks=(Mark(text="R", sense="CW"),)), "marks"),
        (replace(SCREW_SPEC, head=""), "head"),
        (replace(SCREW_SPEC, property_class=""), "property_class"),
        (replace(SCREW_SPEC, tracking="serial"), "tracking"),
        (replace(SCREW_SPEC, life_minutes=60), "life_minutes"),
        (replace(SCREW_SPEC, unit="volume_ul"), "unit"),
        (replace(SCREW_SPEC, pack_quantity=0), "pack_quantity"),
        (replace(DOSE, opened_life_days=30), "opened_life_days"),
        (replace(DOSE, tracking="serial"), "tracking"),
        (replace(DOSE, thread="M3"), "thread"),
        (replace(DOSE, unit="drops"), "unit"),
        (replace(HUB, unit="volume_ul"), "unit"),
        (replace(HUB, single_dose=True), "single_dose"),
    ],
)
def test_a_part_that_can_not_be_is_told_by_its_field(one_engine: Store, spec: PartSpec, field: str) -> None:
    with pytest.raises(BadInput) as caught:
        catalogue.add_part(one_engine, spec=spec, by=MANAGER, at=after(1))
    assert field in fields(caught)


def test_every_fault_of_a_part_is_told_at_once(one_engine: Store) -> None:
    spec = replace(BLADE, name="", maker="Nobody", sense="L", blades_per_rotor=0, thread="M3")
    with pytest.raises(BadInput) as caught:
        catalogue.add_part(one_engine, spec=spec, by=MANAGER, at=after(1))
    assert fields(caught) == {"name", "maker", "sense", "blades_per_rotor", "thread"}


def test_a_maker_who_is_only_a_supplier_makes_no_part(store: Store) -> None:
    catalogue.add_company(store, spec=CompanySpec(name="Shop", is_supplier=True), by=MANAGER, at=after(1))
    with pytest.raises(BadInput) as caught:
        catalogue.add_part(store, spec=replace(BLADE, maker="Shop"), by=MANAGER, at=after(2))
    assert fields(caught) == {"maker"}


def test_two_makers_may_use_one_number_and_a_look_alike_is_pointed_out(store: Store) -> None:
    other = catalogue.add_part(
        store, spec=replace(SCREW_SPEC, maker="Invented Supplies", number=SCREW), by=CLERK, at=after(1)
    )
    assert len(other.said) == 1
    near = catalogue.add_part(store, spec=replace(SCREW_SPEC, number="SC-M3X8"), by=CLERK, at=after(2))
    assert SCREW in near.said[1]
    with pytest.raises(BadInput), store.reading() as read:
        part_named(read, SCREW, field="screw")
    with store.reading() as read:
        assert part_named(read, f"Invented Supplies: {SCREW}", field="screw").maker_id == 2


def test_a_mark_that_reads_like_the_other_sense_is_asked_about(store: Store) -> None:
    spec = replace(BLADE, marks=(Mark(text="CCW", sense="CW"),))
    assert "CCW" in catalogue.add_part(store, spec=spec, by=MANAGER, at=after(1)).said[1]


def test_a_screw_that_the_tables_do_not_know_is_kept_with_a_warning(store: Store) -> None:
    done = catalogue.add_part(store, spec=replace(SCREW_SPEC, head="cheese head"), by=CLERK, at=after(1))
    assert "cheese head" in done.said[1]


# ---- superseding -----------------------------------------------------------------------------------


def supersede(store: Store, part: str, successor: str, how: str, minute: int) -> None:
    catalogue.supersede_part(
        store, part=part, successor=successor, how=how, source="bulletin 4", by=MANAGER, at=after(minute)
    )  # fmt: skip


def test_a_superseded_part_names_its_successor_and_safety_is_never_weakened(store: Store) -> None:
    for number, minute in (("RB-20-CW", 1), ("RB-21-CW", 2)):
        catalogue.add_part(store, spec=replace(BLADE, number=number), by=MANAGER, at=after(minute))
    supersede(store, "RB-20-CW", "RB-21-CW", "use up", 3)
    supersede(store, "RB-20-CW", "RB-21-CW", "safety", 4)
    old, new = part_of(store, "RB-20-CW"), part_of(store, "RB-21-CW")
    assert (old.superseded_by_id, old.superseded_how, old.revision) == (new.id, "safety", 3)
    with pytest.raises(Refused) as refused:
        supersede(store, "RB-20-CW", "RB-21-CW", "use up", 5)
    assert refused.value.rules == {"R21"}
    with pytest.raises(Refused) as refused:
        supersede(store, "RB-21-CW", "RB-20-CW", "use up", 6)
    assert refused.value.rules == {"R6", "R7"}


@pytest.mark.parametrize("successor", [CCW_BLADE, SCREW])
def test_a_successor_is_of_the_same_kind_and_sense(store: Store, successor: str) -> None:
    with pytest.raises(Refused) as refused:
        supersede(store, CW_BLADE, successor, "use up", 1)
    assert refused.value.rules == {"R7"}


def test_a_way_of_superseding_that_is_none_is_told(store: Store) -> None:
    with pytest.raises(BadInput):
        supersede(store, CW_BLADE, CW_BLADE, "maybe", 1)


# ---- airframe types --------------------------------------------------------------------------------

FIXING = FixingSpec(
    name="hub", screw=SCREW, screws_per_hub=4, washer=WASHER, washers_per_hub=4, locker=LOCKER, locker_ul_per_screw=50,
    torque_mnm=800, torque_condition="threadlocker", torque_source="manual 5.2", stack_um=4000,
    engagement_min_um=3000, engagement_max_um=4500,
)  # fmt: skip


def corner(name: str, degrees: int, sense: str) -> PositionSpec:
    part = CW_BLADE if sense == "CW" else CCW_BLADE
    return PositionSpec(
        name=name, arm=name, sense=sense, angle_mdeg=degrees * 1000, radius_um=300_000, fixing="hub", approved=(part,)
    )  # fmt: skip


QUAD = (corner("FR", 45, "CCW"), corner("RL", 225, "CCW"), corner("FL", 315, "CW"), corner("RR", 135, "CW"))
REVISION = TypeRevisionSpec(
    airframe_type="QB", name="A", source="parts list", fixings=(FIXING,), positions=QUAD, retorque_minutes=600,
    groups=(GroupSpec(name="front", positions=("FR", "FL")),), extras=(ExtraSpec(part=WASHER, quantity=2, per="hub"),),
)  # fmt: skip


def add_revision(store: Store, spec: TypeRevisionSpec) -> tuple[str, ...]:
    catalogue.add_airframe_type(store, name="QB", by=MANAGER, at=after(1))
    return catalogue.add_type_revision(store, spec=spec, by=MANAGER, at=after(2)).said


def test_a_type_revision_is_kept_with_all_that_kits_are_computed_from(store: Store) -> None:
    assert add_revision(store, REVISION) == ("QB revision A added with 4 positions.",)
    with store.reading() as read:
        revision = read.select(TypeRevision, order="id DESC", limit=1)[0]
        of_it = ("type_revision_id = ?", revision.id)
        positions = read.select(TypePosition, *of_it, order="rank")
        fixing = read.select(HubFixing, *of_it)[0]
        approved = read.select(ApprovedPart, "type_position_id = ?", positions[0].id)
        groups, extras = read.select(PositionGroup, *of_it), read.select(KitListLine, *of_it)
        blade = read.get(Part, approved[0].part_id)
    assert (revision.settings_revision, revision.retorque_minutes) == (1, 600)
    assert [p.name for p in positions] == ["FR", "RL", "FL", "RR"]
    assert (fixing.torque_mnm, fixing.torque_condition, fixing.stack_um) == (800, "threadlocker", 4000)
    assert blade.number == CCW_BLADE
    assert [g.type_position_id for g in groups] == [positions[0].id, positions[2].id]
    assert [(e.quantity, e.per) for e in extras] == [(2, "hub")]
    assert verify(store).faults == ()


def with_fixing(**changes: object) -> TypeRevisionSpec:
    return replace(REVISION, fixings=(replace(FIXING, **changes),))  # type: ignore[arg-type]  # fields by name


def with_first(**changes: object) -> TypeRevisionSpec:
    return replace(REVISION, positions=(replace(QUAD[0], **changes), *QUAD[1:]))  # type: ignore[arg-type]  # as above


@pytest.mark.parametrize(
    ("spec", "field"),
    [
        (with_fixing(screw="SC-9"), "fixing hub, screw"),
        (with_fixing(screw=LOCKER), "fixing hub, screw"),
        (with_fixing(washer=CW_BLADE), "fixing hub, washer"),
        (with_fixing(locker=SCREW), "fixing hub, locker"),
        (with_fixing(screws_per_hub=0), "fixing hub, screws_per_hub"),
        (with_fixing(washers_per_hub=0), "fixing hub, washers_per_hub"),
        (with_fixing(locker=""), "fixing hub, locker_ul_per_screw"),
        (with_fixing(torque_source=""), "fixing hub, torque_source"),
        (with_fixing(torque_condition="moist"), "fixing hub, torque_condition"),
        (with_fixing(torque_mnm=None), "fixing hub, torque_mnm"),
        (with_fixing(torque_tolerance_mnm=800), "fixing hub, torque_tolerance_mnm"),
        (
            with_fixing(torque_method="angle", torque_text="snug, then a quarter turn"),
            "fixing hub, torque_mnm",
        ),
        (with_fixing(torque_method="snug", torque_mnm=None), "fixing hub, torque_text"),
        (with_fixing(torque_method="guess"), "fixing hub, torque_method"),
        (with_fixing(engagement_min_um=None), "fixing hub, stack_um"),
        (with_fixing(engagement_min_um=5000), "fixing hub, engagement_min_um"),
        # 8 mm of screw in a stack of 6 leave 2 where 3 are needed; in one of 3 they leave 5 where 4.5 fit.
        (with_fixing(stack_um=6000), "fixing hub, screw"),
        (with_fixing(stack_um=3000), "fixing hub, screw"),
        # M3 A2-70: 5.03 mm2 x 450 MPa (ISO 3506-1) x 0.2 x 3 mm = 1.36 N m at the 0.2 % stress.
        (with_fixing(torque_mnm=1400), "fixing hub, torque_mnm"),
        (with_first(sense="left"), "position FR, sense"),
        (with_first(level="middle"), "position FR, level"),
        (with_first(drive="jet"), "position FR, drive"),
        (with_first(fixing="glue"), "position FR, fixing"),
        (with_first(approved=()), "position FR, approved"),
        (with_first(approved=(CW_BLADE,)), "position FR, approved"),
        (with_first(approved=(SCREW,)), "position FR, approved"),
        (with_first(name="RL"), "position RL"),
        (with_first(alias="RL"), "position RL"),
        (with_first(radius_um=-1), "positions"),
        (with_first(angle_mdeg=225_000), "positions"),
        (replace(REVISION, positions=(), groups=()), "positions"),
        (replace(REVISION, fixings=(FIXING, FIXING)), "fixing hub"),
        (replace(REVISION, airframe_type="QC"), "airframe_type"),
        (replace(REVISION, retorque_minutes=0), "retorque_minutes"),
        (replace(REVISION, source=""), "source"),
        (replace(REVISION, groups=(GroupSpec(name="all", positions=("FR",)),)), "group all, name"),
        (replace(REVISION, groups=(GroupSpec(name="g", positions=("XX",)),)), "group g, positions"),
        (replace(REVISION, groups=(GroupSpec(name="g", positions=("FR", "FR")),)), "group g, positions"),
        (replace(REVISION, groups=(GroupSpec(name="g", positions=()),)), "group g, positions"),
        (replace(REVISION, extras=(ExtraSpec(part=CW_BLADE, quantity=1),)), f"extra {CW_BLADE}, part"),
        (replace(REVISION, extras=(ExtraSpec(part=LOCKER, quantity=1),)), f"extra {LOCKER}, quantity"),
        (replace(REVISION, extras=(ExtraSpec(part=WASHER, quantity=0),)), f"extra {WASHER}, quantity"),
        (replace(REVISION, extras=(ExtraSpec(part=WASHER, quantity=1),) * 2), f"extra {WASHER}, part"),
        (replace(REVISION, extras=(ExtraSpec(part=WASHER, quantity=1, per="day"),)), f"extra {WASHER}, per"),
    ],
)
def test_a_type_revision_that_can_not_be_is_told_by_its_field(
    one_engine: Store, spec: TypeRevisionSpec, field: str
) -> None:
    with pytest.raises(BadInput) as caught:
        add_revision(one_engine, spec)
    assert field in fields(caught)
    with one_engine.reading() as read:
        assert read.value("SELECT count(*) FROM type_revision") == 1


def test_faults_of_several_positions_and_fixings_are_told_at_once(one_engine: Store) -> None:
    spec = replace(
        with_first(approved=("RB-0",)),
        fixings=(replace(FIXING, screw="SC-9"), replace(FIXING, name="b", washer="WA-9")),
    )
    with pytest.raises(BadInput) as caught:
        add_revision(one_engine, replace(spec, positions=(replace(spec.positions[0], fixing="b"), *QUAD[1:])))
    assert fields(caught) == {"fixing hub, screw", "fixing b, washer"}


def test_a_type_and_its_revision_stand_once(store: Store) -> None:
    with pytest.raises(BadInput):
        catalogue.add_airframe_type(store, name="QA", by=MANAGER, at=after(1))
    with pytest.raises(BadInput) as caught:
        catalogue.add_type_revision(
            store, spec=replace(REVISION, airframe_type="QA"), by=MANAGER, at=after(1)
        )
    assert fields(caught) == {"name"}


def test_an_angle_instead_of_a_torque_is_kept_in_words(store: Store) -> None:
    words = {"torque_method": "angle", "torque_mnm": None, "torque_text": "snug, then a quarter turn"}
    add_revision(store, with_fixing(**words))
    with store.reading() as read:
        fixing = read.select(HubFixing, order="id DESC", limit=1)[0]
    assert (fixing.torque_method, fixing.torque_mnm, fixing.torque_text) == tuple(words.values())


@pytest.mark.parametrize(
    ("spec", "words"),
    [
        (with_fixing(torque_condition="dry"), "threadlocker"),
        # 80 mN m is a hundredth part of what a table for M3 says: newton centimetres taken for newton metres.
        (with_fixing(torque_mnm=80), "little"),
        (with_first(approved=(CCW_BLADE, CW_BLADE)), "own map says CW"),
    ],
)
def test_what_is_odd_is_kept_with_a_warning(store: Store, spec: TypeRevisionSpec, words: str) -> None:
    said = add_revision(store, spec)
    assert len(said) == 2
    assert words in said[1]


def test_a_screw_unknown_to_the_tables_or_with_a_left_hand_thread_is_judged_as_far_as_it_can_be(
    store: Store,
) -> None:
    odd = replace(SCREW_SPEC, number="SC-ODD", head="cheese head", length_um=8000)
    left = replace(SCREW_SPEC, number="SC-LH", thread_hand="LH", length_um=10_000)
    for spec in (odd, left):
        catalogue.add_part(store, spec=spec, by=MANAGER, at=after(1))
    with pytest.raises(BadInput) as caught:  # 10 mm in a stack of 4 leave 6 where 4.5 fit
        add_revision(store, with_fixing(screw="SC-LH"))
    assert fields(caught) == {"fixing hub, screw"}
    said = catalogue.add_type_revision(store, spec=with_fixing(screw="SC-ODD"), by=MANAGER, at=after(3)).said
    assert "no screw of the tables" in said[1]


def test_a_part_superseded_for_safety_is_not_approved(store: Store) -> None:
    catalogue.add_part(store, spec=BLADE, by=MANAGER, at=after(1))
    supersede(store, CW_BLADE, "RB-20-CW", "safety", 1)
    with pytest.raises(BadInput) as caught:
        add_revision(store, REVISION)
    assert fields(caught) == {"position FL, approved", "position RR, approved"}


def test_a_group_of_positions_is_named_later_once(store: Store) -> None:
    group: dict[str, Any] = {
        "airframe_type": "QA",
        "revision": "A",
        "name": "left",
        "positions": ("FL", "RL"),
        "by": MANAGER,
    }
    catalogue.add_position_group(store, **group, at=after(1))
    with store.reading() as read:
        assert len(read.select(PositionGroup, "name = 'left'")) == 2
    with pytest.raises(BadInput):
        catalogue.add_position_group(store, **group, at=after(2))
    with pytest.raises(NotFound):
        catalogue.add_position_group(store, **{**group, "revision": "Z"}, at=after(3))
    with pytest.raises(NotFound):
        catalogue.add_position_group(store, **{**group, "airframe_type": "QZ"}, at=after(4))
