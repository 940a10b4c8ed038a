"""What copper does to a current: resistance of tracks and plated holes, and what a plated hole carries.

Resistivity and its temperature coefficient are those of annealed copper, IEC 60028.  35 µm is the conservative
thickness for a finished outer layer of 1 oz, plating not counted.
"""

from __future__ import annotations

import math

from modboard.calc.current import FOIL, area_current

RESISTIVITY = 1 / 58  # Ω·mm²/m at 20 °C, IEC 60028
TEMPERATURE_COEFFICIENT = 0.00393  # per kelvin at 20 °C, IEC 60028
PLATING = 0.020  # mm, average in the hole for classes 1 and 2, IPC-6012 (from memory)


def resistivity(celsius: float = 20.0) -> float:
    """Return copper's resistivity in Ω·mm²/m at `celsius` °C."""
    return RESISTIVITY * (1 + TEMPERATURE_COEFFICIENT * (celsius - 20.0))


def track_resistance(length: float, width: float, copper: float = FOIL, celsius: float = 20.0) -> float:
    """Return the resistance in Ω of a track; `length`, `width` and foil thickness `copper` in mm.

    >>> round(track_resistance(100, 1.0), 6)
    0.049261
    """
    _positive(length=length, width=width, copper=copper)
    return resistivity(celsius) * (length / 1000) / (width * copper)


def sheet_resistance(copper: float = FOIL, celsius: float = 20.0) -> float:
    """Return the resistance in Ω of a square of foil `copper` mm thick."""
    return track_resistance(1.0, 1.0, copper, celsius)


def via_area(hole: float, plating: float = PLATING) -> float:
    """Return the copper cross-section in mm² of the barrel of a hole of finished diameter `hole` mm."""
    _positive(hole=hole, plating=plating)
    return math.pi * ((hole / 2 + plating) ** 2 - (hole / 2) ** 2)


def via_resistance(hole: float, thickness: float = 1.6, plating: float = PLATING, celsius: float = 20.0) -> float:
    """Return the resistance in Ω from one side of a board `thickness` mm thick to the other."""
    _positive(thickness=thickness)
    return resistivity(celsius) * (thickness / 1000) / via_area(hole, plating)


def via_current(hole: float, plating: float = PLATING, rise: float = 10.0, *, internal: bool = True) -> float:
    """Return the current in A a plated hole carries at `rise` K, by the IPC-2221 fit (common practice).

    The inner-layer constant is the cautious choice and the default.
    """
    return area_current(via_area(hole, plating), rise, internal=internal)


def via_inductance(hole: float, thickness: float = 1.6) -> float:
    """Return the inductance in nH of a plated hole (Johnson and Graham's formula; lengths in mm)."""
    _positive(hole=hole, thickness=thickness)
    return 0.2 * thickness * (math.log(4 * thickness / hole) + 1)


def _positive(**lengths: float) -> None:
    for name, value in lengths.items():
        if not (math.isfinite(value) and value > 0):
            raise ValueError(f"{name} must be more than 0 mm, not {value:g}")
