"""Sharp angles in tracks, where etchant collects: between the legs of one track, and where a branch leaves another."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator
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

LEAST = 90.0  # degrees, common practice
SAME_WAY = 1.0  # degrees; legs that close lie on each other and leave no corner between them
ROUNDING = 0.01  # degrees that points on a grid of a nanometre may turn a right angle


def inspect(seen: Inspection) -> Iterator[Finding]:
    """Look at every corner and every branch of the tracks of each layer."""
    for layer in seen.copper.layers.values():
        yield from sharp(seen, layer)


def sharp(seen: Inspection, layer: LayerCopper) -> Iterator[Finding]:
    """Report joints outside lands whose legs leave less than a right angle between them."""
    legs: dict[tuple[str, int, int], set[float]] = defaultdict(set)
    for net, start, end in segments(layer):
        way = math.degrees(math.atan2(end[1] - start[1], end[0] - start[0]))
        legs[(net, *knot(start))].add(round(way % 360.0, 4))
        legs[(net, *knot(end))].add(round((way + 180.0) % 360.0, 4))
    for key, ways in passing(layer, legs).items():
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


def segments(layer: LayerCopper) -> Iterator[tuple[str, Position, Position]]:
    """Walk the straight pieces of every track with their nets."""
    for item in layer.items:
        if item.is_track and isinstance(item.feature, Stroke):
            points = item.feature.points
            for start, end in pairwise(points):
                if start != end:
                    yield item.net, start, end


def knot(at: Position) -> tuple[int, int]:
    """Return a point as whole nanometres, so that ends that meet are one."""
    return round(at[0] / TOLERANCE), round(at[1] / TOLERANCE)


def passing(
    layer: LayerCopper, joints: dict[tuple[str, int, int], set[float]]
) -> dict[tuple[str, int, int], set[float]]:
    """Return the two ways along each track that passes through a joint of its net without a corner there."""
    pieces = list(segments(layer))
    keys = list(joints)
    if not pieces:
        return {}
    lines = shapely.linestrings([[start, end] for _, start, end in pieces])
    points = shapely.points([(x * TOLERANCE, y * TOLERANCE) for _, x, y in keys])
    asked, found = shapely.STRtree(lines).query(points, predicate="dwithin", distance=10 * TOLERANCE)
    ways: dict[tuple[str, int, int], set[float]] = defaultdict(set)
    for i, j in zip(asked.tolist(), found.tolist(), strict=True):
        net, start, end = pieces[j]
        if net == keys[i][0] and keys[i][1:] not in (knot(start), knot(end)):
            way = math.degrees(math.atan2(end[1] - start[1], end[0] - start[0]))
            ways[keys[i]] |= {round(way % 360.0, 4), round((way + 180.0) % 360.0, 4)}
    return ways


def narrowest(ways: list[float]) -> float:
    """Return the least angle between neighbouring directions (degrees); 360 if there is only one."""
    if len(ways) < 2:
        return 360.0
    turns = np.diff([*ways, ways[0] + 360.0])
    apart = turns[turns > SAME_WAY]
    return float(apart.min()) if len(apart) else 360.0
