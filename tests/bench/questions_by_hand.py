"""The recall account and the trace of a lot as plain SQL over the bare driver, in as few questions as it takes."""

from collections.abc import Iterable
from typing import Any

from tests.bench.by_hand import Bare, Row, _marks

_LINES = (
    "SELECT r.id, r.code, r.quantity, r.unit, t.number FROM receipt_line r JOIN lot l ON l.id = r.lot_id "
    "JOIN part t ON t.id = r.part_id WHERE l.code = ?"
)
_HELD = (
    "SELECT h.receipt_line_id, h.piece_id, h.place_id, h.condition, h.quantity, coalesce(u.code, ''), "
    "coalesce(u.serial, '') FROM holding h JOIN place p ON p.id = h.place_id LEFT JOIN piece u ON u.id = h.piece_id "
    "WHERE h.receipt_line_id IN ({0}) AND p.kind <> 'supplier'"
)
_OUTWARD = (
    "WITH RECURSIVE outward(start, id, depth) AS (SELECT DISTINCT CAST(h.place_id AS BIGINT), CAST(h.place_id AS BIGINT), 0 "
    "FROM holding h WHERE h.receipt_line_id IN ({0}) UNION ALL SELECT o.start, c.inside_id, o.depth + 1 FROM outward o "
    "JOIN containment c ON c.container_id = o.id) SELECT o.start, p.id, p.kind, p.name, p.code, p.closed, s.condition, "
    "a.tail, x.name FROM outward o JOIN place p ON p.id = o.id LEFT JOIN rotor_set s ON s.place_id = p.id "
    "LEFT JOIN position x ON x.place_id = p.id LEFT JOIN airframe a ON a.id = x.airframe_id ORDER BY o.start, o.depth"
)
_OUTWARD_IDS = (
    "WITH RECURSIVE outward(start, id, depth) AS (SELECT DISTINCT h.place_id, h.place_id, 0 FROM holding h "
    "WHERE h.receipt_line_id IN ({0}) UNION ALL SELECT o.start, (SELECT c.inside_id FROM containment c "
    "WHERE c.container_id = o.id), o.depth + 1 FROM outward o WHERE o.id IS NOT NULL) "
    "SELECT start, id FROM outward WHERE id IS NOT NULL ORDER BY start, depth"
)
_PLACES = (
    "SELECT p.id, p.kind, p.name, p.code, p.closed, s.condition, a.tail, x.name FROM place p "
    "LEFT JOIN rotor_set s ON s.place_id = p.id LEFT JOIN position x ON x.place_id = p.id "
    "LEFT JOIN airframe a ON a.id = x.airframe_id WHERE p.id IN ({0})"
)
_HOLDS = (
    "SELECT i.receipt_line_id, i.piece_id, s.place_id, k.place_id, h.code FROM hold_item i JOIN hold h ON h.id = i.hold_id "
    "LEFT JOIN rotor_set s ON s.id = i.rotor_set_id LEFT JOIN kit k ON k.id = i.kit_id WHERE i.released_event_id IS NULL"
)
_ENDS = {
    "returned to supplier": "returned to supplier", "consumed": "consumed", "van": "in vans", "hands": "issued, not fitted",
    "job": "issued, not fitted", "removed-parts cage": "removed",
}  # fmt: skip
_GONE = ("sold", "scrapped", "lost", "unaccounted")


def recall(bare: Bare, lot: str) -> tuple[int, dict[str, int], list[Row]]:
    """What was received of a lot, the sum of each class of the account, and each item with where it is."""
    bare.begin_reading()
    lines = {row[0]: row for row in bare.rows(_LINES, lot)}
    around = (_around_in_steps if bare.is_postgresql else _around)(bare, lines)
    holds: dict[tuple[int, Any], list[str]] = {}
    for *things, code in bare.rows(_HOLDS):
        for kind, thing in enumerate(things):
            if thing is not None:
                holds.setdefault((kind, thing), []).append(code)
    sums: dict[str, int] = {}
    items: list[Row] = []
    for line, piece, place, condition, quantity, code, serial in bare.rows(
        _HELD.format(_marks(lines)), *lines
    ):
        chain = around[place]
        keys = [(0, line), (1, piece), *((2, p[0]) for p in chain), *((3, p[0]) for p in chain)]
        held = sorted({h for key in keys for h in holds.get(key, ())}) if holds else []
        line_class = _class(
            chain, condition, held=bool(held) or any(p[5] not in (None, "serviceable") for p in chain)
        )
        sums[line_class] = sums.get(line_class, 0) + quantity
        at = next(((p[6], p[7]) for p in chain if p[1] == "position"), ("", ""))
        inside = " in ".join(p[3] for p in chain[:-1])
        row = lines[line]
        items.append(
            (
                line_class,
                *at,
                chain[-1][2],
                inside,
                row[1],
                code,
                serial,
                row[4],
                quantity,
                row[3],
                condition,
                tuple(held),
            )
        )
    bare.commit()
    return sum(row[2] for row in lines.values()), sums, sorted(items)  # fmt: skip


def _around(bare: Bare, lines: Iterable[int]) -> dict[int, list[Row]]:
    """The places from each holding of some lines outward, in one question."""
    around: dict[int, list[Row]] = {}
    for start, *place in bare.rows(_OUTWARD.format(_marks(lines)), *lines):
        around.setdefault(start, []).append(tuple(place))
    return around


