"""Fitting rotor sets: the set at its position, and taking an unfinished one off again.

A set is fitted only where label, mark and map agree; there is no override of that. Fastening, inspection and
the last walk stand in fastening.py and walking.py and are named here too. Source: design R1, R3, R6, R7, R19, R20.
"""

from dataclasses import dataclass, replace
from datetime import datetime

from kittrack.domain import fit
from kittrack.domain.dates import Expiry
from kittrack.domain.ledger import Condition, PlaceKind
from kittrack.domain.rules import Rule, require
from kittrack.domain.soundness import Moment
from kittrack.domain.soundness import check_set as check_sound
from kittrack.domain.text import clean_label
from kittrack.errors import Refusal
from kittrack.services import desk
from kittrack.services import position_desk as spots
from kittrack.services.desk import Done
from kittrack.services.fastening import TakenPart, fasten
from kittrack.services.position_desk import Spot
from kittrack.services.removing import check_others_finished, clear_fixings
from kittrack.services.walking import Seen, inspect_position, walk_positions
from kittrack.store.act import Act, Slot
from kittrack.store.database import Store
from kittrack.store.kit_facts import set_facts
from kittrack.store.last_change import event_in_words
from kittrack.store.records import (
    Airframe,
    ApprovedPart,
    FitRecord,
    Job,
    Kit,
    KitPick,
    KitPosition,
    Override,
    Part,
    Place,
    Position,
    Removal,
    Reservation,
    RotorSet,
)
from kittrack.store.stock import chain, inside_of

__all__ = [
    "Seen", "TakenPart", "fasten", "fit_set", "inspect_position", "record_refused_scan", "take_off_unfinished",
    "walk_positions",
]  # fmt: skip

REFUSED_SCAN = "wrong sense refused"
"""The note by which the Office counts scans that were stopped for their sense."""

REFIT_ELSEWHERE = "refit elsewhere"


@dataclass(frozen=True)
class _Coming:
    """Where a set comes from to its position: issued to the job, back from transport, or off the shelf again."""

    from_place_id: int
    is_transport_refit: bool = False
    is_refit_elsewhere: bool = False


@desk.done_by("technician")
def fit_set(
    store: Store, *, job: str, position: str, rotor_set: str, mark: str, by: str, at: datetime, second: str = "",
    reason: str = "", key: str = "",
) -> Done:  # fmt: skip
    """Put a rotor set on a position; it is "not finished" until it is fastened.

    Args:
        store: the store.
        job: the open job.
        position: the position's code.
        rotor_set: the set's code.
        mark: the mark read on the rotor itself.
        by: the technician.
        at: the instant.
        second: the second person, where a removed serviceable set is refitted elsewhere (R20).
        reason: why, for the same.
        key: the caller's own name for the act.

    Raises:
        Refused: with every reason: sense (R3), set (R1, R6, R13, R19), part (R6), place (R5, R11), kit (R7)...
    """  # fmt: skip
    with store.act("fit a rotor set", by=by, at=at, second=second or None, reason=reason, key=key) as act:
        work, spot, new = (
            desk.find_job(act, job),
            spots.find_spot(act, position),
            desk.find_set(act, rotor_set),
        )
        coming, refused = _coming(act, work, spot, new)
        require(
            desk.check_done_by(act, fit_set),
            spots.check_job_at(act, work, spot),
            spots.check_no_findings(act, work),
            check_others_finished(act, work, spot),
            _check_bare(act, spot),
            fit.check_sense(spots.sense_reading(act, spot, new, mark)),
            check_set(act, new),
            _check_approved(act, spot, new),
            _check_kit(act, work, spot, new),
            refused,
            _check_override(act, coming, new),
        )
        cleared = clear_fixings(act, spot)
        _seat(act, work, spot, new, mark=mark, coming=coming)
    needs = f"Next: fasten it with {spot.fixing.screws_per_hub} new screws."
    return Done(
        act.event_id,
        (new.code,),
        (f"{new.code} ({new.sense}) matches {spot.name}: label, mark and map agree.", *cleared, needs),
    )


@desk.done_by("technician")
def take_off_unfinished(
    store: Store, *, job: str, position: str, reason: str, by: str, at: datetime, key: str = ""
) -> Done:
    """Undo a fit that was begun and not inspected: the set goes back to the job, what fastened it is scrapped (R9).

    Raises:
        Refused: nothing unfinished is there (R10).
    """
    desk.require_text(reason=reason)
    with store.act("take off an unfinished fit", by=by, at=at, reason=reason, key=key) as act:
        work, spot = desk.find_job(act, job), spots.find_spot(act, position)
        record = spots.current_fit(act, spot.position)
        require(
            desk.check_done_by(act, take_off_unfinished),
            spots.check_job_at(act, work, spot),
            _check_unfinished(spot, record, work),
        )
        assert record is not None  # noqa: S101 - _check_unfinished refuses where there is none
        off = act.get(RotorSet, record.rotor_set_id)
        said = clear_fixings(act, spot, keep=Slot(work.place_id, Condition.SERVICEABLE.value))
        act.move_container(off.place_id, from_place_id=spot.position.place_id, to_place_id=work.place_id)
        act.update(record, state="removed")
        if record.is_transport_refit:
            act.update(off, bound_position_id=spot.position.id)
        _set_state(act, work, spot, "bare")
    return Done(
        act.event_id, (off.code,), (f"{off.code} is off {spot.name} and back with {work.code}.", *said)
    )


