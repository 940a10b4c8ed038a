"""The board on paper: pictures of steps at any size, and the sheet at true size to lay parts and wires on."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

from reportlab.lib.units import mm

from modboard.artwork.model import Artwork, Feature, Flash, Stroke
from modboard.geometry import Position, Shape
from modboard.layout.board import COPPER_LAYERS, CopperLayer, PlacedPart
from modboard.view.booklet_board import extent
from modboard.view.booklet_marks import Mark, label_places, middle
from modboard.view.booklet_parts import part_shapes
from modboard.view.paper import BOLD, INK, Paper

PLATE, NEAR, FAR, HOLES = "#e4e9ea", "#d98f00", "#8fc7ec", "#ffffff"
LIT, LIT_FAR, POURED = "#b0005a", "#dd8fb4", "#f4dbe7"
MARKS = {"red": "#d0201a", "black": "#000000"}
AIR = 1.5  # mm of board scale round the board
NAME = 4.5  # points; a reference of three signs is 3 mm wide, as a chip part is long


@dataclass(frozen=True)
class View:
    """Where board millimetres go on the page."""

    x: float
    y: float
    scale: float
    side: str
    bounds: tuple[float, float, float, float]

    def place(self, at: Position) -> Position:
        """Return the place on the page of a point of the board."""
        x0, y0, x1, _ = self.bounds
        return (
            self.x + self.scale * (AIR + (x1 - at[0] if self.side == "bottom" else at[0] - x0)),
            self.y + self.scale * (AIR + at[1] - y0),
        )


class BoardPictures:
    """Pictures of one board in one document; what repeats is stored once."""

    def __init__(self, paper: Paper, artwork: Artwork) -> None:
        """Store plate, copper, holes and parts as forms."""
        self.paper, self.artwork = paper, artwork
        self.bounds = extent(artwork)
        self._nets: dict[tuple[str, str], tuple[str, str, str]] = {}
        board = artwork.board
        outline = [list(r.coords) for r in (board.outline.exterior, *board.outline.interiors)]
        self._store("plate", partial(self.paper.area, outline, PLATE, "#7d8a90"))
        for layer in COPPER_LAYERS:
            found = [f for f in self._features(layer) if not _poured(f)]
            self._store(f"{layer}-near", partial(self._draw, found, NEAR))
            self._store(f"{layer}-far", partial(self._draw, found, FAR))
        self._store("holes", self._holes)
        for number, placed in enumerate(board.parts):
            self._store(f"part-{number}", partial(self._part, placed))

    def size(self, width: float, height: float) -> tuple[float, float, float]:
        """Return (scale, width, height) of the largest picture within width x height mm."""
        x0, y0, x1, y1 = self.bounds
        across, up = x1 - x0 + 2 * AIR, y1 - y0 + 2 * AIR
        scale = min(width / across, height / up)
        return scale, scale * across, scale * up

    def picture(
        self, at: Position, scale: float, side: CopperLayer | str, done: Iterable[str], now: Iterable[str], net: str,
        marks: Sequence[Mark],
    ) -> None:  # fmt: skip
        """Draw a step with its lower left corner at `at`: parts `done` pale, `now` in full, a net lit, marks on top."""
        view = View(at[0], at[1], scale, str(side), self.bounds)
        far = "bottom" if side == "top" else "top"
        lit = self._lit(net, view.side, far) if net else ("", "", "")
        with _Turned(self.paper, view):
            for name in ("plate", lit[0], f"{far}-far", lit[1], f"{side}-near", lit[2], "holes"):
                if name:
                    self.paper.canvas.doForm(name)
            numbers = {p.part.reference: n for n, p in enumerate(self.artwork.board.parts)}
            sides = {p.part.reference: p.body_side for p in self.artwork.board.parts}
            for names, strength in ((done, 0.3), (now, 1.0)):
                for name in names:
                    alpha = strength if sides[name] == side else 0.3 * strength
                    self.paper.canvas.setFillAlpha(alpha)
                    self.paper.canvas.setStrokeAlpha(alpha)
                    self.paper.canvas.doForm(f"part-{numbers[name]}")
        self._marks(view, marks)

    def true_size(self, at: Position, side: CopperLayer, *, names: bool) -> None:
        """Draw one side at 1:1: outline, lands, holes, where parts lie, and the legend as it is printed.

        With `names`, parts that the legend has no room for are named over their middle.
        """
        view = View(at[0], at[1], 1.0, side, self.bounds)
        board = self.artwork.board
        with _Turned(self.paper, view):
            outline = [list(r.coords) for r in (board.outline.exterior, *board.outline.interiors)]
            for ring in outline:
                self.paper.line(ring, 0.2)
            lands = [f for f in self._features(side) if isinstance(f, Flash)]
            self._draw(lands, "#c9c9c9")
            for drill in self.artwork.drills:
                self.paper.area(_rings(drill.shape), "#ffffff", "#000000", 0.1)
            for placed in board.parts:
                if placed.part.fitted and placed.body_side == side:
                    for body in placed.bodies():
                        self.paper.line([*body.outline, body.outline[0]], 0.15, "#999999")
            printed = list(self.artwork.features("legend-top" if side == "top" else "legend-bottom"))
            self._draw(printed, INK)
        for placed in board.parts if names else ():
            unnamed = not printed or placed.part.reference in self.artwork.unplaced_references
            if placed.part.fitted and placed.body_side == side and unnamed:
                x, y = view.place(middle(placed))
                width = self.paper.length(placed.part.reference, BOLD, NAME)
                self._label(x - width / 2, y - 0.5, placed.part.reference, NAME, INK)

    def _features(self, layer: str) -> list[Feature]:
        return list(self.artwork.features("copper-top" if layer == "top" else "copper-bottom"))

    def _store(self, name: str, draw: Any) -> None:
        x0, y0, x1, y1 = (c * mm for c in self.bounds)
        edge = AIR * mm
        self.paper.canvas.beginForm(name, x0 - edge, y0 - edge, x1 + edge, y1 + edge)
        draw()
        self.paper.canvas.endForm()

    def _holes(self) -> None:
        for drill in self.artwork.drills:
            self.paper.area(_rings(drill.shape), HOLES, "#7d8a90")

    def _draw(self, features: Iterable[Feature], colour: str) -> None:
        for f in features:
            if isinstance(f, Stroke):
                self.paper.line(f.points, f.width, colour, round_=True)
            else:
                self.paper.area(_rings(f.shape), colour)

    def _lit(self, net: str, near: str, far: str) -> tuple[str, str, str]:
        """Return the forms that light a net: its pour, its copper on the far side, its copper on the near one."""
        if (net, near) not in self._nets:
            names = tuple(f"lit-{len(self._nets)}-{what}" for what in ("pour", "far", "near"))
            for name, layer, poured, colour in zip(
                names, (near, far, near), (True, False, False), (POURED, LIT_FAR, LIT), strict=True
            ):
                found = [f for f in self._features(layer) if _poured(f) == poured and _net(f) == net]
                self._store(name, partial(self._draw, found, colour))
            self._nets[net, near] = (names[0], names[1], names[2])
        return self._nets[net, near]

    def _part(self, placed: PlacedPart) -> None:
        for shown in part_shapes(placed, self.artwork.mark(placed)):
            if shown.sort == "lead":
                self.paper.line(shown.points, shown.width, shown.fill)
            elif shown.sort == "mark":
                self.paper.line(shown.points, shown.width, "#000000")
            else:
                self.paper.area([shown.points], shown.fill, "#333333" if shown.sort == "body" else "", 0.12)

    def _marks(self, view: View, marks: Sequence[Mark]) -> None:
        size = max(4.5, min(8.0, 4.2 * view.scale))
        at = [view.place(mark.at) for mark in marks]
        wide = [self.paper.length(mark.label, BOLD, size) for mark in marks]
        radius = max(1.1, 1.15 * view.scale)
        high = 0.73 * size / mm  # of figures
        for mark, (x, y), width, (tx, ty) in zip(
            marks, at, wide, label_places(marks, at, wide, radius, high), strict=True
        ):
            if mark.sort == "name":
                self._label(x - width / 2, y - 0.8, mark.label, size, INK)
                continue
            self.paper.ring((x, y), radius, 1.0, "#ffffff")
            if mark.behind:
                self.paper.canvas.setDash(0.75 * mm, 0.6 * mm)
            self.paper.ring((x, y), radius, 0.55, mark.colour or MARKS.get(mark.sort, INK))
            self.paper.canvas.setDash()
            self._label(tx - width / 2, ty - high / 2, mark.label, size, MARKS.get(mark.sort, INK))

    def _label(self, x: float, y: float, text: str, size: float, colour: str) -> None:
        """Type with a white rim, so that it can be read on copper."""
        canvas = self.paper.canvas
        words = canvas.beginText(x * mm, y * mm)
        words.setFont(BOLD, size)
        words.setTextRenderMode(1)
        canvas.saveState()
        self.paper.pen(0.6, "#ffffff", round_=True)
        words.textOut(self.paper.known(text))
        words.setTextRenderMode(0)
        canvas.drawText(words)
        canvas.restoreState()
        self.paper.type(x, y, text, BOLD, size, colour)


class _Turned:
    """The canvas in board millimetres as seen from one side, for the time of a block."""

    def __init__(self, paper: Paper, view: View) -> None:
        self._canvas, self._view = paper.canvas, view

    def __enter__(self) -> None:
        view = self._view
        x, y = view.place((0.0, 0.0))
        self._canvas.saveState()
        self._canvas.translate(x * mm, y * mm)
        self._canvas.scale(-view.scale if view.side == "bottom" else view.scale, view.scale)

    def __exit__(self, *_: object) -> None:
        self._canvas.restoreState()


def _net(feature: Feature) -> str:
    return feature.owner.net or f"{feature.owner.reference}.{feature.owner.number}"


def _poured(feature: Feature) -> bool:
    return not isinstance(feature, Flash | Stroke)


def _rings(shape: Shape) -> list[list[Position]]:
    area = shape.polygon(6)
    return [[(float(x), float(y)) for x, y in ring.coords[:-1]] for ring in (area.exterior, *area.interiors)]
