"""How long the gap rule takes: `python tests/benchmarks/clearance.py`.

Boards of even density with 2,000 and 20,000 copper items of every shape (round, oval, rounded and square lands,
vias, tracks of several corners) on two layers.  Everything is counted: building the exact shapes, the search trees,
measuring and wording the findings; in processor time, so that a busy machine does not
count.  The bound asked for is 0.15 s for 2,000 items, and 12 times that for ten times
as many.
"""

from __future__ import annotations

import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
import shapely

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from modboard.artwork.model import Artwork, Drill, Feature, Flash, Layer, Owner, Stroke
from modboard.check import gaps, inspected
from modboard.check.inspection import Inspection
from modboard.layout.board import Board
from modboard.library.model import PadForm
from tests.sample import sample_description

FORMS = (
    PadForm("round", 1.6, 1.6),
    PadForm("oval", 2.2, 1.2),
    PadForm("rounded", 1.3, 0.9, 0.15),
    PadForm("rectangle", 1.0, 0.6),
)
AREA_PER_ITEM = 6.0  # mm²: 2,000 items on 110 x 110 mm, crowded enough for several hundred findings


def crowd(items: int, seed: int = 1) -> Artwork:
    """Return artwork with `items` pieces of copper, counted by layer, scattered at random over a square board."""
    rng = np.random.default_rng(seed)
    side = float(np.sqrt(items * AREA_PER_ITEM))
    layers: dict[str, list[Feature]] = {"top": [], "bottom": []}
    drills: list[Drill] = []
    while sum(map(len, layers.values())) + 2 * len(drills) < items:
        x, y = (float(v) for v in rng.uniform(1, side - 1, 2))
        net = Owner(net=f"N{int(rng.integers(items // 30))}")
        name = "top" if rng.random() < 0.5 else "bottom"
        kind = rng.random()
        if kind < 0.1:
            via = Flash(PadForm("round", 0.7, 0.7), (x, y), 0.0, "via-pad", net)
            layers["top"].append(via)
            layers["bottom"].append(via)
            drills.append(Drill((x, y), 0.3, True, "via-drill", net))
        elif kind < 0.4:
            form = FORMS[int(rng.integers(len(FORMS)))]
            turn = float(rng.choice([0, 45, 90]))
            layers[name].append(Flash(form, (x, y), turn, "surface-pad", net))
        else:
            steps = rng.normal(0, 1, (int(rng.integers(1, 6)), 2))
            points = np.cumsum(np.vstack([[x, y], steps]), axis=0).clip(1, side - 1)
            corners = tuple((float(px), float(py)) for px, py in points)
            layers[name].append(Stroke(corners, float(rng.choice([0.25, 0.4, 0.8])), "conductor", net))
    described = replace(sample_description(), nets=(), parts=(), holes=())
    board = Board(described, shapely.box(0, 0, side, side), (), (), (), ())
    drawn = (Layer("copper-top", tuple(layers["top"])), Layer("copper-bottom", tuple(layers["bottom"])))
    return Artwork(board, drawn, tuple(drills))


def measure(items: int, times: int = 5) -> tuple[float, int]:
    """Return the least processor seconds of the gap rule in `times` runs (load only adds), and the findings."""
    taken, found = [], 0
    for run in range(times):
        artwork = crowd(items, seed=run)
        start = time.process_time()
        found = len(inspected(Inspection(artwork.board, artwork), (gaps,)))
        taken.append(time.process_time() - start)
    return min(taken), found


def main() -> None:
    """Print seconds and findings for both sizes, and how the time grows."""
    small, few = measure(2_000)
    large, many = measure(20_000)
    print(f" 2,000 items: {1e3 * small:7.1f} ms  {few} findings   (asked: under 150 ms)")
    print(f"20,000 items: {1e3 * large:7.1f} ms  {many} findings   {large / small:.1f} times as long (asked: under 12)")


if __name__ == "__main__":
    main()
