"""How much current a track may carry, and how wide a track a current needs.

The fit I = k · ΔT^0.44 · A^0.725 of IPC-2221 (its Figure 6-4), with A in square mils, ΔT in kelvin above ambient.
The charts behind it reach from 10 to 100 K, up to 35 A outside and 17.5 A inside the board, about 10 mm of
width and 0.5 to 3 oz of copper; outside these limits the functions refuse rather than guess.  The fit is
conservative for boards with planes; IPC-2152 is the newer, more elaborate method.
"""

from __future__ import annotations

import math

EXTERNAL = 0.048  # k, outer layers, IPC-2221
INTERNAL = 0.024  # k, inner layers: half
RISE_EXPONENT = 0.44
AREA_EXPONENT = 0.725
MIL = 0.0254  # mm
FOIL = 0.035  # mm, 1 oz

RISE_LIMITS = (10.0, 100.0)  # K
COPPER_LIMITS = (0.0175, 0.105)  # mm, 0.5 to 3 oz
WIDEST = 10.0  # mm, about 400 mil
GREATEST_EXTERNAL = 35.0  # A
GREATEST_INTERNAL = 17.5  # A


def track_current(width: float, copper: float = FOIL, rise: float = 10.0, *, internal: bool = False) -> float:
    """Return the current in A that heats a track by `rise` K.

    `width` and `copper` (foil thickness) are in mm.  Raises ValueError outside the charts' limits.

    >>> round(track_current(1.0), 3)
    2.392
    """
    _within("track width", width, (0.0, WIDEST), "mm")
    _within("copper thickness", copper, COPPER_LIMITS, "mm")
    current = area_current(width * copper, rise, internal=internal)
    _within("current", current, (0.0, GREATEST_INTERNAL if internal else GREATEST_EXTERNAL), "A")
    return current


def track_width(amps: float, copper: float = FOIL, rise: float = 10.0, *, internal: bool = False) -> float:
    """Return the track width in mm that `amps` A needs to stay within `rise` K.

    `copper` is the foil thickness in mm.  Raises ValueError outside the charts' limits.

    >>> round(track_width(2.0), 4)
    0.7814
    """
    _within("current", amps, (0.0, GREATEST_INTERNAL if internal else GREATEST_EXTERNAL), "A")
    _within("copper thickness", copper, COPPER_LIMITS, "mm")
    _within("temperature rise", rise, RISE_LIMITS, "K")
    k = INTERNAL if internal else EXTERNAL
    area = float((amps / (k * rise**RISE_EXPONENT)) ** (1 / AREA_EXPONENT)) * MIL**2
    width = area / copper
    if width > WIDEST:
        raise ValueError(f"{amps:g} A needs a track of {width:.1f} mm, beyond the {WIDEST:g} mm that IPC-2221 charts")
    return width


def area_current(area: float, rise: float = 10.0, *, internal: bool = False) -> float:
    """Return the current in A for a conductor of cross-section `area` mm² (a track or a via's barrel)."""
    _within("conductor area", area, (0.0, math.inf), "mm²")
    _within("temperature rise", rise, RISE_LIMITS, "K")
    k = INTERNAL if internal else EXTERNAL
    return float(k * rise**RISE_EXPONENT * (area / MIL**2) ** AREA_EXPONENT)


def _within(what: str, value: float, limits: tuple[float, float], unit: str) -> None:
    least, greatest = limits
    if not (math.isfinite(value) and least <= value <= greatest):
        raise ValueError(f"{what} {value:g} {unit} is outside {least:g} to {greatest:g} {unit}")
