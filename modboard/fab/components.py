"""Component layers (Gerber X3): where each fitted part sits, its outline and its pins, one file for each side.

After Ucamco's Gerber Layer Format Specification (GLFS), 6.9: the middle of the body is a flash of 0.3 mm with all that
is known of the part, the outline a closed line of 0.1 mm, the key pin a square of 0.36 mm standing on a corner and
every other pin a dot of 0.1 mm.
"""

from __future__ import annotations

from modboard.artwork.drawings import is_assembled
from modboard.artwork.model import Artwork
from modboard.fab.attributes import Attributes, component_attributes, file_attributes
from modboard.fab.gerber_adapter import LayerWriter
from modboard.fab.names import COMPONENT_FILES
from modboard.fab.positions import body_centre
from modboard.geometry import Position
from modboard.layout.board import CopperLayer, PlacedPart
from modboard.library.model import PadForm

MAIN, PIN, OUTLINE_PEN, KEY_PIN = 0.3, 0.1, 0.1, 0.36  # mm, GLFS 6.9


def component_layer(artwork: Artwork, side: CopperLayer, *, created: str | None = None) -> str | None:
    """Return the component layer of one side, or None if no fitted part sits there."""
    parts = [p for p in artwork.board.parts if is_assembled(p) and p.body_side == side]
    if not parts:
        return None
    _, function, polarity = COMPONENT_FILES[side]
    writer = LayerWriter(file_attributes(artwork, function, polarity, created))
    nets = artwork.board.description.net_of()
    for placed in parts:
        part = component_attributes(placed)
        writer.flash(PadForm("round", MAIN, MAIN), body_centre(placed), 0.0, "ComponentMain", part)
        for kind, outline in outlines(placed):
            writer.draw([*outline, outline[0]], OUTLINE_PEN, f"ComponentOutline,{kind}", part[:1])
        for number, pad in enumerate(placed.pads(nets)):
            pin = (pad.reference, pad.number) + ((pad.pin_name,) if pad.pin_name else ())
            attributes: Attributes = (*part[:1], (".P", pin), (".N", (pad.net or "N/C",)))
            if number == 0:
                writer.key_pin(pad.at, KEY_PIN, "ComponentPin", attributes)
            else:
                writer.flash(PadForm("round", PIN, PIN), pad.at, 0.0, "ComponentPin", attributes)
    return writer.text()


def outlines(placed: PlacedPart) -> list[tuple[str, tuple[Position, ...]]]:
    """Return the outline of each body as seen from the top; the courtyard's where a part has no body."""
    bodies = [("Body", body.outline) for body in placed.bodies()]
    return bodies or [("Courtyard", placed.courtyard())]
