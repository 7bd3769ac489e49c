"""Inspection: blades piece by piece, counted stock by quantity; only what was looked at becomes serviceable.

A finding is always recorded, on hold where something is in doubt; an acceptance is refused where a rule
stands against it. Source: design R2 (mark), R13 (expiry), R14 (paper), R16 (identity).
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from kittrack.domain import bounds, codes
from kittrack.domain.ledger import Condition
from kittrack.domain.rules import require
from kittrack.domain.text import check_text
from kittrack.errors import BadInput, Problem, Refusal
from kittrack.services import accepting, booking, desk, holding, serials, weighing
from kittrack.services.accepting import ACCEPTED, CONDITION_AFTER, HELD, REJECTED
from kittrack.services.desk import Done
from kittrack.store.act import Act, Slot
from kittrack.store.database import Store
from kittrack.store.records import Inspection, Part, Piece, ReceiptLine
from kittrack.store.stock import slot_of_piece


@dataclass(frozen=True)
class PieceSpec:
    """What an inspection found on one blade, hub or serialised part.

    Args:
        serial: the maker's serial, character by character; None where there is none.
        mark: what is moulded or printed on a blade, as read on the blade itself.
        result: "accepted", "held" or "rejected"; the latter two take a note.
        mass_ug: what the scale showed.
        moment_g_um: the static moment.
        scale: the code or name of the scale of the two.
        pair_code: the supplier's own number of the pair (or set) that it came in.
        note: what was seen.
    """

    serial: str | None
    mark: str = ""
    result: str = ACCEPTED
    mass_ug: int | None = None
    moment_g_um: int | None = None
    scale: str = ""
    pair_code: str = ""
    note: str = ""


@dataclass(frozen=True)
class PieceFinding:
    """What a new inspection found on a piece that has a code already."""

    piece: str
    mark: str = ""
    result: str = ACCEPTED
    note: str = ""


@dataclass(frozen=True)
class _Judged:
    """A piece's result after the checks that nobody overrides, the sense of its mark, and why it is held.

    `is_of_pair` says that nothing is wrong with it but its partner.
    """

    result: str
    sense: str | None
    why: str = ""
    is_of_pair: bool = False


@desk.done_by("clerk", "inspector")
def inspect_pieces(
    store: Store,
    *,
    line: str,
    pieces: Sequence[PieceSpec],
    by: str,
    at: datetime,
    place: str = "",
    key: str = "",
) -> Done:
    """Give pieces of a receipt line their identity and their condition, each after a look at it.

    A blade whose mark is unknown, missing or of the other sense stays on hold whatever its result (R2); so
    does the partner of a bad blade in a supplier's pair.

    Args:
        line: the receipt line's code.
        pieces: one for each piece inspected now.
        place: where they lie, if the line's uninspected stock lies in several places.

    Returns:
        The new piece codes in order.

    Raises:
        BadInput: every fault of every piece at once.
        Refused: no sufficient paper (R14), no expiry (R13), a hold (R6), a serial twice (R16).
    """
    with store.act("inspect pieces", by=by, at=at, key=key) as act:
        found = desk.find_line(act, line)
        part = act.get(Part, found.part_id)
        booking.raise_any(_piece_problems(act, part, pieces))
        source = accepting.counted_slot(act, found, len(pieces), condition=Condition.ON_HOLD, place=place)
        judged = _with_partners(act, found, pieces, [_judge(act, part, p.mark, p.result) for p in pieces])
        accepted = [p for p, j in zip(pieces, judged, strict=True) if j.result == ACCEPTED]
        noted = all(p.serial or p.note for p in accepted)
        require(
            desk.check_done_by(act, inspect_pieces),
            serials.check_serials(act, part, [p.serial for p in pieces]),
            accepting.check_acceptable(act, found, noted=noted) if accepted else [],
        )
        made = [_make_piece(act, found, part, p, j, source) for p, j in zip(pieces, judged, strict=True)]
        said = _said(made, judged)
        said += _hold_partners(act, found, made, judged)
        said += holding.join_open_holds(act, pieces=made)
        said += serials.near_serials(act, part, made)
    return Done(act.event_id, tuple(p.code for p in made), tuple(said))


def reinspect_pieces(
    store: Store, *, findings: Sequence[PieceFinding], by: str, at: datetime, key: str = ""
) -> Done:
    """Inspect pieces again: on hold to serviceable, or the other way when something is found.

    What was in a rotor set before takes an inspector or a technician.
    """
    with store.act("inspect pieces again", by=by, at=at, key=key) as act:
        pieces = [desk.find_piece(act, f.piece) for f in findings]
        booking.raise_any(_finding_problems(findings, pieces))
        parts = {p.part_id: act.get(Part, p.part_id) for p in pieces}
        judged = [
            _judge(act, parts[p.part_id], f.mark, f.result) for p, f in zip(pieces, findings, strict=True)
        ]
        refusals = _check_who_inspects(act, pieces)
        for piece, finding, verdict in zip(pieces, findings, judged, strict=True):
            refusals += accepting.check_loose(act, piece)
            if verdict.result == ACCEPTED:
                line = act.get(ReceiptLine, piece.receipt_line_id)
                refusals += accepting.check_acceptable(act, line, noted=bool(piece.serial or finding.note))
                refusals += desk.check_holds(act, pieces=[piece.id])
        require(refusals)
        for piece, finding, verdict in zip(pieces, findings, judged, strict=True):
            _write_again(act, piece, finding, verdict)
        said = _said(pieces, judged)
        for piece, verdict in zip(pieces, judged, strict=True):
            said += _hold_partners(act, act.get(ReceiptLine, piece.receipt_line_id), [piece], [verdict])
    return Done(act.event_id, tuple(p.code for p in pieces), tuple(said))


# ---- judging -----------------------------------------------------------------------------------


def _judge(act: Act, part: Part, mark: str, result: str) -> _Judged:
    if part.kind != "blade":
        return _Judged(result, None)
    sense = accepting.sense_of_mark(act, part, mark)
    if sense == part.sense:
        return _Judged(result, sense)
    if not mark.strip():
        why = "no mark was read on it"
    elif sense is None:
        why = f"its mark {mark.strip()!r} is not in the mark table of {part.number}"
    else:
        why = f"its mark {mark.strip()!r} means {sense}, and {part.number} turns {part.sense}"
    return _Judged(HELD if result == ACCEPTED else result, sense, why)


def _with_partners(
    act: Act, line: ReceiptLine, pieces: Sequence[PieceSpec], judged: Sequence[_Judged]
) -> list[_Judged]:
    """The same, with what belongs to a pair that has a bad member held."""
    bad = {p.pair_code for p, j in zip(pieces, judged, strict=True) if j.result != ACCEPTED}
    for code in {p.pair_code for p in pieces} - {""}:
        earlier = [slot_of_piece(act, p.id).condition for p in _pair_members(act, line, code)]
        if any(condition != Condition.SERVICEABLE for condition in earlier):
            bad.add(code)
    return [
        replace(j, result=HELD, why=f"pair {p.pair_code} has a bad member", is_of_pair=True)
        if j.result == ACCEPTED and p.pair_code and p.pair_code in bad
        else j
        for p, j in zip(pieces, judged, strict=True)
    ]


def _pair_members(act: Act, line: ReceiptLine, pair_code: str) -> list[Piece]:
    return act.select(
        Piece,
        "pair_code = ? AND receipt_line_id IN (SELECT id FROM receipt_line WHERE lot_id = ?)",
        pair_code,
        line.lot_id,
    )


def _piece_problems(act: Act, part: Part, pieces: Sequence[PieceSpec]) -> list[Problem]:
    if not accepting.is_piecewise(part):
        return [Problem(f"{part.number} is counted, not numbered; inspect it by quantity.", "line")]
    if not pieces:
        return [Problem("No piece was inspected; enter at least one.", "pieces")]
    found = []
    for row, piece in enumerate(pieces, start=1):
        texts = (
            ("serial", piece.serial),
            ("mark", piece.mark),
            ("pair code", piece.pair_code),
            ("note", piece.note),
        )
        faults = [p for name, text in texts if text for p in check_text(text, field=name)]
        if piece.serial == "":
            faults.append(Problem("The serial is empty; type it, or say that there is none.", "serial"))
        faults += [*accepting.result_problems(piece.result, piece.note), *_weight_problems(act, piece)]
        found += [replace(p, row=row) for p in faults]
    return found


def _weight_problems(act: Act, piece: PieceSpec) -> list[Problem]:
    if piece.mass_ug is None and piece.moment_g_um is None:
        return []
    if piece.mass_ug is None or not piece.scale:
        return [Problem("A moment takes the mass and the scale that showed it; enter both.", "scale")]
    try:
        bounds.whole(piece.mass_ug, name="blade mass in ug", low=1, high=bounds.MOST_MASS_UG)
        if piece.moment_g_um is not None:
            bounds.moment(piece.moment_g_um, of="the blade")
    except BadInput as error:
        return [replace(p, field="mass") for p in error.problems]
    faults = weighing.check_calibrated(weighing.find_scale(act, piece.scale), on=desk.today(act))
    return [Problem(r.message, "scale") for r in faults]


def _finding_problems(findings: Sequence[PieceFinding], pieces: Sequence[Piece]) -> list[Problem]:
    if not findings:
        return [Problem("No piece was inspected; scan at least one.", "pieces")]
    found = []
    for row, (finding, piece) in enumerate(zip(findings, pieces, strict=True), start=1):
        faults = accepting.result_problems(finding.result, finding.note)
        faults += [p for text in (finding.mark, finding.note) if text for p in check_text(text, field="text")]
        if piece in pieces[: row - 1]:
            faults.append(Problem(f"{piece.code} stands twice; enter each piece once.", "piece"))
        found += [replace(p, row=row) for p in faults]
    return found


def _check_who_inspects(act: Act, pieces: Sequence[Piece]) -> list[Refusal]:
    was_in_set = any(act.value("SELECT 1 FROM match_reading WHERE piece_id = ?", p.id) for p in pieces)
    return desk.check_role(
        act, *(("inspector", "technician") if was_in_set else ("inspector", "clerk", "technician"))
    )


# ---- writing -----------------------------------------------------------------------------------


def _make_piece(
    act: Act, line: ReceiptLine, part: Part, spec: PieceSpec, judged: _Judged, source: Slot
) -> Piece:
    scale = weighing.find_scale(act, spec.scale) if spec.scale and spec.mass_ug is not None else None
    piece = act.insert(
        Piece(
            code=act.new_code(Piece, codes.Kind.PIECE),
            receipt_line_id=line.id,
            part_id=part.id,
            maker_id=part.maker_id,
            serial=spec.serial,
            pair_code=spec.pair_code,
            mark=spec.mark.strip(),
            sense=judged.sense,
            mass_ug=spec.mass_ug,
            moment_g_um=spec.moment_g_um,
            weighed_with_id=scale.id if scale else None,
            note=spec.note,
            event_id=act.event_id,
        )
    )
    target = Slot(source.place_id, CONDITION_AFTER[judged.result], piece.id)
    act.move_stock(line.id, 1, from_slot=source, to_slot=target)
    _insert_inspection(act, piece, judged, mark=spec.mark.strip(), note=spec.note)
    return piece


def _write_again(act: Act, piece: Piece, finding: PieceFinding, judged: _Judged) -> None:
    mark = finding.mark.strip()
    act.update(piece, mark=mark or piece.mark, sense=judged.sense or piece.sense)
    accepting.set_condition(act, slot_of_piece(act, piece.id), CONDITION_AFTER[judged.result])
    _insert_inspection(act, piece, judged, mark=mark, note=finding.note)


def _insert_inspection(act: Act, piece: Piece, judged: _Judged, *, mark: str, note: str) -> None:
    act.insert(
        Inspection(
            piece_id=piece.id,
            quantity=1,
            result=judged.result,
            mark=mark,
            sense=judged.sense,
            note="; ".join(text for text in (note, judged.why) if text),
            event_id=act.event_id,
        )
    )


def _hold_partners(
    act: Act, line: ReceiptLine, made: Sequence[Piece], judged: Sequence[_Judged]
) -> list[str]:
    """Hold the loose partners, inspected earlier, of pieces that turned out bad."""
    said = []
    bad = {p.pair_code for p, j in zip(made, judged, strict=True) if j.result != ACCEPTED} - {""}
    partners = [p for code in sorted(bad) for p in _pair_members(act, line, code) if p not in made]
    for piece in partners:
        stock = slot_of_piece(act, piece.id)
        if stock.condition != Condition.SERVICEABLE or accepting.check_loose(act, piece):
            continue
        accepting.set_condition(act, stock, Condition.ON_HOLD.value)
        said.append(f"{piece.code} is on hold: pair {piece.pair_code} has a bad member.")
    return said


def _said(pieces: Sequence[Piece], judged: Sequence[_Judged]) -> list[str]:
    good = sum(j.result == ACCEPTED for j in judged)
    said = [f"{good} of {len(pieces)} pieces are serviceable{': put them away' if good else ''}."]
    for piece, verdict in zip(pieces, judged, strict=True):
        if verdict.result == HELD:
            said.append(_said_of_held(piece, verdict))
        if verdict.result == REJECTED:
            said.append(
                f"{piece.code} is unserviceable: put it in the hold cage, then send it back or scrap it."
            )
    return said


def _said_of_held(piece: Piece, verdict: _Judged) -> str:
    """Why a piece is held, and what to do with it; a mark that was not read right is not guessed at."""
    why = verdict.why or piece.note
    ending = (
        "nobody guesses"
        if verdict.why and not verdict.is_of_pair
        else "lay it aside until it is inspected again"
    )
    return f"{piece.code} stays on hold{f': {why}' if why else ''}; {ending}."
