"""Where a part may stand: board, keep-outs, cavity obstacles and the parts already fixed, as exact outlines.

Every limit becomes a `Limit`: a convex outline that moves with the part, and an area that it must stay inside or
outside of.  Courtyards that are not convex are tested by their convex hull, which can only be stricter.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from shapely.geometry import Polygon

from modboard.describe.model import Description, MountingHole, Part, Side
from modboard.describe.outline import THICKNESS_TO
from modboard.geometry import QUARTER_SEGMENTS, circle
from modboard.layout.board import PlacedPart
from modboard.layout.place.drawn import Drawn
from modboard.layout.place.fits import fits
from modboard.layout.place.standing import Standing, hull_points, land_hull
from modboard.library.model import Body

CLEAR = 0.5  # mm of air between a part and lid or floor, common practice; the fit asks for as much
ROUND = 1 / math.cos(math.pi / (4 * QUARTER_SEGMENTS))  # so that chords of a grown corner lie outside the true arc


@dataclass(frozen=True)
class Limit:
    """The outline `hull` ((n, 2) corners, mm, about the origin) must stay inside (or outside) the area of `edges`."""

    name: str
    hull: Any
    edges: Any  # (m, 4) ends of every edge of the area
    inside: bool

    def passes(self, x: Any, y: Any) -> Any:
        """Tell for each origin (x, y) whether the limit is kept."""
        return fits(x, y, self.hull, self.edges, self.inside)


def edges_of(area: Any) -> Any:
    """Return all edges of a shapely area as an (m, 4) array."""
    found = [np.zeros((0, 4))]
    for polygon in getattr(area, "geoms", [area]):
        if polygon.is_empty or polygon.geom_type != "Polygon":
            continue
        for ring in (polygon.exterior, *polygon.interiors):
            points = np.array(ring.coords)[:, :2]
            found.append(np.hstack([points[:-1], points[1:]]))
    return np.ascontiguousarray(np.vstack(found))


def grown(area: Any, by: float) -> Any:
    """Return `area` with at least `by` mm more all round (`by` > 0)."""
    return area.buffer(by * ROUND, quad_segs=QUARTER_SEGMENTS) if by > 0 else area


def shrunk(area: Any, by: float) -> Any:
    """Return `area` with at least `by` mm less all round (`by` > 0)."""
    if by <= 0:
        return area
    around = shapely.box(*area.bounds).buffer(by + 1.0, join_style="mitre")
    return area.difference(grown(around.difference(area), by))


def keep_out(hole: MountingHole, description: Description) -> Any:
    """Return the disc round a mounting hole that parts stay out of, never less than the hole's own copper gap."""
    across = max(hole.keep_out, hole.diameter + 2 * description.rules.bare_hole_to_copper)
    return circle(hole.at, across).covering_polygon()


def heights(part: Part, body: Body) -> tuple[float, float]:
    """Return from and to which height above the board's surface a body reaches, a measured height counted in."""
    tallest = body.height >= part.footprint.height
    return body.above, part.tall if tallest else body.height


