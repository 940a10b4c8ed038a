"""Nets rebuilt from the geometry of copper and plated holes alone.

An island is one connected piece of copper on one layer.  A plated hole joins every island that it cuts, on both layers;
so does a bare one that its file says is for a lead or a wire, for that is soldered on both sides.
Names play no part in what is joined; they are only looked up afterwards, to say which pins an island reaches.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np
import shapely

from modboard.fab.readback.layer import ReadLayer, ReadObject
from modboard.fab.readback.package import COPPERS, ReadPackage, read_package

PinName = tuple[str, str]  # reference and pin number, from .P
LINK = "wire-link"  # how the footprint of a part that is a wire begins (.CFtp)
SOLDERED = ("ComponentDrill",)  # GLFS 5.6.10: for leads and wires


@dataclass(frozen=True)
class CopperNet:
    """Copper that hangs together: the pins on it and the net names its objects claim (.N), by geometry alone."""

    pins: frozenset[PinName]
    names: frozenset[str]


@dataclass(frozen=True)
class Connectivity:
    """All islands of both copper layers with the group that each belongs to."""

    islands: tuple[Any, Any]  # arrays of shapely polygons, top and bottom
    groups: tuple[Any, Any]  # arrays of group numbers, one for each island
    nets: tuple[CopperNet, ...]  # by group number

    @cached_property
    def _trees(self) -> tuple[Any, Any]:
        return (shapely.STRtree(self.islands[0]), shapely.STRtree(self.islands[1]))

    def group_at(self, layer: int, at: tuple[float, float]) -> int | None:
        """Return the group of the copper at a point of layer 0 (top) or 1 (bottom); None where there is none."""
        found = self._trees[layer].query(shapely.Point(at), predicate="intersects")
        return int(self.groups[layer][found[0]]) if len(found) else None


def nets_from_files(source: Path) -> tuple[frozenset[PinName], ...]:
    """Return the nets of a package (folder or zip): for each, the set of pins that its copper joins.

    Copper that reaches no pin is left out.  Raises ReadError if a file cannot be read.
    """
    nets = connectivity(read_package(source)).nets
    return tuple(sorted((n.pins for n in nets if n.pins), key=sorted))


def connectivity(package: ReadPackage) -> Connectivity:
    """Return which copper of the package hangs together."""
    layers = [package.layer(function) for function in COPPERS]
    islands = [_islands(layer.image) if layer else np.array([], dtype=object) for layer in layers]
    joins = _Joins(len(islands[0]) + len(islands[1]))
    trees = [shapely.STRtree(found) for found in islands]
    offsets = (0, len(islands[0]))
    holes = [h for drills in package.drills for h in drills.holes if drills.plated or h.function in SOLDERED]
    cut: dict[int, list[int]] = {}
    for tree, offset in zip(trees, offsets, strict=True):
        if holes and len(tree.geometries):
            reach = [hole.diameter / 2 for hole in holes]
            pairs = tree.query([hole.core for hole in holes], predicate="dwithin", distance=reach)
            for hole, island in pairs.T.tolist():
                cut.setdefault(hole, []).append(island + offset)
    for joined in cut.values():
        for island in joined[1:]:
            joins.join(joined[0], island)
    for ends in _wired(package, layers, trees, offsets):
        for island in ends[1:]:
            joins.join(ends[0], island)
    numbers = joins.numbers()
    groups = (np.array(numbers[: offsets[1]], dtype=int), np.array(numbers[offsets[1] :], dtype=int))
    pins: list[set[PinName]] = [set() for _ in range(max(numbers, default=-1) + 1)]
    names: list[set[str]] = [set() for _ in pins]
    for layer, tree, group in zip(layers, trees, groups, strict=True):
        dark = _lasting(layer) if layer else []
        points = [shapely.point_on_surface(shape) for _, shape in dark]
        for number, island in tree.query(points, predicate="intersects").T.tolist() if dark else []:
            _note(dark[number][0], pins[group[island]], names[group[island]])
    nets = tuple(CopperNet(frozenset(p), frozenset(n)) for p, n in zip(pins, names, strict=True))
    return Connectivity((islands[0], islands[1]), groups, nets)


def _wired(
    package: ReadPackage, layers: list[ReadLayer | None], trees: list[Any], offsets: tuple[int, int]
) -> list[list[int]]:
    """Return the islands that each wire link of the component layers will join, once it is soldered in."""
    links = {
        item.field(".C")
        for function, layer in package.layers.items()
        if function.startswith("Component,")
        for item in layer.objects
        if item.field(".CFtp").startswith(LINK)
    }
    found: dict[str, list[int]] = {}
    for layer, tree, offset in zip(layers, trees, offsets, strict=True):
        for item, shape in zip(layer.objects, layer.shapes, strict=True) if layer and links else ():
            if item.dark and item.field(".P") in links:
                islands = tree.query(shapely.point_on_surface(shape), predicate="intersects").tolist()
                found.setdefault(item.field(".P"), []).extend(island + offset for island in islands)
    return list(found.values())


def _lasting(layer: ReadLayer) -> list[tuple[ReadObject, Any]]:
    """Return the dark objects with what the clear ones drawn after them leave of each.

    A pour is drawn whole and its holes cleared after it; other nets' copper lies in the holes, so a point of the whole
    outline may be theirs.
    """
    found: list[tuple[ReadObject, Any]] = []
    clear: list[Any] = []
    for item, shape in zip(reversed(layer.objects), reversed(layer.shapes), strict=True):
        if not item.dark:
            clear.append(shape)
            continue
        over = [c for c in clear if c.intersects(shape)] if item.kind == "region" else []
        left = shape.difference(shapely.union_all(over)) if over else shape
        if not left.is_empty:
            found.append((item, left))
    return found[::-1]


def _islands(image: Any) -> Any:
    return np.array([p for p in shapely.get_parts(image) if not p.is_empty], dtype=object)


def _note(item: ReadObject, pins: set[PinName], names: set[str]) -> None:
    pin = item.attributes.get(".P")
    if pin and len(pin) >= 2:
        pins.add((pin[0], pin[1]))
    if ".N" in item.attributes:
        names.add(item.field(".N"))


class _Joins:
    """Disjoint sets of islands (Tarjan's union-find with path halving)."""

    def __init__(self, count: int) -> None:
        self._parent = list(range(count))

    def _root(self, item: int) -> int:
        while self._parent[item] != item:
            self._parent[item] = self._parent[self._parent[item]]
            item = self._parent[item]
        return item

    def join(self, one: int, other: int) -> None:
        """Put two islands into one set."""
        roots = sorted((self._root(one), self._root(other)))
        self._parent[roots[1]] = roots[0]

    def numbers(self) -> list[int]:
        """Return a number for each island, 0 upwards in order, equal for islands of one set."""
        seen: dict[int, int] = {}
        return [seen.setdefault(self._root(item), len(seen)) for item in range(len(self._parent))]
