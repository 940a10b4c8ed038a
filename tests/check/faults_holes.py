"""Faults of holes: rings, sizes, slots, places, vias."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import shapely

from modboard.artwork.model import Artwork, Drill, Flash, LayerName, Owner
from modboard.check.words import spot
from modboard.geometry import Shape
from modboard.layout.board import Board
from tests.check.build import round_land
from tests.check.spoiling import (
    Kind,
    Spoilt,
    added,
    changed,
    copper_layer,
    lands,
    pin,
    random_point,
    redrilled,
    tracks,
)


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


def hole_made_small(chance: Random, board: Board, art: Artwork) -> Spoilt:
    hole = chance.choice([d for d in art.drills if d.owner.number])
    small = replace(hole, diameter=chance.uniform(0.1, 0.599))
    return Spoilt((board, redrilled(art, hole, small)), [pin(hole)])


def hole_made_large(chance: Random, board: Board, art: Artwork) -> Spoilt:
    hole = chance.choice([d for d in art.drills if d.owner.number])
    large = replace(hole, diameter=chance.uniform(6.001, 9.0))
    return Spoilt((board, redrilled(art, hole, large)), [pin(hole)])


def slot_made_narrow(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """A slot of 0.6 to 0.999 mm in place of a hole or slot."""
    hole = chance.choice([d for d in art.drills if d.owner.number])
    to = hole.to or (hole.at[0], hole.at[1] + chance.uniform(0.5, 2.0))
    narrow = replace(hole, to=to, diameter=chance.uniform(0.6, 0.999))
    return Spoilt((board, redrilled(art, hole, narrow)), [pin(hole)])


def plated_hole_too_deep(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """The board is 1.6 mm thick: a fifth of it is 0.32."""
    hole = chance.choice([d for d in art.drills if d.plated and d.owner.number])
    return Spoilt((board, redrilled(art, hole, replace(hole, diameter=chance.uniform(0.1, 0.319)))), [pin(hole)])


def drill_size_of_its_own(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """One of several holes of a size made larger by less than a drill's step."""
    hole = chance.choice([d for d in art.drills if d.plated and [e.diameter for e in art.drills].count(d.diameter) > 1])
    other = replace(hole, diameter=hole.diameter + chance.uniform(0.001, 0.049))
    return Spoilt((board, redrilled(art, hole, other)), [f"holes of {hole.diameter:g}"])


def hole_off_the_board(chance: Random, board: Board, art: Artwork) -> Spoilt:
    x0, y0, x1, _ = board.outline.bounds
    at = (chance.uniform(x0 + 2, x1 - 2), y0 + chance.uniform(-2.0, 0.49))
    stray = Drill(at, 1.0, False, "mechanical-drill")
    return Spoilt((board, replace(art, drills=(*art.drills, stray))), [spot(at)])


def land_missing_on_one_side(chance: Random, board: Board, art: Artwork) -> Spoilt:
    layer = copper_layer(chance)
    land = chance.choice([f for f in lands(art, layer) if f.function == "component-pad"])
    return Spoilt((board, changed(art, layer, land, None)), [pin(land), layer[7:]])


def via_added(art: Artwork, at: tuple[float, float], net: str, hole: float = 0.6) -> Artwork:
    """Return the artwork with a via of 1.1 mm."""
    land = Flash(round_land(1.1), at, 0.0, "via-pad", Owner(net=net))
    both = added(added(art, "copper-top", land), "copper-bottom", land)
    return replace(both, drills=(*both.drills, Drill(at, hole, True, "via-drill", Owner(net=net))))


def via_on_a_surface_land(chance: Random, board: Board, art: Artwork) -> Spoilt:
    layer = copper_layer(chance)
    chips = [f for f in lands(art, layer) if f.function == "surface-pad"]
    land = chance.choice(chips or [f for f in lands(art, "copper-top") if f.function == "surface-pad"])
    x, y = land.at
    at = (x + chance.uniform(-0.4, 0.4), y + chance.uniform(-0.4, 0.4))
    return Spoilt((board, via_added(art, at, land.owner.net)), [pin(land)])


