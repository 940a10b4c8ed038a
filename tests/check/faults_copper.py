"""Faults of copper: shorts, opens, widths, pours, edges."""

from __future__ import annotations

import math
from dataclasses import replace
from random import Random

import shapely

from modboard.artwork.model import Artwork, Flash, Layer, Owner, Region, Stroke
from modboard.geometry import Shape
from modboard.layout.board import Board
from tests.check.spoiling import (
    Kind,
    Spoilt,
    added,
    changed,
    copper_layer,
    lands,
    pin,
    point_on,
    random_point,
    redrawn,
    redrilled,
    tracks,
    with_nets,
)


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


def track_to_the_edge(chance: Random, board: Board, art: Artwork) -> Spoilt:
    layer = copper_layer(chance)
    x0, y0, x1, _ = board.outline.bounds
    net = chance.choice(board.description.nets).name
    y = y0 + 0.15 + chance.uniform(0.01, 0.49)
    stray = Stroke(((x0 + 5, y), (x1 - 5, y)), 0.3, "conductor", Owner(net=net))
    return Spoilt((board, added(art, layer, stray)), [f"the track of {net}", layer[7:]])


def copper_under_the_screw(chance: Random, board: Board, art: Artwork) -> Spoilt:
    hole = board.description.holes[0]
    far = hole.diameter / 2 + 0.4 + 0.15 + 0.05
    x, y = hole.at
    stray = Stroke(((x + far, y - 1.0), (x + far, y + 1.0)), 0.3, "conductor", Owner(net="VCC"))
    return Spoilt((board, added(art, copper_layer(chance), stray)), ["the track of VCC", "screw"])


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


