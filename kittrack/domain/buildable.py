"""How many ship sets of a type the stock gives, what limits them, and how the senses are out of balance.

Source: design C10. The formulas are those of the design's trade notes: with lot purity a line gives
sum(F_lot // q), the senses are compared in ship sets and never piece by piece.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from kittrack.domain import bounds
from kittrack.domain.spin import Sense
from kittrack.errors import BadInput


@dataclass(frozen=True)
class Need:
    """A line of a ship set and the stock there is for it.

    Attributes:
        name: the line as a person names it.
        quantity: what one ship set takes, a multiple of `pure_in`.
        by_lot: the issuable stock, one number per lot.
        pure_in: the quantity that has to be of one lot (the screws of one hub; 1 where lots may mix).
    """

    name: str
    quantity: int
    by_lot: tuple[int, ...]
    pure_in: int = 1

    def __post_init__(self) -> None:
        bounds.quantity(self.quantity, of=f"{self.name} in a ship set")
        bounds.quantity(self.pure_in, of=f"{self.name} that has to be of one lot")
        for stock in self.by_lot:
            bounds.quantity(stock, of=f"{self.name} on the shelf")

    @property
    def groups(self) -> int:
        """How many groups of `pure_in` the lots give."""
        return sum(stock // self.pure_in for stock in self.by_lot)

    @property
    def ship_sets(self) -> int:
        """How many ship sets this line alone allows."""
        return self.groups // (self.quantity // self.pure_in)

    def missing_for(self, ship_sets: int) -> int:
        """What has to be added for a number of ship sets, counted in pieces of a fresh lot."""
        wanted = ship_sets * (self.quantity // self.pure_in)
        return max(0, wanted - self.groups) * self.pure_in


@dataclass(frozen=True)
class ShipSets:
    """How many ship sets can be built, which lines limit that, and what one more takes.

    `unlock` has (line, quantity to add) for each line that lacks anything for one ship set more.
    """

    count: int
    by_line: tuple[tuple[str, int], ...]
    limiting: tuple[str, ...]
    unlock: tuple[tuple[str, int], ...]


def ship_sets(needs: Sequence[Need]) -> ShipSets:
    """The ship sets that a stock gives: the least over its lines.

    Args:
        needs: every line of one ship set, at least one.

    Raises:
        BadInput: no line, or a line whose quantity is no multiple of its group.

    Source: design C10, `K_i = sum_lots F_il // q_i`, the least K_i decides.
    """
    if not needs:
        raise BadInput("A ship set without a line can't be counted; choose a type revision with positions.")
    for need in needs:
        if need.pure_in < 1 or need.quantity < 1 or need.quantity % need.pure_in:
            raise BadInput(
                f"{need.name}: {need.quantity} is no multiple of {need.pure_in}; look at its hub fixing."
            )
    count = min(need.ship_sets for need in needs)
    unlock = [(need.name, need.missing_for(count + 1)) for need in needs]
    return ShipSets(
        count,
        tuple((need.name, need.ship_sets) for need in needs),
        tuple(need.name for need in needs if need.ship_sets == count),
        tuple((name, missing) for name, missing in unlock if missing),
    )


@dataclass(frozen=True)
class SenseBalance:
    """How far the senses are out of balance, in ship sets; positive where there are more CW.

    Attributes:
        imbalance: CW ship sets minus CCW ship sets, or None where the type needs one sense only.
        fuller: the sense with more ship sets, or None in balance.
        stranded: whole sets of the fuller sense that have no counterpart.
    """

    imbalance: Fraction | None
    fuller: Sense | None
    stranded: int


def sense_balance(have: Mapping[Sense, int], *, need: Mapping[Sense, int]) -> SenseBalance:
    """Compare the issuable sets of both senses against what one ship set takes of each.

    Args:
        have: issuable sets by sense.
        need: sets per ship set by sense; a type may need unequal numbers, or one sense only.

    Source: design C10: imbalance = S_cw / n_cw - S_ccw / n_ccw, stranded = |imbalance| n of the fuller side.
    """
    for count in (*have.values(), *need.values()):
        bounds.quantity(count, of="rotor sets of one sense")
    n_cw, n_ccw = need.get(Sense.CW, 0), need.get(Sense.CCW, 0)
    s_cw, s_ccw = have.get(Sense.CW, 0), have.get(Sense.CCW, 0)
    if not n_cw or not n_ccw:
        idle = {Sense.CW: s_cw if not n_cw else 0, Sense.CCW: s_ccw if not n_ccw else 0}
        fuller = next((sense for sense, count in idle.items() if count), None)
        return SenseBalance(None, fuller, sum(idle.values()))
    imbalance = Fraction(s_cw, n_cw) - Fraction(s_ccw, n_ccw)
    if not imbalance:
        return SenseBalance(imbalance, None, 0)
    fuller = Sense.CW if imbalance > 0 else Sense.CCW
    return SenseBalance(imbalance, fuller, int(abs(imbalance) * need[fuller]))
