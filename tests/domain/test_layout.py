"""The layout check against published mixer tables, numpy as oracle, and layouts that look right but are not.

Tables: ArduPilot libraries/AP_Motors/AP_MotorsMatrix.cpp (facts only); angle clockwise from the nose and
sense, both seen from above. Yaw arm 0.05: PX4 control allocation, CA_ROTORn_KM.
"""

from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import linprog

from kittrack.domain.layout import LayoutPosition, LayoutReport, check_layout, rank_of
from kittrack.domain.spin import Drive, Level, Sense
from kittrack.errors import BadInput

RADIUS_UM = 300_000
FLAT = {
    "quad X": "45 CCW, -135 CCW, -45 CW, 135 CW",
    "quad +": "90 CCW, -90 CCW, 0 CW, 180 CW",
    "quad H": "45 CW, -135 CW, -45 CCW, 135 CCW",
    "hexa X": "90 CW, -90 CCW, -30 CW, 150 CCW, 30 CCW, -150 CW",
    "hexa +": "0 CW, 180 CCW, -120 CW, 60 CCW, -60 CCW, 120 CW",
    "octa X": "22.5 CW, -157.5 CW, 67.5 CCW, 157.5 CCW, -22.5 CCW, -112.5 CCW, -67.5 CW, 112.5 CW",
    "octa +": "0 CW, 180 CW, 45 CCW, 135 CCW, -45 CCW, -135 CCW, -90 CW, 90 CW",
}
COAXIAL = {  # angle, upper sense, lower sense
    "X8": "45 CCW CW, -45 CW CCW, -135 CCW CW, 135 CW CCW",
    "X8 H": "45 CW CCW, -45 CCW CW, -135 CW CCW, 135 CCW CW",
    "octa-quad +": "0 CCW CW, -90 CW CCW, 180 CCW CW, 90 CW CCW",
    "dodeca-hexa X": "30 CCW CW, 90 CW CCW, 150 CCW CW, -150 CW CCW, -90 CCW CW, -30 CW CCW",
    "PX4 hexa coaxial": "60 CW CCW, 180 CW CCW, -60 CW CCW",
}
CO_ROTATING = "45 CCW CCW, -45 CW CW, -135 CCW CCW, 135 CW CW"
# (forward, right) in the table's own factors; the roll factor there is positive to the left.
Y6B = [((0.5, 1), "CW", "CCW"), ((-1, 0), "CW", "CCW"), ((0.5, -1), "CW", "CCW")]
Y6 = [((0.666, 1), "CCW", "CW"), ((0.666, -1), "CW", "CCW"), ((-1.333, 0), "CW", "CCW")]


def flat(table: str, *, radius_um: int = RADIUS_UM) -> list[LayoutPosition]:
    rows = [row.split() for row in table.split(", ")]
    return [
        LayoutPosition(
            str(i + 1), round(float(angle) * 1000), radius_um, Level.SINGLE, Drive.TRACTOR, Sense(sense)
        )
        for i, (angle, sense) in enumerate(rows)
    ]


def coaxial(table: str) -> list[LayoutPosition]:
    found = []
    for i, row in enumerate(table.split(", ")):
        angle, upper, lower = row.split()
        for mark, level, sense in (("U", Level.UPPER, upper), ("L", Level.LOWER, lower)):
            angle_mdeg = round(float(angle) * 1000)
            found.append(
                LayoutPosition(f"{i + 1}{mark}", angle_mdeg, RADIUS_UM, level, Drive.TRACTOR, Sense(sense))
            )
    return found


def by_factors(table: Sequence[tuple[tuple[float, float], str, str]]) -> list[LayoutPosition]:
    return [
        LayoutPosition.from_xy(
            f"{i}{level}",
            forward_um=round(forward * RADIUS_UM),
            right_um=round(right * RADIUS_UM),
            level=level,
            drive=Drive.TRACTOR,
            sense=Sense(sense),
        )
        for i, ((forward, right), *pair) in enumerate(table)
        for level, sense in zip((Level.UPPER, Level.LOWER), pair, strict=True)
    ]


