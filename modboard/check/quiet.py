"""Quiet nets beside noisy ones: runs nearer than asked, but for the neighbourhood of parts that both are on.

Poured copper of a third net between the two takes up what would couple: what it lies between is not counted.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import shapely

from modboard.check.copper import CopperItem, LayerCopper
from modboard.check.findings import Finding
from modboard.check.inspection import Inspection
from modboard.check.rule import Rule
from modboard.geometry import TOLERANCE, Position
from modboard.layout.quiet import neighbourhood, pairs

QUIET_NEAR_NOISY = Rule(
    "quiet-near-noisy",
    "warning",
    "tracks of quiet nets keep their distance from noisy nets, or a pour lies between",
    "move the two apart, put poured copper between them, or give the layout more room",
    limit="quiet_gap",
)
RULES = (QUIET_NEAR_NOISY,)

STEP = 0.2  # mm between the points at which a run is measured


def inspect(seen: Inspection) -> Iterator[Finding]:
    """Measure each pair of a quiet and a noisy net, on each layer."""
    for quiet, noisy in pairs(seen.description):
        free = neighbourhood(seen.description, seen.board.pads, quiet, noisy)
        for layer in seen.copper.layers.values():
            near = list(close(layer, quiet, noisy, free, seen.rules.quiet_gap))
            if near:
                gap, at = min(near)
                length = STEP * len(near)
                where = f"nets {quiet} and {noisy}, {layer.layer}"
                message = f"a quiet and a noisy net run beside each other for about {length:.1f} mm"
                yield QUIET_NEAR_NOISY.finding(seen.rules, at, where, message, gap, seen.rules.quiet_gap)


def close(layer: LayerCopper, quiet: str, noisy: str, free: Any, least: float) -> Iterator[tuple[float, Position]]:
    """Yield (gap, place) for points every `STEP` along tracks of either net that are too near to the other's copper.

    Of two tracks only the quiet one is walked.
    """
    for mine, theirs in ((quiet, noisy), (noisy, quiet)):
        others = [i for i in layer.items if i.net == theirs and (mine == quiet or not i.is_track)]
        if not others:
            continue
        shields = [i.shape.core for i in layer.items if i.is_pour and i.net not in (quiet, noisy)]
        tree = shapely.STRtree([i.shape.core for i in others])
        widest = max(i.shape.radius for i in others)
        for item in layer.items:
            if item.net == mine and item.is_track:
                reach = least + item.shape.radius + widest
                near = [others[k] for k in tree.query(item.shape.core, predicate="dwithin", distance=reach)]
                for point in walked(item.shape.core, free) if near else ():
                    yield from too_near(point, item, near, shields, least)


def walked(core: Any, free: Any) -> Iterator[Any]:
    """Yield points along a track's middle line, every `STEP` and at its end, outside the area `free`."""
    count = int(core.length / STEP) + 1
    for point in [core.interpolate(min(k * STEP, core.length)) for k in range(count + 1)]:
        if not free.intersects(point):
            yield point


def too_near(
    point: Any, item: CopperItem, others: list[CopperItem], shields: list[Any], least: float
) -> Iterator[tuple[float, Position]]:
    """Yield the gap at a point of a track to the nearest of `others`, if it is too small and no pour lies between."""
    other = min(others, key=lambda o: float(shapely.distance(o.shape.core, point)) - o.shape.radius)
    gap = float(shapely.distance(other.shape.core, point)) - other.shape.radius - item.shape.radius
    if gap < least - TOLERANCE:
        line = shapely.shortest_line(point, other.shape.core)
        if not any(shapely.intersects(shield, line) for shield in shields):
            yield max(gap, 0.0), (round(point.x, 6), round(point.y, 6))