def via_with_one_side_open(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """A via of 0.4 mm, which the rules cover, with an opening over it on one side."""
    at = random_point(chance, board.outline.buffer(-2))
    net = chance.choice(board.description.nets).name
    side: LayerName = chance.choice(("mask-top", "mask-bottom"))
    others = [f.shape for f in [*art.layer("mask-top").features, *art.layer("mask-bottom").features]]
    while any(s.distance(Shape(shapely.Point(at), 0.3)) < 0 for s in others):
        at = random_point(chance, board.outline.buffer(-2))
    spoilt = via_added(art, at, net, 0.4)
    spoilt = added(spoilt, side, Flash(round_land(1.3), at, 0.0, "mask-opening", Owner(net=net)))
    return Spoilt((board, spoilt), [f"the via of {net}"])


def via_with_nothing_on_one_side(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """A via at a place where there is no copper on either side."""
    taken = [f.shape.grown(0.6).polygon(8) for f in art.features("copper-top", "copper-bottom")]
    at = random_point(chance, board.outline.buffer(-1).difference(shapely.union_all(taken)))
    net = chance.choice(board.description.nets).name
    return Spoilt((board, via_added(art, at, net)), [f"the via of {net}"])


def land_too_small_for_a_hand_drill(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """Lands are asked to be as wide as the least there is, and one is made smaller."""
    drilled = {(d.owner.reference, d.owner.number) for d in art.drills if d.owner.number}
    every = [
        f
        for layer in ("copper-top", "copper-bottom")
        for f in lands(art, layer)  # type: ignore[arg-type]
        if (f.owner.reference, f.owner.number) in drilled
    ]
    least = min(max(f.form.width, f.form.height) for f in every)
    layer = copper_layer(chance)
    land = chance.choice([f for f in lands(art, layer) if (f.owner.reference, f.owner.number) in drilled])
    by = max(land.form.width, land.form.height) - least + chance.uniform(0.001, 0.5)
    form = replace(land.form, width=land.form.width - by, height=land.form.height - by)
    described = replace(board.description, rules=replace(board.description.rules, pad_land_min=least))
    spoilt = changed(art, layer, land, replace(land, form=form))
    return Spoilt((replace(board, description=described), spoilt), [pin(land), layer[7:]])


def hole_of_a_ninth_size(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """Bare holes of as many new sizes as make nine."""
    have = len({(d.plated, d.diameter) for d in art.drills})
    x0, y0, x1, y1 = board.outline.bounds
    strays = tuple(
        Drill((chance.uniform(x0, x1), chance.uniform(y0, y1)), 2.0 + 0.1 * k, False, "mechanical-drill")
        for k in range(9 - have)
    )
    return Spoilt((board, replace(art, drills=(*art.drills, *strays))), ["the whole board"])


def half_holes_off_the_edge(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """A part whose holes the edge is to halve stands where no edge comes near them."""
    off = [
        d
        for d in art.drills
        if d.plated and d.owner.number and shapely.Point(d.at).distance(board.outline.boundary) > 0.5
    ]
    hole = chance.choice(off)
    parts = tuple(
        replace(p, footprint=replace(p.footprint, edge="halved")) if p.reference == hole.owner.reference else p
        for p in board.description.parts
    )
    return Spoilt((replace(board, description=replace(board.description, parts=parts)), art), [pin(hole)])


KINDS = (
    Kind("annular-ring", land_shrunk),
    Kind("annular-ring", drill_shifted),
    Kind("annular-ring", land_missing_on_one_side),
    Kind("bare-hole-to-copper", stray_hole_in_copper),
    Kind("hole-to-hole", hole_beside_hole),
    Kind("hole-size", hole_made_small),
    Kind("hole-size", hole_made_large),
    Kind("slot-width", slot_made_narrow),
    Kind("aspect-ratio", plated_hole_too_deep),
    Kind("drill-sizes", drill_size_of_its_own),
    Kind("drill-sizes", hole_of_a_ninth_size),
    Kind("land-size", land_too_small_for_a_hand_drill),
    Kind("hole-off-board", hole_off_the_board),
    Kind("half-hole", half_holes_off_the_edge),
    Kind("via-in-land", via_on_a_surface_land, ("by hand",)),
    Kind("via-mask", via_with_one_side_open),
    Kind("dangling-via", via_with_nothing_on_one_side, ("by hand",)),
)
