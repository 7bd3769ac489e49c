"""The Poisson distribution, for rare demand and for faults in a sample.

Source: design C11 and C13; the definition P(X <= k) = sum of e^-m m^i / i!.
"""

from math import exp, fsum, lgamma, log, sqrt
from typing import Final

from kittrack.domain import bounds

MOST_MEAN: Final = 100_000
_MOST_COUNT: Final = 10**9
_SIGMAS: Final = 40  # terms further below the mean than this are smaller than any float can show in a sum


def at_most(limit: int, *, mean: float) -> float:
    """The probability that no more than `limit` happen where `mean` are expected.

    Raises:
        BadInput: a limit or mean that can't be one.
    """
    bounds.whole(limit, name="count", low=0, high=_MOST_COUNT)
    expected = bounds.real(mean, name="expected count", low=0, high=MOST_MEAN)
    if expected == 0:
        return 1.0
    first, past = _window(expected)
    return min(1.0, fsum(_term(k, mean=expected) for k in range(first, min(limit, past) + 1)))


def least_covering(share: float, *, mean: float) -> int:
    """The smallest count that suffices with a probability of at least `share` where `mean` are expected.

    Raises:
        BadInput: a share that is not between 0 and 0.999999, or a mean that can't be one.
    """
    wanted = bounds.real(share, name="share of cases to cover", low=0, high=0.999_999)
    expected = bounds.real(mean, name="expected count", low=0, high=MOST_MEAN)
    if expected == 0 or wanted == 0:
        return 0
    k = _window(expected)[0]
    reached = _term(k, mean=expected)
    while reached < wanted:
        k += 1
        reached += _term(k, mean=expected)
    return k


def _window(mean: float) -> tuple[int, int]:
    """Outside of which counts a term adds nothing that a float can hold."""
    reach = _SIGMAS * (sqrt(mean) + 1)
    return max(0, int(mean - reach)), int(mean + reach) + 1


def _term(k: int, *, mean: float) -> float:
    return exp(k * log(mean) - mean - lgamma(k + 1))