def stub_left_over(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """A stub that leaves a track in any direction and ends in the open."""
    layer = copper_layer(chance)
    track = chance.choice(tracks(art, layer))
    start = point_on(chance, track)
    angle = chance.uniform(0, math.tau)
    far = 100.0  # off either board, where no copper is met by chance
    end = (start[0] + far * math.cos(angle), start[1] + far * math.sin(angle))
    stub = Stroke((start, end), 0.3, "conductor", track.owner)
    return Spoilt((board, added(art, layer, stub)), [f"the track of {track.owner.net}", layer[7:]])


def sharp_branch(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """A branch that leaves the middle of a long straight piece at 20 to 80 degrees, clear of lands."""
    layer = copper_layer(chance)
    flashes = [f.shape for f in art.layer(layer).features if isinstance(f, Flash)]
    while True:
        track = chance.choice(tracks(art, layer))
        number = chance.randrange(len(track.points) - 1)
        (x0, y0), (x1, y1) = track.points[number : number + 2]
        share = chance.uniform(0.2, 0.8)
        at = (x0 + share * (x1 - x0), y0 + share * (y1 - y0))
        clear = all(shapely.distance(f.core, shapely.Point(at)) > f.radius + 0.05 for f in flashes)
        if math.dist((x0, y0), (x1, y1)) > 1.0 and clear:
            break
    angle = math.atan2(y1 - y0, x1 - x0) + math.radians(chance.choice((-1, 1)) * chance.uniform(20, 80))
    end = (at[0] + 1.5 * math.cos(angle), at[1] + 1.5 * math.sin(angle))
    branch = Stroke((at, end), track.width, "conductor", track.owner)
    return Spoilt((board, added(art, layer, branch)), [f"the track of {track.owner.net}", layer[7:]])


def amps_raised(chance: Random, board: Board, art: Artwork) -> Spoilt:
    net = chance.choice(board.description.nets)
    amps = chance.uniform(5.0, 20.0)
    spoilt = with_nets(board, lambda n: replace(n, amps=amps) if n.name == net.name else n)
    return Spoilt((spoilt, art), [f"net {net.name}"])


def copper_off_the_board(chance: Random, board: Board, art: Artwork) -> Spoilt:
    layer = copper_layer(chance)
    x0, y0, x1, _ = board.outline.bounds
    net = chance.choice(board.description.nets).name
    x = chance.uniform(x0 + 5, x1 - 5)
    stray = Stroke(((x, y0 + 2), (x, y0 - chance.uniform(0.0, 3.0))), 0.3, "conductor", Owner(net=net))
    return Spoilt((board, added(art, layer, stray)), [f"the track of {net}", layer[7:]])


def profile_bent(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """One corner of the profile moved by 0.01 to 1 mm."""
    line = chance.choice(tracks(art, "profile"))
    number = chance.randrange(1, len(line.points) - 1)
    by = chance.uniform(0.01, 1.0)
    points = [(x, y + by) if k == number else (x, y) for k, (x, y) in enumerate(line.points)]
    return Spoilt((board, changed(art, "profile", line, replace(line, points=tuple(points)))), ["the profile"])


def profile_not_closed(chance: Random, board: Board, art: Artwork) -> Spoilt:
    line = chance.choice(tracks(art, "profile"))
    end = line.points[-1]
    short = replace(line, points=(*line.points[:-1], (end[0] + chance.uniform(0.001, 0.5), end[1])))
    return Spoilt((board, changed(art, "profile", line, short)), ["the profile"])


def great_pour(art: Artwork) -> Region:
    """Return the large piece of the pour on the bottom."""
    regions = [f for f in art.layer("copper-bottom").features if isinstance(f, Region)]
    return max(regions, key=lambda region: float(region.area.area))


def pour_fingered(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """A finger 0.05 to 0.2 mm wide, 1 to 3 mm long, from the pour's outer edge outwards."""
    pour = great_pour(art)
    ring = pour.area.exterior
    minx, miny, maxx, _ = pour.area.bounds
    while True:
        at = ring.interpolate(chance.random(), normalized=True)
        if abs(at.y - miny) < 1e-6 and minx + 1 < at.x < maxx - 1:
            break
    half = chance.uniform(0.025, 0.1)
    strip = shapely.box(at.x - half, at.y - chance.uniform(1.0, 3.0), at.x + half, at.y + 1.0)
    area = pour.area.union(strip)
    wider = changed(art, "copper-bottom", pour, replace(pour, area=area))
    return Spoilt((board, wider), ["the pour of GND", "bottom"])


def relief_filled(chance: Random, board: Board, art: Artwork) -> Spoilt:
    pour = great_pour(art)
    held = [f for f in lands(art, "copper-bottom") if f.owner.net == pour.owner.net and f.function == "component-pad"]
    land = chance.choice([f for f in held if f.shape.distance(pour.shape) < 0.5])
    area = pour.area.union(land.shape.grown(1.0).polygon())
    return Spoilt((board, changed(art, "copper-bottom", pour, replace(pour, area=area))), [pin(land)])


def spokes_cut(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """The pour is cut away round a land that nothing else holds, and still lies all round it.

    A land so near to the pour's rim that the cut opens the rim stands in no pour any more: see `land_cut_free`.
    """
    pour = great_pour(art)
    spoilt, held = art, [f for f in lands(art, "copper-bottom") if f.owner.net == pour.owner.net]
    within = shapely.Polygon(pour.area.exterior)
    land = chance.choice(
        [f for f in held if f.function == "component-pad" and within.contains(f.shape.grown(0.81).polygon())]
    )
    for layer in ("copper-top", "copper-bottom"):
        around = land.shape.grown(0.1)
        own = [t for t in tracks(spoilt, layer) if t.owner.net == pour.owner.net and t.shape.distance(around) <= 0]
        for track in own:
            spoilt = changed(spoilt, layer, track, None)
    area = pour.area.difference(land.shape.grown(0.8).polygon())
    pieces = [replace(pour, area=p) for p in shapely.get_parts(area)]
    spoilt = added(changed(spoilt, "copper-bottom", pour, None), "copper-bottom", *pieces)
    return Spoilt((board, spoilt), [pin(land)])


def one_side_covered(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """A board of 100 by 80 mm with a share of 0.26 to 0.9 more of one side covered than of the other."""
    outline = shapely.box(0, 0, 100, 80)
    share = chance.uniform(0.26, 0.9)
    sheet = Region(shapely.box(0, 0, 100 * share, 80), "conductor", Owner(net=board.description.nets[0].name))
    one, other = chance.sample(("copper-top", "copper-bottom"), 2)
    spoilt = redrawn(redrawn(art, one, [sheet]), other, [])  # type: ignore[arg-type]
    described = replace(board.description, outline=outline)
    return Spoilt((replace(board, outline=outline, description=described), spoilt), ["the whole board"])


def copper_at_a_scored_line(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """A groove across the board, nearer to a track than 0.8 mm from its middle."""
    layer = copper_layer(chance)
    track = chance.choice(tracks(art, layer))
    x, y = point_on(chance, track)
    off = chance.choice((-1, 1)) * chance.uniform(0.0, track.width / 2 + 0.799)
    groove = Stroke(((x - 100, y + off), (x + 100, y + off)), 0.4, "score")
    spoilt = replace(art, layers=(*art.layers, Layer("score", (groove,))))
    return Spoilt((board, spoilt), [f"the track of {track.owner.net}", "scored line"])


def volts_raised(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """From 101 V on, IPC-2221 asks 0.4 mm under mask; the nets keep 0.25 or 0.3."""
    net = chance.choice([n for n in board.description.nets if n.name != "GND"])
    volts = chance.choice((-1, 1)) * chance.uniform(101.0, 400.0)
    spoilt = with_nets(board, lambda n: replace(n, volts=volts) if n.name == net.name else n)
    return Spoilt((spoilt, art), ["between the nets", net.name])


KINDS = (
    Kind("short", track_moved_onto_pad),
    Kind("short", nets_bridged),
    Kind("copper-gap", splash_of_copper),
    Kind("open", track_cut, ("by hand",)),
    Kind("open", track_nicked, ("by hand",)),
    Kind("open", via_not_drilled, ("by hand",)),
    Kind("pad-missing", land_lost),
    Kind("track-width", track_narrowed),
    Kind("track-current", amps_raised),
    Kind("dangling-track", stub_left_over),
    Kind("acute-angle", sharp_branch),
    Kind("copper-to-edge", track_to_the_edge),
    Kind("copper-off-board", copper_off_the_board),
    Kind("copper-to-score", copper_at_a_scored_line),
    Kind("copper-balance", one_side_covered),
    Kind("voltage-gap", volts_raised),
    Kind("keep-out", copper_under_the_screw, ("by hand",)),
    Kind("profile", profile_bent),
    Kind("profile", profile_not_closed),
    Kind("pour-island", pour_island),
    Kind("pour-neck", pour_necked),
    Kind("pour-sliver", pour_fingered),
    Kind("thermal-relief", relief_filled),
    Kind("thermal-spokes", spokes_cut),
)
