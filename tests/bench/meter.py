"""A board with one fault and a meter on it: built from the outlines of copper alone, without the planner's own graph.

Copper of each net and layer is united (shapely) and the faulty place cut out or bridged; pieces are joined through
plated holes; what the meter says follows from connected components (networkx).  Parts in circuit are resistances.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import networkx as nx
import numpy as np
import shapely
from shapely.geometry import LineString, Point

from modboard.bench.continuity import Spot
from modboard.bench.sheet import BenchSheet, Silence
from modboard.layout.board import COPPER_LAYERS, Board, Pad, Pour, Track, Via

BEEP = 50.0  # Ω; the beeper of a meter sounds below 30 to 50 Ω (common practice)
KNIFE = 0.06  # mm wide
STEP = 1.0  # mm between cuts along a track
SENT = 100.0  # mA sent through what is too low to read in ohms
NECK = 0.8  # mm; a pour narrower than this is a neck
NEAR_LANDS, NEAR_COPPER = 1.0, 0.5  # mm a blob of solder, or a flaw in etching, can span (common practice)


@dataclass(frozen=True)
class Fault:
    """One thing wrong: `kind` is "cut", "neck", "via", "plating", "joint" or "bridge"."""

    kind: str
    net: str
    layer: str = ""
    area: Any = None
    thing: Via | str | None = None  # the via, or the name of the pad


class Faulty:
    """The board `board` as a meter finds it."""

    def __init__(self, board: Board) -> None:
        """Unite the copper once; faults only change one net."""
        self.board = board
        self.names: dict[str, Pad] = {}
        for pad in board.pads:
            name = f"{pad.reference}.{pad.number}"
            count = sum(1 for n in self.names if n.split("#")[0] == name)
            self.names[f"{name}#{count + 1}" if count else name] = pad
        self.sides = {p.part.reference: p.body_side for p in board.parts}
        self.copper: dict[tuple[str, str], list[Any]] = {}
        for name, pad in self.names.items():
            for layer in pad.layers:
                self.copper.setdefault((pad.net or name, layer), []).append(pad.shape.polygon())
        for track in board.tracks:
            self.copper.setdefault((track.net, track.layer), []).append(track.shape.polygon())
        for pour in board.pours:
            self.copper.setdefault((pour.net, pour.layer), []).append(pour.area)
        for via, layer in itertools.product(board.vias, COPPER_LAYERS):
            self.copper.setdefault((via.net, layer), []).append(via.shape.polygon())
        self.united = {key: shapely.union_all(shapes) for key, shapes in self.copper.items()}
        self.points: dict[tuple[str, str], list[tuple[float, float]]] = {key: [] for key in self.copper}
        for name, pad in self.names.items():
            for layer in pad.layers:
                self.points[pad.net or name, layer].append(pad.at)
        for via, layer in itertools.product(board.vias, COPPER_LAYERS):
            self.points[via.net, layer].append(via.at)
        self.pieces = {key: _parts_of(area) for key, area in self.united.items()}
        self.places = {key: _nearest(self.points[key], found) for key, found in self.pieces.items()}
        self.trees: dict[str, _Tree] = {layer: _Tree(self.pieces, layer) for layer in COPPER_LAYERS}
        self.leads: dict[str, list[str]] = {}
        for name, pad in self.names.items():
            self.leads.setdefault(pad.reference, []).append(name)

    @cached_property
    def nets(self) -> list[str]:
        """Every net with copper, and every pad on none."""
        return sorted({net for net, _ in self.united})

    def soldered(self, name: str) -> str:
        """Return the side a pad is soldered from: away from the body, or its own."""
        pad = self.names[name]
        if len(pad.layers) == 1:
            return pad.layers[0]
        return "top" if self.sides[pad.reference] == "bottom" else "bottom"

    def circuit(self, fault: Fault | None, fitted: bool) -> nx.Graph:
        """Return pieces of copper (and leads) as nodes, joined where current flows; parts as weighted edges."""
        graph = nx.Graph()
        plated = self.board.description.rules.layers_plated
        spoilt = (fault.net, fault.layer) if fault and fault.kind in ("cut", "neck") else None
        places = self.places
        for key, sound in self.pieces.items():
            pieces = sound
            if fault and key == spoilt:
                pieces = _parts_of(self.united[key].difference(fault.area))
                places = {**places, key: _nearest(self.points[key], pieces)}
            graph.add_nodes_from((*key, n) for n in range(len(pieces)))

        def piece(net: str, layer: str, at: tuple[float, float]) -> tuple[str, str, int]:
            return (net, layer, places[net, layer][at])

        for via in self.board.vias:
            if not fitted:  # the land of a wire link can be probed before the wire is in
                for side in COPPER_LAYERS:
                    graph.add_edge(("at", side, via.at), piece(via.net, side, via.at))
            wired = plated or fitted
            if wired and not (fault and fault.kind == "via" and fault.thing == via):
                graph.add_edge(piece(via.net, "top", via.at), piece(via.net, "bottom", via.at))
        for name, pad in self.names.items():
            net = pad.net or name
            whole = not (fault and fault.kind == "plating" and fault.thing == name)
            if len(pad.layers) == 2 and plated and whole:
                graph.add_edge(piece(net, "top", pad.at), piece(net, "bottom", pad.at))
            graph.add_node(("lead", name))
            if not fitted:  # the probe touches the land itself
                for side in pad.layers:
                    graph.add_edge(("at", side, pad.at), piece(net, side, pad.at))
                graph.add_edge(("lead", name), piece(net, self.soldered(name), pad.at))
                continue
            for layer in pad.layers if not plated else (self.soldered(name),):
                cold = fault and fault.kind == "joint" and fault.thing == name and fault.layer in ("", layer)
                if not cold:
                    graph.add_edge(("lead", name), piece(net, layer, pad.at))
        for part in self.board.parts if fitted else ():  # a wire link is one piece of wire
            if part.part.footprint.bridge:
                nx.add_path(graph, [("lead", n) for n in self.leads[part.part.reference]])
        if fault and fault.kind == "bridge":
            nx.add_path(graph, self.trees[fault.layer].touched(fault.area))
        return graph


class _Tree:
    """The pieces of copper on one layer, to be asked which a blob touches."""

    def __init__(self, pieces: dict[tuple[str, str], list[Any]], layer: str) -> None:
        """Put every piece on `layer` in."""
        here = [(key, n, p) for key, found in pieces.items() if key[1] == layer for n, p in enumerate(found)]
        self.nodes = [(*key, n) for key, n, _ in here]
        self.tree = shapely.STRtree([p for *_, p in here])

    def touched(self, area: Any) -> list[tuple[str, str, int]]:
        """Return the pieces that `area` touches."""
        return [self.nodes[k] for k in sorted(self.tree.query(area, predicate="intersects").tolist())]


def _parts_of(area: Any) -> list[Any]:
    return list(area.geoms) if area.geom_type == "MultiPolygon" else [area]


def _nearest(points: list[tuple[float, float]], pieces: list[Any]) -> dict[tuple[float, float], int]:
    """Return the number of the piece that each point lies on, or nearest to."""
    if len(pieces) == 1 or not points:
        return dict.fromkeys(points, 0)
    far = shapely.distance(shapely.points(points)[:, None], np.array(pieces)[None, :])
    return dict(zip(points, far.argmin(axis=1).tolist(), strict=True))


class Meter:
    """Says what a meter shows between two pads of one faulty board."""

    def __init__(self, faulty: Faulty, fault: Fault | None, fitted: bool, network: Any = None) -> None:
        """Find the pieces that are one; with parts `fitted`, `network` gives their resistances."""
        graph = faulty.circuit(fault, fitted)
        plated = faulty.board.description.rules.layers_plated
        self.fitted = fitted
        kind = "lead" if fitted or plated else "at"  # bare and unplated, each side is a circuit of its own
        self.points = [node for node in graph if node[0] == kind]
        self.where = {node: n for n, group in enumerate(nx.connected_components(graph)) for node in group}
        self.parts = nx.Graph()
        self.parts.add_nodes_from(set(self.where.values()))
        if fitted:
            for part in faulty.board.description.parts:
                ohms = network(part)
                leads = faulty.leads.get(part.reference, [])
                if ohms is not None and len(leads) == 2:
                    a, b = (self.where["lead", n] for n in leads)
                    if a != b:
                        was = self.parts.get_edge_data(a, b, {"g": 0.0})["g"]
                        self.parts.add_edge(a, b, g=was + 1 / max(ohms, 1e-3))
        self.solved: dict[int, tuple[dict[int, int], Any]] = {}  # node -> rows of its component, pseudo-inverse

    def one(self, a: Spot, b: Spot) -> bool:
        """Tell whether copper alone joins what two probes touch: leads once fitted, lands before."""
        if self.fitted:
            return self.where["lead", a.pad] == self.where["lead", b.pad]
        return self.where["at", a.side, a.at] == self.where["at", b.side, b.at]

    def ohms(self, a: str, b: str) -> float:
        """Return the resistance between two pads in Ω; infinity if apart.

        From the pseudo-inverse of the Laplacian (Klein & Randić, Resistance distance, 1993), unlike the planner, which
        solves for the voltages.
        """
        one, other = self.where["lead", a], self.where["lead", b]
        if one == other:
            return 0.0
        rows, inverse = self.solved.get(one) or self._solve(one)
        if other not in rows:
            return float("inf")
        i, j = rows[one], rows[other]
        return float(inverse[i, i] + inverse[j, j] - 2 * inverse[i, j])

    def _solve(self, one: int) -> tuple[dict[int, int], Any]:
        nodes = sorted(nx.node_connected_component(self.parts, one))
        g = nx.to_numpy_array(self.parts, nodelist=nodes, weight="g")
        inverse = np.linalg.pinv(np.diag(g.sum(axis=0)) - g, hermitian=True)
        found = ({node: k for k, node in enumerate(nodes)}, inverse)
        self.solved |= dict.fromkeys(nodes, found)
        return found


def probe(meter: Meter, red: Spot, black: Spot) -> bool:
    """Tell whether it beeps."""
    return meter.ohms(red.pad, black.pad) < BEEP


def copper_faults(faulty: Faulty) -> Iterator[Fault]:
    """Every cut along every track, every via and hole without plating, every bridge between near copper."""
    board = faulty.board
    for track in board.tracks:
        yield from cuts(track)
    for via in board.vias:
        yield Fault("via", via.net, thing=via)
    if board.description.rules.layers_plated:
        for name, pad in faulty.names.items():
            if len(pad.layers) == 2 and pad.net:
                yield Fault("plating", pad.net, thing=name)
    for pour in board.pours:
        lands = [p.shape.polygon() for p in board.pads if p.net == pour.net and pour.layer in p.layers]
        yield from necks(pour, lands)
    yield from bridges(faulty)


def necks(pour: Pour, lands: list[Any]) -> Iterator[Fault]:
    """Etch a pour away wherever it is narrower than `NECK`: each spoke of a pad and each strait between clearances.

    Lands stay whole: one cut in two is no broken neck, and seen at a glance.
    """
    wide = pour.area.buffer(-NECK / 2).buffer(NECK / 2 + 1e-3)
    left = pour.area.difference(wide).difference(shapely.union_all(lands))
    for neck in getattr(left, "geoms", [left]):
        if neck.area > NECK * KNIFE:  # less is the corner of something wide
            yield Fault("neck", pour.net, pour.layer, neck.buffer(1e-2))


def threes(faulty: Faulty) -> Iterator[Fault]:
    """Join three nets by one blob: two bridges between lands that meet on the land in the middle."""
    found = list(bridges(faulty, lands_only=True))
    for name, pad in faulty.names.items():
        land = pad.shape.polygon()
        here = [f for f in found if f.layer in pad.layers and f.area.intersects(land)]
        for one, other in itertools.combinations(here, 2):
            area = shapely.union(one.area, other.area)
            if one.layer == other.layer and len({n for n, *_ in faulty.trees[one.layer].touched(area)}) > 2:
                yield Fault("bridge", pad.net or name, one.layer, area)


def joints(faulty: Faulty) -> Iterator[Fault]:
    """Every cold joint; without plating, also each that is cold on one side only."""
    plated = faulty.board.description.rules.layers_plated
    for name, pad in faulty.names.items():
        if pad.net:
            yield Fault("joint", pad.net, thing=name)
            if len(pad.layers) == 2 and not plated:
                for layer in pad.layers:
                    yield Fault("joint", pad.net, layer, thing=name)


def cuts(track: Track) -> Iterator[Fault]:
    """Cut a track right through, in the middle of each straight and every millimetre."""
    for a, b in itertools.pairwise(track.points):
        line = LineString([a, b])
        count = max(1, round(line.length / STEP))
        for k in range(count):
            at = line.interpolate((k + 0.5) / count, normalized=True)
            on = line.interpolate((k + 0.5) / count + 1e-3, normalized=True)
            dx, dy = on.x - at.x, on.y - at.y
            scale = (track.width / 2 + 0.02) / (dx**2 + dy**2) ** 0.5
            across = LineString([(at.x - dy * scale, at.y + dx * scale), (at.x + dy * scale, at.y - dx * scale)])
            yield Fault("cut", track.net, track.layer, across.buffer(KNIFE / 2, cap_style="flat"))


def bridges(faulty: Faulty, *, lands_only: bool = False) -> Iterator[Fault]:
    """Join every two shapes of different nets that lie near on one layer; lands may be farther apart."""
    for layer in COPPER_LAYERS:
        shapes, nets, lands = [], [], []
        for (net, on), found in faulty.copper.items():
            if on == layer and not lands_only:
                shapes += found
                nets += [net] * len(found)
                lands += [False] * len(found)
        for name, pad in faulty.names.items():
            if layer in pad.layers:
                shapes.append(pad.shape.polygon())
                nets.append(pad.net or name)
                lands.append(True)
        for via in faulty.board.vias:
            if open_to_solder(faulty.board, via):
                shapes.append(via.shape.polygon())
                nets.append(via.net)
                lands.append(True)
        if not shapes:
            continue
        tree = shapely.STRtree(shapes)
        first, second = tree.query(shapes, predicate="dwithin", distance=NEAR_LANDS)
        for i, j in zip(first.tolist(), second.tolist(), strict=True):
            if i < j and nets[i] != nets[j]:
                gap = shapes[i].distance(shapes[j])
                if gap <= (NEAR_LANDS if lands[i] and lands[j] else NEAR_COPPER):
                    blob = shapely.shortest_line(shapes[i], shapes[j]).buffer(0.05)
                    yield Fault("bridge", nets[i], layer, blob)


def open_to_solder(board: Board, via: Via) -> bool:
    """Tell whether no mask covers a via: there is none, or it is left open over holes as large as this."""
    rules = board.description.rules
    return not rules.mask or via.hole > rules.tent_vias_up_to


def harmful(sound: Meter, meter: Meter) -> bool:
    """Tell whether a fault parts pads that belong together or joins pads that don't."""
    before = {n: sound.where[n] for n in sound.points}
    after = {n: meter.where[n] for n in sound.points}
    pairs = {(before[n], after[n]) for n in sound.points}
    return len({b for b, _ in pairs}) != len(pairs) or len({a for _, a in pairs}) != len(pairs)


