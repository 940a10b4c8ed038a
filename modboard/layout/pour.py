"""Pours: copper flooded round everything else, joined to its own pads by thermal spokes.

Gaps are cut with polygons that contain the true outlines, and a hair more (`MARGIN`), so that every error of
approximating a curve falls on the safe side.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely

from modboard.describe.model import Description, Net
from modboard.geometry import Position, Shape, clipped, snapped, stroke
from modboard.layout.board import CopperLayer, Pad, PlacedPart, Pour, Track, Via
from modboard.layout.quiet import kinds, opposite

MARGIN = 0.002  # mm added to each gap: covers simplification and rounding
SIMPLIFY = 0.0005  # mm
GRID = 0.0001  # mm, pour corners are rounded to this
OUTSIDE = 0.003  # mm that a corner of a cut-out is outside the true arc at most
SEGMENTS = 8  # chords in a quarter circle of a disc that feels for necks
LEAST_AREA = 1.0  # mm²; smaller islands are not worth etching, common practice
SPECK = 1e-6  # mm²; less is rounding
MOST_CUTS = 4  # rounds of cutting necks through: a cut may leave another
SHARES = 0.5, 0.9  # of a disc's radius, see `_squeezes`
CUT_REACH = 3.0  # necks; so far round a cut another may have come to be
LEAST_ALONE = 20.0  # mm²; a smaller piece that joins one thing only joins nothing, common practice
APART = (60.0, 45.0)  # degrees between spokes where the usual four do not fit, the second where the first leaves one
LEAST_SPOKES = 2  # for hand soldering, fabrication reference section 8


@dataclass(frozen=True)
class Copper:
    """What a pour must flow round or join."""

    description: Description
    parts: tuple[PlacedPart, ...]
    pads: tuple[Pad, ...]
    tracks: tuple[Track, ...]
    vias: tuple[Via, ...]


def pour_layers(net: Net) -> tuple[CopperLayer, ...]:
    """Return the layers a net is poured on."""
    if net.pour is None:
        return ()
    return ("top", "bottom") if net.pour == "both" else (net.pour,)


def poured(copper: Copper, *, rough: bool = False) -> tuple[Pour, ...]:
    """Return every piece of every pour, each touching a pad, via or track of its net, small ones two.

    Nets listed earlier in the design take precedence where two pours share a layer.  `rough` pours are quick and may
    have necks (`_unsqueezed`): they tell what is likely to be left apart.
    """
    pieces: list[Pour] = []
    for net in copper.description.nets:
        for layer in pour_layers(net):
            pieces += _pour(net, layer, copper, pieces, rough)
    return tuple(pieces)


def _pour(net: Net, layer: CopperLayer, copper: Copper, earlier: list[Pour], rough: bool) -> list[Pour]:
    rules = copper.description.rules
    flooded, held = _flooded(net, layer, copper, earlier)
    own_pads = [pad for pad, _ in held]
    spokes = [s for _, spokes in held for s in spokes]
    # where a spoke meets the flood beside a corner of the relief, a sliver may be left that is no part of either
    joints = [p.shape for p in own_pads] + [v.shape for v in copper.vias if v.net == net.name]
    joints += [t.shape for t in copper.tracks if t.net == net.name and t.layer == layer]
    poured_in = shapely.union_all([flooded, *spokes])
    area = poured_in
    if not rough:
        whole = shapely.union_all([poured_in, *(joint.polygon(_chords(joint.radius)) for joint in joints)])
        area = _unsqueezed(whole, rules.pour_neck, rules.pour_gap).intersection(poured_in)
    area = snapped(area.simplify(SIMPLIFY), GRID)
    found = []
    for piece in sorted(shapely.get_parts(area), key=lambda g: (g.bounds, g.area)):
        shape = Shape(piece, 0.0)
        joined = sum(shape.overlaps(joint) for joint in joints) if piece.area >= LEAST_AREA else 0
        if joined > 1 or (joined == 1 and piece.area >= LEAST_ALONE):
            found.append(Pour(net.name, layer, shapely.normalize(piece)))
    return found


def scarce_spokes(copper: Copper) -> list[tuple[CopperLayer, Any]]:
    """Return the spokes (layer, polygon) of pads that are held by no more than two, or one as wide, on both layers."""
    found: list[tuple[CopperLayer, Any]] = []
    for net in copper.description.nets:
        held = [(layer, *h) for layer in pour_layers(net) for h in _flooded(net, layer, copper, [])[1]]
        count: dict[Position, int] = {}
        for _, pad, spokes in held:
            count[pad.at] = count.get(pad.at, 0) + len(spokes)
        found += [(layer, s) for layer, pad, spokes in held for s in spokes if count[pad.at] <= LEAST_SPOKES]
    return found


def _flooded(
    net: Net, layer: CopperLayer, copper: Copper, earlier: list[Pour]
) -> tuple[Any, list[tuple[Pad, list[Any]]]]:
    """Return what a net floods on a layer, and its pads there with their spokes."""
    rules = copper.description.rules
    room = _room(net, layer, copper, earlier)
    own_pads = [p for p in copper.pads if p.net == net.name and layer in p.layers]
    reliefs = [_cut(p.shape.grown(rules.thermal_gap + MARGIN)) for p in own_pads]
    flooded = _opened(room.difference(shapely.union_all(reliefs)), rules.pour_neck, rules.pour_gap)
    solid = flooded.buffer(SIMPLIFY)
    shapely.prepare([room, solid])
    return flooded, [(p, _spokes(p, rules.thermal_gap, rules.thermal_spoke, room, solid)) for p in own_pads]


def _room(net: Net, layer: CopperLayer, copper: Copper, earlier: list[Pour]) -> Any:
    """Return where copper of `net` may be on `layer`, own pads included."""
    description = copper.description
    rules = description.rules
    gaps = {n.name: n.gap for n in description.nets}

    kind = kinds(description)

    def apart(other: str | None) -> float:
        far = rules.quiet_gap if opposite(kind.get(net.name, ""), kind.get(other or "", "")) else 0.0
        return max(rules.pour_gap, net.gap, gaps.get(other or "", 0.0), far) + MARGIN

    foreign: list[Any] = []
    for pad in copper.pads:
        if pad.net != net.name and layer in pad.layers:
            foreign.append(_cut(pad.shape.grown(apart(pad.net))))
        elif hole := pad.bare(layer, rules):
            away = max(apart(pad.net), rules.bare_hole_to_copper + MARGIN)
            foreign.append(_cut(hole.shape().grown(away)))
    for track in copper.tracks:
        if track.net != net.name and track.layer == layer:
            foreign.append(_cut(track.shape.grown(apart(track.net))))
    for via in copper.vias:
        if via.net != net.name:
            foreign.append(_cut(via.shape.grown(apart(via.net))))
    for piece in earlier:
        if piece.layer == layer:
            foreign.append(_cut(Shape(piece.area, apart(piece.net))))
    for placed in copper.parts:
        for hole in placed.part.footprint.holes:
            bare = placed.hole(hole).kept_off(rules.bare_hole_to_copper)
            foreign.append(_cut(bare.grown(MARGIN)))
        if placed.window():
            foreign.append(
                shapely.Polygon(placed.window()).buffer(rules.mask_expansion + rules.mask_to_copper + MARGIN)
            )
    for mount in description.holes:
        keep = max(mount.keep_out / 2, mount.diameter / 2 + rules.bare_hole_to_copper) + MARGIN
        foreign.append(_cut(Shape(shapely.Point(mount.at), keep)))
    for area in description.keep_outs:
        if layer in area.sides and "pours" in area.bars:
            foreign.append(_cut(area.shape.grown(MARGIN)))
    edge = rules.copper_to_edge + MARGIN
    board = description.outline.buffer(-edge / math.cos(math.pi / 128), quad_segs=32)
    return board.difference(shapely.union_all(foreign))


def _cut(shape: Shape) -> Any:
    """Return a polygon that contains `shape` and is hardly larger."""
    return shape.covering_polygon(_chords(shape.radius))


def _chords(radius: float) -> int:
    """Return how many chords a quarter circle of `radius` mm needs for its corners to be `OUTSIDE` at most."""
    return max(4, math.ceil(math.pi / 4 / math.acos(radius / (radius + OUTSIDE))))


def _opened(area: Any, neck: float, gap: float) -> Any:
    """Return `area` without necks and corners that a disc of diameter `neck` cannot reach, and without specks.

    Two pieces between which the disc cannot pass may still touch where its rims met; the smaller is cut back by `gap`.
    """
    r = neck / 2 + MARGIN

    def pieces(of: Any) -> list[Any]:
        cores = shapely.get_parts(of.buffer(-r, quad_segs=SEGMENTS))
        grown = [core.buffer(r - SIMPLIFY, quad_segs=SEGMENTS) for core in cores if not core.is_empty]
        return sorted((g for g in grown if g.area >= LEAST_AREA), key=lambda g: (-g.area, g.bounds))

    kept: list[Any] = []
    for piece in pieces(area):
        touched = [k for k in kept if k.intersects(piece)]
        if touched:
            x0, y0, x1, y1 = piece.bounds  # a whole pour is slow to grow, and only what is near the piece matters
            near = clipped(shapely.union_all(touched), x0 - gap, y0 - gap, x1 + gap, y1 + gap)
            rest = piece.difference(near.simplify(SIMPLIFY).buffer(gap + SIMPLIFY))
            kept += [part for part in pieces(rest) if not any(k.intersects(part) for k in kept)]
        else:
            kept.append(piece)
    return shapely.union_all(kept)


def _unsqueezed(area: Any, neck: float, gap: float) -> Any:
    """Return what a disc of diameter `neck` reaches, cut through by `gap` where it reaches from two sides but not past.

    Between two round cut-outs a little nearer than the disc is wide it covers all the copper but for a hollow at each
    rim, and still cannot pass.
    """
    r = neck / 2 + MARGIN
    cuts: list[Any] = []
    for turn in range(MOST_CUTS):
        parts = shapely.get_parts(area.buffer(-r, quad_segs=SEGMENTS))
        grown = shapely.buffer(parts, r - SIMPLIFY, quad_segs=SEGMENTS)
        worth = shapely.area(grown) >= LEAST_AREA  # else a nub behind a neck
        reached = shapely.union_all(grown[worth])
        if _as_joined(area, parts):
            break
        core = shapely.union_all(parts[worth])
        around = [shapely.box(*cut.bounds).buffer(CUT_REACH * neck, join_style="mitre") for cut in cuts]
        places = shapely.get_parts(shapely.union_all(around)) if turn else [area]  # a cut changes what is near it only
        cuts = [cut for place in places for cut in _squeezes(area, core, neck, gap, place.bounds)]
        if not cuts:
            break
        area = area.difference(shapely.union_all(cuts))  # not of what is reached: a neck just wide enough shrank by it
    return reached


def _as_joined(area: Any, parts: Any) -> bool:
    """Tell whether what is left when `area` is shrunk, `parts`, hangs together as it did: then no neck closed.

    Where one does, what is on its two sides comes apart, or the two cut-outs that it lies between become one.
    """
    wholes = shapely.get_parts(area)
    tree = shapely.STRtree(wholes)
    inside, of = tree.query(parts, "within")
    left = np.bincount(of, minlength=len(wholes))
    holes = np.bincount(of, shapely.get_num_interior_rings(parts[inside]), len(wholes))
    kept = left > 0
    return bool(
        len(inside) == len(parts)
        and left.max(initial=0) <= 1
        and (holes[kept] == shapely.get_num_interior_rings(wholes)[kept]).all()
    )


def _squeezes(area: Any, core: Any, neck: float, gap: float, place: tuple[float, float, float, float]) -> list[Any]:
    """Return where in `place`, a rectangle (mm), a disc of diameter `neck` comes from two sides of `area` only.

    Where it can pass, what lies a share of its radius deep is within the rest of its radius of `core`, where its middle
    may go.
    """
    x0, y0, x1, y1 = place
    area, core = clipped(area, x0, y0, x1, y1), clipped(core, x0 - neck, y0 - neck, x1 + neck, y1 + neck)
    cuts = []
    for share in SHARES:
        deep = area.buffer(-neck / 2 * share, quad_segs=SEGMENTS)
        near = core.buffer(neck / 2 * (1 - share) + MARGIN, quad_segs=SEGMENTS)
        for piece in shapely.get_parts(deep.difference(near)):
            if piece.area > SPECK:
                x0, y0, x1, y1 = piece.bounds
                around = clipped(near, x0 - neck, y0 - neck, x1 + neck, y1 + neck)
                if len(shapely.get_parts(around.intersection(piece.buffer(SIMPLIFY)))) > 1:
                    cuts.append(piece.buffer(max(neck / 2 * share, gap / 2)))
    return cuts


def _spokes(pad: Pad, gap: float, width: float, room: Any, solid: Any) -> list[Any]:
    """Return the spokes of one pad that lie wholly in the room and run at full width into the `solid` flooded copper.

    Four along the pad's axes are best, four diagonal ones next; where neighbours or the edge leave less, whatever
    directions are open, apart from one another (`APART`); where all that leaves is one, one as wide as two if it fits.
    """
    x0, y0, x1, y1 = pad.shape.bounds()
    reach = max(x1 - x0, y1 - y0) / 2 + gap + 2 * width
    outside = pad.shape.polygon()
    tried: dict[tuple[float, float], Any] = {}

    def spoke(turn: float, wide: float = width) -> Any:
        if (turn, wide) not in tried:
            angle = math.radians(pad.turn % 90 + turn)
            ux, uy = round(math.cos(angle), 12), round(math.sin(angle), 12)
            length = _exit(outside, pad.at, (ux * reach, uy * reach)) + gap + wide * 0.75
            end = (pad.at[0] + ux * length, pad.at[1] + uy * length)
            shape = stroke((pad.at, end), wide).polygon(8)
            landing = Shape(shapely.Point(end), wide / 2).polygon(8)
            fits = solid.covers(landing) and room.covers(shape.difference(outside))
            if fits and not room.covers(shape):  # its own land may be nearer to others than the pour may be
                shape = shape.intersection(room)
            tried[turn, wide] = shape if fits else None
        return tried[turn, wide]

    for first in (0.0, 45.0):
        found = [s for s in (spoke(first + 90.0 * quarter) for quarter in range(4)) if s is not None]
        if len(found) > LEAST_SPOKES:
            return found
    turns = [15.0 * k for k in range(24)]
    open_turns = [turn for turn in turns if spoke(turn) is not None]
    for apart in APART:
        best = _spaced(open_turns, apart)
        if len(best) >= LEAST_SPOKES:
            return [spoke(turn) for turn in best]
    double = LEAST_SPOKES * width
    broad = next((turn for turn in _straight_first(turns) if spoke(turn, double) is not None), None)
    return [spoke(turn) for turn in best] if broad is None else [spoke(broad, double)]


def _straight_first(turns: list[float]) -> list[float]:
    """Return angles in degrees with those along the pad's axes first."""
    return sorted(turns, key=lambda turn: (turn % 90, turn))


def _spaced(turns: list[float], apart: float) -> list[float]:
    """Return as many of the angles (degrees, ascending) as can be at least `apart` degrees from one another."""
    best: list[float] = []
    for start in _straight_first(turns):
        chosen = [start]
        for turn in turns:
            if all(apart <= abs(turn - c) <= 360 - apart for c in chosen):
                chosen.append(turn)
        best = max(best, chosen, key=len)
    return best


def _exit(outside: Any, at: Position, ray: Position) -> float:
    """Return how far a ray from `at` runs inside a pad's outline, at most to its end."""
    line = shapely.LineString([at, (at[0] + ray[0], at[1] + ray[1])])
    return float(line.intersection(outside).length)
