"""What a round cutter can do: waste with corners it can reach, boards without slivers.

*Waste* is everything that is not board.  A cutter of radius r leaves exactly those boards whose waste is a union of
discs of radius r (the morphological opening of the waste by that disc changes nothing).  Where a corner of the waste
is too sharp, waste is added, never board: the gaps measured in the metal stay.
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

import numpy as np
import shapely
from shapely.geometry import Polygon

from modboard.describe.polygons import outer_arc, outer_disc
from modboard.geometry import TOLERANCE, Position

SLIVER = 2.0  # mm: narrower arms of a board break off in the hand, common practice
MITRE = 3.0  # a corner of 40° or more keeps its point: 1 / sin 20°
LEAST_ARM = 0.05  # mm²
LEAST_ROOT = 0.1  # mm, shorter ones are rounding
OVERLAP = 1e-6  # radians
SMOOTH = 0.11  # radians: chords of an arc bend by less
UNCUT = 0.003  # mm: leftovers thinner than this are the error of the chords


def grown_ring(ring: Any, gap: float, cutter: float = 0.0, within: Any = None) -> Any:
    """Return the waste within `gap` mm of the solid on the left of `ring` (points, closed), with cuttable corners.

    Straight sides come out exact, arcs as chords on the safe side.  At each corner that sticks out of the solid and
    whose rounding (radius `gap`) is tighter than the cutter, a disc of the cutter's radius is added, pulled back
    into the solid until it just covers the rounding; none where the rounding lies outside the polygon `within`.
    `cutter` is a diameter (mm), nought for no discs.
    """
    points = np.asarray(ring, dtype=float)[:, :2]
    # Sides of less than 1 nm are rounding and point anywhere; the last point repeats the first.
    points = points[np.linalg.norm(np.roll(points, -1, axis=0) - points, axis=1) > TOLERANCE]
    if len(points) < 3:
        return Polygon()
    along = np.roll(points, -1, axis=0) - points
    heading = np.arctan2(along[:, 1], along[:, 0])
    bend = np.remainder(heading - np.roll(heading, 1) + np.pi, 2 * np.pi) - np.pi
    pieces = _strips(points, heading, bend, gap)
    for i in map(int, np.flatnonzero(bend > SMOOTH)):  # where the solid is hollow or straight, the strips are enough
        pieces.append(_sector(points, heading, bend, i, gap))
        radius = cutter / 2
        back = radius - gap
        if cutter > 0 and back > 0:
            x, y = points[i]
            middle = heading[i - 1] - math.pi / 2 + bend[i] / 2
            cos, sin = math.cos(middle), math.sin(middle)
            if within is None or within.contains(shapely.Point(x + gap * cos, y + gap * sin)):
                pieces.append(outer_disc((x - back * cos, y - back * sin), radius))
    return shapely.union_all(pieces)


def _sector(points: Any, heading: Any, bend: Any, i: int, gap: float) -> Any:
    """Return the rounding of corner `i`, overlapping its neighbours by a hair so that no crack is left between them."""
    at = (float(points[i, 0]), float(points[i, 1]))
    start = float(heading[i - 1]) - math.pi / 2 - OVERLAP
    return Polygon([at, *outer_arc(at, gap, start, float(bend[i]) + 2 * OVERLAP)])


def _strips(points: Any, heading: Any, bend: Any, gap: float) -> list[Any]:
    """Return strips `gap` mm wide on the right of a ring, one for each run of sides without a sharp corner."""
    count = len(points)
    breaks = np.flatnonzero(np.abs(bend) > SMOOTH)
    if len(breaks) < 2:  # an arc all round: open it anywhere
        opened_at = int(breaks[0]) if len(breaks) else 0
        breaks = np.sort([opened_at, (opened_at + count // 2) % count])
    strips: list[Any] = []
    for first, last in zip(breaks, [*breaks[1:], breaks[0] + count], strict=True):
        smooth = abs(bend[last % count]) <= SMOOTH  # no corner here, so let the strips overlap by a side
        run = np.arange(first, last + 1 + smooth) % count
        outward = heading[run] - np.pi / 2 - bend[run] / 2
        far = gap / np.cos(bend[run] / 2)
        outward[0], far[0] = heading[first] - np.pi / 2, gap
        outward[-1], far[-1] = heading[run[-2]] - np.pi / 2, gap
        near = points[run]
        away = near + far[:, None] * np.column_stack([np.cos(outward), np.sin(outward)])
        strip = Polygon(np.vstack([near, away[::-1]]))
        if len(run) == 2 or strip.is_valid:
            strips.append(strip)
        else:  # a hollow tighter than the gap: take its sides and corners one by one
            for i, j in pairwise(run):
                normal = heading[i] - np.pi / 2
                aside = gap * np.array([np.cos(normal), np.sin(normal)])
                strips.append(Polygon([points[i], points[j], points[j] + aside, points[i] + aside]))
            strips += [_sector(points, heading, bend, i, gap) for i in run if 0 < bend[i] <= SMOOTH]
    return strips


def cuttable(board: Any, cutter: float) -> Any:
    """Return `board` less whatever a cutter of diameter `cutter` mm must take with it to cut its inside corners."""
    radius = cutter / 2
    frame = _box_round(board, 2 * cutter)
    waste = frame.difference(board)
    uncut = waste.difference(dilated(eroded(waste, radius - UNCUT), radius))
    # Leftovers thinner than `UNCUT` are the error of the chords; the corners of the frame are not the board's.
    corners = [c for c in polygons(opened(uncut, UNCUT / 2)) if c.distance(board) < UNCUT]
    sharp = _sharp_corners(waste) if corners else []
    taken = [_cut(corner, sharp, radius) for corner in corners]
    return board.difference(shapely.union_all(taken)) if taken else board


def _cut(corner: Any, sharp: list[tuple[Any, Position]], radius: float) -> Any:
    """Return the discs that cut one `corner` of the waste: one through each point of it where that is enough."""
    near = corner.buffer(UNCUT)
    discs = [
        outer_disc((at.x - radius * out[0], at.y - radius * out[1]), radius) for at, out in sharp if near.intersects(at)
    ]
    if discs:
        union = shapely.union_all(discs)
        if opened(corner.difference(union), UNCUT / 2).is_empty:
            return union
    return _plunge(corner, radius)


def _sharp_corners(waste: Any) -> list[tuple[Any, Position]]:
    """Return each corner that sticks out of the waste by more than the chords of an arc do, with its direction."""
    found = []
    for ring in _rings(waste, solid_left=True):
        points = ring[:-1]
        before, after = points - np.roll(points, 1, axis=0), np.roll(points, -1, axis=0) - points
        arriving, leaving = (np.arctan2(v[:, 1], v[:, 0]) for v in (before, after))
        bend = np.remainder(leaving - arriving + np.pi, 2 * np.pi) - np.pi
        for i in np.flatnonzero(bend > SMOOTH):
            middle = arriving[i] - math.pi / 2 + bend[i] / 2
            found.append((shapely.Point(points[i]), (math.cos(middle), math.sin(middle))))
    return found


def without_slivers(board: Any) -> Any:
    """Return `board` less arms and rims narrower than `SLIVER`, cut straight across where they begin."""
    core = eroded(board, SLIVER / 2)
    if core.is_empty:
        return core
    wide = dilated(core, SLIVER / 2)
    lost = opened(board.difference(wide), UNCUT / 2)
    # Every convex corner loses its tip to the rounding; a tip lies within the mitre and hangs on one root, an arm
    # reaches out of it and a neck hangs on two.
    with np.errstate(divide="ignore", invalid="ignore"):  # GEOS meets parallel sides when it mitres
        mitred = core.buffer(SLIVER / 2 + UNCUT, join_style="mitre", mitre_limit=MITRE)
    away: list[Any] = []
    for piece in polygons(lost):
        touching = shapely.get_parts(shapely.line_merge(piece.boundary.intersection(wide.buffer(UNCUT))))
        roots = touching[shapely.length(touching) > LEAST_ROOT]
        if len(roots) > 1 or piece.difference(mitred).area > LEAST_ARM:
            # The wide part ends round; cut straight across from end to end of the root.
            away += [piece, *shapely.convex_hull(roots)]
    # A little more than the arms, or hairs of board stay behind along the walls.
    return (
        board.difference(shapely.union_all(away).buffer(2 * UNCUT, join_style="mitre", mitre_limit=2))
        if away
        else board
    )


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
    return shape.buffer(-by, join_style="mitre").buffer(2 * by, join_style="mitre").intersection(shape)


def _plunge(corner: Any, radius: float) -> Any:
    """Return the discs that cut one `corner` of the waste which the cutter does not reach from elsewhere.

    The cutter's centre stays as deep in the corner as still cuts all of it: along the middle of a thin rib, say.
    """
    inradius = shapely.maximum_inscribed_circle(corner).length
    for depth in (0.995, 0.95, 0.75, 0.5, 0.25):
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
