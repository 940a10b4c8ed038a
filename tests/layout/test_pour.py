"""Pours: gaps on the safe side, spokes of full width, nothing orphaned.  Judged by shapely on exact shapes."""

from __future__ import annotations

import pickle
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from modboard.describe.model import Net, Part
from modboard.geometry import Shape
from modboard.layout import pour as pouring
from modboard.layout.board import PlacedPart, Pour, Track, Via
from modboard.layout.joined import groups, spare, trimmed
from modboard.layout.pour import LEAST_AREA, MARGIN, Copper, poured, scarce_spokes
from modboard.layout.route.problem import SCARCE_PRICE, Problem
from modboard.layout.route.router import Effort, route
from tests import sample
from tests.layout.boards import random_board

QUICK = Effort(rounds=25, passes=1)


@settings(max_examples=8, deadline=None)
@given(st.integers(0, 10_000), st.sampled_from(["top", "bottom", "both"]))
def test_pours_keep_their_gap_and_are_never_orphans(seed: int, layer: str) -> None:
    description, parts = random_board(seed, 9, 36, 30, layer)
    board = route(description, parts, effort=QUICK).board
    rules = description.rules
    for pour in board.pours:
        copper = Shape(pour.area, 0.0)
        pads = [p for p in board.pads if pour.layer in p.layers]
        tracks = [t for t in board.tracks if t.layer == pour.layer]
        foreign = [x.shape for x in (*pads, *tracks, *board.vias) if x.net != pour.net]
        assert all(copper.distance(f) >= rules.pour_gap - 1e-6 for f in foreign)
        own = [x.shape for x in (*pads, *tracks, *board.vias) if x.net == pour.net]
        assert any(copper.distance(f) < 0 or pour.area.intersects(f.core) for f in own)
        assert pour.area.area >= LEAST_AREA
        assert pour.area.is_valid
        assert description.outline.buffer(-rules.copper_to_edge + 1e-6).covers(pour.area)


@settings(max_examples=8, deadline=None)
@given(st.integers(0, 10_000))
def test_pours_have_no_neck_narrower_than_the_rule(seed: int) -> None:
    # Morphological opening by the rule's width (less 2 µm of rounding) may only take corners away, never cut a piece.
    description, parts = random_board(seed, 9, 36, 30, "bottom")
    board = route(description, parts, effort=QUICK).board
    half = description.rules.pour_neck / 2 - 0.002
    for pour in board.pours:
        solid = shapely.union_all([pour.area, *[p.shape.polygon() for p in board.pads if p.net == pour.net]])
        pieces = [g for g in shapely.get_parts(solid.buffer(-half)) if g.area > 1e-4]
        whole = [g for g in shapely.get_parts(solid) if g.area > 1e-4]
        assert len(pieces) == len(whole)


def test_a_through_pad_in_the_open_gets_four_spokes() -> None:
    # One pad far from everything: the copper between it and the flood must be four pieces of the spoke's width.
    part = Part("R1", "test", None, "", sample.axial(), sample.SITE)
    placed = (PlacedPart(part, (12.0, 15.0), 0.0),)
    net = Net("GND", (("R1", "1"),), sample.SITE, 0.25, 0.25, pour="bottom")
    description = replace(random_board(2, 1, 36, 30)[0], parts=(part,), nets=(net,))
    pads = placed[0].pads(description.net_of())
    (pour,) = poured(Copper(description, placed, pads, (), ()))
    mine = pads[0]
    ring = mine.shape.grown(0.2).polygon().difference(mine.shape.grown(0.19).polygon())
    bridges = [g for g in shapely.get_parts(ring.intersection(pour.area)) if g.area > 1e-6]
    assert len(bridges) == 4
    for bridge in bridges:
        assert abs(bridge.area / 0.01 - description.rules.thermal_spoke) < 0.05


