"""The search kernel against compiled libraries: ``python tests/benchmarks/kernels.py``.

Same grid, same pairs, same run, one core: two layers, eight neighbours and layer changes, a share of nodes barred.
scikit-image's compiled minimum-cost path (`MCP_Geometric`) stops as soon as
it meets the target, as ours does.  The length of every path is compared in the router's own steps; scipy's compiled
Dijkstra, which solves for exactly our prices, is timed too.
"""

from __future__ import annotations

import argparse
import statistics
import sys
import time
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.sparse.csgraph import dijkstra
from skimage.graph import MCP_Geometric

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))  # run as a file, Python finds only its own folder

from tests.layout.lattices import Grid, cost_of_nodes, search

VIA = 500  # in hundredths of a step


def main() -> None:
    """Print milliseconds a path and nodes a second, and the ratios of medians."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rows", type=int, default=400)
    parser.add_argument("--columns", type=int, default=500)
    parser.add_argument("--barred", type=float, default=0.25, help="share of nodes that are barred")
    parser.add_argument("--pairs", type=int, default=30)
    asked = parser.parse_args()
    random = np.random.default_rng(1)
    grid = Grid(random.random((2, asked.rows, asked.columns)) < asked.barred, VIA)
    free = np.flatnonzero(~grid.walls.ravel())
    search(grid, int(free[0]), int(free[-1]))
    ours, theirs, scipys, nodes, worst = [], [], [], [], 0.0
    mine = Mcp(grid.walls)
    graph = grid.graph()
    done = 0
    while done < asked.pairs:
        a, b = (int(v) for v in random.choice(free, 2, replace=False))
        begun = time.perf_counter()
        cost, expanded = search(grid, a, b)
        ours_took = time.perf_counter() - begun
        if cost is None:
            continue
        begun = time.perf_counter()
        path = mine.path(a, b)
        theirs.append(time.perf_counter() - begun)
        if done < 5:
            begun = time.perf_counter()
            exact = dijkstra(graph, indices=a)[b]
            scipys.append(time.perf_counter() - begun)
            assert cost == exact, (cost, exact)
        ours.append(ours_took)
        nodes.append(expanded)
        worst = max(worst, abs(cost_of_nodes(grid, path) / cost - 1))
        done += 1
    speed = sum(nodes) / sum(ours) / 1e6
    middle = statistics.median
    print(f"grid 2 x {asked.rows} x {asked.columns}, {asked.barred:.0%} barred, {asked.pairs} pairs")
    print(f"router's kernel       {middle(ours) * 1e3:8.2f} ms a path, {speed:6.2f} million nodes a second")
    print(f"MCP_Geometric         {middle(theirs) * 1e3:8.2f} ms a path; cost differs by at most {worst:.2%}")
    print(f"scipy dijkstra        {middle(scipys) * 1e3:8.2f} ms a path, same cost exactly")
    print(f"times MCP_Geometric   {middle(theirs) / middle(ours):8.1f} (median), {sum(theirs) / sum(ours):.1f} (all)")


class Mcp:
    """scikit-image's compiled minimum-cost path on the same grid: a layer apart counts as VIA / 100 steps."""

    def __init__(self, walls: NDArray[np.bool_]) -> None:
        self.shape = walls.shape
        offsets = [(0, dy, dx) for dy in (-1, 0, 1) for dx in (-1, 0, 1) if dx or dy] + [(-1, 0, 0), (1, 0, 0)]
        weights = np.where(walls, -1.0, 1.0)
        self.mcp = MCP_Geometric(weights, offsets=offsets, sampling=(VIA / 100, 1.0, 1.0))

    def path(self, a: int, b: int) -> list[int]:
        """Return the nodes of a cheapest path."""
        start, end = (np.unravel_index(v, self.shape) for v in (a, b))
        self.mcp.find_costs([start], [end])
        return [int(np.ravel_multi_index(v, self.shape)) for v in self.mcp.traceback(end)]


if __name__ == "__main__":
    main()
