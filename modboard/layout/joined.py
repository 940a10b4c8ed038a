"""Which pads of a net are joined already: groups of touching copper, found by geometry."""

from __future__ import annotations

import itertools
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
    root = _rooted(len(items), touching(items))
    found: dict[int, list[Item]] = {}
    for i, item in enumerate(items):
        found.setdefault(root[i], []).append(item)
    return [
        Group(
            tuple(x for x in members if isinstance(x, Pad)),
            tuple(x for x in members if isinstance(x, Track)),
            tuple(x for x in members if isinstance(x, Via)),
            tuple(x for x in members if isinstance(x, Pour)),
        )
        for members in found.values()
    ]


def touching(items: Sequence[Item]) -> list[tuple[int, int]]:
    """Return which items share copper or a wire link, as pairs of positions in `items`, lower first."""
    bridges: dict[str, list[int]] = {}
    for k, item in enumerate(items):
        if isinstance(item, Pad) and item.bridge:
            bridges.setdefault(item.bridge, []).append(k)
    wired = [pair for ends in bridges.values() for pair in itertools.pairwise(ends)]
    shapes = [shape_of(item) for item in items]
    cores = [s.core for s in shapes]
    widest = max((s.radius for s in shapes), default=0.0)
    pairs = shapely.STRtree(cores).query(cores, predicate="dwithin", distance=[s.radius + widest for s in shapes])
    return wired + [
        (i, j)
        for i, j in sorted(zip(pairs[0].tolist(), pairs[1].tolist(), strict=True))
        if i < j and set(layers_of(items[i])) & set(layers_of(items[j])) and shapes[i].distance(shapes[j]) < -TOLERANCE
    ]


def _rooted(count: int, pairs: Sequence[tuple[int, int]]) -> list[int]:
    """Return, for each of `count` items, the first item of its connected group."""
    root = list(range(count))

    def find(i: int) -> int:
        while root[i] != i:
            root[i] = root[root[i]]
            i = root[i]
        return i

    for i, j in pairs:
        a, b = find(i), find(j)
        root[max(a, b)] = min(a, b)
    return [find(i) for i in range(count)]


def spare(items: Sequence[Item]) -> set[int]:
    """Return tracks and vias of one net (positions in `items`) that can all be left out and nothing comes apart.

    Long ones go first.  Pads and pieces of pour that are one piece of copper stay so.
    """
    pairs = touching(items)
    stays = [k for k, item in enumerate(items) if isinstance(item, Pad | Pour)]
    gone: set[int] = set()

    def apart() -> int:
        kept = [(i, j) for i, j in pairs if i not in gone and j not in gone]
        root = _rooted(len(items), kept)
        return len({root[k] for k in stays})

    whole = apart()
    loose = [k for k, item in enumerate(items) if isinstance(item, Track | Via)]
    loose.sort(key=lambda k: (-shape_of(items[k]).core.length, k))
    for _ in range(2):
        for k in loose:
            if k not in gone:
                gone.add(k)
                if apart() > whole:
                    gone.remove(k)
    return gone
