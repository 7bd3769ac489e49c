"""What a sense map would do in the air: hover balance and control rank of a rotor layout.

The check warns and never decides: the same geometry flies with all senses swapped, and a coaxial pair may
co-rotate, so only the verified map of the airframe says which sense is right (design R17). Neither test
replaces the other: equal numbers of both senses can leave yaw inseparable from roll, and rank 4 says
nothing about equal thrust. Rank is also no promise for a failed rotor: hexa layouts exist whose rank stays
4 after every single loss and which yet can't be held (arXiv:1307.0276).

Source: design C7; signs and angles as in the mixer tables of open autopilots (ArduPilot AP_MotorsMatrix,
PX4 control allocation).
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from math import atan2, cos, degrees, fsum, hypot, radians, sin

from kittrack.domain import bounds
from kittrack.domain.spin import Drive, Level, Sense
from kittrack.errors import BadInput, Problem

FULL_TURN_MDEG = 360_000
# PX4 control allocation, CA_ROTORn_KM default 0.05: newton metres of drag per newton of thrust, as a length.
YAW_ARM_UM = 50_000
# A hundredth of the longest arm: a layout measured with a ruler to one millimetre on a 150 mm arm stays below
# it, and the roundings of published tables (Y6: 0.666 x 4 - 1.333 x 2) far below. Common practice, no source.
NEGLIGIBLE = 0.01
_MOST_ENTRY = 1e6  # entries are scaled to about one
AXES = ("thrust", "roll", "pitch", "yaw")
WORDS = [
    "no",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
]


@dataclass(frozen=True)
class LayoutPosition:
    """One rotor position in plan view.

    Args:
        name: the position's name; unique in its layout.
        angle_mdeg: millidegrees clockwise from the nose, seen from above; any whole number of turns.
        radius_um: micrometres from the point about which the airframe turns (its centre of gravity).
        level: single, or upper or lower on a coaxial arm.
        drive: tractor or pusher. It doesn't enter the sums: each rotor lifts, and its sense is seen from above.
        sense: the spin sense, seen from above.
    """

    name: str
    angle_mdeg: int
    radius_um: int
    level: Level
    drive: Drive
    sense: Sense

    @classmethod
    def from_xy(
        cls, name: str, *, forward_um: int, right_um: int, level: Level, drive: Drive, sense: Sense
    ) -> "LayoutPosition":
        """Place a rotor by lengths ahead of and to the right of the centre, in micrometres.

        Returns:
            The position with its angle to the millidegree and its radius to the micrometre.

        Raises:
            BadInput: a length is not a whole number within reason.
        """
        far = bounds.MOST_RADIUS_UM
        ahead = bounds.whole(forward_um, name=f"forward length of position {name} in um", low=-far, high=far)
        beside = bounds.whole(right_um, name=f"right length of position {name} in um", low=-far, high=far)
        angle_mdeg = round(degrees(atan2(beside, ahead)) * 1000) % FULL_TURN_MDEG
        return cls(name, angle_mdeg, round(hypot(ahead, beside)), level, drive, sense)

    @property
    def forward_um(self) -> float:
        """Micrometres ahead of the centre; negative behind it."""
        return self.radius_um * cos(radians(self.angle_mdeg % FULL_TURN_MDEG / 1000))

    @property
    def right_um(self) -> float:
        """Micrometres to the right of the centre; negative on the left."""
        return self.radius_um * sin(radians(self.angle_mdeg % FULL_TURN_MDEG / 1000))

    @property
    def spot(self) -> tuple[int, int]:
        """The place in plan view that two rotors of a coaxial pair share."""
        return (self.angle_mdeg % FULL_TURN_MDEG if self.radius_um else 0, self.radius_um)


@dataclass(frozen=True)
class HoverResidual:
    """What is left when every rotor gives the same thrust; moments are per one rotor's thrust, in µm.

    Positive is right side down, nose up, and nose to the right, which is how counter-clockwise rotors push
    the airframe (the PX4 sign of CA_ROTORn_KM).
    """

    thrust: int
    roll_um: float
    pitch_um: float
    yaw_um: float


@dataclass(frozen=True)
class LayoutReport:
    """The finding on one layout: numbers for a table, warnings for a person.

    `rank` is that of the four control rows (thrust, roll, pitch, yaw), 4 when each can be commanded alone.
    `warnings` are plain sentences, hover first, then control, then coaxial arms; none means that nothing
    speaks against the map, not that the map is right.
    """

    hover: HoverResidual
    rank: int
    cw: int
    ccw: int
    warnings: tuple[str, ...]


def check_layout(positions: Sequence[LayoutPosition]) -> LayoutReport:
    """Work out what a layout does with equal thrust and which axes it can command.

    Args:
        positions: every rotor position of the airframe, in any order.

    Returns:
        The report; equal for every order of the positions and when all senses are swapped, except for signs.

    Raises:
        BadInput: no position, a name or place twice, or a number that can't be one.

    Source: design C7.
    """
    _refuse_nonsense(positions)
    reach_um = max(p.radius_um for p in positions) or 1
    hover = _hover(positions)
    rows = _control_rows(positions, reach_um=reach_um)
    rank = rank_of(list(rows.values()))
    warnings = [
        *_hover_warnings(positions, hover, reach_um=reach_um),
        *_rank_warnings(rows, rank=rank, yaw_balanced=hover.yaw_um == 0),
        *_coaxial_warnings(positions),
    ]
    senses = Counter(p.sense for p in positions)
    return LayoutReport(hover, rank, senses[Sense.CW], senses[Sense.CCW], tuple(warnings))


def rank_of(rows: Sequence[Sequence[float]], *, negligible: float = NEGLIGIBLE) -> int:
    """Rank of a small matrix by elimination with complete pivoting.

    Complete pivoting takes the greatest entry left as the next pivot, so the pivots fall and the first
    negligible one ends the count.

    Args:
        rows: the matrix, its entries scaled to about one.
        negligible: a pivot of at most this size counts as zero.
    """
    bounds.real(negligible, name="negligible pivot", low=0, high=1)
    left = [
        [bounds.real(entry, name="entry of a matrix", low=-_MOST_ENTRY, high=_MOST_ENTRY) for entry in row]
        for row in rows
    ]
    rank = 0
    while left and left[0]:
        pivot_row, pivot_column = max(
            ((i, j) for i in range(len(left)) for j in range(len(left[0]))),
            key=lambda spot: abs(left[spot[0]][spot[1]]),
        )
        pivots = left.pop(pivot_row)
        if abs(pivots[pivot_column]) <= negligible:
            break
        rank += 1
        left = [_cleared(row, pivots, column=pivot_column) for row in left]
    return rank


def _cleared(row: Sequence[float], pivots: Sequence[float], *, column: int) -> list[float]:
    share = row[column] / pivots[column]
    return [a - share * b for j, (a, b) in enumerate(zip(row, pivots, strict=True)) if j != column]


def _turn(position: LayoutPosition) -> int:
    return 1 if position.sense == Sense.CCW else -1


def _hover(positions: Sequence[LayoutPosition]) -> HoverResidual:
    roll_um = -fsum(p.right_um for p in positions)
    pitch_um = fsum(p.forward_um for p in positions)
    yaw_um = float(YAW_ARM_UM * sum(_turn(p) for p in positions))
    return HoverResidual(len(positions), roll_um, pitch_um, yaw_um)


def _control_rows(positions: Sequence[LayoutPosition], *, reach_um: int) -> dict[str, list[float]]:
    ordered = sorted(positions, key=lambda p: p.name)
    return {
        "thrust": [1.0 for _ in ordered],
        "roll": [-p.right_um / reach_um for p in ordered],
        "pitch": [p.forward_um / reach_um for p in ordered],
        "yaw": [float(_turn(p)) for p in ordered],
    }


def _hover_warnings(positions: Sequence[LayoutPosition], hover: HoverResidual, *, reach_um: int) -> list[str]:
    count = len(positions)
    found = []
    if hover.yaw_um:
        ccw = sum(p.sense == Sense.CCW for p in positions)
        found.append(f"equal thrust would yaw it: {_number(ccw)} CCW, {_number(count - ccw)} CW")
    for axis, sum_um, sides in (
        ("roll", -hover.roll_um, ("to the right of", "to the left of")),
        ("pitch", hover.pitch_um, ("ahead of", "behind")),
    ):
        mean_um = sum_um / count
        if abs(mean_um) > NEGLIGIBLE * reach_um:
            side = sides[mean_um < 0]
            off = f"{abs(mean_um) / 1000:.1f} mm {side} the centre of gravity"
            found.append(f"equal thrust would {axis} it: the middle of all rotors lies {off}")
    return found


def _rank_warnings(rows: dict[str, list[float]], *, rank: int, yaw_balanced: bool) -> list[str]:
    rotors = len(rows["thrust"])
    if rank == len(AXES):
        return []
    if rotors < len(AXES):
        return [f"{_number(rotors)} rotors can't command thrust, roll, pitch and yaw one by one"]
    opening = f"senses balance but rank {rank}" if yaw_balanced else f"rank {rank}"
    return [f"{opening}: {_confusion(axes)}" for axes in _circuits(rows)]


def _circuits(rows: dict[str, list[float]]) -> list[tuple[str, ...]]:
    """Every smallest group of axes whose rows depend on each other, smaller groups first."""
    found: list[tuple[str, ...]] = []
    for size in range(1, len(AXES) + 1):
        for axes in combinations(AXES, size):
            holds_smaller = any(set(smaller) <= set(axes) for smaller in found)
            if not holds_smaller and rank_of([rows[axis] for axis in axes]) < size:
                found.append(axes)
    return found


def _confusion(axes: tuple[str, ...]) -> str:
    *others, last = axes
    if not others:
        return f"no rotor is placed to command {last}"
    return f"{last} can't be told from {_listed(others)}"


def _coaxial_warnings(positions: Sequence[LayoutPosition]) -> list[str]:
    found = []
    for pair in _by_spot(positions).values():
        levels = {p.level: p for p in pair}
        if Level.SINGLE in levels:
            continue
        if len(pair) == 1:
            alone = pair[0]
            missing = "lower" if alone.level == Level.UPPER else "upper"
            found.append(f"position {alone.name} is {alone.level} but its arm has no {missing} rotor")
        elif levels[Level.UPPER].sense == levels[Level.LOWER].sense:
            upper, lower = levels[Level.UPPER], levels[Level.LOWER]
            found.append(f"co-rotating coaxial pair: {upper.name} and {lower.name} both turn {upper.sense}")
    return sorted(found)


def _by_spot(positions: Sequence[LayoutPosition]) -> dict[tuple[int, int], list[LayoutPosition]]:
    spots: dict[tuple[int, int], list[LayoutPosition]] = {}
    for position in positions:
        spots.setdefault(position.spot, []).append(position)
    return spots


def _refuse_nonsense(positions: Sequence[LayoutPosition]) -> None:
    if not positions:
        raise BadInput("The layout has no position: add one for each rotor of the airframe.")
    problems = [problem for p in positions for problem in _number_problems(p)]
    if not problems:
        problems = [*_name_problems(positions), *_place_problems(positions)]
    if problems:
        raise BadInput(problems)


def _number_problems(position: LayoutPosition) -> list[Problem]:
    found: list[Problem] = []
    far_mdeg = 10 * FULL_TURN_MDEG
    for value, name, low, high in (
        (position.angle_mdeg, "angle of position {} in mdeg", -far_mdeg, far_mdeg),
        (position.radius_um, "radius of position {} in um", 0, bounds.MOST_RADIUS_UM),
    ):
        try:
            bounds.whole(value, name=name.format(position.name), low=low, high=high)
        except BadInput as fault:
            found.extend(fault.problems)
    return found


def _name_problems(positions: Sequence[LayoutPosition]) -> list[Problem]:
    names = Counter(p.name for p in positions)
    blank = [Problem("A position has no name: name each one.") for name in names if not name.strip()]
    twice = [
        Problem(f"Position {name} stands {_number(times)} times in the layout: name each one once.")
        for name, times in names.items()
        if times > 1
    ]
    return blank + twice


def _place_problems(positions: Sequence[LayoutPosition]) -> list[Problem]:
    found: list[Problem] = []
    for group in _by_spot(positions).values():
        levels = [p.level for p in group]
        crowded = len(set(levels)) < len(levels) or (Level.SINGLE in levels and len(levels) > 1)
        if crowded:
            names = _listed([p.name for p in group])
            found.append(
                Problem(f"Positions {names} are in one place: give each its own, or one upper and one lower.")
            )
    return found


def _number(count: int) -> str:
    return WORDS[count] if count < len(WORDS) else str(count)


def _listed(names: Sequence[str]) -> str:
    *first, last = names
    return f"{', '.join(first)} and {last}" if first else last
