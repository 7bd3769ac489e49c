"""What is asked for once in a while: size and interval of demands, smoothed apart.

Source: design C11; Croston 1972; Syntetos and Boylan 2005; Shale, Boylan and Johnston 2006;
Teunter, Syntetos and Babai 2011.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from kittrack.domain import bounds
from kittrack.errors import BadInput

MOST_DEMAND: Final = 10**9
_MOST_PERIODS: Final = 10_000
# What the literature recommends for rare demand lies between 0.05 and 0.2 (Syntetos and Boylan 2005, from
# memory).
USUAL_SMOOTHING: Final = 0.1


@dataclass(frozen=True)
class RareDemand:
    """How much is asked for per period, by four methods, and from how many demands that is known.

    Attributes:
        periods: how many periods the history has.
        demands: in how many of them something was asked for.
        size: smoothed pieces per demand; 0 without any demand.
        interval: smoothed periods from one demand to the next; 0 without any demand.
        croston: size / interval.
        syntetos_boylan: the same less its bias, (1 - beta / 2); the one to order by.
        shale_boylan_johnston: the same for demands that come at random, 1 - beta / (2 - beta).
        fading: after Teunter, Syntetos and Babai; sinks while nothing is asked for, so dead stock shows.
    """

    periods: int
    demands: int
    size: float
    interval: float
    croston: float
    syntetos_boylan: float
    shale_boylan_johnston: float
    fading: float


def rare_demand(
    history: Sequence[float], *, alpha: float = USUAL_SMOOTHING, beta: float = USUAL_SMOOTHING
) -> RareDemand:
    """The demand per period of a history in which most periods are empty.

    Starts at the first demand and its distance from the beginning. The bias correction uses the smoothing
    of the interval, beta.

    Args:
        history: what was asked for in each period, oldest first; zeros count.
        alpha: smoothing of the size (for `fading`, too), above 0 and up to 1.
        beta: smoothing of the interval (for `fading`, of the chance), above 0 and up to 1.

    Returns:
        The forecast; all zero where nothing was ever asked for.

    Raises:
        BadInput: no period at all, too many, a negative or endless demand, or a smoothing outside its range.
    """
    alpha = bounds.real(alpha, name="smoothing of the size", low=0, high=1, above=True)
    beta = bounds.real(beta, name="smoothing of the interval", low=0, high=1, above=True)
    if not 1 <= len(history) <= _MOST_PERIODS:
        raise BadInput(f"A history of {len(history)} periods tells nothing; give 1 to {_MOST_PERIODS:,}.")
    asked = [bounds.real(each, name="demand of a period", low=0, high=MOST_DEMAND) for each in history]
    when = [period for period, amount in enumerate(asked, start=1) if amount > 0]
    if not when:
        return RareDemand(len(asked), 0, 0, 0, 0, 0, 0, 0)
    size, interval = asked[when[0] - 1], float(when[0])
    for before, now in pairwise(when):
        size += alpha * (asked[now - 1] - size)
        interval += beta * (now - before - interval)
    rate = size / interval
    return RareDemand(
        periods=len(asked),
        demands=len(when),
        size=size,
        interval=interval,
        croston=rate,
        syntetos_boylan=rate * (1 - beta / 2),
        shale_boylan_johnston=rate * (1 - beta / (2 - beta)),
        fading=_fading(asked, demands=len(when), alpha=alpha, beta=beta),
    )


def _fading(asked: Sequence[float], *, demands: int, alpha: float, beta: float) -> float:
    """Size times chance, both starting at their averages and moving from the second period on."""
    size, chance = sum(asked) / demands, demands / len(asked)
    for amount in asked[1:]:
        if amount > 0:
            size += alpha * (amount - size)
        chance += beta * ((amount > 0) - chance)
    return size * chance
