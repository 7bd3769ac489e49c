"""Handing a shift over: what the store knows is open, the words of the one who leaves, and both names.

The record is no substitute for talking: the two walk through it together. Source: design R8; 20 to 30 minutes of overlap,
written and by word, are good practice (ICAO COSCAP AC 020).
"""

from datetime import datetime

from kittrack.domain import codes
from kittrack.domain.rules import require
from kittrack.domain.text import check_text
from kittrack.errors import BadInput
from kittrack.services import desk
from kittrack.services.desk import Done
from kittrack.store.act import Act
from kittrack.store.database import Store
from kittrack.store.records import Event, ShiftHandover, ShiftHandoverLine
from kittrack.store.shift_facts import shift_lines

_LONGEST = 2000
_NEVER = ""  # before every instant


@desk.done_by("clerk", "technician", "inspector", "manager")
def hand_over_shift(store: Store, *, text: str, second: str, by: str, at: datetime, key: str = "") -> Done:
    """Hand the shift over to the person who takes it; what is open is kept as it is at this moment.

    Args:
        store: the store.
        text: what the next shift has to know that the store does not, in the words of the one who leaves.
        second: who takes over, and confirms it.
        by: who hands over.

    Raises:
        BadInput: no words, or more than 2,000 characters.
        Refused: nobody else takes over (R8), or somebody who only reads hands over.
    """
    problems = check_text(text.strip(), field="text", max_length=_LONGEST)
    if problems:
        raise BadInput(problems)
    with store.act("hand a shift over", by=by, at=at, second=second or None, key=key) as act:
        require(
            desk.check_done_by(act, hand_over_shift),
            desk.check_second(first=act.by, second=act.second, what="Taking a shift over"),
        )
        since = _last(act)
        made = act.insert(
            ShiftHandover(
                code=act.new_code(ShiftHandover, codes.Kind.SHIFT_HANDOVER), since_at=since, text=text.strip(),
                event_id=act.event_id,
            )
        )  # fmt: skip
        lines = shift_lines(act, since=since)
        for rank, line in enumerate(lines, start=1):
            act.insert(
                ShiftHandoverLine(
                    shift_handover_id=made.id,
                    rank=rank,
                    section=line.section,
                    subject=line.subject,
                    text=line.text,
                )
            )
        taker = act.second.name if act.second else ""
    said = f"{made.code}: {taker} takes over; {len(lines)} lines are handed over. Print it and walk through it together."
    return Done(act.event_id, (made.code,), (said,))


def _last(act: Act) -> str:
    """The instant of the last hand-over; before every instant where there was none."""
    before = act.select(ShiftHandover, order="id DESC", limit=1)
    return act.get(Event, before[0].event_id).at if before else _NEVER
