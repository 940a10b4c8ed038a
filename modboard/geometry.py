"""Shapes as a core grown by a radius, so that distances between them are exact.

All lengths are millimetres, all angles degrees counter-clockwise, x to the right and y up, seen from the
top of the board.  A round pad is a point grown by its radius, a track a line grown by half its width, a
rectangle a polygon grown by nothing.  The distance between two shapes is the distance between their cores
less both radii: exact to floating-point rounding, unlike polygons that approximate circles from inside.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import shapely
from shapely import affinity
from shapely.geometry import LineString, Point, Polygon

Position = tuple[float, float]
TOLERANCE = 1e-6  # mm; two lengths closer than this are equal
QUARTER_SEGMENTS = 32  # chords in a quarter circle wherever a curve must become a polygon


@dataclass(frozen=True, slots=True)
class Shape:
    """A point, line or polygon (`core`, mm) grown by `radius` (mm)."""

    core: Any
    radius: float

    def distance(self, other: Shape) -> float:
        """Return the gap in mm to `other`; negative or zero where the shapes touch or overlap."""
        return float(shapely.distance(self.core, other.core)) - self.radius - other.radius

    def overlaps(self, other: Shape) -> bool:
        """Tell whether the shapes share area, by more than `TOLERANCE`: two polygons are never nearer than 0."""
        if self.radius + other.radius > 0:
            return self.distance(other) < -TOLERANCE
        small, large = sorted((self.core, other.core), key=lambda core: float(core.area))
        return bool(small.buffer(-TOLERANCE).intersects(large))

    def grown(self, by: float) -> Shape:
        """Return the shape with `by` mm more all round (less if negative, down to the core)."""
        return Shape(self.core, max(0.0, self.radius + by))

    def moved(self, dx: float, dy: float) -> Shape:
        """Return the shape shifted by (dx, dy) mm."""
        return Shape(affinity.translate(self.core, dx, dy), self.radius)

    def turned(self, angle: float, about: Position = (0.0, 0.0)) -> Shape:
        """Return the shape turned by `angle` degrees counter-clockwise about `about`."""
        if angle % 360 == 0:
            return self
        return Shape(shapely.transform(self.core, lambda xy: turn_points(xy, angle, about)), self.radius)

    def mirrored(self) -> Shape:
        """Return the shape mirrored left to right about the y axis (x becomes -x)."""
        return Shape(affinity.scale(self.core, -1.0, 1.0, origin=(0, 0)), self.radius)

    def polygon(self, quarter_segments: int = QUARTER_SEGMENTS) -> Any:
        """Return a shapely polygon with round parts drawn as chords *inside* the true outline."""
        if self.radius == 0:
            return self.core
        return self.core.buffer(self.radius, quad_segs=quarter_segments)

    def covering_polygon(self, quarter_segments: int = QUARTER_SEGMENTS) -> Any:
        """Return a shapely polygon that *contains* the true outline, for cutting gaps safely."""
        if self.radius == 0:
            return self.core
        outward = self.radius / math.cos(math.pi / (4 * quarter_segments))
        return self.core.buffer(outward, quad_segs=quarter_segments)

    def bounds(self) -> tuple[float, float, float, float]:
        """Return (least x, least y, greatest x, greatest y) in mm."""
        x0, y0, x1, y1 = self.core.bounds
        return (x0 - self.radius, y0 - self.radius, x1 + self.radius, y1 + self.radius)

    def area(self) -> float:
        """Return the exact area in mm² (Steiner's formula; core: convex polygon, straight line or point)."""
        perimeter = self.core.length if self.core.geom_type == "Polygon" else 2 * self.core.length
        return float(self.core.area + perimeter * self.radius + math.pi * self.radius**2)


def turn_points(points: Any, angle: float, about: Position = (0.0, 0.0)) -> Any:
    """Turn an (n, 2) array of points by `angle` degrees; quarter turns are exact."""
    cos, sin = exact_cos_sin(angle)
    x, y = points[:, 0] - about[0], points[:, 1] - about[1]
    turned = points.copy()
    turned[:, 0] = about[0] + x * cos - y * sin
    turned[:, 1] = about[1] + x * sin + y * cos
    return turned


def exact_cos_sin(angle: float) -> tuple[float, float]:
    """Return cosine and sine of `angle` degrees, exact at quarter turns."""
    quarter = {0.0: (1.0, 0.0), 90.0: (0.0, 1.0), 180.0: (-1.0, 0.0), 270.0: (0.0, -1.0)}
    found = quarter.get(angle % 360.0)
    return found if found else (math.cos(math.radians(angle)), math.sin(math.radians(angle)))


def turn_point(point: Position, angle: float) -> Position:
    """Turn one point about the origin by `angle` degrees."""
    cos, sin = exact_cos_sin(angle)
    return (point[0] * cos - point[1] * sin, point[0] * sin + point[1] * cos)


def circle(at: Position, diameter: float) -> Shape:
    """Return a disc of `diameter` mm centred on `at`."""
    return Shape(Point(at), diameter / 2)


def stroke(points: Sequence[Position], width: float) -> Shape:
    """Return a line through `points`, `width` mm wide with round ends."""
    if len(points) == 1 or all(p == points[0] for p in points):
        return circle(points[0], width)
    return Shape(LineString(points), width / 2)


def rectangle(at: Position, width: float, height: float, corner: float = 0.0) -> Shape:
    """Return a rectangle centred on `at`, its corners rounded to radius `corner` mm.

    `corner` of half the short side gives an oval; half of both sides gives a disc.
    """
    x, y = at
    half_w, half_h = width / 2 - corner, height / 2 - corner
    if half_w <= 1e-9 and half_h <= 1e-9:
        return Shape(Point(at), corner)
    if half_w <= 1e-9:
        return Shape(LineString([(x, y - half_h), (x, y + half_h)]), corner)
    if half_h <= 1e-9:
        return Shape(LineString([(x - half_w, y), (x + half_w, y)]), corner)
    return Shape(shapely.box(x - half_w, y - half_h, x + half_w, y + half_h), corner)


def polygon(points: Iterable[Position], radius: float = 0.0) -> Shape:
    """Return a polygon through `points`, grown by `radius` mm."""
    return Shape(Polygon(list(points)), radius)


def snapped(area: Any, grid: float) -> Any:
    """Return a shapely area with its corners rounded to `grid` mm, that keeps no grid.

    The library would round every shape made from it as well, until it has been to another process and back.
    """
    return shapely.set_precision(shapely.set_precision(area, grid), 0.0)


def clipped(area: Any, x0: float, y0: float, x1: float, y1: float) -> Any:
    """Return what of an area lies in a rectangle (mm): quick, and valid whatever touches the rectangle's edge."""
    found = shapely.clip_by_rect(area, x0, y0, x1, y1)
    return found if found.is_valid else shapely.make_valid(found)
