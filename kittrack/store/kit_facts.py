"""Facts of stock, sets and kits, read in few questions inside any transaction.

The rules that judge them are pure (domain/soundness.py, domain/kit_checks.py), so that an act and a screen
judge alike. Source: design A2, A3.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import Any

from kittrack.domain.dates import Expiry, LifeLimit, LifeUsed, earliest
from kittrack.domain.kit_checks import CoveredFact, KitFact, ReservedFact
from kittrack.domain.kits import Demand, KitLineState, LineKind, Picked
from kittrack.domain.soundness import HoldFact, ProofFact, SetFact, StockFact
from kittrack.domain.spin import Sense
from kittrack.store.act import Reading
from kittrack.store.records import Kit, KitLine, Part, RotorSet
from kittrack.store.stock import open_holds

_STOCK = (
    "SELECT h.receipt_line_id, r.code, h.piece_id, p.code, h.place_id, h.condition, h.quantity, t.id, t.number, "
    "t.kind, l.code, r.event_id, r.expiry_kind, r.expires_on, p.expires_on, t.superseded_how, p.sense "
    "FROM holding h JOIN receipt_line r ON r.id = h.receipt_line_id JOIN lot l ON l.id = r.lot_id "
    "JOIN part t ON t.id = r.part_id LEFT JOIN piece p ON p.id = h.piece_id"
)


def marks(values: Sequence[Any]) -> str:
    """Placeholders for an IN list; an empty list matches nothing."""
    return ", ".join("?" * len(values)) or "NULL"


def holds_on(
    read: Reading, *, rotor_sets: Sequence[int] = (), kits: Sequence[int] = (), stock: Sequence[tuple[int, str, int | None, str]] = ()
) -> dict[tuple[str, int], tuple[HoldFact, ...]]:  # fmt: skip
    """Every open hold by (kind of thing, its id).

    Args:
        read: the transaction.
        rotor_sets: ids of sets.
        kits: ids of kits.
        stock: (line id, line code, piece id or None, piece code) of stock.
    """
    codes = {("receipt line", line): code for line, code, _, _ in stock}
    codes |= {("piece", piece): code for _, _, piece, code in stock if piece}
    held = open_holds(
        read,
        receipt_lines=[s[0] for s in stock],
        pieces=[s[2] for s in stock if s[2]],
        rotor_sets=rotor_sets,
        kits=kits,
    )
    found: dict[tuple[str, int], list[HoldFact]] = defaultdict(list)
    for h in held:
        key = (h.thing, h.thing_id)
        if key not in codes:
            codes[key] = read.value(f"SELECT code FROM {h.thing.replace(' ', '_')} WHERE id = ?", h.thing_id)
        found[key].append(HoldFact(h.thing, codes[key], h.hold_code, h.reason, h.is_recall))
    return {key: tuple(facts) for key, facts in found.items()}


_Holds = Mapping[tuple[str, int], tuple[HoldFact, ...]]


def _stock_rows(read: Reading, where: str, *params: Any) -> list[tuple[Any, ...]]:
    return read.rows(
        f"{_STOCK} WHERE {where} ORDER BY h.receipt_line_id, coalesce(h.piece_id, 0), h.place_id, h.condition",
        *params,
    )


def stock_facts(read: Reading, where: str, *params: Any) -> tuple[StockFact, ...]:
    """All stock that a condition selects (`h` holding, `r` receipt line, `t` part), in a stable order."""
    rows = _stock_rows(read, where, *params)
    holds = holds_on(read, stock=_holdable(rows))
    return tuple(_stock_fact(row, holds) for row in rows)


def _holdable(rows: Sequence[Sequence[Any]]) -> list[tuple[int, str, int | None, str]]:
    """What of stock a hold may lie on, as `holds_on` takes it."""
    return [(row[0], row[1], row[2], row[3] or "") for row in rows]


def _stock_fact(row: Sequence[Any], holds: _Holds) -> StockFact:
    line_id, line_code, piece_id, piece_code, place, condition, quantity, *rest = row
    part_id, number, kind, lot, received, expiry_kind, expires_on, opened_until, superseded, sense = rest
    own = holds.get(("piece", piece_id), ()) if piece_id else ()
    return StockFact(
        line_id=line_id, line_code=line_code, piece_id=piece_id, piece_code=piece_code or "", place_id=place,
        condition=condition, quantity=quantity, part_id=part_id, part_number=number, part_kind=kind, lot=lot,
        received=received, expiry=_expiry(expiry_kind, expires_on, opened_until),
        superseded_for_safety=superseded == "safety", sense=sense,
        holds=(*holds.get(("receipt line", line_id), ()), *own),
    )  # fmt: skip


def _expiry(kind: str, expires_on: str | None, opened_until: str | None) -> Expiry:
    if kind == "unknown":
        return Expiry.unknown()
    days = [Expiry.limited(date.fromisoformat(day)) for day in (expires_on, opened_until) if day]
    return earliest(days)


def set_facts(read: Reading, sets: Sequence[RotorSet]) -> tuple[SetFact, ...]:
    """Rotor sets with content, proof, life and holds, in the order given."""
    if not sets:
        return ()
    content, holds = _content(read, sets)
    return _set_facts(read, sets, content, holds)


def _content(
    read: Reading, sets: Sequence[RotorSet], kit: Kit | None = None
) -> tuple[Mapping[int, list[StockFact]], _Holds]:
    """The stock in sets, and in a kit around them, by its place; and every hold on any of it."""
    places = [*([kit.place_id] if kit else []), *(s.place_id for s in sets)]
    rows = _stock_rows(read, f"h.place_id IN ({marks(places)})", *places)
    kits = [kit.id] if kit else []
    holds = holds_on(read, rotor_sets=[s.id for s in sets], kits=kits, stock=_holdable(rows))
    content: dict[int, list[StockFact]] = defaultdict(list)
    for row in rows:
        item = _stock_fact(row, holds)
        content[item.place_id].append(item)
    return content, holds


def _set_facts(
    read: Reading, sets: Sequence[RotorSet], content: Mapping[int, list[StockFact]], holds: _Holds
) -> tuple[SetFact, ...]:
    if not sets:
        return ()
    parts = read.get_all(Part, (s.part_id for s in sets))
    proofs = _proofs(read, sets, parts)
    bound = _bound(read, sets)
    unsettled = _unsettled(read, sets)
    return tuple(
        replace(
            _set_fact(s, parts[s.part_id], tuple(content.get(s.place_id, ()))),
            proof=proofs.get(s.id),
            bound_to=bound.get(s.id, ""),
            history_settled=s.id not in unsettled,
            holds=holds.get(("rotor set", s.id), ()),
        )
        for s in sets
    )


def _set_fact(one: RotorSet, part: Part, content: tuple[StockFact, ...]) -> SetFact:
    since = date.fromisoformat(one.used_since_on) if one.used_since_on else None
    if since is not None:  # shelf life ended at the first fit; the service life counts from then on (R13)
        content = tuple(replace(item, expiry=Expiry.unlimited()) for item in content)
    return SetFact(
        set_id=one.id, code=one.code, place_id=one.place_id, part_id=part.id, part_number=part.number, sense=one.sense,
        state=one.state, condition=one.condition, blades_needed=part.blades_per_rotor or 0,
        mixes_lots=bool(part.mixes_lots), hub_part_id=part.hub_part_id if part.hub_in_set else None, content=content,
        proof=None, used=LifeUsed(one.used_minutes, one.used_flights, since),
        limit=life_limit(part, started=since is not None or not one.history_known),
    )  # fmt: skip


def _unsettled(read: Reading, sets: Sequence[RotorSet]) -> frozenset[int]:
    """The sets of unknown history that no inspection has accepted since (design 2, "Before day one")."""
    ids = [s.id for s in sets if not s.history_known]
    if not ids:
        return frozenset()
    rows = read.rows(
        f"SELECT rotor_set_id FROM inspection WHERE result = 'accepted' AND rotor_set_id IN ({marks(ids)})",
        *ids,
    )
    return frozenset(ids) - {row[0] for row in rows}


def life_limit(part: Part, *, started: bool) -> LifeLimit:
    """The limits that count now: calendar life begins at the first fit, so an unused set has none yet."""
    return LifeLimit(part.life_minutes, part.life_flights, part.life_days if started else None)


def _proofs(read: Reading, sets: Sequence[RotorSet], parts: Mapping[int, Part]) -> dict[int, ProofFact]:
    wanted = [s.match_record_id for s in sets if s.match_record_id]
    if not wanted:
        return {}
    records: dict[int, tuple[Any, ...]] = {}
    pieces: dict[int, set[int]] = defaultdict(set)
    for record_id, piece, *record in read.rows(
        "SELECT m.id, r.piece_id, m.method, m.residual_g_um, m.uncertainty_g_um, m.tolerance_g_um FROM match_record m "
        f"LEFT JOIN match_reading r ON r.match_record_id = m.id WHERE m.id IN ({marks(wanted)})", *wanted
    ):  # fmt: skip
        records[record_id] = tuple(record)
        pieces[record_id].update([piece] if piece else [])
    found = {}
    for one in sets:
        part, record_id = parts[one.part_id], one.match_record_id or 0
        if record_id in records:
            method, residual, uncertainty, tolerance = records[record_id]
            found[one.id] = ProofFact(
                method=method, residual_g_um=residual, uncertainty_g_um=uncertainty,
                tolerance_g_um=tolerance, tolerance_now_g_um=part.tolerance_g_um,
                pairing_suffices=bool(part.pairing_suffices), pieces=frozenset(pieces[record_id]),
            )  # fmt: skip
    return found


def _bound(read: Reading, sets: Sequence[RotorSet]) -> dict[int, str]:
    ids = [s.id for s in sets if s.bound_position_id]
    if not ids:
        return {}
    rows = read.rows(
        "SELECT s.id, p.name FROM rotor_set s JOIN position x ON x.id = s.bound_position_id "
        f"JOIN place p ON p.id = x.place_id WHERE s.id IN ({marks(ids)})",
        *ids,
    )
    return {row[0]: row[1] for row in rows}


def sets_in(read: Reading, place_id: int) -> tuple[SetFact, ...]:
    """The rotor sets directly inside a place."""
    return set_facts(read, _sets_inside(read, place_id))


def _sets_inside(read: Reading, place_id: int) -> list[RotorSet]:
    where = "place_id IN (SELECT container_id FROM containment WHERE inside_id = ?)"
    return read.select(RotorSet, where, place_id)


def kit_fact(read: Reading, kit: Kit) -> KitFact:
    """A kit with its lines, content, positions, reservations and holds."""
    lines, inside = line_states(read, kit.id), _sets_inside(read, kit.place_id)
    content, holds = _content(read, inside, kit)
    sets = _set_facts(read, inside, content, holds)
    name, settings_now = _revision(read, kit.type_revision_id)
    return KitFact(
        kit_id=kit.id, code=kit.code, place_id=kit.place_id, state=kit.state, purpose=kit.purpose, seal=kit.seal,
        revision_id=kit.type_revision_id, revision_name=name,
        settings_revision=kit.settings_revision, settings_revision_now=settings_now,
        airframe_id=kit.airframe_id, job_id=kit.job_id, lines=lines,
        positions=_covered(read, kit.id), sets=sets, stock=tuple(content.get(kit.place_id, ())),
        reserved=reservations(read, kits=[kit.id], rotor_sets=[s.set_id for s in sets]),
        holds=holds.get(("kit", kit.id), ()),
    )  # fmt: skip


def revision_name(read: Reading, revision_id: int) -> str:
    """A type revision as a person names it: "QA A"."""
    return _revision(read, revision_id)[0]


def _revision(read: Reading, revision_id: int) -> tuple[str, int]:
    """A type revision's name and the revision of its settings."""
    row = read.row(
        "SELECT t.name, r.name, r.settings_revision FROM type_revision r "
        "JOIN airframe_type t ON t.id = r.airframe_type_id WHERE r.id = ?",
        revision_id,
    )
    return (f"{row[0]} {row[1]}", row[2]) if row else ("", 0)


