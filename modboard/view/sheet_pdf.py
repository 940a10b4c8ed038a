"""A sheet of paper as PDF at true scale, drawn on like any other sheet; equal drawings give equal bytes."""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import Any

import shapely

from modboard.artwork import font
from modboard.geometry import Position
from modboard.view import colours
from modboard.view.sheet import Sheet, hatching, lettered, printable

POINTS = 72 / 25.4  # to a millimetre


class PaperSheet(Sheet):
    """A PDF page in mm, y down, marked not to be scaled when printed."""

    def __init__(self, width: float, height: float, title: str) -> None:
        """Start a white page of the given size in mm."""
        super().__init__(width, height, title)
        from reportlab.pdfgen.canvas import Canvas

        self._bytes = io.BytesIO()
        self._page = Canvas(self._bytes, pagesize=(width * POINTS, height * POINTS), invariant=1, pageCompression=0)
        self._page.setTitle(printable(title))
        self._page.setViewerPreference("PrintScaling", "None")
        self._page.setLineCap(1)
        self._page.setLineJoin(1)

    def pdf(self) -> bytes:
        """Return the finished page."""
        self._page.showPage()
        self._page.save()
        return self._bytes.getvalue()

    def line(
        self,
        points: Sequence[Position],
        weight: float = colours.THIN,
        colour: str = colours.INK,
        dashes: str = "",
        into: Any = None,
    ) -> None:
        """Draw a polyline."""
        self._page.setDash([float(d) * POINTS for d in dashes.split()] if dashes else [])
        self._strokes([points], colour, weight)
        self._page.setDash([])

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
        path = self._page.beginPath()
        for piece in shapely.get_parts(area):
            if piece.geom_type == "Polygon":
                for ring in (piece.exterior, *piece.interiors):
                    self._walk(path, list(ring.coords)[:-1])
                    path.close()
        self._inks(fill, colour, weight)
        self._page.drawPath(path, stroke=int(colour != "none"), fill=int(fill != "none"), fillMode=0)

    def circle(
        self, at: Position, diameter: float, fill: str = "none", colour: str = colours.INK,
        weight: float = colours.THIN, into: Any = None, **style: Any,
    ) -> None:  # fmt: skip
        """Draw a circle."""
        self._inks(fill, colour, weight)
        x, y = self._place(at)
        self._page.circle(x, y, diameter / 2 * POINTS, stroke=int(colour != "none"), fill=int(fill != "none"))

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
        strokes, height = lettered(printable(string), at, height, turn, align, widest)
        pen = height * colours.PEN_TO_HEIGHT
        if halo:
            self._strokes(strokes, colours.PAPER, pen + 0.8)
        self._strokes(strokes, colour, pen)

    def hatch(self, area: Any, colour: str, spacing: float = 1.4, weight: float = 0.18) -> None:
        """Fill a shapely area, in sheet coordinates, with lines at 45°."""
        self._strokes(hatching(area, spacing), colour, weight)

    def _strokes(self, lines: Sequence[Sequence[Position]], colour: str, weight: float) -> None:
        path = self._page.beginPath()
        for line in lines:
            self._walk(path, line)
        self._inks("none", colour, weight)
        self._page.drawPath(path, stroke=1, fill=0)

    def _inks(self, fill: str, colour: str, weight: float) -> None:
        from reportlab.lib.colors import HexColor

        if fill != "none":
            self._page.setFillColor(HexColor(fill))
        if colour != "none":
            self._page.setStrokeColor(HexColor(colour))
        self._page.setLineWidth(weight * POINTS)

    def _walk(self, path: Any, points: Sequence[Position]) -> None:
        for number, point in enumerate(points):
            (path.lineTo if number else path.moveTo)(*self._place(point))

    def _place(self, point: Position) -> Position:
        return (point[0] * POINTS, (self.height - point[1]) * POINTS)
