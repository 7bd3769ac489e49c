"""What stands against closing a recall: open stock, unanswered notices, somebody who has it and no notice.

Source: design R15.
"""

from collections.abc import Sequence

from kittrack.domain.ledger import AccountClass
from kittrack.domain.rules import Rule
from kittrack.errors import Refusal
from kittrack.store.act import Reading
from kittrack.store.recall_facts import (
    RecalledStock,
    Recipient,
    located_under,
    recalled_stock,
    received_under,
)
from kittrack.store.recall_scope import covered_by_hold
from kittrack.store.records import Hold, RecallNotice

_NEXT = {
    AccountClass.SHELF: "put it in the hold cage",
    AccountClass.HOLD: "scrap it, send it back, or record what was decided about it",
    AccountClass.BENCH: "take it out and put it in the hold cage",
    AccountClass.SEALED: "open the kits and put it in the hold cage",
    AccountClass.VAN: "have it brought back",
    AccountClass.ISSUED: "have it brought back",
    AccountClass.FITTED: "have it taken off, or record what was decided about it",
    AccountClass.REMOVED: "scrap it, send it back, or record what was decided about it",
    AccountClass.CONSUMED: "record what was decided about the rotors that it holds",
    AccountClass.SOLD: "record what its owner answered and decided",
    AccountClass.LOST: "record what was decided about it",
    AccountClass.UNACCOUNTED: "look for it, and record what was decided about it",
}


def recipients_without_notice(read: Reading, hold: Hold) -> list[Recipient]:
    """Everybody who has something of a recall now and no notice of it: airframes first, then vans, people, owners."""
    told = {(n.recipient_kind, n.recipient_id) for n in read.select(RecallNotice, "hold_id = ?", hold.id)}
    now = {one.recipient for one in recalled_stock(read, hold) if one.recipient}
    order = ("airframe", "van", "person", "owner")
    return sorted(
        (r for r in now if (r.kind, r.place_id) not in told), key=lambda r: (order.index(r.kind), r.name)
    )


def against_closing(read: Reading, hold: Hold) -> list[Refusal]:
    """Every reason against closing a recall."""
    return [
        *_against_account(read, hold),
        *_against_stock(hold, recalled_stock(read, hold)),
        *_against_notices(read, hold),
    ]


def _against_account(read: Reading, hold: Hold) -> list[Refusal]:
    covered = covered_by_hold(read, hold)
    found = located_under(read, covered)
    received = sum(r.quantity for r in received_under(read, covered, found))
    missing = received - sum(f.stock.quantity for f in found)
    if not missing:
        return []
    message = (
        f"The account of {hold.code} does not add up by {missing}; check the store first: kittrack verify"
    )
    return [Refusal(Rule.RECALL_ACCOUNT, hold.code, message)]


def _against_stock(hold: Hold, stock: Sequence[RecalledStock]) -> list[Refusal]:
    found = []
    for kind in AccountClass:
        left = [one for one in stock if one.account_class is kind and not one.is_settled]
        if left:
            where = "; ".join(dict.fromkeys(one.in_words for one in left[:3]))
            more = f" and {len(left) - 3} more" if len(left) > 3 else ""
            message = f"{hold.code} is open at {len(left)} {'entry' if len(left) == 1 else 'entries'} {kind.value} ({where}{more}); {_NEXT[kind]}."
            found.append(Refusal(Rule.RECALL_ACCOUNT, kind.value, message))
    return found


def _against_notices(read: Reading, hold: Hold) -> list[Refusal]:
    found = []
    for notice in read.select(RecallNotice, "hold_id = ? AND state <> 'answered'", hold.id):
        step = "send it and mark it sent" if notice.state == "to send" else "get the answer and keep it"
        message = f"Notice {notice.code} to {notice.recipient} has no answer; {step}."
        found.append(Refusal(Rule.RECALL_ACCOUNT, notice.code, message))
    for one in recipients_without_notice(read, hold):
        message = f"{one.kind} {one.name} has something of {hold.code} and no notice; write one."
        found.append(Refusal(Rule.RECALL_ACCOUNT, one.name, message))
    return found
