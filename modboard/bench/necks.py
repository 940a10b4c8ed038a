"""Pours taken apart into wide areas and the necks between them: spokes of lands, straits between clearances.

A pour is as good as unbreakable where it is wide; where it is narrow it breaks like a track.  What is narrow is what an
opening by a disc of diameter `NECK` takes away (Serra, Image Analysis and Mathematical Morphology, 1982).
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import shapely

from modboard.bench.pieces import NetCopper, Piece
from modboard.geometry import Shape
from modboard.layout.board import Pour

NECK = 0.8  # mm; narrower copper of a pour can be etched away like a track (common practice)
SEAM = 0.01  # mm; what overlaps a wide area by less hangs on by a hair, which goes with the neck beside it


def add_pour(net: NetCopper, pour: Pour) -> list[int]:
    """Add a pour's wide areas and necks to `net`, whose lands are in it; return the numbers of the necks.

    A neck ends at a land: solder makes a land strong, and what breaks is the spoke on either side of it.
    The first piece carries the outline of all (`whole`): neighbours are looked for once, not piece by piece.
    """
    wide = pour.area.buffer(-NECK / 2).buffer(NECK / 2).intersection(pour.area)
    own = [p.shape for p in net.pieces if p.what == "land" and p.layer == pour.layer]
    lands = shapely.union_all([shape.polygon() for shape in own if shape])
    narrow = _areas(pour.area.difference(wide).difference(lands))
    copper = shapely.union(pour.area, lands)  # what necks may reach over: across a clearance none meets another
    reaching = [area.buffer(2 * SEAM, quad_segs=2).intersection(copper) for area in narrow]
    shapes = [Shape(area, 0.0) for area in (*_areas(wide.buffer(-SEAM)), *reaching)]
    numbers = []
    for n, shape in enumerate(shapes):
        at = shape.core.representative_point()
        neck = n >= len(shapes) - len(narrow)
        whole = Shape(pour.area, 0.0) if n == 0 else None
        what = "pour" if n == 0 else "part of a pour"
        number = net.add(Piece(what, pour.layer, shape, (at.x, at.y), whole=whole))
        if neck:
            numbers.append(number)
    return numbers


def part_tracks(net: NetCopper, necks: list[int]) -> None:
    """Take out of tracks what lies in a neck that joins more than tracks: there the copper is one and breaks as one.

    What is left of such a track on either side of the neck is a piece each, joined to what it still touches.
    """
    for number in necks:
        beside = sorted(net.beside[number])
        tracks = [k for k in beside if net.pieces[k].what == "track"]
        if len(beside) - len(tracks) > 1:
            for k in tracks:
                _part(net, k, net.pieces[number])


def _part(net: NetCopper, number: int, neck: Piece) -> None:
    track, beside = net.pieces[number], sorted(net.beside[number])
    if track.shape is None or neck.shape is None:
        return
    rest = _areas(track.shape.polygon().difference(neck.shape.core.buffer(-SEAM)))
    for other in beside:
        net.beside[other].discard(number)
    net.beside[number].clear()
    net.pieces[number] = replace(track, what="part of a pour", shape=None, breaks=None)  # in the neck now
    for area in (a for a in rest if not a.buffer(-SEAM).is_empty):
        at = area.representative_point()
        new = net.add(replace(track, shape=Shape(area, 0.0), at=(at.x, at.y)))
        shape = Shape(area, 0.0)
        for other in beside:
            touched = net.pieces[other].shape
            if touched is not None and shape.overlaps(touched):
                net.join(new, other)


def mark_necks(net: NetCopper, necks: list[int]) -> None:
    """Say which of `necks` join anything, once it is known what touches what; give those that fork an arm each way.

    An arm can break by itself: it parts one neighbour from all others.
    """
    for number in necks:
        ways = sorted(net.beside[number])
        if len(ways) < 2:
            continue
        piece = net.pieces[number]
        net.pieces[number] = replace(piece, breaks="track")
        if len(ways) == 2 or piece.shape is None:
            continue
        for other in ways:
            at = piece.at
            shape = net.pieces[other].shape
            if shape is not None:
                line = shapely.shortest_line(piece.shape.core, shape.core)
                at = tuple(line.coords[0])
            net.beside[number].discard(other)
            net.beside[other].discard(number)
            arm = net.add(Piece("part of a pour", piece.layer, None, at, "track"))
            net.join(number, arm)
            net.join(arm, other)


def _areas(shape: Any) -> list[Any]:
    """Return the polygons of what came of an operation, without lines, points and nothings, in a fixed order."""
    found = [p for p in shapely.get_parts(shape) if p.geom_type == "Polygon" and not p.is_empty]
    return sorted(found, key=lambda p: (p.bounds, p.area))
