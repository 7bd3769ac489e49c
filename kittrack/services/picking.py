"""Picking: what a kit's lines still lack is taken from the bins, first expiry first out, inside the act.

Source: design R4 (one lot for one hub), R6, R13; section 2 ("Consumables": single doses, or a named bottle
that goes along and comes back).
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from kittrack.domain import codes
from kittrack.domain.kits import KitLineState, LineKind
from kittrack.domain.lots import Allocation, Draw, Offer, allocate, allocate_by_hub, whole_for
from kittrack.domain.rules import Rule, require
from kittrack.domain.soundness import Moment, SetFact, StockFact
from kittrack.errors import BadInput, NotFound, Refusal
from kittrack.services import coverage, desk
from kittrack.services.desk import Done
from kittrack.services.kit_desk import bench_of, find_kit_to_change, kit_now, lay_aside
from kittrack.store.act import Act, Slot
from kittrack.store.database import Store
from kittrack.store.issuable import issuable_sets, issuable_stock
from kittrack.store.kit_facts import line_states
from kittrack.store.records import (
    Kit,
    KitLine,
    KitPick,
    Part,
    Place,
    Reservation,
    TypePosition,
)


@dataclass(frozen=True)
class Picking:
    """The act of picking for one kit: where it is built, for which job, and what is not to be taken."""

    act: Act
    kit: Kit
    now: Moment
    site_id: int | None
    for_job_id: int | None = None
    avoid: frozenset[str] = frozenset()
    only: str = ""

    def wanted(self, code: str) -> bool:
        """Whether something may be taken, by its code."""
        return code not in self.avoid and (not self.only or code == self.only)


@desk.done_as(find_kit_to_change)
def pick_missing(store: Store, *, kit: str, by: str, at: datetime, job: str = "", key: str = "") -> Done:
    """Pick what a kit in work still lacks; a checked kit goes back to work and is checked again.

    Args:
        store: the store.
        kit: the kit's code.
        by: the clerk who picks.
        at: the instant.
        job: a job for which sets are reserved that may be taken.
        key: the caller's own name for the act.

    Raises:
        Refused: the kit is sealed or dead (R5), or the person is no clerk.
    """
    with store.act("pick what a kit lacks", by=by, at=at, key=key) as act:
        found = find_kit_to_change(act, kit)
        picking = picking_for(act, found, for_job_id=desk.find_job(act, job).id if job else None)
        said = pick_lines(picking)
    return Done(
        act.event_id, (found.code,), said or (f"{found.code} lacks nothing; let another person check it.",)
    )


@desk.done_as(find_kit_to_change)
def swap_pick(
    store: Store,
    *,
    kit: str,
    out: str,
    reason: str,
    to_bin: str,
    by: str,
    at: datetime,
    take: str = "",
    key: str = "",
) -> Done:
    """Take a picked thing out of a kit in work and pick another for it.

    Args:
        store: the store.
        kit: the kit's code.
        out: the code of the rotor set, receipt line or bottle that comes out, all of it.
        reason: why.
        to_bin: the bin for what comes out; what is not fit for issue goes to the hold cage instead.
        by: the clerk who swaps.
        at: the instant.
        take: the code of what is to be taken instead; by default the next by first expiry first out.
        key: the caller's own name for the act.

    Raises:
        NotFound: the kit holds nothing under that code.
        Refused: the kit is sealed or dead (R5), or what is to be taken can't be (R6).
    """
    desk.require_text(reason=reason)
    with store.act("swap what was picked", by=by, at=at, reason=reason, key=key) as act:
        found = find_kit_to_change(act, kit)
        picks = _picks_of(act, found, out)
        said = list(lay_aside(act, found, picks, to_bin=to_bin))
        gone = frozenset({_code_of(act, p) for p in picks})
        picking = picking_for(act, found, avoid=gone, only=take.strip().upper())
        said += pick_lines(picking, only_lines={p.kit_line_id for p in picks})
        require(_check_taken(act, found, picks, take))
    return Done(act.event_id, (found.code,), tuple(said))


def _check_taken(act: Act, kit: Kit, out: Sequence[KitPick], take: str) -> list[Refusal]:
    """Refuse a swap that named what to take and did not get enough of it; the act then stands as it was."""
    if not take:
        return []
    lines = act.select(KitLine, "kit_id = ?", kit.id, order="rank")
    touched = {p.kit_line_id for p in out}
    states = [s for line, s in zip(lines, line_states(act, kit.id), strict=True) if line.id in touched]
    return [
        Refusal(
            Rule.FIT_FOR_ISSUE,
            take,
            f"{take} can't be taken for {s.name}: it is not issuable in a bin here, or not enough of it; take another.",
        )
        for s in states
        if s.short
    ]


def _picks_of(act: Act, kit: Kit, text: str) -> list[KitPick]:
    code = codes.read_code(text)
    columns = {
        codes.Kind.ROTOR_SET: ("rotor_set_id", desk.find_set),
        codes.Kind.RECEIPT_LINE: ("receipt_line_id", desk.find_line),
        codes.Kind.PIECE: ("piece_id", desk.find_piece),
    }
    if code.kind not in columns:
        raise BadInput(
            f"{code} is {code.kind.with_article}; scan a rotor set, a receipt line or a bottle", field="out"
        )
    column, find = columns[code.kind]
    picks = act.select(KitPick, f"kit_id = ? AND active = 1 AND {column} = ?", kit.id, find(act, text).id)
    if not picks:
        raise NotFound(f"{kit.code} holds nothing under {code}; scan what is in the kit")
    return picks


def _code_of(act: Act, pick: KitPick) -> str:
    """The code under which a pick was offered: of the set, the bottle or the receipt line."""
    table, row_id = (
        ("rotor_set", pick.rotor_set_id)
        if pick.rotor_set_id
        else ("piece", pick.piece_id)
        if pick.piece_id
        else ("receipt_line", pick.receipt_line_id)
    )
    code: str = act.value(f"SELECT code FROM {table} WHERE id = ?", row_id)
    return code


# ---- the engine, inside another act --------------------------------------------------------------


def picking_for(
    act: Act, kit: Kit, *, for_job_id: int | None = None, avoid: frozenset[str] = frozenset(), only: str = ""
) -> Picking:
    """The picking of a kit on its bench: only bins of the bench's own site count."""
    bench = bench_of(act, kit)
    return Picking(act, kit, kit_now(act), bench.site_id, for_job_id or kit.job_id, avoid, only)


