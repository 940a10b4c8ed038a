"""From lattice nodes back to copper: polylines that meet pads in their middle, and vias."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from modboard.geometry import Position
from modboard.layout.board import COPPER_LAYERS, Track, Via
from modboard.layout.route.grid import Lattice
from modboard.layout.route.pens import PenSet
from modboard.layout.route.terms import Routed


def branches(rows: NDArray[np.int64]) -> Iterator[NDArray[np.int64]]:
    """Yield each branch of kernel rows, without its end mark."""
    start = 0
    for end in np.flatnonzero(rows[:, 0] < 0).tolist():
        if end > start:
            yield rows[start:end]
        start = end + 1


def copper_of(
    net: str,
    index: int,
    routed: Routed,
    lattice: Lattice,
    pens: PenSet,
    centres: dict[int, Position],
    landings: dict[int, Position] | None = None,
) -> tuple[list[Track], list[Via]]:
    """Return the tracks and vias of a routed net.

    `centres` gives the exact centre of the pad or via whose node is named; a track that ends there is led to it.
    `landings` does the same for nodes along tracks that are there already.
    """
    ends = {**(landings or {}), **centres}
    track_pen, neck_pen, via_pen = (pens.pens[k] for k in pens.of_net[index])
    tracks: list[Track] = []
    vias: dict[Position, Via] = {}
    for branch in branches(routed.rows):
        nodes = [int(v) for v in branch[:, 0]]
        narrow = [bool(v) for v in branch[:, 1]]
        run: list[int] = [nodes[0]]
        run_narrow: bool | None = None
        for k in range(1, len(nodes)):
            changes_layer = nodes[k] // lattice.nodes != nodes[k - 1] // lattice.nodes
            edge_narrow = narrow[k] or narrow[k - 1]
            if changes_layer or (run_narrow is not None and edge_narrow != run_narrow):
                _finish(tracks, net, run, 2 * (neck_pen.half if run_narrow else track_pen.half), lattice, ends)
                run, run_narrow = [nodes[k - 1]], None
            if changes_layer:
                if nodes[k] % lattice.nodes not in {c % lattice.nodes for c in centres}:
                    at = lattice.position(nodes[k])
                    vias[at] = Via(net, at, 2 * via_pen.half, via_pen.hole)
                run, run_narrow = [nodes[k]], None
            else:
                run.append(nodes[k])
                run_narrow = edge_narrow
        _finish(tracks, net, run, 2 * (neck_pen.half if run_narrow else track_pen.half), lattice, ends)
    return tracks, list(vias.values())


def _finish(
    tracks: list[Track], net: str, run: list[int], width: float, lattice: Lattice, ends: dict[int, Position]
) -> None:
    """Add the track of one run of nodes, led to the exact `ends`."""
    points = [lattice.position(v) for v in run]
    if run[0] in ends:
        points.insert(0, ends[run[0]])
    if run[-1] in ends:
        points.append(ends[run[-1]])
    points = straightened(points)
    if len(points) > 1 and points[0] != points[-1]:
        tracks.append(Track(net, COPPER_LAYERS[run[0] // lattice.nodes], tuple(points), round(width, 6)))


def straightened(points: list[Position]) -> list[Position]:
    """Return a polyline without repeated points and without points in the middle of straight runs."""
    kept: list[Position] = []
    for point in points:
        if kept and abs(point[0] - kept[-1][0]) < 1e-9 and abs(point[1] - kept[-1][1]) < 1e-9:
            continue
        if len(kept) > 1:
            (ax, ay), (bx, by) = kept[-2], kept[-1]
            across = (bx - ax) * (point[1] - by) - (by - ay) * (point[0] - bx)
            along = (bx - ax) * (point[0] - bx) + (by - ay) * (point[1] - by)
            if abs(across) < 1e-7 and along > 0:
                kept.pop()
        kept.append(point)
    return kept
