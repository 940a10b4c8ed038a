"""Exact room for a changed track: distances to everything else on the board, vectorised."""

from __future__ import annotations

from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from modboard.describe.model import Description
from modboard.geometry import Position, Shape, stroke
from modboard.layout.board import COPPER_LAYERS, CopperLayer, PlacedPart, Track, Via
from modboard.layout.quiet import kinds, neighbourhoods


class Neighbours:
    """Everything a track of one layer must keep away from, with the track list open to change."""

    def __init__(
        self, description: Description, parts: tuple[PlacedPart, ...], tracks: list[Track], vias: tuple[Via, ...]
    ) -> None:
        self.rules = description.rules
        self.gaps = {net.name: net.gap for net in description.nets}
        self._kinds = kinds(description)
        self._fixed: dict[CopperLayer, _Items] = {}
        nets = description.net_of()
        pads = [pad for placed in parts for pad in placed.pads(nets)]
        self._near = neighbourhoods(description, pads)
        holes = [placed.hole(h) for placed in parts for h in placed.part.footprint.holes]
        for layer in COPPER_LAYERS:
            items = _Items()
            for pad in pads:
                kind = self._kinds.get(pad.net or "", "")
                if layer in pad.layers:
                    items.add(pad.shape, pad.net or "", self._gap(pad.net), kind=kind)
                elif hole := pad.bare(layer, self.rules):
                    items.add(hole.shape(), "", max(self._gap(pad.net), self.rules.bare_hole_to_copper), kind=kind)
            for via in vias:
                items.add(via.shape, via.net, self._gap(via.net), kind=self._kinds.get(via.net, ""))
            for hole in holes:
                items.add(hole.kept_off(self.rules.bare_hole_to_copper), "", 0.0, edge=True)
            for gap in (gap for placed in parts for gap in placed.between_fingers()):
                items.add(Shape(shapely.Polygon(gap), 0.0), "", 0.0, edge=True)
            for mount in description.holes:
                keep = max(mount.keep_out / 2, mount.diameter / 2 + self.rules.bare_hole_to_copper)
                items.add(Shape(shapely.Point(mount.at), keep), "", 0.0)
            for area in description.keep_outs:
                if layer in area.sides and "tracks" in area.bars:
                    items.add(area.shape, "", 0.0, edge=True)
            for ring in (description.outline.exterior, *description.outline.interiors):
                items.add(Shape(shapely.LineString(ring.coords), 0.0), "", self.rules.copper_to_edge, edge=True)
            self._fixed[layer] = items
        self._tracks: dict[CopperLayer, _Items] = {layer: _Items() for layer in COPPER_LAYERS}
        self._slot: list[int] = []
        for track in tracks:
            kind = self._kinds.get(track.net, "")
            self._slot.append(self._tracks[track.layer].add(track.shape, track.net, self._gap(track.net), kind=kind))

    def _gap(self, net: str | None) -> float:
        return max(self.rules.gap, self.gaps.get(net or "", 0.0))

    def replace(self, index: int, track: Track) -> None:
        """Put another shape in the place of track number `index` (same layer)."""
        self._tracks[track.layer].put(self._slot[index], track.shape)

    def free(self, net: str, layer: CopperLayer, points: list[Position], width: float) -> bool:
        """Tell whether a track of `net` drawn through `points` keeps every distance."""
        shape = stroke(points, width)
        gap = self._gap(net)
        there = (self._fixed[layer], self._tracks[layer])
        return all(items.clear(shape, net, gap) for items in there) and self._far(shape, net, there)

    def room(self, net: str, layer: CopperLayer, points: list[Position], width: float, most: float) -> float:
        """Return how much farther (mm) than it must a track drawn so is from everything else, `most` at the most."""
        shape = stroke(points, width)
        gap = self._gap(net)
        return min(items.room(shape, net, gap, most) for items in (self._fixed[layer], self._tracks[layer]))

    def _far(self, shape: Shape, net: str, there: tuple[_Items, _Items]) -> bool:
        """Tell whether a track of a quiet or noisy net keeps well away from those of the other kind."""
        kind = self._kinds.get(net)
        if not kind:
            return True
        core = shape.core.difference(self._near[net]) if net in self._near else shape.core
        other = "noisy" if kind == "quiet" else "quiet"
        return core.is_empty or all(i.far(Shape(core, shape.radius), other, self.rules.quiet_gap) for i in there)


class _Items:
    """Cores with radii, nets and gaps as arrays."""

    def __init__(self) -> None:
        self._cores: list[Any] = []
        self._rows: list[tuple[float, float, float, float, float, float]] = []  # bounds, radius, gap
        self._nets: list[str] = []
        self._edges: list[bool] = []
        self._kinds: list[str] = []
        self._arrays: tuple[NDArray[Any], NDArray[np.float64], NDArray[Any], NDArray[np.bool_]] | None = None

    def add(self, shape: Shape, net: str, gap: float, edge: bool = False, kind: str = "") -> int:
        self._cores.append(shape.core)
        self._rows.append((*shape.core.bounds, shape.radius, gap))
        self._nets.append(net)
        self._edges.append(edge)
        self._kinds.append(kind)
        self._arrays = None
        return len(self._cores) - 1

    def put(self, slot: int, shape: Shape) -> None:
        self._cores[slot] = shape.core
        self._rows[slot] = (*shape.core.bounds, shape.radius, self._rows[slot][5])
        if self._arrays is not None:
            self._arrays[0][slot] = shape.core
            self._arrays[1][slot] = self._rows[slot]

    def far(self, shape: Shape, kind: str, gap: float) -> bool:
        """Tell whether a shape keeps `gap` from everything of that kind."""
        near = [k for k, its in enumerate(self._kinds) if its == kind]
        reach = [self._rows[k][4] + shape.radius + gap for k in near]
        return bool(np.all(shapely.distance([self._cores[k] for k in near], shape.core) >= np.array(reach) - 1e-9))

    def clear(self, shape: Shape, net: str, gap: float) -> bool:
        return self.room(shape, net, gap, 0.0) >= -1e-9

    def room(self, shape: Shape, net: str, gap: float, most: float) -> float:
        """Return by how much a shape is farther away than it must from the nearest item; never more than `most`."""
        if not self._cores:
            return most
        if self._arrays is None:
            cores = np.empty(len(self._cores), object)
            cores[:] = self._cores
            self._arrays = (cores, np.array(self._rows), np.array(self._nets), np.array(self._edges))
        cores, rows, nets, edges = self._arrays
        x0, y0, x1, y1 = shape.core.bounds
        need = rows[:, 4] + shape.radius + np.where(edges, rows[:, 5], np.maximum(rows[:, 5], gap))
        far = need + most
        near = (rows[:, 0] - far < x1) & (rows[:, 2] + far > x0) & (rows[:, 1] - far < y1) & (rows[:, 3] + far > y0)
        near &= (nets != net) | (nets == "")
        k = np.flatnonzero(near)
        if not len(k):
            return most
        return min(most, float(np.min(shapely.distance(cores[k], shape.core) - need[k])))
