"""The named rule sets as a table: field, then (figure, source) for each set.

"pool" is the easy tier that any pooled fabrication service makes without a query and a soldering iron forgives,
"fine" what the same services make at their standard price, "home" one's own etching with toner or film.
Figures marked *capability tables* are the common ground of several makers' published tables; *common practice*
marks what has no better source.
"""

from __future__ import annotations

from typing import Any

NAMES = ("pool", "fine", "home")

TITLES = {
    "pool": "pooled fabrication, easy tier",
    "fine": "pooled fabrication, standard tier",
    "home": "home etching, wire links for vias, no mask, no legend",
}

_EASY = "capability tables, easy tier"
_STANDARD = "capability tables, standard tier"
_HOME = "home etching limits, common practice"
_PRACTICE = "common practice"
_LEVEL_A = "IPC-2221 producibility level A, preferred: land = hole + 2 × 0.05 + 0.60 gives a ring of 0.35"
_LEVEL_B = "IPC-2221 producibility level B, standard: land = hole + 2 × 0.05 + 0.50 gives a ring of 0.30"

Cell = tuple[Any, str]

TABLE: dict[str, tuple[Cell, Cell, Cell]] = {  # lengths in mm
    "level": (("A", _LEVEL_A), ("B", _LEVEL_B), ("A", _LEVEL_A)),
    "track": (
        (0.25, _EASY),
        (0.20, "capability tables, standard tier: 0.15, some ask 0.20 at 35 µm"),
        (0.40, "home etching, safe with toner and with film, common practice"),
    ),
    "gap": (
        (0.25, _EASY),
        (0.20, "capability tables, standard tier: 0.15, some ask 0.20 at 35 µm"),
        (0.40, "home etching, safe with toner and with film, common practice"),
    ),
    "via_hole": ((0.6, _EASY), (0.3, _STANDARD), (0.8, "home etching: wire link in a 0.8 hole, common practice")),
    "via_land": (
        (1.1, "hole + 2 × ring"),
        (0.7, "capability tables: 0.3 hole in a land of 0.6 to 0.7"),
        (2.0, "home etching: land of a wire link, common practice"),
    ),
    "ring_via": ((0.25, _EASY), (0.20, _STANDARD), (0.50, "home etching: ring 0.5 to 0.6, common practice")),
    "ring_pad": (
        (0.30, "between the easy tier's 0.35 and the standard tier's 0.25: a track passes between header lands"),
        (0.25, _STANDARD),
        (0.35, "hole centring by hand ±0.3 (common practice) + 0.05 external ring (IPC-2221 table 9-2)"),
    ),
    "hole_min": ((0.6, _EASY), (0.3, _STANDARD), (0.6, "thinnest drill that survives in the hand, common practice")),
    "hole_max": ((6.0, _EASY), (6.3, "capability tables: above 6.3 routed"), (6.0, _HOME)),
    "hole_to_hole": ((0.60, _EASY), (0.45, _STANDARD), (1.0, _HOME)),
    "bare_hole_to_copper": ((0.40, _EASY), (0.30, _STANDARD), (0.50, _HOME)),
    "copper_to_edge": ((0.50, _EASY), (0.30, _STANDARD), (1.0, "sawn and filed edge, common practice")),
    "copper_to_score": (
        (0.8, "capability tables: 0.8 from the groove's middle"),
        (0.8, "capability tables: 0.8 from the groove's middle"),
        (1.0, "sawn and filed edge, common practice"),
    ),
    "mask_expansion": ((0.10, _EASY), (0.075, _STANDARD), (0.0, "no mask")),
    "mask_web": ((0.20, _EASY), (0.15, "capability tables: 0.10 green, 0.15 other colours"), (0.0, "no mask")),
    "mask_to_copper": ((0.10, _EASY), (0.075, _STANDARD), (0.0, "no mask")),
    "mask": ((True, _EASY), (True, _STANDARD), (False, _HOME)),
    "legend": ((True, _EASY), (True, _STANDARD), (False, _HOME)),
    "legend_line": ((0.15, _EASY), (0.15, _STANDARD), (0.25, "text in copper, home etching, common practice")),
    "legend_height": ((1.0, _EASY), (0.8, _STANDARD), (1.5, "text in copper, home etching, common practice")),
    "legend_to_copper": ((0.15, _EASY), (0.10, _STANDARD), (0.40, _HOME)),
    "thermal_spoke": (
        (0.40, _EASY),
        (0.30, _STANDARD),
        (0.50, "no thinner than the track, rounded up, common practice"),
    ),
    "thermal_gap": ((0.40, _EASY), (0.35, _STANDARD), (0.40, "fills kept 0.4 away, home etching, common practice")),
    "pour_gap": (
        (0.30, "a little over the gap of the tier, so that a pour still passes between 2.54 mm pins, common practice"),
        (0.20, "the gap of the tier"),
        (0.40, "fills kept 0.4 away, home etching, common practice"),
    ),
    "pour_neck": (
        (0.25, "never below the least track of the tier"),
        (0.20, "never below the least track of the tier"),
        (0.40, "never below the least track of the tier"),
    ),
    "outline_tolerance": ((0.25, _EASY), (0.20, "capability tables: routed ±0.15 to 0.20"), (0.50, _PRACTICE)),
    "cutter": (
        (2.4, "capability tables: 2.0 to 2.4 cutter"),
        (1.0, "capability tables: inner cut of 1.0"),
        (2.0, "round needle file, common practice"),
    ),
    "thickness": ((1.6, _EASY), (1.6, _STANDARD), (1.6, _PRACTICE)),
    "copper": (
        (0.035, "1 oz nominal; plating not counted, conservative"),
        (0.035, "1 oz nominal; plating not counted, conservative"),
        (0.035, "1 oz nominal"),
    ),
    "tent_vias_up_to": (
        (0.6, "common practice: leave open above 0.6"),
        (0.4, "common practice: tent up to 0.3 to 0.4"),
        (0.0, "no mask"),
    ),
    "part_gap": (
        (0.0, "courtyards may touch, not overlap: IPC-7351"),
        (0.0, "courtyards may touch, not overlap: IPC-7351"),
        (0.0, "courtyards may touch, not overlap: IPC-7351"),
    ),
    "part_to_edge": (
        (0.5, "1.0 from the body for work by hand (common practice), of which a level A courtyard holds 0.5"),
        (0.5, "1.0 from the body for work by hand (common practice), rounded to half beyond the courtyard"),
        (0.5, "1.0 from the body for work by hand (common practice), of which a level A courtyard holds 0.5"),
    ),
    "pad_land_min": ((0.0, "lands as computed"), (0.0, "lands as computed"), (2.0, "home etching, common practice")),
    "temperature_rise": (
        (10.0, "IPC-2221 chart, its lowest rise, in K"),
        (10.0, "IPC-2221 chart, its lowest rise, in K"),
        (10.0, "IPC-2221 chart, its lowest rise, in K"),
    ),
    "quiet_gap": (
        (0.75, "three of the least track widths, common practice against crosstalk"),
        (0.60, "three of the least track widths, common practice against crosstalk"),
        (1.20, "three of the least track widths, common practice against crosstalk"),
    ),
    "one_sided": ((False, _EASY), (False, _STANDARD), (False, "home etching: two sides unless asked for")),
    "layers_plated": ((True, _EASY), (True, _STANDARD), (False, "home etching: wire links, common practice")),
}


def column(name: str) -> tuple[dict[str, Any], tuple[tuple[str, str], ...]]:
    """Return the figures of the set `name` by field, and (field, source) pairs in table order."""
    index = NAMES.index(name)
    figures = {field: cells[index][0] for field, cells in TABLE.items()}
    return figures, tuple((field, cells[index][1]) for field, cells in TABLE.items())
