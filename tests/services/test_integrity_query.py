"""Every breach of a rotor set is named by its kind, alone, and by `verify` with its rule (R1, R2, R19)."""

from typing import Any

import pytest

from kittrack.queries.integrity import set_integrity
from kittrack.queries.verify import verify
from kittrack.services import matching, weighing
from kittrack.services.weighing import PieceWeighing
from kittrack.store.database import Store
from kittrack.store.records import (
    MatchReading,
    MatchRecord,
    Part,
    Piece,
    Record,
    RotorSet,
)
from tests.aircraft_scene import make_set
from tests.factories import BIN, CLERK, CW_BLADE, MANAGER, after, blades_on_shelf, put_sets


def change(store: Store, record: type[Record], row_id: int, *, minute: int = 50, **changes: Any) -> None:
    with store.act("forge", by=MANAGER, at=after(minute)) as act:
        act.update(act.get(record, row_id), **changes)


def breaches(store: Store) -> tuple[tuple[str, int], ...]:
    return set_integrity(store).by_breach


@pytest.fixture
def code(store: Store) -> str:
    """One proved set of two blades, beside a sound one."""
    made, _ = put_sets(store, CW_BLADE, 2, at=after(1))
    assert (set_integrity(store).sound, breaches(store)) == (2, ())
    return made


@pytest.mark.parametrize(
    ("record", "changes", "breach", "rule"),
    [
        (Piece, {"part_id": 2}, "mixed parts", "R2"),
        (Piece, {"sense": "CCW"}, "mixed senses", "R2"),
        (Piece, {"sense": None}, "mixed senses", "R2"),
        (RotorSet, {"match_record_id": None}, "not proved", "R19"),
        (RotorSet, {"match_record_id": 2}, "proof is of other blades", "R19"),
    ],
)
def test_each_breach_is_named_alone_with_its_rule(
    store: Store, code: str, record: type[Record], changes: dict[str, Any], breach: str, rule: str
) -> None:
    change(store, record, 1, **changes)
    assert breaches(store) == ((breach, 1),)
    assert [one.code for one in set_integrity(store).with_breach(breach)] == [code]
    assert set_integrity(store).sound == 1
    assert [(f.check, f.message) for f in verify(store).faults] == [(rule, f"rotor set {code}: {breach}")]


@pytest.mark.parametrize(
    ("figures", "is_within"),
    [
        ({"residual_g_um": 4200, "uncertainty_g_um": 800, "tolerance_g_um": 5000}, True),
        ({"residual_g_um": 4201, "uncertainty_g_um": 800, "tolerance_g_um": 5000}, False),
        ({"residual_g_um": None, "uncertainty_g_um": 800, "tolerance_g_um": 5000}, False),
        ({"residual_g_um": 1200, "uncertainty_g_um": None, "tolerance_g_um": 5000}, False),
        ({"residual_g_um": 1200, "uncertainty_g_um": 800, "tolerance_g_um": None}, False),
        ({"method": "supplier pairing"}, True),  # a pairing has no figures
    ],
)
def test_a_measured_set_lies_within_its_tolerance(
    store: Store, code: str, figures: dict[str, Any], is_within: bool
) -> None:
    with store.act("prove it otherwise", by=MANAGER, at=after(20)) as act:
        one = act.get(RotorSet, 1)
        given = {
            "method": "measured",
            "source": "bench",
            "rotor_set_id": 1,
            "event_id": act.event_id,
            **figures,
        }
        proof = act.insert(MatchRecord(**given))
        for slot, piece in enumerate((1, 2)):
            act.insert(MatchReading(match_record_id=proof.id, piece_id=piece, slot=slot))
        act.update(one, match_record_id=proof.id)
    assert breaches(store) == (() if is_within else (("outside tolerance", 1),))
    found = [(f.check, f.message) for f in verify(store).faults]
    assert found == ([] if is_within else [("R19", f"rotor set {code}: outside tolerance")])


def test_a_history_that_nobody_knows_is_an_open_point_and_no_fault(store: Store, code: str) -> None:
    change(store, RotorSet, 1, match_record_id=None, history_known=0)
    assert breaches(store) == (("history unknown, not proved", 1),)
    verdict = verify(store)
    assert verdict.faults == ()
    assert [p.message for p in verdict.open_points] == [f"rotor set {code}: history unknown, not proved"]


def test_a_set_without_one_of_its_blades_is_not_whole(store: Store, code: str) -> None:
    short = make_set(store, CW_BLADE, at=after(20), where=BIN, blades=1)
    assert [(one.code, one.breaches) for one in set_integrity(store).sets if one.breaches] == [
        (short, ("not whole",))
    ]
    assert code


def test_blades_of_two_lots_are_a_breach_unless_the_part_mixes_them(store: Store) -> None:
    blades = [
        blades_on_shelf(store, CW_BLADE, 1, at=after(minute), lot_code=lot, pairs=False)[0]
        for minute, lot in ((1, "LOT-1"), (2, "LOT-2"))
    ]
    weighings = [PieceWeighing(blade, 42_000_000, 100_000) for blade in blades]
    weighing.record_weighing(store, weighings=weighings, scale="Scale 1", by=CLERK, at=after(3))
    change(store, Part, 1, minute=4, mixes_lots=1)
    matching.make_set_by_measurement(store, blades=blades, one_stop=True, by=CLERK, at=after(5))
    assert breaches(store) == ()
    change(store, Part, 1, mixes_lots=0)
    assert breaches(store) == (("mixed lots", 1),)


def test_a_broken_set_is_listed_with_its_orphans_and_judged_no_more(store: Store, code: str) -> None:
    change(store, RotorSet, 1, match_record_id=None)
    orphans = matching.break_set(store, rotor_set=code, reason="cracked", by=CLERK, at=after(60)).codes
    found = set_integrity(store)
    assert (found.broken, found.by_breach) == ((code,), ())
    assert [(o.code, o.set_it_was_in, o.condition, o.where) for o in found.orphans] == [
        (orphan, code, "on hold", "hold cage Home") for orphan in orphans
    ]
