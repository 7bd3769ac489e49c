"""Inspection of whole rotor sets: what was removed or came back becomes serviceable by nothing else.

Source: design R2 (mark), R10 (removed parts), R13 (service life), R19 (proof), section 2 (before day one).
"""

from dataclasses import replace
from datetime import datetime

from kittrack.domain.ledger import PlaceKind
from kittrack.domain.rules import Rule, require
from kittrack.domain.soundness import Moment, check_set
from kittrack.errors import BadInput, Refusal
from kittrack.services import accepting, desk
from kittrack.services.accepting import ACCEPTED, CONDITION_AFTER, HELD, REJECTED
from kittrack.services.desk import Done
from kittrack.services.position_desk import human
from kittrack.services.weighing import WITHIN_REACH
from kittrack.store.act import Act
from kittrack.store.database import Store
from kittrack.store.kit_facts import set_facts
from kittrack.store.records import Event, Inspection, Part, Person, Removal, RotorSet
from kittrack.store.stock import chain, inside_of, place_named


@desk.done_by("inspector", "technician")
def inspect_set(
    store: Store,
    *,
    rotor_set: str,
    mark: str,
    note: str,
    by: str,
    at: datetime,
    result: str = ACCEPTED,
    to_place: str = "",
    key: str = "",
) -> Done:
    """Inspect a rotor set that was removed, came back, or has an unknown history.

    A set whose mark is unknown, missing or of the other sense stays on hold whatever its result (R2).

    Args:
        rotor_set: the set's code.
        mark: the mark read on the rotor itself.
        note: what was looked at and seen.
        result: "accepted", "held" or "rejected".
        to_place: the bin into which an accepted set goes; empty leaves it where it is.

    Raises:
        Refused: not an inspector or technician, or the one who removed it (R10); not whole (R1), not proved
            (R19), no life left (R13), on hold (R6).
        BadInput: an unknown result, no note, or a place for what is not accepted.
    """
    desk.require_text(note=note)
    if result not in CONDITION_AFTER:
        raise BadInput(
            f"{result!r} is no result; it is one of: {', '.join(CONDITION_AFTER)}.", field="result"
        )
    with store.act("inspect a rotor set", by=by, at=at, reason=note, key=key) as act:
        found = desk.find_set(act, rotor_set)
        target = place_named(act, to_place, kinds=(PlaceKind.BIN,)) if to_place else None
        why = _mark_fault(act, found, mark)
        verdict = HELD if why and result == ACCEPTED else result
        require(
            desk.check_done_by(act, inspect_set),
            desk.check_human(act.by, what=f"the inspection of {found.code}"),
            _check_not_the_remover(act, found),
            _check_within_reach(act, found),
            _check_accepted(act, found) if verdict == ACCEPTED else [],
        )
        act.update(found, condition=CONDITION_AFTER[verdict])
        _write(act, found, verdict, mark=mark, note=f"{note}; {why}" if why else note)
        if target is not None and verdict == ACCEPTED:
            act.move_container(
                found.place_id, from_place_id=inside_of(act, found.place_id), to_place_id=target.id
            )
        said = _said(found, verdict, why, place=target.name if target else "")
    return Done(act.event_id, (found.code,), (said,))


def _mark_fault(act: Act, rotor_set: RotorSet, mark: str) -> str:
    part = act.get(Part, rotor_set.part_id)
    sense = accepting.sense_of_mark(act, part, mark)
    if sense == rotor_set.sense:
        return ""
    if not mark.strip():
        return "no mark was read on it"
    means = f"means {sense}" if sense else f"is not in the mark table of {part.number}"
    return f"its mark {mark.strip()!r} {means}, and the set turns {rotor_set.sense}"


def _check_not_the_remover(act: Act, rotor_set: RotorSet) -> list[Refusal]:
    last = act.select(Removal, "rotor_set_id = ?", rotor_set.id, order="id DESC", limit=1)
    if not last:
        return []
    remover = act.get(Person, act.get(Event, last[0].event_id).by_id)
    if human(remover) != human(act.by):
        return []
    message = f"{act.by.name} took {rotor_set.code} off and can't inspect it; let another inspector or technician do it."
    return [Refusal(Rule.REMOVED_PARTS, rotor_set.code, message)]


def _check_within_reach(act: Act, rotor_set: RotorSet) -> list[Refusal]:
    around = chain(act, rotor_set.place_id)
    kinds = [p.kind for p in around]
    if rotor_set.state != "complete":
        message = f"{rotor_set.code} is broken and never serviceable again; inspect its blades one by one."
        return [Refusal(Rule.WHOLE_SET, rotor_set.code, message)]
    if PlaceKind.KIT in kinds:
        message = f"{rotor_set.code} is in kit {around[kinds.index(PlaceKind.KIT)].code}; open or dissolve the kit first."
        return [Refusal(Rule.WHOLE_KIT, rotor_set.code, message)]
    if kinds[-1] not in WITHIN_REACH:
        message = f"{rotor_set.code} is at {around[1].name}; bring it to the stores before it is inspected."
        return [Refusal(Rule.REMOVED_PARTS, rotor_set.code, message)]
    if rotor_set.bound_position_id is not None:
        message = f"{rotor_set.code} goes back to its position after transport; give the refit up before it is inspected."
        return [Refusal(Rule.REMOVED_PARTS, rotor_set.code, message)]
    return []


def _check_accepted(act: Act, rotor_set: RotorSet) -> list[Refusal]:
    """Every reason why the set would not be fit for issue even if this inspection found nothing."""
    (fact,) = set_facts(act, [rotor_set])
    as_accepted = replace(fact, condition=CONDITION_AFTER[ACCEPTED], history_settled=True, bound_to="")
    return check_set(as_accepted, now=Moment(act.moment, desk.zone(act)))


def _write(act: Act, rotor_set: RotorSet, result: str, *, mark: str, note: str) -> None:
    part = act.get(Part, rotor_set.part_id)
    act.insert(
        Inspection(
            rotor_set_id=rotor_set.id,
            quantity=1,
            result=result,
            mark=mark.strip(),
            sense=accepting.sense_of_mark(act, part, mark),
            note=note,
            event_id=act.event_id,
        )
    )


def _said(rotor_set: RotorSet, result: str, why: str, *, place: str) -> str:
    if result == ACCEPTED:
        return f"{rotor_set.sense} set {rotor_set.code} is serviceable{f' and in {place}' if place else ': put it away'}."
    if result == REJECTED:
        return f"{rotor_set.code} is unserviceable: break it, or scrap it with a witness."
    return f"{rotor_set.code} stays on hold{f': {why}' if why else ''}; nobody guesses."
