"""How many ship sets stock gives where lines of one type, or several types, share parts.

A rotor line may be met by any of its approved parts, but one ship set takes them all of one part, as a kit
does; the screws of a hub are of one lot. So stock is cut into groups (`cutting`), and lines that share a part
compete for it.

Source: design C10 (joint plan of types that share parts; optimal unless said to be greedy).
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from math import gcd
from typing import Final

from kittrack.domain import bounds
from kittrack.domain.buildable import ShipSets
from kittrack.domain.cutting import Cut, fits
from kittrack.errors import BadInput

Stock = Mapping[int, Sequence[int]]
"""Issuable stock by part, one quantity per heap: per lot where lots may not mix, in one heap where they may."""

MOST_CHECKS: Final = 2_000
"""Plans that a search looks at before it answers with the best one found."""


@dataclass(frozen=True)
class SetLine:
    """A line of one ship set.

    Attributes:
        name: as a person names it.
        parts: any of which serves.
        quantity: what one ship set takes, a multiple of `pure_in`.
        pure_in: the quantity that has to come out of one heap of one part.
        tops_up: a heap can be added to (rotor sets of a part), so what lacks is counted up to the next
            group; else a fresh heap is needed (another lot of screws).
    """

    name: str
    parts: tuple[int, ...]
    quantity: int
    pure_in: int = 1
    tops_up: bool = False

    @property
    def cut(self) -> Cut:
        """The kind of group that it takes."""
        return Cut(self.parts, self.pure_in)

    @property
    def groups(self) -> int:
        """How many groups a ship set takes."""
        return self.quantity // self.pure_in


@dataclass(frozen=True)
class Plan:
    """How many ship sets of each type to build, in the order of the types.

    `is_optimal` is False where the search was cut short: then at least so many can be built, perhaps more.
    """

    counts: tuple[int, ...]
    is_optimal: bool


def ship_sets_of(lines: Sequence[SetLine], stock: Stock) -> ShipSets:
    """The ship sets of one type, its lines competing for the parts that they share.

    Args:
        lines: every line of one ship set, at least one.
        stock: what is issuable.

    Raises:
        BadInput: no line, a line whose quantity is no multiple of its group, or a quantity that can't be one.
    """
    _check(lines)
    _check_stock(stock)
    count = _most(lambda n: _can_build([lines], [n], stock) is True, _upper(lines, stock))
    limiting, lacking = _lacking(lines, stock, count + 1)
    return ShipSets(
        count,
        tuple((line.name, _alone(line, stock)) for line in lines),
        tuple(line.name for line in lines if line.cut in limiting),
        tuple((_names(lines, cut), quantity) for cut, quantity in lacking.items()),
    )


def plan_together(types: Sequence[Sequence[SetLine]], stock: Stock, *, first: Sequence[int] = ()) -> Plan:
    """How many ship sets of each type to build from one stock.

    The types named first get as many as they can, in their order; then the others get the most in total,
    and of equal totals the one with more of the earlier types.

    Args:
        types: the lines of one ship set of each type.
        stock: what is issuable, for all of them together.
        first: numbers of types, the most important first.

    Raises:
        BadInput: a type without lines, a line whose quantity is no multiple of its group, or a quantity
            that can't be one.
    """
    for lines in types:
        _check(lines)
    _check_stock(stock)
    search = _Search(types, stock)
    counts = [0] * len(types)
    for at in first:
        counts[at] = search.most_of(at, counts)
    for group in _sharing(types, [at for at in range(len(types)) if at not in first]):
        search.fill(group, counts)
    return Plan(tuple(counts), search.is_exact)


# ---- one type --------------------------------------------------------------------------------------


def _check(lines: Sequence[SetLine]) -> None:
    if not lines:
        raise BadInput("A ship set without a line can't be counted; choose a type revision with positions.")
    for line in lines:
        bounds.quantity(line.quantity, of=f"{line.name} in a ship set")
        bounds.quantity(line.pure_in, of=f"{line.name} that has to come out of one heap")
        if line.pure_in < 1 or line.quantity < 1 or line.quantity % line.pure_in:
            raise BadInput(
                f"{line.name}: {line.quantity} is no multiple of {line.pure_in}; look at its hub fixing."
            )


def _check_stock(stock: Stock) -> None:
    for heaps in stock.values():
        for heap in heaps:
            bounds.quantity(heap, of="stock on the shelf")


def _alone(line: SetLine, stock: Stock) -> int:
    return sum(heap // line.pure_in for part in line.parts for heap in stock.get(part, ())) // line.groups


def _upper(lines: Sequence[SetLine], stock: Stock) -> int:
    return min(_alone(line, stock) for line in lines)


def _most(can: Callable[[int], bool], upper: int) -> int:
    """The largest number up to a bound for which something can be done that can be done for all below it."""
    low, high = 0, upper
    while low < high:
        middle = (low + high + 1) // 2
        low, high = (middle, high) if can(middle) else (low, middle - 1)
    return low


def _can_build(
    types: Sequence[Sequence[SetLine]], counts: Sequence[int], stock: Stock, *, found: list[bool] | None = None
) -> bool:  # fmt: skip
    """Whether so many ship sets of each type can be built; `found` takes False where that is not known."""
    wanted = _wanted(types, counts)
    for cuts in _apart(wanted):
        answer = fits(_heaps(cuts, stock), {cut: wanted[cut] for cut in cuts})
        if answer is None and found is not None:
            found.append(False)
        if not answer:
            return False
    return True


def _wanted(types: Sequence[Sequence[SetLine]], counts: Sequence[int]) -> dict[Cut, int]:
    wanted: dict[Cut, int] = {}
    for lines, count in zip(types, counts, strict=True):
        for line in lines:
            wanted[line.cut] = wanted.get(line.cut, 0) + line.groups * count
    return wanted


def _heaps(cuts: Sequence[Cut], stock: Stock) -> list[tuple[int, int]]:
    parts = sorted({part for cut in cuts for part in cut.heaps})
    return [(part, heap) for part in parts for heap in stock.get(part, ())]


def _apart(wanted: Mapping[Cut, int]) -> list[list[Cut]]:
    """The kinds of groups, those together that compete for a part."""
    apart: list[tuple[set[int], list[Cut]]] = []
    for cut in sorted(wanted):
        touching = [entry for entry in apart if entry[0] & set(cut.heaps)]
        apart = [entry for entry in apart if not entry[0] & set(cut.heaps)]
        parts = set(cut.heaps).union(*(entry[0] for entry in touching))
        apart.append((parts, [cut, *(c for entry in touching for c in entry[1])]))
    return [sorted(cuts) for _, cuts in apart]


def _lacking(lines: Sequence[SetLine], stock: Stock, count: int) -> tuple[set[Cut], dict[Cut, int]]:
    """The kinds of groups that compete for too little, and what has to be added of which so that all suffice."""
    wanted = _wanted([lines], [count])
    limiting: set[Cut] = set()
    lacking: dict[Cut, int] = {}
    for cuts in _apart(wanted):
        heaps = _heaps(cuts, stock)
        left_out = _left_out(heaps, {cut: wanted[cut] for cut in cuts})
        limiting |= set(cuts) if left_out else set()
        met = {cut: wanted[cut] - left_out.get(cut, 0) for cut in cuts}
        for cut, groups in left_out.items():
            tops_up = any(line.tops_up for line in lines if line.cut == cut)
            lacking[cut] = _least_top_up(heaps, met, cut, groups) if tops_up else groups * cut.size
            met[cut] += groups
    return limiting, lacking


def _names(lines: Sequence[SetLine], cut: Cut) -> str:
    return " + ".join(line.name for line in lines if line.cut == cut)


def _left_out(heaps: Sequence[tuple[int, int]], wanted: dict[Cut, int]) -> dict[Cut, int]:
    """The groups that are not to be had, as few as a greedy look finds, the small ones first."""
    left_out: dict[Cut, int] = {}
    for cut in sorted(wanted, key=lambda c: (c.size, c.heaps)):
        if fits(heaps, wanted):
            break
        everything = wanted[cut]
        wanted[cut] = _most(lambda n, cut=cut: fits(heaps, {**wanted, cut: n}) is True, everything)  # type: ignore[misc]  # bound now, called now
        left_out[cut] = everything - wanted[cut]
    return {cut: count for cut, count in left_out.items() if count}


def _least_top_up(
    heaps: list[tuple[int, int]], met: Mapping[Cut, int], cut: Cut, groups: int
) -> int:  # fmt: skip
    """The least that has to be added to one heap so that some groups more can be cut; the heap is added to."""
    wanted = {**met, cut: met[cut] + groups}
    for added in range(1, groups * cut.size + 1):
        for at, (name, quantity) in enumerate(heaps):
            if name in cut.heaps and fits([*heaps[:at], (name, quantity + added), *heaps[at + 1 :]], wanted):
                heaps[at] = (name, quantity + added)
                return added
    heaps += [(part, groups * cut.size) for part in cut.heaps[:1]]
    return groups * cut.size


# ---- several types ---------------------------------------------------------------------------------


def _sharing(types: Sequence[Sequence[SetLine]], numbers: Sequence[int]) -> list[list[int]]:
    """Types by number, those together that compete for a part, directly or by a third."""
    groups: list[tuple[set[int], list[int]]] = []
    for at in numbers:
        parts = {part for line in types[at] for part in line.parts}
        touching = [g for g in groups if g[0] & parts]
        groups = [g for g in groups if not g[0] & parts]
        groups.append((parts.union(*(g[0] for g in touching)), [*(n for g in touching for n in g[1]), at]))
    return [sorted(members) for _, members in groups]


class _Search:
    """Branch and bound over the numbers of ship sets; what fits for more fits for fewer."""

    def __init__(self, types: Sequence[Sequence[SetLine]], stock: Stock) -> None:
        self._types = types
        self._stock = stock
        self._upper = [_upper(lines, stock) for lines in types]
        self._doubts: list[bool] = []
        self._checks = 0
        self._is_whole = True

    @property
    def is_exact(self) -> bool:
        """Whether no search was cut short."""
        return self._is_whole and not self._doubts

    def most_of(self, at: int, counts: Sequence[int]) -> int:
        """The most ship sets of one type beside the others' numbers."""

        def can(count: int) -> bool:
            return self._can([*counts[:at], count, *counts[at + 1 :]])

        return _most(can, self._upper[at])

    def fill(self, group: Sequence[int], counts: list[int]) -> None:
        """Give the types of a group the most in total beside what is given already."""
        self._checks = 0
        best = self._greedily(group, counts)
        best = self._better(group, 0, list(counts), best)
        for at in group:
            counts[at] = best[at]

    def _can(self, counts: Sequence[int]) -> bool:
        self._checks += 1
        return _can_build(self._types, counts, self._stock, found=self._doubts)

    def _greedily(self, group: Sequence[int], counts: Sequence[int]) -> list[int]:
        made = list(counts)
        for at in group:
            made[at] = self.most_of(at, made)
        return made

    def _better(self, group: Sequence[int], depth: int, counts: list[int], best: list[int]) -> list[int]:
        if self._checks > MOST_CHECKS:
            self._is_whole = False
            return best
        if depth == len(group):
            return list(counts) if sum(counts) > sum(best) else best
        most = {at: self.most_of(at, counts) for at in group[depth:]}
        if sum(counts) + _bound(self._types, counts, most, self._stock) <= sum(best):
            return best
        at = group[depth]
        rest = sum(most[other] for other in group[depth + 1 :])
        last = depth == len(group) - 1
        for count in range(most[at], most[at] - 1 if last else -1, -1):
            if sum(counts) + count + rest <= sum(best):
                break
            counts[at] = count
            best = self._better(group, depth + 1, counts, best)
            counts[at] = 0
        return best


