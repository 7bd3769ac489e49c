"""The questions on one kit's whole way: shelf, lookup, trace both ways, recall account, integrity, log, verify."""

from dataclasses import dataclass

import pytest

from kittrack.domain import codes
from kittrack.domain.ledger import AccountClass
from kittrack.errors import BadInput, NotFound
from kittrack.queries import expiring, integrity, log, lookup, recall, shelf, trace, verify
from kittrack.services import holding, issuing, jobs
from kittrack.services.holding import Scope
from kittrack.store.database import Store
from kittrack.store.records import Airframe, Lot, Piece, RotorSet
from tests.factories import (
    CLERK,
    CW_BLADE,
    LOCKER,
    SCREW,
    TAIL,
    TECHNICIAN,
    after,
    put_in_stock,
    sealed_kit,
    stock_up,
)


@dataclass(frozen=True)
class Scene:
    kit: str
    job: str
    set_code: str
    piece: str
    screw_lot: str
    airframe: str


@pytest.fixture
def scene(store: Store) -> Scene:
    """A kit issued and opened at the aircraft; nothing fitted yet."""
    stock_up(store, at=after(1))
    kit = sealed_kit(store, at=after(2), seal="77")
    job = jobs.open_job(store, airframe=TAIL, purpose="rotors worn", by=CLERK, at=after(3)).codes[0]
    issuing.issue_kit(store, kit=kit, job=job, seal="77", receiver=TECHNICIAN, by=CLERK, at=after(4))
    with store.reading() as read:
        rotor, piece = read.find(RotorSet, id=1), read.find(Piece, id=1)
        lot, airframe = read.find(Lot, lot_code="S-1"), read.find(Airframe, tail=TAIL)
    assert rotor
    assert piece
    assert lot
    assert airframe
    return Scene(kit, job, rotor.code, piece.code, lot.code, airframe.code)


def test_the_account_of_a_lot_adds_up_before_and_after_each_step(store: Store, scene: Scene) -> None:
    account = recall.recall_account(store, code=scene.screw_lot)
    assert (account.received, account.missing) == (40, 0)
    assert dict(account.classes)[AccountClass.ISSUED] == 16
    assert dict(account.classes)[AccountClass.SHELF] == 24
    issuing.open_at_aircraft(store, kit=scene.kit, seal="77", by=TECHNICIAN, at=after(5))
    again = recall.recall_account(store, lot_code="S-1", maker="Invented Rotors")
    assert again.classes == account.classes


def test_the_account_of_a_piece_and_of_what_was_never_received(store: Store, scene: Scene) -> None:
    assert recall.recall_account(store, code=scene.piece).received == 1
    with pytest.raises(NotFound):
        recall.recall_account(store, lot_code="never")
    with pytest.raises(NotFound):
        recall.recall_account(store, code=scene.kit)


def test_a_lot_is_traced_forward_to_its_kit(store: Store, scene: Scene) -> None:
    found = trace.trace(store, code=scene.screw_lot)
    assert [use.code for use in found.uses if use.kind == "kit"] == [scene.kit]
    assert found.made_of[0].papers == ("certificate of conformity C-1 (Invented Rotors)",)


def test_a_kit_is_traced_back_to_its_lots_and_on_to_its_voucher(store: Store, scene: Scene) -> None:
    found = trace.trace(store, code=scene.kit)
    assert {c.part for c in found.made_of} >= {CW_BLADE, SCREW, LOCKER}
    assert [use.airframe for use in found.uses] == [TAIL]
    assert found.steps[-1].to_place == TECHNICIAN


def test_a_blade_is_traced_through_its_set_and_its_kit(store: Store, scene: Scene) -> None:
    found = trace.trace(store, code=scene.piece)
    assert {use.kind for use in found.uses} >= {"rotor set", "kit"}
    assert found.steps[-1].to_place == TECHNICIAN, "the container's movement is the blade's"


def test_a_bottle_is_traced_by_what_was_in_it_and_not_as_one_piece(store: Store, scene: Scene) -> None:
    with store.reading() as read:
        (code,) = read.row(
            "SELECT code FROM piece WHERE receipt_line_id IN "
            "(SELECT r.id FROM receipt_line r JOIN part t ON t.id = r.part_id WHERE t.number = ?)",
            LOCKER,
        ) or ("",)
    found = trace.trace(store, code=code)
    [bottle], [kit] = found.made_of, found.uses
    assert (bottle.quantity, bottle.unit, kit.detail) == (10_000, "volume_ul", "10 mL picked, kit issued")
    assert {(s.quantity, s.unit) for s in found.steps} == {(10_000, "volume_ul"), (1, "pieces")}


@pytest.mark.parametrize("name", ["set_code", "airframe", "job"])
def test_every_kind_of_thing_has_a_trace(store: Store, scene: Scene, name: str) -> None:
    code = str(getattr(scene, name))
    assert trace.trace(store, code=code).code == code


