"""The assembly sheet: which part goes where and which way round, in the cavity the board must fit."""

from __future__ import annotations

from typing import Any

from shapely.geometry import Polygon

from modboard.artwork.model import Artwork
from modboard.check.findings import Findings
from modboard.layout.board import Board
from modboard.view import colours
from modboard.view.board import draw_holes, finding_line, ring_findings
from modboard.view.booklet_pieces import listed_names
from modboard.view.callouts import letter_parts
from modboard.view.cavity import cavity_notes, dimension_cavity, dimension_holes, draw_obstacles, draw_walls
from modboard.view.dimensions import figure
from modboard.view.frame import Margins, notes, start
from modboard.view.sheet import Projection, Sheet

BOARD_FILL = "#FBFAF5"
DASHES = "1.6 0.9"


def assembly_view(artwork: Artwork, findings: Findings = ()) -> str:
    """Return an SVG sheet of bodies, references, values, pin-1 and polarity marks, dimensioned in the cavity.

    Seen from the top; parts on the bottom are dashed.  Findings are ringed and numbered as in `board_view`.
    """
    board = artwork.board
    cavity = board.description.cavity
    bounds = (cavity.inside.union(board.outline) if cavity else board.outline).bounds
    margins = Margins(26.0, 26.0, 20.0, 27.0) if cavity else Margins(20.0, 20.0, 18.0, 12.0)
    sheet, project = start(board, "Assembly" + (" in its cavity" if cavity else ""), bounds, margins)
    if cavity:
        draw_walls(sheet, project, cavity)
    sheet.area(project.area(board.outline), fill=BOARD_FILL, colour=colours.INK, weight=colours.THICK)
    if cavity:
        draw_obstacles(sheet, project, cavity)
    _draw_parts(sheet, project, artwork)
    letter_parts(sheet, project, artwork)
    dimension_cavity(sheet, project, board)
    dimension_holes(sheet, project, board)
    ring_findings(sheet, project, findings)
    lines = [finding_line(k + 1, f) for k, f in enumerate(findings)]
    notes(sheet, lines or _notes(artwork), colours.FINDING if lines else colours.INK)
    return sheet.svg()


def _notes(artwork: Artwork) -> list[str]:
    board, described = artwork.board, artwork.board.description
    lines = [f"Caution: {caution}" for caution in described.cautions] + cavity_notes(board)
    if any(p.side == "bottom" for p in board.parts):
        lines.append("Dashed: parts on the bottom side, seen through the board.")
    printed = " as printed" if artwork.printed_marks else ""
    missing = list(artwork.unplaced_marks)
    but = f"; there was no room to print that of {listed_names(missing)}" if missing else ""
    lines.append(f"Filled land: pin 1. Heavy strokes: pin-1 or polarity mark{printed}{but}.")
    if described.holes:
        sizes = dict.fromkeys(f"Ø{figure(h.diameter)}" for h in described.holes)
        lines.append(f"Mounting holes {', '.join(sizes)}, placed from the board's left and lower edges.")
    return lines


def _draw_parts(sheet: Sheet, project: Projection, artwork: Artwork) -> None:
    """Draw bodies of the top side filled, lands, those of the bottom side dashed, then what is printed for each."""
    board, scale = artwork.board, project.scale
    group = sheet.group(transform=project.matrix())
    thin, thick = colours.THIN / scale, colours.THICK / scale
    for placed in board.parts:
        for body in placed.bodies() if placed.side == "top" and placed.part.fitted else ():
            said: dict[str, Any] = {"data-part": placed.part.reference}
            sheet.area(Polygon(body.outline), fill=colours.BODY, colour=colours.INK, weight=thin, into=group, **said)
    first = _first_lands(board)
    for pad in board.pads:
        fill = colours.TOP_COPPER if (pad.reference, pad.number) in first else colours.PAD
        sheet.area(pad.shape.polygon(8), fill=fill, colour=colours.SOFT_INK, weight=thin / 2, into=group)
    draw_holes(sheet, project, artwork, group)
    for placed in board.parts:
        dashes = "" if placed.side == "top" and placed.part.fitted else _dashes(scale)
        for body in placed.bodies():
            if dashes:
                sheet.line([*body.outline, body.outline[0]], thin, dashes=dashes, into=group)
        for line in placed.part.footprint.legend:
            sheet.line(placed.points(line), thin / 2, colours.SOFT_INK, into=group)
        for line in artwork.mark(placed):
            sheet.line(line, thick, into=group)


def _dashes(scale: float) -> str:
    return " ".join(str(round(float(d) / scale, 3)) for d in DASHES.split())


def _first_lands(board: Board) -> set[tuple[str, str]]:
    """Return the first pad of every part that can be fitted the wrong way round."""
    return {
        (p.part.reference, p.part.footprint.lands[0].number)
        for p in board.parts
        if p.part.footprint.lands and (p.part.footprint.polarised or len(p.part.footprint.numbers()) > 2)
    }
