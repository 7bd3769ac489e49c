"""An extra comes off a kit list and on it again: two people and a source, kits and jobs are checked again (R4, R21)."""

from typing import Any

import pytest

from kittrack.errors import BadInput, Refused
from kittrack.queries.kits import kit_view
from kittrack.queries.ship_set_lines import revision_lines
from kittrack.services import kit_settings, kitting, sealing, settings_kit_list
from kittrack.services.catalogue_specs import ExtraSpec
from kittrack.services.fastening import needs_of
from kittrack.services.position_desk import find_spot
from kittrack.store.database import Store
from kittrack.store.kit_list import kit_list
from kittrack.store.records import Position, SettingChange, TypeRevision
from tests.factories import (
    BENCH,
    BUILDER,
    CLERK,
    INSPECTOR,
    MANAGER,
    TECHNICIAN,
    WASHER,
    after,
    finished_kit,
    stock_up,
)

WHO: dict[str, Any] = {"by": MANAGER, "second": INSPECTOR, "source": "bulletin 6"}
OF_A: dict[str, Any] = {"airframe_type": "QA", "revision": "A", **WHO}


def put_on(store: Store, minutes: int, *, per: str = "hub", quantity: int = 1) -> None:
    settings_kit_list.change_kit_list(
        store, extra=ExtraSpec(part=WASHER, quantity=quantity, per=per), at=after(minutes), **OF_A
    )


def take_off(store: Store, minutes: int, *, per: str = "hub", **other: Any) -> tuple[str, ...]:
    given = {**OF_A, "part": WASHER, "per": per, **other}
    return settings_kit_list.end_kit_list_line(store, at=after(minutes), **given).said


def build(store: Store, minutes: int) -> str:
    return kitting.build_kit(store, revision="QA A", bench=BENCH, by=BUILDER, at=after(minutes)).codes[0]


def extras_in(store: Store, kit: str) -> list[int]:
    return [x.needed for x in kit_view(store, kit=kit, at=after(50)).lines if x.kind == "extra"]


def listed(store: Store) -> list[tuple[str, int]]:
    with store.reading() as read:
        return [(line.per, line.quantity) for line in kit_list(read, read.select(TypeRevision)[0].id)]


def test_a_kit_built_afterwards_has_none_of_it_and_an_older_one_is_checked_again(store: Store) -> None:
    stock_up(store, at=after(1))
    put_on(store, 2)
    kit = build(store, 3)
    assert extras_in(store, kit) == [4]
    said = take_off(store, 4)
    assert any(kit in sentence for sentence in said)
    with pytest.raises(Refused) as refused:
        kit_settings.confirm_settings(store, kit=kit, by=CLERK, at=after(5))
    assert refused.value.rules == {"R21"}
    with pytest.raises(Refused) as refused:
        sealing.check_kit(store, kit=kit, by=CLERK, at=after(6))
    assert "R21" in refused.value.rules
    kitting.dissolve_kit(store, kit=kit, reason="bulletin 6", to_bin="A-01", by=CLERK, at=after(7))
    anew = build(store, 8)
    assert extras_in(store, anew) == []
    finished_kit(store, anew, at=after(9), seal="0002")


def test_old_and_new_are_kept_and_it_comes_on_again_under_its_quantity(store: Store) -> None:
    put_on(store, 1, quantity=2)
    put_on(store, 2, per="kit", quantity=5)
    take_off(store, 3)
    assert listed(store) == [("kit", 5)]
    put_on(store, 4, quantity=2)
    assert listed(store) == [("hub", 2), ("kit", 5)]
    take_off(store, 5)
    put_on(store, 6, quantity=3)
    assert listed(store) == [("hub", 3), ("kit", 5)]
    with store.reading() as read:
        kept = [(c.name, c.old, c.new, c.source) for c in read.select(SettingChange) if "hub" in c.name]
    assert [(old, new) for _, old, new, _ in kept] == [
        ("none", "2"), ("2", "none"), ("none", "2"), ("2", "none"), ("none", "3"),
    ]  # fmt: skip
    assert {(name, source) for name, _, _, source in kept} == {(f"{WASHER} per hub", "bulletin 6")}


def test_a_hub_is_fastened_without_it_and_a_ship_set_planned_without_it(store: Store) -> None:
    put_on(store, 1)
    with store.reading() as read:
        spot = find_spot(read, read.select(Position)[0].code)
        with_it = len(needs_of(read, spot))
        assert any("kit list" in line.name for one in revision_lines(read) for line in one.lines)
    take_off(store, 4)
    with store.reading() as read:
        assert len(needs_of(read, spot)) == with_it - 1
        assert not any("kit list" in line.name for one in revision_lines(read) for line in one.lines)


def test_it_takes_a_manager_a_second_person_and_a_source(store: Store) -> None:
    put_on(store, 1)
    for who, rules in (({"by": TECHNICIAN}, {"role"}), ({"second": MANAGER}, {"R8"})):
        with pytest.raises(Refused) as refused:
            take_off(store, 2, **who)
        assert refused.value.rules == rules
    with pytest.raises(BadInput):
        take_off(store, 2, source=" ")
    assert listed(store) == [("hub", 1)]


def test_what_is_not_on_the_list_is_told_with_what_is(store: Store) -> None:
    with pytest.raises(BadInput, match="lists no extra"):
        take_off(store, 1)
    put_on(store, 2)
    with pytest.raises(BadInput, match=f"it lists {WASHER} per hub"):
        take_off(store, 3, per="kit")
    take_off(store, 4)
    with pytest.raises(BadInput, match="lists no extra"):
        take_off(store, 5)
