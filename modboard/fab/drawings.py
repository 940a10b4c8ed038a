"""Assembly and drill drawings as Gerber drawing layers (GLFS, table of .FileFunction: AssemblyDrawing and Drillmap)."""

from __future__ import annotations

from modboard.artwork import drawings
from modboard.artwork.model import Artwork, Stroke
from modboard.fab.attributes import file_attributes
from modboard.fab.gerber_adapter import LayerWriter
from modboard.fab.names import ASSEMBLY_FILES, DRILL_DRAWING
from modboard.layout.board import CopperLayer

FUNCTION = "NonMaterial"  # GLFS 5.6.10: drawing items that stand for nothing made


def assembly_drawing(artwork: Artwork, side: CopperLayer, *, created: str | None = None) -> str | None:
    """Return the assembly drawing of one side, None if no part sits there."""
    return _written(artwork, drawings.assembly_drawing(artwork.board, side), ASSEMBLY_FILES[side][1], created)


def drill_drawing(artwork: Artwork, *, created: str | None = None) -> str | None:
    """Return the drill drawing, None if there are no holes."""
    return _written(artwork, drawings.drill_drawing(artwork), DRILL_DRAWING[1], created)


def _written(artwork: Artwork, strokes: tuple[Stroke, ...], function: str, created: str | None) -> str | None:
    if not strokes:
        return None
    writer = LayerWriter(file_attributes(artwork, function, "Positive", created))
    for stroke in strokes:
        reference = stroke.owner.reference
        writer.draw(stroke.points, stroke.width, FUNCTION, ((".C", (reference,)),) if reference else ())
    return writer.text()
