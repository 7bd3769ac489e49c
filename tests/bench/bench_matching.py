"""How long pairing takes, beside general graph matching on the sizes where that runs (design N5).

Run: python tests/bench/bench_matching.py
"""

import random
import sys
from pathlib import Path
from time import perf_counter

import networkx as nx

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # a checkout need not be installed

from kittrack.domain.matching import Blade, Pairing, pair_blades

SPREAD_G_UM = 4_000_000
# With a tolerance wide enough for every pair the graph is complete; with a narrow one it has few edges.
COMPLETE_SIZES = (50, 100, 200, 400)
NARROW_SIZES = (200, 400, 1_000, 2_000)
PAIRING_SIZES = (1_000, 10_000, 100_000)
REPEATS = 5


def sample(count: int) -> tuple[list[Blade], float]:
    """Invented blades, and a tolerance that leaves about a tenth of them single at every size."""
    chance = random.Random(count)  # noqa: S311  (a repeatable sample, no secret)
    blades = [Blade(f"b{i}", 20_000_000 + chance.randrange(SPREAD_G_UM)) for i in range(count)]
    return blades, 2.0 * SPREAD_G_UM / count


def seconds_of_pairing(blades: list[Blade], tolerance: float) -> tuple[float, Pairing]:
    """The least time of several runs, and the proposal."""
    times = []
    for _ in range(REPEATS):
        begun = perf_counter()
        found = pair_blades(blades, tolerance_g_um=tolerance)
        times.append(perf_counter() - begun)
    return min(times), found


def seconds_of_graph(blades: list[Blade], tolerance: float) -> tuple[float, int, int]:
    """Time of maximum-cardinality, least-total matching by a general graph library, pairs and total."""
    graph = nx.Graph()
    graph.add_nodes_from(b.key for b in blades)
    moment_of = {b.key: b.moment_g_um for b in blades}
    far = 1 + max(moment_of.values())
    for i, one in enumerate(blades):
        for other in blades[i + 1 :]:
            gap = abs(one.moment_g_um - other.moment_g_um)
            if gap <= tolerance:
                graph.add_edge(one.key, other.key, weight=far - gap)
    begun = perf_counter()
    matched = nx.max_weight_matching(graph, maxcardinality=True)
    seconds = perf_counter() - begun
    return seconds, len(matched), sum(abs(moment_of[a] - moment_of[b]) for a, b in matched)


def compare(blades: list[Blade], tolerance: float) -> bool:
    """Print one line of both methods; tell whether they find as many pairs of the same total."""
    ours, found = seconds_of_pairing(blades, tolerance)
    theirs, pairs, total = seconds_of_graph(blades, tolerance)
    figures = f"{len(blades):6} {tolerance:11.0f} {ours:11.6f} {theirs:11.3f} {theirs / ours:10.0f}"
    sys.stdout.write(f"{figures}   {pairs}\n")
    return (len(found.sets), found.total_residual_g_um) == (pairs, total)


def main() -> int:
    """Print both tables; fail when the two methods disagree or ten thousand blades take over a second."""
    out = sys.stdout.write
    out("blades   tolerance   pairing s     graph s      ratio   pairs\n")
    lines = [compare(sample(count)[0], float(SPREAD_G_UM)) for count in COMPLETE_SIZES]
    lines += [compare(*sample(count)) for count in NARROW_SIZES]
    agree = all(lines)
    fast = True
    for count in PAIRING_SIZES:
        blades, tolerance = sample(count)
        ours, found = seconds_of_pairing(blades, tolerance)
        fast &= count > 10_000 or ours < 1
        out(f"{count:6} {tolerance:11.0f} {ours:11.6f}                          {len(found.sets)}\n")
    out(
        f"same pairs and totals: {'yes' if agree else 'NO'}; 10,000 under a second: {'yes' if fast else 'NO'}\n"
    )
    return 0 if agree and fast else 1


if __name__ == "__main__":
    sys.exit(main())
