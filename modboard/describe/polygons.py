"""Plan shapes from what a person writes, and rings of chords that err on the safe side."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from typing import Any

import shapely
from shapely.geometry import Polygon
from shapely.geometry.polygon import orient

from modboard.describe import measures
from modboard.errors import CallSite, DesignError
from modboard.geometry import TOLERANCE, Position

CHORD_ERROR = 0.001  # mm: how far chords may lie from the arc they stand for
_FEWEST_CHORDS = 4  # in a quarter circle


def plan(points: object, what: str, site: CallSite) -> Any:
    """Return a shapely polygon through `points` (mm), counter-clockwise.

    Raises DesignError for fewer than three corners, for no area, and where the outline crosses or touches itself.
    """
    if isinstance(points, str) or not isinstance(points, Iterable):
        raise DesignError(f"{what} must be a list of corners (x, y) in mm, not {points!r}", site)
    corners: list[Position] = []
    for point in points:
        corner = measures.position(point, f"a corner of {what}", site)
        if not corners or math.dist(corner, corners[-1]) > TOLERANCE:
            corners.append(corner)
    if len(corners) > 1 and math.dist(corners[0], corners[-1]) <= TOLERANCE:
        corners.pop()
    if len(corners) < 3:
        raise DesignError(f"{what} needs at least three corners; it has {len(corners)}", site)
    polygon = Polygon(corners)
    if not polygon.is_valid:
        found = re.search(r"\[(\S+) (\S+)\]", shapely.is_valid_reason(polygon))
        near = f" near ({float(found[1]):g}, {float(found[2]):g})" if found else ""
        raise DesignError(
            f"{what} closes on itself: it crosses or touches itself{near}; list its corners in order, once round", site
        )
    if polygon.area < TOLERANCE:
        raise DesignError(f"{what} has no area: its corners lie on one line", site)
    return orient(polygon)


def chords(radius: float, angle: float) -> int:
    """Return how many chords an arc of `radius` mm through `angle` radians needs to stay within `CHORD_ERROR`."""
    if radius <= CHORD_ERROR:
        return max(1, math.ceil(angle / (math.pi / 4)))
    # Chords outside the arc reach radius / cos(half) - radius beyond it.
    most = 2 * math.acos(radius / (radius + CHORD_ERROR))
    return max(1, math.ceil(angle / min(most, math.pi / 2 / _FEWEST_CHORDS)))


def outer_arc(centre: Position, radius: float, start: float, angle: float) -> list[Position]:
    """Return points of a line that keeps outside an arc: tangent to it at both ends, within `CHORD_ERROR`.

    `start` and `angle` (counter-clockwise) are in radians.
    """
    count = chords(radius, angle)
    step = angle / count
    far = radius / math.cos(step / 2)
    ends = [_polar(centre, radius, start), _polar(centre, radius, start + angle)]
    middle = [_polar(centre, far, start + (i + 0.5) * step) for i in range(count)]
    return [ends[0], *middle, ends[1]]


def outer_disc(centre: Position, radius: float) -> Any:
    """Return a polygon that contains the disc and exceeds it by no more than `CHORD_ERROR` mm."""
    return Polygon(outer_arc(centre, radius, 0.0, 2 * math.pi)[1:-1])


def _polar(centre: Position, radius: float, angle: float) -> Position:
    return (centre[0] + radius * math.cos(angle), centre[1] + radius * math.sin(angle))
