"""Boards without plated holes: a lead has a land where an iron gets to it, and on the other side goes through bare.

Home etching limits, common practice: component pins are soldered on the side where they are reachable.
"""

from __future__ import annotations

from dataclasses import replace

import networkx as nx
import pytest
import shapely

from modboard import Design, Rules
from modboard.artwork.draw import draw
from modboard.check import check
from modboard.describe.model import Description, DrawnTrack
from modboard.describe.one_sided import two_sided
from modboard.layout import layout
from modboard.layout.board import COPPER_LAYERS, Board, Pad, PlacedPart, Track
from modboard.layout.place.drawn import Drawn
from modboard.layout.pour import Copper, poured
from modboard.layout.route.clearance import Neighbours
from modboard.layout.route.kernels import BARRED, FREE
from modboard.layout.route.problem import Problem
from tests.sample import SITE

MICROMETRE = 1e-3


def chip_and_resistor(rules: str | Rules = "home", pour: str | None = None, gap: float | None = None) -> Description:
    """Return a DIP-8 and a resistor from its pin 1, on a board with room round both; `gap` for the net of pin 3."""
    design = Design("leads", outline=(40.0, 30.0), rules=rules)
    design.part("U1", "dip-8", pins="A B C D E F G H")
    design.part("R1", "resistor", "1k", footprint="resistor-axial-7.62")
    design.net("A", "U1.A R1.1")
    design.net("GND", "U1.H R1.2", pour=pour)
    design.net("HIGH", "U1.C U1.D", gap=gap)
    return design.described()


def put(description: Description) -> tuple[PlacedPart, ...]:
    """Return the chip at (10, 20) and the resistor well to the right of it."""
    chip, resistor = description.parts
    return PlacedPart(chip, (10.0, 20.0), 0.0), PlacedPart(resistor, (25.0, 10.0), 0.0)


def pads(description: Description) -> dict[str, Pad]:
    nets = description.net_of()
    return {f"{p.reference}.{p.number}": p for placed in put(description) for p in placed.pads(nets)}


@pytest.mark.parametrize(
    ("rules", "chip", "resistor"),
    [("pool", COPPER_LAYERS, COPPER_LAYERS), ("home", ("bottom",), COPPER_LAYERS),
     (Rules.named("home", one_sided=True), ("bottom",), ("bottom",))],
)  # fmt: skip
def test_lands_are_where_an_iron_gets_to(rules: str | Rules, chip: tuple[str, ...], resistor: tuple[str, ...]) -> None:
    found = pads(chip_and_resistor(rules))
    assert found["U1.1"].layers == chip and found["R1.1"].layers == resistor


def test_what_hangs_from_the_underside_is_soldered_on_top() -> None:
    design = Design("plug", outline=(30.0, 30.0), rules="home")
    design.part("P1", "host-plug-8", pins="A B C D E F G H")
    design.net("A", "P1.A P1.B")
    (plug,) = design.described().parts
    assert {pad.layers for pad in PlacedPart(plug, (5.0, 20.0), 0.0).pads({})} == {("top",)}


@pytest.mark.parametrize(("name", "plated"), [("pool", True), ("home", False)])
def test_with_copper_on_both_sides_again_lands_are_as_the_rules_have_them(name: str, plated: bool) -> None:
    one = chip_and_resistor(Rules.named(name, one_sided=True))
    both = two_sided(one)
    assert both.rules.layers_plated is plated
    assert [p.footprint.lands for p in both.parts] == [p.footprint.lands for p in chip_and_resistor(name).parts]


@pytest.mark.parametrize(("gap", "passes"), [(None, True), (0.59, True), (0.6, False)])
def test_a_track_passes_between_bare_leads_where_their_lands_would_bar_it(gap: float | None, passes: bool) -> None:
    # Holes 0.95, 2.54 apart: (2.54 - 0.95 - 0.40) / 2 = 0.595 to each side, 0.5 asked; lands of 2.0 leave 0.54 in all.
    description = chip_and_resistor(gap=gap)
    problem = Problem(description, put(description), 0.127)
    first, second = pads(description)["U1.3"], pads(description)["U1.4"]
    middle = ((first.at[0] + second.at[0]) / 2, (first.at[1] + second.at[1]) / 2)
    node = problem.lattice.nearest(middle)
    track = problem.pens.of_net[problem.number_of["A"]][0]
    assert problem.maps.own[track, node] == (FREE if passes else BARRED)
    assert problem.maps.own[track, node + problem.lattice.nodes] == problem.number_of["HIGH"]


@pytest.mark.parametrize(("gap", "apart"), [(None, 0.5), (0.8, 0.8)])  # as for any hole; as the volts of the net ask
@pytest.mark.parametrize(("more", "free"), [(MICROMETRE, True), (-MICROMETRE, False)])
def test_tidied_tracks_keep_off_bare_leads(gap: float | None, apart: float, more: float, free: bool) -> None:
    description = chip_and_resistor(gap=gap)
    pad = pads(description)["U1.3"]
    assert pad.hole
    away = pad.hole.diameter / 2 + apart + 0.2 + more  # track 0.4
    neighbours = Neighbours(description, put(description), [], ())
    x, y = pad.at[0] - away, pad.at[1]
    assert neighbours.free("A", "top", [(x, y - 1.0), (x, y + 1.0)], 0.4) is free
    assert not neighbours.free("A", "bottom", [(x, y - 1.0), (x, y + 1.0)], 0.4)


