"""Checking a kit by another person, sealing it, putting it away, and opening one with a reason.

Everything is checked again inside the act: at the check and at the seal. Source: design R4 to R8, R13.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from kittrack.domain.kit_checks import DEAD, KitFact, check_content, check_effectivity, check_seal
from kittrack.domain.ledger import PlaceKind
from kittrack.domain.rules import Rule, require
from kittrack.domain.soundness import check_holds, check_set, check_stock
from kittrack.domain.text import check_text
from kittrack.errors import BadInput, Refusal
from kittrack.services import desk
from kittrack.services.desk import Done
from kittrack.services.kit_desk import bench_of, builders, check_kit_state, check_other_person, kit_now
from kittrack.store.act import Act
from kittrack.store.database import Store
from kittrack.store.job_facts import airframe_fact
from kittrack.store.kit_facts import kit_fact
from kittrack.store.records import Airframe, Job, Kit, Person, Place
from kittrack.store.stock import place_named

RE_INSPECTION = "re-inspection"
"""The note by which the Office lists checks that one person made twice (R8)."""


@dataclass(frozen=True)
class Counted:
    """What the checker counted for a line of a kit: its rank from 1, the quantity in the line's unit."""

    rank: int
    quantity: int


_CHECKERS = ("clerk", "inspector", "manager")


@desk.done_by(*_CHECKERS)
def check_kit(
    store: Store,
    *,
    kit: str,
    by: str,
    at: datetime,
    second: str = "",
    counted: Sequence[Counted] = (),
    key: str = "",
) -> Done:
    """Confirm, as another person than its builders, that a kit is complete and fit; it is closed then.

    Args:
        store: the store.
        kit: the kit's code.
        by: the checker, or whoever records the check of the second person.
        at: the instant.
        second: the checker, where another person is signed on: a builder, as a rule.
        counted: what the checker counted, for the lines that were counted.
        key: the caller's own name for the act.

    Raises:
        Refused: with every reason: the person (R8), short or mixed lines (R4), content (R1, R2, R6, R13, R19),
            settings (R21), the airframe's map (R7).
        BadInput: a count of a line that the kit does not have.
    """
    with store.act("check a kit", by=by, at=at, second=second or None, key=key) as act:
        found = desk.find_kit(act, kit)
        fact = kit_fact(act, found)
        checker = act.second or act.by
        refused, is_alone = _check_checker(act, found, checker)
        require(
            desk.check_done_by(act, check_kit),
            check_kit_state(act, found, "building"),
            refused,
            check_kit_now(act, found, fact),
            _check_counts(fact, counted),
        )
        act.update(act.get(Place, found.place_id), closed=1)
        act.update(found, state="checked", checked_by_id=checker.id)
        said = [f"{found.code} is complete and closed, checked by {checker.name}; seal it."]
        if is_alone:
            act.note(RE_INSPECTION, of="check of a kit", subject=found.code)
            said.append(
                f"{checker.name} was declared alone: this is a re-inspection and the Office lists it."
            )
    return Done(act.event_id, (found.code,), tuple(said))


@desk.done_by(*_CHECKERS)
def seal_kit(
    store: Store, *, kit: str, seal: str, by: str, at: datetime, second: str = "", key: str = ""
) -> Done:
    """Seal a checked kit with a numbered seal; it expires with its earliest content (R13).

    Args:
        store: the store.
        kit: the kit's code.
        seal: the number of the seal.
        by: who puts the seal on, or records that the second person does.
        at: the instant.
        second: who puts the seal on, where another person is signed on.
        key: the caller's own name for the act.

    Raises:
        Refused: with every reason found at this moment, and a seal number that is taken (R5).
        BadInput: no seal number.
    """
    desk.require_text(seal=seal)
    with store.act("seal a kit", by=by, at=at, second=second or None, key=key) as act:
        found = desk.find_kit(act, kit)
        fact = kit_fact(act, found)
        require(
            desk.check_done_by(act, seal_kit),
            _check_sealer(act, found),
            check_kit_state(act, found, "checked"),
            check_kit_now(act, found, fact),
            _check_seal_is_free(act, seal),
        )
        day = fact.expiry.day
        act.update(found, state="sealed", seal=seal.strip(), expires_on=day.isoformat() if day else None)
    good = f"good {fact.expiry}" if day else "without expiry"
    return Done(
        act.event_id,
        (found.code,),
        (f"{found.code} is sealed with {seal.strip()}, {good}; label it and put it away.",),
    )


