"""How crowded a placed board will be, estimated before a single track is laid."""

from __future__ import annotations

import math

import numpy as np

from modboard.geometry import Position
from modboard.layout.board import COPPER_LAYERS
from modboard.layout.route.problem import Problem


def crowding(problem: Problem) -> float:
    """Return the share of the free area of both layers that the shortest tracks would take with their gaps."""
    wanted = 0.0
    for net in problem.nets:
        if not net.pour and len(net.pins) > 1:
            wanted += _tree_length([pad.at for pad in problem.pads_of[net.name]]) * (net.track_width + net.gap)
    gap = problem.description.rules.gap
    free = 0.0
    for layer in COPPER_LAYERS:
        taken = [pad.shape.grown(gap).polygon(2) for pad in problem.pads if layer in pad.layers]
        free += problem.description.outline.area - sum(shape.area for shape in taken)
    return wanted / max(free, 1.0)


def _tree_length(points: list[Position]) -> float:
    """Return the length of the shortest tree of octilinear tracks that joins points directly (Prim)."""
    at = np.array(points)
    total, near = 0.0, np.full(len(at), np.inf)
    last, left = 0, np.arange(1, len(at))
    while len(left):
        away = np.abs(at[left] - at[last])
        octile = away.max(axis=1) + (math.sqrt(2) - 1) * away.min(axis=1)
        near[left] = np.minimum(near[left], octile)
        k = int(np.argmin(near[left]))
        last = int(left[k])
        total += float(near[last])
        left = np.delete(left, k)
    return total
