"""Which pads of a net are joined already: groups of touching copper, found by geometry."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely
from shapely.ops import substring

from modboard.geometry import TOLERANCE, Shape
from modboard.layout.board import COPPER_LAYERS, CopperLayer, Pad, Pour, Track, Via
from modboard.layout.held import crossings, ring_round
from modboard.layout.pour import LEAST_SPOKES

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
        if i < j and set(layers_of(items[i])) & set(layers_of(items[j])) and shapes[i].overlaps(shapes[j])
    ]


def _beside(pairs: Sequence[tuple[int, int]]) -> dict[int, list[int]]:
    """Return, for each item of some pair, those it is paired with."""
    found: dict[int, list[int]] = {}
    for i, j in pairs:
        found.setdefault(i, []).append(j)
        found.setdefault(j, []).append(i)
    return found


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


def spare(items: Sequence[Item], relief: float) -> set[int]:
    """Return tracks and vias of one net (positions in `items`) that can all be left out and nothing comes apart.

    Long ones go first.  Pads and pieces of pour that are one piece of copper stay so, and a track stays where a pad
    would be held by less than `LEAST_SPOKES` spokes, and tracks that lead on, across its thermal relief (mm).
    """
    pairs = touching(items)
    stays = [k for k, item in enumerate(items) if isinstance(item, Pad | Pour)]
    gone: set[int] = set()

    def apart() -> int:
        kept = [(i, j) for i, j in pairs if i not in gone and j not in gone]
        root = _rooted(len(items), kept)
        return len({root[k] for k in stays})

    rings = {k: ring_round(item, relief) for k, item in enumerate(items) if isinstance(item, Pad)}

    def led_to(k: int) -> set[int]:
        """Return the pads and pours that item `k`, a track or via, or a chain of these from it on, touches."""
        found, chain = set(), [k]
        seen = {k}
        while chain:
            for j in touches.get(chain.pop(), ()):
                if isinstance(items[j], Pad | Pour):
                    found.add(j)
                elif j not in seen and j not in gone:
                    seen.add(j)
                    chain.append(j)
        return found

    def held(k: int) -> int:
        ring, pad = rings[k], items[k]
        holding = [j for j in touches.get(k, ()) if j not in gone]
        holding = [j for j in holding if isinstance(items[j], Pad | Pour) or led_to(j) - {k}]
        count = 0
        for layer in layers_of(pad):
            copper = [shape_of(items[j]).polygon() for j in holding if layer in layers_of(items[j])]
            count += crossings(ring, copper, math.inf)[0]
        return count

    touches = _beside(pairs)
    poured_in = {k for k in rings if any(isinstance(items[j], Pour) for j in touches.get(k, ()))}

    whole = apart()
    loose = [k for k, item in enumerate(items) if isinstance(item, Track | Via)]
    loose.sort(key=lambda k: (-shape_of(items[k]).core.length, k))
    before = -1
    while len(gone) > before:
        before = len(gone)
        for k in loose:
            if k not in gone:
                holds = {pad: held(pad) for pad in led_to(k) & poured_in}
                gone.add(k)
                if apart() > whole or any(held(p) < min(LEAST_SPOKES, had) for p, had in holds.items()):
                    gone.remove(k)
    return gone


def trimmed(items: Sequence[Item]) -> list[Item]:
    """Return the copper of one net with track ends that meet nothing cut back to the last thing they pass.

    A track that passes nothing at all stays: it is not for this to say whether it is wanted.
    """
    found = list(items)
    neighbours = _beside(touching(items))
    for k, track in enumerate(items):
        others = [found[j] for j in neighbours.get(k, ())] if isinstance(track, Track) and len(track.points) > 1 else []
        if not others:
            continue
        assert isinstance(track, Track)
        line = shapely.LineString(track.points)
        ends = [0.0, line.length]
        passed = [shapely.shortest_line(line, shape_of(other).core).interpolate(0.0) for other in others]
        met = shapely.line_locate_point(line, passed)
        for which, nearest in ((0, min(met)), (1, max(met))):
            tip = Shape(shapely.Point(track.points[-which]), track.width / 2)
            if all(shape_of(other).distance(tip) > -TOLERANCE for other in others):
                ends[which] = float(nearest)
        if ends != [0.0, line.length] and ends[1] - ends[0] > TOLERANCE:
            cut = substring(line, *ends)
            points = tuple((round(float(x), 6), round(float(y), 6)) for x, y in cut.coords)
            found[k] = replace(track, points=points)
    return found
