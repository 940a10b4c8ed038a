"""The copper of a board, gathered once from the artwork and shared by every rule that measures it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from modboard.artwork.model import Artwork, Drill, Feature, Flash, Region, Stroke
from modboard.check.joins import Joins
from modboard.check.shapeset import Indices, Lengths, ShapeSet
from modboard.geometry import TOLERANCE, Shape
from modboard.layout.board import COPPER_LAYERS, CopperLayer


@dataclass(frozen=True, eq=False, slots=True)
class CopperItem:
    """One piece of copper on one layer: a feature of the layer, or the wall of a plated hole that crosses it.

    `potential` is what must stay apart from everything else: the net's name, or for copper on no net the pad it
    belongs to; board text and the like share "".
    """

    feature: Feature | Drill
    layer: CopperLayer
    number: int  # place in the layer's drawing order; holes follow after the features

    @property
    def shape(self) -> Shape:
        """The exact outline."""
        return self.feature.shape

    @property
    def net(self) -> str:
        """The net's name, "" for none."""
        return self.feature.owner.net

    @property
    def potential(self) -> str:
        """What this copper is joined to by intent."""
        owner = self.feature.owner
        if owner.net:
            return owner.net
        return f"\0{owner.reference}.{owner.number}" if owner.reference else ""

    @property
    def is_pad(self) -> bool:
        """Tell whether a part's lead is soldered to this copper."""
        return isinstance(self.feature, Flash) and bool(self.feature.owner.reference)

    @property
    def is_hole(self) -> bool:
        """Tell whether this is the wall of a plated hole."""
        return isinstance(self.feature, Drill)

    @property
    def is_track(self) -> bool:
        """Tell whether this is a stroke that carries current."""
        return isinstance(self.feature, Stroke) and self.feature.function == "conductor"

    @property
    def is_pour(self) -> bool:
        """Tell whether this is poured copper."""
        return isinstance(self.feature, Region)

    @property
    def thing(self) -> tuple[Any, ...]:
        """What a person sees this as: the pad, via, track or pour it belongs to, the same on both layers for holes."""
        feature = self.feature
        if isinstance(feature, Flash | Drill):
            if feature.owner.reference:
                return ("pad", feature.owner.reference, feature.owner.number, feature.at)
            return ("via", feature.at, feature.owner.net)
        return ("item", self.layer, self.number)


@dataclass(frozen=True, eq=False)
class ClosePairs:
    """Pairs of items of one layer that are closer than the larger of their gaps, and how far apart they are."""

    first: Indices
    second: Indices
    gap: Lengths
    required: Lengths


class LayerCopper:
    """The items of one copper layer as parallel arrays: shapes, potentials (numbered) and gaps to keep."""

    def __init__(self, layer: CopperLayer, items: list[CopperItem], net_gaps: dict[str, float], gap: float) -> None:
        self.layer = layer
        self.items = items
        numbers: dict[str, int] = {}
        shapes, potentials, gaps = [], [], []
        for item in items:  # all of an item at once, while it is at hand
            shapes.append(item.shape)
            potentials.append(numbers.setdefault(item.potential, len(numbers)))
            gaps.append(max(gap, net_gaps.get(item.net, 0.0)))
        self.shapes = ShapeSet(shapes)
        self.potentials: NDArray[np.intp] = np.array(potentials, dtype=np.intp)
        self.gaps: Lengths = np.array(gaps, dtype=float)

    @cached_property
    def close(self) -> ClosePairs:
        """Every pair, of one net or two, closer than the larger of the gaps that the two must keep.

        Each item is asked for what lies within its own gap; the item with the larger gap finds the pair.  In order, so
        that whoever walks them reads the items as they lie in memory.
        """
        asked, found = self.shapes.near(self.shapes, self.gaps)
        mine, theirs = self.gaps[asked], self.gaps[found]
        once = (mine > theirs) | ((mine == theirs) & (asked < found))
        asked, found, required = asked[once], found[once], mine[once]
        gap = self.shapes.gaps(self.shapes, asked, found)
        close = np.flatnonzero(gap < required - TOLERANCE)
        kept = close[np.lexsort((found[close], asked[close]))]
        return ClosePairs(asked[kept], found[kept], gap[kept], required[kept])


class Copper:
    """Both copper layers, and what is joined to what by touching and through plated holes."""

    def __init__(self, artwork: Artwork) -> None:
        rules = artwork.board.description.rules
        net_gaps = {net.name: net.gap for net in artwork.board.description.nets}
        self.bridges = {p.part.reference for p in artwork.board.parts if p.part.footprint.bridge}
        joining = [d for d in artwork.drills if joins_layers(d, rules.layers_plated)]
        self.layers: dict[CopperLayer, LayerCopper] = {}
        for name in COPPER_LAYERS:
            features = [*drawn(artwork, "copper", name), *joining]
            items = [CopperItem(f, name, number) for number, f in enumerate(features)]
            self.layers[name] = LayerCopper(name, items, net_gaps, rules.gap)

    @property
    def items(self) -> list[CopperItem]:
        """Every item, top layer first."""
        return [item for layer in self.layers.values() for item in layer.items]

    @cached_property
    def joins(self) -> Joins:
        """Which items hang together: touching on a layer, or the two ends of one plated hole; within a net only."""
        top, bottom = self.layers["top"], self.layers["bottom"]
        joins = Joins(len(top.items) + len(bottom.items))
        for start, layer in ((0, top), (len(top.items), bottom)):
            pairs = layer.close
            touch = (pairs.gap <= TOLERANCE) & (layer.potentials[pairs.first] == layer.potentials[pairs.second])
            for i, j in zip(pairs.first[touch].tolist(), pairs.second[touch].tolist(), strict=True):
                joins.join(start + i, start + j)
        upper = [i for i, item in enumerate(top.items) if item.is_hole]
        lower = [len(top.items) + i for i, item in enumerate(bottom.items) if item.is_hole]
        for i, j in zip(upper, lower, strict=True):
            joins.join(i, j)
        wired: dict[str, int] = {}
        for number, item in enumerate(self.items):  # a wire link joins its lands
            reference = item.feature.owner.reference
            if item.is_pad and reference in self.bridges:
                joins.join(wired.setdefault(reference, number), number)
        return joins


def drawn(artwork: Artwork, kind: Literal["copper", "mask", "legend"], side: CopperLayer) -> tuple[Feature, ...]:
    """Return the features of one layer of one side in drawing order."""
    return next((layer.features for layer in artwork.layers if layer.name == f"{kind}-{side}"), ())


def joins_layers(drill: Drill, layers_plated: bool) -> bool:
    """Tell whether a hole joins the copper of both layers: plated, or one that a lead or wire link will fill."""
    return drill.plated or (not layers_plated and has_land(drill))


def has_land(drill: Drill) -> bool:
    """Tell whether a hole belongs to a pad or a via, and so needs copper round it."""
    return drill.plated or bool(drill.owner.reference or drill.owner.net)
