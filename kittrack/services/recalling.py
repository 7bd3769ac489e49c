"""Following a recall to its end: notices to airframes, vans, people and owners; decisions; closing.

A recall is a hold that was placed as one. It closes when every notice is answered and all that it covers has left
for good or was decided about where it is. Source: design R8, R15; a recall is closed when all pieces are accounted
for (trade practice after NZ CAA AC 00-2).
"""

from collections.abc import Sequence
from datetime import datetime

from kittrack.domain import codes
from kittrack.domain.ledger import AccountClass
from kittrack.domain.rules import Rule, require
from kittrack.errors import BadInput, Refusal
from kittrack.services import desk
from kittrack.services.desk import Done
from kittrack.store.act import Act
from kittrack.store.database import Store
from kittrack.store.numbers import not_held
from kittrack.store.recall_facts import RecalledStock, recalled_stock
from kittrack.store.recall_scope import find_hold
from kittrack.store.recall_standing import against_closing, recipients_without_notice
from kittrack.store.records import (
    Airframe,
    Hold,
    Piece,
    RecallClosure,
    RecallDisposition,
    RecallNotice,
    ReceiptLine,
)

_STAFF = ("clerk", "technician", "inspector", "manager")


@desk.done_by(*_STAFF)
def write_notices(store: Store, *, hold: str, by: str, at: datetime, key: str = "") -> Done:
    """Write a notice of a recall for each airframe, van, person and new owner that has none yet.

    Written again after stock moved, it adds notices for whoever has it since.

    Raises:
        Refused: the hold is no recall, is cancelled or closed (R12).
        BadInput: everybody that it concerns has a notice.
    """
    with store.act("write recall notices", by=by, at=at, key=key) as act:
        found = find_hold(act, hold)
        require(desk.check_done_by(act, write_notices), _check_running(act, found))
        told = recipients_without_notice(act, found)
        if not told:
            raise BadInput(
                f"Everybody that has something of {found.code} has a notice; see: kittrack recall-case show {found.code}"
            )
        notices = [
            act.insert(
                RecallNotice(
                    code=act.new_code(RecallNotice, codes.Kind.NOTICE), hold_id=found.id, recipient_kind=one.kind,
                    recipient_id=one.place_id, recipient=one.name, event_id=act.event_id,
                )
            )
            for one in told
        ]  # fmt: skip
    said = [
        f"{n.code} is for {n.recipient if n.recipient_kind == 'owner' else f'{n.recipient_kind} {n.recipient}'}."
        for n in notices
    ]
    return Done(
        act.event_id, tuple(n.code for n in notices), (*said, "Next: print them, send them, mark them sent.")
    )


@desk.done_by(*_STAFF)
def mark_notice_sent(store: Store, *, notice: str, how: str, by: str, at: datetime, key: str = "") -> Done:
    """Keep that a notice was sent, and how ("handed over", "called and mailed").

    Raises:
        Refused: it was sent already (R12).
    """
    desk.require_text(how=how)
    with store.act("send a recall notice", by=by, at=at, key=key) as act:
        found = find_notice(act, notice)
        require(desk.check_done_by(act, mark_notice_sent), _check_state(found, "to send"))
        act.update(found, state="sent", sent_how=how.strip(), sent_event_id=act.event_id)
    said = f"{found.code} to {found.recipient} is sent: {how.strip()}. Next: keep their answer."
    return Done(act.event_id, (found.code,), (said,))


@desk.done_by(*_STAFF)
def record_notice_answer(
    store: Store, *, notice: str, answer: str, by: str, at: datetime, key: str = ""
) -> Done:
    """Keep what the recipient of a notice answered: what was found, what was done.

    Raises:
        Refused: it was not sent yet, or is answered already (R12).
    """
    desk.require_text(answer=answer)
    with store.act("keep the answer to a recall notice", by=by, at=at, key=key) as act:
        found = find_notice(act, notice)
        require(desk.check_done_by(act, record_notice_answer), _check_state(found, "sent"))
        act.update(found, state="answered", answer=answer.strip(), answered_event_id=act.event_id)
    return Done(act.event_id, (found.code,), (f"{found.code}: {found.recipient} answered.",))


@desk.done_by("inspector", "manager")
def record_disposition(
    store: Store, *, hold: str, things: Sequence[str], decision: str, reference: str, by: str, at: datetime,
    key: str = "",
) -> Done:  # fmt: skip
    """Keep what was decided about recalled stock that stays where it is.

    The decision stands while the stock is there, in no greater quantity; once it moves it is open again.

    Args:
        store: the store.
        hold: the recall's code.
        things: what is decided about: receipt lines (Y), pieces (U), airframes (A or tail), or a class of the account in
            words ("lost").
        decision: what was decided ("inspected in place, may fly until 2026-12-31").
        reference: the document that allows it.

    Raises:
        Refused: not an inspector or manager; the recall is cancelled or closed (R12).
        BadInput: nothing of the recall that is open goes by one of the names.
    """  # fmt: skip
    desk.require_text(decision=decision, reference=reference)
    with store.act("decide about recalled stock", by=by, at=at, key=key) as act:
        found = find_hold(act, hold)
        require(desk.check_done_by(act, record_disposition), _check_running(act, found))
        stock = [one for one in recalled_stock(act, found) if not one.is_settled]
        chosen = [one for text in _whole(things) for one in _named(act, found, stock, text)]
        for one in dict.fromkeys(chosen):
            act.insert(
                RecallDisposition(
                    hold_id=found.id, receipt_line_id=one.receipt_line_id, piece_id=one.piece_id,
                    account_class=one.account_class.value, around=one.around, quantity=abs(one.quantity),
                    decision=decision.strip(), reference=reference.strip(), event_id=act.event_id,
                )
            )  # fmt: skip
        left = sum(1 for one in recalled_stock(act, found) if not one.is_settled)
    said = f"Decided about {len(dict.fromkeys(chosen))} entries of {found.code} under {reference.strip()}; {left} are still open."
    return Done(act.event_id, (found.code,), (said,))


