"""Shift hand-overs: what would be handed over now, what was, and the report to sign.

Source: design R8; trade practice (ICAO COSCAP AC 020).
"""

from dataclasses import dataclass
from datetime import datetime

from kittrack.domain import codes
from kittrack.printing.documents import Caution, Document, Table
from kittrack.queries.paper import GENERAL, Stores, copies, copy_note
from kittrack.store.act import Reading
from kittrack.store.database import Store
from kittrack.store.numbers import not_held
from kittrack.store.records import Event, Person, ShiftHandover, ShiftHandoverLine
from kittrack.store.shift_facts import ShiftLine, shift_lines

TITLE = "Shift hand-over"


@dataclass(frozen=True)
class HandOver:
    """A hand-over with both names, its words, and what was open then. Instants are UTC; `since` is "" for the first."""

    handover: str
    at: str
    since: str
    by: str
    taken_by: str
    text: str
    lines: tuple[ShiftLine, ...]


@dataclass(frozen=True)
class HandOverSummary:
    """A hand-over in a list."""

    handover: str
    at: str
    by: str
    taken_by: str
    lines: int
    text: str


def shift_report(store: Store) -> tuple[ShiftLine, ...]:
    """What the store would hand over now, by section: look at it before the words are written."""
    with store.reading() as read:
        last = read.select(ShiftHandover, order="id DESC", limit=1)
        since = read.get(Event, last[0].event_id).at if last else ""
        return tuple(shift_lines(read, since=since))


def handover(store: Store, *, handover: str) -> HandOver:
    """A hand-over as it was.

    Raises:
        NotFound: the store holds no such hand-over.
    """
    with store.reading() as read:
        return _handover(read, _find(read, handover))


def handovers(store: Store) -> tuple[HandOverSummary, ...]:
    """Every hand-over, the newest first."""
    with store.reading() as read:
        found = [_handover(read, one) for one in read.select(ShiftHandover, order="id DESC")]
    return tuple(HandOverSummary(h.handover, h.at, h.by, h.taken_by, len(h.lines), h.text) for h in found)


def handover_document(store: Store, *, handover: str, at: datetime) -> Document:
    """The hand-over as a document that both sign.

    Raises:
        NotFound: the store holds no such hand-over.
    """
    with store.reading() as read:
        stores = Stores(read, at=at)
        found = _handover(read, _find(read, handover))
        return Document(
            TITLE,
            found.handover,
            facts=(
                ("Handed over", stores.local(found.at)), ("By", found.by), ("Taken over by", found.taken_by),
                ("Since", stores.local(found.since) or "the first hand-over on record"), ("In words", found.text),
            ),
            tables=_tables(found.lines),
            cautions=(
                *copy_note(copies(read, stores, f"{TITLE} {found.handover}")),
                (Caution.CAUTION, "A position that is not finished is not safe to fly. Go to the aircraft and look."),
                (Caution.NOTE, "Walk through this together; what is said goes along with what is written."),
                GENERAL,
            ),
            signatures=(f"Handed over by {found.by}", f"Taken over by {found.taken_by}"),
            footer=stores.foot,
        )  # fmt: skip


def _tables(lines: tuple[ShiftLine, ...]) -> tuple[Table, ...]:
    sections = dict.fromkeys(line.section for line in lines)
    if not sections:
        return (Table("Open", ("What",), (), empty="nothing is open"),)
    return tuple(
        Table(
            section[:1].upper() + section[1:], ("What", "To be known"),
            tuple((line.subject, line.text) for line in lines if line.section == section),
        )
        for section in sections
    )  # fmt: skip


def _find(read: Reading, text: str) -> ShiftHandover:
    code = codes.read_code(text, expect=codes.Kind.SHIFT_HANDOVER).text
    found = read.find(ShiftHandover, code=code)
    if found is None:
        raise not_held(read, code)
    return found


def _handover(read: Reading, found: ShiftHandover) -> HandOver:
    event = read.get(Event, found.event_id)
    taker = read.get(Person, event.second_id).name if event.second_id else ""
    lines = read.select(ShiftHandoverLine, "shift_handover_id = ?", found.id, order="rank")
    return HandOver(
        found.code, event.at, found.since_at, read.get(Person, event.by_id).name, taker, found.text,
        tuple(ShiftLine(x.section, x.subject, x.text) for x in lines),
    )  # fmt: skip
