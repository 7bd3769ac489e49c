"""Inspection of whole rotor sets: who may make one serviceable again, and which sets."""

from collections.abc import Iterator
from typing import Any

import pytest

from kittrack.errors import BadInput, Refused
from kittrack.services import holding, inspecting_sets, matching
from kittrack.store.database import Store
from kittrack.store.records import Inspection, Job, PartMark, Person, Place, Position, Removal, RotorSet
from kittrack.store.stock import chain
from tests.factories import (
    BIN2,
    BUILDER,
    CLERK,
    CW_BLADE,
    INSPECTOR,
    MANAGER,
    TECHNICIAN,
    after,
    assert_conserved,
    sealed_kit,
    sets_on_shelf,
    stock_up,
)


@pytest.fixture(autouse=True)
def _conserved(store: Store) -> Iterator[None]:
    yield
    assert_conserved(store)


def removed(store: Store, *, by: str = TECHNICIAN, **changes: Any) -> str:
    """A sound set in the removed-parts cage, with the tag of whoever took it off."""
    (code,) = sets_on_shelf(store, CW_BLADE, 1, at=after(1))
    with store.act("take it off", by=by, at=after(2)) as act:
        one = act.get(RotorSet, 1)
        cage = act.find(Place, kind="removed-parts cage")
        assert cage is not None
        act.move_container(one.place_id, from_place_id=chain(act, one.place_id)[1].id, to_place_id=cage.id)
        act.update(one, **{"condition": "on hold", "used_minutes": 60, "used_flights": 3, **changes})
        job_place = act.insert(Place(code="J000001-X", kind="job", name="J000001-X"))
        job = act.insert(
            Job(code="J000001-X", place_id=job_place.id, airframe_id=1, purpose="x", event_id=act.event_id)
        )
        act.insert(
            Removal(code="T000001-X", job_id=job.id, airframe_id=1, position_id=act.get(Position, 1).id, rotor_set_id=one.id,
                    purpose="replacement", reason="x", sense_found="CW", mark_found="R", event_id=act.event_id)
        )  # fmt: skip
    return code


def inspect(
    store: Store, code: str, *, by: str = INSPECTOR, mark: str = "R", minute: int = 10, **more: Any
) -> None:
    inspecting_sets.inspect_set(
        store, rotor_set=code, mark=mark, note="edges, roots, bore", by=by, at=after(minute), **more
    )


def refused(store: Store, code: str, **more: Any) -> frozenset[str]:
    with pytest.raises(Refused) as found:
        inspect(store, code, **more)
    return found.value.rules


def condition(store: Store) -> str:
    with store.reading() as read:
        return read.get(RotorSet, 1).condition


def test_only_an_inspection_makes_a_removed_set_serviceable_again(store: Store) -> None:
    code = removed(store)
    inspect(store, code, to_place=BIN2)
    with store.reading() as read:
        one = read.get(RotorSet, 1)
        looked = read.select(Inspection, "rotor_set_id = 1")
        assert chain(read, one.place_id)[1].name == BIN2
    assert (one.condition, one.used_minutes) == ("serviceable", 60)
    assert [(i.result, i.sense, i.mark) for i in looked] == [("accepted", "CW", "R")]


def test_an_accepted_set_stays_where_it_is_unless_a_bin_is_named(store: Store) -> None:
    inspect(store, removed(store))
    with store.reading() as read:
        assert chain(read, read.get(RotorSet, 1).place_id)[1].kind == "removed-parts cage"


@pytest.mark.parametrize("by", [CLERK, MANAGER, BUILDER])
def test_it_takes_an_inspector_or_a_technician(store: Store, by: str) -> None:
    assert refused(store, removed(store), by=by) == {"role"}


def test_who_removed_it_does_not_inspect_it_under_any_badge(store: Store) -> None:
    code = removed(store, by=INSPECTOR)
    assert refused(store, code) == {"R10"}
    with store.act("one human, two badges", by=MANAGER, at=after(3)) as act:
        first, other = act.find(Person, name=INSPECTOR), act.find(Person, name=TECHNICIAN)
        assert first is not None
        assert other is not None
        act.update(other, same_human_as_id=first.id)
    assert refused(store, code, by=TECHNICIAN) == {"R10"}


def test_another_technician_does(store: Store) -> None:
    inspect(store, removed(store, by=INSPECTOR), by=TECHNICIAN)
    assert condition(store) == "serviceable"


