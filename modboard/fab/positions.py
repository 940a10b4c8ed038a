"""Placement positions: where the middle of each part's body goes, as CSV for whoever places the parts."""

from __future__ import annotations

import shapely

from modboard.artwork.drawings import is_assembled
from modboard.artwork.model import Artwork
from modboard.fab.attributes import decimal, value_of
from modboard.fab.parts_list import csv_text, natural
from modboard.geometry import Position
from modboard.layout.board import PlacedPart

COLUMNS = ("reference", "value", "footprint", "x", "y", "turn", "side")


def positions(artwork: Artwork) -> str:
    """Return the fitted parts, x and y (mm) of the body's middle in the frame of the Gerber files, turn in degrees.

    The turn is counter-clockwise as seen from the top of the board, 0 as the footprint is drawn; a part on the bottom
    is flipped left to right before it is turned.
    """
    rows = [
        [
            placed.part.reference,
            value_of(placed.part),
            placed.part.footprint.name,
            *(f"{v + 0.0:.3f}" for v in body_centre(placed)),
            decimal(round(placed.turn % 360, 3)),
            placed.side,
        ]
        for placed in artwork.board.parts
        if is_assembled(placed)
    ]
    return csv_text(COLUMNS, sorted(rows, key=lambda row: natural(row[0])))


def body_centre(placed: PlacedPart) -> Position:
    """Return the middle of the box round the part's bodies, or round its lands if it has no body."""
    footprint = placed.part.footprint
    points = [p for body in footprint.bodies for p in body.outline] or [land.at for land in footprint.lands]
    x0, y0, x1, y1 = shapely.MultiPoint(points).bounds
    return placed.to_board(((x0 + x1) / 2, (y0 + y1) / 2))
