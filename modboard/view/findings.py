"""The picture of what the checks found: both sides of the board seen through from the top, each finding ringed."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

from shapely.geometry import Polygon

from modboard.artwork.model import Artwork, LayerName
from modboard.check.findings import Findings
from modboard.outputs import write_file
from modboard.view import colours
from modboard.view.board import draw_holes, finding_line, ring_findings
from modboard.view.frame import Margins, notes, start
from modboard.view.png import png
from modboard.view.sheet import Projection, Sheet

SEEN_THROUGH = 0.55  # opacity of copper, so that both sides can be told
ROW = 4.4  # mm between lines of the list
MOST_ROWS = 12


def findings_view(artwork: Artwork, findings: Findings) -> str:
    """Return an SVG sheet with every finding that has a place ringed and numbered as in the list of `check`.

    Copper of the bottom is seen through the board; bodies are outlined (dashed on the bottom).  Beside the board
    stand the numbers with rule, place and figures; those without a place are listed only.
    """
    board = artwork.board
    listed = [finding_line(number, f) for number, f in enumerate(findings, 1)]
    below = 14.0 + ROW * list_rows(listed)
    sheet, project = start(board, "Findings", board.outline.bounds, Margins(14.0, 14.0, 14.0, below))
    group = sheet.group(transform=project.matrix())
    sheet.area(board.outline, fill=colours.LAMINATE, into=group)
    both: tuple[tuple[LayerName, str], ...] = (
        ("copper-bottom", colours.BOTTOM_COPPER),
        ("copper-top", colours.TOP_COPPER),
    )
    for layer, colour in both:
        through = sheet.group(transform=project.matrix(), opacity=SEEN_THROUGH)
        for feature in artwork.features(layer):
            sheet.feature(feature, colour, through)
    over = sheet.group(transform=project.matrix())
    draw_holes(sheet, project, artwork, over)
    _bodies(sheet, project, artwork, over)
    sheet.area(board.outline, colour=colours.INK, weight=colours.THICK / project.scale, into=over)
    ring_findings(sheet, project, findings)
    _list(sheet, listed)
    notes(sheet, ["Seen from the top; copper of the bottom shows through.", *_summary(findings)])
    return sheet.svg()


def write_findings(artwork: Artwork, findings: Findings, file: Path) -> None:
    """Draw the picture into `file`, as PNG if it is so named.  Raises ModboardError if it can't be written."""
    svg = findings_view(artwork, findings)
    content = png(svg) if file.suffix.casefold() == ".png" else svg.encode("utf-8")
    write_file(file, content, "the picture", "name a file in a folder there is")


def list_rows(listed: list[str]) -> int:
    """Return how many rows the list takes in two columns."""
    return min(MOST_ROWS, math.ceil(len(listed) / 2))


def _list(sheet: Sheet, listed: list[str]) -> None:
    """Letter the findings in two columns above the title block; what does not fit is counted."""
    rows = list_rows(listed)
    shown = listed[: 2 * rows]
    if len(listed) > len(shown):
        shown[-1] = f"and {len(listed) - len(shown) + 1} more: see the list of modboard check"
    top = sheet.height - 7.0 - 30.0 - ROW * (rows + 0.5)
    widest = sheet.width / 2 - 14.0
    for number, line in enumerate(shown):
        column, row = divmod(number, rows)
        at = (10.0 + column * (widest + 4.0), top + row * ROW)
        sheet.text(line, at, colours.LETTERS * 0.88, colour=colours.FINDING, widest=widest)


def _bodies(sheet: Sheet, project: Projection, artwork: Artwork, group: Any) -> None:
    thin = colours.THIN / project.scale
    for placed in artwork.board.parts:
        for body in placed.bodies() if placed.part.fitted else ():
            ring = Polygon(body.outline).exterior.coords
            dashes = "" if placed.body_side == "top" else f"{3 * thin:.3f} {2 * thin:.3f}"
            sheet.line(list(ring), thin, colours.SOFT_INK, dashes=dashes, into=group)


def _summary(findings: Findings) -> list[str]:
    if not findings:
        return ["No findings."]
    unplaced = sum(f.at is None for f in findings)
    return [f"{unplaced} of {len(findings)} findings have no one place on the board."] if unplaced else []
