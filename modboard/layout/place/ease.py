"""Easing apart parts that overlap by a hair: off the lattice, each pair along the axis where it overlaps least.

Every pair that stands close keeps its order along one axis.  Overlaps are shared out between the two parts over and
over (projection onto one half-space after another; Agmon, Canadian J. Math. 6, 1954), which ends where all fit if
there is such a place.  A part stays in the straight run of free sites it stands in, drawn out to where it can truly
stand; the true check comes after.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from modboard.geometry import Position
from modboard.layout.place.kernels import Problem, State

NEIGHBOUR = 3.0  # mm; pairs nearer than this keep their order
PASSES = 3000
MARGIN = 1e-5  # mm beyond what is needed, so that rounding does not undo it
WORST = 1.0  # mm; deeper overlaps are not a hair
HALVINGS = 6  # of a step of the lattice, to find how far a part may go beyond the last free site

Stands = Callable[[int, Position], bool]  # says whether a part may stand with its origin at a place, but for others


def runs(problem: Problem, state: State) -> Any:
    """Return for each part how far its origin may go: (least x, least y, greatest x, greatest y)."""
    places = problem.places
    found = np.zeros((len(state.at), 4))
    for part, site in enumerate(state.at):
        m = places.variant_map[state.variant[part]]
        columns, rows = places.map_shape[m]
        first = places.map_first[m]
        grid = places.grid[first : first + columns * rows].reshape(rows, columns)
        i, j = places.cell[site]
        low_i, high_i = run_of(grid[j], i)
        low_j, high_j = run_of(grid[:, i], j)
        ends = places.site[[grid[j, low_i], grid[low_j, i], grid[j, high_i], grid[high_j, i]]]
        found[part] = (ends[0, 0], ends[1, 1], ends[2, 0], ends[3, 1])
    fixed = np.ones(len(state.at), dtype=bool)
    fixed[places.movable] = False
    here = places.site[state.at]
    found[fixed] = np.hstack([here, here])[fixed]
    return found


def stretched(limits: Any, problem: Problem, state: State, stands: Stands) -> Any:
    """Return the limits drawn out to where a part can truly stand: less than one step of the lattice each way."""
    found = limits.copy()
    for part in problem.places.movable.tolist():
        pitch = float(problem.places.map_frame[problem.places.variant_map[state.variant[part]], 2])
        here = problem.places.site[state.at[part]]
        for end in range(4):
            axis, reach = end % 2, pitch if end > 1 else -pitch
            spot, good = here.copy(), float(limits[part, end])
            for _ in range(HALVINGS):
                reach /= 2
                spot[axis] = good + reach
                if stands(part, (float(spot[0]), float(spot[1]))):
                    good += reach
            found[part, end] = good
    return found


def run_of(line: Any, at: int) -> tuple[int, int]:
    """Return the first and last cell of the unbroken run of sites that cell `at` lies in."""
    gaps = np.nonzero(line < 0)[0]
    before, after = gaps[gaps < at], gaps[gaps > at]
    return (int(before[-1]) + 1 if len(before) else 0), (int(after[0]) - 1 if len(after) else len(line) - 1)


def orders(problem: Problem, state: State) -> list[tuple[int, int, int, float]] | None:
    """Return (axis, first part, second part, least distance of origins) for all close pairs; None past a hair."""
    yards, found = problem.yards, []
    boxes = yards.rect[state.variant] + np.hstack([problem.places.site[state.at]] * 2)
    local, side = yards.rect[state.variant], yards.side[state.variant]
    for i in range(len(boxes)):
        for j in range(i):
            if side[i] != side[j]:
                continue
            gaps = [max(boxes[i, k] - boxes[j, k + 2], boxes[j, k] - boxes[i, k + 2]) for k in (0, 1)]
            axis = int(gaps[1] > gaps[0])
            if gaps[axis] > NEIGHBOUR:
                continue
            if gaps[axis] < -WORST:
                return None
            a, b = (i, j) if boxes[i, axis] + boxes[i, axis + 2] < boxes[j, axis] + boxes[j, axis + 2] else (j, i)
            found.append((axis, a, b, float(local[a, axis + 2] - local[b, axis]) + MARGIN))
    return found


def eased(problem: Problem, state: State, stands: Stands) -> Any:
    """Return origins (n, 2) at which no two courtyards of a side overlap, or None if easing does not get there."""
    pairs = orders(problem, state)
    if pairs is None:
        return None
    limits = stretched(runs(problem, state), problem, state, stands)
    low, high = limits[:, :2].tolist(), limits[:, 2:].tolist()
    at = problem.places.site[state.at].tolist()
    for _ in range(PASSES):
        moved = False
        for axis, a, b, least in pairs:
            lack = least - (at[b][axis] - at[a][axis])
            if lack <= MARGIN / 2:
                continue
            moved = True
            back = min(lack / 2, at[a][axis] - low[a][axis])
            forth = min(lack - back, high[b][axis] - at[b][axis])
            back = min(lack - forth, at[a][axis] - low[a][axis])
            at[a][axis] -= back
            at[b][axis] += forth
        if not moved:
            return np.array(at)
    return None
