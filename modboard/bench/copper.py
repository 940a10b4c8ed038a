"""The copper of each net as a graph of what can break: tracks between joins, plated holes, soldered joints.

Nodes are pieces of copper (and leads of parts); two that touch are joined.  Taking a node away is that piece broken,
so what a break parts is found by search, with no assumption on how the layout came about.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence

import shapely
from shapely.geometry import LineString

from modboard.bench.necks import add_pour, mark_necks, part_tracks
from modboard.bench.pieces import NetCopper, Piece
from modboard.geometry import Position, stroke
from modboard.layout.board import COPPER_LAYERS, Board, CopperLayer, Pad


def pad_name(pad: Pad) -> str:
    """Return "R1.2": how a pad is called everywhere on the sheet."""
    return f"{pad.reference}.{pad.number}"


def solder_side(board: Board, pad: Pad) -> CopperLayer:
    """Return the side from which a pad is soldered and probed: its own, or away from the part's body."""
    if len(pad.layers) == 1:
        return pad.layers[0]
    placed = next(p for p in board.parts if p.part.reference == pad.reference)
    return "top" if placed.body_side == "bottom" else "bottom"


def conductors(board: Board) -> dict[str, NetCopper]:
    """Return the graph of every net, and of every pad on no net under its own name ("U1.7")."""
    nets: dict[str, NetCopper] = {n.name: NetCopper(n.name) for n in board.description.nets}
    plated = board.description.rules.layers_plated
    sides = {p.part.reference: p.body_side for p in board.parts}
    seen: dict[str, int] = {}
    for pad in board.pads:
        name = pad_name(pad)
        seen[name] = seen.get(name, 0) + 1
        if seen[name] > 1:  # several lands of one number: a tab and its pin
            name = f"{name}#{seen[name]}"
        net = nets.setdefault(pad.net or name, NetCopper(pad.net or name))
        _add_pad(net, name, pad, "top" if sides[pad.reference] == "bottom" else "bottom", plated)
    for net in nets.values():
        links: dict[str, list[int]] = {}
        for name, pad in net.pads.items():
            if pad.bridge:
                links.setdefault(pad.bridge, []).append(net.leads[name])
        for ends in links.values():  # a wire link is one piece of wire
            for one, other in itertools.pairwise(ends):
                net.join(one, other)
        _add_tracks(net, board)
        necks = [n for pour in board.pours if pour.net == net.name for n in add_pour(net, pour)]
        for via in board.vias:
            if via.net == net.name:
                barrel = net.add(Piece("hole", None, via.shape, via.at, "hole"))
                for layer in COPPER_LAYERS:
                    net.join(barrel, net.add(Piece("via land", layer, via.shape, via.at)))
        _join_touching(net)
        part_tracks(net, necks)
        mark_necks(net, necks)
    return {name: net for name, net in nets.items() if net.leads}


def _add_pad(net: NetCopper, name: str, pad: Pad, soldered: CopperLayer, plated: bool) -> None:
    net.pads[name] = pad
    lands = {layer: net.add(Piece("land", layer, pad.shape, pad.at, owner=name)) for layer in pad.layers}
    lead = net.add(Piece("lead", None, None, pad.at, owner=name))
    net.leads[name] = lead
    if len(lands) == 2 and plated:
        barrel = net.add(Piece("hole", None, pad.shape, pad.at, "hole", name))
        for land in lands.values():
            net.join(barrel, land)
    soldered_at = [soldered if soldered in lands else next(iter(lands))]
    if len(lands) == 2 and not plated:  # the lead itself joins both sides
        soldered_at = list(lands)
    for layer in soldered_at:
        joint = net.add(Piece("joint", layer, pad.shape, pad.at, "joint", name))
        net.join(joint, lands[layer])
        net.join(joint, lead)


def _add_tracks(net: NetCopper, board: Board) -> None:
    """Add tracks, cut wherever other copper of the net joins them, so that each piece can break by itself."""
    tracks = [t for t in board.tracks if t.net == net.name]
    for layer in COPPER_LAYERS:
        here = [t for t in tracks if t.layer == layer]
        ends = [p for t in here for p in (t.points[0], t.points[-1])]
        ends += [pad.at for pad in net.pads.values() if layer in pad.layers]
        ends += [v.at for v in board.vias if v.net == net.name]
        for track in here:
            stretches = [
                points
                for a, b in itertools.pairwise(track.points)
                for points in _cut([a, b], [p for p in ends if _touches(p, a, b, track.width)])
            ]
            for points in _long_enough(stretches, ends, track.width):
                middle = LineString(points).interpolate(0.5, normalized=True)
                net.add(Piece("track", layer, stroke(points, track.width), (middle.x, middle.y), "track"))


def _long_enough(stretches: list[list[Position]], ends: list[Position], width: float) -> list[list[Position]]:
    """Put stretches shorter than the track is wide together at corners where nothing joins.

    The round ends of those before and after one so short would meet over it, and its break would seem to part nothing.
    """
    found: list[list[Position]] = []
    for points in stretches:
        corner = points[0]
        short = found and min(math.dist(found[-1][0], found[-1][-1]), math.dist(points[0], points[-1])) <= width
        if short and found[-1][-1] == corner and all(math.dist(corner, end) >= width for end in ends):
            found[-1] = [*found[-1], *points[1:]]
        else:
            found.append(list(points))
    return found


def _touches(point: Position, a: Position, b: Position, width: float) -> bool:
    return float(LineString([a, b]).distance(shapely.Point(point))) < width


def _cut(line: Sequence[Position], at: Iterable[Position]) -> list[list[Position]]:
    whole = LineString(line)
    where = {round(float(whole.project(shapely.Point(p))), 4) for p in at}
    stops = sorted(w for w in where if 1e-3 < w < whole.length - 1e-3)
    marks = [0.0, *stops, float(whole.length)]
    points = [whole.interpolate(m) for m in marks]
    return [[(p.x, p.y), (q.x, q.y)] for p, q in itertools.pairwise(points) if p.distance(q) > 0] or [
        [line[0], line[-1]]
    ]


def _join_touching(net: NetCopper) -> None:
    numbers = [i for i, p in enumerate(net.pieces) if p.layer and p.shape and p.what != "joint"]
    shapes = [net.pieces[i].shape for i in numbers]
    cores = [s.core for s in shapes if s]
    widest = max((s.radius for s in shapes if s), default=0.0)
    tree = shapely.STRtree(cores)
    first, second = tree.query(cores, predicate="dwithin", distance=[s.radius + widest for s in shapes if s])
    for i, j in zip(first.tolist(), second.tolist(), strict=True):
        a, b = net.pieces[numbers[i]], net.pieces[numbers[j]]
        if i < j and a.layer == b.layer and a.shape and b.shape and a.shape.overlaps(b.shape):
            net.join(numbers[i], numbers[j])
