"""Screws of parts: nothing of copper under their heads, washers and nuts, on either side."""

from __future__ import annotations

import pytest
import shapely

from modboard import Design
from modboard.artwork.draw import draw
from modboard.check import check
from modboard.geometry import circle
from modboard.layout import layout
from modboard.layout.board import PlacedPart
from modboard.layout.place.standing import Standing
from modboard.library import footprint
from tests.check.build import findings, net, scene, track

# ISO 7089: the washer of an M3 screw is 7.0 across; 0.5 more round it stays free (common practice)
UNDER_M3 = 8.0


@pytest.mark.parametrize("name", ["to220-flat", "mounting-hole-m3"])
def test_the_pattern_says_what_its_screw_covers(name):
    (hole,) = footprint(name).holes
    assert hole.clear == UNDER_M3
    assert hole.kept_off(0.4).radius == UNDER_M3 / 2
    assert hole.kept_off(9.0).radius == 9.0 + hole.diameter / 2  # a rule set may ask for more


def test_pours_and_tracks_keep_out_from_under_the_screw():
    design = Design("flat", outline=(46, 40))
    design.part("U1", "7805", footprint="to220-flat")
    design.part("J1", "wire-pads-1x2", pins="RAW V5")
    design.part("J2", "wire-pads-1x2", pins="GND V5")
    design.net("GND", "U1.GND J2.GND", pour="both")
    design.net("RAW", "U1.IN J1.RAW", volts=9, amps=0.2)
    design.net("V5", "U1.OUT J1.V5 J2.V5", volts=5, amps=0.2)
    design.place("U1", at=(20, 8), turn=0)
    design.place("J1", at=(4, 34))
    design.place("J2", at=(40, 34))
    board = layout(design.described())
    covered = circle((22.54, 25.5), UNDER_M3)
    assert board.tracks and {p.layer for p in board.pours} == {"top", "bottom"}
    assert all(shapely.distance(p.area, covered.core) >= covered.radius for p in board.pours)
    assert all(t.shape.distance(covered) >= 0 for t in board.tracks)
    assert [f for f in check(board, draw(board)) if f.severity == "error"] == []


@pytest.mark.parametrize(("short", "count"), [(0.001, 0), (-0.001, 1)])
def test_copper_under_the_screw_of_a_part_is_found(short, count):
    design = Design("screwed", outline=(40, 40))
    design.part("U1", "7805", footprint="to220-flat")
    (placed,) = (PlacedPart(p, (17.46, 2.5), 0.0) for p in design.described().parts)  # screw at (20, 20)
    reach = UNDER_M3 / 2 + 0.15 + short  # from the screw to the middle of a track 0.3 wide
    made = scene(parts=[placed], nets=[net("N")], top=[track("N", (20 + reach, 10), (20 + reach, 30))])
    found = findings(made, "keep-out")
    assert len(found) == count and all("the screw of U1" in f.where for f in found)


def test_other_parts_keep_their_leads_and_lands_out_from_under_the_screw():
    """Those on its own side by its courtyard, those on the other by what reaches through: a box of 8 mm about it."""
    design = Design("flat", outline=(40, 40))
    design.part("U1", "7805", footprint="to220-flat")
    (part,) = design.described().parts
    assert shapely.Polygon(part.footprint.courtyard).covers(circle((2.54, 17.5), UNDER_M3).polygon())
    boxes = Standing(part, 0.0, "top").through  # about the origin of the part
    assert (-1.46, 13.5, 6.54, 21.5) in [tuple(round(v, 6) for v in box) for box in boxes]
