"""The papers of a recall: its account, the notice to one recipient, the list of all notices.

Source: design R15, section 9; a notice defers to the maker's own and to licensed people.
"""

from collections.abc import Sequence
from datetime import datetime

from kittrack.domain import codes
from kittrack.domain.ledger import AccountClass
from kittrack.printing.documents import Caution, Document, Table
from kittrack.queries.paper import GENERAL, RELEASE, Stores, amount, copies, copy_note
from kittrack.queries.recall import PartAccount, RecallAccount, recall_account
from kittrack.queries.recalls import Notice, RecallStanding, recall_standing
from kittrack.store.act import Reading
from kittrack.store.database import Store
from kittrack.store.numbers import not_held
from kittrack.store.recall_facts import RecalledStock, part_of_line, recalled_stock
from kittrack.store.records import Hold, Lot, Piece, RecallNotice, ReceiptLine

NOTICE = "Recall notice"


def recall_account_document(
    store: Store, *, at: datetime, code: str = "", lot_code: str = "", maker: str = "",
    serials: tuple[str, str] | None = None, part: str = "", supplier: str = "",
) -> Document:  # fmt: skip
    """The recall account of a scope as a document.

    Args:
        store: the store.
        at: the instant of printing.
        code: as for `recall_account`, and the others too.

    Raises:
        NotFound: nothing was ever received under it.
    """
    account = recall_account(
        store, code=code, lot_code=lot_code, maker=maker, serials=serials, part=part, supplier=supplier
    )
    with store.reading() as read:
        stores = Stores(read, at=at)
        number = codes.read_code(code).text if code else (account.lots[0] if len(account.lots) == 1 else "")
    return Document(
        "Recall account",
        number or stores.mark,
        facts=(
            ("Of", account.scope), ("Lots", ", ".join(account.lots)), ("Airframes that carry it", _or_none(account.airframes)),
            ("Vans that have it", _or_none(account.vans)), ("People who have it", _or_none(account.people)),
            ("New owners who got it", _or_none(account.owners)), ("Rotors held by its threadlocker", _or_none(account.bonded)),
            ("The account", "adds up" if not account.missing else f"does NOT add up, by {account.missing}: run verify"),
        ),
        tables=(*(_sums(one) for one in account.parts), _where(account)),
        cautions=(GENERAL,),
        signatures=("Looked at by", "Second person"),
        footer=stores.foot,
    )  # fmt: skip


def notice_document(store: Store, *, notice: str, at: datetime) -> Document:
    """The notice to one airframe, van, person or new owner: what they have, and what to do.

    Raises:
        NotFound: the store holds no such notice.
    """
    with store.reading() as read:
        stores = Stores(read, at=at)
        own = _find(read, notice)
        hold = read.get(Hold, own.hold_id)
        theirs = [one for one in recalled_stock(read, hold) if _is_for(one, own)]
        return Document(
            NOTICE,
            own.code,
            facts=(
                ("To", f"{own.recipient_kind} {own.recipient}"), ("Recall", f"{hold.code}, {hold.scope_text}"),
                ("Why", hold.reason), ("Under", hold.reference), ("Written", stores.when(own.event_id)), ("State", own.state),
            ),
            tables=(_theirs(read, theirs),),
            cautions=(
                (Caution.CAUTION, _ORDERS[own.recipient_kind]),
                *copy_note(copies(read, stores, f"{NOTICE} {own.code}")),
                (Caution.NOTE, "What the maker's notice and the authorities say goes before this paper."),
                RELEASE,
            ),
            signatures=("Received by", "Done by", "Inspected by"),
            footer=stores.foot,
        )  # fmt: skip


def notices_document(store: Store, *, hold: str, at: datetime) -> Document:
    """The list of all notices of a recall, what is still open under it, and what stands against closing it.

    Raises:
        NotFound: no recall is known under the code.
    """
    standing = recall_standing(store, hold=hold)
    with store.reading() as read:
        stores = Stores(read, at=at)
    return Document(
        "Recall notices",
        standing.hold,
        facts=(
            ("Of", standing.of), ("Why", standing.reason), ("Under", standing.reference),
            ("Placed", f"{stores.local(standing.placed_at)} by {standing.placed_by}"),
            ("State", f"{standing.state} {standing.ended_under}".strip()),
        ),
        tables=(_notices(standing.notices, stores), _left(standing), _against(standing)),
        cautions=(GENERAL,),
        signatures=("Followed up by",),
        footer=stores.foot,
    )  # fmt: skip


