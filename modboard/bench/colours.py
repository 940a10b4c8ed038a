"""What a screen shows for the colours of wire and of resistor bands.

Wire is named by IEC 60757, bands by IEC 60062; red and black wire are kept for supply and ground (common practice).
"""

from __future__ import annotations

WIRE_COLOURS = {
    "red": "#c8102e", "black": "#1c1c1c", "yellow": "#f2c500", "blue": "#1f5fbf", "green": "#2e8b3d",
    "white": "#f4f4f0", "orange": "#ee7700", "violet": "#7a3e9d", "grey": "#8c8c8c", "brown": "#7b4a21",
    "pink": "#ee9ab5", "turquoise": "#19b0a8",
}  # fmt: skip
BAND_COLOURS = {
    name: WIRE_COLOURS[name]
    for name in ("black", "brown", "red", "orange", "yellow", "green", "blue", "violet", "grey", "white")
} | {"gold": "#c59b2d", "silver": "#b9bdc2"}
