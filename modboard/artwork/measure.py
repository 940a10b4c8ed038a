"""What is really there: smallest gap, track, ring and hole of the drawn copper, exact to rounding.

A feature is a core grown by a radius, so a gap is the distance of two cores less both radii; no circle is ever replaced
by chords.  All figures are in mm.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations_with_replacement
from typing import Any

import numpy as np
import shapely

from modboard.artwork.model import Artwork, Drill, Feature, Flash, LayerName, Region, Stroke
from modboard.geometry import Position, Shape
from modboard.layout.board import COPPER_LAYERS, Board, CopperLayer

Kind = str  # "pad", "track" or "region"
COPPER: dict[CopperLayer, LayerName] = {"top": "copper-top", "bottom": "copper-bottom"}


@dataclass(frozen=True)
class Extreme:
    """The least of something: `value` in mm, where (board coordinates) and in words what it is."""

    value: float
    at: Position
    what: str


def smallest_gap(artwork: Artwork) -> Extreme | None:
    """Return the smallest gap between copper of different nets on one layer; None if there are no two nets.

    Negative or zero means that two nets touch.
    """
    return min(gaps_by_kind(artwork).values(), key=lambda e: e.value, default=None)


def gaps_by_kind(artwork: Artwork) -> dict[tuple[Kind, Kind], Extreme]:
    """Return the smallest gap between different nets for each pair of kinds that occurs, e.g. ("pad", "track")."""
    found: dict[tuple[Kind, Kind], Extreme] = {}
    for layer in COPPER_LAYERS:
        for pair, extreme in _layer_gaps(artwork, layer).items():
            if pair not in found or extreme.value < found[pair].value:
                found[pair] = extreme
    return found


def smallest_track(artwork: Artwork) -> Extreme | None:
    """Return the narrowest stroke of copper that carries a net; None if there is none."""
    strokes = [
        (layer, f)
        for layer in COPPER_LAYERS
        for f in artwork.layer(COPPER[layer]).features
        if isinstance(f, Stroke) and f.function == "conductor"
    ]
    if not strokes:
        return None
    layer, least = min(strokes, key=lambda s: s[1].width)
    return Extreme(least.width, least.points[0], f"track of {least.owner.net or 'no net'} on the {layer}")


def smallest_hole(artwork: Artwork, plated: bool | None = None) -> Extreme | None:
    """Return the smallest finished hole, of all or of the plated or bare ones; None if there is none."""
    drills = [d for d in artwork.drills if plated is None or d.plated is plated]
    if not drills:
        return None
    least = min(drills, key=lambda d: d.diameter)
    return Extreme(least.diameter, least.at, f"hole of {name(least)}")


def smallest_ring(artwork: Artwork) -> Extreme | None:
    """Return the narrowest ring of a land round a hole, on either side; None if no land has a hole."""
    rings = []
    for layer in COPPER_LAYERS:
        lands = [f for f in artwork.layer(COPPER[layer]).features if isinstance(f, Flash)]
        tree = shapely.STRtree([shapely.Point(f.at) for f in lands])
        for drill in artwork.drills:
            near = tree.query(drill.shape.core, predicate="dwithin", distance=drill.diameter / 2)
            own = [ring_of(lands[k].shape, drill) for k in near]
            if own:
                rings.append(Extreme(max(own), drill.at, f"ring of {name(drill)} on the {layer}"))
    return min(rings, key=lambda e: e.value, default=None)


def ring_of(land: Shape, drill: Drill) -> float:
    """Return how much copper of `land` there is round the hole at its narrowest; negative where the hole breaks out."""
    centres = [drill.at] + ([drill.to] if drill.to else [])
    # A land is convex, so along a slot's straight centre line the narrowest place is at one of its ends.
    return min(_depth(land, shapely.Point(c)) for c in centres) - drill.diameter / 2


def track_length(board: Board) -> float:
    """Return the length of all tracks along their centre lines."""
    return sum(float(shapely.LineString(t.points).length) for t in board.tracks if len(t.points) > 1)


def name(drill: Drill) -> str:
    """Return in words what a hole belongs to."""
    owner = drill.owner
    if owner.reference:
        return f"{owner.reference}.{owner.number}" if owner.number else owner.reference
    return f"a via of {owner.net}" if owner.net else "the board"


def kind(feature: Feature) -> Kind:
    """Return "pad", "track" or "region"."""
    return {Flash: "pad", Stroke: "track", Region: "region"}[type(feature)]


def _depth(land: Shape, point: Any) -> float:
    """Return the distance from a point to the outline of `land`, negative outside."""
    core = land.core
    if core.geom_type == "Polygon" and core.covers(point):
        return float(core.exterior.distance(point)) + land.radius
    return land.radius - float(core.distance(point))


def _layer_gaps(artwork: Artwork, layer: CopperLayer) -> dict[tuple[Kind, Kind], Extreme]:
    features = artwork.layer(COPPER[layer]).features
    nets = np.array([f.owner.net or _loner(f, number) for number, f in enumerate(features)])
    kinds = np.array([kind(f) for f in features])
    cores = np.array([f.shape.core for f in features], dtype=object)
    radii = np.array([f.shape.radius for f in features])
    if len(set(nets)) < 2:
        return {}
    shapely.prepare(cores)
    tree = shapely.STRtree(cores)
    wanted = _occurring(kinds, nets)
    found: dict[tuple[Kind, Kind], Extreme] = {}
    x0, y0, x1, y1 = shapely.total_bounds(cores)
    diagonal = float(np.hypot(x1 - x0, y1 - y0)) + 2 * float(radii.max())
    reach = 0.5
    while wanted - found.keys():
        one, other = tree.query(cores, predicate="dwithin", distance=reach + radii + radii.max())
        keep = (one < other) & (nets[one] != nets[other])
        one, other = one[keep], other[keep]
        gaps = shapely.distance(cores[one], cores[other]) - radii[one] - radii[other]
        for pair in wanted - found.keys():
            of_pair = np.flatnonzero(_is_pair(kinds[one], kinds[other], pair) & (gaps <= reach))
            if len(of_pair):
                best = of_pair[np.argmin(gaps[of_pair])]
                found[pair] = _extreme(features[one[best]], features[other[best]], float(gaps[best]), layer)
        if reach > diagonal:
            break
        reach *= 4
    return found


def _loner(feature: Feature, number: int) -> str:
    """Return a net name of its own for copper without a net: the pad it belongs to, or just itself."""
    owner = feature.owner
    return f"\x00{owner.reference}.{owner.number}" if owner.reference else f"\x00{number}"


def _occurring(kinds: Any, nets: Any) -> set[tuple[Kind, Kind]]:
    by_kind = {k: set(nets[kinds == k]) for k in sorted(set(kinds.tolist()))}
    return {(a, b) for a, b in combinations_with_replacement(by_kind, 2) if len(by_kind[a] | by_kind[b]) > 1}


def _is_pair(one: Any, other: Any, pair: tuple[Kind, Kind]) -> Any:
    return ((one == pair[0]) & (other == pair[1])) | ((one == pair[1]) & (other == pair[0]))


def _extreme(one: Feature, other: Feature, gap: float, layer: CopperLayer) -> Extreme:
    line = shapely.shortest_line(one.shape.core, other.shape.core)
    at = line.interpolate(0.5, normalized=True)
    what = f"{_words(one)} to {_words(other)} on the {layer}"
    return Extreme(gap, (float(at.x), float(at.y)), what)


def _words(feature: Feature) -> str:
    owner = feature.owner
    if owner.reference and isinstance(feature, Flash):
        return f"{owner.reference}.{owner.number}"
    called = {"pad": "via", "track": "track", "region": "pour"}[kind(feature)]
    return f"{called} of {owner.net or 'no net'}"
