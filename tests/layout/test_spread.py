"""Spreading apart and widening into lands, judged by distances taken here."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from modboard.describe.model import Description, Net, Part
from modboard.layout.board import PlacedPart, Track
from modboard.layout.route.router import Effort, route
from modboard.layout.route.spread import spread_apart, teardrops
from tests import sample
from tests.layout.boards import apart, random_board, too_near


def passing(aside: float) -> tuple[Description, tuple[PlacedPart, ...], tuple[Track, ...]]:
    """Return a track in the shape of a Z whose middle piece passes `aside` mm left of the middle between two lands."""
    kinds = (("A", (10.0, 10.0)), ("B", (20.0, 10.0)), ("C", (4.0, 2.0)), ("D", (26.0, 18.0)))
    parts = tuple(
        PlacedPart(Part(name, "test", None, "", sample.header(1), sample.SITE), at, 0.0) for name, at in kinds
    )
    at = {p.reference: p.at for put in parts for p in put.pads({})}
    x = (at["A"][0] + at["B"][0]) / 2 - aside
    net = Net("Z", (("C", "1"), ("D", "1")), sample.SITE, 0.25, 0.25)
    description = Description(
        "z", "", "A", tuple(p.part for p in parts), (net,), (), {}, (), None, shapely.box(0, 0, 30, 20), (),
        sample.sample_rules(),
    )  # fmt: skip
    points = (at["C"], (x, at["C"][1]), (x, at["D"][1]), at["D"])
    return description, parts, (Track("Z", "bottom", points, 0.25),)


@given(st.floats(-3.5, 3.5).map(lambda v: round(v, 3)))
def test_a_track_between_two_lands_moves_to_the_middle_or_has_ample_room(aside: float) -> None:
    description, parts, tracks = passing(aside)
    (track,) = spread_apart(description, parts, tracks, ())
    lands = {p.reference: p.shape for put in parts for p in put.pads({})}
    rooms = [track.shape.distance(lands[name]) - description.rules.gap for name in ("A", "B")]
    before = [tracks[0].shape.distance(lands[name]) - description.rules.gap for name in ("A", "B")]
    assert min(rooms) >= min(0.5, *before) - 1e-6
    assert min(rooms) >= 0.45
    assert (track.points[0], track.points[-1]) == (tracks[0].points[0], tracks[0].points[-1])


@pytest.mark.parametrize("seed", range(4))
def test_spreading_keeps_every_distance_joins_and_length(seed: int) -> None:
    description, parts = random_board(seed, 10, 34.0, 26.0)
    board = route(description, parts, effort=Effort(rounds=30)).board
    assert not too_near(board) and not apart(board) - {u.net for u in board.unrouted}
    again = spread_apart(description, parts, board.tracks, board.vias)
    length = [sum(math.dist(a, b) for a, b in itertools.pairwise(t.points)) for t in board.tracks]
    spread = [sum(math.dist(a, b) for a, b in itertools.pairwise(t.points)) for t in again]
    pieces = [len(t.points) - 3 for t in board.tracks]  # each may cost 0.25 mm where it hugs something
    assert all(new <= old + 0.25 * max(n, 0) + 1e-5 for new, old, n in zip(spread, length, pieces, strict=True))
    assert sum(spread) < 1.005 * sum(length)


def test_teardrops_widen_towards_lands_touch_the_net_and_keep_every_distance() -> None:
    description, parts = random_board(2, 8, 34.0, 26.0)
    board = route(description, parts, effort=Effort(rounds=30)).board
    drops = teardrops(description, parts, board.tracks, board.vias)
    assert len(drops) > 20
    by_net = {n.name: [t for t in board.tracks if t.net == n.name] for n in description.nets}
    for drop in drops:
        assert any(t.points[0] == drop.points[0] or t.points[-1] == drop.points[0] for t in by_net[drop.net])
        assert drop.width > min(t.width for t in by_net[drop.net])
    widened = replace(board, tracks=board.tracks + drops)
    assert not too_near(widened)


@pytest.mark.parametrize("leg", [0.5, 1.0, 1.4, 1.5, 3.0])
def test_teardrops_end_before_the_track_bends(leg: float) -> None:
    """From a land straight on for `leg`, then at 45°: no drop begins nearer than a width to the bend."""
    parts = (PlacedPart(Part("J1", "test", None, "", sample.header(2), sample.SITE), (10.0, 10.0), 0.0),)
    pad = parts[0].pads({})[0]
    net = Net("A", (("J1", pad.number),), sample.SITE, 0.3, 0.3)
    bare = random_board(2, 1, 40.0, 40.0)[0]
    description = replace(bare, parts=(parts[0].part,), nets=(net,))
    x, y = pad.at
    track = Track("A", "top", ((x, y), (x - leg, y), (x - leg - 3.0, y + 3.0)), 0.3)
    drops = teardrops(description, parts, (track,), ())
    assert bool(drops) is (leg > 0.5)
    assert all(math.dist(drop.points[1], (x - leg, y)) >= track.width - 1e-6 for drop in drops)