def pick_lines(picking: Picking, *, only_lines: Iterable[int] = ()) -> tuple[str, ...]:
    """Pick for every line that is short, in the order of the lines.

    Returns:
        A sentence for each thing to fetch, and one for each line that stays short.
    """
    act, wanted = picking.act, set(only_lines)
    lines = act.select(KitLine, "kit_id = ?", picking.kit.id, order="rank")
    said: list[str] = []
    for line, state in zip(lines, line_states(act, picking.kit.id), strict=True):
        if state.short and (not wanted or line.id in wanted):
            said += _pick_line(picking, line, state)
    shorts = [s for s in line_states(act, picking.kit.id) if s.short]
    said += [
        f"Short: {s.name}, {s.amount(s.short)} of {s.amount(s.demand.quantity)}; {_way_out(act, s)}."
        for s in shorts
    ]
    return tuple(said)


def _way_out(act: Act, state: KitLineState) -> str:
    part = act.get(Part, state.demand.part_id)
    if state.demand.kind is LineKind.THREADLOCKER and not part.single_dose:
        return "open a bottle that is on the shelf, or order one, then pick it"
    return "order it, or pick it when it is there"


def _pick_line(picking: Picking, line: KitLine, state: KitLineState) -> list[str]:
    if line.kind == LineKind.ROTOR_SET:
        return _pick_sets(picking, line, state)
    stock = [
        item
        for item in issuable_stock(picking.act, [line.part_id], now=picking.now, site_id=picking.site_id)
        if picking.wanted(item.code)
    ]
    offers = [_offer(key, item) for key, item in enumerate(stock)]
    draws = _allocate(picking, line, state, offers).draws
    return [take_stock(picking, line, stock[d.offer.key], d) for d in draws]


