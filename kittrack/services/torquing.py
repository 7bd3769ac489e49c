"""The re-torque of a fitted position: value, tool and the airframe's hours (R18).

A re-torque falls due after the minutes that the type revision states; what is due is answered by
queries/due.py.
"""

from datetime import datetime

from kittrack.domain.rules import Rule, require
from kittrack.errors import Refusal
from kittrack.services import desk
from kittrack.services import position_desk as spots
from kittrack.services.desk import Done
from kittrack.services.fastening import check_tightening, read_method, write_torque
from kittrack.services.position_desk import Spot
from kittrack.store.act import Act
from kittrack.store.database import Store
from kittrack.store.records import FitRecord


@desk.done_by("technician")
def record_retorque(
    store: Store, *, position: str, by: str, at: datetime, torque_mnm: int | None = None, tool: str = "",
    method: str = "torque", key: str = "",
) -> Done:  # fmt: skip
    """Record that the screws of a fitted position were torqued again.

    Args:
        store: the store.
        position: the position's code.
        by: the technician.
        at: the instant.
        torque_mnm: the torque that was set on the tool, in mN m.
        tool: the code or name of the torque tool.
        method: "torque", "angle" or "snug", as the type revision states it.
        key: the caller's own name for the act.

    Raises:
        Refused: nothing is fitted there, its fit is not finished, or the torque does not satisfy (R18).
    """  # fmt: skip
    how = read_method(method)
    with store.act("re-torque a position", by=by, at=at, key=key) as act:
        spot = spots.find_spot(act, position)
        record = spots.current_fit(act, spot.position)
        require(
            desk.check_done_by(act, record_retorque),
            _check_fitted(act, spot, record),
            check_tightening(act, spot, method=how, torque_mnm=torque_mnm, tool=tool),
        )
        write_torque(
            act, spot, purpose="re-torque", record=record, method=how, torque_mnm=torque_mnm, tool=tool
        )
    return Done(act.event_id, (), (f"{spot.name} is torqued again.{_due_in_words(spot)}",))


def _check_fitted(act: Act, spot: Spot, record: FitRecord | None) -> list[Refusal]:
    if not spots.sets_at(act, spot.position):
        message = f"No rotor set is fitted at {spot.name} by the record; there is nothing to torque."
        return [Refusal(Rule.TORQUE, spot.name, message)]
    if record is not None and record.state == "started":
        message = f"The fit at {spot.name} is not fastened; fasten it with new screws, not as a re-torque."
        return [Refusal(Rule.TORQUE, spot.name, message)]
    return []


def _due_in_words(spot: Spot) -> str:
    interval, now = spot.revision.retorque_minutes, spot.airframe.minutes
    if interval is None:
        return ""
    if now is None:
        return f" The hours of {spot.airframe.tail} are unknown, so it counts as due until they are entered."
    due = now + interval
    return f" It is due again at {due // 60}:{due % 60:02d} h of {spot.airframe.tail}."
