"""How well leads are held that stand in a pour of their net: where copper crosses the relief round their lands."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import shapely

from modboard.geometry import TOLERANCE, Shape, clipped
from modboard.layout.board import Board, Pad
from modboard.layout.pour import LEAST_SPOKES

ROUNDED = 0.99  # of a spoke's width that a ring of chords crosses at least


def ring_round(pad: Pad, relief: float) -> Any:
    """Return the line half way across the thermal relief (mm) round a land."""
    return pad.shape.grown(relief / 2).polygon().exterior


def crossings(ring: Any, copper: Sequence[Any], double: float) -> tuple[int, float]:
    """Return at how many places copper (shapely polygons) crosses a ring, and the share of the ring that it covers.

    A place at least `double` mm wide counts for two, and copper all the way round for as many as are wanted.
    """
    crossed = shapely.line_merge(ring.intersection(shapely.union_all(list(copper))))
    if crossed.length > ring.length - TOLERANCE:
        return LEAST_SPOKES, 1.0
    lengths = shapely.length(shapely.get_parts(crossed))
    count = sum(LEAST_SPOKES if length >= double else 1 for length in lengths if length > 0)
    return count, float(crossed.length / ring.length)


def loosely_held(board: Board) -> int:
    """Return how many leads in a pour of their net have fewer than `LEAST_SPOKES` spokes and tracks, on both layers."""
    rules = board.description.rules
    double = ROUNDED * LEAST_SPOKES * rules.thermal_spoke
    around = {id(pour): shapely.Polygon(pour.area.exterior) for pour in board.pours}
    found = 0
    for pad in (pad for pad in board.pads if pad.hole):
        pours = [p for p in board.pours if p.net == pad.net and p.layer in pad.layers]
        standing = {p.layer for p in pours if around[id(p)].intersects(pad.shape.core)}
        if standing:
            ring = ring_round(pad, rules.thermal_gap)
            count = sum(crossings(ring, _near(board, pad, layer, ring), double)[0] for layer in standing)
            found += count < LEAST_SPOKES
    return found


def _near(board: Board, pad: Pad, layer: str, ring: Any) -> list[Any]:
    """Return the copper of a pad's net on one layer near the ring round it, the pad itself left out."""
    x0, y0, x1, y1 = ring.bounds
    window = (x0 - 1.0, y0 - 1.0, x1 + 1.0, y1 + 1.0)
    shapes: list[Shape] = [t.shape for t in board.tracks if t.net == pad.net and t.layer == layer]
    shapes += [v.shape for v in board.vias if v.net == pad.net]
    shapes += [p.shape for p in board.pads if p.net == pad.net and layer in p.layers and p is not pad]
    found = [s.polygon() for s in shapes if shapely.dwithin(s.core, ring, s.radius)]
    return found + [clipped(p.area, *window) for p in board.pours if p.net == pad.net and p.layer == layer]