Y6F = [(spot, "CCW", "CW") for spot, *_ in Y6B]

PUBLISHED = (
    {name: flat(table) for name, table in FLAT.items()}
    | {name: coaxial(table) for name, table in COAXIAL.items()}
    | {"Y6B": by_factors(Y6B), "Y6F": by_factors(Y6F), "Y6": by_factors(Y6)}
)


@pytest.mark.parametrize("name", PUBLISHED)
def test_a_published_layout_hovers_and_commands_all_four_axes(name: str) -> None:
    positions = PUBLISHED[name]
    report = check_layout(positions)
    assert report.rank == 4
    assert report.cw == report.ccw == len(positions) // 2
    assert report.hover.thrust == len(positions)
    assert report.hover.yaw_um == 0
    assert abs(report.hover.roll_um) < 20  # angles to the millidegree
    assert report.warnings == ()


def test_the_y6_table_keeps_its_own_rounding_as_a_pitch_residual() -> None:
    # .666 x 4 - 1.333 x 2 = -0.002 of the factor unit, here 300 mm; within 30 um for whole micrometres.
    assert check_layout(PUBLISHED["Y6"]).hover.pitch_um == pytest.approx(-0.002 * RADIUS_UM, abs=30)


@pytest.mark.parametrize(
    ("table", "yaw_um", "rank", "warnings"),
    [
        (
            "45 CCW, -135 CCW, -45 CCW, 135 CCW",
            200_000,  # numpy: hover yaw 0.2 with k = 0.05
            3,
            (
                "equal thrust would yaw it: four CCW, no CW",
                "rank 3: yaw can't be told from thrust",
            ),
        ),
        (
            "45 CCW, 135 CCW, -45 CW, -135 CW",
            0,
            3,
            ("senses balance but rank 3: yaw can't be told from roll",),
        ),
        (
            "45 CCW, -45 CCW, 135 CW, -135 CW",
            0,
            3,
            ("senses balance but rank 3: yaw can't be told from pitch",),
        ),
        (
            "45 CCW, -135 CCW, -45 CCW, 135 CW",
            100_000,  # numpy: hover yaw 0.1
            4,
            ("equal thrust would yaw it: three CCW, one CW",),
        ),
    ],
)
def test_a_quad_that_looks_right_is_told_apart(
    table: str, yaw_um: float, rank: int, warnings: tuple[str, ...]
) -> None:
    # Cases and ranks computed with numpy.linalg.matrix_rank from the row matrix [1; -sin; cos; k s].
    report = check_layout(flat(table))
    assert (report.hover.yaw_um, report.rank, report.warnings) == (yaw_um, rank, warnings)


@pytest.mark.parametrize("lost", range(4))
def test_a_quad_that_lost_a_motor_has_rank_three(lost: int) -> None:
    positions = flat(FLAT["quad X"])
    del positions[lost]
    report = check_layout(positions)
    assert report.rank == 3
    assert "three rotors can't command thrust, roll, pitch and yaw one by one" in report.warnings


@pytest.mark.parametrize("senses", ["CW CCW CW CCW CW CCW", "CCW CCW CW CW CCW CW"])
@pytest.mark.parametrize("lost", range(6))
def test_rank_stays_four_after_a_loss_that_control_does_not_survive(senses: str, lost: int) -> None:
    # arXiv:1307.0276: the hexa that lost a rotor is uncontrollable although its matrix has full row rank.
    angles = (0, 60, 120, 180, -120, -60)
    rows = [f"{a} {s}" for a, s in zip(angles, senses.split(), strict=True)]
    del rows[lost]
    assert check_layout(flat(", ".join(rows))).rank == 4


def holds_all_axes(matrix: "np.ndarray[tuple[int, int], np.dtype[np.float64]]", *, most: float) -> bool:
    """Whether rotors of thrust 0 to `most` can hover and still push every axis either way."""
    for axis in (1, 2, 3):
        for sign in (1, -1):
            # hover with nothing on the other axes, and as much as there is on this one
            held = [row for row in range(4) if row != axis]
            wanted = [1.0 if row == 0 else 0.0 for row in held]
            found = linprog(
                -sign * matrix[axis], A_eq=matrix[held], b_eq=wanted, bounds=(0, most), method="highs"
            )
            if found.status != 0 or -found.fun < 1e-6:
                return False
    return True


