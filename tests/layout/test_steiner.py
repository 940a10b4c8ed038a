"""Lower bounds for octilinear trees against exhaustive search, and the router's own trees against exact optima."""

from __future__ import annotations

import itertools
import random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.sparse.csgraph import dijkstra

from tests.benchmarks.steiner import Point, _three, lower_bound, octile, spanning_tree
from tests.layout.lattices import Grid, join, price

COORDINATE = st.integers(0, 6)


def exhaustive(points: list[Point], meeting: list[Point]) -> float:
    """Return the least spanning tree over the points and any choice of at most k - 2 meeting points."""
    return min(
        spanning_tree([*points, *extra])
        for count in range(len(points) - 1)
        for extra in itertools.combinations([m for m in meeting if m not in points], count)
    )


def lattice_points(size: int) -> list[Point]:
    """Return a square of lattice points."""
    return [(float(x), float(y)) for x in range(size) for y in range(size)]


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(COORDINATE, COORDINATE), min_size=3, max_size=3, unique=True))
def test_three_points_exactly_as_exhaustive_search(found: list[tuple[int, int]]) -> None:
    # With even coordinates all crossings of octilinear lines through the points are whole: the search misses none.
    points = [(2.0 * x, 2.0 * y) for x, y in found]
    assert _three(points) == pytest.approx(exhaustive(points, lattice_points(13)), abs=1e-9)


@settings(max_examples=10, deadline=None)
@given(st.lists(st.tuples(COORDINATE, COORDINATE), min_size=4, max_size=5, unique=True))
def test_bound_is_never_above_exhaustive_search_and_hardly_below(found: list[tuple[int, int]]) -> None:
    points = [(float(x), float(y)) for x, y in found]
    meeting = lattice_points(7) if len(points) == 4 else sorted({(x, y) for x, _ in points for _, y in points})
    best = exhaustive(points, meeting)
    bound = lower_bound(points)
    assert bound <= best + 1e-9
    if len(points) == 4:  # the search itself may miss crossings between lattice points: at most 3 % here
        assert bound >= 0.96 * best


@settings(max_examples=12, deadline=None)
@given(st.integers(0, 10_000), st.integers(4, 12))
def test_no_tree_is_shorter_than_the_bound(seed: int, count: int) -> None:
    # Any tree will do: spanning trees improved by random meeting points.
    rnd = random.Random(seed)
    points = [(rnd.uniform(0, 40), rnd.uniform(0, 25)) for _ in range(count)]
    bound = lower_bound(points, 150)
    tree, best = list(points), spanning_tree(points)
    for _ in range(300):
        a, b = rnd.sample(points, 2)
        extra = (
            [*tree, (a[0], b[1])] if rnd.random() < 0.5 else [*tree, (a[0], b[1] + rnd.choice((1, -1)) * (a[0] - b[0]))]
        )
        length = spanning_tree(extra)
        if length < best:
            tree, best = extra, length
    assert bound <= best + 1e-9
    assert bound >= max(octile(p, q) for p in points for q in points) - 1e-9


def optimum(grid: Grid, ends: list[int]) -> int:
    """Return the price of the best tree on a lattice: Dreyfus & Wagner 1971 over scipy's distances, no bends paid."""
    away = dijkstra(grid.graph(), indices=range(grid.walls.size))
    last = len(ends) - 1
    best = {1 << k: away[ends[k]] for k in range(last)}
    for size in range(2, last + 1):
        for members in itertools.combinations(range(last), size):
            whole = sum(1 << k for k in members)
            merged = np.full(grid.walls.size, np.inf)
            for part in range(1, whole):
                if part & whole == part:
                    merged = np.minimum(merged, best[part] + best[whole & ~part])
            best[whole] = (away + merged[:, None]).min(axis=0)
    return int(best[(1 << last) - 1][ends[last]])


def against_optimum(seed: int, count: int) -> float:
    """Return the price of the router's best tree over random ends, from any first end, over the exact optimum."""
    rnd = np.random.default_rng(seed)
    grid = Grid(np.zeros((2, 12, 14), bool), 2400)
    ends = sorted(int(v) for v in rnd.choice(12 * 14, count, replace=False))
    exact = optimum(grid, ends)
    costs = []
    for first in range(count):
        steps, joined, _ = join(grid, ends, first)
        assert joined == count
        costs.append(sum(price(grid, a, b) for a, b in steps))
    assert min(costs) >= exact
    assert max(costs) <= 2 * (1 - 1 / count) * exact  # the bound of Takahashi & Matsuyama 1980
    return min(costs) / exact


@pytest.mark.parametrize("count", [3, 4, 5, 6])
def test_trees_of_the_router_are_within_two_percent_of_the_optimum_on_average(count: int) -> None:
    # A tree grown by nearest paths may miss the optimum by up to 2 (1 - 1/k); single small nets come much closer.
    found = [against_optimum(seed, count) for seed in range(25)]
    assert sum(found) / len(found) <= 1.02
    assert sum(ratio == 1.0 for ratio in found) >= 5  # some are the very optimum
