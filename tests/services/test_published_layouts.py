"""Published multirotor layouts as type revisions: each is accepted without a warning, and traps are warned of.

Tables: ArduPilot libraries/AP_Motors/AP_MotorsMatrix.cpp (facts only): angle clockwise from the nose and sense,
both seen from above; for Y6B the factors of its table. "Hexa coaxial": PX4 airframe 11001_hexa_cox.
"""

from collections.abc import Sequence

import pytest

from kittrack.domain.layout import LayoutPosition
from kittrack.domain.spin import Drive, Level, Sense
from kittrack.services import catalogue
from kittrack.services.catalogue_specs import FixingSpec, PositionSpec, TypeRevisionSpec
from kittrack.services.desk import Done
from kittrack.store.database import Store
from kittrack.store.records import TypePosition, TypeRevision
from tests.factories import CCW_BLADE, CW_BLADE, MANAGER, SCREW, after

FLAT = {
    "quad X": "45 CCW, -135 CCW, -45 CW, 135 CW",
    "quad +": "90 CCW, -90 CCW, 0 CW, 180 CW",
    "quad H": "45 CW, -135 CW, -45 CCW, 135 CCW",
    "hexa X": "90 CW, -90 CCW, -30 CW, 150 CCW, 30 CCW, -150 CW",
    "hexa +": "0 CW, 180 CCW, -120 CW, 60 CCW, -60 CCW, 120 CW",
    "octo X": "22.5 CW, -157.5 CW, 67.5 CCW, 157.5 CCW, -22.5 CCW, -112.5 CCW, -67.5 CW, 112.5 CW",
    "octo +": "0 CW, 180 CW, 45 CCW, 135 CCW, -45 CCW, -135 CCW, -90 CW, 90 CW",
}
COAXIAL = {  # angle, upper sense, lower sense
    "X8": "45 CCW CW, -45 CW CCW, -135 CCW CW, 135 CW CCW",
    "octo-quad +": "0 CCW CW, -90 CW CCW, 180 CCW CW, 90 CW CCW",
    "dodeca-hexa X": "30 CCW CW, 90 CW CCW, 150 CCW CW, -150 CW CCW, -90 CCW CW, -30 CW CCW",
    "hexa coaxial": "60 CW CCW, 180 CW CCW, -60 CW CCW",
}
Y6B = "1 0.5, -1 0.5, 0 -1"
"""To the right and ahead, in the table's own factors; every upper rotor CW, every lower one CCW."""


def position(
    name: str, angle_mdeg: int, sense: str, *, level: str = "single", radius_um: int = 300_000
) -> PositionSpec:
    return PositionSpec(
        name=name, arm=name.rstrip("UL"), sense=sense, angle_mdeg=angle_mdeg, radius_um=radius_um, fixing="hub",
        approved=(CW_BLADE if sense == "CW" else CCW_BLADE,), level=level,
        drive="pusher" if level == "lower" else "tractor",
    )  # fmt: skip


def flat(table: str) -> list[PositionSpec]:
    rows = [row.split() for row in table.split(", ")]
    return [
        position(str(i), round(float(angle) * 1000), sense) for i, (angle, sense) in enumerate(rows, start=1)
    ]


def coaxial(table: str) -> list[PositionSpec]:
    rows = [row.split() for row in table.split(", ")]
    return [
        position(f"{i}{level[0].upper()}", round(float(angle) * 1000), sense, level=level)
        for i, (angle, *pair) in enumerate(rows, start=1)
        for level, sense in zip(("upper", "lower"), pair, strict=True)
    ]


def y6b() -> list[PositionSpec]:
    made = []
    for i, row in enumerate(Y6B.split(", "), start=1):
        right, ahead = (round(float(factor) * 400_000) for factor in row.split())
        spot = LayoutPosition.from_xy(
            "", forward_um=ahead, right_um=right, level=Level.UPPER, drive=Drive.TRACTOR, sense=Sense.CW
        )
        for level, sense in (("upper", "CW"), ("lower", "CCW")):
            name = f"{i}{level[0].upper()}"
            made.append(position(name, spot.angle_mdeg, sense, level=level, radius_um=spot.radius_um))
    return made


