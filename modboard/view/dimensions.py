"""Dimension lines with their figures (after ISO 129: thin lines, filled arrows, figures over the line)."""

from __future__ import annotations

from typing import Literal

from shapely.geometry import Polygon

from modboard.artwork import font
from modboard.geometry import Position
from modboard.view import colours
from modboard.view.sheet import Sheet

ARROW, ARROW_WIDTH = 2.2, 0.7  # mm on the sheet
PAST, AWAY = 1.2, 0.8  # mm that an extension line goes past the dimension line, and starts away from the thing measured
ABOVE = 1.0  # mm from dimension line to the foot of the figure
Where = Literal["between", "before", "after"]


def figure(value: float) -> str:
    """Return a length in mm as it is lettered: at most two decimals, none that say nothing."""
    return f"{value:.2f}".rstrip("0").rstrip(".") if round(value, 2) else "0"


def ratio(scale: float) -> str:
    """Return a scale as drawings have it: '2.5:1' enlarged, '1:2' reduced."""
    return f"{figure(scale)}:1" if scale >= 1 else f"1:{figure(1 / scale)}"


def horizontal(
    sheet: Sheet, start: Position, end: Position, y: float, value: float, where: Where = "between", prefix: str = ""
) -> None:
    """Dimension the distance between two sheet points along x, with its line at height `y` of the sheet.

    A figure that does not fit between the arrows goes outside, to the left ("before") or to the right ("after").
    """
    _dimension(sheet, start, end, y, prefix + figure(value), where, False)


def vertical(
    sheet: Sheet, start: Position, end: Position, x: float, value: float, where: Where = "between", prefix: str = ""
) -> None:
    """Dimension the distance between two sheet points along y, with its line at `x`; "before" is further down."""
    _dimension(sheet, start, end, x, prefix + figure(value), where, True)


def _dimension(
    sheet: Sheet, start: Position, end: Position, level: float, text: str, where: Where, upright: bool
) -> None:
    """Draw along one axis: `u` runs along the dimension line (right, or up the sheet), `v` is across it."""

    def point(u: float, v: float) -> Position:
        return (v, -u) if upright else (u, v)

    ends = [(-y, x) if upright else (x, y) for x, y in (start, end)]
    (u0, v0), (u1, v1) = sorted(ends)
    for u, v in ((u0, v0), (u1, v1)):
        direction = 1.0 if level > v else -1.0
        sheet.line([point(u, v + direction * AWAY), point(u, level + direction * PAST)], colours.THIN / 2 + 0.05)
    room = u1 - u0
    length = font.length(text, colours.LETTERS)
    inside = room >= 2 * ARROW + 1.0
    if where == "between" and room < length + 1.0:
        where = "after"
    line_start, line_end = u0, u1
    if not inside:
        line_start, line_end = u0 - 2 * ARROW, u1 + 2 * ARROW
    if where == "before":
        line_start = min(line_start, u0 - length - ARROW - 2.0)
        middle = u0 - ARROW - 1.0 - length / 2
    elif where == "after":
        line_end = max(line_end, u1 + length + ARROW + 2.0)
        middle = u1 + ARROW + 1.0 + length / 2
    else:
        middle = (u0 + u1) / 2
    sheet.line([point(line_start, level), point(line_end, level)])
    for tip, way in ((u0, 1.0 if inside else -1.0), (u1, -1.0 if inside else 1.0)):
        corners = [
            point(tip, level),
            point(tip + way * ARROW, level - ARROW_WIDTH / 2),
            point(tip + way * ARROW, level + ARROW_WIDTH / 2),
        ]
        sheet.area(Polygon(corners), fill=colours.INK)
    over = level - ABOVE - colours.LETTERS / 2
    sheet.text(text, point(middle, over), turn=90.0 if upright else 0.0, align="centre")
