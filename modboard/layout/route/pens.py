"""Pens: the distinct sizes of copper a board's nets are drawn with, and how near each may come to what.

A *track pen* is a track width with a gap; a *via pen* is a via land with a gap.  Nets share pens, so the router's maps
are a handful however many nets there are.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from modboard.describe.model import Net
from modboard.describe.rules import Rules
from modboard.layout.quiet import kind, opposite


@dataclass(frozen=True)
class Pen:
    """Copper of half width `half` mm kept `gap` mm from other nets; `hole` is the drill diameter of a via, else 0.

    A pen of a quiet or noisy net (`kind`) keeps more from pens of the other kind, and belongs to one net alone.
    """

    half: float
    gap: float
    hole: float = 0.0
    kind: str = ""
    net: str = ""

    @property
    def via(self) -> bool:
        """Tell whether the pen makes vias."""
        return self.hole > 0


@dataclass(frozen=True)
class PenSet:
    """All pens of a board and, for each net, the rows of its track, neck and via pen."""

    pens: tuple[Pen, ...]
    of_net: tuple[tuple[int, int, int], ...]

    def via_flags(self) -> NDArray[np.bool_]:
        """Return which pens make vias."""
        return np.array([p.via for p in self.pens], np.bool_)

    def reaches(self, pitch: float, rules: Rules) -> NDArray[np.float64]:
        """Return reach[size, pen] in cells: centres nearer than this are too near.  Sizes are pens too.

        A hair (1 nm) is taken off so that exactly the required gap is allowed.
        """
        found = np.zeros((len(self.pens), len(self.pens)))
        for i, size in enumerate(self.pens):
            for j, pen in enumerate(self.pens):
                gap = max(size.gap, pen.gap, rules.quiet_gap if opposite(size.kind, pen.kind) else 0.0)
                reach = size.half + pen.half + gap
                if size.via and pen.via:
                    reach = max(reach, (size.hole + pen.hole) / 2 + rules.hole_to_hole)
                found[i, j] = (reach - 1e-6) / pitch
        return found


def pens_for(nets: tuple[Net, ...], rules: Rules) -> PenSet:
    """Return the pens that `nets` need under `rules`."""
    pens: list[Pen] = []

    def row(pen: Pen) -> int:
        if pen not in pens:
            pens.append(pen)
        return pens.index(pen)

    of_net = []
    for net in nets:
        own = net.name if kind(net) else ""
        track = row(Pen(net.track_width / 2, net.gap, 0.0, kind(net), own))
        neck = row(Pen(min(net.track_width, rules.track) / 2, net.gap))
        via = row(Pen(rules.via_land / 2, net.gap, rules.via_hole, kind(net)))
        of_net.append((track, neck, via))
    return PenSet(tuple(pens), tuple(of_net))
