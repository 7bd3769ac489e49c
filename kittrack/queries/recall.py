"""The recall account: where every piece of a lot is, in classes that always add up (R15)."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from kittrack.domain import codes
from kittrack.domain.ledger import AccountClass, PlaceKind
from kittrack.errors import NotFound
from kittrack.store.act import Reading
from kittrack.store.database import Store
from kittrack.store.numbers import not_held
from kittrack.store.recall_facts import (
    Received,
    Recipient,
    bonded_under,
    located_under,
    received_under,
    recipients_of,
)
from kittrack.store.recall_scope import Covered, Scope, covered_by_hold, find_hold, in_parts, resolve
from kittrack.store.records import Airframe, Lot, Part, Piece, Position, ReceiptLine
from kittrack.store.stock import Located


@dataclass(frozen=True)
class AccountItem:
    """One line of detail: how much, where, and by which hold."""

    account_class: AccountClass
    quantity: int
    unit: str
    part: str
    receipt_line: str
    piece: str
    serial: str
    where: str
    inside: str
    airframe: str
    position: str
    condition: str
    holds: tuple[str, ...]


@dataclass(frozen=True)
class PartAccount:
    """The account of one part under the scope; senses are never netted, since a part has one sense at the most."""

    part: str
    sense: str
    unit: str
    received: int
    classes: tuple[tuple[AccountClass, int], ...]

    @property
    def missing(self) -> int:
        """Received less the sum of all classes."""
        return self.received - sum(quantity for _, quantity in self.classes)


@dataclass(frozen=True)
class RecallAccount:
    """What was received and where all of it is. `missing` is 0 when the account adds up.

    `classes` holds every class in the account's own order, those with nothing in them too; quantities are
    in `unit`. Where a scope covers parts of several units, `received` and `classes` are those of `unit` alone and
    `parts` has them all. `airframes`, `vans`, `people` and `owners` name who must be told; `bonded` are rotors
    that are still fitted with threadlocker of the scope, which is consumed and aboard all the same.
    """

    scope: str
    unit: str
    received: int
    classes: tuple[tuple[AccountClass, int], ...]
    items: tuple[AccountItem, ...]
    airframes: tuple[str, ...]
    vans: tuple[str, ...]
    lots: tuple[str, ...]
    parts: tuple[PartAccount, ...] = ()
    people: tuple[str, ...] = ()
    owners: tuple[str, ...] = ()
    bonded: tuple[str, ...] = ()

    @property
    def accounted(self) -> int:
        """The sum of all classes."""
        return sum(quantity for _, quantity in self.classes)

    @property
    def missing(self) -> int:
        """Received less accounted, over all parts; anything but 0 is a fault of the store and `verify` names it."""
        return sum(abs(part.missing) for part in self.parts)


def recall_account(
    store: Store,
    *,
    code: str = "",
    lot_code: str = "",
    maker: str = "",
    serials: tuple[str, str] | None = None,
    part: str = "",
    supplier: str = "",
) -> RecallAccount:
    """The account of one scope.

    Args:
        store: the store.
        code: a lot (L), receipt line (Y), piece (U), rotor set (R), scale (W), delivery (D) or hold (H) of ours; or else
        lot_code: the maker's lot code, over all its suppliers and parts; `maker` narrows it.
        maker: the name of the maker; alone, all that it made.
        serials: the first and last serial of a range of `part`, as text of one length.
        part: the part number for a range of serials.
        supplier: all that came from this supplier.

    Raises:
        NotFound: nothing was ever received under it, or it is a kit, which is made of what came in.
        BadInput: a code whose check character is wrong, or of a kind that has no account.
    """
    scope = Scope(code=code, lot_code=lot_code, maker=maker, supplier=supplier, part=part, serials=serials)
    with store.reading() as read:
        return _account(read, _covered(read, scope))


def _covered(read: Reading, scope: Scope) -> Covered:
    if scope.code:
        code = codes.read_code(scope.code)
        if code.kind is codes.Kind.DELIVERY:
            return _of_delivery(read, code.text)
        if code.kind is codes.Kind.HOLD:
            return covered_by_hold(read, find_hold(read, code.text))
        if code.kind is codes.Kind.KIT:
            raise NotFound(
                f"{code.text} is a kit, and an account goes by what came in; ask for the lots in it, which trace names"
            )
    return resolve(read, scope)


def _of_delivery(read: Reading, code: str) -> Covered:
    rows = read.rows(
        "SELECT r.id FROM receipt_line r JOIN delivery d ON d.id = r.delivery_id WHERE d.code = ? ORDER BY r.id",
        code,
    )
    if not rows:
        raise not_held(read, code)
    return Covered("delivery", f"delivery {code}", lines=tuple(row[0] for row in rows))


def _account(read: Reading, covered: Covered) -> RecallAccount:
    found = located_under(read, covered)
    received = received_under(read, covered, found)
    if not received:
        raise NotFound(f"nothing was ever received under {covered.text}")
    parts = _by_part(read, received, found)
    unit = "pieces" if any(p.unit == "pieces" for p in parts) else parts[0].unit
    items = _items(read, found)
    bonded = bonded_under(read, covered)
    told = {*recipients_of(read, found).values(), *(b.recipient for b in bonded if b.recipient)}
    return RecallAccount(
        scope=covered.text, unit=unit, received=sum(p.received for p in parts if p.unit == unit),
        classes=_summed([p for p in parts if p.unit == unit]), items=items,
        airframes=_named(told, "airframe"), vans=_named(told, "van"),
        lots=tuple(dict.fromkeys(row[0] for row in _lots(read, found))), parts=parts,
        people=_named(told, "person"), owners=_named(told, "owner"), bonded=tuple(b.in_words for b in bonded),
    )  # fmt: skip


def _named(told: Iterable[Recipient], kind: str) -> tuple[str, ...]:
    return tuple(sorted(one.name for one in told if one.kind == kind))


def _by_part(
    read: Reading, received: Sequence[Received], found: Sequence[Located]
) -> tuple[PartAccount, ...]:
    lines = read.get_all(ReceiptLine, (f.stock.receipt_line_id for f in found))
    sums: dict[tuple[int, str], dict[AccountClass, int]] = {
        (r.part_id, r.unit): dict.fromkeys(AccountClass, 0) for r in received
    }
    for f in found:
        line = lines[f.stock.receipt_line_id]
        sums.setdefault((line.part_id, line.unit), dict.fromkeys(AccountClass, 0))
        sums[line.part_id, line.unit][f.account_class] += f.stock.quantity
    came = {(r.part_id, r.unit): r.quantity for r in received}
    made = []
    for (part_id, unit), classes in sums.items():
        part = read.get(Part, part_id)
        made.append(
            PartAccount(
                part.number, part.sense or "", unit, came.get((part_id, unit), 0), tuple(classes.items())
            )
        )
    return tuple(sorted(made, key=lambda p: (p.part, p.sense, p.unit)))


def _summed(parts: Sequence[PartAccount]) -> tuple[tuple[AccountClass, int], ...]:
    sums = dict.fromkeys(AccountClass, 0)
    for part in parts:
        for one, quantity in part.classes:
            sums[one] += quantity
    return tuple(sums.items())


def _lots(read: Reading, found: Sequence[Located]) -> list[tuple[str]]:
    lines = sorted({f.stock.receipt_line_id for f in found})
    rows: set[str] = set()
    for some in in_parts(lines):
        rows |= {
            row[0]
            for row in read.rows(
                f"SELECT DISTINCT l.code FROM {Lot.shape.name} l JOIN receipt_line r ON r.lot_id = l.id "
                f"WHERE r.id IN ({', '.join('?' * len(some))})",
                *some,
            )
        }
    return [(code,) for code in sorted(rows)]


def _items(read: Reading, found: Sequence[Located]) -> tuple[AccountItem, ...]:
    lines = read.get_all(ReceiptLine, (f.stock.receipt_line_id for f in found))
    parts = read.get_all(Part, (line.part_id for line in lines.values()))
    pieces = _pieces(read, [f.stock.piece_id for f in found if f.stock.piece_id])
    spots = _positions(read, found)
    order = {one: rank for rank, one in enumerate(AccountClass)}
    items = []
    for f in found:
        line, piece = lines[f.stock.receipt_line_id], pieces.get(f.stock.piece_id or 0)
        tail, position = spots.get(next((p.id for p in f.chain if p.kind == PlaceKind.POSITION), 0), ("", ""))
        items.append(
            AccountItem(
                account_class=f.account_class, quantity=f.stock.quantity, unit=line.unit,
                part=parts[line.part_id].number, receipt_line=line.code,
                piece=piece.code if piece else "", serial=(piece.serial or "") if piece else "",
                where=f.chain[-1].name, inside=" in ".join(p.code for p in f.chain[:-1]),
                airframe=tail, position=position, condition=f.stock.condition,
                holds=tuple(h.hold_code for h in f.holds),
            )
        )  # fmt: skip
    items.sort(key=lambda i: (order[i.account_class], i.airframe, i.where, i.inside, i.receipt_line, i.piece))
    return tuple(items)


def _pieces(read: Reading, ids: Sequence[int]) -> dict[int, Piece]:
    found: dict[int, Piece] = {}
    for start in range(0, len(ids), 500):
        part = ids[start : start + 500]
        found |= {p.id: p for p in read.select(Piece, f"id IN ({', '.join('?' * len(part))})", *part)}
    return found


def _positions(read: Reading, found: Sequence[Located]) -> dict[int, tuple[str, str]]:
    """The tail and position name of each position's place that the stock is in."""
    places = sorted({p.id for f in found for p in f.chain if p.kind == PlaceKind.POSITION})
    marks = ", ".join("?" * len(places)) or "NULL"
    rows = read.rows(
        f"SELECT p.place_id, a.tail, p.name FROM {Position.shape.name} p JOIN {Airframe.shape.name} a "
        f"ON a.id = p.airframe_id WHERE p.place_id IN ({marks})",
        *places,
    )
    return {row[0]: (row[1], row[2]) for row in rows}
