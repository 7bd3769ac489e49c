"""Explained figures: what a manager can check by hand, from a store's own records."""

import math
from collections.abc import Sequence
from typing import Any

import pytest

from kittrack.domain import codes
from kittrack.domain.balance import Tape
from kittrack.errors import BadInput, NotFound
from kittrack.queries.explaining import explain_code
from kittrack.services import matching, weighing
from kittrack.services.weighing import PieceWeighing
from kittrack.store.database import Store
from kittrack.store.records import (
    Airframe,
    HubFixing,
    KitPick,
    MatchRecord,
    Part,
    Person,
    Position,
    Record,
    RotorSet,
    Tool,
)
from tests.factories import (
    CLERK,
    CW_BLADE,
    MANAGER,
    SCREW,
    TAIL,
    after,
    blades_on_shelf,
    put_in_stock,
    sealed_kit,
    sets_on_shelf,
    stock_up,
)


def code_of(store: Store, record: type[Airframe | Person | Position], **equal: str) -> str:
    with store.reading() as read:
        found = read.find(record, **equal)
        assert found is not None
        return found.code


def test_an_airframes_layout_is_explained_with_balance_and_rank(store: Store) -> None:
    balance, rank = explain_code(store, code=code_of(store, Airframe, tail=TAIL)).explanations
    assert balance.result.value == 0
    assert (rank.result.value, rank.result.unit) == (4, "of 4")
    assert "FR CCW" in balance.title


def test_a_positions_torque_is_explained_against_the_proof_load(store: Store) -> None:
    """0.8 N m on M3 A2-70: R_p0.2 450 MPa times 5.03 mm2 = 2264 N (ISO 3506-1, ISO 898-1, computed)."""
    preload, limit = explain_code(store, code=code_of(store, Position, name="FR")).explanations
    assert "% of the proof load" in preload.verdict
    assert limit.inputs[0].value == pytest.approx(2264, rel=2e-3)
    assert limit.result.value == pytest.approx(0.2 * 3e-3 * 2264, rel=2e-3)


def test_a_lines_account_is_explained_and_adds_up(store: Store) -> None:
    line = put_in_stock(store, SCREW, 16, at=after(1))
    account, *_ = explain_code(store, code=line).explanations  # the samples of a fastener stand after it
    assert account.result.value == 16
    assert account.verdict == "It adds up."


def test_what_has_no_figures_is_told(store: Store) -> None:
    with pytest.raises(BadInput, match="is a person; ask about a rotor set, kit, airframe, position or lot"):
        explain_code(store, code=code_of(store, Person, name="Clerk One"))
    paired = sets_on_shelf(store, CW_BLADE, 1, at=after(1))[0]
    with pytest.raises(NotFound, match=f"no figure decided anything about {paired}; its proof is a paper"):
        explain_code(store, code=paired)


@pytest.mark.parametrize(
    "kind", [codes.Kind.ROTOR_SET, codes.Kind.KIT, codes.Kind.AIRFRAME, codes.Kind.POSITION]
)
def test_what_the_store_does_not_hold_is_told(store: Store, kind: codes.Kind) -> None:
    unknown = codes.make_code(kind, codes.next_number(kind, after=90_000))
    with pytest.raises(NotFound, match=unknown):
        explain_code(store, code=unknown)


# ---- the match of a set --------------------------------------------------------------------------


def weigh(store: Store, blades: Sequence[str], *masses_mg: int, minute: int) -> None:
    made = [PieceWeighing(b, mg * 1000, 100_000) for b, mg in zip(blades, masses_mg, strict=True)]
    weighing.record_weighing(store, weighings=made, scale="Scale 1", by=CLERK, at=after(minute))


def matched(store: Store, *masses_mg: int, **how: Any) -> tuple[str, Sequence[str]]:
    """A set of two blades with these masses at 100 mm, and the blades."""
    blades = blades_on_shelf(store, CW_BLADE, 2, at=after(1), pairs=False)
    weigh(store, blades, *masses_mg, minute=2)
    made = matching.make_set_by_measurement(store, blades=blades, by=CLERK, at=after(3), **how)
    return made.codes[0], blades


def test_the_match_of_a_set_is_explained_from_its_weighings(store: Store) -> None:
    """42.000 g and 42.010 g at 100 mm differ by 1 g mm; at 6000 rpm that is 1e-6 kg m times 628.3 squared."""
    code, blades = matched(store, 42_000, 42_010, one_stop=True)
    residual, uncertainty, tolerance, verdict, force = explain_code(
        store, code=code, speed_rpm=6000
    ).explanations
    assert [f.name.partition(")")[0] for f in residual.inputs] == [f"M({b}" for b in blades]
    assert (residual.result.value, tolerance.result.value) == (1, 5)
    assert "one stop for all" in uncertainty.formula
    assert uncertainty.result.value == pytest.approx(0.416, abs=2e-3)  # as in the tests of trimming
    assert verdict.result.value == pytest.approx(1 + uncertainty.result.value, abs=2e-3)
    assert force.result.value == pytest.approx(1e-6 * (6000 * math.tau / 60) ** 2)
    assert len(explain_code(store, code=code).explanations) == 4  # no speed, no force