def caught_bare(sheet: BenchSheet, meter: Meter) -> bool:
    """Tell whether some step on the bare board shows something other than it should."""
    return any(not meter.one(p.red, p.black) for p in sheet.bare.probes) or any(
        meter.one(s.pair.red, s.pair.black) for s in sheet.bare_apart
    )


def caught_whole(sheet: BenchSheet, meter: Meter) -> bool:
    """Tell whether some pair that must beep once everything is soldered stays silent."""
    return any(not probe(meter, p.red, p.black) for p in sheet.whole.probes)


def refused(sheet: BenchSheet, bare: Meter, fitted: Meter) -> list[str]:
    """Return the steps that a sound board fails: a plan that cries at every board would seem to find every fault."""
    found = [f"bare, silent: {p.red} {p.black}" for p in sheet.bare.probes if not bare.one(p.red, p.black)]
    found += [f"bare, beeps: {s.pair}" for s in sheet.bare_apart if bare.one(s.pair.red, s.pair.black)]
    found += [f"fitted, silent: {p.red} {p.black}" for p in sheet.whole.probes if not probe(fitted, p.red, p.black)]
    return found + [f"fitted, wrong: {s.pair}" for s in sheet.apart if wrong(s, fitted)]


def caught_fitted(sheet: BenchSheet, meter: Meter) -> bool:
    """Tell whether some reading after soldering is something other than the sheet says it should be."""
    return any(wrong(s, meter) for s in sheet.apart)


def wrong(s: Silence, meter: Meter) -> bool:
    """Tell whether one reading after soldering is something other than the sheet says it should be."""
    if not s.by_iron or s.expected.verdict == "no telling":
        return False
    ohms = meter.ohms(s.pair.red.pad, s.pair.black.pad)
    if s.expected.verdict == "millivolts" and ohms * SENT < s.expected.least:
        return True
    return ohms < {"silent": BEEP, "beep anyway": s.expected.least}.get(s.expected.verdict, 0.0)


def looked_at(sheet: BenchSheet, fault: Fault) -> bool:
    """Tell whether a step that asks for an eye names a place within 0.5 mm of the fault, and its net."""
    return any(
        fault.net in s.pair.nets and site.side == fault.layer and fault.area.distance(Point(site.at)) < 0.5
        for s in sheet.apart
        if s.by_iron and s.expected.verdict == "no telling"
        for site in s.pair.sites
        if site.bare == 2
    )
