"""Versioned settings: two people and a source, old and new kept, open kits and jobs named, unproven sets on hold."""

from collections.abc import Callable
from typing import Any

import pytest

from kittrack.domain import codes
from kittrack.errors import BadInput, NotFound, Refused
from kittrack.services import airframe_leaving, catalogue, settings, settings_kit_list, settings_types
from kittrack.services.catalogue_specs import ExtraSpec, Mark, PartSpec
from kittrack.services.desk import Done
from kittrack.services.settings_types import Tightening
from kittrack.store.database import Store
from kittrack.store.records import (
    ApprovedPart,
    HubFixing,
    Kit,
    KitListLine,
    MatchRecord,
    Part,
    PartMark,
    Person,
    Piece,
    Place,
    RotorSet,
    SettingChange,
    TypeRevision,
)
from kittrack.store.stock import open_holds
from tests.aircraft_scene import make_set, open_job
from tests.factories import (
    CCW_BLADE,
    CLERK,
    CW_BLADE,
    INSPECTOR,
    LOCKER,
    MANAGER,
    SCREW,
    TAIL,
    TECHNICIAN,
    WASHER,
    after,
)

PEOPLE: dict[str, Any] = {"by": MANAGER, "second": INSPECTOR, "source": "maker's letter 8"}
OF_A: dict[str, Any] = {"airframe_type": "QA", "revision": "A", **PEOPLE}


def the_part(store: Store, number: str = CW_BLADE) -> Part:
    with store.reading() as read:
        found = read.find(Part, number=number)
    assert found is not None
    return found


def the_revision(store: Store) -> TypeRevision:
    with store.reading() as read:
        return read.select(TypeRevision)[0]


def changes(store: Store) -> list[tuple[str, str, str, str, str]]:
    with store.reading() as read:
        return [(c.subject, c.name, c.old, c.new, c.source) for c in read.select(SettingChange)]


def held(store: Store) -> set[str]:
    """The codes of sets and blades under an open hold."""
    with store.reading() as read:
        sets, pieces = read.select(RotorSet), read.select(Piece)
        found = open_holds(read, rotor_sets=[s.id for s in sets], pieces=[p.id for p in pieces])
        by_id = {("rotor set", s.id): s.code for s in sets} | {("piece", p.id): p.code for p in pieces}
        return {by_id[h.thing, h.thing_id] for h in found}


def open_kit(store: Store, *, state: str = "building", minute: int = 2) -> str:
    """A kit of the invented type revision, as one that stands in the stores."""
    with store.act("build a kit", by=CLERK, at=after(minute)) as act:
        code = act.new_code(Kit, codes.Kind.KIT)
        place = act.insert(Place(code=code, kind="kit", name=code))
        bench = act.find(Place, kind="bench")
        clerk = act.find(Person, name=CLERK)
        assert bench is not None
        assert clerk is not None
        act.move_container(place.id, from_place_id=None, to_place_id=bench.id)
        act.insert(
            Kit(
                code=code, place_id=place.id, type_revision_id=1, settings_revision=1, state=state, built_by_id=clerk.id,
                seal="S-1" if state == "sealed" else None, event_id=act.event_id,
            )
        )  # fmt: skip
    return code


def proved(store: Store, where: str, *, minute: int, residual_g_um: int, uncertainty_g_um: int = 0) -> str:
    """A set that was measured, with what its proof says."""
    code = make_set(store, CW_BLADE, at=after(minute), where=where, lot_code=f"B-{minute}")
    with store.act("measure", by=TECHNICIAN, at=after(minute)) as act:
        one = act.find(RotorSet, code=code)
        assert one is not None
        proof = act.insert(
            MatchRecord(
                rotor_set_id=one.id, method="measured", source="Scale 1", residual_g_um=residual_g_um,
                uncertainty_g_um=uncertainty_g_um, event_id=act.event_id,
            )
        )  # fmt: skip
        act.update(one, match_record_id=proof.id)
    return code


# ---- who, and what is kept -------------------------------------------------------------------------