@pytest.mark.parametrize("mark", ["", "X", "L"])
def test_a_mark_that_does_not_say_its_sense_keeps_it_on_hold(store: Store, mark: str) -> None:
    inspect(store, removed(store), mark=mark, to_place=BIN2)
    assert condition(store) == "on hold"
    with store.reading() as read:
        assert read.find(Inspection, rotor_set_id=1, result="held") is not None
        assert chain(read, read.get(RotorSet, 1).place_id)[1].kind == "removed-parts cage"


@pytest.mark.parametrize(
    ("form", "said", "note"),
    [
        ({}, "CW set {code} is serviceable: put it away.", ""),
        ({"to_place": BIN2}, "CW set {code} is serviceable and in A-02.", ""),
        ({"result": "held"}, "{code} stays on hold; nobody guesses.", ""),
        ({"result": "rejected"}, "{code} is unserviceable: break it, or scrap it with a witness.", ""),
        ({"mark": ""}, "{code} stays on hold: {why}; nobody guesses.", "no mark was read on it"),
        ({"mark": "X"}, "{code} stays on hold: {why}; nobody guesses.", "its mark 'X' is not in the mark table of RB-18-CW, and the set turns CW"),
        ({"mark": "L"}, "{code} stays on hold: {why}; nobody guesses.", "its mark 'L' means CCW, and the set turns CW"),
        ({"mark": "L", "result": "rejected"}, "{code} is unserviceable: break it, or scrap it with a witness.", "its mark 'L' means CCW, and the set turns CW"),
    ],
)  # fmt: skip
def test_an_inspection_says_and_keeps_what_it_found(
    store: Store, form: dict[str, str], said: str, note: str
) -> None:
    with store.act("a table that knows both", by=MANAGER, at=after(1)) as act:
        act.insert(PartMark(part_id=1, revision=1, mark="L", sense="CCW"))
    code = removed(store)
    done = inspecting_sets.inspect_set(
        store, rotor_set=code, note="roots", by=INSPECTOR, at=after(10), **{"mark": "R", **form}
    )
    assert done.said == (said.format(code=code, why=note),)
    with store.reading() as read:
        (kept,) = read.select(Inspection, "rotor_set_id = 1")
    assert (kept.note, kept.quantity) == (f"roots; {note}" if note else "roots", 1)


@pytest.mark.parametrize(("result", "after_it"), [("held", "on hold"), ("rejected", "unserviceable")])
def test_what_is_held_or_rejected(store: Store, result: str, after_it: str) -> None:
    inspect(store, removed(store), result=result)
    assert condition(store) == after_it


@pytest.mark.parametrize(
    ("changes", "rules"),
    [
        ({"used_minutes": 300 * 60}, {"R13"}),
        ({"used_minutes": None}, {"R13"}),
        ({"match_record_id": None}, {"R19"}),
        ({"bound_position_id": 1}, {"R10"}),
    ],
    ids=["life used up", "life unknown", "not proved", "bound to its position"],
)
def test_what_an_inspection_can_not_heal(store: Store, changes: dict[str, Any], rules: set[str]) -> None:
    code = removed(store, **changes)
    assert refused(store, code) == rules
    assert condition(store) == "on hold"


def test_a_set_under_a_hold_is_not_accepted(store: Store) -> None:
    code = removed(store)
    holding.place_hold(store, scope=holding.Scope(code=code), reason="x", reference="", by=CLERK, at=after(3))
    assert refused(store, code) == {"R6"}
    inspect(store, code, result="rejected")
    assert condition(store) == "unserviceable"


def test_a_broken_set_is_never_accepted(store: Store) -> None:
    code = removed(store)
    matching.break_set(store, rotor_set=code, reason="cracked", by=TECHNICIAN, at=after(3))
    assert "R1" in refused(store, code)


def test_a_set_in_a_kit_is_not_inspected(store: Store) -> None:
    stock_up(store, at=after(1))
    sealed_kit(store, at=after(5))
    with store.reading() as read:
        code = read.get(RotorSet, 1).code
    assert "R5" in refused(store, code)


def test_an_inspection_takes_a_note_a_known_result_and_a_bin(store: Store) -> None:
    code = removed(store)
    with pytest.raises(BadInput):
        inspecting_sets.inspect_set(store, rotor_set=code, mark="R", note="", by=INSPECTOR, at=after(4))
    with pytest.raises(BadInput):
        inspect(store, code, result="fine")
