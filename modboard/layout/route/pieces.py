"""Which copper of a net is one piece on a board so far, and where a track may join it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from modboard.describe.model import Net
from modboard.layout.board import COPPER_LAYERS, Pour, Track, Unrouted, Via
from modboard.layout.joined import Group, Item, groups
from modboard.layout.route.problem import Problem
from modboard.layout.route.terms import Task


def pad_task(problem: Problem, net: Net) -> Task:
    """Return the task of joining a net's pads, and the pieces of it that are drawn already."""
    if any(t.net == net.name for t in problem.tracks) or any(v.net == net.name for v in problem.vias):
        pieces = groups(of_net(problem, net, problem.tracks, problem.vias, ()))
        ends = tuple(nodes_of(problem, piece, net.track_width / 2) for piece in pieces)
    else:
        ends = tuple(problem.terminal(pad) for pad in problem.pads_of[net.name])
    return Task(problem.number_of[net.name], ends, problem.zone(net))


def pieces_of(
    problem: Problem, net: Net, tracks: tuple[Track, ...], vias: tuple[Via, ...], pours: tuple[Pour, ...]
) -> list[Group]:
    return [g for g in groups(of_net(problem, net, tracks, vias, pours)) if g.pads]


def of_net(
    problem: Problem, net: Net, tracks: tuple[Track, ...], vias: tuple[Via, ...], pours: tuple[Pour, ...]
) -> list[Item]:
    items: list[Item] = list(problem.pads_of[net.name])
    items += [t for t in tracks if t.net == net.name]
    items += [v for v in vias if v.net == net.name]
    return items + [p for p in pours if p.net == net.name]


def pieces_apart(
    problem: Problem, tracks: tuple[Track, ...], vias: tuple[Via, ...], pours: tuple[Pour, ...]
) -> dict[str, list[Group]]:
    """Return the poured nets whose pads are not all one piece yet."""
    found = {}
    for net in problem.nets:
        if net.pour and len(net.pins) > 1:
            pieces = pieces_of(problem, net, tracks, vias, pours)
            if len(pieces) > 1:
                found[net.name] = pieces
    return found


def nodes_of(problem: Problem, group: Group, half: float) -> NDArray[np.int64]:
    """Return the nodes at which a track of half width `half` may join a group."""
    lattice = problem.lattice
    found = [problem.terminal(pad) for pad in group.pads]
    for pour in group.pours:
        inside = lattice.inside(pour.area.buffer(-half))
        found.append(inside + COPPER_LAYERS.index(pour.layer) * lattice.nodes)
    found.append(np.array(sorted(problem.landings(group.tracks)), np.int64))
    for via in group.vias:
        node = lattice.nearest(via.at)
        both = [node, node + lattice.nodes]  # a wire link leaves its hole once only
        found.append(np.array(both[1:] if problem.description.rules.one_sided else both, np.int64))
    return np.unique(np.concatenate(found))


def open_connections(
    problem: Problem, tracks: tuple[Track, ...], vias: tuple[Via, ...], pours: tuple[Pour, ...]
) -> tuple[Unrouted, ...]:
    found = []
    for net in problem.nets:
        pieces = pieces_of(problem, net, tracks, vias, pours)
        for piece in pieces[1:]:
            start, end = pieces[0].pads[0], piece.pads[0]
            reason = "no way through at these clearances"
            found.append(Unrouted(net.name, (start.reference, start.number), (end.reference, end.number), reason))
    return tuple(found)
