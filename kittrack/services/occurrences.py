"""Accidents and incidents: the rotor sets of the airframe are set aside as evidence (R10).

What was fitted then may have come off since: a set that was removed on that local day or later is held too.
"""

from collections.abc import Iterable
from datetime import datetime

from kittrack.domain import codes, dates
from kittrack.domain.rules import require
from kittrack.errors import BadInput
from kittrack.services import desk
from kittrack.services import position_desk as spots
from kittrack.services.desk import Done
from kittrack.store.act import Act, instant_text, read_instant_text
from kittrack.store.database import Store
from kittrack.store.records import (
    Airframe,
    Event,
    Hold,
    HoldItem,
    MatchReading,
    Occurrence,
    Position,
    Removal,
    RotorSet,
)


@desk.done_by("technician", "inspector", "clerk", "manager")
def record_occurrence(
    store: Store, *, airframe: str, text: str, happened_at: datetime, by: str, at: datetime, reference: str = "",
    key: str = "",
) -> Done:  # fmt: skip
    """Record an occurrence and hold what was on the airframe as evidence.

    Args:
        store: the store.
        airframe: the code or tail.
        text: what happened, in the person's words.
        happened_at: the aware instant at which it happened, not after `at`.
        by: who records it.
        at: the instant of recording.
        reference: the number of a report, where there is one.
        key: the caller's own name for the act.

    Returns:
        The hold's code, and every set that is held with where it was.

    Raises:
        BadInput: the text is empty, or the occurrence lies in the future.
    """  # fmt: skip
    desk.require_text(occurrence=text)
    if reference:
        desk.require_text(reference=reference)
    if instant_text(happened_at) > instant_text(at):
        raise BadInput("The occurrence lies in the future; enter when it happened.", field="happened_at")
    with store.act("record an occurrence", by=by, at=at, reason=text, key=key) as act:
        require(desk.check_done_by(act, record_occurrence))
        frame = spots.find_airframe(act, airframe)
        act.insert(
            Occurrence(
                airframe_id=frame.id,
                text=text.strip(),
                happened_at=instant_text(happened_at),
                event_id=act.event_id,
            )
        )
        exposed = {**_removed_since(act, frame, happened_at), **_fitted(act, frame)}
        hold = _hold_as_evidence(act, frame, exposed, text=text, reference=reference)
        said = [f"{act.get(RotorSet, i).code}: {where}." for i, where in sorted(exposed.items())]
    first = f"The occurrence of {frame.tail} is recorded; {len(exposed)} rotor sets are evidence under {hold.code}: change nothing on them."
    return Done(act.event_id, (hold.code,), (first, *said))


def _fitted(act: Act, frame: Airframe) -> dict[int, str]:
    """The sets that are fitted now, by id, with their positions."""
    positions = act.select(Position, "airframe_id = ?", frame.id)
    return {one.id: f"on {frame.tail} {p.name}" for p in positions for one in spots.sets_at(act, p)}


def _removed_since(act: Act, frame: Airframe, happened_at: datetime) -> dict[int, str]:
    """The sets that came off on the local day of the occurrence or later, by id, with their tags."""
    zone = desk.zone(act)
    day = dates.local_day(happened_at, zone=zone)
    return {
        removal.rotor_set_id: f"removed, tag {removal.code}"
        for removal in act.select(Removal, "airframe_id = ?", frame.id)
        if dates.local_day(read_instant_text(act.get(Event, removal.event_id).at), zone=zone) >= day
    }


def _hold_as_evidence(act: Act, frame: Airframe, sets: Iterable[int], *, text: str, reference: str) -> Hold:
    """One hold over the sets; the blades of a set that was broken meanwhile are held one by one."""
    hold = act.insert(
        Hold(
            code=act.new_code(Hold, codes.Kind.HOLD), scope="airframe", scope_text=frame.code, reason=text.strip(),
            reference=reference.strip(), is_evidence=1, placed_event_id=act.event_id,
        )
    )  # fmt: skip
    for set_id in sorted(sets):
        act.insert(HoldItem(hold_id=hold.id, rotor_set_id=set_id))
        one = act.get(RotorSet, set_id)
        if one.state == "broken" and one.match_record_id is not None:
            for reading in act.select(MatchReading, "match_record_id = ?", one.match_record_id):
                act.insert(HoldItem(hold_id=hold.id, piece_id=reading.piece_id))
    return hold
