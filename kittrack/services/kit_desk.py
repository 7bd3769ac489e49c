"""What every act on a kit asks: which kit, may it still be changed, who worked on it, where things go.

Source: design R5 (a sealed kit is whole), R6, R8.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import replace

from kittrack.domain.kit_checks import check_state
from kittrack.domain.ledger import Condition, PlaceKind
from kittrack.domain.rules import Rule, require
from kittrack.domain.soundness import Moment, SetFact, StockFact, check_set, check_stock
from kittrack.errors import Conflict, Refusal
from kittrack.services import desk
from kittrack.services.kit_holds import pass_on_holds
from kittrack.services.position_desk import human
from kittrack.store.act import Act, Reading, Slot
from kittrack.store.job_facts import who_has
from kittrack.store.kit_facts import marks, set_facts, stock_facts
from kittrack.store.last_change import last_change
from kittrack.store.records import Job, Kit, KitPick, Person, Piece, Place, RotorSet
from kittrack.store.stock import end_place, place_named


def kit_now(act: Act) -> Moment:
    """The moment of an act, with the stores' time zone."""
    return Moment(act.moment, desk.zone(act))


def bench_of(read: Reading, kit: Kit) -> Place:
    """The place that a kit is in."""
    where = "id = (SELECT inside_id FROM containment WHERE container_id = ?)"
    return read.select(Place, where, kit.place_id)[0]


def check_kit_state(read: Reading, kit: Kit, *allowed: str) -> list[Refusal]:
    """Refuse where a kit's state does not allow an act (R5).

    Raises:
        Conflict: the kit is issued and the act takes one that is not: says to whom, by whom and when.
    """
    if kit.state in allowed:
        return []
    if kit.state == "issued":
        raise Conflict(who_has(read, kit))
    return _and_who(read, kit, check_state(kit.code, kit.state, allowed=allowed))


def _and_who(read: Reading, kit: Kit, refused: list[Refusal]) -> list[Refusal]:
    """Refusals for a kit's state, with who gave it that state."""
    return [replace(r, message=f"{r.message} {last_change(read, kit)}".rstrip()) for r in refused]


@desk.done_by("clerk")
def find_kit_to_change(act: Act, text: str) -> Kit:
    """A kit whose content may be changed; one that was checked goes back to work and is open again.

    Raises:
        Refused: it is sealed or dead (R5), it makes a job good, or the person is no clerk.
    """
    kit = desk.find_kit(act, text)
    require(
        desk.check_done_by(act, find_kit_to_change),
        check_kit_state(act, kit, "building", "checked"),
        _check_full(kit),
    )
    if kit.state == "checked":
        act.update(act.get(Place, kit.place_id), closed=0)
        kit = act.update(kit, state="building", checked_by_id=None)
    return kit


def _check_full(kit: Kit) -> list[Refusal]:
    if kit.purpose == "full":
        return []
    message = f"{kit.code} makes a job good and was picked for what that job owed then; dissolve it and build it again."
    return [Refusal(Rule.KIT_ARITHMETIC, kit.code, message)]


def builders(read: Reading, kit: Kit) -> frozenset[int]:
    """The humans who built a kit or picked anything that is in it (R8)."""
    rows = read.rows(
        "SELECT DISTINCT e.by_id FROM kit_pick k JOIN event e ON e.id = k.event_id WHERE k.kit_id = ? AND k.active = 1",
        kit.id,
    )
    people = {kit.built_by_id, *(row[0] for row in rows)}
    return frozenset(human(read.get(Person, who)) for who in people)


def check_other_person(
    act: Act, person: Person, *, others: Iterable[int], what: str, job: Job | None = None
) -> tuple[list[Refusal], bool]:
    """Whether a person may make a second check (R8).

    Args:
        act: the act.
        person: who makes the check.
        others: the humans whose work is checked.
        what: the check in words.
        job: the job, for a declaration that nobody else is there.

    Returns:
        The refusals, and whether the check is a re-inspection by the same person, declared alone.
    """
    if person.is_script or human(person) not in set(others):
        return desk.check_human(person, what=what), False
    if desk.is_declared_alone(act, person, on=desk.today(act), job=job):
        return [], True
    message = (
        f"{person.name} can't make {what} of their own work; let another person do it, "
        "or have a manager declare that nobody else is there."
    )
    return [Refusal(Rule.SECOND_PERSON, person.code, message)], False


# ---- where things go -----------------------------------------------------------------------------


def lay_aside(act: Act, kit: Kit, picks: Sequence[KitPick], *, to_bin: str) -> tuple[str, ...]:
    """Take picked things out of a kit in the stores: to a bin, or to the hold cage what is not fit for issue."""
    target = place_named(act, to_bin, kinds=(PlaceKind.BIN,))
    set_ids = [p.rotor_set_id for p in picks if p.rotor_set_id]
    out = act.select(RotorSet, f"id IN ({marks(set_ids)})", *set_ids)
    bottles = [act.get(Piece, p.piece_id) for p in picks if p.piece_id]
    held = desk.check_holds(act, kits=[kit.id])
    kept = pass_on_holds(act, kit, rotor_sets=out, pieces=bottles)
    said = [_lay_set(act, kit, one, target) for one in set_facts(act, out)]
    wanted: dict[tuple[int, int | None], int] = defaultdict(int)
    for pick in picks:
        if pick.receipt_line_id:
            wanted[pick.receipt_line_id, pick.piece_id] += pick.quantity
    for item in stock_facts(act, "h.place_id = ?", kit.place_id):
        quantity = min(item.quantity, wanted[item.line_id, item.piece_id])
        if quantity:
            wanted[item.line_id, item.piece_id] -= quantity
            said.append(_lay_stock(act, item, quantity, target, held))
    for pick in picks:
        act.update(pick, active=0)
    return (*said, *kept)


def _lay_set(act: Act, kit: Kit, one: SetFact, target: Place) -> str:
    wrong = check_set(one, now=kit_now(act))
    place = end_place(act, PlaceKind.HOLD_CAGE) if wrong else target
    act.move_container(one.place_id, from_place_id=kit.place_id, to_place_id=place.id)
    why = f" ({wrong[0].message})" if wrong else ""
    return f"Put {one.code} into {place.name}{why}."


def _lay_stock(act: Act, item: StockFact, quantity: int, target: Place, kit_held: Sequence[Refusal]) -> str:
    wrong = [*kit_held, *check_stock([item], now=kit_now(act))]
    place = end_place(act, PlaceKind.HOLD_CAGE) if wrong else target
    condition = item.condition if not wrong or item.condition != Condition.SERVICEABLE else Condition.ON_HOLD
    act.move_stock(
        item.line_id,
        quantity,
        from_slot=Slot(item.place_id, item.condition, item.piece_id),
        to_slot=Slot(place.id, str(condition), item.piece_id),
    )
    why = f" ({wrong[0].message})" if wrong else ""
    amount = f"{quantity / 1000:g} mL" if item.part_kind == "consumable" else str(quantity)
    return f"Put {amount} of {item.name} into {place.name}{why}."