@pytest.mark.parametrize(("gap", "kept"), [(0.10, False), (0.20, False), (0.249, False), (0.26, True), (0.40, True)])
def test_no_neck_is_left_between_round_cut_outs(gap: float, kept: bool) -> None:
    # Two lands of another net 2 mm across: the pour keeps 0.25 + 0.002 from each, and its necks are 0.25 wide or more.
    description = replace(random_board(2, 1, 36, 30)[0], parts=())
    rules = description.rules
    apart = 2.0 + 2 * (rules.pour_gap + MARGIN) + gap
    vias = tuple(Via("OTHER", (15.0 + side * apart / 2, 15.0), 2.0, 1.0) for side in (-1, 1))
    vias += (Via("GND", (5.0, 5.0), 1.0, 0.5), Via("GND", (5.0, 25.0), 1.0, 0.5))
    nets = (Net("GND", (), sample.SITE, 0.25, 0.25, pour="bottom"), Net("OTHER", (), sample.SITE, 0.25, 0.25))
    description = replace(description, nets=nets)
    (pour,) = poured(Copper(description, (), (), (), vias))
    between = shapely.LineString([(14.9, 15.0), (15.1, 15.0)])
    assert pour.area.intersects(between) is kept
    assert rules.pour_neck == 0.25


SLAB = shapely.box(0, 0, 10, 4)


@pytest.mark.parametrize(
    ("area", "joined"),
    [
        (SLAB, True),
        (SLAB.difference(shapely.box(2, 1, 3, 3)), True),  # round a cut-out
        (SLAB.difference(shapely.box(2, 0, 3, 3.9)), False),  # 0.1 mm between cut-out and edge
        (SLAB.difference(shapely.MultiPolygon([shapely.box(2, 1, 3, 3), shapely.box(3.1, 1, 4, 3)])), False),  # between
        (SLAB.union(shapely.box(10, 1, 10.5, 1.1)), True),  # a nub
        (SLAB.union(shapely.box(0, 5, 9, 5.1)), True),  # a strip that is too thin all along
        (SLAB.union(shapely.box(0, 5, 10, 9)), True),
        (shapely.box(0, 5, 10, 9).union(SLAB.difference(shapely.box(2, 0, 3, 3.9))), False),
    ],
)
def test_a_neck_is_seen_by_what_comes_apart(area: Any, joined: bool) -> None:
    # Shrunk by half of 0.25 mm, worked out by hand.
    assert pouring._as_joined(area, shapely.get_parts(area.buffer(-0.125))) is joined


