"""Builders for chip carriers with leads on four sides: lands for the chip, and holes for its through-hole socket.

Pin 1 is in the middle of the upper side; numbers run to the left, down the left side, and on round.
"""

from __future__ import annotations

import math

from modboard.geometry import Position
from modboard.library.drawing import Drawing, Lead, Sizing, centred_outline, closed
from modboard.library.families import Dimensions
from modboard.library.leaded import lead_size
from modboard.library.model import Body, Land, PadForm
from modboard.library.sizing import GOALS, ROW_GAP, SurfaceLands, round_up, surface_lands


def round_the_sides(across: int, down: int) -> list[tuple[str, int]]:
    """Return (side, step from the middle of it) of every pin in order; steps count to the right and upwards."""
    half = across // 2
    upper = [("top", -k) for k in range(half + 1)]
    left = [("left", down // 2 - k) for k in range(down)]
    lower = [("bottom", k - half) for k in range(across)]
    right = [("right", k - down // 2) for k in range(down)]
    return [*upper, *left, *lower, *right, *(("top", half - k) for k in range(half))]


def standing_at(side: str, along: float, out: Position) -> Position:
    """Return where a pin is that stands `along` its side, the sides being `out` (x, y) from the centre."""
    at = {"top": (along, out[1]), "bottom": (along, -out[1]), "left": (-out[0], along), "right": (out[0], along)}
    return (round(at[side][0], 6), round(at[side][1], 6))


def j_leaded(dims: Dimensions, sizing: Sizing) -> Drawing:
    """Draw a chip carrier by IPC-7351B table 3-4; `overall_x` and `overall_y` are over the leads."""
    goals, pitch = GOALS["j-lead"][sizing.level], dims.length("pitch")

    def across(overall: str) -> SurfaceLands:
        return surface_lands(dims.pair(overall), dims.pair("foot"), dims.pair("width"), goals).rounded(goals.step)

    # the heels of two sides meet at the corner: shorten them until the gap there is a mask web and two expansions
    x, y = across("overall_x"), across("overall_y")
    corner = ROW_GAP["A"] / math.sqrt(2)
    x = shortened(x, (dims.count("across") - 1) * pitch + y.width + 2 * corner)
    y = shortened(y, (dims.count("down") - 1) * pitch + x.width + 2 * corner)
    out = (x.centres / 2, y.centres / 2)
    lands = []
    for k, (side, step) in enumerate(round_the_sides(dims.count("across"), dims.count("down"))):
        size = (y.width, y.length) if side in ("top", "bottom") else (x.length, x.width)
        lands.append(Land(str(k + 1), standing_at(side, step * pitch, out), PadForm("rectangle", *size)))
    body = centred_outline((0.0, 0.0), *dims.pair("body"))
    excess = {level: g.courtyard for level, g in GOALS["j-lead"].items()}
    return Drawing(tuple(lands), (Body(body, dims.length("height")),), (closed(body),), "dot", courtyard_excess=excess)


def shortened(lands: SurfaceLands, inner: float) -> SurfaceLands:
    """Return the lands with at least `inner` mm between the heels of opposite sides."""
    return SurfaceLands(lands.outer, max(lands.inner, round_up(inner)), lands.width)


def carrier_socket(dims: Dimensions, sizing: Sizing) -> Drawing:
    """Draw the pins of a socket: on each side they stand by turns in an outer and an inner row, the ends outside.

    `outer` is the distance between opposite outer rows (x, y), `step_in` that from outer to inner row.
    """
    pitch, (wide, tall), step_in = dims.length("pitch"), dims.pair("outer"), dims.length("step_in")
    across, down, size = dims.count("across"), dims.count("down"), lead_size(dims)
    leads = []
    for k, (side, step) in enumerate(round_the_sides(across, down)):
        end = (across if side in ("top", "bottom") else down) // 2
        inset = step_in if (end - abs(step)) % 2 else 0.0
        at = standing_at(side, step * pitch, (wide / 2 - inset, tall / 2 - inset))
        leads.append(Lead(str(k + 1), at, size))
    body = centred_outline((0.0, 0.0), wide + dims.length("rim"), tall + dims.length("rim"))
    left, top, cut = -(wide + dims.length("rim")) / 2, (tall + dims.length("rim")) / 2, 2.5
    chamfer = ((left, top - cut), (left + cut, top))  # the corner next to pin 1 on the chip and in the socket
    return Drawing(sizing.lands(leads), (Body(body, dims.length("height")),), (closed(body), chamfer))
