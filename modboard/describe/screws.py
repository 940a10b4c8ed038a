"""Clearance holes and the room a screw head and its washer need."""

from __future__ import annotations

from dataclasses import dataclass

from modboard.describe import measures
from modboard.describe.model import MountingHole
from modboard.errors import CallSite, DesignError
from modboard.geometry import Position


@dataclass(frozen=True)
class Screw:
    """A metric screw: medium clearance hole (ISO 273) and plain washer (ISO 7089), diameters in mm."""

    clearance: float
    washer: float


SCREWS = {  # ISO 273 medium series; ISO 7089, M3.5 by its neighbours (from memory)
    "M2": Screw(2.4, 5.0),
    "M2.5": Screw(2.9, 6.0),
    "M3": Screw(3.4, 7.0),
    "M3.5": Screw(3.9, 8.0),
    "M4": Screw(4.5, 9.0),
}
ROUND_WASHER = 0.5  # mm kept free outside the washer, common practice


def mounting_hole(
    at: object, screw: object, diameter: object, keep_out: object, name: object, site: CallSite
) -> MountingHole:
    """Return a bare hole for a `screw` ("M3") or of `diameter` mm, with its keep-out (a diameter, mm)."""
    centre: Position = measures.position(at, "place of the hole", site)
    words = measures.text(name, "name of the hole", site)
    if (screw is None) == (diameter is None):
        raise DesignError('a hole needs either screw="M3" or diameter= in mm', site)
    if screw is not None:
        size = SCREWS[measures.choice(screw, "screw", SCREWS, site)]
        hole, free = size.clearance, size.washer + 2 * ROUND_WASHER
    else:
        hole = measures.length(diameter, "diameter of the hole", site)
        free = _washer_for(hole) + 2 * ROUND_WASHER
    if keep_out is not None:
        free = measures.length(keep_out, "keep_out of the hole", site)
        if free < hole:
            raise DesignError(f"keep_out {free:g} mm is smaller than the hole of {hole:g} mm", site)
    return MountingHole(centre, hole, free, words)


def _washer_for(hole: float) -> float:
    """Return the washer of the largest screw that passes `hole`, or one of the same proportion."""
    passing = [s.washer for s in SCREWS.values() if s.clearance <= hole]
    return max([*passing, 2.0 * hole])