@pytest.mark.parametrize(("senses", "survives"), [("PNPNPN", 0), ("PPNNPN", 4)])
def test_a_published_loss_of_control_shows_that_rank_is_no_promise(senses: str, survives: int) -> None:
    # ArduPilot issue #7524: alternating senses lose control with any single rotor, PPNNPN keeps it in four of
    # six. scipy.optimize.linprog, hover thrust 1, at most 1/3 for each rotor; the rank is 4 each time.
    angles = (0, 60, 120, 180, -120, -60)
    rows = [f"{a} {'CCW' if s == 'P' else 'CW'}" for a, s in zip(angles, senses, strict=True)]
    kept = 0
    for lost in range(6):
        left = flat(", ".join(row for i, row in enumerate(rows) if i != lost))
        assert check_layout(left).rank == 4
        matrix = control_matrix(left)
        matrix[3] *= 0.05  # PX4 control allocation, CA_ROTORn_KM
        kept += holds_all_axes(matrix, most=1 / 3)
    assert kept == survives


def test_a_co_rotating_coaxial_arm_is_named_and_not_refused() -> None:
    # ArduPilot, X8-corotating.lua: both rotors of each arm turn alike, and it flies.
    report = check_layout(coaxial(CO_ROTATING))
    assert report.rank == 4
    assert report.hover.yaw_um == 0
    assert report.warnings[0] == "co-rotating coaxial pair: 1U and 1L both turn CCW"
    assert len(report.warnings) == 4


def test_an_upper_rotor_alone_on_its_arm_is_named() -> None:
    positions = [p for p in coaxial(COAXIAL["X8"]) if p.name != "3L"]
    assert "position 3U is upper but its arm has no lower rotor" in check_layout(positions).warnings


def test_rotors_that_sit_too_far_forward_would_pitch_the_airframe() -> None:
    moved = [
        LayoutPosition.from_xy(
            p.name,
            forward_um=round(p.forward_um) + 20_000,
            right_um=round(p.right_um) - 10_000,
            level=p.level,
            drive=p.drive,
            sense=p.sense,
        )
        for p in flat(FLAT["quad X"])
    ]
    assert check_layout(moved).warnings == (
        "equal thrust would roll it: the middle of all rotors lies 10.0 mm to the left of the centre of gravity",
        "equal thrust would pitch it: the middle of all rotors lies 20.0 mm ahead of the centre of gravity",
    )


def test_rotors_on_one_line_leave_an_axis_without_command() -> None:
    report = check_layout(flat("90 CW, -90 CCW") + flat_row("30000 CCW, -30000 CW"))
    assert report.rank == 3
    assert report.warnings == ("senses balance but rank 3: no rotor is placed to command pitch",)


def flat_row(table: str) -> list[LayoutPosition]:
    return [
        LayoutPosition.from_xy(
            f"r{right}",
            forward_um=0,
            right_um=int(right),
            level=Level.SINGLE,
            drive=Drive.PUSHER,
            sense=Sense(sense),
        )
        for right, sense in (row.split() for row in table.split(", "))
    ]


layouts = st.lists(
    st.tuples(st.integers(0, 23), st.sampled_from([100, 200, 300]), st.sampled_from(list(Sense))),
    min_size=1,
    max_size=9,
    unique_by=lambda row: row[:2],
).map(
    lambda rows: [
        LayoutPosition(f"p{i}", step * 15_000, mm * 1000, Level.SINGLE, Drive.TRACTOR, sense)
        for i, (step, mm, sense) in enumerate(rows)
    ]
)


def control_matrix(positions: list[LayoutPosition]) -> "np.ndarray[tuple[int, int], np.dtype[np.float64]]":
    reach = max(p.radius_um for p in positions)
    angle = np.deg2rad([p.angle_mdeg / 1000 for p in positions])
    arm = np.array([p.radius_um for p in positions]) / reach
    turn = np.array([1.0 if p.sense is Sense.CCW else -1.0 for p in positions])
    return np.array([np.ones(len(positions)), -np.sin(angle) * arm, np.cos(angle) * arm, turn])


