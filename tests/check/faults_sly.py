"""Faults thought up to slip past the rules: by a micrometre, off the middle line, left out altogether."""

from __future__ import annotations

import math
from dataclasses import replace
from random import Random
from typing import Any

import shapely

from modboard.artwork.model import Artwork, Drill, Flash, LayerName, Owner, Region, Stroke
from modboard.check.words import spot
from modboard.geometry import Position, circle
from modboard.layout.board import Board
from tests.check.build import round_land
from tests.check.faults_copper import great_pour
from tests.check.spoiling import (
    Kind,
    Spoilt,
    added,
    changed,
    copper_layer,
    lands,
    pin,
    random_point,
    redrawn,
    redrilled,
    tracks,
)


def long_piece(chance: Random, art: Artwork, layer: LayerName) -> tuple[Stroke, Position, float]:
    """Return a track, the middle of a straight piece of it clear of lands and other tracks, and the way it goes."""
    while True:
        track = chance.choice(tracks(art, layer))
        number = chance.randrange(len(track.points) - 1)
        (x0, y0), (x1, y1) = track.points[number : number + 2]
        at = ((x0 + x1) / 2, (y0 + y1) / 2)
        others = [f for f in art.layer(layer).features if f is not track and not isinstance(f, Region)]
        if math.dist((x0, y0), (x1, y1)) > 1.2 and all(f.shape.distance(circle(at, 0.3)) > 0 for f in others):
            return track, at, math.atan2(y1 - y0, x1 - x0)


def beyond(at: Position, way: float, far: float) -> Position:
    return at[0] + far * math.cos(way), at[1] + far * math.sin(way)


