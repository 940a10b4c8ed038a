"""A sheet of paper to draw on: lines, areas and letters in sheet millimetres, and the way from the board to it.

The sheet has x to the right and y *down*, as SVG has; `Projection` turns the board (y up, seen from the top)
into it at a scale, and mirrors it where the board is seen from below.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import shapely
import svgwrite
from shapely import affinity

from modboard.artwork import font
from modboard.artwork.model import Feature, Flash, Stroke
from modboard.geometry import Position
from modboard.view import colours

DECIMALS = 3  # of a millimetre; finer than any plotter
CHORDS = 8  # in a quarter circle, where an exact circle cannot be drawn as such


def tidy(value: float) -> float:
    """Return `value` rounded for writing, without a negative zero."""
    return round(float(value), DECIMALS) + 0.0


def printable(string: str) -> str:
    """Return `string` without the control characters that XML cannot hold."""
    return "".join(c if c.isprintable() else " " for c in string)


@dataclass(frozen=True)
class Projection:
    """From board to sheet: board point `centre` comes to sheet point `at`, `scale` times enlarged."""

    scale: float
    centre: Position
    at: Position
    mirrored: bool = False

    def __call__(self, point: Position) -> Position:
        """Return where a point of the board lies on the sheet."""
        across = self.scale * (point[0] - self.centre[0])
        return (
            self.at[0] + (-across if self.mirrored else across),
            self.at[1] - self.scale * (point[1] - self.centre[1]),
        )

    def matrix(self) -> str:
        """Return the same as an SVG transform, for a group drawn in board coordinates."""
        across = -self.scale if self.mirrored else self.scale
        dx, dy = self.at[0] - across * self.centre[0], self.at[1] + self.scale * self.centre[1]
        return f"matrix({tidy(across)} 0 0 {tidy(-self.scale)} {tidy(dx)} {tidy(dy)})"

    def area(self, area: Any) -> Any:
        """Return a shapely geometry of the board on the sheet."""
        across = -self.scale if self.mirrored else self.scale
        matrix = (
            across,
            0,
            0,
            -self.scale,
            self.at[0] - across * self.centre[0],
            self.at[1] + self.scale * self.centre[1],
        )
        return affinity.affine_transform(area, matrix)


class Sheet:
    """An SVG drawing in mm; everything is added in drawing order."""

    def __init__(self, width: float, height: float, title: str) -> None:
        """Start a white sheet of the given size in mm; `title` names the picture for readers that cannot see it."""
        self.width, self.height = width, height
        self.drawing = svgwrite.Drawing(
            size=(f"{tidy(width)}mm", f"{tidy(height)}mm"),
            viewBox=f"0 0 {tidy(width)} {tidy(height)}",
            debug=False,
            role="img",
        )
        self.drawing.set_desc(title=printable(title))
        self.drawing.add(self.drawing.rect((0, 0), (tidy(width), tidy(height)), fill=colours.PAPER))

    def svg(self) -> str:
        """Return the finished picture as text."""
        return str(self.drawing.tostring()) + "\n"

    def group(self, **attributes: Any) -> Any:
        """Return a new group, already on the sheet."""
        return self.drawing.add(self.drawing.g(**attributes))

    def line(
        self,
        points: Sequence[Position],
        weight: float = colours.THIN,
        colour: str = colours.INK,
        dashes: str = "",
        into: Any = None,
    ) -> None:
        """Draw a polyline."""
        style = {"stroke_dasharray": dashes} if dashes else {}
        line = self.drawing.polyline(
            [(tidy(x), tidy(y)) for x, y in points],
            fill="none",
            stroke=colour,
            stroke_width=tidy(weight),
            stroke_linecap="round",
            stroke_linejoin="round",
            **style,
        )
        (into or self.drawing).add(line)

    def area(
        self,
        area: Any,
        fill: str = "none",
        colour: str = "none",
        weight: float = colours.THIN,
        into: Any = None,
        **style: Any,
    ) -> None:
        """Draw a shapely polygon or several, holes left open."""
        data = path_data(area)
        if data:
            path = self.drawing.path(
                data, fill=fill, fill_rule="evenodd", stroke=colour, stroke_width=tidy(weight), **style
            )
            (into or self.drawing).add(path)

    def circle(
        self, at: Position, diameter: float, fill: str = "none", colour: str = colours.INK,
        weight: float = colours.THIN, into: Any = None, **style: Any,
    ) -> None:  # fmt: skip
        """Draw a circle."""
        centre = (tidy(at[0]), tidy(at[1]))
        circle = self.drawing.circle(
            centre, tidy(diameter / 2), fill=fill, stroke=colour, stroke_width=tidy(weight), **style
        )
        (into or self.drawing).add(circle)

    def text(
        self,
        string: str,
        at: Position,
        height: float = colours.LETTERS,
        turn: float = 0.0,
        align: font.Align = "left",
        colour: str = colours.INK,
        widest: float | None = None,
        halo: bool = False,
    ) -> None:
        """Letter `string` with its capitals' middle at `at`; made smaller where it would be longer than `widest`."""
        string = printable(string)
        lines, height = lettered(string, at, height, turn, align, widest)
        data = "".join(_polyline_data(line) for line in lines)
        if not data:
            return
        pen = height * colours.PEN_TO_HEIGHT
        if halo:
            self.drawing.add(self._lettering(data, colours.PAPER, pen + 0.8))
        path = self._lettering(data, colour, pen)
        path["aria-label"] = string
        self.drawing.add(path)

    def _lettering(self, data: str, colour: str, pen: float) -> Any:
        return self.drawing.path(
            data, fill="none", stroke=colour, stroke_width=tidy(pen), stroke_linecap="round", stroke_linejoin="round"
        )

    def hatch(self, area: Any, colour: str, spacing: float = 1.4, weight: float = 0.18) -> None:
        """Fill a shapely area, in sheet coordinates, with lines at 45°."""
        data = "".join(_polyline_data(line) for line in hatching(area, spacing))
        if data:
            self.drawing.add(self._lettering(data, colour, weight))

    def feature(self, feature: Feature, colour: str, into: Any) -> None:
        """Draw one feature of the artwork in board coordinates, with its net, part and pin as data attributes."""
        owner = feature.owner
        said = {"net": owner.net, "part": owner.reference, "pin": owner.number}
        data: dict[str, Any] = {f"data-{key}": printable(value) for key, value in said.items() if value}
        if isinstance(feature, Flash):
            into.add(self._flash(feature, colour, data))
        elif isinstance(feature, Stroke):
            line = self.drawing.polyline(
                [(tidy(x), tidy(y)) for x, y in feature.points],
                fill="none", stroke=colour, stroke_width=tidy(feature.width),
                stroke_linecap="round", stroke_linejoin="round", **data,
            )  # fmt: skip
            into.add(line)
        else:
            self.area(feature.area, fill=colour, into=into, **data)

    def _flash(self, flash: Flash, colour: str, data: dict[str, Any]) -> Any:
        """Return the simplest SVG element that shows a flashed land exactly."""
        form, (x, y) = flash.form, flash.at
        if form.form == "round":
            return self.drawing.circle((tidy(x), tidy(y)), tidy(form.width / 2), fill=colour, **data)
        if form.form == "polygon":
            return self.drawing.path(path_data(flash.shape.polygon(CHORDS)), fill=colour, **data)
        corner = {"oval": form.short_side() / 2, "rounded": form.corner}.get(form.form, 0.0)
        turned = f"translate({tidy(x)} {tidy(y)})" + (f" rotate({tidy(flash.turn)})" if flash.turn % 360 else "")
        return self.drawing.rect(
            (tidy(-form.width / 2), tidy(-form.height / 2)), (tidy(form.width), tidy(form.height)),
            rx=tidy(corner), ry=tidy(corner), fill=colour, transform=turned, **data,
        )  # fmt: skip