def _bound(
    types: Sequence[Sequence[SetLine]], counts: Sequence[int], most: Mapping[int, int], stock: Stock
) -> int:
    """At most so many ship sets in total can be added: no family of parts can give more than it holds.

    For the parts of each kind of group, what all groups that come out of these parts alone take is at most
    what lies there in whole groups; the types that take least come first.
    """
    used = _wanted(types, counts)
    families = {cut.heaps for at in most for cut in (line.cut for line in types[at])}
    families |= {tuple(sorted({*a, *b})) for a in families for b in families}
    least = sum(most.values())
    for family in families:
        inside = {cut for cut in used if set(cut.heaps) <= set(family)}  # at least the family's own
        whole = gcd(*(cut.size for cut in inside))
        room = sum(heap // whole * whole for part in family for heap in stock.get(part, ()))
        room -= sum(used[cut] * cut.size for cut in inside)
        takes = {at: sum(line.quantity for line in types[at] if line.cut in inside) for at in most}
        least = min(least, _knapsack(room, takes, most))
    return least


def _knapsack(room: int, takes: Mapping[int, int], most: Mapping[int, int]) -> int:
    total = 0
    for at in sorted(most, key=lambda at: takes[at]):
        count = min(most[at], room // takes[at]) if takes[at] else most[at]
        total += count
        room -= count * takes[at]
    return total
