"""The exact check of a placement, against distances by hand."""

from __future__ import annotations

import pytest
import shapely
from shapely.geometry import Point

from modboard.layout.place.faults import outside_by


@pytest.mark.parametrize("deep", [0.005, 0.3])
def test_a_bulge_into_a_straight_side_is_outside(deep: float) -> None:
    """By hand: a disc whose rim reaches `deep` mm over the side of a square that otherwise lies well within."""
    post = Point(10.0, 5.0).buffer(2.0, quad_segs=64)
    area = shapely.box(0, 0, 20, 10).difference(post)
    yard = shapely.box(3.0, 2.0, 8.0 + deep, 8.0)
    assert outside_by(area, yard) == pytest.approx(deep, rel=1e-6)
    assert outside_by(area, shapely.box(3.0, 2.0, 8.0 - 1e-6, 8.0)) == 0.0
    assert outside_by(area, shapely.box(-deep, 2.0, 4.0, 8.0)) == pytest.approx(deep)