@pytest.mark.parametrize(("kind", "said"), [(codes.Kind.PERSON, "a person"), (codes.Kind.ORDER, "an order")])
def test_a_kind_without_a_trace_is_told(store: Store, kind: codes.Kind, said: str) -> None:
    code = codes.make_code(kind, codes.next_number(kind, after=0))
    wanted = f"{code} is {said}; scan a lot, piece, rotor set, kit, airframe or job"
    with pytest.raises(BadInput, match=wanted):
        trace.trace(store, code=code)


@pytest.mark.parametrize("kind", [codes.Kind.LOT, codes.Kind.PIECE, codes.Kind.JOB])
def test_a_number_that_the_store_does_not_hold_has_no_trace(store: Store, kind: codes.Kind) -> None:
    unknown = codes.make_code(kind, codes.next_number(kind, after=90_000))
    with pytest.raises(NotFound, match=unknown):
        trace.trace(store, code=unknown)


@pytest.mark.parametrize("name", ["kit", "job", "set_code", "piece", "screw_lot", "airframe"])
def test_every_code_is_looked_up_with_its_facts(store: Store, scene: Scene, name: str) -> None:
    code = str(getattr(scene, name))
    thing = lookup.what_is(store, code=code.lower())
    assert thing.code == code
    assert thing.facts


def test_a_piece_says_in_which_condition_it_is_and_its_moment_as_a_scale_shows_it(
    store: Store, scene: Scene
) -> None:
    facts = dict(lookup.what_is(store, code=scene.piece).facts)
    assert facts["condition"] in ("serviceable", "on hold")
    assert "g mm" in facts.get("moment", "g mm")


def test_a_hold_shows_where_its_thing_is_looked_up(store: Store, scene: Scene) -> None:
    hold = holding.place_hold(
        store, scope=Scope(code=scene.piece), reason="nick", reference="", by=CLERK, at=after(5)
    )
    assert hold.codes[0] in lookup.what_is(store, code=scene.piece).holds[0]
    assert any(TECHNICIAN in sentence for sentence in hold.said)


def test_the_shelf_shows_what_is_left_by_sense_and_lot(store: Store, scene: Scene) -> None:
    assert scene.kit
    lines = shelf.on_the_shelf(store, at=after(5), part=SCREW)
    assert [(s.quantity, s.state) for s in lines] == [(24, AccountClass.SHELF)]
    assert shelf.on_the_shelf(store, at=after(5), sense="CW") == ()
    assert len(shelf.on_the_shelf(store, at=after(5), lot="S-1")) == 1
    with pytest.raises(NotFound):
        shelf.on_the_shelf(store, at=after(5), place="nowhere")


def test_what_expires_is_listed_soonest_first(store: Store) -> None:
    put_in_stock(store, LOCKER, 100, lot_code="OLD", expires_on="2026-03-01", at=after(1))
    put_in_stock(store, LOCKER, 100, lot_code="SOON", expires_on="2026-03-20", at=after(2))
    put_in_stock(store, LOCKER, 100, lot_code="LATE", expires_on="2027-03-20", at=after(3))
    found = expiring.expiring(store, at=after(4), within_days=30)
    assert [e.days_left for e in found] == [-1, 18]
    assert "expired" in found[0].state


def test_a_sealed_kit_that_expires_is_told_with_the_place_where_it_lies(store: Store) -> None:
    stock_up(store, at=after(1))
    kit = sealed_kit(store, at=after(2), seal="77")
    kits = [e for e in expiring.expiring(store, at=after(4), within_days=100_000) if e.unit == "kit"]
    assert [(e.what, e.place) for e in kits] == [(f"kit {kit}", "A-02")]


def test_integrity_counts_sound_sets(store: Store, scene: Scene) -> None:
    found = integrity.set_integrity(store)
    assert (found.sound, found.by_breach, found.orphans) == (4, (), ())
    assert scene.set_code in {s.code for s in found.sets}


def test_the_log_pages_by_key_and_finds_an_act_in_doubt(store: Store, scene: Scene) -> None:
    assert scene.kit
    first = log.event_log(store, limit=3)
    second = log.event_log(store, before=first[-1].event, limit=3)
    assert [e.event for e in first + second] == sorted((e.event for e in first + second), reverse=True)
    assert log.event_log(store, act="issue a kit")[0].by == CLERK
    assert log.event_with_key(store, key="nobody's") is None
    assert log.event_with_key(store, key=f"event {first[0].event}") == first[0]


def test_verify_is_clean_and_its_head_shows_a_history_that_was_cut(store: Store, scene: Scene) -> None:
    assert scene.kit
    verdict = verify.verify(store)
    assert verdict.faults == ()
    assert verify.verify(store, expected_head=verdict.head).faults == ()
    ahead = f"{verdict.events + 5}:{'0' * 64}"
    assert [f.check for f in verify.verify(store, expected_head=ahead).faults] == ["chain"]
    forged = f"{verdict.events}:{'f' * 64}"
    assert [f.check for f in verify.verify(store, expected_head=forged).faults] == ["chain"]
