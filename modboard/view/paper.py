"""A PDF page in millimetres with type on it: what the printed booklet draws with.  Equal calls give equal bytes."""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import Any

from reportlab.lib.colors import HexColor
from reportlab.lib.units import mm
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from modboard.geometry import Position
from modboard.view.spelling import spelled

SIZES = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}  # mm, ISO 216 and ANSI/ASME Y14.1 (8.5 x 11 inches)
MARGIN = 13.0  # mm that printers cannot print on, with something to spare
POINT = 25.4 / 72  # mm
PLAIN, BOLD, ITALIC = "Vera", "VeraBd", "VeraIt"  # come with reportlab, embedded: the same on every machine
INK, SOFT, RULE, ACCENT = "#000000", "#555555", "#bbbbbb", "#8a2a12"


class Paper:
    """Pages of one size; x to the right and y up from the lower left corner, in mm."""

    def __init__(self, size: str, title: str) -> None:
        """Begin a document of pages "a4" or "letter", marked not to be scaled when printed."""
        self.width, self.height = SIZES[size]
        self._out = io.BytesIO()
        self.canvas = Canvas(self._out, pagesize=(self.width * mm, self.height * mm), invariant=1)
        for font in (PLAIN, BOLD, ITALIC):
            if font not in pdfmetrics.getRegisteredFontNames():
                pdfmetrics.registerFont(TTFont(font, f"{font}.ttf"))
        self._glyphs = pdfmetrics.getFont(PLAIN).face.charToGlyph
        self.canvas.setTitle(title)
        self.canvas.setCreator("modboard")
        self.canvas.setViewerPreference("PrintScaling", "None")

    def bytes(self) -> bytes:
        """End the document; return it."""
        self.canvas.save()
        return self._out.getvalue()

    def turn(self) -> None:
        """Begin the next page."""
        self.canvas.showPage()

    def known(self, text: str) -> str:
        """Return the text in letters that the type has; see `spelled`."""
        return spelled(text.replace("\n", " "), self._glyphs)

    def length(self, text: str, font: str, size: float) -> float:
        """Return how wide a line of type is in mm; `size` in points."""
        return float(pdfmetrics.stringWidth(text, font, size)) * POINT

    def wrapped(self, text: str, width: float, font: str = PLAIN, size: float = 9.0) -> list[str]:
        """Return the lines that a text takes in `width` mm; a word too long for a line is broken."""
        lines, line = [], ""
        for word in self.known(text).split():
            longer, rest = f"{line} {word}".strip(), word
            if self.length(longer, font, size) <= width:
                line = longer
                continue
            if line:
                lines.append(line)
            while self.length(rest, font, size) > width and len(rest) > 1:
                fits = next(
                    n for n in range(len(rest) - 1, 0, -1) if n == 1 or self.length(rest[:n], font, size) <= width
                )
                lines.append(rest[:fits])
                rest = rest[fits:]
            line = rest
        return [*lines, line] if line else lines

    def type(self, x: float, y: float, text: str, font: str = PLAIN, size: float = 9.0, colour: str = INK) -> float:
        """Set one line from (x, y) on its base line; return where it ends."""
        text = self.known(text)
        self.canvas.setFillColor(HexColor(colour))
        self.canvas.setFont(font, size)
        self.canvas.drawString(x * mm, y * mm, text)
        return x + self.length(text, font, size)

    def line(self, points: Sequence[Position], pen: float = 0.2, colour: str = INK, *, round_: bool = False) -> None:
        """Draw a polyline with a pen of so many mm."""
        self.pen(pen, colour, round_=round_)
        self.canvas.drawPath(self.path([points], closed=False))

    def area(self, rings: Sequence[Sequence[Position]], fill: str, edge: str = "", pen: float = 0.15) -> None:
        """Fill rings, even-odd, so that inner ones are holes."""
        self.canvas.setFillColor(HexColor(fill))
        if edge:
            self.pen(pen, edge)
        self.canvas.drawPath(self.path(rings), stroke=int(bool(edge)), fill=1, fillMode=0)

    def ring(self, at: Position, radius: float, pen: float, colour: str, fill: str = "") -> None:
        """Draw a circle, filled if said."""
        if fill:
            self.canvas.setFillColor(HexColor(fill))
        self.pen(pen, colour)
        self.canvas.circle(at[0] * mm, at[1] * mm, radius * mm, stroke=int(pen > 0), fill=int(bool(fill)))

    def box(self, x: float, y: float, side: float = 3.2) -> None:
        """Draw a box to tick, its lower left corner at (x, y)."""
        self.pen(0.25, INK)
        self.canvas.rect(x * mm, y * mm, side * mm, side * mm)

    def pen(self, width: float, colour: str, *, round_: bool = False) -> None:
        """Take a pen."""
        self.canvas.setStrokeColor(HexColor(colour))
        self.canvas.setLineWidth(width * mm)
        self.canvas.setLineCap(int(round_))
        self.canvas.setLineJoin(int(round_))

    def path(self, rings: Sequence[Sequence[Position]], *, closed: bool = True) -> Any:
        """Return a path through points in mm."""
        path = self.canvas.beginPath()
        for ring in rings:
            (x, y), *rest = ring
            path.moveTo(x * mm, y * mm)
            for x, y in rest:
                path.lineTo(x * mm, y * mm)
            if closed:
                path.close()
        return path
