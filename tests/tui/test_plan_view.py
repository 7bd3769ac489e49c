"""The plan: arms where they are, seen from above with the nose up; the view from below flips the picture only.

Where a rotor lies is checked against the published four-arm X layout (front right and rear left
counter-clockwise, seen from above), of the open autopilots' own tables.
"""

import pytest

from kittrack.tui.symbols import ASCII
from kittrack.tui.widgets.plan_view import Rotor, plan_lines

QUAD = (("FR", 45, "CCW"), ("RL", -135, "CCW"), ("FL", -45, "CW"), ("RR", 135, "CW"))


def rotors(layout: tuple[tuple[str, int, str], ...]) -> list[Rotor]:
    return [Rotor(n, "single", s, angle * 1000, 300_000, "to do") for n, angle, s in layout]


def where(lines: list[str], text: str) -> tuple[int, int]:
    """Row and column of a text that stands on the plan once."""
    [found] = [(row, line.index(text)) for row, line in enumerate(lines) if text in line]
    return found


def draw(these: list[Rotor], *, width: int = 40, height: int = 14, from_below: bool = False) -> list[str]:
    lines = plan_lines(these, width=width, height=height, symbols=ASCII, from_below=from_below)
    assert lines is not None
    assert len(lines) == height
    assert all(len(line) <= width for line in lines)
    return lines


def test_front_is_up_and_right_is_right() -> None:
    lines = draw(rotors(QUAD))
    front_left, front_right = where(lines, "FL CW >"), where(lines, "FR CCW <")
    rear_left, rear_right = where(lines, "RL CCW <"), where(lines, "RR CW >")
    assert front_left[0] == front_right[0] < rear_left[0] == rear_right[0]
    assert front_left[1] < front_right[1]
    assert rear_left[1] < rear_right[1]
    assert where(lines, "^ nose")[0] < front_left[0]


def test_from_below_left_and_right_change_places_and_no_sense_does() -> None:
    above, below = draw(rotors(QUAD)), draw(rotors(QUAD), from_below=True)
    assert "SEEN FROM BELOW" in below[0]
    assert "senses from above" in below[0]
    assert where(below, "FR CCW <")[1] < where(below, "FL CW >")[1]
    assert {w for line in above[2:] for w in line.split()} == {w for line in below[2:] for w in line.split()}


@pytest.mark.parametrize("height", range(12, 20))
def test_arms_that_lie_opposite_stand_on_one_line(height: int) -> None:
    lines = draw(rotors((("R", 90, "CW"), ("L", -90, "CCW"))), height=height)
    assert where(lines, "R CW >")[0] == where(lines, "L CCW <")[0]


@pytest.mark.parametrize("arms", [3, 4, 6, 8])
def test_every_rotor_of_a_flat_layout_is_named_once(arms: int) -> None:
    turn = [(str(n), round(360 * n / arms), "CW" if n % 2 else "CCW") for n in range(arms)]
    lines = draw(rotors(tuple(turn)), height=16)
    for name, _, sense in turn:
        where(lines, f"{name} {sense}")


def test_a_coaxial_arm_has_its_upper_rotor_above_its_lower_one() -> None:
    these = [
        Rotor(f"{n}", level, "CW" if (n % 2) == (level == "upper") else "CCW", (45 + 90 * n) * 1000, 300_000, "to do")
        for n in range(4)
        for level in ("lower", "upper")
    ]  # fmt: skip
    lines = draw(these, height=17)
    for n in range(4):
        assert where(lines, f"upper {n} ")[0] < where(lines, f"lower {n} ")[0]
        assert where(lines, f"upper {n} ")[1] == where(lines, f"lower {n} ")[1]


def test_a_plan_whose_words_would_touch_is_not_drawn() -> None:
    assert plan_lines(rotors(QUAD), width=8, height=14, symbols=ASCII) is None
    assert plan_lines(rotors(QUAD), width=40, height=4, symbols=ASCII) is None


def test_the_rotor_that_is_worked_on_is_marked() -> None:
    these = [Rotor("FR", "single", "CCW", 45_000, 300_000, "NOT FINISHED", is_here=True)]
    where(draw(these), "* FR CCW <")