@given(layouts)
def test_the_rank_is_that_of_numpy(positions: list[LayoutPosition]) -> None:
    matrix = control_matrix(positions)
    # On this grid of angles and arms the least pivot above rounding is far above one millionth.
    assert rank_of(matrix.tolist(), negligible=1e-6) == np.linalg.matrix_rank(matrix, tol=1e-6)


@given(layouts, st.randoms(use_true_random=False))
def test_the_order_of_the_positions_changes_nothing(positions: list[LayoutPosition], chance: object) -> None:
    mixed = list(positions)
    chance.shuffle(mixed)  # type: ignore[attr-defined]  # a random.Random, which Hypothesis hands out
    assert check_layout(mixed) == check_layout(positions)


def swapped(positions: list[LayoutPosition]) -> list[LayoutPosition]:
    return [
        LayoutPosition(p.name, p.angle_mdeg, p.radius_um, p.level, p.drive, p.sense.other) for p in positions
    ]


@given(layouts)
def test_swapping_every_sense_turns_only_the_sign_of_yaw(positions: list[LayoutPosition]) -> None:
    here, there = check_layout(positions), check_layout(swapped(positions))
    assert there.hover.yaw_um == -here.hover.yaw_um
    assert (there.rank, there.cw, there.ccw) == (here.rank, here.ccw, here.cw)


@given(st.sampled_from(sorted(PUBLISHED)), st.integers(-720_000, 720_000))
def test_turning_a_published_layout_keeps_it_sound(name: str, turn_mdeg: int) -> None:
    turned = [
        LayoutPosition(p.name, p.angle_mdeg + turn_mdeg, p.radius_um, p.level, p.drive, p.sense)
        for p in PUBLISHED[name]
    ]
    report: LayoutReport = check_layout(turned)
    assert report.rank == 4
    assert report.warnings == ()


def one(**changes: object) -> LayoutPosition:
    fields: dict[str, object] = {
        "name": "1",
        "angle_mdeg": 0,
        "radius_um": RADIUS_UM,
        "level": Level.SINGLE,
        "drive": Drive.TRACTOR,
        "sense": Sense.CW,
    }
    return LayoutPosition(**{**fields, **changes})  # type: ignore[arg-type]  # hostile on purpose


@pytest.mark.parametrize(
    ("positions", "words"),
    [
        ([], "no position"),
        ([one(), one(angle_mdeg=90_000)], "Position 1 stands two times"),
        ([one(), one(name="2", angle_mdeg=360_000)], "Positions 1 and 2 are in one place"),
        ([one(level=Level.UPPER), one(name="2", level=Level.UPPER)], "one place"),
        ([one(level=Level.UPPER), one(name="2")], "one place"),
        ([one(radius_um=0), one(name="2", radius_um=0, angle_mdeg=5)], "one place"),
        ([one(name=" ")], "has no name"),
        ([one(radius_um=-1)], "radius of position 1 in um is -1"),
        ([one(radius_um=float("nan"))], "is nan"),
        ([one(radius_um=1e300)], r"is 1e\+300"),
        ([one(radius_um=10**400)], "beyond 1e40"),
        ([one(angle_mdeg=float("inf"))], "angle of position 1 in mdeg is inf"),
        ([one(angle_mdeg=True)], "is True"),
    ],
)
def test_what_can_not_be_a_layout_is_refused_in_words(positions: list[LayoutPosition], words: str) -> None:
    with pytest.raises(BadInput, match=words):
        check_layout(positions)


def test_every_bad_number_of_a_layout_is_told_at_once() -> None:
    with pytest.raises(BadInput) as caught:
        check_layout([one(radius_um=-1), one(name="2", angle_mdeg=0.5, radius_um=-2)])
    assert len(caught.value.problems) == 3


