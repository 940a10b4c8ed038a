"""Which pads of a net are joined already: groups of touching copper, found by geometry."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import shapely

from modboard.geometry import TOLERANCE, Shape
from modboard.layout.board import COPPER_LAYERS, CopperLayer, Pad, Pour, Track, Via

Item = Pad | Track | Via | Pour


@dataclass(frozen=True)
class Group:
    """Copper of one net that is one piece."""

    pads: tuple[Pad, ...]
    tracks: tuple[Track, ...]
    vias: tuple[Via, ...]
    pours: tuple[Pour, ...]


def layers_of(item: Item) -> tuple[CopperLayer, ...]:
    """Return the layers a piece of copper is on."""
    if isinstance(item, Pad):
        return item.layers
    return COPPER_LAYERS if isinstance(item, Via) else (item.layer,)


def shape_of(item: Item) -> Shape:
    """Return the exact outline of a piece of copper."""
    return Shape(item.area, 0.0) if isinstance(item, Pour) else item.shape


def groups(items: Sequence[Item]) -> list[Group]:
    """Return the connected groups of one net's copper, in order of their first item."""
    shapes = [shape_of(item) for item in items]
    root = list(range(len(items)))

    def find(i: int) -> int:
        while root[i] != i:
            root[i] = root[root[i]]
            i = root[i]
        return i

    tree = shapely.STRtree([s.core for s in shapes])
    widest = max((s.radius for s in shapes), default=0.0)
    reach = [s.radius + widest for s in shapes]
    pairs = tree.query([s.core for s in shapes], predicate="dwithin", distance=reach)
    for i, j in sorted(zip(pairs[0].tolist(), pairs[1].tolist(), strict=True)):
        if i >= j or find(i) == find(j) or not set(layers_of(items[i])) & set(layers_of(items[j])):
            continue
        if shapes[i].distance(shapes[j]) < -TOLERANCE:
            root[max(find(i), find(j))] = min(find(i), find(j))
    found: dict[int, list[Item]] = {}
    for i, item in enumerate(items):
        found.setdefault(find(i), []).append(item)
    return [
        Group(
            tuple(x for x in members if isinstance(x, Pad)),
            tuple(x for x in members if isinstance(x, Track)),
            tuple(x for x in members if isinstance(x, Via)),
            tuple(x for x in members if isinstance(x, Pour)),
        )
        for members in found.values()
    ]
