"""An airframe leaves the fleet: sold or written off, with all that is fitted to it.

Source: design 2 (an airframe is a container), R10, R11, R15.
"""

from collections.abc import Callable
from datetime import datetime

from kittrack.domain.ledger import PlaceKind
from kittrack.domain.rules import Rule, require
from kittrack.errors import Refusal
from kittrack.services import desk
from kittrack.services.airframe_positions import fitted_sets, positions_in_use
from kittrack.services.airframes import check_in_fleet
from kittrack.services.catalogue_small import company_of
from kittrack.services.desk import Done
from kittrack.services.open_work import kits_for_airframe, open_jobs
from kittrack.store.act import Act, Reading
from kittrack.store.aircraft_facts import find_airframe
from kittrack.store.database import Store
from kittrack.store.records import Airframe, Company, Finding, RotorSet
from kittrack.store.stock import Held, contents, end_place, inside_of, open_holds


@desk.done_by("manager")
def sell_airframe(
    store: Store, *, airframe: str, new_owner: str, by: str, at: datetime, reason: str, key: str = ""
) -> Done:
    """Sell an airframe: it goes, with all that is fitted to it, to a named new owner whom a recall can still reach.

    Raises:
        Refused: a job on it is open (R11), something of it is evidence or off for transport (R10).
        NotFound: the new owner is no company of the catalogue.
    """
    desk.require_text(reason=reason)
    with store.act("sell an airframe", by=by, at=at, reason=reason, key=key) as act:
        found = find_airframe(act, airframe)
        owner = company_of(act, new_owner)
        said = _let_go(act, found, to=PlaceKind.SOLD, owner=owner, service=sell_airframe)
    return Done(act.event_id, (found.code,), (f"{found.tail} is sold to {owner.name}.", *said))


@desk.done_by("manager")
def write_off_airframe(
    store: Store, *, airframe: str, by: str, at: datetime, reason: str, key: str = ""
) -> Done:
    """Write an airframe off: it is scrapped with all that is fitted to it. Take off first what is to be kept.

    Raises:
        Refused: a job on it is open (R11), something of it is evidence or off for transport (R10).
    """
    desk.require_text(reason=reason)
    with store.act("write off an airframe", by=by, at=at, reason=reason, key=key) as act:
        found = find_airframe(act, airframe)
        said = _let_go(act, found, to=PlaceKind.SCRAPPED, owner=None, service=write_off_airframe)
    return Done(act.event_id, (found.code,), (f"{found.tail} is written off.", *said))


def _let_go(
    act: Act, airframe: Airframe, *, to: PlaceKind, owner: Company | None, service: Callable[..., Done]
) -> tuple[str, ...]:
    fitted = fitted_sets(act, airframe)
    require(
        desk.check_done_by(act, service),
        check_in_fleet(airframe),
        _check_no_open_jobs(act, airframe),
        _check_nothing_kept_back(act, airframe, fitted),
    )
    kits = kits_for_airframe(act, airframe)
    act.move_container(
        airframe.place_id, from_place_id=inside_of(act, airframe.place_id), to_place_id=end_place(act, to).id
    )
    state = "sold" if owner else "written off"
    act.update(airframe, state=state, owner_id=owner.id if owner else None)
    said = [f"{s.code} ({s.sense}) went with it." for s in fitted]
    said += _goes_under_hold(act, airframe, fitted, owner)
    said += [f"Finding {f.id} of it is still open: {f.text}." for f in _open_findings(act, airframe)]
    said += [
        f"Kit {k.code} ({k.state}) was built for it; dissolve it, or build it for another airframe."
        for k in kits
    ]
    return tuple(said)


def _goes_under_hold(
    read: Reading, airframe: Airframe, fitted: list[RotorSet], owner: Company | None
) -> list[str]:
    """Every hold under which something of it is, a screw too, and what its new owner has to hear of it."""
    inside = contents(read, airframe.place_id)
    holds = open_holds(
        read, rotor_sets=[s.id for s in fitted], receipt_lines=[s.receipt_line_id for s in inside],
        pieces=[s.piece_id for s in inside if s.piece_id is not None],
    )  # fmt: skip
    found = {held.hold_code: held for held in holds}
    return [
        f"It takes along {held.hold_code} ({held.reason}){_to_tell(held, owner)}" for held in found.values()
    ]


def _to_tell(held: Held, owner: Company | None) -> str:
    if owner is None:
        return "."
    if held.is_recall:
        return f"; write {owner.name} a notice (notice write)."
    return "; tell the new owner."


def _open_findings(read: Reading, airframe: Airframe) -> list[Finding]:
    return read.select(Finding, "airframe_id = ? AND settled_event_id IS NULL", airframe.id)


def _check_no_open_jobs(act: Act, airframe: Airframe) -> list[Refusal]:
    return [
        Refusal(
            Rule.COUNT_OUT_COUNT_IN, job.code, f"Job {job.code} on {airframe.tail} is open; close it first."
        )
        for job in open_jobs(act, airframe=airframe)
    ]


def _check_nothing_kept_back(act: Act, airframe: Airframe, fitted: list[RotorSet]) -> list[Refusal]:
    found = []
    for one in fitted:
        hold = act.value(
            "SELECT h.code FROM hold_item i JOIN hold h ON h.id = i.hold_id "
            "WHERE i.rotor_set_id = ? AND i.released_event_id IS NULL AND h.is_evidence = 1",
            one.id,
        )
        if hold:
            message = f"{one.code} on {airframe.tail} is evidence under {hold}; take it off or have it released first."
            found.append(Refusal(Rule.REMOVED_PARTS, one.code, message))
    ids = [p.id for p in positions_in_use(act, airframe)]
    bound = act.select(RotorSet, f"bound_position_id IN ({', '.join('?' * len(ids)) or 'NULL'})", *ids)
    for one in bound:
        message = (
            f"{one.code} was taken off {airframe.tail} for transport only; fit it again before it leaves."
        )
        found.append(Refusal(Rule.REMOVED_PARTS, one.code, message))
    return found