def test_blades_weighed_one_by_one_are_explained_so_though_their_radius_is_the_same(store: Store) -> None:
    with store.act("a wide tolerance", by=MANAGER, at=after(1)) as act:
        part = act.find(Part, number=CW_BLADE)
        assert part is not None
        act.update(part, tolerance_g_um=50_000)
    code, _ = matched(store, 42_000, 42_010)
    uncertainty = explain_code(store, code=code).explanations[1]
    assert "one stop for all" not in uncertainty.formula
    assert uncertainty.formula.startswith("k times the root")
    assert uncertainty.result.value == pytest.approx(24.255, abs=1e-3)


def test_an_uncertainty_that_the_scale_does_not_lead_to_is_told_as_recorded(store: Store) -> None:
    code, _ = matched(store, 42_000, 42_010, one_stop=True)
    as_explained = explain_code(store, code=code).explanations[1].result.value
    with store.act("another scale's data", by=MANAGER, at=after(5)) as act:
        scale = act.find(Tool, name="Scale 1")
        assert scale is not None
        act.update(scale, uncertainty_ug=20_000)
    told = explain_code(store, code=code).explanations[1]
    assert told.formula == "as recorded when the set was matched"
    assert told.result.value == pytest.approx(as_explained, abs=1e-3)


def test_a_set_of_one_tells_its_uncertainty_as_recorded(store: Store) -> None:
    code, _ = matched(store, 42_000, 42_010, one_stop=True)
    with store.act("a proof of the whole rotor", by=MANAGER, at=after(5)) as act:
        one = act.find(RotorSet, code=code)
        assert one is not None
        proof = act.insert(
            MatchRecord(
                rotor_set_id=one.id, method="measured", source="scale", tool_id=2, tolerance_g_um=5000,
                residual_g_um=700, uncertainty_g_um=300, event_id=act.event_id,
            )
        )  # fmt: skip
        act.update(one, match_record_id=proof.id)
    uncertainty, tolerance, verdict = explain_code(store, code=code).explanations
    assert (uncertainty.formula, uncertainty.result.value) == ("as recorded when the set was matched", 0.3)
    assert "as the match record keeps it" in tolerance.source
    assert verdict.result.value == 1


def test_tape_on_a_blade_stands_beside_the_residual_of_the_blades(store: Store) -> None:
    """42.100 g at 100 mm is 10 g mm too heavy; 200 mg at 50 mm on the light blade take all of it away."""
    code, _ = matched(
        store, 42_000, 42_100, one_stop=True, tapes=[Tape(200_000, 50_000, 0)], tape="200 mg on the first"
    )
    residual, *_, verdict = explain_code(store, code=code).explanations
    assert residual.title == "Residual unbalance of the blades without their tape"
    assert residual.result.value == 10
    assert residual.verdict == "With the tape (200 mg on the first) the match record keeps 0 g mm."
    assert verdict.inputs[0].value == 0


# ---- the lines of a kit --------------------------------------------------------------------------


def test_the_lines_of_a_kit_tell_what_is_needed_and_what_is_short(store: Store) -> None:
    stock_up(store, at=after(1))
    code = sealed_kit(store, at=after(5))
    lines = {one.title: one for one in explain_code(store, code=code).explanations}
    screws = lines[f"screw {SCREW}"]
    assert [(f.name, f.value) for f in screws.inputs] == [("hubs", 4), ("per hub", 4), ("picked", 16)]
    assert (screws.result.value, screws.verdict) == (16, "Complete.")
    sets = lines[f"rotor set CW {CW_BLADE}"]
    assert [(f.name, f.value) for f in sets.inputs] == [("covered positions", 2), ("picked", 2)]
    assert sets.formula == "needed = one for each position that takes it"
    with store.act("one set is swapped out", by=MANAGER, at=after(6)) as act:
        act.update(act.select(KitPick, "rotor_set_id IS NOT NULL", order="id")[0], active=0)
    lines = {one.title: one for one in explain_code(store, code=code).explanations}
    assert {one.verdict for one in lines.values()} == {
        "Complete.",
        "Short by 1: the kit can't be sealed.",
    }


# ---- the torque of a position --------------------------------------------------------------------


@pytest.mark.parametrize(
    ("record", "changes"),
    [(HubFixing, {"torque_mnm": None}), (Part, {"thread": ""}), (Part, {"property_class": ""})],
)
def test_a_position_without_torque_or_strength_has_no_figures(
    store: Store, record: type[Record], changes: dict[str, Any]
) -> None:
    with store.act("as the type says", by=MANAGER, at=after(1)) as act:
        key = {"number": SCREW} if record is Part else {"name": "hub"}
        one = act.find(record, **key)
        assert one is not None
        act.update(one, **changes)
    with pytest.raises(NotFound, match="no figure decided anything"):
        explain_code(store, code=code_of(store, Position, name="FR"))
