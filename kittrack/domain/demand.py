"""When and how much to order, how long stock lasts, and what of it will expire on the shelf.

Demand is counted in whole rotor sets or ship sets: one damaged blade uses up a set.

Source: design C11 and C12; standard inventory formulas, checked against published worked examples.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from math import floor, hypot, sqrt
from statistics import NormalDist
from typing import Final

from kittrack.domain import bounds, poisson
from kittrack.domain.kits import packs_for
from kittrack.domain.lots import Offer, first_out
from kittrack.domain.rare_demand import MOST_DEMAND
from kittrack.errors import BadInput

_MOST_DAYS: Final = 36_525  # a hundred years
_MOST_SERVICE: Final = 0.999_999
_MOST_LINES: Final = 10_000
_ROUNDING: Final = 1e-9  # 0.1 a day for 10 days is one piece, whatever the float says


def expected_failures(units: int, *, hours: float, mtbf_hours: float) -> float:
    """How many of some units fail in their hours: units times hours over the mean time between failures.

    Raises:
        BadInput: a figure that can't be one.
    """
    count = bounds.whole(units, name="number of units", low=0, high=MOST_DEMAND)
    run = bounds.real(hours, name="hours in use", low=0, high=MOST_DEMAND)
    mtbf = bounds.real(
        mtbf_hours, name="mean time between failures in hours", low=0, high=MOST_DEMAND, above=True
    )
    return count * run / mtbf


def reorder_point(expected: float, *, service: float) -> int:
    """The stock at which to order: the least that lasts the lead time with the probability wanted.

    Args:
        expected: how many sets are expected to be asked for during the lead time.
        service: the probability of no stock-out, such as 0.95.

    Raises:
        BadInput: a figure that can't be one.

    Source: smallest s with P(Poisson(expected) <= s) >= service.
    """
    return poisson.least_covering(service, mean=expected)


def service_reached(stock: int, *, expected: float) -> float:
    """The probability that a stock lasts where so many are expected to be asked for."""
    return poisson.at_most(stock, mean=expected)


def normal_quantile(service: float) -> float:
    """The z of a service level: how many standard deviations of safety it takes.

    Raises:
        BadInput: a level that is not between 0.5 and 0.999999.
    """
    level = bounds.real(service, name="service level", low=0.5, high=_MOST_SERVICE)
    return NormalDist().inv_cdf(level)


def safety_stock(z: float, *, sd_daily: float, lead_days: float) -> float:
    """Safety stock for plentiful goods (ten and more in a lead time): z sigma sqrt(L).

    Args:
        z: from `normal_quantile`.
        sd_daily: the standard deviation of a day's demand.
        lead_days: the lead time in days.

    Raises:
        BadInput: a figure that can't be one.
    """
    return safety_stock_varying(z, daily=0, sd_daily=sd_daily, lead_days=lead_days, sd_lead_days=0)


def safety_stock_varying(
    z: float, *, daily: float, sd_daily: float, lead_days: float, sd_lead_days: float
) -> float:
    """Safety stock where the lead time varies as well: z sqrt(L sigma_d^2 + d^2 sigma_L^2).

    Args:
        z: from `normal_quantile`.
        daily: the mean of a day's demand.
        sd_daily: its standard deviation.
        lead_days: the mean lead time in days.
        sd_lead_days: its standard deviation.

    Raises:
        BadInput: a figure that can't be one.

    Source: standard inventory texts (from memory).
    """
    factor = bounds.real(z, name="safety factor z", low=0, high=10)
    spread = bounds.real(sd_daily, name="deviation of a day's demand", low=0, high=MOST_DEMAND)
    lead = bounds.real(lead_days, name="lead time in days", low=0, high=_MOST_DAYS)
    mean = bounds.real(daily, name="demand of a day", low=0, high=MOST_DEMAND)
    lead_spread = bounds.real(sd_lead_days, name="deviation of the lead time", low=0, high=_MOST_DAYS)
    return factor * hypot(sqrt(lead) * spread, mean * lead_spread)


def cover_days(issuable: int, *, issued: int, in_days: int) -> float | None:
    """How many days the stock lasts at the pace of a window; None where nothing was issued in it.

    Args:
        issuable: what may be issued now.
        issued: what was issued in the window.
        in_days: the window's days.

    Raises:
        BadInput: a figure that can't be one.
    """
    stock = bounds.whole(issuable, name="issuable stock", low=0, high=MOST_DEMAND)
    pace = bounds.whole(issued, name="quantity issued", low=0, high=MOST_DEMAND)
    days = bounds.whole(in_days, name="days of the window", low=1, high=_MOST_DAYS)
    return stock * days / pace if pace else None


@dataclass(frozen=True)
class OrderLine:
    """One part of a ship set: how many of it one takes, what is issuable or on order, how it is packed."""

    part: str
    per_ship_set: int
    have: int
    pack_quantity: int = 1

    def __post_init__(self) -> None:
        bounds.whole(self.per_ship_set, name="quantity in a ship set", low=1, high=MOST_DEMAND)
        bounds.whole(self.have, name="quantity in hand and on order", low=0, high=MOST_DEMAND)
        bounds.whole(self.pack_quantity, name="quantity in a pack", low=1, high=MOST_DEMAND)

    @property
    def ship_sets(self) -> int:
        """For how many ship sets it suffices."""
        return self.have // self.per_ship_set


@dataclass(frozen=True)
class OrderProposal:
    """How many packs of a part to order, the pieces in them, and how many more that is than is needed."""

    part: str
    packs: int
    quantity: int
    left_over: int


@dataclass(frozen=True)
class Order:
    """What to order, so that all parts reach the same number of ship sets; no line where it is not due."""

    reorder_at: int
    ship_sets: int
    target: int
    lines: tuple[OrderProposal, ...]

    @property
    def is_due(self) -> bool:
        """Whether the stock has come down to the reorder point."""
        return self.ship_sets <= self.reorder_at


def propose_order(lines: Sequence[OrderLine], *, expected: float, service: float, further: int) -> Order:
    """What to order for a type of airframe, in the ratio of its ship set and in whole packs.

    The scarcest part decides whether an order is due; then every part that falls short of the target gets
    just enough packs, so that the senses come out level in ship sets.

    Args:
        lines: the parts of one ship set, each once.
        expected: ship sets expected to be asked for during the lead time.
        service: the probability of no stock-out until the order arrives.
        further: ship sets to order beyond the reorder point, at least 1.

    Raises:
        BadInput: no line, a part twice, or a figure that can't be one.
    """
    if not 1 <= len(lines) <= _MOST_LINES or len({line.part for line in lines}) < len(lines):
        raise BadInput("A ship set needs its parts, each named once; look at the parts of the type.")
    bounds.whole(further, name="ship sets to order beyond the reorder point", low=1, high=MOST_DEMAND)
    reorder_at = reorder_point(expected, service=service)
    ship_sets = min(line.ship_sets for line in lines)
    target = reorder_at + further
    due = lines if ship_sets <= reorder_at else ()
    proposals = tuple(_proposal(line, target=target) for line in due)
    return Order(reorder_at, ship_sets, target, tuple(each for each in proposals if each.packs))


def _proposal(line: OrderLine, *, target: int) -> OrderProposal:
    missing = max(0, target * line.per_ship_set - line.have)
    packs = packs_for(missing, pack_quantity=line.pack_quantity)
    return OrderProposal(line.part, packs.packs, missing + packs.left_over, packs.left_over)


@dataclass(frozen=True)
class Waste:
    """Stock that will expire before anybody asks for it: the offer, and how much of it."""

    offer: Offer
    quantity: int


def waste_forecast(offers: Iterable[Offer], *, daily: float, today: date) -> tuple[Waste, ...]:
    """What will be left on the shelf at its last good day, when first expiry goes out first.

    Args:
        offers: the stock of one part.
        daily: how much of it is asked for in a day.
        today: the local day; stock is good through its last day, and today's demand still counts.

    Returns:
        What is wasted, in the order of expiry; whole units, rounded up.

    Raises:
        BadInput: a demand that can't be one, or an offer that is empty or given twice.
    """
    pace = bounds.real(daily, name="demand of a day", low=0, high=MOST_DEMAND)
    found, used = [], 0
    for offer in first_out(offers):
        if offer.expires_on is None:
            break  # what never expires goes out last and is never wasted
        days = max(0, (offer.expires_on - today).days + 1)
        asked = floor(pace * days + _ROUNDING)
        taken = min(offer.quantity, max(0, asked - used))
        used += taken
        if taken < offer.quantity:
            found.append(Waste(offer, offer.quantity - taken))
    return tuple(found)
