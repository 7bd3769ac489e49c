"""Recalls and drills: how far each is, what is left to do, who was told and what they answered.

Source: design R15.
"""

from dataclasses import dataclass
from datetime import timedelta

from kittrack.domain import codes
from kittrack.domain.ledger import AccountClass
from kittrack.errors import NotFound, Refusal
from kittrack.store.act import Reading, read_instant_text
from kittrack.store.database import Store
from kittrack.store.numbers import not_held
from kittrack.store.recall_facts import part_of_line, recalled_stock
from kittrack.store.recall_scope import find_hold
from kittrack.store.recall_standing import against_closing, recipients_without_notice
from kittrack.store.records import (
    Event,
    Hold,
    Part,
    Person,
    Piece,
    RecallClosure,
    RecallDrill,
    RecallDrillLine,
    RecallNotice,
    ReceiptLine,
)


@dataclass(frozen=True)
class Notice:
    """A notice: to whom, how far it is, what was answered. Instants are UTC."""

    notice: str
    kind: str
    recipient: str
    state: str
    sent_how: str
    sent_at: str
    answer: str
    answered_at: str


@dataclass(frozen=True)
class StockUnderRecall:
    """Stock that a recall still covers; `settled` says how it came to its end, "" while it is open."""

    account_class: AccountClass
    part: str
    sense: str
    quantity: int
    unit: str
    receipt_line: str
    piece: str
    serial: str
    where: str
    settled: str


@dataclass(frozen=True)
class RecallStanding:
    """How far a recall is: "open", "closed" or "cancelled", and every reason against closing it.

    `without_notice` names who has something of it and no notice yet.
    """

    hold: str
    of: str
    reason: str
    reference: str
    placed_at: str
    placed_by: str
    state: str
    ended_under: str
    stock: tuple[StockUnderRecall, ...]
    notices: tuple[Notice, ...]
    against: tuple[Refusal, ...]
    without_notice: tuple[str, ...] = ()


@dataclass(frozen=True)
class RecallSummary:
    """One recall in a list: how many entries and notices are still open."""

    hold: str
    of: str
    reference: str
    placed_at: str
    state: str
    open_entries: int
    notices_open: int


@dataclass(frozen=True)
class DrillEntry:
    """One place that a drill sends somebody to. What the record says is told once somebody reported."""

    entry: int
    account_class: AccountClass
    where: str
    part: str
    sense: str
    unit: str
    found: int | None
    expected: int | None
    by: str


@dataclass(frozen=True)
class DrillSummary:
    """One drill in a list, with its time to full account."""

    drill: str
    of: str
    started_at: str
    minutes: int | None
    unseen: int
    adds_up: bool | None


@dataclass(frozen=True)
class Drill:
    """A recall drill. `minutes` is the time to the end; `adds_up` is None while it runs."""

    drill: str
    of: str
    started_at: str
    started_by: str
    ended_at: str
    minutes: int | None
    adds_up: bool | None
    unseen: int
    entries: tuple[DrillEntry, ...]


def recall_standing(store: Store, *, hold: str) -> RecallStanding:
    """How far a recall is, with all its stock and notices.

    Raises:
        NotFound: no recall is known under the code.
    """
    with store.reading() as read:
        found = find_hold(read, hold)
        if not found.is_recall:
            raise NotFound(
                f"{found.code} is a hold and no recall; ask for its account: kittrack recall {found.code}"
            )
        return _standing(read, found)


def recalls(store: Store, *, only_open: bool = False) -> tuple[RecallSummary, ...]:
    """Every recall, the newest first."""
    with store.reading() as read:
        found = [_summary(read, hold) for hold in read.select(Hold, "is_recall = 1", order="id DESC")]
    return tuple(one for one in found if one.state == "open" or not only_open)


def notices(store: Store, *, only_open: bool = False) -> tuple[Notice, ...]:
    """Every notice of every recall, the newest first."""
    where = "state <> 'answered'" if only_open else ""
    with store.reading() as read:
        return tuple(notice_of(read, one) for one in read.select(RecallNotice, where, order="id DESC"))


def drill(store: Store, *, drill: str) -> Drill:
    """A recall drill with every entry of its list.

    Raises:
        NotFound: no drill is known under the code.
    """
    code = codes.read_code(drill, expect=codes.Kind.DRILL).text
    with store.reading() as read:
        found = read.find(RecallDrill, code=code)
        if found is None:
            raise not_held(read, code)
        return _drill(read, found)


