"""Footprints and devices, read from the data under `footprints/` and sized by published formulas."""

from modboard.library.footprints import footprint, footprint_families, footprint_names

__all__ = ["footprint", "footprint_families", "footprint_names"]
