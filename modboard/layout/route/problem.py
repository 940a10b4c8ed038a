"""A routing problem: what is fixed on the board, and where each pad can be met on the lattice."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray

from modboard.describe.model import Description, Net
from modboard.geometry import Position, Shape
from modboard.layout.board import COPPER_LAYERS, CopperLayer, Pad, PlacedPart, Track, Via
from modboard.layout.pour import Copper, pour_layers, scarce_spokes
from modboard.layout.quiet import kinds, neighbourhoods
from modboard.layout.route.grid import Lattice, Maps, Obstacle, lattice_over
from modboard.layout.route.kernels import FREE, NECK, SHY
from modboard.layout.route.links import LATTICES, bar_bodies, ways
from modboard.layout.route.pens import PenSet, pens_for

NECK_ZONE = 2.5  # mm from a pad's centre within which a wide track may neck down
LANDING = 0.51  # cells from the middle line of a drawn track within which a branch may begin: always some node
RIM = 0.15  # mm round a pad within which no branch may leave a track
SPOKE_LANDS = 1.25  # times a spoke's width beyond the relief that its end reaches
SPOKE_PRICE = 0.3  # of a track's length more where it may be in the way of spokes
SCARCE_PRICE = 3.0  # of those of a pad that has no others to lose
MARK_TO_HOLE = 0.11  # mm from the ink of a mark to the wall of a via, so that no mark need be broken, common practice


def drawn_copper(description: Description) -> tuple[tuple[Track, ...], tuple[Via, ...]]:
    """Return the tracks and vias that the design draws itself."""
    rules = description.rules
    tracks = tuple(Track(t.net, t.side, t.points, t.width) for t in description.drawn_tracks)
    return tracks, tuple(Via(v.net, v.at, rules.via_land, rules.via_hole) for v in description.drawn_vias)


@dataclass(frozen=True)
class Problem:
    """Fixed copper and terminals of a placed board; `tracks` and `vias` are copper already there."""

    description: Description
    parts: tuple[PlacedPart, ...]
    pitch: float
    tracks: tuple[Track, ...] = ()
    vias: tuple[Via, ...] = ()
    seed: int = 0  # of a one-sided board: where its links may end

    @cached_property
    def ways(self) -> tuple[NDArray[np.uint16], ...] | None:
        """The ways that lead on from each node, several to take in turn; None for all."""
        if not self.description.rules.one_sided:
            return None
        return tuple(ways(self.lattice, LATTICES * self.seed + k) for k in range(LATTICES))

    @cached_property
    def nets(self) -> tuple[Net, ...]:
        """The nets, whose position here is the net number on the lattice."""
        return self.description.nets

    @cached_property
    def number_of(self) -> dict[str, int]:
        """Net number by name."""
        return {net.name: k for k, net in enumerate(self.nets)}

    @cached_property
    def pads(self) -> tuple[Pad, ...]:
        """Every land on the board."""
        nets = self.description.net_of()
        return tuple(pad for placed in self.parts for pad in placed.pads(nets))

    @cached_property
    def pads_of(self) -> dict[str, tuple[Pad, ...]]:
        """Lands by net name, in order."""
        found: dict[str, list[Pad]] = {net.name: [] for net in self.nets}
        for pad in self.pads:
            if pad.net is not None:
                found[pad.net].append(pad)
        return {name: tuple(pads) for name, pads in found.items()}

    @cached_property
    def lattice(self) -> Lattice:
        """The lattice over the board."""
        return lattice_over(self.description.outline, self.pads, self.pitch)

    @cached_property
    def pens(self) -> PenSet:
        """The pens the nets need."""
        return pens_for(self.nets, self.description.rules)

    @cached_property
    def maps(self) -> Maps:
        """The maps of everything fixed."""
        rules, outline = self.description.rules, self.description.outline
        maps = Maps(self.lattice, self.pens, rules)
        maps.bar_outside(outline, rules.copper_to_edge)
        fixed: list[tuple[Pad | Track | Via, tuple[CopperLayer, ...]]] = [(p, p.layers) for p in self.pads]
        fixed += [(t, (t.layer,)) for t in self.tracks]
        fixed += [(v, COPPER_LAYERS) for v in self.vias]
        kind, least = kinds(self.description), rules.bare_hole_to_copper
        maps.bar_obstacles(
            [Obstacle(f.shape, self._number(f.net), at, self._gap(f.net), kind.get(f.net or "", "")) for f, at in fixed]
        )
        maps.bar_obstacles(
            [
                Obstacle(lead.shape(), None, (layer,), max(self._gap(p.net), least), kind.get(p.net or "", ""))
                for p in self.pads
                for layer in COPPER_LAYERS
                if (lead := p.bare(layer, rules))
            ]
        )
        for name, area in neighbourhoods(self.description, self.pads).items():
            maps.bar_pen(self.pens.of_net[self.number_of[name]][0], area)
        holes = [(p.hole.shape(), p.hole.plated) for p in self.pads if p.hole]
        bare = [placed.hole(h) for placed in self.parts for h in placed.part.footprint.holes]
        holes += [(hole.shape(), False) for hole in bare]
        holes += [(Via("", v.at, v.hole, v.hole).shape, True) for v in self.vias]
        maps.bar_holes(holes)
        for area in self.description.keep_outs:
            maps.bar_keep_out(area)
        if rules.one_sided:
            bar_bodies(maps, self.description, self.parts)
        bared = [Shape(shapely.Polygon(gap), 0.0) for placed in self.parts for gap in placed.between_fingers()]
        maps.bar_obstacles([Obstacle(shape, None, COPPER_LAYERS, 0.0) for shape in bared])
        for screwed in bare:
            if screwed.clear:
                maps.bar_area(screwed.at, screwed.clear)
        for hole in self.description.holes:
            maps.bar_area(hole.at, max(hole.keep_out, hole.diameter + 2 * rules.bare_hole_to_copper))
        maps.bar_vias_near([p for p in self.pads if not p.hole])
        if rules.mask and rules.legend:
            for mark in (shapely.LineString(p.points(line)) for p in self.parts for line in p.part.footprint.mark):
                maps.bar_shape(Shape(mark, rules.legend_line / 2), None, rules.via_hole / 2 + MARK_TO_HOLE)
        return maps

    def terminal(self, pad: Pad) -> NDArray[np.int64]:
        """Return the nodes at which a track may end on a pad: the one nearest its centre, on each of its layers."""
        node = self.lattice.nearest(pad.at)
        halves = [COPPER_LAYERS.index(layer) for layer in pad.layers]
        return np.array([node + half * self.lattice.nodes for half in halves], np.int64)

    def centres(self, net: str) -> dict[int, Position]:
        """Return the exact centre of the pad or via of each terminal node of a net."""
        found = {int(node): pad.at for pad in self.pads_of[net] for node in self.terminal(pad)}
        for via in self.vias:
            if via.net == net:
                node = self.lattice.nearest(via.at)
                found |= {node: via.at, node + self.lattice.nodes: via.at}
        return found

    @cached_property
    def drawn(self) -> tuple[Track, ...]:
        """The tracks of `tracks` that the design draws itself: others may branch off anywhere along them."""
        drawn, _ = drawn_copper(self.description)
        return tuple(t for t in self.tracks if t in drawn)

    def landings(self, tracks: Iterable[Track]) -> dict[int, Position]:
        """Return the nodes along drawn tracks, each with the point of the track's middle line nearest to it."""
        found: dict[int, Position] = {}
        for track in tracks:
            if track not in self.drawn:
                continue
            half = COPPER_LAYERS.index(track.layer) * self.lattice.nodes
            core = track.shape.core
            for node in self.lattice.inside(core.buffer(LANDING * self.pitch)).tolist():
                place = core.interpolate(core.project(shapely.Point(self.lattice.position(node))))
                found[node + half] = (round(place.x, 6), round(place.y, 6))
        return found

    def pad_at(self) -> NDArray[np.int32]:
        """Return, per top-layer node, the net whose through pad joins the layers there, else -1."""
        found = np.full(self.lattice.nodes, -1, np.int32)
        for pad in self.pads:
            if pad.net is not None and len(pad.layers) > 1:
                found[self.lattice.nearest(pad.at)] = self.number_of[pad.net]
        for via in () if self.description.rules.one_sided else self.vias:
            found[self.lattice.nearest(via.at)] = self.number_of[via.net]
        return found

    def dear(self) -> NDArray[np.float32]:
        """Return, per node, by how much a track there costs more (0: not): where the spokes of poured nets' pads go."""
        rules, n = self.description.rules, self.lattice.nodes
        found = np.zeros(2 * n, np.float32)
        reach = rules.thermal_gap + SPOKE_LANDS * rules.thermal_spoke + rules.pour_gap + rules.track / 2
        for net in self.nets:
            for half, layer in enumerate(COPPER_LAYERS):
                for pad in self.pads_of[net.name] if layer in pour_layers(net) else ():
                    if layer in pad.layers:
                        found[self.lattice.inside(pad.shape.grown(reach).polygon(4)) + half * n] = SPOKE_PRICE
        bare = Copper(self.description, self.parts, self.pads, (), ())
        for layer, spoke in scarce_spokes(bare):
            place = self.lattice.inside(spoke.buffer(rules.pour_gap + rules.track / 2, quad_segs=4))
            found[place + COPPER_LAYERS.index(layer) * n] = SCARCE_PRICE
        return found

    def zone(self, net: Net) -> NDArray[np.uint8]:
        """Return, per node, what the neighbourhood of a net's own pads allows.

        NECK: a wide track may neck down, round pads that are narrower than the track or so near to others that a
        track of full width cannot reach their middle.  SHY: no branch may begin there, so that tracks leave a pad
        from its middle and not from a track that happens to cross its rim.
        """
        index = self.number_of[net.name]
        track, neck, _ = self.pens.of_net[index]
        zone = np.zeros(2 * self.lattice.nodes, np.uint8)
        if self.description.rules.one_sided:
            zone[: self.lattice.nodes] |= SHY  # nothing branches off a wire
        own = self.maps.own
        for pad in self.pads_of[net.name]:
            ends = self.terminal(pad)
            rim = self.lattice.inside(pad.shape.grown(RIM).polygon(4))
            tight = any(own[track, v] not in (FREE, index) for v in ends)
            narrow = track != neck and (pad.form.short_side() < net.track_width or tight)
            disc = self.lattice.inside(shapely.Point(pad.at).buffer(NECK_ZONE)) if narrow else rim[:0]
            for half in (0, self.lattice.nodes):
                zone[disc + half] |= NECK
                zone[rim + half] |= SHY
        return zone

    def _number(self, net: str | None) -> int | None:
        return None if net is None else self.number_of[net]

    def _gap(self, net: str | None) -> float:
        gap = self.description.rules.gap
        return gap if net is None else max(gap, self.nets[self.number_of[net]].gap)