def line_states(read: Reading, kit_id: int) -> tuple[KitLineState, ...]:
    """The lines of a kit in order, each with what was picked for it."""
    lines = read.select(KitLine, "kit_id = ?", kit_id, order="rank")
    parts = read.get_all(Part, (line.part_id for line in lines))
    picked: dict[int, list[Picked]] = defaultdict(list)
    for line_id, *pick in read.rows(
        "SELECT k.kit_line_id, k.quantity, coalesce(s.code, l.code), coalesce(x.name, ''), coalesce(s.code, p.code, r.code) "
        "FROM kit_pick k LEFT JOIN rotor_set s ON s.id = k.rotor_set_id LEFT JOIN piece p ON p.id = k.piece_id "
        "LEFT JOIN receipt_line r ON r.id = k.receipt_line_id LEFT JOIN lot l ON l.id = r.lot_id "
        "LEFT JOIN type_position x ON x.id = k.type_position_id WHERE k.kit_id = ? AND k.active = 1 ORDER BY k.id",
        kit_id,
    ):
        picked[line_id].append(Picked(*pick))
    return tuple(
        KitLineState(
            demand_of(line), parts[line.part_id].number, tuple(picked[line.id]),
            pack_quantity=parts[line.part_id].pack_quantity, rank=line.rank,
        )
        for line in lines
    )  # fmt: skip


