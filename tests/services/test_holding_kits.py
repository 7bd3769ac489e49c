"""A hold on a whole kit: while it is sealed, while it is out, after it was opened, and when it is taken apart (R5, R6)."""

import pytest

from kittrack.errors import BadInput, NotFound, Refused
from kittrack.queries.kits import kit_view
from kittrack.services import (
    fitting,
    holding,
    inspecting_sets,
    issuing,
    jobs,
    kitting,
    picking,
    returning,
    sealing,
)
from kittrack.services.desk import Done
from kittrack.services.holding import Scope
from kittrack.services.kit_holds import pass_on_holds
from kittrack.store.database import Store
from kittrack.store.records import HoldItem, Kit, Piece, Position, RotorSet
from kittrack.store.stock import Located, located
from tests.factories import (
    BENCH,
    BIN,
    BUILDER,
    CLERK,
    INSPECTOR,
    MANAGER,
    SCREW,
    TAIL,
    TECHNICIAN,
    WASHER,
    after,
    assert_conserved,
    put_in_stock,
    sealed_kit,
    stock_up,
)


@pytest.fixture
def kit(store: Store) -> str:
    stock_up(store, at=after(1))
    return sealed_kit(store, at=after(5))


def hold(store: Store, kit: str, minutes: int, *, is_recall: bool = False) -> Done:
    return holding.place_hold(
        store, scope=Scope(code=kit), reason="doubt about the builder", reference="N-1", is_recall=is_recall,
        by=CLERK, at=after(minutes),
    )  # fmt: skip


def release(store: Store, code: str, minutes: int) -> None:
    holding.release_hold(
        store, hold=code, reference="N-2", reason="built again and compared", by=MANAGER, at=after(minutes)
    )


def issue(store: Store, kit: str, minutes: int) -> str:
    with store.reading() as read:
        known = read.value("SELECT code FROM job WHERE state = 'open'")
    job = known or jobs.open_job(store, airframe=TAIL, purpose="x", by=TECHNICIAN, at=after(minutes)).codes[0]
    issuing.issue_kit(
        store, kit=kit, job=job, seal="0001", receiver=TECHNICIAN, by=CLERK, at=after(minutes + 1)
    )
    return str(job)


def opened(store: Store, kit: str, minutes: int) -> str:
    job = issue(store, kit, minutes)
    issuing.open_at_aircraft(store, kit=kit, seal="0001", by=TECHNICIAN, at=after(minutes + 2))
    return job


def of_kit(store: Store, kit: str) -> tuple[list[str], list[str]]:
    """The rotor sets that were picked for a kit, and its bottles."""
    with store.reading() as read:
        sets = read.rows(
            "SELECT s.code FROM kit_pick k JOIN kit o ON o.id = k.kit_id JOIN rotor_set s ON s.id = k.rotor_set_id WHERE o.code = ?",
            kit,
        )
        bottles = read.rows(
            "SELECT p.code FROM kit_pick k JOIN kit o ON o.id = k.kit_id JOIN piece p ON p.id = k.piece_id WHERE o.code = ?",
            kit,
        )
    return [row[0] for row in sets], [row[0] for row in bottles]


def under(store: Store, code: str) -> set[str]:
    """The sets and pieces that a hold names and holds."""
    with store.reading() as read:
        items = [i for i in read.select(HoldItem, "released_event_id IS NULL") if i.hold_id]
        held = [i for i in items if read.value("SELECT code FROM hold WHERE id = ?", i.hold_id) == code]
        sets = {read.get(RotorSet, i.rotor_set_id).code for i in held if i.rotor_set_id}
        return sets | {read.get(Piece, i.piece_id).code for i in held if i.piece_id}


def place_of_sets(store: Store, codes: list[str]) -> set[str]:
    with store.reading() as read:
        found: list[Located] = []
        for code in codes:
            one = read.find(RotorSet, code=code)
            assert one is not None
            found += located(read, "h.place_id = ?", one.place_id)
    return {f.chain[1].kind for f in found}


def stock_of(store: Store, number: str) -> dict[tuple[str, str], int]:
    with store.reading() as read:
        rows = read.rows(
            "SELECT p.kind, h.condition, sum(h.quantity) FROM holding h JOIN place p ON p.id = h.place_id JOIN receipt_line r "
            "ON r.id = h.receipt_line_id JOIN part t ON t.id = r.part_id WHERE t.number = ? AND p.kind <> 'supplier' GROUP BY 1, 2",
            number,
        )
    return {(kind, condition): int(quantity) for kind, condition, quantity in rows}


