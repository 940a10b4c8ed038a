"""Where the texts of the legend go.

Every text has a list of candidate places with a cost of its own (distance, reading direction).  `Room` adds what the
place costs on the board: a place that touches a mask opening, a hole, a mark, another text or the board's edge is
ruled out; under a fitted body, across an outline or close to another part it is dear.  Texts with the
fewest places are put down first, each at its cheapest free place; one that finds none drives others out.  This
mostly finds room for all where there is room, but neither that nor the least total cost is guaranteed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely

from modboard.artwork import font
from modboard.artwork.model import Owner
from modboard.describe.model import Side
from modboard.geometry import Position

Array = Any  # numpy array; boxes are rows of least x, least y, greatest x, greatest y in mm

BETWEEN_TEXTS, BETWEEN_WORDS = 0.2, 0.7  # mm from line to line, and end to end so that two texts do not read as one
TO_OUTLINE = 0.1  # mm from text to an outline that need not be broken for it
PATIENCE = 6  # times the number of texts: how often texts may drive each other out before the rest is given up
STRANGER = 0.3  # mm; a text this close to another part's body or land may be taken for that part's
# Costs, in mm of distance one would rather go: under another body, nearer to another part than to its own, ...
HIDDEN, WRONG, UNDER_OWN_BODY, AMBIGUOUS, CROSSING = 40.0, 20.0, 5.0, 2.0, 1.0
DISTINCT = 0.5  # mm; a text that much nearer to its own part than to any other is plainly its own
ROUND = 0.9  # of the box about it that an outline fills; one that fills less is taken for a disc
VISIBLE = UNDER_OWN_BODY  # below this cost a text can be read once everything is fitted
RIGHT = WRONG  # below this cost a text is taken for its own part's


@dataclass(frozen=True)
class Label:
    """One text put down: `at` is the middle of its length, half way up the capitals."""

    text: str
    at: tuple[float, float]
    height: float
    turn: float
    side: Side
    owner: Owner
    box: tuple[float, float, float, float]  # what it covers, pen included
    leader: tuple[Position, ...] = ()  # a line from the text to its part, where it could not stand beside it

    def lines(self) -> list[font.Polyline]:
        """Return its strokes in board coordinates, mirrored on the bottom so as to read from below."""
        return font.text(self.text, self.at, self.height, self.turn, self.side == "bottom", "centre")


@dataclass(frozen=True)
class Places:
    """Candidate places of one text: rows of centre x, y, capital height, quarter turned (0 or 1), cost."""

    text: str
    owner: Owner
    rows: Array
    dearest: float = float("inf")  # a place dearer than this is not worth having


class Room:
    """What is free for text on one side of the board."""

    def __init__(
        self,
        side: Side,
        inner: Any,
        blocked: Sequence[Any],
        bodies: Sequence[tuple[str, Any]],
        lands: Sequence[tuple[str, Any]],
        lines: Sequence[Any],
    ) -> None:
        """Take the area text must stay inside, areas it must not touch, bodies and lands with the part they
        belong to, and the outlines to be printed.
        """
        self.side = side
        self.inner = inner
        shapely.prepare(inner)
        self.blocked = shapely.STRtree(list(blocked))
        near = [*bodies, *lands]
        self.owners = np.array([reference for reference, _ in near], dtype=object)
        self.bodies = shapely.STRtree([area for _, area in bodies])
        self.near = shapely.STRtree([area for _, area in near])
        self.frames, self.radii, self.odd = _frames_of([area for _, area in near])
        self.lines = shapely.STRtree(list(lines))
        self.taken: list[tuple[float, float, float, float]] = []

    def put_down(self, wanted: Sequence[Places], pen: float) -> tuple[list[Label], list[Places]]:
        """Place each text; return the labels in the order wanted, and what found no place.

        A text that finds all its places taken drives out those in its way, which then look for another; a text that
        has been driven out often is driven out less readily, and after a while the attempt is given up.
        """
        batches = [self.costs(places, pen) for places in wanted]
        queue = sorted(range(len(wanted)), key=lambda i: (int(np.isfinite(batches[i][1]).sum()), i))
        chosen: dict[int, int] = {}
        driven_out = np.zeros(len(wanted))
        missing: list[int] = []
        patience = PATIENCE * len(wanted)
        while queue:
            i = queue.pop(0)
            boxes, cost = batches[i]
            usable = np.flatnonzero(self.clear(boxes, self.taken) & (cost < wanted[i].dearest))
            others = list(chosen)
            rivals = np.array([batches[j][0][chosen[j]] for j in others]).reshape(-1, 4)
            clash = ~_apart(boxes[usable], rivals)
            resistance = clash @ (1.0 + driven_out[others])
            if not len(usable) or (resistance.min() > 0 and patience <= 0):
                missing.append(i)
                continue
            best = int(np.lexsort((cost[usable], resistance))[0])
            for j in np.flatnonzero(clash[best]):
                loser = others[int(j)]
                del chosen[loser]
                driven_out[loser] += 1
                patience -= 1
                queue.append(loser)
            chosen[i] = int(usable[best])
        labels = [self.take(wanted[i], batches[i][0], chosen[i]) for i in sorted(chosen)]
        return labels, [wanted[i] for i in sorted(missing)]

    def costs(self, places: Places, pen: float) -> tuple[Array, Array]:
        """Return the box and the cost of every place; infinite where nothing may be printed."""
        rows = places.rows
        boxes = _boxes(places.text, rows, pen, self.side)
        if not len(rows):
            return boxes, np.zeros(0)
        areas = shapely.box(boxes[:, 0], boxes[:, 1], boxes[:, 2], boxes[:, 3])
        cost = rows[:, 4].copy()
        cost[~shapely.contains_properly(self.inner, areas)] = np.inf
        cost[self.blocked.query(areas, predicate="intersects")[0]] = np.inf
        left = np.flatnonzero(np.isfinite(cost))
        areas = areas[left]
        under, body = self.bodies.query(areas, predicate="intersects")
        own = self.owners[body] == places.owner.reference if len(body) else np.zeros(0, dtype=bool)
        cost[left[np.unique(under[own])]] += UNDER_OWN_BODY
        cost[left[np.unique(under[~own])]] += HIDDEN
        near, body = self.near.query(areas, predicate="dwithin", distance=STRANGER)
        if len(body):
            cost[left[np.unique(near[self.owners[body] != places.owner.reference])]] += AMBIGUOUS
        nearer = self.nearer_to_own(boxes[left], places.owner.reference)
        cost[left[nearer <= 0.0]] += WRONG
        cost[left[(nearer > 0.0) & (nearer < DISTINCT)]] += AMBIGUOUS / 2
        crossed = self.lines.query(areas, predicate="dwithin", distance=pen + TO_OUTLINE)[0]
        cost[left] += CROSSING * np.bincount(crossed, minlength=len(left))
        return boxes, cost

    def nearer_to_own(self, boxes: Array, reference: str) -> Array:
        """Return by how much (mm) each box is nearer to the body and lands of its own part than to another's."""
        own = self.owners == reference
        if not len(boxes) or not own.any():
            return np.full(len(boxes), np.inf)
        mine = self._away(boxes, own)
        reach = float(mine.max()) + DISTINCT
        (x0, y0), (x1, y1) = boxes[:, :2].min(axis=0) - reach, boxes[:, 2:].max(axis=0) + reach
        frames, radii = self.frames, self.radii
        near = (frames[:, 0] - radii < x1) & (frames[:, 2] + radii > x0)
        near &= (frames[:, 1] - radii < y1) & (frames[:, 3] + radii > y0) & ~own
        return (self._away(boxes, near) if near.any() else np.inf) - mine

    def _away(self, boxes: Array, which: Array) -> Array:
        """Return how far (mm) each box is from the nearest of some bodies and lands."""
        frames = self.frames[which]
        across = np.maximum(frames[:, 0] - boxes[:, 2:3], boxes[:, 0:1] - frames[:, 2])
        up = np.maximum(frames[:, 1] - boxes[:, 3:4], boxes[:, 1:2] - frames[:, 3])
        gaps = np.maximum(np.hypot(np.maximum(across, 0.0), np.maximum(up, 0.0)) - self.radii[which], 0.0)
        odd = self.odd[which]
        if odd.any():
            areas = shapely.box(boxes[:, 0], boxes[:, 1], boxes[:, 2], boxes[:, 3])
            gaps[:, odd] = shapely.distance(areas[:, None], self.near.geometries[which][odd])
        return gaps.min(axis=1)

    def keep_off(self, area: Any) -> None:
        """Let nothing that is put down later touch `area`."""
        self.blocked = shapely.STRtree([*self.blocked.geometries, area])

    def clear(self, boxes: Array, taken: Sequence[tuple[float, ...]]) -> Array:
        """Tell for each box whether it keeps clear of all boxes in `taken`."""
        return _apart(boxes, np.array(taken).reshape(-1, 4)).all(axis=1)

    def take(self, places: Places, boxes: Array, index: int) -> Label:
        """Put a text down at one of its places."""
        x, y, height, quarter, _ = (float(v) for v in places.rows[index])
        x0, y0, x1, y1 = (float(v) for v in boxes[index])
        box = (x0, y0, x1, y1)
        self.taken.append(box)
        return Label(places.text, (x, y), height, _turn(quarter, self.side), self.side, places.owner, box)


