"""Layers that show what is not there: negative images (IPNEG) and files that say they are negatives.

Copper is all of the board's area but what such a file shows.  Section numbers: Ucamco, Gerber Layer Format
Specification (GLFS); IPNEG is among its deprecated commands (8.1.4).
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from modboard.fab.readback.layer import ReadLayer, ReadObject
from modboard.fab.readback.trouble import ReadError


def is_negative(layer: ReadLayer) -> bool:
    """Tell whether a layer shows the reverse of what its kind shows as a rule: masks as a rule show openings."""
    polarity = layer.attributes.get(".FilePolarity", ("",))[0].lower()
    usual = "negative" if layer.function.startswith("Soldermask") else "positive"
    return layer.negative is not (polarity not in ("", usual))


def turned_round(layer: ReadLayer, board: Any) -> ReadLayer:
    """Return the layer with the board's area filled first and every object's polarity reversed.

    Raises ReadError where the board has no edge, and for layers other than copper and mask.
    """
    if not layer.function.startswith(("Copper", "Soldermask")):
        raise ReadError(layer.name, 1, "is a negative image of something that is no copper and no mask; it is not read")
    if board is None:
        raise ReadError(layer.name, 1, "is a negative image, and no file shows the board's edge that would bound it")
    ground = ReadObject("region", True, board, 0.0, {}, 1)
    objects = tuple(replace(o, dark=not o.dark) for o in layer.objects)
    words = f"{layer.name}:1: is a negative: all of the board's area is taken but what the file shows"
    return replace(layer, objects=(ground, *objects), negative=False, warnings=(*layer.warnings, words))
