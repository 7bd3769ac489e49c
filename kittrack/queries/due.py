"""What falls due on airframes by their hours: re-torques. Source: design R18, C12."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from kittrack.domain import fixing
from kittrack.queries.aircraft import last_torque, record_of, retorque_of, spots_in_order
from kittrack.store.act import Reading
from kittrack.store.aircraft_facts import Spot, sets_at
from kittrack.store.database import Store
from kittrack.store.kit_facts import marks
from kittrack.store.records import Airframe, FitRecord


@dataclass(frozen=True)
class RetorqueDue:
    """A fitted position whose torque is due, or will be: minutes since, over (negative: still to fly), or unknown."""

    position: str
    name: str
    airframe: str
    rotor_set: str
    interval_minutes: int
    since_minutes: int | None
    over_minutes: int | None
    due: bool


def retorques(store: Store, *, only_due: bool = True) -> tuple[RetorqueDue, ...]:
    """Re-torques of all active airframes, the most overdue first; unknown hours come before all."""
    with store.reading() as read:
        found = [
            due
            for frame in read.select(Airframe, "state = 'active'")
            for spot in spots_in_order(read, frame)
            for due in _retorque_at(read, spot)
            if due.due or not only_due
        ]
    return tuple(sorted(found, key=lambda d: (d.over_minutes is not None, -(d.over_minutes or 0), d.name)))


def _retorque_at(read: Reading, spot: Spot) -> list[RetorqueDue]:
    interval = spot.revision.retorque_minutes
    if interval is None:
        return []
    found = []
    for one in sets_at(read, spot.position):
        due = retorque_of(spot, last_torque(read, spot, record_of(read, spot, one)))
        found.append(
            RetorqueDue(
                position=spot.position.code, name=spot.name, airframe=spot.airframe.tail, rotor_set=one.code,
                interval_minutes=interval, since_minutes=due.since, over_minutes=due.over, due=due.due,
            )
        )  # fmt: skip
    return found


def due_at(read: Reading, spots: Sequence[Spot], fits: Mapping[int, FitRecord]) -> tuple[str, ...]:
    """The names of the positions of one airframe whose re-torque is due; one that is not fastened yet is not.

    Args:
        read: the transaction.
        spots: positions that carry a set.
        fits: the fit on record of what sits there, by the id of the position.
    """
    done = [s for s in spots if s.position.id not in fits or fits[s.position.id].state != "started"]
    if not done or done[0].revision.retorque_minutes is None:
        return ()
    own = {s.position.id: fits[s.position.id].id for s in done if s.position.id in fits}
    unknown = [s.position.id for s in done if s.position.id not in own]
    last = {
        (position, fit): minutes
        for position, fit, minutes in read.rows(
            "SELECT position_id, fit_record_id, airframe_minutes FROM torque_record WHERE fit_record_id "
            f"IN ({marks([*own])}) OR fit_record_id IS NULL AND position_id IN ({marks(unknown)}) ORDER BY id",
            *own.values(),
            *unknown,
        )
    }
    return tuple(
        s.position.name
        for s in done
        if fixing.retorque(
            s.revision.retorque_minutes, torqued_at=last.get((s.position.id, own.get(s.position.id))),
            now=s.airframe.minutes,
        ).due
    )  # fmt: skip
