"""Opens and shorts against an implementation of another kind: polygons united by shapely, a graph by networkx.

The reference turns every piece of copper into a polygon, unites the polygons of a layer, and makes a graph of the
pieces of the union (one per layer) and the plated holes that touch them; nets are then read off its components.  It
shares nothing with the checks but the features themselves.  Items lie on a 1 mm grid with sizes chosen so that no two
come nearer than a few micrometres without overlapping: chords of round outlines cannot change the answer.
"""

from __future__ import annotations

import itertools

import networkx as nx
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from modboard.artwork.model import Drill, Feature, Flash, Owner, Stroke
from modboard.check import connections, gaps
from modboard.check.inspection import Inspection
from tests.check.build import Scene, drill, net, pad, round_land, scene

NETS = ("A", "B", "C")
points = st.tuples(st.integers(1, 7), st.integers(1, 7))


@st.composite
def boards(draw: st.DrawFn) -> Scene:
    """Return a board with pads, some of them through, and tracks between grid points on two layers."""
    places = draw(st.lists(points, min_size=2, max_size=9, unique=True))
    top: list[Feature] = []
    bottom: list[Feature] = []
    drills: list[Drill] = []
    pins: dict[str, list[tuple[str, str]]] = {name: [] for name in NETS}
    for number, at in enumerate(places, 1):
        name = draw(st.sampled_from(NETS))
        pins[name].append(("X1", str(number)))
        land = pad(name, (float(at[0]), float(at[1])), round_land(0.63), name=f"X1.{number}", through=True)
        side = draw(st.sampled_from(("top", "bottom", "through")))
        if side != "bottom":
            top.append(land)
        if side != "top":
            bottom.append(land)
        if side == "through":
            drills.append(drill(name, land.at, 0.31, name=f"X1.{number}"))
    for _ in range(draw(st.integers(0, 14))):
        start = draw(points)
        dx, dy = draw(st.sampled_from(((1, 0), (0, 1), (1, 1), (1, -1), (2, 0), (0, 3))))
        wire = Stroke(
            ((float(start[0]), float(start[1])), (float(start[0] + dx), float(start[1] + dy))),
            0.21,
            "conductor",
            Owner(net=draw(st.sampled_from(NETS))),
        )
        draw(st.sampled_from((top, bottom))).append(wire)
    for _ in range(draw(st.integers(0, 3))):
        at = draw(points)
        name = draw(st.sampled_from(NETS))
        via = Flash(round_land(0.57), (float(at[0]), float(at[1])), 0.0, "via-pad", Owner(net=name))
        top.append(via)
        bottom.append(via)
        drills.append(Drill(via.at, 0.29, True, "via-drill", Owner(net=name)))
    nets = [net(name, pins[name]) for name in NETS]
    return scene(top=top, bottom=bottom, drills=drills, nets=nets)


def polygons(features: list[Feature | Drill]) -> list[shapely.Polygon]:
    """Return each feature as a polygon of its own making: a buffered point or line."""
    made = []
    for f in features:
        if isinstance(f, Stroke):
            made.append(shapely.LineString(f.points).buffer(f.width / 2, quad_segs=48))
        elif isinstance(f, Flash):
            made.append(shapely.Point(f.at).buffer(f.form.width / 2, quad_segs=48))
        elif isinstance(f, Drill):
            made.append(shapely.Point(f.at).buffer(f.diameter / 2, quad_segs=48))
    return made


def joined(made: Scene, names: tuple[str, ...]) -> nx.Graph:
    """Return the graph of copper pieces and holes of the nets `names`; pads hang on it as nodes ("pad", number)."""
    art = made[1]
    graph = nx.Graph()
    holes = [d for d in art.drills if d.owner.net in names]
    graph.add_nodes_from(("hole", n, d.owner.net) for n, d in enumerate(holes))
    for layer in ("copper-top", "copper-bottom"):
        features = [f for f in art.layer(layer).features if f.owner.net in names]
        hit = list(zip(features, polygons(list(features)), strict=True))
        walls = list(zip(holes, polygons(list(holes)), strict=True))
        union = shapely.union_all([shape for _, shape in [*hit, *walls]])
        pieces = [p for p in shapely.get_parts(union) if not p.is_empty]
        for number, piece in enumerate(pieces):
            for n, (hole, shape) in enumerate(walls):
                if piece.intersects(shape):
                    graph.add_edge(("piece", layer, number), ("hole", n, hole.owner.net))
            for m, (feature, shape) in enumerate(hit):
                if piece.intersects(shape):
                    graph.add_edge(("piece", layer, number), ("item", layer, m, feature.owner.net))
                    if feature.owner.reference:
                        graph.add_edge(
                            ("item", layer, m, feature.owner.net), ("pad", feature.owner.net, feature.owner.number)
                        )
    return graph


@settings(max_examples=150, deadline=None)
@given(boards())
def test_opens_agree_with_the_reference(made: Scene) -> None:
    for name in NETS:
        parts = nx.connected_components(joined(made, (name,)))
        groups = [{node[2] for node in part if node[0] == "pad"} for part in parts]
        separate = sum(1 for group in groups if group)
        reported = [f for f in connections.opens(Inspection(*made)) if f.where.startswith(f"net {name},")]
        assert len(reported) == max(separate - 1, 0)
        main = max((len(group) for group in groups), default=0)
        assert all(f.rule == "open" for f in reported)
        assert sum(f.where.count("X1.") for f in reported) == sum(map(len, groups)) - main


@settings(max_examples=150, deadline=None)
@given(boards())
def test_shorts_agree_with_the_reference(made: Scene) -> None:
    reported = {f.message for f in gaps.inspect(Inspection(*made)) if f.rule == "short"}
    for one, other in itertools.combinations(NETS, 2):
        touching = any(
            {node[-1] for node in part if node[0] in ("item", "hole")} == {one, other}
            for part in nx.connected_components(joined(made, (one, other)))
        )
        said = {f"copper of {one} and {other} touches", f"copper of {other} and {one} touches"} & reported
        assert bool(said) == touching