def fit(store: Store, job: str, code: str, minutes: int) -> None:
    with store.reading() as read:
        one = read.find(RotorSet, code=code)
        assert one is not None
        name = "FR" if one.sense == "CCW" else "FL"
        (position,) = read.select(Position, "name = ?", name)[:1]
    fitting.fit_set(
        store, job=job, position=position.code, rotor_set=code, mark="L" if one.sense == "CCW" else "R",
        by=TECHNICIAN, at=after(minutes),
    )  # fmt: skip


# ---- while it is whole ---------------------------------------------------------------------------


def test_a_held_sealed_kit_is_not_issued_until_the_hold_is_released(store: Store, kit: str) -> None:
    code = hold(store, kit, 10).codes[0]
    with pytest.raises(Refused) as refused:
        issue(store, kit, 11)
    assert refused.value.rules == {"R6"}
    release(store, code, 13)
    issue(store, kit, 14)


def test_a_kit_that_is_out_is_called_back_and_not_opened(store: Store, kit: str) -> None:
    issue(store, kit, 10)
    done = hold(store, kit, 12)
    assert any(f"{TECHNICIAN} has it in hand" in said for said in done.said)
    with pytest.raises(Refused) as refused:
        issuing.open_at_aircraft(store, kit=kit, seal="0001", by=TECHNICIAN, at=after(13))
    assert refused.value.rules == {"R6"}
    release(store, done.codes[0], 14)
    issuing.open_at_aircraft(store, kit=kit, seal="0001", by=TECHNICIAN, at=after(15))


def test_a_kit_being_built_is_not_sealed_and_what_is_taken_out_of_it_stays_held(store: Store) -> None:
    stock_up(store, at=after(1), sets=3)
    kit = kitting.build_kit(store, revision="QA A", bench=BENCH, by=BUILDER, at=after(2)).codes[0]
    code = hold(store, kit, 3).codes[0]
    sets, _ = of_kit(store, kit)
    picking.swap_pick(store, kit=kit, out=sets[0], reason="chipped", to_bin=BIN, by=CLERK, at=after(4))
    assert under(store, code) == {sets[0]}
    assert place_of_sets(store, sets[:1]) == {"hold cage"}
    with pytest.raises(Refused) as refused:
        sealing.check_kit(store, kit=kit, by=CLERK, at=after(5))
    assert "R6" in refused.value.rules


# ---- after it was opened -------------------------------------------------------------------------


def test_a_hold_on_an_opened_kit_reaches_what_came_out_of_it(store: Store, kit: str) -> None:
    job = opened(store, kit, 10)
    sets, bottles = of_kit(store, kit)
    fit(store, job, sets[0], 13)
    done = hold(store, kit, 14)
    assert under(store, done.codes[0]) == {*sets, *bottles}
    assert any(f"AIRFRAME {TAIL} carries it" in said for said in done.said)
    with store.reading() as read:
        screws = read.rows(
            "SELECT r.code FROM receipt_line r JOIN part t ON t.id = r.part_id WHERE t.number IN (?, ?)",
            SCREW,
            WASHER,
        )
    assert all(any(said.startswith(f"16 of {line} ") for said in done.said) for (line,) in screws)
    with pytest.raises(Refused) as refused:
        fit(store, job, sets[-1], 15)
    assert "R6" in refused.value.rules
    release(store, done.codes[0], 16)


def test_stock_of_the_same_line_outside_the_kit_is_not_held(store: Store, kit: str) -> None:
    opened(store, kit, 10)
    hold(store, kit, 14)
    with store.reading() as read:
        line = read.value(
            "SELECT r.id FROM receipt_line r JOIN part t ON t.id = r.part_id WHERE t.number = ?", SCREW
        )
        shelf = [f for f in located(read, "h.receipt_line_id = ?", line) if f.chain[0].name == BIN]
    assert [f.holds for f in shelf] == [()]


# ---- when it is taken apart ----------------------------------------------------------------------


def test_a_held_kit_dissolved_goes_to_the_cage_and_its_hold_goes_on(store: Store, kit: str) -> None:
    code = hold(store, kit, 10).codes[0]
    sets, bottles = of_kit(store, kit)
    done = kitting.dissolve_kit(store, kit=kit, reason="look at it", to_bin=BIN, by=CLERK, at=after(11))
    assert place_of_sets(store, sets) == {"hold cage"}
    assert under(store, code) == {*sets, *bottles}
    assert any(f"stay on hold under {code}" in said for said in done.said)
    assert stock_of(store, SCREW) == {("bin", "serviceable"): 24, ("hold cage", "on hold"): 16}
    assert_conserved(store)
    release(store, code, 12)
    assert under(store, code) == set()
    with pytest.raises(NotFound, match="taken apart"):
        hold(store, kit, 13)


