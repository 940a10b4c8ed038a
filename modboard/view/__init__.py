"""Pictures of the artwork: SVG sheets to scale, and PNG made from them."""

from modboard.view.pictures import pictures as pictures

__all__ = ["pictures"]
