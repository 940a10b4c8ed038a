"""Bare lattices for tests and benchmarks of the search kernel, and the same lattices as sparse graphs."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from types import SimpleNamespace
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_matrix

from modboard.layout.route import kernels
from modboard.layout.route.grid import Lattice
from modboard.layout.route.negotiate import Negotiation
from modboard.layout.route.pens import Pen, PenSet
from modboard.layout.route.terms import Prices, Task

WAYS = [(int(dx), int(dy)) for dx, dy in zip(kernels.DX, kernels.DY, strict=True)]


@dataclass(frozen=True)
class Grid:
    """Two layers of nodes, some walled off; the price of a via in hundredths of a step; history per node."""

    walls: NDArray[np.bool_]  # layer, row, column
    via: int
    history: NDArray[np.float32] | None = None
    bends: tuple[int, int, int] = (0, 0, 0)

    @property
    def lattice(self) -> Lattice:
        """The router's own lattice."""
        return Lattice((0.0, 0.0), 1.0, self.walls.shape[2], self.walls.shape[1])

    @cached_property
    def paid(self) -> NDArray[np.float64]:
        """History per node, as the kernel pays it."""
        return np.zeros(self.walls.size) if self.history is None else self.history.ravel().astype(np.float64)

    @cached_property
    def negotiation(self) -> Negotiation:
        """A negotiation without tasks over the grid."""
        n = self.lattice.nodes
        own = np.full((2, 2 * n), kernels.FREE, np.int32)
        own[0][self.walls.ravel()] = kernels.BARRED
        own[1, :n][self.walls.any(axis=0).ravel()] = kernels.BARRED
        pens = PenSet((Pen(0.25, 0.0), Pen(0.25, 0.0, 0.1)), ((0, 0, 1),))
        maps: Any = SimpleNamespace(lattice=self.lattice, pens=pens, rules=SimpleNamespace(hole_to_hole=0.0), own=own)
        prices = Prices(via=self.via, bends=self.bends)
        found = Negotiation(maps, [], np.full(n, -1, np.int32), prices)
        if self.history is not None:
            found.hist[:] = self.history.ravel()
        return found

    def graph(self) -> csr_matrix:
        """Return the grid as a directed sparse graph with the kernel's prices: every step pays for the node entered."""
        n, (_, rows, columns) = self.lattice.nodes, self.walls.shape
        at = np.arange(2 * n).reshape(2, rows, columns)
        history = self.paid
        starts, ends, prices = [], [], []
        for dx, dy in WAYS:
            ys, xs = slice(max(0, -dy), rows - max(0, dy)), slice(max(0, -dx), columns - max(0, dx))
            yt, xt = slice(max(0, dy), rows - max(0, -dy)), slice(max(0, dx), columns - max(0, -dx))
            a, b = at[:, ys, xs].ravel(), at[:, yt, xt].ravel()
            step = kernels.DIAGONAL if dx and dy else kernels.STRAIGHT
            starts.append(a)
            ends.append(b)
            prices.append(np.floor(step * (1.0 + history[b])))
        top, bottom = at[0].ravel(), at[1].ravel()
        via = np.floor(self.via * (1.0 + history[:n] + history[n:]))
        starts += [top, bottom]
        ends += [bottom, top]
        prices += [via, via]
        a, b, price = np.concatenate(starts), np.concatenate(ends), np.concatenate(prices)
        keep = ~self.walls.ravel()[a] & ~self.walls.ravel()[b]
        return csr_matrix((price[keep], (a[keep], b[keep])), shape=(2 * n, 2 * n))


def join(grid: Grid, ends: list[int], first: int = 0) -> tuple[list[tuple[int, int]], int, int]:
    """Return the steps of a tree that the router grows over `ends`, how many it joined, and nodes expanded."""
    groups = tuple(np.array([end], np.int64) for end in ends)
    negotiation = grid.negotiation
    task = Task(0, groups, np.zeros(2 * grid.lattice.nodes, np.uint8))
    negotiation.tasks = [task]
    negotiation._packed = [task.packed(grid.lattice)]
    routed = negotiation.search(0, 0.0, True, first=first)
    rows = routed.rows[:, 0].tolist()
    steps = [(a, b) for a, b in pairwise(rows) if a >= 0 and b >= 0]
    return steps, routed.joined, negotiation.expanded


def search(grid: Grid, start: int, end: int) -> tuple[int | None, int]:
    """Return the price of the kernel's path between two nodes (None if there is none) and how many it expanded."""
    steps, joined, expanded = join(grid, [start, end])
    if joined < 2:
        return None, expanded
    graph_price = sum(price(grid, b, a) for a, b in steps)  # rows run from the end back to the start
    return graph_price, expanded


def price(grid: Grid, a: int, b: int) -> int:
    """Return the price of one step."""
    n, columns = grid.lattice.nodes, grid.walls.shape[2]
    history = grid.paid
    if a // n != b // n:
        return int(grid.via * (1.0 + history[a % n] + history[a % n + n]))
    straight = a % columns == b % columns or a // columns == b // columns
    return int((kernels.STRAIGHT if straight else kernels.DIAGONAL) * (1.0 + history[b]))


def cost_of_nodes(grid: Grid, nodes: list[int]) -> int:
    """Return the price of a walk."""
    return sum(price(grid, a, b) for a, b in pairwise(nodes))
