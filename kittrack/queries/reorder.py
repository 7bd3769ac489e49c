"""What to order and why: demand, lead time, what there is, and a proposal in whole packs that keeps the senses level.

A group of lines is brought to the same number of ship sets. Its re-order point is the least number of ship sets
that lasts the lead time with the protection wanted, by Poisson; rare demand is forecast by Croston with the
Syntetos-Boylan correction; sets that reach the end of their service life in that time are added.
Source: design C11.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from math import ceil
from typing import Final

from kittrack.domain import dates
from kittrack.domain.demand import Order, OrderLine, propose_order, service_reached
from kittrack.domain.forecasts import Forecast, forecast
from kittrack.domain.lives import replacements_within
from kittrack.domain.quantities import Dimension, write_quantity
from kittrack.domain.text import counted
from kittrack.errors import BadInput
from kittrack.queries.demand_history import History, history_of, hub_takes
from kittrack.queries.lives import UNKNOWN, FittedLife, fitted_lives
from kittrack.queries.order_groups import GroupLine, OrderGroup, order_groups
from kittrack.queries.orders import days_taken
from kittrack.queries.ship_set_lines import revision_lines
from kittrack.queries.stock_position import Position, positions
from kittrack.store.act import Reading
from kittrack.store.database import Store
from kittrack.store.records import Part, Site
from kittrack.store.supply_facts import Supply, supply_of

PROTECTION: Final = 95
REVIEW_DAYS: Final = 7
COVER_DAYS: Final = 90
LEAD_DAYS_UNKNOWN: Final = 30
"""A lead time that nobody knows counts as a month until somebody says it (common practice, no source)."""
HISTORY_MONTHS: Final = 24


@dataclass(frozen=True)
class ProposedLine:
    """A part of a group: what there is of it, and what to order. Quantities are in the unit in which it is ordered.

    `ship_sets` is for how many it suffices with all that counts; `packs` 0 means that nothing is proposed.
    """

    sense: str
    part: str
    name: str
    ship_sets: int
    per_ship_set: int
    issuable: int
    in_kits: int
    waiting: int
    on_order: int
    too_short: int
    packs: int
    pack_quantity: int
    quantity: int
    unit: str
    supplier: str
    lead_time_days: int | None
    lead_time_source: str
    expected_on: date | None


@dataclass(frozen=True)
class Proposal:
    """A group that is ordered together: how it stands, and what to order. `reasons` says why, one sentence each.

    `protection` is the chance in percent that what counts now lasts until an order placed today arrives.
    """

    group: str
    is_due: bool
    ship_sets: int
    reorder_at: int
    target: int
    expected: float
    horizon_days: int
    protection: float
    reasons: tuple[str, ...]
    lines: tuple[ProposedLine, ...]


@dataclass(frozen=True)
class _Question:
    """What was asked, with everything that was read for it."""

    today: date
    service: float
    review_days: int
    cover_days: int
    parts: Mapping[int, Part]
    supplies: Mapping[int, Supply]
    history: History
    groups: tuple[OrderGroup, ...]
    stock: Mapping[int, Position]
    lives: list[FittedLife]
    takes: Mapping[int, Mapping[int, int]]


def reorder_proposal(
    store: Store,
    *,
    at: datetime,
    protection: int = PROTECTION,
    cover_days: int = COVER_DAYS,
    review_days: int = REVIEW_DAYS,
    everything: bool = False,
) -> tuple[Proposal, ...]:
    """What to order now, in whole packs and in ship-set ratio, with the reasons; rotor groups first.

    Args:
        store: the store.
        at: the instant of asking.
        protection: the chance in percent, from 50 to 99, that the stock lasts until an order arrives.
        cover_days: for how many days beyond the re-order point an order is made.
        review_days: how often somebody asks this; it is added to the lead time.
        everything: also the groups of which nothing is due.

    Raises:
        BadInput: a figure that can't be one.
    """
    if not (50 <= protection <= 99 and 0 <= cover_days <= 3_650 and 0 <= review_days <= 365):
        raise BadInput(
            "Protection is from 50 to 99 percent, cover up to ten years, and a review comes at least yearly."
        )
    with store.reading() as read:
        asked = _read(read, at, service=protection / 100, cover_days=cover_days, review_days=review_days)
    found = [_proposal(group, asked) for group in asked.groups]
    return tuple(one for one in found if everything or one.is_due)


def _read(read: Reading, at: datetime, *, service: float, cover_days: int, review_days: int) -> _Question:
    zone = read.select(Site, limit=1)[0].time_zone
    today = dates.local_day(at, zone=zone)
    parts = {p.id: p for p in read.select(Part)}
    taken = days_taken(read, zone)
    supplies = {i: _in_truth(supply_of(read, part), i, taken) for i, part in parts.items()}
    good_on = {i: today + timedelta(days=_lead_days(supply)) for i, supply in supplies.items()}
    history, lives = history_of(read, at=at, months=HISTORY_MONTHS), fitted_lives(read, at=at)
    groups = order_groups(revision_lines(read), parts, history)
    whole = {line.ordered: line.whole for group in groups for line in group.lines}
    return _Question(
        today, service, review_days, cover_days, parts, supplies, history, groups,
        positions(read, at=at, good_on=good_on, whole=whole), lives,
        {i: hub_takes(read, i) for i in sorted({one.type_position_id for one in lives})},
    )  # fmt: skip


def _in_truth(supply: Supply, part_id: int, taken: Mapping[tuple[int, int], list[int]]) -> Supply:
    """The supply with the time that its orders took on average, where that is longer than what is said."""
    days = taken.get((part_id, supply.supplier.id), []) if supply.supplier else []
    mean = ceil(sum(days) / len(days)) if days else 0
    if supply.lead_time_days is not None and mean <= supply.lead_time_days:
        return supply
    if not days:
        return supply
    return replace(
        supply, lead_time_days=mean, lead_time_source=f"{len(days)} orders took {mean} days on average"
    )


def _lead_days(supply: Supply) -> int:
    return LEAD_DAYS_UNKNOWN if supply.lead_time_days is None else supply.lead_time_days


def _proposal(group: OrderGroup, asked: _Question) -> Proposal:
    horizon = max(_lead_days(asked.supplies[line.ordered]) for line in group.lines) + asked.review_days
    known = forecast(_ship_sets_asked(group, asked))
    planned = _planned(group, asked, horizon)
    expected = known.in_days(horizon) + planned
    later = known.in_days(asked.cover_days) + _planned(group, asked, horizon + asked.cover_days) - planned
    order = propose_order(
        [_order_line(line, asked) for line in group.lines],
        expected=expected,
        service=asked.service,
        further=max(1, ceil(later)),
    )
    return Proposal(
        group=group.name, is_due=bool(order.lines), ship_sets=order.ship_sets, reorder_at=order.reorder_at, target=order.target,
        expected=round(expected, 2), horizon_days=horizon,
        protection=round(100 * service_reached(order.ship_sets, expected=expected), 1),
        reasons=_reasons(group, asked, known, order, planned=planned, expected=expected, horizon=horizon),
        lines=tuple(_proposed(line, order, asked) for line in group.lines),
    )  # fmt: skip


def _ship_sets_asked(group: OrderGroup, asked: _Question) -> list[float]:
    """The ship sets asked for in each month: of the line of which most was asked for."""
    by_line = [
        [
            sum(used) / line.per_ship_set
            for used in zip(*(asked.history.unplanned(p) for p in line.parts), strict=True)
        ]
        for line in group.lines
    ]
    return [max(month) for month in zip(*by_line, strict=True)]


def _planned(group: OrderGroup, asked: _Question, horizon: int) -> float:
    """The ship sets that lives which run out within some days take; what nobody can date is not planned."""
    due = [
        one
        for one in asked.lives
        if replacements_within([one.life.runs_out_on], today=asked.today, horizon=horizon)
    ]
    return max(sum(_taken(line, one, asked) for one in due) / line.per_ship_set for line in group.lines)


def _taken(line: GroupLine, one: FittedLife, asked: _Question) -> int:
    """What replacing one fitted set takes of a line."""
    own = 1 if one.part_id in line.parts else 0
    return own or sum(asked.takes[one.type_position_id].get(part, 0) for part in line.parts)


def _each(part: Part) -> int:
    """How many of the unit in which a part is ordered make one of what is counted: blades a set."""
    return (part.blades_per_rotor or 1) if part.kind == "blade" else 1


def _order_line(line: GroupLine, asked: _Question) -> OrderLine:
    part = asked.parts[line.ordered]
    counted = sum(asked.stock.get(p, Position()).counted for p in line.parts)
    pack = asked.supplies[line.ordered].pack_quantity
    return OrderLine(part.number, line.per_ship_set * _each(part), counted * _each(part), pack)


def _proposed(line: GroupLine, order: Order, asked: _Question) -> ProposedLine:
    part, supply = asked.parts[line.ordered], asked.supplies[line.ordered]
    stock = [asked.stock.get(p, Position()) for p in line.parts]
    each = _each(part)
    own = next((p for p in order.lines if p.part == part.number), None)
    return ProposedLine(
        sense=part.sense or "", part=part.number, name=part.name,
        ship_sets=sum(s.counted for s in stock) // line.per_ship_set, per_ship_set=line.per_ship_set * each,
        issuable=sum(s.issuable for s in stock) * each, in_kits=sum(s.in_kits for s in stock) * each,
        waiting=sum(s.waiting for s in stock) * each, on_order=sum(s.on_order for s in stock) * each,
        too_short=sum(s.too_short for s in stock) * each, packs=own.packs if own else 0, pack_quantity=supply.pack_quantity,
        quantity=own.quantity if own else 0, unit=part.unit, supplier=supply.supplier.name if supply.supplier else "",
        lead_time_days=supply.lead_time_days, lead_time_source=supply.lead_time_source,
        expected_on=asked.today + timedelta(days=_lead_days(supply)) if own else None,
    )  # fmt: skip


# ---- why -------------------------------------------------------------------------------------------


def _reasons(
    group: OrderGroup,
    asked: _Question,
    known: Forecast,
    order: Order,
    *,
    planned: float,
    expected: float,
    horizon: int,
) -> tuple[str, ...]:
    told = [f"Asked for beside planned replacements, in ship sets: {known.in_words}."]
    if planned:
        told.append(f"Service lives that run out within {horizon} days take {planned:g} ship sets more.")
    told.append(
        f"{expected:.2f} ship sets are expected in {horizon} days (lead time and {asked.review_days} days of review); "
        f"{order.reorder_at} last with {round(100 * asked.service)} %, {order.ship_sets} count."
    )
    if order.is_due:
        told.append(
            f"At or below the re-order point: each line is brought to {order.target} "
            f"ship set{'' if order.target == 1 else 's'}, in whole packs."
        )
    else:
        told.append("Above the re-order point: nothing is due.")
    dark = sum(
        one.life.state == UNKNOWN and any(one.part_id in line.parts for line in group.lines)
        for one in asked.lives
    )
    if dark:
        have, their = ("has", "its") if dark == 1 else ("have", "their")
        told.append(
            f"{counted(dark, 'fitted set')} {have} no record of {their} service; {their} replacement is not planned."
        )
    told += [words for line in group.lines for words in _looks(line, asked)]
    return tuple(told)


def _looks(line: GroupLine, asked: _Question) -> list[str]:
    part, supply = asked.parts[line.ordered], asked.supplies[line.ordered]
    told = []
    if len(line.parts) > 1:
        others = ", ".join(asked.parts[p].number for p in line.parts if p != line.ordered)
        told.append(f"{part.number} is ordered; {others} serves some of the same positions and is counted.")
    if supply.supplier is None:
        told.append(f"Nobody is known to supply {part.number}; say so: kittrack supply set --help")
    elif supply.lead_time_days is None:
        told.append(
            f"How long {supply.supplier.name} takes for {part.number} is not known and taken as {LEAD_DAYS_UNKNOWN} days; "
            "say it: kittrack supply set --help"
        )
    else:
        told.append(f"{part.number}: {supply.lead_time_days} days of lead time ({supply.lead_time_source}).")
    if part.superseded_how:
        told.append(f"{part.number} is superseded; look whether its successor is to be approved.")
    stock = [asked.stock.get(p, Position()) for p in line.parts]
    short, odd = sum(s.too_short for s in stock), sum(s.odd for s in stock)
    if short:
        ends, is_not = ("expires", "is") if short == 1 or part.unit == "volume_ul" else ("expire", "are")
        told.append(
            f"{_amount(part, short)} of {part.number} {ends} before an order could arrive and {is_not} not counted."
        )
    if odd and part.unit == "pieces":
        is_left = "is" if odd == 1 else "are"
        told.append(
            f"{odd} of {part.number} {is_left} left of lots that have too few for one more hub, and {is_left} not counted."
        )
    return told


def _amount(part: Part, quantity: int) -> str:
    if part.unit == "volume_ul":
        return write_quantity(quantity, dimension=Dimension.VOLUME)
    return counted(quantity, "set") if part.kind == "blade" else str(quantity)
