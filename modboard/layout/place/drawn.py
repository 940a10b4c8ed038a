"""Copper drawn by hand, and areas without lands: where the lands and holes of a part may not come."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import shapely

from modboard.describe.model import Description, Part
from modboard.geometry import TOLERANCE, Shape, circle
from modboard.layout.board import COPPER_LAYERS, CopperLayer, Pad, PlacedPart
from modboard.library.model import Hole

LAND_TO_VIA = 0.1  # mm of mask between a surface land and a via of its own net, common practice


class Drawn:
    """The drawn copper of a description as a part meets it."""

    def __init__(self, description: Description) -> None:
        self.description = description
        rules = description.rules
        self._nets = description.net_of()
        self._gaps = {net.name: net.gap for net in description.nets}
        self._copper: list[tuple[str, tuple[CopperLayer, ...], Shape]] = [
            (t.net, (t.side,), t.shape) for t in description.drawn_tracks
        ]
        vias = description.drawn_vias
        self._copper += [(v.net, COPPER_LAYERS, circle(v.at, rules.via_land)) for v in vias]
        self._holes = [circle(v.at, rules.via_hole) for v in vias]
        self._free = [k for k in description.keep_outs if "lands" in k.bars]
        self._known: dict[tuple[str | None, tuple[CopperLayer, ...], bool], Any] = {}

    @property
    def any(self) -> bool:
        """Tell whether there is anything to keep away from."""
        return bool(self._copper or self._free)

    def key(self, part: Part) -> str:
        """Return what parts must have in common to have the same places: their name, where nets matter."""
        return part.reference if self._copper else ""

    def limits(self, placed: PlacedPart) -> Iterator[tuple[str, Any, Any]]:
        """Yield (name, outline that moves with the part, area it must stay out of), for lands and holes."""
        if not self.any:
            return
        for pad in placed.pads(self._nets):
            area = self._foreign(pad)
            if not area.is_empty:
                yield "drawn copper", pad.shape.covering_polygon(), area
            if pad.hole and self._holes:
                apart = [h.grown(self.description.rules.hole_to_hole).covering_polygon() for h in self._holes]
                yield "drawn via", pad.hole.shape().covering_polygon(), shapely.union_all(apart)
        for hole, layers, owner in self._bare(placed):
            around = [
                shape.grown(self._off(net, owner)).covering_polygon()
                for net, on, shape in self._copper
                if set(on) & set(layers)
            ]
            if around:
                yield "drawn copper", hole.shape().covering_polygon(), shapely.union_all(around)

    def faults(self, placed: PlacedPart) -> Iterator[tuple[str, float]]:
        """Yield what is wrong where a part stands: in words, and by how many mm."""
        if not self.any:
            return
        rules = self.description.rules
        for pad in placed.pads(self._nets):
            name = f"pad {pad.number} of {pad.reference}"
            for area in self._free:
                if set(area.sides) & set(pad.layers) and (lack := _depth(pad.shape, area.shape)) > TOLERANCE:
                    yield f"{name} is in the keep-out of {area.site}", lack
            for net, layers, shape in self._copper:
                if net != pad.net and set(layers) & set(pad.layers):
                    lack = self._gap(net, pad.net) - pad.shape.distance(shape)
                    if lack > TOLERANCE:
                        yield f"{name} is too near to the copper of {net} drawn by hand", lack
            for hole in self._holes if pad.hole else ():
                assert pad.hole
                if (lack := rules.hole_to_hole - pad.hole.shape().distance(hole)) > TOLERANCE:
                    yield f"the hole of {name} is too near to a via drawn by hand", lack
        for bare, layers, owner in self._bare(placed):
            for net, on, shape in self._copper:
                lack = self._off(net, owner) - bare.shape().distance(shape)
                if set(on) & set(layers) and lack > TOLERANCE:
                    yield f"a hole of {placed.part.reference} is too near to the copper of {net} drawn by hand", lack

    def _bare(self, placed: PlacedPart) -> Iterator[tuple[Hole, tuple[CopperLayer, ...], str | None]]:
        """Yield the part's holes that copper keeps off, where, and their net: pegs, and leads where they are bare."""
        for hole in placed.part.footprint.holes:
            yield placed.hole(hole), COPPER_LAYERS, None
        for pad in placed.pads(self._nets):
            layers = tuple(layer for layer in COPPER_LAYERS if pad.bare(layer, self.description.rules))
            if pad.hole and layers:
                yield pad.hole, layers, pad.net

    def _off(self, net: str, owner: str | None) -> float:
        """Return how far drawn copper of a net is from a bare hole, of a lead on the net `owner` or of nothing."""
        least = self.description.rules.bare_hole_to_copper
        return least if owner is None else max(least, self._gap(net, owner))

    def _gap(self, one: str, other: str | None) -> float:
        return max(self.description.rules.gap, self._gaps.get(one, 0.0), self._gaps.get(other or "", 0.0))

    def _foreign(self, pad: Pad) -> Any:
        """Return where a land of the net of `pad` may not be, on its layers (shapely)."""
        key = (pad.net, pad.layers, pad.hole is None)
        if key not in self._known:
            areas = [k.shape.covering_polygon() for k in self._free if set(k.sides) & set(pad.layers)]
            for net, layers, shape in self._copper:
                if net != pad.net and set(layers) & set(pad.layers):
                    areas.append(shape.grown(self._gap(net, pad.net)).covering_polygon())
            if pad.hole is None:
                vias = [circle(v.at, self.description.rules.via_land) for v in self.description.drawn_vias]
                areas += [v.grown(LAND_TO_VIA).covering_polygon() for v in vias]
            self._known[key] = shapely.union_all(areas)
        return self._known[key]


def _depth(one: Shape, other: Shape) -> float:
    """Return how far two shapes reach into each other: the thickness of their common part, mm."""
    common = one.polygon().intersection(other.polygon())
    if common.area <= TOLERANCE**2:
        return 0.0
    x0, y0, x1, y1 = common.bounds
    return float(min(x1 - x0, y1 - y0))
