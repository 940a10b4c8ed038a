"""Faults of mask and legend."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from random import Random

import shapely

from modboard.artwork import font
from modboard.artwork.model import Artwork, Flash, LayerName, Stroke
from modboard.layout.board import Board
from tests.check.build import round_land
from tests.check.spoiling import (
    Kind,
    Spoilt,
    added,
    changed,
    lands,
    pin,
    random_point,
    redrawn,
    tracks,
    with_part,
)


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


def ink_on_an_opening(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """A line across an opening that belongs to no land."""
    at = random_point(chance, board.outline.buffer(-3))
    taken = [f.shape.grown(1.5).polygon(8) for f in art.layer("copper-top").features if isinstance(f, Flash)]
    while shapely.union_all(taken).covers(shapely.Point(at)):
        at = random_point(chance, board.outline.buffer(-3))
    bare = Flash(round_land(1.0), at, 0.0, "mask-opening")
    ink = Stroke(((at[0] - 0.6, at[1]), (at[0] + 0.6, at[1])), 0.15, "legend")
    return Spoilt((board, added(added(art, "mask-top", bare), "legend-top", ink)), ["the opening of", "top"])


def ink_over_a_hole(chance: Random, board: Board, art: Artwork) -> Spoilt:
    hole = chance.choice([d for d in art.drills if d.owner.number])
    x, y = hole.at
    ink = Stroke(((x - 2, y), (x + 2, y)), 0.15, "legend")
    return Spoilt((board, added(art, "legend-top", ink)), [f"the hole of {pin(hole)}"])


def ink_over_the_edge(chance: Random, board: Board, art: Artwork) -> Spoilt:
    x0, y0, x1, _ = board.outline.bounds
    x = chance.uniform(x0 + 3, x1 - 3)
    ink = Stroke(((x, y0 + 1), (x, y0 - chance.uniform(-0.07, 2.0))), 0.15, "legend")
    return Spoilt((board, added(art, "legend-top", ink)), ["the legend at"])


def ink_too_thin(chance: Random, board: Board, art: Artwork) -> Spoilt:
    ink = chance.choice(tracks(art, "legend-top"))
    thin = replace(ink, width=chance.uniform(0.01, 0.149))
    return Spoilt((board, changed(art, "legend-top", ink, thin)), ["the legend at", "top"])


def net_covered_all_over(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """Every opening over the lands and vias of one net left out."""
    net = chance.choice([n for n in board.description.nets if len(n.pins) > 1]).name
    spoilt = art
    layers: tuple[LayerName, LayerName] = ("mask-top", "mask-bottom")
    for layer in layers:
        spoilt = redrawn(spoilt, layer, [f for f in spoilt.layer(layer).features if f.owner.net != net])
    return Spoilt((board, spoilt), [f"net {net}"])


def part_over_a_mark(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """The largest body put down on the mark of another part, as printed."""
    marked = [p for p in board.parts if p.side == "top" and p.part.footprint.mark]
    one = chance.choice(marked)
    line = shapely.union_all([shapely.LineString(one.points(m)) for m in one.part.footprint.mark])
    others = [p for p in board.parts if p is not one and p.side == "top" and p.bodies()]
    cover = max(others, key=lambda p: max(float(shapely.Polygon(b.outline).area) for b in p.bodies()))
    body = shapely.union_all([shapely.Polygon(b.outline) for b in cover.bodies()]).centroid
    x, y = (line.centroid.x - body.x, line.centroid.y - body.y)
    x, y = cover.at[0] + x + chance.uniform(-0.3, 0.3), cover.at[1] + y + chance.uniform(-0.3, 0.3)
    moved = replace(cover, at=(x, y))
    return Spoilt((with_part(board, cover, moved), art), [f"the mark of {one.part.reference}"])


def mark_without_room(chance: Random, board: Board, art: Artwork) -> Spoilt:
    part = chance.choice(board.parts).part.reference
    return Spoilt((board, replace(art, unplaced_marks=(part,))), ["the legend"])


def text_too_small(chance: Random, board: Board, art: Artwork) -> Spoilt:
    """All strokes of one text drawn at 0.2 to 0.99 of the least height, 1.0 mm, about its middle."""
    strokes = [f for f in tracks(art, "legend-top") if f.text]
    one = chance.choice(strokes)
    own = [f for f in strokes if f.text == one.text and f.owner == one.owner]
    share = chance.uniform(0.2, 0.99) / height_of(one.text, own)
    x, y = one.points[0]
    spoilt = art
    for f in own:
        smaller = tuple((x + share * (px - x), y + share * (py - y)) for px, py in f.points)
        spoilt = changed(spoilt, "legend-top", f, replace(f, points=smaller))
    return Spoilt((board, spoilt), [f'the text "{one.text}"', "top"])


def height_of(text: str, strokes: Sequence[Stroke]) -> float:
    """Return the height of a text's capitals: its longer side over that of the text at 1 mm, as the font draws it."""
    x0, y0, x1, y1 = shapely.MultiPoint([p for f in strokes for p in f.points]).bounds
    a0, b0, a1, b1 = shapely.MultiPoint([p for line in font.text(text, (0.0, 0.0), 1.0) for p in line]).bounds
    return float(max(x1 - x0, y1 - y0) / max(a1 - a0, b1 - b0))


KINDS = (
    Kind("mask-missing", opening_lost),
    Kind("mask-to-copper", opening_over_track),
    Kind("mask-web", mask_web_lost),
    Kind("test-access", net_covered_all_over),
    Kind("legend-on-pad", legend_moved),
    Kind("legend-on-opening", ink_on_an_opening),
    Kind("legend-on-hole", ink_over_a_hole),
    Kind("legend-off-board", ink_over_the_edge),
    Kind("legend-line", ink_too_thin),
    Kind("legend-height", text_too_small),
    Kind("mark-hidden", part_over_a_mark),
    Kind("mark-unplaced", mark_without_room),
)
