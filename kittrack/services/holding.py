"""Holds: placed by lot, line, piece, set, kit, maker's code, serials, supplier, maker or scale; narrowed; released.

A hold is a statement on things where they are; nothing moves by it. Everything under its scope that
arrives later joins it. Source: design R6, R15; fastener recalls go by manufacture lot (FAA AD 2005-14-12).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from kittrack.domain import codes
from kittrack.domain.ledger import PlaceKind
from kittrack.domain.rules import Rule, require
from kittrack.errors import BadInput, NotFound, Refusal
from kittrack.services import desk
from kittrack.services.desk import Done
from kittrack.store.act import Act
from kittrack.store.database import Store
from kittrack.store.records import Company, Hold, HoldItem, Lot, Part, Piece, ReceiptLine, Tool
from kittrack.store.stock import chains


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
class _Things:
    """The ids that a scope covers now, and how the hold calls itself."""

    scope: str
    text: str
    lot_code: str = ""
    lines: tuple[int, ...] = ()
    pieces: tuple[int, ...] = ()
    sets: tuple[int, ...] = ()
    kits: tuple[int, ...] = ()


def place_hold(
    store: Store, *, scope: Scope, reason: str, reference: str, by: str, at: datetime,
    is_recall: bool = False, is_evidence: bool = False, key: str = "",
) -> Done:  # fmt: skip
    """Place a hold, and say who must be told: airframes that carry it, vans and hands that have it.

    Anyone of the stores may place one; stopping is never refused for want of a role.

    Raises:
        BadInput: no scope, or no reason; NotFound: nothing is known under it.
    """
    desk.require_text(reason=reason)
    if is_recall:
        desk.require_text(reference=reference)
    with store.act("place a hold", by=by, at=at, reason=reason, key=key) as act:
        require(desk.check_role(act, "clerk", "technician", "inspector", "manager"))
        things = _resolve(act, scope)
        hold = act.insert(
            Hold(
                code=act.new_code(Hold, codes.Kind.HOLD), scope=things.scope, scope_text=things.text,
                lot_code=things.lot_code, reason=reason.strip(), reference=reference.strip(),
                is_recall=int(is_recall), is_evidence=int(is_evidence), placed_event_id=act.event_id,
            )
        )  # fmt: skip
        _add_items(act, hold, things)
        told = _who_must_be_told(act, things)
    said = (f"{hold.code} holds {things.text}: nothing of it can be picked, sealed, issued or fitted.", *told)
    return Done(act.event_id, (hold.code,), said)


def release_hold(
    store: Store, *, hold: str, reference: str, reason: str, by: str, at: datetime, only: Sequence[str] = ()
) -> Done:
    """Release a hold, or only some of its things (codes), with the reference that allows it.

    Raises:
        Refused: not a manager or inspector; the hold is released already (R12).
        BadInput: a code that the hold does not cover.
    """
    desk.require_text(reference=reference, reason=reason)
    with store.act("release a hold", by=by, at=at, reason=reason) as act:
        found = find_hold(act, hold)
        released = [] if found.released_event_id is None else [
            Refusal(Rule.NOTHING_ERASED, found.code, f"{found.code} is released already; place a new hold if it is needed.")
        ]  # fmt: skip
        require(desk.check_role(act, "manager", "inspector"), released)
        items = act.select(HoldItem, "hold_id = ? AND released_event_id IS NULL", found.id)
        chosen = _chosen(act, found, items, only) if only else items
        for item in chosen:
            act.update(item, released_event_id=act.event_id)
        whole = len(chosen) == len(items)
        if whole:
            act.update(found, released_event_id=act.event_id, release_reference=reference.strip())
        else:
            act.note("hold narrowed", hold=found.code, reference=reference.strip(), released=list(only))
    left = (
        "released" if whole else f"narrowed: {len(items) - len(chosen)} of {len(items)} things stay on hold"
    )
    return Done(act.event_id, (found.code,), (f"{found.code} is {left} under {reference.strip()}.",))


def find_hold(act: Act, text: str) -> Hold:
    """The hold of a scanned code."""
    code = codes.read_code(text, expect=codes.Kind.HOLD).text
    found = act.find(Hold, code=code)
    if found is None:
        raise NotFound(f"the store holds nothing under {code}")
    return found


def join_open_holds(
    act: Act, *, lines: Sequence[ReceiptLine] = (), pieces: Sequence[Piece] = ()
) -> tuple[str, ...]:
    """Put what just arrived under every open hold whose scope covers it; answers with sentences.

    Receiving calls it for new lines, inspection for new pieces (serial ranges).
    """
    said = []
    for hold in act.select(Hold, "released_event_id IS NULL"):
        for line in lines:
            if _covers_line(act, hold, line):
                act.insert(HoldItem(hold_id=hold.id, receipt_line_id=line.id))
                said.append(f"{line.code} joins {hold.code} ({hold.reason}): put it in the hold cage.")
        for piece in pieces:
            if _covers_piece(act, hold, piece):
                act.insert(HoldItem(hold_id=hold.id, piece_id=piece.id))
                said.append(f"{piece.code} joins {hold.code} ({hold.reason}): put it in the hold cage.")
    return tuple(said)


# ---- scopes ------------------------------------------------------------------------------------


def _resolve(act: Act, scope: Scope) -> _Things:
    if scope.code:
        return _by_code(act, scope.code)
    if scope.lot_code:
        maker = f" of {scope.maker}" if scope.maker else ""
        lines = _lines(
            act, "l.lot_code = ? AND (m.name = ? OR ? = '')", scope.lot_code, scope.maker, scope.maker
        )
        return _something(_Things("maker lot", f"lot code {scope.lot_code}{maker}", scope.lot_code, lines))
    if scope.serials is not None:
        return _by_serials(act, scope.part, *scope.serials)
    if scope.supplier:
        return _something(_Things("supplier", scope.supplier, "", _lines(act, "s.name = ?", scope.supplier)))
    if scope.maker:
        return _something(_Things("maker", scope.maker, "", _lines(act, "m.name = ?", scope.maker)))
    raise BadInput(
        "a hold needs a scope: a code, a lot code, serials of a part, a supplier or a maker", field="scope"
    )


def _something(things: _Things) -> _Things:
    if not (things.lines or things.pieces or things.sets or things.kits):
        raise NotFound(f"nothing was ever received under {things.text}; check it against the notice")
    return things


def _lines(act: Act, where: str, *params: str) -> tuple[int, ...]:
    rows = act.rows(
        "SELECT r.id FROM receipt_line r JOIN lot l ON l.id = r.lot_id JOIN company m ON m.id = l.maker_id "
        f"JOIN company s ON s.id = l.supplier_id WHERE {where} ORDER BY r.id",
        *params,
    )
    return tuple(row[0] for row in rows)


def _by_code(act: Act, text: str) -> _Things:
    code = codes.read_code(text)
    kind, name = code.kind, f"{code.kind.in_words} {code.text}"
    if kind is codes.Kind.LOT:
        return _something(_Things("lot", name, lines=_lines(act, "l.code = ?", code.text)))
    if kind is codes.Kind.RECEIPT_LINE:
        return _something(_Things("receipt line", name, lines=_lines(act, "r.code = ?", code.text)))
    if kind is codes.Kind.PIECE:
        return _Things("piece", name, pieces=(desk.find_piece(act, code.text).id,))
    if kind is codes.Kind.ROTOR_SET:
        return _Things("rotor set", name, sets=(desk.find_set(act, code.text).id,))
    if kind is codes.Kind.KIT:
        return _Things("kit", name, kits=(desk.find_kit(act, code.text).id,))
    if kind is codes.Kind.TOOL:
        return _by_scale(act, code.text)
    raise BadInput(
        f"{code.text} is a {kind.in_words}; a hold is placed on a lot, receipt line, piece, set, kit or scale",
        field="code",
    )


def _by_scale(act: Act, code: str) -> _Things:
    """Every set that was proved with a scale which turns out to be bad."""
    tool = act.find(Tool, code=code)
    if tool is None or tool.kind != "scale":
        raise NotFound(f"{code} is no scale of this store")
    rows = act.rows(
        "SELECT s.id FROM rotor_set s JOIN match_record m ON m.id = s.match_record_id "
        "WHERE m.tool_id = ? AND s.state = 'complete' ORDER BY s.id",
        tool.id,
    )
    things = _Things("scale", f"sets proved with {tool.name}", sets=tuple(row[0] for row in rows))
    if not things.sets:
        raise NotFound(f"no set in the store was proved with {tool.name}")
    return things


def _by_serials(act: Act, part: str, first: str, last: str) -> _Things:
    if not part:
        raise BadInput("a range of serials needs its part number", field="part")
    if len(first) != len(last) or first > last:
        raise BadInput(
            f"{first} to {last} is no range; give two serials of one length, the first one first",
            field="serials",
        )
    number = desk.find_part(act, part)
    rows = act.select(
        Piece,
        "part_id = ? AND length(serial) = ? AND serial >= ? AND serial <= ?",
        number.id,
        len(first),
        first,
        last,
    )
    return _something(
        _Things("serials", f"{number.number}: {first} to {last}", pieces=tuple(p.id for p in rows))
    )


def _covers_line(act: Act, hold: Hold, line: ReceiptLine) -> bool:
    lot = act.get(Lot, line.lot_id)
    if hold.scope == "lot":
        return hold.scope_text.endswith(f" {lot.code}")
    if hold.scope == "maker lot":
        maker = act.get(Company, lot.maker_id).name
        return lot.lot_code == hold.lot_code and hold.scope_text in (
            f"lot code {hold.lot_code}",
            f"lot code {hold.lot_code} of {maker}",
        )
    if hold.scope in ("supplier", "maker"):
        company = act.get(Company, lot.supplier_id if hold.scope == "supplier" else lot.maker_id)
        return company.name == hold.scope_text
    return False


def _covers_piece(act: Act, hold: Hold, piece: Piece) -> bool:
    if hold.scope != "serials" or piece.serial is None:
        return False
    number, _, span = hold.scope_text.rpartition(": ")
    first, _, last = span.partition(" to ")
    same = act.get(Part, piece.part_id).number == number and len(piece.serial) == len(first)
    return same and first <= piece.serial <= last


def _add_items(act: Act, hold: Hold, things: _Things) -> None:
    for line in things.lines:
        act.insert(HoldItem(hold_id=hold.id, receipt_line_id=line))
    for piece in things.pieces:
        act.insert(HoldItem(hold_id=hold.id, piece_id=piece))
    for rotor_set in things.sets:
        act.insert(HoldItem(hold_id=hold.id, rotor_set_id=rotor_set))
    for kit in things.kits:
        act.insert(HoldItem(hold_id=hold.id, kit_id=kit))


def _chosen(act: Act, hold: Hold, items: Sequence[HoldItem], only: Sequence[str]) -> list[HoldItem]:
    by_code: dict[str, HoldItem] = {}
    for item in items:
        for table, row_id in (
            ("receipt_line", item.receipt_line_id),
            ("piece", item.piece_id),
            ("rotor_set", item.rotor_set_id),
            ("kit", item.kit_id),
        ):
            if row_id is not None:
                by_code[act.value(f"SELECT code FROM {table} WHERE id = ?", row_id)] = item
    wanted = [codes.read_code(text).text for text in only]
    strange = [code for code in wanted if code not in by_code]
    if strange:
        raise BadInput(
            f"{', '.join(strange)} is not under {hold.code}; it holds {', '.join(sorted(by_code))}",
            field="only",
        )
    return [by_code[code] for code in dict.fromkeys(wanted)]


# ---- who must be told --------------------------------------------------------------------------


def _who_must_be_told(act: Act, things: _Things) -> tuple[str, ...]:
    """One sentence for each airframe, van and person that has something under the hold now."""
    places = _places_of(act, things)
    around = chains(act, places)
    found: dict[str, str] = {}
    for place in places:
        outer = around[place]
        tail = next((p.name for p in outer if p.kind == PlaceKind.AIRFRAME), "")
        if tail:
            found[f"1 {tail}"] = f"AIRFRAME {tail} carries it: ground the aircraft until it is off."
        elif outer[-1].kind == PlaceKind.VAN:
            found[f"2 {outer[-1].name}"] = f"VAN {outer[-1].name} has it aboard: call the van."
        elif outer[-1].kind == PlaceKind.HANDS:
            found[f"3 {outer[-1].name}"] = (
                f"{outer[-1].name} has it in hand: stop the work and bring it back."
            )
    return tuple(found[key] for key in sorted(found))


def _places_of(act: Act, things: _Things) -> list[int]:
    found: set[int] = set()
    asked = (
        ("SELECT place_id FROM holding WHERE receipt_line_id", things.lines),
        ("SELECT place_id FROM holding WHERE piece_id", things.pieces),
        ("SELECT place_id FROM rotor_set WHERE id", things.sets),
        ("SELECT place_id FROM kit WHERE id", things.kits),
    )
    for sql, ids in asked:
        for start in range(0, len(ids), 500):
            part = ids[start : start + 500]
            found |= {row[0] for row in act.rows(f"{sql} IN ({', '.join('?' * len(part))})", *part)}
    return sorted(found)
