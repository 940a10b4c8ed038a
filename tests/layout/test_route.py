"""The router against graph theory, exact geometry and its own honesty."""

from __future__ import annotations

import pickle
from dataclasses import replace

import networkx as nx
import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from modboard.describe.model import Description, Net, Part
from modboard.geometry import Shape, polygon, rectangle, stroke
from modboard.layout.board import PlacedPart
from modboard.layout.route import kernels
from modboard.layout.route.grid import Lattice, Maps, Obstacle
from modboard.layout.route.negotiate import Negotiation
from modboard.layout.route.pens import Pen, PenSet
from modboard.layout.route.router import Effort, Sketch, route, sketch
from modboard.layout.route.terms import Prices, Task
from tests import sample
from tests.layout.boards import apart, random_board, too_near

PITCH = 0.127
FINE = 0.05
SMALL = st.floats(-3, 3).map(lambda v: round(v, 3))


def maze(width: int, height: int, walls: np.ndarray, bends: tuple[int, int, int], ends: list[int]) -> tuple[int, int]:
    """Route one net over a lattice with barred nodes; return (cost of steps and vias, groups joined)."""
    lattice = Lattice((0.0, 0.0), 1.0, width, height)
    pens = PenSet((Pen(0.1, 0.1), Pen(0.2, 0.1, 0.2)), ((0, 0, 1),))
    maps = Maps(lattice, pens, sample.sample_rules())
    n = lattice.nodes
    maps.own[0][walls.ravel()] = kernels.BARRED
    maps.own[1][:n][walls.reshape(2, -1).any(axis=0)] = kernels.BARRED
    groups = tuple(np.array([e], np.int64) for e in ends)
    task = Task(0, groups, np.zeros(2 * n, np.uint8))
    negotiation = Negotiation(maps, [task], np.full(n, -1, np.int32), Prices(via=500))
    routed = negotiation.search(0, 0.0, True, bends=np.array(bends, np.int64))
    cost = 0
    rows = routed.rows[:, 0]
    for a, b in zip(rows[:-1].tolist(), rows[1:].tolist(), strict=True):
        if a < 0 or b < 0:
            continue
        if a // n != b // n:
            cost += 500
        else:
            straight = a % width == b % width or a % n // width == b % n // width
            cost += kernels.STRAIGHT if straight else kernels.DIAGONAL
    return cost, routed.joined


def lattice_graph(width: int, height: int, walls: np.ndarray) -> nx.Graph:
    """Return the same lattice as a networkx graph."""
    graph = nx.Graph()
    n = width * height
    for layer in (0, 1):
        for y in range(height):
            for x in range(width):
                if walls[layer, y, x]:
                    continue
                u = layer * n + y * width + x
                graph.add_node(u)
                for dx, dy in ((1, 0), (0, 1), (1, 1), (1, -1)):
                    if 0 <= x + dx < width and 0 <= y + dy < height and not walls[layer, y + dy, x + dx]:
                        weight = kernels.DIAGONAL if dx and dy else kernels.STRAIGHT
                        graph.add_edge(u, u + dy * width + dx, weight=weight)
                if layer == 0 and not walls[1, y, x]:
                    graph.add_edge(u, u + n, weight=500)
    return graph


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10_000), st.integers(8, 24), st.integers(8, 24), st.floats(0, 0.35))
def test_single_path_is_as_short_as_dijkstras(seed: int, width: int, height: int, density: float) -> None:
    # Reference: Dijkstra 1959 as implemented by networkx.  Turns cost nothing here, and the walls leave every turn
    # of up to 90° open; a path that needs a sharper turn would be legal for Dijkstra only, hence >= and the bound.
    rnd = np.random.default_rng(seed)
    walls = rnd.random((2, height, width)) < density
    n = width * height
    ends = [0, n - 1]
    walls[:, 0, 0] = walls[:, -1, -1] = False
    graph = lattice_graph(width, height, walls)
    cost, joined = maze(width, height, walls, (0, 0, 0), ends)
    if nx.has_path(graph, *ends):
        best = nx.dijkstra_path_length(graph, *ends)
        assert joined == 2
        assert best <= cost <= best * 1.02 + kernels.DIAGONAL
        if density == 0:
            assert cost == best
    else:
        assert joined == 1


