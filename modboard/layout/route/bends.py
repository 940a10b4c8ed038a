"""The ways a track takes between two places, straight and at 45°, and what they cost in looks."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping
from dataclasses import dataclass

from modboard.describe.model import Description
from modboard.geometry import Position
from modboard.layout.board import COPPER_LAYERS, CopperLayer, PlacedPart, Via

BEND_LENGTH = 0.15  # mm of track that a saved bend is worth
ODD_PIECE = 0.2  # mm of track that a piece neither straight nor at 45° is dearer
CROOKED = 0.3  # mm of track that leaving a land beside its middle is dearer: more than the bend that mends it
SEEN = 0.5  # of the way to a land's edge; a track that leaves within it seems to leave in the middle
EDGE = 0.05  # mm; a bend this near a land's edge looks as if it were outside

Halves = Mapping[Position, tuple[float, float]]  # of each land, by its middle: half its width and height, mm


@dataclass(frozen=True)
class Lands:
    """The lands and vias of every net on either layer; those of vias have no size, since nobody sees where they are
    left.
    """

    halves: dict[tuple[str, CopperLayer], dict[Position, tuple[float, float]]]

    @classmethod
    def on(cls, description: Description, parts: tuple[PlacedPart, ...], vias: tuple[Via, ...]) -> Lands:
        """Gather them from a board."""
        found: dict[tuple[str, CopperLayer], dict[Position, tuple[float, float]]] = {}
        nets = description.net_of()
        for pad in (pad for placed in parts for pad in placed.pads(nets) if pad.net is not None):
            x0, y0, x1, y1 = pad.shape.bounds()
            for layer in pad.layers:
                own = found.setdefault((pad.net or "", layer), {})
                own[pad.at] = (max((x1 - x0) / 2 - EDGE, 0.0), max((y1 - y0) / 2 - EDGE, 0.0))
        for via in vias:
            for layer in COPPER_LAYERS:
                found.setdefault((via.net, layer), {}).setdefault(via.at, (0.0, 0.0))
        return cls(found)

    def of(self, net: str, layer: CopperLayer) -> Halves:
        """Return those of one net on one layer."""
        return self.halves.get((net, layer), {})


def links(a: Position, b: Position, lands: Halves | None = None, width: float = 0.0) -> list[list[Position]]:
    """Return the ways from `a` to `b` in at most two straight or 45° pieces (one, if that is a hair from straight).

    Where each of these would bend within a land of `lands`, a way in three is added that leaves both in the middle.
    """
    dx, dy = b[0] - a[0], b[1] - a[1]
    diagonal, rest = min(abs(dx), abs(dy)), abs(abs(dx) - abs(dy))
    if octilinear(a, b):
        return [[a, b]]
    sx, sy = math.copysign(1.0, dx), math.copysign(1.0, dy)
    found = []
    if min(diagonal, rest) < 0.1 and math.dist(a, b) > 10 * min(diagonal, rest):
        found.append([a, b])  # two pads a hair out of line: one straight piece looks best
    first = (round(a[0] + sx * diagonal, 6), round(a[1] + sy * diagonal, 6))
    last = (round(b[0] - sx * diagonal, 6), round(b[1] - sy * diagonal, 6))
    found += [[a, first, b], [a, last, b]]
    if lands and all(crooked(way, lands, width) for way in found):
        run = (0.0, sy * rest) if abs(dy) > abs(dx) else (sx * rest, 0.0)
        leave = (round(a[0] + run[0] / 2, 6), round(a[1] + run[1] / 2, 6))
        arrive = (round(leave[0] + sx * diagonal, 6), round(leave[1] + sy * diagonal, 6))
        found.append([a, leave, arrive, b])
    return found


def crooked(points: list[Position], lands: Halves, width: float) -> int:
    """Return at how many of its ends a way bends within the land it leaves, and so leaves it well beside its middle.

    Less than the width of the track, or than half the way to the land's edge, is not seen.
    """
    found = 0
    for end, bend in ((points[0], points[1]), (points[-1], points[-2])):
        half = lands.get(end)
        if half is None or len(points) < 3 or math.dist(end, bend) < width:
            continue
        off = max(abs(bend[k] - end[k]) / half[k] if half[k] else 1.0 for k in (0, 1))
        found += SEEN < off < 1.0
    return found


def octilinear(a: Position, b: Position) -> bool:
    """Tell whether a piece runs along a row, a column or at 45°."""
    dx, dy = abs(b[0] - a[0]), abs(b[1] - a[1])
    return min(dx, dy, abs(dx - dy)) < 1e-5


def cost(points: list[Position], lands: Halves, width: float) -> float:
    """Return what a way costs, in mm of length."""
    length = sum(math.dist(a, b) for a, b in itertools.pairwise(points))
    odd = sum(not octilinear(a, b) for a, b in itertools.pairwise(points))
    return length + BEND_LENGTH * (len(points) - 2) + ODD_PIECE * odd + CROOKED * crooked(points, lands, width)


def sharp(points: list[Position]) -> bool:
    """Tell whether a polyline turns by more than 90° anywhere."""
    for a, b, c in zip(points[:-2], points[1:-1], points[2:], strict=True):
        if (b[0] - a[0]) * (c[0] - b[0]) + (b[1] - a[1]) * (c[1] - b[1]) < -1e-9:
            return True
    return False
