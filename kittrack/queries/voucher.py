"""The issue voucher: what left the counter, whole, from whom to whom, and how it stands.

Source: design 7 (Counter), R5, R8; "printed, but was it handed over?" is asked of a reprinted one.
"""

from dataclasses import dataclass
from datetime import datetime

from kittrack.domain import codes
from kittrack.printing.documents import Caution, Document, Table
from kittrack.queries.paper import (
    GENERAL,
    SENSES,
    Copy,
    Stores,
    amount,
    copies,
    copy_note,
    moment,
)
from kittrack.store.act import Reading
from kittrack.store.database import Store
from kittrack.store.kit_facts import revision_name
from kittrack.store.numbers import not_held
from kittrack.store.records import Airframe, Job, Kit, Voucher

TITLE = "Issue voucher"


@dataclass(frozen=True)
class VoucherLine:
    """One thing of the kit; `proof` is that of a rotor set."""

    sense: str
    kind: str
    part: str
    quantity: int
    unit: str
    thing: str
    lot: str
    proof: str


@dataclass(frozen=True)
class VoucherView:
    """A voucher: who gave what to whom, how it stands ("open", "returned", "reversed", "closed"), its printed copies.

    `event` is the event of the issue, by which it can be reversed.
    """

    voucher: str
    state: str
    kit: str
    seal: str
    kit_state: str
    expires_on: str
    job: str
    purpose: str
    tail: str
    revision: str
    given_by: str
    received_by: str
    issued_at: str
    event: int
    positions: tuple[str, ...]
    lines: tuple[VoucherLine, ...]
    copies: tuple[Copy, ...]


def voucher(store: Store, *, voucher: str, at: datetime) -> VoucherView:
    """A voucher with what was issued on it.

    Raises:
        NotFound: the store holds no such voucher.
    """
    with store.reading() as read:
        return _view(read, _find(read, voucher), Stores(read, at=at))


def voucher_document(store: Store, *, voucher: str, at: datetime) -> Document:
    """The voucher as a document to sign; a second copy says that it is one.

    Raises:
        NotFound: the store holds no such voucher.
    """
    with store.reading() as read:
        stores = Stores(read, at=at)
        found = _view(read, _find(read, voucher), stores)
        return _document(found, stores)


def subject_of(code: str) -> str:
    """The name under which the printed copies of a voucher are kept."""
    return f"{TITLE} {code}"


def _find(read: Reading, text: str) -> Voucher:
    code = codes.read_code(text, expect=codes.Kind.VOUCHER).text
    found = read.find(Voucher, code=code)
    if found is None:
        raise not_held(read, code)
    return found


def _view(read: Reading, found: Voucher, stores: Stores) -> VoucherView:
    kit, job = read.get(Kit, found.kit_id), read.get(Job, found.job_id)
    frame = read.get(Airframe, found.airframe_id)
    return VoucherView(
        voucher=found.code, state=found.state, kit=kit.code, seal=kit.seal or "", kit_state=kit.state,
        expires_on=kit.expires_on or "", job=job.code, purpose=job.purpose, tail=frame.tail,
        revision=revision_name(read, kit.type_revision_id), given_by=stores.who(found.giver_id),
        received_by=stores.who(found.receiver_id), issued_at=stores.when(found.event_id), event=found.event_id,
        positions=_positions(read, kit), lines=_lines(read, kit),
        copies=copies(read, stores, subject_of(found.code)),
    )  # fmt: skip


def _positions(read: Reading, kit: Kit) -> tuple[str, ...]:
    rows = read.rows(
        "SELECT t.name, k.sense FROM kit_position k JOIN type_position t ON t.id = k.type_position_id "
        "WHERE k.kit_id = ? ORDER BY t.rank, t.id",
        kit.id,
    )
    return tuple(f"{sense} {name}" for name, sense in rows)


def _lines(read: Reading, kit: Kit) -> tuple[VoucherLine, ...]:
    rows = read.rows(
        "SELECT coalesce(l.sense, ''), l.kind, p.number, sum(k.quantity), l.unit, coalesce(s.code, u.code, r.code), "
        "coalesce(t.code, ''), coalesce(t.lot_code, ''), m.method, m.residual_g_um, m.tolerance_g_um "
        "FROM kit_pick k JOIN kit_line l ON l.id = k.kit_line_id JOIN part p ON p.id = l.part_id "
        "LEFT JOIN rotor_set s ON s.id = k.rotor_set_id LEFT JOIN match_record m ON m.id = s.match_record_id "
        "LEFT JOIN receipt_line r ON r.id = k.receipt_line_id LEFT JOIN lot t ON t.id = r.lot_id "
        "LEFT JOIN piece u ON u.id = k.piece_id WHERE k.kit_id = ? AND k.active = 1 "
        "GROUP BY l.rank, l.sense, l.kind, p.number, l.unit, s.code, u.code, r.code, t.code, t.lot_code, m.method, "
        "m.residual_g_um, m.tolerance_g_um ORDER BY l.rank, 6",
        kit.id,
    )
    return tuple(
        VoucherLine(
            sense, kind, part, int(quantity), unit, thing, f"{lot} {lot_code}".strip(),
            _proof(kind, method, residual, tolerance),
        )
        for sense, kind, part, quantity, unit, thing, lot, lot_code, method, residual, tolerance in rows
    )  # fmt: skip


def _proof(kind: str, method: str | None, residual: int | None, tolerance: int | None) -> str:
    if kind != "rotor set":
        return ""
    if method is None:
        return "NOT PROVED"
    return f"{moment(residual)} of {moment(tolerance)}" if residual is not None else method


def _document(view: VoucherView, stores: Stores) -> Document:
    return Document(
        TITLE,
        view.voucher,
        facts=(
            ("Kit", f"{view.kit}, whole, seal {view.seal}"), ("For", f"{view.revision}, until {view.expires_on or 'no expiry'}"),
            ("Airframe", view.tail), ("Job", f"{view.job}, {view.purpose}"), ("Issued", view.issued_at),
            ("Given by", view.given_by), ("Received by", view.received_by),
            ("Positions", ", ".join(view.positions) or "make-good, no position of its own"), ("State", view.state),
        ),
        tables=(
            Table(
                "Contents", ("Sense", "What", "Part", "Quantity", "Number", "Lot", "Proof of match"),
                tuple(
                    (x.sense, x.kind, x.part, amount(x.quantity, x.unit), x.thing, x.lot, x.proof) for x in view.lines
                ),
                right=frozenset({"Quantity"}),
            ),
        ),
        cautions=(*_state_note(view), *copy_note(view.copies), SENSES, GENERAL),
        signatures=(f"Given by {view.given_by}", f"Received by {view.received_by}"),
        footer=stores.foot,
    )  # fmt: skip


def _state_note(view: VoucherView) -> tuple[tuple[Caution, str], ...]:
    """What a voucher says that is not the plain issue any more, or that was printed before."""
    if view.state == "reversed":
        return ((Caution.CAUTION, "REVERSED: nothing is out on this voucher. Do not sign it."),)
    if view.state == "returned":
        return ((Caution.NOTE, "RETURNED: the kit came back; this voucher is kept for the record."),)
    if len(view.copies) > 1 and view.kit_state == "issued":
        text = (
            f"Was the kit handed over when this was printed before? If it was not, do not sign again: reverse the issue "
            f"(event {view.event}) with a reason and a second person, and issue it anew."
        )
        return ((Caution.CAUTION, text),)
    return ()