_ORDERS = {
    "airframe": "Do not fly this aircraft until what is listed here is off, or a decision on record says otherwise.",
    "van": "Do not issue or fit anything listed here. Set it apart, mark it, and bring it back.",
    "person": "Do not open or fit anything listed here. Bring it back to the stores.",
    "owner": "What is listed here went with the aircraft to you. Do not fly it until it is off or decided about; please answer.",
}


def _or_none(names: Sequence[str]) -> str:
    return ", ".join(names) or "none"


def _sums(part: PartAccount) -> Table:
    return Table(
        f"{part.sense} {part.part}".strip(), ("Class", "Quantity"),
        tuple((kind.value, amount(quantity, part.unit)) for kind, quantity in part.classes),
        right=frozenset({"Quantity"}), total=("received", amount(part.received, part.unit)),
    )  # fmt: skip


def _where(account: RecallAccount) -> Table:
    return Table(
        "Where all of it is", ("Class", "Quantity", "Part", "Where", "Inside", "Line", "Piece", "Serial"),
        tuple(
            (i.account_class.value, amount(i.quantity, i.unit), i.part, f"{i.airframe} {i.position}".strip() or i.where,
             "" if i.airframe else i.inside, i.receipt_line, i.piece, i.serial)
            for i in account.items
        ),
        right=frozenset({"Quantity"}),
    )  # fmt: skip


def _find(read: Reading, text: str) -> RecallNotice:
    code = codes.read_code(text, expect=codes.Kind.NOTICE).text
    found = read.find(RecallNotice, code=code)
    if found is None:
        raise not_held(read, code)
    return found


def _is_for(one: RecalledStock, notice: RecallNotice) -> bool:
    who = one.recipient
    return who is not None and (who.kind, who.place_id) == (notice.recipient_kind, notice.recipient_id)


def _theirs(read: Reading, stock: Sequence[RecalledStock]) -> Table:
    rows = []
    for one in stock:
        line, part = read.get(ReceiptLine, one.receipt_line_id), part_of_line(read, one.receipt_line_id)
        piece = read.get(Piece, one.piece_id) if one.piece_id else None
        words = "threadlocker used on" if one.bonded else one.account_class.value
        lot = read.get(Lot, line.lot_id)
        rows.append(
            (part.sense or "", part.number, amount(one.quantity, one.unit), lot.lot_code or lot.code, line.code,
             (piece.serial or piece.code) if piece else "", f"{words}: {one.in_words}", one.decision or "to do")
        )  # fmt: skip
    return Table(
        "What you have of it", ("Sense", "Part", "Quantity", "Lot", "Line", "Serial", "Where", "Decided"), tuple(rows),
        right=frozenset({"Quantity"}), empty="nothing any more: it has moved on since this notice was written",
    )  # fmt: skip


def _notices(found: Sequence[Notice], stores: Stores) -> Table:
    return Table(
        "Notices", ("Notice", "To", "State", "Sent", "How", "Answered", "Answer"),
        tuple(
            (n.notice, f"{n.kind} {n.recipient}", n.state, stores.local(n.sent_at), n.sent_how, stores.local(n.answered_at), n.answer)
            for n in found
        ),
        empty="no notice is written",
    )  # fmt: skip


def _left(standing: RecallStanding) -> Table:
    order = list(AccountClass)
    left = sorted((s for s in standing.stock if not s.settled), key=lambda s: order.index(s.account_class))
    return Table(
        "Still open", ("Class", "Quantity", "Sense", "Part", "Line", "Piece", "Where"),
        tuple(
            (s.account_class.value, amount(s.quantity, s.unit), s.sense, s.part, s.receipt_line, s.piece, s.where) for s in left
        ),
        right=frozenset({"Quantity"}), empty="nothing is open",
    )  # fmt: skip


def _against(standing: RecallStanding) -> Table:
    return Table(
        "Against closing it", ("Reason",), tuple((r.message,) for r in standing.against), empty="nothing"
    )
