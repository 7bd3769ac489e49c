"""What a scanned code is, where it is, and what stands against it."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final
from zoneinfo import ZoneInfo

from kittrack.domain import codes
from kittrack.domain.dates import shown_at
from kittrack.domain.ledger import place_in_words
from kittrack.domain.paper_marks import PaperMark, looks_like_paper_mark, read_paper_mark
from kittrack.domain.quantities import Dimension, write_quantity
from kittrack.errors import NotFound
from kittrack.queries.labels import label_warnings
from kittrack.store.act import Reading, read_instant_text
from kittrack.store.database import Store
from kittrack.store.fold import chain_head
from kittrack.store.numbers import not_held
from kittrack.store.records import Place
from kittrack.store.stock import Held, chains, open_holds

Fact = tuple[str, str]


@dataclass(frozen=True)
class Thing:
    """One thing of the store: its kind in words, its facts in reading order, where it is, what holds it.

    `where` runs from the nearest place around it outward, `around` is the kind of that place; both are empty for things
    that are nowhere (a person, a tool).
    `labels` says which copies of its label are void: the code of an old label still means the same thing.
    """

    code: str
    kind: str
    facts: tuple[Fact, ...]
    where: tuple[str, ...]
    holds: tuple[str, ...]
    labels: tuple[str, ...] = ()
    around: str = ""


def what_is(store: Store, *, code: str) -> Thing:
    """Say what a code of ours means, or the mark of a paper that has no number of its own.

    Raises:
        NotFound: the store holds nothing under it, or the event that a paper names has another hash.
        BadInput: it does not check.
    """
    if looks_like_paper_mark(code):
        return _paper(store, read_paper_mark(code))
    wanted = codes.read_code(code)
    sql, names = _FACTS[wanted.kind]
    with store.reading() as read:
        row = read.row(sql, wanted.text)
        if row is None:
            raise not_held(read, wanted.text)
        zone = ZoneInfo(read.time_zone)
        facts = [
            (name, _text(name, value, zone))
            for name, value in zip(names, row, strict=True)
            if value not in (None, "")
        ]
        place = _place_of(read, wanted)
        around = chains(read, [place.id])[place.id] if place else ()
        around = around[1:] if wanted.kind in _CONTAINERS else around
        holds = _holds(read, wanted)
        labels = label_warnings(read, wanted.text)
    return Thing(
        wanted.text, wanted.kind.in_words, tuple(facts), tuple(map(_named, around)), holds, labels,
        around[0].kind if around else "",
    )  # fmt: skip


def _paper(store: Store, mark: PaperMark) -> Thing:
    """At which event a paper stands and what came since; the numbers of events have no gap."""
    with store.reading() as read:
        found = read.row(
            "SELECT e.hash, e.at, e.act, p.name FROM event e JOIN person p ON p.id = e.by_id WHERE e.id = ?",
            mark.event,
        )
        last, _ = chain_head(read)
        zone = ZoneInfo(read.time_zone)
    if found is None:
        raise NotFound(
            f"{mark.text} stands at event {mark.event}, and this store ends at event {last}: the paper is of another store, or "
            "the history was cut off; check it: kittrack verify"
        )
    digest, at, act, by = map(str, found)
    if not digest.startswith(mark.hash_begins):
        raise NotFound(
            f"{mark.text} is not of this history: its event {mark.event} has another hash; the paper is of another store, or "
            "the history was rewritten; check it: kittrack verify"
        )
    facts = (
        ("stands at", f"event {mark.event} of {shown_at(read_instant_text(at), zone=zone)}, {act}, by {by}"),
        ("acts since", str(last - mark.event)),
        ("hash", f"that of the chain; the foot of the paper says {mark.event}:{digest}"),
    )
    return Thing(mark.text, "paper", facts, (), ())


_MOMENT: Final = "moment"
_SERVICE: Final = "time in service"
_INSTANTS: Final = ("at", "received at", "placed at", "started at", "ended at", "issued at")


def _text(name: str, value: object, zone: ZoneInfo) -> str:
    if name == _MOMENT:
        return write_quantity(int(str(value)), dimension=Dimension.MOMENT)
    if name == _SERVICE:
        return f"{write_quantity(int(str(value)), dimension=Dimension.TIME)} h"
    if name == "unit":
        return {"volume_ul": "uL"}.get(str(value), str(value))
    if name in _INSTANTS and str(value).endswith("Z"):
        return shown_at(read_instant_text(str(value)), zone=zone)
    return str(value)


def _named(place: Place) -> str:
    return place.code if place.name == place.code else place_in_words(place.kind, place.name)


def _place_of(read: Reading, code: codes.Code) -> Place | None:
    """The place a thing is in, or for a container the container itself."""
    if code.kind is codes.Kind.PIECE:
        place_id = read.value(
            "SELECT h.place_id FROM holding h JOIN piece p ON p.id = h.piece_id WHERE p.code = ?", code.text
        )
        return read.get(Place, place_id) if place_id else None
    if code.kind in _CONTAINERS:
        return read.find(Place, code=code.text)
    return None


_CONTAINERS = frozenset(
    {codes.Kind.KIT, codes.Kind.ROTOR_SET, codes.Kind.AIRFRAME, codes.Kind.POSITION, codes.Kind.SHELF_PLACE}
)

_HELD: dict[codes.Kind, tuple[str, str]] = {
    codes.Kind.LOT: (
        "receipt_lines",
        "SELECT r.id FROM receipt_line r JOIN lot l ON l.id = r.lot_id WHERE l.code = ?",
    ),
    codes.Kind.RECEIPT_LINE: ("receipt_lines", "SELECT id FROM receipt_line WHERE code = ?"),
    codes.Kind.PIECE: ("pieces", "SELECT id FROM piece WHERE code = ?"),
    codes.Kind.ROTOR_SET: ("rotor_sets", "SELECT id FROM rotor_set WHERE code = ?"),
    codes.Kind.KIT: ("kits", "SELECT id FROM kit WHERE code = ?"),
}


def _holds(read: Reading, code: codes.Code) -> tuple[str, ...]:
    if code.kind not in _HELD:
        return ()
    thing, sql = _HELD[code.kind]
    ids = [row[0] for row in read.rows(sql, code.text)]
    asked: dict[str, Callable[[Sequence[int]], list[Held]]] = {
        "receipt_lines": lambda found: open_holds(read, receipt_lines=found),
        "pieces": lambda found: open_holds(read, pieces=found),
        "rotor_sets": lambda found: open_holds(read, rotor_sets=found),
        "kits": lambda found: open_holds(read, kits=found),
    }
    return tuple(dict.fromkeys(f"{h.hold_code}: {h.reason}" for h in asked[thing](ids)))


_FACTS: dict[codes.Kind, tuple[str, tuple[str, ...]]] = {
    codes.Kind.AIRFRAME: (
        "SELECT a.tail, t.name, r.name, a.state, a.minutes, a.flights, m.revision, "
        "CASE WHEN m.verified_event_id IS NOT NULL AND m.cleared_event_id IS NULL THEN 'verified by motor test' "
        "ELSE 'NOT verified' END FROM airframe a JOIN type_revision r ON r.id = a.type_revision_id "
        "JOIN airframe_type t ON t.id = r.airframe_type_id LEFT JOIN sense_map m ON m.id = a.sense_map_id WHERE a.code = ?",
        ("tail", "type", "revision", "state", "minutes flown", "flights", "sense map revision", "sense map"),
    ),
    codes.Kind.COUNT: (
        "SELECT c.state, p.name, b.name, CASE c.state WHEN 'open' THEN 'count' WHEN 'counted' THEN CASE WHEN EXISTS "
        "(SELECT 1 FROM count_line l WHERE l.stock_count_id = c.id AND l.counted <> l.booked AND l.recounted IS NULL) "
        "THEN 'count again' ELSE 'settle' END END "
        "FROM stock_count c JOIN place p ON p.id = c.place_id LEFT JOIN person b ON b.id = c.counted_by_id WHERE c.code = ?",
        ("state", "place", "counted by", "to do"),
    ),
    codes.Kind.DELIVERY: (
        "SELECT s.name, d.reference, e.at FROM delivery d JOIN company s ON s.id = d.supplier_id "
        "JOIN event e ON e.id = d.event_id WHERE d.code = ?",
        ("supplier", "reference", "received at"),
    ),
    codes.Kind.ORDER: (
        "SELECT s.name, o.reference, e.at, count(l.id), min(l.due_on) FROM purchase_order o JOIN company s ON s.id = o.supplier_id "
        "JOIN event e ON e.id = o.event_id LEFT JOIN order_line l ON l.purchase_order_id = o.id WHERE o.code = ? "
        "GROUP BY s.name, o.reference, e.at",
        ("supplier", "reference", "placed at", "lines", "first expected on"),
    ),
    codes.Kind.DRILL: (
        "SELECT d.scope_text, s.at, coalesce(e.at, 'running') FROM recall_drill d JOIN event s ON s.id = d.started_event_id "
        "LEFT JOIN event e ON e.id = d.ended_event_id WHERE d.code = ?",
        ("drill of", "started at", "ended at"),
    ),
    codes.Kind.NOTICE: (
        "SELECT h.code, h.scope_text, h.reference, n.recipient_kind, n.recipient, n.state, n.answer FROM recall_notice n "
        "JOIN hold h ON h.id = n.hold_id WHERE n.code = ?",
        ("recall", "of", "reference", "to", "name", "state", "answer"),
    ),
    codes.Kind.SHIFT_HANDOVER: (
        "SELECT g.name, t.name, e.at, s.text FROM shift_handover s JOIN event e ON e.id = s.event_id "
        "JOIN person g ON g.id = e.by_id LEFT JOIN person t ON t.id = e.second_id WHERE s.code = ?",
        ("handed over by", "taken over by", "at", "words"),
    ),
    codes.Kind.HOLD: (
        "SELECT h.scope, h.scope_text, h.reason, h.reference, CASE WHEN h.is_recall = 1 THEN 'recall' ELSE 'hold' END, "
        "CASE WHEN h.released_event_id IS NULL THEN 'open' ELSE 'released' END FROM hold h WHERE h.code = ?",
        ("scope", "of", "reason", "reference", "kind", "state"),
    ),
    codes.Kind.JOB: (
        "SELECT a.tail, j.purpose, j.state FROM job j JOIN airframe a ON a.id = j.airframe_id WHERE j.code = ?",
        ("airframe", "purpose", "state"),
    ),
    codes.Kind.KIT: (
        "SELECT t.name, r.name, k.purpose, k.state, k.seal, k.expires_on, b.name, c.name, a.tail FROM kit k "
        "JOIN type_revision r ON r.id = k.type_revision_id JOIN airframe_type t ON t.id = r.airframe_type_id "
        "JOIN person b ON b.id = k.built_by_id LEFT JOIN person c ON c.id = k.checked_by_id "
        "LEFT JOIN airframe a ON a.id = k.airframe_id WHERE k.code = ?",
        ("type", "revision", "purpose", "state", "seal", "expires on", "built by", "checked by", "built for"),
    ),
    codes.Kind.LOT: (
        "SELECT t.number, t.name, t.sense, coalesce(l.lot_code, 'unknown'), m.name, s.name FROM lot l "
        "JOIN part t ON t.id = l.part_id JOIN company m ON m.id = l.maker_id JOIN company s ON s.id = l.supplier_id WHERE l.code = ?",
        ("part", "name", "sense", "lot code", "maker", "supplier"),
    ),
    codes.Kind.SHELF_PLACE: (
        "SELECT p.kind, p.name, s.name FROM place p LEFT JOIN site s ON s.id = p.site_id WHERE p.code = ?",
        ("kind", "name", "site"),
    ),
    codes.Kind.PERSON: (
        "SELECT p.name, CASE WHEN p.active = 1 THEN 'here' ELSE 'has left' END FROM person p WHERE p.code = ?",
        ("name", "state"),
    ),
    codes.Kind.ROTOR_SET: (
        "SELECT s.sense, t.number, s.state, s.condition, coalesce(m.method, 'NOT PROVED'), m.source, s.used_minutes, s.used_flights, "
        "CASE WHEN s.history_known = 1 THEN '' ELSE 'history unknown' END FROM rotor_set s JOIN part t ON t.id = s.part_id "
        "LEFT JOIN match_record m ON m.id = s.match_record_id WHERE s.code = ?",
        ("sense", "part", "state", "condition", "proof of match", "proof's source", _SERVICE, "flights used", "history"),
    ),
    codes.Kind.TAG: (
        "SELECT s.code, a.tail, p.name, r.purpose, r.reason, r.sense_found, r.used_minutes FROM removal r "
        "JOIN rotor_set s ON s.id = r.rotor_set_id JOIN airframe a ON a.id = r.airframe_id "
        "JOIN position p ON p.id = r.position_id WHERE r.code = ?",
        ("rotor set", "airframe", "position", "purpose", "reason", "sense found", _SERVICE),
    ),
    codes.Kind.PIECE: (
        "SELECT p.serial, t.number, p.sense, h.condition, p.mark, m.name, r.code, l.code, l.lot_code, p.pair_code, p.moment_g_um, p.opened_on, CASE WHEN p.opened_on IS NOT NULL THEN p.expires_on END, p.note "
        "FROM piece p LEFT JOIN holding h ON h.piece_id = p.id "
        "JOIN part t ON t.id = p.part_id JOIN company m ON m.id = p.maker_id JOIN receipt_line r ON r.id = p.receipt_line_id "
        "JOIN lot l ON l.id = r.lot_id WHERE p.code = ?",
        (
            "serial", "part", "sense", "condition", "mark", "maker", "receipt line", "lot", "lot code", "supplier's pair",
            _MOMENT, "opened", "good until", "note",
        ),
    ),
    codes.Kind.VOUCHER: (
        "SELECT k.code, j.code, a.tail, g.name, r.name, v.state, e.at FROM voucher v JOIN kit k ON k.id = v.kit_id "
        "JOIN job j ON j.id = v.job_id JOIN airframe a ON a.id = v.airframe_id JOIN person g ON g.id = v.giver_id "
        "JOIN person r ON r.id = v.receiver_id JOIN event e ON e.id = v.event_id WHERE v.code = ?",
        ("kit", "job", "airframe", "given by", "received by", "state", "issued at"),
    ),
    codes.Kind.TOOL: (
        "SELECT name, kind, calibrated_until_on, CASE WHEN active = 1 THEN 'in use' ELSE 'withdrawn' END FROM tool WHERE code = ?",
        ("name", "kind", "calibrated until", "state"),
    ),
    codes.Kind.POSITION: (
        "SELECT a.tail, p.name, t.alias, l.sense, s.code FROM position p JOIN airframe a ON a.id = p.airframe_id "
        "JOIN type_position t ON t.id = p.type_position_id "
        "LEFT JOIN sense_map_line l ON l.position_id = p.id AND l.sense_map_id = a.sense_map_id "
        "LEFT JOIN containment c ON c.inside_id = p.place_id LEFT JOIN rotor_set s ON s.place_id = c.container_id WHERE p.code = ?",
        ("airframe", "position", "alias", "sense seen from above", "fitted"),
    ),
    codes.Kind.RECEIPT_LINE: (
        "SELECT t.number, t.name, r.quantity, r.unit, l.code, coalesce(l.lot_code, 'unknown'), d.code, "
        "coalesce(r.expires_on, CASE WHEN r.expiry_kind = 'none' THEN 'no expiry' ELSE 'expiry UNKNOWN' END), "
        "CASE WHEN r.history_known = 1 THEN '' ELSE 'history unknown' END, r.raw_scan FROM receipt_line r "
        "JOIN part t ON t.id = r.part_id JOIN lot l ON l.id = r.lot_id JOIN delivery d ON d.id = r.delivery_id WHERE r.code = ?",
        ("part", "name", "received", "unit", "lot", "lot code", "delivery", "expires on", "history", "scan as received"),
    ),
}  # fmt: skip
