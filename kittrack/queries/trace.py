"""Trace both ways: what a thing is made of and where that came from; where it went and what carries it.

Works from any code: lot, receipt line, piece, rotor set, kit, airframe, job. History is read from the
ledger, so what was taken off years ago is found as well as what is fitted today.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from kittrack.domain import codes
from kittrack.errors import BadInput, NotFound
from kittrack.queries.paper import amount
from kittrack.store.act import Reading
from kittrack.store.database import Store
from kittrack.store.numbers import not_held


@dataclass(frozen=True, order=True)
class Component:
    """One thing that the subject is made of, with its origin."""

    what: str
    part: str
    quantity: int
    unit: str
    serial: str
    receipt_line: str
    lot: str
    lot_code: str
    maker: str
    supplier: str
    delivery: str
    papers: tuple[str, ...]


@dataclass(frozen=True, order=True)
class Use:
    """One place where the subject, or a part of it, went: a set, a kit, a job, a position of an airframe."""

    event: int
    at: str
    kind: str
    code: str
    airframe: str
    position: str
    until_event: int | None
    detail: str


@dataclass(frozen=True, order=True)
class Step:
    """One movement of the subject or of the container it was in."""

    event: int
    at: str
    act: str
    by: str
    quantity: int
    unit: str
    from_place: str
    to_place: str
    condition: str
    reason: str


@dataclass(frozen=True)
class Trace:
    """The answer to "what is in it, and where did it go?" for one code."""

    code: str
    kind: str
    made_of: tuple[Component, ...]
    uses: tuple[Use, ...]
    steps: tuple[Step, ...]


def trace(store: Store, *, code: str) -> Trace:
    """Trace one code of ours both ways.

    Raises:
        NotFound: the store holds nothing under the code.
        BadInput: the code does not check, or is of a kind that has no trace.
    """
    read_code = codes.read_code(code)
    asked = _ASKED.get(read_code.kind)
    if asked is None:
        raise BadInput(
            f"{read_code.text} is {read_code.kind.with_article}; scan a lot, piece, rotor set, kit, airframe or job",
            field="code",
        )
    table, answer = asked
    with store.reading() as read:
        row_id = read.value(f"SELECT id FROM {table} WHERE code = ?", read_code.text)
        if row_id is None:
            raise not_held(read, read_code.text)
        made_of, uses, steps = answer(read, row_id)
    return Trace(read_code.text, read_code.kind.in_words, tuple(made_of), tuple(sorted(uses)), tuple(steps))


_Answer = tuple[Sequence[Component], Sequence[Use], Sequence[Step]]

# ---- origins -----------------------------------------------------------------------------------

_ORIGIN = (
    "SELECT t.number, r.unit, r.code, l.code, coalesce(l.lot_code, 'unknown'), m.name, s.name, d.code, r.id "
    "FROM receipt_line r JOIN part t ON t.id = r.part_id JOIN lot l ON l.id = r.lot_id "
    "JOIN company m ON m.id = l.maker_id JOIN company s ON s.id = l.supplier_id "
    "JOIN delivery d ON d.id = r.delivery_id WHERE r.id = ?"
)


def _component(read: Reading, what: str, line_id: int, quantity: int, serial: str = "") -> Component:
    row = read.row(_ORIGIN, line_id)
    if row is None:
        raise NotFound(f"receipt line {line_id} is not in the store")
    papers = read.rows("SELECT kind, number, issuer FROM paper WHERE receipt_line_id = ? ORDER BY id", row[8])
    part, unit, line, lot, lot_code, maker, supplier, delivery = row[:8]
    return Component(what, part, quantity, unit, serial, line, lot, lot_code, maker, supplier, delivery,
                     tuple(f"{kind} {number} ({issuer})" for kind, number, issuer in papers))  # fmt: skip


def _pieces_of_set(read: Reading, set_id: int) -> list[Component]:
    rows = read.rows(
        "SELECT DISTINCT p.code, p.receipt_line_id, coalesce(p.serial, '') FROM movement m "
        "JOIN piece p ON p.id = m.to_piece_id JOIN rotor_set s ON s.place_id = m.to_place_id WHERE s.id = ? ORDER BY p.code",
        set_id,
    )
    return [_component(read, code, line, 1, serial) for code, line, serial in rows]


def _contents_of_kit(read: Reading, kit_id: int) -> list[Component]:
    picks = read.rows(
        "SELECT rotor_set_id, receipt_line_id, sum(quantity) FROM kit_pick WHERE kit_id = ? AND active = 1 "
        "GROUP BY rotor_set_id, receipt_line_id ORDER BY coalesce(rotor_set_id, 0), coalesce(receipt_line_id, 0)",
        kit_id,
    )
    found: list[Component] = []
    for set_id, line_id, quantity in picks:
        if set_id is not None:
            found += _pieces_of_set(read, set_id)
        else:
            found.append(_component(read, "stock", line_id, int(quantity)))
    return found


def _inside(read: Reading, place_id: int) -> list[Component]:
    """What a place holds now, in its containers too."""
    rows = read.rows(
        "WITH RECURSIVE below(id) AS (SELECT id FROM place WHERE id = ? UNION ALL "
        "SELECT c.container_id FROM containment c JOIN below b ON c.inside_id = b.id) "
        "SELECT p.code, coalesce(u.code, 'stock'), h.receipt_line_id, h.quantity, coalesce(u.serial, '') FROM holding h "
        "JOIN place p ON p.id = h.place_id LEFT JOIN piece u ON u.id = h.piece_id "
        "WHERE h.place_id IN (SELECT id FROM below) ORDER BY h.receipt_line_id, coalesce(h.piece_id, 0), p.code",
        place_id,
    )
    return [
        _component(read, f"{what} in {place}", line, int(quantity), serial)
        for place, what, line, quantity, serial in rows
    ]


# ---- uses --------------------------------------------------------------------------------------


def _kits_of(read: Reading, where: str, *params: int, unit: str = "pieces") -> list[Use]:
    rows = read.rows(
        "SELECT k.event_id, e.at, k.code, k.state, sum(p.quantity) FROM kit_pick p JOIN kit k ON k.id = p.kit_id "
        f"JOIN event e ON e.id = k.event_id WHERE {where} GROUP BY k.event_id, e.at, k.code, k.state",
        *params,
    )
    return [
        Use(event, at, "kit", code, "", "", None, f"{amount(int(quantity), unit)} picked, kit {state}")
        for event, at, code, state, quantity in rows
    ]


def _fits_of(read: Reading, where: str, *params: int) -> list[Use]:
    rows = read.rows(
        "SELECT f.event_id, e.at, s.code, a.tail, p.name, f.state, j.code, (SELECT min(r.event_id) FROM removal r "
        "WHERE r.rotor_set_id = f.rotor_set_id AND r.position_id = f.position_id AND r.event_id > f.event_id) "
        "FROM fit_record f JOIN event e ON e.id = f.event_id JOIN rotor_set s ON s.id = f.rotor_set_id "
        "JOIN position p ON p.id = f.position_id JOIN airframe a ON a.id = p.airframe_id JOIN job j ON j.id = f.job_id "
        f"WHERE {where}",
        *params,
    )
    return [
        Use(event, at, "fitted", code, tail, position, until, f"job {job}, {state}")
        for event, at, code, tail, position, state, job, until in rows
    ]


def _sets_of_line(read: Reading, line_id: int) -> list[int]:
    rows = read.rows(
        "SELECT DISTINCT s.id FROM piece p JOIN movement m ON m.to_piece_id = p.id "
        "JOIN rotor_set s ON s.place_id = m.to_place_id WHERE p.receipt_line_id = ? ORDER BY s.id",
        line_id,
    )
    return [row[0] for row in rows]


def _uses_of_sets(read: Reading, sets: Sequence[int]) -> list[Use]:
    if not sets:
        return []
    marks = ", ".join("?" * len(sets))
    rows = read.rows(
        f"SELECT s.event_id, e.at, s.code, s.state FROM rotor_set s JOIN event e ON e.id = s.event_id WHERE s.id IN ({marks})",
        *sets,
    )
    made = [Use(event, at, "rotor set", code, "", "", None, state) for event, at, code, state in rows]
    kits = _kits_of(read, f"p.rotor_set_id IN ({marks})", *sets)
    return made + kits + _fits_of(read, f"f.rotor_set_id IN ({marks})", *sets)


def _uses_of_line(read: Reading, line_id: int, unit: str) -> list[Use]:
    stock = _kits_of(read, "p.receipt_line_id = ?", line_id, unit=unit)
    fixings = _fits_of(
        read, "f.screw_line_id = ? OR f.washer_line_id = ? OR f.locker_line_id = ?", line_id, line_id, line_id
    )
    return stock + fixings + _uses_of_sets(read, _sets_of_line(read, line_id))


# ---- steps -------------------------------------------------------------------------------------

_STEP = (
    "SELECT m.event_id, e.at, e.act, b.name, m.quantity, coalesce(r.unit, 'pieces'), coalesce(f.name, ''), t.name, "
    "m.to_condition, e.reason FROM movement m JOIN event e ON e.id = m.event_id JOIN person b ON b.id = e.by_id "
    "LEFT JOIN receipt_line r ON r.id = m.receipt_line_id LEFT JOIN place f ON f.id = m.from_place_id JOIN place t ON t.id = m.to_place_id WHERE {0} ORDER BY m.id"
)
_FOREVER = 1 << 62


def _steps(read: Reading, where: str, *params: int) -> list[Step]:
    return [Step(*row) for row in read.rows(_STEP.format(where), *params)]


def _container_steps(
    read: Reading, place_id: int, first: int = 0, last: int = _FOREVER, depth: int = 0
) -> list[Step]:
    """The movements of a container, and of those it was in while it was in them."""
    own = _steps(read, "m.container_id = ? AND m.event_id BETWEEN ? AND ?", place_id, first, last)
    stays = read.rows(
        "SELECT event_id, to_place_id FROM movement WHERE container_id = ? AND event_id <= ? ORDER BY id",
        place_id,
        last,
    )
    return own + _steps_of_stays(read, stays, first, last, depth)


def _piece_steps(read: Reading, piece_id: int, line_id: int) -> list[Step]:
    """The movements of a piece among those of its receipt line, by which they are found quickly."""
    where = "m.receipt_line_id = ? AND (m.to_piece_id = ? OR m.from_piece_id = ?)"
    asked = (line_id, piece_id, piece_id)
    own = _steps(read, where, *asked)
    stays = read.rows(f"SELECT m.event_id, m.to_place_id FROM movement m WHERE {where} ORDER BY m.id", *asked)
    return sorted(set(own + _steps_of_stays(read, stays, 0, _FOREVER, 0)))


def _steps_of_stays(
    read: Reading, stays: Sequence[tuple[int, ...]], first: int, last: int, depth: int
) -> list[Step]:
    """The movements of each container during a stay in it; a stay ends where the next one begins."""
    found: list[Step] = []
    for number, (since, place) in enumerate(stays):
        until = stays[number + 1][0] if number + 1 < len(stays) else last
        if until >= first and depth < 8:
            found += _container_steps(read, place, max(first, since + 1), until, depth + 1)
    return found


# ---- one answer a kind ---------------------------------------------------------------------------


def _of_line(read: Reading, line_id: int) -> _Answer:
    quantity, unit = read.row("SELECT quantity, unit FROM receipt_line WHERE id = ?", line_id) or (
        0,
        "pieces",
    )
    made_of = [_component(read, "received", line_id, quantity)]
    return made_of, _uses_of_line(read, line_id, unit), _steps(read, "m.receipt_line_id = ?", line_id)


def _of_lot(read: Reading, lot_id: int) -> _Answer:
    made_of: list[Component] = []
    uses: list[Use] = []
    steps: list[Step] = []
    for (line_id,) in read.rows("SELECT id FROM receipt_line WHERE lot_id = ? ORDER BY id", lot_id):
        own = _of_line(read, line_id)
        made_of += own[0]
        uses += own[1]
        steps += own[2]
    return made_of, list(dict.fromkeys(uses)), sorted(steps)


def _of_piece(read: Reading, piece_id: int) -> _Answer:
    code, line, serial, unit = read.row(
        "SELECT p.code, r.id, coalesce(p.serial, ''), r.unit FROM piece p JOIN receipt_line r ON r.id = p.receipt_line_id "
        "WHERE p.id = ?",
        piece_id,
    ) or ("", 0, "", "pieces")
    first = read.value(
        "SELECT quantity FROM movement WHERE receipt_line_id = ? AND to_piece_id = ? ORDER BY id LIMIT 1",
        line,
        piece_id,
    )
    sets = read.rows(
        "SELECT DISTINCT s.id FROM movement m JOIN rotor_set s ON s.place_id = m.to_place_id WHERE m.to_piece_id = ? ORDER BY s.id",
        piece_id,
    )
    uses = _uses_of_sets(read, [row[0] for row in sets]) + _kits_of(
        read, "p.piece_id = ?", piece_id, unit=unit
    )
    return [_component(read, code, line, first or 1, serial)], uses, _piece_steps(read, piece_id, line)


def _of_set(read: Reading, set_id: int) -> _Answer:
    place = read.value("SELECT place_id FROM rotor_set WHERE id = ?", set_id)
    uses = [use for use in _uses_of_sets(read, [set_id]) if use.kind != "rotor set"]
    return _pieces_of_set(read, set_id), uses, sorted(set(_container_steps(read, place)))


def _of_kit(read: Reading, kit_id: int) -> _Answer:
    place = read.value("SELECT place_id FROM kit WHERE id = ?", kit_id)
    rows = read.rows(
        "SELECT v.event_id, e.at, v.code, a.tail, j.code, r.name, v.state FROM voucher v JOIN event e ON e.id = v.event_id "
        "JOIN airframe a ON a.id = v.airframe_id JOIN job j ON j.id = v.job_id JOIN person r ON r.id = v.receiver_id WHERE v.kit_id = ?",
        kit_id,
    )
    issued = [
        Use(event, at, "issued", voucher, tail, "", None, f"job {job}, to {receiver}, voucher {state}")
        for event, at, voucher, tail, job, receiver, state in rows
    ]
    fits = _fits_of(
        read,
        "f.rotor_set_id IN (SELECT rotor_set_id FROM kit_pick WHERE kit_id = ?) AND f.job_id IN (SELECT job_id FROM voucher WHERE kit_id = ?)",
        kit_id, kit_id,
    )  # fmt: skip
    return _contents_of_kit(read, kit_id), issued + fits, _container_steps(read, place)


def _of_airframe(read: Reading, airframe_id: int) -> _Answer:
    place = read.value("SELECT place_id FROM airframe WHERE id = ?", airframe_id)
    fits = _fits_of(read, "p.airframe_id = ?", airframe_id)
    return _inside(read, place), fits, _container_steps(read, place)


_CAME = "SELECT {0} FROM movement WHERE to_place_id = ?"
_THROUGH = (
    f"m.id IN ({_CAME.format('id')} UNION "
    f"SELECT id FROM movement WHERE from_place_id = ? AND receipt_line_id IN ({_CAME.format('receipt_line_id')}) UNION "
    f"SELECT id FROM movement WHERE from_place_id = ? AND container_id IN ({_CAME.format('container_id')}))"
)
"""What went into a place and out of it: only what once came in goes out, and that is found quickly."""


def _of_job(read: Reading, job_id: int) -> _Answer:
    kits = read.rows("SELECT DISTINCT kit_id FROM voucher WHERE job_id = ? ORDER BY kit_id", job_id)
    made_of = [component for (kit,) in kits for component in _contents_of_kit(read, kit)]
    place = read.value("SELECT place_id FROM job WHERE id = ?", job_id)
    return made_of, _fits_of(read, "f.job_id = ?", job_id), _steps(read, _THROUGH, *[place] * 5)


_ASKED: dict[codes.Kind, tuple[str, Callable[[Reading, int], _Answer]]] = {
    codes.Kind.LOT: ("lot", _of_lot),
    codes.Kind.RECEIPT_LINE: ("receipt_line", _of_line),
    codes.Kind.PIECE: ("piece", _of_piece),
    codes.Kind.ROTOR_SET: ("rotor_set", _of_set),
    codes.Kind.KIT: ("kit", _of_kit),
    codes.Kind.AIRFRAME: ("airframe", _of_airframe),
    codes.Kind.JOB: ("job", _of_job),
}