def test_a_held_kit_that_comes_back_opened_keeps_its_hold_through_the_inspection(
    store: Store, kit: str
) -> None:
    issue(store, kit, 10)
    code = hold(store, kit, 12).codes[0]
    sets, bottles = of_kit(store, kit)
    returning.return_opened(store, kit=kit, reason="called back", by=CLERK, at=after(13))
    assert under(store, code) == {*sets, *bottles}
    assert kit_view(store, kit=kit, at=after(14)).state == "opened"
    with pytest.raises(Refused) as refused:
        inspecting_sets.inspect_set(
            store, rotor_set=sets[0], mark="R", result="accepted", note="sound", by=INSPECTOR, at=after(15)
        )
    assert "R6" in refused.value.rules


# ---- no recall -----------------------------------------------------------------------------------


def test_a_recall_is_neither_placed_by_a_kit_nor_narrowed_to_one(store: Store, kit: str) -> None:
    with pytest.raises(BadInput, match="not by kit"):
        hold(store, kit, 10, is_recall=True)
    line = put_in_stock(store, SCREW, 8, lot_code="S-9", at=after(11))
    recall = hold(store, line, 12, is_recall=True).codes[0]
    with pytest.raises(BadInput, match="not by kit"):
        holding.narrow_hold(
            store,
            hold=recall,
            scope=Scope(code=kit),
            reference="N-3",
            reason="narrowed",
            by=MANAGER,
            at=after(13),
        )


# ---- what goes on with what leaves it -------------------------------------------------------------


def test_a_hold_goes_on_with_each_thing_once_and_says_which(store: Store, kit: str) -> None:
    code = hold(store, kit, 7).codes[0]
    sets, bottles = of_kit(store, kit)
    with store.act("take out", by=CLERK, at=after(8)) as act:
        held, bottle = act.find(Kit, code=kit), act.find(Piece, code=bottles[0])
        first, second = (act.find(RotorSet, code=one) for one in sets[:2])
        assert held is not None
        assert bottle is not None
        assert first is not None
        assert second is not None
        said = pass_on_holds(act, held, rotor_sets=[first], pieces=[bottle])
        assert said == (
            f"{sets[0]}, {bottles[0]} of {kit} stay on hold under {code} (doubt about the builder).",
        )
        assert pass_on_holds(act, held, rotor_sets=[first], pieces=[bottle]) == ()
        (more,) = pass_on_holds(act, held, rotor_sets=[first, second], pieces=[bottle])
        assert more.startswith(f"{sets[1]} of {kit} stay on hold")
    assert under(store, code) == {*sets[:2], bottles[0]}
    with store.reading() as read:
        assert len(read.select(HoldItem)) == 4  # the kit, two sets, a bottle


def test_neither_a_released_hold_nor_that_of_another_kit_goes_on(store: Store, kit: str) -> None:
    release(store, hold(store, kit, 7).codes[0], 8)
    stock_up(store, at=after(9))
    other = sealed_kit(store, at=after(10), seal="0002")
    hold(store, other, 11)
    with store.act("take out", by=CLERK, at=after(12)) as act:
        free, one = act.find(Kit, code=kit), act.find(RotorSet, code=of_kit(store, kit)[0][0])
        assert free is not None
        assert one is not None
        assert pass_on_holds(act, free, rotor_sets=[one]) == ()


def test_what_came_out_of_an_opened_kit_without_a_number_is_named_with_its_count(
    store: Store, kit: str
) -> None:
    stock_up(store, at=after(6), sets=4)
    other = sealed_kit(store, at=after(7), seal="0002")  # sealed: nothing came out of it
    opened(store, kit, 8)
    with store.reading() as read:
        lines = dict(
            read.rows(
                "SELECT t.number, r.code FROM receipt_line r JOIN part t ON t.id = r.part_id ORDER BY r.id DESC"
            )
        )
    said = [text for text in hold(store, kit, 12).said if "came out of the kit" in text]
    assert said == [
        f"16 of {lines[number]} ({number}) came out of the kit without a number of their own; "
        f"hold {lines[number]} too if the doubt is about them."
        for number in (SCREW, WASHER)
    ]
    assert not any("came out of the kit" in text for text in hold(store, other, 13).said)