def drills(store: Store) -> tuple[DrillSummary, ...]:
    """Every drill, the newest first, with its time to full account."""
    with store.reading() as read:
        found = [_drill(read, one) for one in read.select(RecallDrill, order="id DESC")]
    return tuple(DrillSummary(d.drill, d.of, d.started_at, d.minutes, d.unseen, d.adds_up) for d in found)


# ---- recalls -------------------------------------------------------------------------------------


def _standing(read: Reading, hold: Hold) -> RecallStanding:
    state, ended_under = _state(read, hold)
    placed = read.get(Event, hold.placed_event_id)
    own = read.select(RecallNotice, "hold_id = ?", hold.id)
    return RecallStanding(
        hold=hold.code, of=hold.scope_text, reason=hold.reason, reference=hold.reference, placed_at=placed.at,
        placed_by=read.get(Person, placed.by_id).name, state=state, ended_under=ended_under,
        stock=_stock(read, hold), notices=tuple(notice_of(read, n) for n in own),
        against=tuple(against_closing(read, hold)) if state == "open" else (),
        without_notice=tuple(one.name for one in recipients_without_notice(read, hold)) if state == "open" else (),
    )  # fmt: skip


def _state(read: Reading, hold: Hold) -> tuple[str, str]:
    closure = read.find(RecallClosure, hold_id=hold.id)
    if closure is not None:
        return "closed", closure.reference
    return ("open", "") if hold.released_event_id is None else ("cancelled", hold.release_reference)


def _summary(read: Reading, hold: Hold) -> RecallSummary:
    state, _ = _state(read, hold)
    left = [one for one in recalled_stock(read, hold) if not one.is_settled] if state == "open" else []
    waiting = read.value(
        "SELECT count(*) FROM recall_notice WHERE hold_id = ? AND state <> 'answered'", hold.id
    )
    at = read.get(Event, hold.placed_event_id).at
    return RecallSummary(hold.code, hold.scope_text, hold.reference, at, state, len(left), int(waiting))


def _stock(read: Reading, hold: Hold) -> tuple[StockUnderRecall, ...]:
    order = list(AccountClass)
    found = []
    for one in recalled_stock(read, hold):
        part = part_of_line(read, one.receipt_line_id)
        piece = read.get(Piece, one.piece_id) if one.piece_id else None
        settled = one.decision or ("by its movement" if one.is_settled else "")
        found.append(
            StockUnderRecall(
                one.account_class, part.number, part.sense or "", one.quantity, one.unit,
                read.get(ReceiptLine, one.receipt_line_id).code, piece.code if piece else "",
                (piece.serial or "") if piece else "", one.in_words, settled,
            )
        )  # fmt: skip
    return tuple(
        sorted(found, key=lambda s: (order.index(s.account_class), s.where, s.receipt_line, s.piece))
    )


def notice_of(read: Reading, notice: RecallNotice) -> Notice:
    """A notice as it is shown."""
    return Notice(
        notice.code, notice.recipient_kind, notice.recipient, notice.state, notice.sent_how,
        _at(read, notice.sent_event_id), notice.answer, _at(read, notice.answered_event_id),
    )  # fmt: skip


def _at(read: Reading, event_id: int | None) -> str:
    return read.get(Event, event_id).at if event_id else ""


# ---- drills --------------------------------------------------------------------------------------


def _drill(read: Reading, found: RecallDrill) -> Drill:
    started = read.get(Event, found.started_event_id)
    ended_at = _at(read, found.ended_event_id)
    lines = read.select(RecallDrillLine, "recall_drill_id = ?", found.id, order="rank")
    minutes = (
        (read_instant_text(ended_at) - read_instant_text(started.at)) // timedelta(minutes=1)
        if ended_at
        else None
    )
    return Drill(
        drill=found.code, of=found.scope_text, started_at=started.at, started_by=read.get(Person, started.by_id).name,
        ended_at=ended_at, minutes=minutes, adds_up=all(x.found == x.expected for x in lines) if ended_at else None,
        unseen=sum(1 for x in lines if x.found is None), entries=tuple(_entry(read, x) for x in lines),
    )  # fmt: skip


def _entry(read: Reading, line: RecallDrillLine) -> DrillEntry:
    part = read.get(Part, line.part_id)
    event = read.get(Event, line.reported_event_id) if line.reported_event_id else None
    return DrillEntry(
        line.rank, AccountClass(line.account_class), line.at_place, part.number, part.sense or "", line.unit,
        line.found, line.expected if line.found is not None else None,
        read.get(Person, event.by_id).name if event else "",
    )  # fmt: skip
