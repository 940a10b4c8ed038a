"""Branches off tracks that were drawn by hand: led to them squarely, at the foot of the perpendicular."""

from __future__ import annotations

import itertools
from dataclasses import replace

from modboard.describe.model import Description
from modboard.geometry import Position
from modboard.layout.board import PlacedPart, Track, Via
from modboard.layout.route.clearance import Neighbours

HAIR = 1e-6


def squared(
    description: Description,
    parts: tuple[PlacedPart, ...],
    tracks: tuple[Track, ...],
    vias: tuple[Via, ...],
    drawn: tuple[Track, ...],
) -> tuple[Track, ...]:
    """Return the tracks; those that end on a piece of a `drawn` track of their net end at the foot of the perpendicular
    from their last corner, wherever that keeps every distance.
    """
    result = list(tracks)
    neighbours = Neighbours(description, parts, result, vias)
    for index, track in enumerate(result):
        if track in drawn:
            continue
        for back in (False, True):
            points = list(result[index].points)
            points = points[::-1] if back else points
            for piece in _pieces(track, drawn):
                foot = _foot(points[-2], *piece) if _on(points[-1], *piece) else None
                if foot is None or foot == points[-1] or foot == points[-2]:
                    continue
                if neighbours.free(track.net, track.layer, [points[-2], foot], track.width):
                    points[-1] = foot
                    result[index] = replace(track, points=tuple(points[::-1] if back else points))
                    neighbours.replace(index, result[index])
                    break
    return tuple(result)


def _pieces(track: Track, drawn: tuple[Track, ...]) -> list[tuple[Position, Position]]:
    same = [t for t in drawn if t.net == track.net and t.layer == track.layer]
    return [piece for t in same for piece in itertools.pairwise(t.points)]


def _on(point: Position, a: Position, b: Position) -> bool:
    """Tell whether a point lies within a piece, its ends left out."""
    along = _along(point, a, b)
    foot = (a[0] + along * (b[0] - a[0]), a[1] + along * (b[1] - a[1]))
    near = max(abs(point[0] - foot[0]), abs(point[1] - foot[1])) <= 2 * HAIR
    return near and HAIR < along < 1 - HAIR


def _foot(point: Position, a: Position, b: Position) -> Position | None:
    """Return the foot of the perpendicular from a point to a piece; None beyond its ends."""
    along = _along(point, a, b)
    if not 0.0 <= along <= 1.0:
        return None
    return (round(a[0] + along * (b[0] - a[0]), 6), round(a[1] + along * (b[1] - a[1]), 6))


def _along(point: Position, a: Position, b: Position) -> float:
    dx, dy = b[0] - a[0], b[1] - a[1]
    return ((point[0] - a[0]) * dx + (point[1] - a[1]) * dy) / (dx * dx + dy * dy)
