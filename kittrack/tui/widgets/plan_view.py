"""The plan of an airframe from above, nose up: every arm where it is, each rotor with its sense in word and arrow.

The view from below flips the picture and nothing else: a sense is always meant as seen from above, and the
plan says so. Source: design 7 (Aircraft), section 3 (senses are seen from above).
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations

from kittrack.tui.symbols import Symbols, sense_mark

_PLACES = 9  # of a direction; beyond them arms that lie opposite would differ by rounding alone


@dataclass(frozen=True)
class Rotor:
    """One rotor of the plan: where it is, the sense that the map gives it, a word for how far it is."""

    name: str
    level: str
    sense: str
    angle_mdeg: int
    radius_um: int
    state: str
    is_here: bool = False


@dataclass(frozen=True)
class _Block:
    """The text at one spot: the rotors of an arm, the upper one above the lower one."""

    angle_mdeg: int
    radius_um: int
    lines: tuple[str, ...]

    @cached_property
    def width(self) -> int:
        return max(len(line) for line in self.lines)


def plan_lines(
    rotors: Sequence[Rotor], *, width: int, height: int, symbols: Symbols, from_below: bool = False
) -> list[str] | None:
    """The plan as lines of text.

    Args:
        rotors: every rotor, in any order.
        width: characters a line.
        height: lines.
        symbols: for nose, hub and mark of the rotor that is worked on.
        from_below: whether left and right are swapped, as somebody under the airframe sees them.

    Returns:
        `height` lines of at most `width` characters, or None where the words don't fit without touching.
    """
    head = "SEEN FROM BELOW, senses from above" if from_below else "seen from above"
    rows = height - 2
    blocks = sorted(_blocks(rotors, symbols), key=lambda b: (abs(_sine(b)), b.lines))
    canvas = [[" "] * width for _ in range(rows)]
    taken: list[tuple[int, int, int, int]] = []
    for block in blocks:
        spot = _place(block, blocks, width=width, rows=rows, taken=taken, flip=from_below)
        if spot is None:
            return None
        taken.append((*spot, block.width, len(block.lines)))
        _write(canvas, spot, block)
    if not _keeps_order(blocks, taken, flip=from_below):
        return None
    _mark_hub(canvas, symbols)
    nose = f"{symbols.nose} nose"
    return [
        head.center(width).rstrip(),
        nose.center(width).rstrip(),
        *("".join(row).rstrip() for row in canvas),
    ]


def _blocks(rotors: Sequence[Rotor], symbols: Symbols) -> Iterator[_Block]:
    spots: dict[tuple[int, int], list[Rotor]] = {}
    for rotor in rotors:
        spots.setdefault((rotor.angle_mdeg % 360_000, rotor.radius_um), []).append(rotor)
    for (angle, radius), there in spots.items():
        lines: list[str] = []
        for rotor in sorted(there, key=lambda r: r.level != "upper"):
            mark = f"{symbols.here} " if rotor.is_here else ""
            level = "" if rotor.level == "single" else f"{rotor.level} "
            lines += [f"{mark}{level}{rotor.name} {sense_mark(rotor.sense)}", rotor.state]
        yield _Block(angle, radius, tuple(line for line in lines if line))


def _sine(block: _Block) -> float:
    return round(math.sin(math.radians(block.angle_mdeg / 1000)), _PLACES)


def _place(
    block: _Block,
    blocks: Sequence[_Block],
    *,
    width: int,
    rows: int,
    taken: Sequence[tuple[int, int, int, int]],
    flip: bool,
) -> tuple[int, int] | None:
    """Where a block goes: the free spot nearest to where its arm ends."""
    farthest = max(b.radius_um for b in blocks) or 1
    reach = block.radius_um / farthest
    across = _sine(block) * (-1 if flip else 1)
    room_x, room_y = width - block.width, rows - len(block.lines)
    if room_x < 0 or room_y < 0:
        return None
    wanted_x = room_x * (1 + reach * _stretched(across)) / 2
    wanted_y = room_y * (1 - reach * _stretched(_cosine(block))) / 2
    best: tuple[float, tuple[int, int]] | None = None
    for y in range(room_y + 1):
        along = (y - wanted_y) ** 2
        for x in range(room_x + 1):
            away = ((x - wanted_x) / 2) ** 2 + along
            if best is not None and away >= best[0]:
                continue  # most spots end here, so that few are compared with the others
            if not any(_touch((x, y, block.width, len(block.lines)), other) for other in taken):
                best = away, (x, y)
    return best[1] if best else None


def _keeps_order(blocks: Sequence[_Block], spots: Sequence[tuple[int, int, int, int]], *, flip: bool) -> bool:
    """Whether front is still above rear and left still left of right, after blocks made room for each other."""
    for (one, at), (other, there) in combinations(zip(blocks, spots, strict=True), 2):
        across = (_sine(one) - _sine(other)) * (-1 if flip else 1)
        along = _cosine(other) - _cosine(one)
        columns = at[0] + at[2] / 2 - there[0] - there[2] / 2
        if (abs(along) > 0.5 and along * (at[1] - there[1]) <= 0) or (
            abs(across) > 0.5 and across * columns <= 0
        ):
            return False
    return True


def _cosine(block: _Block) -> float:
    return round(math.cos(math.radians(block.angle_mdeg / 1000)), _PLACES)


def _stretched(part: float) -> float:
    """An arm's part of a direction, stretched so that a rotor at 45 degrees sits in the corner of the picture."""
    return max(-1.0, min(1.0, part * math.sqrt(2)))


def _touch(one: tuple[int, int, int, int], other: tuple[int, int, int, int]) -> bool:
    x, y, w, h = one
    u, v, k, m = other
    return x < u + k + 2 and u < x + w + 2 and y < v + m + 1 and v < y + h + 1


def _write(canvas: list[list[str]], spot: tuple[int, int], block: _Block) -> None:
    for row, line in enumerate(block.lines):
        for column, character in enumerate(line):
            canvas[spot[1] + row][spot[0] + column] = character


def _mark_hub(canvas: list[list[str]], symbols: Symbols) -> None:
    row, column = len(canvas) // 2, len(canvas[0]) // 2
    around = canvas[row][max(0, column - 1) : column + 2]
    if all(character == " " for character in around):
        canvas[row][column] = symbols.hub
