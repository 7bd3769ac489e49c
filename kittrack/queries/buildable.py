"""How many ship sets of each type revision the stock gives now, what limits them, what one more takes (C10).

Alone, by place, and together where types share parts.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from kittrack.domain.buildable import SenseBalance, ShipSets, sense_balance
from kittrack.domain.ledger import PlaceKind
from kittrack.domain.quantities import Dimension, write_quantity
from kittrack.domain.ship_set_plan import Plan, plan_together, ship_sets_of
from kittrack.domain.spin import Sense
from kittrack.errors import NotFound
from kittrack.queries.issuable_stock import STORES, PlaceStock, issuable_stock
from kittrack.queries.ship_set_lines import RevisionLines, revision_lines
from kittrack.store.act import Reading
from kittrack.store.database import Store
from kittrack.store.stock import place_named


@dataclass(frozen=True)
class Buildable:
    """The ship sets of one type revision from one place: the count, its lines, the senses side by side.

    `stock` has (line, on the shelf and issuable, per ship set) in the order of the lines; `volume_lines` names those
    in microlitres. `one_more_takes` says in words what lacks for one ship set more.
    """

    type_name: str
    revision: str
    ship_sets: ShipSets
    stock: tuple[tuple[str, int, int], ...]
    senses: SenseBalance
    sets_by_sense: tuple[tuple[Sense, int, int], ...]
    volume_lines: tuple[str, ...] = ()

    @property
    def one_more_takes(self) -> tuple[str, ...]:
        """What lacks for one ship set more, with its unit."""
        return tuple(
            f"{_amount(lack, name in self.volume_lines)} more {name}" for name, lack in self.ship_sets.unlock
        )


@dataclass(frozen=True)
class BuildableAt:
    """What one place gives of one type revision: sealed kits that are ready, ship sets that can still be built.

    `imbalance` is in ship sets, positive where there are more CW; `stranded` counts the whole sets of the
    fuller sense that have no counterpart there.
    """

    place: str
    type_name: str
    revision: str
    sealed_kits: int
    ship_sets: int
    limited_by: tuple[str, ...]
    one_more_takes: tuple[str, ...]
    cw_sets: int
    ccw_sets: int
    imbalance: float | None
    fuller: Sense | None
    stranded: int


@dataclass(frozen=True)
class Share:
    """What a type revision gets in a joint plan, and how many ship sets it would get alone."""

    type_name: str
    revision: str
    alone: int
    together: int


@dataclass(frozen=True)
class JointPlan:
    """One stock shared out among all type revisions. `method` says whether it is the best that can be done."""

    place: str
    method: str
    is_optimal: bool
    first: tuple[str, ...]
    shares: tuple[Share, ...]

    @property
    def total(self) -> int:
        """Ship sets in all."""
        return sum(share.together for share in self.shares)


def buildable(store: Store, *, at: datetime, place: str = "") -> tuple[Buildable, ...]:
    """Every type revision's ship sets, in order of type and revision, each counted as if it were alone.

    Types that share parts compete for them: the answers must not be added up; see `joint_plan`.

    Args:
        store: the store.
        at: the instant at which dates and reservations are judged.
        place: the code or name of one bin or van; all bins where it is empty.

    Raises:
        NotFound: the place is unknown.
    """
    with store.reading() as read:
        stock = _stock_of(read, at=at, place=place)
        return tuple(_of_revision(one, stock) for one in revision_lines(read))


def buildable_by_place(store: Store, *, at: datetime) -> tuple[BuildableAt, ...]:
    """Ship sets and sealed kits of each type revision, from the stores and from each van, the stores first.

    Args:
        store: the store.
        at: the instant at which dates and reservations are judged.
    """
    with store.reading() as read:
        places, revisions = issuable_stock(read, at=at), revision_lines(read)
    return tuple(_at_place(one, stock) for stock in places for one in revisions)


def worth_telling(found: Sequence[BuildableAt]) -> tuple[BuildableAt, ...]:
    """Without the types of which a van carries nothing at all; the stores always tell all of theirs."""
    return tuple(
        b for b in found if b.place == STORES or b.sealed_kits or b.ship_sets or b.cw_sets or b.ccw_sets
    )


def joint_plan(store: Store, *, at: datetime, place: str = "", first: Sequence[str] = ()) -> JointPlan:
    """Share one stock out among the type revisions that compete for its parts.

    The type revisions named first get as many ship sets as they can, in their order; then the others get the most in total.

    Args:
        store: the store.
        at: the instant at which dates and reservations are judged.
        place: the code or name of one bin or van; all bins where it is empty.
        first: type revisions, the most important first, such as "QA A".

    Raises:
        NotFound: a place or a type revision is unknown.
    """  # fmt: skip
    with store.reading() as read:
        stock = _stock_of(read, at=at, place=place)
        revisions = revision_lines(read)
    names = [one.name for one in revisions]
    unknown = next((name for name in first if name.strip() not in names), None)
    if unknown is not None:
        there = ", ".join(names) or "none yet"
        raise NotFound(f"no type revision is known as {unknown.strip()!r}; write one of: {there}")
    numbers = list(dict.fromkeys(names.index(name.strip()) for name in first))
    plan = plan_together([one.lines for one in revisions], stock.heaps(), first=numbers)
    return JointPlan(
        stock.name,
        _method(plan, bool(numbers)),
        plan.is_optimal,
        tuple(names[n] for n in numbers),
        tuple(
            Share(one.type_name, one.revision, ship_sets_of(one.lines, stock.heaps()).count, count)
            for one, count in zip(revisions, plan.counts, strict=True)
        ),
    )


def _method(plan: Plan, has_first: bool) -> str:
    rest = "the types named first as many as they can, the others" if has_first else "all types together"
    if plan.is_optimal:
        return f"optimal: {rest} the most ship sets in total that this stock gives"
    return f"greedy: {rest} at least so many ship sets; the search was cut short, more may be possible"


def _stock_of(read: Reading, *, at: datetime, place: str) -> PlaceStock:
    if not place:
        return issuable_stock(read, at=at)[0]
    wanted = place_named(read, place, kinds=(PlaceKind.BIN, PlaceKind.VAN))
    (stock,) = issuable_stock(read, at=at, place_id=wanted.id)
    stock.name = wanted.name
    return stock


def _of_revision(one: RevisionLines, stock: PlaceStock) -> Buildable:
    heaps = stock.heaps()
    have = _sets_by_sense(one, stock)
    return Buildable(
        type_name=one.type_name, revision=one.revision, ship_sets=ship_sets_of(one.lines, heaps),
        stock=tuple((line.name, sum(sum(heaps.get(p, ())) for p in line.parts), line.quantity) for line in one.lines),
        senses=sense_balance(have, need=one.sets_wanted),
        sets_by_sense=tuple((s, have[s], one.sets_wanted[s]) for s in Sense),
        volume_lines=tuple(line.name for line in one.lines if line.name in one.volume_lines),
    )  # fmt: skip


def _amount(quantity: int, is_volume: bool) -> str:
    return write_quantity(quantity, dimension=Dimension.VOLUME) if is_volume else str(quantity)


def _sets_by_sense(one: RevisionLines, stock: PlaceStock) -> dict[Sense, int]:
    """The sets of each sense that fit anywhere on the type, each counted once."""
    parts = {
        sense: {p for line in one.lines if one.rotor_lines.get(line.name) is sense for p in line.parts}
        for sense in Sense
    }
    return {sense: sum(stock.sets.get(p, 0) for p in found) for sense, found in parts.items()}


def _at_place(one: RevisionLines, stock: PlaceStock) -> BuildableAt:
    answer = _of_revision(one, stock)
    imbalance = answer.senses.imbalance
    return BuildableAt(
        place=stock.name, type_name=one.type_name, revision=one.revision, sealed_kits=stock.kits.get(one.revision_id, 0),
        ship_sets=answer.ship_sets.count, limited_by=answer.ship_sets.limiting, one_more_takes=answer.one_more_takes,
        cw_sets=answer.sets_by_sense[0][1], ccw_sets=answer.sets_by_sense[1][1],
        imbalance=None if imbalance is None else float(imbalance), fuller=answer.senses.fuller,
        stranded=answer.senses.stranded,
    )  # fmt: skip
