"""Hole, land and courtyard sizes computed from lead and package sizes.  All lengths mm.

`level` everywhere is the IPC-2221 producibility level: "A" general (easy), "B" moderate, "C" high (hard).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

Level = Literal["A", "B", "C"]

HOLE_ALLOWANCE = {"A": 0.25, "B": 0.20, "C": 0.15}  # least finished hole over greatest lead, IPC-2222 table 9-5
EXTERNAL_RING = 0.05  # least external ring of a supported hole, IPC-2221 table 9-2
LAND_ALLOWANCE = {"A": 0.60, "B": 0.50, "C": 0.40}  # fabrication allowance of the land-pattern levels, IPC-7251 draft
COURTYARD_EXCESS = {"A": 0.50, "B": 0.25, "C": 0.10}  # IPC-7351B tables 3-2 to 3-5; used for leaded parts as well
STEP = 0.05  # holes and lands are rounded up to this, IPC-7251 draft
PLACEMENT = FABRICATION = 0.05  # P and F of the IPC-7351B land equations (from memory)

FINE_STEP = 0.01  # the same where lands are so cramped that rounding would cost the ring

# By level as published capability tables have it for the easy, the standard and the reduced tier.  Where lands have
# room the formula gives the easy tier's ring of 0.35; between header pins 0.30, still above the standard tier's 0.25,
# is what lets a track through.
KEPT_RING = {"A": 0.30, "B": 0.25, "C": 0.20}  # component ring
ROW_GAP = {"A": 0.40, "B": 0.30, "C": 0.25}  # between lands of one part: mask web and two expansions; copper gap at C
HOME_RING = 0.35  # ring kept when lands are enlarged for home etching: no track passes between pins there
HOME_ROW_GAP = 0.40  # the same when lands are enlarged for home etching: safe gap of toner transfer (common practice)
LEAST_GAP = 0.25  # copper gap kept where pitch and leads leave no choice, easy tier
CHANNEL = 0.25 + 0.25 + 0.25 + 0.01  # a 0.25 track with 0.25 either side, easy tier, and a hair to spare
CHANNEL_PITCH = 2.54  # pitch from which lands in a row leave that channel free where their rings allow


def diagonal(width: float, thickness: float) -> float:
    """Return the diagonal of a rectangular lead: the lead size that a round hole must pass."""
    return math.hypot(width, thickness)


def round_up(value: float, step: float = STEP) -> float:
    """Return `value` rounded up to a multiple of `step`; a value already on a step stays."""
    return round(math.ceil(round(value / step, 6)) * step, 6)


def round_down(value: float, step: float = STEP) -> float:
    """Return `value` rounded down to a multiple of `step`; a value already on a step stays."""
    return round(math.floor(round(value / step, 6)) * step, 6)


def round_near(value: float, step: float = STEP) -> float:
    """Return `value` rounded to the nearest multiple of `step`, halves upwards."""
    return round(math.floor(round(value / step, 6) + 0.5) * step, 6)


def least_hole(lead: float, level: Level) -> float:
    """Return the least finished hole for a lead of greatest diameter or diagonal `lead`: IPC-2222 table 9-5."""
    return lead + HOLE_ALLOWANCE[level]


def finished_hole(lead: float, level: Level, step: float = STEP) -> float:
    """Return the finished hole to order: `least_hole` rounded up to a multiple of `step`."""
    return round_up(least_hole(lead, level), step)


def least_land(hole: float, level: Level) -> float:
    """Return the land diameter for a finished `hole`: hole + 2 rings + allowance, IPC-2221 9.1 and IPC-7251 draft."""
    return hole + 2 * EXTERNAL_RING + LAND_ALLOWANCE[level]


def land_diameter(hole: float, level: Level, step: float = STEP) -> float:
    """Return the land to draw: `least_land` rounded up to a multiple of `step`."""
    return round_up(least_land(hole, level), step)


def land_across_pitch(
    full: float, hole: float, pitch: float | None, *, kept: float, gap: float, land_min: float = 0.0, step: float = STEP
) -> float:
    """Return a land's size in the direction of a neighbour `pitch` away (None: no neighbour that way).

    `full` is the size by the formula, `kept` the ring to keep and `gap` the copper gap to the neighbour.
    At 2.54 pitch and more the size is held to pitch - 0.76, so that a 0.25 track with 0.25 gaps passes between two
    lands, as long as `kept` is left: 2.54 - 0.76 = 1.78, so 1.18 is the largest hole that allows it with a ring
    of 0.30.  A `land_min` (home etching, where no track passes) comes before that, and `gap` before everything.
    """
    wanted = max(full, land_min)
    if pitch is None:
        return wanted
    channel = round_down(pitch - CHANNEL, step)
    if pitch >= CHANNEL_PITCH and channel >= hole + 2 * kept - 1e-9:
        wanted = min(wanted, max(channel, land_min))
    return min(wanted, round_down(pitch - gap, step))


def channel_left(pitch: float | None, land: float) -> bool:
    """Tell whether a track passes between two lands of size `land`, or no track is asked to (closer pitch, no row)."""
    return pitch is None or not CHANNEL_PITCH <= pitch < CHANNEL_PITCH + CHANNEL or land <= pitch - CHANNEL + 1e-9


def bend_radius(lead: float) -> float:
    """Return the least inside radius of a bent lead: d below 0.8, 1.5 d to 1.2, 2 d above (J-STD-001, from memory)."""
    factor = 1.0 if lead < 0.8 else 1.5 if lead <= 1.2 else 2.0
    return factor * lead


def bent_end(lead: float) -> float:
    """Return how far a bent lead reaches from the body to its own middle: IPC-A-610 straight run, bend, half lead."""
    return max(lead, 0.8) + bend_radius(lead) + lead / 2


def least_axial_pitch(body: float, lead: float) -> float:
    """Return the least hole pitch of an axial part lying down: its body and two bent ends (IPC-A-610)."""
    return body + 2 * bent_end(lead)


@dataclass(frozen=True)
class Goals:
    """Solder fillet goals and courtyard excess of one IPC-7351B table at one level."""

    toe: float
    heel: float
    side: float
    courtyard: float
    step: float = STEP


def _goals(toe: str, heel: str, side: str, courtyard: str, step: float = STEP) -> dict[str, Goals]:
    """Read one table row written as "A/B/C" per column."""
    columns = [[float(v) for v in column.split("/")] for column in (toe, heel, side, courtyard)]
    return {
        level: Goals(columns[0][i], columns[1][i], columns[2][i], columns[3][i], step) for i, level in enumerate("ABC")
    }


# IPC-7351B fillet goals by table number
GOALS = {
    "gull-wing": _goals("0.55/0.35/0.15", "0.45/0.35/0.25", "0.05/0.03/0.01", "0.50/0.25/0.10"),  # 3-2
    "gull-wing-fine": _goals("0.55/0.35/0.15", "0.45/0.35/0.25", "0.01/-0.02/-0.04", "0.50/0.25/0.10"),  # 3-3
    "j-lead": _goals("0.55/0.35/0.15", "0.10/0.00/-0.10", "0.05/0.03/0.01", "0.50/0.25/0.10"),  # 3-4
    "chip": _goals("0.55/0.35/0.15", "0/0/0", "0.05/0/-0.05", "0.50/0.25/0.10"),  # 3-5
    "chip-small": _goals("0.30/0.20/0.10", "0/0/0", "0.05/0/-0.05", "0.20/0.15/0.10", 0.02),  # 3-6
    "melf": _goals("0.60/0.40/0.20", "0.20/0.10/0.02", "0.10/0.05/0.01", "0.50/0.25/0.10"),  # 3-7
    "inward-l": _goals("0.80/0.50/0.20", "0.25/0.15/0.07", "0.01/-0.05/-0.10", "0.50/0.25/0.10"),  # 3-13
    "can": _goals("0.70/0.50/0.30", "0/-0.10/-0.20", "0.50/0.40/0.30", "1.00/0.50/0.25"),  # 3-20, below 10 mm
    "can-large": _goals("1.00/0.70/0.40", "0/-0.10/-0.20", "0.50/0.40/0.30", "1.00/0.50/0.25"),  # 3-20, 10 mm and more
    "flat-lead": _goals("0.30/0.20/0.10", "0/0/0", "0.05/0/-0.05", "0.20/0.15/0.10", 0.02),  # 3-22
    "flat-lug": _goals("0.55/0.35/0.15", "0.45/0.35/0.25", "0.05/0.03/0.01", "0.50/0.25/0.10"),  # 3-14
}

Limits = tuple[float, float]


@dataclass(frozen=True)
class SurfaceLands:
    """Result of the land equations: `outer` Z over both lands, `inner` G between them, `width` X of one land."""

    outer: float
    inner: float
    width: float

    @property
    def length(self) -> float:
        """Land length Y."""
        return (self.outer - self.inner) / 2

    @property
    def centres(self) -> float:
        """Distance C between the land centres."""
        return (self.outer + self.inner) / 2

    def rounded(self, step: float = STEP) -> SurfaceLands:
        """Return the sizes rounded to the nearest `step`, as IPC-7351B does."""
        return SurfaceLands(*(round_near(v, step) for v in (self.outer, self.inner, self.width)))


def surface_lands(overall: Limits, lead: Limits, width: Limits, goals: Goals) -> SurfaceLands:
    """Return the lands of a two-sided surface-mount part by the IPC-7351B equations.

    `overall` is L, lead tip to lead tip, `lead` is T, length of the soldered foot, `width` is W, all (least, greatest).
    """
    tolerance = math.hypot(FABRICATION, PLACEMENT)
    spread_overall, spread_lead = overall[1] - overall[0], lead[1] - lead[0]
    inside_least, inside_most = overall[0] - 2 * lead[1], overall[1] - 2 * lead[0]
    spread_inside = math.sqrt(spread_overall**2 + 2 * spread_lead**2)
    inside = inside_most - ((inside_most - inside_least) - spread_inside) / 2
    return SurfaceLands(
        outer=overall[0] + 2 * goals.toe + math.hypot(spread_overall, tolerance),
        inner=inside - 2 * goals.heel - math.hypot(spread_inside, tolerance),
        width=width[0] + 2 * goals.side + math.hypot(width[1] - width[0], tolerance),
    )
