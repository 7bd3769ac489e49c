"""Kit arithmetic: lines from positions, packs, completeness.

Sources: "worked example computed by hand" marks a value worked out on paper; the four-arm X layout and the
coaxial ones are published autopilot layouts (angle from the nose, seen from above).
"""

import pytest

from kittrack.domain.kits import (
    Covered,
    Demand,
    Extra,
    Fixing,
    KitLineState,
    LineKind,
    Locker,
    Packs,
    Picked,
    check_complete,
    kit_demand,
    packs_for,
)
from kittrack.domain.spin import Sense
from kittrack.errors import BadInput

CW_PART, CCW_PART, SCREW, WASHER, LOCKER = 1, 2, 3, 4, 5
FIXING = Fixing(SCREW, 4, WASHER, 4, Locker(LOCKER, 50))


def covered(name: str, sense: str, fixing: Fixing = FIXING) -> Covered:
    turn = Sense(sense)
    return Covered(
        len(name) * 100 + ord(name[0]), name, turn, CW_PART if turn is Sense.CW else CCW_PART, fixing
    )


QUAD = (covered("FR", "CCW"), covered("RL", "CCW"), covered("FL", "CW"), covered("RR", "CW"))


def test_four_hubs_of_four_screws_need_sixteen() -> None:
    # worked example computed by hand: 4 hubs x 4 screws, 4 x 4 x 0.05 mL
    assert kit_demand(QUAD) == (
        Demand(LineKind.ROTOR_SET, CW_PART, 2, sense=Sense.CW),
        Demand(LineKind.ROTOR_SET, CCW_PART, 2, sense=Sense.CCW),
        Demand(LineKind.SCREW, SCREW, 16, hubs=4, per_hub=4),
        Demand(LineKind.WASHER, WASHER, 16, hubs=4, per_hub=4),
        Demand(LineKind.THREADLOCKER, LOCKER, 800, "volume_ul"),
    )


def test_a_co_rotating_coaxial_arm_needs_two_sets_of_one_sense() -> None:
    # published layout X8 COR: both rotors of the 45 degree arm turn CCW
    lines = kit_demand((covered("1U", "CCW"), covered("1L", "CCW")))
    assert [line for line in lines if line.kind is LineKind.ROTOR_SET] == [
        Demand(LineKind.ROTOR_SET, CCW_PART, 2, sense=Sense.CCW)
    ]


def test_unlike_hubs_get_lines_of_their_own() -> None:
    big = Fixing(SCREW, 6)
    lines = kit_demand((covered("A", "CW"), covered("B", "CCW", big)))
    screws = [(d.quantity, d.hubs, d.per_hub) for d in lines if d.kind is LineKind.SCREW]
    assert screws == [(4, 1, 4), (6, 1, 6)]
    assert sum(d.quantity for d in lines if d.kind is LineKind.WASHER) == 4


@pytest.mark.parametrize(
    ("locker", "line"),
    [
        # worked examples computed by hand: 0.8 mL in doses of 0.5 mL takes 2 doses; one pack for each hub
        (
            Locker(LOCKER, 50, single_dose=True, pack_ul=500),
            Demand(LineKind.THREADLOCKER, LOCKER, 1000, "volume_ul"),
        ),
        (Locker(LOCKER, 50, single_dose=True), Demand(LineKind.THREADLOCKER, LOCKER, 4)),
    ],
)
def test_single_doses_are_counted_in_whole_packs(locker: Locker, line: Demand) -> None:
    positions = [covered(p.name, p.sense, Fixing(SCREW, 4, locker=locker)) for p in QUAD]
    assert kit_demand(positions)[-1] == line


def test_a_pack_of_threadlocker_holds_something() -> None:
    assert Locker(LOCKER, 50, single_dose=True, pack_ul=1).pack_ul == 1
    with pytest.raises(BadInput, match="threadlocker in a pack in uL is 0"):
        Locker(LOCKER, 50, single_dose=True, pack_ul=0)


def test_the_sets_that_turn_clockwise_stand_first_whatever_their_part() -> None:
    later_cw = Covered(1, "A", Sense.CW, CCW_PART, FIXING)
    earlier_ccw = Covered(2, "B", Sense.CCW, CW_PART, FIXING)
    sets = [d for d in kit_demand((earlier_ccw, later_cw)) if d.kind is LineKind.ROTOR_SET]
    assert [(d.sense, d.part_id) for d in sets] == [(Sense.CW, CCW_PART), (Sense.CCW, CW_PART)]


@pytest.mark.parametrize(
    ("fixing", "lines"),
    [
        (Fixing(SCREW, 1, WASHER, 1), [(LineKind.SCREW, 1), (LineKind.WASHER, 1)]),
        (Fixing(SCREW, 4, WASHER, 0), [(LineKind.SCREW, 4)]),
        (Fixing(SCREW, 4, None, 4), [(LineKind.SCREW, 4)]),
        (Fixing(SCREW, 0, locker=Locker(LOCKER, 50)), []),  # the dose is by screw
    ],
)
def test_what_a_hub_does_not_take_has_no_line(fixing: Fixing, lines: list[tuple[LineKind, int]]) -> None:
    found = kit_demand((covered("A", "CW", fixing),))
    assert [(d.kind, d.quantity) for d in found if d.kind is not LineKind.ROTOR_SET] == lines


