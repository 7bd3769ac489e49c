"""What Counter and Aircraft ask at each scan takes a few statements, however many positions and lines there are.

Each statement is a way to a PostgreSQL server and back. Source: design N2.
"""

from collections.abc import Callable
from functools import partial
from typing import Any, Final
from unittest.mock import patch

import pytest

from kittrack.queries.aircraft import plan
from kittrack.queries.at_aircraft import aircraft_view
from kittrack.queries.kits import issue_view, job_view, kit_view
from kittrack.store.act import Act
from kittrack.store.database import Store
from kittrack.store.records import AirframeType, ApprovedPart, HubFixing, Part, TypePosition, TypeRevision
from tests import factories
from tests.aircraft_scene import Scene
from tests.factories import CCW_BLADE, CLERK, CW_BLADE, TAIL, TECHNICIAN

OCTO = "QB-01"

MOST: Final = {
    "Counter: a job": 13,
    "Counter: a kit": 16,
    "Counter: a kit to a job": 21,
    "Aircraft: a job": 26,
    "Aircraft: an airframe": 26,
    "the plan of an airframe": 17,
}
"""How many statements a question takes at the most, on either engine."""


def _eight_positions(act: Act) -> None:
    """A type like the four-arm one with a second rotor below each, and an airframe of it."""
    like = act.find(HubFixing, name="hub")
    assert like is not None
    kind = act.insert(AirframeType(name="QB"))
    revision = act.insert(
        TypeRevision(airframe_type_id=kind.id, name="A", retorque_minutes=600, source="invented")
    )
    fixing = act.insert(
        HubFixing(
            type_revision_id=revision.id, name="hub", screw_part_id=like.screw_part_id, screws_per_hub=4,
            washer_part_id=like.washer_part_id, washers_per_hub=4, locker_part_id=like.locker_part_id,
            locker_ul_per_screw=50, torque_mnm=800, torque_condition="threadlocker", torque_source="invented",
        )
    )  # fmt: skip
    parts = {p.number: p.id for p in act.select(Part)}
    arms = [(level, arm) for level in ("upper", "lower") for arm in factories.QUAD]
    for rank, (level, (name, angle, sense)) in enumerate(arms, start=1):
        position = act.insert(
            TypePosition(
                type_revision_id=revision.id, rank=rank, name=name if level == "upper" else f"{name} low", alias=str(rank),
                arm=name, level=level, sense=sense, angle_mdeg=angle * 1000, radius_um=300_000, hub_fixing_id=fixing.id,
            )
        )  # fmt: skip
        number = CW_BLADE if sense == "CW" else CCW_BLADE
        act.insert(ApprovedPart(type_position_id=position.id, part_id=parts[number]))
    factories._airframe(act, OCTO, revision)


class Day:
    """A job with rotors fastened, one begun and others left, and a sealed kit for its airframe."""

    def __init__(self, store: Store, tail: str, *, rotors: int, begin: int) -> None:
        lows = ("", " low")[: rotors // 4]
        spots = [
            (f"{arm}{low}", mark)
            for low in lows
            for arm, mark in zip(("FL", "RR", "FR", "RL"), "RRLL", strict=True)
        ]
        self.scene = Scene(
            store, tail=tail, begin=begin, sets=[CW_BLADE if mark == "R" else CCW_BLADE for _, mark in spots]
        )  # fmt: skip
        done = rotors // 2
        for number, ((name, mark), one) in enumerate(zip(spots, self.scene.sets, strict=True)):
            if number <= done:
                self.scene.fit(name, one, mark)
            if number < done:
                self.scene.fasten(name)
        for _ in range(2):
            factories.stock_up(store, at=self.scene.now, sets=2)
        self.kit = factories.sealed_kit(store, at=self.scene.now, airframe=tail, seal=tail)


QUESTIONS: Final[dict[str, Callable[[Day], object]]] = {
    "Counter: a job": lambda day: job_view(day.scene.store, job=day.scene.job),
    "Counter: a kit": lambda day: kit_view(day.scene.store, kit=day.kit, at=day.scene.now),
    "Counter: a kit to a job": lambda day: issue_view(
        day.scene.store, kit=day.kit, job=day.scene.job, seal=day.scene.tail, at=day.scene.now, giver=CLERK, receiver=TECHNICIAN
    ),
    "Aircraft: a job": lambda day: aircraft_view(day.scene.store, code=day.scene.job),
    "Aircraft: an airframe": lambda day: aircraft_view(day.scene.store, code=day.scene.tail),
    "the plan of an airframe": lambda day: plan(day.scene.store, day.scene.tail),
}  # fmt: skip


@pytest.fixture
def days(store: Store) -> tuple[Day, Day]:
    """A day on an airframe with four positions, and one on an airframe with eight."""
    with store.act("a type of eight", by=factories.MANAGER, at=factories.after(5)) as act:
        _eight_positions(act)
    return Day(store, TAIL, rotors=4, begin=10), Day(store, OCTO, rotors=8, begin=300)


def _counted(store: Store, ask: Callable[[], object]) -> int:
    """How many statements a question puts to the database."""
    database: Any = store._database
    with patch.object(database, "execute_sql", wraps=database.execute_sql) as statements:
        ask()
    return statements.call_count


def test_every_question_takes_a_few_statements_whatever_the_size(store: Store, days: tuple[Day, Day]) -> None:
    quad, octo = days
    assert len(aircraft_view(store, code=OCTO).positions) == 2 * len(
        aircraft_view(store, code=TAIL).positions
    )
    counts = {
        name: tuple(_counted(store, partial(ask, day)) for day in (quad, octo))
        for name, ask in QUESTIONS.items()
    }
    assert {name: four for name, (four, _) in counts.items()} == {
        name: eight for name, (_, eight) in counts.items()
    }
    assert {name: n for name, (n, _) in counts.items() if n > MOST[name]} == {}