@pytest.mark.parametrize(("more", "free"), [(MICROMETRE, True), (-MICROMETRE, False)])
def test_quiet_tracks_keep_far_off_bare_leads_of_noisy_nets(more: float, free: bool) -> None:
    # Three track widths, common practice against crosstalk: 1.2 from the hole of the lead, as from any of its copper.
    design = Design("leads", outline=(40.0, 30.0), rules="home")
    design.part("U1", "dip-8", pins="A B C D E F G H")
    design.part("R1", "resistor", "1k", footprint="resistor-axial-7.62")
    design.net("A", "R1.1 R1.2", quiet=True)
    design.net("N", "U1.C U1.D", noisy=True)
    description = design.described()
    pad = pads(description)["U1.3"]
    assert pad.hole and description.rules.quiet_gap == 1.2
    x = pad.at[0] - pad.hole.diameter / 2 - 1.2 - 0.2 - more
    neighbours = Neighbours(description, put(description), [], ())
    assert neighbours.free("A", "top", [(x, pad.at[1] - 1.0), (x, pad.at[1] + 1.0)], 0.4) is free
    problem = Problem(description, put(description), 0.127)
    track = problem.pens.of_net[problem.number_of["A"]][0]
    near = problem.lattice.nearest((pad.at[0] - pad.hole.diameter / 2 - 1.0, pad.at[1]))
    assert problem.maps.own[track, near] == BARRED


@pytest.mark.parametrize(("gap", "apart"), [(None, 0.5), (0.8, 0.8)])
@pytest.mark.parametrize(("more", "kept"), [(MICROMETRE, True), (-MICROMETRE, False)])
def test_parts_keep_their_bare_leads_off_drawn_tracks(gap: float | None, apart: float, more: float, kept: bool) -> None:
    description = chip_and_resistor(gap=gap)
    pad = pads(description)["U1.3"]
    assert pad.hole
    x = pad.at[0] - pad.hole.diameter / 2 - apart - 0.2 - more
    drawn = DrawnTrack("A", "top", ((x, pad.at[1] - 1.0), (x, pad.at[1] + 1.0)), 0.4, SITE)
    chip = put(description)[0]
    assert (not list(Drawn(replace(description, drawn_tracks=(drawn,))).faults(chip))) is kept


def test_a_pour_on_top_flows_round_bare_leads_and_joins_none_of_them() -> None:
    description = chip_and_resistor(pour="top")
    parts = put(description)
    there = tuple(pads(description).values())
    (pour,) = poured(Copper(description, parts, there, (), ()))
    for pad in there:
        assert pad.hole
        gap = pour.area.distance(shapely.Point(pad.at)) - pad.hole.diameter / 2
        if pad.reference == "U1":
            assert gap >= description.rules.bare_hole_to_copper
        elif pad.net == "GND":
            assert gap < description.rules.bare_hole_to_copper and pad.shape.polygon().intersects(pour.area)


def test_what_is_laid_out_needs_no_solder_under_a_chip() -> None:
    """Every net is one piece through lands that are there, wire links and reachable leads: networkx and shapely."""
    design = Design("cross", outline=(40.0, 32.0), rules="home")
    design.part("U1", "dip-8", pins="A B C D E F G H")
    design.part("U2", "dip-8", pins="A B C D E F G H")
    for one, other in zip("ABCDEFGH", "DCBAHGFE", strict=True):
        design.net(f"N{one}", f"U1.{one} U2.{other}")
    board = layout(design.described())
    assert board.unrouted == () and not [f for f in check(board, draw(board)) if f.severity == "error"]
    for net in board.description.nets:
        assert _pieces(board, net.name) == 1, net.name


def _pieces(board: Board, net: str) -> int:
    """Count the pieces that hold a net's leads."""
    copper = [(t.layer, t.shape.polygon()) for t in board.tracks if t.net == net]
    graph: nx.Graph[int] = nx.Graph()
    for pad in (p for p in board.pads if p.net == net):
        ends = range(len(copper), len(copper) + len(pad.layers))
        copper += [(layer, pad.shape.polygon()) for layer in pad.layers]
        nx.add_path(graph, ends)
        graph.add_nodes_from(ends)
    for via in (v for v in board.vias if v.net == net):
        nx.add_path(graph, (len(copper), len(copper) + 1))
        copper += [(layer, via.shape.polygon()) for layer in COPPER_LAYERS]
    graph.add_nodes_from(range(len(copper)))
    pairs = [(i, j) for i in range(len(copper)) for j in range(i) if copper[i][0] == copper[j][0]]
    graph.add_edges_from((i, j) for i, j in pairs if copper[i][1].intersects(copper[j][1]))
    return nx.number_connected_components(graph)


def test_the_check_finds_top_copper_at_a_bare_lead() -> None:
    description = chip_and_resistor()
    pad = pads(description)["U1.3"]
    assert pad.hole

    def found(more: float) -> list[str]:
        x = pad.at[0] - pad.hole.diameter / 2 - description.rules.bare_hole_to_copper - 0.2 - more  # type: ignore[union-attr]
        track = Track("A", "top", ((x, pad.at[1] - 1.0), (x, pad.at[1] + 1.0)), 0.4)
        board = Board(description, description.outline, put(description), (track,), (), (), ())
        findings = check(board, draw(board))
        return [f.rule for f in findings if f.rule in ("bare-hole-to-copper", "annular-ring", "copper-gap")]

    assert found(MICROMETRE) == []
    assert found(-MICROMETRE) == ["bare-hole-to-copper"]