def branch_off_the_middle_line(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """A branch at 20 to 75 degrees that begins beside the middle line of its track, within the copper."""
    layer = copper_layer(chance)
    track, at, way = long_piece(chance, art, layer)
    side = chance.choice((-1, 1))
    start = beyond(at, way + side * math.pi / 2, chance.uniform(0.05, 0.45) * track.width)
    end = beyond(start, way + side * math.radians(chance.uniform(20, 75)), 1.5)
    branch = Stroke((start, end), track.width, "conductor", track.owner)
    return Spoilt((board, added(art, layer, branch)), [f"the track of {track.owner.net}", layer[7:]])


def tracks_crossing(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """A track of the same net across another at 20 to 80 degrees, with no end near the crossing."""
    layer = copper_layer(chance)
    track, at, way = long_piece(chance, art, layer)
    across = way + math.radians(chance.choice((-1, 1)) * chance.uniform(20, 80))
    line = Stroke((beyond(at, across, -1.5), beyond(at, across, 1.5)), track.width, "conductor", track.owner)
    return Spoilt((board, added(art, layer, line)), [f"the track of {track.owner.net}", layer[7:]])


def tracks_adrift(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """Two tracks whose ends meet each other and nothing else."""
    taken = [f.shape.polygon(4).buffer(1.0) for f in art.features("copper-top")]
    taken += [d.shape.polygon(4).buffer(1.0) for d in art.drills]
    x, y = random_point(chance, board.outline.buffer(-2).difference(shapely.union_all(taken)))
    net = chance.choice(board.description.nets).name
    ring = [Stroke(points, 0.3, "conductor", Owner(net=net)) for points in (((x, y), (x + 0.6, y)),) * 2]
    return Spoilt((board, added(art, "copper-top", *ring)), [f"the track of {net}", "top"])


def hole_not_drilled(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """The hole of a lead, a peg or a screw is left out."""
    hole = chance.choice([d for d in art.drills if d.function != "via-drill"])
    return Spoilt((board, redrilled(art, hole, None)), [pin(hole) if hole.owner.number else spot(hole.at)])


def hole_beside_its_place(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """Shifted by 0.051 to 0.3 mm, which many lands forgive but no part with stiff leads."""
    hole = chance.choice([d for d in art.drills if d.function != "via-drill"])
    way, far = chance.uniform(0, 2 * math.pi), chance.uniform(0.051, 0.3)
    shifted = replace(hole, at=beyond(hole.at, way, far), to=beyond(hole.to, way, far) if hole.to else None)
    return Spoilt((board, redrilled(art, hole, shifted)), [pin(hole) if hole.owner.number else spot(hole.at)])


def hole_too_narrow_for_its_lead(chance: Random, board: Board, art: Artwork) -> Spoilt:
    hole = chance.choice([d for d in art.drills if d.function != "via-drill"])
    narrow = replace(hole, diameter=hole.diameter - chance.uniform(0.001, 0.2))
    return Spoilt((board, redrilled(art, hole, narrow)), [pin(hole) if hole.owner.number else spot(hole.at)])


def hole_drilled_twice(chance: Random, board: Board, art: Artwork) -> Spoilt:
    hole = chance.choice([d for d in art.drills if d.owner.number])
    return Spoilt((board, replace(art, drills=(*art.drills, replace(hole)))), [pin(hole)])


def leads_hole_not_plated(chance: Random, board: Board, art: Artwork) -> Spoilt:
    hole = chance.choice([d for d in art.drills if d.plated and d.owner.number])
    return Spoilt((board, redrilled(art, hole, replace(hole, plated=False))), [pin(hole)])


def profiled(board: Board, art: Artwork, outline: Any) -> tuple[Board, Artwork]:
    """Return the board with another outline, and the artwork with its profile."""
    rings = [outline.exterior, *outline.interiors]
    lines = [Stroke(tuple((float(x), float(y)) for x, y in ring.coords), 0.1, "profile") for ring in rings]
    described = replace(board.description, outline=outline)
    return replace(board, outline=outline, description=described), redrawn(art, "profile", lines)


def slot_in_the_outline(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """A slot from the edge inwards, 0.2 to 0.95 of the cutter wide and 1.5 to 4 mm deep."""
    x0, y0, x1, _ = board.outline.bounds
    half = chance.uniform(0.2, 0.95) * board.description.rules.cutter / 2
    x = chance.uniform(x0 + 5, x1 - 5)
    slot = shapely.box(x - half, y0 - 1, x + half, y0 + chance.uniform(1.5, 4.0))
    return Spoilt(profiled(board, art, board.outline.difference(slot)), ["the outline at"])


def cut_out_in_copper(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """A square cut out of the board across a track, or out of the middle of a pour."""
    layer = copper_layer(chance)
    pieces: list[Stroke | Region] = [great_pour(art), chance.choice(tracks(art, layer))]
    piece = chance.choice(pieces)
    at = random_point(chance, piece.shape.polygon(4))
    hole = shapely.box(at[0] - 0.2, at[1] - 0.2, at[0] + 0.2, at[1] + 0.2)
    what = "pour" if isinstance(piece, Region) else "track"
    return Spoilt(profiled(board, art, board.outline.difference(hole)), [f"the {what} of {piece.owner.net}"])


def opening_half_over_a_via(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """Openings on both sides that lay half of a via's hole bare."""
    taken = [f.shape.polygon(4).buffer(1.0) for f in art.features("mask-top", "mask-bottom")]
    at = random_point(chance, board.outline.buffer(-2).difference(shapely.union_all(taken)))
    net = chance.choice(board.description.nets).name
    land = Flash(round_land(0.9), at, 0.0, "via-pad", Owner(net=net))
    half = Flash(round_land(0.5), (at[0] + chance.uniform(0.1, 0.4), at[1]), 0.0, "mask-opening", Owner(net=net))
    spoilt = replace(art, drills=(*art.drills, Drill(at, 0.4, True, "via-drill", Owner(net=net))))
    for side in ("top", "bottom"):
        spoilt = added(added(spoilt, f"copper-{side}", land), f"mask-{side}", half)  # type: ignore[arg-type]
    return Spoilt((board, spoilt), [f"the via of {net}"])


def opening_shifted(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """An opening that lies beside its land by 1 µm more than it is larger, or by up to 0.3 mm."""
    side = chance.choice(("top", "bottom"))
    layer: LayerName = f"mask-{side}"  # type: ignore[assignment]
    opening = chance.choice([f for f in art.layer(layer).features if isinstance(f, Flash) and f.owner.number])
    far = board.description.rules.mask_expansion + chance.choice((0.001, chance.uniform(0.001, 0.3)))
    shifted = replace(opening, at=(opening.at[0] + far, opening.at[1]))
    return Spoilt((board, changed(art, layer, opening, shifted)), [pin(opening), side])


def mark_not_printed(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """The ink of one part's mark is gone, and the legend does not say that it found no room."""
    part = chance.choice([p for p in board.parts if p.side == "top" and p.part.footprint.mark])
    marks = shapely.union_all([shapely.LineString(part.points(line)) for line in part.part.footprint.mark])
    own = [f for f in tracks(art, "legend-top") if f.owner.reference == part.part.reference]
    gone = [f for f in own if f.shape.core.distance(marks) < 0.01]
    spoilt = redrawn(art, "legend-top", [f for f in art.layer("legend-top").features if f not in gone])
    return Spoilt((board, spoilt), [f"the mark of {part.part.reference}"])


def neck_between_round_holes(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """Two discs out of the pour that leave 0.03 to 0.249 mm between them.

    Where they leave 0.23 to 0.25 the disc of the rule fills the neck from both sides without passing.
    """
    pour = great_pour(art)
    others = [f.shape.polygon(4).buffer(0.05) for f in art.layer("copper-bottom").features if f is not pour]
    x, y = random_point(chance, pour.area.buffer(-2.0).difference(shapely.union_all(others).buffer(1.5)))
    off = 0.6 + chance.uniform(0.015, 0.1245)
    discs = [shapely.Point(x + side * off, y).buffer(0.6, quad_segs=64) for side in (-1, 1)]
    cut = replace(pour, area=pour.area.difference(shapely.union_all(discs)))
    return Spoilt((board, changed(art, "copper-bottom", pour, cut)), ["the pour of GND", "bottom"])


def land_cut_free(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """Nothing of the pour or of tracks is left round a land, wherever it lies in the pour: at the rim too."""
    pour = great_pour(art)
    near = [f for f in lands(art, "copper-bottom") if f.owner.net == pour.owner.net and f.function == "component-pad"]
    land = chance.choice([f for f in near if f.shape.distance(pour.shape) < 0.5])
    spoilt, layers = art, ("copper-top", "copper-bottom")
    for layer in layers:
        for track in tracks(spoilt, layer):  # type: ignore[arg-type]
            if track.owner.net == pour.owner.net and track.shape.distance(land.shape.grown(0.1)) <= 0:
                spoilt = changed(spoilt, layer, track, None)  # type: ignore[arg-type]
    area = pour.area.difference(land.shape.grown(0.8).polygon())
    pieces = [replace(pour, area=p) for p in shapely.get_parts(area)]
    spoilt = added(changed(spoilt, "copper-bottom", pour, None), "copper-bottom", *pieces)
    return Spoilt((board, spoilt), [f"net {pour.owner.net}", f"{land.owner.reference}.{land.owner.number}"])


KINDS = (
    Kind("acute-angle", branch_off_the_middle_line),
    Kind("acute-angle", tracks_crossing),
    Kind("dangling-track", tracks_adrift),
    Kind("hole-fit", hole_not_drilled),
    Kind("hole-fit", hole_beside_its_place),
    Kind("hole-fit", hole_too_narrow_for_its_lead),
    Kind("hole-to-hole", hole_drilled_twice),
    Kind("bare-hole-to-copper", leads_hole_not_plated),
    Kind("slot-width", slot_in_the_outline),
    Kind("copper-off-board", cut_out_in_copper),
    Kind("via-mask", opening_half_over_a_via),
    Kind("mask-missing", opening_shifted),
    Kind("mark-unplaced", mark_not_printed),
    Kind("pour-neck", neck_between_round_holes),
    Kind("open", land_cut_free),
)
