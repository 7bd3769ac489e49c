"""Which stock to take: first expiry first out, and all pieces of one hub of one lot.

Source: design R4 (one lot for one hub), R13; the order is total, so that the same store always gives the
same pick: earliest expiry, then earliest receipt, then lot number, then the offer's own number.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from kittrack.domain import bounds
from kittrack.errors import BadInput


@dataclass(frozen=True)
class Offer:
    """Stock that may be picked: one quantity in one slot.

    Attributes:
        key: the caller's own number for it, unique among the offers.
        lot: the lot's code.
        quantity: in the part's unit, at least 1.
        received: a number that grows with the time of receipt.
        expires_on: the last good day, or None where it never expires.
    """

    key: int
    lot: str
    quantity: int
    received: int
    expires_on: date | None = None

    def __post_init__(self) -> None:
        bounds.quantity(self.quantity, of=f"stock of lot {self.lot}")


@dataclass(frozen=True)
class Draw:
    """A quantity taken of an offer, for a hub where the line counts by hub."""

    offer: Offer
    quantity: int
    hub: int | None = None


@dataclass(frozen=True)
class Allocation:
    """What is drawn, and what could not be served: hubs in their order, and the quantity in all."""

    draws: tuple[Draw, ...]
    unserved: tuple[int, ...] = ()
    short: int = 0


def first_out(offers: Iterable[Offer]) -> tuple[Offer, ...]:
    """Offers in the order in which they are used up.

    Raises:
        BadInput: two offers have one key, or one offers nothing.
    """
    given = tuple(offers)
    if len({offer.key for offer in given}) < len(given) or any(offer.quantity < 1 for offer in given):
        raise BadInput("An offer of stock is empty or given twice; give each slot once.")
    return tuple(sorted(given, key=_age))


def _age(offer: Offer) -> tuple[date, int, str, int]:
    return (offer.expires_on or date.max, offer.received, offer.lot, offer.key)


def allocate_by_hub(needed: Sequence[tuple[int, int]], *, offers: Iterable[Offer]) -> Allocation:
    """Draw what each hub needs, every hub from one lot.

    Args:
        needed: (hub, quantity) in the order of the hubs.
        offers: the stock to draw from; a lot may lie in several slots.

    Returns:
        The draws in the order of the hubs; each hub is served whole by the first lot that still can, or
        not at all.

    Source: design R4; with n per hub, lots of F pieces serve sum(F // n) hubs, not sum(F) // n.
    """
    for _, quantity in needed:
        bounds.quantity(quantity, of="what a hub needs")
    by_lot: dict[str, list[Offer]] = defaultdict(list)
    for offer in first_out(offers):
        by_lot[offer.lot].append(offer)
    left = {offer.key: offer.quantity for lot in by_lot.values() for offer in lot}
    draws: list[Draw] = []
    unserved: list[int] = []
    for hub, quantity in needed:
        lot = next((own for own in by_lot.values() if sum(left[o.key] for o in own) >= quantity), None)
        if lot is None:
            unserved.append(hub)
            continue
        draws += _draw(lot, quantity, left=left, hub=hub)
    short = sum(quantity for hub, quantity in needed if hub in unserved)
    return Allocation(tuple(draws), tuple(unserved), short)


def allocate(quantity: int, *, offers: Iterable[Offer]) -> Allocation:
    """Draw a quantity across lots, first expiry first out, as far as it goes."""
    bounds.quantity(quantity, of="what is to be drawn")
    ordered = first_out(offers)
    left = {offer.key: offer.quantity for offer in ordered}
    draws = _draw(ordered, quantity, left=left, hub=None)
    return Allocation(tuple(draws), short=quantity - sum(d.quantity for d in draws))


def whole_for(quantity: int, *, offers: Iterable[Offer]) -> Offer | None:
    """The first offer that alone holds a quantity: the bottle that goes along."""
    bounds.quantity(quantity, of="what one offer has to hold")
    return next((offer for offer in first_out(offers) if offer.quantity >= quantity), None)


def _draw(offers: Sequence[Offer], quantity: int, *, left: dict[int, int], hub: int | None) -> list[Draw]:
    """Take up to a quantity of the offers in order; `left` keeps what remains of each."""
    draws = []
    for offer in offers:
        taken = min(quantity, left[offer.key])
        if taken:
            draws.append(Draw(offer, taken, hub))
            left[offer.key] -= taken
            quantity -= taken
    return draws


def complete_hubs(
    needed: Sequence[tuple[int, int]], *, own: Iterable[Offer], shelf: Iterable[Offer]
) -> Allocation:
    """Draw from the shelf what hubs lack beyond what a job holds already, every hub of one lot.

    Hubs that the job's own stock can serve whole need nothing. Of the others, one is completed with
    pieces of the same lot where the job has some left of it; the rest are served whole.

    Args:
        needed: (hub, quantity) of the hubs that are not fastened yet.
        own: what the job's place holds.
        shelf: what may be picked.

    Returns:
        The draws from the shelf, and the hubs that can't be served.

    Source: design 2, "A dropped screw" (a make-good kit completes what is owed), R4.
    """
    held = tuple(own)
    served = allocate_by_hub(needed, offers=held)
    rest = _by_lot((o.lot, o.quantity) for o in held)
    for lot, quantity in _by_lot((d.offer.lot, d.quantity) for d in served.draws).items():
        rest[lot] -= quantity
    ordered = first_out(shelf)
    left = {offer.key: offer.quantity for offer in ordered}
    draws: list[Draw] = []
    unserved: list[tuple[int, int]] = []
    for hub, quantity in ((h, q) for h, q in needed if h in served.unserved):
        lot, lacking = _best_lot(quantity, ordered=ordered, left=left, rest=rest)
        if not lot:
            unserved.append((hub, quantity))
            continue
        if lacking < quantity:
            rest[lot] = 0
        draws += _draw([o for o in ordered if o.lot == lot], lacking, left=left, hub=hub)
    return Allocation(tuple(draws), tuple(h for h, _ in unserved), sum(q for _, q in unserved))


def _by_lot(amounts: Iterable[tuple[str, int]]) -> dict[str, int]:
    total: dict[str, int] = defaultdict(int)
    for lot, quantity in amounts:
        total[lot] += quantity
    return total


def _best_lot(
    quantity: int, *, ordered: Sequence[Offer], left: dict[int, int], rest: dict[str, int]
) -> tuple[str, int]:
    """The lot that serves a hub and what it has to give: first one that completes what the job has left."""
    on_shelf = _by_lot((offer.lot, left[offer.key]) for offer in ordered)
    started = sorted((lot for lot in rest if rest[lot] > 0), key=lambda lot: (-rest[lot], lot))
    for lot in started:
        if on_shelf.get(lot, 0) >= quantity - rest[lot]:
            return lot, quantity - rest[lot]
    return next(((lot, quantity) for lot in on_shelf if on_shelf[lot] >= quantity), ("", 0))
