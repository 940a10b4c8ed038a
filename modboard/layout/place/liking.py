"""What a place costs by itself: connectors like the edge, nobody likes a crowd."""

from __future__ import annotations

from typing import Any

import numpy as np
from shapely.geometry import Polygon

from modboard.describe.model import Part
from modboard.layout.place.congestion import Congestion
from modboard.layout.place.edges import DIRECTION
from modboard.layout.place.fits import way_out
from modboard.layout.place.room import edges_of
from modboard.layout.place.sites import Sites
from modboard.layout.place.standing import Standing

EDGE_FAMILIES = ("wire-pad", "wire-pads", "header", "socket-strip", "box-header", "screw-terminal", "jack")
FROM_EDGE = 3.0  # cost per mm that a part which likes the edge stands away from it,
FROM_EDGE_PAD = 0.5  # and more for each pad, since each pulls it to its net
ASKEW = 6.0  # cost of such a part standing with its front or its long side the wrong way
NOTCH = 5.0  # mm; dents in the outline narrower than twice this are not edges to stand at
CROWD = 1.5  # cost per mm² of courtyard where the last routing ran out of room


def likes_edge(part: Part) -> bool:
    """Tell whether wires or plugs come to the part from outside the board."""
    family = part.footprint.family
    return any(family == name or family.startswith(name + "-") or family.endswith("-" + name) for name in EDGE_FAMILIES)


def filled(outline: Any) -> Any:
    """Return the outline without its small dents (a post's notch is no edge to stand a connector at)."""
    solid = Polygon(outline.exterior)
    closed = solid.buffer(NOTCH, join_style="mitre").buffer(-NOTCH, join_style="mitre")
    return closed if closed.geom_type == "Polygon" and not closed.is_empty else solid


def faces(standing: Standing, direction: float) -> bool:
    """Tell whether the part, at an edge in `direction`, has its front or its long side there."""
    front = standing.part.footprint.front
    if front is not None:
        facing = (180.0 - front if standing.side == "bottom" else front) + standing.turn
        return abs((facing - direction + 180.0) % 360.0 - 180.0) < 1.0
    x0, y0, x1, y1 = standing.box
    wide, high = x1 - x0, y1 - y0
    return wide >= high - 1e-6 if direction in (90.0, 270.0) else high >= wide - 1e-6


def edge_cost(sites: Sites, outline: Any, part_to_edge: float) -> Any:
    """Return for each site what standing away from the edge costs."""
    edges = edges_of(filled(outline))
    x0, y0, x1, y1 = sites.standing.box
    best = np.full(len(sites), 1e9)
    per_mm = FROM_EDGE + FROM_EDGE_PAD * len(sites.standing.lands)
    for direction in DIRECTION.values():
        dx, dy = {0.0: (1.0, 0.0), 90.0: (0.0, 1.0), 180.0: (-1.0, 0.0), 270.0: (0.0, -1.0)}[direction]
        sx = sites.x + ((x0 + x1) / 2 if dx == 0 else x1 if dx > 0 else x0)
        sy = sites.y + ((y0 + y1) / 2 if dy == 0 else y1 if dy > 0 else y0)
        away = way_out(sx, sy, dx, dy, edges)
        cost = per_mm * np.maximum(0.0, away - part_to_edge)
        best = np.minimum(best, cost + (0.0 if faces(sites.standing, direction) else ASKEW))
    return best


def crowd_cost(sites: Sites, congestion: Congestion) -> Any:
    """Return for each site what standing where it was crowded costs, over the whole courtyard."""
    x0, y0, x1, y1 = sites.standing.box
    penalty = np.asarray(congestion.penalty, dtype=float)
    rows, columns = penalty.shape
    total = np.zeros(len(sites))
    samples = [(fx, fy) for fx in np.linspace(0.1, 0.9, 5) for fy in np.linspace(0.1, 0.9, 5)]
    for fx, fy in samples:
        i = np.floor((sites.x + x0 + fx * (x1 - x0) - congestion.origin[0]) / congestion.pitch).astype(int)
        j = np.floor((sites.y + y0 + fy * (y1 - y0) - congestion.origin[1]) / congestion.pitch).astype(int)
        known = (i >= 0) & (j >= 0) & (i < columns) & (j < rows)
        total[known] += penalty[j[known], i[known]]
    return CROWD * (x1 - x0) * (y1 - y0) * total / len(samples)
