"""Rule sets: every number a board must keep to, each with its source."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True)
class Rules:
    """The limits of one way of making a board.  All lengths mm.

    `level` is the IPC-2221 producibility level (A easy, B standard, C reduced) that lands and holes are computed at.
    """

    name: str
    title: str
    level: Literal["A", "B", "C"]
    track: float  # default and least track width
    gap: float  # least copper gap between nets
    via_hole: float  # finished
    via_land: float
    ring_via: float  # least annular ring of a via
    ring_pad: float  # least annular ring of a component pad
    hole_min: float
    hole_max: float
    hole_to_hole: float  # wall to wall
    bare_hole_to_copper: float
    copper_to_edge: float
    mask_expansion: float  # per side; 0 with `mask` False
    mask_web: float
    mask_to_copper: float
    mask: bool
    legend: bool
    legend_line: float
    legend_height: float
    legend_to_copper: float
    thermal_spoke: float
    thermal_gap: float
    pour_gap: float
    pour_neck: float  # narrowest copper in a pour
    outline_tolerance: float
    cutter: float  # router bit diameter, for inside corners
    thickness: float  # board
    copper: float  # foil thickness, mm
    tent_vias_up_to: float  # finished hole
    part_gap: float  # courtyard to courtyard
    part_to_edge: float
    pad_land_min: float = 0.0  # least land of a plated or drilled pad (home etching)
    temperature_rise: float = 10.0  # K, for width from amps
    layers_plated: bool = True  # False: home etching, vias are wire links
    sources: tuple[tuple[str, str], ...] = ()  # (field, source)

    def source(self, field: str) -> str:
        """Return where the figure for `field` comes from."""
        return dict(self.sources).get(field, "")
