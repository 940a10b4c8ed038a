"""A template at full size: print it without scaling, glue it on card, cut it out and try it in the box."""

from __future__ import annotations

from typing import Any

import shapely

from modboard.fit.blank import Blank
from modboard.geometry import Position
from modboard.view import colours
from modboard.view.sheet import Projection, Sheet
from modboard.view.sheet_pdf import PaperSheet

PAPERS = ((210.0, 297.0), (297.0, 420.0), (420.0, 594.0))  # A4 to A2, ISO 216
EDGE = 12.0  # mm that printers leave blank
RULER = 100.0  # mm
BELOW = 37.0  # mm under the outline for ruler and words, and a row for each zone
ROW = 4.4  # mm between lines
CUT = 0.2  # mm, the line to cut along


def template(blank: Blank, name: str) -> str:
    """Return an SVG sheet with the outline 1:1, the zones of other clear height, and a ruler to check the print by."""
    sheet = Sheet(*_paper(blank), f"{name}: template at full size")
    _draw(sheet, blank, name)
    return sheet.svg()


def template_pdf(blank: Blank, name: str) -> bytes:
    """Return the same sheet as PDF, marked not to be scaled when printed."""
    sheet = PaperSheet(*_paper(blank), f"{name}: template at full size")
    _draw(sheet, blank, name)
    return sheet.pdf()


def _below(blank: Blank) -> float:
    return BELOW + ROW * (len(blank.zones) + (len(blank.holes) > 0) + 1)


def _paper(blank: Blank) -> tuple[float, float]:
    """Return the smallest sheet that holds outline, inside faces and words."""
    x0, y0, x1, y1 = blank.cavity.inside.union(blank.outline).bounds
    needs = (x1 - x0 + 2 * EDGE, y1 - y0 + 2 * EDGE + _below(blank))
    papers = [p for w, h in PAPERS for p in ((w, h), (h, w))]
    return next((p for p in papers if needs[0] <= p[0] and needs[1] <= p[1]), needs)


def _draw(sheet: Sheet, blank: Blank, name: str) -> None:
    width, height, below = sheet.width, sheet.height, _below(blank)
    x0, y0, x1, y1 = blank.outline.bounds
    cx0, cy0, cx1, cy1 = blank.cavity.inside.union(blank.outline).bounds
    project = Projection(1.0, ((cx0 + cx1) / 2, (cy0 + cy1) / 2), (width / 2, (height - below) / 2))
    for zone in blank.zones[1:]:
        sheet.hatch(project.area(zone.ground), colours.CAVITY_HATCH)
        sheet.area(project.area(zone.ground), colour=colours.SOFT_INK, weight=0.18)
    letters = [chr(ord("A") + number) if number < 26 else str(number) for number in range(len(blank.zones))]
    for letter, zone in zip(letters, blank.zones, strict=True):
        spot, room = label_place(blank, zone.ground)
        sheet.text(letter, project(spot), min(colours.LETTERS, max(1.0, 1.2 * room)), align="centre", halo=True)
    sheet.area(project.area(blank.outline), colour=colours.INK, weight=CUT)
    for hole in blank.holes:
        x, y = project(hole.at)
        sheet.circle((x, y), hole.diameter, weight=CUT)
        sheet.line([(x - 1.0, y), (x + 1.0, y)], 0.13)
        sheet.line([(x, y - 1.0), (x, y + 1.0)], 0.13)
    sheet.line(list(project.area(blank.cavity.inside).exterior.coords), 0.13, colours.SOFT_INK, dashes="2 1.2")
    _words(sheet, blank, name, letters, (x1 - x0, y1 - y0))


def label_place(blank: Blank, ground: Any) -> tuple[Position, float]:
    """Return where in a zone there is most room for a letter beside its holes, and how much (a radius, mm)."""
    holes = shapely.union_all([shapely.Point(h.at).buffer(h.diameter / 2 + 0.1) for h in blank.holes])
    beside = shapely.difference(ground, holes)
    area = max(shapely.get_parts(ground if beside.is_empty else beside), key=lambda g: g.area)
    circle = shapely.maximum_inscribed_circle(area)
    x, y = circle.coords[0]
    return (x, y), float(circle.length)


def _words(sheet: Sheet, blank: Blank, name: str, letters: list[str], size: Position) -> None:
    """Letter heights, ruler and what to do with the sheet, from the lower edge upwards."""
    widest = sheet.width - 2 * EDGE - 4.0
    lines = [f"{letter}: {zone.words}" for letter, zone in zip(letters, blank.zones, strict=True)]
    if blank.holes:
        holes = (f"{h.name} {h.diameter:g} mm at ({h.at[0]:g}, {h.at[1]:g})" for h in blank.holes)
        lines.append(f"Holes: {'; '.join(holes)}")
    first = sheet.height - EDGE - 27.0 - ROW * len(lines)
    for row, line in enumerate(["Clear height for parts, every ± and 0.5 mm of air taken off:", *lines]):
        sheet.text(line, (EDGE + 2.0, first + ROW * row), colours.LETTERS * 0.8, widest=widest)
    _ruler(sheet, (EDGE + 2.0, sheet.height - EDGE - 12.0))
    ends = (
        f"{name}: {size[0]:.2f} × {size[1]:.2f} mm, {blank.area:.0f} mm²; full line: cut here; dashed: inside faces",
        "Print at 100 % (no fitting to the page) and measure the ruler before you cut.",
    )
    for row, line in enumerate(ends):
        sheet.text(line, (EDGE + 2.0, sheet.height - EDGE - 6.0 + ROW * row), colours.LETTERS * 0.8, widest=widest)


def _ruler(sheet: Sheet, at: Position) -> None:
    """Draw a ruler of `RULER` mm, or less on a small sheet, with a tick every millimetre."""
    x, y = at
    long = min(RULER, sheet.width - 2 * at[0])
    long -= long % 10
    sheet.line([(x, y), (x + long, y)], 0.18)
    for millimetre in range(int(long) + 1):
        tall = 4.0 if millimetre % 10 == 0 else 3.0 if millimetre % 5 == 0 else 2.0
        sheet.line([(x + millimetre, y), (x + millimetre, y - tall)], 0.13)
        if millimetre % 10 == 0:
            sheet.text(str(millimetre), (x + millimetre, y - 5.6), colours.SMALL_LETTERS, align="centre")
