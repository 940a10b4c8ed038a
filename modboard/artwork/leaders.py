"""References that stand further off, with a thin line that leads to the part, where there is no room beside it.

The line is sought from the part outwards over a lattice of what is free (Dijkstra), so that it finds its way between
parts; it touches no other part, no text, mask opening or hole.
"""

from __future__ import annotations

import heapq
import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import shapely

from modboard.artwork.labels import BETWEEN_TEXTS, HIDDEN, Array, Label, Places, Room, size
from modboard.artwork.model import Owner
from modboard.geometry import Position

NEAREST, FURTHEST = 0.5, 8.0  # mm between a part and a text that a line leads to
LONGEST, MOST_CORNERS = 5.0, 2  # mm and corners of a line; the eye does not follow one that goes on for longer
STEP, COARSER = 0.2, 0.4  # mm, lattice of lines and of texts
TO_TEXT = 0.3  # mm from the end of a line to its text
TO_STRANGER = 0.05  # mm from the ink to another part
DIRECTIONS = tuple((i, j, math.hypot(i, j)) for i in (-1, 0, 1) for j in (-1, 0, 1) if i or j)

Frame = tuple[float, float, float, float]


def places_further(text: str, owner: Owner, frame: Frame, height: float, pen: float) -> Places:
    """Return places up to `FURTHEST` from a frame; what the line to them costs comes on top."""
    blocks = []
    for quarter in (0, 1):
        wide, high = size(text, height, pen, quarter)
        reach = FURTHEST + wide / 2, FURTHEST + high / 2
        xs = np.arange(frame[0] - reach[0], frame[2] + reach[0], COARSER)
        ys = np.arange(frame[1] - reach[1], frame[3] + reach[1], COARSER)
        x, y = (grid.ravel() for grid in np.meshgrid(xs, ys))
        off = _away(frame, x, y, wide / 2, high / 2)
        x, y = (v[(off >= NEAREST) & (off <= FURTHEST)] for v in (x, y))
        blocks.append(np.column_stack([x, y, *(np.full_like(x, v) for v in (height, quarter, 0.6 * quarter))]))
    return Places(text, owner, np.vstack(blocks))


def _away(frame: Frame, x: Array, y: Array, half_wide: float = 0.0, half_high: float = 0.0) -> Array:
    """Return how far points, or boxes about them of the given half sizes, are from a frame; 0 where they meet it."""
    across = np.maximum(np.maximum(frame[0] - x, x - frame[2]) - half_wide, 0.0)
    up = np.maximum(np.maximum(frame[1] - y, y - frame[3]) - half_high, 0.0)
    return np.hypot(across, up)


def lead(room: Room, places: Places, frame: Frame, pen: float) -> Label | None:
    """Put a text down where the line to its part is shortest; None if there is no place with a short one."""
    boxes, cost = room.costs(places, pen)
    cost[(cost >= HIDDEN) | ~room.clear(boxes, room.taken)] = np.inf
    if not np.isfinite(cost).any():
        return None
    ways = Ways.from_part(room, places.owner, frame, pen)
    ends = _round(boxes, TO_TEXT)  # (n, 8, 2)
    far = ways.distance(ends)
    total = cost + far.min(axis=1)
    for index in np.argsort(total, kind="stable"):
        if not np.isfinite(total[index]):
            return None
        line = ways.line(ends[index, int(far[index].argmin())])
        if far[index].min() > LONGEST or len(line.coords) > MOST_CORNERS + 2:
            continue
        if line.distance(shapely.box(*boxes[index])) >= TO_TEXT / 2:
            room.keep_off(line.buffer(pen / 2 + BETWEEN_TEXTS))
            leader = tuple((float(x), float(y)) for x, y in line.coords)
            return replace(room.take(places, boxes, int(index)), leader=leader)
    return None


def _round(boxes: Array, gap: float) -> Array:
    """Return the corners and the middles of the sides of boxes (n, 4) grown by `gap`, as (n, 8, 2)."""
    x0, y0, x1, y1 = (boxes + np.array([-gap, -gap, gap, gap])).T
    cx, cy = (x0 + x1) / 2, (y0 + y1) / 2
    points = [(cx, y0), (cx, y1), (x0, cy), (x1, cy), (x0, y0), (x1, y0), (x0, y1), (x1, y1)]
    return np.stack([np.column_stack(p) for p in points], axis=1)


