"""Which nets could have run together: pairs whose copper comes near, the likeliest first.

Not every pair of nets can short; only those whose copper lies close.  Two ways are looked for: solder bridging bare
lands (up to `BRIDGE`), and copper left between tracks by a poor etch (up to `ETCH`).  Pairs are ranked by length side
by side over gap, more where an iron comes near.  The distances and weights are common practice, not from a standard.
"""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import dataclass, field, replace

import shapely

from modboard.bench.continuity import Spot, spots_of
from modboard.bench.pieces import NetCopper, Piece
from modboard.geometry import Position, Shape, clipped
from modboard.layout.board import COPPER_LAYERS, Board, CopperLayer

BRIDGE = 1.0  # mm of board between two bare lands that a blob of solder can span
ETCH = 0.5  # mm between copper under mask that a flaw in etching can span
IRON = {2: 4.0, 1: 1.5, 0: 1.0}  # weight by how many of the two are bare, soldered copper


@dataclass(frozen=True)
class Site:
    """A place where two conductors come near: nearest points' middle, gap and length side by side in mm."""

    at: Position
    side: CopperLayer
    gap: float
    length: float
    bare: int  # how many of the two are soldered lands
    words: str

    @property
    def weight(self) -> float:
        """Return how likely a bridge is here, compared with other places."""
        return IRON[self.bare] * (self.length + 0.2) / max(self.gap, 0.05)


@dataclass(frozen=True)
class Neighbours:
    """Two conductors that come near one another, the places worst first, and where to put the probes.

    `keys` name the conductors: on a bare board without plating one net is several.
    """

    red: Spot
    black: Spot
    nets: tuple[str, str]
    sites: tuple[Site, ...]
    keys: tuple[str, str] = ("", "")

    @property
    def weight(self) -> float:
        """Return how likely the two are to have run together, compared with other pairs."""
        return sum(site.weight for site in self.sites)


@dataclass
class _Layer:
    keys: list[str] = field(default_factory=list)  # of the conductors
    nets: list[str] = field(default_factory=list)
    pieces: list[Piece] = field(default_factory=list)


def neighbours(board: Board, copper: dict[str, NetCopper], hidden: Collection[str] = ()) -> tuple[Neighbours, ...]:
    """Return every pair of conductors that could plausibly have shorted, the likeliest first.

    Pads that are `hidden` under other parts are probed only where a conductor has no other.
    """
    rules = board.description.rules
    found: dict[tuple[str, str], list[Site]] = {}
    open_vias = {via.at for via in board.vias if via.hole > rules.tent_vias_up_to}  # no mask over them
    for side in COPPER_LAYERS:
        layer = _Layer()
        for key, net in copper.items():
            for piece in net.pieces:
                if piece.layer == side and piece.shape and piece.what not in ("joint", "part of a pour"):
                    layer.keys.append(key)
                    layer.nets.append(net.name)
                    layer.pieces.append(replace(piece, shape=piece.whole) if piece.whole else piece)
        for i, j, gap in _near(layer):
            a, b = layer.pieces[i], layer.pieces[j]
            bare = sum(
                1 for p in (a, b) if p.what == "land" or not rules.mask or (p.what == "via land" and p.at in open_vias)
            )
            if gap <= (BRIDGE if bare == 2 else ETCH):
                pair = (layer.keys[i], layer.keys[j])
                found.setdefault(pair if pair[0] < pair[1] else pair[::-1], []).append(_site(a, b, side, gap, bare))
    pairs = [
        _pair(board, keys, [copper[k] for k in keys], tuple(sorted(s, key=_worst)), hidden)
        for keys, s in sorted(found.items())
    ]
    return tuple(sorted(pairs, key=lambda p: (-round(p.weight, 6), p.nets)))


def _worst(site: Site) -> tuple[float, float, float, str]:
    return (-round(site.weight, 6), *site.at, site.side)


def _near(layer: _Layer) -> list[tuple[int, int, float]]:
    shapes = [p.shape for p in layer.pieces if p.shape]
    if not shapes:
        return []
    cores, widest = [s.core for s in shapes], max(s.radius for s in shapes)
    tree = shapely.STRtree(cores)
    pairs = tree.query(cores, predicate="dwithin", distance=[s.radius + widest + BRIDGE for s in shapes])
    near = []
    for i, j in sorted(zip(*(p.tolist() for p in pairs), strict=True)):
        if i < j and layer.nets[i] != layer.nets[j]:
            gap = shapes[i].distance(shapes[j])
            if gap <= BRIDGE:
                near.append((i, j, gap))
    return near


def _site(a: Piece, b: Piece, side: CopperLayer, gap: float, bare: int) -> Site:
    assert a.shape and b.shape
    far = b.shape.radius + a.shape.radius + max(gap, 0.0) + 0.1
    one, other = _beside(a.shape, b.shape, far), _beside(b.shape, a.shape, far)
    ends = shapely.shortest_line(one.polygon(8), other.polygon(8))
    (x0, y0), (x1, y1) = ends.coords[0], ends.coords[-1]
    reach = other.core.buffer(b.shape.radius + a.shape.radius + gap + 0.1, quad_segs=4)
    line = a.shape.core.boundary if a.shape.core.geom_type == "Polygon" else a.shape.core
    length = float(line.intersection(reach).length)
    words = f"{_called(a)} and {_called(b)}, {side}, {max(gap, 0.0):.2f} mm apart"
    return Site(((x0 + x1) / 2, (y0 + y1) / 2), side, max(gap, 0.0), length, bare, words)


def _beside(shape: Shape, other: Shape, far: float) -> Shape:
    """Return of a pour only what is within `far` (mm) of `other`: the rest is a long way round for nothing."""
    if shape.core.geom_type != "Polygon" or len(shape.core.exterior.coords) < 32:
        return shape
    x0, y0, x1, y1 = other.core.bounds
    margin = far + 0.2
    return Shape(clipped(shape.core, x0 - margin, y0 - margin, x1 + margin, y1 + margin), shape.radius)


def _called(piece: Piece) -> str:
    return f"pad {piece.owner}" if piece.owner else {"via land": "a via"}.get(piece.what, f"a {piece.what}")


def _pair(
    board: Board, keys: tuple[str, str], two: list[NetCopper], sites: tuple[Site, ...], hidden: Collection[str]
) -> Neighbours:
    """Choose the pads nearest to the likeliest place, in the open, both to be reached from one side if that can be."""
    spots = [list(spots_of(board, net).values()) for net in two]

    def cost(a: Spot, b: Spot) -> tuple[int, bool, float, str, str]:
        under = (a.pad in hidden) + (b.pad in hidden)
        far = round(math.dist(a.at, sites[0].at) + math.dist(b.at, sites[0].at), 6)
        return (under, a.side != b.side, far, a.pad, b.pad)

    red, black = min(((a, b) for a in spots[0] for b in spots[1]), key=lambda ab: cost(*ab))
    return Neighbours(red, black, (two[0].name, two[1].name), sites, keys)