def _offer(key: int, item: StockFact) -> Offer:
    return Offer(key, item.lot, item.quantity, item.received, item.expiry.day)


def _allocate(picking: Picking, line: KitLine, state: KitLineState, offers: Sequence[Offer]) -> Allocation:
    if line.kind in (LineKind.SCREW, LineKind.WASHER):
        return allocate_by_hub(_hubs_to_serve(picking, line, state), offers=offers)
    part = picking.act.get(Part, line.part_id)
    if line.kind == LineKind.THREADLOCKER and not part.single_dose:
        whole = whole_for(state.short, offers=offers)
        return Allocation((Draw(whole, state.short),) if whole else (), short=0 if whole else state.short)
    return allocate(state.short, offers=offers)


def _hubs_to_serve(picking: Picking, line: KitLine, state: KitLineState) -> list[tuple[int, int]]:
    """The hubs of a line that have nothing picked yet, in the order of the positions."""
    act = picking.act
    served = {p.hub for p in state.picked}
    rows = act.select(
        TypePosition,
        "id IN (SELECT type_position_id FROM kit_position WHERE kit_id = ?)",
        picking.kit.id,
        order="rank, id",
    )
    found = []
    for position in rows:
        fixing = coverage.hub_of(act, position.id)
        pair = (
            (fixing.screw_part_id, fixing.screws_per_hub)
            if line.kind == LineKind.SCREW
            else (fixing.washer_part_id, fixing.washers_per_hub)
        )
        if pair == (line.part_id, line.per_hub) and position.name not in served:
            found.append((position.id, line.per_hub))
    return found


def _pick_sets(picking: Picking, line: KitLine, state: KitLineState) -> list[str]:
    sets = issuable_sets(
        picking.act,
        [line.part_id],
        now=picking.now,
        site_id=picking.site_id,
        for_job_id=picking.for_job_id,
    )
    chosen = [s for s in sets if s.sense == line.sense and picking.wanted(s.code)][: state.short]
    return [take_set(picking, line, one) for one in chosen]


def take_set(picking: Picking, line: KitLine, one: SetFact) -> str:
    """Move a set into the kit; a reservation that the kit's job had on it is used."""
    act = picking.act
    place_id = act.value("SELECT inside_id FROM containment WHERE container_id = ?", one.place_id)
    act.move_container(one.place_id, from_place_id=place_id, to_place_id=picking.kit.place_id)
    act.insert(
        KitPick(
            kit_id=picking.kit.id,
            kit_line_id=line.id,
            rotor_set_id=one.set_id,
            quantity=1,
            event_id=act.event_id,
        )
    )
    for kept in act.select(Reservation, "rotor_set_id = ? AND state = 'active'", one.set_id):
        act.update(kept, state="used" if kept.job_id == picking.for_job_id else "released")
    return f"Take {one.sense} {one.code} ({one.part_number}) from {act.get(Place, place_id).name}."


def take_stock(picking: Picking, line: KitLine, item: StockFact, draw: Draw) -> str:
    """Move counted stock into the kit; a bottle goes along whole."""
    act = picking.act
    quantity = item.quantity if item.piece_id else draw.quantity
    slot = Slot(item.place_id, item.condition, item.piece_id)
    act.move_stock(item.line_id, quantity, from_slot=slot, to_slot=slot.at_place(picking.kit.place_id))
    act.insert(
        KitPick(
            kit_id=picking.kit.id,
            kit_line_id=line.id,
            receipt_line_id=item.line_id,
            piece_id=item.piece_id,
            quantity=quantity,
            type_position_id=draw.hub,
            event_id=act.event_id,
        )
    )
    amount = "the bottle" if item.piece_id else desk.amount_of(quantity, line.unit)
    hub = f" for {act.get(TypePosition, draw.hub).name}" if draw.hub else ""
    return f"Take {amount} {item.code} ({item.part_number}, lot {item.lot}) from {act.get(Place, item.place_id).name}{hub}."
