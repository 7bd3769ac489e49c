"""Rotor lives on airframes, tools that fall due."""

from datetime import date

from kittrack.queries.lives import UNKNOWN, RotorLife, rotor_lives
from kittrack.queries.tools_due import tools_due
from kittrack.store.database import Store
from kittrack.store.records import Part, RotorSet, Tool
from tests.aircraft_scene import Scene
from tests.factories import CW_BLADE, after

DAY = 24 * 60


def lives(store: Store, minute: int, **how: object) -> dict[str, RotorLife]:
    return {life.position: life for life in rotor_lives(store, at=after(minute), **how)}  # type: ignore[arg-type]


def fly_on(scene: Scene, days: int, *, minutes: int, flights: int) -> None:
    scene.minute = days * DAY
    scene.fly(minutes=minutes, flights=flights)


def test_an_empty_fleet_has_no_life_to_tell(store: Store) -> None:
    assert rotor_lives(store, at=after(1), everything=True) == ()


def test_a_life_of_300_hours_at_an_hour_a_day(store: Store) -> None:
    """Fitted on day 0 at 0:00, 100 h after 100 days: 200 h left, 200 days from that reading (by hand)."""
    scene = Scene(store)
    scene.all_four()
    fly_on(scene, 100, minutes=100 * 60, flights=100)
    found = lives(store, 101 * DAY, everything=True)
    assert set(found) == {"FL", "RR", "FR", "RL"}
    one = found["FL"]
    assert (one.used_minutes, one.left_minutes, one.clock, one.state) == (
        6000,
        12_000,
        "time in service",
        "limited",
    )
    assert one.runs_out_on == date(2026, 12, 27), "2026-06-10 and 200 days"
    assert "1.0 h and 1.0 flights a day over 100 days" in one.basis
    assert lives(store, 101 * DAY) == {}
    assert set(lives(store, 101 * DAY, within_days=199)) == set(found)


def test_an_unknown_service_comes_first_has_no_day_and_is_not_zero(store: Store) -> None:
    scene = Scene(store)
    scene.all_four()
    scene.change(RotorSet, {"code": scene.sets[2]}, used_minutes=None, history_known=0)
    fly_on(scene, 30, minutes=60, flights=6)
    first = rotor_lives(store, at=after(31 * DAY))[0]
    assert (first.rotor_set, first.state, first.used_minutes, first.runs_out_on) == (
        scene.sets[2],
        UNKNOWN,
        None,
        None,
    )
    assert "no life left until a record is found" in first.left
    assert "history is unknown" in first.basis


def test_a_calendar_life_counts_from_the_first_fit(store: Store) -> None:
    scene = Scene(store)
    scene.change(Part, {"number": CW_BLADE}, life_days=365)
    scene.fit("FL", scene.sets[0], "R")
    started = lives(store, DAY, everything=True)["FL"]
    assert (started.since_on, started.left_days) == (None, None), "it begins when the set is fastened"
    scene.fasten("FL")
    one = lives(store, DAY, everything=True)["FL"]
    assert (one.since_on, one.left_days) == (date(2026, 3, 2), 364)
    assert (one.runs_out_on, one.clock) == (date(2027, 3, 2), "calendar days")
    assert "calendar from the first fit on 2026-03-02" in one.basis
    assert "no pace for time in service" in one.basis


def test_a_life_that_is_over_is_told_so(store: Store) -> None:
    scene = Scene(store)
    scene.all_four()
    fly_on(scene, 10, minutes=301 * 60, flights=10)
    assert {one.state for one in rotor_lives(store, at=after(11 * DAY))} == {"OVER"}


def test_tools_fall_due_by_the_end_of_their_last_day(store: Store) -> None:
    assert tools_due(store, at=after(1)) == ()
    everything = tools_due(store, at=after(1), everything=True)
    assert {(t.name, t.days_left) for t in everything} == {("Torque driver 1", 335), ("Scale 1", 335)}
    assert {t.state for t in tools_due(store, at=after(335 * DAY))} == {"in date"}
    assert {t.state for t in tools_due(store, at=after(336 * DAY))} == {"OVER"}


def test_a_tool_without_calibration_comes_first_and_its_uses_count(store: Store) -> None:
    scene = Scene(store)
    scene.whole("FL", scene.sets[0], "R")
    scene.change(Tool, {"name": "Torque driver 1"}, calibrated_until_on=None)
    (first,) = tools_due(store, at=after(DAY))
    assert (first.state, first.days_left, first.used_since) == ("NO CALIBRATION on record", None, 1)
    scene.change(Tool, {"name": "Torque driver 1"}, calibrated_until_on="2026-03-01")
    assert tools_due(store, at=after(DAY))[0].used_since == 1
    scene.change(Tool, {"name": "Torque driver 1"}, calibrated_until_on="2026-03-02")
    assert tools_due(store, at=after(DAY))[0].used_since == 0