def test_open_lattice_gives_the_octile_distance() -> None:
    # max(dx, dy) straight and min(dx, dy) diagonal steps: the octile distance (routing literature, Hart et al. 1968).
    walls = np.zeros((2, 30, 40), bool)
    cost, _ = maze(40, 30, walls, (0, 12, 70), [0, 20 * 40 + 33])
    assert cost == 20 * kernels.DIAGONAL + 13 * kernels.STRAIGHT


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10_000), st.integers(3, 5))
def test_trees_stay_within_the_bound_of_takahashi_and_matsuyama(seed: int, count: int) -> None:
    # Growing a tree by nearest paths is never dearer than the minimum spanning tree over shortest paths (networkx),
    # which is at most 2 (1 - 1/k) times the Steiner optimum (Takahashi & Matsuyama 1980).
    rnd = np.random.default_rng(seed)
    width = height = 16
    walls = np.zeros((2, height, width), bool)
    ends = sorted(rnd.choice(width * height, count, replace=False).tolist())
    graph = lattice_graph(width, height, walls)
    metric = nx.Graph()
    for i, a in enumerate(ends):
        reach = nx.single_source_dijkstra_path_length(graph, a)
        metric.add_weighted_edges_from((a, b, reach[b]) for b in ends[:i])
    spanning = nx.minimum_spanning_tree(metric).size(weight="weight")
    cost, joined = maze(width, height, walls, (0, 0, 0), ends)
    assert joined == count
    assert cost <= spanning + 1e-9


@settings(max_examples=60, deadline=None)
@given(
    SMALL, SMALL, st.floats(0.3, 2.5), st.floats(0.3, 2.5), st.sampled_from(["oval", "box", "line"]), st.floats(0, 90)
)
def test_barred_nodes_are_just_those_too_near(x: float, y: float, a: float, b: float, kind: str, turn: float) -> None:
    # Exact distances by shapely: every node nearer than the reach is barred, none further than a diagonal step's
    # allowance beyond it is.
    shape = {
        "oval": rectangle((x, y), a, b, min(a, b) / 2),
        "box": rectangle((x, y), a, b).turned(turn, (x, y)),
        "line": stroke([(x, y), (x + a, y - b), (x + 2 * a, y)], 0.3),
    }[kind]
    lattice = Lattice((-8.0, -8.0), FINE, 321, 321)
    pens = PenSet((Pen(0.125, 0.25),), ((0, 0, 0),))
    maps = Maps(lattice, pens, sample.sample_rules())
    maps.bar_obstacles([Obstacle(shape, 3, ("top",), 0.25)])
    barred = maps.own[0][: lattice.nodes].reshape(321, 321) == 3
    cols, rows = np.meshgrid(np.arange(321), np.arange(321))
    points = shapely.points(-8.0 + cols * FINE, -8.0 + rows * FINE)
    gap = shapely.distance(points, shape.core) - shape.radius - 0.125
    assert barred[gap < 0.25 - 1e-5].all()
    need = shape.radius + 0.125 + 0.25
    furthest = np.sqrt(need**2 + 0.5 * FINE**2) - shape.radius - 0.125
    assert not barred[gap > furthest + 1e-5].any()
    assert not (maps.own[0][lattice.nodes :] != kernels.FREE).any()


def test_taking_a_net_up_leaves_no_trace() -> None:
    description, parts = random_board(5, 8, 36, 30)
    from modboard.layout.route.problem import Problem

    problem = Problem(description, parts, PITCH)
    tasks = [
        Task(k, tuple(problem.terminal(p) for p in problem.pads_of[n.name]), problem.zone(n))
        for k, n in enumerate(description.nets)
    ]
    negotiation = Negotiation(problem.maps, tasks, problem.pad_at(), Prices())
    for k in range(len(tasks)):
        negotiation.put(k, negotiation.search(k, 0.0, False))
    assert negotiation.occ.any()
    for k in range(len(tasks)):
        negotiation.rip(k)
    assert not negotiation.occ.any()


@settings(max_examples=14, deadline=None)
@given(
    st.integers(0, 10_000),
    st.integers(3, 12),
    st.sampled_from([None, "bottom", "top", "both"]),
    st.sampled_from([0.0, 0.3]),
)
def test_random_boards_come_out_clean_or_say_what_is_open(seed: int, count: int, pour: str | None, wide: float) -> None:
    # Judged without the router's help: exact distances (shapely) and connectivity (networkx).
    description, parts = random_board(seed, count, 40, 34, pour, wide)
    board = route(description, parts, effort=Effort(rounds=25, passes=1)).board
    assert too_near(board) == []
    assert apart(board) == {u.net for u in board.unrouted}


def test_same_board_twice() -> None:
    description, parts = random_board(11, 10, 40, 34, "bottom")
    first, second = (route(description, parts, seed=4).board for _ in range(2))
    assert first.tracks == second.tracks
    assert first.vias == second.vias
    assert [p.area.wkb for p in first.pours] == [p.area.wkb for p in second.pours]