def lettered(
    string: str, at: Position, height: float, turn: float, align: font.Align, widest: float | None
) -> tuple[list[list[Position]], float]:
    """Return the strokes of a line of letters, its capitals centred on `at`, and its height, made to fit `widest`."""
    if widest is not None and font.length(string, height) > widest:
        height = height * widest / font.length(string, height)
    strokes = font.text(string, (0.0, 0.0), height, turn, align=align)
    return [[(at[0] + x, at[1] - y) for x, y in stroke] for stroke in strokes], height


def hatching(area: Any, spacing: float) -> list[list[Position]]:
    """Return lines at 45° that fill a shapely area in sheet coordinates."""
    if area.is_empty:
        return []
    x0, y0, x1, y1 = area.bounds
    first, last = math.floor((x0 + y0) / spacing), math.ceil((x1 + y1) / spacing)
    lines = [shapely.LineString([(k * spacing - y0, y0), (k * spacing - y1, y1)]) for k in range(first, last + 1)]
    pieces = shapely.get_parts(shapely.intersection(lines, area))
    return [list(p.coords) for p in pieces if p.geom_type == "LineString" and p.length > 0.05]


def path_data(area: Any) -> str:
    """Return the SVG path of a shapely polygon, or of all polygons of a collection."""
    rings = (ring for p in shapely.get_parts(area) if p.geom_type == "Polygon" for ring in (p.exterior, *p.interiors))
    return "".join(_polyline_data(list(ring.coords)[:-1]) + "Z" for ring in rings)


def _polyline_data(points: Iterable[Position]) -> str:
    return "M" + "L".join(f"{tidy(x)} {tidy(y)}" for x, y in points)