EVERY_CHANGE: list[tuple[Callable[..., Done], dict[str, Any]]] = [
    (settings.change_mark_table, {"part": CW_BLADE, "marks": (Mark(text="RR", sense="CW"),)}),
    (settings.change_tolerance, {"part": CW_BLADE, "tolerance_g_um": 4000}),
    (settings.change_pairing, {"part": CW_BLADE, "suffices": False}),
    (
        settings_types.change_torque,
        {
            "airframe_type": "QA",
            "revision": "A",
            "fixing": "hub",
            "tightening": Tightening(torque_mnm=700, condition="threadlocker"),
        },
    ),
    (
        settings_types.approve_part,
        {"airframe_type": "QA", "revision": "A", "positions": ("FR",), "part": CW_BLADE},
    ),
    (
        settings_types.withdraw_part,
        {"airframe_type": "QA", "revision": "A", "positions": ("all",), "part": CW_BLADE},
    ),
    (settings_types.change_retorque, {"airframe_type": "QA", "revision": "A", "minutes": None}),
    (
        settings_kit_list.change_kit_list,
        {"airframe_type": "QA", "revision": "A", "extra": ExtraSpec(part=WASHER, quantity=2)},
    ),
]
by_name = pytest.mark.parametrize(
    ("change", "given"), EVERY_CHANGE, ids=[c.__name__ for c, _ in EVERY_CHANGE]
)


@by_name
def test_a_change_takes_a_manager_another_person_and_a_source(
    store: Store, change: Callable[..., Done], given: dict[str, Any]
) -> None:
    for people, rules in (
        ({"by": TECHNICIAN}, {"role"}),
        ({"second": MANAGER}, {"R8"}),
        ({"by": CLERK, "second": CLERK}, {"role", "R8"}),
    ):
        with pytest.raises(Refused) as refused:
            change(store, **{**PEOPLE, **given, **people}, at=after(1))
        assert refused.value.rules == rules
    with pytest.raises(BadInput):
        change(store, **{**PEOPLE, **given, "source": " "}, at=after(1))
    assert changes(store) == []


@by_name
def test_a_change_is_counted_and_names_every_open_kit_and_job(
    store: Store, change: Callable[..., Done], given: dict[str, Any]
) -> None:
    kits = {open_kit(store, state=state) for state in ("building", "sealed")}
    gone = {open_kit(store, state=state) for state in ("opened", "dissolved")}
    job = open_job(store, at=after(3))
    done = change(store, **{**PEOPLE, **given}, at=after(4))
    said = "\n".join(done.said)
    assert all(code in said for code in (*kits, job))
    assert not any(code in said for code in gone)
    assert the_revision(store).settings_revision == 2
    assert {source for *_, source in changes(store)} == {"maker's letter 8"}


# The same figure from another source is a change.
FIGURES = (settings.change_tolerance, settings_types.change_torque)


@pytest.mark.parametrize(
    ("change", "given"), [pytest.param(c, g, id=c.__name__) for c, g in EVERY_CHANGE if c not in FIGURES]
)
def test_a_change_that_changes_nothing_is_told(
    store: Store, change: Callable[..., Done], given: dict[str, Any]
) -> None:
    change(store, **{**PEOPLE, **given}, at=after(1))
    with pytest.raises(BadInput):
        change(store, **{**PEOPLE, **given}, at=after(2))


# ---- of a part -------------------------------------------------------------------------------------


def test_a_new_table_of_marks_counts_and_blades_that_it_contradicts_go_on_hold(store: Store) -> None:
    make_set(store, CW_BLADE, at=after(1), where="A-01")
    make_set(store, CCW_BLADE, at=after(2), where="A-01")
    with store.reading() as read:
        clockwise = {p.code for p in read.select(Piece, "sense = 'CW'")}
    table = (Mark(text="CW", sense="CW"), Mark(text="R", sense="CCW"))
    settings.change_mark_table(store, part=CW_BLADE, marks=table, at=after(3), **PEOPLE)
    part = the_part(store)
    with store.reading() as read:
        now = {m.mark: m.sense for m in read.select(PartMark, "part_id = ? AND revision = 2", part.id)}
    assert (part.revision, part.mark_revision, now) == (2, 2, {"CW": "CW", "R": "CCW"})
    assert held(store) == clockwise
    assert changes(store)[0][:4] == (CW_BLADE, "table of marks", "CW = CW, R = CW", "CW = CW, R = CCW")


