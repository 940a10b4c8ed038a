"""Contacts at the board's edge: half-holes that it cuts, and the fingers of a card edge on both sides."""

from __future__ import annotations

from functools import cache

import pytest
import shapely

from modboard import Design
from modboard.artwork.draw import draw
from modboard.artwork.model import Artwork
from modboard.check import check
from modboard.check.findings import Finding
from modboard.errors import DesignError
from modboard.fab.order_note import order_note
from modboard.geometry import Shape
from modboard.layout import layout
from modboard.layout.board import Board, PlacedPart
from modboard.library import footprint
from tests.check.build import findings


@cache
def module() -> tuple[Board, Artwork, tuple[Finding, ...]]:
    """A small module with half-holes on its left and a card edge below, nothing waived."""
    board = Design("module", outline=(30, 26))
    board.part("J1", "castellated-1x4", pins="V5 GND A B")
    board.part("P1", "card-edge-2x6")
    board.part("R1", "resistor", "10k", footprint="resistor-axial-7.62")
    board.net("GND", "J1.GND P1.A1 P1.B1", pour="bottom")
    board.net("V5", "J1.V5 P1.A6 P1.B6 R1.1", volts=5, amps=0.1)
    board.net("A", "J1.A P1.A3 R1.2")
    board.net("B", "J1.B P1.B4")
    board.no_connect("P1.A2 P1.A4 P1.A5 P1.B2 P1.B3 P1.B5")
    board.place("J1", edge="left")
    board.place("P1", edge="bottom")
    made = layout(board.described())
    artwork = draw(made)
    return made, artwork, check(made, artwork)


def test_nothing_need_be_waived():
    board, _, found = module()
    assert board.unrouted == ()
    assert [f for f in found if f.severity == "error"] == []


def test_the_edge_cuts_the_half_holes_through_their_middle():
    board, artwork, _ = module()
    holes = [d for d in artwork.drills if d.owner.reference == "J1"]
    assert len(holes) == 4 and all(d.plated for d in holes)
    assert all(shapely.Point(d.at).distance(board.outline.boundary) < 1e-6 for d in holes)
    tracks_end = [t for t in board.tracks if t.net in ("A", "B", "V5")]
    edge = Shape(board.outline.boundary, 0.0)
    assert all(t.shape.distance(edge) >= 0.5 - 1e-6 for t in tracks_end)  # easy tier: copper to edge


def test_fingers_stand_back_to_back():
    board, artwork, _ = module()
    fingers = {p.number: p for p in board.pads if p.reference == "P1"}
    for k in range(1, 7):
        front, back = fingers[f"A{k}"], fingers[f"B{k}"]
        assert (front.layers, back.layers) == (("top",), ("bottom",))
        assert front.at == back.at
    # ISA recommendation: 1.575 wide, 7.62 long, 2.54 apart
    assert (fingers["A1"].form.width, fingers["A1"].form.height) == (1.575, 7.62)
    assert artwork.layer("copper-bottom").features and len(fingers) == 12


@pytest.mark.parametrize("side", ["top", "bottom"])
def test_the_mask_is_open_from_the_fingers_to_the_edge(side):
    board, artwork, _ = module()
    openings = shapely.union_all([f.shape.polygon() for f in artwork.layer(f"mask-{side}").features])
    fingers = [p.shape.polygon() for p in board.pads if p.reference == "P1"]
    x0, _, x1, y1 = shapely.union_all(fingers).bounds
    assert openings.buffer(1e-6).covers(shapely.box(x0, board.outline.bounds[1], x1, y1))
    assert not any(s == "P1" for f in artwork.layer(f"paste-{side}").features for s in [f.owner.reference])


def test_no_track_passes_between_two_fingers():
    board, _, _ = module()
    (plug,) = (p for p in board.parts if p.part.reference == "P1")
    gaps = [shapely.Polygon(ring).buffer(-0.01) for ring in plug.between_fingers()]
    assert len(gaps) == 5
    assert not any(t.shape.polygon().intersects(g) for t in board.tracks for g in gaps)
    assert not any(v.shape.polygon().intersects(g) for v in board.vias for g in gaps)
    assert not any(shapely.Polygon(plug.window()).intersects(p.area) for p in board.pours)


def test_the_order_asks_for_both():
    _, artwork, found = module()
    note = order_note(artwork, found)
    assert "yes: 4 plated holes that the edge cuts in half" in note
    assert "chamfered 20 to 45 degrees" in note


def test_a_half_hole_off_the_edge_is_found():
    design = Design("off", outline=(30, 30))
    design.part("J1", "castellated-1x4")
    design.place("J1", at=(10, 0.04), turn=0)
    design.no_connect("J1.1 J1.2 J1.3 J1.4")
    for y, found in ((0.04, 0), (0.06, 4), (-0.06, 4)):
        part = design.described().parts[0]
        board = Board(design.described(), design.described().outline, (PlacedPart(part, (10.0, y), 0.0),), (), (), ())
        assert len(findings((board, draw(board)), "half-hole")) == found


def test_both_belong_on_an_edge():
    for kind, what in (("castellated-1x4", "half-holes"), ("card-edge-2x6", "contact fingers")):
        design = Design("loose", outline=(30, 30))
        design.part("J1", kind)
        with pytest.raises(DesignError, match=rf'part J1: its {what} belong on an edge .*place\("J1", edge="bottom"\)'):
            design.described()
    design = Design("home", outline=(30, 30), rules="home")
    design.part("J1", "castellated-1x4")
    design.place("J1", edge="left")
    with pytest.raises(DesignError, match='half-holes are plated, and rules "home" plate nothing'):
        design.described()


def test_one_side_or_two():
    assert footprint("card-edge-10").numbers() == tuple(str(k + 1) for k in range(10))
    both = footprint("card-edge-2x3")
    assert both.numbers() == ("A1", "A2", "A3", "B1", "B2", "B3")
    assert [land.opposite for land in both.lands] == [False] * 3 + [True] * 3
