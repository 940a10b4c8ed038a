"""Where the edge of the board is, seen from a wall, for the parts that stand against it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from modboard.describe.model import Wall
from modboard.layout.place.standing import Box, Standing

HAIR = 0.01  # mm; more than curves drawn as chords can take
NUDGE = 1e-6  # mm; to look just beside a corner of the outline
DIRECTION: dict[Wall, float] = {"right": 0.0, "top": 90.0, "left": 180.0, "bottom": 270.0}  # outwards, degrees


def upright(wall: Wall) -> bool:
    """Tell whether the wall runs in y (left and right walls do)."""
    return wall in ("left", "right")


def outward(wall: Wall) -> int:
    """Return +1 if outwards is towards greater coordinates, -1 if towards lesser."""
    return 1 if wall in ("right", "top") else -1


def profile(outline: Any, wall: Wall) -> Any:
    """Return the outline's edges as (m, 4) rows: along, outward, along, outward, so that every wall looks alike."""
    points = np.array(outline.exterior.coords)[:, :2]
    along, out = (points[:, 1], points[:, 0]) if upright(wall) else (points[:, 0], points[:, 1])
    out = out * outward(wall)
    return np.column_stack([along[:-1], out[:-1], along[1:], out[1:]])


def edge_beside(edges: Any, low: float, high: float) -> float:
    """Return how far out (in the profile's sense) the board reaches everywhere between `low` and `high` along the wall.

    That is the least, over the span, of the outermost point; -inf if the span leaves the board altogether.
    """
    starts, ends = np.minimum(edges[:, 0], edges[:, 2]), np.maximum(edges[:, 0], edges[:, 2])
    turns = edges[(edges[:, 0] > low) & (edges[:, 0] < high), 0]
    least = np.inf
    for c in np.concatenate([[low + NUDGE, high - NUDGE], turns - NUDGE, turns + NUDGE]):
        hit = (starts <= c) & (c < ends)
        if not hit.any():
            continue  # beyond the end of the board; the other limits judge that
        e = edges[hit]
        least = min(least, float((e[:, 1] + (c - e[:, 0]) * (e[:, 3] - e[:, 1]) / (e[:, 2] - e[:, 0])).max()))
    return least if np.isfinite(least) else -np.inf


def span_along(box: Box, wall: Wall) -> tuple[float, float]:
    """Return the extent of a box along the wall."""
    return (box[1], box[3]) if upright(wall) else (box[0], box[2])


def reach_out(box: Box, wall: Wall) -> float:
    """Return how far a box reaches outwards, in the profile's sense."""
    return {"right": box[2], "left": -box[0], "top": box[3], "bottom": -box[1]}[wall]


@dataclass(frozen=True)
class Stance:
    """How a part stands at an edge: `inset` from courtyard to edge, copper at least `copper` mm inside the edge."""

    wall: Wall
    inset: float
    copper: float

    def origin(self, standing: Standing, edges: Any, along: float) -> Any:
        """Return the origin (x, y) with the body centre at `along` and the courtyard at `inset` from the edge.

        Where that would bring copper too near the edge, the part stands as much further in as the copper needs.
        None if there is no board there.
        """
        shift = along - standing.centre[1 if upright(self.wall) else 0]
        reaches = []
        for box, inset in ((standing.box, self.inset), (standing.land_box, self.copper + HAIR)):
            if box is not None:
                low, high = span_along(box, self.wall)
                reaches.append(edge_beside(edges, low + shift, high + shift) - inset - reach_out(box, self.wall))
        if not np.isfinite(reaches).all():
            return None
        out = min(reaches) * outward(self.wall)
        return (out, shift) if upright(self.wall) else (shift, out)
