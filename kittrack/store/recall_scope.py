"""What a hold, a recall or a question about one covers: receipt lines, pieces, rotor sets and kits.

Placing a hold and giving account of it look things up here, so that they can't mean different things.
Source: design R15, R16.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from kittrack.domain import codes
from kittrack.errors import BadInput, NotFound
from kittrack.store.act import Reading
from kittrack.store.numbers import not_held
from kittrack.store.parts import part_numbered
from kittrack.store.records import Hold, HoldItem, Kit, KitPick, Piece, RotorSet, Tool

_AT_ONCE = 500  # ids in one question


@dataclass(frozen=True)
class Scope:
    """What a hold covers, one of these.

    `code`: a lot (L), receipt line (Y), piece (U), rotor set (R), kit (K) or scale (W) of ours;
    `lot_code`: a maker's lot code over all suppliers, narrowed by `maker` where it is given;
    `part` with `serials`: the first and last serial of a range, texts of one length;
    `supplier` or `maker` alone: all that came from it.
    """

    code: str = ""
    lot_code: str = ""
    maker: str = ""
    supplier: str = ""
    part: str = ""
    serials: tuple[str, str] | None = None


@dataclass(frozen=True)
class Covered:
    """The ids that a scope covers now, and how it calls itself.

    `lines` covers the pieces of these lines too; `pieces`, `sets` and `kits` are things by themselves.
    """

    scope: str
    text: str
    lot_code: str = ""
    lines: tuple[int, ...] = ()
    pieces: tuple[int, ...] = ()
    sets: tuple[int, ...] = ()
    kits: tuple[int, ...] = ()

    @property
    def is_empty(self) -> bool:
        """Whether nothing is covered."""
        return not (self.lines or self.pieces or self.sets or self.kits)


def resolve(read: Reading, scope: Scope) -> Covered:
    """What a scope covers now.

    Raises:
        BadInput: no scope, or one that can't be read.
        NotFound: nothing was ever received under it.
    """
    if scope.code:
        return _by_code(read, scope.code)
    if scope.lot_code:
        maker = f" of {scope.maker}" if scope.maker else ""
        lines = _lines(
            read, "l.lot_code = ? AND (m.name = ? OR ? = '')", scope.lot_code, scope.maker, scope.maker
        )
        return _something(Covered("maker lot", f"lot code {scope.lot_code}{maker}", scope.lot_code, lines))
    if scope.serials is not None:
        return _by_serials(read, scope.part, *scope.serials)
    if scope.supplier:
        return _something(Covered("supplier", scope.supplier, "", _lines(read, "s.name = ?", scope.supplier)))
    if scope.maker:
        return _something(Covered("maker", scope.maker, "", _lines(read, "m.name = ?", scope.maker)))
    raise BadInput(
        "a hold needs a scope: a code, a lot code, serials of a part, a supplier or a maker", field="scope"
    )


def covered_by_hold(read: Reading, hold: Hold, *, only_open: bool = False) -> Covered:
    """What a hold covers, what it was released from too unless only what is still held is asked for."""
    open_too = " AND released_event_id IS NULL" if only_open else ""
    items = read.select(HoldItem, f"hold_id = ?{open_too}", hold.id)
    return Covered(
        hold.scope, f"{hold.code}, {hold.scope_text}", hold.lot_code,
        lines=_ids(i.receipt_line_id for i in items), pieces=_ids(i.piece_id for i in items),
        sets=_ids(i.rotor_set_id for i in items), kits=_ids(i.kit_id for i in items),
    )  # fmt: skip


def find_hold(read: Reading, text: str) -> Hold:
    """The hold of a scanned code."""
    code = codes.read_code(text, expect=codes.Kind.HOLD).text
    found = read.find(Hold, code=code)
    if found is None:
        raise not_held(read, code)
    return found


def pieces_of_sets(read: Reading, sets: Sequence[int]) -> tuple[int, ...]:
    """The pieces that are in sets now and those that their match records prove, also where a set was broken since."""
    found: set[int] = set()
    for some in in_parts(sets):
        marks = ", ".join("?" * len(some))
        rows = read.rows(
            "SELECT h.piece_id FROM holding h JOIN rotor_set s ON s.place_id = h.place_id "
            f"WHERE h.piece_id IS NOT NULL AND s.id IN ({marks}) UNION "
            "SELECT r.piece_id FROM match_reading r JOIN rotor_set s ON s.match_record_id = r.match_record_id "
            f"WHERE s.id IN ({marks})",
            *some, *some,
        )  # fmt: skip
        found |= {row[0] for row in rows}
    return tuple(sorted(found))


def in_parts(ids: Sequence[int]) -> Iterator[tuple[int, ...]]:
    """Ids in parts that fit one question."""
    for start in range(0, len(ids), _AT_ONCE):
        yield tuple(ids[start : start + _AT_ONCE])


def _ids(found: Iterator[int | None]) -> tuple[int, ...]:
    return tuple(i for i in found if i is not None)


def _something(things: Covered) -> Covered:
    if things.is_empty:
        raise NotFound(
            f"nothing was ever received under {things.text}; compare it with the notice, letter by letter"
        )
    return things


def _lines(read: Reading, where: str, *params: str) -> tuple[int, ...]:
    rows = read.rows(
        "SELECT r.id FROM receipt_line r JOIN lot l ON l.id = r.lot_id JOIN company m ON m.id = l.maker_id "
        f"JOIN company s ON s.id = l.supplier_id WHERE {where} ORDER BY r.id",
        *params,
    )
    return tuple(row[0] for row in rows)


def _by_code(read: Reading, text: str) -> Covered:
    code = codes.read_code(text)
    kind, name = code.kind, f"{code.kind.in_words} {code.text}"
    if kind is codes.Kind.LOT:
        return Covered("lot", name, lines=_known_lines(read, "l.code = ?", code.text))
    if kind is codes.Kind.RECEIPT_LINE:
        return Covered("receipt line", name, lines=_known_lines(read, "r.code = ?", code.text))
    if kind is codes.Kind.PIECE:
        return Covered("piece", name, pieces=(_known(read, read.find(Piece, code=code.text), code.text),))
    if kind is codes.Kind.ROTOR_SET:
        own = _known(read, read.find(RotorSet, code=code.text), code.text)
        return Covered("rotor set", name, sets=(own,))
    if kind is codes.Kind.KIT:
        return _by_kit(read, code.text)
    if kind is codes.Kind.TOOL:
        return _by_scale(read, code.text)
    raise BadInput(
        f"{code.text} is {kind.with_article}; name a lot, receipt line, piece, rotor set, kit or scale",
        field="code",
    )


def _known_lines(read: Reading, where: str, code: str) -> tuple[int, ...]:
    lines = _lines(read, where, code)
    if not lines:
        raise not_held(read, code)
    return lines


def _known(read: Reading, found: Piece | RotorSet | None, code: str) -> int:
    if found is None:
        raise not_held(read, code)
    return found.id


def _by_kit(read: Reading, code: str) -> Covered:
    """A kit with all that is in it; of one that was opened also what came out of it with a number of its own."""
    kit = read.find(Kit, code=code)
    if kit is None:
        raise not_held(read, code)
    if kit.state == "dissolved":
        raise NotFound(
            f"kit {code} was taken apart in the stores and what was in it lies there by itself; name the sets and lots, "
            f"which trace names: kittrack trace {code}"
        )
    out = read.select(KitPick, "kit_id = ? AND active = 1", kit.id) if kit.state == "opened" else []
    return Covered(
        "kit", f"kit {code}", kits=(kit.id,),
        pieces=_ids(p.piece_id for p in out), sets=_ids(p.rotor_set_id for p in out),
    )  # fmt: skip


def _by_scale(read: Reading, code: str) -> Covered:
    """Every set that was proved with a scale which turns out to be bad."""
    tool = read.find(Tool, code=code)
    if tool is None:
        raise not_held(read, code)
    if tool.kind != "scale":
        raise NotFound(f"{code} is no scale of this store")
    rows = read.rows(
        "SELECT s.id FROM rotor_set s JOIN match_record m ON m.id = s.match_record_id "
        "WHERE m.tool_id = ? AND s.state = 'complete' ORDER BY s.id",
        tool.id,
    )
    things = Covered("scale", f"sets proved with {tool.name}", sets=tuple(row[0] for row in rows))
    if things.is_empty:
        raise NotFound(f"no set in the store was proved with {tool.name}")
    return things


def _by_serials(read: Reading, part: str, first: str, last: str) -> Covered:
    if not part:
        raise BadInput("a range of serials needs its part number", field="part")
    if len(first) != len(last) or first > last:
        raise BadInput(
            f"{first} to {last} is no range; give two serials of one length, the first one first",
            field="serials",
        )
    number = part_numbered(read, part)
    rows = read.select(
        Piece, "part_id = ? AND length(serial) = ? AND serial >= ? AND serial <= ?",
        number.id, len(first), first, last,
    )  # fmt: skip
    return _something(
        Covered("serials", f"{number.number}: {first} to {last}", pieces=tuple(p.id for p in rows))
    )
