"""Rings, gaps and widths that are really present."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import shapely

from modboard.fab.readback.connectivity import SOLDERED
from modboard.fab.readback.evidence import SIDES, SLACK, Evidence, spot
from modboard.fab.readback.holes import ReadHole
from modboard.fab.readback.layer import ReadLayer, composed

LEAST_RING = 0.05  # mm, IPC-6012 class 3; below it a drill that wanders breaks out
SLIVER = 1e-3  # mm by which round lands, as polygons, may differ from the copper they are part of
REACHES = (0.3, 1.0, 4.0, 20.0)  # mm round copper in which the next is looked for
WIDEST_NECK = 1.0  # mm; above this a pour is not called narrow


def inspect_holes(evidence: Evidence) -> None:
    """Find the ring that each plated hole has on both sides, and copper that reaches into bare holes."""
    rings: list[tuple[float, str, tuple[float, float]]] = []
    for side, layer in enumerate(evidence.coppers):
        if layer is None or not layer.objects:
            continue
        flashes = [k for k, o in enumerate(layer.objects) if o.kind == "flash" and o.dark]
        tree = shapely.STRtree(layer.shapes[flashes])
        for name, hole in [*evidence.holes(plated=True), *_soldered(evidence)]:
            where, at = f"{name}:{hole.line}", hole.path[0]
            found = [layer.shapes[flashes[k]] for k in tree.query(hole.core, predicate="within")]
            if not found:
                # a land drawn as a region or as lines is copper all the same
                found = [p for p in shapely.get_parts(layer.image) if p.contains(hole.core)]
            if not found and hole.function in SOLDERED and not _has_land(evidence, hole):
                evidence.find("hole-in-pad", "error", where, f"the lead's hole at {spot(at)} has no land", at)
            if not found and hole.function in SOLDERED:
                continue
            if not found:
                message = f"the plated hole at {spot(at)} is not inside copper on the {SIDES[side]}"
                evidence.find("hole-in-pad", "error", where, message, at)
                continue
            ring = max(float(p.boundary.distance(hole.core)) for p in found) - hole.diameter / 2
            rings.append((ring, SIDES[side], at))
            if ring < LEAST_RING - SLACK:
                message = f"ring on the {SIDES[side]}" + (": the hole breaks out of its pad" if ring <= 0 else "")
                evidence.find("ring", "error" if ring <= 0 else "warning", where, message, at, ring, LEAST_RING)
        copper = layer.image
        for name, hole in evidence.holes(plated=False):
            if hole.function in SOLDERED:
                continue
            if (gap := float(copper.distance(hole.core)) - hole.diameter / 2) < -SLACK:
                message = f"copper on the {SIDES[side]} reaches into a bare hole"
                evidence.find("bare-hole", "warning", f"{name}:{hole.line}", message, hole.path[0], gap, 0.0)
    plated, bare = (sum(1 for _ in evidence.holes(p)) for p in (True, False))
    evidence.say("holes", f"{plated} plated, {bare} bare")
    if rings:
        ring, side_name, at = min(rings)
        evidence.say("smallest ring", f"{ring:.3f} mm on the {side_name} at {spot(at)}")


def _soldered(evidence: Evidence) -> list[tuple[str, ReadHole]]:
    """Return the bare holes that take a lead or a wire, as on boards etched at home: they need a land on one side."""
    return [(name, hole) for name, hole in evidence.holes(plated=False) if hole.function in SOLDERED]


def _has_land(evidence: Evidence, hole: ReadHole) -> bool:
    return any(layer is not None and layer.image.contains(hole.core) for layer in evidence.coppers)


def inspect_gaps(evidence: Evidence) -> None:
    """Measure the smallest gap between copper that is not joined, and the narrowest line and neck."""
    gaps = [gap for side in (0, 1) if (gap := _smallest_gap(evidence, side))]
    if gaps:
        value, side_name, at = min(gaps)
        evidence.say("smallest gap", f"{value:.3f} mm on the {side_name} at {spot(at)}")
    lines: list[tuple[float, str, str]] = []
    necks: list[tuple[float, str]] = []
    for side, layer in enumerate(evidence.coppers):
        if layer is None:
            continue
        lines += [(2 * o.radius, SIDES[side], f"{layer.name}:{o.line}") for o in layer.objects if _is_line(o)]
        filled = [k for k, o in enumerate(layer.objects) if o.kind == "region" or not o.dark]
        if any(layer.objects[k].dark for k in filled):
            area = composed(layer.shapes[filled], [layer.objects[k].dark for k in filled])
            necks += [(_neck(p), SIDES[side]) for p in shapely.get_parts(area) if p.area > 0.01]
    if lines:
        width, side_name, where = min(lines)
        evidence.say("narrowest line", f"{width:.3f} mm on the {side_name}, {where}")
    if necks and min(necks)[0] < WIDEST_NECK:
        evidence.say("narrowest neck", f"about {min(necks)[0]:.2f} mm in filled copper on the {min(necks)[1]}")


def _is_line(item: Any) -> bool:
    return bool(item.kind == "draw" and item.dark and item.radius > 0)


def smallest_line(evidence: Evidence) -> float | None:
    """Return the width of the narrowest line drawn in copper that carries a net, mm."""
    layers = [layer for layer in evidence.coppers if layer]
    found = [2 * o.radius for layer in layers for o in layer.objects if _is_line(o)]
    return min(found, default=None)


def _smallest_gap(evidence: Evidence, side: int) -> tuple[float, str, tuple[float, float]] | None:
    islands, groups = evidence.joined.islands[side], evidence.joined.groups[side]
    if len(islands) < 2:
        return None
    tree = shapely.STRtree(islands)
    for reach in REACHES:
        one, other = tree.query(islands, predicate="dwithin", distance=reach)
        apart = (one < other) & (groups[one] != groups[other])
        if apart.any():
            one, other = one[apart], other[apart]
            distances = shapely.distance(islands[one], islands[other])
            least = int(np.argmin(distances))
            near = shapely.shortest_line(islands[one[least]], islands[other[least]]).interpolate(0.5, normalized=True)
            return float(distances[least]), SIDES[side], (near.x, near.y)
    return None


def gap_below(evidence: Evidence, promised: float) -> float | None:
    """Return the smallest gap (mm) under `promised` between copper that is not joined; None if there is none.

    Gaps between a pad and a filled area do not count: a job file has no word for them (Ucamco, Gerber Job Format,
    DesignRules: PadToPad, PadToTrack, TrackToTrack, TrackToRegion, RegionToRegion).
    """
    found: list[float] = []
    for side, layer in enumerate(evidence.coppers):
        islands, groups = evidence.joined.islands[side], evidence.joined.groups[side]
        if layer is None or len(islands) < 2:
            continue
        one, other = shapely.STRtree(islands).query(islands, predicate="dwithin", distance=promised)
        apart = (one < other) & (groups[one] != groups[other])
        pads = _union(layer, "flash") if apart.any() else None
        fills = _union(layer, "region") if apart.any() else None
        found += [_gap_said(islands[a], islands[b], pads, fills) for a, b in zip(one[apart], other[apart], strict=True)]
    least = min(found, default=promised)
    return least if least < promised else None


def _gap_said(one: Any, other: Any, pads: Any, fills: Any) -> float:
    """Return the gap (mm) of two islands, leaving out that between pads of one and an island with a filled area."""
    (lands, rest), (their_lands, their_rest) = (
        (a.intersection(pads), a.difference(pads.buffer(SLIVER))) for a in (one, other)
    )
    ways = [(lands, their_lands), (rest, their_rest)]
    if not other.intersects(fills):
        ways.append((lands, their_rest))
    if not one.intersects(fills):
        ways.append((rest, their_lands))
    return min((float(shapely.distance(a, b)) for a, b in ways if not (a.is_empty or b.is_empty)), default=math.inf)


def _union(layer: ReadLayer, kind: str) -> Any:
    """Return all dark objects of one kind as one area."""
    return shapely.union_all([s for o, s in zip(layer.objects, layer.shapes, strict=True) if o.kind == kind and o.dark])


def _neck(area: Any) -> float:
    """Return the least width (mm, to about 0.01) at which shrinking parts the area; WIDEST_NECK if it never does."""
    low, high = 0.0, WIDEST_NECK
    if not _parts(area, high):
        return WIDEST_NECK
    for _ in range(7):
        middle = (low + high) / 2
        low, high = (low, middle) if _parts(area, middle) else (middle, high)
    return high


def _parts(area: Any, width: float) -> bool:
    shrunk = shapely.get_parts(area.buffer(-width / 2, quad_segs=4))
    return sum(1 for part in shrunk if part.area > width**2 / 4) != 1
