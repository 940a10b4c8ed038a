"""The compiled pieces of placement against other people's code: shapely, networkx, and whole-number arithmetic."""

from __future__ import annotations

import itertools

import networkx as nx
import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity
from shapely.geometry import Point, Polygon

from modboard.layout.place.anneal import new_state
from modboard.layout.place.congestion import Congestion
from modboard.layout.place.edges import edge_beside, profile
from modboard.layout.place.fits import fits, way_out
from modboard.layout.place.kernels import SHORT_LEG, draw, tree_length
from modboard.layout.place.moves import accept, propose, put_back, refresh, totals, weigh_move
from modboard.layout.place.placer import COARSE, pose
from modboard.layout.place.pulls import decoupling_pulls, net_pulls
from modboard.layout.place.room import Room, edges_of, shrunk
from modboard.layout.place.standing import hull_points
from tests.layout.place_cases import board, buffer_amplifier, surface_board

BITS = (1 << 64) - 1


def test_draw_is_xorshift64_star_in_whole_numbers() -> None:
    # Vigna, "An experimental exploration of Marsaglia's xorshift generators, scrambled", 2016: shifts 12, 25, 27,
    # multiplier 2685821657736338717; here in Python's unbounded integers.
    state = np.array([88172645463325252], np.uint64)
    x = 88172645463325252
    for _ in range(200):
        x ^= x >> 12
        x ^= (x << 25) & BITS
        x ^= x >> 27
        assert draw(state, 1000) == (((x * 2685821657736338717) & BITS) >> 33) % 1000


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.floats(-30, 30), st.floats(-30, 30)), min_size=2, max_size=12, unique=True))
def test_tree_length_is_the_minimum_spanning_tree_of_networkx(points: list[tuple[float, float]]) -> None:
    graph = nx.Graph()
    for a, b in itertools.combinations(range(len(points)), 2):
        dx, dy = abs(points[a][0] - points[b][0]), abs(points[a][1] - points[b][1])
        graph.add_edge(a, b, weight=max(dx, dy) + SHORT_LEG * min(dx, dy))
    expected = nx.minimum_spanning_tree(graph).size(weight="weight")
    found = tree_length(np.arange(len(points)), np.array(points), np.zeros(len(points) + 1))
    assert found == pytest.approx(expected, abs=1e-6)


@settings(max_examples=60, deadline=None)
@given(
    st.floats(2, 12), st.floats(2, 12), st.sampled_from([0, 90, 30, 45]), st.integers(0, 10**6), st.booleans()
)  # fmt: skip
def test_fits_agrees_with_shapely(width: float, height: float, turn: float, seed: int, hollow: bool) -> None:
    chance = np.random.default_rng(seed)
    area = board(30, 22).difference(Point(4, 4).buffer(4)).union(shapely.box(20, 15, 38, 30))
    if hollow:
        area = area.difference(Point(18, 12).buffer(3))
    hull = affinity.rotate(shapely.box(0, 0, width, height), turn, origin=(0, 0))
    x, y = chance.uniform(-5, 40, 150), np.repeat(chance.uniform(-5, 32, 15), 10)
    inside = fits(x, y, hull_points(hull), edges_of(area), True)
    outside = fits(x, y, hull_points(hull), edges_of(area), False)
    for k in range(len(x)):
        moved = affinity.translate(hull, x[k], y[k])
        assert inside[k] == area.covers(moved)
        assert outside[k] == (not area.intersects(moved))


def test_fits_allows_contact() -> None:
    area = edges_of(shapely.box(0, 0, 10, 10))
    hull = hull_points(shapely.box(0, 0, 10, 10))
    at = np.array([0.0, 1e-5])
    assert fits(at, np.zeros(2), hull, area, True).tolist() == [True, False]


def test_shrunk_area_keeps_the_distance_at_inside_corners() -> None:
    outline = board(30, 20).difference(shapely.box(10, 12, 16, 40))
    rest = shrunk(outline, 1.0)
    assert shapely.distance(rest, outline.boundary) >= 1.0 - 1e-9
    assert rest.area == pytest.approx(outline.buffer(-1.0, quad_segs=64).area, rel=1e-3)


def test_way_out_is_the_ray_to_the_outline() -> None:
    outline = board(30, 20)  # from (0.8, 0.8) to (30.8, 20.8)
    x, y = np.array([5.8, 30.0]), np.array([10.0, 20.0])
    assert way_out(x, y, 1.0, 0.0, edges_of(outline)) == pytest.approx([25.0, 0.8])
    assert way_out(x, y, 0.0, -1.0, edges_of(outline)) == pytest.approx([9.2, 19.2])


def test_edge_beside_takes_the_nearer_edge_of_a_step() -> None:
    stepped = Polygon([(0, 0), (20, 0), (20, 10), (15, 10), (15, 20), (0, 20)])
    edges = profile(stepped, "right")
    assert edge_beside(edges, 1.0, 9.0) == pytest.approx(20.0)
    assert edge_beside(edges, 8.0, 12.0) == pytest.approx(15.0)
    assert -edge_beside(profile(stepped, "left"), 1.0, 19.0) == pytest.approx(0.0)
    assert edge_beside(profile(stepped, "top"), 1.0, 18.0) == pytest.approx(10.0)


@pytest.mark.parametrize("elbow_room", [1.0, 0.0])
@pytest.mark.parametrize("make", [buffer_amplifier, surface_board])
def test_cost_kept_move_by_move_is_the_cost_worked_out_anew(make: object, elbow_room: float) -> None:
    description = make()  # type: ignore[operator]
    room = Room(description, ())
    pulls = [*net_pulls(description), *decoupling_pulls(description)]
    _, problem = pose(description, room, [None] * len(description.parts), pulls, COARSE, None, 0.0)
    problem = problem._replace(yards=problem.yards._replace(halo=elbow_room * problem.yards.halo))
    places = problem.places
    first = [int(places.variant_first[i]) for i in range(len(description.parts))]
    sites = [int(places.site_first[places.variant_map[v]]) + 3 * i for i, v in enumerate(first)]
    state = new_state(problem, np.array(first), np.array(sites), 5)
    over, cost = totals(problem, state)
    made = 0
    for k in range(4000):
        if not propose(problem, state, 20.0):
            continue
        grown_over, grown_cost = weigh_move(problem, state)
        if k % 3:
            put_back(problem, state)
        else:
            accept(problem, state)
            over, cost, made = over + grown_over, cost + grown_cost, made + 1
    assert made > 500
    assert totals(problem, state) == pytest.approx((over, cost), abs=1e-6)
    refresh(problem, state)
    assert totals(problem, state) == pytest.approx((over, cost), abs=1e-6)


def test_congestion_is_looked_up_where_it_is() -> None:
    penalty = np.zeros((4, 5))
    penalty[1, 2] = 3.0
    found = Congestion((10.0, 20.0), 2.0, penalty).resampled((10.0, 20.0), 1.0, (8, 10))
    expected = np.zeros((8, 10))
    expected[2:4, 4:6] = 3.0
    assert found.tolist() == expected.tolist()
    coarse = Congestion((10.0, 20.0), 2.0, penalty).resampled((10.0, 20.0), 4.0, (2, 3))
    assert coarse[0, 1] == pytest.approx(0.75)