@pytest.mark.parametrize(("seed", "rounds", "pour"), [(11, 1, None), (9, 2, "both"), (4, 3, "both")])
def test_going_on_from_a_sketch_gives_the_board_of_one_go(seed: int, rounds: int, pour: str | None) -> None:
    description, parts = random_board(seed, 12, 34, 28, pour)
    effort = Effort(rounds=20, again=20, passes=1)
    look = sketch(description, parts, seed=seed, effort=replace(effort, rounds=rounds, again=rounds))
    assert isinstance(look, Sketch) and look.begun is not None, "the case must be too hard for so few rounds"
    begun = pickle.loads(pickle.dumps(look.begun))  # as it comes back from another process
    one_go = route(description, parts, seed=seed, effort=effort)
    for _ in range(2):  # a stand may be gone on from any number of times
        in_two = route(description, look.parts, seed=seed, effort=effort, begun=begun)
        assert in_two.board == one_go.board
        assert np.array_equal(in_two.crowded, one_go.crowded)


def test_what_cannot_be_routed_is_reported_net_by_net() -> None:
    # A wall of bare holes between two parts: nothing can cross it.
    description, parts = walled_board()
    board = route(description, parts).board
    assert {u.net for u in board.unrouted} == {"A", "B"}
    assert all(u.start[0] != u.end[0] for u in board.unrouted)
    assert too_near(board) == []


def walled_board() -> tuple[Description, tuple[PlacedPart, ...]]:
    """Return two axial parts with a row of mounting holes between them."""
    from modboard.describe.model import MountingHole

    left = PlacedPart(Part("R1", "test", None, "", sample.axial(), sample.SITE), (4.0, 5.0), 90.0)
    right = PlacedPart(Part("R2", "test", None, "", sample.axial(), sample.SITE), (20.0, 5.0), 90.0)
    holes = tuple(MountingHole((12.0, 1.5 + 3.0 * k), 3.2, 4.0) for k in range(7))
    nets = tuple(
        Net(name, (("R1", pin), ("R2", pin)), sample.SITE, 0.25, 0.25) for name, pin in (("A", "1"), ("B", "2"))
    )
    outline = shapely.box(0, 0, 24, 21)
    description = Description(
        "walled", "", "A", (left.part, right.part), nets, (), {}, (), None, outline, holes, sample.sample_rules()
    )  # fmt: skip
    return description, (left, right)


def test_wide_track_necks_down_only_near_narrow_pads() -> None:
    # A 2 mm track from chip pads 1.0 mm wide, 1.9 mm apart: full width cannot pass the neighbouring pad.
    chips = [
        PlacedPart(Part(f"C{k}", "test", None, "", sample.chip(), sample.SITE), (6.0 + 18 * k, 8.0), 0.0)
        for k in range(2)
    ]
    nets = tuple(
        Net(f"N{pin}", (("C0", pin), ("C1", pin)), sample.SITE, 2.0 if pin == "1" else 0.25, 0.25) for pin in "12"
    )
    outline = shapely.box(0, 0, 32, 16)
    description = Description(
        "neck", "", "A", tuple(c.part for c in chips), nets, (), {}, (), None, outline, (), sample.sample_rules()
    )  # fmt: skip
    board = route(description, tuple(chips)).board
    assert board.unrouted == ()
    assert too_near(board) == []
    widths = {t.width for t in board.tracks if t.net == "N1"}
    assert 2.0 in widths
    pads = [p.at for p in board.pads if p.net == "N1"]
    for track in board.tracks:
        if track.net == "N1" and track.width < 2.0:
            assert all(min(shapely.Point(p).distance(shapely.Point(q)) for q in pads) < 2.7 for p in track.points)


def test_gap_of_a_high_voltage_net_is_kept_from_all_others() -> None:
    description, parts = random_board(3, 8, 40, 34)
    wide_gap = replace(description.nets[0], gap=0.8)
    description = replace(description, nets=(wide_gap, *description.nets[1:]))
    board = route(description, parts).board
    mine = [t.shape for t in board.tracks if t.net == wide_gap.name]
    others = [t for t in board.tracks if t.net != wide_gap.name]
    for track in others:
        layer_mates = [t.shape for t in board.tracks if t.net == wide_gap.name and t.layer == track.layer]
        assert all(track.shape.distance(s) >= 0.8 - 1e-6 for s in layer_mates)
    assert mine


@pytest.mark.parametrize("shape", [polygon([(0, 0), (2, 0), (2, 1), (0, 1)]), Shape(shapely.Point(1, 1), 0.5)])
def test_inside_of_filled_shapes_is_barred_too(shape: Shape) -> None:
    lattice = Lattice((-2.0, -2.0), 0.1, 61, 61)
    pens = PenSet((Pen(0.0, 0.0),), ((0, 0, 0),))
    maps = Maps(lattice, pens, sample.sample_rules())
    maps.bar_obstacles([Obstacle(shape, None, ("bottom",), 0.0)])
    node = lattice.nearest((1.0, 0.8)) + lattice.nodes
    assert maps.own[0][node] == kernels.BARRED
