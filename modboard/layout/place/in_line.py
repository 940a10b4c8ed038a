"""After the search: parts that stand a little out of line shift into line, off the lattice, where it costs nothing.

In line are two parts of one kind whose middles, or two of one family whose rows of lands, lie on one row or column;
and two pads that a track joins.  A part shifts by itself, or with those in line with it, along one axis at a time, and
pushes along what is in its way.  What it gains in line is weighed against the cost that the search minds: length of
nets, pulls and elbow room.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from modboard.describe.model import AtEdge, Description
from modboard.layout.place.kernels import CONTACT, HALO_WEIGHT, SAME, Problem, State, net_cost, tree_length
from modboard.layout.place.liking import likes_edge
from modboard.layout.place.sites import Sites
from modboard.layout.place.wishes import wish_of

A_LITTLE, A_HAIR = 2.54, 0.9  # mm; like parts, or pads, farther out of line than this stand so for a reason
UNSEEN = 0.05  # mm; what is no farther out of line is in line to the eye, and stays on the raster
RASTER, ROUNDED = 0.635, 0.015  # mm; a shift so near to whole steps of the raster is made in whole steps
IN_SIGHT = 7.62  # mm between the courtyards of like parts that are seen together; three rasters
JOINED = 0.25  # cost that two pads in line save: a bend and a crooked end
ALONG = 1.5  # mm that pads in line must lie apart along the line
WORTH = 0.02  # cost that a shift must save
PASSES = 3
MOST_TOGETHER = 6  # parts that shift as one: a line, and what it pushes along


@dataclass(frozen=True)
class Bond:
    """Two parts that are in line along an axis where the origin of `a` is `aim` mm beyond that of `b`."""

    a: int
    b: int
    aim: float
    worth: float

    def off(self, at: Any) -> float:
        """Return by how much (mm) `a` stands beyond its line with `b`; `at` holds the origins along the axis."""
        return float(at[self.a] - at[self.b] - self.aim)


class Arrangement:
    """Where the parts stand, off the lattice, and what that costs."""

    def __init__(self, problem: Problem, state: State, at: Any) -> None:
        """Take the origins `at`, (parts, 2) in mm, of the parts turned as the state has them."""
        self.problem, self.state = problem, state
        self.at = np.array(at, dtype=float)
        nets, variant = problem.nets, state.variant
        self.pin = np.zeros_like(state.lengths.pin)
        self.part_of = np.zeros(len(self.pin), dtype=np.int64)
        for part in range(len(variant)):
            start, end = nets.pin_first[part], nets.pin_first[part + 1]
            first = nets.offset_first[variant[part]]
            self.pin[start:end] = nets.offset[first : first + end - start] + self.at[part]
            self.part_of[start:end] = part
        self.scratch = np.zeros_like(state.lengths.tree)
        self.rect = problem.yards.rect[variant]
        self.lengths = [self._length(net) for net in range(len(nets.weight))]

    def _length(self, net: int) -> float:
        nets = self.problem.nets
        pins = nets.pin[nets.first[net] : nets.first[net + 1]]
        return float(net_cost(nets, net, tree_length(pins, self.pin, self.scratch)))

    def boxes(self) -> Any:
        """Return the courtyards with half the gap round them, (parts, 4)."""
        return self.rect + np.hstack([self.at, self.at])

    def lacking(self, parts: Sequence[int]) -> float:
        """Return what elbow room `parts` lack among the others."""
        yards, boxes, total = self.problem.yards, self.boxes(), 0.0
        others = np.setdiff1d(np.arange(len(boxes)), parts)
        for i in parts:
            want = 0.5 * (yards.halo[i] + yards.halo[others])
            gaps = np.maximum(apart(boxes[i], boxes[others]), 0.0)
            lack = np.where(yards.loose[i, others] == 0, np.maximum(want - gaps, 0.0), 0.0)
            total += float(np.sum(HALO_WEIGHT * lack * (1.0 + lack / np.maximum(want, 1e-9))))
        return total

    def pushed(self, parts: Sequence[int], axis: int, by: float, free: Sequence[int]) -> list[int] | None:
        """Return `parts` and all that are in their way if they shift; None if these are too many or may not shift."""
        found, boxes = list(parts), self.boxes()
        shifted = boxes.copy()
        shifted[found, axis] += by
        shifted[found, axis + 2] += by
        for i in found:  # grows as it goes
            gaps = apart(shifted[i], shifted)
            gaps[found] = np.inf
            for j in np.flatnonzero(gaps < -CONTACT):
                if j not in free or len(found) >= MOST_TOGETHER:
                    return None
                found.append(int(j))
                shifted[j, axis] += by
                shifted[j, axis + 2] += by
        return sorted(found)

    def shift(self, parts: Sequence[int], axis: int, by: float) -> float:
        """Shift parts; return by how much the nets they are on cost more.  Shifting back restores all."""
        nets = self.problem.nets
        touched: set[int] = set()
        for part in parts:
            self.at[part, axis] += by
            self.pin[nets.pin_first[part] : nets.pin_first[part + 1], axis] += by
            touched |= {int(n) for n in nets.touch[nets.touch_first[part] : nets.touch_first[part + 1]]}
        grown = 0.0
        for net in sorted(touched):
            length = self._length(net)
            grown += length - self.lengths[net]
            self.lengths[net] = length
        return grown

    def may(self, part: int, axis: int, by: float) -> bool:
        """Tell whether a part may stand where a shift would bring it."""
        low, high = self.run(part, axis)
        return bool(low - SAME <= self.at[part, axis] + by <= high + SAME)

    def run(self, part: int, axis: int) -> tuple[float, float]:
        """Return from where to where a part may stand along an axis: the run of free sites that it is in."""
        places = self.problem.places
        m = places.variant_map[self.state.variant[part]]
        x0, y0, pitch = places.map_frame[m]
        columns, rows = places.map_shape[m]
        grid = places.grid[places.map_first[m] : places.map_first[m] + columns * rows].reshape(rows, columns) >= 0
        grid = grid if axis == 0 else grid.T
        along, across = ((self.at[part] - (x0, y0)) / pitch)[[axis, 1 - axis]]
        near = (int(np.floor(across + 1e-6)), int(np.ceil(across - 1e-6)))
        if min(near) < 0 or max(near) >= len(grid):
            return self.at[part, axis], self.at[part, axis]
        free = grid[near[0]] & grid[near[1]]
        low, high = int(np.floor(along + 1e-6)), int(np.ceil(along - 1e-6))
        if low < 0 or high >= len(free) or not (free[low] and free[high]):
            return self.at[part, axis], self.at[part, axis]
        while low > 0 and free[low - 1]:
            low -= 1
        while high + 1 < len(free) and free[high + 1]:
            high += 1
        start = (x0, y0)[axis]
        return float(start + low * pitch), float(start + high * pitch)


def apart(box: Any, boxes: Any) -> Any:
    """Return how far (mm) a box is from each of others along the axis where it is farther; below 0 they overlap."""
    gaps = [boxes[:, 0] - box[2], box[0] - boxes[:, 2], boxes[:, 1] - box[3], box[1] - boxes[:, 3]]
    return np.max(gaps, axis=0)


def in_line(
    description: Description, options: Sequence[Sequence[Sites]], problem: Problem, state: State, at: Any
) -> Any:
    """Return the origins (parts, 2) with parts that stood a little out of line shifted into it."""
    if len(set(problem.yards.side[state.variant].tolist())) > 1:
        return at  # leads reach through to the other side: that is not looked at here
    held = {i for i, part in enumerate(description.parts) if isinstance(wish_of(description, part), AtEdge)}
    held |= {i for i, part in enumerate(description.parts) if likes_edge(part)}
    free = sorted({int(i) for i in problem.places.movable} - held)
    board = Arrangement(problem, state, at)
    lands = [
        options[i][int(state.variant[i] - problem.places.variant_first[i])].standing.land_box for i in range(len(at))
    ]
    for _ in range(PASSES):
        shifted = False
        for axis in (1, 0):
            bonds = [*like_bonds(description, board, lands, axis), *pad_bonds(board, axis)]
            for part in free:
                shifted = improve(board, bonds, part, axis, free) or shifted
        if not shifted:
            break
    return board.at


def like_bonds(description: Description, board: Arrangement, lands: Sequence[Any], axis: int) -> list[Bond]:
    """Return the bonds along an axis between like parts within sight of each other."""
    yards, boxes, found = board.problem.yards, board.boxes(), []
    for a in range(len(boxes)):
        for b in range(a):
            A, B = boxes[a], boxes[b]
            gap = max(A[1 - axis] - B[3 - axis], B[1 - axis] - A[3 - axis])
            if gap > IN_SIGHT or gap < -ALONG:
                continue
            worth = float(min(yards.tidy[a], yards.tidy[b]))
            alike = yards.kind[a] == yards.kind[b] and abs((A[axis + 2] - A[axis]) - (B[axis + 2] - B[axis])) < SAME
            if alike:
                found.append(Bond(a, b, middle(board.rect[b], axis) - middle(board.rect[a], axis), worth))
            elif lands[a] and lands[b] and family(description, a) == family(description, b):
                for k in (axis, axis + 2):
                    found.append(Bond(a, b, float(lands[b][k] - lands[a][k]), worth / 2))
    return [bond for bond in found if abs(bond.off(board.at[:, axis])) < A_LITTLE]


def middle(rect: Any, axis: int) -> float:
    """Return the middle of a rectangle along an axis."""
    return float(rect[axis] + rect[axis + 2]) / 2


def family(description: Description, part: int) -> tuple[str, str]:
    """Return what makes parts look akin: the family of the footprint, and whether its leads go through."""
    footprint = description.parts[part].footprint
    return footprint.family, footprint.technology


def pad_bonds(board: Arrangement, axis: int) -> list[Bond]:
    """Return the bonds between pads that a track will join: neighbours on the shortest tree of each net."""
    nets, found = board.problem.nets, []
    for net in np.flatnonzero(nets.crowds):
        pins = nets.pin[nets.first[net] : nets.first[net + 1]]
        xy = board.pin[pins]
        away = np.abs(xy[:, None, :] - xy[None, :, :])
        metric = away.max(axis=2) + 0.5 * away.min(axis=2)
        near, parent = metric[0].copy(), np.zeros(len(pins), dtype=int)
        left = set(range(1, len(pins)))
        while left:
            k = min(left, key=lambda n: (near[n], n))
            left.remove(k)
            a, b = int(board.part_of[pins[k]]), int(board.part_of[pins[parent[k]]])
            off = float(xy[k, axis] - xy[parent[k], axis])
            if a != b and abs(off) < A_HAIR and away[k, parent[k], 1 - axis] > ALONG:
                found.append(Bond(a, b, float(board.at[a, axis] - board.at[b, axis]) - off, JOINED))
            closer = metric[k] < near
            near[closer], parent[closer] = metric[k][closer], k
    return found


def improve(board: Arrangement, bonds: Sequence[Bond], part: int, axis: int, free: Sequence[int]) -> bool:
    """Shift a part, or the line it stands in, along an axis into line with another if that is worth it."""
    at = board.at[:, axis]
    own = [(bond, bond.off(at)) for bond in bonds if part in (bond.a, bond.b)]
    wanted = {on_raster(-off if bond.a == part else off) for bond, off in own if abs(off) > UNSEEN}
    best: tuple[float, list[int], float] | None = None
    for together in companies(bonds, part, free, at) if wanted else []:
        for by in sorted(wanted, key=lambda s: (abs(s), s)):
            parts = board.pushed(together, axis, by, free)
            if parts is None:
                continue
            least = max(WORTH, best[0] if best else 0.0)
            outer = [(b, b.off(at), 1 if b.a in parts else -1) for b in bonds if (b.a in parts) != (b.b in parts)]
            gain = sum(
                b.worth * (int(abs(off + sign * by) < UNSEEN) - int(abs(off) < UNSEEN)) for b, off, sign in outer
            )
            if gain <= least or not all(board.may(i, axis, by) for i in parts):
                continue
            lacked = board.lacking(parts)
            grown = board.shift(parts, axis, by)
            lacking = board.lacking(parts)
            board.shift(parts, axis, -by)
            net = gain - grown - (lacking - lacked)
            if net > least:
                best = (net, parts, by)
    if best is not None:
        board.shift(best[1], axis, best[2])
    return best is not None


def on_raster(shift: float) -> float:
    """Return a shift (mm) as whole steps of the raster if it is all but that."""
    whole = RASTER * round(shift / RASTER)
    return round(whole if abs(shift - whole) < ROUNDED else shift, 6)


def companies(bonds: Sequence[Bond], part: int, free: Sequence[int], at: Any) -> list[list[int]]:
    """Return the part by itself, and with all that are in line with it, if these may shift.

    `at` holds the origins along the axis.
    """
    line = {part}
    while True:
        more = {
            p for b in bonds if abs(b.off(at)) < UNSEEN and (b.a in line) != (b.b in line) for p in (b.a, b.b)
        } - line
        if not more:
            break
        line |= more
    if len(line) == 1 or len(line) > MOST_TOGETHER or not line <= set(free):
        return [[part]]
    return [[part], sorted(line)]
