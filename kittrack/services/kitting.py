"""Building kits: for the shelf by type revision, for one airframe by its current map, or to make a job good.

The lines are computed, never typed; a kit that is short may be begun and is said to be short, line by line.
Source: design R4, R7, R17; section 2 ("A dropped screw").
"""

from collections.abc import Sequence
from datetime import date, datetime

from kittrack.domain import codes
from kittrack.domain.kits import Demand, kit_demand
from kittrack.domain.ledger import PlaceKind
from kittrack.domain.rules import Rule, require
from kittrack.errors import BadInput, Refusal
from kittrack.services import coverage, desk
from kittrack.services.coverage import ALL, Chosen, Coverage
from kittrack.services.desk import Done
from kittrack.services.kit_desk import bench_of, check_kit_state, kit_now, lay_aside
from kittrack.services.picking import pick_lines, picking_for
from kittrack.services.sealing import check_seal_after_leaving
from kittrack.store.act import Act
from kittrack.store.aircraft_facts import find_airframe
from kittrack.store.database import Store
from kittrack.store.issuable import issuable_sets
from kittrack.store.kit_facts import kit_fact, revision_name
from kittrack.store.records import (
    Airframe,
    Job,
    Kit,
    KitLine,
    KitPick,
    KitPosition,
    Place,
    Reservation,
    TypeRevision,
)
from kittrack.store.stock import place_named


@desk.done_by("clerk")
def build_kit(
    store: Store,
    *,
    bench: str,
    by: str,
    at: datetime,
    revision: str = "",
    airframe: str = "",
    positions: Coverage = ALL,
    job: str = "",
    key: str = "",
) -> Done:
    """Begin a kit: compute its lines and pick them, first expiry first out.

    Args:
        store: the store.
        bench: the bench where it is built.
        by: the clerk who builds.
        at: the instant.
        revision: the type revision, "TYPE REVISION", for a kit for the shelf.
        airframe: the airframe (code or tail) whose current map decides, instead of a revision.
        positions: all, one arm, a named group, or a list of positions.
        job: the job that sets are reserved for; the kit is then reserved for it.
        key: the caller's own name for the act.

    Returns:
        The kit's code; what to fetch from where; each line that is short.

    Raises:
        Refused: no clerk; no approved rotor part for a position (R6); no sense in the map (R17).
        BadInput: neither a revision nor an airframe, or positions that the revision does not have.
    """
    with store.act("build a kit", by=by, at=at, key=key) as act:
        frame = find_airframe(act, airframe) if airframe else None
        wanted = _revision(act, revision, frame)
        chosen = coverage.choose(act, wanted, positions, airframe=frame)
        place = place_named(act, bench, kinds=(PlaceKind.BENCH,))
        work = desk.find_job(act, job) if job else None
        require(desk.check_done_by(act, build_kit), _check_work(act, work, frame))
        lines = _lines(act, wanted, chosen, place, work)
        kit = begin(act, wanted, place, airframe=frame)
        write_lines(act, kit, chosen, lines)
        said = pick_lines(picking_for(act, kit, for_job_id=work.id if work else None))
        said += _reserve(act, kit, work)
    for_what = frame.tail if frame else revision
    return Done(act.event_id, (kit.code,), (f"{kit.code} for {for_what}, {positions.in_words}.", *said))


@desk.done_by("clerk")
def dissolve_kit(
    store: Store, *, kit: str, reason: str, to_bin: str, by: str, at: datetime, seal: str = "", key: str = ""
) -> Done:
    """Take an unopened kit apart in the stores: sets and stock go back to a bin, the number is dead.

    What is not fit for issue any more goes to the hold cage. Nothing left the stores, so nothing is used.

    Args:
        store: the store.
        kit: the kit's code.
        reason: why.
        to_bin: the bin for what is fit for issue.
        by: the clerk.
        at: the instant.
        seal: the seal as it is read on a kit that was out in a van or in hands; what was opened there is opened,
            and its screws are not good again.
        key: the caller's own name for the act.

    Raises:
        Refused: the kit is out, opened or dead (R5), not in the stores, or its seal is another (R5).
        Conflict: it is issued.
    """
    desk.require_text(reason=reason)
    with store.act("dissolve a kit", by=by, at=at, reason=reason, key=key) as act:
        found = desk.find_kit(act, kit)
        require(
            desk.check_done_by(act, dissolve_kit),
            check_kit_state(act, found, "building", "checked", "sealed"),
            _check_in_stores(act, found),
            check_seal_after_leaving(act, found, kit_fact(act, found), seal),
        )
        place = act.update(act.get(Place, found.place_id), closed=0)
        picks = act.select(KitPick, "kit_id = ? AND active = 1", found.id)
        said = lay_aside(act, found, picks, to_bin=to_bin)
        act.update(place, active=0)
        act.update(found, state="dissolved")
        end_reservations(act, found, state="released")
    return Done(act.event_id, (found.code,), (f"{found.code} is dissolved; its number is dead.", *said))


