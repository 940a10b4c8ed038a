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


def outermost(edges: Any, at: Any) -> Any:
    """Return how far out the board reaches at each place (n,) along the wall; +inf beyond the ends of the board."""
    starts, ends = np.minimum(edges[:, 0], edges[:, 2]), np.maximum(edges[:, 0], edges[:, 2])
    run = edges[:, 2] - edges[:, 0]
    slope = (edges[:, 3] - edges[:, 1]) / np.where(run == 0.0, 1.0, run)
    reach = edges[:, 1] + (at[:, None] - edges[:, 0]) * slope
    crossed = (starts <= at[:, None]) & (at[:, None] < ends)
    return np.where(crossed.any(axis=1), np.where(crossed, reach, -np.inf).max(axis=1), np.inf)


def edge_beside(edges: Any, low: Any, high: Any) -> Any:
    """Return how far out (in the profile's sense) the board reaches everywhere between `low` and `high` along the wall.

    That is the least, over each span (n,), of the outermost point; -inf if the span leaves the board altogether.  What
    lies beyond the end of the board is for the other limits to judge.
    """
    low, high = np.atleast_1d(low), np.atleast_1d(high)
    turns = edges[:, 0]
    at_turns = np.minimum(outermost(edges, turns - NUDGE), outermost(edges, turns + NUDGE))
    within = (turns > low[:, None]) & (turns < high[:, None])
    at_ends = np.minimum(outermost(edges, low + NUDGE), outermost(edges, high - NUDGE))
    least = np.minimum(at_ends, np.where(within, at_turns, np.inf).min(axis=1))
    return np.where(np.isfinite(least), least, -np.inf)


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

    def origins(self, standing: Standing, edges: Any, along: Any) -> Any:
        """Return the origins (n, 2) with the body centre at each `along` (n,), the courtyard at `inset` from the edge.

        Where that would bring copper too near the edge, the part stands as much further in as the copper needs.
        Not-a-number where there is no board.
        """
        shift = np.atleast_1d(along) - standing.centre[1 if upright(self.wall) else 0]
        reaches = []
        for box, inset in ((standing.box, self.inset), (standing.land_box, self.copper + HAIR)):
            if box is not None:
                low, high = span_along(box, self.wall)
                reaches.append(edge_beside(edges, low + shift, high + shift) - inset - reach_out(box, self.wall))
        out = np.min(reaches, axis=0) * outward(self.wall)
        out = np.where(np.isfinite(reaches).all(axis=0), out, np.nan)
        return np.column_stack([out, shift] if upright(self.wall) else [shift, out])
