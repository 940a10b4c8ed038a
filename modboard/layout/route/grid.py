"""The routing lattice and its maps of fixed copper, holes and board edge.

Legality of a node is decided by exact distance from the node to each obstacle's core (point, line or polygon), not by a
picture of the obstacle; near corners the reach is a little longer, since a diagonal step passes a corner nearer than
its two end nodes do.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from modboard.describe.model import KeepOut
from modboard.describe.rules import Rules
from modboard.geometry import Position, Shape, circle
from modboard.layout.board import CopperLayer, Pad
from modboard.layout.quiet import opposite
from modboard.layout.route import kernels
from modboard.layout.route.pens import Pen, PenSet

SURFACE_PAD_TO_VIA = 0.1  # mm of mask left between a via land and a surface pad of its own net, common practice
MOST_NODES = 1 << 24  # per both layers; the search packs a node into 24 bits


@dataclass(frozen=True)
class Lattice:
    """A square lattice of nodes: node (column, row) lies at origin + pitch * (column, row)."""

    origin: Position
    pitch: float
    width: int
    height: int

    @property
    def nodes(self) -> int:
        """Return the nodes on one layer."""
        return self.width * self.height

    def to_cells(self, points: Any) -> NDArray[np.float64]:
        """Return points (mm) as lattice coordinates."""
        return (np.asarray(points, float).reshape(-1, 2) - self.origin) / self.pitch

    def position(self, node: int) -> Position:
        """Return the place of a node in mm, rounded to 1 nm."""
        p = node % self.nodes
        x, y = p % self.width, p // self.width
        return (round(self.origin[0] + x * self.pitch, 6), round(self.origin[1] + y * self.pitch, 6))

    def nearest(self, at: Position) -> int:
        """Return the top-layer node nearest to a place."""
        (cx, cy), *_ = self.to_cells(at)
        x = min(max(math.floor(cx + 0.5), 0), self.width - 1)
        y = min(max(math.floor(cy + 0.5), 0), self.height - 1)
        return int(y * self.width + x)

    def inside(self, area: Any) -> NDArray[np.int64]:
        """Return the top-layer nodes that lie in a shapely area, in order."""
        if area.is_empty:
            return np.empty(0, np.int64)
        low, high = self.to_cells(area.bounds[:2])[0], self.to_cells(area.bounds[2:])[0]
        x0, y0 = max(0, math.ceil(low[0])), max(0, math.ceil(low[1]))
        x1, y1 = min(self.width - 1, math.floor(high[0])), min(self.height - 1, math.floor(high[1]))
        if x1 < x0 or y1 < y0:
            return np.empty(0, np.int64)
        cols, rows = np.meshgrid(np.arange(x0, x1 + 1), np.arange(y0, y1 + 1))
        own = shapely.transform(area, np.copy)  # preparing a shape that another thread reads is not safe
        shapely.prepare(own)
        found = shapely.contains_xy(own, self.origin[0] + cols * self.pitch, self.origin[1] + rows * self.pitch)
        nodes: NDArray[np.int64] = (rows[found] * self.width + cols[found]).astype(np.int64)
        return nodes


def lattice_over(outline: Any, pads: tuple[Pad, ...], pitch: float) -> Lattice:
    """Return a lattice over the board, shifted so that as many pad centres as can be lie on nodes."""
    x0, y0, x1, y1 = outline.bounds
    shift = []
    for axis, low in ((0, x0), (1, y0)):
        rests = [round(((pad.at[axis] - low) % pitch) / pitch * 20) % 20 for pad in pads]
        best = max(range(20), key=lambda k: (rests.count(k), -k)) if rests else 0
        shift.append(low + best / 20 * pitch - (pitch if best else 0.0))
    if pads:  # land exactly on the pads that share the winning shift
        for axis in (0, 1):
            for pad in pads:
                off = (pad.at[axis] - shift[axis]) / pitch
                if abs(off - round(off)) <= 0.5 / 20:
                    shift[axis] = pad.at[axis] - round(off) * pitch
                    break
    width = math.ceil((x1 - shift[0]) / pitch) + 1
    height = math.ceil((y1 - shift[1]) / pitch) + 1
    return Lattice((shift[0], shift[1]), pitch, width, height)


@dataclass(frozen=True)
class Obstacle:
    """Fixed copper of `net` (None = nobody's) on `layers`, or a bare hole or edge; `gap` it asks for itself."""

    shape: Shape
    net: int | None
    layers: tuple[CopperLayer, ...]
    gap: float
    kind: str = ""  # of its net: "quiet", "noisy" or neither


def cores(shape: Shape) -> Iterator[tuple[NDArray[np.float64], bool]]:
    """Yield the core of a shape as (points, closed)."""
    kind = shape.core.geom_type
    if kind == "Polygon":
        yield shapely.get_coordinates(shape.core.exterior)[:-1], True
    else:
        yield shapely.get_coordinates(shape.core), False


class Maps:
    """`own[pen, node]` for every pen: which nets may put their centre where."""

    def __init__(self, lattice: Lattice, pens: PenSet, rules: Rules) -> None:
        self.lattice = lattice
        self.pens = pens
        self.rules = rules
        self.own = np.full((len(pens.pens), 2 * lattice.nodes), kernels.FREE, np.int32)

    def bar_outside(self, outline: Any, edge_gap: float) -> None:
        """Bar everything nearer to the board edge than `edge_gap` plus the pen, and everything beyond it."""
        n = self.lattice.nodes
        outside = np.ones(n, np.bool_)
        outside[self.lattice.inside(outline)] = False
        for row in range(len(self.pens.pens)):
            self.own[row, :n][outside] = kernels.BARRED
            self.own[row, n:][outside] = kernels.BARRED
        for ring in (outline.exterior, *outline.interiors):
            points = self.lattice.to_cells(ring.coords)
            for a, b in itertools.pairwise(points):
                self._bar(np.array([a, b]), False, None, ("top", "bottom"), edge_gap, fixed_gap=True)

    def bar_obstacles(self, obstacles: list[Obstacle]) -> None:
        """Bar foreign nets from fixed copper."""
        for obstacle in obstacles:
            for points, closed in cores(obstacle.shape):
                cells = self.lattice.to_cells(points)
                radius = obstacle.shape.radius
                self._bar(cells, closed, obstacle.net, obstacle.layers, obstacle.gap, radius, kind=obstacle.kind)

    def bar_holes(self, holes: list[tuple[Shape, bool]]) -> None:
        """Keep vias a web away from every hole, and all copper away from bare ones: (shape, plated)."""
        for shape, plated in holes:
            for points, closed in cores(shape):
                cells = self.lattice.to_cells(points)
                for row, pen in enumerate(self.pens.pens):
                    if pen.via:
                        reach = shape.radius + self.rules.hole_to_hole + pen.hole / 2
                        self._bar_row(row, pen, cells, closed, None, ("top", "bottom"), reach)
                if not plated:
                    gap = self.rules.bare_hole_to_copper
                    self._bar(cells, closed, None, ("top", "bottom"), gap, shape.radius)

    def bar_vias_near(self, pads: list[Pad]) -> None:
        """Keep vias of every net, their own too, off surface pads."""
        for pad in pads:
            for points, closed in cores(pad.shape):
                cells = self.lattice.to_cells(points)
                for row, pen in enumerate(self.pens.pens):
                    if pen.via:
                        reach = pad.shape.radius + pen.half + SURFACE_PAD_TO_VIA
                        self._bar_row(row, pen, cells, closed, None, pad.layers, reach)

    def bar_area(self, at: Position, diameter: float) -> None:
        """Keep all copper out of a round area (under a screw head)."""
        self.bar_obstacles([Obstacle(circle(at, diameter), None, ("top", "bottom"), 0.0)])

    def bar_keep_out(self, area: KeepOut) -> None:
        """Keep tracks, vias or both wholly out of an area, as it says."""
        for points, closed in cores(area.shape):
            cells = self.lattice.to_cells(points)
            for row, pen in enumerate(self.pens.pens):
                if ("vias" if pen.via else "tracks") in area.bars:
                    self._bar_row(row, pen, cells, closed, None, area.sides, area.radius + pen.half)

    def bar_shape(self, shape: Shape, track_reach: float | None, via_reach: float) -> None:
        """Bar tracks of every net on top (None: not) and vias that come nearer to a shape than these reaches."""
        for points, closed in cores(shape):
            cells = self.lattice.to_cells(points)
            for row, pen in enumerate(self.pens.pens):
                reach = via_reach if pen.via else track_reach
                if reach is not None:
                    self._bar_row(row, pen, cells, closed, None, ("top",), shape.radius + reach)

    def bar_pen(self, row: int, area: Any) -> None:
        """Bar one pen from an area (shapely) on both layers, so that its net must take the neck pen there."""
        nodes = self.lattice.inside(area)
        self.own[row, nodes] = kernels.BARRED
        self.own[row, nodes + self.lattice.nodes] = kernels.BARRED

    def _bar(
        self,
        cells: NDArray[np.float64],
        closed: bool,
        net: int | None,
        layers: tuple[CopperLayer, ...],
        gap: float,
        radius: float = 0.0,
        fixed_gap: bool = False,
        kind: str = "",
    ) -> None:
        for row, pen in enumerate(self.pens.pens):
            apart = gap if fixed_gap else max(gap, pen.gap)
            if opposite(kind, pen.kind):
                apart = max(apart, self.rules.quiet_gap)
            self._bar_row(row, pen, cells, closed, net, layers, radius + pen.half + apart)

    def _bar_row(
        self,
        row: int,
        pen: Pen,
        cells: NDArray[np.float64],
        closed: bool,
        net: int | None,
        layers: tuple[CopperLayer, ...],
        reach: float,
    ) -> None:
        lattice = self.lattice
        halves = (0,) if pen.via else tuple(0 if layer == "top" else 1 for layer in layers)
        for half in halves:
            kernels.bar_core(
                self.own[row], half * lattice.nodes, lattice.width, lattice.height,
                np.ascontiguousarray(cells), closed, (reach - 1e-6) / lattice.pitch,
                kernels.BARRED if net is None else net,
            )  # fmt: skip
