"""Recall drills: how long it takes until everything under a scope was seen, without holding anything.

A drill names the places where the record has something; somebody looks at each and reports what is there. What
has left the stores for good counts as accounted for by its record. Source: design R15; a recall drill with its time
to full account is common practice of audits, no published source.
"""

from collections.abc import Sequence
from datetime import datetime, timedelta

from kittrack.domain import codes
from kittrack.domain.ledger import AccountClass, PlaceKind
from kittrack.domain.rules import Rule, require
from kittrack.errors import BadInput, NotFound, Refusal
from kittrack.services import desk
from kittrack.services.desk import Done
from kittrack.store.act import Act, read_instant_text
from kittrack.store.database import Store
from kittrack.store.recall_facts import located_under, part_of_line
from kittrack.store.recall_scope import Scope, resolve
from kittrack.store.records import Event, RecallDrill, RecallDrillLine, ReceiptLine
from kittrack.store.stock import Located

SEEN = (
    AccountClass.SHELF, AccountClass.HOLD, AccountClass.BENCH, AccountClass.SEALED, AccountClass.VAN,
    AccountClass.ISSUED, AccountClass.FITTED, AccountClass.REMOVED,
)  # fmt: skip
"""The classes of the account that can be gone and looked at."""


@desk.done_by("clerk", "inspector", "manager")
def start_drill(store: Store, *, scope: Scope, reason: str, by: str, at: datetime, key: str = "") -> Done:
    """Start a recall drill: nothing is held, every place that has something of the scope is to be looked at.

    Args:
        store: the store.
        scope: what is played to be recalled, as for a hold.
        reason: why the drill is held.

    Raises:
        NotFound: nothing was ever received under it.
        BadInput: nothing of it is left to look at.
    """
    desk.require_text(reason=reason)
    with store.act("start a recall drill", by=by, at=at, reason=reason, key=key) as act:
        require(desk.check_done_by(act, start_drill))
        covered = resolve(act, scope)
        drill = act.insert(
            RecallDrill(
                code=act.new_code(RecallDrill, codes.Kind.DRILL), scope=covered.scope, scope_text=covered.text,
                started_event_id=act.event_id,
            )
        )  # fmt: skip
        count = _insert_lines(act, drill, located_under(act, covered))
        if not count:
            raise BadInput(f"Nothing of {covered.text} is left to look at; take another lot for the drill.")
    said = (
        f"DRILL {drill.code} of {covered.text}: nothing is held. {count} entries are to be seen; report each."
    )
    return Done(act.event_id, (drill.code,), (said,))


@desk.done_by("clerk", "technician", "inspector", "manager")
def report_drill(store: Store, *, drill: str, line: int, found: int, by: str, at: datetime, key: str = "") -> Done:  # fmt: skip
    """Report what was seen at one entry of a drill; the last report ends it and tells how long it took.

    Args:
        store: the store.
        drill: the drill's code.
        line: the entry's number on the drill's list.
        found: how much was seen there, in the unit of the part.

    Raises:
        NotFound: the drill has no such entry.
        Refused: it was reported already, or the drill has ended (R12).
    """
    with store.act("report at a recall drill", by=by, at=at, key=key) as act:
        one = _find_drill(act, drill)
        entry = act.find(RecallDrillLine, recall_drill_id=one.id, rank=line)
        if entry is None:
            raise NotFound(f"{one.code} has no entry {line}; its list: kittrack drill show {one.code}")
        if found < 0:
            raise BadInput(f"{found} can't be there; report how much was seen.", field="found")
        require(desk.check_done_by(act, report_drill), _check_unreported(one, entry))
        act.update(entry, found=found, reported_event_id=act.event_id)
        said = _after_report(act, one)
    return Done(act.event_id, (one.code,), said)


@desk.done_by("inspector", "manager")
def stop_drill(store: Store, *, drill: str, reason: str, by: str, at: datetime, key: str = "") -> Done:
    """End a drill before everything was seen; what nobody reported counts as not seen.

    Raises:
        Refused: it has ended already (R12).
    """
    desk.require_text(reason=reason)
    with store.act("stop a recall drill", by=by, at=at, reason=reason, key=key) as act:
        one = _find_drill(act, drill)
        require(desk.check_done_by(act, stop_drill), _check_running(one))
        act.update(one, ended_event_id=act.event_id)
        left = len(_unreported(act, one))
    return Done(act.event_id, (one.code,), (f"{one.code} is stopped; {left} entries were not seen.",))


def _insert_lines(act: Act, drill: RecallDrill, found: Sequence[Located]) -> int:
    """Write an entry for each class, place and part; answers with how many."""
    sums: dict[tuple[AccountClass, str, int, str], int] = {}
    for one in found:
        if one.account_class not in SEEN:
            continue
        part = part_of_line(act, one.stock.receipt_line_id)
        unit = act.get(ReceiptLine, one.stock.receipt_line_id).unit
        key = (one.account_class, _place_in_words(one), part.id, unit)
        sums[key] = sums.get(key, 0) + one.stock.quantity
    order = list(AccountClass)
    ranked = sorted(sums.items(), key=lambda item: (order.index(item[0][0]), item[0][1:]))
    for rank, ((kind, where, part_id, unit), quantity) in enumerate(ranked, start=1):
        act.insert(
            RecallDrillLine(
                recall_drill_id=drill.id, rank=rank, account_class=kind.value, at_place=where, part_id=part_id,
                unit=unit, expected=quantity,
            )
        )  # fmt: skip
    return len(ranked)


def _place_in_words(one: Located) -> str:
    """Where somebody goes to look: the position on an airframe, or else the outermost place."""
    return (one.innermost(PlaceKind.POSITION) or one.chain[-1]).name


def _after_report(act: Act, drill: RecallDrill) -> tuple[str, ...]:
    left = _unreported(act, drill)
    if left:
        return (f"{len(left)} entries of {drill.code} are still to be seen.",)
    act.update(drill, ended_event_id=act.event_id)
    lines = act.select(RecallDrillLine, "recall_drill_id = ?", drill.id, order="rank")
    started = read_instant_text(act.get(Event, drill.started_event_id).at)
    took = (act.moment - started) // timedelta(minutes=1)
    wrong = [line for line in lines if line.found != line.expected]
    if not wrong:
        return (
            f"{drill.code} has ended: all of {drill.scope_text} was seen, {took} minutes after the start.",
        )
    told = [
        f"entry {w.rank}, {w.at_place}: {w.found} seen, {w.expected} on record; count that place."
        for w in wrong
    ]
    return (f"{drill.code} has ended after {took} minutes and does NOT add up.", *told)


def _unreported(act: Act, drill: RecallDrill) -> list[RecallDrillLine]:
    return act.select(RecallDrillLine, "recall_drill_id = ? AND found IS NULL", drill.id)


def _check_unreported(drill: RecallDrill, entry: RecallDrillLine) -> list[Refusal]:
    if drill.ended_event_id is None and entry.found is not None:
        message = f"Entry {entry.rank} of {drill.code} was reported already; report the next one."
        return [Refusal(Rule.NOTHING_ERASED, drill.code, message)]
    return _check_running(drill)


def _check_running(drill: RecallDrill) -> list[Refusal]:
    if drill.ended_event_id is None:
        return []
    return [Refusal(Rule.NOTHING_ERASED, drill.code, f"{drill.code} has ended; start another drill.")]


def _find_drill(act: Act, text: str) -> RecallDrill:
    code = codes.read_code(text, expect=codes.Kind.DRILL).text
    found = act.find(RecallDrill, code=code)
    if found is None:
        raise NotFound(f"the store holds nothing under {code}")
    return found
