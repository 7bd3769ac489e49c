"""The recall account: where every piece of a lot is, in classes that always add up (R15)."""

from collections.abc import Sequence
from dataclasses import dataclass

from kittrack.domain import codes
from kittrack.domain.ledger import AccountClass, PlaceKind
from kittrack.errors import NotFound
from kittrack.store.act import Reading
from kittrack.store.database import Store
from kittrack.store.records import Airframe, Lot, Part, Piece, Position, ReceiptLine
from kittrack.store.stock import Located, located


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
class RecallAccount:
    """What was received and where all of it is. `missing` is 0 when the account adds up.

    `classes` holds every class in the account's own order, those with nothing in them too; quantities are
    in `unit`. `airframes` and `vans` name who must be told.
    """

    scope: str
    unit: str
    received: int
    classes: tuple[tuple[AccountClass, int], ...]
    items: tuple[AccountItem, ...]
    airframes: tuple[str, ...]
    vans: tuple[str, ...]
    lots: tuple[str, ...]

    @property
    def accounted(self) -> int:
        """The sum of all classes."""
        return sum(quantity for _, quantity in self.classes)

    @property
    def missing(self) -> int:
        """Received less accounted; anything but 0 is a fault of the store and `verify` names it."""
        return self.received - self.accounted


def recall_account(
    store: Store,
    *,
    code: str = "",
    lot_code: str = "",
    maker: str = "",
    serials: tuple[str, str] | None = None,
    part: str = "",
) -> RecallAccount:
    """The account of one scope.

    Args:
        store: the store.
        code: a lot (L), receipt line (Y), piece (U) or delivery (D) of ours; or else
        lot_code: the maker's lot code, over all its suppliers and parts; `maker` narrows it.
        maker: the name of the maker.
        serials: the first and last serial of a range of `part`, as text of one length.
        part: the part number for a range of serials.

    Raises:
        NotFound: nothing was ever received under it.
        BadInput: a code whose check character is wrong.
    """
    with store.reading() as read:
        if serials is not None:
            return _account_of_serials(read, part=part, first=serials[0], last=serials[1])
        if lot_code:
            lines = _lines_of_lot_code(read, lot_code, maker)
            return _account(read, f"lot code {lot_code}" + (f" of {maker}" if maker else ""), lines)
        return _account_of_code(read, code)


def _account_of_code(read: Reading, text: str) -> RecallAccount:
    code = codes.read_code(text)
    where = {
        codes.Kind.LOT: "lot_id IN (SELECT id FROM lot WHERE code = ?)",
        codes.Kind.RECEIPT_LINE: "code = ?",
        codes.Kind.DELIVERY: "delivery_id IN (SELECT id FROM delivery WHERE code = ?)",
    }.get(code.kind)
    if where:
        return _account(read, f"{code.kind.in_words} {code.text}", read.select(ReceiptLine, where, code.text))
    if code.kind is codes.Kind.PIECE:
        piece = read.find(Piece, code=code.text)
        if piece is not None:
            return _account_of_pieces(read, f"piece {code.text}", [piece])
    raise NotFound(f"{code.text} is no lot, receipt line, delivery or piece of this store; scan one of these")


def _lines_of_lot_code(read: Reading, lot_code: str, maker: str) -> list[ReceiptLine]:
    rows = read.rows(
        "SELECT l.id FROM lot l JOIN company m ON m.id = l.maker_id WHERE l.lot_code = ? AND (m.name = ? OR ? = '')",
        lot_code, maker, maker,
    )  # fmt: skip
    marks = ", ".join("?" * len(rows)) or "NULL"
    return read.select(ReceiptLine, f"lot_id IN ({marks})", *(row[0] for row in rows))


def _account(read: Reading, scope: str, lines: Sequence[ReceiptLine]) -> RecallAccount:
    if not lines:
        raise NotFound(f"nothing was ever received under {scope}")
    marks = ", ".join("?" * len(lines))
    found = located(read, f"h.receipt_line_id IN ({marks})", *(line.id for line in lines))
    came = _lines_that_came(read, lines)
    received = sum(line.quantity for line in lines if line.id in came)
    return _summed(read, scope, found, received=received, unit=lines[0].unit)


def _lines_that_came(read: Reading, lines: Sequence[ReceiptLine]) -> set[int]:
    """The lines of which something left the supplier; a booking that was reversed received nothing."""
    marks = ", ".join("?" * len(lines))
    rows = read.rows(
        "SELECT h.receipt_line_id FROM holding h JOIN place p ON p.id = h.place_id "
        f"WHERE p.kind = 'supplier' AND h.quantity <> 0 AND h.receipt_line_id IN ({marks})",
        *(line.id for line in lines),
    )
    return {row[0] for row in rows}


def _account_of_serials(read: Reading, *, part: str, first: str, last: str) -> RecallAccount:
    pieces = read.select(
        Piece,
        "serial >= ? AND serial <= ? AND length(serial) = ? AND part_id IN (SELECT id FROM part WHERE number = ?)",
        first, last, len(first), part,
    )  # fmt: skip
    return _account_of_pieces(read, f"serials {first} to {last} of {part}", pieces)


def _account_of_pieces(read: Reading, scope: str, pieces: Sequence[Piece]) -> RecallAccount:
    if not pieces:
        raise NotFound(f"nothing was ever received under {scope}")
    found: list[Located] = []
    for start in range(0, len(pieces), 500):
        part = pieces[start : start + 500]
        found += located(read, f"h.piece_id IN ({', '.join('?' * len(part))})", *(p.id for p in part))
    return _summed(read, scope, found, received=len(pieces), unit="pieces")


def _summed(
    read: Reading, scope: str, found: Sequence[Located], *, received: int, unit: str
) -> RecallAccount:
    sums = dict.fromkeys(AccountClass, 0)
    for stock in found:
        sums[stock.account_class] += stock.stock.quantity
    items = _items(read, found)
    return RecallAccount(
        scope=scope,
        unit=unit,
        received=received,
        classes=tuple(sums.items()),
        items=items,
        airframes=tuple(sorted({i.airframe for i in items if i.account_class is AccountClass.FITTED})),
        vans=tuple(sorted({i.where for i in items if i.account_class is AccountClass.VAN})),
        lots=tuple(dict.fromkeys(row[0] for row in _lots(read, found))),
    )


def _lots(read: Reading, found: Sequence[Located]) -> list[tuple[str]]:
    lines = sorted({f.stock.receipt_line_id for f in found})
    marks = ", ".join("?" * len(lines)) or "NULL"
    rows = read.rows(
        f"SELECT DISTINCT l.code FROM {Lot.shape.name} l JOIN receipt_line r ON r.lot_id = l.id "
        f"WHERE r.id IN ({marks}) ORDER BY l.code",
        *lines,
    )
    return [(row[0],) for row in rows]


def _items(read: Reading, found: Sequence[Located]) -> tuple[AccountItem, ...]:
    lines = {i: read.get(ReceiptLine, i) for i in {f.stock.receipt_line_id for f in found}}
    parts = {i: read.get(Part, i) for i in {line.part_id for line in lines.values()}}
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
