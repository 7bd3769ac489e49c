"""The classes of the recall account: every chain that the ledger can hold has exactly one."""

import itertools

import pytest

from kittrack.domain.ledger import (
    ENDS,
    OVERDRAWN,
    AccountClass,
    Condition,
    Link,
    PlaceKind,
    account_class,
    place_in_words,
)

LOOSE = (PlaceKind.BIN, PlaceKind.GOODS_IN, PlaceKind.HOLD_CAGE, PlaceKind.BENCH, PlaceKind.VAN, PlaceKind.HANDS,
         PlaceKind.REMOVED_CAGE, PlaceKind.APRON, *sorted(ENDS - {PlaceKind.SUPPLIER}))  # fmt: skip


def classed(
    *kinds: PlaceKind, sealed: bool = False, condition: Condition = Condition.SERVICEABLE, held: bool = False
) -> AccountClass:
    chain = [Link(kind, sealed=sealed and kind is PlaceKind.KIT) for kind in kinds]
    return account_class(chain, condition=condition, held=held)


@pytest.mark.parametrize(
    ("kinds", "wanted"),
    [
        ((PlaceKind.BIN,), AccountClass.SHELF),
        ((PlaceKind.ROTOR_SET, PlaceKind.BIN), AccountClass.SHELF),
        ((PlaceKind.HOLD_CAGE,), AccountClass.HOLD),
        ((PlaceKind.ROTOR_SET, PlaceKind.HOLD_CAGE), AccountClass.HOLD),
        ((PlaceKind.BENCH,), AccountClass.BENCH),
        ((PlaceKind.KIT, PlaceKind.BENCH), AccountClass.BENCH),
        ((PlaceKind.ROTOR_SET, PlaceKind.KIT, PlaceKind.BIN), AccountClass.BENCH),
        ((PlaceKind.VAN,), AccountClass.VAN),
        ((PlaceKind.ROTOR_SET, PlaceKind.KIT, PlaceKind.VAN), AccountClass.VAN),
        ((PlaceKind.ROTOR_SET, PlaceKind.KIT, PlaceKind.HANDS), AccountClass.ISSUED),
        ((PlaceKind.JOB,), AccountClass.ISSUED),
        ((PlaceKind.ROTOR_SET, PlaceKind.POSITION, PlaceKind.AIRFRAME, PlaceKind.APRON), AccountClass.FITTED),
        ((PlaceKind.ROTOR_SET, PlaceKind.POSITION, PlaceKind.AIRFRAME, PlaceKind.SOLD), AccountClass.SOLD),
        ((PlaceKind.ROTOR_SET, PlaceKind.REMOVED_CAGE), AccountClass.REMOVED),
        ((PlaceKind.CONSUMED,), AccountClass.CONSUMED),
        ((PlaceKind.RETURNED,), AccountClass.RETURNED),
        ((PlaceKind.SCRAPPED,), AccountClass.SCRAPPED),
        ((PlaceKind.LOST,), AccountClass.LOST),
        ((PlaceKind.UNACCOUNTED,), AccountClass.UNACCOUNTED),
    ],
)
def test_the_outermost_place_decides(kinds: tuple[PlaceKind, ...], wanted: AccountClass) -> None:
    assert classed(*kinds) is wanted


def test_a_sealed_kit_on_the_shelf_is_a_class_of_its_own() -> None:
    assert classed(PlaceKind.ROTOR_SET, PlaceKind.KIT, PlaceKind.BIN, sealed=True) is AccountClass.SEALED


@pytest.mark.parametrize(
    ("condition", "held"),
    [(Condition.ON_HOLD, False), (Condition.UNSERVICEABLE, False), (Condition.SERVICEABLE, True)],
)
def test_what_is_held_or_unfit_on_a_shelf_is_on_hold(condition: Condition, held: bool) -> None:
    assert classed(PlaceKind.BIN, condition=condition, held=held) is AccountClass.HOLD


def test_every_chain_has_a_class_whatever_its_condition() -> None:
    inner: tuple[tuple[PlaceKind, ...], ...] = (
        (), (PlaceKind.ROTOR_SET,), (PlaceKind.KIT,), (PlaceKind.ROTOR_SET, PlaceKind.KIT),
        (PlaceKind.ROTOR_SET, PlaceKind.POSITION, PlaceKind.AIRFRAME),
    )  # fmt: skip
    for around, outer, condition, held, sealed in itertools.product(
        inner, LOOSE, Condition, (True, False), (True, False)
    ):
        assert classed(*around, outer, sealed=sealed, condition=condition, held=held) in AccountClass


def test_the_suppliers_side_is_no_class_of_the_account() -> None:
    with pytest.raises(ValueError, match="supplier"):
        classed(PlaceKind.SUPPLIER)
    assert PlaceKind.SUPPLIER in OVERDRAWN


def test_a_place_that_is_named_by_its_kind_is_named_once() -> None:
    assert place_in_words("bin", "A-01") == "bin A-01"
    assert place_in_words("goods-in", "goods-in Home") == "goods-in Home"