def _around_in_steps(bare: Bare, lines: Iterable[int]) -> dict[int, list[Row]]:
    """The same where the planner reads whole tables for the one question: the numbers first, then what they are."""
    steps = bare.rows(_OUTWARD_IDS.format(_marks(lines)), *lines)
    ids = sorted({place for _, place in steps})
    places = {row[0]: row for row in bare.rows(_PLACES.format(_marks(ids)), *ids)}
    around: dict[int, list[Row]] = {}
    for start, place in steps:
        around.setdefault(start, []).append(places[place])
    return around


def _class(chain: list[Row], condition: str, *, held: bool) -> str:
    outer, kinds = chain[-1][1], [p[1] for p in chain]
    if outer in _GONE:
        return str(outer)
    if "position" in kinds:
        return "fitted"
    if outer in _ENDS:
        return _ENDS[outer]
    if "kit" in kinds:
        return "in sealed kits" if chain[kinds.index("kit")][4] else "at a bench or in a kit being built"
    if outer == "bench":
        return "at a bench or in a kit being built"
    is_on_shelf = condition == "serviceable" and not held and outer != "hold cage"
    return "on the shelf" if is_on_shelf else "on hold"


# ---- trace ---------------------------------------------------------------------------------------

_ORIGIN = (
    "SELECT r.id, t.number, r.quantity, r.unit, r.code, l.code, coalesce(l.lot_code, 'unknown'), m.name, s.name, d.code, "
    "p.kind, p.number, p.issuer FROM lot l JOIN receipt_line r ON r.lot_id = l.id JOIN part t ON t.id = r.part_id "
    "JOIN company m ON m.id = l.maker_id JOIN company s ON s.id = l.supplier_id JOIN delivery d ON d.id = r.delivery_id "
    "LEFT JOIN paper p ON p.receipt_line_id = r.id WHERE l.code = ? ORDER BY r.id, p.id"
)
_SETS = (
    "SELECT DISTINCT s.id, s.event_id, e.at, s.code, s.state FROM piece p JOIN movement m ON m.to_piece_id = p.id "
    "JOIN rotor_set s ON s.place_id = m.to_place_id JOIN event e ON e.id = s.event_id WHERE p.receipt_line_id IN ({0})"
)
_KITS = (
    "SELECT k.event_id, e.at, k.code, k.state, sum(p.quantity) FROM kit_pick p JOIN kit k ON k.id = p.kit_id "
    "JOIN event e ON e.id = k.event_id WHERE p.receipt_line_id IN ({0}) OR p.rotor_set_id IN ({1}) "
    "GROUP BY k.event_id, e.at, k.code, k.state"
)
_FITS = (
    "SELECT f.event_id, e.at, s.code, a.tail, p.name, f.state, j.code, (SELECT min(r.event_id) FROM removal r "
    "WHERE r.rotor_set_id = f.rotor_set_id AND r.position_id = f.position_id AND r.event_id > f.event_id) "
    "FROM fit_record f JOIN event e ON e.id = f.event_id JOIN rotor_set s ON s.id = f.rotor_set_id "
    "JOIN position p ON p.id = f.position_id JOIN airframe a ON a.id = p.airframe_id JOIN job j ON j.id = f.job_id "
    "WHERE f.screw_line_id IN ({0}) OR f.washer_line_id IN ({0}) OR f.locker_line_id IN ({0}) OR f.rotor_set_id IN ({1})"
)
_STEPS = (
    "SELECT m.event_id, e.at, e.act, b.name, m.quantity, coalesce(f.name, ''), t.name, m.to_condition, e.reason "
    "FROM movement m JOIN event e ON e.id = m.event_id JOIN person b ON b.id = e.by_id "
    "LEFT JOIN place f ON f.id = m.from_place_id JOIN place t ON t.id = m.to_place_id "
    "WHERE m.receipt_line_id IN ({0}) ORDER BY m.event_id, m.id"
)


def trace(bare: Bare, lot: str) -> tuple[list[Row], list[Row], list[Row]]:
    """Where a lot came from, what it went into and where that is, and each movement of it."""
    bare.begin_reading()
    origin = bare.rows(_ORIGIN, lot)
    lines = sorted({row[0] for row in origin})
    sets = bare.rows(_SETS.format(_marks(lines)), *lines)
    ids = [row[0] for row in sets]
    kits = bare.rows(_KITS.format(_marks(lines), _marks(ids)), *lines, *ids)
    fits = bare.rows(_FITS.format(_marks(lines), _marks(ids)), *lines * 3, *ids)
    steps = bare.rows(_STEPS.format(_marks(lines)), *lines)
    bare.commit()
    uses = [(row[1], row[2], "rotor set", row[3], "", "", None, row[4]) for row in sets]
    uses += [
        (event, at, "kit", code, "", "", None, f"{quantity} picked, kit {state}")
        for event, at, code, state, quantity in kits
    ]
    uses += [(*row[:2], "fitted", row[2], row[3], row[4], row[7], f"job {row[6]}, {row[5]}") for row in fits]
    return origin, sorted(uses, key=lambda use: use[:4]), steps  # fmt: skip
