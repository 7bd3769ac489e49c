"""Where everything under a recall is now, who must be told of it, and what was decided about what stays.

Read in any transaction, so that the account that is shown and the check that closes a recall can't differ.
Source: design R15.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from kittrack.domain.ledger import AccountClass, PlaceKind, settled_by_movement
from kittrack.store.act import Reading
from kittrack.store.recall_scope import Covered, covered_by_hold, in_parts, pieces_of_sets
from kittrack.store.records import (
    Airframe,
    Company,
    Hold,
    Job,
    Part,
    Piece,
    Place,
    RecallDisposition,
    ReceiptLine,
)
from kittrack.store.stock import Located, Stock, chains, class_of, contents, located

POURED = "poured"
"""Stands for the condition of what was taken out of a bottle that a recall names."""


@dataclass(frozen=True, order=True)
class Recipient:
    """Who is told of a recall: an airframe, a van, a person, or the new owner of an airframe."""

    kind: str
    place_id: int
    name: str


@dataclass(frozen=True)
class Received:
    """How much of a part came in under a scope."""

    part_id: int
    unit: str
    quantity: int


@dataclass(frozen=True)
class RecalledStock:
    """Stock under a recall: where it is, in codes from the inside out, whom that concerns, and what was decided.

    `bonded` marks threadlocker that was used up on a rotor which is still fitted.
    """

    receipt_line_id: int
    piece_id: int | None
    account_class: AccountClass
    around: str
    in_words: str
    quantity: int
    unit: str
    recipient: Recipient | None
    decision: str = ""
    bonded: bool = False

    @property
    def key(self) -> tuple[int, int | None, AccountClass, str]:
        """What a decision is about: the line, the piece, the class, and where it is."""
        return self.receipt_line_id, self.piece_id, self.account_class, self.around

    @property
    def is_settled(self) -> bool:
        """Whether nothing is left to do about it: it left for good, or its staying was decided."""
        gone = settled_by_movement(self.account_class) and not self.bonded
        return gone or bool(self.decision)


# ---- where it is ---------------------------------------------------------------------------------


def located_under(read: Reading, covered: Covered) -> list[Located]:
    """All stock that a scope covers, each once, in the order of lines and pieces."""
    found: list[Located] = []
    for some in in_parts(covered.lines):
        found += located(read, f"h.receipt_line_id IN ({', '.join('?' * len(some))})", *some)
    lines = frozenset(covered.lines)
    pieces = tuple(sorted({*covered.pieces, *pieces_of_sets(read, covered.sets)}))
    for some in in_parts(pieces):
        here = located(read, f"h.piece_id IN ({', '.join('?' * len(some))})", *some)
        found += [f for f in here if f.stock.receipt_line_id not in lines]
    found += [f for f in _poured(read, covered.pieces) if f.stock.receipt_line_id not in lines]
    for kit_id in covered.kits:
        found += _in_kit(read, kit_id, found)
    return found


def _in_kit(read: Reading, kit_id: int, known: Sequence[Located]) -> list[Located]:
    place = read.value("SELECT place_id FROM kit WHERE id = ?", kit_id)
    here = {s.place_id for s in contents(read, place)}
    marks = ", ".join("?" * len(here)) or "NULL"
    have = {f.stock for f in known}
    return [f for f in located(read, f"h.place_id IN ({marks})", *sorted(here)) if f.stock not in have]


def _poured(read: Reading, pieces: Sequence[int]) -> list[Located]:
    """What was taken out of bottles, by the place to which it went; the bottle itself may be empty and gone."""
    found: list[Located] = []
    for some in in_parts(pieces):
        marks = ", ".join("?" * len(some))
        rows = read.rows(
            "SELECT receipt_line_id, piece_id, place_id, condition, sum(quantity) FROM ("
            "SELECT m.receipt_line_id, m.from_piece_id AS piece_id, m.to_place_id AS place_id, m.to_condition AS condition, m.quantity "
            f"FROM movement m WHERE m.from_piece_id IN ({marks}) AND m.to_piece_id IS NULL UNION ALL "
            "SELECT m.receipt_line_id, m.to_piece_id, m.from_place_id, m.from_condition, -m.quantity FROM movement m "
            f"JOIN piece p ON p.id = m.to_piece_id WHERE m.to_piece_id IN ({marks}) AND m.from_piece_id IS NULL "
            "AND m.event_id <> p.event_id) q GROUP BY 1, 2, 3, 4 HAVING sum(quantity) <> 0 ORDER BY 1, 2, 3, 4",
            *some, *some,
        )  # fmt: skip
        around = chains(read, (row[2] for row in rows))
        for line, piece, place, condition, quantity in rows:
            kind = class_of(around[place], condition=condition, held=False)
            found.append(
                Located(Stock(line, piece, place, condition, int(quantity)), around[place], (), kind)
            )
    return found


def received_under(read: Reading, covered: Covered, found: Sequence[Located]) -> list[Received]:
    """How much came in under a scope, by part.

    Counted stock counts by its receipt lines, things with a number of their own one each; of a bottle that is named
    by itself all that was ever in it.
    """
    sums: dict[tuple[int, str], int] = {}
    for line in _lines_that_came(read, covered.lines):
        key = (line.part_id, line.unit)
        sums[key] = sums.get(key, 0) + line.quantity
    lines = frozenset(covered.lines)
    loose = tuple(sorted({*covered.pieces, *pieces_of_sets(read, covered.sets)}))
    units: dict[int, str] = {}
    for some in in_parts(loose):
        for piece in read.select(Piece, f"id IN ({', '.join('?' * len(some))})", *some):
            if piece.receipt_line_id in lines:
                continue
            unit = units.setdefault(piece.receipt_line_id, read.get(ReceiptLine, piece.receipt_line_id).unit)
            own = (
                1
                if unit == "pieces"
                else sum(f.stock.quantity for f in found if f.stock.piece_id == piece.id)
            )
            sums[piece.part_id, unit] = sums.get((piece.part_id, unit), 0) + own
    for stock in _kit_stock(read, covered, found):
        line = read.get(ReceiptLine, stock.receipt_line_id)
        key = (line.part_id, line.unit)
        sums[key] = sums.get(key, 0) + stock.quantity
    return [Received(part, unit, quantity) for (part, unit), quantity in sums.items()]


def _kit_stock(read: Reading, covered: Covered, found: Sequence[Located]) -> list[Stock]:
    """The stock that only a kit under the scope brings into it."""
    if not covered.kits:
        return []
    loose = {*covered.pieces, *pieces_of_sets(read, covered.sets)}
    lines = frozenset(covered.lines)
    return [f.stock for f in found if f.stock.receipt_line_id not in lines and f.stock.piece_id not in loose]


def _lines_that_came(read: Reading, ids: Sequence[int]) -> list[ReceiptLine]:
    """The lines of which something left the supplier; a booking that was reversed received nothing."""
    found: list[ReceiptLine] = []
    for some in in_parts(ids):
        marks = ", ".join("?" * len(some))
        rows = read.rows(
            "SELECT h.receipt_line_id FROM holding h JOIN place p ON p.id = h.place_id "
            f"WHERE p.kind = 'supplier' AND h.quantity <> 0 AND h.receipt_line_id IN ({marks})",
            *some,
        )
        came = {row[0] for row in rows}
        found += [line for line in read.select(ReceiptLine, f"id IN ({marks})", *some) if line.id in came]
    return found


# ---- who must be told ----------------------------------------------------------------------------


def recipients_of(read: Reading, found: Iterable[Located]) -> dict[int, Recipient]:
    """Whom stock concerns, by the id of the place that it lies in; what lies in the stores concerns nobody else."""
    told: dict[int, Recipient] = {}
    for one in found:
        if one.stock.place_id not in told:
            who = _recipient(read, one.chain)
            if who is not None:
                told[one.stock.place_id] = who
    return told


def _recipient(read: Reading, places: Sequence[Place]) -> Recipient | None:
    frame = next((p for p in places if p.kind == PlaceKind.AIRFRAME), None)
    outer = places[-1]
    if frame is not None:
        return _of_airframe(read, read.find(Airframe, place_id=frame.id), frame)
    if outer.kind == PlaceKind.VAN:
        return Recipient("van", outer.id, outer.name)
    if outer.kind == PlaceKind.HANDS:
        return Recipient("person", outer.id, outer.name)
    if outer.kind == PlaceKind.JOB:
        job = read.find(Job, place_id=outer.id)
        own = read.get(Airframe, job.airframe_id) if job else None
        return _of_airframe(read, own, read.get(Place, own.place_id)) if own else None
    return None


def _of_airframe(read: Reading, airframe: Airframe | None, place: Place) -> Recipient | None:
    if airframe is None or airframe.state == "written off":
        return None
    if airframe.owner_id is not None:
        owner = read.get(Company, airframe.owner_id).name
        return Recipient("owner", place.id, f"{owner}, owner of {airframe.tail}")
    return Recipient("airframe", place.id, airframe.tail)


# ---- what is left to do --------------------------------------------------------------------------


def recalled_stock(read: Reading, hold: Hold) -> list[RecalledStock]:
    """Everything that is still under a hold, with what was decided about it, where threadlocker is in use too."""
    covered = covered_by_hold(read, hold, only_open=True)
    found = located_under(read, covered)
    told = recipients_of(read, found)
    units = _units(read, found)
    sums: dict[tuple[int, int | None, AccountClass, str], RecalledStock] = {}
    for f in found:
        one = RecalledStock(
            f.stock.receipt_line_id, f.stock.piece_id, f.account_class, around_of(f.chain),
            words_of(f.chain), f.stock.quantity, units[f.stock.receipt_line_id], told.get(f.stock.place_id),
        )  # fmt: skip
        before = sums.get(one.key)
        sums[one.key] = replace(one, quantity=one.quantity + before.quantity) if before else one
    decided = _decisions(read, hold)
    return [_with_decision(one, decided) for one in (*sums.values(), *bonded_under(read, covered))]


def around_of(places: Sequence[Place]) -> str:
    """The places around stock by code, from the inside out and no further than its airframe."""
    inside: list[str] = []
    for place in places:
        inside.append(place.code)
        if place.kind == PlaceKind.AIRFRAME and places[-1].kind != PlaceKind.SOLD:
            break
    return " in ".join(inside)


def words_of(places: Sequence[Place]) -> str:
    """The places around stock as a person names them, from the inside out."""
    return " in ".join(p.name for p in places)


def bonded_under(read: Reading, covered: Covered) -> list[RecalledStock]:
    """Threadlocker of a scope that was used on rotors which are still fitted: consumed, and aboard all the same.

    Which of a line's bottles was used is not on record, so a bottle under recall counts for its whole line.
    """
    lines = {*covered.lines}
    for some in in_parts(covered.pieces):
        marks = ", ".join("?" * len(some))
        lines |= {
            row[0]
            for row in read.rows(f"SELECT DISTINCT receipt_line_id FROM piece WHERE id IN ({marks})", *some)
        }
    found = []
    for some in in_parts(sorted(lines)):
        rows = read.rows(
            "SELECT f.locker_line_id, f.locker_ul, p.code, p.name, a.id FROM fit_record f JOIN position p ON p.id = f.position_id "
            "JOIN airframe a ON a.id = p.airframe_id WHERE f.state IN ('fastened', 'inspected') AND f.locker_ul > 0 "
            f"AND f.locker_line_id IN ({', '.join('?' * len(some))}) ORDER BY f.id",
            *some,
        )
        for line, volume, code, name, airframe_id in rows:
            frame = read.get(Airframe, airframe_id)
            who = _of_airframe(read, frame, read.get(Place, frame.place_id))
            if who is not None:
                found.append(
                    RecalledStock(
                        line, None, AccountClass.CONSUMED, f"{code} in {frame.code}", f"{frame.tail} {name}",
                        volume, "volume_ul", who, bonded=True,
                    )
                )  # fmt: skip
    return found


def _units(read: Reading, found: Sequence[Located]) -> dict[int, str]:
    return {i: read.get(ReceiptLine, i).unit for i in {f.stock.receipt_line_id for f in found}}


_Key = tuple[int, int | None, AccountClass, str]


def _decisions(read: Reading, hold: Hold) -> dict[_Key, RecallDisposition]:
    """The last decision about each stock."""
    return {
        (d.receipt_line_id, d.piece_id, AccountClass(d.account_class), d.around): d
        for d in read.select(RecallDisposition, "hold_id = ?", hold.id)
    }


def _with_decision(one: RecalledStock, decided: Mapping[_Key, RecallDisposition]) -> RecalledStock:
    """A decision stands for no more than it was made about."""
    found = decided.get(one.key)
    if found is None or abs(one.quantity) > found.quantity:
        return one
    return replace(one, decision=f"{found.decision} ({found.reference})")


def part_of_line(read: Reading, line_id: int) -> Part:
    """The part that a receipt line is of."""
    return read.get(Part, read.get(ReceiptLine, line_id).part_id)
