"""The room, and the solids that must share it: the board, part bodies and the leads below it, each with its heights."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import shapely
from shapely.geometry import Polygon

from modboard.describe.model import CavityModel, Obstacle, Opening
from modboard.describe.rules import Rules
from modboard.geometry import Position, Shape, circle
from modboard.layout.board import Board, PlacedPart

LEAD_TRIM = 1.5  # mm that a trimmed lead stands below the board, IPC-A-610 class 3 limit
LID_MARGIN = 0.5  # mm of air between a part and lid or floor, common practice
EXACT = 1e-5  # mm; outlines are rounded to a nanometre, so lengths nearer than ten are equal
BEYOND = 1000.0  # mm, farther than any wall


@dataclass(frozen=True, eq=False)
class Solid:
    """A prism: plan outline (shapely polygon) between two heights above the cavity floor (mm).

    `reference` is the part; `what` is "body" or "leads".
    """

    reference: str
    what: str
    outline: Any
    low: float
    high: float

    @property
    def words(self) -> str:
        """Return 'C3' or 'the leads of C3'."""
        return self.reference if self.what == "body" else f"the leads of {self.reference}"

    @property
    def middle(self) -> Position:
        """Return a point inside the outline."""
        point = self.outline.representative_point()
        return (point.x, point.y)


class Room:
    """A board in its cavity."""

    def __init__(self, board: Board, cavity: CavityModel) -> None:
        self.board = board
        self.cavity = cavity

    @property
    def rules(self) -> Rules:
        """The rule set of the design."""
        return self.board.description.rules

    @property
    def underside(self) -> float:
        """Height of the board's underside above the floor."""
        return self.cavity.board_at

    @property
    def topside(self) -> float:
        """Height of the board's upper surface above the floor."""
        return self.cavity.board_at + self.rules.thickness

    @property
    def in_plan(self) -> float:
        """How much nearer than measured a wall may be to the board's milled edge and what stands on it."""
        return self.cavity.measured_to + self.rules.outline_tolerance

    @cached_property
    def solids(self) -> tuple[Solid, ...]:
        """Every fitted part's bodies, and its leads where they come out on the other side.

        What hangs from the underside to plug into the host's own socket is meant to meet the host and left out.
        """
        standing = [p for p in self.board.parts if p.part.fitted and not p.part.footprint.underside]
        return tuple(s for placed in standing for s in (*self._bodies(placed), *self._leads(placed)))

    def _bodies(self, placed: PlacedPart) -> list[Solid]:
        bodies = placed.bodies()
        tallest = max((b.height for b in bodies), default=0.0)
        found = []
        for body in bodies:
            height = placed.part.tall if body.height == tallest else min(body.height, placed.part.tall)
            low, high = self._heights(placed, min(body.above, height), height)
            found.append(Solid(placed.part.reference, "body", Polygon(body.outline), low, high))
        return found

    def _heights(self, placed: PlacedPart, near: float, far: float) -> tuple[float, float]:
        """Return the heights above the floor of what stands from `near` to `far` over the part's own side."""
        if placed.side == "top":
            return self.topside + near, self.topside + far
        return self.underside - far, self.underside - near

    def _leads(self, placed: PlacedPart) -> list[Solid]:
        """Return the leads that come out on the far side of the board."""
        footprint = placed.part.footprint
        if footprint.lead_below <= 0:
            return []
        pads = [p for p in placed.pads({}) if p.hole is not None]
        if not pads:
            return []
        outline = shapely.union_all([p.shape.polygon() for p in pads])
        reach = min(footprint.lead_below, LEAD_TRIM)
        if placed.side == "top":
            return [Solid(placed.part.reference, "leads", outline, self.underside - reach, self.underside)]
        return [Solid(placed.part.reference, "leads", outline, self.topside, self.topside + reach)]

    def corridor(self, opening: Opening) -> Any:
        """Return the ground outside the wall that an opening gives access to, as wide as the opening.

        It begins at the innermost of the wall's points at the opening's middle and sides.
        """
        along_y = opening.wall in ("left", "right")
        low, high = opening.centre - opening.width / 2, opening.centre + opening.width / 2
        faces = []
        for along in (low, opening.centre, high):
            ends = ((-BEYOND, along), (BEYOND, along)) if along_y else ((along, -BEYOND), (along, BEYOND))
            across = self.cavity.inside.intersection(shapely.LineString(ends))
            if not across.is_empty:
                x0, y0, x1, y1 = across.bounds
                faces.append({"left": x0, "right": x1, "bottom": y0, "top": y1}[opening.wall])
        if not faces:
            return Polygon()
        face = max(faces) if opening.wall in ("left", "bottom") else min(faces)
        out = -BEYOND if opening.wall in ("left", "bottom") else BEYOND
        if along_y:
            return shapely.box(min(face, out), low, max(face, out), high)
        return shapely.box(low, min(face, out), high, max(face, out))

    def passes_in_height(self, opening: Opening, solid: Solid) -> bool:
        """Tell whether the solid's heights lie within the opening's, worst case; unmeasured ones do not count."""
        slack = self.cavity.measured_to
        over = opening.top is None or solid.high <= opening.top - slack + EXACT
        under = opening.bottom is None or solid.low >= opening.bottom + slack - EXACT
        return over and under


def apart(outline: Any, obstacle: Obstacle) -> tuple[float, Position]:
    """Return the gap (mm) from an outline to an obstacle, 0 where they overlap, and a point in the gap or the overlap.

    Round obstacles are measured as circles.
    """
    shape = circle(*obstacle.round) if obstacle.round else Shape(obstacle.outline, 0.0)
    gap = Shape(outline, 0.0).distance(shape)
    if gap <= 0:
        met = outline.intersection(shape.covering_polygon())
        point = outline if met.is_empty else met
        return 0.0, (point.representative_point().x, point.representative_point().y)
    middle = shapely.shortest_line(outline, shape.core).interpolate(gap / 2)
    return gap, (middle.x, middle.y)


def depth_outside(outline: Any, ground: Any) -> float:
    """Return how far (mm) the farthest corner of `outline` lies outside `ground`; 0 if none does."""
    outside = outline.difference(ground)
    if outside.is_empty:
        return 0.0
    return float(shapely.distance(shapely.points(shapely.get_coordinates(outside)), ground).max())


def clearance(outline: Any, ground: Any) -> float:
    """Return the least room (mm) from `outline` to the edge of the `ground` round it; negative where it is outside."""
    if ground.covers(outline):
        return float(shapely.distance(outline, ground.boundary))
    return -depth_outside(outline, ground)


def closest(outline: Any, ground: Any) -> Position:
    """Return the point of `outline` that has least room in `ground`, or is farthest out of it."""
    outside = outline.difference(ground)
    if outside.area > EXACT:
        points = shapely.points(shapely.get_coordinates(outside))
        worst = points[int(shapely.distance(points, ground).argmax())]
        return (worst.x, worst.y)
    x, y = shapely.shortest_line(outline, ground.boundary).coords[0]
    return (x, y)
