"""Sharp angles in tracks, where etchant collects: between the legs of one track, and where a branch leaves another."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
import shapely

from modboard.artwork.model import Flash, Stroke
from modboard.check.copper import LayerCopper
from modboard.check.findings import Finding
from modboard.check.inspection import Inspection
from modboard.check.rule import Rule
from modboard.check.words import spot
from modboard.geometry import TOLERANCE, Position

ACUTE_ANGLE = Rule(
    "acute-angle",
    "warning",
    "tracks of one net meet at a right angle or more",
    "lead the branch away at a right angle, or widen the joint",
    source="common practice; modern etching forgives it",
)
RULES = (ACUTE_ANGLE,)

Knot = tuple[str, int, int]  # a net, and a point in nanometres

LEAST = 90.0  # degrees, common practice
SAME_WAY = 1.0  # degrees; legs that close lie on each other and leave no corner between them
ROUNDING = 0.01  # degrees that points on a grid of a nanometre may turn a right angle


def inspect(seen: Inspection) -> Iterator[Finding]:
    """Look at every corner and every branch of the tracks of each layer."""
    for layer in seen.copper.layers.values():
        yield from sharp(seen, layer)


def sharp(seen: Inspection, layer: LayerCopper) -> Iterator[Finding]:
    """Report joints outside lands whose legs leave less than a right angle between them."""
    pieces = list(segments(layer))
    legs: dict[Knot, set[float]] = defaultdict(set)
    for piece in pieces:
        long = math.dist(piece.start, piece.end) > piece.width / 2  # a shorter one lies within the round of its own end
        for end, way in zip(piece.knots, (piece.way, opposite(piece.way)), strict=True):
            legs[end] |= {way} if long else set()
    tree = shapely.STRtree([shapely.LineString([piece.start, piece.end]) for piece in pieces])
    for key, ways in (*passing(pieces, tree, list(legs)), *crossing(pieces, tree)):
        legs[key] |= ways
    lands = [item.shape for item in layer.items if isinstance(item.feature, Flash)]
    nets = [item.net for item in layer.items if isinstance(item.feature, Flash)]
    for (net, x, y), ways in legs.items():
        least = narrowest(sorted(ways))
        at = (x * TOLERANCE, y * TOLERANCE)
        if least >= LEAST - ROUNDING:
            continue
        point = shapely.Point(at)
        if any(n == net and shapely.distance(s.core, point) <= s.radius for s, n in zip(lands, nets, strict=True)):
            continue
        where = f"the track of {net or 'no net'} at {spot(at)}, {layer.layer}"
        message = f"the legs of the track leave {least:.1f}° between them"
        yield ACUTE_ANGLE.finding(seen.rules, at, where, message, least, LEAST, unit="°")


@dataclass(frozen=True)
class Piece:
    """A straight piece of a track, with the way (degrees) from its start to its end."""

    net: str
    start: Position
    end: Position
    width: float
    way: float

    @cached_property
    def knots(self) -> tuple[Knot, Knot]:
        """Both ends."""
        return (self.net, *knot(self.start)), (self.net, *knot(self.end))


def segments(layer: LayerCopper) -> Iterator[Piece]:
    """Walk the straight pieces of every track."""
    for item in layer.items:
        if item.is_track and isinstance(item.feature, Stroke):
            for start, end in pairwise(item.feature.points):
                if start != end:
                    way = math.degrees(math.atan2(end[1] - start[1], end[0] - start[0]))
                    yield Piece(item.net, start, end, item.feature.width, round(way % 360.0, 4))


def opposite(way: float) -> float:
    """Return the way back."""
    return round((way + 180.0) % 360.0, 4)


def knot(at: Position) -> tuple[int, int]:
    """Return a point as whole nanometres, so that ends that meet are one."""
    return round(at[0] / TOLERANCE), round(at[1] / TOLERANCE)


def passing(pieces: list[Piece], tree: shapely.STRtree, joints: list[Knot]) -> Iterator[tuple[Knot, set[float]]]:
    """Yield the ways along each track of a joint's net in whose copper the joint lies, but not at one of its ends.

    Both ways if the track goes on for more than half its width on either side; beside an end, only the way from it.
    """
    if not pieces:
        return
    lines = tree.geometries
    points = shapely.points([(x * TOLERANCE, y * TOLERANCE) for _, x, y in joints])
    widest = max(piece.width for piece in pieces)
    asked, found = tree.query(points, predicate="dwithin", distance=widest / 2)
    away = shapely.distance(points[asked], lines[found])
    along = shapely.line_locate_point(lines[found], points[asked])
    for i, j, off, done in zip(asked.tolist(), found.tolist(), away.tolist(), along.tolist(), strict=True):
        piece, reach = pieces[j], pieces[j].width / 2
        if piece.net != joints[i][0] or off >= reach or joints[i] in piece.knots:
            continue
        left = math.dist(piece.start, piece.end) - done
        ways = {way for way, room in ((piece.way, left), (opposite(piece.way), done)) if room > reach}
        yield joints[i], ways


def crossing(pieces: list[Piece], tree: shapely.STRtree) -> Iterator[tuple[Knot, set[float]]]:
    """Yield where tracks of one net cross each other between their ends, with the four ways from there."""
    lines = tree.geometries
    one, other = tree.query(lines, predicate="crosses")
    for i, j in zip(one.tolist(), other.tolist(), strict=True):
        if i < j and pieces[i].net == pieces[j].net:
            point = shapely.intersection(lines[i], lines[j])
            at = (pieces[i].net, *knot((point.x, point.y))) if point.geom_type == "Point" else None
            if at and at not in (*pieces[i].knots, *pieces[j].knots):  # a rounding past an end is no crossing
                ways = {way for k in (i, j) for way in (pieces[k].way, opposite(pieces[k].way))}
                yield at, ways


def narrowest(ways: list[float]) -> float:
    """Return the least angle between neighbouring directions (degrees); 360 if there is only one."""
    if len(ways) < 2:
        return 360.0
    turns = np.diff([*ways, ways[0] + 360.0])
    apart = turns[turns > SAME_WAY]
    return float(apart.min()) if len(apart) else 360.0
