"""How much room there is between an outline and walls or obstacles, as measured and with every ± against it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely

from modboard.describe.faces import ON_FACE, moved, sides
from modboard.describe.model import Obstacle
from modboard.geometry import Position, Shape, circle

EXACT = 1e-5  # mm; outlines are rounded to a nanometre, so lengths nearer than ten are equal


@dataclass(frozen=True)
class Gap:
    """Room in mm: `nominal` as measured, `worst` with the ± of the face it is worst at taken off; `at` is the place.

    Negative where there is none: how far one thing reaches into the other.
    """

    nominal: float
    worst: float
    at: Position

    @property
    def loose(self) -> float:
        """Return how much of it the tolerances take."""
        return self.nominal - self.worst


@dataclass(frozen=True, eq=False)
class Ground:
    """Free ground (shapely) and its faces with the ± of each (arrays)."""

    area: Any
    lines: Any
    tos: Any


def ground(area: Any, walls: Any, walls_to: Sequence[float], openings: Sequence[tuple[Any, float]] = ()) -> Ground:
    """Return `area` and the ground of `openings` as one; faces on a side of `walls` keep its ±, others theirs."""
    whole = shapely.union_all([area, *(corridor for corridor, _ in openings)])
    own = shapely.linestrings([list(side) for side in sides(walls.exterior)])
    lines: list[Any] = []
    tos: list[float] = []
    for part in shapely.get_parts(whole):
        for ring in (part.exterior, *part.interiors):
            for side in sides(ring):
                (x0, y0), (x1, y1) = side
                middle = shapely.Point((x0 + x1) / 2, (y0 + y1) / 2)
                away = shapely.distance(own, middle)
                near = np.flatnonzero(away <= ON_FACE)
                if len(near):
                    tos.append(max(walls_to[int(k)] for k in near))
                else:
                    tos.append(
                        max((to for corridor, to in openings if corridor.distance(middle) <= ON_FACE), default=0.0)
                    )
                lines.append(shapely.LineString(side))
    return Ground(whole, np.array(lines, dtype=object), np.array(tos))


def within(outline: Any, free: Ground, made_to: float) -> Gap:
    """Return the room from `outline` to the edge of the ground round it; `made_to` is its own ± (mm)."""
    away = shapely.distance(outline, free.lines)
    if free.area.covers(outline):
        nominal = float(away.min())
        worst = float((away - free.tos).min())
        tightest = free.lines[int((away - free.tos).argmin())]
        x, y = shapely.shortest_line(outline, tightest).coords[0]
        return Gap(nominal, worst - made_to, (x, y))
    outside = shapely.points(shapely.get_coordinates(outline.difference(free.area)))
    depths = shapely.distance(outside, free.area)
    point = outside[int(depths.argmax())]
    depth = float(depths.max())
    # At worst every face is farther off by its own ±: a point at a corner gets out by the nearer of them then.
    least = (shapely.distance(outside[:, None], free.lines[None, :]) + free.tos).min(axis=1)
    return Gap(-depth, -float(least.max()) - made_to, (point.x, point.y))


def apart(outline: Any, obstacle: Obstacle, sides_to: Sequence[float], made_to: float) -> Gap:
    """Return the room from an outline to an obstacle, 0 where they overlap; round ones are measured as circles.

    One whose ± differs from side to side is measured at worst by chords round it, within 1 µm on the safe side.
    """
    shape = circle(*obstacle.round) if obstacle.round else Shape(obstacle.outline, 0.0)
    nominal = Shape(outline, 0.0).distance(shape)
    if nominal <= 0:
        met = outline.intersection(shape.covering_polygon())
        point = (outline if met.is_empty else met).representative_point()
        return Gap(0.0, -max(sides_to) - made_to, (point.x, point.y))
    if obstacle.round and min(sides_to) == max(sides_to):
        middle = shapely.shortest_line(outline, shape.core).interpolate(nominal / 2)
        return Gap(nominal, nominal - sides_to[0] - made_to, (middle.x, middle.y))
    lines = shapely.linestrings([list(side) for side in sides(obstacle.outline.exterior)])
    worst = shapely.distance(outline, lines) - np.array(sides_to)
    nearest = shapely.shortest_line(outline, lines[int(worst.argmin())])
    middle = nearest.interpolate(nearest.length / 2)
    least = float(worst.min())
    if obstacle.round:  # each chord moves along its own normal: what they enclose then is measured
        least = float(outline.distance(moved(obstacle.outline, sides_to))) or least
    return Gap(nominal, least - made_to, (middle.x, middle.y))
