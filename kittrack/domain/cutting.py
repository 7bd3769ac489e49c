"""Whether stock in lots can be cut into groups that are each of one lot.

Stock lies in heaps (a lot of screws, the sets of one rotor part). A demand is a number of groups of one size,
each to come whole out of one heap, and each kind of group may come only out of some heaps.

Source: design C10 (lot purity), R4; the exact answer is found by search over what each heap is cut into.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from kittrack.domain import bounds

MOST_STEPS: Final = 20_000
"""Cuts that one question looks at before it says that it does not know."""


@dataclass(frozen=True, order=True)
class Cut:
    """A kind of group: its size, and the heaps by name out of which it may come."""

    heaps: tuple[int, ...]
    size: int

    def __post_init__(self) -> None:
        bounds.quantity(self.size, of="a group", low=1)


Heaps = Sequence[tuple[int, int]]
"""Heaps as (name, quantity); several heaps may have one name (the lots of a part)."""


def fits(heaps: Heaps, wanted: Mapping[Cut, int]) -> bool | None:
    """Whether heaps can be cut into all the groups wanted.

    Args:
        heaps: the stock, as (name, quantity).
        wanted: how many groups of each kind.

    Returns:
        The exact answer, or None where `MOST_STEPS` do not suffice to find it.

    Raises:
        BadInput: a quantity that can't be one.
    """
    for quantity in [quantity for _, quantity in heaps] + list(wanted.values()):
        bounds.quantity(quantity, of="stock or groups in a count of ship sets")
    asked = {cut: count for cut, count in sorted(wanted.items()) if count > 0}
    if not asked or _fits_greedily(heaps, asked):
        return True
    if _is_too_much(heaps, asked):
        return False
    return _fits_by_search(heaps, asked)


def _fits_greedily(heaps: Heaps, wanted: Mapping[Cut, int]) -> bool:
    """Cut the largest groups first, each out of the heap that it leaves least of."""
    left = [quantity for _, quantity in heaps]
    for cut in sorted(wanted, key=lambda c: (-c.size, len(c.heaps), c.heaps)):
        count = wanted[cut]
        fitting = [at for at, (name, _) in enumerate(heaps) if name in cut.heaps]
        for at in sorted(fitting, key=lambda at: (left[at] % cut.size, left[at], at)):
            taken = min(count, left[at] // cut.size)
            left[at] -= taken * cut.size
            count -= taken
        if count:
            return False
    return True


def _is_too_much(heaps: Heaps, wanted: Mapping[Cut, int]) -> bool:
    """Whether one kind of group alone, or all together by quantity, already asks for too much."""
    for cut, count in wanted.items():
        if sum(quantity // cut.size for name, quantity in heaps if name in cut.heaps) < count:
            return True
    return sum(cut.size * count for cut, count in wanted.items()) > sum(quantity for _, quantity in heaps)


def _fits_by_search(heaps: Heaps, wanted: Mapping[Cut, int]) -> bool | None:
    cuts = tuple(wanted)
    open_states = {tuple(wanted.values())}
    steps = 0
    for name, quantity in sorted(heaps, key=lambda heap: (-heap[1], heap[0])):
        after: set[tuple[int, ...]] = set()
        for state in sorted(open_states):
            for rest in _cut_heap(quantity, name, cuts, state):
                steps += 1
                if steps > MOST_STEPS:
                    return None
                after.add(rest)
        if any(not any(rest) for rest in after):
            return True
        open_states = _least(after)
    return False


def _cut_heap(quantity: int, name: int, cuts: Sequence[Cut], state: tuple[int, ...]) -> Iterator[tuple[int, ...]]:  # fmt: skip
    """What can be left to do after a heap is cut up, in every way that leaves no room for another group."""
    fitting = [at for at, cut in enumerate(cuts) if name in cut.heaps and state[at]]
    yield from _choices(quantity, fitting, cuts, list(state))


def _choices(
    room: int, kinds: Sequence[int], cuts: Sequence[Cut], state: list[int]
) -> Iterator[tuple[int, ...]]:
    if not kinds:
        yield tuple(state)
        return
    at, rest = kinds[0], kinds[1:]
    most = min(state[at], room // cuts[at].size)
    for taken in range(most, -1, -1) if rest else (most,):
        state[at] -= taken
        yield from _choices(room - taken * cuts[at].size, rest, cuts, state)
        state[at] += taken


def _least(states: set[tuple[int, ...]]) -> set[tuple[int, ...]]:
    """Those states of which no other has less left in every kind."""
    kept: list[tuple[int, ...]] = []
    for state in sorted(states, key=lambda s: (sum(s), s)):
        if not any(all(a <= b for a, b in zip(better, state, strict=True)) for better in kept):
            kept.append(state)
    return set(kept)
