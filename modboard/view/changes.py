"""A picture of what changed from one package to another: copper taken away and copper added, side by side."""

from __future__ import annotations

from modboard.fab.readback.changes import Changes
from modboard.view import colours
from modboard.view.sheet import Projection, Sheet

GAP, EDGE = 15.0, 10.0  # mm on the sheet
SCALE = 3.0


def changes_view(changes: Changes, title: str) -> str:
    """Return an SVG of both sides seen from the top, three times enlarged: vermilion was there, sky blue is new."""
    areas = [a for a in (*changes.removed, *changes.added, changes.outline) if a is not None and not a.is_empty]
    bounds = [a.bounds for a in areas] or [(0.0, 0.0, 10.0, 10.0)]
    x0, y0 = min(b[0] for b in bounds), min(b[1] for b in bounds)
    x1, y1 = max(b[2] for b in bounds), max(b[3] for b in bounds)
    width, height = SCALE * (x1 - x0), SCALE * (y1 - y0)
    rows = len(changes.lines) + 2
    sheet = Sheet(2 * width + GAP + 2 * EDGE, height + 2 * EDGE + 8.0 + 4.4 * rows, title)
    for side, name in enumerate(("top", "bottom")):
        middle = EDGE + width / 2 + side * (width + GAP)
        project = Projection(SCALE, ((x0 + x1) / 2, (y0 + y1) / 2), (middle, EDGE + 8.0 + height / 2))
        if changes.outline is not None:
            sheet.area(project.area(changes.outline), fill=colours.LAMINATE, colour=colours.INK)
        sheet.area(project.area(changes.removed[side]), fill=colours.FINDING)
        sheet.area(project.area(changes.added[side]), fill=colours.BOTTOM_COPPER)
        sheet.text(
            f"Copper {name}: vermilion was there, blue is new", (EDGE + side * (width + GAP), EDGE), widest=width
        )
    for row, line in enumerate((title, *changes.lines)):
        sheet.text(line, (EDGE, EDGE + 14.0 + height + 4.4 * row), widest=sheet.width - 2 * EDGE)
    return sheet.svg()
