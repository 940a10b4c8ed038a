"""The board outline against plane geometry: distances to walls and posts, corners a cutter can cut, monotony.

Distances are measured with shapely between the outline and the true walls and round posts; the cutter is laid
against the finished edge, which shares no code with how the edge was made.
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from modboard.describe.cavity import Cavity
from modboard.describe.outline import board_outline, meets_board
from modboard.errors import CallSite, DesignError

SITE = CallSite("test_outline.py", 1)
MICROMETRE = 1e-3
CUTTER = 2.4
LEFTOVER = 0.01  # mm of material in a corner that no workshop can see


def outline(cavity: Cavity, cutter: float = CUTTER, thickness: float = 1.6) -> Any:
    return board_outline(cavity.model(), thickness, cutter, SITE).polygon


def tin() -> Cavity:
    return Cavity.rectangle(57.0, 31.5, height=15.0, measured_to=0.3)


def test_plain_rectangle_is_exact() -> None:
    # By hand: 0.5 wall gap + 0.3 tolerance off each of the four sides.
    assert outline(tin()).equals(shapely.box(0.8, 0.8, 56.2, 30.7))


def test_post_inside_leaves_a_round_hole() -> None:
    cavity = tin()
    cavity.post("post", at=(28.0, 15.0), diameter=6.0)
    board = outline(cavity)
    hole = board.interiors[0]
    radius = 3.0 + 0.5 + 0.3  # by hand: half the post, its gap, the tolerance
    distances = [math.dist(p, (28.0, 15.0)) for p in hole.coords]
    assert shapely.Point(28.0, 15.0).distance(hole) == pytest.approx(radius, abs=1e-6)
    assert max(distances) <= radius + MICROMETRE + 1e-6
    assert board.area == pytest.approx(55.4 * 29.9 - math.pi * radius**2, rel=1e-5)


def test_thin_post_leaves_a_hole_the_cutter_enters() -> None:
    cavity = tin()
    cavity.post("pin", at=(28.0, 15.0), diameter=0.5, gap=0.2)  # 0.75 of room, the cutter needs 1.2
    hole = shapely.Polygon(outline(cavity).interiors[0])
    assert hole.area == pytest.approx(math.pi * 1.2**2, rel=0.01)


def test_post_at_a_wall_opens_to_it_without_slivers() -> None:
    cavity = tin()
    cavity.post("screw post", at=(5.2, 5.2), diameter=6.0)
    board = outline(cavity)
    # 1.4 mm of room between post and wall, less 0.8 of gap: a rim of 0.6 mm, which would break off.
    assert not board.interiors
    assert not board.intersects(shapely.box(0, 0, 5, 5))
    mirrored = shapely.transform(board, lambda xy: xy[:, ::-1])
    near = shapely.box(0, 0, 12, 12)
    difference = board.intersection(near).symmetric_difference(mirrored.intersection(near))
    assert difference.area < 0.05  # a few µm along 12 mm


def test_reflex_corner_is_bitten_no_deeper_than_needed() -> None:
    """An inside corner of 90° rounded to 0.7 and cut to 1.2: the bite is (1.2 - 0.7)(1 - cos 45°) beyond the sides."""
    board = outline(Cavity.polygon([(0, 0), (40, 0), (40, 20), (25, 20), (25, 35), (0, 35)], measured_to=0.2))
    bite = 0.5 * (1 - math.cos(math.pi / 4))
    full = shapely.Polygon([(0.7, 0.7), (39.3, 0.7), (39.3, 19.3), (24.3, 19.3), (24.3, 34.3), (0.7, 34.3)])
    lost = full.difference(board)
    x0, y0, _, _ = lost.bounds
    assert 24.3 - x0 == pytest.approx(bite, abs=0.005)
    assert 19.3 - y0 == pytest.approx(bite, abs=0.005)
    assert board.difference(full).area < (1 - math.pi / 4) * 0.7**2  # what the rounding of 0.7 spares


@pytest.mark.parametrize(
    ("bottom", "top", "meets"),
    [  # board from 3.0 to 4.6 mm above the floor, its thickness good to 0.16, everything measured to 0.2
        (0.0, None, True),
        (0.0, 2.79, False),
        (0.0, 2.81, True),
        (4.95, 9.0, True),
        (4.97, 9.0, False),
    ],
)
def test_only_what_is_at_the_height_of_the_board_cuts_it(bottom: float, top: float | None, meets: bool) -> None:
    cavity = Cavity.rectangle(40, 30, board_at=3.0)
    cavity.obstacle("can", (15, 10, 25, 20), bottom=bottom, top=top)
    model = cavity.model()
    assert meets_board(model.obstacles[0], model, 1.6) is meets
    assert bool(outline(cavity).interiors) is meets


def test_a_small_pocket_is_left_out_and_said_so() -> None:
    cavity = Cavity.rectangle(60, 20)
    cavity.obstacle("rib", (45, 0, 46, 20))
    found = board_outline(cavity.model(), 1.6, CUTTER, SITE)
    assert found.polygon.bounds == pytest.approx((0.7, 0.7, 44.3, 19.3), abs=1e-6)
    assert len(found.notes) == 1
    assert "is cut off from the board" in found.notes[0]


def test_a_room_split_by_its_own_walls_is_said_so() -> None:
    waist = [(0, 0), (20, 0), (22, 9), (24, 0), (44, 0), (44, 20), (24, 20), (22, 11), (20, 20), (0, 20)]
    with pytest.raises(DesignError, match=r"falls apart.*the walls come too close"):
        outline(Cavity.polygon(waist))


def test_no_corner_is_left_with_less_than_a_nanometre_of_rounding() -> None:
    cavity = tin()
    cavity.post("p", at=(20, 15), diameter=5.123456789)
    for x, y in shapely.get_coordinates(outline(cavity)):
        assert x == round(x, 6)
        assert y == round(y, 6)


length = st.floats(0.0, 1.0).map(lambda v: round(v, 2))


@st.composite
def rooms(draw: st.DrawFn) -> dict[str, Any]:
    """An L-shaped or plain room with up to three posts and a block, all anywhere in it."""
    width, depth = draw(st.integers(25, 60)), draw(st.integers(20, 40))
    posts = draw(
        st.lists(
            st.tuples(st.integers(1, width - 1), st.integers(1, depth - 1), st.sampled_from([0.5, 1.0, 3.0, 6.0])),
            max_size=3,
            unique_by=lambda p: p[:2],
        )
    )
    notch = draw(st.none() | st.tuples(st.integers(5, width - 10), st.integers(5, depth - 10)))
    block = draw(
        st.none() | st.tuples(st.integers(2, width - 6), st.integers(2, depth - 6), st.sampled_from([0.5, 4.0]))
    )
    return {"width": width, "depth": depth, "posts": posts, "notch": notch, "block": block}


def built(room: dict[str, Any], wall_gap: float = 0.5, measured_to: float = 0.2, shrink: float = 0.0) -> Cavity:
    w, d, s = room["width"], room["depth"], shrink
    corners = [(s, s), (w - s, s), (w - s, d - s), (s, d - s)]
    if room["notch"]:
        nx, ny = room["notch"]
        corners[2:3] = [(w - s, d - ny - s), (w - nx - s, d - ny - s), (w - nx - s, d - s)]
    cavity = Cavity.polygon(corners, wall_gap=wall_gap, measured_to=measured_to)
    for i, (x, y, diameter) in enumerate(room["posts"]):
        try:
            cavity.post(f"post {i}", at=(x, y), diameter=diameter)
        except DesignError as error:
            assert "outside the cavity" in str(error)
    if room["block"]:
        x, y, size = room["block"]
        try:
            cavity.obstacle("block", (x, y, x + size, y + 3))
        except DesignError as error:
            assert "outside the cavity" in str(error)
    return cavity


def attempted(cavity: Cavity) -> Any:
    try:
        return outline(cavity)
    except DesignError as error:
        assert "no room" in str(error) or "falls apart" in str(error)
        return None


def assert_keeps_its_distance(board: Any, cavity: Cavity) -> None:
    model = cavity.model()
    assert shapely.within(board, model.inside)
    assert board.distance(model.inside.exterior) >= model.wall_gap + model.measured_to - MICROMETRE
    for o in model.obstacles:
        if o.round:
            (x, y), diameter = o.round
            distance = board.distance(shapely.Point(x, y)) - diameter / 2
        else:
            distance = board.distance(o.outline)
        assert distance >= o.gap + model.measured_to - MICROMETRE


@settings(max_examples=25, deadline=None)
@given(rooms())
def test_outline_keeps_its_distance_and_can_be_cut(room: dict[str, Any]) -> None:
    cavity = built(room)
    board = attempted(cavity)
    assume(board is not None)
    assert board.is_valid
    assert_keeps_its_distance(board, cavity)
    assert leftover(board) < LEFTOVER


def leftover(board: Any) -> float:
    """Return how thick, in mm, the material is that the cutter leaves somewhere along the board's edge.

    The cutter is laid against the edge from outside at close steps; where it enters the board nowhere by more than
    half the leftover allowed, it may stand.  Every point of the edge must then be that near to a cutter that stands.
    """
    edge: list[Any] = []
    centres: list[Any] = []
    for i, ring in enumerate((board.exterior, *board.interiors)):
        outward = 1.0 if ring.is_ccw == (i == 0) else -1.0
        for start, end in pairwise(shapely.get_coordinates(ring)):
            size = math.dist(start, end)
            along = (end - start) / size
            steps = np.linspace(0.0, size, 2 * math.ceil(size / 0.08) + 1)
            points = start + steps[:, None] * along
            edge.append(points)
            centres.append(points + CUTTER / 2 * outward * np.array([along[1], -along[0]]))
    shapely.prepare(board)
    tried = shapely.points(np.vstack(centres))
    standing = tried[shapely.distance(board, tried) >= CUTTER / 2 - LEFTOVER / 2]
    away = shapely.STRtree(standing).query_nearest(
        shapely.points(np.vstack(edge)), return_distance=True, all_matches=False
    )[1]
    return float(away.max()) - CUTTER / 2


def test_the_cutter_test_sees_a_sharp_inside_corner() -> None:
    sharp = shapely.Polygon([(0, 0), (20, 0), (20, 10), (10, 10), (10, 20), (0, 20)])
    # By hand: a disc in a corner of 90° stays r (√2 - 1) away from its point.
    assert leftover(sharp) == pytest.approx(CUTTER / 2 * (math.sqrt(2) - 1), abs=0.02)
    round_enough = sharp.difference(shapely.Point(10 + 0.849, 10 + 0.849).buffer(1.205, quad_segs=256))
    assert leftover(round_enough) < LEFTOVER


@settings(max_examples=15, deadline=None)
@given(rooms(), st.sampled_from([0.05, 0.3, 1.0]))
def test_a_smaller_room_never_gives_a_larger_board(room: dict[str, Any], shrink: float) -> None:
    wide, narrow = attempted(built(room)), attempted(built(room, shrink=shrink))
    assume(wide is not None and narrow is not None)
    # Bites at corners may differ by some tenths of a mm², never by what the walls took.
    assert narrow.area < wide.area


@settings(max_examples=15, deadline=None)
@given(rooms(), length, length)
def test_tolerance_and_gap_only_tighten(room: dict[str, Any], one: float, other: float) -> None:
    low, high = sorted((one, other))
    assume(high - low >= 0.05)
    for loose, tight in [
        (built(room, measured_to=low), built(room, measured_to=high)),
        (built(room, wall_gap=low), built(room, wall_gap=high)),
    ]:
        before, after = attempted(loose), attempted(tight)
        if before is not None and after is not None:
            assert after.area < before.area
