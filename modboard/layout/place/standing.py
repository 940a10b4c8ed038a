"""A part as it stands in one turn on one side: its outlines about the footprint's origin."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import shapely
from shapely.geometry import Polygon

from modboard.describe.model import Part, Side
from modboard.geometry import Position, Shape, circle
from modboard.layout.board import PlacedPart
from modboard.library.model import Footprint

SPOT = 0.1  # mm
Box = tuple[float, float, float, float]  # least x, least y, greatest x, greatest y


def body_centre(footprint: Footprint) -> Position:
    """Return the middle of the box round all bodies (of the courtyard if there are none), footprint frame, mm."""
    points = [p for body in footprint.bodies for p in body.outline] or list(footprint.courtyard)
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return ((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2)


@dataclass(frozen=True)
class Standing:
    """One part, turned by `turn` degrees on `side`, its origin at (0, 0)."""

    part: Part
    turn: float
    side: Side

    @cached_property
    def placed(self) -> PlacedPart:
        """The part put down at the origin."""
        return PlacedPart(self.part, (0.0, 0.0), self.turn, self.side)

    def put(self, at: Position) -> PlacedPart:
        """Return the part put down with its origin at `at`."""
        return PlacedPart(self.part, at, self.turn, self.side)

    @cached_property
    def courtyard(self) -> Any:
        """The courtyard as a shapely polygon."""
        return Polygon(self.placed.courtyard())

    @cached_property
    def hull(self) -> Any:
        """Corners of the courtyard's convex hull, counter-clockwise, (n, 2)."""
        return hull_points(self.courtyard)

    @cached_property
    def box(self) -> Box:
        """The box round the courtyard."""
        x0, y0, x1, y1 = self.courtyard.bounds
        return (x0, y0, x1, y1)

    @cached_property
    def body_box(self) -> Box | None:
        """The box round all bodies; None without any."""
        points = [point for body in self.placed.bodies() for point in body.outline]
        if not points:
            return None
        xs, ys = zip(*points, strict=True)
        return (min(xs), min(ys), max(xs), max(ys))

    @cached_property
    def centre(self) -> Position:
        """The middle of the body."""
        return self.placed.to_board(body_centre(self.part.footprint))

    @cached_property
    def lands(self) -> tuple[Shape, ...]:
        """The exact copper outlines; of lands that the board's edge cuts, a spot where their tracks end."""
        pads = self.placed.pads({})
        if self.part.footprint.edge == "halved":
            return tuple(circle(pad.at, SPOT) for pad in pads)
        return tuple(pad.shape for pad in pads)

    @cached_property
    def land_box(self) -> Box | None:
        """The box round all copper; None without any."""
        if not self.lands:
            return None
        x0, y0, x1, y1 = zip(*(shape.bounds() for shape in self.lands), strict=True)
        return (min(x0), min(y0), max(x1), max(y1))

    @cached_property
    def through(self) -> tuple[Box, ...]:
        """Boxes round what reaches the other side: lands with holes or on that side, bare holes and their screws."""
        both = zip(self.placed.pads({}), self.part.footprint.lands, strict=True)
        lands = [pad.shape.bounds() for pad, land in both if land.through or land.opposite]
        return (*lands, *(self.placed.hole(h).kept_off(0.0).bounds() for h in self.part.footprint.holes))

    @cached_property
    def snap(self) -> Position:
        """The point that goes on the lattice: pad 1 of a through-hole part, else the origin."""
        through = self.part.footprint.technology == "through-hole" and self.part.footprint.lands
        return self.placed.to_board(self.part.footprint.lands[0].at) if through else (0.0, 0.0)


def hull_points(shape: Any) -> Any:
    """Return the corners of the convex hull of a shapely geometry, counter-clockwise, without the repeated last."""
    hull = shape.convex_hull
    if hull.geom_type != "Polygon":  # a line or a point has no inside; a hair's breadth gives it one
        hull = hull.buffer(1e-6).convex_hull
    points = np.array(hull.exterior.coords)[:-1]
    return np.ascontiguousarray(points if hull.exterior.is_ccw else points[::-1])


def corners(box: Box) -> Any:
    """Return the four corners of a box, counter-clockwise."""
    return np.array([(box[0], box[1]), (box[2], box[1]), (box[2], box[3]), (box[0], box[3])], dtype=float)


def land_hull(standing: Standing) -> Any:
    """Return the convex hull (shapely) of all copper of a part."""
    return shapely.GeometryCollection([shape.covering_polygon() for shape in standing.lands]).convex_hull
