"""Pairing of loose blades of one part and one sense into rotor sets.

**Two blades a rotor: proven optimal.** Most pairs within tolerance first, then the least total residual.

Sort the blades by moment. Claim: among the best pairings there is one in which partners are neighbours in
that order. Take a best pairing whose partners are the fewest places apart in total, and suppose that a blade
k stands between the partners i < j.

- k is single: pair i with k. The residual doesn't grow, the number of pairs stays, the places apart shrink.
- k has the partner l: pair the four blades as the lower two and the upper two. Each new residual is at most
  one of the old two (crossing i k j l: |ik| <= |ij| and |jl| <= |kl|; nested i k l j: |ik| + |lj| <= |ij|;
  l i k j: |li| <= |lk| and |kj| <= |ij|; the mirror images likewise), so both stay within tolerance and the
  total doesn't grow, while the places apart shrink.

Both contradict the choice, so neighbours suffice, and a pairing is a choice of steps along the line: blade i
stays single, or goes with blade i + 1. Reading from the heavy end, the best of the rest is known when blade i
is decided: O(n log n) to sort and O(n) to decide. Moments are whole numbers, so nothing is lost to rounding.

**Three and more: `match_sets`** in kittrack/domain/grouping.py, with a stated bound.

Source: design C3. Oracle in tests: general graph matching, integer programming.
"""

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor

from kittrack.domain import bounds
from kittrack.domain.balance import Blade, g_mm, refuse_doubles

__all__ = [
    "Blade",
    "Neighbour",
    "Pairing",
    "ProposedSet",
    "Single",
    "Wanted",
    "explain_singles",
    "pair_blades",
    "sorted_blades",
]

Cost = tuple[int, int]  # minus the number of pairs, total residual in g·µm: the lesser is the better


@dataclass(frozen=True)
class ProposedSet:
    """Blades that go together, in their order around the hub, and the residual in g·µm that they leave."""

    keys: tuple[str, ...]
    residual_g_um: float


@dataclass(frozen=True)
class Neighbour:
    """A blade near a single one, how far away in g·µm, and by how much that misses the tolerance."""

    key: str
    distance_g_um: int
    misses_by_g_um: float


@dataclass(frozen=True)
class Wanted:
    """The moments, whole g·µm from low to high, with which one new blade would make a set.

    `joining` are the other single blades that the set would take; none for a two-blade rotor.
    """

    low_g_um: int
    high_g_um: int
    joining: tuple[str, ...] = ()


@dataclass(frozen=True)
class Single:
    """A blade that stays alone, and why.

    `free` is the nearest other single blade; `taken` the nearest blade that is in a set, when it is nearer;
    `wanted` is none where one new blade is not enough.
    """

    key: str
    moment_g_um: int
    free: Neighbour | None
    taken: Neighbour | None
    wanted: Wanted | None

    @property
    def in_words(self) -> str:
        """One sentence: who is nearest, what is missing, what would match."""
        told = [f"{self.key} stays single at {g_mm(self.moment_g_um)}"]
        if self.free is not None and self.free.misses_by_g_um > 0:
            told.append(f"the nearest single, {self.free.key}, misses by {g_mm(self.free.misses_by_g_um)}")
        elif self.free is not None:
            told.append(f"the nearest single, {self.free.key}, is {g_mm(self.free.distance_g_um)} away")
        if self.taken is not None:
            told.append(f"nearer is {self.taken.key}, which is in a set")
        return f"{'; '.join([*told, self._wanted_in_words()])}."

    def _wanted_in_words(self) -> str:
        if self.wanted is None:
            return "it takes more than one new blade to make a set"
        partners = " and ".join(["it", *self.wanted.joining])
        return f"a blade from {g_mm(self.wanted.low_g_um)} to {g_mm(self.wanted.high_g_um)} would match {partners}"


@dataclass(frozen=True)
class Pairing:
    """The proposal: sets from the lightest blades up, then who stays single, and how good that is.

    `most_possible` is a number of sets that no method can exceed; where it equals the number of sets, the
    proposal has the most sets possible.
    """

    sets: tuple[ProposedSet, ...]
    singles: tuple[Single, ...]
    total_residual_g_um: float
    tolerance_g_um: float
    most_possible: int