def _frames_of(areas: Sequence[Any]) -> tuple[Array, Array, Array]:
    """Return each area as a box, or as a disc where that is nearer the truth: a point in `frames` and its radius.

    The third array tells which are neither, such as a body that stands askew.
    """
    frames = np.array([area.bounds for area in areas]).reshape(-1, 4)
    wide, high = frames[:, 2] - frames[:, 0], frames[:, 3] - frames[:, 1]
    filled = shapely.area(np.array(areas, dtype=object))
    radii = np.where(filled < ROUND * wide * high, np.minimum(wide, high) / 2, 0.0)
    odd = np.abs(wide * high - (4 - np.pi) * radii**2 - filled) > (1 - ROUND) * wide * high
    return frames + radii[:, None] * np.array([1.0, 1.0, -1.0, -1.0]), radii, odd


def _apart(boxes: Array, others: Array) -> Array:
    """Return a table that tells for each box (row) and other box (column) whether text there stays legible."""
    level = (others[:, 2:3] - others[:, 0:1]) >= (others[:, 3:4] - others[:, 1:2])
    across, up = np.where(level, BETWEEN_WORDS, BETWEEN_TEXTS), np.where(level, BETWEEN_TEXTS, BETWEEN_WORDS)
    wide = others + np.hstack([-across, -up, across, up])
    return (
        (boxes[:, None, 0] >= wide[None, :, 2])
        | (boxes[:, None, 2] <= wide[None, :, 0])
        | (boxes[:, None, 1] >= wide[None, :, 3])
        | (boxes[:, None, 3] <= wide[None, :, 1])
    )


