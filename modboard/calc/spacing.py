"""The gap between conductors that a voltage needs: IPC-2221 table 6-1.

Functional spacing only: insulation from the mains is a matter for the product's safety standard.
"""

from __future__ import annotations

import math
from typing import Literal

Column = Literal["B1", "B2", "B3", "B4", "A5", "A6", "A7"]

COLUMN_MEANING: dict[Column, str] = {
    "B1": "inside the board",
    "B2": "outside, uncoated, to 3050 m",
    "B3": "outside, uncoated, above 3050 m",
    "B4": "outside, under solder mask",
    "A5": "outside, conformal coat on the assembly",
    "A6": "component leads, uncoated, to 3050 m",
    "A7": "component leads, conformal coat",
}
COLUMNS: tuple[Column, ...] = ("B1", "B2", "B3", "B4", "A5", "A6", "A7")

BANDS: tuple[tuple[float, tuple[float, ...]], ...] = (  # (up to V peak, mm for each column), IPC-2221 table 6-1
    (15, (0.05, 0.1, 0.1, 0.05, 0.13, 0.13, 0.13)),
    (30, (0.05, 0.1, 0.1, 0.05, 0.13, 0.25, 0.13)),
    (50, (0.1, 0.6, 0.6, 0.13, 0.13, 0.4, 0.13)),
    (100, (0.1, 0.6, 1.5, 0.13, 0.13, 0.5, 0.13)),
    (150, (0.2, 0.6, 3.2, 0.4, 0.4, 0.8, 0.4)),
    (170, (0.2, 1.25, 3.2, 0.4, 0.4, 0.8, 0.4)),
    (250, (0.2, 1.25, 6.4, 0.4, 0.4, 0.8, 0.4)),
    (300, (0.2, 1.25, 12.5, 0.4, 0.4, 0.8, 0.8)),
    (500, (0.25, 2.5, 12.5, 0.8, 0.8, 1.5, 0.8)),
)
ABOVE_500 = (0.0025, 0.005, 0.025, 0.00305, 0.00305, 0.00305, 0.00305)  # mm per V above 500 V


def spacing(volts: float, column: Column = "B4") -> float:
    """Return the least gap in mm between conductors that differ by `volts` V (DC or AC peak; the sign is ignored).

    `column` is the table's: "B4" under solder mask, "B2" bare; see `COLUMN_MEANING`.
    Raises ValueError for a voltage that is not a finite number or a column the table has not.

    >>> spacing(40, "B2")
    0.6
    """
    if column not in COLUMNS:
        raise ValueError(f"IPC-2221 table 6-1 has no column {column!r}; its columns are {', '.join(COLUMNS)}")
    if not math.isfinite(volts):
        raise ValueError(f"voltage {volts} is not a finite number")
    index = COLUMNS.index(column)
    size = abs(volts)
    for up_to, gaps in BANDS:
        if size <= up_to:
            return gaps[index]
    return BANDS[-1][1][index] + (size - 500) * ABOVE_500[index]
