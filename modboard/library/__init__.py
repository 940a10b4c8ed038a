"""Footprints and devices, read from the data under `footprints/` and sized by published formulas."""

from modboard.library.devices import device, device_names
from modboard.library.footprints import footprint, footprint_families, footprint_names

__all__ = ["device", "device_names", "footprint", "footprint_families", "footprint_names"]
