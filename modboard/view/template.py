"""A template at full size: print it without scaling, glue it on card, cut it out and try it in the box."""

from __future__ import annotations

import shapely

from modboard.fit.blank import Blank
from modboard.geometry import Position
from modboard.view import colours
from modboard.view.sheet import Projection, Sheet

PAPERS = ((210.0, 297.0), (297.0, 420.0), (420.0, 594.0))  # A4 to A2, ISO 216
EDGE = 12.0  # mm that printers leave blank
RULER = 100.0  # mm
BELOW = 35.0  # mm under the outline for ruler and words, and a row for each zone
ROW = 4.0  # mm between lines


def template(blank: Blank, name: str) -> str:
    """Return an SVG sheet with the outline 1:1, the zones of other clear height, and a ruler to check the print by."""
    x0, y0, x1, y1 = blank.outline.bounds
    below = BELOW + ROW * (len(blank.zones) + 1)
    papers = [p for w, h in PAPERS for p in ((w, h), (h, w))]
    room = [p for p in papers if x1 - x0 <= p[0] - 2 * EDGE and y1 - y0 <= p[1] - 2 * EDGE - below]
    width, height = room[0] if room else (x1 - x0 + 2 * EDGE, y1 - y0 + 2 * EDGE + below)
    sheet = Sheet(width, height, f"{name}: template at full size")
    project = Projection(1.0, ((x0 + x1) / 2, (y0 + y1) / 2), (width / 2, (height - below) / 2))
    inside = project.area(blank.cavity.inside)
    sheet.area(project.area(blank.outline), fill="#FFFFFF", colour=colours.INK, weight=0.2)
    for zone in blank.zones[1:]:
        sheet.hatch(project.area(zone.ground), colours.CAVITY_HATCH)
        sheet.area(project.area(zone.ground), colour=colours.SOFT_INK, weight=0.18)
    letters = [chr(ord("A") + number) if number < 26 else str(number) for number in range(len(blank.zones))]
    for number, zone in enumerate(blank.zones):
        at = shapely.Point(_label_place(blank, zone.ground, zone is blank.zones[0]))
        sheet.text(letters[number], project((at.x, at.y)), colours.LETTERS, align="centre", halo=True)
    sheet.line(list(inside.exterior.coords), 0.13, colours.SOFT_INK, dashes="2 1.2")
    _ruler(sheet, (EDGE + 2.0, height - EDGE - 14.0))
    lines = [
        f"{name}: {x1 - x0:.2f} x {y1 - y0:.2f} mm, {blank.area:.0f} mm2; full line: cut here; dashed: inside faces",
        "Print at 100 percent (no fitting to the page) and measure the ruler before you cut.",
    ]
    heights = [f"{letter}: {zone.words}" for letter, zone in zip(letters, blank.zones, strict=True)]
    first = height - EDGE - 27.0 - ROW * len(heights)
    for row, line in enumerate(["Clear height for parts:", *heights]):
        sheet.text(line, (EDGE + 2.0, first + ROW * row), colours.LETTERS * 0.8, widest=width - 2 * EDGE)
    for row, line in enumerate(lines):
        sheet.text(line, (EDGE + 2.0, height - EDGE - 6.0 + 4.0 * row), colours.LETTERS * 0.8, widest=width - 2 * EDGE)
    return sheet.svg()


def _label_place(blank: Blank, ground: object, whole: bool) -> Position:
    """Return a point well inside a zone; for the whole board outside all the others."""
    area = ground
    if whole and len(blank.zones) > 1:
        others = shapely.union_all([z.ground for z in blank.zones[1:]])
        area = shapely.difference(ground, others)
    point = shapely.maximum_inscribed_circle(area).coords[0]
    return (point[0], point[1])


def _ruler(sheet: Sheet, at: Position) -> None:
    """Draw a ruler of `RULER` mm with a tick every millimetre."""
    x, y = at
    long = min(RULER, sheet.width - 2 * at[0])
    long -= long % 10
    sheet.line([(x, y), (x + long, y)], 0.18)
    for millimetre in range(int(long) + 1):
        tall = 4.0 if millimetre % 10 == 0 else 3.0 if millimetre % 5 == 0 else 2.0
        sheet.line([(x + millimetre, y), (x + millimetre, y - tall)], 0.13)
        if millimetre % 10 == 0:
            sheet.text(str(millimetre), (x + millimetre, y - 5.6), colours.SMALL_LETTERS, align="centre")
