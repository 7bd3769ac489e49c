"""Long lists a page at a time, by key: never a whole table, never an offset.

A page begins after the row with a key and stops after a number of rows. A filter is given to the database
word by word. Source: design 7 (lists), N7.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

from kittrack.errors import NotFound
from kittrack.store.act import Reading
from kittrack.store.database import Store
from kittrack.store.look_facts import held_at_last_look
from kittrack.store.word_search import words_held

_MOST: Final = 1000  # rows of one page

Row = tuple[Any, ...]


@dataclass(frozen=True)
class _List:
    """One list: what its rows hold (the key first), from where, in which order, and what a filter looks at."""

    columns: tuple[str, ...]
    tables: str
    order: str
    where: str = "1 = 1"
    newest_first: bool = False
    group: str = ""
    find: tuple[str, ...] = ()

    @property
    def looked_at(self) -> str:
        """Everything that a filter looks at, as one text."""
        return " || ' ' || ".join(f"coalesce({column}, '')" for column in (self.find or self.columns))


_STORES: Final = "('bin', 'goods-in', 'hold cage', 'bench', 'van', 'removed-parts cage')"
_WAITS: Final = "('goods-in', 'hold cage', 'removed-parts cage', 'bench')"
_BACK: Final = "('goods-in', 'removed-parts cage', 'hold cage')"
_EVENT: Final = "JOIN event e ON e.id = x.event_id JOIN person b ON b.id = e.by_id"

_LISTS: Final = {
    "waiting": _List(
        ("r.code", "t.sense", "t.number", "t.kind", "t.tracking", "sum(h.quantity)", "r.unit", "min(p.name)", "r.expiry_kind",
         "r.expires_on", "l.lot_code", "c.name", "d.reference",
         "(SELECT count(*) FROM paper q WHERE q.receipt_line_id = r.id)",
         "(SELECT count(*) FROM hold_item i WHERE i.receipt_line_id = r.id AND i.released_event_id IS NULL)",
         "max(CASE WHEN h.piece_id IS NULL THEN 0 ELSE 1 END)", held_at_last_look("r.id")),
        "receipt_line r JOIN holding h ON h.receipt_line_id = r.id JOIN place p ON p.id = h.place_id JOIN part t ON t.id = r.part_id "
        "JOIN lot l ON l.id = r.lot_id JOIN delivery d ON d.id = r.delivery_id JOIN company c ON c.id = d.supplier_id",
        "r.id",
        f"h.condition = 'on hold' AND h.piece_id IS NULL AND h.place_id IN (SELECT id FROM place WHERE kind IN {_WAITS})",
        group="r.id, r.code, t.sense, t.number, t.kind, t.tracking, r.unit, r.expiry_kind, r.expires_on, l.lot_code, c.name, d.reference",
        find=("r.code", "t.number", "t.name", "t.kind", "t.sense", "l.lot_code", "c.name", "d.reference"),
    ),
    "to put away": _List(
        ("h.id", "coalesce(u.code, r.code)", "t.sense", "t.number", "h.quantity", "r.unit", "p.name", "l.lot_code", "c.name"),
        "holding h JOIN receipt_line r ON r.id = h.receipt_line_id JOIN place p ON p.id = h.place_id JOIN part t ON t.id = r.part_id "
        "JOIN lot l ON l.id = r.lot_id JOIN delivery d ON d.id = r.delivery_id JOIN company c ON c.id = d.supplier_id "
        "LEFT JOIN piece u ON u.id = h.piece_id",
        "h.id", "h.condition = 'serviceable' AND h.place_id IN (SELECT id FROM place WHERE kind = 'goods-in')",
        find=("r.code", "u.code", "t.sense", "t.number", "t.name", "l.lot_code", "c.name"),
    ),
    "shelf": _List(
        ("h.id", "coalesce(u.code, r.code)", "t.sense", "t.number", "h.quantity", "r.unit", "p.name", "h.condition", "r.expiry_kind",
         "r.expires_on", "l.lot_code"),
        "holding h JOIN receipt_line r ON r.id = h.receipt_line_id JOIN place p ON p.id = h.place_id JOIN part t ON t.id = r.part_id "
        "JOIN lot l ON l.id = r.lot_id LEFT JOIN piece u ON u.id = h.piece_id",
        "h.id", f"h.place_id IN (SELECT id FROM place WHERE kind IN {_STORES})",
        find=("r.code", "u.code", "t.sense", "t.number", "t.name", "p.name", "h.condition", "l.lot_code"),
    ),
    "pieces on hold": _List(
        ("u.code", "u.sense", "t.number", "u.serial", "p.name", "h.condition", "u.mark", "u.note"),
        "holding h JOIN piece u ON u.id = h.piece_id JOIN part t ON t.id = u.part_id JOIN place p ON p.id = h.place_id",
        "u.id",
        f"h.condition IN ('on hold', 'unserviceable') AND h.place_id IN (SELECT id FROM place WHERE kind IN {_STORES})",
    ),
    "loose blades": _List(
        ("u.code", "u.sense", "t.number", "u.serial", "p.name", "h.condition", "u.mass_ug", "u.moment_g_um", "l.lot_code"),
        "holding h JOIN piece u ON u.id = h.piece_id JOIN part t ON t.id = u.part_id JOIN place p ON p.id = h.place_id "
        "JOIN receipt_line r ON r.id = u.receipt_line_id JOIN lot l ON l.id = r.lot_id",
        "u.id",
        f"t.kind = 'blade' AND h.condition = 'serviceable' AND h.place_id IN (SELECT id FROM place WHERE kind IN {_STORES})",
        find=("u.code", "u.sense", "t.number", "u.serial", "p.name", "l.lot_code"),
    ),
    "lines": _List(
        ("r.code", "t.sense", "t.number", "t.name", "r.quantity", "r.unit", "r.expiry_kind", "r.expires_on", "l.lot_code", "c.name",
         "d.reference", "d.code"),
        "receipt_line r JOIN part t ON t.id = r.part_id JOIN lot l ON l.id = r.lot_id JOIN delivery d ON d.id = r.delivery_id "
        "JOIN company c ON c.id = d.supplier_id",
        "r.id", newest_first=True,
        find=("r.code", "t.number", "t.name", "t.sense", "l.lot_code", "c.name", "d.reference", "d.code"),
    ),
    "lots": _List(
        ("l.code", "t.sense", "t.number", "l.lot_code", "m.name", "c.name", "t.name"),
        "lot l JOIN part t ON t.id = l.part_id JOIN company m ON m.id = l.maker_id JOIN company c ON c.id = l.supplier_id",
        "l.id", newest_first=True,
    ),
    "bottles": _List(
        ("u.code", "t.number", "h.quantity", "p.name", "h.condition", "u.opened_on", "u.expires_on"),
        "holding h JOIN piece u ON u.id = h.piece_id JOIN part t ON t.id = u.part_id JOIN place p ON p.id = h.place_id",
        "u.id", f"u.opened_on IS NOT NULL AND h.place_id IN (SELECT id FROM place WHERE kind IN {_STORES})",
        find=("u.code", "t.number", "p.name", "h.condition"),
    ),
    "sets": _List(
        ("s.code", "s.sense", "t.number", "s.condition", "coalesce(p.name, '')", "coalesce(p.kind, '')", "coalesce(m.method, '')",
         "m.residual_g_um", "m.uncertainty_g_um", "m.tolerance_g_um"),
        "rotor_set s JOIN part t ON t.id = s.part_id LEFT JOIN containment k ON k.container_id = s.place_id "
        "LEFT JOIN place p ON p.id = k.inside_id LEFT JOIN match_record m ON m.id = s.match_record_id",
        "s.id", "s.state = 'complete'", newest_first=True,
        find=("s.code", "s.sense", "t.number", "s.condition", "p.name", "p.kind", "m.method"),
    ),
    "sets that came back": _List(
        ("s.code", "s.sense", "t.number", "s.condition", "p.name"),
        "rotor_set s JOIN part t ON t.id = s.part_id JOIN containment k ON k.container_id = s.place_id JOIN place p ON p.id = k.inside_id",
        "s.id", f"s.state = 'complete' AND p.kind IN {_BACK}", newest_first=True,
    ),
    "sets not proved": _List(
        ("s.code", "s.sense", "t.number", "s.condition", "coalesce(p.name, '')",
         "CASE WHEN s.history_known = 1 THEN 'not proved' ELSE 'history unknown' END"),
        "rotor_set s JOIN part t ON t.id = s.part_id LEFT JOIN containment k ON k.container_id = s.place_id "
        "LEFT JOIN place p ON p.id = k.inside_id",
        "s.id", "s.state = 'complete' AND s.match_record_id IS NULL", newest_first=True,
    ),
    "orphans": _List(
        ("u.code", "u.sense", "t.number", "u.serial", "p.name", "h.condition",
         "(SELECT s.code FROM movement m JOIN rotor_set s ON s.place_id = m.to_place_id WHERE m.to_piece_id = u.id ORDER BY m.id DESC LIMIT 1)"),
        "holding h JOIN piece u ON u.id = h.piece_id JOIN part t ON t.id = u.part_id JOIN place p ON p.id = h.place_id",
        "u.id",
        f"t.kind = 'blade' AND h.place_id IN (SELECT id FROM place WHERE kind IN {_STORES}) AND EXISTS "
        "(SELECT 1 FROM movement m JOIN rotor_set s ON s.place_id = m.to_place_id WHERE m.to_piece_id = u.id)",
        find=("u.code", "u.sense", "t.number", "u.serial", "p.name", "h.condition"),
    ),
    "kits": _List(
        ("k.code", "y.name || ' ' || v.name", "coalesce(a.tail, '')", "k.state", "coalesce(p.name, '')", "k.expires_on", "k.seal"),
        "kit k JOIN type_revision v ON v.id = k.type_revision_id JOIN airframe_type y ON y.id = v.airframe_type_id "
        "LEFT JOIN airframe a ON a.id = k.airframe_id LEFT JOIN containment n ON n.container_id = k.place_id "
        "LEFT JOIN place p ON p.id = n.inside_id",
        "k.id", "k.state IN ('building', 'checked', 'sealed', 'issued')", newest_first=True,
    ),
    "dead kits": _List(
        ("k.code", "y.name || ' ' || v.name", "coalesce(a.tail, '')", "k.state", "''", "k.expires_on", "k.seal"),
        "kit k JOIN type_revision v ON v.id = k.type_revision_id JOIN airframe_type y ON y.id = v.airframe_type_id "
        "LEFT JOIN airframe a ON a.id = k.airframe_id",
        "k.id", "k.state NOT IN ('building', 'checked', 'sealed', 'issued')", newest_first=True,
    ),
    "holds": _List(
        ("x.code", "x.scope", "x.scope_text", "x.reason", "x.reference", "x.is_recall", "x.is_evidence", "b.name", "e.at"),
        "hold x JOIN event e ON e.id = x.placed_event_id JOIN person b ON b.id = e.by_id", "x.id",
        "x.released_event_id IS NULL", newest_first=True,
        find=("x.code", "x.scope", "x.scope_text", "x.reason", "x.reference", "b.name"),
    ),
    "overrides": _List(
        ("x.id", "x.kind", "x.subject", "x.reason", "b.name", "coalesce(w.name, '')", "e.at"),
        f"override x {_EVENT} LEFT JOIN person w ON w.id = e.second_id", "x.id", newest_first=True,
        find=("x.kind", "x.subject", "x.reason", "b.name", "w.name"),
    ),
    "alone": _List(
        ("x.id", "n.name", "coalesce(j.code, '')", "x.from_on", "x.until_on", "x.reason", "b.name"),
        f"alone_declaration x JOIN person n ON n.id = x.person_id LEFT JOIN job j ON j.id = x.job_id {_EVENT}", "x.id",
        newest_first=True, find=("n.name", "j.code", "x.from_on", "x.until_on", "x.reason", "b.name"),
    ),
    "counts": _List(
        ("x.code", "p.name", "x.state", "coalesce(n.name, '')", "e.at"),
        "stock_count x JOIN place p ON p.id = x.place_id JOIN event e ON e.id = x.event_id LEFT JOIN person n ON n.id = x.counted_by_id",
        "x.id", newest_first=True,
    ),
    "people": _List(
        ("x.code", "x.name", "x.active", "x.is_script",
         "coalesce((SELECT max(CASE role WHEN 'clerk' THEN 'clerk ' ELSE '' END) || max(CASE role WHEN 'technician' THEN 'technician ' ELSE '' END) "
         "|| max(CASE role WHEN 'inspector' THEN 'inspector ' ELSE '' END) || max(CASE role WHEN 'manager' THEN 'manager ' ELSE '' END) "
         "|| max(CASE role WHEN 'auditor' THEN 'auditor ' ELSE '' END) FROM person_role o WHERE o.person_id = x.id AND o.active = 1), '')"),
        "person x", "x.id", find=("x.code", "x.name"),
    ),
    "places": _List(
        ("x.code", "x.kind", "x.name", "s.name"), "place x JOIN site s ON s.id = x.site_id", "x.id",
        f"x.active = 1 AND (x.kind IN {_STORES} OR x.kind = 'apron')",
    ),
    "airframes": _List(
        ("x.code", "x.tail", "y.name || ' ' || v.name", "x.state", "x.minutes", "x.flights", "m.revision",
         "CASE WHEN m.verified_event_id IS NOT NULL AND m.cleared_event_id IS NULL THEN 1 ELSE 0 END"),
        "airframe x JOIN type_revision v ON v.id = x.type_revision_id JOIN airframe_type y ON y.id = v.airframe_type_id "
        "LEFT JOIN sense_map m ON m.id = x.sense_map_id", "x.id",
        find=("x.code", "x.tail", "y.name", "v.name", "x.state"),
    ),
    "parts": _List(
        ("x.id", "x.sense", "x.number", "x.name", "x.kind", "c.name", "x.tolerance_g_um", "x.pairing_suffices", "x.superseded_how"),
        "part x JOIN company c ON c.id = x.maker_id", "x.id", find=("x.number", "x.name", "x.kind", "x.sense", "c.name"),
    ),
    "tools": _List(
        ("x.code", "x.name", "x.kind", "x.calibrated_until_on", "x.active"), "tool x", "x.id", find=("x.code", "x.name", "x.kind"),
    ),
    "changes": _List(
        ("x.id", "x.subject", "x.name", "x.old", "x.new", "x.source", "b.name", "coalesce(w.name, '')", "e.at"),
        f"setting_change x {_EVENT} LEFT JOIN person w ON w.id = e.second_id", "x.id", newest_first=True,
        find=("x.subject", "x.name", "x.old", "x.new", "x.source", "b.name", "w.name"),
    ),
    "vouchers": _List(
        ("x.code", "k.code", "j.code", "a.tail", "g.name", "n.name", "x.state"),
        "voucher x JOIN kit k ON k.id = x.kit_id JOIN job j ON j.id = x.job_id JOIN airframe a ON a.id = x.airframe_id "
        "JOIN person g ON g.id = x.giver_id JOIN person n ON n.id = x.receiver_id", "x.id", newest_first=True,
    ),
}  # fmt: skip

LISTS: Final = tuple(_LISTS)
"""The names of the lists that there are pages of."""


def page(store: Store, *, of: str, after: str = "", text: str = "", limit: int = 200) -> tuple[Row, ...]:
    """The rows of a list after the row with a key.

    Args:
        of: the name of the list, one of `LISTS`.
        after: the key (the first column) of the last row of the page before; empty for the first page.
        text: a filter; every word of it stands somewhere in the row, capitals or not.
        limit: how many rows at the most, up to 1000.

    Returns:
        The rows in the order of the list, the key first, as text; the other columns by the list.

    Raises:
        NotFound: there is no row with that key any more.
    """
    one = _LISTS[of]
    tests, words = words_held(one.looked_at, text)
    given: list[Any] = [*words]
    with store.reading() as read:
        if after:
            tests.append(f"{one.order} {'<' if one.newest_first else '>'} ?")
            given.append(_place_of(read, one, after))
        sql = (
            f"SELECT {', '.join(one.columns)} FROM {one.tables} WHERE {' AND '.join([one.where, *tests])}"
            f"{f' GROUP BY {one.group}' if one.group else ''} ORDER BY {one.order}{' DESC' if one.newest_first else ''} LIMIT ?"
        )
        rows = read.rows(sql, *given, max(1, min(limit, _MOST)))
    return tuple((str(row[0]), *row[1:]) for row in rows)


def _place_of(read: Reading, one: _List, key: str) -> int:
    """The number by which the list is ordered, of the row with a key."""
    column = one.columns[0]
    if column == one.order:
        return int(key)
    alias = one.order.partition(".")[0]
    table = next(
        part.split()[0]
        for part in one.tables.replace("LEFT JOIN", "JOIN").split("JOIN")
        if part.split()[1] == alias
    )
    number = read.value(f"SELECT {one.order} FROM {table} {alias} WHERE {column} = ?", key)
    if number is None:
        raise NotFound(f"{key} is not in this list any more; press Esc to see the list anew.")
    return int(number)


def counts(store: Store, *, names: Sequence[str]) -> tuple[tuple[str, int], ...]:
    """How many rows some of the lists have."""
    with store.reading() as read:
        return tuple((name, read.value(f"SELECT count(*) FROM (SELECT 1 FROM {_LISTS[name].tables} WHERE {_LISTS[name].where}"
                                       f"{f' GROUP BY {_LISTS[name].group}' if _LISTS[name].group else ''}) q")) for name in names)  # fmt: skip
