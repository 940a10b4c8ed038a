"""Parts laid down under a low lid: size and place by hand from makers' limits and the bend of IPC-A-610."""

from __future__ import annotations

import pytest
import shapely

from modboard.library import footprint


def test_electrolytic_lies_behind_its_holes() -> None:
    """A can of 8 × 11.5 is 8.5 × 13 at most.  Leads of 0.6: straight 0.8, radius 0.6 and half a lead, 1.7 behind."""
    lying, standing = footprint("electrolytic-8x11.5-3.5-lying"), footprint("electrolytic-8x11.5-3.5")
    can = lying.bodies[0]
    assert shapely.Polygon(can.outline).bounds == pytest.approx((1.75 - 4.25, 1.7, 1.75 + 4.25, 14.7))
    assert lying.height == pytest.approx(8.5) and standing.height == pytest.approx(13.0)
    assert [land.at for land in lying.lands] == [land.at for land in standing.lands]
    assert "IPC-A-610" in lying.bend_note and "lying" in lying.title


def test_notes_of_the_size_and_of_lying_add_up() -> None:
    note = footprint("electrolytic-5x11-2.5-lying").bend_note
    assert note.startswith("leads come 2.0 apart") and "behind the can" in note


def test_small_transistor_lies_on_its_back() -> None:
    """TO-226AA is 4.83 wide, 4.78 long and 4.2 deep at most; leads of 0.56: 0.8, 0.56 and half a lead are 1.64."""
    lying = footprint("to92-lying")
    x0, y0, x1, y1 = shapely.Polygon(lying.bodies[0].outline).bounds
    assert (x1 - x0, y1 - y0, lying.height) == pytest.approx((4.83, 4.78, 4.2))
    assert y0 >= 0.8 + 0.56 + 0.28 and (x0 + x1) / 2 == pytest.approx(2.54)
    assert [land.at for land in lying.lands] == [land.at for land in footprint("to92").lands]
