"""The first act of a store, its sites and places, its people."""

from collections.abc import Sequence
from datetime import date, datetime

from kittrack.domain import codes, dates
from kittrack.domain.ledger import ENDS, PlaceKind, place_in_words
from kittrack.domain.rules import Rule, require
from kittrack.errors import BadInput, Refusal, Refused
from kittrack.services import desk
from kittrack.services.desk import Done
from kittrack.store.act import Act
from kittrack.store.database import Store
from kittrack.store.records import (
    ROLES,
    Acknowledgement,
    AloneDeclaration,
    Event,
    Person,
    PersonRole,
    Place,
    Site,
)
from kittrack.store.stamp import note_founding

CAUTIONS = "cautions 1"
"""The name under which an acknowledgement of the cautions is kept; a new wording takes a new number."""

SHELF_KINDS = ("bin", "bench", "van", "hold cage", "removed-parts cage", "goods-in", "apron")


def is_founded(store: Store) -> bool:
    """Whether a store has its first site and its first manager."""
    with store.reading() as read:
        return read.find(Event, id=1) is not None


def found_store(store: Store, *, site: str, time_zone: str, manager: str, at: datetime) -> Done:
    """Make the first site, the first manager and the places that every store has.

    Args:
        site: the name of the first site; its day's end is the store's.
        time_zone: an IANA name such as Europe/Oslo.
        manager: the name of the first manager.

    Raises:
        Refused: the store is founded already (R12).
        BadInput: a name or the time zone can't be read.
    """
    desk.require_text(site=site, manager=manager)
    dates.local_day(at, zone=time_zone)
    with store.founding("found the store", at=at) as act:
        if act.find(Event, id=1):
            raise Refused(
                [
                    Refusal(
                        Rule.NOTHING_ERASED,
                        "store",
                        "This store is founded already; sign on, or name another store.",
                    )
                ]
            )
        person = write_person(act, manager.strip(), ("manager",))
        act.by_id = person.id
        home = act.insert(Site(name=site.strip(), time_zone=time_zone))
        for kind in sorted(ENDS):
            act.insert(Place(code=f"*{kind.value}", kind=kind.value, name=kind.value))
        for kind in (PlaceKind.GOODS_IN, PlaceKind.HOLD_CAGE, PlaceKind.REMOVED_CAGE, PlaceKind.APRON):
            write_place(act, kind.value, f"{kind.value} {site.strip()}", home)
        note_founding(act)
    return Done(act.event_id, (person.code,), (f"{person.name} is the first manager, badge {person.code}.",))


@desk.done_by("manager")
def add_site(store: Store, *, name: str, time_zone: str, by: str, at: datetime) -> Done:
    """Add a site with its time zone."""
    desk.require_text(name=name)
    dates.local_day(at, zone=time_zone)
    with store.act("add a site", by=by, at=at) as act:
        require(desk.check_done_by(act, add_site))
        _refuse_taken(act.find(Site, name=name.strip()), "site", name)
        act.insert(Site(name=name.strip(), time_zone=time_zone))
    return Done(act.event_id, said=(f"Site {name.strip()} added.",))


@desk.done_by("manager", "clerk")
def add_place(store: Store, *, kind: str, name: str, site: str, by: str, at: datetime) -> Done:
    """Add a bin, bench, van, cage or apron; answers with its code."""
    desk.require_text(name=name)
    if kind not in SHELF_KINDS:
        raise BadInput(f"{kind!r} is no kind of place; one of: {', '.join(SHELF_KINDS)}", field="kind")
    with store.act("add a place", by=by, at=at) as act:
        require(desk.check_done_by(act, add_place))
        home = act.find(Site, name=site.strip())
        if home is None:
            raise BadInput(f"there is no site {site!r}; add it first", field="site")
        _refuse_taken(act.find(Place, kind=kind, name=name.strip()), kind, name)
        place = write_place(act, kind, name.strip(), home)
    return Done(act.event_id, (place.code,), (f"{place_in_words(kind, place.name)} added as {place.code}.",))


@desk.done_by("manager")
def add_person(
    store: Store,
    *,
    name: str,
    roles: Sequence[str],
    by: str,
    at: datetime,
    is_script: bool = False,
    same_human_as: str = "",
) -> Done:
    """Add a person with roles; answers with the badge code.

    Args:
        same_human_as: the other badge of the same human, so that R8 sees them as one.
    """
    desk.require_text(name=name)
    _check_roles(roles)
    with store.act("add a person", by=by, at=at) as act:
        require(desk.check_done_by(act, add_person))
        _refuse_taken(act.find(Person, name=name.strip()), "person", name)
        other = desk.find_person(act, same_human_as) if same_human_as else None
        same = (other.same_human_as_id or other.id) if other else None
        person = write_person(act, name.strip(), roles, is_script=int(is_script), same_human_as_id=same)
    return Done(
        act.event_id, (person.code,), (f"{person.name} added, badge {person.code}: {', '.join(roles)}.",)
    )