@desk.done_by("manager")
def close_recall(
    store: Store, *, hold: str, reference: str, reason: str, second: str, by: str, at: datetime, key: str = ""
) -> Done:  # fmt: skip
    """Close a recall whose every piece is accounted for. What is held by it stays on hold.

    Args:
        store: the store.
        hold: the recall's code.
        reference: what the closing is reported under.
        reason: why it can be closed.
        second: the second person, who has looked at the account too.

    Raises:
        Refused: every class of the account that is still open, every notice without an answer, everybody who has
            none (R15); not a manager, no second person (R8); closed or cancelled already (R12).
    """
    desk.require_text(reference=reference, reason=reason)
    with store.act("close a recall", by=by, at=at, second=second or None, reason=reason, key=key) as act:
        found = find_hold(act, hold)
        require(
            desk.check_done_by(act, close_recall),
            desk.check_second(first=act.by, second=act.second, what="Closing a recall"),
            _check_running(act, found),
            against_closing(act, found),
        )
        act.insert(RecallClosure(hold_id=found.id, reference=reference.strip(), event_id=act.event_id))
    said = (
        f"{found.code} is closed under {reference.strip()}; what it holds stays on hold until it is released."
    )
    return Done(act.event_id, (found.code,), (said,))


def find_notice(act: Act, text: str) -> RecallNotice:
    """The notice of a scanned code."""
    code = codes.read_code(text, expect=codes.Kind.NOTICE).text
    found = act.find(RecallNotice, code=code)
    if found is None:
        raise not_held(act, code)
    return found


def _check_running(act: Act, hold: Hold) -> list[Refusal]:
    """Refuse a hold that is no recall, or one that came to its end."""
    if not hold.is_recall:
        message = f"{hold.code} is a hold and no recall; place a recall: kittrack hold place --recall"
        return [Refusal(Rule.RECALL_ACCOUNT, hold.code, message)]
    if act.find(RecallClosure, hold_id=hold.id) is not None:
        return [
            Refusal(Rule.NOTHING_ERASED, hold.code, f"{hold.code} is closed already; look at its account.")
        ]
    if hold.released_event_id is not None:
        message = f"{hold.code} was cancelled under {hold.release_reference}; nothing of it is left to do."
        return [Refusal(Rule.NOTHING_ERASED, hold.code, message)]
    return []


_NEXT = {
    "to send": "mark it sent first",
    "sent": "keep the answer to it",
    "answered": "look at its answer",
}


def _check_state(notice: RecallNotice, wanted: str) -> list[Refusal]:
    if notice.state == wanted:
        return []
    state = "not sent yet" if notice.state == "to send" else notice.state
    message = f"{notice.code} to {notice.recipient} is {state}; {_NEXT[notice.state]}."
    return [Refusal(Rule.NOTHING_ERASED, notice.code, message)]


def _whole(things: Sequence[str]) -> list[str]:
    """The names as they were meant: a class whose own words hold a comma comes in two from a list parted by commas."""
    names: list[str] = []
    for text in map(str.strip, things):
        joined = f"{names[-1]}, {text}" if names else ""
        if joined.lower() in list(AccountClass):
            names[-1] = joined
        else:
            names.append(text)
    return names


def _named(act: Act, hold: Hold, stock: Sequence[RecalledStock], text: str) -> list[RecalledStock]:
    """The open stock of a recall that a code, a tail or a class in words means."""
    wanted = text.strip()
    if codes.looks_like_code(wanted):
        found = _by_code(act, stock, codes.read_code(wanted))
    elif wanted.lower() in list(AccountClass):
        found = [one for one in stock if one.account_class == wanted.lower()]
    else:
        frame = act.find(Airframe, tail=wanted)
        place = frame.place_id if frame else 0
        found = [one for one in stock if one.recipient and one.recipient.place_id == place]
    if not found:
        raise BadInput(
            f"nothing of {hold.code} that is still open goes by {wanted!r}; name a receipt line, a piece, an airframe, or a "
            "class as the account shows it",
            field="things",
        )
    return found


def _by_code(act: Act, stock: Sequence[RecalledStock], code: codes.Code) -> list[RecalledStock]:
    if code.kind is codes.Kind.PIECE:
        piece = act.find(Piece, code=code.text)
        return [one for one in stock if piece and one.piece_id == piece.id]
    if code.kind is codes.Kind.RECEIPT_LINE:
        line = act.find(ReceiptLine, code=code.text)
        return [one for one in stock if line and one.receipt_line_id == line.id]
    return [one for one in stock if code.text in one.around.split(" in ")]
