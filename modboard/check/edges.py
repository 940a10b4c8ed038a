"""The board's edge: copper and holes against it, and the profile that will be milled."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely

from modboard.check.copper import LayerCopper
from modboard.check.findings import Finding
from modboard.check.inspection import Inspection
from modboard.check.rule import Rule
from modboard.check.shapeset import ShapeSet
from modboard.check.words import between, name_of
from modboard.geometry import TOLERANCE, Position, Shape

COPPER_TO_EDGE = Rule(
    "copper-to-edge",
    "error",
    "copper keeps off the milled edge and off cut-outs",
    "move the copper inwards or the edge outwards",
    limit="copper_to_edge",
)
COPPER_TO_SCORE = Rule(
    "copper-to-score",
    "error",
    "copper keeps off the line that boards are scored along",
    "move the copper inwards, or part the boards with tabs",
    limit="copper_to_score",
)
COPPER_OFF_BOARD = Rule(
    "copper-off-board", "error", "all copper is on the board", "move it onto the board, or enlarge the outline"
)
HOLE_OFF_BOARD = Rule(
    "hole-off-board", "error", "all holes are on the board", "move the hole onto the board, or enlarge the outline"
)
HALF_HOLE = Rule(
    "half-hole",
    "error",
    "the edge cuts plated half-holes through their middle",
    'place the part against the edge, as in place("J1", edge="left"), without inset or overhang',
    source="common practice of makers of half-holes",
)
PROFILE = Rule(
    "profile",
    "error",
    "the profile drawn is the board's outline, closed",
    "draw the outline as one closed line, and one for each cut-out",
    source="the outline of the design",
)
RULES = (COPPER_TO_EDGE, COPPER_TO_SCORE, COPPER_OFF_BOARD, HOLE_OFF_BOARD, HALF_HOLE, PROFILE)

HALVED_TO = 0.05  # mm that the edge may pass beside the middle of a half-hole, common practice
PROFILE_TOLERANCE = 0.001  # mm; the outline's arcs are chords to a micrometre


def inspect(seen: Inspection) -> Iterator[Finding]:
    """Measure copper, holes and profile against the outline."""
    for layer in seen.copper.layers.values():
        yield from copper_at_edge(seen, layer)
        yield from copper_at_score(seen, layer)
    yield from holes_at_edge(seen)
    yield from profile(seen)


def copper_at_edge(seen: Inspection, layer: LayerCopper) -> Iterator[Finding]:
    """Measure each item's distance inside the nearest edge."""
    outline, required = seen.board.outline, seen.rules.copper_to_edge
    if not layer.items:
        return
    cores, radii = layer.shapes.cores, layer.shapes.radii
    shapely.prepare(outline)
    inside = shapely.covers(outline, cores)
    clear = np.where(inside, shapely.distance(cores, outline.boundary) - radii, -radii)
    cut = halved(seen)
    for number in np.flatnonzero(~inside | (clear < required - TOLERANCE)).tolist():
        item = layer.items[number]
        if item.is_hole or item.feature.owner.reference in cut:
            continue
        where = f"{name_of(item.feature)}, {layer.layer}"
        at = nearest_on_edge(seen, item.shape)
        if not inside[number] or clear[number] < -TOLERANCE:
            message = "copper reaches over the edge of the board"
            yield COPPER_OFF_BOARD.finding(seen.rules, at, where, message, 0.0, required)
        else:
            gap = float(clear[number])
            message = f"copper is {gap:.3f} mm from the edge, {required - gap:.3f} mm too close"
            yield COPPER_TO_EDGE.finding(seen.rules, at, where, message, gap, required)


def copper_at_score(seen: Inspection, layer: LayerCopper) -> Iterator[Finding]:
    """Measure each item's distance from the middle of the grooves that part a panel."""
    grooves = [Shape(f.shape.core, 0.0) for f in seen.artwork.features("score")]
    required = seen.rules.copper_to_score
    for i, j, gap in layer.shapes.within(ShapeSet(grooves), required):
        item = layer.items[j]
        if item.is_hole:
            continue
        message = f"copper is {gap:.3f} mm from the middle of the groove" if gap > 0 else "the groove cuts into copper"
        where = f"{name_of(item.feature)}, {layer.layer}, at a scored line"
        at = between(grooves[i], item.shape)
        yield COPPER_TO_SCORE.finding(seen.rules, at, where, message, max(gap, 0.0), required)


def nearest_on_edge(seen: Inspection, shape: Shape) -> Position:
    """Return the point of the board's edge nearest to a shape."""
    x, y = shapely.shortest_line(seen.board.outline.boundary, shape.core).coords[0]
    return (x, y)


def holes_at_edge(seen: Inspection) -> Iterator[Finding]:
    """Report holes that reach over the edge."""
    outline, cut = seen.board.outline, halved(seen)
    for drill in seen.artwork.drills:
        shape = drill.shape
        room = float(shapely.distance(shape.core, outline.boundary)) - shape.radius
        if drill.owner.reference in cut:
            off = room + shape.radius
            if off > HALVED_TO:
                message = f"the edge passes {off:.3f} mm beside the middle of the hole"
                yield HALF_HOLE.finding(seen.rules, drill.at, name_of(drill), message, off, HALVED_TO)
            continue
        if not outline.covers(shape.core) or room < -TOLERANCE:
            message = "the hole reaches over the edge of the board"
            yield HOLE_OFF_BOARD.finding(seen.rules, drill.at, name_of(drill), message)


def halved(seen: Inspection) -> frozenset[str]:
    """Return the parts whose plated holes the edge cuts on purpose."""
    return frozenset(p.reference for p in seen.description.parts if p.footprint.edge == "halved")


def profile(seen: Inspection) -> Iterator[Finding]:
    """Compare the centre lines of the profile layer with the outline, ring by ring."""
    edge = seen.board.outline.boundary
    drawn = shapely.union_all([f.shape.core for f in seen.artwork.features("profile") if f.shape.core.length])
    if drawn.is_empty or edge.hausdorff_distance(drawn) > PROFILE_TOLERANCE:
        yield PROFILE.finding(seen.rules, None, "the profile", "the profile layer does not follow the board's outline")
    elif not shapely.line_merge(drawn).is_closed:
        yield PROFILE.finding(seen.rules, None, "the profile", "the profile layer is not a closed line")