def test_a_single_rotor_on_the_axis_commands_nothing_but_thrust() -> None:
    report = check_layout([one(radius_um=0)])
    assert report.rank == 1
    assert report.warnings[0] == "equal thrust would yaw it: no CCW, one CW"


def ring(count: int) -> list[LayoutPosition]:
    return flat(", ".join(f"{360 * i / count} CW" for i in range(count)))


@pytest.mark.parametrize(
    ("count", "word"),
    [(5, "five"), (6, "six"), (7, "seven"), (8, "eight"), (9, "nine"), (10, "ten"), (11, "eleven"), (12, "twelve"), (13, "13")],
)  # fmt: skip
def test_rotors_are_counted_in_words_up_to_twelve(count: int, word: str) -> None:
    assert check_layout(ring(count)).warnings[0] == f"equal thrust would yaw it: no CCW, {word} CW"


def test_neighbours_of_one_sense_confuse_three_axes_though_the_senses_balance() -> None:
    # By hand: on a plus the yaw row is the sum of the roll row and the pitch row; no two of them depend.
    report = check_layout(flat("0 CCW, 90 CW, 180 CW, -90 CCW"))
    assert report.rank == 3
    assert report.warnings == ("senses balance but rank 3: yaw can't be told from roll and pitch",)


def test_all_four_axes_may_be_confused_at_once() -> None:
    # By hand: one rotor three lengths ahead, three in a row one length behind, the whole turned by 45 degrees;
    # yaw = half of the pitch along that line less half of the thrust, and that pitch is roll and pitch together.
    half = 212_132  # 300 mm by sin 45 degrees
    spots = [(3 * half, 3 * half, "CCW"), (0, -2 * half, "CW"), (-half, -half, "CW"), (-2 * half, 0, "CW")]
    positions = [
        LayoutPosition.from_xy(str(i), forward_um=f, right_um=r, level=Level.SINGLE, drive=Drive.TRACTOR, sense=Sense(s))
        for i, (f, r, s) in enumerate(spots)
    ]  # fmt: skip
    report = check_layout(positions)
    assert report.rank == 3
    assert "rank 3: yaw can't be told from thrust, roll and pitch" in report.warnings


@pytest.mark.parametrize(("off_um", "warned"), [(2_500, False), (20_000, True)])
def test_a_middle_off_the_centre_is_told_beyond_a_hundredth_of_the_longest_arm(
    off_um: int, warned: bool
) -> None:
    # By hand: six rotors of which two sit close in, 60 mm; a hundredth of the longest arm is 3 mm, of the shortest 0.6.
    spots = [(300_000, "CW"), (300_000, "CCW"), (60_000, "CW"), (60_000, "CCW")]
    positions = [
        LayoutPosition.from_xy(
            f"{forward}{sense}{side}", forward_um=side * forward + off_um, right_um=right, level=Level.SINGLE,
            drive=Drive.TRACTOR, sense=Sense(sense),
        )
        for (forward, sense), right in zip(spots, (-50_000, 50_000, -50_000, 50_000), strict=True)
        for side in (1, -1)
    ]  # fmt: skip
    told = [w for w in check_layout(positions).warnings if "pitch it" in w]
    shown = f"{off_um / 1000:.1f} mm ahead of the centre of gravity"
    assert told == ([f"equal thrust would pitch it: the middle of all rotors lies {shown}"] if warned else [])


@pytest.mark.parametrize(("pivot", "rank"), [(0.01, 0), (0.0101, 1)])
def test_a_pivot_of_a_hundredth_counts_as_nothing(pivot: float, rank: int) -> None:
    assert rank_of([[pivot]]) == rank


@pytest.mark.parametrize(("angle_mdeg", "good"), [(3_600_000, True), (-3_600_000, True), (3_600_001, False)])
def test_an_angle_is_of_ten_turns_at_most(angle_mdeg: int, good: bool) -> None:
    position = LayoutPosition("A", angle_mdeg, RADIUS_UM, Level.SINGLE, Drive.TRACTOR, Sense.CW)
    if good:
        assert check_layout([position]).cw == 1
        return
    with pytest.raises(BadInput, match="angle of position A in mdeg"):
        check_layout([position])
