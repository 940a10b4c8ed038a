"""Faults against what the design asks for: areas kept free, quiet nets beside noisy ones."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from random import Random

import shapely

from modboard.artwork.model import Artwork, Owner, Stroke
from modboard.describe.model import KeepOut, Net
from modboard.layout.board import Board
from modboard.layout.quiet import neighbourhood
from tests.check.spoiling import Kind, Spoilt, added, copper_layer, point_on, tracks, with_nets
from tests.sample import SITE


def _free(board: Board, area: KeepOut) -> Board:
    return replace(board, description=replace(board.description, keep_outs=(area,)))


def track_through_keep_out(chance: Random, board: Board, art: Artwork) -> Spoilt:
    layer = copper_layer(chance)
    track = chance.choice(tracks(art, layer))
    side = "top" if layer == "copper-top" else "bottom"
    area = KeepOut(shapely.Point(point_on(chance, track)), chance.uniform(0.05, 1.0), (side,), ("tracks",), SITE)
    return Spoilt((_free(board, area), art), [track.owner.net, side])


def part_in_keep_out(chance: Random, board: Board, art: Artwork) -> Spoilt:
    placed = chance.choice([p for p in board.parts if p.part.footprint.bodies])
    x0, y0, x1, y1 = shapely.Polygon(placed.courtyard()).bounds
    corner = shapely.box(x0 - 1, y0 - 1, (x0 + x1) / 2, (y0 + y1) / 2)
    area = KeepOut(corner, 0.0, ("top", "bottom"), ("parts",), SITE)
    return Spoilt((_free(board, area), art), [placed.part.reference])


def _marked(net: Net, quiet: str, noisy: str) -> Net:
    return replace(net, quiet=net.name == quiet, noisy=net.name == noisy)


def quiet_beside_noisy(chance: Random, board: Board, art: Artwork) -> Spoilt:
    while True:
        layer = copper_layer(chance)
        track = chance.choice(tracks(art, layer))
        quiet = track.owner.net
        noisy = chance.choice([n.name for n in board.description.nets if n.name != quiet])
        x, y = point_on(chance, track)
        gap = chance.uniform(0.3, 0.5)
        beside = x + track.width / 2 + gap + 0.125
        if neighbourhood(board.description, board.pads, quiet, noisy).distance(shapely.Point(x, y)) < 1.0:
            continue
        if any(p.layer == layer[7:] and shapely.Point(x, y).distance(p.area) < 2 for p in board.pours):
            continue  # a pour between the two would be no fault
        marked = with_nets(board, partial(_marked, quiet=quiet, noisy=noisy))
        run = Stroke(((beside, y - 0.3), (beside, y + 0.3)), 0.25, "conductor", Owner(net=noisy))
        return Spoilt((marked, added(art, layer, run)), [quiet, noisy, layer[7:]])


KINDS = (
    Kind("kept-free", track_through_keep_out),
    Kind("kept-free", part_in_keep_out),
    Kind("quiet-near-noisy", quiet_beside_noisy, ("lamp driver",)),
)
