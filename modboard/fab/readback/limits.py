"""How much a reader will take from one file before it says that this is no board: time and memory stay bounded."""

from __future__ import annotations

from typing import Any

import numpy as np
import shapely

MOST_OBJECTS = 400_000  # of one layer, copies of steps and blocks counted singly
MOST_POINTS = 2_000_000  # corners of all objects of one layer
MOST_CONTOUR_POINTS = 100_000
MOST_CROSSINGS = 1_500_000  # pairs of lines of one layer that lie near enough to cross; a board has some 20,000
MOST_EDGE_CROSSINGS = 50_000  # the same of a board's edge, beyond each line's two neighbours
MOST_EDGES = 2_000  # closed lines of an edge: openings, and on panels slots
MOST_JOINED = 40_000  # objects of one layer whose areas are joined: discs that touch by thousands take long
FARTHEST = 10_000.0  # mm from the origin, and the largest size
MOST_PRIMITIVES = 500  # of one macro
MOST_MACRO_WORK = 4_000  # primitives of all apertures of one file
DEEPEST_BLOCK = 8  # block apertures inside one another
SAMPLES = 64


class Budget:
    """Counts objects and points; `spend` says when one of them has run out."""

    def __init__(self) -> None:
        self.objects, self.points, self.primitives = MOST_OBJECTS, MOST_POINTS, MOST_MACRO_WORK

    def spend(self, objects: int = 0, points: int = 0, primitives: int = 0) -> str:
        """Return "" or, in words, what there is too much of."""
        self.objects -= objects
        self.points -= points
        self.primitives -= primitives
        if self.objects < 0:
            return f"the layer has more than {MOST_OBJECTS} objects, copies counted"
        if self.points < 0:
            return f"the layer has more than {MOST_POINTS} corners"
        return "the apertures have too many macro primitives" if self.primitives < 0 else ""


def crossings(cores: Any, radii: Any) -> float:
    """Return about how many pairs of lines lie near enough to cross, from a sample; each shape is core ⊕ radius."""
    points, index = shapely.get_coordinates(cores, return_index=True)
    if len(points) < 2:
        return 0.0
    same = index[1:] == index[:-1]
    alone = np.bincount(index, minlength=len(cores))[index] == 1
    first = np.concatenate([points[:-1][same], points[alone]])
    last = np.concatenate([points[1:][same], points[alone]])
    reach = np.concatenate([radii[index[:-1][same]], radii[index[alone]]])[:, None]
    low, high = np.minimum(first, last) - reach, np.maximum(first, last) + reach
    taken = np.unique(np.linspace(0, len(first) - 1, SAMPLES).astype(int))
    near = [int(((low <= high[k]) & (high >= low[k])).all(axis=1).sum()) - 1 for k in taken]
    return float(np.mean(near)) * len(first) / 2
