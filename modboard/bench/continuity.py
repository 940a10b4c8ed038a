"""Proving every net whole with the fewest probes: a spanning tree over its pads, along the copper.

A net of n pads needs n - 1 probe pairs and no fewer: with fewer, two groups of pads are never compared (a connected
graph on n nodes has at least n - 1 edges; Cayley 1889, any graph theory text).  The pairs follow the copper, shortest
ways first (Kruskal 1956), so that a failed probe names a short stretch.  Any single break that parts the pads of a net
parts the two ends of some edge of the tree, so it shows.
"""

from __future__ import annotations

from dataclasses import dataclass

from modboard.bench.copper import solder_side
from modboard.bench.pieces import NetCopper
from modboard.geometry import Position
from modboard.layout.board import Board, CopperLayer

TURN_OVER = 500.0  # mm that a probe pair on two sides of the board counts more than one on the same side


@dataclass(frozen=True)
class Spot:
    """A point to put a probe on: pad, side to put it from, and place."""

    pad: str
    side: CopperLayer
    at: Position


@dataclass(frozen=True)
class Probe:
    """Two points of one net that must beep; black is on one already proved.

    `suspects` index the plan's list of breaks: those that would silence it.
    """

    net: str
    red: Spot
    black: Spot
    suspects: tuple[int, ...] = ()


@dataclass(frozen=True)
class Suspect:
    """A single fault: a break of one piece of copper or one joint, or a bridge; in words, and where."""

    what: str  # "track", "hole", "joint", "bridge"
    words: str
    at: Position
    side: CopperLayer | None  # None: both


@dataclass(frozen=True)
class Continuity:
    """The probes of all nets, the single breaks they find, and breaks that part nothing (`doubled`)."""

    probes: tuple[Probe, ...]
    suspects: tuple[Suspect, ...]
    doubled: tuple[Suspect, ...]


def continuity(board: Board, copper: dict[str, NetCopper]) -> Continuity:
    """Return the plan for `copper`, the conductors of `board`."""
    probes: list[Probe] = []
    suspects: list[Suspect] = []
    doubled: list[Suspect] = []
    for net in copper.values():
        if len(net.leads) < 2:
            continue
        spots = spots_of(board, net)
        pairs = _tree(net, spots)
        failing: list[list[int]] = [[] for _ in pairs]
        before = net.groups()
        for number, piece in enumerate(net.pieces):
            if piece.breaks is None:
                continue
            group = net.groups(without=number)
            hit = [
                k
                for k, (a, b) in enumerate(pairs)
                if before[net.leads[a]] == before[net.leads[b]] and group[net.leads[a]] != group[net.leads[b]]
            ]
            words = _words(net, number, board.description.rules.layers_plated)
            suspect = Suspect(piece.breaks, words, piece.at, piece.layer)
            if not hit:
                doubled.append(suspect)
                continue
            for k in hit:
                failing[k].append(len(suspects))
            suspects.append(suspect)
        probes += [
            Probe(net.name, spots[b], spots[a], tuple(found)) for (a, b), found in zip(pairs, failing, strict=True)
        ]
    return Continuity(tuple(probes), tuple(suspects), tuple(doubled))


def spots_of(board: Board, net: NetCopper) -> dict[str, Spot]:
    """Return where to put a probe for each lead of a conductor (or land, on one that is bare)."""
    return {
        name: Spot(name, net.side or solder_side(board, net.pads[name]), net.pieces[lead].at)
        for name, lead in net.leads.items()
    }


def _tree(net: NetCopper, spots: dict[str, Spot]) -> list[tuple[str, str]]:
    """Return the pairs, in an order that walks along the copper: each starts at a pad already proved."""
    names = list(net.leads)
    edges = []
    for i, a in enumerate(names):
        ways = net.ways(net.leads[a])
        for b in names[i + 1 :]:
            way = min(ways[net.leads[b]], 1e6)
            edges.append((way + (TURN_OVER if spots[a].side != spots[b].side else 0.0), i, a, b))
    root = {name: name for name in names}

    def find(name: str) -> str:
        while root[name] != name:
            name = root[name]
        return name

    beside: dict[str, list[str]] = {name: [] for name in names}
    for _, _, a, b in sorted(edges):
        if find(a) != find(b):
            root[find(b)] = find(a)
            beside[a].append(b)
            beside[b].append(a)
    start = min(names, key=lambda n: (len(beside[n]), spots[n].at[0], n))
    pairs, stack, seen = [], [start], {start}
    while stack:
        a = stack.pop()
        for b in sorted((b for b in beside[a] if b not in seen), reverse=True):
            seen.add(b)
            stack.append(b)
            pairs.append((a, b))
    return pairs


def _words(net: NetCopper, number: int, plated: bool) -> str:
    piece = net.pieces[number]
    if piece.what == "joint":
        return f"cold joint at {piece.owner}"
    if piece.what == "hole" and not plated:
        return f"wire link of {net.name} missing or not soldered on both sides"
    if piece.what == "hole":
        return f"no plating in the hole of {piece.owner}" if piece.owner else f"via of {net.name} not plated through"
    places = [(name, net.pieces[lead].at) for name, lead in net.leads.items()]
    near = sorted((abs(x - piece.at[0]) + abs(y - piece.at[1]), name) for name, (x, y) in places)
    thing, where = ("track", "") if piece.what == "track" else ("pour", "at a neck ")
    return f"{thing} of {net.name} broken {where}on the {piece.layer}, near {near[0][1]}"