class Room:
    """The limits of one board, with the fixed parts already standing on it."""

    def __init__(self, description: Description, fixed: Sequence[PlacedPart]) -> None:
        self.description = description
        self.fixed = fixed
        rules = description.rules
        self.part_area = shrunk(description.outline, rules.part_to_edge)
        self.copper_area = shrunk(description.outline, rules.copper_to_edge)
        self.holes = [keep_out(h, description) for h in description.holes]
        self.drawn = Drawn(description)
        self._areas: dict[tuple[Side, bool], Any] = {}
        self._edges: dict[tuple[Side, bool], Any] = {}
        self._copper_edges = edges_of(self.copper_area)

    def taken(self, side: Side) -> Any:
        """Return what keep-outs and fixed parts take on `side`, the part gap included (shapely)."""
        gap = self.description.rules.part_gap
        yards = [grown(Polygon(p.courtyard()), gap) for p in self.fixed if p.side == side]
        free = [k.shape.covering_polygon() for k in self.description.keep_outs if "parts" in k.bars and side in k.sides]
        return shapely.union_all([*self.holes, *yards, *free])

    def area(self, side: Side, at_edge: bool = False) -> Any:
        """Return the area (shapely) in which courtyards may lie on `side`; `at_edge`: the outline does not count."""
        key = (side, at_edge)
        if key not in self._areas:
            around = shapely.box(*self.description.outline.bounds).buffer(200.0, join_style="mitre")
            self._areas[key] = (around if at_edge else self.part_area).difference(self.taken(side))
            self._edges[key] = edges_of(self._areas[key])
        return self._areas[key]

    def tall_enough(self, part: Part, side: Side) -> bool:
        """Tell whether the room is tall enough for a part on `side`, worst case, steps in floor and lid left out."""
        cavity = self.description.cavity
        if cavity is None:
            return True
        thick = self.description.rules.thickness
        held = cavity.board_at_to + THICKNESS_TO * thick
        high = max((heights(part, body)[1] for body in part.footprint.bodies), default=0.0)
        if side == "bottom":
            clear = cavity.board_at - (cavity.board_at_to or cavity.measured_to)
            below = cavity.clear_below
            clear = clear if below is None else min(clear, below - cavity.within(cavity.clear_below_to))
        else:
            clear = math.inf
            if cavity.height is not None:
                clear = cavity.height - cavity.within(cavity.height_to) - cavity.board_at - thick - held
            above = cavity.clear_above
            clear = clear if above is None else min(clear, above - cavity.within(cavity.clear_above_to))
        return high + CLEAR <= clear + 1e-9

    def limits(self, standing: Standing, at_edge: bool = False) -> list[Limit]:
        """Return every limit of a part in one turn, the cheapest first."""
        self.area(standing.side, at_edge)
        found = [Limit("courtyard", standing.hull, self._edges[standing.side, at_edge], True)]
        rules = self.description.rules
        if standing.lands:
            lands = land_hull(standing)
            margin = max(0.0, rules.copper_to_edge - rules.part_to_edge)
            if at_edge:
                for shape in standing.lands:
                    hull = hull_points(shape.covering_polygon())
                    found.append(Limit("copper to edge", hull, self._copper_edges, True))
            elif not standing.courtyard.convex_hull.covers(lands.buffer(margin)):
                found.append(Limit("copper to edge", hull_points(lands), self._copper_edges, True))
        return found + self.drawn_limits(standing) + self.obstacle_limits(standing)

    def drawn_limits(self, standing: Standing) -> list[Limit]:
        """Return the limits set by copper that is drawn already and by areas without lands."""
        return [
            Limit(name, hull_points(outline), edges_of(area), False)
            for name, outline, area in self.drawn.limits(standing.placed)
        ]

    def obstacle_limits(self, standing: Standing) -> list[Limit]:
        """Return the limits set by what stands or hangs in the cavity."""
        cavity = self.description.cavity
        if cavity is None or not cavity.obstacles:
            return []
        rules = self.description.rules
        upper, made_to = cavity.board_at + rules.thickness, rules.outline_tolerance
        held = cavity.board_at_to + THICKNESS_TO * rules.thickness  # how far the board's own heights may be out
        occupied: list[tuple[Any, float, float]] = []
        for body, flat in zip(standing.placed.bodies(), standing.part.footprint.bodies, strict=True):
            low, high = heights(standing.part, flat)
            span = (
                (upper + low, upper + high)
                if standing.side == "top"
                else (cavity.board_at - high, cavity.board_at - low)
            )
            occupied.append((Polygon(body.outline), *span))
        if standing.part.footprint.lead_below > 0 and standing.lands:
            below = min(standing.part.footprint.lead_below, cavity.leads)
            span = (cavity.board_at - below, cavity.board_at) if standing.side == "top" else (upper, upper + below)
            through = [s for s, land in zip(standing.lands, standing.part.footprint.lands, strict=True) if land.through]
            occupied.extend((shape.covering_polygon(), *span) for shape in through)
        found = []
        for outline, low, high in occupied:
            met = [
                grown(o.outline, max(o.gap, max(o.sides_to, default=cavity.measured_to) + made_to))
                for o in cavity.obstacles
                if o.bottom < high + cavity.within(o.bottom_to) + held
                and (o.top is None or o.top > low - cavity.within(o.top_to) - held)
            ]
            if met:
                found.append(Limit("cavity obstacle", hull_points(outline), edges_of(shapely.union_all(met)), False))
        return found

    def allowed(self, standing: Standing, x: Any, y: Any, at_edge: bool = False) -> Any:
        """Tell for each origin (x, y) whether the part may stand there."""
        ok = np.ones(len(x), dtype=bool)
        for limit in self.limits(standing, at_edge):
            index = np.nonzero(ok)[0]
            if len(index) == 0:
                break
            ok[index] = limit.passes(np.ascontiguousarray(x[index]), np.ascontiguousarray(y[index]))
        return ok
