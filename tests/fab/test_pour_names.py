"""A pour's name belongs to its copper, not to what lies in its holes."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import shapely

from modboard.artwork.draw import draw
from modboard.describe.model import Net, Part
from modboard.fab.package import write
from modboard.fab.readback.connectivity import nets_from_files
from modboard.layout.board import PlacedPart
from modboard.layout.route.router import route
from tests import sample


def test_a_land_in_the_middle_of_a_pour_keeps_its_own_net(tmp_path: Path) -> None:
    # The pad stands at the very point that stands for the pour's whole outline (shapely's point_on_surface).
    middle = PlacedPart(Part("R1", "test", None, "", sample.axial(), sample.SITE), (15.0, 12.5), 0.0)
    edge = PlacedPart(Part("J1", "test", None, "", sample.header(4), sample.SITE), (4.0, 4.0), 0.0)
    nets = (
        Net("GND", tuple(("J1", str(k)) for k in range(1, 5)), sample.SITE, 0.25, 0.25, pour="bottom"),
        Net("A", (("R1", "1"), ("R1", "2")), sample.SITE, 0.25, 0.25),
    )
    description = replace(
        sample.sample_board().description,
        parts=(middle.part, edge.part),
        nets=nets,
        unconnected=(),
        outline=shapely.box(0, 0, 30, 25),
        holes=(),
        cavity=None,
    )
    artwork = draw(route(description, (middle, edge)).board)
    write(artwork, (), tmp_path / "fab")
    assert {frozenset(pins) for pins in nets_from_files(tmp_path / "fab")} == {frozenset(net.pins) for net in nets}
