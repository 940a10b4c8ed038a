"""Parts: room between them, on the board, and off the screws."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property
from typing import Any

import numpy as np
import shapely
from shapely.geometry import Polygon

from modboard.check.findings import Finding
from modboard.check.holes import KEEP_OUT
from modboard.check.inspection import Inspection
from modboard.check.rule import Rule
from modboard.check.words import spot
from modboard.describe.model import AtEdge, Fixed, Wall
from modboard.describe.one_sided import link_air
from modboard.geometry import TOLERANCE, Position, Shape, circle
from modboard.layout.board import Pad, PlacedPart

COURTYARD_OVERLAP = Rule(
    "courtyard-overlap",
    "error",
    "courtyards of parts keep apart, so that each can be put in and soldered",
    "move one of the parts",
    limit="part_gap",
)
PART_OFF_BOARD = Rule(
    "part-off-board",
    "error",
    "a part's body is over the board, except where it was asked to overhang an edge",
    "move the part inwards, or place it at the edge with the overhang it needs",
)
PART_TO_EDGE = Rule(
    "part-to-edge",
    "warning",
    "a part that nobody asked to an edge keeps off it",
    "move the part inwards, or place it at the edge on purpose",
    limit="part_to_edge",
)
RULES = (COURTYARD_OVERLAP, PART_OFF_BOARD, PART_TO_EDGE)

FAR = 1000.0  # mm, beyond any board


class Standing:
    """A part as it stands on the board: its outlines as polygons."""

    def __init__(self, placed: PlacedPart, pads: tuple[Pad, ...]) -> None:
        self.placed = placed
        self.reference = placed.part.reference
        self.side = placed.body_side
        self.bridge = placed.part.footprint.bridge
        self.drilled = [p.hole.shape().polygon() for p in pads if p.hole is not None]
        self.through = [p.shape for p in pads if p.hole is not None]

    @cached_property
    def courtyard(self) -> Any:
        """The courtyard, empty if the footprint has none."""
        return Polygon(self.placed.courtyard()) if len(self.placed.courtyard()) > 2 else Polygon()

    @cached_property
    def body(self) -> Any:
        """The bodies from above."""
        return shapely.union_all([Polygon(b.outline) for b in self.placed.bodies()])

    @cached_property
    def solid(self) -> Any:
        """The convex outline of bodies and leads, as wide as the leads' holes."""
        return shapely.union_all([self.body, *self.drilled]).convex_hull


def inspect(seen: Inspection) -> Iterator[Finding]:
    """Measure parts against each other, the edge and the screws."""
    pads: dict[str, list[Pad]] = {}
    for pad in seen.board.pads:
        pads.setdefault(pad.reference, []).append(pad)
    parts = [Standing(p, tuple(pads.get(p.part.reference, ()))) for p in seen.board.parts]
    for number, one in enumerate(parts):
        for other in parts[number + 1 :]:
            yield from too_close(seen, one, other)
    for part in parts:
        if not part.body.is_empty:
            yield from at_edge(seen, part)
            yield from at_screws(seen, part)


def too_close(seen: Inspection, one: Standing, other: Standing) -> Iterator[Finding]:
    """Compare courtyards of one side; across the board, the courtyard of one with the leads of the other."""
    required = seen.rules.part_gap
    wire, part = (one, other) if one.bridge else (other, one)
    if wire.bridge and not part.bridge and wire.side == part.side:  # a wire beside a body needs no courtyard's room
        required = link_air(seen.description)
        pairs = [(wire.body, Shape(part.solid, 0.0), f"{wire.reference}'s wire and what stands of {part.reference}")]
    elif one.side == other.side:
        pairs = [(one.courtyard, Shape(other.courtyard, 0.0), "the courtyards")]
    else:
        pairs = [(a.courtyard, lead, f"{b.reference}'s leads and {a.reference}'s courtyard")
                 for a, b in ((one, other), (other, one)) for lead in b.through]  # fmt: skip
    worst: tuple[float, Any, Shape, str] | None = None
    for yard, shape, what in pairs:
        if yard.is_empty or shape.core.is_empty:
            continue
        gap = Shape(yard, 0.0).distance(shape)
        if gap <= 0:
            gap = min(gap, -depth(yard.intersection(shape.polygon())))
        if gap < required - TOLERANCE and (worst is None or gap < worst[0]):
            worst = (gap, yard, shape, what)
    if worst:
        gap, yard, shape, what = worst
        message = f"{what} are {gap:.3f} mm apart" if gap > 0 else f"{what} overlap"
        at = meeting(yard, shape)
        side = one.side if one.side == other.side else "across the board"
        where = f"between {one.reference} and {other.reference}, {side}"
        yield COURTYARD_OVERLAP.finding(seen.rules, at, where, message, gap, required)


