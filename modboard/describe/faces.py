"""Faces of walls and obstacles, each with its own ±: what they leave free at worst, and walls that lean."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import Any

import numpy as np
import shapely
from shapely.geometry import Polygon

from modboard.describe.model import CavityModel, Mouth, Obstacle
from modboard.geometry import TOLERANCE, Position

ON_FACE = 1e-6  # mm; a chord this near to a side belongs to it
STRAIGHT = 1e-9  # sine of the angle under which two sides are one


def sides(ring: Any) -> list[tuple[Position, Position]]:
    """Return the sides of a closed ring (shapely), in order."""
    points = [(float(x), float(y)) for x, y, *_ in ring.coords]
    return list(pairwise(points))


def corner_sides(own: Sequence[tuple[float | None, float | None]], ring: Any, usual: float) -> tuple[float, ...]:
    """Return the ± of each side from those of the x and y of its two corners (None: `usual`).

    A side moves square to itself by what its worse end moves; empty where nothing has a ± of its own.
    """
    if all(x is None and y is None for x, y in own):
        return ()
    moves = [(usual if x is None else x, usual if y is None else y) for x, y in own]
    found = []
    for number, ((x0, y0), (x1, y1)) in enumerate(sides(ring)):
        long = math.hypot(x1 - x0, y1 - y0)
        across, along = abs(y1 - y0) / long, abs(x1 - x0) / long
        ends = (moves[number], moves[(number + 1) % len(moves)])
        found.append(max(across * dx + along * dy for dx, dy in ends))
    return tuple(found)


def carried_over(new: Any, old: Any, old_to: Sequence[float]) -> tuple[float, ...]:
    """Return the ± of each side of ring `new` from the side of ring `old` it lies on.

    `new` may be `old` with rounded corners: a chord of a corner moves as the corner does when its two sides move.
    """
    if not old_to:
        return ()
    lines = shapely.linestrings([list(side) for side in sides(old)])
    found = []
    for (x0, y0), (x1, y1) in sides(new):
        away = shapely.distance(lines, shapely.Point((x0 + x1) / 2, (y0 + y1) / 2))
        near = np.flatnonzero(away <= away.min() + ON_FACE)
        if away.min() <= ON_FACE:
            found.append(max(old_to[int(k)] for k in near))
            continue
        first, second = (int(k) for k in np.argsort(away)[:2])
        normals = [_normal(*sides(old)[k]) for k in (first, second)]
        shift = np.linalg.lstsq(np.array(normals), np.array([old_to[first], old_to[second]]), rcond=None)[0]
        found.append(max(0.0, abs(float(np.dot(_normal((x0, y0), (x1, y1)), shift)))))
    return tuple(found)


def _normal(start: Position, end: Position) -> Position:
    """Return the unit normal on the right of a side."""
    long = math.dist(start, end)
    return ((end[1] - start[1]) / long, (start[0] - end[0]) / long)


def moved(polygon: Any, by: Sequence[float]) -> Any:
    """Return a polygon with each side moved `by` its own mm to the outside (negative: to the inside), corners sharp.

    Only the outer ring is looked at.  Where sides vanish, the sides that stay are moved by the most of all, so that
    the outcome errs to the safe side for moves of one sign.
    """
    ring = polygon.exterior
    if not any(by):
        return polygon
    turn = 1.0 if ring.is_ccw else -1.0
    lines: list[tuple[float, float, float]] = []  # unit normal to the outside, and how far out along it the side lies
    for ((x0, y0), (x1, y1)), away in zip(sides(ring), by, strict=True):
        long = math.hypot(x1 - x0, y1 - y0)
        if long <= TOLERANCE:
            continue
        nx, ny = turn * (y1 - y0) / long, turn * (x0 - x1) / long
        lines.append((nx, ny, nx * x0 + ny * y0 + away))
    grows = max(by) > 0
    corners: list[Position] = []
    for (ax, ay, a), (bx, by_, b) in zip([lines[-1], *lines[:-1]], lines, strict=True):
        across = ax * by_ - ay * bx
        if abs(across) < STRAIGHT:  # one straight side in two pieces: a step between them
            corners.append(_put(polygon.exterior.coords[len(corners)], (ax, ay), max(a, b) if grows else min(a, b)))
        else:
            corners.append(((a * by_ - b * ay) / across, (ax * b - bx * a) / across))
    found = Polygon(corners)
    if (
        _runs_alike(corners, lines, turn)
        and found.is_valid
        and (found.covers(polygon) if grows else polygon.covers(found))
    ):
        return found
    most = max(by) if grows else min(by)
    return polygon.buffer(most, join_style="mitre", mitre_limit=100.0)


def _runs_alike(corners: Sequence[Position], lines: Sequence[tuple[float, float, float]], turn: float) -> bool:
    """Tell whether every side still runs the way it did: one moved past its neighbour would run backwards."""
    ends = [*corners[1:], corners[0]]
    return all(
        turn * (nx * (y1 - y0) - ny * (x1 - x0)) >= 0.0
        for (nx, ny, _), (x0, y0), (x1, y1) in zip(lines, corners, ends, strict=True)
    )


def _put(corner: Sequence[float], normal: Position, level: float) -> Position:
    """Return a corner of a straight side moved along its normal until it lies at `level`."""
    x, y = corner[:2]
    off = level - (normal[0] * x + normal[1] * y)
    return (x + off * normal[0], y + off * normal[1])


def walls_to(cavity: CavityModel) -> tuple[float, ...]:
    """Return the ± of each wall."""
    return cavity.sides_to or (cavity.measured_to,) * (len(cavity.inside.exterior.coords) - 1)


def obstacle_to(obstacle: Obstacle, cavity: CavityModel) -> tuple[float, ...]:
    """Return the ± of each side of an obstacle; of a round one the first counts."""
    return obstacle.sides_to or (cavity.measured_to,) * (len(obstacle.outline.exterior.coords) - 1)


def mouth_at_worst(mouth: Mouth, cavity: CavityModel, made_to: float) -> Any:
    """Return the hole that is sure to be there: each side in by its ± and by `made_to` mm, that of the board's edge."""
    sides_to = mouth.sides_to or (cavity.measured_to,) * (len(mouth.outline.exterior.coords) - 1)
    return moved(mouth.outline, [-(to + made_to) for to in sides_to])


def inside_at(cavity: CavityModel, height: float) -> Any:
    """Return the room's outline at a height above the floor: where walls lean, wider above the board."""
    away = cavity.lean * (height - cavity.board_at)
    if abs(away) <= TOLERANCE:
        return cavity.inside
    return moved(cavity.inside, [away] * (len(cavity.inside.exterior.coords) - 1))
