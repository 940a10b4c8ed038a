"""The board as it will look: copper seen through the mask, legend, holes; from the top or from below."""

from __future__ import annotations

import math
from typing import Any

import shapely

from modboard.artwork.model import Artwork, LayerName
from modboard.check.findings import Finding, Findings
from modboard.geometry import Position
from modboard.layout.board import CopperLayer
from modboard.view import colours, dimensions
from modboard.view.frame import Margins, notes, start
from modboard.view.sheet import CHORDS, Projection, Sheet, tidy

RING = 5.0  # mm on the sheet, diameter of the ring round a finding
COPPER_COLOUR = {"top": colours.TOP_COPPER, "bottom": colours.BOTTOM_COPPER}
VIEW_NAME = {"top": "Top side", "bottom": "Bottom side, seen from below"}


def board_view(artwork: Artwork, side: CopperLayer, findings: Findings = ()) -> str:
    """Return an SVG sheet of one side, to scale and dimensioned; the bottom is mirrored, as one sees it in the hand.

    `findings` with a place are ringed and numbered; the numbers are explained in the notes.
    """
    board = artwork.board
    sheet, project = start(
        board, VIEW_NAME[side], board.outline.bounds, Margins(24.0, 24.0, 14.0, 18.0), mirrored=side == "bottom"
    )
    _draw_side(sheet, project, artwork, side)
    _dimension_board(sheet, project, artwork)
    ring_findings(sheet, project, findings)
    if findings:
        notes(sheet, [finding_line(k + 1, f) for k, f in enumerate(findings)], colours.FINDING)
    else:
        notes(sheet, [_copper_note(artwork, side)])
    return sheet.svg()


def _copper_note(artwork: Artwork, side: CopperLayer) -> str:
    shown = "Copper shown through the solder mask" if artwork.board.description.rules.mask else "Bare copper"
    return f"{shown}; lands, tracks and pours of the {side} side."


def _draw_side(sheet: Sheet, project: Projection, artwork: Artwork, side: CopperLayer) -> None:
    """Draw laminate, copper, mask, legend and holes in board coordinates."""
    board = artwork.board
    group = sheet.group(transform=project.matrix())
    sheet.area(board.outline, fill=colours.LAMINATE, into=group)
    copper: LayerName = "copper-top" if side == "top" else "copper-bottom"
    for feature in artwork.features(copper):
        sheet.feature(feature, COPPER_COLOUR[side], group)
    if board.description.rules.mask:
        mask = board.outline.difference(_openings(artwork, side))
        sheet.area(mask, fill=colours.MASK, into=group, fill_opacity=colours.MASK_OPACITY)
    legend: LayerName = "legend-top" if side == "top" else "legend-bottom"
    for feature in artwork.features(legend):
        sheet.feature(feature, colours.LEGEND_ON_BOARD, group)
    draw_holes(sheet, project, artwork, group)
    sheet.area(board.outline, colour=colours.INK, weight=colours.THICK / project.scale, into=group)


def _openings(artwork: Artwork, side: CopperLayer) -> Any:
    name: LayerName = "mask-top" if side == "top" else "mask-bottom"
    return shapely.union_all([f.shape.polygon(CHORDS) for f in artwork.features(name)])


def draw_holes(sheet: Sheet, project: Projection, artwork: Artwork, group: Any) -> None:
    """Draw every hole and slot white with a dark rim."""
    rim = 0.2 / project.scale
    for drill in artwork.drills:
        if drill.to:
            sheet.area(drill.shape.polygon(), fill=colours.HOLE, colour=colours.HOLE_RIM, weight=rim, into=group)
        else:
            sheet.circle(drill.at, drill.diameter, colours.HOLE, colours.HOLE_RIM, rim, into=group)


def _dimension_board(sheet: Sheet, project: Projection, artwork: Artwork) -> None:
    """Dimension width and height, and name the mounting holes."""
    x0, y0, x1, y1 = artwork.board.outline.bounds
    dimensions.horizontal(sheet, project((x0, y0)), project((x1, y0)), project((x0, y0))[1] + 9.0, x1 - x0)
    left = x1 if project.mirrored else x0
    dimensions.vertical(sheet, project((left, y0)), project((left, y1)), project((left, y0))[0] - 9.0, y1 - y0)


def ring_findings(sheet: Sheet, project: Projection, findings: Findings) -> None:
    """Ring each finding that has a place, its number beside the ring."""
    # Numbers keep clear of all rings and of each other.
    taken: list[Position] = [project(f.at) for f in findings if f.at is not None]
    for number, finding in enumerate(findings, start=1):
        if finding.at is None:
            continue
        x, y = project(finding.at)
        group = sheet.group(**{"data-finding": str(number)})
        colour = colours.FINDING
        sheet.circle((x, y), RING, colour=colours.PAPER, weight=3 * colours.THICK, into=group)
        sheet.circle((x, y), RING, colour=colour, weight=1.5 * colours.THICK, into=group)
        ways = ((1, -1), (-1, -1), (1, 1), (-1, 1), (1.4, 0), (-1.4, 0), (0, -1.4), (0, 1.4))
        spots = [(x + dx * RING * 0.9, y + dy * RING * 0.9) for dx, dy in ways]
        spot = max(spots, key=lambda s: min(4.5, *(math.dist(s, t) for t in taken)))
        taken.append(spot)
        sheet.text(str(number), spot, colours.TITLE_LETTERS, align="centre", colour=colour, halo=True)


def finding_line(number: int, finding: Finding) -> str:
    """Return one line for the notes: number, rule, place, measured and required."""
    line = f"{number} {finding.rule}: {finding.where}"
    if finding.measured is not None and finding.required is not None:
        line += f", {tidy(finding.measured)} {finding.unit} for {tidy(finding.required)}"
    return line + (" (waived)" if finding.waived else "")