def test_a_table_without_a_mark_of_the_blade_s_own_sense_is_no_table(store: Store) -> None:
    with pytest.raises(BadInput):
        settings.change_mark_table(
            store, part=CW_BLADE, marks=(Mark(text="L", sense="CCW"),), at=after(1), **PEOPLE
        )
    with pytest.raises(BadInput):
        settings.change_mark_table(
            store, part=SCREW, marks=(Mark(text="R", sense="CW"),), at=after(1), **PEOPLE
        )


def test_a_narrower_tolerance_puts_sets_beyond_it_on_hold_where_ever_they_are(store: Store) -> None:
    within = proved(store, "A-01", minute=1, residual_g_um=1500, uncertainty_g_um=500)
    beyond = proved(store, "A-01", minute=2, residual_g_um=1500, uncertainty_g_um=501)
    fitted = proved(store, f"{TAIL} FL", minute=3, residual_g_um=4000)
    broken = proved(store, "A-01", minute=4, residual_g_um=4000)
    scrapped = proved(store, "scrapped", minute=5, residual_g_um=4000)
    paired = make_set(store, CW_BLADE, at=after(6), where="A-01")
    with store.act("break", by=TECHNICIAN, at=after(7)) as act:
        one = act.find(RotorSet, code=broken)
        assert one is not None
        act.update(one, state="broken")
    done = settings.change_tolerance(store, part=CW_BLADE, tolerance_g_um=2000, at=after(8), **PEOPLE)
    assert held(store) == {beyond, fitted}
    assert not any(code in text for text in done.said for code in (within, scrapped, paired))
    assert any(f"{fitted} in position {TAIL} FL" in text for text in done.said)
    assert changes(store)[0][2:4] == ("5 g mm", "2 g mm")
    assert the_part(store).tolerance_source == "maker's letter 8"


def test_a_tolerance_of_nothing_is_none(store: Store) -> None:
    with pytest.raises(BadInput):
        settings.change_tolerance(store, part=CW_BLADE, tolerance_g_um=0, at=after(1), **PEOPLE)


def test_sets_that_rest_on_a_pairing_go_on_hold_when_it_no_longer_suffices(store: Store) -> None:
    measured = proved(store, "A-01", minute=1, residual_g_um=100)
    paired = make_set(store, CW_BLADE, at=after(2), where="A-01")
    settings.change_pairing(store, part=CW_BLADE, suffices=False, at=after(3), **PEOPLE)
    assert held(store) == {paired} != {measured}
    settings.change_pairing(store, part=CW_BLADE, suffices=True, at=after(4), **PEOPLE)
    assert held(store) == {paired}
    assert (the_part(store).pairing_suffices, the_part(store).revision) == (1, 3)


def test_a_part_without_a_tolerance_keeps_its_pairing_as_the_only_proof(store: Store) -> None:
    spec = PartSpec(
        number="RB-30", maker="Invented Rotors", name="blade", kind="blade", paper_class="rotor", sense="CW",
        marks=(Mark(text="30", sense="CW"),), blades_per_rotor=2, pairing_suffices=True, pairing_source="sheet",
    )  # fmt: skip
    catalogue.add_part(store, spec=spec, by=MANAGER, at=after(1))
    with pytest.raises(BadInput):
        settings.change_pairing(store, part="RB-30", suffices=False, at=after(2), **PEOPLE)


def test_a_supersession_is_withdrawn_by_two_people(store: Store) -> None:
    with pytest.raises(BadInput):
        settings.withdraw_supersession(store, part=WASHER, at=after(1), **PEOPLE)
    catalogue.supersede_part(
        store, part=WASHER, successor=SCREW, how="safety", source="bulletin", by=MANAGER, at=after(2)
    )  # fmt: skip
    settings.withdraw_supersession(store, part=WASHER, at=after(3), **PEOPLE)
    part = the_part(store, WASHER)
    assert (part.superseded_how, part.superseded_by_id) == ("", None)
    assert changes(store)[0][1:4] == ("supersession", "safety", "none")


# ---- of a type revision ----------------------------------------------------------------------------