@desk.done_by("manager")
def set_roles(store: Store, *, person: str, roles: Sequence[str], by: str, at: datetime) -> Done:
    """Give a person exactly these roles; the last manager can't be taken away."""
    _check_roles(roles)
    with store.act("set roles", by=by, at=at) as act:
        require(desk.check_done_by(act, set_roles))
        who = desk.find_person(act, person)
        if "manager" not in roles:
            require(_check_not_last_manager(act, who))
        held = {r.role: r for r in act.select(PersonRole, "person_id = ?", who.id)}
        for role in ROLES:
            if role in held:
                act.update(held[role], active=int(role in roles))
            elif role in roles:
                act.insert(PersonRole(person_id=who.id, role=role))
    return Done(act.event_id, (who.code,), (f"{who.name} is now: {', '.join(roles)}.",))


@desk.done_by("manager")
def let_person_go(store: Store, *, person: str, by: str, at: datetime) -> Done:
    """Mark a leaver: the history keeps the name, the badge acts no more."""
    with store.act("a person leaves", by=by, at=at) as act:
        require(desk.check_done_by(act, let_person_go))
        who = desk.find_person(act, person)
        require(_check_not_last_manager(act, who))
        act.update(who, active=0)
    return Done(act.event_id, (who.code,), (f"{who.name} has left; the badge {who.code} acts no more.",))


@desk.done_by("manager")
def correct_clock(store: Store, *, reason: str, second: str, by: str, at: datetime) -> Done:
    """Record, as a manager with a second person, that the clock was ahead when the last events were written.

    Their times stay as they were written; the log shows the correction, and acts go on from the time given.
    """
    desk.require_text(reason=reason)
    with store.act(
        "correct the clock", by=by, at=at, second=second, reason=reason, corrects_clock=True
    ) as act:
        require(
            desk.check_done_by(act, correct_clock),
            desk.check_second(first=act.by, second=act.second, what="correcting the clock"),
        )
    return Done(
        act.event_id, said=("The next acts go on from this time; look at the events before it in the log.",)
    )


def acknowledge_cautions(store: Store, *, by: str, at: datetime) -> Done:
    """Keep that a person has read the cautions; once per person."""
    with store.act("acknowledge the cautions", by=by, at=at) as act:
        if not act.find(Acknowledgement, person_id=act.by_id, what=CAUTIONS):
            act.insert(Acknowledgement(person_id=act.by_id, what=CAUTIONS, event_id=act.event_id))
    return Done(act.event_id)


@desk.done_by("manager")
def declare_alone(
    store: Store,
    *,
    person: str,
    from_on: date,
    until_on: date,
    reason: str,
    by: str,
    at: datetime,
    job: str = "",
) -> Done:
    """Declare, as a manager, that nobody else is there for a person, on one job or for a dated period (R8)."""
    desk.require_text(reason=reason)
    with store.act("declare that nobody else is there", by=by, at=at, reason=reason) as act:
        require(desk.check_done_by(act, declare_alone))
        who = desk.find_person(act, person)
        found = desk.find_job(act, job) if job else None
        if until_on < from_on:
            raise BadInput(f"the period ends ({until_on}) before it begins ({from_on})", field="until")
        act.insert(
            AloneDeclaration(
                person_id=who.id, job_id=found.id if found else None, from_on=from_on.isoformat(),
                until_on=until_on.isoformat(), reason=reason.strip(), event_id=act.event_id,
            )
        )  # fmt: skip
    return Done(
        act.event_id,
        (who.code,),
        (f"{who.name} may make re-inspections from {from_on} until {until_on}; the Office lists each.",),
    )


def write_person(
    act: Act, name: str, roles: Sequence[str], *, is_script: int = 0, same_human_as_id: int | None = None
) -> Person:
    """Write a person with a badge code, roles and hands."""
    code = act.new_code(Person, codes.Kind.PERSON)
    person = act.insert(
        Person(
            code=code,
            name=name,
            is_script=is_script,
            same_human_as_id=same_human_as_id,
            event_id=act.event_id,
        )
    )
    for role in dict.fromkeys(roles):
        act.insert(PersonRole(person_id=person.id, role=role))
    act.insert(Place(code=code, kind=PlaceKind.HANDS.value, name=name, person_id=person.id))
    return person


def write_place(act: Act, kind: str, name: str, site: Site) -> Place:
    """Write a place of a site with its code."""
    code = act.new_code(Place, codes.Kind.SHELF_PLACE)
    return act.insert(Place(code=code, kind=kind, name=name, site_id=site.id))


def _check_roles(roles: Sequence[str]) -> None:
    wrong = [r for r in roles if r not in ROLES]
    if wrong or not roles:
        raise BadInput(
            f"{', '.join(wrong) or 'no role'} is not known; roles are: {', '.join(ROLES)}", field="roles"
        )


def _check_not_last_manager(act: Act, person: Person) -> list[Refusal]:
    others = act.value(
        "SELECT count(*) FROM person p JOIN person_role r ON r.person_id = p.id "
        "WHERE p.active = 1 AND p.is_script = 0 AND r.active = 1 AND r.role = 'manager' AND p.id <> ?",
        person.id,
    )
    if others or not desk.has_role(act, person, "manager"):
        return []
    return [Refusal("role", person.code, f"{person.name} is the last manager; make another one first.")]


def _refuse_taken(found: object | None, what: str, name: str) -> None:
    if found is not None:
        raise BadInput(f"there is a {what} {name.strip()!r} already", field="name")
