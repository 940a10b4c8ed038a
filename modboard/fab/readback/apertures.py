"""Standard apertures (GLFS 4.4) and arcs (GLFS 4.7.2) as shapely geometry."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import shapely

from modboard.fab.readback.layer import Fields
from modboard.fab.readback.macros import MacroError, macro_shape, regular_polygon

Place = tuple[float, float]
SIZES = {"C": 1, "R": 2, "O": 2, "P": 2}  # sizes that each template must have


@dataclass(frozen=True)
class Aperture:
    """A pen or stamp: geometry about its origin in mm, as core and radius; `pen` is the width of a plain circle."""

    core: Any
    radius: float
    pen: float | None
    attributes: dict[str, Fields]


def aperture_shape(
    template: str, values: Sequence[float], macros: Mapping[str, Sequence[str]], quarter_segments: int
) -> tuple[Any, float, float | None]:
    """Return core, radius and pen width (None if it is not a plain circle) of an aperture, in the file's unit.

    Raises MacroError for a template that does not exist or has the wrong sizes.
    """
    if template in macros:
        return macro_shape(macros[template], values, quarter_segments), 0.0, None
    sizes = SIZES.get(template)
    if sizes is None:
        raise MacroError(f"template {template} is not defined")
    fixed = sizes + 1 if template == "P" else sizes
    if not sizes <= len(values) <= fixed + 1:
        raise MacroError(f"template {template} takes {sizes} to {fixed + 1} sizes")
    if min(values[:sizes]) < 0 or (template != "C" and min(values[:sizes]) == 0):
        raise MacroError("a size must be above zero")
    core, radius = _standard(template, values)
    if len(values) > fixed and values[fixed] > 0:
        hole = shapely.Point(0, 0).buffer(values[fixed] / 2, quad_segs=quarter_segments)
        return core.buffer(radius, quad_segs=quarter_segments).difference(hole), 0.0, None
    return core, radius, values[0] if template == "C" else None


def _standard(template: str, values: Sequence[float]) -> tuple[Any, float]:
    if template == "C":
        return shapely.Point(0, 0), values[0] / 2
    if template == "P":
        return regular_polygon(values[0], int(values[1]), values[2] if len(values) > 2 else 0.0), 0.0
    half_x, half_y = values[0] / 2, values[1] / 2
    if template == "R":
        return shapely.box(-half_x, -half_y, half_x, half_y), 0.0
    radius = min(half_x, half_y)
    if half_x == half_y:
        return shapely.Point(0, 0), radius
    return shapely.LineString([(radius - half_x, radius - half_y), (half_x - radius, half_y - radius)]), radius


def arc_points(start: Place, end: Place, centre: Place, anticlockwise: bool, quarter_segments: int) -> list[Place]:
    """Return an arc as chords; one that ends where it starts is a full circle."""
    radius, other = math.dist(centre, start), math.dist(centre, end)
    first = math.atan2(start[1] - centre[1], start[0] - centre[0])
    sweep = math.atan2(end[1] - centre[1], end[0] - centre[0]) - first
    sweep = sweep % math.tau if anticlockwise else -((-sweep) % math.tau)
    if start == end:
        sweep = math.tau if anticlockwise else -math.tau
    steps = max(2, math.ceil(abs(sweep) / (math.pi / 2) * quarter_segments))
    inner = []
    for k in range(1, steps):
        angle, reach = first + sweep * k / steps, radius + (other - radius) * k / steps
        inner.append((centre[0] + reach * math.cos(angle), centre[1] + reach * math.sin(angle)))
    return [start, *inner, end]
