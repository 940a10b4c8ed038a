"""Hand-laid boards for the bench that the sample board does not cover."""

from __future__ import annotations

from dataclasses import replace

import shapely
from shapely.geometry import Point

from modboard.layout.board import Board, Track
from tests.sample import sample_board

MOAT, STRAIT = (1.7, 2.4), 0.5  # mm: a moat's inner and outer radius, the width of the one way over it
ISLANDS = {"J2.2": (27.5, 10.0), "R1.2": (18.16, 18.0), "R2.2": (18.16, 21.5)}
TRACKED = "R2.2"  # a track of the net runs over this strait, within the pour


def straits_board() -> Board:
    """Return the sample board whose ground pour has three islands, a lead on each, that hang on a neck each."""
    made = sample_board()
    area = made.pours[0].area
    for x, y in ISLANDS.values():
        moat = Point(x, y).buffer(MOAT[1]).difference(Point(x, y).buffer(MOAT[0]))
        area = area.difference(moat.difference(shapely.box(x, y - STRAIT / 2, x + 3, y + STRAIT / 2)))
    x, y = ISLANDS[TRACKED]
    track = Track("GND", "bottom", ((x, y), (x + 4, y)), 0.25)
    return replace(made, pours=(replace(made.pours[0], area=area),), tracks=(*made.tracks, track))