def _turn(quarter: float, side: Side) -> float:
    """Return degrees: turned texts read upwards, from whichever side they are read."""
    return 0.0 if not quarter else (90.0 if side == "top" else 270.0)


def _boxes(text: str, rows: Array, pen: float, side: Side) -> Array:
    """Return what `text` covers at each place, pen included."""
    x0, y0, x1, y1 = font.extent(text, 1.0)
    level = np.array([x0, y0, x1, y1])
    # Turned to read upwards, what was above the line lies to the left as read: to -x on top, to +x on the bottom.
    upright = np.array([-y1, x0, -y0, x1]) if side == "top" else np.array([y0, x0, y1, x1])
    flat = np.where(rows[:, 3:4] > 0, upright, level) * rows[:, 2:3]
    centre = rows[:, [0, 1, 0, 1]]
    return centre + flat + pen / 2 * np.array([-1.0, -1.0, 1.0, 1.0])


def size(text: str, height: float, pen: float, quarter: int) -> tuple[float, float]:
    """Return width and height in mm of what `text` covers, taken as even about its middle."""
    x0, y0, x1, y1 = font.extent(text, height)
    wide, high = x1 - x0 + pen, 2 * max(-y0, y1) + pen
    return (high, wide) if quarter else (wide, high)


def places_round(
    text: str,
    owner: Owner,
    frames: Sequence[tuple[float, float, float, float]],
    heights: Sequence[float],
    pen: float,
    dearest: float = float("inf"),
) -> Places:
    """Return places outside and inside the given frames (bounds of a part's body and of all of it)."""
    rows: list[tuple[float, float, float, float, float]] = []
    for smaller, height in enumerate(heights):
        for quarter in (0, 1):
            wide, high = size(text, height, pen, quarter)
            for x0, y0, x1, y1 in dict.fromkeys(frames):
                cx, cy = (x0 + x1) / 2, (y0 + y1) / 2
                base = 1.5 * smaller + 0.6 * quarter
                for gap in (0.35, 0.7, 1.3):
                    for x in _spread(x0 - wide / 2, x1 + wide / 2):
                        cost = base + gap + 0.1 * abs(x - cx)
                        rows.append((x, y1 + gap + high / 2, height, quarter, cost))
                        rows.append((x, y0 - gap - high / 2, height, quarter, cost + 0.05))
                    for y in _spread(y0 - high / 2, y1 + high / 2):
                        cost = base + gap + 0.1 * abs(y - cy)
                        rows.append((x1 + gap + wide / 2, y, height, quarter, cost + 0.1))
                        rows.append((x0 - gap - wide / 2, y, height, quarter, cost + 0.15))
                for x in _spread(x0 + wide / 2, x1 - wide / 2):
                    for y in _spread(y0 + high / 2, y1 - high / 2):
                        rows.append((x, y, height, quarter, base + 0.1 * (abs(x - cx) + abs(y - cy))))
    return Places(text, owner, np.array(rows).reshape(-1, 5), dearest)


def _spread(start: float, end: float, step: float = 0.6, most: int = 15) -> list[float]:
    """Return evenly spaced values from start to end, always an odd number so that the middle is one of them."""
    if end <= start:
        return [(start + end) / 2]
    count = min(most, 2 * int((end - start) / (2 * step)) + 3)
    return [start + (end - start) * k / (count - 1) for k in range(count)]


def places_anywhere(
    text: str, owner: Owner, bounds: tuple[float, float, float, float], heights: Sequence[float], dearest: float
) -> Places:
    """Return places all over `bounds`, larger and level ones cheaper."""
    x0, y0, x1, y1 = bounds
    step = max(0.7, ((x1 - x0) * (y1 - y0) / 2500) ** 0.5)  # mm; some 2,500 places whatever the size
    xs, ys = np.meshgrid(np.arange(x0, x1, step), np.arange(y0, y1, step))
    x, y = xs.ravel(), ys.ravel()
    blocks = []
    for smaller, height in enumerate(heights):
        for quarter in (0, 1):
            cost = 1.0 * smaller + 0.7 * quarter + 0.01 * (y - y0)
            blocks.append(np.column_stack([x, y, np.full_like(x, height), np.full_like(x, quarter), cost]))
    return Places(text, owner, np.vstack(blocks), dearest)