def test_a_torque_is_changed_with_its_source_and_both_are_kept(store: Store) -> None:
    new = Tightening(torque_mnm=900, tolerance_mnm=50, condition="threadlocker")
    settings_types.change_torque(store, fixing="hub", tightening=new, at=after(1), **OF_A)
    with store.reading() as read:
        fixing = read.select(HubFixing)[0]
    assert (fixing.torque_mnm, fixing.torque_tolerance_mnm, fixing.torque_source) == (
        900,
        50,
        "maker's letter 8",
    )
    # 1 lbf in is 0.112984829 N m exactly enough (SI; yard and pound agreement): 0.8 N m are 7.08 lbf in.
    subject, name, old, text, _ = changes(store)[0]
    assert (subject, name) == ("QA revision A", "tightening of hub")
    assert old.startswith("0.8 N m (7.08")
    assert text.startswith("0.9 N m (7.97")
    assert text.endswith("+/- 0.05 N m threadlocker")


def test_a_torque_beyond_the_screw_is_refused_and_an_odd_one_is_asked_about(store: Store) -> None:
    with pytest.raises(
        Refused
    ) as refused:  # M3 A2-70 reaches its 0.2 % stress at 1.36 N m (K = 0.2, ISO 3506-1)
        beyond = Tightening(torque_mnm=1400, condition="threadlocker")
        settings_types.change_torque(store, fixing="hub", tightening=beyond, at=after(1), **OF_A)
    assert refused.value.rules == {"R18"}
    odd = Tightening(torque_mnm=80, condition="threadlocker")
    done = settings_types.change_torque(store, fixing="hub", tightening=odd, at=after(2), **OF_A)
    assert "read the source and its unit again" in done.said[1]


def test_a_torque_of_a_fixing_without_washer_and_threadlocker_is_changed(store: Store) -> None:
    with store.act("a bare fixing", by=MANAGER, at=after(1)) as act:
        bare = {
            "washer_part_id": None,
            "washers_per_hub": 0,
            "locker_part_id": None,
            "locker_ul_per_screw": 0,
        }
        act.update(act.select(HubFixing)[0], **bare)
    new = Tightening(torque_mnm=700, condition="dry")
    settings_types.change_torque(store, fixing="hub", tightening=new, at=after(2), **OF_A)
    assert changes(store)[0][3].endswith("dry")


def test_a_torque_may_become_an_angle_in_words(store: Store) -> None:
    words = Tightening(method="angle", text="snug, then a quarter turn")
    settings_types.change_torque(store, fixing="hub", tightening=words, at=after(1), **OF_A)
    assert changes(store)[0][3] == "angle: snug, then a quarter turn"
    with pytest.raises(NotFound):
        settings_types.change_torque(store, fixing="nut", tightening=words, at=after(2), **OF_A)
    with pytest.raises(BadInput):
        settings_types.change_torque(
            store, fixing="hub", tightening=Tightening(method="snug"), at=after(2), **OF_A
        )


def add_blade(store: Store, number: str, sense: str, *, minute: int) -> None:
    spec = PartSpec(
        number=number, maker="Invented Rotors", name=number, kind="blade", paper_class="rotor", sense=sense,
        marks=(Mark(text=sense, sense=sense),), blades_per_rotor=2, tolerance_g_um=5000, tolerance_source="sheet",
    )  # fmt: skip
    catalogue.add_part(store, spec=spec, by=MANAGER, at=after(minute))


def approved(store: Store, number: str) -> int:
    with store.reading() as read:
        return len(read.select(ApprovedPart, "part_id = ? AND active = 1", the_part(store, number).id))


def test_a_part_is_approved_for_positions_withdrawn_and_approved_again(store: Store) -> None:
    add_blade(store, "RB-19-CW", "CW", minute=1)
    settings_types.approve_part(store, positions=("all",), part="RB-19-CW", at=after(2), **OF_A)
    assert approved(store, "RB-19-CW") == 2  # those of its own sense
    settings_types.withdraw_part(store, positions=("3",), part="RB-19-CW", at=after(3), **OF_A)
    assert approved(store, "RB-19-CW") == 1
    settings_types.approve_part(store, positions=("FL", "FR"), part="RB-19-CW", at=after(4), **OF_A)
    assert approved(store, "RB-19-CW") == 3
    assert [c[1:4] for c in changes(store)] == [
        ("approved at FL", CW_BLADE, f"{CW_BLADE}, RB-19-CW"),
        ("approved at RR", CW_BLADE, f"{CW_BLADE}, RB-19-CW"),
        ("approved at FL", f"{CW_BLADE}, RB-19-CW", CW_BLADE),
        ("approved at FL", CW_BLADE, f"{CW_BLADE}, RB-19-CW"),
        ("approved at FR", CCW_BLADE, f"{CCW_BLADE}, RB-19-CW"),
    ]