@desk.done_by("technician", "inspector", "clerk", "manager")
def record_refused_scan(
    store: Store, *, job: str, position: str, scanned: str, mark: str, by: str, at: datetime, key: str = ""
) -> Done:
    """Keep that a scan was stopped for its sense, so that the Office can count them.

    Args:
        store: the store.
        job: the job's code, as scanned.
        position: the position's code, as scanned.
        scanned: what was scanned as the set, whatever it is.
        mark: the mark that was entered.
        by: who scanned.
        at: the instant.
        key: the caller's own name for the act.

    Raises:
        Refused: an auditor, who only reads.
    """
    with store.act("a scan was refused", by=by, at=at, key=key) as act:
        require(desk.check_done_by(act, record_refused_scan))
        work, spot = desk.find_job(act, job), spots.find_spot(act, position)
        act.note(
            REFUSED_SCAN, job=work.code, position=spot.position.code, airframe=spot.airframe.code,
            needed=str(spot.mapped or ""), scanned=clean_label(scanned, max_length=80), mark=clean_label(mark, max_length=40),
        )  # fmt: skip
    return Done(act.event_id, (), (f"The stopped scan at {spot.name} is on record.",))


# ---- the set ------------------------------------------------------------------------------------


def check_set(act: Act, rotor_set: RotorSet) -> list[Refusal]:
    """Why a set can't be fitted anywhere now: not whole, not proved, on hold, out of date (R1, R6, R13, R19).

    The shelf life of a set that was fitted before has ended; its service life counts instead (R13).
    """
    fact = replace(set_facts(act, [rotor_set])[0], bound_to="")  # what binds it is judged by its position
    if rotor_set.used_since_on:
        fact = replace(fact, content=tuple(replace(s, expiry=Expiry.unlimited()) for s in fact.content))
    return check_sound(fact, now=Moment(act.moment, desk.zone(act)))


def _check_approved(act: Act, spot: Spot, rotor_set: RotorSet) -> list[Refusal]:
    approved = act.find(
        ApprovedPart, type_position_id=spot.type_position.id, part_id=rotor_set.part_id, active=1
    )
    if approved is not None and spot.type_position.type_revision_id == spot.revision.id:
        return []
    number = act.get(Part, rotor_set.part_id).number
    message = f"{number} ({rotor_set.code}) is not approved for {spot.name}, revision {spot.revision.name}; take a part that is."
    return [Refusal(Rule.FIT_FOR_ISSUE, rotor_set.code, message)]


def _check_kit(act: Act, job: Job, spot: Spot, rotor_set: RotorSet) -> list[Refusal]:
    """Why the kit that a set came in does not suit: another revision, or another sense for this position (R7)."""
    picks = act.select(KitPick, "rotor_set_id = ? AND active = 1", rotor_set.id, order="id DESC", limit=1)
    if not picks or inside_of(act, rotor_set.place_id) != job.place_id:
        return []
    kit, found = act.get(Kit, picks[0].kit_id), []
    if kit.type_revision_id != spot.revision.id:
        message = f"{kit.code} was built for another type revision than {spot.airframe.tail} has now ({spot.revision.name}); return its content and build a new kit."
        found.append(Refusal(Rule.EFFECTIVITY, kit.code, message))
    covered = act.find(KitPosition, kit_id=kit.id, type_position_id=spot.type_position.id)
    if covered is not None and spot.mapped is not None and covered.sense != spot.mapped:
        message = f"{kit.code} was built for {covered.sense} at {spot.name} and the map says {spot.mapped} now; return its content and build a new kit."
        found.append(Refusal(Rule.EFFECTIVITY, kit.code, message))
    return found


# ---- where it comes from -------------------------------------------------------------------------


def _check_bare(act: Act, spot: Spot) -> list[Refusal]:
    record = spots.current_fit(act, spot.position)
    who = f", fitted {event_in_words(act, record.event_id)}" if record else ""
    return [
        Refusal(
            Rule.REMOVED_PARTS,
            spot.name,
            f"{there.code} is on {spot.name} by the record{who}; take it off first.",
        )
        for there in spots.sets_at(act, spot.position)
    ]


