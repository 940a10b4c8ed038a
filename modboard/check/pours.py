"""Pours: no islands, no necks too thin to last, and enough spokes to hold a lead that can still be soldered."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

import shapely
from shapely.geometry import Polygon

from modboard.artwork.model import Flash
from modboard.check.copper import CopperItem, LayerCopper
from modboard.check.findings import Finding
from modboard.check.inspection import Inspection
from modboard.check.rule import Rule
from modboard.check.words import name_of, spot
from modboard.geometry import TOLERANCE, clipped
from modboard.layout.held import ROUNDED
from modboard.layout.held import crossings as of_ring
from modboard.layout.pour import LEAST_SPOKES

POUR_ISLAND = Rule(
    "pour-island",
    "error",
    "every piece of a pour is joined to a pad of its net",
    "remove the piece, or tie it to the net with a via",
)
POUR_NECK = Rule(
    "pour-neck",
    "error",
    "a pour is nowhere narrower than the rule set allows",
    "widen the neck or cut it away",
    limit="pour_neck",
)
THERMAL_SPOKES = Rule(
    "thermal-spokes",
    "warning",
    "a lead in a pour is held by at least two spokes or tracks, or by one as wide as two",
    "give the pad more room so that spokes reach it, or lead a track to it",
    source="common practice for hand soldering",
)
POUR_SLIVER = Rule(
    "pour-sliver",
    "warning",
    "a pour ends nowhere in a finger thinner than the rule set allows, which may peel off while etching",
    "cut the finger away or widen it",
    limit="pour_neck",
)
THERMAL_RELIEF = Rule(
    "thermal-relief",
    "warning",
    "a lead in a pour is joined to it by spokes, not all round, so that an iron can heat it",
    "open the pour round the land and join them by spokes",
    source="common practice for hand soldering",
)
RULES = (POUR_ISLAND, POUR_NECK, POUR_SLIVER, THERMAL_SPOKES, THERMAL_RELIEF)

FINGER = 2.0  # times the least neck: how far a thin finger may reach beyond copper that is wide enough, common practice
MOST_OF_RING = 0.5  # of the way round a land: more copper than this draws the heat off, common practice
SHARES = 0.5, 0.9  # of the disc's radius, see `squeezes`: the first finds narrow necks, the second all but wide enough
HAIRS = 10 * TOLERANCE  # that rounding leaves between what is one
QUARTER = 64  # chords in a quarter circle for opening: under 0.1 µm off for necks up to 0.5 mm


def inspect(seen: Inspection) -> Iterator[Finding]:
    """Look at every pour."""
    yield from islands(seen)
    for layer in seen.copper.layers.values():
        for item in layer.items:
            if item.is_pour:
                yield from necks(seen, layer, item)
    yield from spokes(seen)


def islands(seen: Inspection) -> Iterator[Finding]:
    """Report pieces that no copper joins to a pad of their net."""
    items, joins = seen.copper.items, seen.copper.joins
    fed = {joins.group(number) for number, item in enumerate(items) if item.is_pad}
    for number, item in enumerate(items):
        if item.is_pour and joins.group(number) not in fed:
            at = item.shape.core.representative_point()
            where = f"the pour of {item.net or 'no net'} at {spot((at.x, at.y))}, {item.layer}"
            message = f"a piece of {item.shape.core.area:.2f} mm² is joined to no pad"
            yield POUR_ISLAND.finding(seen.rules, (at.x, at.y), where, message)


def necks(seen: Inspection, layer: LayerCopper, item: CopperItem) -> Iterator[Finding]:
    """Find necks by opening: what a disc as wide as the least neck cannot reach, yet joins two places that it can.

    Copper of the same net that overlaps the pour counts as part of it.
    """
    width = seen.rules.pour_neck - 2 * TOLERANCE
    own = [
        other.shape.polygon(QUARTER)
        for other in layer.items
        if other is not item and other.potential == item.potential and other.shape.distance(item.shape) <= TOLERANCE
    ]
    joined = shapely.union_all(own)
    whole = shapely.union_all([item.shape.core, joined])
    core = whole.buffer(-width / 2, quad_segs=QUARTER)
    reached = core.buffer(width / 2, quad_segs=QUARTER)
    held = shapely.union_all([reached, joined])
    pieces = shapely.get_parts(whole.difference(reached.buffer(TOLERANCE)))
    pieces = pieces[shapely.area(pieces) > TOLERANCE]
    yield from squeezes(seen, layer, item, whole, core, joined)
    for piece in pieces[shapely.area(shapely.difference(pieces, joined)) > TOLERANCE]:
        if len(contacts(piece, held)) == 1:
            yield from finger(seen, layer, item, piece, held)
            continue
        at = piece.representative_point()
        measured = neck_width(whole, piece)
        where = f"{name_of(item.feature)} at {spot((at.x, at.y))}, {layer.layer}"
        message = f"the pour narrows to {measured:.3f} mm"
        yield POUR_NECK.finding(seen.rules, (at.x, at.y), where, message, measured, seen.rules.pour_neck)


def squeezes(
    seen: Inspection, layer: LayerCopper, item: CopperItem, whole: Any, core: Any, joined: Any
) -> Iterator[Finding]:
    """Find necks that the disc covers from both sides without passing, as between two round holes.

    `core` is where the disc's middle may go.  Where the disc can pass, all that lies a share of its radius deep is
    within the rest of its radius of the core; what is not, and lies between two places that are, is such a neck.  A
    place that `joined` (tracks and pads of the net) covers by itself has widths of its own to obey.
    """
    limit = seen.rules.pour_neck
    told: list[Any] = []
    for share in SHARES:
        deep = whole.buffer(-limit / 2 * share, quad_segs=QUARTER)
        near = core.buffer(limit / 2 * (1 - share) + HAIRS, quad_segs=QUARTER)
        for piece in shapely.get_parts(deep.difference(near)):
            ends = contacts(piece, near) if piece.area > HAIRS * limit else []
            at = piece.representative_point()
            if len(ends) < 2 or any(at.distance(before) < limit for before in told):
                continue
            if piece.difference(joined).area <= HAIRS * limit:
                continue
            measured = squeeze_width(whole, core, piece, ends, limit)
            if measured < limit - 2 * TOLERANCE:
                told.append(at)
                where = f"{name_of(item.feature)} at {spot((at.x, at.y))}, {layer.layer}"
                message = f"the pour narrows to {measured:.3f} mm"
                yield POUR_NECK.finding(seen.rules, (at.x, at.y), where, message, measured, limit)


def squeeze_width(whole: Any, core: Any, piece: Any, ends: Any, limit: float) -> float:
    """Return the width in mm of the widest disc that passes from one end of `piece` to another, to 0.1 µm."""
    x0, y0, x1, y1 = piece.bounds
    window = (x0 - limit, y0 - limit, x1 + limit, y1 + limit)
    local, middle = clipped(whole, *window), clipped(core, *window)
    if middle.is_empty:
        return 0.0
    places = [shapely.shortest_line(middle, end).interpolate(0.0) for end in ends]
    low, high = 0.0, limit
    while high - low > 1e-4:
        width = (low + high) / 2
        around = shapely.box(*window).boundary.buffer(width)  # the window's own edge is no edge of copper
        inside = shapely.union_all([local.buffer(-width / 2, quad_segs=QUARTER), around.intersection(middle)])
        parts = [part.buffer(HAIRS) for part in shapely.get_parts(inside)]
        passes = any(sum(part.intersects(place) for place in places) > 1 for part in parts)
        low, high = (width, high) if passes else (low, width)
    return low


def finger(seen: Inspection, layer: LayerCopper, item: CopperItem, piece: Any, held: Any) -> Iterator[Finding]:
    """Report a dead end that the disc cannot enter, if it reaches far beyond what the disc can."""
    limit = FINGER * seen.rules.pour_neck
    x0, y0, x1, y1 = piece.bounds
    if math.hypot(x1 - x0, y1 - y0) <= limit:  # it touches what is wide enough, so nothing of it can be farther
        return
    points = shapely.points(shapely.get_coordinates(piece))
    away = shapely.distance(points, clipped(held, x0 - limit, y0 - limit, x1 + limit, y1 + limit))
    if away.max() > limit + TOLERANCE:
        tip = points[int(away.argmax())]
        where = f"{name_of(item.feature)} at {spot((tip.x, tip.y))}, {layer.layer}"
        message = f"a finger thinner than {seen.rules.pour_neck:.3f} mm reaches {away.max():.3f} mm into nothing"
        yield POUR_SLIVER.finding(seen.rules, (tip.x, tip.y), where, message, float(away.max()), limit)


def contacts(piece: Any, held: Any) -> Any:
    """Return the places where a piece that the disc cannot reach meets copper that it can: one for a mere corner.

    The hair by which things are grown keeps places together that only rounding parts.
    """
    hair = 10 * TOLERANCE
    around = piece.buffer(hair)
    x0, y0, x1, y1 = around.bounds
    nearby = clipped(held, x0 - hair, y0 - hair, x1 + hair, y1 + hair)
    met = nearby.intersection(around).buffer(hair)
    return [] if met.is_empty else shapely.get_parts(met)


def neck_width(whole: Any, piece: Any) -> float:
    """Return the greatest width in mm of a disc that passes through a neck of `whole`, bisected to 0.1 µm."""
    low, high = 0.0, float(shapely.minimum_bounding_radius(piece)) * 2
    while high - low > 1e-4:
        middle = (low + high) / 2
        core = whole.buffer(-middle / 2, quad_segs=QUARTER)
        parted = piece.difference(core.buffer(middle / 2 + TOLERANCE, quad_segs=QUARTER))
        low, high = (low, middle) if parted.area > TOLERANCE and parted.area > piece.area / 2 else (middle, high)
    return low


def spokes(seen: Inspection) -> Iterator[Finding]:
    """Count what holds each lead that stands in a pour of its net: spokes and tracks, on both layers together.

    Copper of the net is counted where it crosses the middle of the relief round the land, a spoke as wide as two for
    two; a land with copper all round on some layer needs no spokes.
    """
    counts: dict[tuple[str, str], int] = {}
    shares: dict[tuple[str, str], float] = {}
    pads: dict[tuple[str, str], Flash] = {}
    for layer in seen.copper.layers.values():
        pours = [i for i in layer.items if i.is_pour and i.net]
        if not pours:
            continue
        outer = {id(p): Polygon(p.shape.core.exterior) for p in pours}
        for item in layer.items:
            if not (isinstance(item.feature, Flash) and item.feature.function == "component-pad" and item.net):
                continue
            around = [p for p in pours if p.net == item.net and outer[id(p)].intersects(item.shape.core)]
            if around:
                key = (item.feature.owner.reference, item.feature.owner.number)
                pads[key] = item.feature
                count, share = crossings(seen, layer, item)
                counts[key] = counts.get(key, 0) + count
                shares[key] = max(shares.get(key, 0.0), share)
    for key, pad in pads.items():
        if shares[key] > MOST_OF_RING:
            message = f"copper meets {shares[key]:.0%} of the way round the land, which draws off the iron's heat"
            yield THERMAL_RELIEF.finding(
                seen.rules, pad.at, name_of(pad), message, 100 * shares[key], 100 * MOST_OF_RING, unit="%"
            )
        if counts[key] < LEAST_SPOKES:
            held = "one spoke or track" if counts[key] else "nothing"
            message = f"the lead stands in the pour of its net but is held by {held}"
            yield THERMAL_SPOKES.finding(
                seen.rules, pad.at, name_of(pad), message, counts[key], LEAST_SPOKES, unit="spokes"
            )


def crossings(seen: Inspection, layer: LayerCopper, pad: CopperItem) -> tuple[int, float]:
    """Return how often copper of the pad's net crosses the ring half way across its relief, and its share of it."""
    ring = pad.shape.grown(seen.rules.thermal_gap / 2).polygon().exterior
    x0, y0, x1, y1 = ring.bounds
    copper = [
        clipped(other.shape.polygon(), x0 - 1.0, y0 - 1.0, x1 + 1.0, y1 + 1.0)
        for other in layer.items
        if other.net == pad.net and not other.is_hole and other.thing != pad.thing
    ]
    return of_ring(ring, copper, LEAST_SPOKES * seen.rules.thermal_spoke * ROUNDED)