PUBLISHED = (
    {n: flat(t) for n, t in FLAT.items()} | {n: coaxial(t) for n, t in COAXIAL.items()} | {"Y6B": y6b()}
)

FIXING = FixingSpec(
    name="hub",
    screw=SCREW,
    screws_per_hub=4,
    torque_mnm=800,
    torque_condition="dry",
    torque_source="invented manual",
)


def add(store: Store, name: str, positions: Sequence[PositionSpec]) -> Done:
    catalogue.add_airframe_type(store, name=name, by=MANAGER, at=after(1))
    spec = TypeRevisionSpec(
        airframe_type=name, name="A", source="published table", fixings=(FIXING,), positions=tuple(positions)
    )  # fmt: skip
    return catalogue.add_type_revision(store, spec=spec, by=MANAGER, at=after(2))


@pytest.mark.parametrize("name", PUBLISHED)
def test_a_published_layout_is_accepted_without_a_warning(store: Store, name: str) -> None:
    done = add(store, name, PUBLISHED[name])
    assert done.said == (f"{name} revision A added with {len(PUBLISHED[name])} positions.",)
    with store.reading() as read:
        revision = read.select(TypeRevision, order="id DESC", limit=1)[0]
        kept = read.select(TypePosition, "type_revision_id = ?", revision.id, order="rank")
    assert [(p.name, p.sense, p.level, p.angle_mdeg) for p in kept] == [
        (p.name, p.sense, p.level, p.angle_mdeg) for p in PUBLISHED[name]
    ]
    # Each of the published tables turns half of its rotors each way.
    assert sum(p.sense == "CW" for p in kept) * 2 == len(kept)


@pytest.mark.parametrize(
    ("positions", "warning"),
    [
        # Hover yaw and ranks computed with numpy.linalg.matrix_rank from [1; -sin; cos; k s].
        pytest.param(flat("45 CCW, -135 CCW, -45 CCW, 135 CCW"), "equal thrust would yaw it: four CCW, no CW", id="all one way"),
        pytest.param(flat("45 CCW, -135 CCW, -45 CCW, 135 CW"), "equal thrust would yaw it: three CCW, one CW", id="one slip"),
        pytest.param(flat("45 CCW, 135 CCW, -45 CW, -135 CW"), "rank 3: yaw can't be told from roll", id="two and two, by sides"),
        pytest.param(flat("45 CCW, -45 CCW, 135 CW, -135 CW"), "rank 3: yaw can't be told from pitch", id="two and two, by ends"),
        # X8-corotating.lua of the same project: it flies, so it is warned of and not refused.
        pytest.param(
            coaxial("45 CCW CCW, -45 CW CW, -135 CCW CCW, 135 CW CW"), "co-rotating coaxial pair: 1U and 1L both turn CCW", id="co-rotating"
        ),
        pytest.param(
            [p for p in PUBLISHED["X8"] if p.name != "3L"], "position 3U is upper but its arm has no lower rotor", id="half an arm"
        ),
        pytest.param(PUBLISHED["quad X"][:3], "three rotors can't command thrust, roll, pitch and yaw", id="one lost"),
    ],
)  # fmt: skip
def test_a_trap_is_warned_of_and_kept_since_the_map_decides(
    store: Store, positions: list[PositionSpec], warning: str
) -> None:
    done = add(store, "trap", positions)
    assert any(warning in said for said in done.said[1:])
    with store.reading() as read:
        revision = read.select(TypeRevision, order="id DESC", limit=1)[0]
        assert read.value(
            "SELECT count(*) FROM type_position WHERE type_revision_id = ?", revision.id
        ) == len(positions)
