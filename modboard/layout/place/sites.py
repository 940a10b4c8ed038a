"""The places where a part may stand, as a lattice of cells, and what each place costs by itself."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely

from modboard.describe.model import AtEdge
from modboard.geometry import Position
from modboard.layout.place.edges import Stance, edge_beside, outward, profile, reach_out, span_along, upright
from modboard.layout.place.room import Limit, Room, edges_of
from modboard.layout.place.standing import Standing, hull_points
from modboard.layout.place.windows import beside_windows, in_own_window

BACK_FROM_WALL = 2.0  # cost per mm that a part at an edge stands back where the outline does
NOTCH = 1.0  # mm; further back than this is not at the edge but in a notch, taken only if nothing else is free


@dataclass(frozen=True)
class Lattice:
    """Where pad 1 of through-hole parts and the middles of surface-mount parts go: `origin` + whole `pitch`es."""

    origin: Position
    pitch: float


@dataclass(frozen=True)
class Sites:
    """The places of one part in one turn.  `cells` (rows, columns) holds the number of the site or -1.

    `frame` is the origin of cell (0, 0) and the pitch.
    """

    standing: Standing
    x: Any
    y: Any
    cells: Any
    frame: tuple[float, float, float]
    cost: Any
    at_edge: bool = False

    def __len__(self) -> int:
        return len(self.x)


def first_step(least: float, start: float, pitch: float) -> int:
    """Return the first whole step from `start` that is not below `least`."""
    return math.ceil((least - start) / pitch - 1e-9)


def lattice_steps(low: float, high: float, start: float, pitch: float) -> Any:
    """Return all lattice coordinates from `low` to `high`, always at least one."""
    first = first_step(low, start, pitch)
    last = math.floor((high - start) / pitch + 1e-9)
    return np.round(start + pitch * np.arange(first, max(first, last) + 1), 9)


def open_sites(room: Room, standing: Standing, lattice: Lattice) -> Sites:
    """Return every lattice place on the board where the part may stand."""
    ax0, ay0, ax1, ay1 = room.area(standing.side).bounds if not room.area(standing.side).is_empty else (0, 0, 0, 0)
    x0, y0, x1, y1 = standing.box
    xs = lattice_steps(ax0 - x0, ax1 - x1, lattice.origin[0] - standing.snap[0], lattice.pitch)
    ys = lattice_steps(ay0 - y0, ay1 - y1, lattice.origin[1] - standing.snap[1], lattice.pitch)
    gx, gy = np.meshgrid(xs, ys)
    ok = room.allowed(standing, gx.ravel(), gy.ravel()).reshape(gx.shape)
    return collect(standing, gx, gy, ok, (float(xs[0]), float(ys[0]), lattice.pitch), np.zeros(int(ok.sum())))


def collect(standing: Standing, gx: Any, gy: Any, ok: Any, frame: Any, cost: Any, at_edge: bool = False) -> Sites:
    """Return the sites for the allowed cells of a grid of places."""
    cells = np.full(ok.shape, -1, dtype=np.int32)
    cells[ok] = np.arange(int(ok.sum()), dtype=np.int32)
    return Sites(standing, gx[ok], gy[ok], cells, frame, cost, at_edge)


def edge_sites(room: Room, standing: Standing, wish: AtEdge, lattice: Lattice) -> Sites:
    """Return the places along an edge, one lattice step apart, or the one place that was asked for."""
    description = room.description
    edges = profile(description.outline, wish.wall)
    axis = 1 if upright(wish.wall) else 0
    centre = standing.centre[axis]
    low, high = span_along(standing.box, wish.wall)
    if wish.along is not None:
        steps = np.array([wish.along - centre])
    else:
        ends = (edges[:, 0].min(), edges[:, 0].max())
        steps = lattice_steps(ends[0] - low, ends[1] - high, lattice.origin[axis] - standing.snap[axis], lattice.pitch)
    farthest = edges[:, 1].max()
    stance = Stance(wish.wall, wish.inset, description.rules.copper_to_edge)
    xy = stance.origins(standing, edges, steps + centre)
    cost = BACK_FROM_WALL * (farthest - edge_beside(edges, low + steps, high + steps))
    ok = np.isfinite(xy).all(axis=1)
    xy[~ok] = 1e6
    ok &= room.allowed(standing, np.ascontiguousarray(xy[:, 0]), np.ascontiguousarray(xy[:, 1]), at_edge=True)
    if wish.along is None:
        for better in (cost <= BACK_FROM_WALL * NOTCH, sideways_clear(room, standing, wish, xy)):
            ok = ok & better if (ok & better).any() else ok
    if wish.along is None and standing.body_box is not None:
        start, end = span_along(standing.body_box, wish.wall)
        facing = (description, standing.part, wish.wall, steps + (start + end) / 2, end - start)
        cost = cost + beside_windows(*facing)
        ok = in_own_window(*facing, ok)
    shape = (len(steps), 1) if axis == 1 else (1, len(steps))
    frame = (0.0, float(steps[0]), lattice.pitch) if axis == 1 else (float(steps[0]), 0.0, lattice.pitch)
    grids = xy[:, 0].reshape(shape), xy[:, 1].reshape(shape)
    return collect(standing, *grids, ok.reshape(shape), frame, cost[ok], at_edge=True)


def sideways_clear(room: Room, standing: Standing, wish: AtEdge, xy: Any) -> Any:
    """Tell where the part keeps its distance from every edge but the one it stands against."""
    cut = max(0.0, room.description.rules.part_to_edge - wish.inset)
    limit = reach_out(standing.box, wish.wall) - cut
    big = 1e4
    sign = outward(wish.wall)
    a, b = sorted((-big * sign, limit * sign))
    half = shapely.box(a, -big, b, big) if upright(wish.wall) else shapely.box(-big, a, big, b)
    rest = standing.courtyard.convex_hull.intersection(half)
    if rest.is_empty or rest.geom_type != "Polygon":
        return np.ones(len(xy), dtype=bool)
    test = Limit("sideways", hull_points(rest), edges_of(room.part_area), True)
    return test.passes(np.ascontiguousarray(xy[:, 0]), np.ascontiguousarray(xy[:, 1]))
