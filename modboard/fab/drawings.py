"""Drawings for people at the board house, as Gerber drawing layers: where the parts go, and what is drilled where.

Everything is seen from the top, as GLFS 6.3 asks of every layer; words on the bottom's drawing are mirrored, so that
they read from below.
"""

from __future__ import annotations

from collections.abc import Sequence

import shapely

from modboard.artwork import font
from modboard.artwork.model import Artwork, Drill
from modboard.fab.attributes import APERTURE_FUNCTION, Attributes, file_attributes
from modboard.fab.components import is_listed, outlines
from modboard.fab.drill import tools_of
from modboard.fab.gerber_adapter import LayerWriter
from modboard.fab.names import ASSEMBLY_FILES, DRILL_DRAWING
from modboard.fab.positions import body_centre
from modboard.geometry import Position
from modboard.layout.board import CopperLayer

PEN, FINE_PEN = 0.15, 0.1  # mm
WORDS, SMALLEST_WORDS = 1.2, 0.5  # mm, height of capitals
ROW = 2.2  # mm from line to line of the table
FUNCTION = "NonMaterial"  # GLFS 5.6.10: drawing items that stand for nothing made


def assembly_drawing(artwork: Artwork, side: CopperLayer, *, created: str | None = None) -> str | None:
    """Return the assembly drawing of one side: edge, bodies with their references, first pads; None without parts."""
    parts = [p for p in artwork.board.parts if is_listed(p) and p.body_side == side]
    if not parts:
        return None
    writer = _started(artwork, ASSEMBLY_FILES[side][1], created)
    nets = artwork.board.description.net_of()
    for placed in parts:
        attributes = ((".C", (placed.part.reference,)),)
        for _, outline in outlines(placed):
            writer.draw([*outline, outline[0]], PEN, FUNCTION, attributes)
        for pad in placed.pads(nets)[:1]:
            writer.draw(_ring(pad.at, 0.6), FINE_PEN, FUNCTION, attributes)
        x0, y0, x1, y1 = shapely.MultiPoint([p for _, outline in outlines(placed) for p in outline]).bounds
        long, short = max(x1 - x0, y1 - y0), min(x1 - x0, y1 - y0)
        height = min(WORDS, 0.7 * short, 0.8 * long / max(font.length(placed.part.reference, 1.0), 0.1))
        turn = 90.0 if y1 - y0 > x1 - x0 else 0.0
        _letter(writer, placed.part.reference, body_centre(placed), max(height, SMALLEST_WORDS), turn, side, attributes)
    return writer.text()


def drill_drawing(artwork: Artwork, *, created: str | None = None) -> str | None:
    """Return the drill drawing: a ring and the tool's letter at each hole, and a table below; None without holes."""
    kinds = [
        (plated, size, drills)
        for plated in (True, False)
        for size, drills in tools_of([d for d in artwork.drills if d.plated is plated])
    ]
    if not kinds:
        return None
    writer = _started(artwork, DRILL_DRAWING[1], created)
    x0, y0, *_ = artwork.board.outline.bounds
    for number, (plated, size, drills) in enumerate(kinds):
        letter = tool_letter(number)
        for drill in drills:
            for line in _hole_marks(drill):
                writer.draw(line, FINE_PEN, FUNCTION)
            at = (drill.at[0] + size / 2 + 0.35, drill.at[1] + size / 2 + 0.35)
            _letter(writer, letter, at, 0.8, 0.0, "top")
        words = f"{letter}  {size:.2f} MM  {'PLATED' if plated else 'BARE'}  {len(drills)} X"
        words += f"  {APERTURE_FUNCTION[drills[0].function]}" + ("  SLOTS" if any(d.to for d in drills) else "")
        for line in font.text(words, (x0, y0 - ROW * (number + 2)), WORDS):
            writer.draw(line, PEN, FUNCTION)
    for line in font.text("FINISHED HOLES, SEEN FROM THE TOP", (x0, y0 - ROW), WORDS):
        writer.draw(line, PEN, FUNCTION)
    return writer.text()


def tool_letter(number: int) -> str:
    """Return A to Z, then AA and so on."""
    return (tool_letter(number // 26 - 1) if number >= 26 else "") + chr(ord("A") + number % 26)


def _started(artwork: Artwork, function: str, created: str | None) -> LayerWriter:
    """Return a drawing with the board's edge on it."""
    writer = LayerWriter(file_attributes(artwork, function, "Positive", created))
    for ring in (artwork.board.outline.exterior, *artwork.board.outline.interiors):
        writer.draw(list(ring.coords), PEN, FUNCTION)
    return writer


def _hole_marks(drill: Drill) -> list[Sequence[Position]]:
    """Return the hole's own outline and the cross of its centre lines."""
    x, y = drill.at
    reach = drill.diameter / 2 + 0.2
    return [
        list(drill.shape.polygon(8).exterior.coords),
        [(x - reach, y), (x + reach, y)],
        [(x, y - reach), (x, y + reach)],
    ]


def _ring(at: Position, diameter: float) -> list[Position]:
    return list(shapely.Point(at).buffer(diameter / 2, quad_segs=4).exterior.coords)


def _letter(
    writer: LayerWriter,
    words: str,
    at: Position,
    height: float,
    turn: float,
    side: CopperLayer,
    attributes: Attributes = (),
) -> None:
    for line in font.text(words, at, height, turn, mirrored=side == "bottom", align="centre"):
        writer.draw(line, FINE_PEN, FUNCTION, attributes)
