"""Many shapes at once: which of them come within reach of others, by bulk search trees.

A shape is a core grown by a radius, so two shapes are within `reach` of each other exactly when their cores are
within `reach` plus both radii.  Shapes of nearly one radius share a sort-tile-recursive tree (Leutenegger, Lopez and
Edgington 1997, as in GEOS); each tree is asked once for all query shapes.  Cost is about n log n for boards of
even density.  The pairs that come back are measured exactly.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from modboard.geometry import TOLERANCE, Shape

Indices = NDArray[np.intp]
Lengths = NDArray[np.float64]

RADIUS_STEP = 0.1  # mm; radii within one step share a tree, so that odd pad sizes do not cost a tree each


class ShapeSet:
    """A fixed sequence of shapes with their search trees, built on first use and then shared by all rules."""

    def __init__(self, shapes: Sequence[Shape]) -> None:
        self.cores: NDArray[Any] = np.empty(len(shapes), dtype=object)
        self.cores[:] = [s.core for s in shapes]
        self.radii: Lengths = np.array([s.radius for s in shapes], dtype=float)

    def __len__(self) -> int:
        return len(self.radii)

    @cached_property
    def _trees(self) -> list[tuple[float, Indices, shapely.STRtree]]:
        """One (greatest radius, members, tree) for each step of radius."""
        step = np.ceil(self.radii / RADIUS_STEP - 1e-9)
        trees = []
        for value in np.unique(step):
            members = np.flatnonzero(step == value)
            trees.append((float(self.radii[members].max()), members, shapely.STRtree(self.cores[members])))
        return trees

    def near(self, others: ShapeSet, reach: float | Lengths) -> tuple[Indices, Indices]:
        """Return index pairs (of `others`, of this set) whose shapes are within `reach` mm, and perhaps some more.

        `reach` is one length or one for each of `others`.
        """
        first, second = [np.empty(0, np.intp)], [np.empty(0, np.intp)]
        if len(others):
            for radius, members, tree in self._trees:
                within = np.maximum(others.radii + radius + reach + TOLERANCE, 0.0)
                asked, found = tree.query(others.cores, predicate="dwithin", distance=within)
                first.append(asked)
                second.append(members[found])
        return np.concatenate(first), np.concatenate(second)

    def gaps(self, others: ShapeSet, asked: Indices, found: Indices) -> Lengths:
        """Return the exact gap in mm of each pair; negative where they overlap (as deep as their radii)."""
        between: Lengths = shapely.distance(others.cores[asked], self.cores[found])
        return between - others.radii[asked] - self.radii[found]

    def within(self, others: ShapeSet, reach: float | Lengths) -> list[tuple[int, int, float]]:
        """Return (index in `others`, index here, gap) of every pair closer than `reach` mm, in order.

        Closer means by more than a nanometre: a gap equal to the limit is kept.
        """
        asked, found = self.near(others, reach)
        gap = self.gaps(others, asked, found)
        limit = reach if isinstance(reach, float | int) else reach[asked]
        close = gap < limit - TOLERANCE
        order = np.lexsort((found[close], asked[close]))
        return [
            (int(i), int(j), float(g))
            for i, j, g in zip(asked[close][order], found[close][order], gap[close][order], strict=True)
        ]