def test_no_threadlocker_where_the_fixing_asks_for_none() -> None:
    dry = Fixing(SCREW, 4, locker=Locker(LOCKER, 0))
    assert {d.kind for d in kit_demand((covered("A", "CW", dry),))} == {LineKind.ROTOR_SET, LineKind.SCREW}


def test_extras_count_by_kit_and_by_hub() -> None:
    extras = (Extra(9, 1), Extra(8, 2, per_hub=True))
    found = [d for d in kit_demand(QUAD, extras=extras) if d.kind is LineKind.EXTRA]
    assert found == [Demand(LineKind.EXTRA, 8, 8, hubs=4, per_hub=2), Demand(LineKind.EXTRA, 9, 1)]


@pytest.mark.parametrize("positions", [(), (QUAD[0], QUAD[0])])
def test_a_kit_covers_each_position_once_and_at_least_one(positions: tuple[Covered, ...]) -> None:
    with pytest.raises(BadInput):
        kit_demand(positions)


@pytest.mark.parametrize(
    ("need", "pack", "expected"),
    [(16, 8, Packs(2, 0)), (16, 10, Packs(2, 4)), (1, 8, Packs(1, 7)), (0, 8, Packs(0, 0))],
)
def test_packs_to_open_and_left_over(need: int, pack: int, expected: Packs) -> None:
    # worked example computed by hand: ceil(q / p) packs, p ceil(q / p) - q left over
    assert packs_for(need, pack_quantity=pack) == expected


def test_an_empty_pack_is_no_pack() -> None:
    with pytest.raises(BadInput):
        packs_for(4, pack_quantity=0)


SCREWS = Demand(LineKind.SCREW, SCREW, 16, hubs=4, per_hub=4)


def state(*picked: Picked, demand: Demand = SCREWS, pack: int = 8) -> KitLineState:
    return KitLineState(demand, "SC-M3x8", picked, pack_quantity=pack)


def test_a_pack_of_eight_for_sixteen_is_short_by_eight_and_said_plainly() -> None:
    # worked example computed by hand: 16 - 8 = 8, one pack more
    (refusal,) = check_complete([state(Picked(4, "L1", "FR"), Picked(4, "L1", "RL"))], subject="K1")
    assert refusal.rule == "R4"
    assert "16 needed (4 hubs of 4), 8 in the kit, short by 8" in refusal.message
    assert "1 pack of 8" in refusal.message


@pytest.mark.parametrize(("pack", "packs"), [(1, ""), (2, " (4 packs of 2)")])
def test_packs_are_told_where_there_are_any(pack: int, packs: str) -> None:
    picks = [Picked(4, "L1", "FR"), Picked(4, "L1", "RL")]
    (refusal,) = check_complete([state(*picks, pack=pack)], subject="K1")
    assert refusal.message.endswith(f"pick 8 more{packs}.")


def test_hubs_of_different_lots_are_complete() -> None:
    picks = [Picked(4, lot, hub) for lot, hub in (("L1", "FR"), ("L1", "RL"), ("L2", "FL"), ("L3", "RR"))]
    assert check_complete([state(*picks)], subject="K1") == ()


def test_one_hub_of_two_lots_is_refused_though_the_count_is_right() -> None:
    picks = [Picked(4, "L1", hub) for hub in ("FR", "RL", "FL")]
    (refusal,) = check_complete([state(*picks, Picked(3, "L1", "RR"), Picked(1, "L2", "RR"))], subject="K1")
    assert refusal.rule == "R4"
    assert "L1 and L2" in refusal.message


def test_too_many_for_one_hub_and_hubs_beyond_the_line_are_refused() -> None:
    picks = [Picked(5, "L1", "FR"), Picked(3, "L1", "RL"), *(Picked(4, "L1", h) for h in ("FL", "RR"))]
    assert len(check_complete([state(*picks)], subject="K1")) == 1
    spread = [Picked(4, "L1", h) for h in ("A", "B", "C")] + [Picked(2, "L1", h) for h in ("D", "E")]
    assert len(check_complete([state(*spread)], subject="K1")) == 1


def test_too_much_is_refused_but_a_bottle_may_hold_more_than_the_dose() -> None:
    extra = Demand(LineKind.EXTRA, 9, 1)
    (refusal,) = check_complete([state(Picked(2, "L1"), demand=extra)], subject="K1")
    assert refusal.message.endswith("1 needed, 2 in the kit, 1 too many; take them out.")
    dose = Demand(LineKind.THREADLOCKER, LOCKER, 800, "volume_ul")
    assert check_complete([state(Picked(10_000, "L1"), demand=dose)], subject="K1") == ()
    (refusal,) = check_complete([state(Picked(500, "L1"), demand=dose, pack=1)], subject="K1")
    assert "0.8 mL needed, 0.5 mL in the kit, short by 0.3 mL" in refusal.message


def test_every_short_line_is_named() -> None:
    sets = Demand(LineKind.ROTOR_SET, CW_PART, 2, sense=Sense.CW)
    lines = [KitLineState(sets, "RB-CW"), state()]
    assert [r.rule for r in check_complete(lines, subject="K1")] == ["R4", "R4"]
    assert lines[0].name == "CW rotor set RB-CW"