def demand_of(line: KitLine) -> Demand:
    """A stored line as the arithmetic knows it."""
    sense = Sense(line.sense) if line.sense else None
    return Demand(LineKind(line.kind), line.part_id, line.quantity, line.unit, sense, line.hubs, line.per_hub)


def _covered(read: Reading, kit_id: int) -> tuple[CoveredFact, ...]:
    rows = read.rows(
        "SELECT x.id, x.name, k.sense, a.part_id FROM kit_position k JOIN type_position x ON x.id = k.type_position_id "
        "LEFT JOIN approved_part a ON a.type_position_id = x.id AND a.active = 1 WHERE k.kit_id = ? ORDER BY x.rank, x.id",
        kit_id,
    )
    approved: dict[tuple[int, str, str], set[int]] = {}
    for position, name, sense, part in rows:
        approved.setdefault((position, name, sense), set()).update([part] if part else [])
    return tuple(CoveredFact(*key, frozenset(parts)) for key, parts in approved.items())


def reservations(
    read: Reading, *, kits: Iterable[int] = (), rotor_sets: Iterable[int] = ()
) -> tuple[ReservedFact, ...]:
    """The active reservations of open jobs on kits and sets."""
    kit_ids, set_ids = list(kits), list(rotor_sets)
    rows = read.rows(
        "SELECT coalesce(k.code, s.code), v.kit_id, j.id, j.code, v.until_on FROM reservation v "
        "JOIN job j ON j.id = v.job_id LEFT JOIN kit k ON k.id = v.kit_id LEFT JOIN rotor_set s ON s.id = v.rotor_set_id "
        f"WHERE v.state = 'active' AND j.state = 'open' AND (v.kit_id IN ({marks(kit_ids)}) "
        f"OR v.rotor_set_id IN ({marks(set_ids)})) ORDER BY v.id",
        *kit_ids,
        *set_ids,
    )
    return tuple(
        ReservedFact("kit" if kit else "rotor set", code, job_id, job_code, date.fromisoformat(until))
        for code, kit, job_id, job_code, until in rows
    )
