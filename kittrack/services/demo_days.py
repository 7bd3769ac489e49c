"""Ordinary days at the aircraft, one paragraph each: rotor changes, hours, re-torques, motor tests.

Every phrase is played as the single acts that it stands for. The paragraph's person does the work, others are
named in its details, and the acts lie a few minutes apart. Where one of them is refused as the paragraph says,
those before it stand. Source: design A6.
"""

from collections.abc import Callable, Iterator, Mapping
from datetime import datetime

from kittrack.services import (
    airframes,
    demo_values,
    fitting,
    issuing,
    jobs,
    sense_maps,
    torquing,
    walking,
)
from kittrack.services import position_desk as spots
from kittrack.services.demo_aircraft import Fitter, give_back, marks_on
from kittrack.services.demo_reader import Entry
from kittrack.services.demo_scene import Scene, minutes_from
from kittrack.services.demo_store_days import STORE_DAYS
from kittrack.store.aircraft_facts import find_airframe
from kittrack.store.job_facts import senses_of
from kittrack.store.records import Position


def start_change(scene: Scene, entry: Entry, times: Iterator[datetime] | None = None) -> None:
    """Open a job, have its kit issued and open it at the aircraft."""
    times = times or minutes_from(entry.at)
    if entry.get("job"):
        job = scene.code(entry.get("job"))
    else:
        opened = jobs.open_job(
            scene.store,
            airframe=entry.get("airframe"),
            purpose=entry.get("purpose"),
            positions=demo_values.coverage(entry.get("positions", "all")),
            by=entry.by,
            at=next(times),
        )
        job = opened.codes[0]
        scene.name(entry.names[0], job, opened.event)
    kit = scene.code(entry.get("kit"))
    given = issuing.issue_kit(
        scene.store,
        kit=kit,
        job=job,
        seal=entry.get("seal"),
        receiver=entry.by,
        by=entry.get("giver"),
        at=next(times),
    )
    scene.name(f"voucher of {entry.get('kit')}", given.codes[0], given.event)
    issuing.open_at_aircraft(scene.store, kit=kit, seal=entry.get("seal"), by=entry.by, at=next(times))


def fit_positions(scene: Scene, entry: Entry, times: Iterator[datetime] | None = None) -> None:
    """Position by position: the old set off, the next one of the right sense on, fastened, inspected."""
    fitter = _fitter(scene, entry, times)
    for name in _positions(scene, entry):
        fitter.change(f"{entry.get('airframe')} {name}")


def fasten_and_inspect(scene: Scene, entry: Entry) -> None:
    """Fasten a set that was put on a position with what its job holds, and have it inspected."""
    _fitter(scene, entry, None).fasten(entry.get("position"))


def _fitter(scene: Scene, entry: Entry, times: Iterator[datetime] | None) -> Fitter:
    return Fitter(
        scene,
        job=scene.code(entry.get("job", next(iter(entry.names), ""))),
        by=entry.by,
        inspector=entry.get("inspector"),
        tool=entry.get("tool"),
        reason=entry.get("reason", "rotor change"),
        times=times or minutes_from(entry.at, step=4),
    )


def finish_job(scene: Scene, entry: Entry, times: Iterator[datetime] | None = None) -> None:
    """Bring back what is left over, walk around once more, close the job."""
    times = times or minutes_from(entry.at)
    job = scene.code(entry.get("job", next(iter(entry.names), "")))
    give_back(scene, job=job, clerk=entry.get("giver"), to_bin=entry.get("leftovers to", "A-06"), times=times)
    with scene.store.reading() as read:
        seen = [walking.Seen(code, mark) for code, mark in marks_on(read, entry.get("airframe"))]
    fitting.walk_positions(scene.store, job=job, seen=seen, by=entry.get("inspector"), at=next(times))
    jobs.close_job(scene.store, job=job, by=entry.get("inspector"), at=next(times))


def change_rotors(scene: Scene, entry: Entry) -> None:
    """A whole rotor change: the job opened, its kit issued, every position changed, the job closed."""
    times = minutes_from(entry.at, step=4)
    start_change(scene, entry, times)
    fit_positions(scene, entry, times)
    finish_job(scene, entry, times)


def enter_hours(scene: Scene, entry: Entry) -> None:
    """The hours and flights of airframes by their logbooks: `TAIL: HOURS, FLIGHTS`."""
    times = minutes_from(entry.at, step=1)
    for tail, value in entry.details:
        hours, flights = demo_values.listed(value)
        airframes.enter_usage(
            scene.store,
            airframe=tail,
            minutes=demo_values.hours(hours),
            flights=int(flights),
            source=f"logbook {tail}",
            by=entry.by,
            at=next(times),
        )


def torque_all(scene: Scene, entry: Entry) -> None:
    """Torque every position again that carries a rotor, on each airframe named."""
    times = minutes_from(entry.at, step=2)
    for tail in entry.all("airframe"):
        with scene.store.reading() as read:
            found = [spots.find_spot(read, code) for code, _ in marks_on(read, tail)]
        for spot in found:
            torquing.record_retorque(
                scene.store,
                position=spot.position.code,
                torque_mnm=spot.fixing.torque_mnm,
                tool=entry.get("tool"),
                by=entry.by,
                at=next(times),
            )


def test_motors(scene: Scene, entry: Entry) -> None:
    """A motor test, rotors off, in which every motor turns as the map says."""
    with scene.store.reading() as read:
        frame = find_airframe(read, entry.get("airframe"))
        senses = senses_of(read, frame)
        seen = {
            p.name: senses[p.type_position_id]
            for p in read.select(Position, "airframe_id = ? AND active = 1", frame.id)
        }
    sense_maps.record_motor_test(
        scene.store,
        airframe=entry.get("airframe"),
        seen=seen,
        source=entry.get("source"),
        second=entry.get("second"),
        by=entry.by,
        at=entry.at,
    )


def _positions(scene: Scene, entry: Entry) -> list[str]:
    wanted = demo_values.coverage(entry.get("only", entry.get("positions", "all")))
    with scene.store.reading() as read:
        frame = find_airframe(read, entry.get("airframe"))
        own = read.select(Position, "airframe_id = ? AND active = 1", frame.id)
    names = [p.name for p in own]
    if wanted.how == "named":
        return list(wanted.names)
    if wanted.how != "all":
        raise entry.fault("name the positions to be fitted, parted by commas, or leave them out for all")
    return names


DAYS: Mapping[str, Callable[[Scene, Entry], None]] = {
    **STORE_DAYS,
    "start a change": start_change,
    "fit positions": fit_positions,
    "fasten and inspect": fasten_and_inspect,
    "finish a job": finish_job,
    "change rotors": change_rotors,
    "enter hours": enter_hours,
    "torque all again": torque_all,
    "test the motors": test_motors,
}
"""Every phrase that stands for a day's work, by its words."""