def pair_blades(blades: Sequence[Blade], *, tolerance_g_um: float) -> Pairing:
    """Pair blades for two-blade rotors: most pairs within tolerance, then least total residual.

    Blades of equal moment go in order of their keys; among equally good pairings the one that pairs the
    lighter blades first is taken. So the answer depends on the blades alone, not on their order.

    Args:
        blades: loose blades of one part number and one sense.
        tolerance_g_um: greatest residual of a pair, less the expanded uncertainty where the match is to be
            proven (design R19).

    Returns:
        Pairs by rising moment, the key of the lighter blade (slot 0) first; singles by rising moment.

    Raises:
        BadInput: a key twice, or a number that can't be one.

    Source: design C3; proof above.
    """
    limit = bounds.tolerance(tolerance_g_um)
    ordered = sorted_blades(blades)
    pairs = _walk(ordered, _best_from(ordered, limit=limit), limit=limit)
    sets = tuple(ProposedSet((ordered[i].key, ordered[i + 1].key), float(_gap(ordered, i))) for i in pairs)
    total = float(sum(_gap(ordered, i) for i in pairs))
    taken = [place for i in pairs for place in (i, i + 1)]
    singles = explain_singles(ordered, taken=taken, tolerance_g_um=limit)
    return Pairing(sets, singles, total, limit, len(sets))


def sorted_blades(blades: Sequence[Blade]) -> list[Blade]:
    """Blades by rising moment, then key.

    Raises:
        BadInput: a key twice, or a moment that can't be one.
    """
    refuse_doubles(blades)
    for blade in blades:
        bounds.moment(blade.moment_g_um, of=f"blade {blade.key}")
    return sorted(blades, key=lambda b: (b.moment_g_um, b.key))


def explain_singles(
    ordered: Sequence[Blade], *, taken: Sequence[int], tolerance_g_um: float
) -> tuple[Single, ...]:
    """Say of every blade in no set who is nearest and which moment would match it.

    Args:
        ordered: all blades by rising moment.
        taken: places of the blades that are in sets.
        tolerance_g_um: greatest residual of a pair.

    Returns:
        Singles by rising moment.
    """
    used = sorted(taken)
    used_places = set(used)
    free = [place for place in range(len(ordered)) if place not in used_places]
    return tuple(_single(ordered, place, free=free, used=used, limit=tolerance_g_um) for place in free)


def _single(
    ordered: Sequence[Blade], place: int, *, free: Sequence[int], used: Sequence[int], limit: float
) -> Single:
    blade = ordered[place]
    nearest_free = _nearest(ordered, place, among=free, limit=limit)
    nearest_used = _nearest(ordered, place, among=used, limit=limit)
    nearer = nearest_used is not None and (
        nearest_free is None or nearest_used.distance_g_um < nearest_free.distance_g_um
    )
    return Single(
        blade.key,
        blade.moment_g_um,
        free=nearest_free,
        taken=nearest_used if nearer else None,
        wanted=Wanted(max(0, ceil(blade.moment_g_um - limit)), floor(blade.moment_g_um + limit)),
    )


def _nearest(ordered: Sequence[Blade], place: int, *, among: Sequence[int], limit: float) -> Neighbour | None:
    """The nearest blade among sorted places: next below or next above, the lower one where both are as near."""
    at = bisect_left(among, place)
    above = at + 1 if at < len(among) and among[at] == place else at
    beside = [among[i] for i in (at - 1, above) if 0 <= i < len(among)]
    if not beside:
        return None
    here = ordered[place].moment_g_um
    best = min(beside, key=lambda other: (abs(ordered[other].moment_g_um - here), other))
    distance = abs(ordered[best].moment_g_um - here)
    return Neighbour(ordered[best].key, distance, max(0.0, distance - limit))


def _best_from(ordered: Sequence[Blade], *, limit: float) -> list[Cost]:
    """Cost of the best pairing of the blades from each place on, and of none at the end."""
    best: list[Cost] = [(0, 0)] * (len(ordered) + 1)
    for i in range(len(ordered) - 2, -1, -1):
        paired = _paired_cost(ordered, best, i, limit=limit)
        best[i] = best[i + 1] if paired is None else min(best[i + 1], paired)
    return best


def _walk(ordered: Sequence[Blade], best: Sequence[Cost], *, limit: float) -> list[int]:
    """Places of the lighter partners, pairing from the light end wherever that keeps the best cost."""
    pairs = []
    place = 0
    while place < len(ordered) - 1:
        if _paired_cost(ordered, best, place, limit=limit) == best[place]:
            pairs.append(place)
            place += 2
        else:
            place += 1
    return pairs


def _paired_cost(ordered: Sequence[Blade], best: Sequence[Cost], place: int, *, limit: float) -> Cost | None:
    gap = _gap(ordered, place)
    if gap > limit:
        return None
    count, total = best[place + 2]
    return count - 1, total + gap


def _gap(ordered: Sequence[Blade], place: int) -> int:
    return ordered[place + 1].moment_g_um - ordered[place].moment_g_um
