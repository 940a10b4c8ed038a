"""What a round cutter can do: waste with corners it can reach, boards without slivers.

*Waste* is everything that is not board.  A cutter of radius r leaves exactly those boards whose waste is a union of
discs of radius r (the morphological opening of the waste by that disc changes nothing).  Where a corner of the waste
is too sharp, waste is added, never board: the gaps measured in the metal stay.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import shapely
from shapely.geometry import Polygon

from modboard.describe.polygons import outer_arc, outer_disc
from modboard.geometry import Position

SLIVER = 2.0  # mm: narrower arms of a board break off in the hand, common practice
MITRE = 3.0  # a corner of 40° or more keeps its point: 1 / sin 20°
LEAST_ARM = 0.05  # mm²
EASE = 0.005  # mm that a corner is wider than the cutter, so that chords don't make it narrower
UNCUT = 0.003  # mm: leftovers thinner than this are the error of the chords


def grown_ring(ring: Any, gap: float, cutter: float = 0.0) -> Any:
    """Return the waste within `gap` mm of the solid on the left of `ring` (points, closed), with cuttable corners.

    Straight sides come out exact, arcs as chords on the safe side.  At each corner that sticks out of the solid and
    whose rounding (radius `gap`) is tighter than the cutter, a disc of the cutter's radius is added, pulled back
    into the solid until it just covers the rounding.  `cutter` is a diameter (mm), nought for none.
    """
    points = [(float(x), float(y)) for x, y in np.asarray(ring)[:, :2]]
    if points[0] == points[-1]:
        points.pop()
    count = len(points)
    heading = [
        math.atan2(points[(i + 1) % count][1] - y, points[(i + 1) % count][0] - x) for i, (x, y) in enumerate(points)
    ]
    pieces: list[Any] = []
    for i, at in enumerate(points):
        pieces.append(_band(at, points[(i + 1) % count], gap))
        bend = math.remainder(heading[i] - heading[i - 1], 2 * math.pi)
        if bend <= 1e-9:
            continue  # the solid is hollow or straight here
        outward = heading[i - 1] - math.pi / 2
        pieces.append(Polygon([at, *outer_arc(at, gap, outward, bend)]))
        radius = cutter / 2 + EASE
        back = radius - gap
        if cutter > 0 and back > 0:
            middle = outward + bend / 2
            pieces.append(outer_disc((at[0] - back * math.cos(middle), at[1] - back * math.sin(middle)), radius))
    return shapely.union_all(pieces)


def cuttable(board: Any, cutter: float) -> Any:
    """Return `board` less whatever a cutter of diameter `cutter` mm must take with it to cut its inside corners."""
    radius = cutter / 2
    frame = _box_round(board, 2 * cutter)
    waste = frame.difference(board)
    uncut = waste.difference(dilated(eroded(waste, radius), radius))
    # Leftovers thinner than `UNCUT` are the error of the chords; the corners of the frame are not the board's.
    corners = opened(uncut, UNCUT / 2).intersection(_box_round(board, 0.0))
    taken = [_plunge(corner, radius + EASE) for corner in polygons(corners)]
    return board.difference(shapely.union_all(taken)) if taken else board


def without_slivers(board: Any) -> Any:
    """Return `board` less arms and rims narrower than `SLIVER`, cut straight across where they begin."""
    core = eroded(board, SLIVER / 2)
    if core.is_empty:
        return core
    wide = dilated(core, SLIVER / 2)
    lost = opened(board.difference(wide), UNCUT / 2)
    # Every convex corner loses its tip to the rounding; a tip lies within the mitre, an arm reaches out of it.
    with np.errstate(divide="ignore", invalid="ignore"):  # GEOS meets parallel sides when it mitres
        mitred = core.buffer(SLIVER / 2 + UNCUT, join_style="mitre", mitre_limit=MITRE)
    arms = [piece for piece in polygons(lost) if piece.difference(mitred).area > LEAST_ARM]
    cuts = [_straight_cut(arm, wide) for arm in arms]
    return board.difference(shapely.union_all([*arms, *cuts])) if arms else board


def _straight_cut(arm: Any, wide: Any) -> Any:
    """Return what lies between the round ends of the wide part of a board and straight lines across its arm."""
    roots = shapely.line_merge(arm.boundary.intersection(wide.buffer(UNCUT)))
    return shapely.union_all([shapely.convex_hull(root) for root in shapely.get_parts(roots)])


def dilated(shape: Any, by: float) -> Any:
    """Return `shape` grown by `by` mm all round: exact along straight sides, outside arcs by less than 1 µm.

    shapely's own buffer first simplifies what it is given by a hundredth of the distance: too coarse here.
    """
    return shapely.union_all([shape, *(grown_ring(ring, by) for ring in _rings(shape, solid_left=True))])


def eroded(shape: Any, by: float) -> Any:
    """Return `shape` less all that lies within `by` mm of its edge, with the accuracy of `dilated`."""
    return shape.difference(shapely.union_all([grown_ring(ring, by) for ring in _rings(shape, solid_left=False)]))


def opened(shape: Any, by: float) -> Any:
    """Return roughly the parts of `shape` that are wider than twice `by` mm, for throwing away leftovers."""
    return shape.buffer(-by).buffer(2 * by).intersection(shape)


def _plunge(corner: Any, radius: float) -> Any:
    """Return the discs that cut one `corner` of the waste which the cutter does not reach from elsewhere.

    The cutter's centre stays as deep in the corner as still cuts all of it: along the middle of a thin rib, say.
    """
    inradius = shapely.maximum_inscribed_circle(corner).length
    for depth in (0.98, 0.9, 0.75, 0.5, 0.25):
        discs = dilated(eroded(corner, depth * inradius), radius)
        if opened(corner.difference(discs), UNCUT / 2).is_empty:
            return discs
    return dilated(corner, radius)


def polygons(shape: Any) -> list[Any]:
    """Return the polygons of a shapely shape, greatest first, in an order that does not depend on its history."""
    found = [g for g in shapely.get_parts(shape) if g.geom_type == "Polygon" and g.area > 0]
    return sorted(found, key=lambda g: (-round(g.area, 6), g.bounds))


def _rings(shape: Any, *, solid_left: bool) -> list[Any]:
    """Return every ring of a shape as points, turned so that the shape lies on its left (or on its right)."""
    rings = []
    for piece in polygons(shape):
        for i, ring in enumerate([piece.exterior, *piece.interiors]):
            points = np.asarray(ring.coords)
            rings.append(points if ring.is_ccw == (solid_left == (i == 0)) else points[::-1])
    return rings


def _box_round(shape: Any, by: float) -> Any:
    x0, y0, x1, y1 = shape.bounds
    return shapely.box(x0 - by, y0 - by, x1 + by, y1 + by)


def _band(start: Position, end: Position, gap: float) -> Any:
    """Return the rectangle `gap` mm wide on the right of a straight side."""
    size = math.dist(start, end)
    nx, ny = (end[1] - start[1]) / size * gap, -(end[0] - start[0]) / size * gap
    return Polygon([start, end, (end[0] + nx, end[1] + ny), (start[0] + nx, start[1] + ny)])
