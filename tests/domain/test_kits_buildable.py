"""Ship sets, their limits, and the balance of senses.

Source of every number: worked example computed by hand (the one of 10 + 7 + 15 screws is the trade's own).
"""

from fractions import Fraction

import pytest

from kittrack.domain.buildable import Need, sense_balance, ship_sets
from kittrack.domain.spin import Sense
from kittrack.errors import BadInput


def test_lot_purity_gives_two_ship_sets_and_not_four() -> None:
    assert ship_sets([Need("screws", 8, (10, 7, 15), pure_in=8)]).count == 2
    assert Need("screws of one rotor", 4, (10, 7, 15), pure_in=4).ship_sets == 6


def test_the_least_line_limits_and_one_more_of_it_unlocks() -> None:
    found = ship_sets(
        [Need("CW sets", 2, (5,)), Need("CCW sets", 2, (3,)), Need("screws", 16, (40, 9), pure_in=4)]
    )
    # 5 // 2 = 2, 3 // 2 = 1, (10 + 2) groups of 4 // 4 groups = 3
    assert found.by_line == (("CW sets", 2), ("CCW sets", 1), ("screws", 3))
    assert (found.count, found.limiting) == (1, ("CCW sets",))
    assert found.unlock == (("CCW sets", 1),)


def test_every_line_that_lacks_for_one_more_is_told() -> None:
    found = ship_sets([Need("CW sets", 2, (1,)), Need("screws", 8, (3, 3), pure_in=4)])
    assert found.unlock == (("CW sets", 1), ("screws", 8))
    assert found.limiting == ("CW sets", "screws")


@pytest.mark.parametrize("needs", [[], [Need("screws", 6, (6,), pure_in=4)], [Need("x", 0, (1,))]])
def test_what_can_not_be_counted_is_told(needs: list[Need]) -> None:
    with pytest.raises(BadInput):
        ship_sets(needs)


def test_senses_are_compared_in_ship_sets() -> None:
    found = sense_balance({Sense.CW: 5, Sense.CCW: 2}, need={Sense.CW: 2, Sense.CCW: 2})
    assert (found.imbalance, found.fuller, found.stranded) == (Fraction(3, 2), Sense.CW, 3)


def test_unequal_needs_are_no_imbalance() -> None:
    # a layout of three rotors: 2 CW and 1 CCW
    found = sense_balance({Sense.CW: 4, Sense.CCW: 2}, need={Sense.CW: 2, Sense.CCW: 1})
    assert (found.imbalance, found.fuller, found.stranded) == (Fraction(0), None, 0)
    found = sense_balance({Sense.CW: 4, Sense.CCW: 3}, need={Sense.CW: 2, Sense.CCW: 1})
    assert (found.imbalance, found.fuller, found.stranded) == (Fraction(-1), Sense.CCW, 1)


def test_a_type_of_one_sense_strands_the_other() -> None:
    found = sense_balance({Sense.CW: 3, Sense.CCW: 2}, need={Sense.CW: 3})
    assert (found.imbalance, found.fuller, found.stranded) == (None, Sense.CCW, 2)
    assert sense_balance({Sense.CW: 3}, need={Sense.CW: 3}).fuller is None
    found = sense_balance({Sense.CW: 3, Sense.CCW: 2}, need={Sense.CCW: 4})
    assert (found.imbalance, found.fuller, found.stranded) == (None, Sense.CW, 3)
    assert sense_balance({}, need={Sense.CCW: 4}).stranded == 0
    assert sense_balance({Sense.CW: 2}, need={Sense.CW: 1, Sense.CCW: 1}).stranded == 2


def test_a_fraction_of_a_ship_set_is_an_imbalance_of_the_side_that_has_more() -> None:
    found = sense_balance({Sense.CW: 3, Sense.CCW: 2}, need={Sense.CW: 4, Sense.CCW: 4})
    assert (found.imbalance, found.fuller, found.stranded) == (Fraction(1, 4), Sense.CW, 1)
