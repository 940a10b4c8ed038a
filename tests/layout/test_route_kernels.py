"""The search kernel and the trees it grows, against compiled libraries and exact optima."""

from __future__ import annotations

import time

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.sparse.csgraph import dijkstra
from skimage.graph import MCP_Geometric

from tests.layout.lattices import Grid, search


@settings(max_examples=80, deadline=None)
@given(
    st.integers(0, 100_000), st.integers(2, 40), st.integers(2, 40), st.floats(0, 0.45),
    st.sampled_from([100, 330, 500, 2400]), st.sampled_from([0.0, 0.3, 5.0]),
)  # fmt: skip
def test_a_path_costs_just_what_scipys_dijkstra_says(
    seed: int, columns: int, rows: int, barred: float, via: int, dear: float
) -> None:
    # Reference: scipy.sparse.csgraph.dijkstra, compiled, on the same nodes, steps and prices, history included.
    random = np.random.default_rng(seed)
    history = (dear * random.random((2, rows, columns)) * (random.random((2, rows, columns)) < 0.4)).astype(np.float32)
    grid = Grid(random.random((2, rows, columns)) < barred, via, history)
    grid.walls[0, 0, 0] = grid.walls[1, -1, -1] = False
    end = 2 * rows * columns - 1
    exact = dijkstra(grid.graph(), indices=0)[end]
    found, _ = search(grid, 0, end)
    assert (np.inf if found is None else found) == exact


def test_the_kernel_outruns_a_compiled_library_tenfold() -> None:
    # Reference: scikit-image's compiled MCP_Geometric, same grid, ends and run; the benchmark prints more.
    random = np.random.default_rng(5)
    grid = Grid(random.random((2, 300, 300)) < 0.25, 500)
    free = np.flatnonzero(~grid.walls.ravel())
    pairs = [tuple(int(v) for v in random.choice(free, 2, replace=False)) for _ in range(8)]
    search(grid, *pairs[0])
    offsets = [(0, dy, dx) for dy in (-1, 0, 1) for dx in (-1, 0, 1) if dx or dy] + [(-1, 0, 0), (1, 0, 0)]
    theirs = MCP_Geometric(np.where(grid.walls, -1.0, 1.0), offsets=offsets, sampling=(5.0, 1.0, 1.0))
    ours_took = theirs_took = 0.0
    for a, b in pairs:
        begun = time.process_time()
        cost, _ = search(grid, a, b)
        ours_took += time.process_time() - begun
        start, end = (np.unravel_index(v, grid.walls.shape) for v in (a, b))
        begun = time.process_time()
        costs, _ = theirs.find_costs([start], [end])
        theirs_took += time.process_time() - begun
        # a diagonal is 1.41 here and the square root of two there
        assert cost is not None
        assert abs(cost / 100 / costs[end] - 1) < 0.004
    assert theirs_took > 10 * ours_took
