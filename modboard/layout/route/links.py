"""Wire links on one-sided boards: the top side as a second layer on which only straight runs of even length exist.

The router's own search finds them: `ways` opens the top only along rows and columns, and the change of side only where
two ends come a whole number of steps apart; bodies bar the top.  `linked` then turns each run into a part with two
lands.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon

from modboard import library
from modboard.describe.model import Description, Fixed, Part
from modboard.describe.one_sided import LINK_STEP, LINK_WIRE, SHORTEST_LINK, link_air, link_footprint
from modboard.geometry import Position, Shape
from modboard.layout.board import PlacedPart, Track, Via
from modboard.layout.route import kernels
from modboard.layout.route.grid import Lattice, Maps

LINK_PRICE = 50.0  # mm of track that a link is worth
HALF_YARD = 0.4  # mm, half the breadth of a link's courtyard
LATTICES = 5  # sets of places where links may end, a fourth of a step apart, that searches take in turn
HAIR = 1e-5


def ways(lattice: Lattice, seed: int) -> NDArray[np.uint16]:
    """Return the ways that lead on from each node of a one-sided board (see `kernels.route_net`).

    A link along a row ends in every `LINK_STEP`th column, one along a column in every such row.  Which ones changes
    from row to row and from column to column, so that each narrow place has some, and with the seed.
    """
    step = max(1, round(LINK_STEP / lattice.pitch))
    nodes = np.arange(lattice.nodes)
    x, y = nodes % lattice.width, nodes // lattice.width
    along_row = (x + 7 * (y + seed)) % step == 0
    along_column = (y + 7 * (x + seed)) % step == 0
    top = np.full(lattice.nodes, kernels.ROWS | kernels.COLUMNS, np.uint16)
    top[along_row] |= kernels.OTHER_LAYER
    top[along_column] |= kernels.ACROSS
    bottom = np.full(lattice.nodes, kernels.EVERY_WAY, np.uint16)
    bottom[along_row | along_column] |= kernels.OTHER_LAYER
    return np.concatenate((top, bottom))


def bar_bodies(maps: Maps, description: Description, parts: tuple[PlacedPart, ...]) -> None:
    """Keep links off bodies and leads on top, their lands from under parts at the bottom, and both off the edge.

    A wire needs no courtyard's room: no tool and no iron goes in between on top, and lands keep apart as copper.
    """
    corner = HALF_YARD * math.sqrt(2)
    land = description.rules.via_land / 2 * math.sqrt(2)
    air = LINK_WIRE / 2 + link_air(description)
    for placed in parts:
        if placed.body_side == "top":
            end = air + LINK_WIRE / 2 * (math.sqrt(2) - 1)  # its corner
            maps.bar_shape(Shape(standing_on(placed), 0.0), air, end)
        else:
            maps.bar_shape(Shape(Polygon(placed.courtyard()), 0.0), None, land)
    for area in description.keep_outs:
        if "parts" in area.bars and "top" in area.sides:
            maps.bar_shape(area.shape, HALF_YARD, corner)
    for hole in description.holes:
        maps.bar_shape(Shape(shapely.Point(hole.at), hole.keep_out / 2), HALF_YARD, corner)
    for ring in (description.outline.exterior, *description.outline.interiors):
        line = Shape(shapely.LineString(ring.coords), 0.0)
        edge = description.rules.part_to_edge
        maps.bar_shape(line, HALF_YARD + edge, corner + edge)


def standing_on(placed: PlacedPart) -> Polygon:
    """Return the convex outline of a part's bodies and of the holes that its leads go through."""
    solid = [Polygon(body.outline) for body in placed.bodies()]
    solid += [pad.hole.shape().polygon() for pad in placed.pads({}) if pad.hole]
    hull = shapely.union_all(solid or [Polygon(placed.courtyard())]).convex_hull
    return hull if hull.geom_type == "Polygon" else Polygon(placed.courtyard())


@dataclass(frozen=True)
class Linked:
    """A layout with its links as parts; `left` names nets with runs on top that are no links."""

    description: Description
    parts: tuple[PlacedPart, ...]
    tracks: tuple[Track, ...]
    vias: tuple[Via, ...]
    left: tuple[str, ...]


def linked(
    description: Description, parts: tuple[PlacedPart, ...], tracks: tuple[Track, ...], vias: tuple[Via, ...]
) -> Linked:
    """Return the layout with every straight run on top between two vias made a wire link of its own."""
    kept = [t for t in tracks if t.layer == "bottom"]
    rest = {via.at: via for via in vias}
    runs: list[tuple[str, Position, Position, float]] = []
    left: list[str] = []
    for track in tracks:
        if track.layer != "top":
            continue
        a, b = sorted((track.points[0], track.points[-1]))
        length = math.dist(a, b)
        steps = round(length / LINK_STEP)
        even = abs(length - steps * LINK_STEP) < HAIR and steps * LINK_STEP > SHORTEST_LINK - HAIR
        level = len(track.points) == 2 and (abs(a[0] - b[0]) < HAIR or abs(a[1] - b[1]) < HAIR)
        if even and level and a in rest and b in rest:
            del rest[a], rest[b]
            runs.append((track.net, a, b, steps * LINK_STEP))
        else:
            left.append(track.net)
    left += [via.net for via in rest.values()]
    moved: dict[Position, Position] = {}
    for k, (net, a, b, length) in enumerate(runs):  # drills are placed to a tenth of a micrometre
        start = (round(a[0], 4), round(a[1], 4))
        along = (length, 0.0) if abs(a[1] - b[1]) < HAIR else (0.0, length)
        moved[a], moved[b] = start, (start[0] + along[0], start[1] + along[1])
        runs[k] = (net, start, moved[b], length)
    kept = [_ending(track, moved) for track in kept]
    known = {p.reference for p in description.parts}
    names = (name for name in _references() if name not in known)
    links: list[PlacedPart] = []
    pins: dict[str, list[tuple[str, str]]] = {}
    for (net, a, b, length), name in zip(sorted(runs, key=lambda r: (r[1], r[2])), names, strict=False):
        footprint = link_footprint(length, description)
        part = Part(name, "link", library.device("link"), f"{length:.4g} mm", footprint, description.site)
        links.append(PlacedPart(part, a, 0.0 if abs(a[1] - b[1]) < HAIR else 90.0))
        pins.setdefault(net, []).extend([(name, "1"), (name, "2")])
    wishes = {**description.wishes, **{p.part.reference: Fixed(p.at, p.turn) for p in links}}
    nets = tuple(replace(n, pins=(*n.pins, *pins.get(n.name, ()))) for n in description.nets)
    whole = replace(description, parts=(*description.parts, *(p.part for p in links)), nets=nets, wishes=wishes)
    return Linked(whole, (*parts, *links), tuple(kept), (), tuple(dict.fromkeys(left)))


def _ending(track: Track, moved: dict[Position, Position]) -> Track:
    """Return the track with its ends where the lands that it meets have moved to, a hair away."""
    first, last = (moved.get(p, p) for p in (track.points[0], track.points[-1]))
    return replace(track, points=(first, *track.points[1:-1], last))


def links_of(description: Description) -> int:
    """Return how many wire links a layout has."""
    return sum(part.footprint.bridge for part in description.parts)


def _references() -> Iterator[str]:
    number = 0
    while True:
        number += 1
        yield f"W{number}"


__all__ = ["LINK_PRICE", "Linked", "bar_bodies", "linked", "links_of", "ways"]
