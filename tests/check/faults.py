"""Faults to put into a clean board, each with the rule that must find it and words its place must hold.

A fault is a function from a source of chance, the clean board and its artwork to the spoilt pair.  A new rule
brings its faults along by adding them to `FAULTS`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from random import Random
from typing import Any

import shapely

from modboard.artwork.draw import draw
from modboard.artwork.model import Artwork, Drill, Feature, Flash, LayerName, Owner, Region, Stroke
from modboard.geometry import Position, Shape
from modboard.layout.board import Board, Unrouted
from tests.check.build import Scene, round_land


@dataclass(frozen=True)
class Spoilt:
    """A board with one fault: what must be found, and words that must occur in the finding's place."""

    scene: Scene
    words: Sequence[str]


Fault = Callable[[Random, Board, Artwork], Spoilt]


def redrawn(art: Artwork, layer: LayerName, features: Sequence[Feature]) -> Artwork:
    """Return the artwork with other features on one layer."""
    layers = tuple(replace(each, features=tuple(features)) if each.name == layer else each for each in art.layers)
    return replace(art, layers=layers)


def changed(art: Artwork, layer: LayerName, old: Feature, new: Feature | None) -> Artwork:
    """Return the artwork with one feature replaced, or left out."""
    kept = [(new if f is old else f) for f in art.layer(layer).features]
    return redrawn(art, layer, [f for f in kept if f is not None])


def added(art: Artwork, layer: LayerName, *features: Feature) -> Artwork:
    """Return the artwork with features added to one layer."""
    return redrawn(art, layer, [*art.layer(layer).features, *features])


def redrilled(art: Artwork, old: Drill, new: Drill | None) -> Artwork:
    """Return the artwork with one hole replaced, or left out."""
    kept = [(new if d is old else d) for d in art.drills]
    return replace(art, drills=tuple(d for d in kept if d is not None))


def tracks(art: Artwork, layer: LayerName) -> list[Stroke]:
    """Return the tracks of a layer."""
    return [f for f in art.layer(layer).features if isinstance(f, Stroke)]


def lands(art: Artwork, layer: LayerName) -> list[Flash]:
    """Return the lands of parts on a layer that are on a net."""
    return [f for f in art.layer(layer).features if isinstance(f, Flash) and f.owner.reference and f.owner.net]


def pin(feature: Feature | Drill) -> str:
    return f"{feature.owner.reference} pin {feature.owner.number}"


def copper_layer(chance: Random) -> LayerName:
    layers: tuple[LayerName, LayerName] = ("copper-top", "copper-bottom")
    return chance.choice(layers)


def track_moved_onto_pad(chance: Random, board: Board, art: Artwork) -> Spoilt:
    layer = copper_layer(chance)
    track = chance.choice(tracks(art, layer))
    pad = chance.choice([f for f in lands(art, layer) if f.owner.net != track.owner.net])
    corner = chance.choice(track.points)
    dx, dy = pad.at[0] - corner[0], pad.at[1] - corner[1]
    moved = replace(track, points=tuple((x + dx, y + dy) for x, y in track.points))
    return Spoilt((board, changed(art, layer, track, moved)), [track.owner.net, pin(pad)])


def nets_bridged(chance: Random, board: Board, art: Artwork) -> Spoilt:
    layer = copper_layer(chance)
    one = chance.choice(lands(art, layer))
    other = chance.choice([f for f in lands(art, layer) if f.owner.net != one.owner.net])
    bridge = Stroke((one.at, other.at), 0.3, "conductor", one.owner if chance.random() < 0.5 else other.owner)
    bridge = replace(bridge, owner=Owner(net=bridge.owner.net))
    return Spoilt((board, added(art, layer, bridge)), [pin(other if bridge.owner.net == one.owner.net else one)])


