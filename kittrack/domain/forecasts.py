"""How much is asked for in a month, by the method that the history deserves, and in words why.

Source: design C11. Demand counts as rare from 1.32 months between issues on: the cut-off of Syntetos, Boylan
and Croston 2005 (from memory).
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from kittrack.domain import bounds
from kittrack.domain.rare_demand import MOST_DEMAND, rare_demand
from kittrack.errors import BadInput

RARE_FROM: Final = 1.32
DAYS_A_MONTH: Final = 30.4375  # 365.25 / 12


@dataclass(frozen=True)
class Forecast:
    """What is expected in a month, of how many months with a demand that is known, and by which method.

    `method` is "never asked for", "mean" or "Croston, Syntetos-Boylan".
    """

    per_month: float
    months: int
    months_with_demand: int
    total: float
    method: str

    def in_days(self, days: float) -> float:
        """What is expected in some days."""
        return self.per_month * days / DAYS_A_MONTH

    @property
    def in_words(self) -> str:
        """The forecast with its reason."""
        return self.told(lambda amount: f"{amount:.4g}")

    def told(self, show: Callable[[float], str]) -> str:
        """The forecast with its reason, amounts as `show` writes them."""
        if not self.months_with_demand:
            return f"never asked for in {self.months} {'month' if self.months == 1 else 'months'}"
        rare = self.method != "mean"
        why = (
            f"rare (asked for in {self.months_with_demand} of {self.months} months), so by Croston with the "
            "Syntetos-Boylan correction"
            if rare
            else f"the mean of {self.months} months"
        )
        return f"{show(self.total)} in {self.months} months, {show(self.per_month)} a month: {why}"


def forecast(history: Sequence[float]) -> Forecast:
    """The demand of a month from a history of months.

    Args:
        history: what was asked for in each month, oldest first; zeros count, and the month that still runs does not.

    Raises:
        BadInput: no month, or a demand that can't be one.
    """  # fmt: skip
    if not history:
        raise BadInput("A forecast needs at least one month.")
    for amount in history:
        bounds.real(amount, name="demand of a month", low=0, high=MOST_DEMAND)
    asked = sum(amount > 0 for amount in history)
    total = float(sum(history))
    if not asked:
        return Forecast(0.0, len(history), 0, 0.0, "never asked for")
    if len(history) / asked >= RARE_FROM:
        rate = rare_demand(history).syntetos_boylan
        return Forecast(rate, len(history), asked, total, "Croston, Syntetos-Boylan")
    return Forecast(total / len(history), len(history), asked, total, "mean")
