"""Parts that overlap by a hair on the lattice fit beside it, judged by sums of their courtyards."""

from __future__ import annotations

from dataclasses import replace

import pytest
import shapely
from shapely.geometry import Polygon

from modboard import Design
from modboard.layout.place import place


@pytest.mark.parametrize("spare", [0.01, 0.05])
def test_parts_fit_off_the_lattice_where_the_sum_of_their_courtyards_fits(spare: float) -> None:
    """By hand: three courtyards one above the other, half a millimetre to each edge, and a hair to spare."""
    design = Design("stack", outline=(30.0, 20.0))
    for k in range(1, 4):
        design.part(f"R{k}", "resistor", "1k", footprint="resistor-axial-7.62")
    design.net("A", "R1.1 R2.1 R3.1")
    x0, y0, x1, y1 = Polygon(design.described().parts[0].footprint.courtyard).bounds
    size = (x1 - x0 + 2 * 0.5 + 0.3, 3 * (y1 - y0) + 2 * 0.5 + spare)
    description = replace(design.described(), outline=shapely.box(0.3, 0.2, 0.3 + size[0], 0.2 + size[1]))
    parts = place(description, 1, patient=True)
    yards = [Polygon(p.courtyard()) for p in parts]
    inner = description.outline.buffer(-0.5 + 1e-6, join_style="mitre")
    assert all(inner.covers(yard) for yard in yards)
    assert all(a.intersection(b).area < 1e-6 for k, a in enumerate(yards) for b in yards[:k])
