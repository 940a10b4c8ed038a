"""Random placed boards for tests of the router, and an independent judge of what comes out."""

from __future__ import annotations

import random

import networkx as nx
import shapely

from modboard.describe.model import Description, Net, Part
from modboard.geometry import Shape
from modboard.layout.board import Board, PlacedPart
from tests import sample

KINDS = (sample.dip8(), sample.axial(), sample.chip(), sample.header(4))


def random_board(
    seed: int, parts: int, width: float, depth: float, pour: str | None = None, wide: float = 0.0
) -> tuple[Description, tuple[PlacedPart, ...]]:
    """Return a placed board of random parts and mostly local nets; a share `wide` of the nets is 1 mm wide."""
    rnd = random.Random(seed)
    placed: list[PlacedPart] = []
    taken: list[shapely.Polygon] = []
    for _ in range(4000):
        if len(placed) == parts:
            break
        part = Part(f"P{len(placed)}", "test", None, "", KINDS[rnd.randrange(4)], sample.SITE)
        at = (round(rnd.uniform(2, width - 2), 2), round(rnd.uniform(2, depth - 2), 2))
        put = PlacedPart(part, at, rnd.choice([0.0, 90.0, 180.0, 270.0]))
        court = shapely.Polygon(put.courtyard())
        inside = shapely.box(1.5, 1.5, width - 1.5, depth - 1.5).covers(court)
        if inside and not any(court.intersects(t) for t in taken):
            taken.append(court.buffer(0.3))
            placed.append(put)
    where = {(p.reference, p.number): p.at for put in placed for p in put.pads({})}
    pins = sorted(where)
    rnd.shuffle(pins)
    nets: list[Net] = []
    if pour:
        count = max(2, len(pins) // 4)
        nets.append(Net("GND", tuple(pins[:count]), sample.SITE, 0.25, 0.25, pour=pour))  # type: ignore[arg-type]
        pins = pins[count:]
    while len(pins) > 1:
        first = pins.pop(0)
        x, y = where[first]
        pins.sort(key=lambda p: ((where[p][0] - x) ** 2 + (where[p][1] - y) ** 2, p))
        picked = rnd.sample(pins[:8], min(len(pins), rnd.choice([1, 1, 2, 3])))
        pins = [p for p in pins if p not in picked]
        track = 1.0 if rnd.random() < wide else 0.25
        nets.append(Net(f"N{len(nets)}", (first, *picked), sample.SITE, track, 0.25))
    rules = sample.sample_rules()
    outline = shapely.box(0, 0, width, depth)
    all_parts = tuple(p.part for p in placed)
    description = Description(
        "random", "", "A", all_parts, tuple(nets), (), {}, (), None, outline, (), rules
    )  # fmt: skip
    return description, tuple(placed)


def copper(board: Board, layer: str) -> list[tuple[str, Shape]]:
    """Return (net, shape) of everything copper on a layer."""
    found = [(p.net or f"unused {p.reference}.{p.number}", p.shape) for p in board.pads if layer in p.layers]
    found += [(t.net, t.shape) for t in board.tracks if t.layer == layer]
    found += [(v.net, v.shape) for v in board.vias]
    found += [(p.net, Shape(p.area, 0.0)) for p in board.pours if p.layer == layer]
    return found


def too_near(board: Board) -> list[tuple[str, str, float]]:
    """Return pairs of different nets' copper nearer than the gap, and copper nearer to the edge than allowed."""
    rules = board.description.rules
    found = []
    for layer in ("top", "bottom"):
        items = copper(board, layer)
        for i, (net, shape) in enumerate(items):
            edge = shapely.distance(shape.core, board.outline.exterior) - shape.radius
            if edge < rules.copper_to_edge - 1e-6 or not board.outline.covers(shape.core):
                found.append((net, "edge", edge))
            for other, its in items[:i]:
                if other != net and shape.distance(its) < rules.gap - 1e-6:
                    found.append((net, other, shape.distance(its)))
    return found


def apart(board: Board) -> set[str]:
    """Return the nets whose pads are not one piece of copper (networkx over pairwise exact distances)."""
    found = set()
    for net in board.description.nets:
        graph = nx.Graph()
        holders: list[tuple[str, Shape, int]] = []
        for layer in ("top", "bottom"):
            items = [(f"{layer} {k}", s) for k, (n, s) in enumerate(copper(board, layer)) if n == net.name]
            graph.add_nodes_from(name for name, _ in items)
            for i, (a, sa) in enumerate(items):
                graph.add_edges_from((a, b) for b, sb in items[:i] if sa.distance(sb) < 0)
            holders += [(name, s, 0) for name, s in items]
        plated = [p.hole.shape() for p in board.pads if p.hole and p.net == net.name]
        plated += [Shape(shapely.Point(v.at), v.hole / 2) for v in board.vias if v.net == net.name]
        for hole in plated:
            touching = [name for name, s, _ in holders if s.distance(hole) < 0]
            nx.add_path(graph, touching)
        lands = []
        for layer in ("top", "bottom"):
            for k, (n, shape) in enumerate(copper(board, layer)):
                if n == net.name and any(shape is p.shape for p in board.pads):
                    lands.append(f"{layer} {k}")
        reached = nx.node_connected_component(graph, lands[0]) if lands else set()
        if any(land not in reached for land in lands):
            found.add(net.name)
    return found