@pytest.mark.parametrize("seed", range(6))
def test_where_nothing_comes_apart_nothing_is_squeezed(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    # The long way, looking for squeezes everywhere, must find what the short one does.
    random = np.random.default_rng(seed)
    spots = random.uniform(0, 1, (25, 2)) * (22, 14)
    holes = shapely.union_all([shapely.Point(at).buffer(random.uniform(0.3, 0.9), 8) for at in spots])
    whole = shapely.box(0, 0, 22, 14).difference(holes).buffer(-0.06 * (seed % 3)).buffer(0.06 * (seed % 3))
    short = pouring._unsqueezed(whole, 0.25, 0.25)
    monkeypatch.setattr(pouring, "_as_joined", lambda *_: False)
    assert shapely.equals(short, pouring._unsqueezed(whole, 0.25, 0.25))


@pytest.mark.parametrize(
    ("seed", "apart", "shift"), [(5, 1.24, 0.03), (5, 1.245, 0.01), (7, 1.22, 0.05), (8, 1.3, 0.1)]
)
def test_cutting_necks_in_a_field_of_round_cut_outs_leaves_none(seed: int, apart: float, shift: float) -> None:
    # Holes 1 mm across, about a neck (0.25 mm) from one another: cutting one neck changes those beside it.
    random = np.random.default_rng(seed)
    x, y = (axis.ravel() for axis in np.meshgrid(2 + apart * np.arange(14), 2 + apart * np.arange(8)))
    spots = np.column_stack((x, y)) + random.uniform(-shift, shift, (112, 2))
    holes = shapely.union_all([shapely.Point(at).buffer(0.5, 16) for at in spots])
    whole = shapely.box(0, 0, 22, 14).difference(holes)
    found = pouring._unsqueezed(whole, 0.25, 0.25)
    assert not pouring._as_joined(whole, shapely.get_parts(whole.buffer(-0.127)))
    pieces = len(shapely.get_parts(found))
    for less in (0.05, 0.1, 0.12, 0.124):  # where a disc of the neck's diameter passes, shrinking parts nothing
        assert len(shapely.get_parts(found.buffer(-less, quad_segs=64))) == pieces
    assert len(shapely.get_parts(whole.buffer(-0.124, quad_segs=64))) != len(shapely.get_parts(whole))


def test_a_cut_through_one_neck_leaves_another_that_is_just_wide_enough() -> None:
    def pair(x: float, gap: float) -> list[Any]:
        return [shapely.Point(x, y).buffer(1.0, 32) for y in (4.0 - 1.0 - gap / 2, 4.0 + 1.0 + gap / 2)]

    wide = 0.25 + 2 * MARGIN + 0.0002
    walls = [shapely.box(x - 0.2, y, x + 0.2, y + 2.6) for x in (5.0, 15.0) for y in (0.0, 5.4)]
    whole = shapely.box(0, 0, 20, 8).difference(shapely.union_all([*pair(5.0, 0.24), *pair(15.0, wide), *walls]))
    found = pouring._unsqueezed(whole, 0.25, 0.25)
    assert len(shapely.get_parts(found)) == 2, "the narrow one is cut"
    above, below = (shapely.box(12, y, 18, y + 4).difference(found) for y in (0.0, 4.0))
    assert above.distance(below) > wide - 2 * pouring.SIMPLIFY - 0.0001, "opened once, and not again at every cut"


def test_where_a_pad_between_neighbours_has_its_only_spokes_tracks_are_dear() -> None:
    """The second of four pins in a row near the left edge: there is room for spokes to the right of it only."""
    row = PlacedPart(Part("J1", "test", None, "", sample.header(4), sample.SITE), (2.0, 6.0), 0.0)
    alone = PlacedPart(Part("J2", "test", None, "", sample.header(1), sample.SITE), (20.0, 10.0), 0.0)
    ground = Net("GND", (("J1", "2"), ("J2", "1")), sample.SITE, 0.25, 0.25, pour="bottom")
    other = Net("A", (("J1", "1"), ("J1", "3")), sample.SITE, 0.25, 0.25)
    bare = random_board(2, 1, 36, 30)[0]
    rules = replace(bare.rules, pour_gap=0.6)  # as etched at home
    description = replace(bare, parts=(row.part, alone.part), nets=(ground, other), rules=rules)
    problem = Problem(description, (row, alone), 0.127, (), (), 1)
    spokes = scarce_spokes(Copper(description, (row, alone), problem.pads, (), ()))
    assert spokes and all(layer == "bottom" for layer, _ in spokes)
    for _, spoke in spokes:
        assert spoke.distance(shapely.Point(2.0, 8.54)) < 1e-6, "the pin in the open has four spokes and can spare some"
        assert spoke.centroid.x > 2.0
    dear = problem.dear()
    at = {x: problem.lattice.nearest((x, 8.54)) for x in (0.9, 3.4)}
    bottom = {x: float(dear[node + problem.lattice.nodes]) for x, node in at.items()}
    assert bottom[3.4] == SCARCE_PRICE > bottom[0.9] and not dear[list(at.values())].any()


def test_a_pour_is_the_same_area_after_a_trip_to_another_process() -> None:
    # A rounding grid kept in the area would be lost on the way and round every shape made from it before.
    description, parts = random_board(3, 9, 36, 30, "bottom")
    for pour in route(description, parts, effort=QUICK).board.pours:
        travelled = pickle.loads(pickle.dumps(pour.area))
        for grown in (1e-5, -0.1):
            assert travelled.buffer(grown).equals_exact(pour.area.buffer(grown), 0.0)


def test_groups_join_layers_only_through_holes() -> None:
    top = Track("A", "top", ((0.0, 0.0), (5.0, 0.0)), 0.25)
    bottom = Track("A", "bottom", ((5.0, 0.0), (9.0, 0.0)), 0.25)
    assert len(groups([top, bottom])) == 2
    assert len(groups([top, bottom, Via("A", (5.0, 0.0), 1.1, 0.6)])) == 1
    touching = Pour("A", "bottom", shapely.box(8.0, -1.0, 12.0, 1.0))
    assert len(groups([bottom, touching])) == 1
    kissing = Pour("A", "bottom", shapely.box(9.125, -1.0, 12.0, 1.0))  # edge to edge: no overlap, no joint
    assert len(groups([bottom, kissing])) == 2


def test_a_tail_that_leads_nowhere_is_cut_back_to_what_the_track_passes() -> None:
    # A track along x from a pad at 0, passed at x = 4 by another that ends on a pad: its tail beyond goes, x = 4 stays.
    part = Part("R1", "test", None, "", sample.axial(), sample.SITE)
    near, far = (pad for pad in PlacedPart(part, (0.0, 0.0), 0.0).pads({("R1", "1"): "N", ("R1", "2"): "N"}))
    near, far = replace(near, at=(0.0, 0.0)), replace(far, at=(4.0, 6.0))
    long, down = Track("N", "top", ((0.0, 0.0), (9.0, 0.0)), 0.25), Track("N", "top", ((4.0, 6.0), (4.0, 0.0)), 0.25)
    whole = Pour("N", "top", shapely.box(8.0, -1.0, 12.0, 1.0))
    via = Via("N", (9.0, 0.0), 1.1, 0.6)
    assert trimmed([near, far, long, down])[2:] == [replace(long, points=((0.0, 0.0), (4.0, 0.0))), down]
    for end in (whole, via):
        assert trimmed([near, far, long, down, end]) == [near, far, long, down, end]
    alone = Track("N", "top", ((20.0, 0.0), (25.0, 0.0)), 0.25)
    assert trimmed([near, alone]) == [near, alone]


def test_a_chain_of_tracks_that_holds_a_pad_stays_whole_and_a_stub_goes() -> None:
    # The pad has one spoke to the pour on the bottom; a chain of two tracks on top and a via are its second way there.
    part = Part("R1", "test", None, "", sample.axial(), sample.SITE)
    pad = replace(PlacedPart(part, (0.0, 0.0), 0.0).pads({("R1", "1"): "N"})[0], at=(5.0, 5.0))
    flood = shapely.box(0.0, 0.0, 30.0, 30.0).difference(shapely.Point(5.0, 5.0).buffer(1.4))
    pour = Pour("N", "bottom", shapely.union_all([flood, shapely.box(5.0, 4.8, 7.0, 5.2)]))
    chain = [
        Track("N", "top", ((5.0, 5.0), (5.0, 9.0)), 0.4),
        Track("N", "top", ((5.0, 9.0), (9.0, 9.0)), 0.4),
        Via("N", (9.0, 9.0), 1.1, 0.6),
    ]
    assert spare([pad, pour, *chain], 0.4) == set()
    assert spare([pad, pour, chain[0]], 0.4) == {2}  # leads nowhere, and holds nothing
    other = replace(pour, area=pour.area.union(shapely.box(3.0, 4.8, 5.0, 5.2)))
    assert spare([pad, other, *chain], 0.4) == {2, 3, 4}  # two spokes are enough


def test_a_square_land_and_the_spokes_of_a_pour_are_one_piece() -> None:
    # Both are polygons grown by nothing, so their distance is never below 0, however much they overlap.
    land = Shape(shapely.box(0.0, 0.0, 2.0, 2.0), 0.0)
    assert land.overlaps(Shape(shapely.box(1.0, 0.5, 9.0, 1.5), 0.0))
    assert land.overlaps(Shape(shapely.box(-9.0, -9.0, 9.0, 9.0), 0.0))
    assert not land.overlaps(Shape(shapely.box(2.0, 0.0, 4.0, 2.0), 0.0))  # side by side is not joined
    assert not land.overlaps(Shape(shapely.Point(2.5, 1.0), 0.5))
    assert land.overlaps(Shape(shapely.Point(2.5, 1.0), 0.51))
