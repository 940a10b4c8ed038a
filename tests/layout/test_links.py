"""Wire links of one-sided boards as the search finds them, judged node by node."""

from __future__ import annotations

import numpy as np
import pytest

from modboard.layout.route.links import ways
from modboard.layout.route.negotiate import Negotiation
from modboard.layout.route.paths import branches
from modboard.layout.route.terms import Prices, Task
from tests.layout.lattices import Grid

STEP = 3  # nodes of 1 mm that come nearest to 2.54 mm
SHORTEST = 2 * STEP


@pytest.mark.parametrize("seed", range(12))
def test_every_run_on_top_is_one_straight_wire_of_whole_steps(seed: int) -> None:
    """Two bands without copper cross the board, so that links are needed; the top is littered with bodies.

    By the brief: links are straight, on even lengths; two steps (5.08 mm) is the shortest that crosses anything.
    """
    random = np.random.default_rng(seed)
    walls = np.zeros((2, 60, 60), np.bool_)
    walls[0] = random.random((60, 60)) < 0.02
    walls[1, 20:22] = True
    walls[1, :, 38:40] = True
    grid = Grid(walls, via=2000)
    bare, n = grid.negotiation, grid.lattice.nodes
    ends = tuple(np.array([n + y * 60 + x], np.int64) for x, y in ((5, 5), (50, 5), (50, 50), (5, 50)))
    prices = Prices(via=2000, bends=(0, 12, -1), least_run=SHORTEST)
    task = Task(0, ends, np.zeros(2 * n, np.uint8))
    search = Negotiation(bare.maps, [task], np.full(n, -1, np.int32), prices, seed, (ways(grid.lattice, seed),))
    found = search.search(0, 0.0, True)
    assert found.joined == len(ends)
    runs: list[list[int]] = []
    for branch in branches(found.rows):
        nodes = branch[:, 0].tolist()
        for k, node in enumerate(nodes):
            if node < n:
                runs[-1].append(node) if k and nodes[k - 1] < n else runs.append([node])
    assert len(runs) >= 3  # four quarters of the board
    for run in runs:
        x, y = np.array(run) % 60, np.array(run) // 60
        along, across = (x, y) if np.ptp(x) else (y, x)
        assert np.ptp(across) == 0 and set(np.abs(np.diff(along)).tolist()) == {1}
        assert np.ptp(along) >= SHORTEST and np.ptp(along) % STEP == 0
        assert not walls[0].ravel()[run].any()