# ---- what other acts on kits share ---------------------------------------------------------------


def begin(
    act: Act,
    revision: TypeRevision,
    bench: Place,
    *,
    airframe: Airframe | None = None,
    job: Job | None = None,
    purpose: str = "full",
) -> Kit:
    """Write an empty kit with its place on a bench."""
    code = act.new_code(Kit, codes.Kind.KIT)
    place = act.insert(Place(code=code, kind=PlaceKind.KIT.value, name=code))
    act.move_container(place.id, from_place_id=None, to_place_id=bench.id)
    return act.insert(
        Kit(
            code=code,
            place_id=place.id,
            type_revision_id=revision.id,
            settings_revision=revision.settings_revision,
            airframe_id=airframe.id if airframe else None,
            job_id=job.id if job else None,
            purpose=purpose,
            built_by_id=act.by_id,
            event_id=act.event_id,
        )
    )


def write_lines(act: Act, kit: Kit, chosen: Sequence[Chosen], lines: Sequence[Demand]) -> list[KitLine]:
    """Write the positions that a kit covers and its lines, in order."""
    for one in chosen:
        act.insert(KitPosition(kit_id=kit.id, type_position_id=one.position.id, sense=one.sense.value))
    return [
        act.insert(
            KitLine(
                kit_id=kit.id,
                rank=rank,
                kind=line.kind.value,
                part_id=line.part_id,
                sense=line.sense.value if line.sense else None,
                quantity=line.quantity,
                unit=line.unit,
                hubs=line.hubs,
                per_hub=line.per_hub,
            )
        )
        for rank, line in enumerate(lines, start=1)
    ]


def end_reservations(act: Act, kit: Kit, *, state: str) -> None:
    """End the active reservations of a kit."""
    for kept in act.select(Reservation, "kit_id = ? AND state = 'active'", kit.id):
        act.update(kept, state=state)


def _revision(act: Act, text: str, frame: Airframe | None) -> TypeRevision:
    if frame is None and not text:
        raise BadInput("a kit is built for a type revision or for an airframe; name one", field="revision")
    if frame is None:
        return coverage.find_revision(act, text)
    own = act.get(TypeRevision, frame.type_revision_id)
    if text and coverage.find_revision(act, text).id != own.id:
        raise BadInput(
            f"{frame.tail} is {revision_name(act, own.id)}, not {text.strip()}; leave the revision empty",
            field="revision",
        )
    return own


def _lines(
    act: Act, revision: TypeRevision, chosen: Sequence[Chosen], bench: Place, job: Job | None
) -> tuple[Demand, ...]:
    issuable = issuable_sets(
        act,
        coverage.rotor_parts(act, chosen),
        now=kit_now(act),
        site_id=bench.site_id,
        for_job_id=job.id if job else None,
    )
    counts: dict[int, int] = {}
    for one in issuable:
        counts[one.part_id] = counts.get(one.part_id, 0) + 1
    positions, refusals = coverage.covered(act, chosen, issuable=counts)
    require(refusals)
    return kit_demand(positions, extras=coverage.extras(act, revision))


def _check_work(act: Act, job: Job | None, frame: Airframe | None) -> list[Refusal]:
    if job is None:
        return []
    found = []
    if job.state != "open":
        message = f"{job.code} is {job.state}; open a new job, or build the kit for the shelf."
        found.append(Refusal(Rule.COUNT_OUT_COUNT_IN, job.code, message))
    if frame is not None and frame.id != job.airframe_id:
        tail = act.get(Airframe, job.airframe_id).tail
        message = f"{job.code} is work on {tail}, not on {frame.tail}; scan the job of {frame.tail}."
        found.append(Refusal(Rule.EFFECTIVITY, job.code, message))
    return found


def _reserve(act: Act, kit: Kit, job: Job | None) -> tuple[str, ...]:
    """Keep a kit for the job whose reserved sets went into it, as long as they were kept."""
    if job is None:
        return ()
    until = act.value(
        "SELECT max(v.until_on) FROM reservation v JOIN kit_pick k ON k.rotor_set_id = v.rotor_set_id "
        "WHERE v.job_id = ? AND v.state = 'used' AND k.kit_id = ? AND k.active = 1",
        job.id,
        kit.id,
    )
    last = max(until or "", desk.today(act).isoformat())
    act.insert(Reservation(job_id=job.id, kit_id=kit.id, until_on=last))
    return (f"{kit.code} is reserved for {job.code} until {date.fromisoformat(last)}.",)


def _check_in_stores(act: Act, kit: Kit) -> list[Refusal]:
    place = bench_of(act, kit)
    if place.kind in (PlaceKind.BENCH, PlaceKind.BIN, PlaceKind.HOLD_CAGE, PlaceKind.GOODS_IN):
        return []
    message = (
        f"{kit.code} is in {place.name} ({place.kind}); bring it back to the stores before it is taken apart."
    )
    return [Refusal(Rule.WHOLE_KIT, kit.code, message)]