def splash_of_copper(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """Copper on no net, 0.2 mm from a track: less than the gap of 0.25."""
    layer = copper_layer(chance)
    track = chance.choice(tracks(art, layer))
    start, end = track.points[:2]
    line = shapely.LineString([start, end])
    side = line.parallel_offset(track.width / 2 + 0.2 + 0.1, chance.choice(("left", "right")))
    middle = side.interpolate(0.5, normalized=True)
    splash = Stroke(((middle.x, middle.y), (middle.x, middle.y)), 0.2, "non-conductor")
    return Spoilt((board, added(art, layer, splash)), [f"the track of {track.owner.net}", "no net"])


def land_shrunk(chance: Random, board: Board, art: Artwork) -> Spoilt:
    layer = copper_layer(chance)
    land = chance.choice([f for f in lands(art, layer) if f.function == "component-pad"])
    by = chance.uniform(0.3, 0.6)
    form = replace(land.form, width=land.form.width - by, height=land.form.height - by)
    return Spoilt((board, changed(art, layer, land, replace(land, form=form))), [pin(land), layer[7:]])


def drill_shifted(chance: Random, board: Board, art: Artwork) -> Spoilt:
    hole = chance.choice([d for d in art.drills if d.owner.number])
    by = chance.choice((-1, 1)) * chance.uniform(0.25, 0.5)
    shifted = replace(hole, at=(hole.at[0] + by, hole.at[1]), to=(hole.to[0] + by, hole.to[1]) if hole.to else None)
    return Spoilt((board, redrilled(art, hole, shifted)), [pin(hole)])


def track_cut(chance: Random, board: Board, art: Artwork) -> Spoilt:
    layer = copper_layer(chance)
    track = chance.choice(tracks(art, layer))
    return Spoilt((board, changed(art, layer, track, None)), [f"net {track.owner.net}"])


def track_nicked(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """A piece of 0.6 to 1 mm cut out of a track, clear of lands and vias."""
    layer = copper_layer(chance)
    others = [f.shape for f in art.layer(layer).features if isinstance(f, Flash)]
    while True:
        track = chance.choice(tracks(art, layer))
        line = shapely.LineString(track.points)
        along = chance.uniform(1.2, max(1.2, line.length - 1.2))
        cut = line.interpolate(along)
        hole = Shape(cut, 1.0)
        if line.length > 2.4 and all(s.distance(hole) > 0 for s in others):
            break
    rest = line.difference(cut.buffer(chance.uniform(0.3, 0.5) + track.width / 2))
    pieces = [replace(track, points=tuple(p.coords)) for p in shapely.get_parts(rest)]
    clean = changed(art, layer, track, None)
    return Spoilt((board, added(clean, layer, *pieces)), [f"net {track.owner.net}"])


def via_not_drilled(chance: Random, board: Board, art: Artwork) -> Spoilt:
    hole = chance.choice([d for d in art.drills if d.function == "via-drill"])
    return Spoilt((board, redrilled(art, hole, None)), [f"net {hole.owner.net}"])


def land_lost(chance: Random, board: Board, art: Artwork) -> Spoilt:
    land = chance.choice(lands(art, "copper-top"))
    spoilt = art
    for layer in ("copper-top", "copper-bottom"):
        kept = [f for f in spoilt.layer(layer).features if f.owner != land.owner]
        spoilt = redrawn(spoilt, layer, kept)
    return Spoilt((board, spoilt), [f"{land.owner.reference}.{land.owner.number}"])


def track_narrowed(chance: Random, board: Board, art: Artwork) -> Spoilt:
    layer = copper_layer(chance)
    track = chance.choice(tracks(art, layer))
    thin = replace(track, width=chance.uniform(0.1, 0.249))
    return Spoilt((board, changed(art, layer, track, thin)), [track.owner.net, layer[7:]])


def opening_lost(chance: Random, board: Board, art: Artwork) -> Spoilt:
    layer: LayerName = "mask-top"
    opening = chance.choice([f for f in art.layer(layer).features if f.owner.reference])
    return Spoilt((board, changed(art, layer, opening, None)), [pin(opening)])


def opening_over_track(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """An opening as of a bare hole, on a track."""
    side = chance.choice(("top", "bottom"))
    track = chance.choice(tracks(art, f"copper-{side}"))  # type: ignore[arg-type]
    at = shapely.LineString(track.points).interpolate(chance.random(), normalized=True)
    stray = Flash(lands(art, "copper-top")[0].form, (at.x, at.y), 0.0, "mask-opening")
    return Spoilt((board, added(art, f"mask-{side}", stray)), [track.owner.net, side])  # type: ignore[arg-type]


def legend_moved(chance: Random, board: Board, art: Artwork) -> Spoilt:
    ink = chance.choice(tracks(art, "legend-top"))
    land = chance.choice(lands(art, "copper-top"))
    dx, dy = land.at[0] - ink.points[0][0], land.at[1] - ink.points[0][1]
    moved = replace(ink, points=tuple((x + dx, y + dy) for x, y in ink.points))
    return Spoilt((board, changed(art, "legend-top", ink, moved)), [pin(land), "top"])


def stray_hole_in_copper(chance: Random, board: Board, art: Artwork) -> Spoilt:
    track = chance.choice(tracks(art, copper_layer(chance)))
    at = shapely.LineString(track.points).interpolate(chance.random(), normalized=True)
    stray = Drill((at.x, at.y), 1.0, False, "mechanical-drill")
    return Spoilt((board, replace(art, drills=(*art.drills, stray))), [track.owner.net])


def hole_beside_hole(chance: Random, board: Board, art: Artwork) -> Spoilt:
    hole = chance.choice([d for d in art.drills if d.owner.number])
    far = hole.diameter / 2 + 0.4 + chance.uniform(0.0, 0.59)
    beside = Drill((hole.at[0] + far, hole.at[1]), 0.8, False, "mechanical-drill")
    return Spoilt((board, replace(art, drills=(*art.drills, beside))), [pin(hole)])


def track_to_the_edge(chance: Random, board: Board, art: Artwork) -> Spoilt:
    layer = copper_layer(chance)
    x0, y0, x1, _ = board.outline.bounds
    net = chance.choice(board.description.nets).name
    y = y0 + 0.15 + chance.uniform(0.01, 0.49)
    stray = Stroke(((x0 + 5, y), (x1 - 5, y)), 0.3, "conductor", Owner(net=net))
    return Spoilt((board, added(art, layer, stray)), [f"the track of {net}", layer[7:]])


def pour_island(chance: Random, board: Board, art: Artwork) -> Spoilt:
    copper = [f.shape.grown(0.3).polygon() for f in art.layer("copper-top").features]
    room = board.outline.buffer(-1.0).difference(shapely.union_all(copper))
    at = random_point(chance, room.buffer(-0.6))
    island = Region(shapely.box(at[0] - 0.4, at[1] - 0.4, at[0] + 0.4, at[1] + 0.4), "conductor", Owner(net="GND"))
    return Spoilt((board, added(art, "copper-top", island)), ["the pour of GND", "top"])


def pour_necked(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """Two cuts into a pour that leave 0.1 to 0.24 mm between them; the rules ask 0.25."""
    pour = next(f for f in art.layer("copper-bottom").features if isinstance(f, Region) and f.area.area > 50)
    x, y = random_point(chance, pour.area.buffer(-1.4))
    half = chance.uniform(0.05, 0.12)
    cuts = [shapely.box(x - 1.2, y - 0.1, x - half, y + 0.1), shapely.box(x + half, y - 0.1, x + 1.2, y + 0.1)]
    area = pour.area.difference(shapely.union_all(cuts))
    return Spoilt((board, changed(art, "copper-bottom", pour, replace(pour, area=area))), ["the pour of GND", "bottom"])


def random_point(chance: Random, area: Any) -> Position:
    """Return a point of an area, by trying."""
    x0, y0, x1, y1 = area.bounds
    while True:
        at = (chance.uniform(x0, x1), chance.uniform(y0, y1))
        if area.covers(shapely.Point(at)):
            return at


def part_onto_part(chance: Random, board: Board, art: Artwork) -> Spoilt:
    parts = [p for p in board.parts if p.side == "top"]
    one, other = chance.sample(parts, 2)
    moved = replace(one, at=(other.at[0] + chance.uniform(-0.5, 0.5), other.at[1] + chance.uniform(-0.5, 0.5)))
    spoilt = replace(board, parts=tuple(moved if p is one else p for p in board.parts))
    return Spoilt((spoilt, draw(spoilt)), [one.part.reference, other.part.reference])


def part_over_the_edge(chance: Random, board: Board, art: Artwork) -> Spoilt:
    part = chance.choice(board.parts)
    moved = replace(part, at=(board.outline.bounds[2] - chance.uniform(0.0, 0.5), part.at[1]))
    spoilt = replace(board, parts=tuple(moved if p is part else p for p in board.parts))
    return Spoilt((spoilt, draw(spoilt)), [part.part.reference])


def part_too_tall(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """The lid is at 18.0, the board's top at 5.6, margin 0.5 and measured to 0.3: 11.6 mm are left."""
    placed = chance.choice([p for p in board.parts if p.side == "top"])
    tall = replace(placed, part=replace(placed.part, height=chance.uniform(11.7, 30.0)))
    spoilt = replace(board, parts=tuple(tall if p is placed else p for p in board.parts))
    return Spoilt((spoilt, draw(spoilt)), [placed.part.reference, "the lid"])


def supply_pin_off_its_net(chance: Random, board: Board, art: Artwork) -> Spoilt:
    pad = chance.choice((("U1", "4"), ("U1", "8")))
    nets = tuple(replace(n, pins=tuple(p for p in n.pins if p != pad)) for n in board.description.nets)
    spoilt = replace(board, description=replace(board.description, nets=nets))
    return Spoilt((spoilt, draw(spoilt)), [f"U1 pin {pad[1]}"])


def connection_given_up(chance: Random, board: Board, art: Artwork) -> Spoilt:
    net = chance.choice(board.description.nets)
    spoilt = replace(board, unrouted=(Unrouted(net.name, net.pins[0], net.pins[1], "no room"),))
    return Spoilt((spoilt, art), [f"net {net.name}"])


def copper_under_the_screw(chance: Random, board: Board, art: Artwork) -> Spoilt:
    hole = board.description.holes[0]
    far = hole.diameter / 2 + 0.4 + 0.15 + 0.05
    x, y = hole.at
    stray = Stroke(((x + far, y - 1.0), (x + far, y + 1.0)), 0.3, "conductor", Owner(net="VCC"))
    return Spoilt((board, added(art, copper_layer(chance), stray)), ["the track of VCC", "screw"])


def mask_web_lost(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """An opening widened until 0.01 to 0.19 mm of mask remain to the next one."""
    openings = [f for f in art.layer("mask-top").features if isinstance(f, Flash) and f.owner.net]
    pairs = [
        (a, b, a.shape.distance(b.shape))
        for a in openings
        for b in openings
        if a.owner.net != b.owner.net and a.form.form == "round" and 0.2 < a.shape.distance(b.shape) < 1.5
    ]
    one, other, gap = chance.choice(pairs)
    wider = one.form.width + 2 * (gap - chance.uniform(0.01, 0.19))
    spoilt = changed(art, "mask-top", one, replace(one, form=round_land(wider)))
    return Spoilt((board, spoilt), [f"{one.owner.reference} pin", f"{other.owner.reference} pin"])


FAULTS: tuple[tuple[str, Fault], ...] = (
    ("short", track_moved_onto_pad),
    ("short", nets_bridged),
    ("copper-gap", splash_of_copper),
    ("annular-ring", land_shrunk),
    ("annular-ring", drill_shifted),
    ("open", track_cut),
    ("open", track_nicked),
    ("open", via_not_drilled),
    ("pad-missing", land_lost),
    ("track-width", track_narrowed),
    ("mask-missing", opening_lost),
    ("mask-to-copper", opening_over_track),
    ("mask-web", mask_web_lost),
    ("legend-on-pad", legend_moved),
    ("bare-hole-to-copper", stray_hole_in_copper),
    ("hole-to-hole", hole_beside_hole),
    ("copper-to-edge", track_to_the_edge),
    ("pour-island", pour_island),
    ("pour-neck", pour_necked),
    ("courtyard-overlap", part_onto_part),
    ("part-off-board", part_over_the_edge),
    ("under-lid", part_too_tall),
    ("power-pin-open", supply_pin_off_its_net),
    ("unrouted", connection_given_up),
    ("keep-out", copper_under_the_screw),
)