def depth(overlap: Any) -> float:
    """Return how far (mm) two outlines reach into each other: the short side of the narrowest box round the overlap."""
    if overlap.area <= 0:
        return 0.0
    ring = shapely.get_coordinates(shapely.minimum_rotated_rectangle(overlap))
    return float(min(np.linalg.norm(ring[1] - ring[0]), np.linalg.norm(ring[2] - ring[1])))


def meeting(one: Any, other: Shape) -> Position:
    """Return a point in the overlap of two outlines, or half way between them."""
    overlap = one.intersection(other.polygon())
    spot_at = shapely.shortest_line(one, other.core).centroid if overlap.is_empty else overlap.centroid
    return (spot_at.x, spot_at.y)


def at_edge(seen: Inspection, part: Standing) -> Iterator[Finding]:
    """Measure a body against the outline; at the edge it was asked to, a part may stand near or overhang."""
    wish = seen.description.wishes.get(part.reference)
    outline = seen.board.outline
    if isinstance(wish, AtEdge):
        outline = outline.union(beyond_wall(seen, part, wish.wall))
    where = f"{part.reference}, {part.side}"
    outside = part.body.difference(outline)
    if outside.area > TOLERANCE:
        far = max(shapely.distance(shapely.points(shapely.get_coordinates(outside)), outline).tolist())
        if far > TOLERANCE:
            at = outside.representative_point()
            message = f"the body reaches {far:.3f} mm over the edge at {spot((at.x, at.y))}"
            yield PART_OFF_BOARD.finding(seen.rules, (at.x, at.y), where, message, -far, 0.0)
            return
    # Where the person said the place or the edge, being over the board is all that is asked.
    if isinstance(wish, Fixed | AtEdge):
        return
    ground = part.body if part.courtyard.is_empty else part.courtyard
    gap = float(shapely.distance(ground, outline.boundary)) if outline.covers(ground) else 0.0
    if gap < seen.rules.part_to_edge - TOLERANCE:
        at = shapely.shortest_line(outline.boundary, ground).coords[0]
        message = f"the courtyard is {gap:.3f} mm from the edge"
        yield PART_TO_EDGE.finding(seen.rules, (at[0], at[1]), where, message, gap, seen.rules.part_to_edge)


def beyond_wall(seen: Inspection, part: Standing, wall: Wall) -> Any:
    """Return the ground outside the edge that faces `wall`, alongside the part, no farther than the board's corners."""
    x0, y0, x1, y1 = part.body.buffer(seen.rules.part_to_edge + 1.0, join_style="mitre").bounds
    left, bottom, right, top = seen.board.outline.bounds
    x0, y0, x1, y1 = max(x0, left), max(y0, bottom), min(x1, right), min(y1, top)
    upright = wall in ("left", "right")
    low, high = (y0, y1) if upright else (x0, x1)
    edges = []
    for along in (low, (low + high) / 2, high):
        ends = ((-FAR, along), (FAR, along)) if upright else ((along, -FAR), (along, FAR))
        across = seen.board.outline.intersection(shapely.LineString(ends))
        if not across.is_empty:
            a, b, c, d = across.bounds
            edges.append({"left": a, "right": c, "bottom": b, "top": d}[wall])
    if low >= high or not edges:
        return Polygon()
    edge, out = (max(edges), -FAR) if wall in ("left", "bottom") else (min(edges), FAR)
    near, far = min(edge, out), max(edge, out)
    return shapely.box(near, low, far, high) if upright else shapely.box(low, near, high, far)


def at_screws(seen: Inspection, part: Standing) -> Iterator[Finding]:
    """Report bodies that reach under a screw's head."""
    for hole in seen.description.holes:
        zone = circle(hole.at, hole.keep_out)
        gap = Shape(part.body, 0.0).distance(zone)
        if gap < -TOLERANCE:
            where = f"{part.reference}, at the mounting hole {hole.name}".rstrip()
            message = f"the body reaches under the screw head ({hole.keep_out:g} mm across)"
            yield KEEP_OUT.finding(seen.rules, hole.at, where, message, gap, 0.0)
