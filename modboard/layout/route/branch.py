"""Branches off tracks that were drawn by hand: led to them squarely, or to a corner or an end of theirs nearby."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

from modboard.describe.model import Description
from modboard.geometry import Position
from modboard.layout.board import PlacedPart, Track, Via
from modboard.layout.route.clearance import Neighbours

HAIR = 2e-6  # mm; places are rounded to 1 nm
STUB = 0.2  # mm; a last piece that short is not a direction
NEARBY = 2.0  # mm along a drawn track that a branch may be moved


def squared(
    description: Description,
    parts: tuple[PlacedPart, ...],
    tracks: tuple[Track, ...],
    vias: tuple[Via, ...],
    drawn: tuple[Track, ...],
) -> tuple[Track, ...]:
    """Return the tracks; those that end on a `drawn` track of their net leave no acute angle there if that can be had.

    They end at the foot of the perpendicular from their last corner, or at a corner or end of the drawn track,
    whichever is shortest and keeps every distance.
    """
    result = list(tracks)
    neighbours = Neighbours(description, parts, result, vias)
    for index, track in enumerate(result):
        same = [t for t in drawn if t.net == track.net and t.layer == track.layer]
        if track in drawn or not same:
            continue
        for back in (False, True):
            points = list(result[index].points)
            points = points[::-1] if back else points
            if len(points) > 2 and math.dist(points[-2], points[-1]) < STUB:
                points.pop(-2)  # the step from the lattice onto the drawn track
            for end in _better(points[-2], points[-1], same):
                if neighbours.free(track.net, track.layer, [points[-2], end], track.width):
                    points[-1] = end
                    result[index] = replace(track, points=tuple(points[::-1] if back else points))
                    neighbours.replace(index, result[index])
                    break
    return tuple(result)


def _better(before: Position, end: Position, drawn: list[Track]) -> list[Position]:
    """Return where a track that comes from `before` and ends on a drawn one at `end` had better end, best first."""
    pieces = [piece for t in drawn for piece in itertools.pairwise(t.points)]
    if not any(_on(end, *piece) for piece in pieces):
        return []
    found = {end}
    for a, b in pieces:
        if _on(end, a, b):
            found |= {a, b, _foot(before, a, b)}
    near = [p for p in found if math.dist(p, end) <= NEARBY and math.dist(p, before) > HAIR]
    good = [p for p in near if not _acute(before, p, pieces)]
    ranked = sorted(good, key=lambda p: (round(math.dist(before, p), 6), p))
    return ranked


def _acute(before: Position, end: Position, pieces: list[tuple[Position, Position]]) -> bool:
    """Tell whether the way from `end` back to `before` makes less than a right angle with a piece."""
    out = (before[0] - end[0], before[1] - end[1])
    for a, b in pieces:
        if _on(end, a, b):
            for far in (a, b):
                leg = (far[0] - end[0], far[1] - end[1])
                if math.hypot(*leg) > HAIR and out[0] * leg[0] + out[1] * leg[1] > HAIR:
                    return True
    return False


def _on(point: Position, a: Position, b: Position) -> bool:
    """Tell whether a point lies on a piece."""
    along = min(max(_along(point, a, b), 0.0), 1.0)
    foot = (a[0] + along * (b[0] - a[0]), a[1] + along * (b[1] - a[1]))
    return math.dist(point, foot) <= HAIR


def _foot(point: Position, a: Position, b: Position) -> Position:
    """Return the foot of the perpendicular from a point to a piece, or its end where the foot lies beyond."""
    along = min(max(_along(point, a, b), 0.0), 1.0)
    return (round(a[0] + along * (b[0] - a[0]), 6), round(a[1] + along * (b[1] - a[1]), 6))


def _along(point: Position, a: Position, b: Position) -> float:
    dx, dy = b[0] - a[0], b[1] - a[1]
    return ((point[0] - a[0]) * dx + (point[1] - a[1]) * dy) / (dx * dx + dy * dy)
