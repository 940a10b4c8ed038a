"""Where the router ran out of room: squares by how crowded they were, and every connection that stayed open."""

from __future__ import annotations

import numpy as np
import shapely

from modboard.artwork.model import Artwork
from modboard.layout.joined import Item, layers_of, shape_of
from modboard.view import colours
from modboard.view.board import draw_holes
from modboard.view.frame import Margins, notes, start

FAINTEST, STRONGEST = 0.12, 0.75  # opacity of the least and the most crowded square
SEEN_THROUGH = 0.4  # opacity of copper


def crowding_view(artwork: Artwork) -> str:
    """Return an SVG sheet of a board with open connections: both sides' copper, crowding, and the missing lines."""
    board = artwork.board
    sheet, project = start(board, "Where it was crowded", board.outline.bounds, Margins(14.0, 14.0, 14.0, 14.0))
    group = sheet.group(transform=project.matrix())
    sheet.area(board.outline, fill=colours.LAMINATE, into=group)
    through = sheet.group(transform=project.matrix(), opacity=SEEN_THROUGH)
    for layer, colour in (("bottom", colours.BOTTOM_COPPER), ("top", colours.TOP_COPPER)):  # pours would hide it all
        laid: list[Item] = [*board.pads, *board.tracks]
        for item in laid:
            if layer in layers_of(item):
                sheet.area(shape_of(item).polygon(), fill=colour, into=through)
    if board.crowded is not None:
        penalty, pitch = np.asarray(board.crowded.penalty, dtype=float), board.crowded.pitch
        left, low = board.crowded.origin
        for row, column in np.argwhere(penalty > 0):
            x, y = left + column * pitch, low + row * pitch
            square = shapely.box(x, y, x + pitch, y + pitch).intersection(board.outline)
            if square.area > 0:
                strength = FAINTEST + (STRONGEST - FAINTEST) * float(penalty[row, column])
                sheet.area(square, fill=colours.FINDING, into=group, fill_opacity=round(strength, 3))
    over = sheet.group(transform=project.matrix())
    draw_holes(sheet, project, artwork, over)
    sheet.area(board.outline, colour=colours.INK, weight=colours.THICK / project.scale, into=over)
    lines = []
    at = {(pad.reference, pad.number): pad.at for pad in reversed(board.pads)}
    for number, gap in enumerate(board.unrouted, 1):
        a, b = project(at[gap.start]), project(at[gap.end])
        sheet.line([a, b], colour=colours.PAPER, weight=3 * colours.THICK)
        sheet.line([a, b], colour=colours.INK, weight=1.2 * colours.THICK, dashes="2 1.2")
        middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
        sheet.text(str(number), middle, colours.TITLE_LETTERS, align="centre", halo=True)
        lines.append(f"{number} {gap.net}: {gap.start[0]} pin {gap.start[1]} to {gap.end[0]} pin {gap.end[1]} is open")
    notes(sheet, lines or ["Every connection was made."])
    return sheet.svg()