def _coming(act: Act, job: Job, spot: Spot, new: RotorSet) -> tuple[_Coming, list[Refusal]]:
    """Where a set comes from, and why it may not come from there."""
    where = inside_of(act, new.place_id)
    place = act.get(Place, where or 0)
    back = new.bound_position_id == spot.position.id
    coming = _Coming(place.id, is_transport_refit=back)
    if new.bound_position_id is not None and not back:
        home = spots.spot_of(act, act.get(Position, new.bound_position_id))
        message = f"{new.code} was taken off {home.name} for transport and goes back there only; give up its refit, or take another set."
        return coming, [Refusal(Rule.REMOVED_PARTS, new.code, message)]
    if place.id == job.place_id or (back and place.kind in _SHELVES):
        return coming, []
    came_off = act.select(Removal, "rotor_set_id = ?", new.id, order="id DESC", limit=1)
    if not came_off or place.kind not in _SHELVES:
        return coming, [_not_issued(act, job, new, place)]
    elsewhere = came_off[0].position_id != spot.position.id
    return _Coming(place.id, is_refit_elsewhere=elsewhere), _check_reserved(act, job, new)


_SHELVES = (PlaceKind.BIN, PlaceKind.VAN, PlaceKind.HANDS)


def _not_issued(act: Act, job: Job, new: RotorSet, place: Place) -> Refusal:
    kit = next((p for p in chain(act, new.place_id) if p.kind == PlaceKind.KIT), None)
    if kit is not None:
        message = f"{new.code} is in {kit.name}; sets are issued in whole kits: open the kit at the aircraft for {job.code} first."
        return Refusal(Rule.WHOLE_KIT, new.code, message)
    if place.kind == PlaceKind.REMOVED_CAGE:
        message = f"{new.code} is in the removed-parts cage; only an inspection makes it serviceable again."
        return Refusal(Rule.REMOVED_PARTS, new.code, message)
    message = f"{new.code} is in {place.name} ({place.kind}) and was not issued to {job.code}; have it issued in a kit."
    return Refusal(Rule.COUNT_OUT_COUNT_IN, new.code, message)


def _check_reserved(act: Act, job: Job, new: RotorSet) -> list[Refusal]:
    kept = act.select(Reservation, "rotor_set_id = ? AND state = 'active' AND until_on >= ? AND job_id <> ?",
                      new.id, spots.local_day_text(act), job.id)  # fmt: skip
    codes = [act.get(Job, r.job_id).code for r in kept]
    return [
        Refusal(Rule.FIT_FOR_ISSUE, new.code, f"{new.code} is reserved for {code}; take another set.")
        for code in codes
    ]


def _check_override(act: Act, coming: _Coming, new: RotorSet) -> list[Refusal]:
    """Why a removed serviceable set may not be refitted elsewhere: it takes a reason and a second person (R20)."""
    if not coming.is_refit_elsewhere:
        return []
    found = desk.check_second(first=act.by, second=act.second, what=f"refitting {new.code} elsewhere")
    if not act.reason.strip():
        message = f"{new.code} came off another position; refitting it elsewhere takes a reason: type it."
        found.append(Refusal(Rule.NO_WAVING_THROUGH, new.code, message))
    return found


# ---- writing -------------------------------------------------------------------------------------


def _seat(act: Act, job: Job, spot: Spot, new: RotorSet, *, mark: str, coming: _Coming) -> None:
    act.move_container(new.place_id, from_place_id=coming.from_place_id, to_place_id=spot.position.place_id)
    frame: Airframe = spot.airframe
    act.insert(
        FitRecord(
            job_id=job.id, position_id=spot.position.id, rotor_set_id=new.id, sense=new.sense, mark=mark.strip(),
            map_revision=spot.map_revision, fitted_by_id=act.by_id, airframe_minutes=frame.minutes,
            airframe_flights=frame.flights, is_transport_refit=int(coming.is_transport_refit), event_id=act.event_id,
        )
    )  # fmt: skip
    act.update(new, bound_position_id=None)
    if coming.is_refit_elsewhere:
        act.insert(
            Override(kind=REFIT_ELSEWHERE, subject=new.code, reason=act.reason.strip(), event_id=act.event_id)
        )
    for kept in act.select(
        Reservation, "rotor_set_id = ? AND state = 'active' AND job_id = ?", new.id, job.id
    ):
        act.update(kept, state="used")
    _set_state(act, job, spot, "not finished")


def _set_state(act: Act, job: Job, spot: Spot, state: str) -> None:
    spots.set_state(act, job, spot, state)
    spots.reopen_walk(act, job)


def _check_unfinished(spot: Spot, record: FitRecord | None, job: Job) -> list[Refusal]:
    if record is not None and record.state in ("started", "fastened") and record.job_id == job.id:
        return []
    message = (
        f"{job.code} has no unfinished fit at {spot.name}; a finished one comes off as a removal with a tag."
    )
    return [Refusal(Rule.REMOVED_PARTS, spot.name, message)]
