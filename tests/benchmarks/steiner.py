"""How short an octilinear tree over given points can be at best: exact for two and three, proven from below for more.

Octilinear length of (dx, dy) is max + (√2 - 1) min, as walked by tracks at multiples of 45°.

- Three points: the meeting point may be taken where octilinear lines through the points cross (Lin & Xue 2000; for
  L1 it is Hanan 1966).
- Four to `MOST` points: dynamic programming over subsets (Dreyfus & Wagner 1971), meeting points restricted to a
  lattice.  In the best tree of all, moving each of at most k - 2 meeting points of three arms to the nearest lattice
  point makes it longer by at most 3 (k - 2) times the octilinear length of half a cell's diagonal; so the
  lattice's optimum less that is a lower bound.  Meeting points lie within the points' box: pulling one
  into the box shortens every arm.
- More points: a tree over all of them joins every subset of them, and it is at least (2 + √2) / 4 of the minimum
  spanning tree, the Steiner ratio of the octilinear plane (Koh 1995, from memory); the better of the two.
"""

from __future__ import annotations

import itertools

import numpy as np
from numpy.typing import NDArray

Point = tuple[float, float]

SQRT2 = float(np.sqrt(2.0))
MOST = 8  # points for which subsets are worked through
CELLS = {4: 600, 5: 600, 6: 480, 7: 360, 8: 300}  # lattice cells along the longer side of the box, by points
STEINER_RATIO = (2 + SQRT2) / 4


def octile(a: Point, b: Point) -> float:
    """Return the octilinear distance of two points."""
    dx, dy = abs(a[0] - b[0]), abs(a[1] - b[1])
    return max(dx, dy) + (SQRT2 - 1) * min(dx, dy)


def lower_bound(points: list[Point], cells: int | None = None) -> float:
    """Return a length that no octilinear tree over `points` can be below."""
    points = sorted(set(points))
    if len(points) < 2:
        return 0.0
    if len(points) == 2:
        return octile(*points)
    if len(points) == 3:
        return _three(points)
    threes = max(_three(list(three)) for three in itertools.combinations(_spread(points, 7), 3))
    if len(points) <= MOST:
        return max(threes, _subsets(points, cells or CELLS[len(points)]))
    return max(threes, _subsets(_spread(points, MOST), cells or CELLS[MOST]), spanning_tree(points) * STEINER_RATIO)


def spanning_tree(points: list[Point]) -> float:
    """Return the length of the minimum spanning tree (Prim 1957)."""
    nearest = {point: octile(points[0], point) for point in points[1:]}
    total = 0.0
    while nearest:
        point = min(nearest, key=lambda p: (nearest[p], p))
        total += nearest.pop(point)
        nearest = {other: min(d, octile(point, other)) for other, d in nearest.items()}
    return total


def _three(points: list[Point]) -> float:
    """Return the exact optimum for three points."""
    candidates = list(points)
    for (ax, ay), (bx, by) in itertools.permutations(points, 2):
        # lines through a: x = ax, y = ay, x - y, x + y constant; each against those through b
        candidates += [(ax, by), (ax, by + (ax - bx)), (ax, by - (ax - bx)), (bx + (ay - by), ay), (bx - (ay - by), ay)]
        difference, total = ax - ay, bx + by
        candidates.append(((total + difference) / 2, (total - difference) / 2))
    return min(sum(octile(c, p) for p in points) for c in candidates)


def _spread(points: list[Point], count: int) -> list[Point]:
    """Return points that lie far apart, each the farthest from those before it."""
    if len(points) <= count:
        return points
    chosen = [points[0]]
    while len(chosen) < count:
        chosen.append(max(points, key=lambda p: (min(octile(p, c) for c in chosen), p)))
    return chosen


def _subsets(points: list[Point], cells: int) -> float:
    """Return the optimum over trees that meet at lattice points and at `points`, less what the lattice may cost."""
    xs, ys = (np.array([p[k] for p in points]) for k in (0, 1))
    pitch = max(float(np.ptp(xs)), float(np.ptp(ys))) / cells
    columns, rows = int(np.ceil(np.ptp(xs) / pitch)) + 1, int(np.ceil(np.ptp(ys) / pitch)) + 1
    grid_x = xs.min() + pitch * np.arange(columns)
    grid_y = ys.min() + pitch * np.arange(rows)
    # distance of every point to every lattice node, and of points to each other
    dx = np.abs(xs[:, None, None] - grid_x[None, None, :])
    dy = np.abs(ys[:, None, None] - grid_y[None, :, None])
    away = np.maximum(dx, dy) + (SQRT2 - 1) * np.minimum(dx, dy)
    count = len(points)
    between = np.array([[octile(a, b) for b in points] for a in points])
    last = count - 1
    on_grid: dict[int, NDArray[np.float64]] = {1 << k: away[k] for k in range(last)}
    at_points: dict[int, NDArray[np.float64]] = {1 << k: between[k] for k in range(last)}
    for size in range(2, last + 1):
        for members in itertools.combinations(range(last), size):
            whole = sum(1 << k for k in members)
            grid = np.full((rows, columns), np.inf)
            point = np.full(count, np.inf)
            rest = whole & ~(1 << members[0])
            part = rest
            while part:  # every split in two, the first member always in the other half
                grid = np.minimum(grid, on_grid[whole & ~part] + on_grid[part])
                point = np.minimum(point, at_points[whole & ~part] + at_points[part])
                part = (part - 1) & rest
            merged = point.copy()
            point = np.minimum(point, (grid[None] + away).min(axis=(1, 2)))
            point = np.minimum(point, (between + merged[None]).min(axis=1))
            if size < last:
                _walk(grid, pitch)
                grid = np.minimum(grid, (away + merged[:, None, None]).min(axis=0))
            on_grid[whole], at_points[whole] = grid, point
    best = float(at_points[(1 << last) - 1][last])
    half_cell = pitch / 2 * SQRT2
    return best - 3 * (count - 2) * half_cell


def _walk(grid: NDArray[np.float64], pitch: float) -> None:
    """Let every lattice node be reached from every other along octilinear ways, in place."""
    rows, columns = grid.shape
    ramp = pitch * np.arange(columns)
    for order in (range(rows), range(rows - 1, -1, -1)):
        before: NDArray[np.float64] | None = None
        for row in order:
            line = grid[row]
            if before is not None:
                np.minimum(line, before + pitch, out=line)
                np.minimum(line[1:], before[:-1] + SQRT2 * pitch, out=line[1:])
                np.minimum(line[:-1], before[1:] + SQRT2 * pitch, out=line[:-1])
            np.minimum(line, np.minimum.accumulate(line - ramp) + ramp, out=line)
            np.minimum(line, np.minimum.accumulate((line + ramp)[::-1])[::-1] - ramp, out=line)
            before = line
