"""Matching for rotors of three and more blades, by windows of the sorted moments, with a stated bound.

Placing blades for least unbalance is a quadratic assignment problem (Laporte and Mercure, EJOR 35, 1988), so
no fast method is the best for certain. What holds:

- A *window* is N neighbours in order of moment; windows are chosen along the line as pairs are (most sets,
  then least total residual), each in its best order around the hub.
- Windows are enough for sets of limited range. Two sets of range at most w can be exchanged for their lower N
  and upper N blades: N blades lie within w of the least one, and N within w of the greatest, so both ranges
  stay within w. A single blade inside a set's range takes the place of its heaviest. Repeated, every set is a
  window.
- The best order leaves at most b times the range w, b squared = N squared / (4 (N - 1)) for even N and
  (N + 1) / 4 for odd N: the mean square over all orders is N / (N - 1) times the sum of squared deviations,
  and that sum is greatest with half of the blades at either end. So **at least as many sets are found as any
  method finds whose sets have a range of at most tolerance / b.** For N = 3, b = 1, and a set leaves at least
  0.866 of its range: no method finds more sets at 0.866 of the tolerance than this one at the tolerance.
- N = 4: a set leaves the root of the summed squares of its two opposite differences. Proven pairs
  (kittrack/domain/matching.py) of the tolerance and of 0.707 of it are combined too, small difference with
  great, and the best proposal is taken. Any two pairs of the second kind combine, and every set holds two
  pairs within its residual, so no method finds more sets at 0.707 of the tolerance than this one at the
  tolerance.

`Pairing.most_possible` bounds the sets of any method at the full tolerance: windows of range tolerance / 0.866
for N = 3, half of the most pairs for N = 4, and blades / N beyond.

Source: design C3; first principles. Oracle in tests: exhaustive search, integer programming.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import permutations
from math import ceil, floor, fsum, sqrt

from kittrack.domain import bounds
from kittrack.domain.balance import MOST_ORDERED, Blade, Placement, best_order, slot_directions
from kittrack.domain.matching import (
    Pairing,
    ProposedSet,
    Single,
    Wanted,
    explain_singles,
    pair_blades,
    sorted_blades,
)
from kittrack.errors import BadInput

Cost = tuple[int, float]
LEAST_SHARE_OF_RANGE = (
    sqrt(3) / 2
)  # three blades a <= t <= c leave (w2 - w t + t2) ** 0.5, least at t = w / 2


def match_sets(blades: Sequence[Blade], *, blades_per_rotor: int, tolerance_g_um: float) -> Pairing:
    """Match blades into rotor sets of two to eight: many sets within tolerance, then a small total residual.

    Two blades a rotor are paired by `pair_blades`, proven optimal. For three and more the bound above holds.

    Args:
        blades: loose blades of one part number and one sense.
        blades_per_rotor: two to eight. Each window of N tries (N - 1)! / 2 orders, so eight take long for
            more than a few hundred blades.
        tolerance_g_um: greatest residual of a set, less the expanded uncertainty where the match is to be
            proven (design R19).

    Returns:
        Sets by rising moment, each in its best order; singles by rising moment, each with the moment of the
        one new blade that would make a set of it and its neighbours among the singles.

    Raises:
        BadInput: a key twice, a number that can't be one, or a rotor of one blade or of more than eight.
    """
    size = bounds.whole(blades_per_rotor, name="number of blades of a rotor", low=2, high=MOST_ORDERED)
    if size == 2:
        return pair_blades(blades, tolerance_g_um=tolerance_g_um)
    limit = bounds.tolerance(tolerance_g_um)
    ordered = sorted_blades(blades)
    found = _by_windows(ordered, size=size, limit=limit)
    if size == 4:
        by_pairs = (_by_pairs(ordered, within=within, limit=limit) for within in (limit / sqrt(2), limit))
        found = min([*by_pairs, found], key=_cost)
    place_of = {blade.key: place for place, blade in enumerate(ordered)}
    sets = sorted(found, key=lambda p: min(place_of[key] for key in p.keys))
    taken = [place_of[key] for placement in sets for key in placement.keys]
    return Pairing(
        tuple(ProposedSet(p.keys, p.residual_g_um) for p in sets),
        _singles(ordered, taken=taken, size=size, limit=limit),
        fsum(p.residual_g_um for p in sets),
        limit,
        max(len(sets), _most_possible(ordered, size=size, limit=limit)),
    )


def _cost(placements: Sequence[Placement]) -> Cost:
    return -len(placements), fsum(p.residual_g_um for p in placements)


def _by_windows(ordered: Sequence[Blade], *, size: int, limit: float) -> list[Placement]:
    windows = [best_order(ordered[i : i + size]) for i in range(len(ordered) - size + 1)]
    best: list[Cost] = [(0, 0.0)] * (len(ordered) + 1)
    for i in range(len(windows) - 1, -1, -1):
        best[i] = min(best[i + 1], _cost_with(windows[i], best[i + size], limit=limit))
    return list(_chosen(windows, best, size=size, limit=limit))


def _chosen(
    windows: Sequence[Placement], best: Sequence[Cost], *, size: int, limit: float
) -> Iterator[Placement]:
    place = 0
    while place < len(windows):
        if _cost_with(windows[place], best[place + size], limit=limit) == best[place]:
            yield windows[place]
            place += size
        else:
            place += 1


def _cost_with(window: Placement, rest: Cost, *, limit: float) -> Cost:
    if window.residual_g_um > limit:
        return 1, 0.0  # worse than taking nothing
    return rest[0] - 1, rest[1] + window.residual_g_um


def _by_pairs(ordered: Sequence[Blade], *, within: float, limit: float) -> list[Placement]:
    """Sets of four from the proven pairs: opposite blades are partners, so differences add in squares."""
    blade_of = {blade.key: blade for blade in ordered}
    pairs = sorted(pair_blades(ordered, tolerance_g_um=within).sets, key=lambda p: (p.residual_g_um, p.keys))
    for count in range(len(pairs) // 2, 0, -1):
        small = pairs[: 2 * count]
        couples = list(zip(small[:count], reversed(small[count:]), strict=True))
        placed = [best_order([blade_of[key] for pair in couple for key in pair.keys]) for couple in couples]
        if all(p.residual_g_um <= limit for p in placed):
            return placed
    return []


def _singles(
    ordered: Sequence[Blade], *, taken: Sequence[int], size: int, limit: float
) -> tuple[Single, ...]:
    alone = explain_singles(ordered, taken=taken, tolerance_g_um=limit)
    blades = [Blade(single.key, single.moment_g_um) for single in alone]
    return tuple(
        replace(single, wanted=_wanted(blades, i, size=size, limit=limit)) for i, single in enumerate(alone)
    )


def _wanted(blades: Sequence[Blade], place: int, *, size: int, limit: float) -> Wanted | None:
    """The widest span of moments that completes a set of this blade and its neighbours among the singles."""
    others = size - 1
    first, last = max(0, place - others + 1), min(place, len(blades) - others)
    spans = [
        _span(blades[i : i + others], key=blades[place].key, limit=limit) for i in range(first, last + 1)
    ]
    return max(
        (span for span in spans if span is not None), key=lambda w: w.high_g_um - w.low_g_um, default=None
    )


def _span(blades: Sequence[Blade], *, key: str, limit: float) -> Wanted | None:
    """Which moments in slot 0 keep the residual of these blades within the limit, in their best order.

    A new blade acts along slot 0 alone, so what lies across it must be within the limit already.
    """
    shared = min(b.moment_g_um for b in blades)
    spread = [float(b.moment_g_um - shared) for b in blades]
    lines = slot_directions(len(blades) + 1)[1:]
    along, across = min(
        (_sums(order, lines) for order in permutations(spread)), key=lambda sums: (abs(sums[1]), sums)
    )
    if abs(across) > limit:
        return None
    reach = sqrt(limit**2 - across**2)
    low, high = max(0, ceil(shared - along - reach)), floor(shared - along + reach)
    joining = tuple(b.key for b in blades if b.key != key)
    return Wanted(low, high, joining) if low <= high else None


def _sums(moments: Sequence[float], lines: Sequence[tuple[float, float]]) -> tuple[float, float]:
    along = fsum(m * c for m, (c, _) in zip(moments, lines, strict=True))
    return along, fsum(m * s for m, (_, s) in zip(moments, lines, strict=True))


def _most_possible(ordered: Sequence[Blade], *, size: int, limit: float) -> int:
    if size == 3:
        # Rounded up by a hair, so that a set of exactly the least share is never counted out.
        widest = limit / LEAST_SHARE_OF_RANGE * (1 + 1e-12)
        return _most_windows(ordered, size=size, widest=widest)
    if size == 4:
        return len(pair_blades(ordered, tolerance_g_um=limit).sets) // 2
    return len(ordered) // size


def _most_windows(ordered: Sequence[Blade], *, size: int, widest: float) -> int:
    """Most windows of a limited range: the earliest one that fits is always among the best."""
    count = place = 0
    while place + size <= len(ordered):
        if ordered[place + size - 1].moment_g_um - ordered[place].moment_g_um <= widest:
            count += 1
            place += size
        else:
            place += 1
    return count


def window_factor(blades_per_rotor: int) -> float:
    """The factor b of the bound: the best order leaves at most b times the range of the moments.

    Raises:
        BadInput: fewer than two blades.
    """
    bounds.whole(blades_per_rotor, name="number of blades of a rotor", low=0, high=bounds.MOST_RADIUS_UM)
    if blades_per_rotor < 2:
        raise BadInput(
            f"A rotor has at least two blades, not {blades_per_rotor}: give the number of its blades."
        )
    n = blades_per_rotor
    return sqrt(n * n / (4 * (n - 1))) if n % 2 == 0 else sqrt((n + 1) / 4)