def test_a_part_of_the_other_sense_is_approved_with_a_warning(store: Store) -> None:
    done = settings_types.approve_part(store, positions=("FR",), part=CW_BLADE, at=after(1), **OF_A)
    assert "own map says CW" in done.said[1]


def test_withdrawing_names_what_is_fitted_and_what_is_left_without(store: Store) -> None:
    fitted = make_set(store, CW_BLADE, at=after(1), where=f"{TAIL} FL")
    said = settings_types.withdraw_part(store, positions=("all",), part=CW_BLADE, at=after(2), **OF_A).said
    assert any(fitted in text and f"{TAIL} FL" in text for text in said)
    assert sum("is left for" in text for text in said) == 2


def test_a_rotor_on_an_airframe_that_has_left_is_not_asked_for(store: Store) -> None:
    fitted = make_set(store, CW_BLADE, at=after(1), where=f"{TAIL} FL")
    airframe_leaving.write_off_airframe(store, airframe=TAIL, by=MANAGER, at=after(2), reason="lost its arms")
    said = settings_types.withdraw_part(store, positions=("all",), part=CW_BLADE, at=after(3), **OF_A).said
    assert not any(fitted in text for text in said)


def test_positions_and_parts_that_do_not_exist_are_told(store: Store) -> None:
    with pytest.raises(BadInput):
        settings_types.approve_part(store, positions=("XX",), part=CW_BLADE, at=after(1), **OF_A)
    with pytest.raises(BadInput):
        settings_types.approve_part(store, positions=(), part=CW_BLADE, at=after(1), **OF_A)
    with pytest.raises(BadInput):
        settings_types.approve_part(store, positions=("FR",), part=SCREW, at=after(1), **OF_A)
    with pytest.raises(BadInput):
        settings_types.withdraw_part(store, positions=("FR",), part=CW_BLADE, at=after(1), **OF_A)


def test_the_re_torque_time_is_changed_and_lifted(store: Store) -> None:
    settings_types.change_retorque(store, minutes=300, at=after(1), **OF_A)
    settings_types.change_retorque(store, minutes=None, at=after(2), **OF_A)
    assert the_revision(store).retorque_minutes is None
    assert the_revision(store).settings_revision == 3
    assert [c[2:4] for c in changes(store)] == [("after 10:00 h", "after 5:00 h"), ("after 5:00 h", "none")]
    with pytest.raises(BadInput):
        settings_types.change_retorque(store, minutes=0, at=after(3), **OF_A)


def test_the_kit_list_gets_a_line_and_another_quantity(store: Store) -> None:
    for quantity, minute in ((2, 1), (3, 2)):
        extra = ExtraSpec(part=WASHER, quantity=quantity, per="hub")
        settings_kit_list.change_kit_list(store, extra=extra, at=after(minute), **OF_A)
    with store.reading() as read:
        lines = read.select(KitListLine)
    assert [(line.quantity, line.per) for line in lines] == [(3, "hub")]
    assert [c[1:4] for c in changes(store)] == [
        (f"{WASHER} per hub", "none", "2"),
        (f"{WASHER} per hub", "2", "3"),
    ]


@pytest.mark.parametrize(
    "extra",
    [
        ExtraSpec(part=LOCKER, quantity=5),
        ExtraSpec(part=CW_BLADE, quantity=1),
        ExtraSpec(part=WASHER, quantity=0),
        ExtraSpec(part="WA-9", quantity=1),
    ],
)
def test_what_is_no_extra_is_told(store: Store, extra: ExtraSpec) -> None:
    with pytest.raises(BadInput):
        settings_kit_list.change_kit_list(store, extra=extra, at=after(1), **OF_A)
    assert the_revision(store).settings_revision == 1