@dataclass(frozen=True)
class Ways:
    """How far every lattice point is from a part over free ground (mm; infinite where there is no way), and whence."""

    origin: Position
    lengths: Array  # (rows, columns)
    before: dict[tuple[int, int], tuple[int, int]]
    free: Any  # tells whether a line (shapely) touches nothing

    @classmethod
    def from_part(cls, room: Room, owner: Owner, frame: Frame, pen: float) -> Ways:
        """Find the ways from just outside `frame` (bounds of a part with its openings) as far as texts are led."""
        reach = FURTHEST + 2.0
        origin = (frame[0] - reach, frame[1] - reach)
        xs = np.arange(origin[0], frame[2] + reach, STEP)
        ys = np.arange(origin[1], frame[3] + reach, STEP)
        x, y = np.meshgrid(xs, ys)
        texts = shapely.STRtree([shapely.box(*box) for box in room.taken])
        inner = room.inner.buffer(-pen / 2)

        def touched(shapes: Any) -> Any:
            """Tell which of an array of shapes the pen must not follow."""
            bad = ~shapely.covers(inner, shapes)
            bad[room.blocked.query(shapes, predicate="dwithin", distance=pen / 2)[0]] = True
            bad[texts.query(shapes, predicate="dwithin", distance=pen / 2 + BETWEEN_TEXTS)[0]] = True
            near, what = room.near.query(shapes, predicate="dwithin", distance=pen / 2 + TO_STRANGER)
            bad[near[room.owners[what] != owner.reference] if len(what) else near] = True
            return bad

        off = _away(frame, x, y)
        closed = touched(shapely.points(x.ravel(), y.ravel())).reshape(x.shape) | (off < pen / 2)
        starts = [(int(j), int(i)) for j, i in np.argwhere(~closed & (off < pen / 2 + 1.5 * STEP))]
        lengths = np.full(x.shape, np.inf)
        before: dict[tuple[int, int], tuple[int, int]] = {}
        queue = [(0.0, cell) for cell in starts]
        for cell in starts:
            lengths[cell] = 0.0
        while queue:
            length, (j, i) = heapq.heappop(queue)
            if length > lengths[j, i] or length > FURTHEST + 2.0:
                continue
            for dj, di, step in DIRECTIONS:
                to = (j + dj, i + di)
                if 0 <= to[0] < x.shape[0] and 0 <= to[1] < x.shape[1] and not closed[to]:
                    there = length + step * STEP
                    if there < lengths[to] - 1e-9:
                        lengths[to] = there
                        before[to] = (j, i)
                        heapq.heappush(queue, (there, to))
        return cls(origin, lengths, before, lambda line: not touched(np.array([line]))[0])

    def cell(self, at: Array) -> Array:
        """Return (row, column) of the lattice points nearest to points (..., 2)."""
        found = np.rint((at - np.array(self.origin)) / STEP).astype(int)[..., ::-1]
        return np.clip(found, 0, np.array(self.lengths.shape) - 1)

    def distance(self, at: Array) -> Array:
        """Return how far points (..., 2) are from the part, mm."""
        cells = self.cell(at)
        return self.lengths[cells[..., 0], cells[..., 1]]

    def line(self, at: Array) -> Any:
        """Return the line (shapely) from near `at` to the part, its corners cut where that is free."""
        j, i = self.cell(at)
        cells = [(int(j), int(i))]
        while cells[-1] in self.before:
            cells.append(self.before[cells[-1]])
        points = [(round(self.origin[0] + i * STEP, 6), round(self.origin[1] + j * STEP, 6)) for j, i in cells]
        kept, first = points[:1], 0
        while first < len(points) - 1:
            further = range(len(points) - 1, first + 1, -1)
            straight = (k for k in further if self.free(shapely.LineString([points[first], points[k]])))
            first = next(straight, first + 1)
            kept.append(points[first])
        return shapely.LineString(kept if len(kept) > 1 else [kept[0], (kept[0][0] + STEP / 2, kept[0][1])])
