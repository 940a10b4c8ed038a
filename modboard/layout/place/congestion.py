"""Where a failed routing found the board too crowded, for the next placement to make room there."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from modboard.geometry import Position


@dataclass(frozen=True)
class Congestion:
    """A grid of prices: `penalty[row, column]` (≥ 0; 1 is "a track too many") for the square of side `pitch` mm
    whose lower left corner is at `origin` + (column, row) * pitch.  Outside the grid nothing is crowded.
    """

    origin: Position
    pitch: float
    penalty: Any  # two-dimensional float array

    def resampled(self, frame: Position, pitch: float, shape: tuple[int, int]) -> Any:
        """Return the mean price over each square of another grid (`shape` rows, columns)."""
        source = np.asarray(self.penalty, dtype=float)
        total, hits = np.zeros(shape), np.zeros(shape)
        rows, columns = np.indices(source.shape)
        x = self.origin[0] + (columns.ravel() + 0.5) * self.pitch
        y = self.origin[1] + (rows.ravel() + 0.5) * self.pitch
        i = np.floor((x - frame[0]) / pitch).astype(int)
        j = np.floor((y - frame[1]) / pitch).astype(int)
        inside = (i >= 0) & (j >= 0) & (i < shape[1]) & (j < shape[0])
        np.add.at(total, (j[inside], i[inside]), source.ravel()[inside])
        np.add.at(hits, (j[inside], i[inside]), 1.0)
        spread = total / np.maximum(hits, 1.0)
        if not hits.all() and source.size:  # squares finer than the source: look up their middles
            jj, ii = np.nonzero(hits == 0)
            c = np.floor((frame[0] + (ii + 0.5) * pitch - self.origin[0]) / self.pitch).astype(int)
            r = np.floor((frame[1] + (jj + 0.5) * pitch - self.origin[1]) / self.pitch).astype(int)
            known = (c >= 0) & (r >= 0) & (c < source.shape[1]) & (r < source.shape[0])
            spread[jj[known], ii[known]] = source[r[known], c[known]]
        return spread