@desk.done_by("clerk")
def put_away_kit(store: Store, *, kit: str, to_place: str, by: str, at: datetime, key: str = "") -> Done:
    """Move a sealed kit, whole, to a bin, a van or the hold cage.

    Raises:
        Refused: it is not sealed (R5), or something in it is on hold or out of date and the place is not the hold
            cage (R6, R13).
        Conflict: it is issued.
    """
    with store.act("put a kit away", by=by, at=at, key=key) as act:
        found = desk.find_kit(act, kit)
        kinds = (PlaceKind.BIN, PlaceKind.VAN, PlaceKind.HOLD_CAGE)
        place = place_named(act, to_place, kinds=kinds)
        fact = kit_fact(act, found)
        require(
            desk.check_done_by(act, put_away_kit),
            check_kit_state(act, found, "sealed"),
            [] if place.kind == PlaceKind.HOLD_CAGE else check_still_good(act, fact),
        )
        here = bench_of(act, found)
        if here.id == place.id:
            raise BadInput(f"{found.code} is in {place.name} already", field="place")
        act.move_container(found.place_id, from_place_id=here.id, to_place_id=place.id)
    return Done(act.event_id, (found.code,), (f"{found.code} is in {place.name}.",))


# ---- what other acts on kits share ---------------------------------------------------------------


def check_kit_now(act: Act, kit: Kit, fact: KitFact) -> list[Refusal]:
    """Every reason against a kit's content now, and against its airframe's map where it was built for one.

    Of a dead kit there is none: its state is the reason.
    """
    if kit.state in DEAD:
        return []
    found = check_content(fact, now=kit_now(act))
    if kit.airframe_id:
        found += check_effectivity(fact, airframe_fact(act, act.get(Airframe, kit.airframe_id)))
    return found


def check_still_good(act: Act, fact: KitFact) -> list[Refusal]:
    """Every reason why what is in a closed kit is not fit for issue now: on hold or out of date (R6, R13)."""
    now = kit_now(act)
    found = [
        *check_holds(fact.holds),
        *check_stock(fact.stock, now=now),
        *(refusal for one in fact.sets for refusal in check_set(one, now=now)),
    ]
    return list(dict.fromkeys(found))


def check_seal_after_leaving(act: Act, kit: Kit, fact: KitFact, read_back: str) -> list[Refusal]:
    """Refuse a sealed kit that was out of the stores, in a van or in hands, until its seal is read again (R5, R9)."""
    out = "SELECT 1 FROM movement m JOIN place p ON p.id = m.to_place_id WHERE m.container_id = ? AND p.kind IN ('van', 'hands')"
    if kit.state not in ("sealed", "issued") or act.value(out, kit.place_id) is None:
        return []
    return check_kit_seal(fact, read_back)


def check_kit_seal(kit: KitFact, read_back: str) -> list[Refusal]:
    """Refuse a seal that was read otherwise than it is on record (R5); the read text is data."""
    problems = check_text(read_back.strip(), field="seal") if read_back.strip() else ()
    return check_seal(kit, read_back="" if problems else read_back)


def _check_checker(act: Act, kit: Kit, checker: Person) -> tuple[list[Refusal], bool]:
    """The reasons against who checks, and whether it is a re-inspection; where two are there, nobody is alone."""
    job = act.get(Job, kit.job_id) if kit.job_id else None
    what = f"the check of {kit.code}"
    refused, is_alone = check_other_person(act, checker, others=builders(act, kit), what=what, job=job)
    if act.second is None:
        return refused, is_alone
    refused = _check_two(act, what=what) or refused
    if is_alone and not refused:
        message = (
            f"{checker.name} built {kit.code} and {act.by.name} is there, so nobody is alone (R8); "
            f"let {act.by.name} check it and name no second person."
        )
        refused = [Refusal(Rule.SECOND_PERSON, checker.code, message)]
    return [*refused, *desk.check_role(act, *_CHECKERS, person=checker)], False


def _check_sealer(act: Act, kit: Kit) -> list[Refusal]:
    """The reasons against the second person who puts a seal on, where there is one."""
    if act.second is None:
        return []
    found = _check_two(act, what=f"the seal of {kit.code}")
    return [*found, *desk.check_role(act, *_CHECKERS, person=act.second)]


def _check_two(act: Act, *, what: str) -> list[Refusal]:
    """Refuse a second person who is the first one, or a script (R8)."""
    return desk.check_second(first=act.by, second=act.second, what=what)


def _check_counts(fact: KitFact, counted: Sequence[Counted]) -> list[Refusal]:
    wrong = [c.rank for c in counted if not 1 <= c.rank <= len(fact.lines)]
    if wrong:
        raise BadInput(f"{fact.code} has the lines 1 to {len(fact.lines)}, none {wrong[0]}", field="counted")
    lines = [(fact.lines[c.rank - 1], c.quantity) for c in counted]
    return [
        Refusal(
            Rule.KIT_ARITHMETIC,
            fact.code,
            f"{line.name}: {line.amount(quantity)} counted, {line.amount(line.have)} on record in {fact.code}; "
            "count again, then swap what is wrong.",
        )
        for line, quantity in lines
        if quantity != line.have
    ]


def _check_seal_is_free(act: Act, seal: str) -> list[Refusal]:
    taken = act.find(Kit, seal=seal.strip())
    if taken is None:
        return []
    message = (
        f"The seal {seal.strip()} is on {taken.code} on record; a seal number is used once: take a new seal."
    )
    return [Refusal(Rule.WHOLE_KIT, taken.code, message)]
